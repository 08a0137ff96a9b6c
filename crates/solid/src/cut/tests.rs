use super::*;
use crate::boolean;
use crate::shapes::{cuboid, cylinder, sphere};
use proptest::prelude::*;

fn across_z(z: f64) -> Plane {
    Plane { normal: DVec3::Z, offset_mm: z }
}

/// Parts closed, and together as large as the whole.
fn check(whole: &Mesh, parts: &[Mesh]) {
    let mut sum = 0.0;
    for part in parts {
        assert!(part.edge_census().is_closed());
        assert!(part.vertices.iter().all(|v| v.is_finite()));
        sum += part.volume_mm3();
    }
    let volume = whole.volume_mm3();
    assert!((sum - volume).abs() <= 1e-9 * volume.abs(), "{sum} of {volume}");
}

#[test]
fn a_box_falls_into_slices() {
    let b = cuboid(DVec3::ZERO, DVec3::new(3.0, 2.0, 10.0));
    let parts = split(&b, &[across_z(2.5), across_z(3.0), across_z(9.0)]).unwrap();
    check(&b, &parts);
    let heights: Vec<f64> = parts.iter().map(|p| p.volume_mm3() / 6.0).collect();
    for (height, expected) in heights.iter().zip([2.5, 0.5, 6.0, 1.0]) {
        assert!((height - expected).abs() < 1e-12);
    }
    let middle = slab(&b, Some(&across_z(3.0)), Some(&across_z(9.0))).unwrap();
    assert_eq!(middle, parts[2]);
    assert_eq!(slab(&b, None, Some(&across_z(2.5))).unwrap(), parts[0]);
    assert_eq!(slab(&b, None, None).unwrap().volume_mm3(), 60.0);
}

#[test]
fn planes_beside_the_solid_leave_empty_parts() {
    let b = cuboid(DVec3::ZERO, DVec3::ONE);
    let parts = split(&b, &[across_z(-1.0), across_z(0.0), across_z(1.0), across_z(2.0)]).unwrap();
    let volumes: Vec<f64> = parts.iter().map(Mesh::volume_mm3).collect();
    assert_eq!(volumes, [0.0, 0.0, 1.0, 0.0, 0.0]);
    assert!([0, 1, 3, 4].iter().all(|k| parts[*k].is_empty()));
    assert_eq!(parts[2].area_mm2(), 6.0);
    assert!(split(&Mesh::default(), &[across_z(0.0)]).unwrap().iter().all(Mesh::is_empty));
}

#[test]
fn a_ledge_in_the_plane_leaves_no_film() {
    // A foot 4 x 4 x 1 with a post 2 x 2 up to 3, cut where the post begins, from either side.
    let foot = cuboid(DVec3::ZERO, DVec3::new(4.0, 4.0, 1.0));
    let post = cuboid(DVec3::new(1.0, 1.0, 0.5), DVec3::new(3.0, 3.0, 3.0));
    let body = boolean::union(&foot, &post).unwrap();
    for up in [1.0, -1.0] {
        let plane = Plane { normal: DVec3::Z * up, offset_mm: up };
        let parts = split(&body, &[plane]).unwrap();
        check(&body, &parts);
        let mut sizes: Vec<(f64, f64)> = parts.iter().map(|p| (p.volume_mm3(), p.area_mm2())).collect();
        sizes.sort_by(|a, b| a.0.total_cmp(&b.0));
        for ((volume, area), (v, a)) in sizes.into_iter().zip([(8.0, 24.0), (16.0, 48.0)]) {
            assert!((volume - v).abs() < 1e-9 && (area - a).abs() < 1e-9, "{volume} {area}");
        }
    }
}

#[test]
fn voids_stay_voids_and_sections_become_rings() {
    let mut shell = sphere(DVec3::ZERO, 10.0, 48);
    shell.append(&sphere(DVec3::ZERO, 8.0, 40).reversed());
    shell.append(&sphere(DVec3::new(1.0, 1.0, 0.5), 3.0, 16));
    let tilted = Plane { normal: DVec3::new(0.6, 0.0, 0.8), offset_mm: 0.7 };
    let parts = split(&shell, &[tilted, Plane { offset_mm: 4.0, ..tilted }]).unwrap();
    check(&shell, &parts);
    assert!(parts.iter().all(|p| p.volume_mm3() > 1.0));
}

