//! The step: modes, times, buttons, cells, poses, corners.

use crate::common::{Dice, LENGTHS, REST, engine_of, patient_engine, sounds, starter_engine};
use behaviour::{Engine, Event, Hardware, Pace, Sample, Shot, Table, Thresholds, Trigger, log, starter};

/// Triggers and mode changes of a run, with the sample they came at.
fn told(engine: &mut Engine, samples: impl IntoIterator<Item = Sample>) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    let mut events = Vec::new();
    for (n, sample) in samples.into_iter().enumerate() {
        engine.step(&sample, &mut events);
        for event in &events {
            match event {
                Event::Trigger { trigger, .. } => found.push((n, trigger.name().to_owned())),
                Event::Mode { mode } => found.push((n, format!("mode {mode}"))),
                Event::Empty => found.push((n, "empty".to_owned())),
                Event::Sound { .. } | Event::Frame { .. } | Event::Block => {}
            }
        }
    }
    found
}

fn hold(sample: Sample, n: usize) -> impl Iterator<Item = Sample> {
    std::iter::repeat_n(sample, n)
}

fn pressed(n: usize) -> impl Iterator<Item = Sample> {
    hold(Sample { pressed: true, ..REST }, n)
}

#[test]
fn a_press_wakes_it_and_time_lights_it() {
    for (pace, hz) in [(Pace::Hz200, 200), (Pace::Hz400, 400)] {
        let mut engine = starter_engine(pace);
        let samples = hold(REST, 5).chain(pressed(hz / 5)).chain(hold(REST, hz));
        let found = told(&mut engine, samples);
        let words: Vec<&str> = found.iter().map(|f| f.1.as_str()).filter(|w| *w != "tip-up").collect();
        assert_eq!(words, ["short-press", "mode 1", "time", "mode 2"], "{pace:?}");
        // Four samples until the button counts as up; 600 ms of waking.
        let at = |word: &str| found.iter().find(|f| f.1 == word).expect("it was told").0;
        assert_eq!(at("short-press"), 5 + hz / 5 + 3);
        assert_eq!(at("mode 2") - at("mode 1"), hz * 6 / 10);
        assert_eq!(engine.mode(), 2);
    }
}

#[test]
fn a_long_press_puts_it_out_and_the_strip_is_dark() {
    let mut engine = starter_engine(Pace::Hz400);
    told(&mut engine, pressed(40).chain(hold(REST, 600)));
    assert!(engine.pixels().iter().any(|&v| v > 0), "lit");
    let found = told(&mut engine, pressed(400).chain(hold(REST, 800)));
    assert!(found.iter().any(|f| f.1 == "long-press" && f.0 == 3 + 320), "{found:?}");
    assert_eq!(engine.mode(), 0);
    assert!(engine.pixels().iter().all(|&v| v == 0));
}

/// A button that chatters for 5 ms, as contacts do (common practice, no source), is one press.
#[test]
fn a_button_that_bounces_is_pressed_once() {
    let mut dice = Dice(3);
    for _ in 0..50 {
        let mut engine = starter_engine(Pace::Hz400);
        let chatter: Vec<Sample> =
            (0..2).map(|_| Sample { pressed: dice.below(2) == 1, ..REST }).chain(pressed(60)).collect();
        let release = (0..2).map(|_| Sample { pressed: dice.below(2) == 1, ..REST }).collect::<Vec<_>>();
        let found = told(&mut engine, chatter.into_iter().chain(release).chain(hold(REST, 20)));
        assert_eq!(found.iter().filter(|f| f.1 == "short-press").count(), 1);
    }
}

/// Held at an angle of the tip to the vertical, gravity alone says which pose it is: cosines of the angle.
#[test]
fn poses_are_told_by_angle() {
    for (deg, wanted) in [
        (0, Some("tip-up")),
        (30, Some("tip-up")),
        (40, None),
        (70, None),
        (80, Some("level")),
        (100, Some("level")),
        (120, None),
        (150, Some("tip-down")),
        (180, Some("tip-down")),
    ] {
        let angle = f64::from(deg).to_radians();
        let force = [2048.0 * libm::cos(angle), 0.0, 2048.0 * libm::sin(angle)].map(|v| v as i16);
        let found = told(&mut starter_engine(Pace::Hz400), hold(Sample { force, ..REST }, 200));
        let poses: Vec<&str> = found.iter().map(|f| f.1.as_str()).collect();
        assert_eq!(poses, wanted.into_iter().collect::<Vec<_>>(), "{deg} degrees");
    }
}

