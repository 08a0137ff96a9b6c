//! Making the pieces: each one the maker's solid between two cuts, less the void inside it, plus what holds it to the next.
//!
//! The void (cavity less ribs, bores, sockets) is worked out as a solid of its own, strictly inside the body, and set
//! into the body's mesh turned inside out; cuts split triangles of the outer surface without moving any. What of it no cut
//! changes is worked out once for the whole body, so that a piece costs a clip and what is near its own joints.

use crate::joint::{Fastening, JointError};
use crate::memory::KeyOf;
use crate::path::PathFrame;
use crate::project::Glow;
use crate::rail::fitting::Rail;
use solid::section::{Basis, OutlineError, intersect, point_in, section, subtract};
use solid::{Cancel, CutError, DAffine3, DMat3, DVec2, DVec3, LighterError, Mesh, Plane};
use thiserror::Error;

/// The void is worked out this far beyond a piece's ends, so that the cut decides where it ends, mm.
const OVERLAP_MM: f64 = 1.5;
/// How far the cavity's surface may lie from what was found, to make it lighter, mm: no edge that goes moves it by more than a
/// third of that.
const LIGHTER_MM: f64 = 0.057;
/// Where two bodies meet, both faces lose this much, so that every piece ends in a cut, mm.
pub const TRIM_MM: f64 = 0.02;
/// Height of the piece's number, mm.
pub const LABEL_MM: f64 = 6.0;
/// Height of a sunk number where there is little room, mm.
const SMALL_LABEL_MM: f64 = 5.0;
/// Stroke of the number, mm: two beads of a 0.4 nozzle and a little.
pub const LABEL_STROKE_MM: f64 = 1.0;
/// How far a raised number stands out of the wall, or a sunk one goes in, mm.
pub const LABEL_RELIEF_MM: f64 = 0.6;

/// Where a raised number may be, from the butt-side end, mm.
const RAISED_AT_MM: [f64; 4] = [16.0, 22.0, 30.0, 40.0];

/// Why a piece could not be made.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum PieceError {
    /// A cut failed.
    #[error(transparent)]
    Cut(#[from] CutError),
    /// A joint failed.
    #[error(transparent)]
    Joint(#[from] JointError),
    /// A boolean failed.
    #[error(transparent)]
    Boolean(#[from] solid::BooleanError),
    /// A cover could not be hollowed.
    #[error(transparent)]
    Hollow(solid::HollowError),
    /// Stopped from outside.
    #[error("stopped before it was done")]
    Cancelled,
}

/// One piece to make.
pub struct PieceSpec<'a> {
    /// Number shown on it.
    pub number: u32,
    /// Maker's solid.
    pub outer: &'a Mesh,
    /// Where light leaves its body.
    pub glow: Glow,
    /// Whether the body has a cavity.
    pub hollow: bool,
    /// Cavity and bore of the whole body; see [`hollows`].
    pub hollows: &'a Mesh,
    /// The rail.
    pub rail: Option<&'a Rail>,
    /// Cut towards the butt, with its frame; `None` at the body's own end.
    pub low: Option<(Plane, PathFrame)>,
    /// Cut towards the tip.
    pub high: Option<(Plane, PathFrame)>,
    /// Joints at those cuts.
    pub joints: [Option<&'a Fastening>; 2],
    /// Whether another body begins at the cut, so that what the maker drew beyond it is trimmed off: butt side, tip side.
    pub trims: [bool; 2],
    /// Stations, mm.
    pub station_mm: [f64; 2],
    /// Bays, ports, lids' seats and wire channels to be taken from it; they may overlap and pierce its surface.
    pub taken: Vec<&'a Mesh>,
    /// Stops the work.
    pub cancel: &'a Cancel,
}

impl PieceSpec<'_> {
    /// Adds it to a key that names body, cavity and rail, and so what is hollow.
    pub(crate) fn told(&self, key: KeyOf) -> KeyOf {
        // Every field is named, so that none is forgotten.
        let PieceSpec {
            number,
            outer: _,
            glow,
            hollow: _,
            hollows: _,
            rail: _,
            low,
            high,
            joints,
            trims,
            station_mm,
            taken,
            cancel: _,
        } = self;
        let mut key = key.and(&(number, glow, low, high, trims, station_mm));
        for (end, joint) in joints.iter().enumerate() {
            let side = side_at(end);
            let solids = joint.iter().flat_map(|f| [&f.adds[side], &f.takes[side], &f.drills[side]]);
            key = solids.fold(key.and(&joint.is_some()), KeyOf::mesh);
        }
        taken.iter().fold(key, |key, mesh| key.mesh(mesh))
    }
}

/// A piece as made, in the prop frame.
pub struct Made {
    /// Closed, oriented solid.
    pub mesh: Mesh,
    /// Volume of the maker's solid between the cuts, with what was trimmed off at the body's ends, mm3.
    pub whole_mm3: f64,
    /// Volume of the void between the cuts and of the trims, less the collar's root in it, mm3.
    pub taken_mm3: f64,
    /// Volume added beyond the cuts, mm3.
    pub added_mm3: f64,
    /// The void that was set in (before the cuts), for checks and drawings.
    pub void: Mesh,
    /// Pockets without a way out that were left solid.
    pub filled: usize,
    /// Where the number is and how far it stands out: least, most; `None` when no place was found.
    pub label: Option<Label>,
}

/// The number on a piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Label {
    /// Its middle, prop frame.
    pub at: DVec3,
    /// Relief over the surface around it, mm: least, most over its strokes.
    pub relief_mm: [f64; 2],
    /// Height of its figures, mm.
    pub height_mm: f64,
}

