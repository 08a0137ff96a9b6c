//! The six bodies: where their outlines lie along the staff and how large they are.

use crate::relief;
use forms::{Place, RingShape, ease, oval, ring, through, turned};
use solid::{DVec2, Mesh};
use std::f64::consts::PI;

/// The faces where the bodies meet, and the tip, mm from the butt.
pub(crate) const MEET_X: [f64; 4] = [110.0, 840.0, 1540.0, 1770.0];
pub(crate) const TIP_X: f64 = 1800.0;

/// Where the collar ring sits.
pub(crate) const RING_X: [f64; 2] = [1527.0, 1553.0];

/// Radius of shaft and lantern under the ring. Nothing between there and the staff's middle is larger, so that the ring
/// slides on from the end where the staff comes apart.
pub(crate) const SEAT_MM: f64 = 18.0;

/// Where the lantern's panes begin and end.
pub(crate) const PANES_X: [f64; 2] = [1604.0, 1706.0];

/// Vertices on the plain shaft lie this many times as far apart as on the other bodies, which need them.
const SHAFT_COARSER: f64 = 1.2;

/// All bodies, butt first.
pub(crate) fn bodies(edge_mm: f64) -> Vec<(&'static str, Mesh)> {
    let [foot, middle, lantern, finial] = MEET_X;
    let shaft_mm = edge_mm * SHAFT_COARSER;
    vec![
        ("foot", round([0.0, foot], shaft_mm)),
        ("lower shaft", round([foot, middle], shaft_mm)),
        ("upper shaft", round([middle, lantern], shaft_mm)),
        ("lantern", round([lantern, finial], edge_mm)),
        ("finial", round([finial, TIP_X], edge_mm)),
        ("collar ring", collar_ring(edge_mm)),
    ]
}

/// Radius of the bare staff, mm.
pub(crate) fn radius_mm(x: f64) -> f64 {
    let knots = [
        // The foot: a worn ferrule.
        (0.0, 12.5),
        (14.0, 15.5),
        (90.0, 15.5),
        (MEET_X[0], 16.0),
        // The lower shaft.
        (480.0, 17.0),
        (MEET_X[1], 17.2),
        // The upper shaft swells where the cell lies.
        (1360.0, 17.6),
        (1505.0, 17.4),
        (1520.0, SEAT_MM),
        // The lantern: out of the shaft, panes, and in again.
        (1556.0, SEAT_MM),
        (PANES_X[0], 33.0),
        (1655.0, 34.0),
        (PANES_X[1], 33.0),
        (1756.0, SEAT_MM),
        (MEET_X[3], SEAT_MM),
        // The finial: a drop of water.
        (1777.0, 20.0),
        (1791.0, 10.0),
        (TIP_X, 4.0),
    ];
    through(&knots, x)
}

fn round(x: [f64; 2], edge_mm: f64) -> Mesh {
    turned(x, edge_mm, &|x| DVec2::splat(radius_mm(x)), &|x, place| place.offset(relief::height_mm(x, place.normal)))
}

/// Air between the ring's bore and what it slides over, mm.
pub(crate) const RING_GAP_MM: f64 = 0.3;

fn collar_ring(edge_mm: f64) -> Mesh {
    // Flat facets between the bore's vertices come a little inside its outline; that much is added.
    let bore = |turn: f64| -> Place { oval(DVec2::splat(SEAT_MM + RING_GAP_MM + 0.05), turn) };
    let depth = |x: f64| 5.0 + 2.0 * libm::sin(PI * (x - RING_X[0]) / (RING_X[1] - RING_X[0]));
    let shape = RingShape { x: RING_X, bore: &bore, depth_mm: &depth, round_mm: 1.5, bevel_mm: DVec2::new(2.2, 1.6) };
    ring(&shape, edge_mm)
}

/// A level bump of this height around nought: flat up to `flat`, gone at `end`.
pub(crate) fn bump(high_mm: f64, away_mm: f64, flat_mm: f64, end_mm: f64) -> f64 {
    high_mm * ease((end_mm - away_mm.abs()) / (end_mm - flat_mm))
}
