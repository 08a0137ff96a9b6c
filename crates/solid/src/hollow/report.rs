//! How thick a wall is: measured, whatever made it.

use crate::depth::GradedWall;
use crate::{Bvh, DVec3, Mesh};
use rayon::prelude::*;

/// True distances from a cavity to the outer surface, at all vertices and triangle middles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WallReport {
    /// Smallest distance, mm; negative where the cavity breaks through.
    pub least_mm: f64,
    /// Where.
    pub least_at: DVec3,
    /// Largest distance, mm.
    pub most_mm: f64,
    /// Where.
    pub most_at: DVec3,
    /// A thousandth of the samples lie below, mm.
    pub p01_mm: f64,
    /// Half of the samples lie below, mm.
    pub p50_mm: f64,
    /// A thousandth of the samples lie above, mm.
    pub p999_mm: f64,
    /// Number of places measured; 0 for an empty cavity, all else 0 with it.
    pub samples: usize,
}

/// Measures the wall between a body and its cavity: true distances, whatever made the cavity.
///
/// Distances count as negative outside the body. Whether a place is outside is asked wherever an edge of the cavity is
/// long enough to have crossed the outer surface, and once in each component.
pub fn wall_report(outer: &Bvh, cavity: &Mesh) -> WallReport {
    report(outer, cavity, &|_| 0.0)
}

/// [`wall_report`] of the wall less the thickness wanted: negative where it is thinner.
pub fn wall_against(outer: &Bvh, cavity: &Mesh, wall: &GradedWall<'_>) -> WallReport {
    report(outer, cavity, &|p| wall.at(p))
}

fn report(outer: &Bvh, cavity: &Mesh, wanted: &(dyn Fn(DVec3) -> f64 + Sync)) -> WallReport {
    let depth_at = |p: DVec3| outer.nearest(p, f64::INFINITY).map_or(f64::INFINITY, |n| n.distance_mm);
    let mut depths: Vec<f64> = cavity.vertices.par_iter().map(|p| depth_at(*p)).collect();
    let mut is_doubtful = vec![false; depths.len()];
    for t in cavity.shells().iter().filter_map(|s| s.first()).map(|s| cavity.triangles[*s as usize]) {
        is_doubtful[t[0] as usize] = true;
    }
    for t in &cavity.triangles {
        let could_cross = |k: usize| {
            let (u, v) = (t[k] as usize, t[(k + 1) % 3] as usize);
            depths[u] + depths[v] <= cavity.vertices[u].distance(cavity.vertices[v])
        };
        if (0..3).any(could_cross) {
            t.iter().for_each(|v| is_doubtful[*v as usize] = true);
        }
    }
    depths.par_iter_mut().zip(&cavity.vertices).zip(&is_doubtful).for_each(|((depth, p), is_doubtful)| {
        if *is_doubtful && !outer.is_inside(*p) {
            *depth = -*depth;
        }
    });
    let middle = |t: &[u32; 3]| t.iter().map(|v| cavity.vertices[*v as usize]).sum::<DVec3>() / 3.0;
    let middles = cavity.triangles.par_iter().map(|t| {
        let p = middle(t);
        let is_outside = t.iter().any(|v| is_doubtful[*v as usize]) && !outer.is_inside(p);
        if is_outside { -depth_at(p) } else { depth_at(p) }
    });
    depths.extend(middles.collect::<Vec<_>>());
    let place = |i: usize| match i.checked_sub(cavity.vertices.len()) {
        Some(triangle) => middle(&cavity.triangles[triangle]),
        None => cavity.vertices[i],
    };
    depths.par_iter_mut().enumerate().for_each(|(i, depth)| *depth -= wanted(place(i)));
    let by_depth = |a: &usize, b: &usize| depths[*a].total_cmp(&depths[*b]);
    let (Some(least), Some(most)) = ((0..depths.len()).min_by(by_depth), (0..depths.len()).max_by(by_depth)) else {
        return WallReport {
            least_mm: 0.0,
            least_at: DVec3::ZERO,
            most_mm: 0.0,
            most_at: DVec3::ZERO,
            p01_mm: 0.0,
            p50_mm: 0.0,
            p999_mm: 0.0,
            samples: 0,
        };
    };
    let (least_at, most_at, samples) = (place(least), place(most), depths.len());
    depths.par_sort_unstable_by(f64::total_cmp);
    let rank = |part: f64| depths[((samples - 1) as f64 * part).round() as usize];
    WallReport {
        least_mm: depths[0],
        least_at,
        most_mm: depths[samples - 1],
        most_at,
        p01_mm: rank(0.001),
        p50_mm: rank(0.5),
        p999_mm: rank(0.999),
        samples,
    }
}
