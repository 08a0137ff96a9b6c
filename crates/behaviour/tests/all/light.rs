//! The strip: never more current than allowed, never more flashes.

use crate::common::{Dice, LENGTHS, REST, engine_of, patient_engine};
use behaviour::flashing::flashes;
use behaviour::{
    Behaviour, Effect, Event, FRAMES_A_SECOND, Flash, Hardware, Light, Mode, Pace, Rule, Sample, Table, Thresholds,
    Trigger, starter,
};

const PRESS: Sample = Sample { pressed: true, ..REST };

/// A prop with one lit mode, which a press turns on and off, and one trigger that flashes.
fn one_mode(lights: Vec<Light>, flash: Flash) -> Behaviour {
    let rule = |from: &str, to: &str| Rule {
        from: Some(from.to_owned()),
        on: Trigger::ShortPress,
        to: Some(to.to_owned()),
        sound: None,
        flash: None,
    };
    Behaviour {
        modes: vec![
            Mode { name: "dark".to_owned(), lights: Vec::new(), hum: None, lasts_ms: None },
            Mode { name: "on".to_owned(), lights, hum: None, lasts_ms: None },
        ],
        rules: vec![
            rule("dark", "on"),
            rule("on", "dark"),
            Rule { from: None, on: Trigger::Strike, to: None, sound: None, flash: Some(flash) },
        ],
        sounds: Vec::new(),
    }
}

const FLASH: Flash = Flash { colour: [255; 3], at: None, reach: 20, fades_ms: 160 };

/// Frames of a run in which a strike may follow another after 50 ms.
fn shown(behaviour: &Behaviour, hardware: &Hardware, samples: impl IntoIterator<Item = Sample>) -> Vec<Vec<u8>> {
    let mut engine = engine_of(behaviour, &Thresholds { strike_rest_ms: 50, ..Thresholds::default() }, hardware);
    let mut events = Vec::new();
    let mut frames = Vec::new();
    for sample in samples {
        engine.step(&sample, &mut events);
        if events.iter().any(|e| matches!(e, Event::Frame { .. })) {
            frames.push(engine.pixels().to_vec());
        }
    }
    frames
}

/// A press, then a while with a strike every so many samples; 0 for none.
fn struck(seconds: usize, every: usize) -> impl Iterator<Item = Sample> {
    let knock = Sample { force: [2048, 18000, 3000], ..REST };
    let rest = move |k: usize| if every > 0 && k % every == every - 1 { knock } else { REST };
    std::iter::repeat_n(PRESS, 40).chain((0..seconds * 400).map(rest))
}

fn an_effect(dice: &mut Dice) -> Effect {
    let low = dice.below(256) as u8;
    match dice.below(7) {
        0 => Effect::Steady,
        1 => Effect::Breathe { low },
        2 => Effect::Pulse { reach: 1 + dice.below(40) as u16, low },
        3 => Effect::Fill,
        4 => Effect::Drain,
        5 => Effect::Flicker { low },
        _ => Effect::Spark { a_second: 1 + dice.below(50) as u16, low },
    }
}

/// 30,000 frames of random lights, spans, colours, levels, periods, flashes, cells and budgets: none over its budget, and some
/// right up to it.
#[test]
fn no_frame_is_over_the_budget() {
    let mut dice = Dice(5);
    let (mut frames, mut limited) = (0, 0);
    while frames < 30_000 {
        let pixels = 1 + dice.below(150) as u16;
        let budget = 1 + dice.below(u32::from(pixels) * 765);
        let window = if dice.below(2) == 0 { None } else { Some(1 + dice.below(30) as u16) };
        let held_back = if dice.below(3) == 0 { pixels } else { 0 };
        let levels = (0..held_back).map(|_| dice.next() as u8).collect();
        let hardware =
            Hardware { pace: Pace::Hz200, pixels, budget, flash_window: window, levels, ..Hardware::default() };
        let lights = (0..1 + dice.below(3))
            .map(|_| {
                let first = dice.below(pixels.into()) as u16;
                Light {
                    effect: an_effect(&mut dice),
                    colour: [dice.next() as u8, dice.next() as u8, dice.next() as u8],
                    period_ms: 40 + dice.below(2000),
                    span: Some((first, first + 1 + dice.below((pixels - first).into()) as u16)),
                }
            })
            .collect();
        let flash =
            Flash { colour: [dice.next() as u8, 255, 200], at: None, reach: 1 + dice.below(60) as u16, fades_ms: 400 };
        let cell = if dice.below(4) == 0 { 3300 } else { 3900 };
        let samples = struck(2, 30 + dice.below(200) as usize).map(|s| Sample { cell_mv: cell, ..s });
        for frame in shown(&one_mode(lights, flash), &hardware, samples) {
            let total: u32 = frame.iter().map(|&v| u32::from(v)).sum();
            assert!(total <= budget, "{total} of {budget}: {hardware:?}");
            limited += u32::from(total + 3 * u32::from(pixels) >= budget);
            frames += 1;
        }
    }
    assert!(limited > 2000, "the limit was met: {limited}");
}

