//! Inside or outside by the winding number.
//!
//! Barill, Dickson, Schmidt, Levin, Jacobson: Fast Winding Numbers for Soups and Clouds, ACM Transactions on Graphics
//! 37(4), 2018: near triangles by their solid angle, far branches of the tree by their dipole.

use super::{Bvh, Child, Leaf, STACK, Target, cross, dot, minus};
use crate::DVec3;
use std::f64::consts::PI;
use wide::f32x4;

/// A branch counts as far beyond this many times its radius; the value the authors advise. The error stays near 0.01.
const FAR: f32 = 2.0;

impl Bvh {
    /// How often the mesh wraps around a point: about 1 inside a closed mesh that faces outwards, 0 outside, 2 where
    /// two shells overlap, in between near holes.
    pub fn winding(&self, p: DVec3) -> f64 {
        if self.is_empty() {
            return 0.0;
        }
        let p = self.local(p).map(f32x4::splat);
        let (mut far_angle, mut turns) = (f32x4::ZERO, Turns::NONE);
        let mut stack = [Child::NONE; STACK];
        stack[0] = self.root;
        let mut waiting = 1;
        while waiting > 0 {
            waiting -= 1;
            let node = match stack[waiting].target() {
                Target::Node(i) => &self.nodes[i],
                Target::Leaf(i) => {
                    turns.add(self.leaves[i].half_angles(&p));
                    continue;
                }
            };
            let way = minus(&node.middle, &p);
            let way_sq = dot(&way, &way);
            let is_far = way_sq.simd_gt(f32x4::splat(FAR * FAR) * node.reach_sq);
            far_angle += is_far & (dot(&way, &node.dipole) / (way_sq * way_sq.sqrt()));
            // A lane without a branch is far from everything.
            let mut near = !is_far.to_bitmask() & 0b1111;
            while near != 0 {
                stack[waiting] = node.child[near.trailing_zeros() as usize];
                waiting += 1;
                near &= near - 1;
            }
        }
        (far_angle.to_array().into_iter().map(f64::from).sum::<f64>() + turns.solid_angle()) / (4.0 * PI)
    }

    /// Whether a point lies inside: within the bounds, and the winding number is above one half.
    pub fn is_inside(&self, p: DVec3) -> bool {
        let is_within = self.bounds.is_some_and(|b| b.min.cmple(p).all() && p.cmple(b.max).all());
        is_within && self.winding(p) > 0.5
    }
}

impl Leaf {
    /// Complex numbers whose arguments are half the signed solid angles of the triangles (van Oosterom and Strackee, IEEE
    /// Transactions on Biomedical Engineering 30(2), 1983): real and imaginary parts.
    fn half_angles(&self, p: &[f32x4; 3]) -> [f32x4; 2] {
        let [a, b, c] = [0, 1, 2].map(|k| minus(&self.corners[k], p));
        let [la, lb, lc] = [&a, &b, &c].map(|x| dot(x, x).sqrt());
        let above = dot(&a, &cross(&b, &c));
        let below = la * lb * lc + dot(&a, &b) * lc + dot(&b, &c) * la + dot(&c, &a) * lb;
        [below, above]
    }
}

/// Angles that are added by multiplying complex numbers, so that the arctangent is needed once for all of them; one sum a
/// lane.
struct Turns {
    /// A number whose argument is the sum, but for whole turns; its larger part is 1 or -1.
    real: f32x4,
    imaginary: f32x4,
    whole: f32x4,
}

impl Turns {
    const NONE: Turns = Turns { real: f32x4::ONE, imaginary: f32x4::ZERO, whole: f32x4::ZERO };

    /// Adds the argument of a complex number, from -pi to pi; of one that is as good as 0, nothing.
    fn add(&mut self, [real, imaginary]: [f32x4; 2]) {
        let product = [self.real * real - self.imaginary * imaginary, self.real * imaginary + self.imaginary * real];
        let size = product[0].abs().fast_max(product[1].abs());
        let counts = size.simd_gt(f32x4::splat(1e-30));
        // Two angles on one side of the real axis whose sum comes to lie on the other have gone past half a turn.
        let below = |x: f32x4| x.simd_lt(f32x4::ZERO);
        let [was, more, is] = [below(self.imaginary), below(imaginary), below(product[1])];
        let over = !(was | more) & is & counts;
        let under = was & more & !is & counts;
        self.whole += (over & f32x4::ONE) - (under & f32x4::ONE);
        self.real = counts.bitselect(product[0] / size, self.real);
        self.imaginary = counts.bitselect(product[1] / size, self.imaginary);
    }

    /// Twice the sum over all lanes.
    fn solid_angle(&self) -> f64 {
        let [real, imaginary, whole] = [self.real, self.imaginary, self.whole].map(f32x4::to_array);
        // An angle of half a turn counts as the positive one, also where the imaginary part is -0.
        let angle = |k: usize| f64::from(libm::atan2f(imaginary[k] + 0.0, real[k])) + 2.0 * PI * f64::from(whole[k]);
        (0..4).map(|k| 2.0 * angle(k)).sum()
    }
}
