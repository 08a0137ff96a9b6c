//! Lids that slide: pushed towards the tip they come out from under the body, and then off.
//!
//! Three things of the lid lie under the body's own skin: a tongue at its butt end and a lug at each long side. The seat
//! is longer than the lid by a well; pushed into that, the tongue is drawn from its pocket and the lugs stand under open
//! notches. A leaf in the lid's underside snaps over a ridge on the seat. All of it grows from the bed or leans by no
//! more than the gable, so that lid and body print without support.

use super::lid::LidPlan;
use super::lid::SEAT_AIR_MM;
use super::room::Axes;
use super::shapes::{post, standing};
use super::tray::{ROOF_MM, STEEP, gabled};
use solid::{BooleanError, DAffine3, DMat3, DVec2, DVec3, Mesh};

/// How far the lid is pushed, mm.
pub(super) const TRAVEL_MM: f64 = 8.0;
/// Length of a lug, mm: shorter than the way, so that it comes wholly clear.
const LUG_MM: f64 = 6.0;
/// How far a lug stands out sideways, and how far the tongue reaches, mm.
const ASIDE_MM: f64 = 1.2;
const TONGUE_MM: f64 = 3.0;
/// Thickness of lugs and tongue, mm: eight layers.
const THICK_MM: f64 = 1.6;
/// The tongue is this much narrower than the lid on each side, mm.
const TONGUE_IN_MM: f64 = 2.5;
/// Plastic of the body over lugs and tongue, mm: three beads of a 0.4 nozzle.
const ROOF_LEAST_MM: f64 = 1.2;
/// Stations of the body taken before the lid's butt end, mm: tongue and wall.
pub(super) const BEFORE_MM: f64 = TONGUE_MM + 2.0;
/// Seat at the lid's butt end, and at its tip end for leaf and ridge, mm.
pub(super) const SEAT_MM: [f64; 2] = [4.0, 10.0];
/// Leaf: length, half its width, thickness; the slit beside it and the void over it, mm. A leaf of plastic bends so far
/// with 1.2 % of strain (3/2 t d / L2, a beam held at one end).
const LEAF_MM: [f64; 3] = [9.0, 2.0, 1.6];
const SLIT_MM: f64 = 0.6;
const VOID_MM: f64 = 0.9;
/// Plastic over the void, mm.
const OVER_MM: f64 = 0.8;
/// What the ridge bites besides what the lid may lift in its seat, mm.
const BITE_MM: f64 = 0.4;
/// Half the ridge's length, half its flat top, and what lies between its hollow and the leaf's run, mm.
const RIDGE_MM: [f64; 3] = [1.2, 0.3, 1.0];
/// The ridge's hollow is larger by this, mm.
const HOLLOW_MM: f64 = 0.2;
/// Solids that are put together reach into each other by this, mm.
const INTO_MM: f64 = 0.5;
/// Floors that would lie in one plane are this far apart, mm.
const APART_MM: f64 = 0.01;

/// Thickness of lid that the leaf wants over its seat, mm.
pub(super) const LEAST_MM: f64 = LEAF_MM[2] + VOID_MM + OVER_MM;
/// Half the width that leaf and slits take, mm.
pub(super) const HALF_MM: f64 = LEAF_MM[1] + SLIT_MM;

/// What makes a lid slide.
pub(super) struct Slide {
    /// Cuts the lid out of the maker's solid.
    pub(super) plate: Mesh,
    /// Taken from the body.
    pub(super) recess: Mesh,
    /// Taken from the lid.
    pub(super) sunk: Mesh,
    /// Top of the ridge, prop frame.
    pub(super) ridge: DVec3,
}

/// Places along and beside a lid's plan where plastic must lie over what the body holds down, with the least height over
/// the seat at which it may end, mm.
pub(super) fn roofed(low: DVec2, high: DVec2, gap_mm: f64) -> ([DVec2; 10], f64) {
    let (shoulder, beside) = (shoulder_mm(low, high), (high.y - low.y) / 2.0 + ASIDE_MM + gap_mm);
    let from = shoulder - LUG_MM - gap_mm;
    let tongue = beside - ASIDE_MM - TONGUE_IN_MM;
    let places = [0.0, 0.5, 1.0].map(|share| from + TRAVEL_MM * share).map(|x| [x, beside]);
    let back = low.x - TONGUE_MM - gap_mm;
    let mut all = [DVec2::ZERO; 10];
    for (k, [x, y]) in places.into_iter().chain([[back, tongue], [low.x, tongue]]).enumerate() {
        all[2 * k] = DVec2::new(x, y);
        all[2 * k + 1] = DVec2::new(x, -y);
    }
    (all, THICK_MM + gap_mm + ROOF_LEAST_MM)
}

/// Where the lid's gable begins while it is shut; `high` with the well.
fn shoulder_mm(low: DVec2, high: DVec2) -> f64 {
    high.x - TRAVEL_MM - ((high.y - low.y) / 2.0 - ROOF_MM / 2.0) * STEEP
}

/// An outline and the same one on the other side.
fn both(outline: &[DVec2]) -> [Vec<DVec2>; 2] {
    [outline.to_vec(), outline.iter().rev().map(|p| DVec2::new(p.x, -p.y)).collect()]
}

/// A prism across the lid over an outline in (along, out).
fn across(axes: &Axes, outline: &[DVec2], half_mm: f64) -> Mesh {
    let turn = DMat3::from_cols(axes.along, axes.out, -axes.beside);
    solid::prism(outline, &DAffine3::from_mat3_translation(turn, axes.origin), -half_mm, half_mm)
}

