//! A whole run: motion, light and sound together.

use crate::common::{LENGTHS, REST, engine_of, patient_engine};
use behaviour::motion::{Sensor, perform, script};
use behaviour::{Event, Hardware, Pace, Sample, Thresholds, rehearse, starter};

#[test]
fn a_run_is_kept() {
    let acts = script("press 200 ms, rest 2 s, swing, strike 20 g 5 ms, press 1000 ms, rest 2 s").expect("acts");
    let motion = perform(&acts, &Sensor::common(Pace::Hz400), 4, 3900);
    let mut engine = patient_engine();
    let kept = rehearse(&mut engine, &motion.samples);
    let n = motion.samples.len();
    assert_eq!(kept.modes.len(), n);
    assert_eq!(kept.frames.len(), n.div_ceil(8));
    assert_eq!(kept.sound.len(), n * 22050 / 400 / 256 * 256);
    for ((_, frame), &total) in kept.frames.iter().zip(&kept.totals) {
        assert_eq!(frame.iter().map(|&v| i32::from(v)).sum::<i32>(), total);
    }
    let csv = kept.events_csv(engine.table());
    let kinds: Vec<&str> = csv.lines().skip(1).filter_map(|l| l.split(',').nth(1)).collect();
    for kind in ["short-press", "mode", "sound", "time", "swing", "strike", "long-press"] {
        assert!(kinds.contains(&kind), "{kind} not in\n{csv}");
    }
    assert!(csv.starts_with("t_s,kind,mode,detail\n"));
    assert!(csv.contains(",sound,waking,rise 80 %"), "{csv}");
    assert!(csv.lines().any(|l| l.contains(",strike,") && l.ends_with(" g")), "{csv}");
    assert_eq!(engine.mode(), 0, "it ends in the dark");
    assert!(kept.sound.iter().any(|s| s.unsigned_abs() > 5000), "it was heard");
}

/// From a strike's sample to the next frame that shows it: 20 ms at 50 frames a second, and to sound a block later at most.
#[test]
fn light_follows_within_a_frame() {
    let mut samples = vec![Sample { pressed: true, ..REST }; 40];
    samples.extend(vec![REST; 500]);
    let at = samples.len();
    samples.push(Sample { force: [2048, 18000, 0], ..REST });
    samples.extend(vec![REST; 100]);
    let kept = rehearse(&mut patient_engine(), &samples);
    let said = kept.events.iter().find(|e| matches!(e.1, Event::Sound { sound: 2, .. })).expect("a knock").0;
    assert!(said - at <= 2, "{said} after {at}");
    let bright = |k: usize| kept.totals[k];
    let before = kept.frames.iter().rposition(|f| f.0 < said).expect("frames");
    assert!(bright(before + 1) > bright(before) && kept.frames[before + 1].0 - said < 8);
}

#[test]
fn names_are_fields_whatever_is_in_them() {
    let mut behaviour = starter(LENGTHS);
    behaviour.modes[1].name = "a, \"b\"".to_owned();
    for rule in &mut behaviour.rules {
        for name in rule.from.iter_mut().chain(&mut rule.to).filter(|n| *n == "waking") {
            *name = "a, \"b\"".to_owned();
        }
    }
    let mut engine = engine_of(&behaviour, &Thresholds::default(), &Hardware::default());
    let samples: Vec<Sample> = (0..200).map(|k| Sample { pressed: k < 50, ..REST }).collect();
    let csv = rehearse(&mut engine, &samples).events_csv(engine.table());
    assert!(csv.contains(",mode,\"a, \"\"b\"\"\",\"a, \"\"b\"\"\"\n"), "{csv}");
}
