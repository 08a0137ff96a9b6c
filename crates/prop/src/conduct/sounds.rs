//! The sounds of a project as samples.

use crate::project::{ConductRules, SoundSource};
use crate::refusal::{Problem, problem};
use behaviour::sound::{bar, crackle, fall, hum, read_wav, rise, rush};

/// Steps of a stroke's turning rate.
const STEPS: u32 = 45;

/// All sounds in file order; those that cannot be made are empty, and why is said.
pub(super) fn made(rules: &ConductRules) -> (Vec<Vec<i16>>, Vec<Problem>) {
    let mut problems = Vec::new();
    let hz = rules.sound_hz;
    let sounds = rules
        .sounds
        .iter()
        .enumerate()
        .map(|(k, sound)| {
            let seed = k as u64 + 1;
            match &sound.source {
                SoundSource::Hum { pitch_hz, lasts_s } => hum(*pitch_hz, *lasts_s, hz),
                SoundSource::Rush { air, fastest_dps, lasts_s } => {
                    let rates = stroke(*fastest_dps);
                    rush(&rates, f64::from(STEPS + 1) / lasts_s, *air, hz, seed)
                }
                SoundSource::Bar { bar: what, lasts_s } => bar(what, *lasts_s, hz),
                SoundSource::Rise { lasts_s } => rise(*lasts_s, hz),
                SoundSource::Fall { lasts_s } => fall(*lasts_s, hz),
                SoundSource::Crackle { a_second, lasts_s } => crackle(*lasts_s, *a_second, hz, seed),
                SoundSource::File { path, bytes } => read_wav(bytes, hz).unwrap_or_else(|error| {
                    let key = ["sound", sound.name.as_str(), "file"];
                    problems.push(problem(&key, format!("{path}: {error}"), "bring another WAV file"));
                    Vec::new()
                }),
            }
        })
        .collect();
    (sounds, problems)
}

/// Turning rates of a stroke of least jerk, at its fastest in the middle.
fn stroke(fastest_dps: f64) -> Vec<f64> {
    (0..=STEPS)
        .map(|k| {
            let u = f64::from(k) / f64::from(STEPS);
            fastest_dps * 16.0 * u * u * (1.0 - u) * (1.0 - u)
        })
        .collect()
}
