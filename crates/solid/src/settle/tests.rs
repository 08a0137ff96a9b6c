use super::*;
use crate::shapes::{cone_frustum, cuboid, cylinder, prism, sphere};
use crate::{Plane, boolean, split};
use glam::{DAffine3, DVec2};
use proptest::prelude::*;

const STEP: f64 = 1.0 / GRID_PER_MM;

/// What a reader sees that takes single-precision corners, welds equal ones and drops triangles without area.
fn as_read(mesh: &Mesh) -> Mesh {
    let mut index = HashMap::new();
    let mut read = Mesh::default();
    for t in 0..mesh.triangles.len() {
        let corners = mesh.corners(t).map(|p| p.as_vec3());
        if (corners[1] - corners[0]).cross(corners[2] - corners[0]).length_squared() == 0.0 {
            continue;
        }
        read.triangles.push(corners.map(|p| {
            *index.entry(p.to_array().map(f32::to_bits)).or_insert_with(|| {
                read.vertices.push(p.as_dvec3());
                read.vertices.len() as u32 - 1
            })
        }));
    }
    read
}

/// Settles, and holds the result to every promise.
fn settled(mesh: &Mesh) -> Settled {
    let s = settle(mesh).unwrap();
    assert!(s.mesh.edge_census().is_closed());
    let mut keys: Vec<[u64; 3]> = s.mesh.vertices.iter().map(|v| v.to_array().map(f64::to_bits)).collect();
    keys.sort_unstable();
    assert!(keys.windows(2).all(|w| w[0] != w[1]), "two vertices in one place");
    for v in &s.mesh.vertices {
        assert_eq!(*v, v.as_vec3().as_dvec3(), "not a single-precision point");
        assert_eq!(v.map(|c| (c * GRID_PER_MM).fract()), DVec3::ZERO);
    }
    assert!(s.mesh.triangles.iter().all(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0]));
    let flat = (0..s.mesh.triangles.len()).filter(|t| s.mesh.area_vector(*t) == DVec3::ZERO).count();
    assert_eq!(flat, s.flat_triangles);
    if flat == 0 {
        let read = as_read(&s.mesh);
        assert!(read.edge_census().is_closed());
        assert_eq!(read.vertices.len(), s.mesh.vertices.len());
    }
    s
}

#[test]
fn a_good_mesh_only_moves_to_the_grid() {
    let ball = sphere(DVec3::new(0.1, 0.2, 0.3), 20.0, 64);
    let s = settled(&ball);
    assert_eq!((s.collapsed, s.turned, s.nudged, s.removed_shells, s.flat_triangles), (0, 0, 0, 0, 0));
    assert_eq!(s.mesh.triangles, ball.triangles);
    for (before, after) in ball.vertices.iter().zip(&s.mesh.vertices) {
        assert!((*before - *after).abs().max_element() <= STEP / 2.0);
    }
    assert_eq!(settle(&s.mesh).unwrap().mesh, s.mesh, "settled stays settled");
}

#[test]
fn details_below_the_grid_fold_away() {
    // A needle of a cone whose tip is finer than the grid, on a thousand sides.
    let needle = cone_frustum(DVec3::ZERO, DVec3::Z * 30.0, 0.08, 0.0001, 1000);
    let s = settled(&needle);
    assert!(s.collapsed > 500);
    assert_eq!(s.flat_triangles, 0);
    assert!((s.mesh.volume_mm3() - needle.volume_mm3()).abs() < needle.area_mm2() * STEP);
}

#[test]
fn a_shell_smaller_than_a_step_goes() {
    let mut pair = cuboid(DVec3::ZERO, DVec3::ONE);
    pair.append(&sphere(DVec3::splat(0.5), 0.0003, 8).reversed());
    let s = settled(&pair);
    assert_eq!(s.removed_shells, 1);
    assert_eq!(s.mesh.triangles.len(), 12);
    let gone = settled(&sphere(DVec3::splat(0.5), 0.0002, 6));
    assert!(gone.mesh.is_empty() && gone.mesh.vertices.is_empty());
}

#[test]
fn a_tube_thinner_than_a_step_stays_a_tube() {
    // Two blocks joined by a thread: the thread can't vanish without parting them.
    let thread = cylinder(DVec3::new(0.5, 0.5, 0.9), DVec3::new(0.5, 0.5, 3.1), 0.0002, 7);
    let blocks = [cuboid(DVec3::ZERO, DVec3::ONE), cuboid(DVec3::Z * 3.0, DVec3::new(1.0, 1.0, 4.0)), thread];
    let s = settled(&boolean::union_all(&blocks).unwrap());
    assert_eq!(s.mesh.shells().len(), 1);
    assert_eq!(s.flat_triangles, 0);
}

