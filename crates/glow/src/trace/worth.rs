//! Where light is worth following: how much of it will leave through watched patches, by how far off those are.
//!
//! Light deep in a painted wall hardly ever finds a window, light beside one often does. Some photons sent before tell how
//! often, for light in air and in plastic at so many millimetres from the nearest watched face; those that count are then
//! parted where they become worth more and dropped by chance where they become worth less: weight windows, as in Booth and
//! Hendricks (Nucl. Technol. Fusion 5, 1984; from memory). No mean moves, and the noise sinks with less work.

use super::{Guide, Met, Photon, Plain, Tally, Tracer};
use crate::scene::{Hit, Outside, Scene};
use crate::{LightError, Pixel, Random};
use rayon::prelude::*;
use solid::{Bvh, Cancel, Cancelled, DVec3, Mesh};

/// Side of the cubes of space that know their distance, mm; more where there would be too many.
const CUBE_MM: f64 = 1.0;
const MOST_CUBES: f64 = 1e6;

/// Distances that are told apart, mm.
const BINS_MM: [f64; 15] = [0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 14.0, 20.0, 30.0, 50.0, 100.0];
const BINS: usize = BINS_MM.len() + 1;

/// Photons that tell the worths, in all, and of one pixel at least.
const PILOTS: u32 = 16_384;
const LEAST: u32 = 16;

/// Visits that tell something; below, the next smaller distance stands for it.
const TELLING: f64 = 200.0;

/// Light that is worth less than this share of the mean counts as if it were worth so much, so that what comes out elsewhere
/// is not lost from sight.
const FLOOR: f64 = 0.1;

/// Light in air and in plastic, by distance.
type ByPlace<T> = [[T; BINS]; 2];

/// The weight that light should have everywhere.
pub(crate) struct Worth {
    near: Near,
    weight: ByPlace<f64>,
}

/// How far the nearest watched face is.
struct Near {
    low: DVec3,
    side_mm: f64,
    counts: [usize; 3],
    /// Which distance, by cube.
    bin: Vec<u8>,
}

/// A photon that tells what the places were worth that it came through.
struct Pilot<'a> {
    near: &'a Near,
    watched_mm2: &'a [f64],
    /// What has left through watched patches so far.
    score: f64,
    /// The photon's weight, and the score, when it first came to a place.
    seen: ByPlace<Option<[f64; 2]>>,
}

impl Worth {
    /// Sends some photons through the scene and learns from them; none where no patch is watched.
    pub(crate) fn of(
        tracer: &Tracer,
        pixels: &[Pixel],
        watched_mm2: &[f64],
        seed: u64,
        cancel: &Cancel,
    ) -> Result<Option<Worth>, LightError> {
        let Some(near) = Near::of(tracer.scene, tracer.outside, watched_mm2) else { return Ok(None) };
        let n = (PILOTS / pixels.len().max(1) as u32).max(LEAST);
        let told = |(i, pixel): (usize, &Pixel)| {
            // Streams of their own, so that what counts is independent of what was told.
            let mut random = Random::of(!seed, i as u64);
            let mut tally = Tally::new(tracer.scene.n_solids(), tracer.scene.n_things(), watched_mm2.len() as u32);
            let mut sums = ByPlace::default();
            if !cancel.is_cancelled() {
                for way in pixel.directions(n, &mut random) {
                    let mut pilot = Pilot { near: &near, watched_mm2, score: 0.0, seen: Default::default() };
                    tracer.follow(pixel.at, way, &mut pilot, &mut random, &mut tally);
                    pilot.tell(&mut tally, &mut sums);
                }
            }
            sums
        };
        let told: Vec<_> = pixels.par_iter().enumerate().map(told).collect();
        if cancel.is_cancelled() {
            return Err(Cancelled.into());
        }
        let mut sums = ByPlace::<[f64; 2]>::default();
        for told in &told {
            for (sum, part) in sums.as_flattened_mut().iter_mut().zip(told.as_flattened()) {
                sum[0] += part[0];
                sum[1] += part[1];
            }
        }
        Ok(Some(Worth { near, weight: weights(&sums) }))
    }
}

/// From weight that came to each place and score afterwards.
fn weights(sums: &ByPlace<[f64; 2]>) -> ByPlace<f64> {
    let [weight, score] = sums[0].iter().fold([0.0; 2], |a, b| [a[0] + b[0], a[1] + b[1]]);
    if score <= 0.0 {
        return [[1.0; BINS]; 2];
    }
    let mean = score / weight;
    sums.map(|row| {
        let mut last = 1.0;
        row.map(|[weight, score]| {
            if weight >= TELLING {
                last = 1.0 / (score / weight / mean).max(FLOOR);
            }
            last
        })
    })
}

