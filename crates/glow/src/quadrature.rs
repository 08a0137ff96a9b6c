//! Points and weights that stand for all angles between two.

use std::f64::consts::PI;

/// Points with their weights, in rising order.
pub(crate) type Points = Vec<[f64; 2]>;

/// Gauss's rule with `count` points from `low` to `high`: exact for polynomials up to the degree 2 count - 1.
pub(crate) fn gauss(count: usize, low: f64, high: f64) -> Points {
    let n = count as f64;
    let point = |k: usize| {
        let mut x = -libm::cos(PI * (k as f64 + 0.75) / (n + 0.5));
        for _ in 0..NEWTON {
            let (p, less) = legendre(count, x);
            x -= p / (n * (less - x * p) / (1.0 - x * x));
        }
        let (p, less) = legendre(count, x);
        let slope = n * (less - x * p) / (1.0 - x * x);
        [x, 2.0 / ((1.0 - x * x) * slope * slope)]
    };
    (0..count).map(point).map(|p| moved(p, low, high)).collect()
}

/// Radau's rule with `count` points from `low` to `high`, the last of them `high` itself: exact for polynomials up to the
/// degree 2 count - 2. Hildebrand, *Introduction to Numerical Analysis*, 2nd ed. 1974, section 8.11, turned about.
pub(crate) fn radau(count: usize, low: f64, high: f64) -> Points {
    let n = count as f64;
    // The free points are the other roots of P(n-1) - P(n), which is 0 at 1.
    let free = |k: usize| {
        let mut x = -libm::cos(PI * (2.0 * k as f64 + 1.0) / (2.0 * n - 1.0));
        for _ in 0..NEWTON {
            let (p, less) = legendre(count, x);
            let under = 1.0 - x * x;
            // (1 - x2) P'(n) = n (P(n-1) - x P(n)), and (1 - x2) P'(n-1) = n (x P(n-1) - P(n)).
            let slope = n * ((x * less - p) - (less - x * p)) / under;
            x -= (less - p) / slope;
        }
        let (_, less) = legendre(count, x);
        [x, (1.0 + x) / (n * n * less * less)]
    };
    let last = [1.0, 2.0 / (n * n)];
    (0..count - 1).map(free).chain([last]).map(|p| moved(p, low, high)).collect()
}

/// Newton's steps: from these guesses four are enough for 64 points.
const NEWTON: usize = 12;

fn moved([x, weight]: [f64; 2], low: f64, high: f64) -> [f64; 2] {
    let half = (high - low) / 2.0;
    [if x == 1.0 { high } else { low + half * (x + 1.0) }, weight * half]
}

/// Legendre's polynomials of the degrees `degree` (1 or more) and `degree - 1` at `x`.
fn legendre(degree: usize, x: f64) -> (f64, f64) {
    let (mut less, mut p) = (1.0, x);
    for k in 1..degree {
        let k = k as f64;
        (less, p) = (p, ((2.0 * k + 1.0) * x * p - k * less) / (k + 1.0));
    }
    (p, less)
}

/// Legendre's polynomials of the degrees 0 to `count - 1` at `x`.
pub(crate) fn legendre_all(count: usize, x: f64) -> Vec<f64> {
    let mut all = vec![1.0, x];
    for k in 1..count.saturating_sub(1) {
        let more = ((2.0 * k as f64 + 1.0) * x * all[k] - k as f64 * all[k - 1]) / (k as f64 + 1.0);
        all.push(more);
    }
    all.truncate(count);
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-12, "{a} is not {b}");
    }

    #[test]
    fn points_are_those_of_the_handbook() {
        // Abramowitz and Stegun, Handbook of Mathematical Functions, table 25.4: n = 3 and the outermost of n = 16.
        let three = gauss(3, -1.0, 1.0);
        near(three[2][0], 0.774_596_669_241_483);
        near(three[2][1], 5.0 / 9.0);
        near(three[1][1], 8.0 / 9.0);
        let sixteen = gauss(16, -1.0, 1.0);
        near(sixteen[15][0], 0.989_400_934_991_650);
        near(sixteen[15][1], 0.027_152_459_411_754);
        // Radau with 3 points, its end at 1: (1 +- root 6) / 5 turned about, weights (16 +- root 6) / 18 and 2 / 9.
        let root = 6.0_f64.sqrt();
        let three = radau(3, -1.0, 1.0);
        near(three[0][0], -(1.0 + root) / 5.0);
        near(three[1][0], -(1.0 - root) / 5.0);
        near(three[0][1], (16.0 - root) / 18.0);
        near(three[1][1], (16.0 + root) / 18.0);
        assert_eq!(three[2][0], 1.0);
        near(three[2][1], 2.0 / 9.0);
    }

    #[test]
    fn rules_are_exact_as_far_as_they_say() {
        for count in [1, 2, 5, 8, 16, 31, 64] {
            for (points, degree) in [(gauss(count, 0.25, 1.0), 2 * count - 1), (radau(count, 0.25, 1.0), 2 * count - 2)]
            {
                assert!(points.is_sorted_by(|a, b| a[0] < b[0]), "{count}");
                for power in [0, degree] {
                    let power = i32::try_from(power).unwrap();
                    let sum: f64 = points.iter().map(|[x, w]| w * x.powi(power)).sum();
                    near(sum, (1.0 - 0.25_f64.powi(power + 1)) / f64::from(power + 1));
                }
            }
        }
    }

    #[test]
    fn polynomials_follow_their_recurrence() {
        // P2 = (3 x2 - 1) / 2, P3 = (5 x3 - 3 x) / 2.
        let all = legendre_all(4, 0.3);
        near(all[2], (3.0 * 0.09 - 1.0) / 2.0);
        near(all[3], (5.0 * 0.027 - 0.9) / 2.0);
        assert_eq!(legendre_all(1, 0.3), [1.0]);
    }
}
