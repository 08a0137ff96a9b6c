//! The rule: an outside and an inside length and upright holes for calipers.

use super::block::{FOOT_MM, WALL_MM, circle, raise, rect, through};
use super::{CouponError, Feature, Place};
use crate::catalogue::Printer;
use solid::{DVec2, Mesh, difference_all, loft, union_all};

/// Outside lengths to choose from, mm: the longest that the bed takes. The inside length is half of it.
const LENGTHS_MM: [f64; 3] = [100.0, 50.0, 25.0];
/// Where the window begins and how wide it is, shares of the length.
const WINDOW: [f64; 2] = [0.08, 0.08];
/// Height, mm.
const HIGH_MM: f64 = 3.0;
/// Room for the row's figures in front, mm.
const FRONT_MM: f64 = 7.0;
const FIGURE_MM: [f64; 2] = [5.0, 1.2];

/// Holes: diameter and distance from the left end, mm.
fn holes(long_mm: f64) -> &'static [[f64; 2]] {
    match long_mm {
        l if l >= 100.0 => &[[5.0, 66.0], [8.0, 76.0], [12.0, 89.0]],
        l if l >= 50.0 => &[[4.0, 34.0], [6.0, 42.5]],
        _ => &[[4.0, 19.5]],
    }
}

/// The rule in print position with its places.
pub(super) fn rule(row: u32, printer: &Printer) -> Result<(Mesh, Vec<Place>), CouponError> {
    let room = printer.bed_mm[0] - 2.0 * printer.margin_mm;
    let Some(long) = LENGTHS_MM.into_iter().find(|l| *l <= room) else {
        let (printer, feature, need_mm) = (printer.name.clone(), Feature::Outside.name(), LENGTHS_MM[2]);
        return Err(CouponError::Bed { printer, feature, need_mm, room_mm: room });
    };
    let largest = holes(long).iter().map(|h| h[0]).fold(0.0, f64::max);
    let wide = FRONT_MM + largest + 2.0 * WALL_MM;
    let y = FRONT_MM + WALL_MM + largest / 2.0;
    let middle = DVec2::new(long, wide) / 2.0;
    // The first layer spreads: the rule's own foot is drawn in.
    let ring = |less: f64, z: f64| {
        rect(middle, [long / 2.0 - less, wide / 2.0 - less]).iter().map(|p| p.extend(z)).collect::<Vec<_>>()
    };
    let whole = loft(&[ring(FOOT_MM, 0.0), ring(0.0, FOOT_MM), ring(0.0, HIGH_MM)]);
    let mut tools = Vec::new();
    let mut places = vec![measure(
        Feature::Outside,
        1,
        long,
        [DVec2::new(0.0, y), DVec2::new(long, y)],
        rect(middle, [long / 2.0, wide / 2.0]),
    )];
    let inside = long / 2.0;
    let from = long * WINDOW[0];
    let window_middle = DVec2::new(from + inside / 2.0, y);
    let window = |more: f64| rect(window_middle, [inside / 2.0 + more, long * WINDOW[1] / 2.0 + more]);
    tools.push(through(&window, HIGH_MM));
    let ends = [DVec2::new(from, y), DVec2::new(from + inside, y)];
    places.push(measure(Feature::Inside, 1, inside, ends, window(0.0)));
    for (step, [diameter, x]) in (1..).zip(holes(long)) {
        let at = DVec2::new(*x, y);
        let outline = |more: f64| circle(at, diameter / 2.0 + more);
        tools.push(through(&outline, HIGH_MM));
        let ends = [-0.5, 0.5].map(|side| at + DVec2::new(side * diameter, 0.0));
        places.push(measure(Feature::Hole, step, *diameter, ends, outline(0.0)));
    }
    let mut solids = vec![difference_all(&whole, &tools)?];
    raise(&mut solids, &row.to_string(), FIGURE_MM, DVec2::new(8.0, FRONT_MM / 2.0 + 0.4), HIGH_MM);
    Ok((union_all(&solids)?, places))
}

fn measure(feature: Feature, step: u32, drawn_mm: f64, ends: [DVec2; 2], outline: Vec<DVec2>) -> Place {
    Place { feature, step, gap_mm: 0.0, drawn_mm, nominal_mm: drawn_mm, ends, outline, figure: None }
}