/// Makes one piece.
///
/// # Errors
/// [`PieceError`] when geometry fails or the work is stopped.
pub fn make(spec: &PieceSpec) -> Result<Made, PieceError> {
    let stop = || if spec.cancel.is_cancelled() { Err(PieceError::Cancelled) } else { Ok(()) };
    stop()?;
    let low = spec.low.as_ref().map(|l| l.0);
    let high = spec.high.as_ref().map(|h| h.0);
    let outer = solid::reaching(spec.outer, low.as_ref(), high.as_ref())?;
    let (mut void, label) = void_of(spec, &outer)?;
    stop()?;
    let filled = fill_pockets(&mut void, low.as_ref(), high.as_ref());
    let whole = solid::slab(&outer, low.as_ref(), high.as_ref())?;
    let mut mesh = if void.is_empty() {
        whole.clone()
    } else {
        let mut set = outer;
        set.append(&void.clone().reversed());
        solid::slab(&set, low.as_ref(), high.as_ref())?
    };
    stop()?;
    let mut taken_mm3 = solid::slab(&void, low.as_ref(), high.as_ref())?.volume_mm3();
    let mut added_mm3 = 0.0;
    for (end, plane) in [low, high].iter().enumerate() {
        let (Some(fastening), Some(plane)) = (spec.joints[end], plane) else { continue };
        let (adds, drills) = (&fastening.adds[side_at(end)], &fastening.drills[side_at(end)]);
        if !adds.is_empty() {
            mesh = solid::union(&mesh, adds)?;
            let below = solid::slab(adds, None, Some(plane))?;
            let above = solid::slab(adds, Some(plane), None)?;
            let (root, beyond) = if end == 0 { (above, below) } else { (below, above) };
            added_mm3 += beyond.volume_mm3();
            taken_mm3 -= solid::intersection(&void, &root)?.volume_mm3();
        }
        if !drills.is_empty() {
            taken_mm3 += solid::intersection(&mesh, drills)?.volume_mm3();
            mesh = solid::difference(&mesh, drills)?;
        }
    }
    let tool = near(&spec.taken, &mesh);
    if !tool.is_empty() {
        stop()?;
        let tool = solid::union_all(&tool)?;
        taken_mm3 += solid::intersection(&mesh, &tool)?.volume_mm3();
        mesh = solid::difference(&mesh, &tool)?;
    }
    // A collar's root can shut small pockets in against the wall, and a rib can leave a crumb: neither prints as anything.
    let (tidy, crumbs) = main_body(mesh);
    mesh = tidy;
    taken_mm3 += crumbs.volume_mm3;
    let mut trimmed_mm3 = 0.0;
    if spec.trims[0] {
        trimmed_mm3 += solid::slab(spec.outer, None, low.as_ref())?.volume_mm3();
    }
    if spec.trims[1] {
        trimmed_mm3 += solid::slab(spec.outer, high.as_ref(), None)?.volume_mm3();
    }
    taken_mm3 += trimmed_mm3;
    Ok(Made {
        whole_mm3: whole.volume_mm3() + trimmed_mm3,
        taken_mm3,
        added_mm3,
        mesh,
        void,
        filled: filled + crumbs.pockets,
        label,
    })
}

