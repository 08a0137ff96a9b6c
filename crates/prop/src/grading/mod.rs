//! How thick a wall must be where, so that the light that comes through it leaves evenly.
//!
//! The light of an even wall is known, in cells of its outer surface. What reaches the wall from inside is that, sharpened
//! by as much as the wall spreads it, over the wall's transmittance. Another thickness there lets so much more or less
//! through, spread again on its way. What a changed wall sends back into the cavity is left out: the light is computed
//! again on the real pieces afterwards.
//!
//! Noise is kept out by asking little: on each side of the prop the light along it is taken as what bends slowly and what
//! repeats with the pixels (two harmonics), fitted over a few pitches at a time.
//!
//! Where the light on the real pieces is not even enough, [`gain`] tells how much stronger it followed the wall than was
//! thought (an edge of solid plastic grows by more than the wall does), and the wall is graded anew from there.

mod field;
mod fit;

pub use field::{Bounds, Narrow, WallField};

use fit::Repeat;

/// Sides of the section: +y, +z, -y, -z in the terms of the prop's frame, each running over into the next.
pub const SIDES: usize = 4;

/// One cell of the outer surface of an even wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LitCell {
    /// Which ring of cells along the prop it is in.
    pub along: usize,
    /// Where it is in the section, in half widths and half heights: (1, 0) is the middle of the side +y.
    pub place: [f64; 2],
    /// Area of window, mm2.
    pub area_mm2: f64,
    /// Its luminance, in any unit.
    pub luminance: f64,
}

/// The light of a body's windows.
#[derive(Clone, Debug, Default)]
pub struct Lit {
    /// Cells with window, in any order.
    pub cells: Vec<LitCell>,
    /// Rings of cells along the prop.
    pub along: usize,
    /// Where the pixels that shine on each side stand, in rings (that of ring k's middle is k), rising; pixels are taken as
    /// evenly spaced from ring 0 where there are none.
    pub pixels: [Vec<f64>; SIDES],
}

/// How the thickness is to be found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GradingSpec {
    /// Thickness of the even wall, mm.
    pub even_mm: f64,
    /// Least and most wall, mm.
    pub limits_mm: [f64; 2],
    /// Length of the cells along the prop, mm.
    pub step_mm: f64,
    /// First and last ring of cells between which evenness counts: where the window is seen and has pixels before and behind.
    pub judged: [usize; 2],
    /// From pixel to pixel, mm.
    pub pitch_mm: f64,
    /// How far aside light comes out of the wall, for each millimetre of it: standard deviation along one axis.
    pub spread: f64,
    /// Change of thickness over a millimetre along the prop, at most.
    pub slope: f64,
    /// Noise of the light on a square centimetre of window, as a share of it.
    pub noise: f64,
}

/// What passes a wall by its thickness: falling.
#[derive(Clone, Debug, PartialEq)]
pub struct Passing {
    /// Thicknesses, mm, rising.
    mm: Vec<f64>,
    /// Logarithm of the share that passes, falling.
    log: Vec<f64>,
}

impl Passing {
    /// From pairs of thickness (mm, rising) and share that passes (above 0, falling). `None` if they are not that, or
    /// fewer than two.
    pub fn new(pairs: &[[f64; 2]]) -> Option<Passing> {
        let rises = pairs.windows(2).all(|w| w[1][0] > w[0][0] && w[1][1] < w[0][1]);
        let is_one = pairs.iter().all(|[mm, share]| mm.is_finite() && *share > 0.0 && share.is_finite());
        (pairs.len() > 1 && rises && is_one).then(|| Passing {
            mm: pairs.iter().map(|p| p[0]).collect(),
            log: pairs.iter().map(|p| libm::log(p[1])).collect(),
        })
    }

    /// What passes where light follows the wall so many times as strongly.
    #[must_use]
    pub fn stronger(&self, times: f64) -> Passing {
        Passing { mm: self.mm.clone(), log: self.log.iter().map(|l| l * times).collect() }
    }

    /// Logarithm of the share that passes a thickness.
    fn log(&self, mm: f64) -> f64 {
        between(&self.mm, &self.log, mm)
    }

    /// Thickness that lets a share through, given as its logarithm.
    fn mm(&self, log: f64) -> f64 {
        let [falling, thickness]: [Vec<f64>; 2] =
            [self.log.iter().rev().copied().collect(), self.mm.iter().rev().copied().collect()];
        between(&falling, &thickness, log)
    }
}

