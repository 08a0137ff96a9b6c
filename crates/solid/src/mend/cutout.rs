//! The last resort: what can't be mended in place is cut out, and the clean hole filled.

use super::note::{Mend, MendKind, spots_of_faces};
use super::{fault, holes, orient};
use crate::{Bounds, EdgeCensus, Mesh};

/// Widest tangle of wrong edges that is cut out, as a share of the box's diagonal.
const CUT_SHARE: f64 = 0.02;
/// How many rings of faces around the wrong edges are taken with them, at most.
const MOST_RINGS: usize = 4;

/// Cuts out the faces at small tangles of wrong edges and fills what opens, ring by ring wider until fewer edges are
/// wrong. The surface elsewhere stays as it is. Whether anything changed.
pub(super) fn cut_and_fill(mesh: &mut Mesh, census: &EdgeCensus, mends: &mut Vec<Mend>) -> bool {
    let widest = CUT_SHARE * mesh.bounds().map_or(0.0, |b| b.size().length());
    let wrong: Vec<[u32; 2]> =
        [&census.open, &census.flipped, &census.crowded].into_iter().flatten().copied().collect();
    let small = |group: &Vec<[u32; 2]>| {
        let bounds = Bounds::of(group.iter().flatten().map(|v| mesh.vertices[*v as usize]));
        bounds.is_some_and(|b| b.size().length() <= widest)
    };
    let groups: Vec<Vec<[u32; 2]>> = fault::grouped(&wrong).into_iter().filter(small).collect();
    if groups.is_empty() {
        return false;
    }
    let mut inside = vec![false; mesh.vertices.len()];
    groups.iter().flatten().flatten().for_each(|v| inside[*v as usize] = true);
    let faults = census.open.len() + census.flipped.len() + census.crowded.len();
    for _ in 0..MOST_RINGS {
        let cut = |t: &[u32; 3]| t.iter().any(|v| inside[*v as usize]);
        let gone: Vec<u32> = (0..mesh.triangles.len() as u32).filter(|t| cut(&mesh.triangles[*t as usize])).collect();
        if 4 * gone.len() > mesh.triangles.len() {
            return false;
        }
        let kept: Vec<u32> = (0..mesh.triangles.len() as u32).filter(|t| !cut(&mesh.triangles[*t as usize])).collect();
        let mut next = mesh.subset(&kept);
        let mut done = vec![Mend::new(MendKind::CutOut, gone.len(), spots_of_faces(mesh, gone.iter().copied()))];
        let mut after = next.edge_census();
        if !after.flipped.is_empty() && orient::turn_flipped(&mut next, &mut done) {
            after = next.edge_census();
        }
        if holes::fill(&mut next, &after, &mut done) {
            after = next.edge_census();
        }
        if after.open.len() + after.flipped.len() + after.crowded.len() < faults {
            *mesh = next;
            mends.extend(done);
            return true;
        }
        gone.iter().flat_map(|t| mesh.triangles[*t as usize]).for_each(|v| inside[v as usize] = true);
    }
    false
}