/// Those of some solids whose boxes touch a mesh's box.
fn near(solids: &[&Mesh], mesh: &Mesh) -> Vec<Mesh> {
    let Some(own) = mesh.bounds() else { return Vec::new() };
    let touches = |m: &&&Mesh| m.bounds().is_some_and(|b| b.min.cmple(own.max).all() && b.max.cmpge(own.min).all());
    solids.iter().filter(touches).map(|m| (*m).clone()).collect()
}

/// What [`main_body`] left out.
pub(crate) struct Crumbs {
    /// Shut pockets that were filled.
    pockets: usize,
    /// Volume of the loose crumbs less that of the filled pockets, mm3.
    volume_mm3: f64,
}

/// A loose part smaller than this is a crumb, mm3: a cube of 1.5 mm. A larger one is a fault and stays, to be found.
const CRUMB_MM3: f64 = 3.4;

/// The piece without shut pockets and loose crumbs.
pub(crate) fn main_body(mesh: Mesh) -> (Mesh, Crumbs) {
    let shells = mesh.shells();
    let mut crumbs = Crumbs { pockets: 0, volume_mm3: 0.0 };
    if shells.len() < 2 {
        return (mesh, crumbs);
    }
    let mut kept: Vec<u32> = Vec::with_capacity(mesh.triangles.len());
    for shell in &shells {
        let volume = mesh.subset(shell).volume_mm3();
        if volume > CRUMB_MM3 {
            kept.extend(shell);
        } else {
            crumbs.pockets += usize::from(volume < 0.0);
            crumbs.volume_mm3 += volume;
        }
    }
    kept.sort_unstable();
    (mesh.subset(&kept), crumbs)
}

/// Which side of the joint at one of its ends a piece is: at its butt-side end (0) it is the joint's tip side (1).
fn side_at(end: usize) -> usize {
    1 - end
}

fn widened(plane: &Plane, by_mm: f64) -> Plane {
    Plane { normal: plane.normal, offset_mm: plane.offset_mm + by_mm }
}

/// What is hollow in a body before anything is known of its cuts: its cavity, made lighter, less the ribs, and the bore.
///
/// # Errors
/// [`PieceError::Boolean`].
pub fn hollows(cavity: Option<&Mesh>, rail: Option<&Rail>) -> Result<Mesh, PieceError> {
    let mut hollows = Mesh::default();
    if let Some(cavity) = cavity {
        hollows = match solid::lighter(cavity, LIGHTER_MM) {
            Ok(lighter) => lighter,
            Err(LighterError::Boolean(e)) => return Err(e.into()),
            // Then as fine as it was found.
            Err(_) => cavity.clone(),
        };
        if let Some(rail) = rail.filter(|r| !r.ribs.is_empty()) {
            hollows = solid::difference(&hollows, &rail.ribs)?;
        }
    }
    match rail.filter(|r| !r.bore.is_empty()) {
        Some(rail) => Ok(solid::union(&hollows, &rail.bore)?),
        None => Ok(hollows),
    }
}

/// The void of a piece, a little beyond its ends, and where its number went. `outer` is what of the body's surface lies between
/// them.
fn void_of(spec: &PieceSpec, outer: &Mesh) -> Result<(Mesh, Option<Label>), PieceError> {
    let low = spec.low.as_ref().map(|l| widened(&l.0, -OVERLAP_MM));
    let high = spec.high.as_ref().map(|h| widened(&h.0, OVERLAP_MM));
    let mut void = solid::slab(spec.hollows, low.as_ref(), high.as_ref())?;
    let mut label = None;
    // Where light leaves all round, a number on the wall would show: only when no end face has room for it.
    let shines = spec.glow == Glow::Around;
    if spec.hollow
        && !shines
        && let Some((at, strokes)) = raised_number(spec, &beside_number(spec, &void)?)
    {
        void = solid::difference(&void, &strokes)?;
        label = Some(at);
    }
    for (end, fastening) in spec.joints.iter().enumerate() {
        if let Some(takes) = fastening.map(|f| &f.takes[side_at(end)]).filter(|t| !t.is_empty()) {
            void = solid::union(&void, takes)?;
        }
    }
    if label.is_none()
        && let Some((at, strokes)) = sunk_number(spec, outer, &void)?
    {
        void = solid::union(&void, &strokes)?;
        label = Some(at);
    }
    if label.is_none()
        && shines
        && spec.hollow
        && let Some((at, strokes)) = raised_number(spec, &beside_number(spec, &void)?)
    {
        void = solid::difference(&void, &strokes)?;
        label = Some(at);
    }
    Ok((void, label))
}

