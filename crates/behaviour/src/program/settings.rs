//! What is in `settings.py`: thresholds, pins and tables as numbers.

use super::board::Board;
use crate::Pace;
use crate::calm::{BRIGHT, CHANGE, RED_BRIGHT, RED_CHANGE};
use crate::limits::FRAMES_A_SECOND;
use crate::table::Table;

/// The text of the settings, with a word on how to change them.
pub(crate) fn settings(table: &Table, board: &Board) -> String {
    let hardware = &table.hardware;
    let mut text = "\
# Settings of this prop. Colours are the last three numbers of a light in MODES (red, green, blue, 0 to 255); thresholds
# are in counts: rates squared at 1.024 a degree per second, jerk at 256 a g, times in samples. LEVELS: how far each pixel of a strip
# goes, 255 all the way.
"
    .to_owned();
    let mut say = |name: &str, value: String| text.push_str(&format!("{name} = {value}\n"));
    let pace = hardware.pace;
    let window = hardware.flash_window.map_or(0, |w| w.min(hardware.pixels));
    let numbers = [
        ("PACE", pace.hz()),
        ("STEP_US", 1_000_000 / pace.hz()),
        ("FRAMES_A_SECOND", FRAMES_A_SECOND),
        ("FRAME_EVERY", pace.frame_every()),
        ("PIXELS", hardware.pixels.into()),
        ("STRIPS", hardware.strips.into()),
        ("BUDGET", hardware.budget as i32),
        ("WINDOW", window.into()),
        ("CHANGE", CHANGE),
        ("BRIGHT", BRIGHT),
        ("RED_CHANGE", RED_CHANGE),
        ("RED_BRIGHT", RED_BRIGHT),
        ("SOUND_HZ", hardware.sound_hz as i32),
        ("DIM", table.dim),
        ("MOST_LIGHTS", table.modes.iter().map(|m| m.lights.len()).max().unwrap_or(0) as i32),
    ];
    for (name, value) in numbers.into_iter().chain(limits(table)) {
        say(name, value.to_string());
    }
    say("DROPS", if table.limits.drops { "True" } else { "False" }.to_owned());
    let levels: Vec<i32> = hardware.levels.iter().map(|l| i32::from(*l)).collect();
    say("LEVELS", format!("bytes({})", numbers_of(&levels)));
    say(
        "MODES",
        tuple(table.modes.iter().map(|m| {
            let lights = tuple(m.lights.iter().map(|l| numbers_of(l)));
            format!("({}, {lights}, {}, {})", quoted(&m.name), numbers_of(&m.hum), m.lasts)
        })),
    );
    say("RULES", numbers_of(&table.rules.iter().map(|r| *r as i32).collect::<Vec<_>>()));
    say(
        "ACTS",
        tuple(table.acts.iter().map(|a| format!("({}, {}, {})", a.to, numbers_of(&a.shot), numbers_of(&a.flash)))),
    );
    say("SOUNDS", tuple(table.sounds.iter().map(|(name, length)| format!("({}, {length})", quoted(name)))));
    let pins = &board.pins;
    for (name, value) in [
        ("PIN_STRIP", pins.strip),
        ("PIN_BUTTON", pins.button),
        ("PIN_CELL", pins.cell),
        ("PIN_CLOCK", pins.clock),
        ("PIN_DATA", pins.data),
        ("PIN_SOUND_CLOCK", pins.sound_clock),
        ("PIN_SOUND_DATA", pins.sound_data),
        ("I2C_BUS", pins.bus),
        ("SENSOR_ADDRESS", board.sensor.address),
        ("SENSOR_DATA", board.sensor.data),
    ] {
        say(name, value.to_string());
    }
    say("CELL_FULL_MV", board.cell_full_mv.to_string());
    let filter = board.sensor.filters[usize::from(pace == Pace::Hz400)];
    let setup = board.sensor.setup.iter().chain([&filter]);
    say("SENSOR_SETUP", tuple(setup.map(|(register, value)| format!("({register}, {value})"))));
    say("AXES", numbers_of(&board.sensor.axes.map(i32::from)));
    say("WIRE", numbers_of(&board.wire.map(i32::from)));
    text
}

fn limits(table: &Table) -> [(&'static str, i32); 33] {
    let l = &table.limits;
    [
        ("STRIKE_ON", l.strike_on),
        ("STRIKE_RATIO", l.strike_ratio),
        ("STRIKE_ATTACK", l.strike_attack),
        ("STRIKE_RELEASE", l.strike_release),
        ("REST_N", l.rest_n),
        ("LANDED_N", l.landed_n),
        ("LANDING_N", l.landing_n),
        ("FALL_OFF", l.fall_off),
        ("FALL_FORCE2", l.fall_force2),
        ("FALL_N", l.fall_n),
        ("MEAN_GAIN", l.mean_gain),
        ("UNREST_SHIFT", l.unrest_shift),
        ("UNREST_MOST", l.unrest_most),
        ("SWING_ON2", l.swing_on2),
        ("SWING_OFF2", l.swing_off2),
        ("SWING_HARD2", l.swing_hard2),
        ("SWING_ON_N", l.swing_on_n),
        ("SWING_OFF_N", l.swing_off_n),
        ("TWIST_ON", l.twist_on),
        ("TWIST_N", l.twist_n),
        ("TURN_GAIN", l.turn_gain),
        ("PULL_SHIFT", l.pull_shift),
        ("UPRIGHT", l.upright),
        ("LEVEL", l.level),
        ("POSE_N", l.pose_n),
        ("STILL_FORCE", l.still_force),
        ("STILL_TURN", l.still_turn),
        ("STILL_N", l.still_n),
        ("SHORT_N", l.short_n),
        ("LONG_N", l.long_n),
        ("CELL_SHIFT", l.cell_shift),
        ("LOW_MV", l.low_mv),
        ("EMPTY_MV", l.empty_mv),
    ]
}

/// A tuple of parts, also of none or one.
fn tuple(parts: impl Iterator<Item = String>) -> String {
    let inner: String = parts.map(|p| p + ", ").collect();
    format!("({})", inner.trim_end_matches(' '))
}

fn numbers_of(numbers: &[i32]) -> String {
    tuple(numbers.iter().map(i32::to_string))
}

/// A name as text of the program: what could end the text or the line is written by number.
fn quoted(name: &str) -> String {
    let inner: String = name
        .chars()
        .map(|c| match c {
            'a'..='z' | 'A'..='Z' | '0'..='9' | ' ' | '-' | '_' | '.' => c.to_string(),
            c => format!("\\U{:08x}", u32::from(c)),
        })
        .collect();
    format!("\"{inner}\"")
}
