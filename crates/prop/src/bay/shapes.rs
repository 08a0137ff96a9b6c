//! Solids of parts and of the rooms cut for them.

use super::room::Axes;
use crate::catalogue::PartRow;
use solid::{BooleanError, DAffine3, DMat3, DVec2, DVec3, Mesh};

/// Corners of a circle's polygon.
pub(super) const ROUND: u32 = 48;

/// A circle that keeps `radius_mm` free everywhere inside.
pub(super) fn circle(middle: DVec2, radius_mm: f64, corners: u32) -> Vec<DVec2> {
    let r = solid::around_mm(radius_mm, corners);
    (0..corners)
        .map(|k| {
            let a = (f64::from(k) + 0.5) * core::f64::consts::TAU / f64::from(corners);
            middle + DVec2::new(libm::cos(a), libm::sin(a)) * r
        })
        .collect()
}

/// A prism along the prop over an outline in (beside, out).
pub(super) fn beam(axes: &Axes, outline: &[DVec2], from_mm: f64, to_mm: f64) -> Mesh {
    let turn = DMat3::from_cols(axes.beside, axes.out, axes.along);
    solid::prism(outline, &DAffine3::from_mat3_translation(turn, axes.origin), from_mm, to_mm)
}

/// The frame of a plan: x along, y beside, z the way out.
pub(super) fn standing(axes: &Axes) -> DAffine3 {
    DAffine3::from_mat3_translation(DMat3::from_cols(axes.along, axes.beside, axes.out), axes.origin)
}

/// A prism along the way out over an outline in (along, beside).
pub(super) fn post(axes: &Axes, outline: &[DVec2], from_mm: f64, to_mm: f64) -> Mesh {
    solid::prism(outline, &standing(axes), from_mm, to_mm)
}

/// Where a part's wires are led from, in the part frame: straight out from where they leave its wire end, in the middle of the
/// room kept for them.
pub(super) fn wire_exit(row: &PartRow, gap_mm: f64) -> DVec3 {
    let [across, up] = row.exit_mm;
    DVec3::new((row.size_mm[0] + row.room_mm) / 2.0 + gap_mm, across, up)
}

/// A part's own solid in the part frame, each measure larger by `over_mm`.
pub(super) fn part_solid(row: &PartRow, over_mm: f64) -> Result<Mesh, BooleanError> {
    let half = DVec3::from_array(row.size_mm) / 2.0 + DVec3::splat(over_mm / 2.0);
    let barrel = if row.round {
        solid::cylinder(DVec3::X * -half.x, DVec3::X * half.x, half.y, ROUND)
    } else {
        solid::cuboid(-half, half)
    };
    let Some([width, height, thick]) = row.flange_mm else { return Ok(barrel) };
    let face = -row.size_mm[0] / 2.0;
    let (w, h, t) = (width / 2.0 + over_mm / 2.0, height / 2.0 + over_mm / 2.0, thick + over_mm / 2.0);
    let flange = if row.round {
        solid::cylinder(DVec3::X * (face - t), DVec3::X * (face + 0.01), w, ROUND)
    } else {
        solid::cuboid(DVec3::new(face - t, -w, -h), DVec3::new(face + 0.01, w, h))
    };
    solid::union(&barrel, &flange)
}
