//! A copy with fewer triangles, for questions that don't need every detail.

use crate::boolean::{self_intersects, simplify};
use crate::{BooleanError, Bvh, Mesh};
use glam::DVec3;
use rayon::prelude::*;

/// Why there is no lighter copy.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LighterError {
    /// The distance is not a positive number.
    #[error("a distance of {0} mm isn't one: it must be a positive number")]
    Within(f64),
    /// Every try crossed itself or went too far from the surface.
    #[error(
        "no lighter copy stays within {within_mm} mm of the surface without crossing itself; take a larger distance, or the mesh as it is"
    )]
    None {
        /// Distance asked for, mm.
        within_mm: f64,
    },
    /// The mesh is open, inside out or not finite, or the engine failed.
    #[error(transparent)]
    Boolean(#[from] BooleanError),
}

/// Tolerances tried, as shares of the distance allowed. Edges collapse one after the other, and in trials the surface went
/// up to 2.6 times as far as the tolerance of one collapse.
const SHARES: [f64; 3] = [0.35, 0.15, 0.05];

/// A lighter copy of a closed mesh: fewer triangles, and neither surface is further than `within_mm` from the other.
///
/// That is measured on what came out, not promised by the method: at the corners and middles of all triangles of the
/// mesh, and all over the copy at places about as dense. What leaves is closed, faces outwards, keeps the number of
/// shells and doesn't cross itself, all of it verified; a try that fails is done again with a smaller tolerance. Same
/// input, same bytes, whatever the number of threads.
///
/// # Errors
/// See [`LighterError`].
pub fn lighter(mesh: &Mesh, within_mm: f64) -> Result<Mesh, LighterError> {
    if !(within_mm.is_finite() && within_mm > 0.0) {
        return Err(LighterError::Within(within_mm));
    }
    if mesh.is_empty() {
        return Ok(Mesh::default());
    }
    let surface = Bvh::new(mesh);
    for share in SHARES {
        let copy = simplify(mesh, within_mm * share)?;
        let (is_sound, is_near) = rayon::join(|| is_sound(mesh, &copy), || is_near(mesh, &surface, &copy, within_mm));
        if is_sound? && is_near {
            return Ok(copy);
        }
    }
    Err(LighterError::None { within_mm })
}

/// Whether a copy is a closed outward surface of as many shells, and doesn't cross itself.
fn is_sound(mesh: &Mesh, copy: &Mesh) -> Result<bool, BooleanError> {
    let is_closed = !copy.is_empty() && copy.edge_census().is_closed() && copy.volume_mm3() > 0.0;
    Ok(is_closed && copy.shells().len() == mesh.shells().len() && !self_intersects(copy)?)
}

/// Whether two surfaces keep within a distance of each other, measured from both.
fn is_near(mesh: &Mesh, surface: &Bvh, copy: &Mesh, within_mm: f64) -> bool {
    // The middles of the maker's triangles lie about this far apart.
    let spacing_mm = libm::sqrt(mesh.area_mm2() / mesh.triangles.len() as f64);
    keeps_to(copy, surface, within_mm, spacing_mm) && keeps_to(mesh, &Bvh::new(copy), within_mm, f64::INFINITY)
}

/// Whether all corners and middles of a mesh, and places on each triangle no more than `spacing_mm` apart, lie within a
/// distance of a surface.
fn keeps_to(mesh: &Mesh, surface: &Bvh, within_mm: f64, spacing_mm: f64) -> bool {
    let near = |p: &DVec3| surface.nearest(*p, within_mm).is_some();
    mesh.vertices.par_iter().all(near)
        && (0..mesh.triangles.len()).into_par_iter().all(|t| {
            let corners = mesh.corners(t);
            near(&(corners.iter().sum::<DVec3>() / 3.0)) && places(corners, spacing_mm).all(|p| near(&p))
        })
}

/// Places on a triangle in rows along its longest side; none where that is no longer than the spacing.
fn places(corners: [DVec3; 3], spacing_mm: f64) -> impl Iterator<Item = DVec3> {
    let long = |k: &usize| corners[*k].distance(corners[(k + 1) % 3]);
    let longest = (0..3).max_by(|i, k| long(i).total_cmp(&long(k))).unwrap_or(0);
    let [a, b, c] = [0, 1, 2].map(|k| corners[(longest + k) % 3]);
    let base_mm = a.distance(b);
    let steps = move |mm: f64| (mm / spacing_mm).ceil().clamp(1.0, MOST_STEPS) as u32;
    let height_mm = if base_mm > 0.0 { (b - a).cross(c - a).length() / base_mm } else { 0.0 };
    let n_rows = if steps(base_mm) > 1 { steps(height_mm) + 1 } else { 0 };
    (0..n_rows).flat_map(move |row| {
        let up = f64::from(row) / f64::from(n_rows - 1);
        let n = steps(base_mm * (1.0 - up));
        let (from, to) = (a.lerp(c, up), b.lerp(c, up));
        (0..=n).map(move |i| from.lerp(to, f64::from(i) / f64::from(n)))
    })
}

