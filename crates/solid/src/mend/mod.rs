//! Mending what can be mended without guessing, and saying where the rest is broken.
//!
//! Lengths are in the mesh's own unit here, which need not be millimetres yet.

#[cfg(test)]
mod broken;
mod crossing;
mod crossings;
mod cutout;
mod doubled;
mod faces;
mod fault;
mod fill;
mod holes;
mod join;
mod locally;
mod note;
mod orient;
mod overlap;
mod patch;
mod rim;
mod scraps;
mod shells;
mod stitch;
mod walls;
mod words;

use crate::{EdgeCensus, Mesh};
use glam::DVec3;
pub use note::{Fault, FaultKind, Mend, MendKind};

/// Vertices closer than this share of the box's diagonal are one, and faces lower than it have no area: a little more
/// than the rounding of a coordinate to f32.
const SAME_SHARE: f64 = 1e-7;

/// Open corners this close, as a share of the box's diagonal, are joined, and open edges stitched to corners on them: two
/// hundredths of a millimetre on a prop of a metre, less than any printer shows.
const CRACK_SHARE: f64 = 2e-5;
/// Sheets no wider than this share of the diagonal are scraps: two millimetres on a prop of a metre.
const SCRAP_SHARE: f64 = 2e-3;

/// A closed, outward surface without overlaps from `mesh`, and what had to be done for it.
///
/// The result: every edge joins two faces that run opposite ways; every shell has volume and looks away from it, so
/// that a shell inside another is a void; shells whose boxes overlap don't intersect. A single shell is tested for
/// self-intersection up to 400,000 faces.
///
/// The surface moves by no more than 2e-5 of the box's diagonal, and only along open edges, except where a mend says
/// otherwise: what lies inside solid goes; small holes, and flat ones, get a surface; small tangles of wrong edges are
/// cut out and filled; where a shell passes through itself it is made anew, in boxes around those places if that leads to
/// a sound solid, else everywhere. Faces away from any mend keep their corners bit for bit. A closed mesh with none of the defects
/// comes back unchanged.
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
    let diagonal = mesh.bounds().map_or(0.0, |b| b.size().length());
    let same = SAME_SHARE * diagonal;
    let mut census = mesh.edge_census();
    if !census.is_closed() {
        census = join::join_open(&mut mesh, census, [same, CRACK_SHARE * diagonal], &mut mends);
    }
    if !census.open.is_empty() {
        census = stitch::stitch(&mut mesh, census, CRACK_SHARE * diagonal, &mut mends);
    }
    if faces::drop_zero_area(&mut mesh, same, &mut mends) {
        census = mesh.edge_census();
    }
    if !census.is_closed() && faces::drop_duplicates(&mut mesh, &mut mends) {
        census = mesh.edge_census();
    }
    census = turn_and_part(&mut mesh, census, &mut mends);
    if !census.crowded.is_empty() && walls::drop_inner(&mut mesh, SCRAP_SHARE * diagonal, &mut mends) {
        census = mesh.edge_census();
        census = turn_and_part(&mut mesh, census, &mut mends);
    }
    if !census.open.is_empty() {
        census = close_holes(&mut mesh, census, SCRAP_SHARE * diagonal, &mut mends);
    }
    if !census.is_closed() && cutout::cut_and_fill(&mut mesh, &census, &mut mends) {
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

/// Faces turned like their neighbours, and solids parted that touch along edges.
fn turn_and_part(mesh: &mut Mesh, census: EdgeCensus, mends: &mut Vec<Mend>) -> EdgeCensus {
    let mut census = census;
    if !census.flipped.is_empty() && orient::turn_flipped(mesh, mends) {
        census = mesh.edge_census();
    }
    if !census.crowded.is_empty() && orient::part_touching(mesh, &census.crowded, mends) {
        census = mesh.edge_census();
    }
    census
}

/// Sheets inside solid dropped, holes filled, and what is left too small to print dropped.
fn close_holes(mesh: &mut Mesh, census: EdgeCensus, scrap: f64, mends: &mut Vec<Mend>) -> EdgeCensus {
    let mut census = census;
    if scraps::drop_inner(mesh, &census.open, mends) {
        census = mesh.edge_census();
    }
    if !census.open.is_empty() && holes::fill(mesh, &census, mends) {
        census = mesh.edge_census();
    }
    if !census.open.is_empty() && scraps::drop_tiny(mesh, &census.open, scrap, mends) {
        census = mesh.edge_census();
    }
    census
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
