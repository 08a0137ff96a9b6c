//! The nearest point of a mesh.

use super::{Bvh, Child, Leaf, STACK, Target, cross, dot, minus};
use crate::DVec3;
use wide::f32x4;

/// The point of a mesh nearest to a point asked about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// Distance, mm, never negative.
    pub distance_mm: f64,
    /// The nearest point of the mesh.
    pub point: DVec3,
    /// The triangle it lies on.
    pub triangle: u32,
}

/// Triangles whose sine at the first corner, squared, is below this count as their three edges: in `f32` their plane
/// has no trustworthy direction, and no point of them is farther from an edge than 5e-5 of their length.
const SLIVER: f32 = 1e-8;

impl Bvh {
    /// The nearest point of the mesh, if it is within `within_mm` (which may be infinite). `None` too for an empty mesh
    /// and for a point that is not finite.
    ///
    /// Where several triangles are equally near, within about 1e-7 of the size of the mesh, any of them may answer;
    /// the distance is exact for the one that does.
    pub fn nearest(&self, p: DVec3, within_mm: f64) -> Option<Nearest> {
        let reach = (within_mm * (1.0 + 1e-5) + 1e-3) as f32;
        let (_, triangle) = self.search(self.local(p), reach)?;
        let point = closest_on_triangle(p, self.corners(triangle));
        let distance_mm = point.distance(p);
        (distance_mm <= within_mm).then_some(Nearest { distance_mm, point, triangle })
    }

    /// Distance to the mesh with a sign, mm: negative inside, infinite for an empty mesh.
    pub fn signed_distance(&self, p: DVec3) -> f64 {
        let distance = self.nearest(p, f64::INFINITY).map_or(f64::INFINITY, |n| n.distance_mm);
        if self.is_inside(p) { -distance } else { distance }
    }

    /// Distance from the mesh in `f32`, mm, if it is below `within_mm`; good to about 1e-6 of the size of the mesh. For
    /// points by the hundred thousand.
    pub fn rough_distance(&self, p: DVec3, within_mm: f64) -> Option<f64> {
        self.search(self.local(p), within_mm as f32).map(|(d, _)| f64::from(d))
    }

    /// Distance and index of the nearest triangle below `within`.
    fn search(&self, at: [f32; 3], within: f32) -> Option<(f32, u32)> {
        if self.is_empty() {
            return None;
        }
        let p = at.map(f32x4::splat);
        let (mut best_sq, mut best) = (within * within, None);
        let mut stack = [(0.0f32, Child::NONE); STACK];
        stack[0] = (0.0, self.root);
        let mut waiting = 1;
        while waiting > 0 {
            waiting -= 1;
            let (near_sq, child) = stack[waiting];
            if near_sq >= best_sq {
                continue;
            }
            let node = match child.target() {
                Target::Node(i) => &self.nodes[i],
                Target::Leaf(i) => {
                    let leaf = &self.leaves[i];
                    let distances = leaf.distance_sq(&p).to_array();
                    for (distance_sq, triangle) in distances.into_iter().zip(leaf.triangle) {
                        if distance_sq < best_sq {
                            (best_sq, best) = (distance_sq, Some(triangle));
                        }
                    }
                    continue;
                }
            };
            let mut box_sq = f32x4::ZERO;
            for ((low, high), p) in node.low.iter().zip(&node.high).zip(&p) {
                let outside = (*low - *p).fast_max(*p - *high).fast_max(f32x4::ZERO);
                box_sq += outside * outside;
            }
            // The nearest branch ends on top.
            let first = waiting;
            for (near_sq, child) in box_sq.to_array().into_iter().zip(node.child) {
                if near_sq < best_sq && child != Child::NONE {
                    let mut slot = waiting;
                    while slot > first && stack[slot - 1].0 < near_sq {
                        stack[slot] = stack[slot - 1];
                        slot -= 1;
                    }
                    stack[slot] = (near_sq, child);
                    waiting += 1;
                }
            }
        }
        best.map(|triangle| (best_sq.sqrt(), triangle))
    }
}

impl Leaf {
    /// Squared distances from a point to the four triangles: to the plane where the point is above the triangle, to
    /// the nearest edge otherwise.
    fn distance_sq(&self, p: &[f32x4; 3]) -> f32x4 {
        let [a, b, c] = &self.corners;
        let (ab, bc, ca) = (minus(b, a), minus(c, b), minus(a, c));
        let (from_a, from_b, from_c) = (minus(p, a), minus(p, b), minus(p, c));
        let tiny = f32x4::splat(1e-30);
        let to_edge = |edge: &[f32x4; 3], from: &[f32x4; 3]| {
            let along = dot(edge, from) / dot(edge, edge).fast_max(tiny);
            let along = along.fast_max(f32x4::ZERO).fast_min(f32x4::ONE);
            let off = [0, 1, 2].map(|k| edge[k] * along - from[k]);
            dot(&off, &off)
        };
        let edges = to_edge(&ab, &from_a).fast_min(to_edge(&bc, &from_b)).fast_min(to_edge(&ca, &from_c));
        let normal = cross(&ca, &ab);
        let beyond = |edge: &[f32x4; 3], from: &[f32x4; 3]| dot(&cross(edge, &normal), from);
        let worst = beyond(&ab, &from_a).fast_max(beyond(&bc, &from_b)).fast_max(beyond(&ca, &from_c));
        let normal_sq = dot(&normal, &normal);
        let above = worst.simd_le(f32x4::ZERO)
            & normal_sq.simd_gt(f32x4::splat(SLIVER) * dot(&ab, &ab) * dot(&ca, &ca))
            & normal_sq.simd_gt(tiny);
        let height = dot(&normal, &from_a);
        above.bitselect((height * height / normal_sq.fast_max(tiny)).fast_min(edges), edges)
    }
}

/// The point of a triangle, degenerate or not, nearest to `p`.
pub(super) fn closest_on_triangle(p: DVec3, [a, b, c]: [DVec3; 3]) -> DVec3 {
    let sides = [(a, b), (b, c), (c, a)];
    let normal = (b - a).cross(c - a);
    let normal_sq = normal.length_squared();
    if normal_sq > 0.0 && sides.iter().all(|(u, v)| (*v - *u).cross(p - *u).dot(normal) >= 0.0) {
        return p - normal * (normal.dot(p - a) / normal_sq);
    }
    let on_sides = sides.map(|(u, v)| {
        let side = v - u;
        let length_sq = side.length_squared();
        if length_sq > 0.0 { u + side * (side.dot(p - u) / length_sq).clamp(0.0, 1.0) } else { u }
    });
    on_sides.into_iter().min_by(|u, v| u.distance_squared(p).total_cmp(&v.distance_squared(p))).unwrap_or(a)
}
