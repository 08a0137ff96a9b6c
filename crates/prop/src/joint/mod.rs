//! What places two pieces on each other at a cut, a file for each kind: collar tongues; pegs and sockets; joints that come
//! apart, with bayonet, screws or magnets.
//!
//! Section axes at a joint as in the rail: x the way the strip faces, y along its width, z towards the tip.

mod bayonet;
mod collar;
mod magnets;
mod pegs;
mod plug;
mod screws;
mod site;

use crate::catalogue::Rod;
use crate::fixing::{SEGMENTS, disc};
use crate::memory::KeyOf;
use crate::outcome::{JointKind, PegSet, TakeDown};
use crate::project::{Glow, Show};
use crate::rail::fitting::Rail;
use crate::rail::layout::Fit;
use solid::section::{Basis, OutlineError, area_mm2, inset, intersect, point_in, section, subtract, thinned};
use solid::{CutError, DAffine3, DMat3, DVec2, DVec3, Lengthwise, Mesh};
use thiserror::Error;

pub(crate) use collar::dark_zones;
pub use collar::{COLLAR_REACH_MM, collar};
pub(crate) use pegs::{MOST_SPAN_MM, PEG_DIAMETERS};
pub use site::{Site, sites};

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
    /// What the maker asks for has no room. Says what, and what would have.
    #[error("{what}")]
    NoRoom {
        /// What lacks room, with numbers.
        what: String,
        /// What to change.
        remedy: String,
        /// The key it was asked for with.
        key: Vec<String>,
    },
}

/// Everything at one joint.
#[derive(Clone)]
pub struct Place<'a> {
    /// Axes in the cut plane, origin in the middle of the rail.
    pub basis: Basis,
    /// Cavities of the bodies: butt side, tip side; `None` where one is solid.
    pub cavity: [Option<Lengthwise<'a>>; 2],
    /// Whether two bodies meet here.
    pub meeting: bool,
    /// Outer surfaces: butt side, tip side.
    pub outer: [Lengthwise<'a>; 2],
    /// Length of the pieces: butt side, tip side, mm; no more than `pegs::MOST_SPAN_MM` where no joint comes apart.
    pub span_mm: [f64; 2],
    /// The rail.
    pub rail: Option<&'a Rail>,
    /// Where light leaves.
    pub glow: Glow,
    /// Gap per side for a glued fit as drawn, mm.
    pub glue_gap_mm: f64,
    /// Clearances of the printers that print the two pieces.
    pub fit: Fit,
    /// What the maker asks for.
    pub asked: Option<JointKind>,
    /// Body whose rules ask for it.
    pub body: &'a str,
    /// Stock that pegs may be cut from.
    pub rods: &'a [Rod],
    /// Stock that the maker names.
    pub peg: Option<&'a Rod>,
    /// The joint that comes apart here, if the maker asks for one.
    pub site: Option<&'a Site<'a>>,
    /// Rooms (shells of bays and the like, closed, that may overlap) that pegs, magnets, plugs and their sockets keep a
    /// wall's distance from, prop frame.
    pub keep_off: &'a [Mesh],
    /// The side that is looked at.
    pub show: Show,
}

impl Place<'_> {
    /// Adds it to a key that names the meshes: which bodies, the rail, and what is kept off.
    pub(crate) fn told(&self, key: KeyOf) -> KeyOf {
        // Every field is named, so that none is forgotten.
        let Place {
            basis,
            cavity: _,
            meeting,
            outer: _,
            span_mm,
            rail: _,
            glow,
            glue_gap_mm,
            fit,
            asked,
            body,
            rods,
            peg,
            site,
            keep_off: _,
            show,
        } = self;
        key.and(&(basis, meeting, span_mm, glow, glue_gap_mm, fit)).and(&(asked, body, rods, peg, site, show))
    }
}

