//! One photon's way: through air, against faces, through plastic, until it has left or died.
//!
//! A photon carries a weight. Absorption takes from it; a face that may count light (a patch) takes its share of every
//! visit; elsewhere chance decides between the ways on. A [`Guide`] says how heavy light should be where it is: what is
//! lighter is dropped or strengthened by chance (Russian roulette), and both are booked, so that what was launched is found
//! again to rounding; what is heavier goes on in parts.

mod guide;
mod tabled;
mod tally;
mod walk;
mod worth;

use guide::Met;
pub(crate) use guide::{Guide, Plain};
pub(crate) use tabled::{Behind, Plates};
pub(crate) use tally::Tally;
pub(crate) use worth::Worth;

use crate::scene::{Band, Body, Face, Hit, Outside, Scene, Start};
use crate::{Coat, Finish, Random, fresnel, phase};
use solid::DVec3;
use walk::End;

/// Events after which the roulette is held whatever the weight: light caught between smooth faces of a clear solid would
/// otherwise go round for ever.
const PATIENCE: u32 = 20_000;

/// What light is traced through.
pub(crate) struct Tracer<'a> {
    pub(crate) scene: &'a Scene,
    pub(crate) band: &'a Band,
    pub(crate) outside: &'a dyn Outside,
    /// Walls known beforehand; none: all is walked.
    pub(crate) plates: Option<&'a Plates<'a>>,
}

/// Light under way.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Photon {
    at: DVec3,
    way: DVec3,
    weight: f64,
    /// Faces met and scatters since the start or the last roulette of patience.
    events: u32,
}

/// What a photon is in; carried along, never asked of the surface.
#[derive(Clone, Copy, Debug)]
enum Place {
    Air(Start),
    Inside(usize),
    /// It has left or died.
    Gone,
}

/// What a photon needs beside the scene: chance, the books, a guide, and room for parts of it that wait for their turn.
struct Trip<'a, G> {
    random: &'a mut Random,
    tally: &'a mut Tally,
    guide: &'a mut G,
    waiting: Vec<(Photon, Place)>,
}

/// A face as light comes to it.
struct Crossing {
    /// Unit normal on the side that the light comes from.
    facing: DVec3,
    /// Refractive index on that side over the one beyond.
    ratio: f64,
    /// What the face carries.
    finish: Finish,
    /// Where light is when it is sent back, and when it passes.
    back: Place,
    through: Place,
}

