//! Where light comes from: pixels, each a point that sends its light to one side.

use crate::Random;
use solid::DVec3;
use std::f64::consts::PI;

/// A point source with intensity I0 cos^m about its facing, nothing behind it. Its flux counts as 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pixel {
    /// Where it sits, in air, mm.
    pub at: DVec3,
    /// Where it faces; any length above 0.
    pub facing: DVec3,
    /// The full angle between the two directions of half intensity, degrees, within (0, 180): 120 is Lambert's law.
    pub full_angle_deg: f64,
}

/// Turn between neighbours of a spiral that covers all directions evenly: the golden angle, in turns.
const GOLDEN: f64 = 0.618_033_988_749_895;

impl Pixel {
    /// A pixel that obeys Lambert's law, as nearly all bare LEDs do within a few percent (common practice, no source).
    pub fn lambertian(at: DVec3, facing: DVec3) -> Self {
        Self { at, facing, full_angle_deg: 120.0 }
    }

    /// The power m of the cosine.
    pub fn power(&self) -> f64 {
        -std::f64::consts::LN_2 / libm::log(libm::cos((0.5 * self.full_angle_deg).to_radians()))
    }

    /// Light that falls straight on a face, per mm2, of the pixel's flux of 1, with nothing between: inverse square and
    /// cosine law. `normal` has length 1; a face turned away gets nothing.
    ///
    /// ```
    /// use glow::Pixel;
    /// use solid::DVec3;
    /// // A Lambertian source of flux 1 has intensity 1 / pi ahead.
    /// let pixel = Pixel::lambertian(DVec3::ZERO, DVec3::Z);
    /// let light = pixel.falls_on(DVec3::Z * 10.0, -DVec3::Z);
    /// assert!((light - 1.0 / (100.0 * std::f64::consts::PI)).abs() < 1e-12);
    /// ```
    pub fn falls_on(&self, point: DVec3, normal: DVec3) -> f64 {
        let way = point - self.at;
        let (Some(toward), Some(axis)) = (way.try_normalize(), self.facing.try_normalize()) else { return 0.0 };
        let (leaving, arriving) = (toward.dot(axis), -toward.dot(normal));
        if leaving <= 0.0 || arriving <= 0.0 {
            return 0.0;
        }
        let m = self.power();
        (m + 1.0) / (2.0 * PI) * libm::pow(leaving, m) * arriving / way.length_squared()
    }

    /// Whether its numbers are ones that light can leave with.
    pub(crate) fn is_sound(&self) -> bool {
        let angle = self.full_angle_deg;
        self.at.is_finite() && self.facing.try_normalize().is_some() && angle > 0.0 && angle < 180.0
    }

    /// The directions of `n` photons of equal weight: even over the intensity by a spiral, each shaken within its place.
    pub(crate) fn directions(&self, n: u32, random: &mut Random) -> Vec<DVec3> {
        let axis = self.facing.normalize();
        let (side, up) = axis.any_orthonormal_pair();
        let inverse = 1.0 / (self.power() + 1.0);
        let start = random.uniform();
        (0..n)
            .map(|i| {
                let level = (f64::from(i) + random.uniform()) / f64::from(n);
                let cosine = libm::pow(level, inverse);
                let sine = (1.0 - cosine * cosine).max(0.0).sqrt();
                let turn = (start + GOLDEN * f64::from(i)).fract();
                let (s, c) = libm::sincos(2.0 * PI * turn);
                (axis * cosine + (side * c + up * s) * sine).normalize()
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_the_intensity_at_half_the_angle() {
        // By definition of the angle; 120 degrees gives Lambert's m = 1.
        assert!((Pixel::lambertian(DVec3::ZERO, DVec3::X).power() - 1.0).abs() < 1e-12);
        for full_angle_deg in [20.0, 60.0, 120.0, 160.0] {
            let pixel = Pixel { at: DVec3::ZERO, facing: DVec3::Z * 3.0, full_angle_deg };
            let (s, c) = libm::sincos((0.5 * full_angle_deg).to_radians());
            let tilted = DVec3::new(s, 0.0, c);
            let ratio = pixel.falls_on(tilted * 50.0, -tilted) / pixel.falls_on(DVec3::Z * 50.0, -DVec3::Z);
            assert!((ratio - 0.5).abs() < 1e-12, "{full_angle_deg}: {ratio}");
        }
    }

    #[test]
    fn a_sphere_around_it_gets_all_of_it() {
        // Midpoint sum over rings of a sphere of radius 7 mm: the flux is 1 whatever the angle.
        for full_angle_deg in [40.0, 120.0, 150.0] {
            let pixel = Pixel { at: DVec3::ZERO, facing: DVec3::Z, full_angle_deg };
            let n = 20_000;
            let sum: f64 = (0..n)
                .map(|i| {
                    let cosine = (f64::from(i) + 0.5) / f64::from(n);
                    let out = DVec3::new((1.0 - cosine * cosine).sqrt(), 0.0, cosine);
                    pixel.falls_on(out * 7.0, -out) * 2.0 * PI * 49.0 / f64::from(n)
                })
                .sum();
            assert!((sum - 1.0).abs() < 1e-4, "{full_angle_deg}: {sum}");
        }
    }

    #[test]
    fn photons_follow_the_intensity() {
        // Mean cosine of I0 cos^m over the solid angle: (m + 1) / (m + 2).
        for full_angle_deg in [40.0, 120.0] {
            let pixel = Pixel { at: DVec3::ONE, facing: DVec3::new(1.0, 2.0, -1.0), full_angle_deg };
            let axis = pixel.facing.normalize();
            let all = pixel.directions(4096, &mut Random::of(5, 6));
            let mean = all.iter().map(|d| d.dot(axis)).sum::<f64>() / 4096.0;
            let m = pixel.power();
            assert!((mean - (m + 1.0) / (m + 2.0)).abs() < 1e-4, "{mean}");
            let sideways = all.iter().map(|d| *d - axis * d.dot(axis)).sum::<DVec3>() / 4096.0;
            assert!(sideways.length() < 2e-3, "{sideways}");
            assert!(all.iter().all(|d| (d.length() - 1.0).abs() < 1e-12 && d.dot(axis) > 0.0));
        }
    }

    #[test]
    fn nonsense_is_known() {
        let good = Pixel::lambertian(DVec3::ZERO, DVec3::Z);
        assert!(good.is_sound());
        for full_angle_deg in [0.0, 180.0, -5.0, f64::NAN] {
            assert!(!Pixel { full_angle_deg, ..good }.is_sound());
        }
        assert!(!Pixel { facing: DVec3::ZERO, ..good }.is_sound());
        assert!(!Pixel { at: DVec3::NAN, ..good }.is_sound());
        assert_eq!(good.falls_on(-DVec3::Z, DVec3::Z), 0.0);
        assert_eq!(good.falls_on(DVec3::ZERO, DVec3::Z), 0.0);
    }
}
