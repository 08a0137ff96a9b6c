//! WAV files, from a maker and to the board.

use super::resample::resampled;
use hound::{SampleFormat, WavReader, WavSpec, WavWriter};
use std::io::Cursor;
use thiserror::Error;

/// A WAV file that cannot be used, or samples that cannot be written.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum WavError {
    /// It is something else, or its head is damaged.
    #[error("this is no WAV file that can be read ({reason}); save it as uncompressed WAV")]
    Form {
        /// What the reader said.
        reason: String,
    },
    /// It ends before its head says.
    #[error("the file is cut off: its head promises {promised} samples, {found} are there; copy it again")]
    CutOff {
        /// Samples by the head, all channels.
        promised: u32,
        /// Samples that could be read.
        found: u32,
    },
    /// No sample.
    #[error("the file holds no sound")]
    Empty,
    /// A rate that no sound has.
    #[error("{hz} samples a second are out of range; {LEAST_HZ} to {MOST_HZ} can be used")]
    Rate {
        /// Samples a second.
        hz: u32,
    },
    /// A sample that is no number.
    #[error("sample {number} is not a number")]
    NotANumber {
        /// Which, all channels counted, from 0.
        number: usize,
    },
    /// Too long for a board.
    #[error("the sound lasts {seconds} s; {LONGEST_S} s at most")]
    Long {
        /// Its length, whole seconds.
        seconds: u32,
    },
}

const LEAST_HZ: u32 = 4000;
const MOST_HZ: u32 = 192_000;
const LONGEST_S: u32 = 120;

/// Reads a WAV file of any rate and width, its channels averaged, as 16-bit samples at `hz`.
///
/// # Errors
/// What is wrong with it; nothing of a damaged file is used.
pub fn read_wav(bytes: &[u8], hz: u32) -> Result<Vec<i16>, WavError> {
    let form = |e: hound::Error| WavError::Form { reason: e.to_string() };
    let mut reader = WavReader::new(Cursor::new(bytes)).map_err(form)?;
    let spec = reader.spec();
    if let Some(hz) = [hz, spec.sample_rate].into_iter().find(|hz| !(LEAST_HZ..=MOST_HZ).contains(hz)) {
        return Err(WavError::Rate { hz });
    }
    let (promised, frames) = (reader.len(), reader.duration());
    if promised == 0 {
        return Err(WavError::Empty);
    }
    let seconds = frames / spec.sample_rate;
    if seconds > LONGEST_S {
        return Err(WavError::Long { seconds });
    }
    let mut values: Vec<f64> = Vec::new();
    let cut = |found: usize| WavError::CutOff { promised, found: found as u32 };
    match spec.sample_format {
        SampleFormat::Float => {
            for sample in reader.samples::<f32>() {
                let value = f64::from(sample.map_err(|e| worded(e, cut(values.len())))?);
                if !value.is_finite() {
                    return Err(WavError::NotANumber { number: values.len() });
                }
                values.push(value.clamp(-1.0, 1.0));
            }
        }
        SampleFormat::Int => {
            let full = libm::ldexp(1.0, i32::from(spec.bits_per_sample) - 1);
            for sample in reader.samples::<i32>() {
                values.push(f64::from(sample.map_err(|e| worded(e, cut(values.len())))?) / full);
            }
        }
    }
    let channels = usize::from(spec.channels);
    let mono: Vec<f64> = values.chunks_exact(channels).map(|f| f.iter().sum::<f64>() / channels as f64).collect();
    if mono.is_empty() {
        return Err(WavError::Empty);
    }
    let sound = resampled(&mono, spec.sample_rate, hz);
    Ok(sound.iter().map(|v| libm::round(v * 32768.0).clamp(-32768.0, 32767.0) as i16).collect())
}

/// A reader's error: at the end of the bytes the file is cut off.
fn worded(error: hound::Error, cut: WavError) -> WavError {
    match error {
        hound::Error::IoError(_) => cut,
        other => WavError::Form { reason: other.to_string() },
    }
}

/// Mono samples of 16 bits as a WAV file.
///
/// # Errors
/// There are no samples, or too many for a file.
pub fn write_wav(samples: &[i16], hz: u32) -> Result<Vec<u8>, WavError> {
    if samples.is_empty() {
        return Err(WavError::Empty);
    }
    let form = |e: hound::Error| WavError::Form { reason: e.to_string() };
    let spec = WavSpec { channels: 1, sample_rate: hz, bits_per_sample: 16, sample_format: SampleFormat::Int };
    let mut bytes = Cursor::new(Vec::new());
    let mut writer = WavWriter::new(&mut bytes, spec).map_err(form)?;
    for &sample in samples {
        writer.write_sample(sample).map_err(form)?;
    }
    writer.finalize().map_err(form)?;
    Ok(bytes.into_inner())
}
