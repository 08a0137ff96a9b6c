//! How a window glows along the prop, and what can be read from it: evenness, ripple, dark lines, dim ends.

/// Ripple is looked for over so many pitches at a time: enough for its noise to average out, short enough for a place.
pub(crate) const PITCHES: f64 = 10.0;

/// Luminance of one window along the prop with every pixel at full white.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// Index of the window.
    pub window: usize,
    /// Index of the body.
    pub body: usize,
    /// Middle of each cell along, mm, evenly spaced.
    pub station_mm: Vec<f64>,
    /// Area of the window there, mm2; 0 where it is not.
    pub area_mm2: Vec<f64>,
    /// Luminance, cd/m2, as of a surface that shines the same in all directions; 0 without area.
    pub luminance_cd_m2: Vec<f64>,
    /// Its noise (standard deviation), cd/m2.
    pub sigma_cd_m2: Vec<f64>,
}

/// A value read from a profile, with its noise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Where, mm.
    pub station_mm: f64,
    /// The value.
    pub value: f64,
    /// Its standard deviation from the noise of the paths that were followed.
    pub sigma: f64,
}

impl Profile {
    /// Mean luminance between two stations, weighted by area; `None` where there is no window. Value in cd/m2.
    pub fn mean(&self, [from, to]: [f64; 2]) -> Option<Reading> {
        let (mut area, mut light, mut noise) = (0.0, 0.0, 0.0);
        for i in self.within([from, to]) {
            area += self.area_mm2[i];
            light += self.luminance_cd_m2[i] * self.area_mm2[i];
            noise += (self.sigma_cd_m2[i] * self.area_mm2[i]).powi(2);
        }
        (area > 0.0).then(|| Reading { station_mm: (from + to) / 2.0, value: light / area, sigma: noise.sqrt() / area })
    }

    fn within(&self, [from, to]: [f64; 2]) -> std::ops::Range<usize> {
        let first = self.station_mm.partition_point(|s| *s < from);
        let last = self.station_mm.partition_point(|s| *s <= to);
        first..last.max(first)
    }

    /// Distance between cells, mm.
    pub fn step_mm(&self) -> f64 {
        if self.station_mm.len() < 2 { 1.0 } else { self.station_mm[1] - self.station_mm[0] }
    }

    /// Means over `over_mm`, one a cell, between two stations: the profile without ripple when `over_mm` is the pitch.
    pub fn smoothed(&self, over_mm: f64, [from, to]: [f64; 2]) -> Vec<Reading> {
        let half = over_mm / 2.0;
        self.within([from, to])
            .filter_map(|i| {
                let s = self.station_mm[i];
                Some(Reading { station_mm: s, ..self.mean([(s - half).max(from), (s + half).min(to)])? })
            })
            .collect()
    }

    /// Ripple at the pixels' pitch, over ten pitches at a time between two stations: half the difference of brightest and
    /// darkest over their mean (Michelson), of the first harmonic, by least squares with a straight trend besides.
    pub fn ripple(&self, pitch_mm: f64, [from, to]: [f64; 2]) -> Vec<Reading> {
        let span = PITCHES * pitch_mm;
        let count = ((to - from) / pitch_mm - PITCHES + 1.0 + 1e-9).floor();
        if count < 1.0 {
            return Vec::new();
        }
        (0..count as usize)
            .filter_map(|k| {
                let start = from + k as f64 * pitch_mm;
                self.harmonic([start, start + span], pitch_mm)
            })
            .collect()
    }

    /// The same between two stations a whole number of pitches apart.
    pub(super) fn harmonic(&self, span: [f64; 2], pitch_mm: f64) -> Option<Reading> {
        let cells: Vec<usize> = self.within(span).filter(|i| self.area_mm2[*i] > 0.0).collect();
        if cells.len() < 8 {
            return None;
        }
        let middle = (span[0] + span[1]) / 2.0;
        let terms = |i: usize| {
            let x = self.station_mm[i] - middle;
            let turn = std::f64::consts::TAU * x / pitch_mm;
            [1.0, x / pitch_mm, libm::cos(turn), libm::sin(turn)]
        };
        let mut normal = [[0.0; 5]; 4];
        let mut noise = 0.0;
        for i in &cells {
            let t = terms(*i);
            for (row, a) in normal.iter_mut().zip(t) {
                for (sum, b) in row.iter_mut().zip(t) {
                    *sum += a * b;
                }
                row[4] += a * self.luminance_cd_m2[*i];
            }
            noise += self.sigma_cd_m2[*i].powi(2);
        }
        let fit = solve(normal)?;
        let n = cells.len() as f64;
        // Noise alone makes a harmonic whose square is on average this, so it is taken off.
        let floor = 4.0 * noise / (n * n);
        let square = fit[2] * fit[2] + fit[3] * fit[3];
        let height = (square - floor).max(0.0).sqrt();
        (fit[0] > 0.0).then(|| Reading {
            station_mm: middle,
            value: height / fit[0],
            sigma: (2.0 * noise / (n * n)).sqrt() / fit[0],
        })
    }
}

