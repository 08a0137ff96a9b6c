//! From one sample rate to another: a sinc under a window.

use std::f64::consts::PI;

/// Zero crossings to either side.
const REACH: f64 = 24.0;

/// Samples at `to_hz` of a sound at `from_hz`. What the new rate cannot hold is filtered away.
pub(crate) fn resampled(sound: &[f64], from_hz: u32, to_hz: u32) -> Vec<f64> {
    if from_hz == to_hz {
        return sound.to_vec();
    }
    let step = f64::from(from_hz) / f64::from(to_hz);
    // Of the lower of both Nyquist rates a twentieth is left to the filter's slope.
    let cut = 0.95 * (1.0 / step).min(1.0);
    let reach = REACH / cut;
    let n = libm::ceil(sound.len() as f64 / step) as usize;
    (0..n)
        .map(|i| {
            let at = i as f64 * step;
            let first = libm::ceil(at - reach).max(0.0) as usize;
            let last = (libm::floor(at + reach) as usize).min(sound.len() - 1);
            (first..=last).map(|k| sound[k] * kernel(k as f64 - at, cut, reach)).sum()
        })
        .collect()
}

fn kernel(x: f64, cut: f64, reach: f64) -> f64 {
    let sinc = if x == 0.0 { cut } else { libm::sin(PI * cut * x) / (PI * x) };
    // Blackman's window: side lobes 58 dB down (Harris, Proc. IEEE 66, 1978).
    let u = x / reach;
    sinc * (0.42 + 0.5 * libm::cos(PI * u) + 0.08 * libm::cos(2.0 * PI * u))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn sine(tone_hz: f64, hz: u32) -> Vec<f64> {
        (0..hz).map(|k| libm::sin(TAU * tone_hz * f64::from(k) / f64::from(hz))).collect()
    }

    /// A tone comes out as the same tone sampled at the new rate, 60 dB above what is wrong with it.
    #[test]
    fn tones_stay_what_they_are() {
        for (from, to) in [(48000, 22050), (44100, 22050), (8000, 22050), (11025, 16000)] {
            for tone in [300.0, 1000.0, 3300.0] {
                let found = resampled(&sine(tone, from), from, to);
                let wanted = sine(tone, to);
                assert_eq!(found.len(), wanted.len());
                let inner = 200..wanted.len() - 200;
                let worst = inner.map(|k| (found[k] - wanted[k]).abs()).fold(0.0, f64::max);
                assert!(worst < 0.001, "{tone} Hz from {from} to {to}: {worst}");
            }
        }
    }

    #[test]
    fn what_does_not_fit_is_gone() {
        let found = resampled(&sine(15000.0, 48000), 48000, 22050);
        let most = found[200..found.len() - 200].iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        assert!(most < 0.002, "{most}");
    }
}
