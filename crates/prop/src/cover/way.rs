//! The way of a cover to its seat, and the proof that nothing stands in it.

use super::sweep::middle_mm;
use crate::path::{CentrePath, PathFrame};
use rayon::prelude::*;
use solid::{Bounds, Bvh, DAffine3, DMat3, DVec3, Mesh};

/// Distance between the poses of a way, mm.
pub(crate) const POSE_MM: f64 = 2.0;
/// Gaps wider than this need no number, mm.
const NEAR_MM: f64 = 3.0;
/// So many points of a surface are measured, at most, besides those spread over it.
const CORNERS: usize = 6_000;
/// So many points are spread over a cover.
const SPREAD: usize = 8_000;

fn of(frame: &PathFrame) -> DAffine3 {
    DAffine3::from_mat3_translation(DMat3::from_cols(frame.across, frame.through, frame.along), frame.point)
}

/// Poses along the path from `away_mm` (signed) beyond the seat to the seat: rigid motions of the seated cover.
pub(crate) fn along_path(path: &CentrePath, station_mm: [f64; 2], away_mm: f64) -> Vec<DAffine3> {
    let middle = middle_mm(station_mm);
    let home = of(&path.frame(middle)).inverse();
    steps(away_mm).map(|d| if d == 0.0 { DAffine3::IDENTITY } else { of(&path.frame(middle + d)) * home }).collect()
}

/// Poses straight along a direction, from `away_mm` to the seat.
pub(crate) fn straight(direction: DVec3, away_mm: f64) -> Vec<DAffine3> {
    steps(away_mm).map(|d| DAffine3::from_translation(direction * d)).collect()
}

fn steps(away_mm: f64) -> impl Iterator<Item = f64> {
    let n = (away_mm.abs() / POSE_MM).ceil().max(1.0) as usize;
    (0..=n).rev().map(move |i| away_mm * i as f64 / n as f64)
}

/// A solid that stands in the prop while a cover is put on.
pub(crate) struct Standing<'a> {
    /// Distances to it.
    surface: &'a Bvh,
    bounds: Bounds,
    /// Its corners, by x.
    corners: Vec<DVec3>,
}

impl<'a> Standing<'a> {
    /// `mesh` and `surface` are the same solid in the prop frame. `None` for an empty one.
    pub(crate) fn new(mesh: &Mesh, surface: &'a Bvh) -> Option<Standing<'a>> {
        let bounds = mesh.bounds()?;
        let mut corners = mesh.vertices.clone();
        corners.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)).then(a.z.total_cmp(&b.z)));
        Some(Standing { surface, bounds, corners })
    }
}

/// The tightest place of a way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Tightest {
    /// Gap there, mm: negative where solids overlap, at most 3 mm.
    pub(crate) mm: f64,
    /// Where, prop frame.
    pub(crate) at: DVec3,
    /// Which pose.
    pub(crate) pose: usize,
}

/// Poses that one thread looks at one after another.
const RUN: usize = 12;
/// Every so many points are asked whether they lie inside a solid, at every so many poses.
const ASK: [usize; 2] = [32, 4];

/// The least distance between a moving solid and what stands, over all poses. Each surface is measured from points of
/// the other: corners, and points spread over the moving one.
///
/// A point that is far from everything is left out until the motion may have brought it near.
pub(crate) fn tightest(moving: &Mesh, poses: &[DAffine3], standing: &[&Standing]) -> Tightest {
    let surface = Bvh::new(moving);
    let mut points = crate::checks::spread(moving, SPREAD, &|_| true);
    points.extend(moving.vertices.iter().step_by(moving.vertices.len().div_ceil(CORNERS).max(1)));
    let far = Tightest { mm: NEAR_MM, at: DVec3::ZERO, pose: 0 };
    let Some(bounds) = moving.bounds() else { return far };
    let runs: Vec<Tightest> = poses
        .par_chunks(RUN)
        .enumerate()
        .map(|(chunk, run)| {
            let mut best = far;
            // How far each point may still travel before it can be near.
            let mut free = vec![0.0f64; points.len()];
            for (i, pose) in run.iter().enumerate() {
                let index = chunk * RUN + i;
                let travel = if i == 0 { 0.0 } else { travelled(&bounds, &run[i - 1], pose) };
                let here = moved(&bounds, pose);
                let close: Vec<&&Standing> = standing.iter().filter(|s| near(&here, &s.bounds)).collect();
                for (n, p) in points.iter().enumerate() {
                    free[n] -= travel;
                    let ask = n.is_multiple_of(ASK[0]) && index.is_multiple_of(ASK[1]);
                    if free[n] > 0.0 && !ask {
                        continue;
                    }
                    let q = pose.transform_point3(*p);
                    let mut away = FREE_MM;
                    for s in &close {
                        away = away.min(try_point(s.surface, q, q, away, ask, index, &mut best));
                    }
                    free[n] = away - best.mm.max(0.0);
                }
                let back = pose.inverse();
                for s in &close {
                    let from = s.corners.partition_point(|c| c.x < here.min.x - NEAR_MM);
                    let to = s.corners.partition_point(|c| c.x <= here.max.x + NEAR_MM);
                    for c in s.corners[from..to].iter().step_by((to - from).div_ceil(CORNERS).max(1)) {
                        let reach = best.mm.max(0.0);
                        try_point(&surface, back.transform_point3(*c), *c, reach, false, index, &mut best);
                    }
                }
            }
            best
        })
        .collect();
    runs.into_iter().fold(far, |a, b| if b.mm < a.mm { b } else { a })
}

/// Points further away than this are not looked for, mm.
const FREE_MM: f64 = 12.0;

/// Distance from `q` to a surface up to `reach`, kept if it is the least so far; inside counts as negative.
fn try_point(surface: &Bvh, q: DVec3, at: DVec3, reach: f64, ask: bool, pose: usize, best: &mut Tightest) -> f64 {
    let distance = surface.nearest(q, reach).map_or(reach, |n| n.distance_mm);
    let least = distance < best.mm;
    if (least || ask) && surface.is_inside(q) {
        let deep = surface.nearest(q, f64::INFINITY).map_or(0.0, |n| n.distance_mm);
        if -deep < best.mm {
            *best = Tightest { mm: -deep, at, pose };
        }
    } else if least {
        *best = Tightest { mm: distance, at, pose };
    }
    distance
}

/// The furthest that a corner of a box goes between two poses, mm: no point of the box goes further.
fn travelled(b: &Bounds, from: &DAffine3, to: &DAffine3) -> f64 {
    corners(b).map(|c| from.transform_point3(c).distance(to.transform_point3(c))).fold(0.0, f64::max)
}

fn corners(b: &Bounds) -> impl Iterator<Item = DVec3> {
    (0..8).map(move |k| {
        let pick = |bit: u32, l: f64, h: f64| if k >> bit & 1 == 0 { l } else { h };
        DVec3::new(pick(0, b.min.x, b.max.x), pick(1, b.min.y, b.max.y), pick(2, b.min.z, b.max.z))
    })
}

fn moved(b: &Bounds, pose: &DAffine3) -> Bounds {
    Bounds::of(corners(b).map(|c| pose.transform_point3(c))).unwrap_or(*b)
}

fn near(a: &Bounds, b: &Bounds) -> bool {
    (a.min - b.max).max_element() < NEAR_MM && (b.min - a.max).max_element() < NEAR_MM
}
