//! What the prop does: from the project's data and the strip's pixels to an engine that can be rehearsed and a program for the
//! board.
//!
//! The engine itself is the crate `behaviour`, which knows no props. `sounds` makes its sounds, `played` lets it hear a
//! motion, `trial` tries what the project says the prop is used for, `judged` makes findings of it, `loudness` those of its sound;
//! `levels` brings `light.levels`.

mod judged;
mod levels;
mod loudness;
mod played;
mod sounds;
mod trial;

use crate::project::{ConductRules, Project};
use crate::refusal::{Problem, problem};
use behaviour::program::{Board, File, Flavour, Load, ProgramError, SensorChip, load, program};
use behaviour::{Flaw, Hardware, SoundError, Table, TableError, ThresholdError, verify};

pub use judged::{ConductView, judged};
pub(crate) use judged::{counted, most_flashes, within_cap};
pub use levels::levels_of_pack;
pub(crate) use loudness::{LEVEL_DB, loudest_at_ear_db};
pub use played::{LevelRow, Played, SILENT_DBFS, Source, play, played_from};
pub use trial::{Heard, Trial};

/// A behaviour on its hardware, ready to run.
#[derive(Clone, Debug, PartialEq)]
pub struct Conduct {
    /// What the project says.
    pub rules: ConductRules,
    /// What the engine runs.
    pub table: Table,
    /// The sounds in the table's order, mono.
    pub sounds: Vec<Vec<i16>>,
    /// Strips one after the other that show the same.
    pub strips: u16,
    /// Pixels of each.
    pub pixels: u16,
    /// Pixels that are seen together as one place when it comes to flashing, whether or not the limiter is on.
    pub seen: u16,
    /// Current of one chip of a pixel at full, A.
    pub channel_a: f64,
    /// What it can run with, and its maker should know.
    pub flaws: Vec<Flaw>,
}

/// Length of a strip that is seen together as one place when it comes to flashing, mm: from 1 m, 4 cm wide, it fills the
/// 0.006 steradians that WCAG 2.2 frees.
const SEEN_MM: f64 = 150.0;

/// The behaviour of a project on `strips` strips of `pixels` pixels each; `None` if it has none. `levels` say how far each of a
/// strip's pixels goes, 255 all the way; none if all of them do.
///
/// # Errors
/// Everything that keeps it from running, each with its place in the project file.
pub fn conduct(project: &Project, strips: u16, pixels: u16, levels: Vec<u8>) -> Result<Option<Conduct>, Vec<Problem>> {
    let Some(rules) = &project.conduct else { return Ok(None) };
    let Some(light) = &project.light else {
        return Err(vec![problem(
            &["behaviour"],
            "there is no strip that it could light",
            "add [light], and below it strip = \"strip-60\"",
        )]);
    };
    let (sounds, mut problems) = sounds::made(rules);
    let mut behaviour = rules.behaviour.clone();
    for (sound, samples) in behaviour.sounds.iter_mut().zip(&sounds) {
        sound.samples = u32::try_from(samples.len()).unwrap_or(u32::MAX);
    }
    let channel_a = light.strip.shine.current_a;
    let most = u32::from(pixels) * 765;
    let budget = match rules.current_a {
        Some(amps) => (amps / (f64::from(strips) * channel_a) * 255.0) as u32,
        None => most / 3,
    };
    let seen = (SEEN_MM / light.strip.pitch_mm).round().clamp(1.0, f64::from(pixels.max(1))) as u16;
    let hardware = Hardware {
        pace: rules.pace,
        pixels,
        strips,
        budget: budget.clamp(1, most.max(1)),
        flash_window: rules.calm.then_some(seen),
        sound_hz: rules.sound_hz,
        dim_pct: rules.dim_pct,
        levels,
    };
    // A sound that could not be made has no length, which is said already.
    if !problems.is_empty() {
        return Err(problems);
    }
    let table = match Table::new(&behaviour, &rules.thresholds, &hardware) {
        Ok(table) => table,
        Err(all) => {
            problems.extend(all.iter().map(|error| placed(error, rules)));
            return Err(problems);
        }
    };
    let flaws = verify(&behaviour, pixels);
    Ok(Some(Conduct { rules: rules.clone(), table, sounds, strips, pixels, seen, channel_a, flaws }))
}

