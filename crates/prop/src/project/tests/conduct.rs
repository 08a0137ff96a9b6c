//! What the prop does, as a maker writes it.

use super::*;
use crate::project::SoundSource;
use behaviour::program::Driver;
use behaviour::{Effect, Flash, Light, Pace, Trigger};

const LIT: &str = r##"
[light]
strip = "strip-60"

[behaviour]
board = "own-board"
pins = { strip = 6, button = 3 }
colours = "rgb"
sensor-axes = ["-y", "+x", "+z"]
pace = "200 Hz"
sound-rate = "16 kHz"
current = "1.2 A"
dim-to = "25 %"
dims-below = "3.5 V"
dark-below = "3.1 V"
calm = false
pixels = 48
use = "walk 20 s, swing"
on.strike = { play = "knock", loud = "70 %", duck = "40 %", flash = { at = 12, reach = 5, fades = "300 ms" } }
on.long-press = { to = "asleep" }

[mode.asleep]
on.short-press = { to = "lit", play = "bell" }

[mode.lit]
light = [
    { moves = "breathe", colour = "#4080ff", round = "2.6 s", low = "50 %" },
    { colour = "#ff0000", pixels = [3, 7] },
]
hum = { sound = "drone", loud = "30 %", swell = "25 %", bend = "8 %" }
lasts = "90 s"
on.time = { to = "asleep" }

[sound.drone]
makes = "hum"
pitch = "110 Hz"

[sound.knock]
makes = "bar"
contact = "1 ms"

[sound.bell]
file = "sounds/bell.wav"

[motion]
swing = "450 deg/s"
strike = "3 g"
still-time = "1.5 s"
drops = true

[board.own-board]
kind = "two-core-150"
clock = "200 MHz"
"##;

#[test]
fn a_behaviour_is_read() {
    let p = read(&format!("{LEAST}{LIT}"));
    let rules = p.conduct.as_ref().unwrap();
    assert_eq!((rules.board.clock_mhz, rules.board.driver), (200.0, Driver::StateMachine));
    assert_eq!((rules.pins.strip, rules.pins.button, rules.pins.cell), (6, 3, 26));
    assert_eq!((rules.wire, rules.axes), ([0, 1, 2], Some([-2, 1, 3])));
    assert_eq!((rules.pace, rules.sound_hz, rules.dim_pct, rules.calm), (Pace::Hz200, 16000, 25, false));
    assert_eq!((rules.current_a, rules.pixels, rules.used.len()), (Some(1.2), Some(48), 2));
    let t = &rules.thresholds;
    assert_eq!((t.swing_dps, t.strike_mg, t.still_ms, t.drops), (450, 3000, 1500, true));
    assert_eq!((t.low_mv, t.empty_mv, t.twist_dps), (3500, 3100, 300));
    let [asleep, lit] = rules.behaviour.modes.as_slice() else { panic!("{:?}", rules.behaviour.modes) };
    assert!(asleep.name == "asleep" && asleep.lights.is_empty() && asleep.hum.is_none());
    assert_eq!(lit.lasts_ms, Some(90_000));
    let plain = Light { effect: Effect::Steady, colour: [255, 0, 0], period_ms: 1000, span: Some((2, 7)) };
    assert_eq!(lit.lights[1], plain, "pixels 3 to 7 as the maker counts them");
    assert_eq!(lit.lights[0].effect, Effect::Breathe { low: 128 });
    // A mode's own rules before those for all of them.
    let on: Vec<(Option<&str>, Trigger)> = rules.behaviour.rules.iter().map(|r| (r.from.as_deref(), r.on)).collect();
    let all = [
        (Some("asleep"), Trigger::ShortPress),
        (Some("lit"), Trigger::Time),
        (None, Trigger::LongPress),
        (None, Trigger::Strike),
    ];
    assert_eq!(on, all);
    let strike = &rules.behaviour.rules[3];
    assert_eq!(strike.flash, Some(Flash { colour: [255; 3], at: Some(11), reach: 5, fades_ms: 300 }));
    let shot = strike.sound.as_ref().unwrap();
    assert_eq!((shot.sound.as_str(), shot.gain_pct, shot.duck_pct), ("knock", 70, 40));
    assert!(
        matches!(&rules.sounds[2].source, SoundSource::File { path, bytes } if path == "sounds/bell.wav" && bytes.is_empty())
    );
}

#[test]
fn without_one_nothing_is_said() {
    assert_eq!(read(LEAST).conduct, None);
}

#[test]
fn names_that_are_not_there_are_told_at_their_places() {
    check_more(
        r##"[behaviour]
board = "two-core-13"
on.strike = { play = "knok" }
on.swing = { to = "rowsed" }
[mode.asleep]
on.short-press = { to = "lit" }
on.kick = { to = "lit" }
[mode.lit]
light = { moves = "blink", colour = "#4080f" }
hum = { sound = "drone" }
on.time = { loud = "3 %" }
[sound.knock]
makes = "bar"
[sound."a b"]
makes = "gong"
"##,
        expect![[r#""#]],
    );
}

#[test]
fn numbers_and_pins_that_cannot_be_are_told() {
    check_more(
        r##"[behaviour]
board = "two-core-133"
pins = { cell = 5, clock = 2, button = 2, strip = 24 }
sensor-axes = ["+x", "+y", "-z"]
pace = "300 Hz"
use = "walk 20 s, jump"
dims-below = "3.1 V"
[mode.asleep]
light = { colour = "#102030" }
[mode.lit]
light = { colour = "#102030", pixels = [7, 3] }
lasts = "1 ms"
[motion]
swing = "150 deg/s"
strike = "2.5 kg"
"##,
        expect![[r#""#]],
    );
}

#[test]
fn what_belongs_to_a_behaviour_wants_one() {
    check_more(
        r##"[mode.asleep]
"##,
        expect![[r#""#]],
    );
}

#[test]
fn a_behaviour_wants_modes() {
    check_more(
        r##"[behaviour]
board = "two-core-133"
"##,
        expect![[r#""#]],
    );
}
