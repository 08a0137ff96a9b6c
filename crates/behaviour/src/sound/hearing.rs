//! How loud a sound is to an ear: frequencies weighted after IEC 61672-1.

use realfft::RealFftPlanner;
use std::f64::consts::PI;

/// Levels by the A curve, dB: 0 is what a full sine of 1 kHz has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heard {
    /// Of the mean power of all of it.
    pub mean_db: f64,
    /// Of the loudest second, or of all of it if that is shorter.
    pub second_db: f64,
}

/// Pieces of a second: overlapping by half, windows of a quarter.
const PIECES: u32 = 8;

/// What an ear hears of mono samples; `None` of silence.
///
/// Powers are summed by frequency in windows of a quarter of a second whose squares add up to one, each times the A curve
/// as the standard states it: nothing is lost between windows, and no filter is bent towards half the sample rate. Levels are rounded
/// to 0.01 dB, below which the fast transforms of different machines may differ.
pub fn heard(samples: &[i16], hz: u32) -> Option<Heard> {
    let hop = (hz / PIECES) as usize;
    if hop == 0 || samples.iter().all(|s| *s == 0) {
        return None;
    }
    let window: Vec<f64> = (0..2 * hop).map(|k| libm::sin(PI * (k as f64 + 0.5) / (2 * hop) as f64)).collect();
    let transform = RealFftPlanner::<f64>::new().plan_fft_forward(2 * hop);
    let bins: Vec<f64> = (0..=hop).map(|k| power_by_a(k as f64 * f64::from(hz) / (2 * hop) as f64)).collect();
    let (mut piece, mut spectrum) = (transform.make_input_vec(), transform.make_output_vec());
    // Half a window before the beginning, and beyond the end.
    let pieces = samples.len().div_ceil(hop) + 1;
    let mut powers = Vec::with_capacity(pieces);
    for k in 0..pieces {
        for (lane, (value, window)) in piece.iter_mut().zip(&window).enumerate() {
            let sample = (k * hop + lane).checked_sub(hop).and_then(|at| samples.get(at));
            *value = sample.map_or(0.0, |s| f64::from(*s)) * window;
        }
        transform.process(&mut piece, &mut spectrum).ok()?;
        // Every frequency but the first and the last stands for its negative too.
        let sum: f64 = spectrum.iter().zip(&bins).skip(1).map(|(c, weight)| 2.0 * c.norm_sqr() * weight).sum();
        let last = spectrum[hop].norm_sqr() * bins[hop];
        powers.push((sum - last) / (2 * hop) as f64);
    }
    let level = |power: f64, samples: usize| {
        let db = 10.0 * libm::log10(power / samples as f64 / (32_767.0 * 32_767.0 / 2.0));
        (db * 100.0).round() / 100.0
    };
    let mean_db = level(powers.iter().sum(), samples.len());
    let second_db = if samples.len() <= hz as usize {
        mean_db
    } else {
        let loudest = powers.windows(PIECES as usize).map(|w| w.iter().sum()).fold(0.0, f64::max);
        level(loudest, PIECES as usize * hop)
    };
    mean_db.is_finite().then_some(Heard { mean_db, second_db })
}

/// The A curve as a factor on power: IEC 61672-1:2013, annex E, with its pole frequencies; 1 at 1 kHz.
fn power_by_a(hz: f64) -> f64 {
    let [low, second, third, high] = [20.598_997, 107.652_65, 737.862_23, 12_194.217].map(|pole: f64| pole * pole);
    let f2 = hz * hz;
    let amplitude2 = |f2: f64| {
        let (ends, middle) = ((f2 + low) * (f2 + high), (f2 + second) * (f2 + third));
        (f2 * f2 * high) * (f2 * f2 * high) / (ends * ends * middle)
    };
    amplitude2(f2) / amplitude2(1e6)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn sine(tone_hz: f64, hz: u32, lasts_s: f64) -> Vec<i16> {
        let value = |k: u32| 16_000.0 * libm::sin(TAU * tone_hz * f64::from(k) / f64::from(hz));
        (0..(lasts_s * f64::from(hz)) as u32).map(|k| value(k) as i16).collect()
    }

    /// The A column of IEC 61672-1:2013, table 3 (from memory), whose values are of exact frequencies, 1000 Hz by tenths of a
    /// decade, and rounded to 0.1 dB.
    #[test]
    fn tones_weigh_what_the_standard_says() {
        let table =
            [(-12, -26.2), (-9, -16.1), (-6, -8.6), (-3, -3.2), (0, 0.0), (3, 1.2), (6, 1.0), (9, -1.1), (10, -2.5)];
        let full_db = 20.0 * libm::log10(16_000.0 / 32_767.0);
        for (tenths, wanted) in table {
            let tone = 1000.0 * libm::pow(10.0, f64::from(tenths) / 10.0);
            for hz in [22_050, 48_000] {
                let found = heard(&sine(tone, hz, 2.3), hz).expect("not silent");
                assert!((found.second_db - full_db - wanted).abs() < 0.1, "{tone} Hz at {hz}: {found:?}");
                assert!((found.mean_db - found.second_db).abs() < 0.05, "{found:?}");
            }
        }
    }

    /// A second of tone in ten of silence: the mean is 10 dB below the loudest second, wherever it lies.
    #[test]
    fn nothing_is_lost_between_windows() {
        for from in [0, 1111, 98_765, 198_450] {
            let mut samples = vec![0; 220_500];
            samples[from..from + 22_050].copy_from_slice(&sine(1000.0, 22_050, 1.0));
            let found = heard(&samples, 22_050).expect("not silent");
            assert!((found.second_db - found.mean_db - 10.0).abs() < 0.35, "{from}: {found:?}");
            let full_db = 20.0 * libm::log10(16_000.0 / 32_767.0);
            assert!((found.mean_db + 10.0 - full_db).abs() < 0.02, "{from}: {found:?}");
        }
    }

    #[test]
    fn silence_and_a_single_sample_are_borne() {
        assert_eq!(heard(&[], 22_050), None);
        assert_eq!(heard(&[0; 500], 22_050), None);
        assert_eq!(heard(&[7; 3], 5), None);
        assert!(heard(&[1], 22_050).is_some_and(|h| h.mean_db < -20.0 && h.mean_db == h.second_db));
    }
}
