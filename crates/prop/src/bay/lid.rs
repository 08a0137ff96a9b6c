//! Lids: the part of the maker's own surface over a tray, held by magnets or screws.

use super::room::Axes;
use super::shapes::{post, standing};
use super::slide::{self, slide};
use super::tray::{STEEP, gabled};
use crate::catalogue;
use crate::fixing::{Bolt, POCKET_WALL_MM, Pocket, least_wall_mm, poles_of};
use crate::outcome::{Bought, MagnetPair};
use crate::project::LidHold;
use crate::rail::layout::Fit;
use solid::{BooleanError, DVec2, DVec3, Mesh};

/// Air between a lid and its seat all round, at least, mm (common practice: sliding fits 0.2 to 0.3).
pub const LID_GAP_LEAST_MM: f64 = 0.2;
/// Ledge that carries a lid beside a tray, mm.
pub(super) const LEDGE_MM: f64 = 2.0;
/// A lid that slides snaps over its ridge within this of it, mm.
pub const RIDGE_NEAR_MM: f64 = 2.4;
/// Least length of the pad at each end of a lid that takes magnet or screw, mm.
const PAD_MM: f64 = 10.0;
/// The thinnest a lid may be at its rim, mm: two beads and a little.
pub(super) const RIM_MM: f64 = 1.0;
/// Plastic of the body beside the lid's seat, mm.
pub(super) const SEAT_WALL_MM: f64 = 0.8;
/// A lid lies this much above its seat, so that it never stands proud, mm.
pub(super) const SEAT_AIR_MM: f64 = 0.1;
/// Plastic over a magnet's pocket and its mark, mm: four layers (our choice).
const OVER_POCKET_MM: f64 = 0.8;
/// Air round a screw's head in its way down, mm.
const HEAD_AIR_MM: f64 = 0.1;
/// A lid is followed so far off its seat, mm: farther than anything of it reaches under the body.
const OFF_MM: f64 = 6.0;
/// Magnets and screws of a lid: one at each end.
const PADS: u32 = 2;

/// What magnet or screw asks of a lid's pads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pad {
    /// Thickness of lid over the seat, at least, mm.
    pub(super) thick_mm: f64,
    /// Depth below the seat, mm.
    pub(super) deep_mm: f64,
    /// Radius of what is sunk into the body, mm.
    pub(super) radius_mm: f64,
    /// Plastic kept round that, mm.
    pub(super) wall_mm: f64,
    /// Radius of what is sunk into the lid, mm.
    pub(super) in_lid_mm: f64,
}

impl Pad {
    pub(super) fn of(hold: &LidHold, fit: &Fit) -> Pad {
        match hold {
            LidHold::Magnets { magnet, .. } => {
                let pocket = Pocket::of(magnet, fit);
                let (deep_mm, radius_mm) = (pocket.deep_mm(), pocket.radius_mm);
                let thick_mm = deep_mm + OVER_POCKET_MM;
                Pad { thick_mm, deep_mm, radius_mm, wall_mm: POCKET_WALL_MM, in_lid_mm: radius_mm }
            }
            LidHold::Screws { screw, insert } => {
                // In the thinnest lid the screw reaches deepest.
                let thick_mm = least_wall_mm(screw);
                let bolt = Bolt { wall_mm: thick_mm, ..bolt(screw, insert, fit) };
                let (deep_mm, radius_mm) = (bolt.hole_mm(), (insert.hole_mm + fit.hole_loss_mm) / 2.0);
                Pad { thick_mm, deep_mm, radius_mm, wall_mm: insert.wall_mm, in_lid_mm: bolt.head_mm() }
            }
            LidHold::Slide => {
                let in_lid_mm = slide::HALF_MM;
                Pad { thick_mm: slide::LEAST_MM, deep_mm: 0.0, radius_mm: 0.0, wall_mm: SEAT_WALL_MM, in_lid_mm }
            }
        }
    }

    fn widest_mm(&self) -> f64 {
        (self.radius_mm + self.wall_mm).max(self.in_lid_mm + RIM_MM)
    }

    /// Length along the prop.
    pub(super) fn long_mm(&self) -> f64 {
        PAD_MM.max(2.0 * self.widest_mm())
    }

    /// Half the width that a lid with it has at least.
    pub(super) fn half_mm(&self) -> f64 {
        self.widest_mm()
    }
}

/// Air between a lid and its seat all round as drawn, mm.
pub(super) fn lid_gap_mm(hold: &LidHold, fit: &Fit) -> f64 {
    match hold {
        LidHold::Slide => fit.drawn_gap_mm(0.0),
        _ => (fit.glue_gap_mm + fit.slot_loss_mm / 2.0).max(LID_GAP_LEAST_MM),
    }
}

/// A lid's screw; how thick the lid is there is not known yet.
fn bolt<'a>(screw: &'a catalogue::Screw, insert: &'a catalogue::Insert, fit: &Fit) -> Bolt<'a> {
    let hole_loss_mm = fit.hole_loss_mm;
    Bolt { screw, insert, wall_mm: 0.0, air_mm: SEAT_AIR_MM, round_mm: HEAD_AIR_MM, hole_loss_mm }
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
    /// Magnets: the body's, the lid's.
    pub magnets: Vec<MagnetPair>,
    /// Screws.
    pub screws: Vec<Screw>,
    /// What to buy.
    pub bought: Vec<Bought>,
    /// Top of the ridge that it snaps over, prop frame, if it slides.
    pub ridge: Option<DVec3>,
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
    /// Height of the outer surface over the pads' middles.
    pub(super) tops_mm: [f64; 2],
    pub(super) hold: LidHold,
    pub(super) gap_mm: f64,
    pub(super) fit: Fit,
}