/// The joint as solids in the prop frame. Pairs: butt-side piece, tip-side piece.
#[derive(Clone, Debug)]
pub struct Fastening {
    /// How the pieces are placed.
    pub kind: JointKind,
    /// Added to each piece.
    pub adds: [Mesh; 2],
    /// Taken from each piece, inside its outer surface but for the cut.
    pub takes: [Mesh; 2],
    /// Drilled through each piece's outer surface.
    pub drills: [Mesh; 2],
    /// Glue area besides the faces, mm2.
    pub extra_glue_mm2: f64,
    /// How far its sockets reach into each piece, mm.
    pub depth_mm: [f64; 2],
    /// The pegs, if there are any.
    pub pegs: Option<PegSet>,
    /// What a joint that comes apart is made of.
    pub take_down: Option<TakeDown>,
}

impl Fastening {
    fn of(kind: JointKind) -> Fastening {
        let none = || [Mesh::default(), Mesh::default()];
        Fastening {
            kind,
            adds: none(),
            takes: none(),
            drills: none(),
            extra_glue_mm2: 0.0,
            depth_mm: [0.0; 2],
            pegs: None,
            take_down: None,
        }
    }
}

/// Works out what places the pieces: a joint that comes apart where the maker wants one; else the maker's choice if it can
/// be made, else a collar where there is a cavity and the light's way leaves room, else pegs where there is enough solid
/// material, else the faces alone. `collar` is [`collar()`] or remembers what that came to.
///
/// # Errors
/// [`JointError`] when geometry fails, or what the maker names has no room.
pub fn fasten(
    place: &Place,
    collar: impl Fn(&Place) -> Result<Option<Fastening>, JointError>,
) -> Result<Fastening, JointError> {
    if let Some(site) = place.site {
        return plug::take_down(place, site);
    }
    let order = match place.asked {
        Some(JointKind::Faces) => vec![],
        Some(JointKind::Pegs) => vec![JointKind::Pegs, JointKind::Collar],
        _ => vec![JointKind::Collar, JointKind::Pegs],
    };
    for kind in order {
        let made = if kind == JointKind::Collar { collar(place)? } else { pegs::pegs(place)? };
        if let Some(made) = made {
            return Ok(made);
        }
    }
    Ok(Fastening::of(JointKind::Faces))
}

fn at(basis: &Basis, distance_mm: f64) -> Basis {
    Basis { origin: basis.origin + basis.x.cross(basis.y) * distance_mm, ..*basis }
}

fn place_of(basis: &Basis) -> DAffine3 {
    DAffine3::from_mat3_translation(DMat3::from_cols(basis.x, basis.y, basis.x.cross(basis.y)), basis.origin)
}

/// Joints are laid out on outlines that lie this near to the solid's own, mm: those of a fine shape have so many points that
/// all else waits for them.
const OUTLINE_MM: f64 = 0.005;

/// The section of a body or its cavity.
fn outline(solid: Lengthwise, basis: &Basis) -> Result<Loops, CutError> {
    Ok(thinned(&solid.section(basis)?, OUTLINE_MM))
}

/// What is inside at every one of some distances from the cut.
fn common(solid: Lengthwise, basis: &Basis, distances: &[f64]) -> Result<Loops, JointError> {
    let mut all: Option<Loops> = None;
    for d in distances {
        let here = outline(solid, &at(basis, *d))?;
        all = Some(match all {
            Some(before) => intersect(&before, &here)?,
            None => here,
        });
    }
    Ok(all.unwrap_or_default())
}

/// The material of one piece (0: butt side, 1: tip side) in the section `depth_mm` inside it: its outer surface less
/// cavity, bore, and what is to be kept off.
fn material(place: &Place, side: usize, depth_mm: f64) -> Result<Loops, JointError> {
    let unbored = unbored(place, side, depth_mm)?;
    let Some(rail) = place.rail.filter(|r| !r.bore.is_empty()) else { return Ok(unbored) };
    Ok(subtract(&unbored, &section(&rail.bore, &at(&place.basis, if side == 0 { -depth_mm } else { depth_mm }))?)?)
}

