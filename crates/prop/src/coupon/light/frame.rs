//! The frame: a tray turned over the wedge, with a window above the middle of each step.

use super::super::CouponError;
use super::Step;
use super::wedge::{FIGURE_V_MM, HEIGHT_MM, long_mm, thickest};
use solid::{DAffine3, DMat3, DVec2, DVec3, Mesh, cuboid, difference_all, digits, prism};

/// Sides of a window, mm.
pub const WINDOW_MM: [f64; 2] = [12.0, 16.0];
/// Thickness of the face, mm.
pub const PLATE_MM: f64 = 2.0;
/// Middle of the windows above the wedge's lower edge, mm: as far from the upper edge.
pub(super) const WINDOW_V_MM: f64 = 25.0;
/// The rim, the room round the wedge and above its thickest step with its figures, mm.
const RIM_MM: f64 = 2.4;
const ROOM_MM: f64 = 0.5;
const ABOVE_MM: f64 = 1.0;
/// Figures cut into the face: height, stroke, depth, mm.
const FIGURE_MM: [f64; 2] = [6.0, 1.2];
const CUT_MM: f64 = 0.6;

/// How much longer a frame is than its wedge, mm.
pub(super) fn more_mm() -> f64 {
    2.0 * (RIM_MM + ROOM_MM)
}

pub(super) fn size_mm(steps: &[Step]) -> [f64; 3] {
    [long_mm(steps.len()) + more_mm(), HEIGHT_MM + more_mm(), thickest(steps) + ABOVE_MM + PLATE_MM]
}

/// The frame with its face on the bed.
pub(super) fn face_down(steps: &[Step]) -> Result<Mesh, CouponError> {
    let [long, high, deep] = size_mm(steps);
    let edge = RIM_MM + ROOM_MM;
    // Seen from the front u is x, v is turned about, and the eye looks from below the bed.
    let flat = |u: f64, v: f64| DVec2::new(edge + u, high - edge - v);
    let mut tools =
        vec![cuboid(DVec3::new(RIM_MM, RIM_MM, PLATE_MM), DVec3::new(long - RIM_MM, high - RIM_MM, deep + 1.0))];
    for step in steps {
        let half = DVec2::from(WINDOW_MM) / 2.0;
        let middle = flat(step.middle_mm, WINDOW_V_MM);
        tools.push(cuboid((middle - half).extend(-1.0), (middle + half).extend(PLATE_MM + 1.0)));
        let place = DAffine3::from_mat3_translation(
            DMat3::from_cols(DVec3::X, DVec3::NEG_Y, DVec3::NEG_Z),
            flat(step.middle_mm, FIGURE_V_MM).extend(0.0),
        );
        let outlines = digits(&step.figure.to_string(), FIGURE_MM[0], FIGURE_MM[1]);
        tools.extend(outlines.iter().map(|o| prism(o, &place, -CUT_MM, 1.0)));
    }
    let whole = cuboid(DVec3::ZERO, DVec3::new(long, high, deep));
    Ok(difference_all(&whole, &tools)?)
}
