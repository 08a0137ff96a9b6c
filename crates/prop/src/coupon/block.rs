//! A ladder: a block with one slot, bore or groove for each gap, figures on a step in front of them.

use super::{CouponError, Feature, Place, loose};
use crate::catalogue::Printer;
use solid::{DAffine3, DVec2, DVec3, Mesh, around_mm, cuboid, difference_all, digits, loft, prism, union_all};

/// Height of a block, mm: deep enough to feel how something goes through.
pub(super) const DEPTH_MM: f64 = 4.0;
/// Wall between two slots and round them, mm: five beads of a 0.4 nozzle.
pub(super) const WALL_MM: f64 = 2.4;
/// The step for figures: its width and height, mm; with its figures it stays below the foot of every groove.
const SHELF_MM: f64 = 6.0;
const SHELF_HIGH_MM: f64 = 1.0;
/// Figures: height, stroke (two beads) and relief, mm.
const FIGURE_MM: [f64; 2] = [4.0, 0.8];
const ROW_FIGURE_MM: [f64; 2] = [6.0, 1.2];
const RELIEF_MM: f64 = 0.5;
/// Figures are sunk so that no two faces coincide, mm.
const SUNK_MM: f64 = 0.3;
/// Least distance of two slots for their figures, mm: "9" and "10" side by side.
const LEAST_PITCH_MM: f64 = 5.6;
/// Lines of a ladder that is broken share this much of their walls, mm.
const SHARED_MM: f64 = 1.0;
/// Foot of a slot, mm: the first layer spreads, so slots widen at the bed by as much at 45 degrees.
pub(super) const FOOT_MM: f64 = 0.4;
/// Corners of a bore, which stand out so that its flats touch the circle from outside.
pub(super) const AROUND: u32 = 48;
/// The longest block, mm: shorter is quicker and does not warp.
const LONGEST_MM: f64 = 110.0;

/// What a ladder is made from.
pub(super) struct Spec<'a> {
    pub(super) row: u32,
    pub(super) feature: Feature,
    /// Nominal size across the row (x) and along it (y), mm.
    pub(super) size_mm: [f64; 2],
    /// Gap a side of each step, mm.
    pub(super) gaps: &'a [f64],
    pub(super) printer: &'a Printer,
}

/// The block in print position with its places.
pub(super) fn block(spec: &Spec) -> Result<(Mesh, Vec<Place>), CouponError> {
    let widest = spec.gaps.iter().copied().fold(0.0, f64::max);
    let flare = if spec.feature == Feature::SlideLid { std::f64::consts::SQRT_2 } else { 1.0 };
    let [across, along] = [spec.size_mm[0] + 2.0 * widest * flare, spec.size_mm[1] + 2.0 * widest];
    let pitch = (across + WALL_MM).max(LEAST_PITCH_MM);
    // A groove is open at both ends; its lid takes this much of it.
    let along = if spec.feature == Feature::SlideLid { loose::GROOVE_LONG_MM - 2.0 * WALL_MM } else { along };
    let figures = spec.row.to_string();
    let left = 2.0 + figures.len() as f64 * (ROW_FIGURE_MM[1] * 4.5);
    let room = (spec.printer.bed_mm[0] - 2.0 * spec.printer.margin_mm).min(LONGEST_MM);
    let ends = left + WALL_MM.max(1.5);
    let per_line = ((room - ends) / pitch).floor();
    if per_line < 1.0 {
        let (printer, feature) = (spec.printer.name.clone(), spec.feature.name());
        return Err(CouponError::Bed { printer, feature, need_mm: ends + pitch, room_mm: room });
    }
    // As many lines as are needed, evenly filled.
    let lines = spec.gaps.len().div_ceil(per_line as usize);
    let per_line = spec.gaps.len().div_ceil(lines);
    let line_high = SHELF_MM + along + 2.0 * WALL_MM;
    let mut solids = Vec::new();
    let mut places = Vec::new();
    for line in 0..lines {
        // The first line is the one at the back, as a text runs.
        let y0 = (lines - 1 - line) as f64 * (line_high - SHARED_MM);
        let members: Vec<usize> = (line * per_line..((line + 1) * per_line).min(spec.gaps.len())).collect();
        let long = left + members.len() as f64 * pitch + WALL_MM.max(1.5);
        let y_slot = y0 + SHELF_MM + WALL_MM + along / 2.0;
        let mut tools = vec![cuboid(
            DVec3::new(-1.0, y0 - 1.0, SHELF_HIGH_MM),
            DVec3::new(long + 1.0, y0 + SHELF_MM, DEPTH_MM + 1.0),
        )];
        for (k, member) in members.iter().enumerate() {
            let middle = DVec2::new(left + (k as f64 + 0.5) * pitch, y_slot);
            let figure = DVec2::new(middle.x, y0 + SHARED_MM + (SHELF_MM - SHARED_MM) / 2.0);
            let gap = spec.gaps[*member];
            let (tool, place) = slot(spec, *member as u32 + 1, gap, middle, figure, [y0 + SHELF_MM, y0 + line_high]);
            tools.push(tool);
            places.push(place);
            raise(&mut solids, &(*member + 1).to_string(), FIGURE_MM, figure, SHELF_HIGH_MM);
        }
        let whole = cuboid(DVec3::new(0.0, y0, 0.0), DVec3::new(long, y0 + line_high, DEPTH_MM));
        solids.push(difference_all(&whole, &tools)?);
        raise(&mut solids, &figures, ROW_FIGURE_MM, DVec2::new(left / 2.0, y_slot), DEPTH_MM);
    }
    Ok((union_all(&solids)?, places))
}

