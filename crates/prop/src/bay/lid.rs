//! Lids: the part of the maker's own surface over a tray, held by magnets or screws.

use super::room::Axes;
use super::shapes::{ROUND, circle, post, sign};
use super::tray::{STEEP, gabled};
use crate::project::LidHold;
use solid::{BooleanError, DVec2, DVec3, Mesh};

/// Air between a lid and its seat all round, at least, mm (common practice: sliding fits 0.2 to 0.3).
pub const LID_GAP_LEAST_MM: f64 = 0.2;
/// Ledge that carries a lid beside a tray, mm.
pub(super) const LEDGE_MM: f64 = 2.0;
/// Length of the pad at each end of a lid that takes magnet or screw, mm.
pub(super) const PAD_MM: f64 = 10.0;
/// The thinnest a lid may be at its rim, mm: two beads and a little.
pub(super) const RIM_MM: f64 = 1.0;
/// Plastic of the body beside the lid's seat, mm.
pub(super) const SEAT_WALL_MM: f64 = 0.8;
/// A lid lies this much above its seat, so that it never stands proud, mm.
const SEAT_AIR_MM: f64 = 0.1;
/// Diameter and thickness of the disc magnets in lids, 6 x 2 mm: the commonest size that holds a lid of this kind in pairs (common practice, no source).
pub const MAGNET_MM: [f64; 2] = [6.0, 2.0];
/// Gap per side for a pressed-in magnet, mm (fit guides: press 0.05 to 0.15).
const PRESS_MM: f64 = 0.1;
/// A pocket is this much deeper than its magnet, mm: room for a drop of glue.
const GLUE_MM: f64 = 0.15;
/// Screws M3 by 8 mm with flat heads of 5.6 mm, and inserts that are melted into holes of 4.0 by 6.0 mm (from memory of
/// insert makers' sheets).
const SCREW_MM: [f64; 3] = [3.4, 6.0, 2.0];
const INSERT_MM: [f64; 2] = [4.0, 6.0];

/// Thickness of lid that magnet or screw head needs over its seat, mm.
pub(super) fn least_pad_mm(hold: LidHold) -> f64 {
    match hold {
        LidHold::Magnets => MAGNET_MM[1] + GLUE_MM + 0.8,
        LidHold::Screws => SCREW_MM[2] + 1.2,
    }
}

/// Depth below the seat that magnet or insert needs with its floor, mm, and its radius.
pub(super) fn pad_depth_mm(hold: LidHold) -> [f64; 2] {
    match hold {
        LidHold::Magnets => [MAGNET_MM[1] + GLUE_MM, MAGNET_MM[0] / 2.0 + PRESS_MM],
        LidHold::Screws => [INSERT_MM[1], INSERT_MM[0] / 2.0],
    }
}

/// A magnet in its pocket.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Magnet {
    /// Middle of the face that meets the other magnet, prop frame.
    pub at: DVec3,
    /// Unit vector out of that face.
    pub facing: DVec3,
    /// Whether that face is the pole marked "+".
    pub plus: bool,
    /// In the lid (else in the body).
    pub in_lid: bool,
}

/// A screw through a lid into an insert.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Screw {
    /// Where it crosses the lid's seat, prop frame.
    pub at: DVec3,
    /// Unit vector towards its head.
    pub out: DVec3,
}

/// A lid with its seat.
#[derive(Clone, Debug)]
pub struct Lid {
    /// Index of its body in the placed shape.
    pub body: usize,
    /// Indices of the parts behind it.
    pub parts: Vec<usize>,
    /// Unit vector of the way it comes off, prop frame.
    pub out: DVec3,
    /// Direction along the prop, prop frame.
    pub along: DVec3,
    /// Middle of its seat, prop frame.
    pub seat: DVec3,
    /// What holds it.
    pub hold: LidHold,
    /// Cuts the lid out of the maker's solid.
    pub plate: Mesh,
    /// Taken from the body: the lid with the air around it.
    pub recess: Mesh,
    /// Taken from the lid: pockets, screw holes, marks.
    pub sunk_in_lid: Mesh,
    /// Taken from the body besides: pockets, insert holes, marks, the notch for a fingernail.
    pub sunk_in_body: Mesh,
    /// Magnets.
    pub magnets: Vec<Magnet>,
    /// Screws.
    pub screws: Vec<Screw>,
    /// Stations it takes up, mm.
    pub span_mm: [f64; 2],
    /// Air all round as drawn, mm.
    pub gap_mm: f64,
}

