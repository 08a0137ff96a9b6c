//! Where a surface passes through itself.

use super::crossing::{Named, cross};
use super::fault::{join, root};
use crate::{Bounds, Mesh};
use rayon::prelude::*;

/// Boxes around the triangles that cross others, one for each set of them that cross or share corners, in the order of
/// their first triangle. What only touches, or lies in one plane, may be left out.
pub(super) fn places(mesh: &Mesh) -> Vec<Bounds> {
    let pairs = crossing_pairs(mesh);
    let mut faulty: Vec<u32> = pairs.iter().flatten().copied().collect();
    faulty.sort_unstable();
    faulty.dedup();
    let slot = |t: u32| faulty.partition_point(|other| *other < t);
    let mut parent: Vec<usize> = (0..faulty.len()).collect();
    for [a, b] in &pairs {
        join(&mut parent, slot(*a), slot(*b));
    }
    let mut by_corner: Vec<(u32, usize)> =
        faulty.iter().enumerate().flat_map(|(k, t)| mesh.triangles[*t as usize].map(|v| (v, k))).collect();
    by_corner.sort_unstable();
    for w in by_corner.windows(2).filter(|w| w[0].0 == w[1].0) {
        join(&mut parent, w[0].1, w[1].1);
    }
    let mut boxes: Vec<Option<Bounds>> = vec![None; faulty.len()];
    for (k, t) in faulty.iter().enumerate() {
        let set = root(&mut parent, k);
        let known = boxes[set].into_iter().flat_map(|b| [b.min, b.max]);
        boxes[set] = Bounds::of(known.chain(mesh.corners(*t as usize)));
    }
    boxes.into_iter().flatten().collect()
}

/// Pairs of triangles that cross, ascending. Only triangles in one cell of a grid are compared.
fn crossing_pairs(mesh: &Mesh) -> Vec<[u32; 2]> {
    let Some(all) = mesh.bounds() else { return Vec::new() };
    let bounds: Vec<Bounds> = (0..mesh.triangles.len())
        .into_par_iter()
        .map(|t| {
            let [a, b, c] = mesh.corners(t);
            Bounds { min: a.min(b).min(c), max: a.max(b).max(c) }
        })
        .collect();
    let mean = bounds.iter().map(|b| b.size().max_element()).sum::<f64>() / bounds.len() as f64;
    let cell = (2.0 * mean).max(all.size().max_element() / f64::from(MOST_CELLS));
    if cell <= 0.0 {
        return Vec::new();
    }
    let key = |p: glam::DVec3| ((p - all.min) / cell).to_array().map(|x| x.floor() as u64);
    let mut filed: Vec<(u64, u32)> = bounds
        .par_iter()
        .enumerate()
        .flat_map_iter(|(t, b)| {
            let (low, high) = (key(b.min), key(b.max));
            let columns = (low[0]..=high[0]).flat_map(move |x| (low[1]..=high[1]).map(move |y| (x, y)));
            let cells = columns.flat_map(move |(x, y)| (low[2]..=high[2]).map(move |z| (x << 40) | (y << 20) | z));
            cells.map(move |cell| (cell, t as u32))
        })
        .collect();
    filed.par_sort_unstable();
    let named = |t: u32| -> Named { mesh.triangles[t as usize].map(|v| (v, mesh.vertices[v as usize])) };
    let meet = |a: &Bounds, b: &Bounds| a.min.cmple(b.max).all() && b.min.cmple(a.max).all();
    let cells: Vec<&[(u64, u32)]> = filed.chunk_by(|a, b| a.0 == b.0).collect();
    let mut pairs: Vec<[u32; 2]> = cells
        .into_par_iter()
        .flat_map_iter(|cell| {
            cell.iter().enumerate().flat_map(move |(k, a)| cell[k + 1..].iter().map(move |b| [a.1, b.1]))
        })
        .filter(|[a, b]| meet(&bounds[*a as usize], &bounds[*b as usize]) && cross(&named(*a), &named(*b)))
        .collect();
    pairs.par_sort_unstable();
    pairs.dedup();
    pairs
}

/// Cells along the longest side of the box, at most: three such numbers fit into one key.
const MOST_CELLS: u32 = 1 << 10;
