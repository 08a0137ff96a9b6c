//! What a wall does at any thickness and angle, worked out beforehand.

use crate::doubling::{ANGLES, doubled};
use crate::sideways::{Cumulative, Sideways};
use crate::slab::{Incidence, Shares, Walk, slab};
use crate::{Finish, Medium, OpticsError, Wall, fresnel};
use rayon::prelude::*;

/// Walls thinner than this are not in tables: follow light through them scatter by scatter.
pub const THINNEST_MM: f64 = 0.3;

/// How much goes into a [`WallTable`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TableSpec {
    /// The thickest wall, mm: [`THINNEST_MM`] to 1000, above that.
    pub most_mm: f64,
    /// Packets per thickness, and the seed, for how far aside light comes out. With the 30 000 of [`TableSpec::upto`], of
    /// light that a wall passes by a share T the part within any distance is known to 0.4 % / √T (one standard deviation).
    pub walk: Walk,
}

impl TableSpec {
    /// A table up to that thickness with 30 000 packets for each: a second or less of one core, but for thick white walls.
    pub fn upto(most_mm: f64, seed: u64) -> Self {
        Self { most_mm, walk: Walk { packets: 30_000, seed } }
    }
}

/// Walls of one medium and pair of finishes, over thickness and angle of incidence.
///
/// Shares come from [`doubled`] and have no noise; with the steps between thicknesses and angles they hold within 0.002 of
/// the light that comes, and sum to 1. How far aside light comes out is walked by [`slab`], every thickness with the same
/// random numbers, so that noise moves a curve over thickness without roughening it.
#[derive(Clone, Debug)]
pub struct WallTable {
    medium: Medium,
    inner: Finish,
    outer: Finish,
    /// Cosines inside the plastic that were worked out; a single one where the finish inside makes all light diffuse.
    cosines: Vec<f64>,
    /// At thicknesses in even steps of the logarithm.
    nodes: Vec<Node>,
    log_least: f64,
    log_step: f64,
    most_mm: f64,
}

/// One thickness.
#[derive(Clone, Debug)]
struct Node {
    /// For each cosine: how the light that didn't go straight is parted: back, through, the wall, the coats.
    parts: Vec<[f64; 4]>,
    back: Cumulative,
    through: Cumulative,
}

impl WallTable {
    /// Works the table out.
    ///
    /// # Errors
    ///
    /// A medium, finish or walk that [`slab`] or [`doubled`] refuses; a thickest wall that is not above [`THINNEST_MM`] to 1000 mm.
    pub fn of(medium: Medium, inner: Finish, outer: Finish, spec: TableSpec) -> Result<Self, OpticsError> {
        crate::medium::within("thickest wall of a table in mm", spec.most_mm, THINNEST_MM * 1.1, 1000.0)?;
        medium.check()?;
        let log_least = libm::log(THINNEST_MM);
        let span = libm::log(spec.most_mm) - log_least;
        let steps = ((span / LOG_STEP).ceil() as usize).max(3);
        let log_step = span / steps as f64;
        let rays = rays(&medium, inner);
        let packets = (spec.walk.packets / rays.len() as u32).max(1);
        let asked: Vec<(f64, usize)> = (0..=steps)
            .map(|k| libm::exp(log_least + log_step * k as f64).min(spec.most_mm))
            .flat_map(|thickness_mm| (0..rays.len()).map(move |ray| (thickness_mm, ray)))
            .collect();
        let done = asked
            .par_iter()
            .map(|&(thickness_mm, ray)| {
                let wall = Wall { medium, thickness_mm, inner, outer };
                let incidence = Incidence::Collimated { cosine: rays[ray].outside };
                // Angles get random numbers of their own, so that their noise evens out in diffuse light.
                let walk = Walk { packets, seed: spec.walk.seed.wrapping_add(ray as u64) };
                let passed = slab(&wall, incidence, walk)?;
                Ok((parts(&doubled(&wall, incidence, ANGLES)?), passed.sideways_back, passed.sideways_through))
            })
            .collect::<Result<Vec<_>, OpticsError>>()?;
        let nodes = done
            .chunks(rays.len())
            .map(|done| {
                let (mut back, mut through) = (Sideways::default(), Sideways::default());
                for ((_, b, t), ray) in done.iter().zip(&rays) {
                    back.add_weighed(b, ray.flux);
                    through.add_weighed(t, ray.flux);
                }
                let parts = done.iter().map(|(parts, ..)| *parts).collect();
                Node { parts, back: back.cumulative(), through: through.cumulative() }
            })
            .collect();
        let cosines = rays.iter().map(|ray| ray.inside).collect();
        Ok(Self { medium, inner, outer, cosines, nodes, log_least, log_step, most_mm: spec.most_mm })
    }

