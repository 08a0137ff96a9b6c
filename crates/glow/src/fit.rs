//! From light measured through steps of known thickness to what the plastic scatters and absorbs.
//!
//! A step lies with its flat back on an evenly lit screen and is looked at from a direction. By Helmholtz's reciprocity
//! (the radiance that leaves a wall lit by the same radiance from all sides, over that radiance, is the share of a beam from
//! that direction that passes the wall) what is seen against the bare screen is the collimated transmittance T, were the
//! screen as bright from all sides. A screen that is dimmer when looked at slanting gives scattered light only its
//! *fullness* f of that; what passes without a scatter, U, comes straight. And what the step sends back comes again: with the
//! screen's reflectance r and the step's own R for diffuse light it is brighter by 1 / (1 - r R). So
//! (U + f (T - U)) / (1 - r R) is seen.
//!
//! A screen that sends back much makes every step look alike: with r near 1 this is near 1 for all that doesn't absorb.
//!
//! The fit is the usual one for a curved model with prior knowledge: least squares in logarithms by Levenberg's and
//! Marquardt's steps, each prior one more observation (Gelman and others, *Bayesian Data Analysis*, 3rd ed. 2013, section
//! 14.8); deviations from the curvature at the best point.

#[cfg(test)]
mod tests;

use crate::matrix::Square;
use crate::{Finish, Incidence, Medium, OpticsError, Wall, doubled};

/// One reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Thickness of the step, mm.
    pub thickness_mm: f64,
    /// Cosine of the direction it is looked at from: 1 for straight on.
    pub cosine: f64,
    /// What is seen through it, as a share of what is seen without it.
    pub share: f64,
    /// Its optical band, as a place in [`Guess::absorb_per_mm`].
    pub band: usize,
    /// Its sitting, as a place in [`Guess::sittings`].
    pub sitting: usize,
    /// What it counts: 1, or 0 for one that is only asked what is left of it.
    pub weight: f64,
}

/// What is known without readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Guess {
    /// Reduced scattering, per mm: lowest, highest. Two thirds of all such plastics lie between.
    pub scatter_per_mm: [f64; 2],
    /// Absorption in each band, per mm: lowest, highest.
    pub absorb_per_mm: Vec<[f64; 2]>,
    /// Refractive index in each band.
    pub index: Vec<f64>,
    /// Reflectance of the screen that the steps lie on, and its standard deviation.
    pub behind: [f64; 2],
    /// Each sitting.
    pub sittings: Vec<Sitting>,
    /// Usual standard deviation of the logarithm of one reading.
    pub noise: f64,
}

/// What is known of the light at a sitting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sitting {
    /// Standard deviation of the logarithm of what all shares of the sitting are off by: small where the bare screen was read as
    /// well, large where the steps were only compared among each other.
    pub gain: f64,
    /// Fullness of the screen (see [`fullness`]) and its standard deviation.
    pub fullness: [f64; 2],
}

/// A value that was fitted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Told {
    /// The likeliest value, per mm.
    pub per_mm: f64,
    /// Standard deviation of its logarithm.
    pub deviation: f64,
    /// The same before any reading.
    pub guessed: f64,
}

impl Told {
    /// How much of what was unknown is still unknown: 1 when the readings say nothing of it.
    pub fn open(&self) -> f64 {
        self.deviation / self.guessed
    }
}

/// What readings say.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Reduced scattering.
    pub scatter: Told,
    /// Absorption in each band.
    pub absorb: Vec<Told>,
    /// Degrees of freedom of the noise: 4 for what is usual, and one for each reading more than values.
    pub freedom: f64,
    /// Standard deviation of the logarithm of one reading, as it was.
    pub noise: f64,
    /// Logarithm of each reading over what it should be.
    pub left: Vec<f64>,
    /// How much worse the readings tell scattering and absorption apart than they tell what both do together: the largest
    /// over bands of the root of the ratio of the two variances. Without end when they can't at all.
    pub condition: f64,
}

/// Why nothing can be fitted.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FitError {
    /// A reading or a guess that no wall can have.
    #[error(transparent)]
    Optics(#[from] OpticsError),
    /// No readings.
    #[error("there are no readings to fit")]
    Nothing,
    /// A reading of a band or sitting that is not described.
    #[error("reading {reading} is of a band or sitting that nothing is known of")]
    Place {
        /// Which, from 1.
        reading: usize,
    },
    /// The steps lead nowhere.
    #[error("no scattering and absorption fit the readings; look for a slip among them")]
    Lost,
}