/// Steps along a side of a triangle, at most.
const MOST_STEPS: f64 = 2000.0;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{loft, sphere};
    use proptest::prelude::*;
    use std::f64::consts::{PI, TAU};

    /// The largest distance between two surfaces, at places of a lattice finer than the one that `lighter` looks at.
    fn apart_mm(a: &Mesh, b: &Mesh, n: u32) -> f64 {
        let far = |from: &Mesh, to: &Mesh| {
            let to = Bvh::new(to);
            let mut far = 0.0f64;
            for t in 0..from.triangles.len() {
                let [a, b, c] = from.corners(t);
                for i in 0..=n {
                    for j in 0..=n - i {
                        let p = a + ((b - a) * f64::from(i) + (c - a) * f64::from(j)) / f64::from(n);
                        far = far.max(to.nearest(p, f64::INFINITY).unwrap().distance_mm);
                    }
                }
            }
            far
        };
        far(a, b).max(far(b, a))
    }

    /// A bar of 60 mm with an oval section and waves `high_mm` high along it, in steps of about 0.4 mm.
    fn waved(high_mm: f64) -> Mesh {
        let ring = |x: f64| -> Vec<DVec3> {
            let size = 1.0 + high_mm / 8.0 * libm::sin(x / 3.0);
            (0..120)
                .map(|k| {
                    let (s, c) = libm::sincos(TAU * f64::from(k) / 120.0);
                    DVec3::new(x, 8.0 * size * c, 5.0 * size * s)
                })
                .collect()
        };
        loft(&(0..=150).map(|i| ring(0.4 * f64::from(i))).collect::<Vec<_>>())
    }

    #[test]
    fn a_fine_ball_gets_lighter_and_stays_round() {
        let ball = sphere(DVec3::new(3.0, 2.0, 1.0), 20.0, 240);
        let copy = lighter(&ball, 0.05).unwrap();
        assert!(copy.triangles.len() * 2 < ball.triangles.len(), "{}", copy.triangles.len());
        assert!(copy.edge_census().is_closed() && !self_intersects(&copy).unwrap());
        assert!(apart_mm(&ball, &copy, 9) <= 0.05 + 1e-3);
        // 4/3 pi r^3.
        let whole = 4.0 / 3.0 * PI * 8000.0;
        assert!((copy.volume_mm3() / whole - 1.0).abs() < 1e-2, "{}", copy.volume_mm3() / whole);
        assert_eq!(copy, lighter(&ball, 0.05).unwrap());
    }

    #[test]
    fn a_void_stays_and_walls_thinner_than_the_distance_do_not_cross() {
        // A shell 0.06 mm thick: each surface alone may move by 0.05.
        let mut shell = sphere(DVec3::ZERO, 20.0, 160);
        shell.append(&sphere(DVec3::ZERO, 19.94, 160).reversed());
        if let Ok(copy) = lighter(&shell, 0.05) {
            assert!(copy.edge_census().is_closed() && !self_intersects(&copy).unwrap());
            assert_eq!(copy.shells().len(), 2);
            assert!(apart_mm(&shell, &copy, 5) <= 0.05 + 1e-3);
        }
        let mut thick = sphere(DVec3::ZERO, 20.0, 160);
        thick.append(&sphere(DVec3::ZERO, 15.0, 160).reversed());
        let copy = lighter(&thick, 0.05).unwrap();
        assert_eq!(copy.shells().len(), 2);
        assert!((copy.volume_mm3() / thick.volume_mm3() - 1.0).abs() < 0.01);
    }

    #[test]
    fn places_leave_no_gap_wider_than_the_spacing() {
        for c in [DVec3::new(3.0, 2.0, 1.0), DVec3::new(9.9, 0.01, 0.0), DVec3::new(-4.0, 0.3, 0.0)] {
            let corners = [DVec3::ZERO, DVec3::X * 10.0, c];
            let all: Vec<DVec3> = places(corners, 0.5).collect();
            // Any point of the triangle: within half a row across and half a step along.
            for i in 0..=40 {
                for k in 0..=40 - i {
                    let p = corners[1] * (f64::from(i) / 40.0) + corners[2] * (f64::from(k) / 40.0);
                    let near = all.iter().map(|q| q.distance(p)).fold(f64::INFINITY, f64::min);
                    assert!(near <= 0.5, "{c}: {near} at {p}");
                }
            }
            assert!(all.len() < 200, "{}", all.len());
            assert_eq!(places(corners, f64::INFINITY).count(), 0);
        }
    }

    #[test]
    fn what_is_no_solid_is_refused() {
        let ball = sphere(DVec3::ZERO, 5.0, 24);
        assert_eq!(lighter(&ball, 0.0), Err(LighterError::Within(0.0)));
        assert!(matches!(lighter(&ball, f64::NAN), Err(LighterError::Within(_))));
        let mut open = ball.clone();
        open.triangles.pop();
        assert!(matches!(lighter(&open, 0.1), Err(LighterError::Boolean(BooleanError::NotClosed { .. }))));
        let mut crossing = ball.clone();
        crossing.append(&sphere(DVec3::X * 4.0, 5.0, 24));
        assert_eq!(lighter(&crossing, 0.05), Err(LighterError::None { within_mm: 0.05 }));
        assert!(lighter(&Mesh::default(), 0.1).unwrap().is_empty());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(8))]
        #[test]
        fn neither_surface_leaves_the_other(high_mm in 0.0f64..1.0, within_mm in 0.01f64..0.3) {
            let bar = waved(high_mm);
            let copy = lighter(&bar, within_mm).unwrap();
            prop_assert!(copy.edge_census().is_closed() && !self_intersects(&copy).unwrap());
            // A hundredth more, for what lies between the places that were measured.
            prop_assert!(apart_mm(&bar, &copy, 3) <= 1.01 * within_mm);
            let most_mm3 = within_mm * bar.area_mm2();
            prop_assert!((copy.volume_mm3() - bar.volume_mm3()).abs() <= most_mm3);
        }
    }
}