/// As [`material`], the bore filled.
fn unbored(place: &Place, side: usize, depth_mm: f64) -> Result<Loops, JointError> {
    let here = at(&place.basis, if side == 0 { -depth_mm } else { depth_mm });
    let mut material = outline(place.outer[side], &here)?;
    if let Some(cavity) = place.cavity[side] {
        let mut hollow = outline(cavity, &here)?;
        if let Some(rail) = place.rail {
            // Ribs are solid material too.
            hollow = subtract(&hollow, &section(&rail.ribs, &here)?)?;
        }
        material = subtract(&material, &hollow)?;
    }
    // Rooms may overlap, so that each is looked at by itself.
    let mut clean = false;
    for room in place.keep_off {
        let room = section(room, &here)?;
        // One subtraction tidies the outlines, also where it takes nothing; more that take nothing only cost.
        if !room.is_empty() || !clean {
            material = subtract(&material, &room)?;
            clean = true;
        }
    }
    Ok(material)
}

fn rect(x: [f64; 2], y: [f64; 2]) -> Loops {
    vec![vec![DVec2::new(x[0], y[0]), DVec2::new(x[1], y[0]), DVec2::new(x[1], y[1]), DVec2::new(x[0], y[1])]]
}

pub(crate) fn extent(loops: &[Vec<DVec2>]) -> [DVec2; 2] {
    loops.iter().flatten().fold([DVec2::INFINITY, DVec2::NEG_INFINITY], |[l, h], p| [l.min(*p), h.max(*p)])
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

/// Whether a disc lies inside.
fn holds_disc(loops: &Loops, middle: DVec2, radius_mm: f64) -> bool {
    point_in(loops, middle) && solid::section::distance_to(loops, middle) >= radius_mm
}

/// Outlines with holes, extruded along z of `axes`.
fn extrude(loops: &Loops, axes: &DAffine3, from_mm: f64, to_mm: f64) -> Result<Mesh, JointError> {
    let signed = |l: &Vec<DVec2>| area_mm2(std::slice::from_ref(l));
    // The area of a single loop comes out unsigned where it is a hole: its own direction tells.
    let turn = |l: &Vec<DVec2>| (0..l.len()).map(|i| l[i].perp_dot(l[(i + 1) % l.len()])).sum::<f64>();
    let (outer, holes): (Vec<_>, Vec<_>) = loops.iter().filter(|l| signed(l).abs() > 0.2).partition(|l| turn(l) > 0.0);
    let solids: Vec<Mesh> = outer.iter().map(|l| solid::prism(l, axes, from_mm, to_mm)).collect();
    let whole = solid::union_all(&solids)?;
    if holes.is_empty() {
        return Ok(whole);
    }
    let tools: Vec<Mesh> = holes.iter().map(|l| solid::prism(l, axes, from_mm - 1.0, to_mm + 1.0)).collect();
    Ok(solid::difference_all(&whole, &tools)?)
}

/// Insets that may come out empty.
fn within(loops: &Loops, mm: f64) -> Result<Loops, JointError> {
    if loops.is_empty() { Ok(Vec::new()) } else { Ok(inset(loops, mm)?) }
}

fn no_room(site: &Site, what: String, remedy: &str) -> JointError {
    JointError::NoRoom {
        what: format!("joint {}: {what}", site.rules.name),
        remedy: remedy.to_owned(),
        key: vec!["joint".into(), site.rules.name.clone()],
    }
}

/// Direction in the section of an angle, degrees.
fn towards(angle_deg: f64) -> DVec2 {
    let (sin, cos) = libm::sincos(angle_deg.to_radians());
    DVec2::new(cos, sin)
}

/// How far outlines reach from the origin in a direction, mm: the furthest crossing.
fn reach_of(loops: &Loops, direction: DVec2) -> f64 {
    let side = direction.perp();
    let mut far = 0.0f64;
    for l in loops {
        for i in 0..l.len() {
            let (a, b) = (l[i], l[(i + 1) % l.len()]);
            let (da, db) = (a.dot(side), b.dot(side));
            if (da < 0.0) != (db < 0.0) {
                let p = a + (b - a) * (da / (da - db));
                far = far.max(p.dot(direction));
            }
        }
    }
    far
}

/// Middle of a section's point in the prop frame.
fn raise(axes: &DAffine3, p: DVec2, z: f64) -> DVec3 {
    axes.transform_point3(p.extend(z))
}
