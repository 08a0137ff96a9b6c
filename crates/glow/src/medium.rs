//! What light meets: a medium, the finish of its faces, a wall.

/// Optical numbers that light can't be followed with.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum OpticsError {
    /// A number is infinite or none.
    #[error("{what} is {value}; give a finite number")]
    NotFinite {
        /// What it was to say.
        what: &'static str,
        /// What it was.
        value: f64,
    },
    /// A number lies outside what it can be.
    #[error("{what} is {value}; it must be {least} to {most}")]
    OutOfRange {
        /// What it was to say.
        what: &'static str,
        /// What it was.
        value: f64,
        /// The least that it may be.
        least: f64,
        /// The most that it may be.
        most: f64,
    },
    /// A coat gives more light than it gets.
    #[error(
        "a coat that sends back {reflectance} and passes {transmittance} makes light; together they must be at most 1"
    )]
    CoatMakesLight {
        /// The share sent back.
        reflectance: f64,
        /// The share passed.
        transmittance: f64,
    },
    /// Light goes to and fro without end.
    #[error(
        "light goes to and fro in this wall without end; give the plastic some absorption, or a coat that is not perfect"
    )]
    Endless,
}

/// The most scattering or absorption that is followed, per millimetre: a thousand times white plastic. Above it a wall of
/// any thickness that prints is a surface, and should be said as one.
pub const MOST_PER_MM: f64 = 1e4;

/// A scattering plastic in one optical band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Medium {
    /// Scattering coefficient, per mm of path.
    pub scatter_per_mm: f64,
    /// Mean cosine of the scattering angle (Henyey-Greenstein's g), within (-1, 1).
    pub anisotropy: f64,
    /// Absorption coefficient, per mm of path.
    pub absorb_per_mm: f64,
    /// Refractive index against air, 1 or more.
    pub index: f64,
}

impl Medium {
    /// A medium of these numbers.
    ///
    /// # Errors
    ///
    /// A number that is not finite, a negative coefficient or one above [`MOST_PER_MM`], an anisotropy that is not within
    /// (-0.999, 0.999), an index that is not 1 to 4.
    pub fn checked(scatter_per_mm: f64, anisotropy: f64, absorb_per_mm: f64, index: f64) -> Result<Self, OpticsError> {
        let medium = Self { scatter_per_mm, anisotropy, absorb_per_mm, index };
        medium.check()?;
        Ok(medium)
    }

    /// A medium of which only the reduced scattering is known: scattering that favours no direction does the same in walls
    /// thicker than a free path (within about 1.5 % of what passes, for a wall four free paths thick).
    ///
    /// # Errors
    ///
    /// As [`Medium::checked`].
    pub fn of_reduced(reduced_per_mm: f64, absorb_per_mm: f64, index: f64) -> Result<Self, OpticsError> {
        Self::checked(reduced_per_mm, 0.0, absorb_per_mm, index)
    }

    /// Whether its numbers are ones that light can be followed with.
    ///
    /// # Errors
    ///
    /// As [`Medium::checked`].
    pub fn check(&self) -> Result<(), OpticsError> {
        within("scattering per mm", self.scatter_per_mm, 0.0, MOST_PER_MM)?;
        within("absorption per mm", self.absorb_per_mm, 0.0, MOST_PER_MM)?;
        within("anisotropy of scattering", self.anisotropy, -0.999, 0.999)?;
        within("refractive index", self.index, 1.0, 4.0)
    }

    /// Reduced scattering µs' = µs (1 - g), per mm: what scattering comes to after many turns.
    pub fn reduced(&self) -> f64 {
        self.scatter_per_mm * (1.0 - self.anisotropy)
    }

    /// Scattering and absorption together, per mm.
    pub fn extinction_per_mm(&self) -> f64 {
        self.scatter_per_mm + self.absorb_per_mm
    }
}

/// A coat on the plastic itself: paint, primer, a white or black lining. There is no Fresnel face between plastic and coat.
/// What reaches it from either side is sent back and passed on diffusely (Lambert's law); the rest stays in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coat {
    /// Share sent back to the side that it came from.
    pub reflectance: f64,
    /// Share passed on.
    pub transmittance: f64,
}

impl Coat {
    /// A coat of these shares.
    ///
    /// # Errors
    ///
    /// A share that is not finite or not 0 to 1, or the two of them more than 1 together.
    pub fn checked(reflectance: f64, transmittance: f64) -> Result<Self, OpticsError> {
        let coat = Self { reflectance, transmittance };
        coat.check()?;
        Ok(coat)
    }

    /// Share that stays in it.
    pub fn absorbed(&self) -> f64 {
        (1.0 - self.reflectance - self.transmittance).max(0.0)
    }