/// Angles of the model: off by less than 0.001 of what passes, a tenth of what a camera tells.
const ANGLES: usize = 16;
/// Step of a numeric slope, in logarithms.
const SLOPE: f64 = 1e-3;
/// Tries at most: six to ten are usual.
const TRIES: u32 = 60;
/// A value is found when a step moves it by less than this, in logarithms.
const FOUND: f64 = 1e-4;
/// Nor is anything gained by going on when a step makes less better than this: a hundredth of a deviation.
const ENOUGH: f64 = 1e-5;
/// What the usual noise weighs: as much as five readings would tell.
const USUAL_WEIGHT: f64 = 4.0;
/// Least fullness: of a torch.
const LEAST_FULL: f64 = 0.05;
/// Wider than this, in logarithms, no guess is: from a thousandth to a thousand times.
const WIDEST: f64 = 7.0;

/// The fullness of a screen whose radiance falls with the angle as a power of its cosine, from its brightness at 60 degrees
/// as a share of that straight on: the mean of its radiance over directions, as scattering plastic passes them on.
///
/// Walls pass light from cosine c as 1 + 0.37 c: then 0.91 of diffuse light passes for each 1 straight on, as adding-doubling
/// gives for index 1.46 at 0.8 to 4 mm and reduced scattering of 0.25 to 4 per mm (0.90 to 0.92). Exact for that law:
/// (2 / (2 + p) + 0.74 / (3 + p)) / (1 + 0.74 / 3) for the power p.
pub fn fullness(at_60_deg: f64) -> f64 {
    let power = -libm::log2(at_60_deg.clamp(1e-3, 1.0));
    (2.0 / (2.0 + power) + 0.74 / (3.0 + power)) / (1.0 + 0.74 / 3.0)
}

/// Share of what is seen of a screen without a wall that is seen through it from the direction `cosine`; the screen has
/// the reflectance `behind` and this [`fullness`].
///
/// # Errors
/// [`OpticsError`].
pub fn seen_through(
    medium: &Medium,
    thickness_mm: f64,
    cosine: f64,
    [behind, fullness]: [f64; 2],
) -> Result<f64, OpticsError> {
    crate::medium::within("reflectance of a screen", behind, 0.0, 1.0)?;
    crate::medium::within("fullness of a screen", fullness, 0.0, 1.0)?;
    Ok(Step::of(medium, thickness_mm, cosine)?.seen(behind, fullness))
}

/// What a step does: what passes without and with a scatter from a direction, and what it sends back of diffuse light.
#[derive(Clone, Copy)]
struct Step {
    straight: f64,
    scattered: f64,
    back: f64,
}

impl Step {
    fn of(medium: &Medium, thickness_mm: f64, cosine: f64) -> Result<Self, OpticsError> {
        let wall = Wall::checked(*medium, thickness_mm, Finish::Bare, Finish::Bare)?;
        let through = doubled(&wall, Incidence::Collimated { cosine }, ANGLES)?;
        let back = doubled(&wall, Incidence::Diffuse, ANGLES)?.back();
        Ok(Self { straight: through.unscattered_through, scattered: through.diffuse_through.max(0.0), back })
    }

    fn passed(&self, fullness: f64) -> f64 {
        (self.straight + fullness * self.scattered).max(f64::MIN_POSITIVE)
    }

    fn kept_from(&self, behind: f64) -> f64 {
        (1.0 - behind * self.back).max(1e-6)
    }

    fn seen(&self, behind: f64, fullness: f64) -> f64 {
        self.passed(fullness) / self.kept_from(behind)
    }
}

/// Fits scattering and absorption to readings.
///
/// # Errors
/// [`FitError`].
pub fn fit(readings: &[Reading], guess: &Guess) -> Result<Fit, FitError> {
    let task = Task::of(readings, guess)?;
    let mut at = task.middle.clone();
    let mut noise = guess.noise;
    let count: f64 = readings.iter().map(|r| r.weight).sum();
    let freedom = USUAL_WEIGHT + (count - task.bands as f64 - 1.0).max(0.0);
    // The noise follows from what is left, and what is left a little from the noise.
    for _ in 0..2 {
        at = task.descended(at, noise)?;
        let squares: f64 = task.weighed(&task.left(&at)?);
        noise = ((USUAL_WEIGHT * guess.noise * guess.noise + squares) / freedom).sqrt();
    }
    let slopes = task.slopes(&at)?;
    let size = at.len();
    let told = |information: &Square| information.solved(&Square::unit(size));
    let covariance = told(&task.information(&slopes, noise, 0)).ok_or(FitError::Lost)?;
    let value = |k: usize| Told {
        per_mm: libm::exp(at[k]),
        deviation: covariance.at(k, k).max(0.0).sqrt(),
        guessed: task.deviation[k],
    };
    // What the readings alone say of plastic.
    let alone = told(&task.information(&slopes, noise, 1 + task.bands));
    let condition = (1..=task.bands).map(|k| alone.as_ref().map_or(f64::INFINITY, |c| condition(c, k)));
    let fit = Fit {
        scatter: value(0),
        absorb: (1..=task.bands).map(value).collect(),
        freedom,
        noise,
        left: task.left(&at)?,
        condition: condition.fold(1.0, f64::max),
    };
    if covariance.is_finite() { Ok(fit) } else { Err(FitError::Lost) }
}

