//! Bare points of light in endless rows and grids over a plane: the worst that a strip behind a diffuser can look.
//!
//! Points are Lambertian and face the plane, so each lights it by `[1 + (distance aside / height)²]^-2`. Their sums are
//! worked out by Poisson's summation formula, in which the terms fall by e each: along a row of height h and pitch p the
//! k-th harmonic is `(1 + k a) e^(-k a)` of the mean, a = 2 pi h / p. Neither the wall's spreading nor light that goes to
//! and fro is in it.

use std::f64::consts::PI;

/// Ripple along a row, as a Michelson contrast (most less least over both together), 0 to 1, for a height over the plane in
/// pitches. From 0.7 on it is `2 (1 + a) e^(-a)` within 0.4 %, which alone is the first harmonic.
pub fn row_ripple(heights_per_pitch: f64) -> f64 {
    let (most, least) = row_ends(heights_per_pitch);
    (most - least) / (most + least)
}

/// Least light along a row over the most, 0 to 1, for a height over the plane in pitches.
pub fn row_min_over_max(heights_per_pitch: f64) -> f64 {
    let (most, least) = row_ends(heights_per_pitch);
    least / most
}

/// Least light under a square grid (between four points) over the most (under one), 0 to 1, for a height in pitches.
pub fn grid_min_over_max(heights_per_pitch: f64) -> f64 {
    let height = within_reach(heights_per_pitch);
    grid(height, 0.5) / grid(height, 0.0)
}

/// Lower than this, in pitches, a plane shows nothing but points.
const LOWEST: f64 = 1e-3;

/// Higher than this there is no ripple that a double could hold.
const HIGHEST: f64 = 100.0;

/// A height that the sums end for; what is no number counts as lowest.
fn within_reach(heights_per_pitch: f64) -> f64 {
    if heights_per_pitch > LOWEST { heights_per_pitch.min(HIGHEST) } else { LOWEST }
}

fn row_ends(heights_per_pitch: f64) -> (f64, f64) {
    let height = within_reach(heights_per_pitch);
    (row(height, 1.0), row(height, -1.0))
}

/// Light along a row over its mean; under a point (`sign` 1) or midway between two (-1).
fn row(height: f64, sign: f64) -> f64 {
    let a = 2.0 * PI * height;
    let (mut sum, mut k, mut turn) = (1.0, 1.0, sign);
    loop {
        let harmonic = 2.0 * (1.0 + k * a) * libm::exp(-k * a);
        if harmonic < 1e-17 {
            // Far below the least light there is, rounding may leave less than nothing.
            return f64::max(sum, 0.0);
        }
        sum += turn * harmonic;
        (k, turn) = (k + 1.0, turn * sign);
    }
}

/// Light under a square grid of pitch 1, `aside` (0 or a half) both ways from under a point: row by row, each as far away
/// as the slant to it; the rows beyond the last by their integral.
fn grid(height: f64, aside: f64) -> f64 {
    const ROWS: i32 = 200;
    let sign = if aside == 0.0 { 1.0 } else { -1.0 };
    // Rows lie evenly on both sides, from `aside` on.
    let one_side = |first: f64| -> f64 {
        (0..ROWS).map(|j| slant(height, f64::from(j) + first)).map(|s| row(s, sign) / (s * s * s)).sum()
    };
    let rest = |last: f64| (1.0 - last / slant(height, last)) / (height * height);
    let (first, both) = if aside == 0.0 {
        (row(height, sign) / (height * height * height), 2.0 * (one_side(1.0) + rest(f64::from(ROWS) + 0.5)))
    } else {
        (0.0, 2.0 * (one_side(0.5) + rest(f64::from(ROWS))))
    };
    first + both
}

fn slant(height: f64, aside: f64) -> f64 {
    (height * height + aside * aside).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The plain sum over points, out to where it no longer matters.
    fn plain(height: f64, x: f64, rows: i32) -> f64 {
        let across = if rows == 0 { 0.0 } else { x };
        let mut sum = 0.0;
        for j in -rows..=rows {
            for i in -400..=400 {
                let square =
                    (x - f64::from(i)) * (x - f64::from(i)) + (across - f64::from(j)) * (across - f64::from(j));
                let part = 1.0 + square / (height * height);
                sum += 1.0 / (part * part);
            }
        }
        sum
    }

    #[test]
    fn rows_are_the_plain_sums() {
        // h / p; least over most and ripple of the plain sums, worked out beforehand with another library.
        let table = [
            (0.4, 0.302, 0.535),
            (0.5, 0.481, 0.350),
            (0.6, 0.642, 0.218),
            (0.7, 0.766, 0.132),
            (0.8, 0.853, 0.079),
            (0.9, 0.911, 0.047),
            (1.0, 0.947, 0.0272),
            (1.2, 0.982, 0.0091),
            (1.5, 0.997, 0.0017),
        ];
        for (height, evenness, ripple) in table {
            assert!((row_min_over_max(height) - evenness).abs() < 6e-4, "{height}");
            assert!((row_ripple(height) - ripple).abs() < 6e-4, "{height}");
            let (most, least) = (plain(height, 0.0, 0), plain(height, 0.5, 0));
            let want = (most - least) / (most + least);
            assert!((row_ripple(height) / want - 1.0).abs() < 1e-4, "{height}: {} {want}", row_ripple(height));
            // The first harmonic alone is what handbooks would print: within 2 % of full light for all of these from 0.5.
            let a = 2.0 * PI * height;
            let first = 2.0 * (1.0 + a) * libm::exp(-a);
            assert!(height < 0.5 || (first - want).abs() < 0.02 * (first + want), "{height}: {first} {want}");
            assert!(height < 0.7 || (first / want - 1.0).abs() < 0.004, "{height}: {first} {want}");
        }
    }

    #[test]
    fn grids_are_the_plain_sums() {
        for (height, evenness) in [(0.4, 0.253), (0.5, 0.439), (0.6, 0.618), (0.7, 0.758), (0.8, 0.854), (1.0, 0.952)] {
            let got = grid_min_over_max(height);
            assert!((got - evenness).abs() < 6e-4, "{height}: {got}");
            let want = plain(height, 0.5, 400) / plain(height, 0.0, 400);
            assert!((got - want).abs() < 3e-5, "{height}: {got} {want}");
        }
    }

    #[test]
    fn the_ends_are_points_and_evenness() {
        for height in [-1.0, 0.0, 1e-9, f64::NAN] {
            assert!((row_ripple(height) - 1.0).abs() < 1e-6 && row_min_over_max(height) < 1e-6, "{height}");
            assert!(grid_min_over_max(height) < 1e-6, "{height}");
        }
        for height in [10.0, 1e6, f64::INFINITY] {
            assert!(row_ripple(height).abs() < 1e-15 && (row_min_over_max(height) - 1.0).abs() < 1e-15, "{height}");
        }
        assert!((grid_min_over_max(10.0) - 1.0).abs() < 1e-6);
        let mut before = 1.0;
        for k in 1..300 {
            let ripple = row_ripple(f64::from(k) * 0.01);
            assert!(ripple <= before, "{k}");
            before = ripple;
        }
    }
}
