//! The wedge: a flat back, a stair in front, figures in relief below the part that is measured.

use super::super::CouponError;
use super::Step;
use solid::{DAffine3, DMat3, DVec2, DVec3, Mesh, digits, prism, union_all};

/// Length of a step, mm. Light spreads sideways in a slab over the diffusion length (d + 2 z) / pi, z its extrapolation at a
/// face: 2 mm in 4 mm of white plastic (2 per mm), 5 mm in as much natural PLA (0.4 per mm). From the middle of a window the
/// neighbours are 9 mm off; what is lost to the thicker one comes from the thinner one, all but a small rest.
pub const STEP_MM: f64 = 18.0;
/// What the first and the last step are longer at the ends, mm: beyond them there is no neighbour to make up for losses.
pub const END_MM: f64 = 6.0;
/// Height, mm.
pub const HEIGHT_MM: f64 = 40.0;
/// Figures: their middle above the lower edge, height, stroke and relief, mm.
pub(super) const FIGURE_V_MM: f64 = 6.0;
const FIGURE_MM: [f64; 2] = [6.0, 1.2];
const RELIEF_MM: f64 = 0.6;
/// Figures are sunk so that no two faces coincide, mm.
const SUNK_MM: f64 = 0.3;

/// Length of a wedge of so many steps, mm.
pub(super) fn long_mm(count: usize) -> f64 {
    count as f64 * STEP_MM + 2.0 * END_MM
}

pub(super) fn size_mm(steps: &[Step]) -> [f64; 3] {
    [long_mm(steps.len()), HEIGHT_MM, thickest(steps)]
}

pub(super) fn thickest(steps: &[Step]) -> f64 {
    steps.iter().map(|s| s.thickness_mm).fold(0.0, f64::max)
}

/// The wedge on its lower long edge, its back at y = 0.
pub(super) fn standing(steps: &[Step]) -> Result<Mesh, CouponError> {
    let long = long_mm(steps.len());
    // From the front, u from the right: -x; v up: z; n towards the eye: y.
    let front = |u: f64, v: f64, n: f64| {
        DAffine3::from_mat3_translation(DMat3::from_cols(DVec3::NEG_X, DVec3::Z, DVec3::Y), DVec3::new(long - u, n, v))
    };
    let mut stair = vec![DVec2::new(long, 0.0), DVec2::new(0.0, 0.0)];
    for (k, step) in steps.iter().enumerate() {
        let ends = [step.middle_mm - STEP_MM / 2.0, step.middle_mm + STEP_MM / 2.0];
        let left = if k == 0 { 0.0 } else { ends[0] };
        let right = if k + 1 == steps.len() { long } else { ends[1] };
        stair.extend([DVec2::new(left, step.thickness_mm), DVec2::new(right, step.thickness_mm)]);
    }
    // The stair lies in x, y: u turned about.
    let outline: Vec<DVec2> = stair.iter().map(|p| DVec2::new(long - p.x, p.y)).collect();
    let mut solids = vec![prism(&outline, &DAffine3::IDENTITY, 0.0, HEIGHT_MM)];
    for step in steps {
        let place = front(step.middle_mm, FIGURE_V_MM, step.thickness_mm);
        let outlines = digits(&step.figure.to_string(), FIGURE_MM[0], FIGURE_MM[1]);
        solids.extend(outlines.iter().map(|o| prism(o, &place, -SUNK_MM, RELIEF_MM)));
    }
    Ok(union_all(&solids)?)
}