/// Drops shells of the void that no cut opens: nothing could be put in or get out. Returns how many.
fn fill_pockets(void: &mut Mesh, low: Option<&Plane>, high: Option<&Plane>) -> usize {
    let shells = void.shells();
    let opened = |shell: &[u32]| {
        let crosses = |plane: &Plane| {
            let mut sides = [false, false];
            for t in shell {
                for v in void.triangles[*t as usize] {
                    sides[usize::from(plane.distance_mm(void.vertices[v as usize]) >= 0.0)] = true;
                }
            }
            sides[0] && sides[1]
        };
        low.is_some_and(crosses) || high.is_some_and(crosses)
    };
    // What lies beyond the cuts is another piece's.
    let beyond = |shell: &[u32]| {
        let all = |plane: &Plane, side: f64| {
            shell
                .iter()
                .flat_map(|t| void.triangles[*t as usize])
                .all(|v| plane.distance_mm(void.vertices[v as usize]) * side <= 0.0)
        };
        low.is_some_and(|p| all(p, 1.0)) || high.is_some_and(|p| all(p, -1.0))
    };
    let keep: Vec<bool> = shells.iter().map(|s| opened(s)).collect();
    let filled = shells.iter().zip(&keep).filter(|(s, k)| !**k && !beyond(s)).count();
    if keep.contains(&false) {
        let mut triangles: Vec<u32> =
            shells.iter().zip(&keep).filter(|(_, k)| **k).flat_map(|(s, _)| s.iter().copied()).collect();
        triangles.sort_unstable();
        *void = void.subset(&triangles);
    }
    filled
}

fn figures(number: u32, height_mm: f64) -> Vec<Vec<DVec2>> {
    solid::digits(&format!("{number:02}"), height_mm, LABEL_STROKE_MM)
}

fn half_size(figures: &[Vec<DVec2>]) -> DVec2 {
    figures.iter().flatten().fold(DVec2::ZERO, |h, p| h.max(p.abs()))
}

/// The figures of a piece's number as prisms in a place's x, y plane, from one height to another.
fn strokes(number: u32, height_mm: f64, place: &DAffine3, from_mm: f64, to_mm: f64) -> Mesh {
    let mut all = Mesh::default();
    for outline in figures(number, height_mm) {
        all.append(&solid::prism(&outline, place, from_mm, to_mm));
    }
    all
}

/// The void near the butt-side end, as far as a number goes and as much again.
fn beside_number(spec: &PieceSpec, void: &Mesh) -> Result<Mesh, CutError> {
    let far = spec.low.as_ref().map(|l| widened(&l.0, 2.0 * RAISED_AT_MM[RAISED_AT_MM.len() - 1]));
    solid::slab(void, None, far.as_ref())
}

