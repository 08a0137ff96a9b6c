//! A strip between its taps, reduced to what its taps see.
//!
//! Both rails are alike, so a strip is worked out in the difference of its rails' voltages, in which its pixels draw, and their
//! sum, which they do not touch. Between two taps the difference obeys one equation a pixel with two neighbours, solved by
//! elimination; what is left is exact, and joins only the taps.

use crate::strip::{Drive, Strip};

/// Positions between taps, in order away from tap `a`, towards tap `b` or a loose end.
#[derive(Clone, Debug)]
struct Run {
    a: usize,
    b: Option<usize>,
    inside: Vec<usize>,
    /// 1/ohm of a rail before each inner position, and one more before `b`.
    rail_s: Vec<f64>,
    /// Resistance of one rail from `a` to `b`, or to the loose end.
    ohm: f64,
}

/// A strip made ready for solving, with its voltages as they stand.
#[derive(Clone, Debug)]
pub(crate) struct Ladder {
    runs: Vec<Run>,
    /// Difference of the rails at each position.
    pub differ_v: Vec<f64>,
    /// Where the last full step leads.
    next_v: Vec<f64>,
    /// What each position draws at the differences, and its slope.
    amps: Vec<f64>,
    slope: Vec<f64>,
    /// Elimination: constant, share of tap `a`, share of the next.
    sweep: Vec<[f64; 3]>,
}

/// What a run does to its taps: current by the differences at `a` and `b`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Port {
    /// Index of the taps among the strip's.
    pub a: usize,
    pub b: Option<usize>,
    /// Difference current out of tap a: `by_a[0] d_a + by_a[1] d_b + by_a[2]`.
    pub by_a: [f64; 3],
    /// The same out of tap b.
    pub by_b: [f64; 3],
    /// Conductance between the taps for the sum of the rails' voltages, of one rail.
    pub sum_s: f64,
}

impl Ladder {
    pub(crate) fn new(strip: &Strip) -> Self {
        let mut ladder = Ladder {
            runs: Vec::new(),
            differ_v: vec![0.0; strip.pixels + 2],
            next_v: vec![0.0; strip.pixels + 2],
            amps: vec![0.0; strip.pixels + 2],
            slope: vec![0.0; strip.pixels + 2],
            sweep: Vec::new(),
        };
        let taps = &strip.taps;
        let (first, last) = (taps[0], taps[taps.len() - 1]);
        if first > 0 {
            let inside: Vec<usize> = (0..first).rev().collect();
            ladder.runs.push(Run { a: 0, b: None, inside, rail_s: Vec::new(), ohm: 0.0 });
        }
        for (i, pair) in taps.windows(2).enumerate() {
            let inside = (pair[0] + 1..pair[1]).collect();
            ladder.runs.push(Run { a: i, b: Some(i + 1), inside, rail_s: Vec::new(), ohm: 0.0 });
        }
        if last < strip.pixels + 1 {
            let inside = (last + 1..strip.pixels + 2).collect();
            ladder.runs.push(Run { a: taps.len() - 1, b: None, inside, rail_s: Vec::new(), ohm: 0.0 });
        }
        ladder
    }

    /// Resistance of the rails as warm as they are: times `factor` of that at 20 °C.
    pub(crate) fn warm(&mut self, strip: &Strip, factor: f64) {
        for run in &mut self.runs {
            let mut at = strip.taps[run.a];
            run.rail_s.clear();
            for next in run.inside.iter().copied().chain(run.b.map(|b| strip.taps[b])) {
                run.rail_s.push(1.0 / (strip.rail_after(at.min(next)) * factor));
                at = next;
            }
            run.ohm = run.rail_s.iter().map(|s| 1.0 / s).sum();
        }
    }

    /// Works out what each pixel draws at the differences as they stand.
    pub(crate) fn draw(&mut self, strip: &Strip, drives: &[Drive], light: f64, scale: f64) {
        for (i, drive) in drives.iter().enumerate() {
            let drawn = strip.pixel.drawn(drive, light, scale, self.differ_v[i + 1]);
            (self.amps[i + 1], self.slope[i + 1]) = (drawn.amps, drawn.slope);
        }
    }

    /// Current and slope of the pixel at a position; nought at a pad.
    pub(crate) fn drawn_at(&self, position: usize) -> (f64, f64) {
        (self.amps[position], self.slope[position])
    }

    /// Largest current that does not add up between the taps.
    pub(crate) fn residual(&self, strip: &Strip) -> f64 {
        let mut worst: f64 = 0.0;
        for run in &self.runs {
            let mut before = self.differ_v[strip.taps[run.a]];
            for (j, at) in run.inside.iter().enumerate() {
                let here = self.differ_v[*at];
                let mut left = run.rail_s[j] * (before - here) - 2.0 * self.amps[*at];
                let after = run.inside.get(j + 1).copied().or(run.b.map(|b| strip.taps[b]));
                if let Some(after) = after {
                    left += run.rail_s[j + 1] * (self.differ_v[after] - here);
                }
                worst = worst.max(left.abs());
                before = here;
            }
        }
        worst / 2.0
    }

