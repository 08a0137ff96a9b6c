//! Integrals over one triangle with six nodes: corners, then the middles of the sides 0-1, 1-2, 2-0.
//!
//! Six nodes hold a parabola, which is what φ is across a straight thin wall: one triangle through a wall is enough.
//! Zienkiewicz & Taylor, *The Finite Element Method* (from memory).

use glam::DVec2;

use crate::section::Material;

/// Points and weights exact for polynomials of degree 4 (Dunavant 1985, from memory; the tests hold them to it).
const POINTS: [([f64; 3], f64); 6] = {
    const A: f64 = 0.445_948_490_915_965;
    const B: f64 = 0.091_576_213_509_771;
    const U: f64 = 0.223_381_589_678_011;
    const V: f64 = 0.109_951_743_655_322;
    [
        ([A, A, 1.0 - 2.0 * A], U),
        ([A, 1.0 - 2.0 * A, A], U),
        ([1.0 - 2.0 * A, A, A], U),
        ([B, B, 1.0 - 2.0 * B], V),
        ([B, 1.0 - 2.0 * B, B], V),
        ([1.0 - 2.0 * B, B, B], V),
    ]
};

/// What one triangle adds. N are the shape functions, ∫ over the triangle.
#[derive(Clone, Debug)]
pub(super) struct Element {
    /// ∫∇Nᵢ·∇Nⱼ.
    pub(super) slope: [[f64; 6]; 6],
    /// ∫Nᵢ.
    pub(super) volume: [f64; 6],
    /// ∫(z ∂Nᵢ/∂y − y ∂Nᵢ/∂z): what twisting asks of warping.
    pub(super) twist: [f64; 6],
    /// ∫Nᵢ (y, z).
    pub(super) first: [DVec2; 6],
    /// ∫(y² + z²).
    polar: f64,
    /// Shear modulus.
    pub(super) g_mpa: f64,
    pub(super) e_mpa: f64,
    /// Slopes of the three area coordinates.
    slopes: [DVec2; 3],
    middles: [DVec2; 3],
}

impl Element {
    /// G∫[(∂ω/∂y − z)² + (∂ω/∂z + y)²].
    pub(super) fn energy(&self, warping: &[f64; 6]) -> f64 {
        let mut sum = self.polar;
        for (i, w) in warping.iter().enumerate() {
            let bent: f64 = self.slope[i].iter().zip(warping).map(|(s, w)| s * w).sum();
            sum += w * (bent - 2.0 * self.twist[i]);
        }
        self.g_mpa * sum
    }

    /// Slope of a function, given at the six nodes, in the middle of each side.
    pub(super) fn slopes_at_middles(&self, values: &[f64; 6]) -> [DVec2; 3] {
        [[0.5, 0.5, 0.0], [0.0, 0.5, 0.5], [0.5, 0.0, 0.5]].map(|share| {
            let (_, gradients) = shapes(share, self.slopes);
            gradients.iter().zip(values).map(|(g, v)| *g * *v).sum()
        })
    }

    /// The middle of a side.
    pub(super) fn middle(&self, side: usize) -> DVec2 {
        self.middles[side]
    }

    /// E∫ω (y, z).
    pub(super) fn warping_moment(&self, warping: &[f64; 6]) -> DVec2 {
        self.first.iter().zip(warping).map(|(f, w)| *f * (self.e_mpa * w)).sum()
    }
}

/// Integrals over the triangle with straight sides and these nodes.
pub(super) fn element(nodes: [DVec2; 6], material: Material) -> Element {
    let [a, b, c, ..] = nodes;
    let double = (b - a).perp_dot(c - a);
    // Slopes of the three area coordinates.
    let slopes = [c - b, a - c, b - a].map(|side| side.perp() / double);
    let area = 0.5 * double.abs();
    let mut found = Element {
        slope: [[0.0; 6]; 6],
        volume: [0.0; 6],
        twist: [0.0; 6],
        first: [DVec2::ZERO; 6],
        polar: 0.0,
        g_mpa: material.g_mpa,
        e_mpa: material.e_mpa,
        slopes,
        middles: [nodes[3], nodes[4], nodes[5]],
    };
    for (share, weight) in POINTS {
        let (values, gradients) = shapes(share, slopes);
        let at = a * share[0] + b * share[1] + c * share[2];
        let weight = weight * area;
        found.polar += weight * at.length_squared();
        for i in 0..6 {
            found.volume[i] += weight * values[i];
            found.first[i] += at * (weight * values[i]);
            found.twist[i] += weight * (at.y * gradients[i].x - at.x * gradients[i].y);
            for j in 0..6 {
                found.slope[i][j] += weight * gradients[i].dot(gradients[j]);
            }
        }
    }
    found
}

/// The six shape functions and their slopes where the area coordinates are `share`.
fn shapes(share: [f64; 3], slopes: [DVec2; 3]) -> ([f64; 6], [DVec2; 6]) {
    let mut values = [0.0; 6];
    let mut gradients = [DVec2::ZERO; 6];
    for i in 0..3 {
        let j = (i + 1) % 3;
        values[i] = share[i] * (2.0 * share[i] - 1.0);
        gradients[i] = slopes[i] * (4.0 * share[i] - 1.0);
        values[i + 3] = 4.0 * share[i] * share[j];
        gradients[i + 3] = (slopes[i] * share[j] + slopes[j] * share[i]) * 4.0;
    }
    (values, gradients)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ∫ over a triangle of L₁ᵃL₂ᵇL₃ᶜ is 2A a! b! c! / (a+b+c+2)! (Zienkiewicz & Taylor, from memory).
    #[test]
    fn points_are_exact_to_the_fourth_degree() {
        let factorial = |n: i32| (1..=n).map(f64::from).product::<f64>();
        for (a, b, c) in [(0, 0, 0), (1, 0, 0), (2, 1, 0), (4, 0, 0), (2, 2, 0), (2, 1, 1), (0, 3, 1)] {
            let exact = 2.0 * factorial(a) * factorial(b) * factorial(c) / factorial(a + b + c + 2);
            let found: f64 = POINTS.iter().map(|(s, w)| w * s[0].powi(a) * s[1].powi(b) * s[2].powi(c)).sum();
            assert!((found - exact).abs() < 1e-13, "{a} {b} {c}: {found} against {exact}");
        }
    }

    #[test]
    fn a_constant_has_no_slope_and_a_plane_has_its_own() {
        let corners = [DVec2::new(1.0, 2.0), DVec2::new(4.0, 3.0), DVec2::new(2.0, 6.0)];
        let [a, b, c] = corners;
        let nodes = [a, b, c, a.midpoint(b), b.midpoint(c), c.midpoint(a)];
        let material = Material { e_mpa: 1.0, g_mpa: 1.0, density_kg_m3: 0.0 };
        let found = element(nodes, material);
        let area = 0.5 * (b - a).perp_dot(c - a);
        let plane = nodes.map(|n| 2.0 * n.x - 3.0 * n.y + 7.0);
        let bent: f64 =
            (0..6).map(|i| (0..6).map(|j| plane[i] * found.slope[i][j] * plane[j]).sum::<f64>()).sum::<f64>();
        assert!((bent - 13.0 * area).abs() < 1e-10);
        assert!(found.slope.iter().all(|row| row.iter().sum::<f64>().abs() < 1e-12));
    }
}