/// Where a lid lies: its plan (along, beside) and the height of its seat.
pub(super) struct LidPlan {
    pub(super) axes: Axes,
    pub(super) low: DVec2,
    pub(super) high: DVec2,
    pub(super) seat_mm: f64,
    /// Height that is surely outside.
    pub(super) beyond_mm: f64,
    /// Height of the outer surface over the pad nearer the tip.
    pub(super) notch_mm: f64,
    pub(super) hold: LidHold,
    pub(super) gap_mm: f64,
}

impl LidPlan {
    /// Middles of the two pads.
    pub(super) fn pads(&self) -> [DVec2; 2] {
        let beside = f64::midpoint(self.low.y, self.high.y);
        [DVec2::new(self.low.x + PAD_MM / 2.0, beside), DVec2::new(self.high.x - PAD_MM / 2.0, beside)]
    }
}

/// Makes a lid.
pub(super) fn make_lid(plan: &LidPlan, body: usize, parts: Vec<usize>, station_mm: f64) -> Result<Lid, BooleanError> {
    let LidPlan { axes, low, high, seat_mm, .. } = plan;
    let gap = DVec2::splat(plan.gap_mm);
    let recess = post(axes, &gabled(*low, *high), *seat_mm - SEAT_AIR_MM, plan.beyond_mm);
    // A sloping side moves in by its gap square to itself: along the prop that is the gap and what the slope adds.
    let slope = plan.gap_mm * (libm::hypot(1.0, STEEP) - 1.0);
    let plate = post(axes, &gabled(*low + gap, *high - gap - DVec2::X * slope), *seat_mm, plan.beyond_mm);
    let mut lid = Lid {
        body,
        parts,
        out: axes.out,
        along: axes.along,
        seat: axes.at(f64::midpoint(low.x, high.x), f64::midpoint(low.y, high.y), *seat_mm),
        hold: plan.hold,
        plate,
        recess,
        sunk_in_lid: Mesh::default(),
        sunk_in_body: Mesh::default(),
        magnets: Vec::new(),
        screws: Vec::new(),
        span_mm: [station_mm + low.x, station_mm + high.x],
        gap_mm: plan.gap_mm,
    };
    let (mut from_lid, mut from_body) = (Vec::new(), Vec::new());
    let beneath = *seat_mm - SEAT_AIR_MM;
    for (k, pad) in plan.pads().into_iter().enumerate() {
        match plan.hold {
            LidHold::Magnets => {
                let [deep, radius] = pad_depth_mm(plan.hold);
                let disc = circle(pad, radius, ROUND);
                from_lid.push(post(axes, &disc, *seat_mm - 0.5, *seat_mm + deep));
                from_body.push(post(axes, &disc, beneath - deep, beneath + 0.5));
                // Turned round, like poles meet like: the lid goes on one way only.
                let body_plus = k == 0;
                let beside = pad + DVec2::new(0.0, radius + 2.7);
                if beside.y + 1.6 < high.y - plan.gap_mm {
                    from_body.extend(sign(axes, beside, body_plus, beneath, [0.4, 0.5]));
                    from_lid.extend(sign(axes, beside, !body_plus, *seat_mm, [0.5, 0.4]));
                }
                for (in_lid, height, facing, plus) in
                    [(false, beneath, axes.out, body_plus), (true, *seat_mm, -axes.out, !body_plus)]
                {
                    lid.magnets.push(Magnet { at: axes.at(pad.x, pad.y, height), facing, plus, in_lid });
                }
            }
            LidHold::Screws => {
                let [hole, head, sunk] = SCREW_MM;
                let [insert, deep] = INSERT_MM;
                let top = plan.notch_mm.max(*seat_mm + least_pad_mm(plan.hold)) - sunk;
                from_lid.push(post(axes, &circle(pad, hole / 2.0, ROUND), *seat_mm - 0.5, plan.beyond_mm));
                from_lid.push(post(axes, &circle(pad, head / 2.0, ROUND), top, plan.beyond_mm + 0.3));
                from_body.push(post(axes, &circle(pad, insert / 2.0, ROUND), beneath - deep, beneath + 0.5));
                lid.screws.push(Screw { at: axes.at(pad.x, pad.y, *seat_mm), out: axes.out });
            }
        }
    }
    if plan.hold == LidHold::Magnets {
        // Half a round notch under the lid's end, so that a fingernail gets behind it.
        let reach = DVec3::ZERO + axes.beside * 5.0;
        let middle = axes.at(high.x, f64::midpoint(low.y, high.y), plan.notch_mm);
        from_body.push(solid::cylinder(middle - reach, middle + reach, 2.5, 24));
    }
    lid.sunk_in_lid = solid::union_all(&from_lid)?;
    lid.sunk_in_body = solid::union_all(&from_body)?;
    Ok(lid)
}
