//! Scatter by scatter through a solid.

use super::{Guide, Met, Photon, Place, Tally, Tracer, Trip};
use crate::scene::Hit;
use crate::{Medium, phase};

/// Scatters after which absorption is booked and the photon's weight looked at, whatever the guide says.
const STAGE: u32 = 256;

/// How a walk inside a solid ends.
pub(super) enum End {
    /// At a face.
    Face(Hit),
    /// The guide let it drop.
    Died,
    /// No face ahead.
    Lost,
}

impl Tracer<'_> {
    /// The face that a walk from a face ends at. What the medium takes on the way is booked.
    pub(super) fn way_out<G: Guide>(&self, photon: &mut Photon, solid: usize, trip: &mut Trip<G>) -> End {
        let medium = &self.band.media[solid];
        let most_mm = self.scene.across_mm();
        let mut path_mm = 0.0;
        for scatters in 1_u32.. {
            let step_mm =
                if medium.scatter_per_mm > 0.0 { trip.random.path() / medium.scatter_per_mm } else { most_mm };
            if let Some(hit) = self.scene.way_out(solid, photon.at, photon.way, step_mm) {
                photon.dim(medium, solid, path_mm + hit.point.distance(photon.at), trip.tally);
                return End::Face(hit);
            } else if step_mm >= most_mm {
                return End::Lost;
            }
            photon.at += photon.way * step_mm;
            path_mm += step_mm;
            photon.way = phase::scattered(photon.way, medium.anisotropy, trip.random);
            let is_stage = scatters.is_multiple_of(STAGE);
            let asked = trip.guide.asked(photon, Met::Scattered, trip.tally);
            if is_stage {
                photon.events += STAGE;
            }
            if is_stage || photon.is_off(asked) {
                photon.dim(medium, solid, path_mm, trip.tally);
                path_mm = 0.0;
                if !trip.goes_on(photon, Place::Inside(solid)) {
                    return End::Died;
                }
            }
        }
        End::Lost
    }
}

impl Photon {
    /// What the medium takes on a path.
    fn dim(&mut self, medium: &Medium, solid: usize, path_mm: f64, tally: &mut Tally) {
        let left = self.weight * libm::exp(-medium.absorb_per_mm * path_mm);
        tally.solids[solid] += self.weight - left;
        self.weight = left;
    }
}