/// Turned at a known rate without any help from the accelerometer (its length is far from 1 g), gravity goes round with
/// the prop: after a quarter turn it points along another axis.
#[test]
fn gravity_turns_with_the_prop() {
    for (pace, hz) in [(Pace::Hz200, 200), (Pace::Hz400, 400)] {
        for (axis, wanted) in [(1, [0, 0, 16384]), (2, [0, -16384, 0])] {
            let mut engine = starter_engine(pace);
            let mut rate = [0; 3];
            rate[axis] = (90.0 * 16.384) as i16;
            let first = [REST];
            // Gravity's reaction stays in the world while x turns away from it.
            let turn = hold(Sample { force: [4096, 0, 0], rate, ..REST }, hz);
            told(&mut engine, first.into_iter().chain(turn));
            for (said, want) in engine.gravity().into_iter().zip(wanted) {
                assert!((said - want).abs() < 250, "{pace:?}, axis {axis}: {:?} for {wanted:?}", engine.gravity());
            }
        }
    }
}

#[test]
fn a_low_cell_dims_and_an_empty_one_goes_dark_for_good() {
    let mut engine = patient_engine();
    let bright = |engine: &Engine| engine.pixels().iter().map(|&v| u32::from(v)).sum::<u32>();
    // To where a breath of 130 frames is darkest, after waking.
    let awake = || hold(REST, 3 + 240 + 130 * 8);
    told(&mut engine, pressed(40).chain(awake()));
    let full = bright(&engine);
    let low = told(&mut engine, hold(Sample { cell_mv: 3390, ..REST }, 2400));
    assert!(low.iter().any(|f| f.1 == "battery-low"), "{low:?}");
    assert_eq!(engine.mode(), 0);
    let saggy = |s: Sample| Sample { cell_mv: 3450, ..s };
    told(&mut engine, pressed(40).chain(awake()).map(saggy));
    let dimmed = bright(&engine);
    assert!(full > 5000 && dimmed * 100 < full * 31 && dimmed * 100 > full * 20, "{dimmed} of {full}");
    let found = told(&mut engine, hold(Sample { cell_mv: 3100, ..REST }, 4000));
    assert!(found.iter().any(|f| f.1 == "empty"), "{found:?}");
    assert_eq!(engine.mode(), 0);
    let flat = Sample { cell_mv: 3250, ..REST };
    told(&mut engine, hold(Sample { pressed: true, ..flat }, 40).chain(hold(flat, 400)));
    assert_eq!(engine.mode(), 0, "a press does not wake an empty prop");
    assert_eq!(bright(&engine), 0);
}

/// The time of a mode is over once, also where the rule on it stays in the mode.
#[test]
fn time_is_told_once() {
    let mut behaviour = starter(LENGTHS);
    let rule = behaviour.rules.iter_mut().find(|r| r.on == Trigger::Time && r.from.as_deref() == Some("waking"));
    let rule = rule.expect("a rule on time");
    (rule.to, rule.sound) = (None, Some(Shot { sound: "knock".to_owned(), gain_pct: 50, duck_pct: 50 }));
    let mut engine = engine_of(&behaviour, &Thresholds::default(), &Hardware::default());
    let text = log(&mut engine, pressed(40).chain(hold(REST, 1000)));
    let count = |what: &str| text.lines().filter(|l| l.contains(what)).count();
    assert_eq!((count(" T time"), count(" S 2 ")), (1, 1), "{text}");
}

#[test]
fn what_is_still_is_told_once() {
    let found = told(&mut starter_engine(Pace::Hz400), hold(REST, 4000));
    let still: Vec<usize> = found.iter().filter(|f| f.1 == "still").map(|f| f.0).collect();
    assert_eq!(still, [799]);
}

