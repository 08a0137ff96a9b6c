//! What the maker says about what the prop does: `[behaviour]`, `[mode.NAME]`, `[sound.NAME]`, `[motion]`.

mod board;
mod modes;
mod motion;
mod sounds;

use crate::catalogue::rows::Stock;
use crate::catalogue::{Board, Chip};
use crate::fields::{Field, Fields};
use crate::quantity::{Quantity, Wanted};
use behaviour::motion::{Act, script};
use behaviour::program::Pins;
use behaviour::{Behaviour, Pace, Thresholds};

pub use sounds::{SoundRules, SoundSource};

/// What the prop does, and on what.
#[derive(Clone, Debug, PartialEq)]
pub struct ConductRules {
    /// Modes and rules. Pixels count from 0 here; lengths of sounds are not known yet (0).
    pub behaviour: Behaviour,
    /// `[sound.NAME]`, in file order, which is that of the behaviour.
    pub sounds: Vec<SoundRules>,
    /// `[motion]`, and the cell's thresholds.
    pub thresholds: Thresholds,
    /// `behaviour.pace`: samples of motion a second.
    pub pace: Pace,
    /// `behaviour.sound-rate`: samples of sound a second.
    pub sound_hz: u32,
    /// `behaviour.current`: the most that the strip may take, A; a third of full white if nothing is said.
    pub current_a: Option<f64>,
    /// `behaviour.dim-to`: light that is left when the cell is low, percent.
    pub dim_pct: u16,
    /// `behaviour.calm`: whether flashes are kept from coming too often.
    pub calm: bool,
    /// `behaviour.pixels`: pixels of one strip, if the maker says so; otherwise they follow from the shape.
    pub pixels: Option<u16>,
    /// `behaviour.use`: what is done with the prop, for the findings.
    pub used: Vec<Act>,
    /// The same as the maker wrote it.
    pub used_text: String,
    /// The board.
    pub board: Board,
    /// The motion sensor.
    pub chip: Chip,
    /// Which pin has what.
    pub pins: Pins,
    /// `behaviour.sensor-axes`: which of the sensor's axes lies along, across and through the prop, if the maker says so.
    pub axes: Option<[i8; 3]>,
    /// `behaviour.colours`: order on the strip's wire; 0, 1, 2 is red, green, blue.
    pub wire: [u8; 3],
    /// `behaviour.speaker`: sound level of the speaker in 1 m at 1 W, dB.
    pub speaker_db: f64,
    /// `behaviour.amplifier`: power at full scale, W.
    pub amplifier_w: f64,
    /// `behaviour.ear`: from the speaker to the ear, mm.
    pub ear_mm: f64,
    /// `behaviour.loudest`: the most at the ear, dB(A).
    pub loudest_db: f64,
}

/// What is done with a prop of which nothing is said: a round among people, with what its triggers are for.
const USED: &str = "press, walk 60 s, idle 60 s, swing, strike, swing, strike, parry, swing, strike, bumps 30 s";

/// A small speaker in 1 m at 1 W, dB (from memory: 80 to 85 for 28 to 40 mm).
const SPEAKER_DB: f64 = 82.0;
/// What a small amplifier gives a small speaker, W (common practice, no source).
const AMPLIFIER_W: f64 = 1.0;
/// Arm's length, mm (our choice).
const EAR_MM: f64 = 600.0;
/// The lower exposure action value of Directive 2003/10/EC for a working day, dB(A) (from memory).
const LOUDEST_DB: f64 = 80.0;

/// Reads everything about what the prop does; nothing without `[behaviour]`.
#[expect(clippy::option_option, reason = "absent and unreadable are two things here")]
pub(super) fn read_conduct(root: &mut Fields<'_>, stock: &Stock) -> Option<Option<ConductRules>> {
    let Some(field) = root.get("behaviour") else {
        // What belongs to it is known, and stands alone.
        let alone = ["mode", "sound", "motion"].map(|name| root.get(name).is_some());
        if alone.contains(&true) {
            root.need("behaviour", "[behaviour], and below it board = \"two-core-133\"")?;
        }
        return Some(None);
    };
    const CURRENT: Wanted = Wanted::of(Quantity::Current, 0.01, 60.0, "1.2 A");
    const RATE: Wanted = Wanted::of(Quantity::Frequency, 8000.0, 48_000.0, "22.05 kHz");
    const SHARE: Wanted = Wanted::of(Quantity::Share, 0.0, 1.0, "30 %");
    const LEVEL: Wanted = Wanted::of(Quantity::SoundLevel, 40.0, 120.0, "82 dB");
    const WATT: Wanted = Wanted::of(Quantity::Power, 0.01, 50.0, "1 W");
    const EAR: Wanted = Wanted::length(50.0, 5000.0, "60 cm");
    let mut table = field.table()?;
    let (sounds, names) = sounds::read(root);
    let behaviour = modes::read(root, &mut table, &names);
    let thresholds = motion::read(root, &mut table);
    let on_board = board::read(&mut table, stock);
    let pace = table.get("pace").map_or(Some(Pace::Hz400), |f| read_pace(&f));
    let sound_rate = table.quantity("sound-rate", &RATE, Some(22_050.0));
    let current = table.optional_quantity("current", &CURRENT);
    let dim_to = table.quantity("dim-to", &SHARE, Some(0.3));
    let calm = table.flag("calm", true);
    let pixels = table.optional("pixels", |f| f.whole(1..=600).map(|p| p as u16));
    let used = table.get("use").map_or_else(|| script(USED).ok().map(|acts| (acts, USED.to_owned())), |f| read_use(&f));
    let speaker = table.quantity("speaker", &LEVEL, Some(SPEAKER_DB));
    let amplifier = table.quantity("amplifier", &WATT, Some(AMPLIFIER_W));
    let ear = table.quantity("ear", &EAR, Some(EAR_MM));
    let loudest = table.quantity("loudest", &LEVEL, Some(LOUDEST_DB));
    table.finish();
    let board::OnBoard { board, chip, pins, axes, wire } = on_board?;
    let (used, used_text) = used?;
    Some(Some(ConductRules {
        behaviour: behaviour?,
        sounds: sounds?,
        thresholds: thresholds?,
        pace: pace?,
        sound_hz: sound_rate?.round() as u32,
        current_a: current?,
        dim_pct: percent(dim_to?),
        calm: calm?,
        pixels: pixels?,
        used,
        used_text,
        board,
        chip,
        pins,
        axes,
        wire,
        speaker_db: speaker?,
        amplifier_w: amplifier?,
        ear_mm: ear?,
        loudest_db: loudest?,
    }))
}

/// A share as whole percent.
fn percent(share: f64) -> u16 {
    (share * 100.0).round() as u16
}

/// A time as whole milliseconds.
fn millis(time_s: f64) -> u32 {
    (time_s * 1000.0).round() as u32
}

fn read_pace(field: &Field<'_>) -> Option<Pace> {
    field.choice(&[("200 Hz", Pace::Hz200), ("400 Hz", Pace::Hz400)])
}

fn read_use(field: &Field<'_>) -> Option<(Vec<Act>, String)> {
    let text = field.text()?;
    match script(text) {
        Ok(acts) => Some((acts, text.to_owned())),
        Err(error) => field.error(error.to_string(), "say for example \"press, walk 60 s, swing, strike\""),
    }
}