/// Root of the ratio of the two variances of scattering and absorption `k`, along the axes in which they are independent.
fn condition(covariance: &Square, k: usize) -> f64 {
    let [a, b, c] = [covariance.at(0, 0), covariance.at(0, k), covariance.at(k, k)];
    let (middle, half) = ((a + c) / 2.0, libm::hypot((a - c) / 2.0, b));
    let least = middle - half;
    if least > 0.0 && middle.is_finite() { ((middle + half) / least).sqrt() } else { f64::INFINITY }
}

/// Everything that stays the same while values are sought: logarithms of the scattering and of each band's absorption; for
/// each sitting the logarithm of its gain and its fullness; the screen's reflectance.
struct Task<'a> {
    readings: &'a [Reading],
    guess: &'a Guess,
    bands: usize,
    middle: Vec<f64>,
    deviation: Vec<f64>,
}

impl<'a> Task<'a> {
    fn of(readings: &'a [Reading], guess: &'a Guess) -> Result<Self, FitError> {
        let bands = guess.absorb_per_mm.len();
        if readings.is_empty() {
            return Err(FitError::Nothing);
        }
        for (k, r) in readings.iter().enumerate() {
            crate::medium::within("share of light", r.share, 1e-9, 10.0)?;
            crate::medium::within("cosine of a direction", r.cosine, 0.01, 1.0)?;
            crate::medium::within("weight of a reading", r.weight, 0.0, 1.0)?;
            if r.band >= bands.min(guess.index.len()) || r.sitting >= guess.sittings.len() {
                return Err(FitError::Place { reading: k + 1 });
            }
        }
        let (mut middle, mut deviation) = (Vec::new(), Vec::new());
        for [low, high] in std::iter::once(&guess.scatter_per_mm).chain(&guess.absorb_per_mm) {
            crate::medium::within("a guess per mm", *low, 1e-9, crate::MOST_PER_MM)?;
            crate::medium::within("a guess per mm", *high, *low, crate::MOST_PER_MM)?;
            middle.push((libm::log(*low) + libm::log(*high)) / 2.0);
            deviation.push((libm::log(high / low) / 2.0).clamp(0.05, WIDEST));
        }
        for sitting in &guess.sittings {
            crate::medium::within("deviation of a gain", sitting.gain, 1e-6, 100.0)?;
            crate::medium::within("fullness of a screen", sitting.fullness[0], LEAST_FULL, 1.0)?;
            crate::medium::within("its deviation", sitting.fullness[1], 1e-6, 1.0)?;
            middle.extend([0.0, sitting.fullness[0]]);
            deviation.extend([sitting.gain, sitting.fullness[1]]);
        }
        let [behind, spread] = guess.behind;
        crate::medium::within("reflectance of a screen", behind, 0.0, 0.98)?;
        crate::medium::within("its deviation", spread, 1e-6, 1.0)?;
        crate::medium::within("noise of a reading", guess.noise, 1e-6, 1.0)?;
        middle.push(behind);
        deviation.push(spread);
        Ok(Self { readings, guess, bands, middle, deviation })
    }

    /// The step of every reading, like ones worked out once.
    fn steps(&self, at: &[f64]) -> Result<Vec<Step>, FitError> {
        let mut known: Vec<(usize, f64, f64, Step)> = Vec::new();
        let mut all = Vec::with_capacity(self.readings.len());
        for r in self.readings {
            let same = |k: &&(usize, f64, f64, Step)| (k.0, k.1, k.2) == (r.band, r.thickness_mm, r.cosine);
            if let Some((.., found)) = known.iter().find(same) {
                all.push(*found);
                continue;
            }
            let medium = Medium::of_reduced(libm::exp(at[0]), libm::exp(at[1 + r.band]), self.guess.index[r.band])?;
            let found = Step::of(&medium, r.thickness_mm, r.cosine)?;
            known.push((r.band, r.thickness_mm, r.cosine, found));
            all.push(found);
        }
        Ok(all)
    }

    /// Where the gain of a sitting stands among the values; its fullness is next.
    fn place(&self, sitting: usize) -> usize {
        1 + self.bands + 2 * sitting
    }

    /// Logarithm of each reading over what it should be.
    fn left(&self, at: &[f64]) -> Result<Vec<f64>, FitError> {
        let behind = at[at.len() - 1];
        let off = |(r, step): (&Reading, Step)| {
            let place = self.place(r.sitting);
            libm::log(r.share) - at[place] - libm::log(step.seen(behind, at[place + 1]))
        };
        Ok(self.readings.iter().zip(self.steps(at)?).map(off).collect())
    }

