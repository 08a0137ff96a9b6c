//! What sittings with one material come to: its scattering and absorption.

use super::super::student_975;
use super::{Colour, Light};
use crate::catalogue::Material;
use glow::fit::{Fit, FitError, Guess, Reading, Sitting, Told, fit, fullness};

/// Reflectance of a switched-on screen and its standard deviation: its glass sends back 9 % of diffuse light (Fresnel's
/// formulas at index 1.5), and the layers behind it a little. From memory; a light pad or paper would send back 80 %.
const SCREEN: [f64; 2] = [0.12, 0.05];
/// Fullness of a screen that was not read from 60 degrees, and its standard deviation: those that are sold keep 35 to 80 % of
/// their brightness there (from memory of display reviews).
const FULLNESS: [f64; 2] = [0.75, 0.1];
/// Standard deviation of the fullness of one that was.
const READ_FULLNESS: f64 = 0.03;
/// Standard deviation of the logarithm of what all steps of a sitting are off by together: a screen brighter at one place than
/// at another, exposures that are not what the camera says. Our judgement.
const GAIN: f64 = 0.04;
/// The same when only steps were compared among each other: anything.
const NO_GAIN: f64 = 3.0;
/// Usual standard deviation of the logarithm of one reading. Our judgement.
pub(super) const NOISE: f64 = 0.04;
/// How far off the catalogue's usual scattering and absorption may well be, times: its ranges are guesses.
const GUESS: [f64; 2] = [2.2, 4.0];
/// Scattering known less well than within this, times, is not worth keeping: the catalogue's guess is hardly worse.
const MOST_OFF: f64 = 2.0;
/// Absorption of which more than this is still open stays a guess.
const OPEN: f64 = 0.75;
/// Least absorption that is reckoned with, per mm: window glass.
const CLEAREST: f64 = 1e-4;

/// What a material is known to do to light. Bands are 19 of 20.
#[derive(Clone, Debug, PartialEq)]
pub struct LightSummary {
    /// Material, by its name in the catalogue.
    pub material: String,
    /// Reduced scattering, per mm: usual, low, high.
    pub scatter_per_mm: [f64; 3],
    /// Absorption for red, green and blue, per mm: usual, low, high; `None` where the readings don't tell.
    pub absorb_per_mm: [Option<[f64; 3]>; 3],
    /// Standard deviation of the logarithm of a reading.
    pub noise: f64,
    /// How much worse the readings tell scattering and absorption apart than what both do together.
    pub condition: f64,
    /// Logarithm of each reading over what it should be, in the order of the sittings.
    pub left: Vec<f64>,
    /// From which sheets: the days, each sheet once.
    pub days: Vec<String>,
}

impl LightSummary {
    /// Whether the scattering is told well enough to be used.
    pub fn suffices(&self) -> bool {
        self.scatter_per_mm[2] <= MOST_OFF * self.scatter_per_mm[0]
    }

    /// From what it was learnt, in words.
    pub fn words(&self) -> String {
        let last = self.days.iter().max().map_or("", String::as_str);
        match self.days.len() {
            1 => format!("a light sheet for {} of {last}", self.material),
            n => format!("{n} light sheets for {}, the last of {last}", self.material),
        }
    }

    /// "scatters 2.10 /mm (1.75 to 2.52) and absorbs 0.0060 /mm (0.0030 to 0.0110)".
    pub fn values(&self) -> String {
        let band = |[usual, low, high]: [f64; 3]| format!("{} /mm ({} to {})", short(usual), short(low), short(high));
        let [red, green, blue] = self.absorb_per_mm;
        let absorbs = match [red, green, blue] {
            [None, None, None] => "how much it absorbs the readings don't tell".to_owned(),
            [Some(one), _, _] if red == green && green == blue => format!("absorbs {}", band(one)),
            each => {
                let named = ["red", "green", "blue"].iter().zip(each);
                let told: Vec<String> = named.filter_map(|(c, a)| Some(format!("{} in {c}", band(a?)))).collect();
                format!("absorbs {}", told.join(", "))
            }
        };
        format!("scatters {}; {absorbs}", band(self.scatter_per_mm))
    }
}