/// 0.55 s of weightlessness (a fall from 1.5 m), then 100 g for 2 ms as the sensor clips it.
#[test]
fn a_fall_and_a_landing_are_a_drop() {
    let fall = hold(Sample { force: [20, -10, 15], ..REST }, 220);
    let land = hold(Sample { force: [32767, 9000, -4000], ..REST }, 2);
    let samples: Vec<Sample> = hold(REST, 100).chain(fall).chain(land).chain(hold(REST, 400)).collect();
    let found = told(&mut starter_engine(Pace::Hz400), samples.clone());
    assert!(found.iter().any(|f| f.1 == "dropped"), "{found:?}");
    assert!(!found.iter().any(|f| f.1 == "strike"), "{found:?}");
    let deaf = Thresholds { drops: false, ..Thresholds::default() };
    let found = told(&mut engine_of(&starter(LENGTHS), &deaf, &Hardware::default()), samples);
    assert!(found.iter().any(|f| f.1 == "strike") && !found.iter().any(|f| f.1 == "dropped"), "{found:?}");
}

/// Rails, zeros, spikes and noise over the whole range: no intermediate leaves 31 bits (the engine's number checks it),
/// and the strip keeps to its budget.
#[test]
fn no_input_overflows() {
    let mut dice = Dice(11);
    let rail = |sign: i16| Sample { force: [32767 * sign; 3], rate: [32767 * sign; 3], pressed: true, cell_mv: 65535 };
    let worst = Sample { force: [-32768; 3], rate: [-32768; 3], pressed: false, cell_mv: 0 };
    for pace in [Pace::Hz200, Pace::Hz400] {
        let mut engine = starter_engine(pace);
        let wild: Vec<Sample> = (0..20_000)
            .map(|k| match k / 500 % 8 {
                0 => rail(1),
                1 => worst,
                2 => {
                    if k % 2 == 0 {
                        rail(1)
                    } else {
                        worst
                    }
                }
                3 => Sample::default(),
                4 => {
                    if k % 97 == 0 {
                        rail(-1)
                    } else {
                        REST
                    }
                }
                5 => Sample { rate: [32767, -32768, 32767], ..REST },
                6 => Sample { force: [0, 0, if k % 5 == 0 { -32768 } else { 32767 }], ..REST },
                _ => Sample {
                    force: [dice.int16(), dice.int16(), dice.int16()],
                    rate: [dice.int16(), dice.int16(), dice.int16()],
                    pressed: dice.below(3) == 0,
                    cell_mv: dice.below(65536) as u16,
                },
            })
            .collect();
        let text = log(&mut engine, wild);
        assert!(text.lines().count() > 2000);
    }
}

#[test]
fn the_same_samples_make_the_same_log() {
    let samples: Vec<Sample> = pressed(40).chain(hold(REST, 900)).collect();
    let one = log(&mut starter_engine(Pace::Hz400), samples.clone());
    let two = log(&mut starter_engine(Pace::Hz400), samples);
    assert!(one == two && one.contains(" S 3 204"), "{}", &one[..300]);
}

/// The hum of the lit prop is heard, at its gain; the strike plays on top and the hum makes room.
#[test]
fn the_hum_is_heard_and_ducks() {
    let mut engine = patient_engine();
    let loudest = |engine: &Engine| engine.block().iter().map(|s| i32::from(*s).abs()).max().unwrap_or(0);
    assert_eq!(loudest(&engine), 0);
    told(&mut engine, pressed(40).chain(hold(REST, 1000)));
    // Sawteeth of 10000 at 40 %.
    let heard = loudest(&engine);
    assert!((3800..=4000).contains(&heard), "{heard}");
    let knock = Sample { force: [2048, 20000, 0], ..REST };
    let found = told(&mut engine, [knock].into_iter().chain(hold(REST, 60)));
    assert!(found.iter().any(|f| f.1 == Trigger::Strike.name()), "{found:?}");
    let both = loudest(&engine);
    assert!((7000..=10000).contains(&both), "{both}: 80 % of one and 20 % of the other");
}

#[test]
fn sounds_must_be_those_of_the_table() {
    let table = || Table::new(&starter(LENGTHS), &Thresholds::default(), &Hardware::default()).expect("it runs");
    let mut short = sounds(&LENGTHS);
    short[2].pop();
    let error = Engine::new(table(), short).expect_err("a sample is missing");
    assert_eq!((error.name.as_str(), error.wanted, error.found), ("knock", 8820, 8819));
    let error = Engine::new(table(), Vec::new()).expect_err("no sounds");
    assert!(error.to_string().contains("\"hum\" has 0 samples"));
}
