//! Light that goes to and fro in a closed white room, where every part of the wall lights every other alike.

use crate::OpticsError;
use crate::medium::within;

/// How much brighter than by the first bounce alone the wall of a hollow sphere is: `ρ / (1 - ρ (1 - f))` for a wall of
/// reflectance ρ of which a share f is open, as guides to integrating spheres give it. The luminance of the wall is the
/// flux times this over π times the whole area.
///
/// # Errors
///
/// A share that is not 0 to 1, or a wall that loses nothing: reflectance 1 and nothing open.
pub fn sphere_multiplier(reflectance: f64, open: f64) -> Result<f64, OpticsError> {
    within("reflectance of a wall", reflectance, 0.0, 1.0)?;
    within("open share of a sphere", open, 0.0, 1.0)?;
    let lost = 1.0 - reflectance * (1.0 - open);
    if lost > 0.0 { Ok(reflectance / lost) } else { Err(OpticsError::Endless) }
}

/// Share of the light set free in a closed tube that gets out through its wall, for a wall that sends back a share and
/// passes a share of diffuse light: `T / (1 - R)`. The rest stays in the wall.
///
/// # Errors
///
/// A share that is not 0 to 1, more than 1 together, or a wall that sends everything back.
pub fn glowing_tube(back: f64, through: f64) -> Result<f64, OpticsError> {
    crate::Coat::checked(back, through)?;
    if back < 1.0 { Ok((through / (1.0 - back)).min(1.0)) } else { Err(OpticsError::Endless) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_multiplier_is_that_of_the_guides() {
        // Worked from the stated form: 0.9 with a tenth open 4.74, 0.8 with three tenths 1.82.
        assert!((sphere_multiplier(0.9, 0.1).unwrap() - 4.74).abs() < 5e-3);
        assert!((sphere_multiplier(0.8, 0.3).unwrap() - 1.82).abs() < 5e-3);
        // It is the sum of the bounces.
        let sum: f64 = (1..2000).map(|k| 0.95_f64 * (0.95_f64 * 0.98).powi(k - 1)).sum();
        assert!((sphere_multiplier(0.95, 0.02).unwrap() - sum).abs() < 1e-9);
        assert_eq!(sphere_multiplier(0.0, 0.5).unwrap(), 0.0);
        assert_eq!(sphere_multiplier(1.0, 0.5).unwrap(), 2.0);
    }

    #[test]
    fn a_tube_lets_out_all_that_its_wall_does_not_keep() {
        assert_eq!(glowing_tube(0.6, 0.4).unwrap(), 1.0);
        assert!((glowing_tube(0.633, 0.326).unwrap() - 0.326 / 0.367).abs() < 1e-12);
        assert_eq!(glowing_tube(0.5, 0.0).unwrap(), 0.0);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(sphere_multiplier(1.0, 0.0).is_err());
        assert!(sphere_multiplier(1.1, 0.0).is_err());
        assert!(sphere_multiplier(0.5, f64::NAN).is_err());
        assert!(glowing_tube(1.0, 0.0).is_err());
        assert!(glowing_tube(0.7, 0.7).is_err());
    }
}