    /// The thinnest and the thickest wall that it answers for, mm.
    pub fn range_mm(&self) -> (f64, f64) {
        (THINNEST_MM, self.most_mm)
    }

    /// Where light that comes at that cosine to the normal goes, in a wall of that thickness. Outside [`WallTable::range_mm`]
    /// the nearest thickness answers. The shares sum to 1.
    pub fn at(&self, thickness_mm: f64, cosine: f64) -> Shares {
        let place = self.place(thickness_mm);
        let cosine = if cosine > 1e-6 { cosine.min(1.0) } else { 1e-6 };
        let (specular, unscattered_through, inside) = self.straight(place.thickness_mm, cosine);
        let rest = (1.0 - specular - unscattered_through).max(0.0);
        let [back, through, wall, coats] = self.parted(&place, inside).map(|part| part * rest);
        Shares {
            specular,
            diffuse_back: back,
            unscattered_through,
            diffuse_through: through,
            absorbed_wall: wall,
            absorbed_coats: coats,
        }
    }

    /// Where light that comes from everywhere alike (Lambert's law) goes: [`WallTable::at`] summed over cosines.
    pub fn diffuse(&self, thickness_mm: f64) -> Shares {
        const STEPS: u32 = 64;
        let mut sum = Shares::default();
        for k in 0..STEPS {
            // Flux over cosines goes as 2 cos: over midpoints it sums to 1.
            let cosine = (f64::from(k) + 0.5) / f64::from(STEPS);
            let flux = 2.0 * cosine / f64::from(STEPS);
            let share = self.at(thickness_mm, cosine);
            sum.specular += flux * share.specular;
            sum.diffuse_back += flux * share.diffuse_back;
            sum.unscattered_through += flux * share.unscattered_through;
            sum.diffuse_through += flux * share.diffuse_through;
            sum.absorbed_wall += flux * share.absorbed_wall;
            sum.absorbed_coats += flux * share.absorbed_coats;
        }
        sum
    }

    /// How far aside of where it came in light goes back diffusely, mm, drawn by an even number of (0, 1). The direction is
    /// any, as for light that comes from everywhere alike.
    pub fn sideways_back(&self, thickness_mm: f64, uniform: f64) -> f64 {
        let (k, share) = self.place(thickness_mm).between(self.nodes.len());
        self.nodes[k].back.drawn_mm(&self.nodes[k + 1].back, share, uniform)
    }

    /// How far aside of the point opposite light comes out diffusely beyond, mm, drawn by an even number of (0, 1).
    pub fn sideways_through(&self, thickness_mm: f64, uniform: f64) -> f64 {
        let (k, share) = self.place(thickness_mm).between(self.nodes.len());
        self.nodes[k].through.drawn_mm(&self.nodes[k + 1].through, share, uniform)
    }

    fn place(&self, thickness_mm: f64) -> Place {
        let thickness_mm = if thickness_mm > THINNEST_MM { thickness_mm.min(self.most_mm) } else { THINNEST_MM };
        let steps = (libm::log(thickness_mm) - self.log_least) / self.log_step;
        Place { thickness_mm, steps: steps.clamp(0.0, (self.nodes.len() - 1) as f64) }
    }

    /// What goes straight: sent back by the faces, passed by both; and the cosine inside. Exact, over all bounces between
    /// the faces.
    fn straight(&self, thickness_mm: f64, cosine: f64) -> (f64, f64, f64) {
        if self.inner != Finish::Bare {
            return (0.0, 0.0, 1.0);
        }
        let ratio = 1.0 / self.medium.index;
        let face = fresnel::reflectance(cosine, ratio);
        let inside = fresnel::refracted_cosine(cosine, ratio).unwrap_or(cosine);
        if self.outer != Finish::Bare {
            return (face, 0.0, inside);
        }
        let crossing = libm::exp(-self.medium.extinction_per_mm() * thickness_mm / inside);
        // What of the light that has come in passes the far face first or later. A grazing ray never comes in.
        let through = (1.0 - face) * (1.0 - face) * crossing / (1.0 - face * face * crossing * crossing).max(1e-300);
        (face * (1.0 + crossing * through), through, inside)
    }

