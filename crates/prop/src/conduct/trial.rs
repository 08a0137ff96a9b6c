//! What the detectors make of the stated use: acts that mean something, and acts that mean nothing.

use super::Conduct;
use behaviour::motion::{Act, Kind, Motion, Sensor, perform};
use behaviour::{Behaviour, Engine, Event, Hardware, Mode, Table, Trigger};
use rayon::prelude::*;

/// How many moments of a kind there were, how many were heard, and how soon.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Heard {
    /// Moments that count.
    pub there: usize,
    /// Those that were heard.
    pub heard: usize,
    /// From the moment's beginning to the trigger, s, sorted.
    pub late_s: Vec<f64>,
}

/// What came of trying.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Trial {
    /// Strikes of 8 g and 3 ms and more.
    pub strikes: Heard,
    /// Swings a quarter faster than the threshold.
    pub swings: Heard,
    /// How long acts that mean nothing went on, s.
    pub quiet_s: f64,
    /// How much of that somebody ran, s.
    pub running_s: f64,
    /// Triggers that were heard meanwhile and lead somewhere.
    pub falses: Vec<Trigger>,
}

/// Acts that mean nothing are tried for at least so long, s: with none heard in 45 minutes there are fewer than four an hour, 19
/// times of 20 (the rule of three).
const QUIET_S: f64 = 2700.0;
/// Strikes and swings are tried by so many people.
const PEOPLE: u64 = 24;
/// A strike that must be heard: peak, g, and length, ms.
const STRIKE: [f64; 2] = [8.0, 3.0];
/// A swing that must be heard, against the threshold.
const SWING: f64 = 1.25;
/// After the end of a moment a trigger still belongs to it, s: strike, swing.
const SLACK_S: [f64; 2] = [0.045, 0.1];

/// Tries the stated use.
pub(super) fn trial(conduct: &Conduct) -> Trial {
    let Some(ear) = ear(conduct) else { return Trial::default() };
    let (quiet, loud): (Vec<Act>, Vec<Act>) = conduct.rules.used.iter().partition(|a| is_quiet(a));
    let mut found = Trial::default();
    let motions = |acts: &[Act], seeds: std::ops::Range<u64>| -> Vec<(Motion, Vec<(f64, Trigger)>)> {
        let one = |seed: u64| {
            let motion = perform(acts, &Sensor::common(conduct.rules.pace), seed, FULL_MV);
            let heard = heard(ear.clone(), &motion);
            (motion, heard)
        };
        seeds.into_par_iter().map(one).collect()
    };
    if !loud.is_empty() {
        for (motion, heard) in motions(&loud, 1..1 + PEOPLE) {
            let fast_dps = SWING * f64::from(conduct.rules.thresholds.swing_dps);
            score(&mut found.strikes, &motion, &heard, Trigger::Strike, SLACK_S[0], &|m| {
                m.kind == Kind::Strike && m.peak_g >= STRIKE[0] && m.lasts_ms >= STRIKE[1]
            });
            score(&mut found.swings, &motion, &heard, Trigger::Swing, SLACK_S[1], &|m| {
                m.kind == Kind::Swing && m.peak_dps >= fast_dps
            });
        }
        found.strikes.late_s.sort_by(f64::total_cmp);
        found.swings.late_s.sort_by(f64::total_cmp);
    }
    if !quiet.is_empty() {
        let once_s: f64 = quiet.iter().map(lasts_s).sum::<f64>().max(1.0);
        let people = (QUIET_S / once_s).ceil().clamp(1.0, 200.0) as u64;
        let alarms = [Trigger::Swing, Trigger::Strike, Trigger::Twist, Trigger::Dropped];
        let leads = |t: &Trigger| alarms.contains(t) && conduct.rules.behaviour.rules.iter().any(|r| r.on == *t);
        for (motion, heard) in motions(&quiet, 101..101 + people) {
            found.quiet_s += motion.samples.len() as f64 / f64::from(motion.pace.hz());
            found.falses.extend(heard.into_iter().map(|h| h.1).filter(leads));
        }
        let running: f64 = quiet.iter().filter(|a| matches!(a, Act::Run { .. })).map(lasts_s).sum();
        found.running_s = running * people as f64;
    }
    found
}

/// A cell that is neither full nor low, mV.
pub(super) const FULL_MV: u16 = 3900;

fn is_quiet(act: &Act) -> bool {
    !matches!(act, Act::Swing | Act::Strike { .. } | Act::Parry { .. } | Act::Twist | Act::Drop | Act::Shake { .. })
}

/// How long an act lasts, about.
fn lasts_s(act: &Act) -> f64 {
    act.lasts_s().unwrap_or(3.0)
}

/// An engine that only detects: one dark mode, one pixel.
fn ear(conduct: &Conduct) -> Option<Engine> {
    let dark = Mode { name: "dark".to_owned(), lights: Vec::new(), hum: None, lasts_ms: None };
    let bare = Behaviour { modes: vec![dark], rules: Vec::new(), sounds: Vec::new() };
    let hardware = Hardware { pace: conduct.rules.pace, pixels: 1, ..Hardware::default() };
    let table = Table::new(&bare, &conduct.rules.thresholds, &hardware).ok()?;
    Engine::new(table, Vec::new()).ok()
}

/// Triggers with their time, s.
fn heard(mut ear: Engine, motion: &Motion) -> Vec<(f64, Trigger)> {
    let mut events = Vec::new();
    let mut found = Vec::new();
    for (n, sample) in motion.samples.iter().enumerate() {
        ear.step(sample, &mut events);
        let at_s = n as f64 / f64::from(motion.pace.hz());
        found.extend(events.iter().filter_map(|e| match e {
            Event::Trigger { trigger, .. } => Some((at_s, *trigger)),
            _ => None,
        }));
    }
    found
}

fn score(
    into: &mut Heard,
    motion: &Motion,
    heard: &[(f64, Trigger)],
    trigger: Trigger,
    slack_s: f64,
    counts: &dyn Fn(&behaviour::motion::Moment) -> bool,
) {
    let mut left: Vec<f64> = heard.iter().filter(|h| h.1 == trigger).map(|h| h.0).collect();
    for moment in motion.moments.iter().filter(|m| counts(m)) {
        into.there += 1;
        let span = moment.start_s - 0.005..=moment.end_s + slack_s;
        if let Some(at) = left.iter().position(|t| span.contains(t)) {
            into.heard += 1;
            into.late_s.push(left.remove(at) - moment.start_s);
        }
    }
}
