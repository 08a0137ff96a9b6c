//! A motion played to the engine, and what of it others want to know.

use super::Conduct;
use behaviour::motion::{Act, Moment, Sensor, perform};
use behaviour::{Note, Rehearsal, Sample, rehearse};

/// What a motion is.
#[derive(Clone, Debug, PartialEq)]
pub enum Source {
    /// Made by physics: what really happened.
    Made(Vec<Moment>),
    /// Recorded: rows a second of the file, and what is peculiar about it.
    Recorded(f64, Vec<Note>),
}

/// A motion with all that came of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Played {
    /// Where it comes from.
    pub source: Source,
    /// What sensor, button and cell said.
    pub samples: Vec<Sample>,
    /// What happened, was shown and was heard.
    pub run: Rehearsal,
    /// Current and sound in equal steps.
    pub levels: Vec<LevelRow>,
    /// Length of a step, s.
    pub step_s: f64,
}

/// A step of time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LevelRow {
    /// Its beginning, s.
    pub t_s: f64,
    /// Mean current of the strip's light, A.
    pub current_a: f64,
    /// Mean level of the sound, dB; 0 is a full sine.
    pub sound_dbfs: f64,
}

/// What silence is written as, dB.
pub const SILENT_DBFS: f64 = -120.0;

/// Plays samples; levels come in steps of `step_s`.
///
/// # Errors
/// The sounds are not those of the table.
pub fn play(
    conduct: &Conduct,
    source: Source,
    samples: Vec<Sample>,
    step_s: f64,
) -> Result<Played, behaviour::SoundError> {
    let run = rehearse(&mut conduct.engine()?, &samples);
    let levels = levels(conduct, &run, samples.len(), step_s);
    Ok(Played { source, samples, run, levels, step_s })
}

/// Performs acts and plays them.
///
/// # Errors
/// The sounds are not those of the table.
pub fn played_from(
    conduct: &Conduct,
    acts: &[Act],
    seed: u64,
    cell_mv: u16,
    step_s: f64,
) -> Result<Played, behaviour::SoundError> {
    let motion = perform(acts, &Sensor::common(conduct.rules.pace), seed, cell_mv);
    play(conduct, Source::Made(motion.moments), motion.samples, step_s)
}

fn levels(conduct: &Conduct, run: &Rehearsal, samples: usize, step_s: f64) -> Vec<LevelRow> {
    let hz = f64::from(run.hz);
    let lasts_s = samples as f64 / hz;
    let steps = (lasts_s / step_s - 1e-9).ceil().max(1.0) as usize;
    let sound_hz = f64::from(conduct.table.hardware().sound_hz);
    let mut rows = Vec::with_capacity(steps);
    let (mut frame, mut last_a) = (0, 0.0);
    for k in 0..steps {
        let (from, to) = (k as f64 * step_s, (k + 1) as f64 * step_s);
        let (mut sum, mut count) = (0.0, 0);
        while frame < run.frames.len() && (run.frames[frame].0 as f64) < to * hz {
            last_a = conduct.current_a(run.totals[frame]);
            sum += last_a;
            count += 1;
            frame += 1;
        }
        // A step shorter than a frame sees the one that is shown.
        let current_a = if count > 0 { sum / f64::from(count) } else { last_a };
        let span = |t: f64| ((t * sound_hz) as usize).min(run.sound.len());
        rows.push(LevelRow { t_s: from, current_a, sound_dbfs: level_dbfs(&run.sound[span(from)..span(to)]) });
    }
    rows
}

/// Level of some samples, dB; 0 is a full sine.
pub(super) fn level_dbfs(samples: &[i16]) -> f64 {
    let power: f64 = samples.iter().map(|s| f64::from(*s) * f64::from(*s)).sum();
    if power <= 0.0 {
        return SILENT_DBFS;
    }
    let mean = power / samples.len() as f64 / (32_767.0 * 32_767.0 / 2.0);
    (10.0 * libm::log10(mean)).max(SILENT_DBFS)
}
