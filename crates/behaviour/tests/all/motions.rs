//! What the detectors make of motions by physics, on seeds that nothing was tuned on (from 10,000 on).

use crate::common::engine_of;
use behaviour::motion::{Act, Kind, Moment, Motion, Sensor, perform};
use behaviour::{Behaviour, Engine, Event, Hardware, Mode, Pace, Thresholds, Trigger};

/// An engine that only detects: one dark mode, one pixel.
fn ear(thresholds: &Thresholds, pace: Pace) -> Engine {
    let dark = Mode { name: "dark".to_owned(), lights: Vec::new(), hum: None, lasts_ms: None };
    let behaviour = Behaviour { modes: vec![dark], rules: Vec::new(), sounds: Vec::new() };
    engine_of(&behaviour, thresholds, &Hardware { pace, pixels: 1, ..Hardware::default() })
}

/// Triggers with their time, seconds.
fn heard(motion: &Motion, thresholds: &Thresholds) -> Vec<(f64, Trigger)> {
    let mut engine = ear(thresholds, motion.pace);
    let mut events = Vec::new();
    let mut found = Vec::new();
    for (n, sample) in motion.samples.iter().enumerate() {
        engine.step(sample, &mut events);
        for event in &events {
            if let Event::Trigger { trigger, .. } = event {
                found.push((n as f64 / f64::from(motion.pace.hz()), *trigger));
            }
        }
    }
    found
}

fn performed(acts: &[Act], seed: u64) -> Motion {
    perform(acts, &Sensor::common(Pace::Hz400), seed, 3900)
}

/// How many of the moments that count were heard, how many there were, and how long after their start, seconds, sorted.
fn score(
    acts: &[Act],
    seeds: std::ops::Range<u64>,
    trigger: Trigger,
    slack_s: f64,
    counts: &dyn Fn(&Moment) -> bool,
) -> (usize, usize, Vec<f64>) {
    let (mut there, mut late) = (0, Vec::new());
    for seed in seeds {
        let motion = performed(acts, seed);
        let mut found = heard(&motion, &Thresholds { drops: true, ..Thresholds::default() });
        for moment in motion.moments.iter().filter(|m| counts(m)) {
            there += 1;
            let fits =
                |f: &(f64, Trigger)| f.1 == trigger && (moment.start_s - 0.005..=moment.end_s + slack_s).contains(&f.0);
            if let Some(at) = found.iter().position(fits) {
                late.push(found.remove(at).0 - moment.start_s);
            }
        }
    }
    late.sort_by(f64::total_cmp);
    (late.len(), there, late)
}

fn at_least(found: usize, there: usize, share: f64, what: &str) {
    assert!(found as f64 >= share * there as f64, "{what}: {found} of {there}");
}

const STRIKE: Act = Act::Strike { g: None, lasts_ms: None };
const PARRY: Act = Act::Parry { g: None, lasts_ms: None };

/// At least 99 % of strikes of 8 g and more and 3 to 10 ms, the 95th percentile of the time from contact to the trigger
/// under 20 ms.
#[test]
fn strikes_are_heard_and_soon() {
    let hard = |m: &Moment| m.kind == Kind::Strike && m.peak_g >= 8.0 && m.lasts_ms >= 3.0;
    let mut there = 0;
    for (act, seeds) in [(STRIKE, 10_000..10_035), (PARRY, 10_100..10_108)] {
        let (found, all, late) = score(&[act; 40], seeds, Trigger::Strike, 0.045, &hard);
        at_least(found, all, 0.99, "strikes");
        let (middle, most) = (late[late.len() / 2], late[late.len() * 95 / 100]);
        assert!(most < 0.020, "latency {middle} s, 95th percentile {most} s");
        there += all;
    }
    assert!(there >= 1000, "{there}");
}

/// At least 99 % of swings whose true rate across the axis reaches 500 degrees a second.
#[test]
fn swings_are_heard() {
    let fast = |m: &Moment| m.kind == Kind::Swing && m.peak_dps >= 500.0;
    let (found, there, late) = score(&[Act::Swing; 40], 11_000..11_032, Trigger::Swing, 0.1, &fast);
    assert!(there >= 1000, "{there}");
    at_least(found, there, 0.99, "swings");
    assert!(late[late.len() / 2] < 0.15, "half of them before they are over");
    let slow = |m: &Moment| m.kind == Kind::Swing && m.peak_dps < 380.0;
    let (found, there, _) = score(&[Act::Swing; 40], 11_000..11_032, Trigger::Swing, 0.1, &slow);
    assert_eq!(found, 0, "of {there} slow ones");
}

/// Swings, strikes, twists and drops in an hour of an act, a minute a person.
fn false_alarms(act: Act, seeds: std::ops::Range<u64>, from_s: f64) -> Vec<(u64, f64, Trigger)> {
    let alarms = [Trigger::Swing, Trigger::Strike, Trigger::Twist, Trigger::Dropped];
    let thresholds = Thresholds { drops: true, ..Thresholds::default() };
    seeds
        .flat_map(|seed| {
            let found = heard(&performed(&[act], seed), &thresholds);
            found.into_iter().map(move |(t, trigger)| (seed, t, trigger))
        })
        .filter(|f| f.1 >= from_s && alarms.contains(&f.2))
        .collect()
}

#[test]
fn an_hour_of_walking_sets_nothing_off() {
    assert_eq!(false_alarms(Act::Walk { lasts_s: 60.0 }, 12_000..12_060, 0.0), []);
}

#[test]
fn an_hour_of_standing_about_sets_nothing_off() {
    assert_eq!(false_alarms(Act::Idle { lasts_s: 60.0 }, 13_000..13_060, 0.0), []);
}

