//! A behaviour on given hardware as whole numbers by index: what the engine runs, and what goes onto the board.

use crate::limits::{FRAMES_A_SECOND, Limits};
use crate::paint::FULL;
use crate::verify::rule_for;
use crate::{Behaviour, Effect, Flaw, Hum, Light, Pace, Rule, ThresholdError, Thresholds, Trigger, verify};

/// What the prop has.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hardware {
    /// Samples a second.
    pub pace: Pace,
    /// Pixels on a strip, 1 to 600.
    pub pixels: u16,
    /// Strips one after the other on one wire, each of as many pixels, that all show the same; 600 pixels in all at most.
    pub strips: u16,
    /// The most that all channels of a strip together may be driven, as a sum of values 0 to 255; three times 255 is one white
    /// pixel.
    pub budget: u32,
    /// Pixels seen together as one place when it comes to flashing; `None` leaves flashes as they are.
    pub flash_window: Option<u16>,
    /// Samples of sound a second, 8000 to 48000.
    pub sound_hz: u32,
    /// Light that is left when the cell is low, percent.
    pub dim_pct: u16,
    /// How far each pixel of a strip goes whatever it shows, 255 all the way; none if all go all the way.
    pub levels: Vec<u8>,
}

impl Default for Hardware {
    /// 400 samples a second, 60 pixels, a third of full white, windows of 9 pixels: 15 cm of a strip of 60 a metre, which
    /// fills 0.006 sr at 1 m if it is 4 cm wide.
    fn default() -> Hardware {
        Hardware {
            pace: Pace::Hz400,
            pixels: 60,
            strips: 1,
            budget: 60 * 255,
            flash_window: Some(9),
            sound_hz: 22050,
            dim_pct: 30,
            levels: Vec::new(),
        }
    }
}