/// Value at `x` of a line through points, held at its ends.
fn between(xs: &[f64], ys: &[f64], x: f64) -> f64 {
    let last = xs.len() - 1;
    let i = xs.partition_point(|v| *v <= x).clamp(1, last);
    let f = ((x - xs[i - 1]) / (xs[i] - xs[i - 1])).clamp(0.0, 1.0);
    ys[i - 1] + (ys[i] - ys[i - 1]) * f
}

/// A graded wall, and what it is expected to do.
#[derive(Clone, Debug, PartialEq)]
pub struct Grading {
    /// Thickness wanted on each side, a value for each ring of cells, mm.
    pub sides_mm: [Vec<f64>; SIDES],
    /// Least and most wall allowed, mm.
    pub limits_mm: [f64; 2],
    /// Half the difference of brightest and darkest over their sum, worst of the sides with window, over all of it but the
    /// last pitch at each end: of the wall as it was, without its noise, and of this.
    pub contrast: [f64; 2],
    /// How the light of each side with window is expected to change, as a logarithm for each ring of cells.
    pub change: [Option<Vec<f64>>; SIDES],
}

/// Weights of the sides at a place in the section; they sum to 1.
pub fn shares(place: [f64; 2]) -> [f64; SIDES] {
    let [y, z] = place.map(|c| c.clamp(-1.0, 1.0));
    let squares = [y.max(0.0), z.max(0.0), (-y).max(0.0), (-z).max(0.0)].map(|c| c * c);
    let sum: f64 = squares.iter().sum();
    // Beyond the ellipse through the sides' middles the sum is scaled to 1; inside, the rest is all sides' alike.
    squares.map(|s| if sum > 1.0 { s / sum } else { s + (1.0 - sum) / SIDES as f64 })
}

/// Turns so often round from thickness to light and back.
const ROUNDS: usize = 12;
/// Levels of light that are tried.
const LEVELS: usize = 48;
/// A level counts as even as any other when its miss is no more than this many times the least, and this.
const AS_EVEN: [f64; 2] = [1.05, 0.002];

/// The thickness of a wall that lets light leave evenly, from the light of an even wall, or of the one it has `now`; `None`
/// when no cell has light.
pub fn grade(lit: &Lit, passing: &Passing, spec: &GradingSpec, now: Option<&Grading>) -> Option<Grading> {
    let even = vec![spec.even_mm; lit.along];
    let solved: Vec<Option<Solved>> = (0..SIDES)
        .map(|k| {
            let now = now.map_or(&even, |g| &g.sides_mm[k]);
            Some(Side::of(lit, k, (now, passing), spec)?.solve(now, passing, spec))
        })
        .collect();
    let windows: Vec<&Solved> = solved.iter().flatten().collect();
    if windows.is_empty() {
        return None;
    }
    // A side without a window follows those that have one.
    let mean: Vec<f64> =
        (0..lit.along).map(|k| windows.iter().map(|s| s.mm[k]).sum::<f64>() / windows.len() as f64).collect();
    let contrast = [0, 1].map(|at| windows.iter().map(|s| s.contrast[at]).fold(0.0, f64::max));
    let mut sides_mm: [Vec<f64>; SIDES] = Default::default();
    let mut change: [Option<Vec<f64>>; SIDES] = Default::default();
    for (k, from) in solved.into_iter().enumerate() {
        (sides_mm[k], change[k]) = from.map_or_else(|| (mean.clone(), None), |s| (s.mm, Some(s.change)));
    }
    Some(Grading { sides_mm, limits_mm: spec.limits_mm, contrast, change })
}

/// Light is never taken to follow the wall less or more than so many times as strongly as was thought.
const GAIN: [f64; 2] = [0.4, 3.0];

