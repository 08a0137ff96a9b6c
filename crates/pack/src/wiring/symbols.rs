//! Symbols after IEC 60617, drawn by us: each stands on a point, 16 mm wide and 12 mm high.

use crate::svg::{Anchor, Drawing};
use prop::catalogue::PartKind;
use solid::DVec2;

/// Half the width of a symbol, mm.
pub(super) const HALF: f64 = 8.0;
/// How far plus lies above the middle and minus below it, mm.
pub(super) const POLE: f64 = 4.0;

fn v(x: f64, y: f64) -> DVec2 {
    DVec2::new(x, y)
}

/// Draws the symbol of a part; `None` is the strip.
pub(super) fn symbol(d: &mut Drawing, kind: Option<PartKind>, at: DVec2) {
    match kind {
        Some(PartKind::Cell) => cell(d, at),
        Some(PartKind::Fuse) => {
            d.rect("thick", at + v(-5.0, -POLE - 1.6), v(10.0, 3.2));
            through(d, at, -POLE);
            through(d, at, POLE);
        }
        Some(PartKind::Switch) => {
            // A make contact: the blade stands off.
            d.line("thick", at + v(-HALF, -POLE), at + v(-3.5, -POLE));
            d.line("thick", at + v(-3.5, -POLE), at + v(3.0, -POLE - 3.6));
            d.line("thick", at + v(3.5, -POLE), at + v(HALF, -POLE));
            through(d, at, POLE);
        }
        Some(PartKind::Converter) => {
            square(d, at);
            d.line("thin", at + v(-HALF, 6.0), at + v(HALF, -6.0));
            d.text("", at + v(-4.5, -1.5), Anchor::Middle, "=");
            d.text("", at + v(4.5, 4.0), Anchor::Middle, "=");
        }
        Some(PartKind::Amplifier) => {
            square(d, at);
            d.outlines("thick", [[at + v(-4.0, -4.0), at + v(4.5, 0.0), at + v(-4.0, 4.0)]]);
        }
        Some(PartKind::Speaker) => {
            d.rect("thick", at + v(-HALF, -3.0), v(5.0, 6.0));
            d.outlines("thick", [[at + v(-3.0, -3.0), at + v(2.5, -6.0), at + v(2.5, 6.0), at + v(-3.0, 3.0)]]);
        }
        Some(PartKind::ChargePort | PartKind::ProgramPort) => {
            square(d, at);
            for y in [-POLE, POLE] {
                d.circle("thick", at + v(0.0, y), 1.3);
            }
        }
        Some(PartKind::Controller | PartKind::Sensor) => square(d, at),
        None => lamps(d, at),
    }
}

fn square(d: &mut Drawing, at: DVec2) {
    d.rect("thick", at - v(HALF, 6.0), v(2.0 * HALF, 12.0));
}

fn through(d: &mut Drawing, at: DVec2, y: f64) {
    d.line("thick", at + v(-HALF, y), at + v(HALF, y));
}

/// The long plate is plus; both poles are led to the right.
fn cell(d: &mut Drawing, at: DVec2) {
    d.line("thick", at + v(-4.0, -1.2), at + v(4.0, -1.2));
    d.line("thick", at + v(-2.0, 1.2), at + v(2.0, 1.2));
    d.polyline("thick", [at + v(0.0, -1.2), at + v(0.0, -POLE), at + v(HALF, -POLE)]);
    d.polyline("thick", [at + v(0.0, 1.2), at + v(0.0, POLE), at + v(HALF, POLE)]);
    d.text("", at + v(-5.5, -1.8), Anchor::Middle, "+");
}

/// Light-emitting diodes between two rails.
fn lamps(d: &mut Drawing, at: DVec2) {
    for y in [-POLE - 2.0, POLE + 2.0] {
        d.line("thick", at + v(-HALF, y), at + v(HALF, y));
    }
    for (y, end) in [(-POLE, -POLE - 2.0), (POLE, POLE + 2.0)] {
        d.line("thick", at + v(-HALF, y), at + v(-HALF, end));
    }
    for x in [-4.0, 4.0] {
        d.line("thick", at + v(x, -POLE - 2.0), at + v(x, POLE + 2.0));
        d.outlines("thick", [[at + v(x - 2.0, -1.6), at + v(x + 2.0, -1.6), at + v(x, 1.8)]]);
        d.line("thick", at + v(x - 2.0, 1.8), at + v(x + 2.0, 1.8));
        for dy in [0.0, 1.6] {
            // Light leaves.
            let (from, to) = (at + v(x + 1.8, -1.0 + dy), at + v(x + 3.6, -2.6 + dy));
            d.line("light", from, to);
            d.line("light", to, to + v(-0.9, 0.1));
            d.line("light", to, to + v(-0.1, 0.9));
        }
    }
}
