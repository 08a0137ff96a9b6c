//! What is wrong with a behaviour before it runs: names that lead nowhere, modes nobody reaches or leaves.

use crate::{Behaviour, Effect, Light, Rule, Trigger};
use std::collections::BTreeSet;
use thiserror::Error;

/// Something a behaviour says that cannot be, or that its maker will regret.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Flaw {
    /// There is no mode at all.
    #[error("there is no mode; the first one is the dark one that the prop starts in")]
    Empty,
    /// Two things have one name.
    #[error("{kind} {name:?} is there twice; rename one of them")]
    Twice {
        /// "mode" or "sound".
        kind: &'static str,
        /// The name.
        name: String,
    },
    /// A name that nothing has.
    #[error("{place} names the {kind} {name:?}, which is not there; there are: {known}")]
    Missing {
        /// The mode or the rule.
        place: String,
        /// "mode" or "sound".
        kind: &'static str,
        /// The name.
        name: String,
        /// The names there are.
        known: String,
    },
    /// A pixel beyond the strip, or a span without pixels.
    #[error("{place} wants pixels {first} to {end}; the strip has 0 to {pixels}, the end not included")]
    Pixel {
        /// The mode or the rule.
        place: String,
        /// First pixel.
        first: u16,
        /// The one after the last.
        end: u16,
        /// Pixels on the strip.
        pixels: u16,
    },
    /// A number out of its range.
    #[error("{place}: {what} is {value}; give {least} to {most}")]
    Range {
        /// The mode or the rule.
        place: String,
        /// The field.
        what: &'static str,
        /// What it was.
        value: u32,
        /// Least sensible.
        least: u32,
        /// Most sensible.
        most: u32,
    },
    /// The first mode shines or sounds.
    #[error(
        "the first mode, {mode:?}, has a light or a sound; the prop starts in it after every reset, so keep it dark"
    )]
    NotDark {
        /// Its name.
        mode: String,
    },
    /// No rule leads to a mode.
    #[error("mode {mode:?} cannot be reached; give a reachable mode a rule to it")]
    Unreachable {
        /// Its name.
        mode: String,
    },
    /// No rule leaves a mode.
    #[error("mode {mode:?} never ends; give it a rule that leads elsewhere")]
    NeverEnds {
        /// Its name.
        mode: String,
    },
    /// A mode can be left, but never for the dark.
    #[error("from mode {mode:?} no way leads back to {dark:?}; a flat cell would be the only one")]
    NoWayBack {
        /// Its name.
        mode: String,
        /// The dark mode.
        dark: String,
    },
    /// A rule that an earlier one always forestalls.
    #[error("{place} is never used: {earlier} comes first")]
    Forestalled {
        /// The rule.
        place: String,
        /// The one before it.
        earlier: String,
    },
    /// A rule waits for time in a mode that has none, or a mode's time ends in nothing.
    #[error("mode {mode:?}: a rule on \"time\" and how long the mode lasts belong together, and one is missing")]
    Timeless {
        /// Its name.
        mode: String,
    },
    /// A sound that nothing plays.
    #[error("sound {sound:?} is never played; it takes room on the board")]
    Silent {
        /// Its name.
        sound: String,
    },
}

impl Flaw {
    /// Whether the behaviour cannot be made to run; otherwise it runs, and its maker should know.
    pub fn is_fatal(&self) -> bool {
        matches!(
            self,
            Flaw::Empty
                | Flaw::Twice { .. }
                | Flaw::Missing { .. }
                | Flaw::Pixel { .. }
                | Flaw::Range { .. }
                | Flaw::NotDark { .. }
        )
    }
}

/// Most lights of a mode: each takes time and memory of the board.
pub const MOST_LIGHTS: u32 = 8;
/// Longest time of a mode, milliseconds: a day.
const LONGEST_MS: u32 = 86_400_000;

