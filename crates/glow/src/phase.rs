//! Directions: after a scatter, and from a diffuse face.

use crate::Random;
use solid::{DVec2, DVec3};

/// Cosine of the scattering angle by Henyey and Greenstein's function (Astrophys. J. 93, 70, 1941), drawn by inverting its
/// distribution (Prahl, thesis, 1988, appendix A; Jacques, Oregon Medical Laser Center, 1998): for an even `uniform` in
/// (0, 1) the mean cosine is `anisotropy`, within (-1, 1).
#[inline]
pub fn henyey_greenstein(anisotropy: f64, uniform: f64) -> f64 {
    let (g, even) = (anisotropy, 2.0 * uniform - 1.0);
    // Near 0 the formula divides little by little; there the function is even to 1 + 3 g cos.
    if g.abs() < 1e-6 {
        return even;
    }
    let part = (1.0 - g * g) / (1.0 + g * even);
    ((1.0 + g * g - part * part) / (2.0 * g)).clamp(-1.0, 1.0)
}

/// A unit direction turned away from itself by an angle of that cosine, towards that azimuth (a unit vector: cosine and sine
/// round the direction, from a start that is arbitrary but the same each time). The result is a unit vector.
#[inline]
pub fn turned(direction: DVec3, cosine: f64, azimuth: DVec2) -> DVec3 {
    let (side, up) = direction.any_orthonormal_pair();
    let sine = (1.0 - cosine * cosine).max(0.0).sqrt();
    let new = direction * cosine + (side * azimuth.x + up * azimuth.y) * sine;
    // Thousands of turns must not add up their roundings; one Newton step keeps the length at 1.
    new * (1.5 - 0.5 * new.length_squared())
}

/// A direction after a scatter in a medium of that anisotropy.
#[inline]
pub fn scattered(direction: DVec3, anisotropy: f64, random: &mut Random) -> DVec3 {
    let cosine = henyey_greenstein(anisotropy, random.uniform());
    let azimuth = random.azimuth();
    // Without favour the old direction says nothing about the new one, and any axis will do.
    if anisotropy == 0.0 {
        let sine = (1.0 - cosine * cosine).max(0.0).sqrt();
        return DVec3::new(sine * azimuth.x, sine * azimuth.y, cosine);
    }
    turned(direction, cosine, azimuth)
}

/// A unit direction away from a diffuse face (Lambert's law) about its unit normal, always on the normal's side.
#[inline]
pub fn lambertian(normal: DVec3, random: &mut Random) -> DVec3 {
    turned(normal, random.uniform().sqrt(), random.azimuth())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mean_cosine_is_the_anisotropy() {
        // By the definition of g (Henyey and Greenstein 1941). The mean square is (1 + 2 g²) / 3: from its Legendre
        // coefficients g^l.
        let mut random = Random::of(11, 0);
        for g in [-0.9, -0.3, -1e-7, 0.0, 1e-5, 0.3, 0.75, 0.9, 0.99] {
            let n = 400_000;
            let (mut sum, mut squares) = (0.0, 0.0);
            for _ in 0..n {
                let cosine = henyey_greenstein(g, random.uniform());
                assert!((-1.0..=1.0).contains(&cosine), "{g}: {cosine}");
                sum += cosine;
                squares += cosine * cosine;
            }
            let n = f64::from(n);
            let (mean, square) = (sum / n, squares / n);
            let sigma = ((square - mean * mean) / n).sqrt();
            assert!((mean - g).abs() < 4.0 * sigma, "{g}: {mean} within {sigma}");
            assert!((square - (1.0 + 2.0 * g * g) / 3.0).abs() < 0.004, "{g}: {square}");
        }
        // The inverse of the distribution also has g as its integral, without any chance.
        for g in [-0.9_f64, 0.5, 0.95] {
            let n = 1_000_000;
            let mean: f64 =
                (0..n).map(|i| henyey_greenstein(g, (f64::from(i) + 0.5) / f64::from(n))).sum::<f64>() / f64::from(n);
            assert!((mean - g).abs() < 1e-6, "{g}: {mean}");
        }
    }

    #[test]
    fn turning_keeps_length_and_angle() {
        let mut random = Random::of(12, 0);
        let mut direction = DVec3::new(0.0, 0.0, -1.0);
        for _ in 0..100_000 {
            let cosine = henyey_greenstein(0.8, random.uniform());
            let new = turned(direction, cosine, random.azimuth());
            assert!((new.length() - 1.0).abs() < 1e-14);
            assert!((new.dot(direction) - cosine).abs() < 1e-12);
            direction = new;
        }
        for axis in [DVec3::X, -DVec3::Y, DVec3::Z, -DVec3::Z] {
            assert_eq!(turned(axis, 1.0, DVec2::X), axis);
            assert_eq!(turned(axis, -1.0, DVec2::X), -axis);
        }
    }

    #[test]
    fn a_diffuse_face_follows_lamberts_law() {
        // Lambert: density cos / pi, so the cosine has mean 2/3 and its square mean 1/2.
        let mut random = Random::of(13, 0);
        let normal = DVec3::new(1.0, -2.0, 0.5).normalize();
        let n = 200_000;
        let (mut sum, mut squares, mut sideways) = (0.0, 0.0, DVec3::ZERO);
        for _ in 0..n {
            let direction = lambertian(normal, &mut random);
            let cosine = direction.dot(normal);
            assert!(cosine > 0.0);
            sum += cosine;
            squares += cosine * cosine;
            sideways += direction - normal * cosine;
        }
        let n = f64::from(n);
        assert!((sum / n - 2.0 / 3.0).abs() < 4.0 * (1.0 / 18.0 / n).sqrt());
        assert!((squares / n - 0.5).abs() < 4.0 * (1.0 / 12.0 / n).sqrt());
        assert!((sideways / n).length() < 4.0 * (0.5 / n).sqrt());
    }
}
