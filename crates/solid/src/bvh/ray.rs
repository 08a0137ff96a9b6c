//! The first triangle a ray meets.

use super::{Bvh, Child, Leaf, STACK, Target, cross, dot, minus};
use crate::DVec3;
use wide::f32x4;

/// Where a ray meets a mesh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RayHit {
    /// Way from the origin, mm.
    pub distance_mm: f64,
    /// The triangle met.
    pub triangle: u32,
}

impl Bvh {
    /// The first triangle that a ray meets within `max_mm`, from either side; none for an empty mesh or a ray that is
    /// not finite. `direction` has length 1. A ray can't slip through between two triangles that share an edge.
    pub fn ray(&self, origin: DVec3, direction: DVec3, max_mm: f64) -> Option<RayHit> {
        self.ray_among(origin, direction, max_mm, |_, _| true)
    }

    /// As [`Bvh::ray`], among those triangles only that `accept` takes; it is asked with the triangle and the way to it,
    /// mm.
    pub fn ray_among(
        &self,
        origin: DVec3,
        direction: DVec3,
        max_mm: f64,
        accept: impl Fn(u32, f64) -> bool,
    ) -> Option<RayHit> {
        if self.is_empty() || !origin.is_finite() || !direction.is_finite() {
            return None;
        }
        let start = self.local(origin);
        // Rounding of the start, the boxes and the inverse, with room to spare.
        let size = self.bounds.map_or(0.0, |b| b.size().max_element());
        let slack = f32x4::splat((1e-6 * (size + start.iter().fold(0.0f32, |m, x| m.max(x.abs())) as f64)) as f32);
        let start = start.map(f32x4::splat);
        let way = direction.to_array().map(|x| f32x4::splat(x as f32));
        // A direction of exactly zero becomes a very steep one: the products stay finite and the slack covers it.
        let inverse = direction.to_array().map(|x| {
            let x = x as f32;
            f32x4::splat(1.0 / if x.abs() < 1e-12 { 1e-12f32.copysign(x) } else { x })
        });
        let mut best = RayHit { distance_mm: max_mm, triangle: u32::MAX };
        let mut stack = [(0.0f32, Child::NONE); STACK];
        stack[0] = (0.0, self.root);
        let mut waiting = 1;
        while waiting > 0 {
            waiting -= 1;
            let (near, child) = stack[waiting];
            if f64::from(near) > best.distance_mm {
                continue;
            }
            let node = match child.target() {
                Target::Node(i) => &self.nodes[i],
                Target::Leaf(i) => {
                    let leaf = &self.leaves[i];
                    let may_meet = leaf.may_meet(&start, &way, slack);
                    for (lane, triangle) in leaf.triangle.into_iter().enumerate() {
                        if may_meet >> lane & 1 == 1
                            && let Some(distance_mm) = meet(origin, direction, self.corners(triangle))
                            && (distance_mm < best.distance_mm
                                || (distance_mm == best.distance_mm && triangle < best.triangle))
                            && accept(triangle, distance_mm)
                        {
                            best = RayHit { distance_mm, triangle };
                        }
                    }
                    continue;
                }
            };
            let (mut enter, mut leave) = (f32x4::ZERO, f32x4::splat(f32::MAX));
            for k in 0..3 {
                let low = (node.low[k] - slack - start[k]) * inverse[k];
                let high = (node.high[k] + slack - start[k]) * inverse[k];
                enter = enter.fast_max(low.fast_min(high));
                leave = leave.fast_min(low.fast_max(high));
            }
            let (enter, leave) = ((enter * f32x4::splat(1.0 - 1e-5)).to_array(), leave.to_array());
            let first = waiting;
            for (lane, child) in node.child.into_iter().enumerate() {
                let near = enter[lane];
                if child != Child::NONE && near <= leave[lane] * (1.0 + 1e-5) && f64::from(near) <= best.distance_mm {
                    let mut slot = waiting;
                    while slot > first && stack[slot - 1].0 < near {
                        stack[slot] = stack[slot - 1];
                        slot -= 1;
                    }
                    stack[slot] = (near, child);
                    waiting += 1;
                }
            }
        }
        (best.triangle != u32::MAX).then_some(best)
    }
}

impl Leaf {
    /// Bits of the triangles that may meet a line, none that does left out: by the products of [`meet`], within their
    /// rounding.
    fn may_meet(&self, start: &[f32x4; 3], way: &[f32x4; 3], slack: f32x4) -> u32 {
        let [a, b, c] = [0, 1, 2].map(|k| minus(&self.corners[k], start));
        let products = [dot(way, &cross(&b, &c)), dot(way, &cross(&c, &a)), dot(way, &cross(&a, &b))];
        let far_sq = dot(&a, &a).fast_max(dot(&b, &b)).fast_max(dot(&c, &c));
        // Corners are off by an eighth of the slack, products of lengths by some roundings of 6e-8.
        let rounding = far_sq * f32x4::splat(4e-6) + far_sq.sqrt() * slack;
        let [u, v, w] = products;
        let highest = u.fast_max(v).fast_max(w);
        let lowest = u.fast_min(v).fast_min(w);
        !(highest.simd_gt(rounding) & lowest.simd_lt(-rounding)).to_bitmask()
    }
}

/// Way to a triangle by the signs of three triple products, each belonging to one edge: two triangles that share an
/// edge compute the same product for it, so that no ray slips between them.
#[inline]
pub(crate) fn meet(origin: DVec3, direction: DVec3, corners: [DVec3; 3]) -> Option<f64> {
    let [a, b, c] = corners.map(|p| p - origin);
    let (u, v, w) = (direction.dot(b.cross(c)), direction.dot(c.cross(a)), direction.dot(a.cross(b)));
    let outside = (u < 0.0 || v < 0.0 || w < 0.0) && (u > 0.0 || v > 0.0 || w > 0.0);
    let sum = u + v + w;
    if outside || sum == 0.0 {
        return None;
    }
    let way = (a * (u / sum) + b * (v / sum) + c * (w / sum)).dot(direction);
    (way >= 0.0).then_some(way)
}
