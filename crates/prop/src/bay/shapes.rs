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

/// A rectangle with rounded corners, counter-clockwise.
pub(super) fn rounded(low: DVec2, high: DVec2, radius_mm: f64) -> Vec<DVec2> {
    let r = radius_mm.min((high - low).min_element() / 2.0 - 0.01).max(0.0);
    let corners = [
        (DVec2::new(high.x - r, low.y + r), -0.25),
        (high - DVec2::splat(r), 0.0),
        (DVec2::new(low.x + r, high.y - r), 0.25),
        (low + DVec2::splat(r), 0.5),
    ];
    let per_corner = 6;
    corners
        .iter()
        .flat_map(|(middle, from)| {
            (0..=per_corner).map(move |k| {
                let a = (from + 0.25 * f64::from(k) / f64::from(per_corner)) * core::f64::consts::TAU;
                *middle + DVec2::new(libm::cos(a), libm::sin(a)) * r
            })
        })
        .collect()
}

/// A prism along the prop over an outline in (beside, out).
pub(super) fn beam(axes: &Axes, outline: &[DVec2], from_mm: f64, to_mm: f64) -> Mesh {
    let turn = DMat3::from_cols(axes.beside, axes.out, axes.along);
    solid::prism(outline, &DAffine3::from_mat3_translation(turn, axes.origin), from_mm, to_mm)
}

/// A prism along the way out over an outline in (along, beside).
pub(super) fn post(axes: &Axes, outline: &[DVec2], from_mm: f64, to_mm: f64) -> Mesh {
    let turn = DMat3::from_cols(axes.along, axes.beside, axes.out);
    solid::prism(outline, &DAffine3::from_mat3_translation(turn, axes.origin), from_mm, to_mm)
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

/// A "+" or "-" of strokes 0.8 mm wide, sunk `deep_mm` into a face at height `face_mm` and standing a little over it.
pub(super) fn sign(axes: &Axes, middle: DVec2, plus: bool, face_mm: f64, [below, above]: [f64; 2]) -> Vec<Mesh> {
    let bar = |half: DVec2| post(axes, &rounded(middle - half, middle + half, 0.0), face_mm - below, face_mm + above);
    let mut bars = vec![bar(DVec2::new(1.5, 0.4))];
    if plus {
        bars.push(bar(DVec2::new(0.4, 1.501)));
    }
    bars
}
