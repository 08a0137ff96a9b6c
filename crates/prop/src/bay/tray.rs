//! Trays: one or more parts in a row behind one lid.

use super::lid::{LEDGE_MM, LidPlan, Pad, RIM_MM, SEAT_WALL_MM};
use super::room::{Axes, PARTITION_MM, Room, steps};
use super::shapes::{beam, part_solid, post, wire_exit};
use super::slide;
use super::{Bay, Opens};
use crate::catalogue::PartRow;
use crate::project::{Flank, LidHold};
use crate::rail::layout::Fit;
use solid::{BooleanError, DAffine3, DMat3, DVec2, DVec3, Mesh};

/// Air between a part and the lid over it, mm: a strip of foam tape presses the part down.
const AIR_MM: f64 = 0.3;
/// What lacks where there is no surface at all, mm.
const FAR_MM: f64 = 100.0;
/// Distance between samples of a tray's walls, mm.
const SAMPLE_MM: f64 = 4.0;

/// A part in a tray, its wire end towards the tip.
#[derive(Clone)]
pub(super) struct Member<'a> {
    pub(super) part: usize,
    pub(super) row: &'a PartRow,
    /// Gap per side as drawn.
    pub(super) gap_mm: f64,
}

impl Member<'_> {
    /// Half the room cut for it: length, width, thickness.
    fn half(&self) -> DVec3 {
        DVec3::from_array(self.row.size_mm) / 2.0 + DVec3::splat(self.gap_mm)
    }

    /// Length of its pocket.
    fn long(&self) -> f64 {
        2.0 * self.half().x + self.row.room_mm
    }

    /// Outline of its pocket in (beside, out), its middle at height 0, open to `top`.
    fn outline(&self, top: f64) -> Vec<DVec2> {
        let half = self.half();
        if !self.row.round {
            return vec![
                DVec2::new(-half.y, -half.z),
                DVec2::new(half.y, -half.z),
                DVec2::new(half.y, top),
                DVec2::new(-half.y, top),
            ];
        }
        let corners = 24;
        let r = solid::around_mm(half.y, 2 * corners);
        let mut outline: Vec<DVec2> = (0..=corners)
            .map(|k| {
                let a = core::f64::consts::PI * (1.0 + f64::from(k) / f64::from(corners));
                DVec2::new(libm::cos(a), libm::sin(a)) * r
            })
            .collect();
        outline.push(DVec2::new(r, top));
        outline.push(DVec2::new(-r, top));
        outline
    }
}

/// Width of the flat left at a gable's top, mm: with its slopes falling away to both sides a printer has no walls to bridge
/// from, so little must hang there.
pub(super) const ROOF_MM: f64 = 3.5;
/// How far a gable rises for each millimetre that it narrows: a little steeper than the 45 degrees that printers lay
/// without support.
pub(super) const STEEP: f64 = 1.15;

/// A plan (along, beside) that narrows towards the tip in a gable, so that it roofs itself when the piece stands.
pub(super) fn gabled(low: DVec2, high: DVec2) -> Vec<DVec2> {
    let middle = f64::midpoint(low.y, high.y);
    let half = (high.y - low.y) / 2.0;
    let slope = ((half - ROOF_MM / 2.0) * STEEP).clamp(0.0, high.x - low.x - 0.01);
    if slope < 0.01 {
        return vec![low, DVec2::new(high.x, low.y), high, DVec2::new(low.x, high.y)];
    }
    let roof = half - slope / STEEP;
    vec![
        low,
        DVec2::new(high.x - slope, low.y),
        DVec2::new(high.x, middle - roof),
        DVec2::new(high.x, middle + roof),
        DVec2::new(high.x - slope, high.y),
        DVec2::new(low.x, high.y),
    ]
}