/// A ridge with flanks at 45 degrees: from `foot` up to `top`, its flat half `flat` wide.
fn ridge(x: [f64; 2], foot: f64, top: f64) -> [DVec2; 4] {
    let [from, to] = x;
    let wide = top - foot;
    [DVec2::new(from - wide, foot), DVec2::new(to + wide, foot), DVec2::new(to, top), DVec2::new(from, top)]
}

/// Makes the solids of a lid that slides.
pub(super) fn slide(plan: &LidPlan) -> Result<Slide, BooleanError> {
    let LidPlan { axes, low, high, seat_mm: seat, beyond_mm: beyond, gap_mm: gap, .. } = plan;
    let (low, high, seat, beyond, gap) = (*low, *high, *seat, *beyond, *gap);
    let half = (high.y - low.y) / 2.0;
    let floor = seat - SEAT_AIR_MM;
    let steep = libm::hypot(1.0, STEEP);
    // The lid, its gable moved in square to itself.
    let end = DVec2::new(high.x - TRAVEL_MM - gap - gap * (steep - 1.0), high.y - gap);
    let plate = post(axes, &gabled(low + gap, end), seat, beyond);
    let shoulder = end.x - (half - gap - ROOF_MM / 2.0) * STEEP;
    let lug = [
        DVec2::new(shoulder - LUG_MM, half - gap - INTO_MM),
        DVec2::new(shoulder, half - gap - INTO_MM),
        DVec2::new(shoulder, half - gap),
        DVec2::new(shoulder - (ASIDE_MM + gap) * STEEP, half + ASIDE_MM),
        DVec2::new(shoulder - LUG_MM, half + ASIDE_MM),
    ];
    let tongue_half = half - TONGUE_IN_MM;
    let box_of =
        |from: f64, to: f64, y: f64| [DVec2::new(from, -y), DVec2::new(to, -y), DVec2::new(to, y), DVec2::new(from, y)];
    let mut lid = vec![plate];
    lid.extend(both(&lug).iter().map(|l| post(axes, l, seat, seat + THICK_MM)));
    lid.push(post(axes, &box_of(low.x - TONGUE_MM, low.x + gap + INTO_MM, tongue_half), seat, seat + THICK_MM));

    // What the body gives up: the seat with its well, the lugs' ways, the notches they rise through, the tongue's pocket.
    // A way ends a little before the seat's own gable, so that no two faces coincide.
    let stop = shoulder + TRAVEL_MM + gap * steep - 0.03;
    let way = |from: f64| {
        let slope = |y: f64| stop - (y - (half - gap)) * STEEP;
        let outer = half + ASIDE_MM + gap;
        [
            DVec2::new(from, half - INTO_MM),
            DVec2::new(slope(half - INTO_MM), half - INTO_MM),
            DVec2::new(slope(outer), outer),
            DVec2::new(from, outer),
        ]
    };
    let under = seat + THICK_MM + gap;
    let mut body = vec![post(axes, &gabled(low, high), floor, beyond)];
    body.extend(both(&way(shoulder - LUG_MM - gap)).iter().map(|w| post(axes, w, floor + APART_MM, under)));
    let notch = way(shoulder - LUG_MM + TRAVEL_MM - gap);
    body.extend(both(&notch).iter().map(|w| post(axes, w, floor + 2.0 * APART_MM, beyond - APART_MM)));
    let pocket = box_of(low.x - TONGUE_MM - gap, low.x + INTO_MM, tongue_half + gap);
    body.push(post(axes, &pocket, floor + APART_MM, under));

    // The ridge stands on the seat under the leaf's end; its hollow and its run are in the leaf.
    let [leaf_long, leaf_half, leaf_thick] = LEAF_MM;
    let [ridge_half, flat, between] = RIDGE_MM;
    let bite = gap + BITE_MM;
    let at = end.x - 3.0;
    let top = seat + bite;
    let stands = across(axes, &ridge([at - flat, at + flat], floor - 0.3, top), ridge_half);
    let recess = solid::difference(&solid::union_all(&body)?, &stands)?;
    let (lower, hollow) = (seat - 0.3, top + HOLLOW_MM);
    let in_leaf = ridge([at - flat - 0.1, at + flat + 0.1], lower, hollow);
    // Measured in the seat's plane, where hollow and run are widest.
    let widest = flat + 0.1 + hollow - seat;
    let run_to = at - widest - between - (hollow - seat);
    let run = ridge([at - TRAVEL_MM - flat - 0.6, run_to], lower, hollow);
    let mut sunk =
        vec![across(axes, &in_leaf, ridge_half + HOLLOW_MM), across(axes, &run, ridge_half + HOLLOW_MM + APART_MM)];
    let (root, past) = (end.x - leaf_long, end.x + 2.0);
    let over = seat + leaf_thick;
    sunk.push(post(axes, &box_of(root, past, leaf_half + SLIT_MM), over, over + VOID_MM));
    let slit = [
        DVec2::new(root, leaf_half),
        DVec2::new(past, leaf_half),
        DVec2::new(past, leaf_half + SLIT_MM - APART_MM),
        DVec2::new(root, leaf_half + SLIT_MM - APART_MM),
    ];
    sunk.extend(both(&slit).iter().map(|s| post(axes, s, seat - 0.5, over + 0.2)));
    // A hollow across the lid's back that a thumb pushes on.
    let thumb = axes.at(low.x + 6.0, 0.0, plan.tops_mm[0]);
    sunk.push(solid::cylinder(thumb - axes.beside * 5.0, thumb + axes.beside * 5.0, 1.2, 24));
    let ridge_top = standing(axes).transform_point3(DVec3::new(at, 0.0, top));
    Ok(Slide { plate: solid::union_all(&lid)?, recess, sunk: solid::union_all(&sunk)?, ridge: ridge_top })
}