/// A mistake of the table at its place in the project file.
fn placed(error: &TableError, rules: &ConductRules) -> Problem {
    let message = error.to_string();
    match error {
        TableError::Flaw(flaw) => {
            let key = match flaw {
                Flaw::Pixel { place, .. } | Flaw::Range { place, .. } | Flaw::Missing { place, .. } => {
                    mode_of(place, rules)
                }
                _ => vec!["mode".to_owned()],
            };
            let remedy = match flaw {
                Flaw::Pixel { pixels, .. } => format!("pixels count from 1 to {pixels} along each strip"),
                _ => "change it as it says".to_owned(),
            };
            Problem { key, message: counted_from_one(flaw).unwrap_or(message), remedy }
        }
        TableError::Threshold(ThresholdError::Range { .. } | ThresholdError::Order { .. }) => {
            problem(&["motion"], message, "change it as it says")
        }
        TableError::Hardware { .. } => problem(&["behaviour"], message, "change it as it says"),
    }
}

/// The same in the maker's count: pixels from 1, both ends meant.
fn counted_from_one(flaw: &Flaw) -> Option<String> {
    let Flaw::Pixel { place, first, end, pixels } = flaw else { return None };
    let (first, last) = (u32::from(*first) + 1, *end);
    let wanted = if first == u32::from(last) { format!("pixel {first}") } else { format!("pixels {first} to {last}") };
    Some(format!("{place} wants {wanted}, and a strip has {pixels}"))
}

/// Where the project file says what a flaw's place speaks of: `mode "lit"`, or `the rule on swing in lit`.
fn mode_of(place: &str, rules: &ConductRules) -> Vec<String> {
    let key = |name: &str, rest: &[&str]| {
        let rest = rest.iter().map(|r| (*r).to_owned());
        std::iter::once("mode".to_owned()).chain([name.to_owned()]).chain(rest).collect()
    };
    let rule = place.strip_prefix("the rule on ").and_then(|rest| rest.split_once(" in "));
    if let Some((on, mode)) = rule {
        return if rules.behaviour.modes.iter().any(|m| m.name == mode) {
            key(mode, &["on", on])
        } else {
            ["behaviour", "on", on].map(str::to_owned).to_vec()
        };
    }
    let mode = rules.behaviour.modes.iter().find(|m| place == format!("mode {:?}", m.name));
    mode.map_or_else(|| vec!["mode".to_owned()], |m| key(&m.name, &["light"]))
}

impl Conduct {
    /// The strip's current for a sum of all channels of one strip, A.
    pub fn current_a(&self, total: i32) -> f64 {
        f64::from(total) / 255.0 * self.channel_a * f64::from(self.strips)
    }

    /// The most that the strip is ever driven to, A.
    pub fn most_a(&self) -> f64 {
        self.current_a(i32::try_from(self.table.hardware().budget).unwrap_or(i32::MAX))
    }

    /// Sound level at the ear of a level in dB below a full sine, dB.
    pub fn at_ear_db(&self, dbfs: f64) -> f64 {
        self.rules.speaker_db + 10.0 * libm::log10(self.rules.amplifier_w)
            - 20.0 * libm::log10(self.rules.ear_mm / 1000.0)
            + dbfs
    }

    /// The board, with the sensor's axes as it lies in the prop.
    pub fn board(&self, axes: [i8; 3]) -> Board {
        let (board, chip) = (&self.rules.board, &self.rules.chip);
        Board {
            driver: board.driver,
            clock_mhz: board.clock_mhz,
            cycles: board.cycles,
            storage_bytes: board.storage_bytes,
            pins: self.rules.pins,
            sensor: SensorChip {
                address: chip.address,
                setup: chip.setup.iter().map(|[register, value]| (*register, *value)).collect(),
                filters: chip.filters.map(|[register, value]| (register, value)),
                data: chip.first,
                axes,
            },
            cell_full_mv: (board.cell_full_v * 1000.0).round() as u16,
            wire: self.rules.wire,
        }
    }

    /// The share of its time that the board is busy.
    pub fn load(&self) -> Load {
        load(&self.table, &self.board([1, 2, 3]))
    }

    /// The files for the board.
    ///
    /// # Errors
    /// The board cannot hold the timing or the files: the reason, at its place.
    pub fn program(&self, axes: [i8; 3]) -> Result<Vec<File>, Problem> {
        let refused = |error: &ProgramError| {
            let remedy = "as it says; other boards are rows of the catalogue: behaviour.board";
            problem(&["behaviour", "board"], error.to_string(), remedy)
        };
        program(&self.table, &self.sounds, &self.board(axes), Flavour::Viper).map_err(|e| refused(&e))
    }

    /// An engine at rest.
    ///
    /// # Errors
    /// The sounds are not those of the table, which they are as `conduct` makes them.
    pub fn engine(&self) -> Result<behaviour::Engine, SoundError> {
        behaviour::Engine::new(self.table.clone(), self.sounds.clone())
    }
}
