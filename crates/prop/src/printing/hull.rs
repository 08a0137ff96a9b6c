//! The convex hull of points in a plane.

use solid::DVec2;

/// Corners of the smallest convex outline around some points, counter-clockwise, without corners on a straight side.
/// Fewer than three when the points lie on one line. (Andrew's monotone chain, Inf. Proc. Letters 9, 1979.)
pub(crate) fn hull(mut points: Vec<DVec2>) -> Vec<DVec2> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points.dedup();
    if points.len() < 3 {
        return points;
    }
    let mut outline: Vec<DVec2> = Vec::new();
    let half = |outline: &mut Vec<DVec2>, points: &mut dyn Iterator<Item = DVec2>| {
        let start = outline.len();
        for p in points {
            while outline.len() >= start + 2 {
                let (a, b) = (outline[outline.len() - 2], outline[outline.len() - 1]);
                if (b - a).perp_dot(p - b) > 0.0 {
                    break;
                }
                outline.pop();
            }
            outline.push(p);
        }
        // The last one starts the other half.
        outline.pop();
    };
    half(&mut outline, &mut points.iter().copied());
    half(&mut outline, &mut points.iter().rev().copied());
    outline
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_grid_has_four_corners() {
        let grid = (0..25).map(|i| DVec2::new(f64::from(i % 5), f64::from(i / 5))).collect();
        let corners = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)];
        assert_eq!(hull(grid), corners.map(|(x, y)| DVec2::new(x, y)));
    }

    #[test]
    fn flat_sets_have_no_area() {
        assert_eq!(hull((0..5).map(|i| DVec2::splat(f64::from(i))).collect()), [DVec2::ZERO, DVec2::splat(4.0)]);
        assert_eq!(hull(vec![DVec2::ONE; 3]), [DVec2::ONE]);
        assert!(hull(vec![]).is_empty());
    }
}
