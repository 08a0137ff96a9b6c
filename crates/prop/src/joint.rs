//! What places two pieces on each other at a cut: collar tongues, or pegs and sockets.
//!
//! Section axes at a joint as in the rail: x the way the strip faces, y along its width, z towards the tip.

use crate::outcome::JointKind;
use crate::project::Glow;
use crate::rail::fitting::Rail;
use solid::section::{Basis, OutlineError, area_mm2, inset, intersect, section, subtract};
use solid::{CutError, DAffine3, DMat3, DVec2, DVec3, Mesh};
use thiserror::Error;

/// How far a collar reaches into the next piece, mm (common practice: laps of 8 to 15 mm).
pub const COLLAR_REACH_MM: f64 = 8.0;
/// How far its root runs along the wall of its own piece, mm.
const ROOT_MM: f64 = 6.0;
/// Thickness of a collar, mm: four beads of a 0.4 nozzle.
const COLLAR_MM: f64 = 1.6;
/// How deep the root is sunk into the wall, mm, so that no two surfaces coincide.
const SUNK_MM: f64 = 0.5;
/// Pegs: diameter of the stock rod, mm.
pub const PEG_MM: f64 = 3.0;
/// Depth of a socket in each piece, mm.
pub const SOCKET_MM: f64 = 8.0;
/// Wall kept around a socket, mm.
const SOCKET_WALL_MM: f64 = 2.1;
/// A collar narrower than this in all is not worth printing, mm.
const LEAST_COLLAR_MM: f64 = 8.0;

type Loops = Vec<Vec<DVec2>>;