/// How many times as strongly the light of the pixels followed a graded wall as it was expected to: by least squares over
/// what repeats with the pixels. 1 where there is nothing to tell it from.
pub fn gain([before, after]: [&Lit; 2], graded: &Grading, spec: &GradingSpec) -> f64 {
    let (mut both, mut square) = (0.0, 0.0);
    for (k, expected) in graded.change.iter().enumerate() {
        let (Some(expected), Some((was, area)), Some((is, _))) =
            (expected, cleaned(before, k, spec), cleaned(after, k, spec))
        else {
            continue;
        };
        let log: Vec<f64> = was.iter().zip(&is).map(|(was, is)| libm::log(is / was)).collect();
        let parts = [expected, &log].map(|all| {
            let slow = slow(all, spec);
            all.iter().zip(slow).map(|(v, s)| v - s).collect::<Vec<f64>>()
        });
        let [from, to] = spec.judged;
        for i in from..=to.min(before.along.saturating_sub(1)) {
            both += area[i] * parts[0][i] * parts[1][i];
            square += area[i] * parts[0][i] * parts[0][i];
        }
    }
    let gain = both / square;
    if gain.is_finite() { gain.clamp(GAIN[0], GAIN[1]) } else { 1.0 }
}

/// The light along one side.
struct Side {
    /// What comes to the wall from inside, times the even wall's transmittance; unknown places filled from beside.
    inside: Vec<f64>,
    /// Area of window where evenness counts.
    area: Vec<f64>,
}

struct Solved {
    mm: Vec<f64>,
    contrast: [f64; 2],
    change: Vec<f64>,
}

/// A side with less of the window than this share is none: its light is its neighbours'.
const LEAST_SHARE: f64 = 0.05;

/// The light along one side without its noise, and the area of window there in mm2.
fn cleaned(lit: &Lit, side: usize, spec: &GradingSpec) -> Option<(Vec<f64>, Vec<f64>)> {
    let (mut area, mut light) = (vec![0.0; lit.along], vec![0.0; lit.along]);
    let mut whole = 0.0;
    for c in lit.cells.iter().filter(|c| c.area_mm2 > 0.0 && c.along < lit.along && c.luminance.is_finite()) {
        let part = c.area_mm2 * shares(c.place)[side];
        area[c.along] += part;
        light[c.along] += part * c.luminance;
        whole += c.area_mm2;
    }
    if area.iter().sum::<f64>() < LEAST_SHARE * whole.max(1e-9) || light.iter().sum::<f64>() <= 0.0 {
        return None;
    }
    let values: Vec<f64> = light.iter().zip(&area).map(|(l, a)| if *a > 0.0 { l / a } else { 0.0 }).collect();
    let pixels = &lit.pixels[side];
    // From the nearest pixel.
    let phase: Vec<f64> = (0..lit.along)
        .map(|k| {
            let at = pixels.partition_point(|p| *p < k as f64);
            let beside = [at.checked_sub(1), Some(at)].into_iter().flatten().filter_map(|i| pixels.get(i));
            let away = beside.map(|p| k as f64 - p).reduce(|a, b| if b.abs() < a.abs() { b } else { a });
            away.unwrap_or(k as f64) * spec.step_mm / spec.pitch_mm
        })
        .collect();
    let noise = spec.noise * MM2_A_CM2.sqrt();
    let repeat = Repeat { step_mm: spec.step_mm, pitch_mm: spec.pitch_mm, phase: &phase, noise };
    Some((repeat.fitted(&values, &area)?, area))
}

const MM2_A_CM2: f64 = 100.0;

/// Means over a pitch.
fn slow(values: &[f64], spec: &GradingSpec) -> Vec<f64> {
    let reach = (0.5 * spec.pitch_mm / spec.step_mm).ceil() as usize;
    let around = |k: usize| k.saturating_sub(reach)..(k + reach + 1).min(values.len());
    (0..values.len()).map(|k| values[around(k)].iter().sum::<f64>() / around(k).len() as f64).collect()
}

impl Side {
    fn of(lit: &Lit, side: usize, (now, passing): (&[f64], &Passing), spec: &GradingSpec) -> Option<Side> {
        let (clean, mut area) = cleaned(lit, side, spec)?;
        let even = passing.log(spec.even_mm);
        let through = |mm: &f64| libm::exp(passing.log(*mm) - even);
        let inside = sharpened(&clean, spec).iter().zip(now).map(|(l, mm)| l / through(mm)).collect();
        let [from, to] = spec.judged;
        area.iter_mut().enumerate().filter(|(k, _)| !(from..=to).contains(k)).for_each(|(_, a)| *a = 0.0);
        (area.iter().sum::<f64>() > 0.0).then_some(Side { inside, area })
    }

