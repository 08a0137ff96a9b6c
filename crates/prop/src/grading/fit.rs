//! What bends slowly and what repeats with the pixels, out of noisy values along a line.

/// Values at even steps along a line that something repeats on.
pub(super) struct Repeat<'a> {
    pub(super) step_mm: f64,
    pub(super) pitch_mm: f64,
    /// Where in the repetition each value is taken, in pitches.
    pub(super) phase: &'a [f64],
    /// Noise of a value whose weight is 1, as a share of it.
    pub(super) noise: f64,
}

/// Pitches to either side that are fitted together: for what bends slowly, and at most for what repeats.
const REACH: [f64; 2] = [3.0, 12.0];
/// What repeats is fitted over so many pitches that its noise is no more than this share of the light, if that suffices.
const FINE: f64 = 0.01;
/// 1, x, x^2, and cosine and sine of two harmonics.
const TERMS: usize = 7;
/// A fit leans towards no ripple and no bend by this share of what is known: enough where values end.
const LEAN: f64 = 1e-3;

/// What was fitted about a place, as its value there.
#[derive(Clone, Copy)]
struct Fit {
    slow: f64,
    repeated: f64,
}

impl Repeat<'_> {
    /// The values without their noise: at each place a parabola and two harmonics of the pitch, fitted by weighted least
    /// squares over a few pitches to either side, less and less with the distance; the harmonics over more of them where
    /// values are noisy, and smaller by what noise makes of them on average. Where nothing is known nearby, the nearest
    /// place that is. `None` when nothing is known at all.
    pub(super) fn fitted(&self, values: &[f64], weights: &[f64]) -> Option<Vec<f64>> {
        let near: Vec<Fit> = self.filled(values, weights, REACH[0], 0.0)?;
        let reach = self.reach(weights);
        if reach <= REACH[0] {
            return Some(near.iter().map(|f| f.slow + f.repeated).map(|v| v.max(0.0)).collect());
        }
        let ratio: Vec<f64> =
            values.iter().zip(&near).map(|(v, f)| if f.slow > 0.0 { v / f.slow } else { 1.0 }).collect();
        let far = self.filled(&ratio, weights, reach, self.noise)?;
        Some(near.iter().zip(&far).map(|(n, f)| n.slow * (1.0 + f.repeated).max(LEAST)).collect())
    }

    /// Pitches to either side over which the noise of what repeats is [`FINE`].
    fn reach(&self, weights: &[f64]) -> f64 {
        let known: Vec<f64> = weights.iter().copied().filter(|w| *w > 0.0).collect();
        let a_pitch = known.iter().sum::<f64>() / known.len().max(1) as f64 * self.pitch_mm / self.step_mm;
        // Of the weights (1 - x^2)^2 from -1 to 1: the integral of their squares over the square of their integral.
        const WINDOW: f64 = 0.714;
        (2.0 * self.noise * self.noise * WINDOW / (a_pitch * FINE * FINE)).clamp(REACH[0], REACH[1])
    }

    fn filled(&self, values: &[f64], weights: &[f64], reach: f64, noise: f64) -> Option<Vec<Fit>> {
        let fits: Vec<Option<Fit>> = (0..values.len()).map(|k| self.fit(values, weights, k, (reach, noise))).collect();
        let known: Vec<usize> = (0..fits.len()).filter(|k| fits[*k].is_some()).collect();
        let nearest = |k: usize| {
            let at = known.partition_point(|i| *i < k);
            let beside = [at.checked_sub(1), Some(at)].into_iter().flatten().filter_map(|i| known.get(i));
            beside.min_by_key(|i| i.abs_diff(k)).and_then(|i| fits[*i])
        };
        (0..fits.len()).map(nearest).collect()
    }

    fn fit(&self, values: &[f64], weights: &[f64], k: usize, (reach, noise): (f64, f64)) -> Option<Fit> {
        if weights[k] <= 0.0 {
            return None;
        }
        let reach = (reach * self.pitch_mm / self.step_mm).ceil().max(4.0);
        let from = k.saturating_sub(reach as usize);
        let to = (k + reach as usize).min(values.len() - 1);
        let waves = |i: usize| {
            let turn = std::f64::consts::TAU * self.phase[i];
            [libm::cos(turn), libm::sin(turn), libm::cos(2.0 * turn), libm::sin(2.0 * turn)]
        };
        let mut m = [[0.0; TERMS + 1]; TERMS];
        let (mut whole, mut sum, mut squares) = (0.0, 0.0, 0.0);
        for i in (from..=to).filter(|i| weights[*i] > 0.0) {
            let x = (i as f64 - k as f64) / (reach + 1.0);
            let near = (1.0 - x * x) * (1.0 - x * x);
            let weight = weights[i] * near;
            let [a, b, c, d] = waves(i);
            let terms = [1.0, x, x * x, a, b, c, d];
            whole += weight;
            sum += weight * values[i];
            squares += weight * near;
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
        // Cosine and sine have each this much variance by the noise alone.
        let variance = 2.0 * noise * noise * squares / (whole * whole);
        let at = waves(k);
        let repeated: f64 = (0..2)
            .map(|h| {
                let [cosine, sine] = [fit[3 + 2 * h], fit[4 + 2 * h]];
                let square = cosine * cosine + sine * sine;
                let left = if square > 0.0 { (1.0 - 2.0 * variance / square).max(0.0) } else { 0.0 };
                left * (cosine * at[2 * h] + sine * at[2 * h + 1])
            })
            .sum();
        // No light is less than none; a fit at an end may say so.
        let least = LEAST * sum / whole;
        let slow = fit[0].max(least);
        Some(Fit { slow, repeated: repeated.max(least - slow) })
    }
}

/// Least light that a fit may come to, as a share of the mean.
const LEAST: f64 = 0.05;

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
