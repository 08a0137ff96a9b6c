//! Plane sections of solids, and what is computed on their loops.
//!
//! Loops are closed without repeating the first point; outer ones run counter-clockwise, holes clockwise.

use clipper2_rust as clipper;
use glam::{DVec2, DVec3};

use crate::Mesh;
use crate::cut::{CutError, Plane, section_loops};

/// Axes in a section plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Basis {
    /// The point that becomes 0, 0; mm.
    pub origin: DVec3,
    /// Unit vector along the section's x.
    pub x: DVec3,
    /// Unit vector along the section's y, square to x.
    pub y: DVec3,
}

impl Basis {
    /// The plane: its normal is x cross y, towards the viewer of the section.
    pub fn plane(&self) -> Plane {
        Plane::through(self.origin, self.x.cross(self.y))
    }

    /// A point of space in the section's coordinates, mm.
    pub fn flatten(&self, point: DVec3) -> DVec2 {
        let p = point - self.origin;
        DVec2::new(p.dot(self.x), p.dot(self.y))
    }

    /// A point of the section in space, mm.
    pub fn raise(&self, point: DVec2) -> DVec3 {
        self.origin + self.x * point.x + self.y * point.y
    }
}

/// The section of a closed, oriented solid, in the coordinates of `basis`. Material lies to the left of every loop.
/// Surfaces that merely touch the plane leave nothing.
///
/// # Errors
/// When the basis is not two unit vectors square to each other, or the solid is open at the plane or not finite.
pub fn section(mesh: &Mesh, basis: &Basis) -> Result<Vec<Vec<DVec2>>, CutError> {
    let loops = section_loops(mesh, &basis.plane())?;
    let flat = loops.into_iter().map(|points| {
        let mut points: Vec<DVec2> = points.into_iter().map(|p| basis.flatten(p)).collect();
        points.dedup();
        while points.len() > 1 && points.first() == points.last() {
            points.pop();
        }
        points
    });
    Ok(flat.filter(|points| points.len() >= 3).collect())
}

/// Area enclosed, mm2: outer loops less holes.
pub fn area_mm2(loops: &[Vec<DVec2>]) -> f64 {
    loops
        .iter()
        .map(|points| {
            // About the first point, so that a small loop far from the origin keeps its digits.
            points.windows(2).map(|w| (w[0] - points[0]).perp_dot(w[1] - points[0])).sum::<f64>() / 2.0
        })
        .sum()
}

/// Whether a point lies inside, counting crossings (so the loops' direction doesn't matter).
pub fn point_in(loops: &[Vec<DVec2>], p: DVec2) -> bool {
    edges(loops)
        .filter(|(a, b)| (a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * ((p.y - a.y) / (b.y - a.y)))
        .count()
        % 2
        == 1
}

/// Distance from a point to the nearest loop, mm, inside or outside alike; infinite without loops.
pub fn distance_to(loops: &[Vec<DVec2>], p: DVec2) -> f64 {
    edges(loops).map(|(a, b)| to_segment(p, a, b)).fold(f64::INFINITY, f64::min)
}

fn edges(loops: &[Vec<DVec2>]) -> impl Iterator<Item = (DVec2, DVec2)> {
    loops.iter().flat_map(|l| (0..l.len()).map(move |k| (l[k], l[(k + 1) % l.len()])))
}

fn to_segment(p: DVec2, a: DVec2, b: DVec2) -> f64 {
    let along = b - a;
    let length = along.length_squared();
    let t = if length > 0.0 { ((p - a).dot(along) / length).clamp(0.0, 1.0) } else { 0.0 };
    p.distance(a + along * t)
}

/// Digits after the point kept by the polygon operations: a millionth of a millimetre.
const DIGITS: i32 = 6;

/// How far the arcs of [`inset`] may lie inside the true circle, mm.
const ARC_TOLERANCE_MM: f64 = 0.001;

/// What lies inside both. Loops by even-odd filling; points come out on a grid of 1e-6 mm.
///
/// # Errors
/// When a coordinate is not finite or beyond a kilometre.
pub fn intersect(a: &[Vec<DVec2>], b: &[Vec<DVec2>]) -> Result<Vec<Vec<DVec2>>, OutlineError> {
    Ok(read(clipper::intersect_d(&paths(a)?, &paths(b)?, clipper::FillRule::EvenOdd, DIGITS)))
}

/// What lies inside `a` and not inside `b`, as [`intersect`].
///
/// # Errors
/// As [`intersect`].
pub fn subtract(a: &[Vec<DVec2>], b: &[Vec<DVec2>]) -> Result<Vec<Vec<DVec2>>, OutlineError> {
    Ok(read(clipper::difference_d(&paths(a)?, &paths(b)?, clipper::FillRule::EvenOdd, DIGITS)))
}

/// The points inside that are at least `mm` away from every loop; for a negative length, everything within `-mm` of
/// the inside, with rounded corners.
///
/// # Errors
/// As [`intersect`], and for a distance that is not finite.
pub fn inset(loops: &[Vec<DVec2>], mm: f64) -> Result<Vec<Vec<DVec2>>, OutlineError> {
    if !mm.is_finite() {
        return Err(OutlineError::BadDistance { mm });
    }
    // Even-odd loops first become proper outer loops and holes, whose direction the offset relies on.
    let proper = clipper::union_subjects_d(&paths(loops)?, clipper::FillRule::EvenOdd, DIGITS);
    let (join, end) = (clipper::JoinType::Round, clipper::EndType::Polygon);
    Ok(read(clipper::inflate_paths_d(&proper, -mm, join, end, 2.0, DIGITS, ARC_TOLERANCE_MM)))
}

/// The same outlines with fewer points: no point that is left out lies further than `mm` from the line that takes its place
/// (Ramer 1972; Douglas, Peucker 1973). Loops are thinned one by one, so that those nearer to each other than twice that may
/// come to cross.
#[must_use]
pub fn thinned(loops: &[Vec<DVec2>], mm: f64) -> Vec<Vec<DVec2>> {
    let thin = |points: &Vec<DVec2>| -> Option<Vec<DVec2>> {
        let path = points.iter().map(|p| clipper::PointD::new(p.x, p.y)).collect();
        let kept: Vec<DVec2> = clipper::ramer_douglas_peucker(&path, mm).iter().map(|p| DVec2::new(p.x, p.y)).collect();
        // Distances there are those from a line without ends: a spike along it shows only here.
        let mut from = 0;
        let near = kept.windows(2).all(|w| {
            let to = from + points[from..].iter().skip(1).position(|p| *p == w[1]).map_or(0, |k| k + 1);
            let run = &points[from..=to];
            from = to;
            run.iter().all(|p| to_segment(*p, w[0], w[1]) <= mm)
        });
        (near && kept.len() >= 3 && from + 1 == points.len()).then_some(kept)
    };
    loops.iter().map(|l| thin(l).unwrap_or_else(|| l.clone())).collect()
}

/// Why an outline could not be computed with.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum OutlineError {
    /// A point is not finite or too far out.
    #[error("point {point} of loop {outline} is at {at} mm: outlines must lie within a kilometre of the origin")]
    OutOfRange {
        /// Which loop.
        outline: usize,
        /// Which of its points.
        point: usize,
        /// Where it is, mm.
        at: DVec2,
    },
    /// An offset is infinite or not a number.
    #[error("an inset needs a finite distance, not {mm}")]
    BadDistance {
        /// What was given.
        mm: f64,
    },
}