    /// The brightest level of light that is as even as any, and the thickness that gives it.
    fn solve(&self, now: &[f64], passing: &Passing, spec: &GradingSpec) -> Solved {
        let even = passing.log(spec.even_mm);
        // The even wall's own light, and how far thinner and thicker walls go from it.
        let ends = spec.limits_mm.map(|mm| libm::exp(passing.log(mm) - even));
        let lit = || self.inside.iter().zip(&self.area).filter(|(_, a)| **a > 0.0).map(|(e, _)| *e);
        let (low, high) = lit().fold((f64::INFINITY, 0.0f64), |(l, h), e| (l.min(e), h.max(e)));
        let (low, high) = (libm::log(low * ends[1]), libm::log(high * ends[0]));
        let mut tried: Vec<(f64, Vec<f64>)> = Vec::new();
        for k in 0..LEVELS {
            let level = libm::exp(low + (high - low) * (k as f64 + 0.5) / LEVELS as f64);
            let mm = self.thickness(level, passing, spec);
            let miss = self.miss(&self.light(&mm, passing, spec));
            tried.push((miss, mm));
        }
        let least = tried.iter().map(|t| t.0).fold(f64::INFINITY, f64::min);
        let is_as_even = |t: &&(f64, Vec<f64>)| t.0 <= AS_EVEN[0] * least + AS_EVEN[1];
        let mm =
            tried.iter().rev().find(is_as_even).map_or_else(|| vec![spec.even_mm; self.inside.len()], |t| t.1.clone());
        let before = self.light(now, passing, spec);
        let after = self.light(&mm, passing, spec);
        let change = before.iter().zip(&after).map(|(b, a)| libm::log(a / b)).collect();
        Solved { contrast: [&before, &after].map(|l| self.contrast(l, spec)), mm, change }
    }

    /// Light that leaves along the side through walls of these thicknesses.
    fn light(&self, mm: &[f64], passing: &Passing, spec: &GradingSpec) -> Vec<f64> {
        let even = passing.log(spec.even_mm);
        let passed: Vec<f64> =
            mm.iter().zip(&self.inside).map(|(mm, e)| e * libm::exp(passing.log(*mm) - even)).collect();
        spread(&passed, spec)
    }

    /// The light wanted along the side for one level: that, but where the limits don't let a whole pitch come to it, what
    /// they do. A wall that is all at its limit would let every pixel through.
    fn wanted(&self, level: f64, passing: &Passing, spec: &GradingSpec) -> Vec<f64> {
        let even = passing.log(spec.even_mm);
        let [bright, dim] = spec.limits_mm.map(|mm| libm::exp(passing.log(mm) - even));
        let reach = (0.5 * spec.pitch_mm / spec.step_mm).ceil() as usize;
        let last = self.inside.len() - 1;
        let around = |k: usize| k.saturating_sub(reach)..=(k + reach).min(last);
        // The slow bend of what comes from inside, and what the pixels make of it.
        let bend = slow(&self.inside, spec);
        let ripple: Vec<f64> = self.inside.iter().zip(&bend).map(|(e, s)| e / s).collect();
        let held: Vec<f64> = (0..=last)
            .map(|k| {
                let (least, most) =
                    around(k).fold((f64::INFINITY, 0.0f64), |(l, m), i| (l.min(ripple[i]), m.max(ripple[i])));
                let (low, high) = (bend[k] * dim * most, bend[k] * bright * least);
                if low > high { (low * high).sqrt() } else { level.clamp(low, high) }
            })
            .collect();
        slow(&held, spec)
    }

    /// Thickness for one level of light, within limits and slope.
    fn thickness(&self, level: f64, passing: &Passing, spec: &GradingSpec) -> Vec<f64> {
        let even = passing.log(spec.even_mm);
        let wanted = self.wanted(level, passing, spec);
        let thickness = |(e, w): (&f64, &f64)| passing.mm(even + libm::log(w / e));
        let mut mm: Vec<f64> = self.inside.iter().zip(&wanted).map(thickness).collect();
        for round in 0..ROUNDS {
            limit(&mut mm, spec);
            if round + 1 == ROUNDS {
                break;
            }
            let light = self.light(&mm, passing, spec);
            for ((mm, l), w) in mm.iter_mut().zip(&light).zip(&wanted) {
                *mm = passing.mm(passing.log(*mm) + libm::log(w / l));
            }
        }
        mm
    }