/// Why a behaviour could not be made to run.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TableError {
    /// Something of the behaviour itself.
    #[error(transparent)]
    Flaw(#[from] Flaw),
    /// A threshold.
    #[error(transparent)]
    Threshold(#[from] ThresholdError),
    /// A number of the hardware is out of range.
    #[error("{name} is {value}; give {least} to {most}")]
    Hardware {
        /// The field of [`Hardware`].
        name: &'static str,
        /// What it was.
        value: u32,
        /// Least possible.
        least: u32,
        /// Most possible.
        most: u32,
    },
}

/// A behaviour ready to run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    pub(crate) hardware: Hardware,
    pub(crate) limits: Limits,
    pub(crate) modes: Vec<ModeRow>,
    /// By mode and trigger, the index in `acts` plus one, or 0.
    pub(crate) rules: Vec<usize>,
    pub(crate) acts: Vec<Act>,
    /// Name and length of each sound.
    pub(crate) sounds: Vec<(String, u32)>,
    pub(crate) dim: i32,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct ModeRow {
    pub(crate) name: String,
    pub(crate) lights: Vec<LightRow>,
    /// Sound plus one or 0, gain, swell, bend.
    pub(crate) hum: [i32; 4],
    /// Samples until time, or 0.
    pub(crate) lasts: i32,
}

/// Kind, step of the phase a frame, two numbers of the kind, first pixel, end, red, green, blue.
pub(crate) type LightRow = [i32; 9];

/// Kinds of lights by number.
pub(crate) mod kind {
    pub(crate) const STEADY: i32 = 0;
    pub(crate) const BREATHE: i32 = 1;
    pub(crate) const PULSE: i32 = 2;
    pub(crate) const FILL: i32 = 3;
    pub(crate) const DRAIN: i32 = 4;
    pub(crate) const FLICKER: i32 = 5;
    pub(crate) const SPARK: i32 = 6;
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Act {
    /// Mode plus one, or 0 to stay.
    pub(crate) to: i32,
    /// Sound plus one or 0, gain, duck.
    pub(crate) shot: [i32; 3],
    /// Fade a frame or 0 for none and loss a pixel (of 65536), place or -1, red, green, blue.
    pub(crate) flash: [i32; 6],
}

impl Table {
    /// The behaviour on this hardware.
    ///
    /// # Errors
    /// Everything that keeps it from running, all at once. What merely deserves a second thought is [`verify`]'s to say.
    pub fn new(behaviour: &Behaviour, thresholds: &Thresholds, hardware: &Hardware) -> Result<Table, Vec<TableError>> {
        let mut faults = possible(hardware);
        faults.extend(verify(behaviour, hardware.pixels).into_iter().filter(Flaw::is_fatal).map(TableError::Flaw));
        let limits = match Limits::new(thresholds, hardware.pace) {
            Ok(limits) if faults.is_empty() => limits,
            Ok(_) => return Err(faults),
            Err(more) => {
                faults.extend(more.into_iter().map(TableError::Threshold));
                return Err(faults);
            }
        };
        let mut acts: Vec<Act> = Vec::new();
        let mut rules = Vec::new();
        for mode in 0..behaviour.modes.len() {
            for on in Trigger::ALL {
                rules.push(rule_for(behaviour, mode, on).map_or(0, |rule| {
                    let act = act(rule, behaviour);
                    let at = acts.iter().position(|a| *a == act).unwrap_or_else(|| {
                        acts.push(act);
                        acts.len() - 1
                    });
                    at + 1
                }));
            }
        }
        let pace = hardware.pace;
        let modes = behaviour
            .modes
            .iter()
            .map(|mode| ModeRow {
                name: mode.name.clone(),
                lights: mode.lights.iter().map(|l| light(l, hardware.pixels)).collect(),
                hum: mode.hum.as_ref().map_or([0; 4], |h| hum(h, behaviour)),
                lasts: mode.lasts_ms.map_or(0, |ms| samples(ms, pace)),
            })
            .collect();
        let sounds = behaviour.sounds.iter().map(|s| (s.name.clone(), s.samples)).collect();
        let dim = i32::from(hardware.dim_pct) * 256 / 100;
        Ok(Table { hardware: hardware.clone(), limits, modes, rules, acts, sounds, dim })
    }

    /// What it runs on.
    pub fn hardware(&self) -> &Hardware {
        &self.hardware
    }

    /// Pixels painted a frame in the mode that has most to paint, each light for itself.
    pub(crate) fn painted(&self) -> i32 {
        let mode = |m: &ModeRow| m.lights.iter().map(|[_, _, _, _, first, end, ..]| end - first).sum();
        self.modes.iter().map(mode).max().unwrap_or(0)
    }

    /// The name of a mode by its index, as [`crate::Event`] has it.
    pub fn mode_name(&self, mode: usize) -> Option<&str> {
        self.modes.get(mode).map(|m| m.name.as_str())
    }

    /// The name of a sound by its index.
    pub fn sound_name(&self, sound: usize) -> Option<&str> {
        self.sounds.get(sound).map(|s| s.0.as_str())
    }
}

fn possible(hardware: &Hardware) -> Vec<TableError> {
    let pixels = u32::from(hardware.pixels);
    let ranges = [
        ("pixels", pixels, 1, 600),
        ("strips", hardware.strips.into(), 1, 600 / pixels.clamp(1, 600)),
        ("budget", hardware.budget, 1, 600 * 765),
        ("flash_window", hardware.flash_window.unwrap_or(1).into(), 1, 600),
        ("sound_hz", hardware.sound_hz, 8000, 48000),
        ("dim_pct", hardware.dim_pct.into(), 0, 100),
    ];
    // One level for each pixel.
    let given = hardware.levels.len() as u32;
    let levels = (given > 0).then_some(("the number of levels", given, pixels, pixels));
    ranges
        .into_iter()
        .chain(levels)
        .filter(|(_, value, least, most)| !(least..=most).contains(&value))
        .map(|(name, value, least, most)| TableError::Hardware { name, value, least, most })
        .collect()
}

/// A time as samples: whole seconds and the rest apart, so that a day fits.
fn samples(ms: u32, pace: Pace) -> i32 {
    let n = u64::from(ms) * u64::from(pace.hz().unsigned_abs()) / 1000;
    i32::try_from(n).unwrap_or(i32::MAX)
}

fn index<'a>(mut names: impl Iterator<Item = &'a String>, name: &str) -> i32 {
    names.position(|n| n == name).map_or(0, |at| at as i32 + 1)
}

fn sound(behaviour: &Behaviour, name: &str) -> i32 {
    index(behaviour.sounds.iter().map(|s| &s.name), name)
}

fn gain(pct: u16) -> i32 {
    i32::from(pct) * 256 / 100
}

fn hum(hum: &Hum, behaviour: &Behaviour) -> [i32; 4] {
    let bend = i32::from(hum.bend_pct) * 4096 / 100;
    [sound(behaviour, &hum.sound), gain(hum.gain_pct), gain(hum.swell_pct), bend]
}

/// The phase goes from 0 to 65536 in a period.
fn light(light: &Light, pixels: u16) -> LightRow {
    let frame_ms = 1000 / FRAMES_A_SECOND;
    let step = (65536 * frame_ms / light.period_ms.max(1) as i32).max(1);
    let (kind, one, two) = match light.effect {
        Effect::Steady => (kind::STEADY, 0, 0),
        Effect::Breathe { low } => (kind::BREATHE, 0, low),
        Effect::Pulse { reach, low } => (kind::PULSE, i32::from(reach), low),
        Effect::Fill => (kind::FILL, 0, 0),
        Effect::Drain => (kind::DRAIN, 0, 0),
        Effect::Flicker { low } => (kind::FLICKER, 0, low),
        // Chance a frame by 65536.
        Effect::Spark { a_second, low } => (kind::SPARK, i32::from(a_second) * 65535 / FRAMES_A_SECOND, low),
    };
    let (first, end) = light.span.unwrap_or((0, pixels));
    let [r, g, b] = light.colour.map(i32::from);
    [kind, step, one, two.into(), first.into(), end.into(), r, g, b]
}

fn act(rule: &Rule, behaviour: &Behaviour) -> Act {
    let to = rule.to.as_ref().map_or(0, |to| index(behaviour.modes.iter().map(|m| &m.name), to));
    let shot = rule.sound.as_ref().map_or([0; 3], |s| [sound(behaviour, &s.sound), gain(s.gain_pct), gain(s.duck_pct)]);
    let flash = rule.flash.as_ref().map_or([0; 6], |f| {
        let fade = FULL * (1000 / FRAMES_A_SECOND) / i32::from(f.fades_ms);
        let [r, g, b] = f.colour.map(i32::from);
        [fade, FULL / i32::from(f.reach), f.at.map_or(-1, i32::from), r, g, b]
    });
    Act { to, shot, flash }
}