/// All flaws of a behaviour on a strip of so many pixels, in the order of its modes and rules; none is a sound one.
pub fn verify(behaviour: &Behaviour, pixels: u16) -> Vec<Flaw> {
    let Some(dark) = behaviour.modes.first() else { return vec![Flaw::Empty] };
    let mut flaws = Vec::new();
    if !dark.lights.is_empty() || dark.hum.is_some() {
        flaws.push(Flaw::NotDark { mode: dark.name.clone() });
    }
    twice("mode", behaviour.modes.iter().map(|m| &m.name), &mut flaws);
    twice("sound", behaviour.sounds.iter().map(|s| &s.name), &mut flaws);
    for sound in &behaviour.sounds {
        range(&format!("sound {:?}", sound.name), "its length in samples", sound.samples, 2, 1 << 28, &mut flaws);
    }
    modes(behaviour, pixels, &mut flaws);
    rules(behaviour, pixels, &mut flaws);
    if !flaws.iter().any(Flaw::is_fatal) {
        ways(behaviour, &mut flaws);
        unheard(behaviour, &mut flaws);
    }
    flaws
}

fn twice<'a>(kind: &'static str, names: impl Iterator<Item = &'a String>, flaws: &mut Vec<Flaw>) {
    let mut seen = BTreeSet::new();
    flaws.extend(names.filter(|name| !seen.insert(*name)).map(|name| Flaw::Twice { kind, name: name.clone() }));
}

fn range(place: &str, what: &'static str, value: u32, least: u32, most: u32, flaws: &mut Vec<Flaw>) {
    if !(least..=most).contains(&value) {
        flaws.push(Flaw::Range { place: place.to_owned(), what, value, least, most });
    }
}

fn known<'a>(
    place: &str,
    kind: &'static str,
    name: &str,
    mut names: impl Iterator<Item = &'a String> + Clone,
    flaws: &mut Vec<Flaw>,
) {
    if !names.clone().any(|n| n == name) {
        let first = names.next().cloned().unwrap_or_else(|| "none".to_owned());
        let known = names.fold(first, |all, n| format!("{all}, {n}"));
        flaws.push(Flaw::Missing { place: place.to_owned(), kind, name: name.to_owned(), known });
    }
}

/// How flaws name a rule.
fn place_of(rule: &Rule) -> String {
    format!("the rule on {} in {}", rule.on.name(), rule.from.as_deref().unwrap_or("every mode"))
}

fn modes(behaviour: &Behaviour, pixels: u16, flaws: &mut Vec<Flaw>) {
    let sounds = behaviour.sounds.iter().map(|s| &s.name);
    for mode in &behaviour.modes {
        let place = format!("mode {:?}", mode.name);
        let lights = u32::try_from(mode.lights.len()).unwrap_or(u32::MAX);
        range(&place, "its number of lights", lights, 0, MOST_LIGHTS, flaws);
        for light in &mode.lights {
            shining(&place, light, pixels, flaws);
        }
        if let Some(hum) = &mode.hum {
            known(&place, "sound", &hum.sound, sounds.clone(), flaws);
            range(&place, "gain_pct", hum.gain_pct.into(), 0, 100, flaws);
            range(&place, "swell_pct", hum.swell_pct.into(), 0, 100, flaws);
            range(&place, "bend_pct", hum.bend_pct.into(), 0, 100, flaws);
        }
        if let Some(lasts_ms) = mode.lasts_ms {
            range(&place, "lasts_ms", lasts_ms, 20, LONGEST_MS, flaws);
        }
    }
}

fn shining(place: &str, light: &Light, pixels: u16, flaws: &mut Vec<Flaw>) {
    range(place, "period_ms", light.period_ms, 40, 600_000, flaws);
    match light.effect {
        Effect::Pulse { reach, .. } => range(place, "reach", reach.into(), 1, 600, flaws),
        Effect::Spark { a_second, .. } => range(place, "a_second", a_second.into(), 1, 50, flaws),
        Effect::Steady | Effect::Breathe { .. } | Effect::Fill | Effect::Drain | Effect::Flicker { .. } => {}
    }
    let (first, end) = light.span.unwrap_or((0, pixels));
    if first >= end || end > pixels {
        flaws.push(Flaw::Pixel { place: place.to_owned(), first, end, pixels });
    }
}