impl Tracer<'_> {
    /// Follows a photon of weight 1 that starts in air.
    pub(crate) fn follow<G: Guide>(
        &self,
        at: DVec3,
        way: DVec3,
        guide: &mut G,
        random: &mut Random,
        tally: &mut Tally,
    ) {
        tally.launched += 1.0;
        let first = (Photon { at, way, weight: 1.0, events: 0 }, Place::Air(Start::Here));
        let mut trip = Trip { random, tally, guide, waiting: vec![first] };
        while let Some((mut photon, mut place)) = trip.waiting.pop() {
            loop {
                place = match place {
                    Place::Air(start) => self.fly(&mut photon, start, &mut trip),
                    Place::Inside(solid) => self.walk(&mut photon, solid, &mut trip),
                    Place::Gone => break,
                };
                photon.events += 1;
                if matches!(place, Place::Gone) || !trip.goes_on(&mut photon, place) {
                    break;
                }
            }
        }
    }

    /// Through air to the next face, and what happens there.
    fn fly<G: Guide>(&self, photon: &mut Photon, start: Start, trip: &mut Trip<G>) -> Place {
        let Some(hit) = self.scene.flight(photon.at, photon.way, start) else {
            trip.tally.escaped += photon.weight;
            return Place::Gone;
        };
        let from_behind = hit.normal.dot(photon.way) > 0.0;
        match self.scene.body(hit.triangle) {
            Body::Thing(thing) => {
                // From behind: it left a solid that the thing runs into, so it has reached the thing.
                let reflectance = if from_behind { 0.0 } else { self.band.reflectances[thing] };
                trip.tally.things[thing] += photon.weight * (1.0 - reflectance);
                photon.weight *= reflectance;
                photon.at = hit.point;
                photon.way = phase::lambertian(hit.normal, trip.random);
                if reflectance > 0.0 { Place::Air(Start::Here) } else { Place::Gone }
            }
            Body::Solid(solid) if from_behind => {
                trip.tally.n_mended += 1;
                Place::Inside(solid)
            }
            Body::Solid(solid) => {
                photon.at = hit.point;
                if let Some(place) = self.by_table(photon, solid, &hit, trip) {
                    return place;
                }
                let face = self.face(solid, &hit);
                if face.patch.is_some() {
                    // The outer surface, seen from the air: the light was out already.
                    trip.tally.escaped += photon.weight;
                    return Place::Gone;
                }
                let inwards = Crossing {
                    facing: hit.normal,
                    ratio: 1.0 / self.band.media[solid].index,
                    finish: face.finish,
                    back: Place::Air(Start::Here),
                    through: Place::Inside(solid),
                };
                self.cross(photon, inwards, trip)
            }
            Body::Glue => Place::Gone,
        }
    }

    /// Through a face between air and a solid, or back.
    fn cross<G: Guide>(&self, photon: &mut Photon, face: Crossing, trip: &mut Trip<G>) -> Place {
        let Crossing { facing, ratio, finish, back, through } = face;
        match finish {
            Finish::Bare => {
                let cosine = -photon.way.dot(facing);
                if trip.random.uniform() < fresnel::reflectance(cosine, ratio) {
                    photon.way = mirrored(photon.way, facing);
                    back
                } else {
                    photon.way = refracted(photon.way, -facing, cosine, ratio);
                    through
                }
            }
            Finish::Coat(coat) => match coated(photon, coat, trip.random, trip.tally) {
                Some(Side::Back) => {
                    photon.way = phase::lambertian(facing, trip.random);
                    back
                }
                Some(Side::Through) => {
                    photon.way = phase::lambertian(-facing, trip.random);
                    through
                }
                None => Place::Gone,
            },
        }
    }

    /// Scatter by scatter through a solid to one of its faces, and what happens there.
    fn walk<G: Guide>(&self, photon: &mut Photon, solid: usize, trip: &mut Trip<G>) -> Place {
        let hit = match self.way_out(photon, solid, trip) {
            End::Face(hit) => hit,
            End::Died => return Place::Gone,
            End::Lost => {
                trip.tally.lost += photon.weight;
                return Place::Gone;
            }
        };
        photon.at = hit.point;
        if self.scene.is_glued(hit.triangle)
            && let Some(next) = self.scene.across_glue(solid, hit.point, hit.normal)
        {
            return self.cross_glue(photon, solid, &hit, &next, trip);
        }
        let face = self.face(solid, &hit);
        match face.patch {
            Some(patch) => self.leave_for_good(photon, solid, hit.normal, face.finish, patch, trip),
            None => {
                let outwards = Crossing {
                    facing: -hit.normal,
                    ratio: self.band.media[solid].index,
                    finish: face.finish,
                    back: Place::Inside(solid),
                    through: Place::Air(Start::Leaving),
                };
                self.cross(photon, outwards, trip)
            }
        }
    }

    /// Out through the outer surface: its share is counted there, the rest goes back in.
    fn leave_for_good<G: Guide>(
        &self,
        photon: &mut Photon,
        solid: usize,
        normal: DVec3,
        finish: Finish,
        patch: u32,
        trip: &mut Trip<G>,
    ) -> Place {
        match finish {
            Finish::Bare => {
                let back = fresnel::reflectance(photon.way.dot(normal), self.band.media[solid].index);
                trip.tally.out(patch, photon.weight * (1.0 - back));
                photon.weight *= back;
                photon.way = mirrored(photon.way, normal);
            }
            Finish::Coat(coat) => {
                trip.tally.out(patch, photon.weight * coat.transmittance);
                trip.tally.coats += photon.weight * (1.0 - coat.transmittance - coat.reflectance);
                photon.weight *= coat.reflectance;
                photon.way = phase::lambertian(-normal, trip.random);
            }
        }
        if photon.weight > 0.0 { Place::Inside(solid) } else { Place::Gone }
    }

    /// At a glue line: straight on into the next solid, or diffusely back.
    fn cross_glue<G: Guide>(
        &self,
        photon: &mut Photon,
        solid: usize,
        here: &Hit,
        next: &Hit,
        trip: &mut Trip<G>,
    ) -> Place {
        let glue = self.band.glue;
        let kept = glue.reflectance + glue.transmittance;
        trip.tally.glue += photon.weight * (1.0 - kept);
        photon.weight *= kept;
        if kept <= 0.0 {
            return Place::Gone;
        }
        if trip.random.uniform() * kept < glue.reflectance {
            photon.way = phase::lambertian(-here.normal, trip.random);
            return Place::Inside(solid);
        }
        photon.at = next.point;
        match self.scene.body(next.triangle) {
            Body::Solid(beyond) => Place::Inside(beyond),
            Body::Thing(_) | Body::Glue => Place::Gone,
        }
    }

    pub(crate) fn face(&self, solid: usize, hit: &Hit) -> Face {
        self.outside.at(self.scene, solid, hit)
    }
}

impl<G: Guide> Trip<'_, G> {
    /// Whether a photon goes on from where it is; parts of it that were split off wait.
    fn goes_on(&mut self, photon: &mut Photon, place: Place) -> bool {
        let met = if matches!(place, Place::Air(_)) { Met::Air } else { Met::Inside };
        let mut asked = self.guide.asked(photon, met, self.tally);
        if photon.events >= PATIENCE {
            photon.events = 0;
            asked = photon.spared();
        }
        match photon.parts(asked, self.random, self.tally) {
            0 => false,
            n => {
                self.waiting.extend((1..n).map(|_| (*photon, place)));
                true
            }
        }
    }
}

/// Where a coat sends a photon.
enum Side {
    Back,
    Through,
}

/// A coat takes its share; chance decides where the rest goes. None: nothing is left.
fn coated(photon: &mut Photon, coat: Coat, random: &mut Random, tally: &mut Tally) -> Option<Side> {
    let kept = coat.reflectance + coat.transmittance;
    tally.coats += photon.weight * (1.0 - kept);
    photon.weight *= kept;
    if kept <= 0.0 {
        return None;
    }
    Some(if random.uniform() * kept < coat.reflectance { Side::Back } else { Side::Through })
}

fn mirrored(way: DVec3, normal: DVec3) -> DVec3 {
    way - normal * (2.0 * way.dot(normal))
}

/// Beyond a smooth face; `ahead` is its unit normal on the far side, `cosine` that of arrival. Light that passes only by
/// rounding grazes the face.
fn refracted(way: DVec3, ahead: DVec3, cosine: f64, ratio: f64) -> DVec3 {
    let beyond = fresnel::refracted_cosine(cosine, ratio).unwrap_or(0.0).max(1e-9);
    (way * ratio + ahead * (beyond - ratio * cosine)).normalize()
}