/// A value to three figures.
fn short(value: f64) -> String {
    let places = (2.0 - libm::floor(libm::log10(value.max(1e-9)))).clamp(0.0, 6.0);
    format!("{value:.*}", places as usize)
}

/// What `sittings` say of `material`, whose optics as guessed so far are where it starts from; `None` without any.
///
/// # Errors
/// [`FitError`].
pub fn light_summary(sittings: &[&Light], material: &Material) -> Result<Option<LightSummary>, FitError> {
    without(sittings, material, None)
}

/// The same, one reading only asked what is left of it.
pub(super) fn without(
    sittings: &[&Light],
    material: &Material,
    apart: Option<usize>,
) -> Result<Option<LightSummary>, FitError> {
    if sittings.is_empty() {
        return Ok(None);
    }
    let mut colours: Vec<Colour> = sittings.iter().map(|s| s.colour).collect();
    colours.sort_unstable();
    colours.dedup();
    let mut readings: Vec<Reading> = (0..)
        .zip(sittings)
        .flat_map(|(at, sitting)| {
            let band = colours.iter().position(|c| *c == sitting.colour).unwrap_or(0);
            let cosine = sitting.seen.cosine();
            sitting.steps.iter().map(move |[thickness_mm, share]| Reading {
                thickness_mm: *thickness_mm,
                cosine,
                share: *share,
                band,
                sitting: at,
                weight: 1.0,
            })
        })
        .collect();
    if let Some(apart) = apart.and_then(|at| readings.get_mut(at)) {
        apart.weight = 0.0;
    }
    let found = fit(&readings, &guess(sittings, &colours, material))?;
    let reach = student_975(found.freedom);
    let band = |told: &Told| [0.0, -1.0, 1.0].map(|k| told.per_mm * libm::exp(k * reach * told.deviation));
    let told = |colour: Colour| {
        let at = colours.iter().position(|c| *c == colour)?;
        Some(&found.absorb[at]).filter(|t| t.open() < OPEN).map(band)
    };
    let absorb = [Colour::Red, Colour::Green, Colour::Blue].map(|c| told(c).or_else(|| told(Colour::White)));
    let Fit { scatter, noise, condition, .. } = &found;
    let mut notes: Vec<&super::Note> = sittings.iter().map(|s| &s.note).collect();
    notes.sort_by(|a, b| (&a.date, &a.sheet).cmp(&(&b.date, &b.sheet)));
    notes.dedup();
    Ok(Some(LightSummary {
        material: material.name.clone(),
        scatter_per_mm: band(scatter),
        absorb_per_mm: absorb,
        noise: *noise,
        condition: *condition,
        left: found.left,
        days: notes.into_iter().map(|n| n.date.clone()).collect(),
    }))
}

fn guess(sittings: &[&Light], colours: &[Colour], material: &Material) -> Guess {
    let optics = &material.optics;
    let wide = |[usual, low, high]: [f64; 3], times: f64, least: f64| {
        let usual = usual.max(least);
        [low.min(usual / times).max(least / times), high.max(usual * times)]
    };
    let of = |colour: &Colour| match colour {
        Colour::White | Colour::Green => 1,
        Colour::Red => 0,
        Colour::Blue => 2,
    };
    let sitting = |s: &&Light| Sitting {
        gain: if s.of_screen { GAIN } else { NO_GAIN },
        fullness: s.slant.map_or(FULLNESS, |share| [fullness(share), READ_FULLNESS]),
    };
    Guess {
        scatter_per_mm: wide(optics.scatter_per_mm, GUESS[0], 0.01),
        absorb_per_mm: colours.iter().map(|c| wide(optics.absorb_per_mm[of(c)], GUESS[1], CLEAREST)).collect(),
        index: colours.iter().map(|c| optics.index[of(c)]).collect(),
        behind: SCREEN,
        sittings: sittings.iter().map(sitting).collect(),
        noise: NOISE,
    }
}