/// Adds figures standing on height `z_mm` to `solids`.
pub(super) fn raise(solids: &mut Vec<Mesh>, text: &str, [high, stroke]: [f64; 2], middle: DVec2, z_mm: f64) {
    let place = DAffine3::from_translation(middle.extend(z_mm));
    solids.extend(digits(text, high, stroke).iter().map(|o| prism(o, &place, -SUNK_MM, RELIEF_MM)));
}

/// What is cut away for one step, with its place.
fn slot(spec: &Spec, step: u32, gap: f64, middle: DVec2, figure: DVec2, y_mm: [f64; 2]) -> (Mesh, Place) {
    let [half_x, half_y] = spec.size_mm.map(|s| s / 2.0 + gap);
    let made = |nominal_mm: f64, ends: [DVec2; 2], outline: Vec<DVec2>| Place {
        feature: spec.feature,
        step,
        gap_mm: gap,
        drawn_mm: nominal_mm + 2.0 * gap,
        nominal_mm,
        ends,
        outline,
        figure: Some(figure),
    };
    match spec.feature {
        Feature::SlideLid => {
            let (tool, outline) = groove(gap, middle.x, y_mm);
            // The groove's own width at its foot is what calipers could take; drawn_mm says the gap square to its flanks.
            let half = loose::GROOVE_HALF_MM + gap;
            let ends = [-half, half].map(|x| DVec2::new(middle.x + x, middle.y));
            (tool, made(2.0 * loose::GROOVE_HALF_MM, ends, outline))
        }
        feature if feature.is_round() => {
            let outline = |more: f64| circle(middle, half_x + more);
            let ends = [-half_x, half_x].map(|x| middle + DVec2::new(x, 0.0));
            (through(&outline, DEPTH_MM), made(spec.size_mm[0], ends, outline(0.0)))
        }
        _ => {
            let outline = |more: f64| rect(middle, [half_x + more, half_y + more]);
            let ends = [-half_y, half_y].map(|y| middle + DVec2::new(0.0, y));
            (through(&outline, DEPTH_MM), made(spec.size_mm[1], ends, outline(0.0)))
        }
    }
}

/// A tool right through a block `depth_mm` high, wider at the foot; `outline` is asked for how much wider.
pub(super) fn through(outline: &dyn Fn(f64) -> Vec<DVec2>, depth_mm: f64) -> Mesh {
    let ring = |more: f64, z: f64| outline(more).iter().map(|p| p.extend(z)).collect::<Vec<_>>();
    loft(&[ring(2.0 * FOOT_MM, -FOOT_MM), ring(0.0, FOOT_MM), ring(0.0, depth_mm + 1.0)])
}

pub(super) fn circle(middle: DVec2, radius: f64) -> Vec<DVec2> {
    let corner = around_mm(radius, AROUND);
    (0..AROUND)
        .map(|k| {
            // Flats, not corners, lie on the axes, where calipers are put.
            let (s, c) = libm::sincos(std::f64::consts::TAU * (f64::from(k) + 0.5) / f64::from(AROUND));
            middle + DVec2::new(c, s) * corner
        })
        .collect()
}

pub(super) fn rect(middle: DVec2, [x, y]: [f64; 2]) -> Vec<DVec2> {
    [(-x, -y), (x, -y), (x, y), (-x, y)].map(|p| middle + DVec2::from(p)).to_vec()
}

/// A groove along y with flanks at 45 degrees, `gap` off its lid square to every face; its outline from above at the
/// block's top.
fn groove(gap: f64, x: f64, [y0, y1]: [f64; 2]) -> (Mesh, Vec<DVec2>) {
    let foot_z = DEPTH_MM - loose::GROOVE_HIGH_MM - gap;
    // Half-width at height z: the lid's flank moved out square by the gap.
    let half =
        |z: f64| loose::GROOVE_HALF_MM - (z - (DEPTH_MM - loose::GROOVE_HIGH_MM)) + gap * std::f64::consts::SQRT_2;
    let top = DEPTH_MM + 0.5;
    let section = [(-half(foot_z), foot_z), (half(foot_z), foot_z), (half(top), top), (-half(top), top)];
    let ring = |y: f64| section.iter().map(|(u, z)| DVec3::new(x + u, y, *z)).collect::<Vec<_>>();
    let at_top = half(DEPTH_MM);
    let outline = [(x - at_top, y0), (x + at_top, y0), (x + at_top, y1), (x - at_top, y1)].map(DVec2::from).to_vec();
    (loft(&[ring(y0 - 0.5), ring(y1 + 1.0)]), outline)
}
