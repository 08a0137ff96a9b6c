//! Reeds in relief on the blade's two flat faces: stalks with knots, leaves that lean out of them, plumes.
//!
//! All flanks fall over at least 1.3 mm, so that a 0.4 mm nozzle follows them and no layer starts in the air.

use forms::ease;
use solid::DVec2;
use std::f64::consts::{PI, TAU};

/// Highest relief, mm.
const HIGH_MM: f64 = 0.55;

/// Kept plain along each edge, where the light comes out, mm.
const EDGE_MM: f64 = 9.0;

/// Where the reeds grow.
const ROOT_X: f64 = 505.0;

/// Stalks: place across as a share of the room, where it ends (x), phase of its sway.
const STALKS: [(f64, f64, f64); 5] =
    [(-0.86, 985.0, 0.3), (-0.42, 1215.0, 1.9), (0.02, 1330.0, 4.1), (0.45, 1105.0, 0.9), (0.87, 905.0, 2.7)];

const STALK_HALF_MM: f64 = 0.7;
const STALK_FLANK_MM: f64 = 1.6;
const KNOT_EVERY_MM: f64 = 62.0;
const LEAF_EVERY_MM: f64 = 96.0;
const LEAF_FLANK_MM: f64 = 1.3;
const PLUME_MM: f64 = 64.0;

/// Height over the bare face, mm, at a place of the section at `x`; nought on the edges and outside the reeds. The
/// back shows the same reeds from behind.
pub(crate) fn height_mm(x: f64, half_width_mm: f64, place: DVec2) -> f64 {
    let from_edge_mm = half_width_mm - place.x.abs();
    if x < ROOT_X || from_edge_mm <= EDGE_MM {
        return 0.0;
    }
    let reed = STALKS
        .iter()
        .enumerate()
        .map(|(index, stalk)| stalk_height(index, *stalk, x, place.x, half_width_mm))
        .fold(0.0, f64::max);
    HIGH_MM * reed * ease((from_edge_mm - EDGE_MM) / 3.0) * ease((x - ROOT_X) / 6.0)
}

/// Where a stalk stands at `x`, mm across.
fn stalk_across_mm(share: f64, phase: f64, x: f64, half_width_mm: f64) -> f64 {
    share * (half_width_mm - EDGE_MM - 5.0) + 1.2 * libm::sin(x / 85.0 + phase)
}

fn stalk_height(index: usize, (share, end_x, phase): (f64, f64, f64), x: f64, y: f64, half_width_mm: f64) -> f64 {
    let across_mm = stalk_across_mm(share, phase, x, half_width_mm);
    let from_mm = (y - across_mm).abs();
    let mut height = 0.0f64;
    if x < end_x {
        let knot = ((x + phase * 20.0) % KNOT_EVERY_MM - KNOT_EVERY_MM * 0.5).abs();
        let body = 0.78 + 0.22 * ease(1.0 - knot / 2.5);
        height = body * ease(1.0 - (from_mm - STALK_HALF_MM) / STALK_FLANK_MM);
    }
    height.max(leaf_height(index, end_x, x, y - across_mm)).max(plume_height(end_x, x, from_mm))
}

/// Leaves leave the stalk by turns to either side, one reaching past the next one's root.
fn leaf_height(index: usize, end_x: f64, x: f64, from_stalk_mm: f64) -> f64 {
    let mut height = 0.0f64;
    let first_x = ROOT_X + 18.0 + 17.0 * index as f64;
    let latest = libm::floor((x - first_x) / LEAF_EVERY_MM);
    for back in 0..2 {
        let number = latest - f64::from(back);
        let root_x = first_x + number * LEAF_EVERY_MM;
        if number < 0.0 || root_x > end_x - 70.0 {
            continue;
        }
        let side = if (number as i64 + index as i64) % 2 == 0 { 1.0 } else { -1.0 };
        let length_mm = 104.0 + 9.0 * libm::sin(number * 2.3 + index as f64);
        let along = (x - root_x) / length_mm;
        if !(0.0..1.0).contains(&along) {
            continue;
        }
        let middle_mm = side * 11.0 * libm::pow(along, 1.35);
        let half_mm = 2.5 * libm::sin(PI * libm::pow(along, 0.62));
        let from_mm = (from_stalk_mm - middle_mm).abs();
        let blade = ease((half_mm + LEAF_FLANK_MM * 0.5 - from_mm) / LEAF_FLANK_MM);
        let crease = 1.0 - 0.35 * ease(from_mm / 2.0);
        height = height.max(blade * crease * ease(along * 8.0) * ease((1.0 - along) * 6.0));
    }
    height
}

/// The plume at a stalk's end, combed upwards.
fn plume_height(end_x: f64, x: f64, from_mm: f64) -> f64 {
    let along = (x - end_x + 6.0) / PLUME_MM;
    if !(0.0..1.0).contains(&along) {
        return 0.0;
    }
    let half_mm = 4.6 * libm::sin(PI * libm::pow(along, 0.75));
    let comb = 0.86 + 0.14 * libm::cos((x - 1.3 * from_mm) * TAU / 6.5);
    comb * ease((half_mm + 0.8 - from_mm) / 1.6) * ease((1.0 - along) * 6.0)
}
