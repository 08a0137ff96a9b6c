//! How the prop is used, in scenes and moments.

use super::{PowerWork, Recording};
use crate::catalogue::Electrics;
use crate::project::{ModeRules, PowerRules};
use circuit::{Moment, Scene, Usage};

/// Length of a flash, s. (Our choice: a hit is told by about a third of a second of light.)
const FLASH_S: f64 = 0.3;
/// Seconds of an hour.
const HOUR_S: f64 = 3600.0;

/// The loudest sound, W: what the project says, else what its behaviour's amplifier gives, else what the speaker bears; nothing without amplifier or speaker.
pub(crate) fn loudest_w(work: &PowerWork, rules: &PowerRules) -> f64 {
    let parts = || work.project.parts.iter().map(|p| &p.row.electrics);
    if !parts().any(|e| matches!(e, Electrics::Amplifier { .. })) {
        return 0.0;
    }
    let bears = parts().filter_map(|e| if let Electrics::Speaker { watt, .. } = e { Some(*watt) } else { None });
    let played = work.conduct.map(|view| view.conduct.rules.amplifier_w);
    rules.loudest_w.or(played).unwrap_or_else(|| bears.reduce(f64::min).unwrap_or(0.0))
}

/// All pixels in a colour, each at its level.
pub(crate) fn scene(work: &PowerWork, [red, green, blue]: [f64; 3]) -> Scene {
    let level = |k: usize| work.light.and_then(|l| l.levels.get(k)).map_or(1.0, |l| f64::from(*l).clamp(0.0, 1.0));
    let mut strips: Vec<Vec<[f64; 4]>> = Vec::new();
    for (k, pixel) in work.pixels.iter().enumerate() {
        if k == 0 || work.pixels[k - 1].strip != pixel.strip {
            strips.push(Vec::new());
        }
        let l = level(k);
        if let Some(strip) = strips.last_mut() {
            strip.push([red * l, green * l, blue * l, 0.0]);
        }
    }
    Scene { strips }
}

/// All pixels white.
pub(crate) fn flash(work: &PowerWork) -> Scene {
    scene(work, [1.0; 3])
}

/// The use at a cap: what was recorded, else an hour of the stated modes, else the rehearsal of the behaviour, else a usual hour.
pub(crate) fn usage(work: &PowerWork, rules: &PowerRules, cap: f64, loudest_w: f64) -> Usage {
    match (&rules.recording, rules.modes.as_slice(), work.conduct) {
        (recording, ..) if !recording.rows.is_empty() => recorded(work, rules, recording, cap, loudest_w),
        (_, [], Some(view)) if view.played.levels.len() > 1 => {
            recorded(work, rules, &Recording::of(&view.played.levels), cap, loudest_w)
        }
        (_, [], _) => hour(work, rules, &usual(), cap, loudest_w),
        (_, modes, _) => hour(work, rules, modes, cap, loudest_w),
    }
}

/// A recording once through. Its light is what it is, up to the cap.
fn recorded(work: &PowerWork, rules: &PowerRules, recording: &Recording, cap: f64, loudest_w: f64) -> Usage {
    let white = flash(work);
    let full_a = full_a(work, &white);
    let moment = |[current_a, sound]: [f64; 2]| {
        let light = if full_a > 0.0 { (current_a / full_a).min(cap) } else { 0.0 };
        Moment { scene: 0, light, sound_w: loudest_w * sound }
    };
    let moments = recording.steps(rules.step_s).into_iter().map(moment).collect();
    Usage { scenes: vec![white], moments, step_s: rules.step_s }
}

/// A day at an event: mostly worn dim, now and then in full, with flashes. (Our choice.)
fn usual() -> Vec<ModeRules> {
    let mode = |name: &str, minutes: f64, light, sound_w, flashes| ModeRules {
        name: name.to_owned(),
        time_s: 60.0 * minutes,
        light,
        colour: [1.0; 3],
        sound_w,
        flashes,
    };
    vec![mode("carried", 30.0, 0.3, 0.0, 0), mode("shown", 10.0, 0.6, 0.2, 4)]
}

/// An hour of modes one after the other, and the rest of it dark.
fn hour(work: &PowerWork, rules: &PowerRules, modes: &[ModeRules], cap: f64, loudest_w: f64) -> Usage {
    let mut scenes = vec![flash(work)];
    scenes.extend(modes.iter().map(|m| scene(work, m.colour)));
    let step_s = rules.step_s;
    let count = |seconds: f64| (seconds / step_s).round() as usize;
    let mut moments: Vec<Moment> = Vec::with_capacity(count(HOUR_S));
    for (k, mode) in modes.iter().enumerate() {
        let steps = count(mode.time_s).min(count(HOUR_S) - moments.len());
        // Steps of flash until a step, in whole ones: however coarse the steps, a minute has as much of it.
        let flashed = |until: usize| {
            if mode.flashes == 0 {
                return 0;
            }
            let (at_s, every_s) = (until as f64 * step_s, 60.0 / f64::from(mode.flashes));
            let begun = (at_s / every_s).floor();
            count(begun * FLASH_S + (at_s - begun * every_s).clamp(0.0, FLASH_S))
        };
        let moment = |i: usize| {
            if flashed(i + 1) > flashed(i) {
                Moment { scene: 0, light: cap, sound_w: loudest_w }
            } else {
                Moment { scene: k + 1, light: cap * mode.light, sound_w: mode.sound_w.min(loudest_w) }
            }
        };
        moments.extend((0..steps).map(moment));
    }
    moments.resize(count(HOUR_S), Moment { scene: 0, light: 0.0, sound_w: 0.0 });
    Usage { scenes, moments, step_s }
}

/// The most light that the behaviour ever asks for, 0 to 1 of full white, if there is a behaviour.
pub(crate) fn limit(work: &PowerWork) -> Option<f64> {
    let full_a = full_a(work, &flash(work));
    work.conduct.filter(|_| full_a > 0.0).map(|view| view.conduct.most_a() / full_a)
}

/// What the lights of a scene ask for in full, A.
pub(crate) fn full_a(work: &PowerWork, scene: &Scene) -> f64 {
    let channel_a = work.project.light.as_ref().map_or(0.0, |l| l.strip.shine.current_a);
    scene.strips.iter().flatten().flatten().sum::<f64>() * channel_a
}
