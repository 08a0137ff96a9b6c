//! Light through a flat wall, walked scatter by scatter.

use crate::sideways::Sideways;
use crate::{Finish, OpticsError, Random, Wall, fresnel, phase};
use rayon::prelude::*;
use solid::{DVec2, DVec3};

/// How light comes to a wall from the air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Incidence {
    /// All at one angle to the normal.
    Collimated {
        /// Cosine of that angle, above 0 to 1.
        cosine: f64,
    },
    /// From everywhere alike (Lambert's law).
    Diffuse,
}

/// How much is walked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Walk {
    /// Packets of light, 1 or more.
    pub packets: u32,
    /// The same seed gives the same result.
    pub seed: u64,
}

/// Where the light went, each as a share of what came.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shares {
    /// Sent back without having been scattered, from the near face or, through it, from the far one.
    pub specular: f64,
    /// Sent back by scattering or by a coat.
    pub diffuse_back: f64,
    /// Passed straight on.
    pub unscattered_through: f64,
    /// Passed after scattering or through a coat.
    pub diffuse_through: f64,
    /// Stayed in the plastic.
    pub absorbed_wall: f64,
    /// Stayed in coats.
    pub absorbed_coats: f64,
}

impl Shares {
    /// All that is sent back.
    pub fn back(&self) -> f64 {
        self.specular + self.diffuse_back
    }

    /// All that passes.
    pub fn through(&self) -> f64 {
        self.unscattered_through + self.diffuse_through
    }

    /// All together: 1 but for what [`Passed::roulette`] says.
    pub fn sum(&self) -> f64 {
        self.back() + self.through() + self.absorbed_wall + self.absorbed_coats
    }

    fn of(sums: &[f64; KINDS]) -> Self {
        let [specular, diffuse_back, unscattered_through, diffuse_through, absorbed_wall, absorbed_coats, ..] = *sums;
        Self { specular, diffuse_back, unscattered_through, diffuse_through, absorbed_wall, absorbed_coats }
    }
}

/// What a wall did to the light that came to it.
#[derive(Clone, Debug, PartialEq)]
pub struct Passed {
    /// Where it went.
    pub shares: Shares,
    /// One standard deviation of each share.
    pub sigma: Shares,
    /// One standard deviation of all that is sent back.
    pub sigma_back: f64,
    /// One standard deviation of all that passes.
    pub sigma_through: f64,
    /// What Russian roulette took less what it gave: nothing on average. With it the shares sum to 1 but for rounding.
    pub roulette: f64,
    /// How far from where it came in the diffuse light goes back.
    pub sideways_back: Sideways,
    /// How far aside of the point opposite the diffuse light comes out beyond.
    pub sideways_through: Sideways,
}

/// Walks packets of light through a wall: Henyey-Greenstein scattering, Fresnel's formulas at bare faces, where a packet
/// is parted rather than sent one way, absorption taken from its weight, and Russian roulette for weak packets. The method
/// is that of Wang, Jacques and Zheng, Comput. Methods Programs Biomed. 47, 131 (1995).
///
/// The result is unbiased, its noise is stated, and it is the same for the same input whatever the number of threads.
///
/// # Errors
///
/// A wall that [`Wall::check`] refuses, a cosine that is not above 0 to 1, no packets.
pub fn slab(wall: &Wall, incidence: Incidence, walk: Walk) -> Result<Passed, OpticsError> {
    wall.check()?;
    if let Incidence::Collimated { cosine } = incidence {
        crate::medium::within("cosine of incidence", cosine, LEAST_COSINE, 1.0)?;
    }
    crate::medium::within("packets of light", f64::from(walk.packets), 1.0, f64::from(u32::MAX))?;
    let chunks = walk.packets.div_ceil(CHUNK);
    let parts: Vec<Tally> = (0..chunks)
        .into_par_iter()
        .map(|chunk| {
            let mut random = Random::of(walk.seed, u64::from(chunk));
            let mut tally = Tally::default();
            for _ in 0..CHUNK.min(walk.packets - chunk * CHUNK) {
                let mut packet = Packet::entering(wall, incidence, &mut random, &mut tally);
                packet.walk(wall, &mut random, &mut tally);
                tally.close();
            }
            tally
        })
        .collect();
    let mut all = Tally::default();
    for part in &parts {
        all.add(part);
    }
    Ok(all.passed(f64::from(walk.packets)))
}

/// Packets that share a stream of random numbers. Part of the result: another number gives other bytes.
const CHUNK: u32 = 2048;

/// Grazing more than this no light comes.
const LEAST_COSINE: f64 = 1e-6;

/// A packet weaker than this plays roulette. Of the values tried this pair needs the least time for a noise.
const WEAK: f64 = 0.3;

/// And it goes on with this weight if it wins.
const WON: f64 = 0.6;

/// Scatters and faces after which a packet is given up: only light shut in between mirrors comes so far.
const MOST_TURNS: u32 = 1_000_000;

const SPECULAR: usize = 0;
const DIFFUSE_BACK: usize = 1;
const UNSCATTERED_THROUGH: usize = 2;
const DIFFUSE_THROUGH: usize = 3;
const ABSORBED_WALL: usize = 4;
const ABSORBED_COATS: usize = 5;
const BACK: usize = 6;
const THROUGH: usize = 7;
const KINDS: usize = 8;

/// What one or many packets came to.
#[derive(Default)]
struct Tally {
    /// The packet that is under way.
    now: [f64; KINDS],
    sums: [f64; KINDS],
    squares: [f64; KINDS],
    roulette: f64,
    back: Sideways,
    through: Sideways,
}