/// Why a joint could not be worked out.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum JointError {
    /// A section failed.
    #[error(transparent)]
    Section(#[from] CutError),
    /// An outline failed.
    #[error(transparent)]
    Outline(#[from] OutlineError),
    /// A solid failed.
    #[error(transparent)]
    Boolean(#[from] solid::BooleanError),
}

/// Everything at one joint.
pub struct Place<'a> {
    /// Axes in the cut plane, origin in the middle of the rail.
    pub basis: Basis,
    /// Cavity of the lit body, or `None` where one of the pieces is solid.
    pub cavity: Option<&'a Mesh>,
    /// Outer surfaces: butt side, tip side.
    pub outer: [&'a Mesh; 2],
    /// The rail.
    pub rail: Option<&'a Rail>,
    /// Where light leaves.
    pub glow: Glow,
    /// Gap per side for a glued fit as drawn, mm.
    pub glue_gap_mm: f64,
    /// What the maker asks for.
    pub asked: Option<JointKind>,
}

/// The joint as solids in the prop frame.
#[derive(Clone, Debug)]
pub struct Fastening {
    /// How the pieces are placed.
    pub kind: JointKind,
    /// Added to the butt-side piece.
    pub collar: Mesh,
    /// Taken from both pieces.
    pub sockets: Mesh,
    /// Glue area besides the faces, mm2.
    pub extra_glue_mm2: f64,
}

impl Fastening {
    fn faces() -> Fastening {
        Fastening { kind: JointKind::Faces, collar: Mesh::default(), sockets: Mesh::default(), extra_glue_mm2: 0.0 }
    }
}

/// Works out what places the pieces: the maker's choice if it can be made, else a collar where there is a cavity and the
/// light's way leaves room, else pegs where there is enough solid material, else the faces alone.
///
/// # Errors
/// [`JointError`] when geometry fails.
pub fn fasten(place: &Place) -> Result<Fastening, JointError> {
    let order = match place.asked {
        Some(JointKind::Faces) => vec![],
        Some(JointKind::Pegs) => vec![JointKind::Pegs, JointKind::Collar],
        _ => vec![JointKind::Collar, JointKind::Pegs],
    };
    for kind in order {
        let made = if kind == JointKind::Collar { collar(place)? } else { pegs(place)? };
        if let Some(made) = made {
            return Ok(made);
        }
    }
    Ok(Fastening::faces())
}

fn at(basis: &Basis, distance_mm: f64) -> Basis {
    Basis { origin: basis.origin + basis.x.cross(basis.y) * distance_mm, ..*basis }
}

fn place_of(basis: &Basis) -> DAffine3 {
    DAffine3::from_mat3_translation(DMat3::from_cols(basis.x, basis.y, basis.x.cross(basis.y)), basis.origin)
}

/// What is inside at every one of some distances from the cut.
fn common(mesh: &Mesh, basis: &Basis, distances: &[f64]) -> Result<Loops, JointError> {
    let mut all: Option<Loops> = None;
    for d in distances {
        let here = section(mesh, &at(basis, *d))?;
        all = Some(match all {
            Some(before) => intersect(&before, &here)?,
            None => here,
        });
    }
    Ok(all.unwrap_or_default())
}

fn rect(x: [f64; 2], y: [f64; 2]) -> Loops {
    vec![vec![DVec2::new(x[0], y[0]), DVec2::new(x[1], y[0]), DVec2::new(x[1], y[1]), DVec2::new(x[0], y[1])]]
}

pub(crate) fn extent(loops: &[Vec<DVec2>]) -> [DVec2; 2] {
    loops.iter().flatten().fold([DVec2::INFINITY, DVec2::NEG_INFINITY], |[l, h], p| [l.min(*p), h.max(*p)])
}

/// A box in the section: range of x, range of y, mm.
pub(crate) type Zone = ([f64; 2], [f64; 2]);

/// Beyond anything in a section, mm.
const FAR_MM: f64 = 1e4;

/// The parts of a section whose skin stays dark, given the extent of the cavity there: everything that is not window.
pub(crate) fn dark_zones(glow: Glow, rail: Option<&Rail>, [low, high]: [DVec2; 2]) -> Vec<Zone> {
    let all = [-FAR_MM, FAR_MM];
    match glow {
        Glow::Around => Vec::new(),
        Glow::Edges => {
            // The outer third of each half, 8 mm at least, is window.
            let open = |reach: f64| (reach / 3.0).max(8.0);
            vec![([low.x + open(-low.x), high.x - open(high.x)], all)]
        }
        Glow::Faces => {
            // Light spreads 60 degrees from the pixels to the faces; the edges beside that are dark.
            let (emit, slot) = rail.map_or((0.0, 0.0), |r| (r.layout.emit_u, r.layout.open_v));
            let beside = slot + 1.732 * (high.x.max(-low.x) - emit).max(0.0);
            vec![(all, [beside, FAR_MM]), (all, [-FAR_MM, -beside])]
        }
    }
}

/// Where a collar may be: behind dark skin, off the rail and off the wires.
fn collar_room(place: &Place, inside: &Loops) -> Result<Loops, JointError> {
    let gap = place.glue_gap_mm;
    let mut room: Loops = Vec::new();
    for (x, y) in dark_zones(place.glow, place.rail, extent(inside)) {
        if x[0] < x[1] && y[0] < y[1] {
            room.extend(rect(x, y));
        }
    }
    let Some(rail) = place.rail else { return Ok(room) };
    for zone in rail.layout.kept_free(gap) {
        room = subtract(&room, &[zone])?;
    }
    Ok(room)
}

fn collar(place: &Place) -> Result<Option<Fastening>, JointError> {
    let Some(cavity) = place.cavity else { return Ok(None) };
    let reach = COLLAR_REACH_MM;
    let ahead = common(cavity, &place.basis, &[0.02, reach / 2.0, reach])?;
    let behind = common(cavity, &place.basis, &[-0.02, -ROOT_MM / 2.0, -ROOT_MM])?;
    let inside = intersect(&ahead, &behind)?;
    let gap = place.glue_gap_mm;
    let skin = inset(&ahead, gap)?;
    let core = |share: f64| inset(&inside, (gap + COLLAR_MM) * share);
    let mut tongues: Loops = Vec::new();
    let mut roots: Vec<(f64, f64, Loops)> = Vec::new();
    let room = collar_room(place, &inside)?;
    let large = |loops: Loops| -> Loops {
        loops.into_iter().filter(|l| area_mm2(std::slice::from_ref(l)).abs() > 2.0).collect()
    };
    tongues.extend(large(subtract(&intersect(&skin, &room)?, &core(1.0)?)?));
    // The root grows out of the wall at 45 degrees, in steps of a layer or so.
    let steps = 8;
    for k in 0..=steps {
        // Slightly different outlines at each step, so that no two surfaces coincide.
        let apart = 0.004 * f64::from(k + 1);
        let wall = inset(&behind, -SUNK_MM - apart)?;
        let share = 1.0 - f64::from(k) / f64::from(steps + 1);
        let ring = large(subtract(&intersect(&wall, &inset(&room, apart)?)?, &core(share)?)?);
        let step = (gap + COLLAR_MM) / f64::from(steps + 1);
        let top = if k == 0 { -0.03 } else { -ROOT_MM - step * f64::from(k) + step + 0.05 };
        roots.push((-ROOT_MM - step * f64::from(k), top, ring));
    }
    let width: f64 = tongues.iter().map(|l| outline_mm(l) / 2.0 - COLLAR_MM).sum();
    if width < LEAST_COLLAR_MM {
        return Ok(None);
    }
    let axes = place_of(&place.basis);
    let mut solids = Vec::new();
    for tongue in &tongues {
        solids.push(solid::prism(tongue, &axes, -ROOT_MM / 2.0, reach));
    }
    for (from, to, loops) in &roots {
        solids.extend(loops.iter().filter(|l| l.len() > 2).map(|l| solid::prism(l, &axes, *from, *to)));
    }
    let collar = solid::union_all(&solids)?;
    Ok(Some(Fastening {
        kind: JointKind::Collar,
        collar,
        sockets: Mesh::default(),
        // Each tongue is glued on its outer face.
        extra_glue_mm2: width * reach,
    }))
}

fn outline_mm(points: &[DVec2]) -> f64 {
    (0..points.len()).map(|i| (points[(i + 1) % points.len()] - points[i]).length()).sum()
}

fn pegs(place: &Place) -> Result<Option<Fastening>, JointError> {
    let depth = SOCKET_MM + 1.0;
    // Material of both pieces around the cut, as far as a socket goes.
    let mut material = common(place.outer[0], &place.basis, &[-0.05, -depth / 2.0, -depth])?;
    material = intersect(&material, &common(place.outer[1], &place.basis, &[0.05, depth / 2.0, depth])?)?;
    let empty = Mesh::default();
    let (ribs, bore) = place.rail.map_or((&empty, &empty), |r| (&r.ribs, &r.bore));
    for d in [-depth, -depth / 2.0, 0.0, depth / 2.0, depth] {
        let here = at(&place.basis, d);
        if let Some(cavity) = place.cavity {
            // Ribs are solid material too.
            let hollow = subtract(&section(cavity, &here)?, &section(ribs, &here)?)?;
            material = subtract(&material, &hollow)?;
        }
        material = subtract(&material, &section(bore, &here)?)?;
    }
    let radius = PEG_MM / 2.0 + place.glue_gap_mm;
    let room = inset(&material, solid::around_mm(radius, 24) + SOCKET_WALL_MM)?;
    let Some([first, second]) = far_pair(&room) else { return Ok(None) };
    if (second - first).length() < 4.0 * radius {
        return Ok(None);
    }
    let along = place.basis.x.cross(place.basis.y);
    let mut sockets = Mesh::default();
    for p in [first, second] {
        let middle: DVec3 = place.basis.raise(p);
        // Half a millimetre deeper than the peg, for glue.
        let reach = along * (SOCKET_MM + 0.5);
        sockets.append(&solid::cylinder(middle - reach, middle + reach, solid::around_mm(radius, 24), 24));
    }
    Ok(Some(Fastening {
        kind: JointKind::Pegs,
        collar: Mesh::default(),
        sockets,
        extra_glue_mm2: 2.0 * core::f64::consts::PI * PEG_MM * SOCKET_MM,
    }))
}

/// The two corners of some outlines that lie furthest apart.
fn far_pair(loops: &Loops) -> Option<[DVec2; 2]> {
    let points: Vec<DVec2> = loops.iter().flatten().copied().collect();
    let mut best: Option<(f64, [DVec2; 2])> = None;
    for (i, a) in points.iter().enumerate() {
        for b in &points[i + 1..] {
            let d = (*a - *b).length_squared();
            if best.is_none_or(|(far, _)| d > far) {
                best = Some((d, [*a, *b]));
            }
        }
    }
    best.map(|(_, pair)| pair)
}
