//! Shells that are copies of each other.

use super::{Mend, MendKind};
use crate::{Bounds, Mesh};
use rayon::prelude::*;

/// Drops shells whose triangles have the same corners as those of an earlier one, whichever way they run: a surface
/// exported twice. The remaining shells, with their triangles renumbered.
pub(super) fn drop_copies(mesh: &mut Mesh, shells: Vec<Vec<u32>>, mends: &mut Vec<Mend>) -> Vec<Vec<u32>> {
    if shells.len() < 2 {
        return shells;
    }
    let boxes: Vec<Option<Bounds>> =
        shells.par_iter().map(|s| Bounds::of(s.iter().flat_map(|t| mesh.corners(*t as usize)))).collect();
    let alike = |i: usize, j: usize| shells[i].len() == shells[j].len() && boxes[i] == boxes[j];
    let low = |i: usize| boxes[i].map_or([0.0; 3], |b| b.min.to_array());
    let mut order: Vec<usize> = (0..shells.len()).collect();
    order.sort_by(|i, j| {
        let by_place = low(*i).iter().zip(low(*j)).map(|(a, b)| a.total_cmp(&b)).find(|o| o.is_ne());
        by_place.unwrap_or(std::cmp::Ordering::Equal).then(shells[*i].len().cmp(&shells[*j].len())).then(i.cmp(j))
    });
    let mut copy = vec![false; shells.len()];
    for group in order.chunk_by(|i, j| alike(*i, *j)).filter(|g| g.len() > 1) {
        let places: Vec<Vec<[[u64; 3]; 3]>> = group.par_iter().map(|i| places(mesh, &shells[*i])).collect();
        for k in 1..group.len() {
            copy[group[k]] = (0..k).any(|j| places[j] == places[k]);
        }
    }
    let gone: Vec<usize> = (0..shells.len()).filter(|i| copy[*i]).collect();
    if gone.is_empty() {
        return shells;
    }
    mends.push(Mend::new(MendKind::DoubledShells, gone.len(), gone.iter().filter_map(|i| boxes[*i]).collect()));
    let mut kept: Vec<u32> =
        shells.iter().zip(&copy).filter(|(_, copy)| !**copy).flat_map(|(s, _)| s.clone()).collect();
    kept.sort_unstable();
    *mesh = mesh.subset(&kept);
    mesh.shells()
}

/// The corners of each triangle, sorted, then all triangles sorted.
pub(super) fn places(mesh: &Mesh, shell: &[u32]) -> Vec<[[u64; 3]; 3]> {
    let mut places: Vec<[[u64; 3]; 3]> = shell
        .iter()
        .map(|t| {
            let mut corners = mesh.corners(*t as usize).map(|p| (p + glam::DVec3::ZERO).to_array().map(f64::to_bits));
            corners.sort_unstable();
            corners
        })
        .collect();
    places.sort_unstable();
    places
}
