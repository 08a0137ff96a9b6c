//! What bends slowly and what repeats with the pixels, out of noisy values along a line.

/// Values at even steps along a line that something repeats on.
pub(super) struct Repeat {
    pub(super) step_mm: f64,
    pub(super) pitch_mm: f64,
}

/// Pitches to either side that are fitted together.
const REACH: f64 = 3.0;
/// 1, x, x^2, and cosine and sine of two harmonics.
const TERMS: usize = 7;
/// A fit leans towards no ripple and no bend by this share of what is known: enough where values end.
const LEAN: f64 = 1e-3;

impl Repeat {
    /// The values without their noise: at each place a parabola and two harmonics of the pitch, fitted by weighted least
    /// squares over [`REACH`] pitches to either side, less and less with the distance. Where nothing is known nearby, the
    /// nearest place that is. `None` when nothing is known at all.
    pub(super) fn fitted(&self, values: &[f64], weights: &[f64]) -> Option<Vec<f64>> {
        let fits: Vec<Option<f64>> = (0..values.len()).map(|k| self.fit(values, weights, k)).collect();
        let known: Vec<usize> = (0..fits.len()).filter(|k| fits[*k].is_some()).collect();
        if known.is_empty() {
            return None;
        }
        let nearest = |k: usize| {
            let at = known.partition_point(|i| *i < k);
            let beside = [at.checked_sub(1), Some(at)].into_iter().flatten().filter_map(|i| known.get(i));
            beside.min_by_key(|i| i.abs_diff(k)).and_then(|i| fits[*i])
        };
        Some((0..fits.len()).map(|k| nearest(k).unwrap_or(0.0)).collect())
    }

    fn fit(&self, values: &[f64], weights: &[f64], k: usize) -> Option<f64> {
        if weights[k] <= 0.0 {
            return None;
        }
        let reach = (REACH * self.pitch_mm / self.step_mm).ceil().max(4.0);
        let from = k.saturating_sub(reach as usize);
        let to = (k + reach as usize).min(values.len() - 1);
        let mut m = [[0.0; TERMS + 1]; TERMS];
        let (mut whole, mut sum) = (0.0, 0.0);
        for i in from..=to {
            let x = (i as f64 - k as f64) / (reach + 1.0);
            let weight = weights[i] * (1.0 - x * x) * (1.0 - x * x);
            let turn = std::f64::consts::TAU * (i as f64 - k as f64) * self.step_mm / self.pitch_mm;
            let terms = [1.0, x, x * x, libm::cos(turn), libm::sin(turn), libm::cos(2.0 * turn), libm::sin(2.0 * turn)];
            whole += weight;
            sum += weight * values[i];
            for (row, a) in m.iter_mut().zip(terms) {
                for (cell, b) in row.iter_mut().zip(terms) {
                    *cell += weight * a * b;
                }
                row[TERMS] += weight * a * values[i];
            }
        }
        for (i, row) in m.iter_mut().enumerate().skip(1) {
            row[i] += LEAN * whole;
        }
        let fit = solve(m)?;
        // In the middle every sine is 0 and every cosine 1.
        let value = fit[0] + fit[3] + fit[5];
        // No light is less than none; a fit at an end may say so.
        Some(value.max(0.05 * sum / whole))
    }
}

/// Solves equations (right side in the last column) by elimination with pivots; `None` if they don't suffice.
fn solve(mut m: [[f64; TERMS + 1]; TERMS]) -> Option<[f64; TERMS]> {
    for k in 0..TERMS {
        let pivot = (k..TERMS).max_by(|a, b| m[*a][k].abs().total_cmp(&m[*b][k].abs()))?;
        m.swap(k, pivot);
        if m[k][k].abs() < 1e-12 {
            return None;
        }
        let head = m[k];
        for row in m.iter_mut().skip(k + 1) {
            let f = row[k] / head[k];
            for (cell, h) in row.iter_mut().zip(head).skip(k) {
                *cell -= f * h;
            }
        }
    }
    let mut x = [0.0; TERMS];
    for k in (0..TERMS).rev() {
        let known: f64 = (k + 1..TERMS).map(|j| m[k][j] * x[j]).sum();
        x[k] = (m[k][TERMS] - known) / m[k][k];
    }
    Some(x)
}
