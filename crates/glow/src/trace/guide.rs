//! How heavy light should be where it is.

use super::{Photon, Tally};
use crate::Random;

/// Photons fainter than this meet the roulette when nothing is known of where they are.
const FAINT: f64 = 0.3;

/// The share of faint photons that go on, strengthened by its inverse.
const SPARED: f64 = 0.3;

/// Light may be so many times heavier or lighter than it should be before it is parted or dropped.
const SLACK: f64 = 2.0;

/// Into so many parts at once, at most.
const MOST_PARTS: f64 = 8.0;

/// Where light was met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Met {
    /// At a face, going on through air.
    Air,
    /// At a face, going on through plastic.
    Inside,
    /// In plastic, just scattered.
    Scattered,
}

/// Says how heavy light should be where it is. What it says moves no mean: lighter photons are dropped or strengthened by
/// chance, heavier ones go on in parts.
pub(crate) trait Guide {
    /// The weight that the photon should have; its own where that is as good as any.
    fn asked(&mut self, photon: &Photon, met: Met, tally: &mut Tally) -> f64;
}

/// Knows nothing of places: light is followed until it is faint.
pub(crate) struct Plain;

impl Guide for Plain {
    fn asked(&mut self, photon: &Photon, met: Met, _: &mut Tally) -> f64 {
        if met != Met::Scattered && photon.weight < FAINT { photon.spared() } else { photon.weight }
    }
}

impl Photon {
    /// The weight of a photon that one in a few goes on with.
    pub(super) fn spared(&self) -> f64 {
        self.weight / SPARED
    }

    /// Whether it is too light or too heavy.
    pub(super) fn is_off(&self, asked: f64) -> bool {
        self.weight > SLACK * asked || self.weight * SLACK < asked
    }

    /// How many parts of it go on, 0 when chance drops it. Its weight becomes theirs.
    pub(super) fn parts(&mut self, asked: f64, random: &mut Random, tally: &mut Tally) -> u32 {
        if !self.is_off(asked) {
            return 1;
        }
        if self.weight > asked {
            let n = (self.weight / asked).round().min(MOST_PARTS);
            self.weight /= n;
            return n as u32;
        }
        if random.uniform() * asked < self.weight {
            tally.roulette += asked - self.weight;
            self.weight = asked;
            1
        } else {
            tally.roulette -= self.weight;
            0
        }
    }
}