impl Tally {
    /// The packet has ended.
    fn close(&mut self) {
        self.now[BACK] = self.now[SPECULAR] + self.now[DIFFUSE_BACK];
        self.now[THROUGH] = self.now[UNSCATTERED_THROUGH] + self.now[DIFFUSE_THROUGH];
        for ((sum, square), now) in self.sums.iter_mut().zip(&mut self.squares).zip(self.now) {
            *sum += now;
            *square += now * now;
        }
        self.now = [0.0; KINDS];
    }

    fn add(&mut self, other: &Self) {
        for k in 0..KINDS {
            self.sums[k] += other.sums[k];
            self.squares[k] += other.squares[k];
        }
        self.roulette += other.roulette;
        self.back.add(&other.back);
        self.through.add(&other.through);
    }

    fn passed(self, packets: f64) -> Passed {
        let mean = self.sums.map(|sum| sum / packets);
        let sigma: [f64; KINDS] =
            std::array::from_fn(|k| ((self.squares[k] / packets - mean[k] * mean[k]).max(0.0) / packets).sqrt());
        Passed {
            shares: Shares::of(&mean),
            sigma: Shares::of(&sigma),
            sigma_back: sigma[BACK],
            sigma_through: sigma[THROUGH],
            roulette: self.roulette / packets,
            sideways_back: self.back,
            sideways_through: self.through,
        }
    }

    /// Light leaves by a face, so far aside of where it came in.
    fn leaves(&mut self, far: bool, scattered: bool, weight: f64, at: DVec3) {
        let kind = match (far, scattered) {
            (false, false) => SPECULAR,
            (false, true) => DIFFUSE_BACK,
            (true, false) => UNSCATTERED_THROUGH,
            (true, true) => DIFFUSE_THROUGH,
        };
        self.now[kind] += weight;
        if scattered {
            let side = if far { &mut self.through } else { &mut self.back };
            side.record(DVec2::new(at.x, at.y), weight);
        }
    }
}

/// Light under way inside the wall: z runs from 0 at the inner face to the thickness at the outer one.
struct Packet {
    at: DVec3,
    to: DVec3,
    weight: f64,
    scattered: bool,
}

impl Packet {
    /// A packet that came to the inner face, after what that sent back.
    fn entering(wall: &Wall, incidence: Incidence, random: &mut Random, tally: &mut Tally) -> Self {
        match wall.inner {
            Finish::Bare => {
                let cosine = match incidence {
                    Incidence::Collimated { cosine } => cosine,
                    Incidence::Diffuse => random.uniform().sqrt(),
                };
                let ratio = 1.0 / wall.medium.index;
                let back = fresnel::reflectance(cosine, ratio);
                tally.leaves(false, false, back, DVec3::ZERO);
                // Into the denser side there is always a way.
                let inside = fresnel::refracted_cosine(cosine, ratio).unwrap_or(cosine);
                let to = DVec3::new((1.0 - inside * inside).max(0.0).sqrt(), 0.0, inside);
                Self { at: DVec3::ZERO, to, weight: 1.0 - back, scattered: false }
            }
            Finish::Coat(coat) => {
                tally.leaves(false, true, coat.reflectance, DVec3::ZERO);
                tally.now[ABSORBED_COATS] += coat.absorbed();
                let to = phase::lambertian(DVec3::Z, random);
                Self { at: DVec3::ZERO, to, weight: coat.transmittance, scattered: true }
            }
        }
    }

    /// Until nothing is left of it.
    fn walk(&mut self, wall: &Wall, random: &mut Random, tally: &mut Tally) {
        let medium = &wall.medium;
        let extinction = medium.extinction_per_mm();
        let absorbed = if extinction > 0.0 { medium.absorb_per_mm / extinction } else { 0.0 };
        for _ in 0..MOST_TURNS {
            if self.weight < WEAK && !self.wins(random, tally) {
                return;
            }
            let path = random.path() / extinction;
            let far = self.to.z > 0.0;
            let to_face = (if far { wall.thickness_mm - self.at.z } else { -self.at.z }) / self.to.z;
            if path < to_face {
                self.at += self.to * path;
                tally.now[ABSORBED_WALL] += self.weight * absorbed;
                self.weight *= 1.0 - absorbed;
                self.to = phase::scattered(self.to, medium.anisotropy, random);
                self.scattered = true;
            } else {
                self.at += self.to * to_face;
                self.at.z = if far { wall.thickness_mm } else { 0.0 };
                self.meets(wall, far, random, tally);
            }
        }
        tally.roulette += self.weight;
    }

    /// A face from inside: part of it leaves, the rest turns back.
    fn meets(&mut self, wall: &Wall, far: bool, random: &mut Random, tally: &mut Tally) {
        match if far { wall.outer } else { wall.inner } {
            Finish::Bare => {
                let back = fresnel::reflectance(self.to.z.abs(), wall.medium.index);
                if back < 1.0 {
                    tally.leaves(far, self.scattered, self.weight * (1.0 - back), self.at);
                }
                self.weight *= back;
                self.to.z = -self.to.z;
            }
            Finish::Coat(coat) => {
                tally.leaves(far, true, self.weight * coat.transmittance, self.at);
                tally.now[ABSORBED_COATS] += self.weight * coat.absorbed();
                self.weight *= coat.reflectance;
                self.to = phase::lambertian(if far { -DVec3::Z } else { DVec3::Z }, random);
                self.scattered = true;
            }
        }
    }

    /// Russian roulette: whether a weak packet goes on, and then as a stronger one.
    fn wins(&mut self, random: &mut Random, tally: &mut Tally) -> bool {
        let wins = self.weight > 0.0 && random.uniform() * WON < self.weight;
        let after = if wins { WON } else { 0.0 };
        tally.roulette += self.weight - after;
        self.weight = after;
        wins
    }
}

#[cfg(test)]
mod tests;