fn paths(loops: &[Vec<DVec2>]) -> Result<clipper::PathsD, OutlineError> {
    for (outline, points) in loops.iter().enumerate() {
        if let Some(point) = points.iter().position(|p| !(p.is_finite() && p.abs().max_element() < 1e6)) {
            return Err(OutlineError::OutOfRange { outline, point, at: points[point] });
        }
    }
    Ok(loops.iter().map(|l| l.iter().map(|p| clipper::PointD::new(p.x, p.y)).collect()).collect())
}

fn read(paths: clipper::PathsD) -> Vec<Vec<DVec2>> {
    paths.into_iter().map(|l| l.into_iter().map(|p| DVec2::new(p.x, p.y)).collect()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shapes::{cuboid, cylinder, sphere};
    use proptest::prelude::*;
    use std::f64::consts::PI;

    const LEVEL: Basis = Basis { origin: DVec3::ZERO, x: DVec3::X, y: DVec3::Y };

    fn square(half: f64) -> Vec<DVec2> {
        [(-half, -half), (half, -half), (half, half), (-half, half)].map(DVec2::from).to_vec()
    }

    #[test]
    fn a_tube_is_a_ring() {
        let mut tube = cylinder(DVec3::Z * -5.0, DVec3::Z * 5.0, 10.0, 96);
        tube.append(&cylinder(DVec3::Z * -4.0, DVec3::Z * 4.0, 8.0, 96).reversed());
        let loops = section(&tube, &LEVEL).unwrap();
        assert_eq!(loops.len(), 2);
        let gon = |r: f64| 48.0 * r * r * libm::sin(2.0 * PI / 96.0);
        assert!((area_mm2(&loops) - gon(10.0) + gon(8.0)).abs() < 1e-9);
        let areas: Vec<f64> = loops.iter().map(|l| area_mm2(std::slice::from_ref(l))).collect();
        assert_eq!(areas.iter().filter(|a| **a > 0.0).count(), 1, "outer counter-clockwise, hole clockwise");
        assert!(point_in(&loops, DVec2::new(9.0, 0.1)));
        assert!(!point_in(&loops, DVec2::ZERO) && !point_in(&loops, DVec2::new(11.0, 0.0)));
        assert!((distance_to(&loops, DVec2::ZERO) - 8.0 * libm::cos(PI / 96.0)).abs() < 1e-9);
    }

    #[test]
    fn a_tilted_section_of_a_box() {
        // The plane x = z through a cube of edge 2: a rectangle of 2 by 2 sqrt 2.
        let half = 0.5f64.sqrt();
        let basis = Basis { origin: DVec3::ONE, x: DVec3::Y, y: DVec3::new(half, 0.0, half) };
        let loops = section(&cuboid(DVec3::ZERO, DVec3::splat(2.0)), &basis).unwrap();
        assert!((area_mm2(&loops) - 4.0 * 2f64.sqrt()).abs() < 1e-12);
        for p in loops.iter().flatten() {
            assert!((basis.flatten(basis.raise(*p)) - *p).length() < 1e-12);
        }
    }

    #[test]
    fn faces_in_the_plane_leave_nothing() {
        let cube = cuboid(DVec3::ZERO, DVec3::ONE);
        let below = cuboid(DVec3::new(0.0, 0.0, -1.0), DVec3::new(1.0, 1.0, 0.0));
        assert_eq!(section(&cube, &LEVEL).unwrap(), Vec::<Vec<DVec2>>::new());
        // Seen from just below its top, a box is still there.
        assert_eq!(area_mm2(&section(&below, &LEVEL).unwrap()), 1.0);
        let crooked = Basis { x: DVec3::X * 2.0, ..LEVEL };
        assert!(matches!(section(&cube, &crooked), Err(CutError::BadPlane { .. })));
    }

    #[test]
    fn outlines_overlap_subtract_and_shrink() {
        let ring = subtract(&[square(2.0)], &[square(1.0)]).unwrap();
        assert_eq!(area_mm2(&ring), 12.0);
        let half_plane = vec![[(0.0, -9.0), (9.0, -9.0), (9.0, 9.0), (0.0, 9.0)].map(DVec2::from).to_vec()];
        assert_eq!(area_mm2(&intersect(&ring, &half_plane).unwrap()), 6.0);
        // A ring of walls 1 wide, 0.25 off either side: outer square 3.5; the hole grows with rounded corners.
        let thin = inset(&ring, 0.25).unwrap();
        let expected = 3.5 * 3.5 - (4.0 + 4.0 * 2.0 * 0.25 + PI * 0.0625);
        assert!((area_mm2(&thin) - expected).abs() < 0.002);
        // The corners go last: they are half of sqrt 2 from the hole's corners and as far from the outside at 0.586.
        assert!(!inset(&ring, 0.58).unwrap().is_empty());
        assert!(inset(&ring, 0.59).unwrap().is_empty());
        let grown = inset(&[square(1.0)], -1.0).unwrap();
        assert!((area_mm2(&grown) - (4.0 + 8.0 + PI)).abs() < 0.01);
        let far = vec![vec![DVec2::new(f64::NAN, 0.0)]];
        assert!(matches!(intersect(&ring, &far), Err(OutlineError::OutOfRange { outline: 0, point: 0, .. })));
    }

    #[test]
    fn a_thinned_outline_stays_near_and_a_spike_stays() {
        let round: Vec<DVec2> = (0..720)
            .map(|k| {
                let (sin, cos) = libm::sincos(PI * f64::from(k) / 360.0);
                DVec2::new(cos, sin) * 20.0
            })
            .collect();
        let thin = thinned(std::slice::from_ref(&round), 0.01);
        // By hand: a chord of a circle of 20 mm that misses it by 0.01 mm spans 2 acos(1 - 0.01 / 20), or 3.6 degrees.
        assert!((100..=180).contains(&thin[0].len()), "{}", thin[0].len());
        assert!(round.iter().all(|p| distance_to(&thin, *p) <= 0.01));
        assert!(thin[0].iter().all(|p| round.contains(p)));
        let spiked = vec![
            [(0.0, 0.0), (4.0, 0.0), (9.0, 0.001), (5.0, 0.002), (5.0, 5.0), (0.0, 5.0)].map(DVec2::from).to_vec(),
        ];
        assert!(distance_to(&thinned(&spiked, 0.01), DVec2::new(9.0, 0.001)) <= 0.01);
        assert_eq!(thinned(&[square(1.0)], 0.01), [square(1.0)]);
    }

    proptest! {
        #[test]
        fn whatever_is_thinned_stays_near(points in prop::collection::vec(prop::array::uniform2(-1.0..1.0f64), 3..60), mm in 0.0..0.5f64) {
            let whole = vec![points.into_iter().map(DVec2::from).collect::<Vec<_>>()];
            let thin = thinned(&whole, mm);
            prop_assert!(whole[0].iter().all(|p| distance_to(&thin, *p) <= mm + 1e-12));
        }

        /// A plane at distance d cuts a ball of radius r in a disc of area pi (r^2 - d^2).
        #[test]
        fn discs_of_a_ball(d in -0.9..0.9f64, tilt in prop::array::uniform3(-1.0..1.0f64)) {
            let normal = (DVec3::from_array(tilt) + DVec3::Z * 1.5).normalize();
            let x = normal.any_orthonormal_vector();
            let basis = Basis { origin: normal * d * 10.0, x, y: normal.cross(x) };
            let loops = section(&sphere(DVec3::ZERO, 10.0, 160), &basis).unwrap();
            let exact = PI * 100.0 * (1.0 - d * d);
            prop_assert_eq!(loops.len(), 1);
            prop_assert!((area_mm2(&loops) / exact - 1.0).abs() < 0.006);
        }
    }
}
