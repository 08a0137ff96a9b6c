//! Parts that go in along the prop where a joint comes apart: a cell behind a cap, a speaker in front of its chamber.

use super::room::{Axes, Room, steps};
use super::shapes::{ROUND, beam, circle, part_solid, wire_exit};
use super::{Bay, Opens, Sound};
use crate::catalogue::{PartKind, PartRow};
use crate::project::Flank;
use core::f64::consts::PI;
use solid::{BooleanError, DAffine3, DMat3, DVec2, Mesh};

/// A part ends this far behind the joint's faces, mm: a ring of foam between holds it without rattling.
const BEHIND_MM: f64 = 1.0;
/// The seat goes on beyond the joint's faces by this, mm, so that no skin is left between two faces in one plane.
const BEYOND_MM: f64 = 0.2;
/// Rim of a speaker that bears on the shoulder behind it, mm.
const SHOULDER_MM: f64 = 1.5;
/// Thickness of the grille, mm.
const GRILLE_MM: f64 = 2.4;
/// Diameter of its holes and plastic between them, mm.
const HOLE_MM: f64 = 2.4;
const WEB_MM: f64 = 0.75;
/// Distance between samples, mm.
const SAMPLE_MM: f64 = 3.0;

/// A part that goes in through a joint.
pub(super) struct EndPart<'a> {
    pub(super) part: usize,
    pub(super) row: &'a PartRow,
    pub(super) gap_mm: f64,
    /// Station of the joint.
    pub(super) joint_mm: f64,
    /// Whether it leaves towards the butt.
    pub(super) buttwards: bool,
}

/// A place for it.
pub(super) struct EndPlace {
    pub(super) axes: Axes,
    /// Distance of its front from the joint, into the body.
    pub(super) front_mm: f64,
    /// Length of the chamber behind a speaker.
    pub(super) chamber_mm: f64,
    pub(super) short_mm: f64,
}

