//! What is said of behaviours that lead nowhere, name what is not there, or cannot run.

use crate::common::LENGTHS;
use behaviour::{
    Behaviour, Effect, Flaw, Hardware, Light, Rule, Shot, Table, TableError, ThresholdError, Thresholds, Trigger,
    starter, verify,
};

fn changed(change: impl FnOnce(&mut Behaviour)) -> Vec<Flaw> {
    let mut behaviour = starter(LENGTHS);
    change(&mut behaviour);
    verify(&behaviour, 60)
}

/// The place and the way out are in the words.
fn says(flaws: &[Flaw], words: &str) {
    assert!(flaws.iter().any(|f| f.to_string().contains(words)), "{words:?} not in {flaws:?}");
}

#[test]
fn the_starter_is_sound() {
    assert_eq!(verify(&starter(LENGTHS), 60), []);
    assert!(Table::new(&starter(LENGTHS), &Thresholds::default(), &Hardware::default()).is_ok());
}

#[test]
fn names_that_are_not_there_are_told_with_those_that_are() {
    let flaws = changed(|b| b.rules[0].to = Some("wakng".to_owned()));
    says(&flaws, "the rule on short-press in asleep names the mode \"wakng\"");
    says(&flaws, "there are: asleep, waking, lit");
    let flaws = changed(|b| b.modes[2].hum.as_mut().expect("a hum").sound = "hmm".to_owned());
    says(&flaws, "mode \"lit\" names the sound \"hmm\"");
    let flaws = changed(|b| b.rules[15].sound = Some(Shot { sound: "bang".to_owned(), gain_pct: 50, duck_pct: 50 }));
    says(&flaws, "the rule on strike in every mode names the sound \"bang\"");
    let flaws = changed(|b| b.modes[2].lights[0].span = Some((50, 61)));
    says(&flaws, "mode \"lit\" wants pixels 50 to 61; the strip has 0 to 60");
    let flaws = changed(|b| b.rules[15].flash.as_mut().expect("a flash").at = Some(60));
    says(&flaws, "wants pixels 60 to 61");
    assert!(flaws.iter().all(Flaw::is_fatal));
}

#[test]
fn modes_must_be_reached_left_and_lead_back() {
    let flaws = changed(|b| b.rules.retain(|r| r.to.as_deref() != Some("raised")));
    says(&flaws, "mode \"raised\" cannot be reached");
    // Nothing but the cell leads out of "lit" any more.
    let flaws = changed(|b| {
        b.rules.retain(|r| r.from.is_some() && (r.from.as_deref() != Some("lit")));
        b.rules.push(Rule {
            from: None,
            on: Trigger::BatteryLow,
            to: Some("asleep".to_owned()),
            sound: None,
            flash: None,
        });
    });
    says(&flaws, "mode \"lit\" never ends");
    let flaws = changed(|b| {
        b.rules.retain(|r| r.from.is_some() && r.to.as_deref() != Some("asleep") && r.to.as_deref() != Some("going"));
    });
    says(&flaws, "from mode \"roused\" no way leads back to \"asleep\"");
    assert!(flaws.iter().all(|f| !f.is_fatal()));
}

#[test]
fn what_is_never_used_is_told() {
    let flaws = changed(|b| {
        let first = b.rules[0].clone();
        b.rules.push(first);
    });
    says(&flaws, "the rule on short-press in asleep is never used");
    let flaws = changed(|b| b.rules.retain(|r| r.sound.as_ref().is_none_or(|s| s.sound != "crackle")));
    says(&flaws, "sound \"crackle\" is never played");
    let flaws = changed(|b| b.modes[1].lasts_ms = None);
    says(&flaws, "mode \"waking\": a rule on \"time\"");
    let flaws = changed(|b| {
        let name = b.modes[3].name.clone();
        b.modes[2].name = name;
    });
    says(&flaws, "mode \"roused\" is there twice");
    assert_eq!(verify(&Behaviour { modes: Vec::new(), rules: Vec::new(), sounds: Vec::new() }, 60), [Flaw::Empty]);
}

#[test]
fn numbers_out_of_range_are_told() {
    let flaws = changed(|b| {
        b.modes[2].lights[0].period_ms = 0;
        b.modes[3].lights.push(Light {
            effect: Effect::Pulse { reach: 0, low: 0 },
            colour: [1; 3],
            period_ms: 99,
            span: None,
        });
        b.modes[0].lights.push(Light { effect: Effect::Steady, colour: [1; 3], period_ms: 99, span: None });
        b.rules[0].sound.as_mut().expect("a sound").gain_pct = 101;
        b.sounds[0].samples = 0;
        let light = b.modes[4].lights[0].clone();
        b.modes[4].lights = vec![light; 9];
    });
    says(&flaws, "mode \"lit\": period_ms is 0; give 40 to 600000");
    says(&flaws, "mode \"roused\": reach is 0; give 1 to 600");
    says(&flaws, "mode \"raised\": its number of lights is 9; give 0 to 8");
    says(&flaws, "gain_pct is 101; give 0 to 100");
    says(&flaws, "the first mode, \"asleep\", has a light");
    says(&flaws, "sound \"hum\": its length in samples is 0");
}

#[test]
fn hardware_and_thresholds_that_cannot_be_are_told_all_at_once() {
    let hardware = Hardware { pixels: 0, sound_hz: 4000, ..Hardware::default() };
    let thresholds = Thresholds { swing_dps: 5000, short_ms: 900, ..Thresholds::default() };
    let mut behaviour = starter(LENGTHS);
    behaviour.modes[0].name = "lit".to_owned();
    let errors = Table::new(&behaviour, &thresholds, &hardware).expect_err("nothing of it can be");
    let words = errors.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n");
    for part in [
        "pixels is 0",
        "sound_hz is 4000",
        "\"lit\" is there twice",
        "swing_dps is 5000",
        "short_ms must be below long_ms",
    ] {
        assert!(words.contains(part), "{part} not in\n{words}");
    }
    let order = ThresholdError::Order { lower: "short_ms", upper: "long_ms" };
    assert!(errors.contains(&TableError::Threshold(order)));
}