/// A raised number on the inner wall, beside the rail near the butt-side end: where the wall is flattest among a few
/// places. `void` is the void there without the number.
fn raised_number(spec: &PieceSpec, void: &Mesh) -> Option<(Label, Mesh)> {
    let rail = spec.rail?;
    let surface = solid::Bvh::new(void);
    let length = spec.station_mm[1] - spec.station_mm[0];
    let [left, right] = rail.layout.beside();
    let half_width = half_size(&figures(spec.number, LABEL_MM)).x;
    let mut best: Option<(f64, Label, DAffine3)> = None;
    for along_mm in RAISED_AT_MM {
        if along_mm + 6.0 > length {
            continue;
        }
        let d = rail.way.distance_at(spec.station_mm[0] + along_mm);
        let (run, at) = rail.way.locate(d);
        for side in [1.0, -1.0] {
            for shift in [5.0, 7.0, 10.0] {
                let u = if side > 0.0 { right + shift } else { left - shift };
                for v in [1.0, -1.0] {
                    let eye = run.point(DVec2::new(u, 0.0), at);
                    if !surface.is_inside(eye) {
                        continue;
                    }
                    let Some(hit) = surface.ray(eye, run.v * v, 100.0) else { continue };
                    let p = eye + run.v * v * hit.distance_mm;
                    // The plane through four points around, rather than one triangle's.
                    let reach = LABEL_MM / 2.0;
                    let touch = |du: f64, ds: f64| {
                        let o = run.point(DVec2::new(u + du, 0.0), at + ds);
                        surface.ray(o, run.v * v, 100.0).map(|h| o + run.v * v * h.distance_mm)
                    };
                    let (Some(a), Some(b)) = (touch(reach, 0.0), touch(-reach, 0.0)) else { continue };
                    let (Some(c), Some(e)) = (touch(0.0, half_width), touch(0.0, -half_width)) else { continue };
                    let Some(normal) = (a - b).cross(c - e).try_normalize() else { continue };
                    // Into the cavity.
                    let normal = if normal.dot(run.v * v) > 0.0 { -normal } else { normal };
                    let x = (run.along - normal * run.along.dot(normal)).normalize();
                    let place = DAffine3::from_mat3_translation(DMat3::from_cols(x, normal.cross(x), normal), p);
                    let heights = label_heights(&surface, &place, half_width);
                    let Some([low, high]) = heights else { continue };
                    let rough = high - low;
                    if rough < 0.5 && best.as_ref().is_none_or(|b| rough < b.0) {
                        let top = (low + high) / 2.0 + LABEL_RELIEF_MM;
                        let label = Label { at: p, relief_mm: [top - high, top - low], height_mm: LABEL_MM };
                        let shifted = DAffine3 { translation: p + normal * (low + high) / 2.0, ..place };
                        best = Some((rough, label, shifted));
                    }
                }
            }
        }
    }
    let (_, label, place) = best?;
    Some((label, strokes(spec.number, LABEL_MM, &place, -1.0, LABEL_RELIEF_MM)))
}

/// Height of the wall over a label's plane at its corners and middle, mm: least, most. `None` where there is none near.
fn label_heights(surface: &solid::Bvh, place: &DAffine3, half_width: f64) -> Option<[f64; 2]> {
    let mut range = [f64::INFINITY, f64::NEG_INFINITY];
    for i in -2..=2 {
        for j in -2..=2 {
            let local = DVec2::new(half_width * f64::from(i) / 2.0, LABEL_MM / 2.0 * f64::from(j) / 2.0);
            let above = place.transform_point3(local.extend(2.0));
            let down = -place.matrix3.z_axis;
            if !surface.is_inside(above) {
                return None;
            }
            let height = 2.0 - surface.ray(above, down, 4.0)?.distance_mm;
            range = [range[0].min(height), range[1].max(height)];
        }
    }
    Some(range)
}

/// A number sunk into an end face that the joint hides, where there is solid material for it.
fn sunk_number(spec: &PieceSpec, outer: &Mesh, void: &Mesh) -> Result<Option<(Label, Mesh)>, PieceError> {
    for (k, (end, into)) in [(&spec.low, 1.0), (&spec.high, -1.0)].into_iter().enumerate() {
        let Some((plane, frame)) = end else { continue };
        let normal = plane.normal;
        let x = (frame.across - normal * frame.across.dot(normal)).normalize();
        let basis = Basis { origin: frame.point, x, y: normal.cross(x) };
        let near = Basis { origin: frame.point + normal * (into * 0.3), ..basis };
        let deep = Basis { origin: frame.point + normal * (into * (LABEL_RELIEF_MM + 1.0)), ..basis };
        let mut face = section(outer, &near)?;
        let outlines = |e: OutlineError| PieceError::Joint(JointError::Outline(e));
        face = intersect(&face, &section(outer, &deep)?).map_err(outlines)?;
        if !void.is_empty() {
            for b in [&near, &deep] {
                face = subtract(&face, &section(void, b)?).map_err(outlines)?;
            }
        }
        for taken in &spec.taken {
            for b in [&near, &deep] {
                face = subtract(&face, &section(taken, b)?).map_err(outlines)?;
            }
        }
        // Nothing can be read under a plug.
        if let Some(adds) = spec.joints[k].map(|f| &f.adds[side_at(k)]).filter(|a| !a.is_empty()) {
            let beyond = Basis { origin: frame.point - normal * (into * 0.3), ..basis };
            face = subtract(&face, &section(adds, &beyond)?).map_err(outlines)?;
        }
        for (height_mm, turned) in
            [(LABEL_MM, false), (LABEL_MM, true), (SMALL_LABEL_MM, false), (SMALL_LABEL_MM, true)]
        {
            let half = half_size(&figures(spec.number, height_mm)) + DVec2::splat(0.8);
            let half = if turned { DVec2::new(half.y, half.x) } else { half };
            let Some(middle) = room_for(&face, half) else { continue };
            let at = basis.raise(middle);
            // Read from outside the piece.
            let out = normal * -into;
            let up = if turned { basis.x } else { basis.y };
            let place = DAffine3::from_mat3_translation(DMat3::from_cols(up.cross(out), up, out), at);
            let label = Label { at, relief_mm: [LABEL_RELIEF_MM; 2], height_mm };
            let sunk = strokes(spec.number, height_mm, &place, -LABEL_RELIEF_MM, OVERLAP_MM / 2.0);
            return Ok(Some((label, sunk)));
        }
    }
    Ok(None)
}