#[test]
fn large_triangles_cross_many_planes() {
    let bar = cylinder(DVec3::ZERO, DVec3::new(300.0, 40.0, 10.0), 7.0, 5);
    let planes: Vec<Plane> = (1..30).map(|k| Plane::through(DVec3::X * 10.0 * f64::from(k), DVec3::X)).collect();
    let parts = split(&bar, &planes).unwrap();
    assert_eq!(parts.len(), 30);
    check(&bar, &parts);
}

#[test]
fn faults_are_named() {
    let b = cuboid(DVec3::ZERO, DVec3::ONE);
    let steep = Plane::through(DVec3::splat(0.5), DVec3::new(0.6, 0.0, 0.8));
    assert!(matches!(split(&b, &[across_z(0.5), steep]), Err(CutError::PlanesMeet { first: 0, second: 1, .. })));
    assert!(matches!(split(&b, &[across_z(0.6), across_z(0.4)]), Err(CutError::PlanesMeet { .. })));
    assert!(matches!(split(&b, &[across_z(0.4), across_z(0.4)]), Err(CutError::PlanesMeet { .. })));
    let long = Plane { normal: DVec3::Z * 2.0, offset_mm: 0.5 };
    assert!(matches!(split(&b, &[across_z(0.1), long]), Err(CutError::BadPlane { plane: 1, .. })));
    let mut open = b.clone();
    open.triangles.retain(|t| t.iter().any(|v| open.vertices[*v as usize].x > 0.0));
    assert!(matches!(split(&open, &[across_z(0.5)]), Err(CutError::NotClosed { plane: 0, .. })));
    let mut topless = b.clone();
    topless.triangles.retain(|t| t.iter().any(|v| topless.vertices[*v as usize].z < 1.0));
    assert!(matches!(split(&topless, &[across_z(0.5)]), Err(CutError::Unbalanced { .. })));
    let mut lost = b.clone();
    lost.vertices[2].x = f64::NAN;
    assert_eq!(split(&lost, &[across_z(0.5)]), Err(CutError::NotFinite { vertex: 2 }));
    let mut beyond = b;
    beyond.triangles[7][0] = 8;
    assert_eq!(split(&beyond, &[across_z(0.5)]), Err(CutError::BadIndex { triangle: 7 }));
}

#[test]
fn planes_that_cross_outside_are_fine() {
    let bar = cuboid(DVec3::ZERO, DVec3::new(100.0, 10.0, 10.0));
    let tilted = |x: f64, z: f64| Plane::through(DVec3::new(x, 5.0, 5.0), DVec3::new(1.0, 0.0, z).normalize());
    let parts = split(&bar, &[tilted(30.0, 0.3), tilted(60.0, -0.5)]).unwrap();
    check(&bar, &parts);
    assert!((parts[0].volume_mm3() - 3000.0).abs() < 1e-9);
}

#[test]
fn two_boxes_on_one_edge_cut_along_it() {
    // Four triangles share the upright edge; a section point with two ways on must still close.
    let mut pair = cuboid(DVec3::ZERO, DVec3::ONE);
    let second = cuboid(DVec3::new(1.0, 1.0, 0.0), DVec3::new(2.0, 2.0, 1.0));
    let shared = |p: &DVec3| pair.vertices.iter().position(|v| v == p).map(|i| i as u32);
    let map: Vec<Option<u32>> = second.vertices.iter().map(shared).collect();
    for t in &second.triangles {
        pair.triangles.push(t.map(|v| map[v as usize].unwrap_or(8 + v)));
    }
    pair.vertices.extend_from_slice(&second.vertices);
    assert_eq!(pair.edge_census().crowded.len(), 1);
    let parts = split(&pair, &[across_z(0.25)]).unwrap();
    assert!((parts[0].volume_mm3() - 0.5).abs() < 1e-12 && (parts[1].volume_mm3() - 1.5).abs() < 1e-12);
    assert!(parts.iter().all(|p| p.edge_census().open.is_empty()));
}

