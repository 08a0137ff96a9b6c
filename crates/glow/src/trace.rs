//! One photon's way: through air, against faces, through plastic, until it has left or died.
//!
//! A photon carries a weight. Absorption takes from it; a face that may count light (a patch) takes its share of every
//! visit; elsewhere chance decides between the ways on. A photon that has become faint is dropped or strengthened by
//! chance (Russian roulette), and both are booked, so that what was launched is found again to rounding.

mod balls;
mod tabled;
mod tally;
mod walk;

pub(crate) use tabled::Plates;
pub(crate) use tally::Tally;

use crate::scene::{Band, Body, Face, Hit, Outside, Scene, Start};
use crate::{Coat, Finish, Random, fresnel, phase};
use solid::DVec3;
use walk::End;

/// Photons fainter than this meet the roulette. On a blade with windows at its solid edges, a stated noise costs least with
/// this and the next: with 0.05 and 0.2 half as much again.
const FAINT: f64 = 0.3;

/// The share of faint photons that go on, strengthened by its inverse.
const SPARED: f64 = 0.3;

/// Events after which the roulette is held whatever the weight: light caught between smooth faces of a clear solid would
/// otherwise go round for ever.
const PATIENCE: u32 = 20_000;

/// What light is traced through.
pub(crate) struct Tracer<'a> {
    pub(crate) scene: &'a Scene,
    pub(crate) band: &'a Band,
    pub(crate) outside: &'a dyn Outside,
    /// Walls known beforehand; none: all is walked.
    pub(crate) plates: Option<&'a Plates>,
}

/// Light under way.
struct Photon {
    at: DVec3,
    way: DVec3,
    weight: f64,
    /// Faces met and scatters since the start or the last roulette of patience.
    events: u32,
}

/// What a photon is in; carried along, never asked of the surface.
enum Place {
    Air(Start),
    Inside(usize),
    /// It has left or died.
    Gone,
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
    pub(crate) fn follow(&self, at: DVec3, way: DVec3, random: &mut Random, tally: &mut Tally) {
        let mut photon = Photon { at, way, weight: 1.0, events: 0 };
        let mut place = Place::Air(Start::Here);
        tally.launched += 1.0;
        loop {
            place = match place {
                Place::Air(start) => self.fly(&mut photon, start, random, tally),
                Place::Inside(solid) => self.walk(&mut photon, solid, random, tally),
                Place::Gone => return,
            };
            photon.events += 1;
            if !matches!(place, Place::Gone) && !photon.is_spared(random, tally) {
                return;
            }
        }
    }

    /// Through air to the next face, and what happens there.
    fn fly(&self, photon: &mut Photon, start: Start, random: &mut Random, tally: &mut Tally) -> Place {
        let Some(hit) = self.scene.flight(photon.at, photon.way, start) else {
            tally.escaped += photon.weight;
            return Place::Gone;
        };
        let from_behind = hit.normal.dot(photon.way) > 0.0;
        match self.scene.body(hit.triangle) {
            Body::Thing(thing) => {
                // From behind: it left a solid that the thing runs into, so it has reached the thing.
                let reflectance = if from_behind { 0.0 } else { self.band.reflectances[thing] };
                tally.things[thing] += photon.weight * (1.0 - reflectance);
                photon.weight *= reflectance;
                photon.at = hit.point;
                photon.way = phase::lambertian(hit.normal, random);
                if reflectance > 0.0 { Place::Air(Start::Here) } else { Place::Gone }
            }
            Body::Solid(solid) if from_behind => {
                tally.n_mended += 1;
                Place::Inside(solid)
            }
            Body::Solid(solid) => {
                photon.at = hit.point;
                if let Some(place) = self.by_table(photon, solid, &hit, random, tally) {
                    return place;
                }
                let face = self.face(solid, &hit);
                if face.patch.is_some() {
                    // The outer surface, seen from the air: the light was out already.
                    tally.escaped += photon.weight;
                    return Place::Gone;
                }
                let inwards = Crossing {
                    facing: hit.normal,
                    ratio: 1.0 / self.band.media[solid].index,
                    finish: face.finish,
                    back: Place::Air(Start::Here),
                    through: Place::Inside(solid),
                };
                self.cross(photon, inwards, random, tally)
            }
            Body::Glue => Place::Gone,
        }
    }