#[test]
fn corners_on_a_line_leave_no_flat_triangle() {
    // An outline with many points along its straight sides, filled from few corners.
    let side = |a: DVec2, b: DVec2| (0..50).map(move |k| a.lerp(b, f64::from(k) / 50.0));
    let corners = [(0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (0.0, 4.0)].map(DVec2::from);
    let outline: Vec<DVec2> = (0..4).flat_map(|k| side(corners[k], corners[(k + 1) % 4])).collect();
    let s = settled(&prism(&outline, &DAffine3::IDENTITY, 0.0, 2.0));
    assert_eq!(s.flat_triangles, 0);
    assert!((s.mesh.volume_mm3() - 80.0).abs() < 0.1);
    // A fan of triangles with all but one corner on a line.
    let mut tetrahedron = Mesh {
        vertices: [(0.0, 0.0, 0.0), (9.0, 0.0, 0.0), (0.0, 9.0, 0.0), (0.0, 0.0, 9.0), (3.0, 0.0, 0.0)]
            .map(DVec3::from)
            .to_vec(),
        triangles: vec![[0, 2, 1], [0, 1, 4], [0, 4, 3], [4, 1, 3], [1, 2, 3], [0, 3, 2]],
    };
    let s = settled(&tetrahedron);
    assert_eq!((s.turned, s.flat_triangles), (1, 0));
    assert!((s.mesh.volume_mm3() - 121.5).abs() < 1e-9);
    tetrahedron.triangles.swap(0, 1);
    assert_eq!(settled(&tetrahedron).flat_triangles, 0);
}

#[test]
fn bodies_that_touch_come_apart() {
    // Cubes that share a corner, then an edge.
    for (second, shared) in [(DVec3::ONE, 1), (DVec3::new(1.0, 1.0, 0.0), 2)] {
        let mut pair = cuboid(DVec3::ZERO, DVec3::ONE);
        let other = cuboid(second, second + DVec3::ONE);
        let base = pair.vertices.clone();
        let same = |p: &DVec3| base.iter().position(|v| v == p).map(|i| i as u32);
        let map: Vec<u32> = other
            .vertices
            .iter()
            .map(|p| {
                same(p).unwrap_or_else(|| {
                    pair.vertices.push(*p);
                    pair.vertices.len() as u32 - 1
                })
            })
            .collect();
        assert_eq!(pair.vertices.len(), 16 - shared);
        pair.triangles.extend(other.triangles.iter().map(|t| t.map(|v| map[v as usize])));
        let s = settled(&pair);
        assert_eq!((s.mesh.vertices.len(), s.nudged), (16, shared));
        assert_eq!(s.mesh.shells().len(), 2);
        assert!((s.mesh.volume_mm3() - 2.0).abs() < 0.01);
    }
}

#[test]
fn a_cut_through_corners_settles_clean() {
    let ball = sphere(DVec3::ZERO, 10.0, 24);
    let cube = cuboid(DVec3::splat(-5.0), DVec3::splat(5.0));
    for solid in [ball, cube.clone(), boolean::union(&cube, &cuboid(DVec3::ZERO, DVec3::splat(9.0))).unwrap()] {
        let plane = |z: f64| Plane { normal: DVec3::Z, offset_mm: z };
        for part in split(&solid, &[plane(-5.0), plane(0.0), plane(5.0)]).unwrap() {
            let s = settled(&part);
            assert_eq!(s.flat_triangles, 0);
            assert!((s.mesh.volume_mm3() - part.volume_mm3()).abs() <= part.area_mm2() * STEP);
        }
    }
    let whole = split(&cube, &[Plane { normal: DVec3::Z, offset_mm: -5.0 }]).unwrap().remove(1);
    assert_eq!(settled(&whole).mesh.triangles.len(), 12, "a cut along a face leaves the box a box");
}

#[test]
fn faults_are_named() {
    let mut open = cuboid(DVec3::ZERO, DVec3::ONE);
    open.triangles.pop();
    assert!(matches!(settle(&open), Err(SettleError::NotClosed { edges: 3, .. })));
    let far = cuboid(DVec3::ZERO, DVec3::splat(17_000.0));
    assert!(matches!(settle(&far), Err(SettleError::OutOfReach { .. })));
    let mut lost = cuboid(DVec3::ZERO, DVec3::ONE);
    lost.vertices[1].z = f64::NAN;
    assert!(matches!(settle(&lost), Err(SettleError::OutOfReach { vertex: 1, .. })));
    let mut beyond = cuboid(DVec3::ZERO, DVec3::ONE);
    beyond.triangles[3][2] = 40;
    assert_eq!(settle(&beyond), Err(SettleError::BadIndex { triangle: 3 }));
    assert!(settled(&Mesh::default()).mesh.is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Closed tangles a few steps across, sharing corners at random.
    #[test]
    fn tangles_below_the_grid_stay_closed(
        points in prop::collection::vec(prop::array::uniform3(-0.004..0.004f64), 4..12),
        picks in prop::collection::vec(prop::array::uniform4(any::<prop::sample::Index>()), 1..12),
    ) {
        let mut tangle = Mesh { vertices: points.into_iter().map(DVec3::from_array).collect(), triangles: vec![] };
        for pick in picks {
            let [a, b, c, d] = pick.map(|i| i.index(tangle.vertices.len()) as u32);
            tangle.triangles.extend([[a, c, b], [a, b, d], [b, c, d], [a, d, c]]);
        }
        settled(&tangle);
    }

    /// Fine balls crushed flat: needles and slivers finer than the grid everywhere.
    #[test]
    fn crushed_balls_stay_closed(
        squash in prop::array::uniform3(-4.0..1.0f64), radius in 0.001..0.3f64, segments in 4u32..40,
    ) {
        let scale = DVec3::from_array(squash.map(|s| libm::exp2(2.0 * s)));
        let ball = sphere(DVec3::ZERO, radius, segments);
        let crushed = ball.transformed(&DAffine3::from_scale(scale));
        settled(&crushed);
    }
}