    fn check(&self) -> Result<(), OpticsError> {
        let Self { reflectance, transmittance } = *self;
        within("reflectance of a coat", reflectance, 0.0, 1.0)?;
        within("transmittance of a coat", transmittance, 0.0, 1.0)?;
        // 0.8 and 0.2 add up to more than 1 by a rounding in some orders.
        if reflectance + transmittance > 1.0 + 1e-12 {
            return Err(OpticsError::CoatMakesLight { reflectance, transmittance });
        }
        Ok(())
    }
}

/// What a face of the plastic carries.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Finish {
    /// Nothing: a smooth face to air, where Fresnel's formulas hold.
    Bare,
    /// A coat.
    Coat(Coat),
}

impl Finish {
    /// Whether its numbers are ones that light can be followed with.
    ///
    /// # Errors
    ///
    /// As [`Coat::checked`].
    pub fn check(&self) -> Result<(), OpticsError> {
        match self {
            Self::Bare => Ok(()),
            Self::Coat(coat) => coat.check(),
        }
    }
}

/// A flat wall, endless sideways, in air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wall {
    /// What it is made of.
    pub medium: Medium,
    /// How thick it is.
    pub thickness_mm: f64,
    /// The face that the light comes to.
    pub inner: Finish,
    /// The face beyond.
    pub outer: Finish,
}

impl Wall {
    /// A wall of these parts.
    ///
    /// # Errors
    ///
    /// What its medium or a finish is refused for, or a thickness that is not above 0 to 1000 mm.
    pub fn checked(medium: Medium, thickness_mm: f64, inner: Finish, outer: Finish) -> Result<Self, OpticsError> {
        let wall = Self { medium, thickness_mm, inner, outer };
        wall.check()?;
        Ok(wall)
    }

    /// Whether its numbers are ones that light can be followed with.
    ///
    /// # Errors
    ///
    /// As [`Wall::checked`].
    pub fn check(&self) -> Result<(), OpticsError> {
        self.medium.check()?;
        within("thickness of a wall in mm", self.thickness_mm, THINNEST_MM, 1000.0)?;
        self.inner.check()?;
        self.outer.check()
    }
}

/// Thinner than this there is no wall: a hundredth of the thinnest bead.
const THINNEST_MM: f64 = 1e-3;

pub(crate) fn within(what: &'static str, value: f64, least: f64, most: f64) -> Result<(), OpticsError> {
    if !value.is_finite() {
        return Err(OpticsError::NotFinite { what, value });
    }
    if value < least || value > most {
        return Err(OpticsError::OutOfRange { what, value, least, most });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reduced_scattering_is_that_of_the_definition() {
        // The similarity check of the slab table: µs 20 per mm at g 0.9 is µs' 2 per mm.
        let medium = Medium::checked(20.0, 0.9, 0.005, 1.46).unwrap();
        assert!((medium.reduced() - 2.0).abs() < 1e-12);
        assert!((medium.extinction_per_mm() - 20.005).abs() < 1e-12);
        assert_eq!(Medium::of_reduced(2.0, 0.005, 1.46).unwrap().reduced(), 2.0);
    }

    #[test]
    fn what_cannot_be_is_refused_by_name() {
        let refused = |s, g, a, n| Medium::checked(s, g, a, n).unwrap_err().to_string();
        assert!(refused(-1.0, 0.0, 0.0, 1.5).starts_with("scattering per mm is -1"));
        assert!(refused(1.0, 1.0, 0.0, 1.5).starts_with("anisotropy of scattering is 1"));
        assert!(refused(1.0, -1.0, 0.0, 1.5).starts_with("anisotropy"));
        assert!(refused(1.0, 0.0, f64::NAN, 1.5).starts_with("absorption per mm is NaN"));
        assert!(refused(1.0, 0.0, f64::INFINITY, 1.5).starts_with("absorption per mm is inf"));
        assert!(refused(1.0, 0.0, 0.0, 0.9).starts_with("refractive index is 0.9"));
        assert!(matches!(Coat::checked(0.7, 0.4), Err(OpticsError::CoatMakesLight { .. })));
        assert!(Coat::checked(-0.1, 0.4).is_err());
        assert!(Coat::checked(0.9, 0.1).is_ok() && Coat::checked(0.7, 0.3).is_ok());

        let medium = Medium::of_reduced(1.0, 0.01, 1.5).unwrap();
        for thickness_mm in [0.0, -1.0, f64::NAN, 1e9] {
            assert!(Wall::checked(medium, thickness_mm, Finish::Bare, Finish::Bare).is_err(), "{thickness_mm}");
        }
        let paint = Finish::Coat(Coat { reflectance: 0.9, transmittance: 0.2 });
        assert!(Wall::checked(medium, 2.0, Finish::Bare, paint).is_err());
        assert!(Wall::checked(medium, 2.0, Finish::Bare, Finish::Bare).is_ok());
    }
}