/// The middle of a box of the given half-size that lies inside some outlines: the one nearest the outlines' own middle.
fn room_for(face: &[Vec<DVec2>], half: DVec2) -> Option<DVec2> {
    let (low, high) =
        face.iter().flatten().fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| (l.min(*p), h.max(*p)));
    if low.x > high.x {
        return None;
    }
    let middle = (low + high) / 2.0;
    let mut best: Option<(f64, DVec2)> = None;
    let steps = 40;
    for i in 0..=steps {
        for j in 0..=steps {
            let p = low + (high - low) * DVec2::new(f64::from(i), f64::from(j)) / f64::from(steps);
            let far = (p - middle).length();
            if best.is_some_and(|b| b.0 <= far) {
                continue;
            }
            let inside = (-2..=2)
                .all(|a| (-2..=2).all(|b| point_in(face, p + half * DVec2::new(f64::from(a), f64::from(b)) / 2.0)));
            if inside {
                best = Some((far, p));
            }
        }
    }
    best.map(|b| b.1)
}

/// A lid's number, sunk into the side that lies on the seat: the label and what it takes away.
pub fn number_lid(lid: &crate::bay::Lid, number: u32) -> (Label, Mesh) {
    let place =
        DAffine3::from_mat3_translation(DMat3::from_cols(lid.along, (-lid.out).cross(lid.along), -lid.out), lid.seat);
    let label = Label { at: lid.seat, relief_mm: [LABEL_RELIEF_MM; 2], height_mm: SMALL_LABEL_MM };
    (label, strokes(number, SMALL_LABEL_MM, &place, -LABEL_RELIEF_MM, OVERLAP_MM))
}

/// Sinks a cover's number into its bore, on the side that the body behind it hides.
pub fn number_cover(mesh: &Mesh, number: u32, frame: &PathFrame) -> Result<Option<(Label, Mesh)>, PieceError> {
    let surface = solid::Bvh::new(mesh);
    if surface.is_inside(frame.point) {
        return Ok(None);
    }
    let half_width = half_size(&figures(number, LABEL_MM)).x;
    for direction in [frame.through, -frame.through, frame.across, -frame.across] {
        let Some(hit) = surface.ray(frame.point, direction, 200.0) else { continue };
        let p = frame.point + direction * hit.distance_mm;
        let x = (frame.across - direction * frame.across.dot(direction)).try_normalize().unwrap_or(frame.through);
        let place = DAffine3::from_mat3_translation(DMat3::from_cols(x, (-direction).cross(x), -direction), p);
        // Material must go on behind the number.
        let backed = [-1.0, 0.0, 1.0].iter().all(|i| {
            [-1.0, 0.0, 1.0].iter().all(|j| {
                let local = DVec3::new(i * half_width, j * LABEL_MM / 2.0, -LABEL_RELIEF_MM - 1.0);
                surface.is_inside(place.transform_point3(local))
            })
        });
        if backed {
            let cut = strokes(number, LABEL_MM, &place, -LABEL_RELIEF_MM, 3.0);
            let label = Label { at: p, relief_mm: [LABEL_RELIEF_MM; 2], height_mm: LABEL_MM };
            return Ok(Some((label, solid::difference(mesh, &cut)?)));
        }
    }
    Ok(None)
}
