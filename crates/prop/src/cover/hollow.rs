//! Covers of resin: hollowed where it is worth it, and drained into the bore.

use super::{CoverMade, DrainSide};
use crate::path::{CentrePath, PathFrame};
use crate::pieces::{Label, PieceError, main_body};
use crate::project::BodyRules;
use solid::{Bvh, Cancel, DVec3, HollowError, Mesh, hollow};

/// Diameter of a drain hole, mm (common practice, no source: 3 mm and more, or surface tension holds the resin).
const DRAIN_MM: f64 = 3.0;
/// Drain holes for each hollow, at least: one for the resin, one for the air (common practice, no source).
pub(crate) const DRAINS: usize = 2;
/// A ball of this diameter fits everywhere in a hollow, so that a drain hole opens into it with its whole width, mm.
const BALL_MM: f64 = 3.6;
/// A cover is hollowed when that saves this share of its volume. (Our choice: less is not worth two holes.)
pub(crate) const WORTH_SHARE: f64 = 0.15;
/// Solid kept round the mouth of a hole, mm.
const RIM_MM: f64 = 1.0;
/// How far a hole runs on in the hollow, mm.
const ON_MM: f64 = 0.9;
/// A wall this many times as thick as asked for is not drilled through.
const THICK: f64 = 1.6;
/// A point this near to the bored solid lies on the bore, mm.
const ON_BORE_MM: f64 = 0.05;
/// Distance of the places that are tried along the cover, mm, and angle between them, degrees.
const STEP: [f64; 2] = [1.0, 4.0];
/// Further out than any cover, mm.
const FAR_MM: f64 = 400.0;
/// Sides of a hole's polygon.
const AROUND: u32 = 24;

/// A drain hole that the maker asks for: straight in from outside, towards the middle of the prop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DrainRule {
    /// Station, mm.
    pub at_mm: f64,
    /// The side that it is drilled from.
    pub side: DrainSide,
}

/// A drain hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drain {
    /// Middle of its mouth, prop frame.
    pub at: DVec3,
    /// Its station, mm.
    pub station_mm: f64,
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// What the maker asked for; `None` for one that opens into the bore.
    pub asked: Option<DrainRule>,
}

/// A hollow with its drains.
#[derive(Clone, Debug, PartialEq)]
pub struct Hollow {
    /// Volume, mm3.
    pub volume_mm3: f64,
    /// Drain holes, two at least.
    pub drains: Vec<Drain>,
}

/// What hollowing a cover of resin came to.
#[derive(Clone, Debug, PartialEq)]
pub struct Hollowed {
    /// Wall that is kept, mm.
    pub wall_mm: f64,
    /// Volume before, mm3.
    pub solid_mm3: f64,
    /// Volume of all room that the wall leaves, drained or not, mm3.
    pub room_mm3: f64,
    /// What was hollowed; empty when it stays solid.
    pub hollows: Vec<Hollow>,
}

/// Where a cover sits.
pub(crate) struct Seat<'a> {
    /// The centre path.
    pub(crate) path: &'a CentrePath,
    /// Frame in the middle of the cover.
    pub(crate) frame: PathFrame,
    /// Stations of the cover, mm.
    pub(crate) station_mm: [f64; 2],
    /// Its number in the bore, which drains keep clear of.
    pub(crate) label: Option<&'a Label>,
}

/// A hole to be drilled: from its mouth inwards.
struct Hole {
    mouth: DVec3,
    inwards: DVec3,
    /// How deep the hollow begins, mm.
    wall_mm: f64,
    /// How much air is before the mouth, mm.
    before_mm: f64,
}

/// Hollows a bored cover, where that saves enough.
///
/// # Errors
/// [`PieceError`] when geometry fails.
pub(crate) fn hollowed(
    mesh: &Mesh,
    cover: &CoverMade,
    rules: &BodyRules,
    seat: &Seat,
    cancel: &Cancel,
) -> Result<(Mesh, Hollowed), PieceError> {
    let solid_mm3 = mesh.volume_mm3();
    let mut result = Hollowed { wall_mm: rules.wall_mm, solid_mm3, room_mm3: 0.0, hollows: Vec::new() };
    let Some(bounds) = mesh.bounds() else { return Ok((mesh.clone(), result)) };
    let surface = Bvh::new(mesh);
    let spec = crate::stages::hollow_spec(rules.wall_mm, rules.least_cavity_mm.max(BALL_MM));
    let cavity = hollow(&surface, bounds, &spec, cancel).map_err(|e| match e {
        HollowError::Cancelled(_) => PieceError::Cancelled,
        other => PieceError::Hollow(other),
    })?;
    let rooms = rooms(&cavity);
    result.room_mm3 = rooms.iter().map(Mesh::volume_mm3).sum();
    if result.room_mm3 < WORTH_SHARE * solid_mm3 {
        return Ok((mesh.clone(), result));
    }
    let look = Look { surface, bore: Bvh::new(&cover.bore), wall_mm: spec.wall_mm, seat };
    let mut tools = Vec::new();
    for room in rooms {
        let inside = Bvh::new(&room);
        let mut holes: Vec<(Hole, Option<DrainRule>)> =
            rules.cover.drains.iter().filter_map(|d| Some((look.asked(&inside, *d)?, Some(*d)))).collect();
        holes.extend(far_apart(look.all_from_bore(&inside)).into_iter().map(|h| (h, None)));
        if holes.len() < DRAINS {
            continue;
        }
        let drains = holes.iter().map(|(hole, asked)| Drain {
            at: hole.mouth,
            station_mm: seat.path.station_of(hole.mouth),
            diameter_mm: DRAIN_MM,
            asked: *asked,
        });
        result.hollows.push(Hollow { volume_mm3: room.volume_mm3(), drains: drains.collect() });
        tools.extend(holes.iter().map(|(hole, _)| hole.tool()));
        tools.push(room);
    }
    let saved_mm3: f64 = result.hollows.iter().map(|h| h.volume_mm3).sum();
    if saved_mm3 < WORTH_SHARE * solid_mm3 {
        result.hollows.clear();
        return Ok((mesh.clone(), result));
    }
    let (mesh, _) = main_body(solid::difference_all(mesh, &tools)?);
    Ok((mesh, result))
}

