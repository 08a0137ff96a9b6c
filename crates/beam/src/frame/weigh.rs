//! Mass, balance and swing.

use glam::{DMat3, DVec3};

use super::Frame;

/// How a frame lies in the hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heft {
    /// Of all.
    pub mass_g: f64,
    /// Where it balances; the origin where nothing weighs anything.
    pub balance_mm: DVec3,
    /// Moments of inertia about the balance point, g·mm².
    pub inertia_gmm2: DMat3,
}

impl Heft {
    /// Moment of inertia about an axis through a point, g·mm²: how heavy it swings. 10⁹ g·mm² are 1 kg·m².
    #[must_use]
    pub fn swing_gmm2(&self, through_mm: DVec3, axis: DVec3) -> f64 {
        let axis = axis.normalize_or_zero();
        let arm = self.balance_mm - through_mm;
        axis.dot(self.inertia_gmm2 * axis) + self.mass_g * (arm - axis * arm.dot(axis)).length_squared()
    }

    /// What a hand at a point must hold against the earth, N·mm; `down` is which way it pulls.
    #[must_use]
    pub fn holding_nmm(&self, hand_mm: DVec3, down: DVec3) -> DVec3 {
        let force_n = down.normalize_or_zero() * (self.mass_g * 1e-6 * super::EARTH_MM_S2);
        -(self.balance_mm - hand_mm).cross(force_n)
    }

    /// With a further mass at a point: a pommel weight.
    #[must_use]
    pub fn with(&self, mass_g: f64, at_mm: DVec3) -> Self {
        let all = self.mass_g + mass_g;
        if all <= 0.0 {
            return *self;
        }
        let balance_mm = (self.balance_mm * self.mass_g + at_mm * mass_g) / all;
        let inertia_gmm2 =
            self.inertia_gmm2 + point(self.mass_g, self.balance_mm - balance_mm) + point(mass_g, at_mm - balance_mm);
        Self { mass_g: all, balance_mm, inertia_gmm2 }
    }
}

/// Inertia of a mass on an arm about the arm's root.
fn point(mass_g: f64, arm: DVec3) -> DMat3 {
    let outer = DMat3::from_cols(arm * arm.x, arm * arm.y, arm * arm.z);
    (DMat3::from_diagonal(DVec3::splat(arm.length_squared())) - outer) * mass_g
}

/// Mass, balance point and inertia. Spans count as thin rods that also spin about their axis.
#[must_use]
pub fn heft(frame: &Frame) -> Heft {
    let nothing = Heft { mass_g: 0.0, balance_mm: DVec3::ZERO, inertia_gmm2: DMat3::ZERO };
    let masses = frame.masses.iter().filter(|m| m.node < frame.nodes.len());
    let lumped = masses.fold(nothing, |sum, m| sum.with(m.mass_g, frame.nodes[m.node] + m.arm_mm));
    let spans = frame.spans.iter().filter(|s| s.from < frame.nodes.len() && s.to < frame.nodes.len());
    spans.fold(lumped, |sum, span| {
        let (from, to) = (frame.nodes[span.from], frame.nodes[span.to]);
        let way = to - from;
        let mass_g = span.bar.mass_g_mm * way.length();
        // Two points at ±1/√12 of the length swing as a rod does.
        let mut sum = sum;
        let reach = way / 12.0_f64.sqrt();
        let middle = from.midpoint(to);
        sum = sum.with(0.5 * mass_g, middle - reach).with(0.5 * mass_g, middle + reach);
        let along = way.normalize_or_zero();
        let spin = span.bar.spin_gmm2_mm * way.length();
        sum.inertia_gmm2 += DMat3::from_cols(along * along.x, along * along.y, along * along.z) * spin;
        sum
    })
}
