//! From a few readings to a band that is not over-confident.

/// Readings in short. `low` to `high` is where the next one will lie, 19 times of 20.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// How many readings.
    pub count: usize,
    /// Their mean.
    pub mean: f64,
    /// Their standard deviation (n - 1 below); 0 for a single one.
    pub deviation: f64,
    /// Low end of the band.
    pub low: f64,
    /// High end of the band.
    pub high: f64,
}

/// What the spread that is usual in the trade weighs: as much as five readings would tell about it. Our choice: five
/// readings of one's own outweigh it.
const USUAL_WEIGHT: f64 = 4.0;

/// The spread of some readings; `None` without any.
///
/// Normal readings of unknown mean and variance; the variance has the scaled inverse chi-square prior with 4 degrees of
/// freedom about the square of `usual`, the mean a flat one: s2 = (4 usual2 + (n-1) sd2) / (4 + n-1), and the next reading
/// is t-distributed with 4 + n-1 degrees of freedom about the mean with variance s2 (1 + 1/n). Gelman and others,
/// *Bayesian Data Analysis*, 3rd ed. 2013, sections 2.6, 3.2 and 3.3.
pub fn spread(values: &[f64], usual: f64) -> Option<Spread> {
    if values.is_empty() {
        return None;
    }
    let (mean, variance) = mean_and_variance(values);
    let n = values.len() as f64;
    let (pooled, freedom) = pooled(variance, n, usual);
    let reach = student_975(freedom) * (pooled * (1.0 + 1.0 / n)).sqrt();
    Some(Spread { count: values.len(), mean, deviation: variance.sqrt(), low: mean - reach, high: mean + reach })
}

fn mean_and_variance(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|v| (v - mean) * (v - mean)).sum();
    (mean, if values.len() > 1 { squares / (n - 1.0) } else { 0.0 })
}

fn pooled(variance: f64, n: f64, usual: f64) -> (f64, f64) {
    let freedom = USUAL_WEIGHT + n - 1.0;
    ((USUAL_WEIGHT * usual * usual + (n - 1.0) * variance) / freedom, freedom)
}

/// The point that Student's t with `freedom` degrees of freedom stays below 39 times of 40, so that 19 of 20 lie between
/// it and its negative.
///
/// Expansion about the normal quantile, Abramowitz and Stegun, *Handbook of Mathematical Functions*, 26.7.5: within 0.006
/// of the tables for 4 degrees of freedom and more.
pub fn student_975(freedom: f64) -> f64 {
    const X: f64 = 1.959_963_984_540_054;
    let (x2, v) = (X * X, freedom);
    let g1 = (x2 + 1.0) * X / 4.0;
    let g2 = ((5.0 * x2 + 16.0) * x2 + 3.0) * X / 96.0;
    let g3 = (((3.0 * x2 + 19.0) * x2 + 17.0) * x2 - 15.0) * X / 384.0;
    let g4 = ((((79.0 * x2 + 776.0) * x2 + 1482.0) * x2 - 1920.0) * x2 - 945.0) * X / 92_160.0;
    X + (g1 + (g2 + (g3 + g4 / v) / v) / v) / v
}

/// A printer's pace from measured times as multiples of the computed ones: usual, least, most. `own` is the pace it has
/// without them, which comes back when there are none.
///
/// Logarithms r of the multiples are normal about the printer's own, which is normal about that of `own`. The band of
/// `own` is taken as 19 of 20; half of its variance is the printer's, half the piece's. The printer's is taken wider when
/// the readings say so: tau2 = max(half, (mean r)2 - s2/n), the method of moments (Morris 1983, *Parametric empirical
/// Bayes inference*, J. Am. Stat. Assoc. 78). The usual pace is then the shrunken mean r n / (n + s2/tau2), its variance
/// 1 / (n/s2 + 1/tau2), and the next print lies about it with that variance and s2 together, in Student's t
/// (Gelman and others, sections 2.5 and 3.3). s2 is pooled as in [`spread`].
pub fn pace(multiples: &[f64], own: [f64; 3]) -> [f64; 3] {
    if multiples.is_empty() || !multiples.iter().all(|m| *m > 0.0 && m.is_finite()) {
        return own;
    }
    let half = libm::log(own[2] / own[1]) / (2.0 * student_975(f64::INFINITY));
    // A band of no width still leaves room for a piece of its own kind.
    let half_variance = (half * half / 2.0).max(1e-4);
    let centre = libm::log(own[0]);
    let away: Vec<f64> = multiples.iter().map(|m| libm::log(*m) - centre).collect();
    let n = away.len() as f64;
    let (mean, variance) = mean_and_variance(&away);
    let (s2, freedom) = pooled(variance, n, half_variance.sqrt());
    let tau2 = half_variance.max(mean * mean - s2 / n);
    let usual = mean * n / (n + s2 / tau2);
    let reach = student_975(freedom) * (1.0 / (n / s2 + 1.0 / tau2) + s2).sqrt();
    [usual, usual - reach, usual + reach].map(|r| libm::exp(centre + r))
}