    /// Through a face between air and a solid, or back.
    fn cross(&self, photon: &mut Photon, face: Crossing, random: &mut Random, tally: &mut Tally) -> Place {
        let Crossing { facing, ratio, finish, back, through } = face;
        match finish {
            Finish::Bare => {
                let cosine = -photon.way.dot(facing);
                if random.uniform() < fresnel::reflectance(cosine, ratio) {
                    photon.way = mirrored(photon.way, facing);
                    back
                } else {
                    photon.way = refracted(photon.way, -facing, cosine, ratio);
                    through
                }
            }
            Finish::Coat(coat) => match coated(photon, coat, random, tally) {
                Some(Side::Back) => {
                    photon.way = phase::lambertian(facing, random);
                    back
                }
                Some(Side::Through) => {
                    photon.way = phase::lambertian(-facing, random);
                    through
                }
                None => Place::Gone,
            },
        }
    }

    /// Scatter by scatter through a solid to one of its faces, and what happens there.
    fn walk(&self, photon: &mut Photon, solid: usize, random: &mut Random, tally: &mut Tally) -> Place {
        let hit = match self.way_out(photon, solid, random, tally) {
            End::Face(hit) => hit,
            End::Died => return Place::Gone,
            End::Lost => {
                tally.lost += photon.weight;
                return Place::Gone;
            }
        };
        photon.at = hit.point;
        if self.scene.is_glued(hit.triangle)
            && let Some(next) = self.scene.across_glue(solid, hit.point, hit.normal)
        {
            return self.cross_glue(photon, solid, &hit, &next, random, tally);
        }
        let face = self.face(solid, &hit);
        match face.patch {
            Some(patch) => self.leave_for_good(photon, solid, hit.normal, face.finish, patch, random, tally),
            None => {
                let outwards = Crossing {
                    facing: -hit.normal,
                    ratio: self.band.media[solid].index,
                    finish: face.finish,
                    back: Place::Inside(solid),
                    through: Place::Air(Start::Leaving),
                };
                self.cross(photon, outwards, random, tally)
            }
        }
    }

    /// Out through the outer surface: its share is counted there, the rest goes back in.
    #[expect(clippy::too_many_arguments, reason = "what happens at a face needs the face, the photon and the books")]
    fn leave_for_good(
        &self,
        photon: &mut Photon,
        solid: usize,
        normal: DVec3,
        finish: Finish,
        patch: u32,
        random: &mut Random,
        tally: &mut Tally,
    ) -> Place {
        match finish {
            Finish::Bare => {
                let back = fresnel::reflectance(photon.way.dot(normal), self.band.media[solid].index);
                tally.out(patch, photon.weight * (1.0 - back));
                photon.weight *= back;
                photon.way = mirrored(photon.way, normal);
            }
            Finish::Coat(coat) => {
                tally.out(patch, photon.weight * coat.transmittance);
                tally.coats += photon.weight * (1.0 - coat.transmittance - coat.reflectance);
                photon.weight *= coat.reflectance;
                photon.way = phase::lambertian(-normal, random);
            }
        }
        if photon.weight > 0.0 { Place::Inside(solid) } else { Place::Gone }
    }

    /// At a glue line: straight on into the next solid, or diffusely back.
    fn cross_glue(
        &self,
        photon: &mut Photon,
        solid: usize,
        here: &Hit,
        next: &Hit,
        random: &mut Random,
        tally: &mut Tally,
    ) -> Place {
        let glue = self.band.glue;
        let kept = glue.reflectance + glue.transmittance;
        tally.glue += photon.weight * (1.0 - kept);
        photon.weight *= kept;
        if kept <= 0.0 {
            return Place::Gone;
        }
        if random.uniform() * kept < glue.reflectance {
            photon.way = phase::lambertian(-here.normal, random);
            return Place::Inside(solid);
        }
        photon.at = next.point;
        match self.scene.body(next.triangle) {
            Body::Solid(beyond) => Place::Inside(beyond),
            Body::Thing(_) | Body::Glue => Place::Gone,
        }
    }

    pub(crate) fn face(&self, solid: usize, hit: &Hit) -> Face {
        if self.scene.is_glued(hit.triangle) {
            return Face { finish: Finish::Bare, patch: None };
        }
        self.outside.face(solid, self.scene.own_index(hit.triangle), hit.point)
    }
}

impl Photon {
    /// The roulette. False: it ends here.
    fn is_spared(&mut self, random: &mut Random, tally: &mut Tally) -> bool {
        if self.weight >= FAINT && self.events < PATIENCE {
            return true;
        }
        self.events = 0;
        if random.uniform() < SPARED {
            let stronger = self.weight / SPARED;
            tally.roulette += stronger - self.weight;
            self.weight = stronger;
            true
        } else {
            tally.roulette -= self.weight;
            false
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
