//! What goes into a case, a car or through a door, turned any way round.

use std::f64::consts::FRAC_PI_2;

/// Steps of a right angle in which ways round are tried first: 3 degrees, on which the sides and edges of the room lie.
const STEPS: usize = 30;
/// Halvings of the step round the best of them: to 3 degrees / 2^20.
const HALVINGS: usize = 20;

/// The longest box with this width and height that goes into a room, mm, some way round; 0 where none does. What comes out does go
/// in: sides of a turned box along an axis are its own sides times the axis's parts in their directions, and those are summed.
///
/// A slim one lies along the diagonal. The search is over ways round, so a longer one may go in by less than a hundredth of a
/// millimetre.
pub fn longest_mm(room_mm: [f64; 3], [wide_mm, high_mm]: [f64; 2]) -> f64 {
    let fits = |turn: [f64; 3]| {
        let [long, across, up] = axes(turn);
        let ends = (0..3).map(|i| {
            let left = room_mm[i] - wide_mm * across[i].abs() - high_mm * up[i].abs();
            match long[i].abs() {
                share if share > 1e-12 => left / share,
                _ if left >= 0.0 => f64::INFINITY,
                _ => 0.0,
            }
        });
        ends.fold(f64::INFINITY, f64::min)
    };
    let mut step = FRAC_PI_2 / STEPS as f64;
    let mut best = ([0.0; 3], f64::NEG_INFINITY);
    for a in 0..=STEPS {
        for b in 0..=STEPS {
            for c in 0..2 * STEPS {
                let turn = [a as f64 * step, b as f64 * step, c as f64 * step];
                let long = fits(turn);
                if long > best.1 {
                    best = (turn, long);
                }
            }
        }
    }
    for _ in 0..HALVINGS {
        step *= 0.5;
        // Uphill as far as it goes with this step.
        while let Some(better) = around(best.0, step).into_iter().map(|t| (t, fits(t))).find(|t| t.1 > best.1 + 1e-9) {
            best = better;
        }
    }
    best.1.max(0.0)
}

/// The box's length, width and height as directions in the room: turned out of the floor's length by the first, up by the second,
/// rolled by the third.
fn axes([a, b, c]: [f64; 3]) -> [[f64; 3]; 3] {
    let (sa, ca, sb, cb, sc, cc) = (libm::sin(a), libm::cos(a), libm::sin(b), libm::cos(b), libm::sin(c), libm::cos(c));
    let (v, w) = ([-sa, ca, 0.0], [-sb * ca, -sb * sa, cb]);
    let mix = |x: f64, y: f64| std::array::from_fn(|i| x * v[i] + y * w[i]);
    [[cb * ca, cb * sa, sb], mix(cc, sc), mix(-sc, cc)]
}

fn around(turn: [f64; 3], step: f64) -> Vec<[f64; 3]> {
    let mut all = Vec::with_capacity(26);
    for k in 0..27 {
        let by = [k / 9, k / 3 % 3, k % 3].map(|n| (n as f64 - 1.0) * step);
        if k != 13 {
            all.push(std::array::from_fn(|i| turn[i] + by[i]));
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pythagoras: a thread in a box.
    #[test]
    fn a_thread_lies_along_the_diagonal() {
        let long = longest_mm([750.0, 500.0, 300.0], [0.0, 0.0]);
        assert!((long - (750.0_f64 * 750.0 + 500.0 * 500.0 + 300.0 * 300.0).sqrt()).abs() < 0.01, "{long}");
    }

    /// Carver, "On rectangles in rectangles", American Mathematical Monthly 64, 1957 (from memory): a rectangle p by q, longer than
    /// the one of a by b that it lies aslant in, goes in if b is at least (2pqa + (p² - q²) sqrt(p² + q² - a²)) / (p² + q²).
    #[test]
    fn a_board_lies_aslant_in_a_frame() {
        for (a, b, q) in [(750.0_f64, 500.0_f64, 60.0_f64), (1000.0, 400.0, 120.0), (600.0, 590.0, 30.0)] {
            let needs = |p: f64| (2.0 * p * q * a + (p * p - q * q) * (p * p + q * q - a * a).sqrt()) / (p * p + q * q);
            let (mut low, mut high) = (a, 2.0 * (a + b));
            for _ in 0..60 {
                let p = 0.5 * (low + high);
                if needs(p) <= b { low = p } else { high = p }
            }
            // As thick as the frame is deep, so that it cannot leave the plane.
            let long = longest_mm([a, b, 50.0], [q, 50.0]);
            assert!((long - low.max(a)).abs() < 0.05, "{a} {b} {q}: {long} for {low}");
        }
    }

    #[test]
    fn what_is_too_thick_goes_in_nowhere() {
        assert_eq!(longest_mm([300.0, 200.0, 100.0], [390.0, 110.0]), 0.0);
        assert!((longest_mm([300.0, 200.0, 100.0], [200.0, 100.0]) - 300.0).abs() < 1e-6);
        assert!((longest_mm([100.0, 300.0, 200.0], [100.0, 200.0]) - 300.0).abs() < 1e-6);
    }
}
