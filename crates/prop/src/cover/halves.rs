//! Covers in halves: parted along the prop, pegged and glued round the body.

use super::sweep::Bore;
use super::way;
use crate::path::PathFrame;
use crate::pieces::PieceError;
use solid::section::{Basis, area_mm2, inset, intersect, section};
use solid::{DVec2, DVec3, Mesh, Plane};

/// Pegs that are tried, thickest first: diameter of the stock rod, depth in each half, mm.
const PEGS_MM: [[f64; 2]; 4] = [[3.0, 8.0], [3.0, 5.0], [2.0, 5.0], [1.5, 3.0]];
/// Wall kept round and behind a socket, mm.
const KEPT_MM: f64 = 1.0;
/// Glue behind a peg, mm.
const GLUE_MM: f64 = 0.5;
/// How far beside its seat a half comes from, beyond the body, mm.
const OFF_MM: f64 = 4.0;

/// How the halves hold on to each other.
#[derive(Clone, Debug, PartialEq)]
pub struct Halves {
    /// Direction that the first half is put on against, unit, prop frame.
    pub side: DVec3,
    /// Which half this is: 0 on the side's side, 1 opposite.
    pub half: usize,
    /// Diameter of the pegs' stock rod and its depth in each half, mm; `None` where there is no room for pegs.
    pub peg_mm: Option<[f64; 2]>,
    /// Middles of the sockets in the mating face.
    pub sockets: Vec<DVec3>,
    /// Area of the mating face, mm2.
    pub face_mm2: f64,
}

/// The sides that a cover can be parted to: through the thickness, across the width; in section coordinates.
pub(crate) const SIDES: [DVec2; 2] = [DVec2::Y, DVec2::X];

/// The direction of a side in the prop.
pub(crate) fn direction(frame: &PathFrame, side: DVec2) -> DVec3 {
    frame.across * side.x + frame.through * side.y
}

/// The two halves of a bored cover with sockets in their mating faces, and how they go together.
///
/// # Errors
/// [`PieceError`] when geometry fails.
pub(crate) fn part(
    bored: &Mesh,
    frame: &PathFrame,
    side: DVec2,
    glue_gap_mm: f64,
) -> Result<[(Mesh, Halves); 2], PieceError> {
    let normal = direction(frame, side);
    let basis = Basis { origin: frame.point, x: frame.along, y: normal.cross(frame.along) };
    let plane = Plane::through(frame.point, normal);
    let outlines = |e| PieceError::Joint(crate::joint::JointError::Outline(e));
    let at = |mm: f64| section(bored, &Basis { origin: frame.point + normal * mm, ..basis });
    let mut face = intersect(&at(0.02)?, &at(-0.02)?).map_err(outlines)?;
    // Flush with the maker's own faces nothing can be drawn.
    face.retain(|l| l.len() > 2);
    let face_mm2 = area_mm2(&face).max(0.0);
    let mut pegs: Option<([f64; 2], Vec<DVec2>)> = None;
    for [diameter, depth] in PEGS_MM {
        let mut material = face.clone();
        let far = depth + GLUE_MM + KEPT_MM;
        for d in [far / 2.0, far, -far / 2.0, -far] {
            material = intersect(&material, &at(d)?).map_err(outlines)?;
        }
        let room = inset(&material, diameter / 2.0 + glue_gap_mm + KEPT_MM).map_err(outlines)?;
        let places = places(&room, 4.0 * diameter).map_err(outlines)?;
        // One on each side of the bore at least.
        let sides = [1.0, -1.0].map(|s| places.iter().any(|p| p.y * s > 0.0));
        if sides == [true, true] {
            pegs = Some(([diameter, depth], places));
            break;
        }
    }
    let mut tools = Vec::new();
    let mut sockets = Vec::new();
    if let Some(([diameter, depth], places)) = &pegs {
        for p in places {
            let middle = basis.raise(*p);
            let reach = normal * (depth + GLUE_MM);
            let radius = solid::around_mm(diameter / 2.0 + glue_gap_mm, 24);
            tools.push(solid::cylinder(middle - reach, middle + reach, radius, 24));
            sockets.push(middle);
        }
    }
    let pegged = solid::difference_all(bored, &tools)?;
    let halves = |half: usize, mesh: Mesh| {
        (mesh, Halves { side: normal, half, peg_mm: pegs.as_ref().map(|p| p.0), sockets: sockets.clone(), face_mm2 })
    };
    let upper = solid::slab(&pegged, Some(&plane), None)?;
    let lower = solid::slab(&pegged, None, Some(&plane))?;
    Ok([halves(0, upper), halves(1, lower)])
}

/// Up to two places far apart in each patch of a room.
fn places(room: &[Vec<DVec2>], apart_mm: f64) -> Result<Vec<DVec2>, solid::section::OutlineError> {
    let mut found = Vec::new();
    for patch in room.iter().filter(|l| area_mm2(std::slice::from_ref(l)) > 0.0) {
        let mut best: Option<(f64, [DVec2; 2])> = None;
        for (i, a) in patch.iter().enumerate() {
            for b in &patch[i + 1..] {
                let d = (*a - *b).length();
                if best.is_none_or(|x| d > x.0) {
                    best = Some((d, [*a, *b]));
                }
            }
        }
        match best {
            Some((d, [a, b])) if d >= apart_mm => found.extend([a, b]),
            Some((_, [a, b])) => {
                let middle = (a + b) / 2.0;
                // A corner lies in the room for sure, the middle only in a convex one.
                let inside = solid::section::point_in(std::slice::from_ref(patch), middle);
                found.push(if inside { middle } else { a });
            }
            None => {}
        }
    }
    // Holes of the room are no room.
    let holes: Vec<Vec<DVec2>> = room.iter().filter(|l| area_mm2(std::slice::from_ref(l)) < 0.0).cloned().collect();
    found.retain(|p| !solid::section::point_in(&holes, *p));
    Ok(found)
}

/// The poses of a half: straight on from its own side.
pub(crate) fn poses(bore: &Bore, side: DVec3, half: usize) -> Vec<solid::DAffine3> {
    let out = if half == 0 { side } else { -side };
    way::straight(out, 2.0 * bore.reach_mm() + OFF_MM)
}