impl Guide for &Worth {
    fn asked(&mut self, photon: &Photon, met: Met, _: &mut Tally) -> f64 {
        self.weight[usize::from(met != Met::Air)][self.near.bin(photon.at)]
    }
}

impl Guide for Pilot<'_> {
    fn asked(&mut self, photon: &Photon, met: Met, tally: &mut Tally) -> f64 {
        self.count(tally);
        let seen = &mut self.seen[usize::from(met != Met::Air)][self.near.bin(photon.at)];
        if seen.is_none() {
            *seen = Some([photon.weight, self.score]);
        }
        Plain.asked(photon, met, tally)
    }
}

impl Pilot<'_> {
    fn count(&mut self, tally: &mut Tally) {
        let is_watched = |p: u32| self.watched_mm2.get(p as usize).is_some_and(|mm2| *mm2 > 0.0);
        self.score += tally.take_lit().iter().filter(|(p, _)| is_watched(*p)).map(|(_, light)| light).sum::<f64>();
    }

    fn tell(mut self, tally: &mut Tally, sums: &mut ByPlace<[f64; 2]>) {
        self.count(tally);
        for (sum, seen) in sums.as_flattened_mut().iter_mut().zip(self.seen.as_flattened()) {
            if let Some([weight, before]) = seen {
                sum[0] += weight;
                sum[1] += self.score - before;
            }
        }
    }
}

impl Near {
    fn of(scene: &Scene, outside: &dyn Outside, watched_mm2: &[f64]) -> Option<Near> {
        let is_watched = |t: &u32| {
            let Some(solid) = scene.solid(*t) else { return false };
            let corners = scene.corners(*t);
            let middle = (corners[0] + corners[1] + corners[2]) / 3.0;
            let patch = outside.at(scene, solid, &Hit { point: middle, triangle: *t, normal: scene.normal(*t) }).patch;
            patch.and_then(|p| watched_mm2.get(p as usize)).is_some_and(|mm2| *mm2 > 0.0)
        };
        let watched: Vec<u32> = (0..scene.n_solid_triangles()).into_par_iter().filter(is_watched).collect();
        let mut faces = Mesh::default();
        for t in watched {
            let n = faces.vertices.len() as u32;
            faces.vertices.extend(scene.corners(t));
            faces.triangles.push([n, n + 1, n + 2]);
        }
        let bvh = Bvh::from(faces);
        bvh.bounds()?;
        let bounds = scene.bounds();
        let size = bounds.size() + DVec3::splat(2.0 * CUBE_MM);
        let side_mm = CUBE_MM.max(libm::cbrt(size.x * size.y * size.z / MOST_CUBES));
        let low = bounds.min - DVec3::splat(CUBE_MM);
        let counts = (size / side_mm).to_array().map(|n| n.ceil() as usize);
        let [nx, ny, nz] = counts;
        let far_mm = BINS_MM[BINS_MM.len() - 1];
        let bin = |i: usize| {
            let cube = DVec3::new((i % nx) as f64, (i / nx % ny) as f64, (i / (nx * ny)) as f64);
            let distance_mm = bvh.rough_distance(low + (cube + 0.5) * side_mm, far_mm).unwrap_or(far_mm);
            BINS_MM.partition_point(|b| *b <= distance_mm) as u8
        };
        let bin = (0..nx * ny * nz).into_par_iter().map(bin).collect();
        Some(Near { low, side_mm, counts, bin })
    }

    #[inline]
    fn bin(&self, at: DVec3) -> usize {
        let cube = (at - self.low) / self.side_mm;
        let [nx, ny, nz] = self.counts;
        let place = |x: f64, n: usize| (x.max(0.0) as usize).min(n - 1);
        usize::from(self.bin[(place(cube.z, nz) * ny + place(cube.y, ny)) * nx + place(cube.x, nx)])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_are_the_inverse_of_worth_within_bounds() {
        let mut sums = ByPlace::<[f64; 2]>::default();
        sums[0][3] = [1000.0, 100.0];
        sums[1][0] = [500.0, 200.0];
        sums[1][1] = [10.0, 9.0];
        sums[1][5] = [4000.0, 4.0];
        let weights = weights(&sums);
        assert_eq!(weights[0], [1.0; BINS]);
        assert!((weights[1][0] - 0.25).abs() < 1e-12 && (weights[1][1] - 0.25).abs() < 1e-12, "{weights:?}");
        assert!((weights[1][5] - 10.0).abs() < 1e-12 && (weights[1][BINS - 1] - 10.0).abs() < 1e-12, "{weights:?}");
        assert_eq!(super::weights(&ByPlace::default()), [[1.0; BINS]; 2]);
    }
}