    /// How the rest is parted: a cubic through four thicknesses, a polynomial through the cosines.
    fn parted(&self, place: &Place, inside: f64) -> [f64; 4] {
        let first = (place.steps as usize).saturating_sub(1).min(self.nodes.len() - 4);
        let along = lagrange(&[0.0, 1.0, 2.0, 3.0], place.steps - first as f64);
        let mut out = [0.0; 4];
        for (c, &own) in self.cosines.iter().enumerate() {
            let across: f64 = self
                .cosines
                .iter()
                .enumerate()
                .filter(|&(o, _)| o != c)
                .map(|(_, &o)| (inside - o) / (own - o))
                .product();
            for (node, weight) in self.nodes[first..first + 4].iter().zip(along) {
                for (sum, part) in out.iter_mut().zip(node.parts[c]) {
                    *sum += weight * across * part;
                }
            }
        }
        // Where a share is next to nothing the curve may swing below it.
        let out = out.map(|part| part.max(0.0));
        let sum: f64 = out.iter().sum();
        if sum > 0.0 { out.map(|part| part / sum) } else { out }
    }
}

/// Thicknesses stand so far apart, as a logarithm: a third more each. A cubic between them is good to a thousandth.
const LOG_STEP: f64 = 0.3;

/// A thickness among the nodes.
struct Place {
    thickness_mm: f64,
    steps: f64,
}

impl Place {
    /// The node below and the way to the next one, 0 to 1.
    fn between(&self, nodes: usize) -> (usize, f64) {
        let below = (self.steps as usize).min(nodes - 2);
        (below, self.steps - below as f64)
    }
}

/// Weights of four values at a place between them.
fn lagrange(at: &[f64; 4], x: f64) -> [f64; 4] {
    std::array::from_fn(|k| (0..4).filter(|&o| o != k).map(|o| (x - at[o]) / (at[k] - at[o])).product())
}

/// How the light that didn't go straight was parted; nothing where all of it did.
fn parts(shares: &Shares) -> [f64; 4] {
    let parts = [shares.diffuse_back, shares.diffuse_through, shares.absorbed_wall, shares.absorbed_coats];
    let sum: f64 = parts.iter().sum();
    if sum > 0.0 { parts.map(|part| part / sum) } else { [0.0; 4] }
}

/// A direction that is worked out.
#[derive(Clone, Copy)]
struct Ray {
    /// Its cosine in the air.
    outside: f64,
    /// Its cosine in the plastic.
    inside: f64,
    /// What of diffuse light it stands for, but for a common factor.
    flux: f64,
}

/// Gauss-Legendre places and weights on -1 to 1 (Abramowitz and Stegun, table 25.4): three where the plastic draws light
/// together, six where it comes in as slanting as it was.
const THREE: [(f64, f64); 3] =
    [(-0.774_596_669_241_483, 5.0 / 9.0), (0.0, 8.0 / 9.0), (0.774_596_669_241_483, 5.0 / 9.0)];
const SIX: [(f64, f64); 6] = [
    (-0.932_469_514_203_152, 0.171_324_492_379_170),
    (-0.661_209_386_466_265, 0.360_761_573_048_139),
    (-0.238_619_186_083_197, 0.467_913_934_572_691),
    (0.238_619_186_083_197, 0.467_913_934_572_691),
    (0.661_209_386_466_265, 0.360_761_573_048_139),
    (0.932_469_514_203_152, 0.171_324_492_379_170),
];

/// Directions to work out: over the cosines inside the plastic, where what happens next hangs on them smoothly.
fn rays(medium: &Medium, inner: Finish) -> Vec<Ray> {
    if inner != Finish::Bare {
        return vec![Ray { outside: 1.0, inside: 1.0, flux: 1.0 }];
    }
    let index = medium.index;
    let least = fresnel::critical_cosine(index);
    let places: &[(f64, f64)] = if index < 1.3 { &SIX } else { &THREE };
    let ray = |&(place, weight): &(f64, f64)| {
        let inside = least + (1.0 - least) * 0.5 * (1.0 + place);
        let outside = fresnel::refracted_cosine(inside, index).unwrap_or(1.0);
        // By Snell's law cos dcos outside is index² cos dcos inside. What the face keeps out is not in what was walked.
        Ray { outside, inside, flux: weight * inside }
    };
    places.iter().map(ray).collect()
}

#[cfg(test)]
mod tests;