/// Weak light of many pixels under a tight budget: 5 of 255 a channel are allowed, and rounding down takes at most one.
#[test]
fn a_tight_budget_does_not_put_weak_light_out() {
    let light = Light { effect: Effect::Steady, colour: [90; 3], period_ms: 1000, span: None };
    let hardware = Hardware { pixels: 144, budget: 144 * 3 * 5, flash_window: None, ..Hardware::default() };
    let frames = shown(&one_mode(vec![light], FLASH), &hardware, struck(1, 0));
    assert!(frames.last().expect("frames").iter().all(|&v| v == 4 || v == 5));
}

/// The two lights of a strip that would flash a lot, over all of it.
fn wild_lights(dice: &mut Dice) -> Vec<Light> {
    let mut light = || Light {
        effect: an_effect(dice),
        colour: [255, dice.next() as u8, dice.below(2) as u8 * 255],
        period_ms: 40 + dice.below(700),
        span: None,
    };
    vec![light(), light()]
}

/// The rule of three flashes a second, by the checker that counts in fractions and shares no code with the limiter.
#[test]
fn each_effect_of_the_starter_is_safe_as_it_is() {
    for mode in starter(LENGTHS).modes.into_iter().skip(1) {
        let behaviour = one_mode(mode.lights, FLASH);
        let free = Hardware { flash_window: None, budget: 60 * 765, ..Hardware::default() };
        let frames = shown(&behaviour, &free, struck(20, 0));
        let found = flashes(&frames, FRAMES_A_SECOND as usize, 9);
        assert!(found.are_safe(), "{}: {found:?}", mode.name);
        let calm = Hardware { flash_window: Some(9), ..free };
        assert!(frames == shown(&behaviour, &calm, struck(20, 0)), "{}: the limiter leaves it alone", mode.name);
    }
}

#[test]
fn ten_strikes_a_second_are_safe() {
    for mode in starter(LENGTHS).modes.into_iter().skip(1) {
        let behaviour = one_mode(mode.lights, FLASH);
        let hardware = Hardware { budget: 60 * 765, ..Hardware::default() };
        let found = flashes(&shown(&behaviour, &hardware, struck(10, 40)), FRAMES_A_SECOND as usize, 9);
        assert!(found.are_safe(), "{}: {found:?}", mode.name);
        assert!(found.general >= 1.0, "{}: there are flashes: {found:?}", mode.name);
    }
}

/// A strobe of 4 Hz (a breath of 250 ms from nothing to full): unsafe as it is, slowed down by the limiter.
#[test]
fn a_strobe_is_held() {
    for colour in [[255; 3], [255, 0, 0]] {
        let strobe = Light { effect: Effect::Breathe { low: 0 }, colour, period_ms: 250, span: None };
        let behaviour = one_mode(vec![strobe], FLASH);
        let free = Hardware { flash_window: None, budget: 60 * 765, ..Hardware::default() };
        let calm = Hardware { flash_window: Some(9), ..free.clone() };
        let wild = flashes(&shown(&behaviour, &free, struck(5, 0)), FRAMES_A_SECOND as usize, 9);
        assert!(!wild.are_safe(), "{wild:?}");
        let held = flashes(&shown(&behaviour, &calm, struck(5, 0)), FRAMES_A_SECOND as usize, 9);
        assert!(held.are_safe(), "{held:?}");
    }
}

/// Whatever is asked for, what is shown is safe: random lights with random strikes, at windows of the limiter's size.
#[test]
fn no_behaviour_flashes_too_often() {
    let mut dice = Dice(23);
    let mut wild = 0;
    for _ in 0..60 {
        let pixels = 10 + dice.below(60) as u16;
        let window = 1 + dice.below(12) as u16;
        let hardware =
            Hardware { pixels, budget: u32::from(pixels) * 765, flash_window: Some(window), ..Hardware::default() };
        let lights = wild_lights(&mut dice);
        let behaviour = one_mode(lights, FLASH);
        let every = 40 + dice.below(100) as usize;
        let found = flashes(&shown(&behaviour, &hardware, struck(4, every)), FRAMES_A_SECOND as usize, window.into());
        assert!(found.are_safe(), "{found:?}: {behaviour:?}");
        let free = Hardware { flash_window: None, ..hardware };
        let found = flashes(&shown(&behaviour, &free, struck(4, every)), FRAMES_A_SECOND as usize, window.into());
        wild += u32::from(!found.are_safe());
    }
    assert!(wild > 20, "many would have flashed: {wild}");
}