fn rules(behaviour: &Behaviour, pixels: u16, flaws: &mut Vec<Flaw>) {
    let names = behaviour.modes.iter().map(|m| &m.name);
    let sounds = behaviour.sounds.iter().map(|s| &s.name);
    for (k, rule) in behaviour.rules.iter().enumerate() {
        let place = place_of(rule);
        for name in rule.from.iter().chain(&rule.to) {
            known(&place, "mode", name, names.clone(), flaws);
        }
        if let Some(shot) = &rule.sound {
            known(&place, "sound", &shot.sound, sounds.clone(), flaws);
            range(&place, "gain_pct", shot.gain_pct.into(), 0, 100, flaws);
            range(&place, "duck_pct", shot.duck_pct.into(), 0, 100, flaws);
        }
        if let Some(flash) = &rule.flash {
            range(&place, "reach", flash.reach.into(), 1, 600, flaws);
            range(&place, "fades_ms", flash.fades_ms.into(), 40, 5000, flaws);
            if let Some(at) = flash.at.filter(|&at| at >= pixels) {
                flaws.push(Flaw::Pixel { place: place.clone(), first: at, end: at.saturating_add(1), pixels });
            }
        }
        let earlier = behaviour.rules[..k]
            .iter()
            .find(|e| e.on == rule.on && (e.from == rule.from || shadows(e, rule, behaviour)));
        if let Some(earlier) = earlier {
            flaws.push(Flaw::Forestalled { place, earlier: place_of(earlier) });
        }
    }
}

/// Whether a rule for every mode comes before one for a mode other than the dark one.
fn shadows(earlier: &Rule, rule: &Rule, behaviour: &Behaviour) -> bool {
    earlier.from.is_none() && rule.from != behaviour.modes.first().map(|m| m.name.clone())
}

/// Modes by index that rules lead to from a mode; triggers that only an empty cell gives are left out.
fn onward(behaviour: &Behaviour, mode: usize) -> BTreeSet<usize> {
    let index = |name: &String| behaviour.modes.iter().position(|m| m.name == *name);
    Trigger::ALL
        .into_iter()
        .filter(|&on| on != Trigger::BatteryLow)
        .filter(|&on| on != Trigger::Time || behaviour.modes[mode].lasts_ms.is_some())
        .filter_map(|on| rule_for(behaviour, mode, on)?.to.as_ref().and_then(index))
        .filter(|&to| to != mode)
        .collect()
}

/// The rule that holds in a mode on a trigger: the first that fits.
pub(crate) fn rule_for(behaviour: &Behaviour, mode: usize, on: Trigger) -> Option<&Rule> {
    behaviour
        .rules
        .iter()
        .find(|rule| rule.on == on && rule.from.as_ref().map_or(mode != 0, |from| *from == behaviour.modes[mode].name))
}

fn ways(behaviour: &Behaviour, flaws: &mut Vec<Flaw>) {
    let next: Vec<BTreeSet<usize>> = (0..behaviour.modes.len()).map(|m| onward(behaviour, m)).collect();
    let reach = |from: usize| {
        let mut seen = BTreeSet::from([from]);
        let mut open = vec![from];
        while let Some(at) = open.pop() {
            open.extend(next[at].iter().filter(|&&to| seen.insert(to)));
        }
        seen
    };
    let reached = reach(0);
    for (k, mode) in behaviour.modes.iter().enumerate() {
        let name = || mode.name.clone();
        if !reached.contains(&k) {
            flaws.push(Flaw::Unreachable { mode: name() });
        } else if next[k].is_empty() {
            flaws.push(Flaw::NeverEnds { mode: name() });
        } else if !reach(k).contains(&0) {
            flaws.push(Flaw::NoWayBack { mode: name(), dark: behaviour.modes[0].name.clone() });
        }
        let awaited = behaviour.rules.iter().any(|r| r.on == Trigger::Time && r.from.as_ref() == Some(&mode.name));
        let timed = rule_for(behaviour, k, Trigger::Time).is_some();
        if (mode.lasts_ms.is_some() && !timed) || (mode.lasts_ms.is_none() && awaited) {
            flaws.push(Flaw::Timeless { mode: name() });
        }
    }
}

fn unheard(behaviour: &Behaviour, flaws: &mut Vec<Flaw>) {
    let hums = behaviour.modes.iter().filter_map(|m| m.hum.as_ref()).map(|h| &h.sound);
    let shots = behaviour.rules.iter().filter_map(|r| r.sound.as_ref()).map(|s| &s.sound);
    let played: BTreeSet<&String> = hums.chain(shots).collect();
    let silent = behaviour.sounds.iter().filter(|s| !played.contains(&s.name));
    flaws.extend(silent.map(|s| Flaw::Silent { sound: s.name.clone() }));
}
