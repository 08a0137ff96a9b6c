//! Hatching as plain lines, so that every viewer and every printer shows the same.

use solid::DVec2;

/// Lines at 45 degrees (`rising`) or 135 degrees, `pitch` apart, inside the closed `loops` by the even-odd rule. Loops may
/// be given in any number and turn; a loop inside another is a hole. The lines lie on one lattice through the origin,
/// so that the hatch runs on from one outline to the next.
pub(crate) fn diagonal(loops: &[&[DVec2]], pitch: f64, rising: bool) -> Vec<[DVec2; 2]> {
    let side = if rising { 1.0 } else { -1.0 };
    // Coordinates turned by 45 degrees and not scaled back: u along the line, v from line to line.
    let turn = |p: &DVec2| DVec2::new(p.x * side + p.y, p.y - p.x * side);
    let back = |u: f64, v: f64| DVec2::new((u - v) * 0.5 * side, (u + v) * 0.5);
    let step = pitch * std::f64::consts::SQRT_2;
    let mut crossings: Vec<(i64, f64)> = Vec::new();
    for points in loops {
        for (i, a) in points.iter().enumerate() {
            let (a, b) = (turn(a), turn(&points[(i + 1) % points.len()]));
            let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
            // Half-open in v, so that a corner on a line counts once.
            let mut line = (low.y / step).ceil() as i64;
            while (line as f64) * step < high.y {
                let share = (line as f64 * step - low.y) / (high.y - low.y);
                crossings.push((line, low.x + (high.x - low.x) * share));
                line += 1;
            }
        }
    }
    crossings.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut lines = Vec::new();
    for row in crossings.chunk_by(|a, b| a.0 == b.0) {
        let v = row[0].0 as f64 * step;
        for pair in row.chunks_exact(2) {
            // Where two outlines share an edge their crossings cancel.
            if pair[1].1 - pair[0].1 > 1e-6 {
                lines.push([back(pair[0].1, v), back(pair[1].1, v)]);
            }
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(size: f64) -> Vec<DVec2> {
        [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|(x, y)| DVec2::new(x, y) * size).to_vec()
    }

    /// Lines one pitch apart stand for a pitch of width each, so their length times the pitch is the area.
    fn area(lines: &[[DVec2; 2]], pitch: f64) -> f64 {
        lines.iter().map(|[a, b]| (*b - *a).length() * pitch).sum()
    }

    #[test]
    fn hatch_covers_the_area_and_leaves_holes_out() {
        let (outer, hole) = (square(10.0), square(4.0).iter().map(|p| *p + DVec2::splat(3.0)).collect::<Vec<_>>());
        for rising in [true, false] {
            assert!((area(&diagonal(&[&outer], 0.01, rising), 0.01) - 100.0).abs() < 0.2);
            assert!((area(&diagonal(&[&outer, &hole], 0.01, rising), 0.01) - 84.0).abs() < 0.2);
        }
    }

    #[test]
    fn rising_lines_rise() {
        for [a, b] in diagonal(&[&square(10.0)], 1.3, true) {
            assert!(((b.y - a.y) - (b.x - a.x)).abs() < 1e-9);
        }
        for [a, b] in diagonal(&[&square(10.0)], 1.3, false) {
            assert!(((b.y - a.y) + (b.x - a.x)).abs() < 1e-9);
        }
    }
}