impl Member<'_> {
    /// The room cut for it: its outline as far as it reaches, then a gable for plug and wires.
    fn pocket(
        &self,
        axes: &Axes,
        outline: &[DVec2],
        from: f64,
        [middle, beyond]: [f64; 2],
    ) -> Result<Mesh, BooleanError> {
        let half = self.half();
        let seat = beam(axes, outline, from, from + 2.0 * half.x);
        if self.row.room_mm < 0.5 {
            return Ok(seat);
        }
        // Narrower and shallower than the seat by a little, so that no two faces coincide.
        let (wide, deep) = if self.row.round { (half.y - 0.05, 0.6 * half.z) } else { (half.y - 0.05, half.z - 0.05) };
        let plan = gabled(
            DVec2::new(from + 2.0 * half.x - self.row.room_mm.min(half.x) * 0.5, -wide),
            DVec2::new(from + self.long(), wide),
        );
        let room = post(axes, &plan, middle - deep, beyond + 0.05);
        if self.row.exit_mm == [0.0; 2] {
            return solid::union(&seat, &room);
        }
        // Off the middle the gable may lie in the wires' way: a groove leads them straight out.
        let [across, up] = self.row.exit_mm;
        let free = half.y - 0.1;
        let sides = [-0.5, 0.5].map(|k| (across + k * ROOF_MM).clamp(-free, free));
        let farthest = sides[0].abs().max(sides[1].abs());
        let floor = if self.row.round { (free * free - farthest * farthest).max(0.0).sqrt() } else { half.z - 0.1 };
        let [low, high] = [middle + (up - ROOF_MM / 2.0).max(-floor), beyond + 0.1];
        let groove = [[0, 0], [1, 0], [1, 1], [0, 1]].map(|[k, h]| DVec2::new(sides[k], [low, high][h]));
        let behind = from + 2.0 * half.x - self.row.room_mm.min(half.x) * 0.4;
        solid::union_all(&[seat, room, beam(axes, &groove, behind, from + self.long() - 0.05)])
    }
}

/// Four places on a circle.
fn around(radius_mm: f64) -> [(f64, f64); 4] {
    [(radius_mm, 0.0), (-radius_mm, 0.0), (0.0, radius_mm), (0.0, -radius_mm)]
}

/// The lowest of the outer surface over what is sunk into a pad of the lid.
fn pad_top_mm(room: &Room, axes: &Axes, x: f64, radius_mm: f64) -> f64 {
    let rim = around(radius_mm).into_iter().map(|(dx, dy)| room.surface(axes, x + dx, dy));
    rim.fold(room.surface(axes, x, 0.0), f64::min)
}

/// Parts in a row.
pub(super) struct Tray<'a> {
    pub(super) members: Vec<Member<'a>>,
    pub(super) hold: LidHold,
    pub(super) lid_gap_mm: f64,
    /// Clearances of the printers that print its body.
    pub(super) fit: Fit,
    /// Depth that the maker gives to the (only) part.
    pub(super) depth_mm: Option<f64>,
    /// Whether what holds down a lid that slides must have plastic over it.
    pub(super) roofs: bool,
}

/// A place for a tray: axes at its middle station, height of the lid's seat.
pub(super) struct TrayPlace {
    pub(super) station_mm: f64,
    pub(super) axes: Axes,
    pub(super) seat_mm: f64,
    /// Millimetres that it falls short, all faults added.
    pub(super) short_mm: f64,
    /// What lacks over the ways of a lid that slides.
    pub(super) roof_mm: f64,
}

