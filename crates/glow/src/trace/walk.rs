//! Scatter by scatter through a solid.
//!
//! Most steps need no ray: a ball round some point that is known to be clear of faces holds many of them. Where tables are
//! allowed, two more short cuts are taken: light that has forgotten its direction goes on with the reduced scattering and
//! no favoured direction (similarity), and from the middle of such a ball it goes straight to the surface ([`Balls`]).

use super::balls::{Balls, LEAST};
use super::{Photon, Tally, Tracer};
use crate::scene::Hit;
use crate::{Medium, Random, phase};
use solid::DVec3;

/// Scatters after which absorption is booked and the roulette held.
const STAGE: u32 = 256;

/// Farthest that the nearest face is looked for, mm.
const FAR_MM: f64 = 8.0;

/// And at most so many free paths: wider balls are no use.
const FAR_PATHS: f64 = 16.0;

/// What is left of a direction (mean cosine) when it counts as forgotten.
const FORGOTTEN: f64 = 0.1;

/// How a walk inside a solid ends.
pub(super) enum End {
    /// At a face.
    Face(Hit),
    /// The roulette took it.
    Died,
    /// No face ahead.
    Lost,
}

/// A ball without a face in it; the nearest face touches it, or lies [`FAR_MM`] off.
struct Ball {
    middle: DVec3,
    radius_mm: f64,
}

impl Ball {
    fn holds(&self, point: DVec3) -> bool {
        point.distance_squared(self.middle) < self.radius_mm * self.radius_mm
    }

    /// No ball round that point is larger than this.
    fn most_mm(&self, point: DVec3, far_mm: f64) -> f64 {
        if self.radius_mm < 0.99 * far_mm { self.radius_mm + point.distance(self.middle) } else { far_mm }
    }
}

impl Tracer<'_> {
    /// The face that a walk from a face ends at. What the medium takes on the way is booked.
    pub(super) fn way_out(&self, photon: &mut Photon, solid: usize, random: &mut Random, tally: &mut Tally) -> End {
        let medium = &self.band.media[solid];
        let most_mm = self.scene.across_mm();
        let balls = self.plates.map(|plates| &plates.balls);
        let forgotten_after = if balls.is_some() { scatters_to_forget(medium.anisotropy) } else { u32::MAX };
        let far_mm = FAR_MM.min(FAR_PATHS / medium.reduced());
        let least_mm = LEAST / medium.reduced();
        let mut path_mm = 0.0;
        let mut ball = Ball { middle: photon.at, radius_mm: 0.0 };
        let mut is_aimless = false;
        for scatters in 1_u32.. {
            if scatters.is_multiple_of(STAGE) {
                photon.events += STAGE;
                photon.dim(medium, solid, path_mm, tally);
                path_mm = 0.0;
                if !photon.is_spared(random, tally) {
                    return End::Died;
                }
            }
            if let Some(balls) = balls.filter(|_| is_aimless)
                && let Some(clear_mm) = self.room(&mut ball, photon.at, least_mm, far_mm)
                && let Some(way_mm) = photon.cross(medium, balls, clear_mm, random)
            {
                path_mm += way_mm;
                is_aimless = false;
                continue;
            }
            let has_forgotten = scatters > forgotten_after;
            let (scatter, anisotropy) =
                if has_forgotten { (medium.reduced(), 0.0) } else { (medium.scatter_per_mm, medium.anisotropy) };
            let step_mm = if scatter > 0.0 { random.path() / scatter } else { most_mm };
            let end = photon.at + photon.way * step_mm;
            if !ball.holds(end) {
                if !has_forgotten && step_mm < ball.most_mm(photon.at, far_mm) {
                    ball = Ball { middle: photon.at, radius_mm: self.scene.clearance(photon.at, far_mm) };
                }
                if !ball.holds(end) {
                    if let Some(hit) = self.scene.way_out(solid, photon.at, photon.way, step_mm) {
                        photon.dim(medium, solid, path_mm + hit.point.distance(photon.at), tally);
                        return End::Face(hit);
                    } else if step_mm >= most_mm {
                        return End::Lost;
                    }
                }
            }
            photon.at = end;
            path_mm += step_mm;
            photon.way = phase::scattered(photon.way, anisotropy, random);
            is_aimless = has_forgotten;
        }
        End::Lost
    }

    /// Radius of a clear ball round a point, if it is known or found to be as wide as asked.
    fn room(&self, ball: &mut Ball, at: DVec3, least_mm: f64, far_mm: f64) -> Option<f64> {
        let mut clear_mm = ball.radius_mm - at.distance(ball.middle);
        // Half a ball is not worth a search; two thirds are not worth another one.
        if clear_mm < 2.0 * least_mm && clear_mm < 0.7 * ball.radius_mm.max(least_mm) {
            if ball.most_mm(at, far_mm) < least_mm {
                return None;
            }
            clear_mm = self.scene.clearance(at, far_mm);
            *ball = Ball { middle: at, radius_mm: clear_mm };
        }
        (clear_mm >= least_mm).then_some(clear_mm)
    }
}

impl Photon {
    /// What the medium takes on a path.
    fn dim(&mut self, medium: &Medium, solid: usize, path_mm: f64, tally: &mut Tally) {
        let left = self.weight * libm::exp(-medium.absorb_per_mm * path_mm);
        tally.solids[solid] += self.weight - left;
        self.weight = left;
    }

    /// From the middle of a ball, just scattered, to its surface: any point of it alike. The length of the walk, mm.
    fn cross(&mut self, medium: &Medium, balls: &Balls, clear_mm: f64, random: &mut Random) -> Option<f64> {
        let free_mm = 1.0 / medium.reduced();
        let crossing = balls.crossing(clear_mm / free_mm, random)?;
        let out = phase::scattered(DVec3::Z, 0.0, random);
        // A little inside, so that rounding never puts it beyond a face.
        self.at += out * (crossing.radius * free_mm * (1.0 - 1e-9));
        self.way = phase::turned(out, crossing.cosine, random.azimuth());
        Some(crossing.length * free_mm)
    }
}

/// Scatters after which nothing much is left of a direction.
fn scatters_to_forget(anisotropy: f64) -> u32 {
    let kept = anisotropy.abs();
    if kept < FORGOTTEN { 0 } else { (libm::log(FORGOTTEN) / libm::log(kept)).ceil() as u32 }
}
