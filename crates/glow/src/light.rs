//! The whole of it: photons from every pixel, in rounds, until the noise is low enough.

use crate::scene::{Band, Body, Outside, Scene, SceneError, Start};
use crate::trace::{Behind, Plain, Plates, Tally, Tracer, Worth};
use crate::{OpticsError, Pixel, Random, Response, Totals};
use rayon::prelude::*;
use solid::{Cancel, Cancelled, DVec3};

/// How light goes through plastic.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Passage {
    /// Scatter by scatter inside the mesh, every photon to its end: the reference.
    Walked,
    /// Towards the watched patches, as photons sent before have shown the way; by table through thick flat walls.
    Guided,
}

/// What is asked of [`light`].
#[derive(Clone, Debug, PartialEq)]
pub struct LightSpec {
    /// How light goes through plastic.
    pub passage: Passage,
    /// Area of each patch, mm2; 0 for one that light is counted on but that doesn't count towards the noise.
    pub watched_mm2: Vec<f64>,
    /// Rounds end when a square centimetre of watched surface is known this well (standard deviation against the mean).
    pub noise: f64,
    /// No more photons a pixel than this, whatever the noise.
    pub most_photons: u32,
    /// Seed of all chance.
    pub seed: u64,
}

/// Why the light could not be computed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LightError {
    /// The scene or the band is faulty.
    #[error(transparent)]
    Scene(#[from] SceneError),
    /// Nothing shines.
    #[error("there is no pixel; give at least one")]
    NoPixel,
    /// Nothing counts light.
    #[error("there is no patch of outer surface to count light on; give at least one")]
    NoPatch,
    /// A face names a patch beyond the last.
    #[error("a face belongs to patch {patch}, but there are {n_patches}")]
    NoSuchPatch {
        /// The patch.
        patch: u32,
        /// How many there are.
        n_patches: u32,
    },
    /// A number of the question is out of range.
    #[error("{what} is {value}; give {needed}")]
    Spec {
        /// Which number.
        what: &'static str,
        /// What it is.
        value: f64,
        /// What would do.
        needed: &'static str,
    },
    /// A pixel without a sound place, facing or angle.
    #[error("pixel {pixel} needs a finite place, a facing, and a full angle within 0 to 180 degrees")]
    BadPixel {
        /// Which one.
        pixel: usize,
    },
    /// A pixel sits inside something.
    #[error("pixel {pixel} at {at} lies inside {body}; move it out into the cavity")]
    PixelInside {
        /// Which one.
        pixel: usize,
        /// Where.
        at: DVec3,
        /// In what.
        body: Body,
    },
    /// A pixel sits in no cavity.
    #[error("pixel {pixel} at {at} lies outside every cavity: {percent} % of the ways from it meet no inner face")]
    PixelOutside {
        /// Which one.
        pixel: usize,
        /// Where.
        at: DVec3,
        /// Share of directions round it that lead out.
        percent: u32,
    },
    /// A wall's table can't be worked out.
    #[error("the table of a wall: {0}")]
    Table(OpticsError),
    /// It was stopped.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

/// Photons that a pixel sends in one round.
const BATCH: u32 = 64;

/// Rounds before the noise is judged.
const LEAST_ROUNDS: u32 = 8;

/// Directions in which the surroundings of a pixel are looked for.
const LOOKS: u32 = 64;

/// What is found out about a scene before light is sent through it, for one or several bands: which walls are like flat
/// plates, and where light is worth following.
pub struct Survey {
    behind: Behind,
    worth: Option<Worth>,
}

impl Survey {
    /// Looks at the scene. Bands that are not named are followed as rightly with it, but not as fast; the first named tells
    /// the worths.
    ///
    /// # Errors
    ///
    /// Whatever of scene, bands and pixels can't be computed with: see [`LightError`].
    pub fn of(
        scene: &Scene,
        bands: &[Band],
        outside: &dyn Outside,
        pixels: &[Pixel],
        spec: &LightSpec,
        cancel: &Cancel,
    ) -> Result<Survey, LightError> {
        for band in bands {
            check(scene, band, outside, pixels, spec)?;
        }
        let behind = Behind::of(scene, bands, outside, cancel)?;
        let Some(band) = bands.first() else { return Ok(Survey { behind, worth: None }) };
        let plates = Plates::of(&behind, band, spec.seed)?;
        let tracer = Tracer { scene, band, outside, plates: Some(&plates) };
        let worth = Worth::of(&tracer, pixels, &spec.watched_mm2, spec.seed, cancel)?;
        Ok(Survey { behind, worth })
    }
}

/// Light from every pixel through the scene, and where it comes out.
///
/// Deterministic for a seed, whatever the number of threads. Work grows with pixels times photons; memory with pixels
/// times the patches that each lights.
///
/// # Errors
///
/// Whatever of the scene, band, pixels or question can't be computed with: see [`LightError`].
pub fn light(
    scene: &Scene,
    band: &Band,
    outside: &dyn Outside,
    pixels: &[Pixel],
    spec: &LightSpec,
    cancel: &Cancel,
) -> Result<Response, LightError> {
    match spec.passage {
        Passage::Walked => {
            check(scene, band, outside, pixels, spec)?;
            rounds(&Tracer { scene, band, outside, plates: None }, None, pixels, spec, cancel)
        }
        Passage::Guided => {
            let survey = Survey::of(scene, std::slice::from_ref(band), outside, pixels, spec, cancel)?;
            surveyed(scene, &survey, band, outside, pixels, spec, cancel)
        }
    }
}

/// As [`light`], guided, in a scene that was surveyed with the same surfaces, watched patches and seed.
///
/// # Errors
///
/// As [`light`].
pub fn surveyed(
    scene: &Scene,
    survey: &Survey,
    band: &Band,
    outside: &dyn Outside,
    pixels: &[Pixel],
    spec: &LightSpec,
    cancel: &Cancel,
) -> Result<Response, LightError> {
    check(scene, band, outside, pixels, spec)?;
    let plates = Plates::of(&survey.behind, band, spec.seed)?;
    let tracer = Tracer { scene, band, outside, plates: Some(&plates) };
    rounds(&tracer, survey.worth.as_ref(), pixels, spec, cancel)
}

/// Rounds of photons until the noise is low enough.
fn rounds(
    tracer: &Tracer,
    worth: Option<&Worth>,
    pixels: &[Pixel],
    spec: &LightSpec,
    cancel: &Cancel,
) -> Result<Response, LightError> {
    let scene = tracer.scene;
    let n_patches = spec.watched_mm2.len() as u32;
    let blank = || Tally::new(scene.n_solids(), scene.n_things(), n_patches);
    let mut books = blank();
    let mut rows: Vec<Vec<(u32, f64)>> = vec![Vec::new(); pixels.len()];
    let mut spread = Spread::new(n_patches);
    let most_rounds = (spec.most_photons / BATCH).max(1);
    let batch = BATCH.min(spec.most_photons);
    for round in 0..most_rounds {
        if cancel.is_cancelled() {
            return Err(Cancelled.into());
        }
        let sent = |tally: &mut Tally, (i, pixel): (usize, &Pixel)| {
            let mut random = Random::of(spec.seed, u64::from(round) << 32 | i as u64);
            for way in pixel.directions(batch, &mut random) {
                match worth {
                    Some(mut worth) => tracer.follow(pixel.at, way, &mut worth, &mut random, tally),
                    None => tracer.follow(pixel.at, way, &mut Plain, &mut random, tally),
                }
            }
            let lit = tally.take_lit();
            (tally.take_totals(), lit)
        };
        let all: Vec<_> = pixels.par_iter().enumerate().map_init(blank, sent).collect();
        let mut sums = blank();
        for (row, (tally, lit)) in rows.iter_mut().zip(&all) {
            books.add_totals(tally);
            for (patch, light) in lit {
                sums.out(*patch, *light);
            }
            *row = merged(row, lit);
        }
        if let Some(patch) = books.stray {
            return Err(LightError::NoSuchPatch { patch, n_patches });
        }
        spread.add(&sums.take_lit());
        if round + 1 >= LEAST_ROUNDS && spread.noise(&spec.watched_mm2) <= spec.noise {
            break;
        }
    }
    Ok(finished(books, rows, &spread, spec, pixels.len()))
}

/// Sums over rounds of what the patches get, and of its squares.
struct Spread {
    n_rounds: f64,
    sum: Vec<f64>,
    squares: Vec<f64>,
}

impl Spread {
    fn new(n_patches: u32) -> Self {
        Self { n_rounds: 0.0, sum: vec![0.0; n_patches as usize], squares: vec![0.0; n_patches as usize] }
    }

    fn add(&mut self, lit: &[(u32, f64)]) {
        self.n_rounds += 1.0;
        for (patch, light) in lit {
            self.sum[*patch as usize] += light;
            self.squares[*patch as usize] += light * light;
        }
    }

    /// Variance of the mean of the rounds; infinite for a single one.
    fn variance(&self, patch: usize) -> f64 {
        let n = self.n_rounds;
        if n < 2.0 {
            return f64::INFINITY;
        }
        let mean = self.sum[patch] / n;
        ((self.squares[patch] / n - mean * mean) / (n - 1.0)).max(0.0)
    }

    /// Standard deviation of the light of 100 mm2 of watched patches, root of the mean square, against the mean; infinite
    /// where none of them got light.
    fn noise(&self, watched_mm2: &[f64]) -> f64 {
        let (mut area, mut light, mut variance) = (0.0, 0.0, 0.0);
        for (patch, mm2) in watched_mm2.iter().enumerate().filter(|(_, mm2)| **mm2 > 0.0) {
            area += mm2;
            light += self.sum[patch] / self.n_rounds;
            variance += self.variance(patch);
        }
        if light > 0.0 { (variance * area / 100.0).sqrt() / light } else { f64::INFINITY }
    }
}

fn finished(books: Tally, rows: Vec<Vec<(u32, f64)>>, spread: &Spread, spec: &LightSpec, n_pixels: usize) -> Response {
    let n_photons = books.launched;
    let per_pixel = n_pixels as f64 / n_photons;
    let rows: Vec<Vec<(u32, f64)>> =
        rows.into_iter().map(|row| row.into_iter().map(|(p, x)| (p, x * per_pixel)).collect()).collect();
    let per_round = per_pixel * spread.n_rounds;
    let sigma = (0..spread.sum.len()).map(|p| (spread.variance(p).sqrt() * per_round) as f32).collect();
    let share = |x: &f64| x / n_photons;
    let noise = spread.noise(&spec.watched_mm2);
    let totals = Totals {
        n_photons: n_photons as u64,
        out: share(&spread.sum.iter().sum()),
        escaped: share(&books.escaped),
        lost: share(&books.lost),
        roulette: share(&books.roulette),
        coats: share(&books.coats),
        glue: share(&books.glue),
        solids: books.solids.iter().map(share).collect(),
        things: books.things.iter().map(share).collect(),
        mended: books.n_mended as f64 / n_photons,
        noise: if noise.is_finite() { noise } else { f64::MAX },
    };
    Response::gathered(spread.sum.len() as u32, &rows, sigma, totals)
}

/// Two lists with rising patches as one.
fn merged(a: &[(u32, f64)], b: &[(u32, f64)]) -> Vec<(u32, f64)> {
    let mut all = Vec::with_capacity(a.len() + b.len());
    let (mut i, mut j) = (0, 0);
    while i < a.len() && j < b.len() {
        let ((p, x), (q, y)) = (a[i], b[j]);
        all.push((p.min(q), if p <= q { x } else { 0.0 } + if q <= p { y } else { 0.0 }));
        i += usize::from(p <= q);
        j += usize::from(q <= p);
    }
    all.extend_from_slice(&a[i..]);
    all.extend_from_slice(&b[j..]);
    all
}

fn check(
    scene: &Scene,
    band: &Band,
    outside: &dyn Outside,
    pixels: &[Pixel],
    spec: &LightSpec,
) -> Result<(), LightError> {
    scene.check(band)?;
    check_spec(spec)?;
    if pixels.is_empty() {
        return Err(LightError::NoPixel);
    }
    let tracer = Tracer { scene, band, outside, plates: None };
    let faulty = pixels.par_iter().enumerate().find_map_first(|(i, pixel)| check_pixel(&tracer, i, pixel).err());
    faulty.map_or(Ok(()), Err)
}

fn check_spec(spec: &LightSpec) -> Result<(), LightError> {
    if let Some(area) = spec.watched_mm2.iter().find(|a| !(a.is_finite() && **a >= 0.0)) {
        return Err(LightError::Spec { what: "the area of a patch", value: *area, needed: "0 mm2 or more" });
    }
    if !(spec.noise.is_finite() && spec.noise > 0.0) {
        return Err(LightError::Spec { what: "the noise", value: spec.noise, needed: "more than 0, as 0.02" });
    }
    if spec.most_photons == 0 {
        return Err(LightError::Spec { what: "the number of photons", value: 0.0, needed: "1 or more a pixel" });
    }
    match u32::try_from(spec.watched_mm2.len()) {
        Ok(0) => Err(LightError::NoPatch),
        Ok(_) => Ok(()),
        Err(_) => {
            Err(LightError::Spec { what: "the number of patches", value: f64::INFINITY, needed: "fewer than 2^32" })
        }
    }
}

fn check_pixel(tracer: &Tracer, index: usize, pixel: &Pixel) -> Result<(), LightError> {
    if !pixel.is_sound() {
        return Err(LightError::BadPixel { pixel: index });
    }
    let at = pixel.at;
    if let Some(body) = tracer.scene.body_at(at) {
        return Err(LightError::PixelInside { pixel: index, at, body });
    }
    // Half a sphere's ways from a pixel on a board go into the board: those count as met.
    let up = Pixel { full_angle_deg: 120.0, ..*pixel };
    let down = Pixel { facing: -pixel.facing, ..up };
    let mut random = Random::of(0, 0);
    let ways = [up, down].map(|p| p.directions(LOOKS / 2, &mut random)).concat();
    let leads_out = |way: &&DVec3| match tracer.scene.flight(at, **way, Start::Here) {
        None => true,
        Some(hit) => match tracer.scene.body(hit.triangle) {
            Body::Solid(solid) => tracer.face(solid, &hit).patch.is_some(),
            Body::Thing(_) | Body::Glue => false,
        },
    };
    let n_out = ways.iter().filter(leads_out).count() as u32;
    if n_out * 2 > LOOKS {
        return Err(LightError::PixelOutside { pixel: index, at, percent: n_out * 100 / LOOKS });
    }
    Ok(())
}

#[cfg(test)]
pub(crate) mod tests;

#[cfg(test)]
mod agree;
