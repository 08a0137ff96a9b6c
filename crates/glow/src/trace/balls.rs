//! How light that was just scattered in the middle of a ball comes to its surface: walked once, drawn often.
//!
//! In a medium that favours no direction the only length is the free path, so a few balls stand for all media. What is
//! drawn is exact, up to the choice among a few thousand walks: the cosine at the surface, and how long the walk was.

use crate::{Random, phase};
use rayon::prelude::*;
use solid::DVec3;

/// The smallest ball, in free paths.
pub(super) const LEAST: f64 = 1.0;

/// Each ball is wider than the last by this.
const WIDER: f64 = 1.25;

/// How many sizes: up to 15 free paths.
const SIZES: u32 = 13;

/// Walks kept of each size.
const WALKS: u32 = 4096;

pub(super) struct Balls(Vec<Ball>);

struct Ball {
    radius: f64,
    /// Cosine between way and outward normal at the surface; length of the walk. In free paths.
    walks: Vec<[f32; 2]>,
}

/// A walk to the surface of a ball, in free paths.
pub(super) struct Crossing {
    pub(super) radius: f64,
    pub(super) cosine: f64,
    pub(super) length: f64,
}

impl Balls {
    pub(super) fn new(seed: u64) -> Self {
        Self((0..SIZES).into_par_iter().map(|k| ball(LEAST * libm::pow(WIDER, f64::from(k)), seed, k)).collect())
    }

    /// A walk to the surface of the widest ball that isn't wider than `radius`, which is at least [`LEAST`].
    pub(super) fn crossing(&self, radius: f64, random: &mut Random) -> Option<Crossing> {
        let ball = &self.0[..self.0.partition_point(|b| b.radius <= radius)].last()?;
        let [cosine, length] = ball.walks[(random.uniform() * f64::from(WALKS)) as usize];
        Some(Crossing { radius: ball.radius, cosine: f64::from(cosine), length: f64::from(length) })
    }
}

fn ball(radius: f64, seed: u64, stream: u32) -> Ball {
    let mut random = Random::of(seed, u64::MAX - u64::from(stream));
    let walks = (0..WALKS).map(|_| {
        let (mut at, mut way, mut length) = (DVec3::ZERO, DVec3::Z, 0.0);
        loop {
            let step = random.path();
            if (at + way * step).length_squared() >= radius * radius {
                // The far end of the chord.
                let along = at.dot(way);
                let last = (along * along + radius * radius - at.length_squared()).max(0.0).sqrt() - along;
                let cosine = (at + way * last).dot(way) / radius;
                return [cosine.clamp(0.0, 1.0) as f32, (length + last) as f32];
            }
            at += way * step;
            length += step;
            way = phase::scattered(way, 0.0, &mut random);
        }
    });
    Ball { radius, walks: walks.collect() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wide_balls_are_left_as_diffusion_says() {
        let balls = Balls::new(3);
        let ball = balls.0.last().unwrap();
        let n = f64::from(WALKS);
        let mean = |k: usize| ball.walks.iter().map(|w| f64::from(w[k])).sum::<f64>() / n;
        // Time to leave a ball of radius R with diffusion l/3 per length, the light gone at 0.7104 l outside of it (Milne):
        // (R + z)² / (6 D) less the time from z, here (R² + 2 R z) / 2 in free paths of length l = 1.
        let length = ball.radius * (ball.radius + 2.0 * 0.7104) / 2.0;
        assert!((mean(1) / length - 1.0).abs() < 0.05, "{} {length}", mean(1));
        // Mean cosine of light that leaves a deep flat body: 0.7104 (moments of Milne's problem); a little more from a ball.
        assert!(mean(0) > 0.69 && mean(0) < 0.75, "{}", mean(0));
        // From a narrow one light leaves straight with exp(-1), at cosine 1.
        let narrow = &balls.0[0];
        let straight = narrow.walks.iter().filter(|w| (w[1] - 1.0).abs() < 1e-6 && w[0] > 0.999_99).count() as f64 / n;
        assert!((straight - libm::exp(-1.0)).abs() < 4.0 * (0.25 / n).sqrt(), "{straight}");
        assert!(balls.crossing(0.5, &mut Random::of(0, 0)).is_none());
        assert!(balls.crossing(1e9, &mut Random::of(0, 0)).unwrap().radius < 16.0);
    }
}
