//! What is tried in printed openings: a pin, a lid to drop in and a lid to slide.

use super::CouponError;
use super::block::{AROUND, DEPTH_MM};
use solid::{DVec3, Mesh, cuboid, cylinder, loft, union_all};

/// Diameter of the pin, mm.
pub(super) const PIN_MM: f64 = 5.0;
/// Sides of the lid that is dropped in, mm.
pub(super) const LID_MM: [f64; 2] = [8.0, 12.0];
/// Sliding lid: half its foot, its height, and the length of its groove, mm. Its flanks lean in at 45 degrees.
pub(super) const GROOVE_HALF_MM: f64 = 5.0;
pub(super) const GROOVE_HIGH_MM: f64 = 2.0;
pub(super) const GROOVE_LONG_MM: f64 = 10.0;
/// The head one holds it by: height and how far it stands out, mm.
const HEAD_MM: [f64; 2] = [1.6, 2.0];
/// Parts are sunk into each other by this, mm.
const SUNK_MM: f64 = 0.5;

/// All three as they print, first corner at the origin.
pub(super) fn all() -> Result<Vec<(&'static str, Mesh)>, CouponError> {
    Ok(vec![("pin", pin()?), ("lid", lid()?), ("slider", slider()?)])
}

/// A pin on a head; its corners lie on the circle, as far out as a round pin reaches.
fn pin() -> Result<Mesh, CouponError> {
    let [head, out] = HEAD_MM;
    let half = PIN_MM / 2.0 + out;
    let foot = cuboid(DVec3::ZERO, DVec3::new(2.0 * half, 2.0 * half, head));
    let middle = DVec3::new(half, half, 0.0);
    let top = head + DEPTH_MM + 2.0;
    let pin = cylinder(middle + DVec3::Z * (head - SUNK_MM), middle + DVec3::Z * top, PIN_MM / 2.0, AROUND);
    Ok(union_all(&[foot, pin])?)
}

/// A plug on a head.
fn lid() -> Result<Mesh, CouponError> {
    let [head, out] = HEAD_MM;
    let foot = cuboid(DVec3::ZERO, DVec3::new(LID_MM[0] + 2.0 * out, LID_MM[1] + 2.0 * out, head));
    let plug = cuboid(
        DVec3::new(out, out, head - SUNK_MM),
        DVec3::new(out + LID_MM[0], out + LID_MM[1], head + DEPTH_MM - 0.5),
    );
    Ok(union_all(&[foot, plug])?)
}

/// A lid with leaning flanks, a rib to hold it by on top.
fn slider() -> Result<Mesh, CouponError> {
    let long = GROOVE_LONG_MM + 4.0;
    let (foot, top) = (2.0 * GROOVE_HALF_MM, 2.0 * (GROOVE_HALF_MM - GROOVE_HIGH_MM));
    let lean = (foot - top) / 2.0;
    let ring = |y: f64| {
        [(0.0, 0.0), (foot, 0.0), (foot - lean, GROOVE_HIGH_MM), (lean, GROOVE_HIGH_MM)]
            .map(|(x, z)| DVec3::new(x, y, z))
            .to_vec()
    };
    let body = loft(&[ring(0.0), ring(long)]);
    let middle = foot / 2.0;
    let rib = cuboid(
        DVec3::new(middle - 1.2, 1.0, GROOVE_HIGH_MM - SUNK_MM),
        DVec3::new(middle + 1.2, long - 1.0, GROOVE_HIGH_MM + 4.0),
    );
    Ok(union_all(&[body, rib])?)
}