impl EndPart<'_> {
    fn sign(&self) -> f64 {
        if self.buttwards { 1.0 } else { -1.0 }
    }

    fn half(&self) -> DVec2 {
        DVec2::new(self.row.size_mm[1], self.row.size_mm[2]) / 2.0 + DVec2::splat(self.gap_mm)
    }

    fn outline(&self) -> Vec<DVec2> {
        let half = self.half();
        if self.row.round {
            circle(DVec2::ZERO, half.x, ROUND)
        } else {
            vec![-half, DVec2::new(half.x, -half.y), half, DVec2::new(-half.x, half.y)]
        }
    }

    fn chamber_radius(&self) -> f64 {
        self.row.size_mm[1] / 2.0 - SHOULDER_MM
    }

    /// Length behind the part's back that is kept free: chamber, or room for the wires.
    fn behind(&self) -> f64 {
        if self.row.kind == PartKind::Speaker {
            let r = self.chamber_radius();
            (self.row.chamber_cm3 * 1000.0 / (PI * r * r)).max(self.row.room_mm)
        } else {
            self.row.room_mm
        }
    }

    /// Stations it takes up: from the joint inwards.
    pub(super) fn span(&self, place: &EndPlace) -> [f64; 2] {
        let far = self.joint_mm + self.sign() * (place.front_mm + self.row.size_mm[0] + place.chamber_mm + 2.0);
        [self.joint_mm.min(far), self.joint_mm.max(far)]
    }

    /// Its place, with the front `front_mm` behind the joint or as near behind it as can be.
    pub(super) fn place(&self, room: &Room, at_mm: Option<f64>, end_mm: f64) -> EndPlace {
        let frame = room.path.frame(self.joint_mm);
        let axes = Axes::new(&frame, Flank::PlusZ);
        let long = self.row.size_mm[0];
        let front_mm = at_mm.map_or(BEHIND_MM, |at| (at - self.joint_mm) * self.sign() - long / 2.0).max(0.0);
        let chamber_mm = self.behind();
        let mut short: f64 = 0.0;
        let outline = self.outline();
        let s = self.sign();
        let seat_end = front_mm + long + self.gap_mm;
        for d in steps(0.5, seat_end, SAMPLE_MM) {
            for q in &outline {
                let p = axes.at(s * d, q.x, q.y);
                short = short.max(room.thin(p, room.wall_mm)).max(room.crowded(p));
            }
            short = short.max(room.crowded(axes.at(s * d, 0.0, 0.0)));
        }
        let radius = if self.row.kind == PartKind::Speaker { self.chamber_radius() } else { self.half().x };
        for d in steps(seat_end, seat_end + chamber_mm, SAMPLE_MM) {
            for q in circle(DVec2::ZERO, radius, 16) {
                let p = axes.at(s * d, q.x, q.y);
                short = short.max(room.thin(p, room.wall_mm)).max(room.crowded(p));
            }
            short = short.max(room.crowded(axes.at(s * d, 0.0, 0.0)));
        }
        let far = self.joint_mm + s * (seat_end + chamber_mm);
        let over = ((far - end_mm) * s).max(0.0);
        EndPlace { axes, front_mm, chamber_mm, short_mm: short + over }
    }

    pub(super) fn bay(&self, room: &Room, place: &EndPlace) -> Result<Bay, BooleanError> {
        let EndPlace { axes, front_mm, chamber_mm, .. } = place;
        let s = self.sign();
        let long = self.row.size_mm[0];
        // The part's +x (wire end) looks away from the joint.
        let x = axes.along * s;
        let at = axes.at(s * (front_mm + long / 2.0), 0.0, 0.0);
        let place_of = DAffine3::from_mat3_translation(DMat3::from_cols(x, axes.out.cross(x), axes.out), at);
        let span = |a: f64, b: f64| [(s * a).min(s * b), (s * a).max(s * b)];
        let run = |outline: &[DVec2], a: f64, b: f64| {
            let [from, to] = span(a, b);
            beam(axes, outline, from, to)
        };
        let seat_end = front_mm + long + self.gap_mm;
        let speaker = self.row.kind == PartKind::Speaker;
        // Towards the joint the seat stays open as far as the faces and a little beyond, so that the cut decides.
        let mut rooms = vec![run(&self.outline(), -BEYOND_MM, seat_end)];
        let mut sound = None;
        if speaker {
            let r = self.chamber_radius();
            rooms.push(run(&circle(DVec2::ZERO, r, ROUND), seat_end - 0.5, seat_end + chamber_mm));
            let (front, made) = self.front(room, place);
            rooms.extend(front);
            sound = Some(Sound { chamber_cm3: PI * r * r * chamber_mm / 1000.0, ..made });
        } else {
            rooms.push(run(&self.outline(), seat_end - 0.5, seat_end + chamber_mm));
        }
        Ok(Bay {
            part: self.part,
            body: room.body,
            place: place_of,
            out: -x,
            travel_mm: front_mm + long + 5.0,
            opens: Opens::Joint(self.joint_mm),
            solid: part_solid(self.row, 0.0)?.transformed(&place_of),
            largest: part_solid(self.row, self.row.over_mm)?.transformed(&place_of),
            taken: solid::union_all(&rooms)?,
            exit: place_of.transform_point3(wire_exit(self.row, self.gap_mm)),
            gap_mm: self.gap_mm,
            span_mm: self.span(place),
            short_mm: place.short_mm,
            sound,
        })
    }

    /// What stands before a speaker: a room up to the grille, and the grille's holes.
    fn front(&self, room: &Room, place: &EndPlace) -> (Vec<Mesh>, Sound) {
        let axes = &place.axes;
        let s = self.sign();
        let far = room.reach_mm * 40.0;
        // From the speaker's front outwards to where the prop ends.
        let end = room
            .outer
            .ray(axes.at(s * far.min(place.front_mm), 0.0, 0.0), axes.along * -s, 10_000.0)
            .map_or(0.0, |hit| hit.distance_mm - place.front_mm);
        let skin = end - GRILLE_MM;
        let cone = self.row.cone_mm / 2.0;
        // As wide as the cone, or as the prop's end leaves its wall.
        let mut radius = cone;
        while radius > 2.0
            && circle(DVec2::ZERO, radius, 24)
                .iter()
                .any(|q| room.thin(axes.at(-s * skin, q.x, q.y), room.wall_mm) > 0.0)
        {
            radius -= 0.25;
        }
        let run = |outline: &[DVec2], a: f64, b: f64| {
            let (a, b) = (-s * a, -s * b);
            beam(axes, outline, a.min(b), a.max(b))
        };
        let mut rooms = vec![run(&circle(DVec2::ZERO, radius, ROUND), -place.front_mm - 0.2, skin)];
        let pitch = HOLE_MM + WEB_MM;
        let mut holes = 0;
        let rows = (radius / pitch).ceil() as i32 + 1;
        for j in -rows..=rows {
            for i in -rows..=rows {
                let middle = DVec2::new(
                    (f64::from(i) + if j.rem_euclid(2) == 1 { 0.5 } else { 0.0 }) * pitch,
                    f64::from(j) * pitch * 0.866_025_403_784,
                );
                if middle.length() + HOLE_MM / 2.0 > radius - 0.2 {
                    continue;
                }
                rooms.push(run(&circle(middle, HOLE_MM / 2.0, 16), skin - 0.5, end + 4.0));
                holes += 1;
            }
        }
        let area = |d: f64| PI * d * d / 4.0;
        let sound = Sound {
            grille_mm2: f64::from(holes) * area(HOLE_MM),
            holes: holes as usize,
            cone_mm2: area(self.row.cone_mm),
            chamber_cm3: 0.0,
            chamber_least_cm3: self.row.chamber_cm3,
        };
        (rooms, sound)
    }
}
