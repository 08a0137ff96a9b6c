//! Smooth faces between clear media, for unpolarised light.
//!
//! Everywhere `ratio` is the index of the side that the light comes from over the index of the side beyond: `index` from
//! plastic to air, `1 / index` from air to plastic. A cosine is that of the angle to the normal, 0 to 1.

/// Share sent back by a smooth face, by Fresnel's formulas, the mean of both polarisations; 1 beyond the critical angle.
pub fn reflectance(cosine: f64, ratio: f64) -> f64 {
    // Equal media reflect nothing; the formulas would divide 0 by 0 for grazing light.
    if ratio == 1.0 {
        return 0.0;
    }
    let Some(beyond) = refracted_cosine(cosine, ratio) else { return 1.0 };
    let across = (ratio * cosine - beyond) / (ratio * cosine + beyond);
    let along = (ratio * beyond - cosine) / (ratio * beyond + cosine);
    0.5 * (across * across + along * along)
}

/// Cosine of the angle beyond the face, by Snell's law; none where all light is sent back.
pub fn refracted_cosine(cosine: f64, ratio: f64) -> Option<f64> {
    let square = 1.0 - ratio * ratio * (1.0 - cosine * cosine);
    (square > 0.0).then(|| square.sqrt())
}

/// Cosine of the critical angle inside plastic of that index: light more slanting than this stays inside. 0 for index 1.
pub fn critical_cosine(index: f64) -> f64 {
    (1.0 - 1.0 / (index * index)).max(0.0).sqrt()
}

/// Share that a smooth face of that index sends back of diffuse (Lambertian) light from air.
pub fn diffuse_from_outside(index: f64) -> f64 {
    // Simpson's rule for 2 µ R(µ) over µ: smooth, and exact to 1e-9 with these steps for the indices of plastics.
    const STEPS: u32 = 2000;
    let flux = |cosine: f64| 2.0 * cosine * reflectance(cosine, 1.0 / index);
    let step = 1.0 / f64::from(STEPS);
    let inner: f64 = (1..STEPS).map(|i| if i % 2 == 1 { 4.0 } else { 2.0 } * flux(f64::from(i) * step)).sum();
    (flux(0.0) + inner + flux(1.0)) * step / 3.0
}

/// Share that a smooth face to air sends back of diffuse (Lambertian) light from inside plastic of that index. By
/// reciprocity: as much passes per étendue either way, and étendue inside is index squared times that outside.
pub fn diffuse_from_inside(index: f64) -> f64 {
    1.0 - (1.0 - diffuse_from_outside(index)) / (index * index)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Index, reflectance at 0 degrees, critical angle in degrees, diffuse from outside, diffuse from inside:
    /// Fresnel's formulas integrated with another library beforehand.
    const ROWS: [(f64, f64, f64, f64, f64); 5] = [
        (1.40, 0.0278, 45.58, 0.0768, 0.529),
        (1.46, 0.0350, 43.23, 0.0859, 0.571),
        (1.50, 0.0400, 41.81, 0.0918, 0.596),
        (1.53, 0.0439, 40.81, 0.0962, 0.614),
        (1.57, 0.0492, 39.56, 0.1020, 0.636),
    ];

    #[test]
    fn the_rows_of_the_common_indices_hold() {
        for (index, straight, critical_deg, outside, inside) in ROWS {
            assert!((reflectance(1.0, 1.0 / index) - straight).abs() < 6e-5, "{index}");
            assert!((reflectance(1.0, index) - straight).abs() < 6e-5, "{index}");
            let critical = libm::acos(critical_cosine(index)).to_degrees();
            assert!((critical - critical_deg).abs() < 6e-3, "{index}: {critical}");
            assert!((diffuse_from_outside(index) - outside).abs() < 6e-5, "{index}: {}", diffuse_from_outside(index));
            assert!((diffuse_from_inside(index) - inside).abs() < 6e-4, "{index}: {}", diffuse_from_inside(index));
        }
    }

    #[test]
    fn inside_and_outside_agree_with_a_plain_sum() {
        for index in [1.0, 1.2, 1.46, 1.585, 2.0] {
            let n = 400_000;
            let sum = |ratio: f64| -> f64 {
                (0..n)
                    .map(|i| (f64::from(i) + 0.5) / f64::from(n))
                    .map(|u| 2.0 * u * reflectance(u, ratio))
                    .sum::<f64>()
                    / f64::from(n)
            };
            assert!((sum(1.0 / index) - diffuse_from_outside(index)).abs() < 1e-8, "{index}");
            assert!((sum(index) - diffuse_from_inside(index)).abs() < 1e-6, "{index}");
        }
    }

    #[test]
    fn known_angles_come_out() {
        // Brewster (tan = index): the part along the plane of incidence is gone, the other is ((n²-1)/(n²+1))².
        let index: f64 = 1.5;
        let cosine = 1.0 / (1.0 + index * index).sqrt();
        let across = (index * index - 1.0) / (index * index + 1.0);
        assert!((reflectance(cosine, 1.0 / index) - 0.5 * across * across).abs() < 1e-15);
        // Snell: 60 degrees in air is sin 0.57735 at index 1.5.
        let beyond = refracted_cosine(0.5, 1.0 / index).unwrap();
        assert!((beyond - (2.0_f64 / 3.0).sqrt()).abs() < 1e-15);
        // The way back is the same share, and nothing passes beyond the critical angle or when grazing.
        assert!((reflectance(0.5, 1.0 / index) - reflectance(beyond, index)).abs() < 1e-15);
        assert_eq!(reflectance(critical_cosine(index) - 1e-9, index), 1.0);
        assert_eq!(refracted_cosine(0.5, index), None);
        assert_eq!(reflectance(0.0, 1.0 / index), 1.0);
        for cosine in [0.0, 0.3, 1.0] {
            assert_eq!(reflectance(cosine, 1.0), 0.0, "equal media");
        }
        assert_eq!(critical_cosine(1.0), 0.0);
    }
}
