//! Open edges on which corners of the other side lie.

use super::join::joined_within;
use super::note::{Mend, MendKind};
use crate::{Bounds, EdgeCensus, Mesh};
use glam::DVec3;
use rayon::prelude::*;
use std::collections::HashMap;

/// Splits open edges at the open corners that lie within `reach` of them, so that the two sides of a seam have the same
/// corners. Kept only if fewer edges are open afterwards. The census of the mesh as it is then.
pub(super) fn stitch(mesh: &mut Mesh, census: EdgeCensus, reach: f64, mends: &mut Vec<Mend>) -> EdgeCensus {
    const ROUNDS: usize = 4;
    let mut census = census;
    let (mut count, mut spots) = (0, Vec::new());
    for _ in 0..ROUNDS {
        // Corners that meet are joined first: a seam with different corners matches only when all of it is done.
        let met = joined_within(mesh, &census, reach);
        let splits = splits(&met, &met.edge_census(), reach);
        if splits.is_empty() {
            break;
        }
        let mut next = met.clone();
        let mut places = Vec::new();
        for (t, side, corners) in &splits {
            let c = met.triangles[*t as usize];
            let (a, b, apex) = (c[*side], c[(side + 1) % 3], c[(side + 2) % 3]);
            let chain: Vec<u32> = [a].into_iter().chain(corners.iter().copied()).chain([b]).collect();
            next.triangles[*t as usize] = [chain[0], chain[1], apex];
            next.triangles.extend(chain[1..].windows(2).map(|w| [w[0], w[1], apex]));
            places.extend(Bounds::of([a, b].map(|v| met.vertices[v as usize])));
        }
        let after = next.edge_census();
        if after.open.len() >= census.open.len() {
            break;
        }
        *mesh = next;
        census = after;
        count += splits.len();
        spots.extend(places);
    }
    if count > 0 {
        mends.push(Mend::new(MendKind::StitchedEdges, count, spots));
    }
    census
}

/// For each triangle at most one of its open sides, with the corners on it from its start to its end.
fn splits(mesh: &Mesh, census: &EdgeCensus, reach: f64) -> Vec<(u32, usize, Vec<u32>)> {
    let mut open = census.open.clone();
    open.sort_unstable();
    let mut corners: Vec<u32> = open.iter().flatten().copied().collect();
    corners.sort_unstable();
    corners.dedup();
    let at = |v: u32| mesh.vertices[v as usize];
    let length: f64 = open.iter().map(|[a, b]| at(*a).distance(at(*b))).sum();
    let cell = (length / open.len().max(1) as f64).max(4.0 * reach);
    if cell <= 0.0 || !cell.is_finite() {
        return Vec::new();
    }
    let key = |p: DVec3| (p / cell).to_array().map(|x| x.floor() as i64);
    let mut grid: HashMap<[i64; 3], Vec<u32>> = HashMap::new();
    corners.iter().for_each(|v| grid.entry(key(at(*v))).or_default().push(*v));
    let on = |a: u32, b: u32| -> Vec<u32> {
        let (p, q) = (at(a), at(b));
        let along = q - p;
        let long = along.length();
        let (low, high) = (key(p.min(q) - DVec3::splat(reach)), key(p.max(q) + DVec3::splat(reach)));
        let cells: f64 = (0..3).map(|k| (high[k] - low[k] + 1) as f64).product();
        let lies_on = |v: &u32| {
            let share = (at(*v) - p).dot(along) / (long * long);
            let inside = share * long > reach && (1.0 - share) * long > reach;
            inside && *v != a && *v != b && (p + along * share).distance(at(*v)) <= reach
        };
        let mut found: Vec<u32> = if cells > corners.len() as f64 {
            corners.iter().copied().filter(lies_on).collect()
        } else {
            (low[0]..=high[0])
                .flat_map(|x| (low[1]..=high[1]).map(move |y| (x, y)))
                .flat_map(|(x, y)| (low[2]..=high[2]).map(move |z| [x, y, z]))
                .filter_map(|key| grid.get(&key))
                .flatten()
                .copied()
                .filter(lies_on)
                .collect()
        };
        let share = |v: &u32| (at(*v) - p).dot(along);
        found.sort_by(|u, v| share(u).total_cmp(&share(v)).then(u.cmp(v)));
        found
    };
    let is_open = |a: u32, b: u32| open.binary_search(&[a, b]).is_ok();
    (0..mesh.triangles.len())
        .into_par_iter()
        .filter_map(|t| {
            let c = mesh.triangles[t];
            (0..3).find_map(|k| {
                let (a, b) = (c[k], c[(k + 1) % 3]);
                let found = if is_open(a, b) { on(a, b) } else { Vec::new() };
                let usable = !found.is_empty() && !found.contains(&c[(k + 2) % 3]);
                usable.then_some((t as u32, k, found))
            })
        })
        .collect()
}
