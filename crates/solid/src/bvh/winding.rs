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
        let mut sum = 0.0;
        let mut stack = [Child::NONE; STACK];
        stack[0] = self.root;
        let mut waiting = 1;
        while waiting > 0 {
            waiting -= 1;
            let node = match stack[waiting].target() {
                Target::Node(i) => &self.nodes[i],
                Target::Leaf(i) => {
                    sum += self.leaves[i].solid_angle(&p);
                    continue;
                }
            };
            let way = minus(&node.middle, &p);
            let way_sq = dot(&way, &way);
            let far = way_sq.simd_gt(f32x4::splat(FAR * FAR) * node.reach_sq).to_bitmask();
            let angle = (dot(&way, &node.dipole) / (way_sq * way_sq.sqrt())).to_array();
            for (lane, child) in node.child.into_iter().enumerate() {
                if child == Child::NONE {
                    continue;
                }
                if far >> lane & 1 == 1 {
                    sum += f64::from(angle[lane]);
                } else {
                    stack[waiting] = child;
                    waiting += 1;
                }
            }
        }
        sum / (4.0 * PI)
    }

    /// Whether a point lies inside: the winding number is above one half.
    pub fn is_inside(&self, p: DVec3) -> bool {
        self.winding(p) > 0.5
    }
}

impl Leaf {
    /// Sum of the signed solid angles of the triangles (van Oosterom and Strackee, IEEE Transactions on Biomedical
    /// Engineering 30(2), 1983).
    fn solid_angle(&self, p: &[f32x4; 3]) -> f64 {
        let [a, b, c] = [0, 1, 2].map(|k| minus(&self.corners[k], p));
        let [la, lb, lc] = [&a, &b, &c].map(|x| dot(x, x).sqrt());
        let above = dot(&a, &cross(&b, &c)).to_array();
        let below = (la * lb * lc + dot(&a, &b) * lc + dot(&b, &c) * la + dot(&c, &a) * lb).to_array();
        (0..4).map(|k| 2.0 * f64::from(libm::atan2f(above[k], below[k]))).sum()
    }
}