fn nested_shells(radii: &[f64], shift: DVec3, segments: u32) -> Mesh {
    let mut solid = Mesh::default();
    for (i, r) in radii.iter().enumerate() {
        let ball = sphere(shift, *r, segments + i as u32);
        solid.append(&if i % 2 == 0 { ball } else { ball.reversed() });
    }
    solid
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn random_planes_through_nested_shells(
        normal in prop::array::uniform3(-1.0..1.0f64), offsets in prop::collection::vec(-12.0..12.0f64, 1..6),
        inner in 4.0..9.0f64, segments in 5u32..40, snap in any::<bool>(),
    ) {
        let normal = if snap { DVec3::Z } else { DVec3::from_array(normal) };
        prop_assume!(normal.length() > 0.1);
        let solid = nested_shells(&[10.0, inner, 3.0, 1.0], DVec3::ZERO, segments);
        let mut offsets: Vec<f64> = offsets.into_iter().map(|o| if snap { o.round() } else { o }).collect();
        offsets.sort_by(f64::total_cmp);
        offsets.dedup();
        let planes: Vec<Plane> =
            offsets.iter().map(|o| Plane { normal: normal.normalize(), offset_mm: *o }).collect();
        check(&solid, &split(&solid, &planes).unwrap());
    }

    /// Triangles that cross each other wildly still cut into closed parts: only the topology counts.
    #[test]
    fn random_planes_through_closed_tangles(
        points in prop::collection::vec(prop::array::uniform3(-5i32..6), 4..30),
        picks in prop::collection::vec(prop::array::uniform4(any::<prop::sample::Index>()), 1..25),
        z in prop::collection::vec(-6i32..6, 1..4),
    ) {
        // Whole-number corners, so that planes meet corners, edges and faces exactly.
        let mut solid = Mesh::default();
        for pick in picks {
            let corner = |i: prop::sample::Index| DVec3::from_array(i.get(&points).map(f64::from));
            let base = solid.vertices.len() as u32;
            solid.vertices.extend(pick.map(corner));
            solid.triangles.extend([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]].map(|t: [u32; 3]| t.map(|v| v + base)));
        }
        let mut z = z;
        z.sort_unstable();
        z.dedup();
        let planes: Vec<Plane> = z.iter().map(|z| across_z(f64::from(*z))).collect();
        let parts = split(&solid, &planes).unwrap();
        for part in &parts {
            prop_assert!(part.edge_census().is_closed());
        }
        let sum: f64 = parts.iter().map(Mesh::volume_mm3).sum();
        prop_assert!((sum - solid.volume_mm3()).abs() < 1e-9 * (1.0 + solid.area_mm2()));
    }

    /// The same part by the boolean engine.
    #[test]
    fn a_slab_is_what_a_boolean_with_a_box_leaves(low in -9.0..0.0f64, thick in 0.5..9.0f64, inner in 2.0..9.0f64) {
        let solid = nested_shells(&[10.0, inner], DVec3::new(0.3, 0.2, 0.1), 24);
        let tool = cuboid(DVec3::new(-20.0, -20.0, low), DVec3::new(20.0, 20.0, low + thick));
        let expected = boolean::intersection(&solid, &tool).unwrap();
        let got = slab(&solid, Some(&across_z(low)), Some(&across_z(low + thick))).unwrap();
        prop_assert!((got.volume_mm3() - expected.volume_mm3()).abs() < 1e-8);
        prop_assert!((got.area_mm2() - expected.area_mm2()).abs() < 1e-6);
    }
}

#[test]
fn threads_make_no_difference() {
    let solid = nested_shells(&[10.0, 8.0], DVec3::ZERO, 100);
    let planes: Vec<Plane> = (-9..10).map(|z| across_z(f64::from(z))).collect();
    let with = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| split(&solid, &planes).unwrap())
    };
    assert_eq!(with(1), with(4));
}

#[test]
fn what_reaches_between_planes_is_cut_as_the_whole_is() {
    let ball = sphere(DVec3::new(1.0, 2.0, 3.0), 10.0, 48);
    let slant = DVec3::new(0.9, 0.3, 0.1).normalize();
    let (low, high) = (Plane::through(DVec3::new(-2.0, 0.0, 3.0), DVec3::X), Plane::through(DVec3::X * 4.0, slant));
    for (low, high) in [(Some(&low), Some(&high)), (Some(&low), None), (None, Some(&high)), (None, None)] {
        let near = reaching(&ball, low, high).unwrap();
        assert_eq!(slab(&near, low, high), slab(&ball, low, high));
        assert!(near.triangles.len() < ball.triangles.len() || low.is_none() && high.is_none());
        assert!(near.bounds() == ball.bounds() || low.is_some() || high.is_some());
    }
}
