//! How the prop glows: the light of every pixel through the walls as they will be printed.
//!
//! `faces` says what each face of a piece is to the light, `scene` puts pieces, strips, spine and wires into it, `cells`
//! divides the outer surface, and [`Lighting`] is what comes out: responses, and per window a [`Profile`]. `choosing` tries
//! what would make a window more even.

mod cells;
mod choosing;
mod faces;
mod levels;
mod profile;
mod scene;

pub use cells::{Cells, SECTORS};
pub use choosing::{Choice, Kind, Outlook, advise};
pub use glow::eye::READS_EVEN;
pub(crate) use profile::evenness;
pub use profile::{Profile, Reading};
pub use scene::{LightError, LightWork, light};

use crate::window::Windows;
use glow::Response;

/// The colour that the eye weighs most, among red, green and blue.
pub(crate) const GREEN: usize = 1;

/// Fine patterns are looked for in the materials' ends when no more noise than this was asked for.
pub(crate) const FINE_NOISE: f64 = 0.05;

/// Everything known about the prop's light.
#[derive(Clone, Debug)]
pub struct Lighting {
    /// Windows and coats.
    pub windows: Windows,
    /// The outer surface of each lit body. Patches of the responses count through all of them, in this order.
    pub cells: Vec<Cells>,
    /// Shares of each pixel's flux that leave each cell, for each optical band that differs.
    pub responses: Vec<Response>,
    /// Which response holds for red, green and blue.
    pub response_of: [usize; 3],
    /// Flux of one pixel's red, green and blue chip at full, lm.
    pub pixel_lm: [f64; 3],
    /// How far each pixel is driven, 0 to 1, in the profiles below: `light.levels`.
    pub levels: Vec<f32>,
    /// How each window glows.
    pub profiles: Vec<Profile>,
    /// The same with the materials at the low and at the high end of their range.
    pub ends: [Vec<Profile>; 2],
    /// Luminance round the prop for each profile; `station_mm` is the angle, degrees, from across towards through.
    pub around: Vec<Vec<Reading>>,
    /// For each profile, the stations between which the window is seen and has pixels before and behind, mm.
    pub lit_mm: Vec<[f64; 2]>,
    /// For each profile, where the window begins and ends, mm.
    pub span_mm: Vec<[f64; 2]>,
    /// For each profile, the share of a room's light that the unlit wall sends back.
    pub reflectance: Vec<f64>,
    /// The brightest place of each body that is to stay dark.
    pub leaks: Vec<Leak>,
    /// From pixel to pixel, mm.
    pub pitch_mm: f64,
    /// From how far the prop is looked at, mm.
    pub viewed_mm: f64,
    /// Noise asked for a square centimetre of window.
    pub noise_asked: f64,
    /// Materials whose optics are a guess.
    pub guessed: Vec<String>,
    /// Changes that were tried for windows that are not even enough.
    pub choices: Vec<Choice>,
}

/// The brightest place that is to stay dark.
#[derive(Clone, Debug, PartialEq)]
pub struct Leak {
    /// The body.
    pub body: String,
    /// Its luminance, cd/m2.
    pub worst: Reading,
    /// Mean luminance of the body's windows, cd/m2.
    pub against_cd_m2: f64,
}

impl Lighting {
    /// Luminance of every cell, cd/m2, when each pixel's red, green and blue chips are driven at these shares of full;
    /// 0 for a cell without area. One colour after the other.
    pub fn luminance_cd_m2(&self, driven: &[[f32; 3]]) -> [Vec<f32>; 3] {
        let areas: Vec<f64> = self.cells.iter().flat_map(|c| c.area_mm2.iter().copied()).collect();
        [0, 1, 2].map(|colour| {
            let weights: Vec<f32> = driven.iter().map(|d| d[colour]).collect();
            let light = self.responses[self.response_of[colour]].lit(&weights);
            let lm = self.pixel_lm[colour];
            light.iter().zip(&areas).map(|(share, area)| matt_cd_m2(f64::from(*share) * lm, *area) as f32).collect()
        })
    }

    /// A window's name.
    pub fn name(&self, profile: &Profile) -> &str {
        &self.windows.list()[profile.window].name
    }

    /// Paths followed.
    pub fn paths(&self) -> u64 {
        self.responses.iter().map(|r| r.totals.n_photons).sum()
    }

    /// Noise reached on a square centimetre of window: the worst band's.
    pub fn noise(&self) -> f64 {
        self.responses.iter().map(|r| r.totals.noise).fold(0.0, f64::max)
    }

    /// Share of the light that was lost between surfaces: the worst band's.
    pub fn lost(&self) -> f64 {
        self.responses.iter().map(|r| r.totals.lost).fold(0.0, f64::max)
    }
}

/// Ripple at the pitch of a window: the mean over its length, and the worst place's.
pub(crate) fn mean_ripple(light: &Lighting, k: usize) -> Option<[Reading; 2]> {
    let all = light.profiles[k].ripple(light.pitch_mm, light.lit_mm[k]);
    let worst = all.iter().copied().reduce(|a, b| if b.value > a.value { b } else { a })?;
    let n = all.len() as f64;
    // Stretches overlap: each begins a pitch after the one before.
    let apart = (n - 1.0) / profile::PITCHES + 1.0;
    let mean = Reading {
        station_mm: (light.lit_mm[k][0] + light.lit_mm[k][1]) / 2.0,
        value: all.iter().map(|r| r.value).sum::<f64>() / n,
        sigma: (all.iter().map(|r| r.sigma * r.sigma).sum::<f64>() / n / apart).sqrt(),
    };
    Some([mean, worst])
}

/// What is left of a window's mean ripple from one light to another, and the noise of that; `None` where there is none.
pub(crate) fn share_of_ripple(before: &Lighting, after: &Lighting, k: usize) -> Option<[f64; 2]> {
    if before.profiles.get(k)?.window != after.profiles.get(k)?.window {
        return None;
    }
    let ([was, _], [is, _]) = (mean_ripple(before, k)?, mean_ripple(after, k)?);
    (was.value > 0.0).then(|| [is.value / was.value, is.sigma.hypot(was.sigma * is.value / was.value) / was.value])
}

/// Luminance of a surface that sends out `lm` evenly by Lambert's law, cd/m2; 0 without area.
pub(crate) fn matt_cd_m2(lm: f64, area_mm2: f64) -> f64 {
    if area_mm2 > 0.0 { lm / (area_mm2 * 1e-6) / std::f64::consts::PI } else { 0.0 }
}