/// The rooms of a cavity, each with the islands that stand in it.
fn rooms(cavity: &Mesh) -> Vec<Mesh> {
    let shells: Vec<Mesh> = cavity.shells().iter().map(|s| cavity.subset(s)).collect();
    let (mut rooms, islands): (Vec<Mesh>, Vec<Mesh>) = shells.into_iter().partition(|s| s.volume_mm3() > 0.0);
    let insides: Vec<Bvh> = rooms.iter().map(Bvh::new).collect();
    for island in islands {
        let place = island.vertices.first().and_then(|v| insides.iter().position(|i| i.is_inside(*v)));
        if let Some(room) = place {
            rooms[room].append(&island);
        }
    }
    rooms
}

/// The two holes that are furthest apart; none if they would run into each other.
fn far_apart(mut holes: Vec<Hole>) -> Vec<Hole> {
    let mut best = (2.0 * DRAIN_MM, None);
    for i in 0..holes.len() {
        for k in i + 1..holes.len() {
            let apart = holes[i].mouth.distance(holes[k].mouth);
            if apart > best.0 {
                best = (apart, Some([i, k]));
            }
        }
    }
    let Some([i, k]) = best.1 else { return Vec::new() };
    let second = holes.swap_remove(k);
    vec![holes.swap_remove(i), second]
}

struct Look<'a> {
    surface: Bvh,
    bore: Bvh,
    wall_mm: f64,
    seat: &'a Seat<'a>,
}

impl Look<'_> {
    /// The hole that the maker asks for, if it leads into this hollow.
    fn asked(&self, inside: &Bvh, rule: DrainRule) -> Option<Hole> {
        let frame = self.seat.path.frame(rule.at_mm);
        let out = match rule.side {
            DrainSide::Up => frame.through,
            DrainSide::Down => -frame.through,
        };
        let hit = self.surface.ray(frame.point + out * FAR_MM, -out, FAR_MM)?;
        let mouth = frame.point + out * (FAR_MM - hit.distance_mm);
        self.hole(inside, mouth, -out, 2.0 * DRAIN_MM)
    }

    /// All holes that lead from the bore into a hollow.
    fn all_from_bore(&self, inside: &Bvh) -> Vec<Hole> {
        let [from, to] = self.seat.station_mm;
        let frame = &self.seat.frame;
        let half = ((to - from) / 2.0 / STEP[0]).floor() as i32;
        let mut holes = Vec::new();
        for c in -half..=half {
            let middle = frame.point + frame.along * (f64::from(c) * STEP[0]);
            if self.surface.is_inside(middle) {
                continue;
            }
            for k in 0..(360.0 / STEP[1]) as u32 {
                let (sin, cos) = libm::sincos((f64::from(k) * STEP[1]).to_radians());
                let out = frame.across * cos + frame.through * sin;
                let Some(hit) = self.surface.ray(middle, out, FAR_MM) else { continue };
                let mouth = middle + out * hit.distance_mm;
                let clear =
                    self.seat.label.is_none_or(|l| l.at.distance(mouth) > l.height_mm + DRAIN_MM / 2.0 + RIM_MM);
                if clear && self.bore.nearest(mouth, ON_BORE_MM).is_some() {
                    holes.extend(self.hole(inside, mouth, out, hit.distance_mm.min(2.0)));
                }
            }
        }
        holes
    }

    /// A hole from a mouth into a hollow, if it goes through the wall with all its width and nowhere else.
    fn hole(&self, inside: &Bvh, mouth: DVec3, inwards: DVec3, before_mm: f64) -> Option<Hole> {
        let wall_mm = inside.ray(mouth, inwards, THICK * self.wall_mm)?.distance_mm;
        let (x, y) = inwards.any_orthonormal_pair();
        let all = |radius: f64, deep: f64, of: &Bvh| {
            (0..8).all(|k| {
                let (sin, cos) = libm::sincos(f64::from(k) * core::f64::consts::FRAC_PI_4);
                of.is_inside(mouth + inwards * deep + (x * cos + y * sin) * radius)
            })
        };
        let sound =
            all(DRAIN_MM / 2.0 + RIM_MM, wall_mm / 2.0, &self.surface) && all(DRAIN_MM / 2.0, wall_mm + ON_MM, inside);
        sound.then_some(Hole { mouth, inwards, wall_mm, before_mm })
    }
}

impl Hole {
    fn tool(&self) -> Mesh {
        let radius = solid::around_mm(DRAIN_MM / 2.0, AROUND);
        let end = self.mouth + self.inwards * (self.wall_mm + ON_MM);
        solid::cylinder(self.mouth - self.inwards * self.before_mm, end, radius, AROUND)
    }
}
