//! From the loops of a cut solid to outlines with holes, with no more corners than they need.

use glam::DVec2;
use solid::section::{area_mm2, point_in, thinned};

use crate::section::Outline;

/// Outlines from loops with material on their left: outer ones run counter-clockwise, holes clockwise.
///
/// Corners nearer than `tolerance_mm` to the line between those that stay are left out (Douglas & Peucker 1973), so no
/// place moves further than that; the sections of a printed wall lose nothing at 0.02 mm and are solved ten times
/// sooner. Loops that come to less than a square of ten tolerances are left out, and so are holes in nothing.
#[must_use]
pub fn outlines(loops: &[Vec<DVec2>], tolerance_mm: f64) -> Vec<Outline> {
    let least = 100.0 * tolerance_mm * tolerance_mm;
    let area = |l: &Vec<DVec2>| area_mm2(std::slice::from_ref(l));
    let thin = thinned(loops, tolerance_mm);
    let mut outer: Vec<(f64, Outline)> = Vec::new();
    for corners in thin.iter().filter(|l| area(l) > least) {
        outer.push((area(corners), Outline { outer: corners.clone(), holes: Vec::new() }));
    }
    // The smallest first, so that a hole goes to the innermost outline around it.
    outer.sort_by(|a, b| a.0.total_cmp(&b.0));
    for hole in thin.iter().filter(|l| area(l) < -least) {
        let at = hole[0].midpoint(hole[1]);
        let around =
            outer.iter_mut().find(|(size, o)| *size > -area(hole) && point_in(std::slice::from_ref(&o.outer), at));
        if let Some((_, outline)) = around {
            outline.holes.push(hole.clone());
        }
    }
    outer.into_iter().map(|(_, outline)| outline).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(corners: &[DVec2]) -> f64 {
        area_mm2(&[corners.to_vec()])
    }

    fn ring(radius: f64, n: u32, at: DVec2) -> Vec<DVec2> {
        (0..n).map(|k| at + DVec2::from_angle(std::f64::consts::TAU * f64::from(k) / f64::from(n)) * radius).collect()
    }

    fn turned(mut corners: Vec<DVec2>) -> Vec<DVec2> {
        corners.reverse();
        corners
    }

    #[test]
    fn holes_find_their_outline() {
        let far = DVec2::X * 100.0;
        let loops = [
            turned(ring(8.0, 40, DVec2::ZERO)),
            ring(10.0, 40, DVec2::ZERO),
            ring(5.0, 40, DVec2::ZERO),
            turned(ring(3.0, 40, DVec2::ZERO)),
            ring(0.004, 8, far),
            ring(4.0, 40, far),
            turned(ring(1.0, 40, far * 2.0)),
        ];
        let found = outlines(&loops, 0.001);
        let sizes: Vec<(usize, f64)> = found.iter().map(|o| (o.holes.len(), area(&o.outer).round())).collect();
        assert_eq!(sizes, [(0, 50.0), (1, 78.0), (1, 313.0)]);
    }

    /// A circle needs π/√(2 tolerance/radius) corners or so; its area falls by less than girth times tolerance.
    #[test]
    fn circles_keep_few_corners() {
        let found = outlines(&[ring(20.0, 2000, DVec2::ZERO)], 0.02);
        assert!((60..160).contains(&found[0].outer.len()), "{}", found[0].outer.len());
        let lost = std::f64::consts::PI * 400.0 - area(&found[0].outer);
        assert!((0.0..0.02 * 126.0).contains(&lost), "{lost}");
        let square: Vec<DVec2> =
            [(0.0, 0.0), (5.0, 0.001), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(|c| DVec2::new(c.0, c.1)).into();
        assert_eq!(outlines(&[square], 0.01)[0].outer.len(), 4);
        assert!(outlines(&[vec![], vec![DVec2::ONE]], 0.01).is_empty());
    }
}
