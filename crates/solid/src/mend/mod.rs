//! Mending what can be mended without guessing, and saying where the rest is broken.
//!
//! Lengths are in the mesh's own unit here, which need not be millimetres yet.

mod doubled;
mod faces;
mod fault;
mod join;
mod note;
mod orient;
mod overlap;
mod shells;
mod words;

use crate::Mesh;
use glam::DVec3;
pub use note::{Fault, FaultKind, Mend, MendKind};

/// Vertices closer than this share of the box's diagonal are one, and faces lower than it have no area: a little more
/// than the rounding of a coordinate to f32.
const SAME_SHARE: f64 = 1e-7;

/// A closed, outward surface without overlaps from `mesh`, and what had to be done for it.
///
/// The result: every edge joins two faces that run opposite ways; every shell has volume and looks away from it, so
/// that a shell inside another is a void; shells whose boxes overlap don't intersect. A single shell is tested for
/// self-intersection up to 400,000 faces. The surface moves by less than 1e-7 of the box's diagonal, except that
/// what lies inside overlaps goes. A closed mesh with none of the defects comes back unchanged.
///
/// All coordinates must be finite, all indices in range, as [`crate::read`] gives them.
///
/// # Errors
/// One [`Fault`] for each kind of defect that can't be mended without guessing what was meant.
pub fn mend(mesh: Mesh) -> Result<(Mesh, Vec<Mend>), Vec<Fault>> {
    let mut mesh = mesh;
    let mut mends = Vec::new();
    enough_faces(&mesh)?;
    join::drop_loose(&mut mesh, &mut mends);
    let same = SAME_SHARE * mesh.bounds().map_or(0.0, |b| b.size().length());
    let mut census = mesh.edge_census();
    if !census.is_closed() {
        census = join::join_open(&mut mesh, census, same, &mut mends);
    }
    if faces::drop_zero_area(&mut mesh, same, &mut mends) {
        census = mesh.edge_census();
    }
    if !census.is_closed() && faces::drop_duplicates(&mut mesh, &mut mends) {
        census = mesh.edge_census();
    }
    if !census.flipped.is_empty() && orient::turn_flipped(&mut mesh, &mut mends) {
        census = mesh.edge_census();
    }
    if !census.crowded.is_empty() && orient::part_touching(&mut mesh, &census.crowded, &mut mends) {
        census = mesh.edge_census();
    }
    enough_faces(&mesh)?;
    let faults = fault::of_edges(&mesh, &census);
    if !faults.is_empty() {
        return Err(faults);
    }
    let nesting = shells::turn_outwards(&mut mesh, same, &mut mends)?;
    let mesh = overlap::resolve(mesh, &nesting, &mut mends)?;
    Ok((mesh, by_kind(mends)))
}

/// One entry for each kind, in order.
fn by_kind(mut mends: Vec<Mend>) -> Vec<Mend> {
    mends.sort_by_key(|m| m.kind);
    let same_kind = mends.chunk_by(|a, b| a.kind == b.kind);
    let spots = |group: &[Mend]| group.iter().flat_map(|m| m.spots.iter().copied()).collect();
    same_kind.map(|g| Mend::new(g[0].kind, g.iter().map(|m| m.count).sum(), spots(g))).collect()
}

fn enough_faces(mesh: &Mesh) -> Result<(), Vec<Fault>> {
    if mesh.triangles.len() >= 4 {
        return Ok(());
    }
    let bounds = mesh.bounds();
    Err(vec![Fault {
        kind: FaultKind::TooFewFaces,
        count: mesh.triangles.len(),
        length_mm: 0.0,
        place: bounds.map_or(DVec3::ZERO, |b| b.center()),
        size: bounds.map_or(DVec3::ZERO, |b| b.size()),
    }])
}

#[cfg(test)]
mod tests;