/// Modes that take turns every 60 ms are a strobe of 8 Hz that no light of theirs is.
#[test]
fn modes_that_take_turns_are_held() {
    let light = Light { effect: Effect::Steady, colour: [255; 3], period_ms: 1000, span: None };
    let mut behaviour = one_mode(vec![light], FLASH);
    behaviour.modes[1].lasts_ms = Some(60);
    behaviour.modes.push(Mode { name: "off".to_owned(), lights: Vec::new(), hum: None, lasts_ms: Some(60) });
    for (from, to) in [("on", "off"), ("off", "on")] {
        let [from, to] = [from, to].map(|name| Some(name.to_owned()));
        behaviour.rules.push(Rule { from, on: Trigger::Time, to, sound: None, flash: None });
    }
    for (window, safe) in [(None, false), (Some(9), true)] {
        let hardware = Hardware { flash_window: window, budget: 60 * 765, ..Hardware::default() };
        let found = flashes(&shown(&behaviour, &hardware, struck(5, 0)), FRAMES_A_SECOND as usize, 9);
        assert_eq!(found.are_safe(), safe, "{found:?}");
    }
}

/// A flash lasts and reaches as its numbers say, however long and far: to a frame and a pixel, less what is below one step of a
/// channel.
#[test]
fn a_flash_fades_and_reaches_as_asked() {
    for (fades_ms, reach) in [(160, 16), (700, 45), (3000, 100), (4600, 140)] {
        let flash = Flash { colour: [255; 3], at: Some(0), reach, fades_ms };
        let hardware =
            Hardware { pixels: 150, budget: 150 * 765, flash_window: None, pace: Pace::Hz400, ..Hardware::default() };
        let samples = struck(1, 0).chain([Sample { force: [2048, 18000, 3000], ..REST }]).chain(struck(5, 0));
        let frames = shown(&one_mode(Vec::new(), flash), &hardware, samples);
        let lit: Vec<&Vec<u8>> = frames.iter().filter(|f| f[0] > 0).collect();
        let wanted = usize::from(fades_ms) / 20;
        assert!(lit.len().abs_diff(wanted) <= 1 + wanted / 200, "{fades_ms} ms: {} frames", lit.len());
        let far = lit[0].chunks(3).filter(|p| p[0] > 0).count();
        assert!(far.abs_diff(reach.into()) <= 1, "{reach} pixels: {far}");
    }
}

/// An empty cell ends a flash that would have gone on for seconds.
#[test]
fn an_empty_cell_puts_a_flash_out() {
    let flash = Flash { colour: [255; 3], at: None, reach: 60, fades_ms: 5000 };
    for window in [None, Some(9)] {
        let hardware = Hardware { flash_window: window, ..Hardware::default() };
        let knock = Sample { force: [2048, 18000, 3000], ..REST };
        let empty = std::iter::repeat_n(Sample { cell_mv: 2000, ..REST }, 800);
        let samples = struck(1, 0).chain([knock]).chain(std::iter::repeat_n(REST, 40)).chain(empty);
        let frames = shown(&one_mode(Vec::new(), flash.clone()), &hardware, samples);
        let lit = |f: &Vec<u8>| f.iter().any(|&v| v > 0);
        assert!(frames[frames.len() - 100..].iter().any(lit), "it was lit");
        assert!(!frames[frames.len() - 20..].iter().any(lit), "two seconds at 2 V");
    }
}

/// A light goes on from its own levels, not from those of one that it covers.
#[test]
fn a_covered_light_leaves_no_trace() {
    let light = |effect| Light { effect, colour: [255; 3], period_ms: 1000, span: None };
    let sparks = light(Effect::Spark { a_second: 5, low: 0 });
    let play = |lights| shown(&one_mode(lights, FLASH), &Hardware::default(), struck(3, 0));
    assert!(play(vec![light(Effect::Steady), sparks.clone()]) == play(vec![sparks]));
}

