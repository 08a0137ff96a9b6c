//! The sensor: mounted a little askew, of limited range, filtered, biased, noisy, and read in whole counts.

use super::body::{Felt, G};
use crate::random::Random;
use crate::{Pace, Sample};

/// An inertial sensor as its data sheet describes it. Deviations are those of normal distributions, drawn once for a
/// recording except the noise, which is drawn for every sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sensor {
    /// Samples a second.
    pub pace: Pace,
    /// Corner of its own low-pass filter of second order, Hz; at most half the samples.
    pub filter_hz: f64,
    /// Range of acceleration, g; at most 16.
    pub range_g: f64,
    /// Range of rate, degrees a second; at most 2000.
    pub range_dps: f64,
    /// Noise of acceleration, g.
    pub noise_g: f64,
    /// Noise of rate, degrees a second.
    pub noise_dps: f64,
    /// Deviation of the zero of acceleration, g.
    pub zero_g: f64,
    /// Deviation of the zero of rate, degrees a second.
    pub zero_dps: f64,
    /// Deviation of the scale of an axis, a share.
    pub scale: f64,
    /// Deviation of the mounting about each axis, degrees.
    pub askew_deg: f64,
}

impl Sensor {
    /// A common small sensor (common practice, no source), its filter at just below half the sample rate.
    pub fn common(pace: Pace) -> Sensor {
        Sensor {
            pace,
            filter_hz: f64::from(pace.hz()) * 0.46,
            range_g: 16.0,
            range_dps: 2000.0,
            noise_g: 0.006,
            noise_dps: 0.12,
            zero_g: 0.03,
            zero_dps: 2.0,
            scale: 0.01,
            askew_deg: 3.0,
        }
    }
}

/// Counts a g, and a degree per second.
pub(crate) const COUNTS: [f64; 2] = [2048.0, 16.384];

/// A low-pass of second order without a resonance (Butterworth, by the bilinear transform with the corner kept), for all
/// six axes at once.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LowPass {
    b: f64,
    a: [f64; 2],
    /// The last two inputs and outputs.
    memory: [[f64; 6]; 4],
    begun: bool,
}

impl LowPass {
    pub(crate) fn new(corner_hz: f64, hz: f64) -> LowPass {
        let k = libm::tan(std::f64::consts::PI * (corner_hz.max(0.0) / hz).min(0.499));
        let over = 1.0 / (1.0 + std::f64::consts::SQRT_2 * k + k * k);
        let a = [2.0 * (k * k - 1.0) * over, (1.0 - std::f64::consts::SQRT_2 * k + k * k) * over];
        LowPass { b: k * k * over, a, memory: [[0.0; 6]; 4], begun: false }
    }

    pub(crate) fn next(&mut self, x: [f64; 6]) -> [f64; 6] {
        if !self.begun {
            // As if the first value had been there for ever.
            self.begun = true;
            self.memory = [x; 4];
        }
        let [x1, x2, y1, y2] = self.memory;
        let mut y = [0.0; 6];
        for k in 0..6 {
            y[k] = self.b * (x[k] + 2.0 * x1[k] + x2[k]) - self.a[0] * y1[k] - self.a[1] * y2[k];
        }
        self.memory = [x, x1, y, y1];
        y
    }
}

/// A sensor at work.
#[derive(Clone, Debug)]
pub(crate) struct Reader {
    sensor: Sensor,
    random: Random,
    askew: [[f64; 3]; 3],
    /// Scale and zero of each of the six axes, in g and degrees a second.
    scale: [f64; 6],
    zero: [f64; 6],
    filter: LowPass,
}

impl Reader {
    /// `hz` is how often what is felt is handed over.
    pub(crate) fn new(sensor: &Sensor, hz: f64, seed: u64) -> Reader {
        let mut random = Random::new(seed ^ 0x5E45_0A1B);
        let [a, b, c] = [(); 3].map(|()| (sensor.askew_deg * random.normal()).to_radians());
        // Small angles, in first order; the length of a vector is off by their square.
        let askew = [[1.0, c, -b], [-c, 1.0, a], [b, -a, 1.0]];
        let scale = [(); 6].map(|()| 1.0 + sensor.scale * random.normal());
        let zero = std::array::from_fn(|k| random.normal() * if k < 3 { sensor.zero_g } else { sensor.zero_dps });
        Reader { sensor: *sensor, random, askew, scale, zero, filter: LowPass::new(sensor.filter_hz, hz) }
    }

    /// Takes what is felt at one instant: range first, as the sensor does, then the filter. In g and degrees a second.
    pub(crate) fn feel(&mut self, felt: &Felt) -> [f64; 6] {
        let mut seen = [0.0; 6];
        for k in 0..3 {
            let [a, b, c] = self.askew[k];
            let (f, w) = (&felt.force, &felt.rate);
            seen[k] = (a * f[0] + b * f[1] + c * f[2]) / G;
            seen[k + 3] = (a * w[0] + b * w[1] + c * w[2]).to_degrees();
        }
        for (k, value) in seen.iter_mut().enumerate() {
            let range = if k < 3 { self.sensor.range_g } else { self.sensor.range_dps };
            // Unlike a clamp, this bears a range that is none.
            *value = (*value * self.scale[k] + self.zero[k]).max(-range).min(range);
        }
        self.filter.next(seen)
    }

    /// One sample from what was felt last.
    pub(crate) fn read(&mut self, values: [f64; 6], pressed: bool, cell_mv: u16) -> Sample {
        let mut counts = [0; 6];
        for (k, count) in counts.iter_mut().enumerate() {
            let kind = k / 3;
            let noise = [self.sensor.noise_g, self.sensor.noise_dps][kind] * self.random.normal();
            *count = count_of(values[k] + noise, COUNTS[kind]);
        }
        let [a, b, c, d, e, f] = counts;
        Sample { force: [a, b, c], rate: [d, e, f], pressed, cell_mv }
    }
}

/// A value as counts, within what 16 bits hold.
pub(crate) fn count_of(value: f64, counts: f64) -> i16 {
    libm::round(value * counts).clamp(-32768.0, 32767.0) as i16
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_1_SQRT_2, TAU};

    /// At its corner a Butterworth filter passes 1/√2, far below it everything.
    #[test]
    fn the_filter_has_its_corner() {
        for (hz, passed) in [(5.0, 1.0), (184.0, FRAC_1_SQRT_2)] {
            let mut filter = LowPass::new(184.0, 4000.0);
            let mut most: f64 = 0.0;
            for k in 0..40_000 {
                let y = filter.next([libm::sin(TAU * hz * f64::from(k) / 4000.0); 6])[3];
                if k > 4000 {
                    most = most.max(y);
                }
            }
            assert!((most - passed).abs() < 0.002, "{hz}: {most}");
        }
    }

    #[test]
    fn a_quiet_sensor_counts_what_is_there() {
        let exact = Sensor {
            noise_g: 0.0,
            noise_dps: 0.0,
            zero_g: 0.0,
            zero_dps: 0.0,
            scale: 0.0,
            askew_deg: 0.0,
            ..Sensor::common(Pace::Hz400)
        };
        let mut reader = Reader::new(&exact, 4000.0, 1);
        let felt = Felt { force: [G, -2.0 * G, 40.0 * G], rate: [1.0_f64.to_radians(), 0.0, -50.0] };
        let values = reader.feel(&felt);
        let sample = reader.read(values, true, 3700);
        assert_eq!(sample.force, [2048, -4096, 32767]);
        assert_eq!(sample.rate, [16, 0, -32768]);
    }
}