    /// How uneven light is over the window: standard deviation of its logarithm, weighted by area.
    fn miss(&self, light: &[f64]) -> f64 {
        let (mut sum, mut first, mut second) = (0.0, 0.0, 0.0);
        for (l, a) in light.iter().zip(&self.area) {
            let log = libm::log(*l);
            sum += a;
            first += a * log;
            second += a * log * log;
        }
        (second / sum - (first / sum) * (first / sum)).max(0.0).sqrt()
    }

    fn contrast(&self, light: &[f64], spec: &GradingSpec) -> f64 {
        let lit: Vec<usize> = (0..light.len()).filter(|k| self.area[*k] > 0.0).collect();
        let off = (spec.pitch_mm / spec.step_mm).ceil() as usize;
        let inner = if lit.len() > 4 * off { &lit[off..lit.len() - off] } else { &lit[..] };
        let (low, high) =
            inner.iter().map(|k| light[*k]).fold((f64::INFINITY, 0.0f64), |(l, h), v| (l.min(v), h.max(v)));
        if high > 0.0 { (high - low) / (high + low) } else { 0.0 }
    }
}

/// Keeps thicknesses within the limits, and smooths them until none changes faster than the slope.
fn limit(mm: &mut [f64], spec: &GradingSpec) {
    let [least, most] = spec.limits_mm;
    mm.iter_mut().for_each(|t| *t = t.clamp(least, most));
    let step = spec.slope * spec.step_mm;
    for _ in 0..1000 {
        if mm.windows(2).all(|w| (w[1] - w[0]).abs() <= step) {
            return;
        }
        let old = mm.to_vec();
        let at = |k: usize| old[k.min(old.len() - 1)];
        for (k, mm) in mm.iter_mut().enumerate() {
            // Only where it is steep, and beside.
            let is_steep = |a: usize, b: usize| (at(b) - at(a)).abs() > step;
            if is_steep(k.saturating_sub(1), k) || is_steep(k, k + 1) {
                *mm = 0.25 * at(k.saturating_sub(1)) + 0.5 * at(k) + 0.25 * at(k + 1);
            }
        }
    }
}

/// Values along the prop as the even wall spreads them: with a bell curve, ends held.
fn spread(values: &[f64], spec: &GradingSpec) -> Vec<f64> {
    let sigma = spec.spread * spec.even_mm / spec.step_mm;
    if sigma < 0.05 || values.is_empty() {
        return values.to_vec();
    }
    let reach = (4.0 * sigma).ceil() as isize;
    let weights: Vec<f64> =
        (-reach..=reach).map(|k| libm::exp(-0.5 * (k as f64 / sigma) * (k as f64 / sigma))).collect();
    let sum: f64 = weights.iter().sum();
    let last = values.len() as isize - 1;
    (0..=last)
        .map(|i| {
            (-reach..=reach).zip(&weights).map(|(k, w)| w * values[(i + k).clamp(0, last) as usize]).sum::<f64>() / sum
        })
        .collect()
}

/// Sharpened so often; what is left of two harmonics of the pitch after that is a few hundredths.
const SHARPENED: usize = 6;

/// Values that the wall spreads to the ones given (van Cittert's iteration, kept above zero). They are smooth: what is
/// sharpened has no noise.
fn sharpened(values: &[f64], spec: &GradingSpec) -> Vec<f64> {
    let mut sharp = values.to_vec();
    for _ in 0..SHARPENED {
        let seen = spread(&sharp, spec);
        for ((s, seen), wanted) in sharp.iter_mut().zip(&seen).zip(values) {
            *s *= (wanted / seen).clamp(0.5, 2.0);
        }
    }
    sharp
}

/// The thickness rounded to a whole number of beads, with ramps between of no more than `slope` where the thickness itself
/// changes by `steepest` at most: a wall of `mm` printed in beads `bead_mm` wide.
pub fn in_beads(mm: f64, bead_mm: f64, steepest: f64, slope: f64) -> f64 {
    let beads = mm / bead_mm;
    let whole = beads.floor();
    // Share of a bead over which the next one comes in.
    let ramp = (steepest / slope).clamp(0.05, 1.0);
    whole * bead_mm + bead_mm * ((beads - whole - 0.5) / ramp + 0.5).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests;