#[test]
fn spans_keep_to_themselves() {
    let part = |first, end, colour| Light { effect: Effect::Steady, colour, period_ms: 1000, span: Some((first, end)) };
    let lights = vec![part(0, 6, [255, 0, 0]), part(4, 10, [0, 0, 255])];
    let hardware = Hardware { pixels: 12, budget: 12 * 765, ..Hardware::default() };
    let frame = shown(&one_mode(lights, FLASH), &hardware, struck(2, 0)).pop().expect("frames");
    let seen: Vec<&[u8]> = frame.chunks(3).collect();
    assert!(seen[..4].iter().all(|p| *p == [255, 0, 0]), "{seen:?}");
    assert!(seen[4..10].iter().all(|p| *p == [0, 0, 255]), "{seen:?}");
    assert!(seen[10..].iter().all(|p| *p == [0, 0, 0]), "{seen:?}");
}

#[test]
fn a_fill_goes_from_grip_to_tip_and_a_drain_back() {
    let light = |effect| Light { effect, colour: [255; 3], period_ms: 1000, span: None };
    let free = Hardware { flash_window: None, budget: 60 * 765, ..Hardware::default() };
    let lit = |frame: &Vec<u8>| frame.chunks(3).filter(|p| p[0] > 0).count();
    let filling: Vec<usize> =
        shown(&one_mode(vec![light(Effect::Fill)], FLASH), &free, struck(2, 0)).iter().map(lit).collect();
    assert!(filling.is_sorted() && filling.last() == Some(&60), "{filling:?}");
    let half = filling.iter().filter(|&&n| n > 0 && n < 60).count();
    assert!((45..=50).contains(&half), "a second is 50 frames: {half}");
    let draining: Vec<usize> =
        shown(&one_mode(vec![light(Effect::Drain)], FLASH), &free, struck(2, 0)).iter().map(lit).skip(8).collect();
    assert!(draining.is_sorted_by(|a, b| a >= b) && draining.last() == Some(&0), "{draining:?}");
}

/// Whatever moves, a pixel goes as far as its level lets it.
#[test]
fn pixels_keep_to_their_levels() {
    let white = Light { effect: Effect::Steady, colour: [255; 3], period_ms: 1000, span: None };
    let levels = vec![255, 204, 51, 0];
    let free = Hardware { pixels: 4, budget: 4 * 765, levels: levels.clone(), ..Hardware::default() };
    let frame = shown(&one_mode(vec![white], FLASH), &free, struck(2, 0)).pop().expect("frames");
    assert!(frame.chunks(3).zip(levels).all(|(p, l)| p.iter().all(|v| v.abs_diff(l) <= 1)), "{frame:?}");
    let odd = Hardware { levels: vec![9; 5], ..free };
    let table = Table::new(&one_mode(Vec::new(), FLASH), &Thresholds::default(), &odd);
    let words = table.expect_err("five levels for four pixels").iter().map(ToString::to_string).collect::<Vec<_>>();
    assert_eq!(words, ["the number of levels is 5; give 4 to 4"]);
}

#[test]
fn the_starter_lights_up() {
    let mut engine = patient_engine();
    let mut events = Vec::new();
    for sample in struck(3, 0) {
        engine.step(&sample, &mut events);
    }
    assert!(engine.pixels().chunks(3).all(|p| p[2] > 60));
}

/// Whatever was on the strip, it is dark 0.6 s after it was put out: purses fill again in half a second.
#[test]
fn the_limiter_lets_it_go_dark() {
    let mut dice = Dice(31);
    let mut slowest = 0;
    for _ in 0..150 {
        let pixels = 10 + dice.below(60) as u16;
        let window = 1 + dice.below(12) as u16;
        let budget = u32::from(pixels) * (100 + dice.below(665));
        let hardware = Hardware { pixels, budget, flash_window: Some(window), ..Hardware::default() };
        let lights = wild_lights(&mut dice);
        let every = 40 + dice.below(100) as usize;
        let lasts = 2 + dice.below(3) as usize;
        let lit = struck(lasts, every);
        let out = std::iter::repeat_n(PRESS, 40).chain(std::iter::repeat_n(REST, 400));
        let frames = shown(&one_mode(lights, FLASH), &hardware, lit.chain(out));
        // The mode ends with the release: 40 samples and 4 after all that was lit.
        let dark_from = (40 + lasts * 400 + 44) / 8 + 1;
        let bright = frames.iter().rposition(|f| f.iter().any(|&v| v > 0)).unwrap_or(0);
        slowest = slowest.max(bright.saturating_sub(dark_from));
    }
    assert!((1..=30).contains(&slowest), "{slowest} frames");
}