    /// The squares of what is left, added up.
    fn weighed(&self, left: &[f64]) -> f64 {
        self.readings.iter().zip(left).map(|(r, left)| r.weight * left * left).sum()
    }

    /// What the readings and the guesses together are off by, in deviations squared.
    fn cost(&self, at: &[f64], noise: f64) -> Result<f64, FitError> {
        let readings = self.weighed(&self.left(at)?) / (noise * noise);
        let guesses = (0..at.len()).map(|k| (at[k] - self.middle[k]) / self.deviation[k]);
        Ok(readings + guesses.map(|g| g * g).sum::<f64>())
    }

    /// How the logarithm of what is seen changes with every value: a row for each reading.
    fn slopes(&self, at: &[f64]) -> Result<Vec<Vec<f64>>, FitError> {
        let behind = at[at.len() - 1];
        let mut slopes = vec![vec![0.0; at.len()]; self.readings.len()];
        let here = self.left(at)?;
        for k in 0..=self.bands {
            let mut moved = at.to_vec();
            moved[k] += SLOPE;
            for ((row, there), here) in slopes.iter_mut().zip(self.left(&moved)?).zip(&here) {
                row[k] = (here - there) / SLOPE;
            }
        }
        for ((row, r), step) in slopes.iter_mut().zip(self.readings).zip(self.steps(at)?) {
            let place = self.place(r.sitting);
            row[place] = 1.0;
            row[place + 1] = step.scattered / step.passed(at[place + 1]);
            row[at.len() - 1] = step.back / step.kept_from(behind);
        }
        Ok(slopes)
    }

    /// The curvature of half the cost; the guesses of the first `without` values left out.
    fn information(&self, slopes: &[Vec<f64>], noise: f64, without: usize) -> Square {
        Square::of(self.middle.len(), |i, j| {
            let weighed = slopes.iter().zip(self.readings).map(|(row, r)| r.weight * row[i] * row[j]);
            let readings: f64 = weighed.sum::<f64>() / (noise * noise);
            let known = if i == j && i >= without { 1.0 / (self.deviation[i] * self.deviation[i]) } else { 0.0 };
            readings + known
        })
    }

    /// The values of least cost.
    fn descended(&self, mut at: Vec<f64>, noise: f64) -> Result<Vec<f64>, FitError> {
        let size = at.len();
        let mut cost = self.cost(&at, noise)?;
        let mut damping = 1e-3;
        for _ in 0..TRIES {
            let slopes = self.slopes(&at)?;
            let left = self.left(&at)?;
            let information = self.information(&slopes, noise, 0);
            let pull: Vec<f64> = (0..size)
                .map(|k| {
                    let weighed = slopes.iter().zip(&left).zip(self.readings);
                    let readings: f64 = weighed.map(|((row, left), r)| r.weight * row[k] * left).sum();
                    readings / (noise * noise) - (at[k] - self.middle[k]) / (self.deviation[k] * self.deviation[k])
                })
                .collect();
            // Steps are made shorter until one leads down.
            let moved = loop {
                let damped = information
                    .plus(damping, &Square::of(size, |i, j| if i == j { information.at(i, i) } else { 0.0 }));
                let step = damped.solved(&Square::unit(size)).ok_or(FitError::Lost)?.on(&pull);
                let tried: Vec<f64> = at.iter().zip(&step).map(|(a, s)| a + s.clamp(-2.0, 2.0)).collect();
                let tried = self.kept_in(tried);
                let there = self.cost(&tried, noise)?;
                let far = tried.iter().zip(&at).map(|(t, a)| (t - a).abs()).fold(0.0, f64::max);
                if there <= cost {
                    let gained = cost - there;
                    (at, cost) = (tried, there);
                    damping = (damping / 10.0).max(1e-9);
                    break if gained < ENOUGH * (1.0 + cost) { 0.0 } else { far };
                }
                damping *= 10.0;
                if far < FOUND / 10.0 {
                    break 0.0;
                }
                if damping > 1e15 {
                    return Err(FitError::Lost);
                }
            };
            if moved < FOUND {
                return Ok(at);
            }
        }
        Err(FitError::Lost)
    }

    /// Values that a wall can be worked out for.
    fn kept_in(&self, mut at: Vec<f64>) -> Vec<f64> {
        at[..=self.bands].iter_mut().for_each(|v| *v = v.clamp(-20.0, 6.0));
        for sitting in 0..self.guess.sittings.len() {
            let full = &mut at[self.place(sitting) + 1];
            *full = full.clamp(LEAST_FULL, 1.0);
        }
        if let Some(behind) = at.last_mut() {
            *behind = behind.clamp(0.0, 0.98);
        }
        at
    }
}
