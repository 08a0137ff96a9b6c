//! How loud a sound is: after ITU-R BS.1770-5 and EBU Tech 3341.

use ebur128::{EbuR128, Mode};
use thiserror::Error;

/// Loudness and peak of a sound.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// Integrated loudness, LUFS; `None` of silence and of less than 0.4 s, which has none.
    pub loudness_lufs: Option<f64>,
    /// True peak, dB of full scale; `None` of silence.
    pub true_peak_dbtp: Option<f64>,
}

/// Samples that cannot be measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum LevelError {
    /// Channels or rate beyond what the standard's filters are made for.
    #[error("{channels} channels at {hz} Hz cannot be measured; 1 or 2 channels at 8000 to 192000 Hz can")]
    Form {
        /// Channels.
        channels: u32,
        /// Samples a second.
        hz: u32,
    },
    /// The last sample of one channel has none of the other beside it.
    #[error("{samples} samples are no whole number of {channels} channels")]
    Ragged {
        /// Samples.
        samples: usize,
        /// Channels.
        channels: u32,
    },
}

/// Measures interleaved samples.
///
/// # Errors
/// What the standard's filters are not made for.
pub fn level(samples: &[i16], channels: u32, hz: u32) -> Result<Level, LevelError> {
    let form = LevelError::Form { channels, hz };
    if !(1..=2).contains(&channels) || !(8000..=192_000).contains(&hz) {
        return Err(form);
    }
    if !samples.len().is_multiple_of(channels as usize) {
        return Err(LevelError::Ragged { samples: samples.len(), channels });
    }
    let mut meter = EbuR128::new(channels, hz, Mode::I | Mode::TRUE_PEAK).map_err(|_| form)?;
    meter.add_frames_i16(samples).map_err(|_| form)?;
    let loudness = meter.loudness_global().map_err(|_| form)?;
    let mut peak: f64 = 0.0;
    for channel in 0..channels {
        peak = peak.max(meter.true_peak(channel).map_err(|_| form)?);
    }
    Ok(Level {
        loudness_lufs: Some(loudness).filter(|l| l.is_finite()),
        true_peak_dbtp: (peak > 0.0).then(|| 20.0 * libm::log10(peak)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// A stereo sine of 1 kHz at 48 kHz: stretches of seconds and peak levels, dBFS.
    fn sine(parts: &[(f64, f64)]) -> Vec<i16> {
        let mut samples = Vec::new();
        let mut n = 0;
        for &(lasts_s, dbfs) in parts {
            let peak = 32768.0 * libm::pow(10.0, dbfs / 20.0);
            for _ in 0..(lasts_s * 48000.0) as usize {
                let value = libm::round(peak * libm::sin(TAU * 1000.0 * f64::from(n) / 48000.0)) as i16;
                samples.extend([value, value]);
                n += 1;
            }
        }
        samples
    }

    /// EBU Tech 3341, table 1, cases 1 to 5: integrated loudness within 0.1 LU.
    #[test]
    fn the_ebu_cases_hold() {
        let cases: [(&[(f64, f64)], f64); 5] = [
            (&[(20.0, -23.0)], -23.0),
            (&[(20.0, -33.0)], -33.0),
            (&[(10.0, -36.0), (60.0, -23.0), (10.0, -36.0)], -23.0),
            (&[(10.0, -72.0), (10.0, -36.0), (60.0, -23.0), (10.0, -36.0), (10.0, -72.0)], -23.0),
            (&[(20.0, -26.0), (20.1, -20.0), (20.0, -26.0)], -23.0),
        ];
        for (parts, wanted) in cases {
            let found = level(&sine(parts), 2, 48000).expect("measured").loudness_lufs.expect("not silent");
            assert!((found - wanted).abs() <= 0.1, "{parts:?}: {found}");
        }
    }

    /// A sine at a quarter of the sample rate, 45 degrees off: its samples are 3 dB below its peak (EBU Tech 3341, case 15
    /// is of this kind; ours is faded in). Tolerance as there: +0.2, -0.4 dB.
    #[test]
    fn peaks_between_samples_are_seen() {
        let samples: Vec<i16> = (0..48000)
            .map(|n| {
                let fade = (f64::from(n) / 4800.0).min(1.0);
                let turn = TAU * (0.25 * f64::from(n) + 0.125);
                (0.5 * fade * 32768.0 * libm::sin(turn)) as i16
            })
            .collect();
        let peak = level(&samples, 1, 48000).expect("measured").true_peak_dbtp.expect("not silent");
        assert!((-6.4..=-5.8).contains(&peak), "{peak}");
    }

    #[test]
    fn silence_has_no_level_and_odd_forms_are_refused() {
        let silent = level(&[0; 48000], 1, 48000).expect("measured");
        assert_eq!(silent, Level { loudness_lufs: None, true_peak_dbtp: None });
        assert_eq!(level(&[], 1, 22050).expect("measured"), silent);
        assert!(level(&[0; 3], 2, 48000).expect_err("odd").to_string().contains("3 samples"));
        assert!(level(&[0; 3], 0, 48000).is_err() && level(&[0; 3], 1, 10).is_err());
    }
}
