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
        expect![[r##"
            prop.toml, line 8, column 9: behaviour.board: the catalogue has no "two-core-13"
                8 | board = "two-core-13"
                  |         ^^^^^^^^^^^^^
              to mend it: did you mean "two-core-133"?

            prop.toml, line 9, column 22: behaviour.on.strike.play: there is no [sound.knok]
                9 | on.strike = { play = "knok" }
                  |                      ^^^^^^
              to mend it: did you mean "knock"?

            prop.toml, line 10, column 19: behaviour.on.swing.to: there is no [mode.rowsed]
               10 | on.swing = { to = "rowsed" }
                  |                   ^^^^^^^^
              to mend it: this file has: "asleep", "lit"

            prop.toml, line 13, column 4: mode.asleep.on.kick: there is no such key
               13 | on.kick = { to = "lit" }
                  |    ^^^^
              to mend it: what can stand here: "short-press", "long-press", "swing", "swing-end", "strike", "twist", "tip-up", "tip-down", "level", "still", "dropped", "time", "battery-low"

            prop.toml, line 15, column 19: mode.lit.light.moves: "blink" is not one of the choices
               15 | light = { moves = "blink", colour = "#4080f" }
                  |                   ^^^^^^^
              to mend it: what can stand here: "steady", "breathe", "pulse", "fill", "drain", "flicker", "spark"

            prop.toml, line 15, column 37: mode.lit.light.colour: "#4080f" is no colour
               15 | light = { moves = "blink", colour = "#4080f" }
                  |                                     ^^^^^^^^
              to mend it: write red, green and blue in two figures each, as on a screen: "#ff8020"

            prop.toml, line 16, column 17: mode.lit.hum.sound: there is no [sound.drone]
               16 | hum = { sound = "drone" }
                  |                 ^^^^^^^
              to mend it: this file has: "knock", "a b"

            prop.toml, line 17, column 4: mode.lit.on.time: nothing happens here
               17 | on.time = { loud = "3 %" }
                  |    ^^^^
              to mend it: say where it leads (to), what it plays (play) or how it flashes (flash)

            prop.toml, line 20, column 8: sound.a b: this name becomes a file on the board
               20 | [sound."a b"]
                  |        ^^^^^
              to mend it: use letters, digits, - and _ only, 32 at most: [sound.low-bell]

            prop.toml, line 21, column 9: sound.a b.makes: "gong" is not one of the choices
               21 | makes = "gong"
                  |         ^^^^^^
              to mend it: what can stand here: "hum", "rush", "bar", "rise", "fall", "crackle"
        "##]],
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
        expect![[r##"
            prop.toml, line 9, column 8: behaviour.pins: strip on pin 24: that pin does not lead out, or is no output
                9 | pins = { cell = 5, clock = 2, button = 2, strip = 24 }
                  |        ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
              to mend it: two-core-133 has for it: 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 26, 27, 28

            prop.toml, line 9, column 8: behaviour.pins: cell on pin 5: it reads no voltage
                9 | pins = { cell = 5, clock = 2, button = 2, strip = 24 }
                  |        ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
              to mend it: two-core-133 has for it: 26, 27, 28

            prop.toml, line 9, column 8: behaviour.pins: clock on pin 2: the bus cannot have its clock there
                9 | pins = { cell = 5, clock = 2, button = 2, strip = 24 }
                  |        ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
              to mend it: two-core-133 has for it: 1, 5, 9, 13, 17, 21

            prop.toml, line 10, column 15: behaviour.sensor-axes: no sensor lies so: these axes are a mirror image
               10 | sensor-axes = ["+x", "+y", "-z"]
                  |               ^^^^^^^^^^^^^^^^^^
              to mend it: turn one of the three the other way round

            prop.toml, line 11, column 8: behaviour.pace: "300 Hz" is not one of the choices
               11 | pace = "300 Hz"
                  |        ^^^^^^^^
              to mend it: did you mean "200 Hz"?

            prop.toml, line 12, column 7: behaviour.use: act 2, "jump": no such act; there are: rest, walk, run, idle, bumps, shake, swing, strike, parry, tip-up, tip-down, level, twist, set-down, drop, press
               12 | use = "walk 20 s, jump"
                  |       ^^^^^^^^^^^^^^^^^
              to mend it: say for example "press, walk 60 s, swing, strike"

            prop.toml, line 13, column 14: behaviour.dims-below: it goes dark at 3200 mV, before it dims at 3100 mV
               13 | dims-below = "3.1 V"
                  |              ^^^^^^^
              to mend it: dims-below must be the higher of the two

            prop.toml, line 15, column 9: mode.asleep.light: the first mode is the dark one: the prop starts in it after every reset
               15 | light = { colour = "#102030" }
                  |         ^^^^^^^^^^^^^^^^^^^^^^
              to mend it: leave this out, or put a dark mode before this one

            prop.toml, line 17, column 40: mode.lit.light.pixels: this ends before it begins
               17 | light = { colour = "#102030", pixels = [7, 3] }
                  |                                        ^^^^^^
              to mend it: write [3, 7]

            prop.toml, line 18, column 9: mode.lit.lasts: 1 ms is too small
               18 | lasts = "1 ms"
                  |         ^^^^^^
              to mend it: it must lie from 0.02 s to 86400 s

            prop.toml, line 21, column 10: motion.strike: "kg" is a unit of mass, and this must be an acceleration
               21 | strike = "2.5 kg"
                  |          ^^^^^^^^
              to mend it: accelerations need a unit (g or m/s2), for example "2.5 g"
        "##]],
    );
}

#[test]
fn what_belongs_to_a_behaviour_wants_one() {
    check_more(
        r##"[mode.asleep]
"##,
        expect![[r#"
            prop.toml: behaviour: this table is missing
              to mend it: add [behaviour], and below it board = "two-core-133"
        "#]],
    );
}

#[test]
fn a_behaviour_wants_modes() {
    check_more(
        r##"[behaviour]
board = "two-core-133"
"##,
        expect![[r#"
            prop.toml: mode: this table is missing
              to mend it: add [mode.asleep], the dark one that the prop starts in, and others below it
        "#]],
    );
}
