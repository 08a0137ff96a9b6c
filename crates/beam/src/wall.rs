//! When a thin wall buckles by itself, before it is crushed.
//!
//! Flat: σ = k π²E/(12(1−ν²)) (t/b)², k by how the edges are held (Timoshenko & Gere, *Theory of Elastic Stability*;
//! Gerard & Becker, NACA TN 3781, 1957). Round: E t/(R√(3(1−ν²))) times a factor for dents that every real cylinder has
//! (NASA SP-8007, *Buckling of Thin-Walled Circular Cylinders*, 1968). All from memory.

use std::f64::consts::PI;

/// How the long edges of a flat wall are held, and what loads it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Flat {
    /// Pressed evenly, both edges held in place and free to turn: k = 4.
    Pressed,
    /// Pressed evenly, both edges clamped: k = 6.97.
    PressedClamped,
    /// Pressed evenly, one edge held and one free: k = 0.425.
    PressedFree,
    /// Bent in its plane: pressed at one edge, pulled at the other: k = 23.9.
    Bent,
    /// Sheared: k = 5.35; the stress is a shear stress.
    Sheared,
}

impl Flat {
    fn factor(self) -> f64 {
        match self {
            Flat::Pressed => 4.0,
            Flat::PressedClamped => 6.97,
            Flat::PressedFree => 0.425,
            Flat::Bent => 23.9,
            Flat::Sheared => 5.35,
        }
    }
}

/// What loads a round wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Round {
    /// Pressed along its axis.
    Pressed,
    /// Bent: the stress at the pressed side.
    Bent,
}

/// What a wall is made of and how thick it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wall {
    /// Modulus of elasticity.
    pub e_mpa: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Thickness.
    pub thickness_mm: f64,
}

/// A number that no wall has.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{what} is {value}; give a number above 0 (Poisson's ratio from 0 to 0.5)")]
pub struct WallError {
    /// "modulus", "Poisson's ratio", "thickness", "width" or "radius".
    pub what: &'static str,
    /// What it is.
    pub value: f64,
}

impl Wall {
    fn checked(&self, what: &'static str, size: f64) -> Result<(), WallError> {
        for (what, value) in [("modulus", self.e_mpa), ("thickness", self.thickness_mm), (what, size)] {
            if !(value.is_finite() && value > 0.0) {
                return Err(WallError { what, value });
            }
        }
        let value = self.poisson;
        if (0.0..=0.5).contains(&value) { Ok(()) } else { Err(WallError { what: "Poisson's ratio", value }) }
    }

    /// Stress at which a long flat strip of this width buckles.
    ///
    /// # Errors
    ///
    /// A size or modulus that is not above 0.
    pub fn flat_mpa(&self, width_mm: f64, how: Flat) -> Result<f64, WallError> {
        self.checked("width", width_mm)?;
        let slim = self.thickness_mm / width_mm;
        Ok(how.factor() * PI * PI * self.e_mpa * slim * slim / (12.0 * (1.0 - self.poisson * self.poisson)))
    }

    /// Stress at which a round wall buckles, R measured to the middle of the wall. Factors hold for R/t up to 1500.
    ///
    /// # Errors
    ///
    /// A size or modulus that is not above 0.
    pub fn round_mpa(&self, radius_mm: f64, how: Round) -> Result<f64, WallError> {
        self.checked("radius", radius_mm)?;
        let slim = self.thickness_mm / radius_mm;
        let perfect = self.e_mpa * slim / (3.0 * (1.0 - self.poisson * self.poisson)).sqrt();
        let share = match how {
            Round::Pressed => 0.901,
            Round::Bent => 0.731,
        };
        let dents = 1.0 - share * (1.0 - libm::exp(-(1.0 / slim).sqrt() / 16.0));
        Ok(perfect * dents)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEEL: Wall = Wall { e_mpa: 200_000.0, poisson: 0.3, thickness_mm: 2.0 };

    /// 0.904 E (t/b)² is k = 1 for ν = 0.3, so 3.62 E (t/b)² for edges held in place (Roark, plates under edge loads;
    /// from memory).
    #[test]
    fn flat_strips() {
        let found = STEEL.flat_mpa(100.0, Flat::Pressed).expect("a strip");
        assert!((found / (3.615 * 200_000.0 * 4e-4) - 1.0).abs() < 1e-3, "{found}");
        let free = STEEL.flat_mpa(100.0, Flat::PressedFree).expect("a strip");
        assert!((free / found - 0.425 / 4.0).abs() < 1e-12);
        let bent = STEEL.flat_mpa(100.0, Flat::Bent).expect("a strip");
        assert!((bent / found - 23.9 / 4.0).abs() < 1e-12);
    }

    /// 0.605 E t/R for ν = 0.3 without dents; the factor at R/t = 100 is 0.58 and 0.66, at 1000 0.22 and 0.37 (the
    /// curves of SP-8007; from memory, worked out from its formula).
    #[test]
    fn cylinders() {
        for (radius, pressed, bent) in [(200.0, 0.581, 0.660), (2000.0, 0.224, 0.370)] {
            let perfect = 0.6052 * 200_000.0 * 2.0 / radius;
            let found = STEEL.round_mpa(radius, Round::Pressed).expect("a cylinder") / perfect;
            assert!((found - pressed).abs() < 0.003, "{found} against {pressed}");
            let found = STEEL.round_mpa(radius, Round::Bent).expect("a cylinder") / perfect;
            assert!((found - bent).abs() < 0.003, "{found} against {bent}");
        }
    }

    #[test]
    fn mistakes_are_named() {
        assert_eq!(STEEL.flat_mpa(0.0, Flat::Sheared), Err(WallError { what: "width", value: 0.0 }));
        let thin = Wall { thickness_mm: -1.0, ..STEEL };
        assert!(matches!(thin.round_mpa(5.0, Round::Bent), Err(WallError { what: "thickness", .. })));
        let odd = Wall { poisson: 0.7, ..STEEL };
        assert!(matches!(odd.round_mpa(5.0, Round::Bent), Err(WallError { what: "Poisson's ratio", .. })));
        let broken = Wall { e_mpa: f64::NAN, ..STEEL };
        assert!(matches!(broken.flat_mpa(5.0, Flat::Bent), Err(WallError { what: "modulus", .. })));
    }
}