#[test]
fn an_hour_of_bumps_sets_nothing_off() {
    assert_eq!(false_alarms(Act::Bumps { lasts_s: 60.0 }, 14_000..14_060, 0.0), []);
}

#[test]
fn running_sets_little_off() {
    let minutes = 30;
    let found = false_alarms(Act::Run { lasts_s: 63.0 }, 15_000..15_000 + minutes, 3.0);
    assert!(found.len() as u64 <= 2 * minutes, "{found:?}");
}

#[test]
fn poses_twists_and_presses_are_heard() {
    let acts: Vec<Act> = (0..12).flat_map(|_| [Act::TipUp, Act::Level, Act::TipDown, Act::Level]).collect();
    for (kind, trigger) in
        [(Kind::TipUp, Trigger::TipUp), (Kind::TipDown, Trigger::TipDown), (Kind::Level, Trigger::Level)]
    {
        let (found, there, _) = score(&acts, 16_000..16_006, trigger, 0.5, &|m| m.kind == kind);
        at_least(found, there, 0.98, trigger.name());
    }
    let (found, there, _) = score(&[Act::Twist; 30], 17_000..17_006, Trigger::Twist, 0.2, &|m| m.kind == Kind::Twist);
    at_least(found, there, 0.98, "twists");
    for (lasts_ms, trigger) in [(200, Trigger::ShortPress), (1000, Trigger::LongPress)] {
        let (found, there, _) =
            score(&[Act::Press { lasts_ms }; 30], 18_000..18_003, trigger, 0.1, &|m| m.kind == Kind::Press);
        assert_eq!(found, there, "{}", trigger.name());
    }
}

/// Most drops are told from strikes; that some are not is why they are off until they are asked for.
#[test]
fn most_drops_are_heard() {
    let (found, there, _) = score(&[Act::Drop; 10], 19_000..19_012, Trigger::Dropped, 0.3, &|m| m.kind == Kind::Drop);
    at_least(found, there, 0.90, "drops");
}

#[test]
fn a_seed_is_a_person() {
    let acts = [Act::Walk { lasts_s: 5.0 }, STRIKE, Act::SetDown { lasts_s: 2.0 }, Act::Shake { lasts_s: 2.0 }];
    assert!(performed(&acts, 1) == performed(&acts, 1));
    assert!(performed(&acts, 1).samples != performed(&acts, 2).samples);
}

/// Quantities that nobody could act are brought to those that somebody could.
#[test]
fn odd_quantities_are_borne() {
    for odd in [f64::NAN, f64::NEG_INFINITY, -3.0] {
        let acts = [
            Act::Rest { lasts_s: odd },
            Act::Walk { lasts_s: odd },
            Act::Idle { lasts_s: odd },
            Act::Bumps { lasts_s: odd },
            Act::Shake { lasts_s: odd },
            Act::SetDown { lasts_s: odd },
            Act::Parry { g: Some(odd), lasts_ms: Some(odd) },
            Act::Press { lasts_ms: 0 },
        ];
        let quiet = Sensor { range_g: odd, range_dps: odd, filter_hz: odd, ..Sensor::common(Pace::Hz400) };
        assert!((1000..20_000).contains(&performed(&acts, 3).samples.len()));
        assert!((1000..20_000).contains(&perform(&acts, &quiet, 3, 3900).samples.len()));
    }
    let motion = performed(&[Act::Parry { g: Some(f64::INFINITY), lasts_ms: Some(1e9) }], 3);
    assert_eq!((motion.moments[0].peak_g, motion.moments[0].lasts_ms), (500.0, 100.0));
}

/// What lies on a table is still to the sensor's noise.
#[test]
fn what_is_set_down_lies_still() {
    let motion = performed(&[Act::SetDown { lasts_s: 6.0 }], 5);
    let lies = motion.moments.iter().find(|m| m.kind == Kind::SetDown).expect("it was set down");
    let from = ((lies.start_s + 0.5) * 400.0) as usize;
    let to = (lies.end_s * 400.0) as usize;
    for axis in 0..3 {
        let values: Vec<f64> = motion.samples[from..to].iter().map(|s| f64::from(s.rate[axis]) / 16.384).collect();
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let spread = (values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / values.len() as f64).sqrt();
        // 0.12 degrees a second of noise, and whole counts of 0.061.
        assert!((0.10..0.14).contains(&spread), "{spread}");
    }
    let found = heard(&motion, &Thresholds::default());
    assert!(found.iter().any(|f| f.1 == Trigger::Still), "{found:?}");
}

/// At 200 samples a second some impacts fall between two samples, which is why 400 is the default: nine of ten of 11 g and
/// more and 3 ms and more are heard (95 % when this was written).
#[test]
fn strikes_are_heard_at_half_the_pace() {
    let (mut found, mut there) = (0, 0);
    for seed in 20_000..20_010 {
        let motion = perform(&[STRIKE; 30], &Sensor::common(Pace::Hz200), seed, 3900);
        let said = heard(&motion, &Thresholds::default());
        for m in motion.moments.iter().filter(|m| m.kind == Kind::Strike && m.peak_g >= 11.0 && m.lasts_ms >= 3.0) {
            there += 1;
            let fits =
                |f: &&(f64, Trigger)| f.1 == Trigger::Strike && (m.start_s - 0.005..m.end_s + 0.05).contains(&f.0);
            found += usize::from(said.iter().any(|f| fits(&f)));
        }
    }
    assert!(there > 150, "{there}");
    at_least(found, there, 0.90, "strikes at 200 samples a second");
}
