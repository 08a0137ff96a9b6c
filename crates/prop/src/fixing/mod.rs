//! Magnets, screws and inserts let into printed pieces: their pockets and holes, the same in joints and in lids.

mod magnets;
mod screws;

use solid::{DAffine3, DVec2, Mesh};

pub(crate) use magnets::{POCKET_WALL_MM, Pocket, poles_of};
pub(crate) use screws::{Bolt, least_wall_mm};

/// Corners of a circle drawn for a joint or a pocket: so many that its flats leave the circle by a few thousandths of a
/// millimetre.
pub(crate) const SEGMENTS: u32 = 96;
/// A void begins this far before the face that it is sunk into, mm.
pub(crate) const BEFORE_MM: f64 = 1.3;

/// A disc in a section as an outline that a round bar of this radius passes.
pub(crate) fn disc(middle: DVec2, radius_mm: f64) -> Vec<DVec2> {
    let r = solid::around_mm(radius_mm, SEGMENTS);
    (0..SEGMENTS)
        .map(|k| {
            let (sin, cos) = libm::sincos(core::f64::consts::TAU * f64::from(k) / f64::from(SEGMENTS));
            middle + DVec2::new(cos, sin) * r
        })
        .collect()
}

/// A cylinder along z of `axes`, its flats on the radius.
pub(crate) fn drilled(axes: &DAffine3, middle: DVec2, radius_mm: f64, from_mm: f64, to_mm: f64) -> Mesh {
    solid::prism(&disc(middle, radius_mm), axes, from_mm, to_mm)
}