/// The darkest of some readings against the brightest, at the darkest; `None` where nothing shines.
pub(crate) fn evenness(all: &[Reading]) -> Option<Reading> {
    let low = all.iter().copied().reduce(|a, b| if b.value < a.value { b } else { a })?;
    let high = all.iter().copied().reduce(|a, b| if b.value > a.value { b } else { a }).filter(|h| h.value > 0.0)?;
    let value = low.value / high.value;
    let sigma = value * (low.sigma / low.value.max(1e-9)).hypot(high.sigma / high.value);
    Some(Reading { station_mm: low.station_mm, value, sigma })
}

/// Solves four equations (right side in the last column) by elimination with pivots; `None` if they don't suffice.
fn solve(mut m: [[f64; 5]; 4]) -> Option<[f64; 4]> {
    for k in 0..4 {
        let pivot = (k..4).max_by(|a, b| m[*a][k].abs().total_cmp(&m[*b][k].abs()))?;
        m.swap(k, pivot);
        if m[k][k].abs() < 1e-9 {
            return None;
        }
        for i in k + 1..4 {
            let f = m[i][k] / m[k][k];
            let above = m[k];
            for (left, right) in m[i].iter_mut().zip(above) {
                *left -= f * right;
            }
        }
    }
    let mut x = [0.0; 4];
    for k in (0..4).rev() {
        let known: f64 = (k + 1..4).map(|j| m[k][j] * x[j]).sum();
        x[k] = (m[k][4] - known) / m[k][k];
    }
    Some(x)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A profile of 2 mm cells over a metre whose luminance is `of(station)`.
    fn drawn(of: impl Fn(f64) -> f64, sigma: f64) -> Profile {
        let station_mm: Vec<f64> = (0..500).map(|i| 1.0 + 2.0 * f64::from(i)).collect();
        Profile {
            window: 0,
            body: 0,
            luminance_cd_m2: station_mm.iter().map(|s| of(*s)).collect(),
            area_mm2: vec![30.0; 500],
            sigma_cd_m2: vec![sigma; 500],
            station_mm,
        }
    }

    #[test]
    fn ripple_of_a_wave_is_its_share_whatever_the_trend() {
        let pitch = 1000.0 / 60.0;
        let wave = drawn(|s| (100.0 + 0.02 * s) * (1.0 + 0.03 * libm::cos(std::f64::consts::TAU * s / pitch)), 0.0);
        for r in wave.ripple(pitch, [100.0, 900.0]) {
            assert!((r.value - 0.03).abs() < 3e-4, "{r:?}");
        }
    }

    #[test]
    fn ripple_is_not_made_of_noise() {
        // Noise of 2 % a cell, from a fixed sequence that has no period near the pitch.
        let rough = drawn(|s| 100.0 + 2.83 * libm::sin(s * s * 0.731), 2.0);
        let all = rough.ripple(1000.0 / 60.0, [100.0, 900.0]);
        let mean = all.iter().map(|r| r.value).sum::<f64>() / all.len() as f64;
        assert!(mean < 0.005 && all[0].sigma > 0.003, "{mean} {:?}", all[0]);
    }

    #[test]
    fn means_weigh_by_area_and_noise_shrinks_with_the_root() {
        let mut steps = drawn(|s| if s < 500.0 { 50.0 } else { 100.0 }, 1.0);
        for area in &mut steps.area_mm2[250..] {
            *area = 90.0;
        }
        let mean = steps.mean([400.0, 600.0]).unwrap();
        assert!((mean.value - (50.0 + 3.0 * 100.0) / 4.0).abs() < 1e-9);
        let quarter = steps.mean([0.0, 200.0]).unwrap();
        assert!((quarter.sigma - 0.1).abs() < 1e-9, "{}", quarter.sigma);
        assert_eq!(steps.mean([2000.0, 3000.0]), None);
    }
}