    /// Current out of each tap's two nodes into the strip where it stands, its own pixel included, from the voltages of the taps.
    pub(crate) fn tap_currents(&self, strip: &Strip, taps: &[(f64, f64)]) -> Vec<(f64, f64)> {
        let mut out: Vec<(f64, f64)> = strip.taps.iter().map(|at| (self.amps[*at], -self.amps[*at])).collect();
        let sum = |tap: usize| taps[tap].0 + taps[tap].1;
        for run in &self.runs {
            let ends = run.inside.first().zip(run.inside.last());
            let flow = run.b.map_or(0.0, |b| (sum(run.a) - sum(b)) / run.ohm);
            let at_a = strip.taps[run.a];
            let first = ends.map(|e| *e.0).or(run.b.map(|b| strip.taps[b]));
            if let (Some(first), Some(s)) = (first, run.rail_s.first()) {
                let differ = s * (self.differ_v[at_a] - self.differ_v[first]);
                out[run.a].0 += (flow + differ) / 2.0;
                out[run.a].1 += (flow - differ) / 2.0;
            }
            if let (Some(b), Some(s)) = (run.b, run.rail_s.last()) {
                let last = ends.map_or(at_a, |e| *e.1);
                let differ = s * (self.differ_v[strip.taps[b]] - self.differ_v[last]);
                out[b].0 += (differ - flow) / 2.0;
                out[b].1 += (-differ - flow) / 2.0;
            }
        }
        out
    }

    /// The runs as their taps see them, pixels taken as straight lines through where they stand.
    pub(crate) fn ports(&mut self, out: &mut Vec<Port>) {
        out.clear();
        for run in &self.runs {
            let last = run.inside.len();
            if last == 0 {
                let g = run.rail_s[0];
                out.push(Port { a: run.a, b: run.b, by_a: [g, -g, 0.0], by_b: [-g, g, 0.0], sum_s: g });
                continue;
            }
            eliminate(run, &self.differ_v, &self.amps, &self.slope, &mut self.sweep);
            // Back from the far end: each difference by those of the taps.
            let far = self.sweep[last - 1];
            let mut near = far;
            for [constant, of_a, of_next] in self.sweep[..last - 1].iter().rev() {
                near = [constant + of_next * near[0], of_a + of_next * near[1], of_next * near[2]];
            }
            let g = run.rail_s[0];
            let by_a = [g * (1.0 - near[1]), -g * near[2], -g * near[0]];
            let (by_b, sum_s) = match run.b {
                None => ([0.0; 3], 0.0),
                Some(_) => {
                    let h = run.rail_s[last];
                    ([-h * far[1], h * (1.0 - far[2]), -h * far[0]], 1.0 / run.ohm)
                }
            };
            out.push(Port { a: run.a, b: run.b, by_a, by_b, sum_s });
        }
    }

    /// Where the differences go when those at the taps go to `taps_v`.
    pub(crate) fn aim(&mut self, strip: &Strip, taps_v: &[f64]) {
        for (tap, volt) in strip.taps.iter().zip(taps_v) {
            self.next_v[*tap] = *volt;
        }
        for run in &self.runs {
            if run.inside.is_empty() {
                continue;
            }
            eliminate(run, &self.differ_v, &self.amps, &self.slope, &mut self.sweep);
            let a = taps_v[run.a];
            let mut after = run.b.map_or(0.0, |b| taps_v[b]);
            for (at, [constant, of_a, of_next]) in run.inside.iter().zip(&self.sweep).rev() {
                after = constant + of_a * a + of_next * after;
                self.next_v[*at] = after;
            }
        }
    }

    /// Largest change that the aim means.
    pub(crate) fn stride(&self) -> f64 {
        self.differ_v.iter().zip(&self.next_v).fold(0.0, |most, (a, b)| f64::max(most, (b - a).abs()))
    }

    /// Goes a share of the way from `from` to the aim.
    pub(crate) fn go(&mut self, from: &[f64], share: f64) {
        for ((now, start), next) in self.differ_v.iter_mut().zip(from).zip(&self.next_v) {
            *now = start + share * (next - start);
        }
    }

    /// Voltages of both rails at every position, from those of the taps.
    pub(crate) fn rails(&self, strip: &Strip, taps: &[(f64, f64)]) -> (Vec<f64>, Vec<f64>) {
        let mut sum = vec![0.0; strip.pixels + 2];
        for (tap, (plus, minus)) in strip.taps.iter().zip(taps) {
            sum[*tap] = plus + minus;
        }
        for run in &self.runs {
            let start = sum[strip.taps[run.a]];
            let flow = run.b.map_or(0.0, |b| (sum[strip.taps[b]] - start) / run.ohm);
            let mut at_v = start;
            for (at, s) in run.inside.iter().zip(&run.rail_s) {
                at_v += flow / s;
                sum[*at] = at_v;
            }
        }
        let both = |sign: f64| sum.iter().zip(&self.differ_v).map(|(s, d)| (s + sign * d) / 2.0).collect();
        (both(1.0), both(-1.0))
    }
}

/// Gaussian elimination along a run: each difference as a constant, a share of that at tap a, a share of the next one's.
fn eliminate(run: &Run, differ_v: &[f64], amps: &[f64], slope: &[f64], sweep: &mut Vec<[f64; 3]>) {
    sweep.clear();
    let mut before = [0.0, 1.0, 0.0];
    for (j, at) in run.inside.iter().enumerate() {
        let (back, on) = (run.rail_s[j], run.rail_s.get(j + 1).copied().unwrap_or(0.0));
        let free = -2.0 * (amps[*at] - slope[*at] * differ_v[*at]);
        let pivot = back * (1.0 - before[2]) + on + 2.0 * slope[*at];
        before = [(free + back * before[0]) / pivot, back * before[1] / pivot, on / pivot];
        sweep.push(before);
    }
}
