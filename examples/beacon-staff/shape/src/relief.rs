//! Ornament in relief: turned beads and bands of waves on the shaft, bars and hoops round the lantern's four panes.
//!
//! Flanks lean no more than 45 degrees from the staff's axis, so that no layer of a standing piece starts in the air.

use crate::form::{PANES_X, bump, radius_mm};
use forms::ease;
use solid::DVec2;
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

/// Beads turned on foot and shaft: where, how high.
const BEADS: [(f64, f64); 9] = [
    (28.0, 1.0),
    (78.0, 1.0),
    (150.0, 0.8),
    (166.0, 0.8),
    (780.0, 0.8),
    (796.0, 0.8),
    (890.0, 0.6),
    (906.0, 0.6),
    (1484.0, 0.4),
];

/// Bands of waves: their middle. Each is two crests that follow each other.
const WAVES: [f64; 3] = [210.0, 726.0, 952.0];
const WAVE_HIGH_MM: f64 = 0.6;
const WAVE_SWING_MM: f64 = 5.5;
const WAVE_APART_MM: f64 = 12.0;
/// So many crests go round.
const WAVE_COUNT: f64 = 5.0;

/// Height of the lantern's bars and hoops, mm.
pub(crate) const BAR_MM: f64 = 1.8;
const BAR_FLAT_MM: f64 = 2.2;
const BAR_END_MM: f64 = 5.4;

/// Height over the bare staff, mm, at `x` in the direction of `normal` (across, through).
pub(crate) fn height_mm(x: f64, normal: DVec2) -> f64 {
    let turn = libm::atan2(normal.y, normal.x);
    let beads = BEADS.iter().map(|(at, high)| bump(*high, x - at, 0.6, 3.4)).fold(0.0, f64::max);
    let waves = WAVES.iter().map(|at| wave(x - at, turn)).fold(0.0, f64::max);
    beads.max(waves).max(lantern(x, turn))
}

fn wave(x: f64, turn: f64) -> f64 {
    let crest = |at: f64, shift: f64| at + WAVE_SWING_MM * libm::sin(WAVE_COUNT * turn + shift);
    let near = |at: f64| bump(WAVE_HIGH_MM, x - at, 0.8, 4.2);
    near(crest(-WAVE_APART_MM / 2.0, 0.0)).max(near(crest(WAVE_APART_MM / 2.0, 0.9)))
}

fn lantern(x: f64, turn: f64) -> f64 {
    let hoops = PANES_X.iter().map(|at| bump(BAR_MM, x - at, BAR_FLAT_MM, BAR_END_MM)).fold(0.0, f64::max);
    // Bars stand between the panes, at 45 degrees to across and through.
    let from_bar = (turn + FRAC_PI_2 * 4.0) % FRAC_PI_2 - FRAC_PI_4;
    let reach = ease((x - 1560.0) / 16.0) * ease((1752.0 - x) / 16.0);
    let bars = bump(BAR_MM * reach, radius_mm(x) * from_bar, BAR_FLAT_MM, BAR_END_MM);
    hoops.max(bars)
}