impl Tray<'_> {
    /// Length of all pockets with the walls between.
    fn long(&self) -> f64 {
        self.members.iter().map(Member::long).sum::<f64>() + PARTITION_MM * (self.members.len() as f64 - 1.0)
    }

    /// Each member with where its pocket begins along the prop, from the tray's middle.
    fn laid(&self) -> Vec<(&Member<'_>, f64)> {
        let mut from = -self.long() / 2.0;
        let mut laid = Vec::new();
        for m in &self.members {
            laid.push((m, from));
            from += m.long() + PARTITION_MM;
        }
        laid
    }

    /// Corners of the lid's seat in its plan.
    fn seat(&self) -> [DVec2; 2] {
        let widest = self.members.iter().map(|m| m.half().y).fold(0.0, f64::max);
        let pad = Pad::of(&self.hold, &self.fit);
        let half = DVec2::new(self.long() / 2.0, (widest + LEDGE_MM).max(pad.half_mm()));
        let [before, after] = match self.hold {
            LidHold::Slide => [slide::SEAT_MM[0], slide::SEAT_MM[1] + slide::TRAVEL_MM],
            _ => [pad.long_mm(); 2],
        };
        [-half - DVec2::X * before, half + DVec2::X * after]
    }

    /// Middles of the lid's two pads along the prop.
    fn pads(&self, pad: &Pad) -> [f64; 2] {
        let [low, high] = self.seat();
        match self.hold {
            LidHold::Slide => [low.x + 6.0, high.x - slide::TRAVEL_MM - slide::SEAT_MM[1] / 2.0],
            _ => [low.x + pad.long_mm() / 2.0, high.x - pad.long_mm() / 2.0],
        }
    }

    /// Stations that the tray takes up with its lid, about its own.
    fn around(&self) -> [f64; 2] {
        let [low, high] = self.seat();
        let before = if self.hold == LidHold::Slide { slide::BEFORE_MM } else { 0.0 };
        [low.x - before, high.x]
    }

    /// The farther of them.
    pub(super) fn reach(&self) -> f64 {
        let [low, high] = self.around();
        high.max(-low)
    }

    /// Places at a station and side, best heights first: as near under the surface as the lid allows, and deeper.
    pub(super) fn places(&self, room: &Room, station_mm: f64, side: Flank, enough: f64) -> Vec<TrayPlace> {
        let axes = Axes::new(&room.path.frame(station_mm), side);
        let [low, high] = self.seat();
        let pad = Pad::of(&self.hold, &self.fit);
        let mut rim = f64::INFINITY;
        for x in steps(low.x, high.x, 6.0) {
            for y in [low.y, high.y] {
                rim = rim.min(room.surface(&axes, x, y));
            }
        }
        let top = self.pads(&pad).map(|x| pad_top_mm(room, &axes, x, pad.in_lid_mm));
        let mut highest = (rim - RIM_MM).min(top[0].min(top[1]) - pad.thick_mm);
        if self.hold == LidHold::Slide && self.roofs {
            let (places, over) = slide::roofed(low, high, self.lid_gap_mm);
            highest = places.iter().map(|p| room.surface(&axes, p.x, p.y) - over).fold(highest, f64::min);
        }
        let heights: Vec<f64> = match (self.depth_mm, self.members.first()) {
            (Some(depth), Some(m)) => vec![depth + m.half().z + AIR_MM],
            _ => [0.0, -0.7, -1.5, -2.5, -4.0].iter().map(|d| highest + d).collect(),
        };
        let mut places = Vec::new();
        let mut best = enough;
        for seat_mm in heights.into_iter().filter(|h| h.is_finite()) {
            let over = (seat_mm - highest).max(0.0);
            let place =
                TrayPlace { station_mm, axes, seat_mm, short_mm: 0.0, roof_mm: self.unroofed(room, &axes, seat_mm) };
            let roof = if self.roofs { place.roof_mm } else { 0.0 };
            let short_mm = over + roof + self.shortfall(room, &place, best - over - roof);
            if short_mm < best {
                best = short_mm;
                places.push(TrayPlace { short_mm, ..place });
            }
        }
        places
    }

    /// Millimetres of the body's plastic that lack over what it holds down of a lid that slides.
    fn unroofed(&self, room: &Room, axes: &Axes, seat_mm: f64) -> f64 {
        if self.hold != LidHold::Slide {
            return 0.0;
        }
        let [low, high] = self.seat();
        let (places, over) = slide::roofed(low, high, self.lid_gap_mm);
        let lacks = places.iter().map(|p| seat_mm + over - room.surface(axes, p.x, p.y));
        lacks.fold(0.0, f64::max).min(FAR_MM)
    }

    /// Millimetres that walls, rim, pads and ends lack; stops looking when more than `enough`.
    fn shortfall(&self, room: &Room, place: &TrayPlace, enough: f64) -> f64 {
        let TrayPlace { axes, seat_mm, station_mm, .. } = place;
        let [low, high] = self.seat();
        let mut short = room.misplaced(*station_mm, self.reach());
        let mut rim: f64 = 0.0;
        for x in steps(low.x, high.x, SAMPLE_MM) {
            for y in steps(low.y, high.y, SAMPLE_MM) {
                let p = axes.at(x, y, *seat_mm);
                rim = rim.max(room.crowded(p));
                if y.abs() >= high.y {
                    rim = rim.max(room.thin(p, SEAT_WALL_MM));
                }
                // The lid itself, up to the surface: another lid may come round from the next side.
                for over in [2.0, 4.0, 6.0] {
                    let q = p + axes.out * over;
                    if !room.outer.is_inside(q) {
                        break;
                    }
                    rim = rim.max(room.crowded(q));
                }
            }
        }
        short += rim;
        if short >= enough {
            return short;
        }
        let pad = Pad::of(&self.hold, &self.fit);
        let mut pads: f64 = 0.0;
        for x in self.pads(&pad) {
            for (dx, dy) in around(pad.radius_mm) {
                let p = axes.at(x + dx, dy, seat_mm - pad.deep_mm);
                pads = pads.max(room.thin(p, pad.wall_mm)).max(room.crowded(p));
            }
        }
        short += pads;
        for (m, from) in self.laid() {
            if short >= enough {
                return short;
            }
            let middle = seat_mm - AIR_MM - m.half().z;
            let outline = m.outline(seat_mm - middle);
            let mut walls: f64 = 0.0;
            for x in steps(from, from + m.long(), SAMPLE_MM) {
                for (a, b) in outline.iter().zip(outline.iter().cycle().skip(1)) {
                    let parts = ((*b - *a).length() / SAMPLE_MM).ceil().max(1.0) as u32;
                    for k in 0..parts {
                        let q = *a + (*b - *a) * (f64::from(k) / f64::from(parts));
                        let p = axes.at(x, q.x, middle + q.y);
                        walls = walls.max(room.thin(p, room.wall_mm)).max(room.crowded(p));
                    }
                }
                // What runs through the middle of a pocket.
                walls = walls.max(room.crowded(axes.at(x, 0.0, middle)));
                if short + walls >= enough {
                    return short + walls;
                }
            }
            short += walls;
        }
        short
    }

    /// The bays at a place, without lid.
    pub(super) fn bays(&self, room: &Room, place: &TrayPlace, lid: usize) -> Result<Vec<Bay>, BooleanError> {
        let TrayPlace { axes, seat_mm, .. } = place;
        let beyond = room.reach_mm + 6.0;
        let [before, after] = self.around();
        self.laid()
            .into_iter()
            .map(|(m, from)| {
                let h = m.half();
                let middle_out = seat_mm - AIR_MM - h.z;
                let at = axes.at(from + h.x, 0.0, middle_out);
                let x = axes.along;
                let place_of = DAffine3::from_mat3_translation(DMat3::from_cols(x, axes.out.cross(x), axes.out), at);
                let lifted: Vec<DVec2> =
                    m.outline(beyond - middle_out).into_iter().map(|p| p + DVec2::Y * middle_out).collect();
                Ok(Bay {
                    part: m.part,
                    body: room.body,
                    place: place_of,
                    out: axes.out,
                    travel_mm: beyond - middle_out + h.z,
                    opens: Opens::Lid(lid),
                    solid: part_solid(m.row, 0.0)?.transformed(&place_of),
                    largest: part_solid(m.row, m.row.over_mm)?.transformed(&place_of),
                    taken: m.pocket(axes, &lifted, from, [middle_out, beyond])?,
                    exit: place_of.transform_point3(wire_exit(m.row, m.gap_mm)),
                    gap_mm: m.gap_mm,
                    span_mm: [place.station_mm + before, place.station_mm + after],
                    short_mm: place.short_mm,
                    sound: None,
                })
            })
            .collect()
    }

    /// The lid over a place.
    pub(super) fn lid(&self, room: &Room, place: &TrayPlace) -> LidPlan {
        let [low, high] = self.seat();
        LidPlan {
            axes: place.axes,
            low,
            high,
            seat_mm: place.seat_mm,
            beyond_mm: room.reach_mm + 8.0,
            tops_mm: self.pads(&Pad::of(&self.hold, &self.fit)).map(|x| room.surface(&place.axes, x, 0.0)),
            hold: self.hold.clone(),
            gap_mm: self.lid_gap_mm,
            fit: self.fit,
        }
    }
}