impl Lid {
    /// The way it comes off: moves one after the other, prop frame, mm.
    pub fn way(&self) -> Vec<DVec3> {
        let off = self.out * OFF_MM;
        if self.hold == LidHold::Slide { vec![self.along * slide::TRAVEL_MM, off] } else { vec![off] }
    }
}

impl LidPlan {
    /// Stations it takes up about its own, mm.
    fn span_mm(&self, station_mm: f64) -> [f64; 2] {
        let before = if self.hold == LidHold::Slide { slide::BEFORE_MM } else { 0.0 };
        [station_mm + self.low.x - before, station_mm + self.high.x]
    }

    /// Middles of the two pads.
    fn pads(&self) -> [DVec2; 2] {
        let beside = f64::midpoint(self.low.y, self.high.y);
        let in_mm = Pad::of(&self.hold, &self.fit).long_mm() / 2.0;
        [DVec2::new(self.low.x + in_mm, beside), DVec2::new(self.high.x - in_mm, beside)]
    }
}

/// Makes a lid.
pub(super) fn make_lid(plan: &LidPlan, body: usize, parts: Vec<usize>, station_mm: f64) -> Result<Lid, BooleanError> {
    let LidPlan { axes, low, high, seat_mm, .. } = plan;
    let (mut from_lid, mut from_body) = (Vec::new(), Vec::new());
    let beneath = *seat_mm - SEAT_AIR_MM;
    let mut ridge = None;
    let [recess, plate] = if plan.hold == LidHold::Slide {
        let made = slide(plan)?;
        from_lid.push(made.sunk);
        ridge = Some(made.ridge);
        [made.recess, made.plate]
    } else {
        let gap = DVec2::splat(plan.gap_mm);
        // A sloping side moves in by its gap square to itself: along the prop that is the gap and what the slope adds.
        let slope = plan.gap_mm * (libm::hypot(1.0, STEEP) - 1.0);
        let plate = gabled(*low + gap, *high - gap - DVec2::X * slope);
        [post(axes, &gabled(*low, *high), beneath, plan.beyond_mm), post(axes, &plate, *seat_mm, plan.beyond_mm)]
    };
    let mut lid = Lid {
        body,
        parts,
        out: axes.out,
        along: axes.along,
        seat: axes.at(f64::midpoint(low.x, high.x), f64::midpoint(low.y, high.y), *seat_mm),
        hold: plan.hold.clone(),
        plate,
        recess,
        sunk_in_lid: Mesh::default(),
        sunk_in_body: Mesh::default(),
        magnets: Vec::new(),
        screws: Vec::new(),
        bought: Vec::new(),
        ridge,
        span_mm: plan.span_mm(station_mm),
        gap_mm: plan.gap_mm,
    };
    match &plan.hold {
        LidHold::Slide => {}
        LidHold::Magnets { magnet, poles } => {
            let (pocket, frame) = (Pocket::of(magnet, &plan.fit), standing(axes));
            // Turned round, like poles meet like: the lid goes on one way only.
            let [own, other] = poles_of(poles, PADS);
            for (pad, (body, over)) in plan.pads().into_iter().zip(own.into_iter().zip(other)) {
                from_body.push(pocket.cut(&frame, pad, beneath, -1.0, body)?);
                from_lid.push(pocket.cut(&frame, pad, *seat_mm, 1.0, over)?);
                lid.magnets.push(pocket.pair(&frame, pad, [beneath, *seat_mm], [body, over]));
            }
            lid.bought.push(Bought::magnets(magnet, PADS));
            // Half a round notch under the lid's end, so that a fingernail gets behind it.
            let reach = axes.beside * 5.0;
            let middle = axes.at(high.x, f64::midpoint(low.y, high.y), plan.tops_mm[1]);
            from_body.push(solid::cylinder(middle - reach, middle + reach, 2.5, 24));
        }
        LidHold::Screws { screw, insert } => {
            for (pad, top_mm) in plan.pads().into_iter().zip(plan.tops_mm) {
                let thick_mm = (top_mm - *seat_mm).max(least_wall_mm(screw));
                let bolt = Bolt { wall_mm: thick_mm, ..bolt(screw, insert, &plan.fit) };
                let foot = axes.at(pad.x, pad.y, beneath);
                from_body.push(bolt.insert_hole(foot, axes.out));
                from_lid.push(bolt.passage(foot, axes.out, plan.beyond_mm + 0.3 - *seat_mm - thick_mm)?);
                lid.screws.push(Screw { at: axes.at(pad.x, pad.y, *seat_mm), out: axes.out });
            }
            lid.bought.extend(Bought::screws(screw, insert, PADS));
        }
    }
    lid.sunk_in_lid = solid::union_all(&from_lid)?;
    lid.sunk_in_body = solid::union_all(&from_body)?;
    Ok(lid)
}
