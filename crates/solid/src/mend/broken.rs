//! Known solids broken on purpose: mended, they have the volume and the surface that they had.

use super::*;
use crate::{Bvh, DAffine3, cuboid, sphere};
use proptest::prelude::*;

const RADIUS: f64 = 50.0;

fn ball(segments: u32) -> Mesh {
    sphere(DVec3::ZERO, RADIUS, segments)
}

/// Faces within `reach` of a place, taken out.
fn without(mesh: &Mesh, place: DVec3, reach: f64) -> Mesh {
    let near = |t: usize| mesh.corners(t).iter().all(|p| p.distance(place) < reach);
    let kept: Vec<u32> = (0..mesh.triangles.len() as u32).filter(|t| !near(*t as usize)).collect();
    assert!(kept.len() < mesh.triangles.len());
    mesh.subset(&kept)
}

fn direction(longitude: f64, height: f64) -> DVec3 {
    let flat = libm::sqrt(1.0 - height * height);
    DVec3::new(flat * libm::cos(longitude), flat * libm::sin(longitude), height)
}

/// Largest distance from corners and face middles of one surface to the other.
fn strays(from: &Mesh, to: &Mesh) -> f64 {
    let target = Bvh::new(to);
    let middles = (0..from.triangles.len()).map(|t| from.corners(t).iter().sum::<DVec3>() / 3.0);
    let points: Vec<DVec3> = from.vertices.iter().copied().chain(middles).collect();
    points.iter().map(|p| target.nearest(*p, 10.0).map_or(10.0, |n| n.distance_mm)).fold(0.0, f64::max)
}

/// Whether two meshes have the same faces at the same places, to the last bit.
fn same_surface(a: &Mesh, b: &Mesh) -> bool {
    let faces = |mesh: &Mesh| doubled::places(mesh, &(0..mesh.triangles.len() as u32).collect::<Vec<_>>());
    faces(a) == faces(b)
}

/// Mends, and holds the result against the solid that was broken: volume within 0.1 %, surface within 0.05 mm both ways.
#[track_caller]
fn healed(broken: Mesh, known: &Mesh, kinds: &[MendKind]) -> Mesh {
    let (solid, mends) = mend(broken).unwrap();
    let found: Vec<MendKind> = mends.iter().map(|m| m.kind).collect();
    assert_eq!(found, kinds);
    assert!(mends.iter().all(|m| m.count > 0 && !m.spots.is_empty()));
    assert!(solid.edge_census().is_closed());
    assert!(!crate::self_intersects(&solid).unwrap());
    let (volume, right) = (solid.volume_mm3(), known.volume_mm3());
    assert!((volume - right).abs() <= 1e-3 * right, "{volume} {right}");
    let stray = strays(&solid, known).max(strays(known, &solid));
    assert!(stray <= 0.05, "{stray}");
    solid
}

#[test]
fn holes_in_a_ball_are_filled_as_round_as_it_is() {
    let known = ball(192);
    let mut broken = known.clone();
    // From two faces to the widest that counts as small: 8.5 mm on a box of 173 mm across.
    let holes = [(0.3, 0.1, 2.3), (1.9, -0.5, 2.8), (3.0, 0.4, 3.4), (4.4, 0.0, 4.2), (5.6, -0.3, 3.0)];
    for (longitude, height, reach) in holes {
        broken = without(&broken, direction(longitude, height) * RADIUS, reach);
    }
    let open = broken.edge_census().open.len();
    let solid = healed(broken.clone(), &known, &[MendKind::FilledHoles]);
    let (_, mends) = mend(broken.clone()).unwrap();
    assert_eq!(mends[0].count, holes.len());
    // The largest is the fourth, named with its place and width.
    assert!(mends[0].place().distance(direction(4.4, 0.0) * RADIUS) < 1.0);
    assert!(mends[0].extent() > 6.0 && mends[0].extent() < 12.0, "{}", mends[0].extent());
    // What was there stays bit for bit: the filling is only added.
    assert!(solid.triangles[..broken.triangles.len()] == broken.triangles);
    assert!(solid.vertices[..broken.vertices.len()] == broken.vertices);
    assert!(solid.triangles.len() > broken.triangles.len() + open / 2);
}

#[test]
fn a_hole_over_an_edge_is_filled_without_a_bulge() {
    // A box of quads 2 mm wide; the hole takes a stretch of one of its edges and is closed with flat faces.
    let known = gridded(DVec3::new(120.0, 40.0, 30.0), 2.0);
    let broken = without(&known, DVec3::new(30.0, 40.0, 30.0), 2.9);
    let (solid, mends) = mend(broken).unwrap();
    assert_eq!(mends[0].kind, MendKind::FilledHoles);
    assert!(solid.edge_census().is_closed());
    assert!((solid.volume_mm3() - known.volume_mm3()).abs() < 1e-3 * known.volume_mm3());
    // Nothing sticks out of the box.
    let bounds = solid.bounds().unwrap();
    assert!(
        bounds.max.cmple(DVec3::new(120.0, 40.0, 30.0) + 1e-9).all() && bounds.min.cmpge(DVec3::splat(-1e-9)).all()
    );
}

/// A box whose faces are grids, welded.
fn gridded(size: DVec3, step: f64) -> Mesh {
    let mut welder = crate::read::weld::Welder::default();
    let mut triangles = Vec::new();
    for axis in 0..3 {
        let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
        let count = |k: usize| (size[k] / step).round() as usize;
        for side in [0.0, size[axis]] {
            for i in 0..count(u) {
                for j in 0..count(v) {
                    let mut corner = |a: usize, b: usize| {
                        let mut p = DVec3::ZERO;
                        p[axis] = side;
                        (p[u], p[v]) = (a as f64 * step, b as f64 * step);
                        welder.index(p)
                    };
                    let [a, b, c, d] = [corner(i, j), corner(i + 1, j), corner(i + 1, j + 1), corner(i, j + 1)];
                    let quad = if side > 0.0 { [[a, b, c], [a, c, d]] } else { [[a, c, b], [a, d, c]] };
                    triangles.extend(quad);
                }
            }
        }
    }
    Mesh { vertices: welder.vertices, triangles }
}

#[test]
fn an_open_underside_is_closed_flat_and_an_open_skin_is_refused() {
    // The lower part of a long box, from which the end is missing.
    let known = gridded(DVec3::new(80.0, 20.0, 20.0), 4.0);
    let kept: Vec<u32> =
        (0..known.triangles.len() as u32).filter(|t| known.corners(*t as usize).iter().any(|p| p.x > 0.0)).collect();
    healed(known.subset(&kept), &known, &[MendKind::FilledHoles]);
    // A cape: a third of a cylinder's wall, one-sided.
    let mut cape = Mesh::default();
    for i in 0..=40u32 {
        for j in 0..=20u32 {
            let (sin, cos) = libm::sincos(f64::from(j) * 0.1);
            cape.vertices.push(DVec3::new(f64::from(i) * 2.0, 30.0 * cos, 30.0 * sin));
        }
    }
    for i in 0..40u32 {
        for j in 0..20u32 {
            let a = i * 21 + j;
            cape.triangles.extend([[a, a + 1, a + 22], [a, a + 22, a + 21]]);
        }
    }
    let faults = mend(cape.clone()).unwrap_err();
    assert_eq!((faults[0].kind, faults[0].count), (FaultKind::OpenEdges, 1));
    assert!(faults[0].length_mm > 200.0 && faults[0].place.distance(cape.bounds().unwrap().center()) < 1e-9);
    // The same beside a sound body: still refused, nothing is dropped silently.
    let mut both = ball(64);
    both.append(&cape.transformed(&DAffine3::from_translation(DVec3::X * 60.0)));
    assert_eq!(mend(both).unwrap_err()[0].kind, FaultKind::OpenEdges);
    // Half a ball, open: a bowl.
    let bowl = ball(64);
    let kept: Vec<u32> =
        (0..bowl.triangles.len() as u32).filter(|t| bowl.corners(*t as usize).iter().all(|p| p.z < 1e-9)).collect();
    assert_eq!(mend(bowl.subset(&kept)).unwrap_err()[0].kind, FaultKind::OpenEdges);
}

#[test]
fn flipped_and_doubled_faces_leave_the_ball_as_it_was() {
    let known = ball(128);
    let mut flipped = known.clone();
    flipped.triangles.iter_mut().step_by(10).for_each(|t| t.swap(1, 2));
    assert!(same_surface(&healed(flipped, &known, &[MendKind::FlippedFaces]), &known));
    let mut doubled = known.clone();
    doubled.triangles.extend(known.triangles.iter().step_by(7));
    healed(doubled, &known, &[MendKind::DuplicateFaces]);
    let mut twice = known.clone();
    twice.append(&known);
    assert!(same_surface(&healed(twice, &known, &[MendKind::DoubledShells]), &known));
}

#[test]
fn junk_inside_goes_and_the_surface_stays_bit_for_bit() {
    let known = ball(128);
    let mut filled = known.clone();
    filled.append(&cuboid(DVec3::splat(-10.0), DVec3::splat(10.0)));
    filled.append(&sphere(DVec3::X * 20.0, 4.0, 16));
    assert!(same_surface(&healed(filled, &known, &[MendKind::InnerShells]), &known));
    // A sheet with an edge, a cage of loose triangles.
    let mut sheets = known.clone();
    let sheet = ball(32).transformed(&DAffine3::from_scale(DVec3::splat(0.6)));
    let kept: Vec<u32> = (0..300).collect();
    sheets.append(&sheet.subset(&kept));
    for k in 0..20 {
        let at = direction(f64::from(k), 0.0) * 20.0;
        sheets.append(&Mesh { vertices: vec![at, at + DVec3::Y, at + DVec3::Z], triangles: vec![[0, 1, 2]] });
    }
    assert!(same_surface(&healed(sheets, &known, &[MendKind::Scraps]), &known));
    // A crumb of a face outside is too small to print.
    let mut crumb = known.clone();
    let at = DVec3::X * 55.0;
    crumb.append(&Mesh { vertices: vec![at, at + DVec3::Y * 0.1, at + DVec3::Z * 0.1], triangles: vec![[0, 1, 2]] });
    assert!(same_surface(&healed(crumb, &known, &[MendKind::Scraps]), &known));
}

#[test]
fn walls_and_fins_inside_go() {
    let known = gridded(DVec3::new(60.0, 20.0, 20.0), 5.0);
    // A wall right across the inside, on the corners of the grid.
    let mut walled = known.clone();
    let corner = |y: usize, z: usize| {
        let p = DVec3::new(30.0, y as f64 * 5.0, z as f64 * 5.0);
        known.vertices.iter().position(|v| *v == p)
    };
    let mut middle = std::collections::BTreeMap::new();
    for y in 0..=4 {
        for z in 0..=4 {
            let index = corner(y, z).unwrap_or_else(|| {
                walled.vertices.push(DVec3::new(30.0, y as f64 * 5.0, z as f64 * 5.0));
                walled.vertices.len() - 1
            });
            middle.insert((y, z), index as u32);
        }
    }
    for y in 0..4 {
        for z in 0..4 {
            let [a, b, c, d] = [(y, z), (y + 1, z), (y + 1, z + 1), (y, z + 1)].map(|k| middle[&k]);
            walled.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    assert_eq!(walled.edge_census().crowded.len(), 16);
    let solid = healed(walled.clone(), &known, &[MendKind::InnerWalls]);
    assert!(same_surface(&solid, &known));
    // Half of that wall is a fin with an edge of its own.
    let fin = walled.subset(&(0..known.triangles.len() as u32 + 16).collect::<Vec<_>>());
    healed(fin, &known, &[MendKind::InnerWalls]);
}

#[test]
fn seams_with_different_corners_are_stitched() {
    // One half of the box has a grid of 5, the other of 2.5: the corners between lie on edges of the coarse half.
    let known = cuboid(DVec3::ZERO, DVec3::new(40.0, 20.0, 20.0));
    let half = |from: f64, step: f64| {
        let mut box_of = gridded(DVec3::splat(20.0), step);
        let seam = if from == 0.0 { 20.0 } else { 0.0 };
        let corners = |t: &[u32; 3]| t.map(|v| box_of.vertices[v as usize]);
        let kept: Vec<u32> = (0..box_of.triangles.len() as u32)
            .filter(|t| !corners(&box_of.triangles[*t as usize]).iter().all(|p| p.x == seam))
            .collect();
        box_of = box_of.subset(&kept);
        box_of.transformed(&DAffine3::from_translation(DVec3::X * from))
    };
    let mut seamed = half(0.0, 5.0);
    seamed.append(&half(20.0, 2.5));
    let (solid, mends) = mend(seamed).unwrap();
    let kinds: Vec<MendKind> = mends.iter().map(|m| m.kind).collect();
    assert_eq!(kinds, [MendKind::StitchedEdges]);
    assert_eq!(mends[0].count, 16);
    assert!((solid.volume_mm3() - known.volume_mm3()).abs() < 1e-6);
    assert!(strays(&solid, &known) < 1e-9);
}

#[test]
fn two_balls_that_overlap_hold_what_the_formula_says() {
    let apart = 60.0;
    let mut both = ball(192);
    both.append(&ball(192).transformed(&DAffine3::from_translation(DVec3::new(apart, 1.0, 2.0))));
    let (solid, mends) = mend(both.clone()).unwrap();
    assert_eq!((mends[0].kind, mends[0].count), (MendKind::OverlappingShells, 2));
    // Two caps of height h = r - d/2 each: pi h^2 (3r - h) / 3 (Harris and Stocker, Handbook of Mathematics and
    // Computational Science, 1998, 4.8.4).
    let d = libm::sqrt(apart * apart + 5.0);
    let h = RADIUS - d / 2.0;
    let caps = 2.0 * std::f64::consts::PI * h * h * (3.0 * RADIUS - h) / 3.0;
    let right = 8.0 / 3.0 * std::f64::consts::PI * RADIUS.powi(3) - caps;
    assert!((solid.volume_mm3() / right - 1.0).abs() < 1e-3, "{} {right}", solid.volume_mm3());
    // Of the corners that stayed, all are the maker's to the last bit but those on the new seam.
    let bits = |v: &DVec3| v.to_array().map(f64::to_bits);
    let old: std::collections::BTreeSet<[u64; 3]> = both.vertices.iter().map(bits).collect();
    let fresh = solid.vertices.iter().filter(|v| !old.contains(&bits(v)));
    let off_seam = fresh.filter(|v| (v.distance(DVec3::ZERO) - v.distance(DVec3::new(apart, 1.0, 2.0))).abs() > 0.2);
    assert_eq!(off_seam.count(), 0);
}

#[test]
fn holes_that_touch_in_a_point_are_filled_one_by_one() {
    let known = ball(96);
    let place = direction(0.3069057652270074, -0.6083782279580284) * RADIUS;
    let near = |t: usize| known.corners(t).iter().all(|p| p.distance(place) < 3.582280266354823);
    let kept: Vec<u32> = (0..known.triangles.len() as u32).filter(|t| !near(*t as usize)).collect();
    for junk in [false, true] {
        let mut broken = known.subset(&kept);
        if junk {
            broken.append(&cuboid(DVec3::splat(-9.0), DVec3::new(9.0, 3.0, 2.0)));
        }
        let (solid, _) = mend(broken).unwrap_or_else(|f| panic!("{junk} {f:?}"));
        assert!(solid.edge_census().is_closed());
    }
}

#[test]
fn a_hole_of_few_sides_is_as_round_as_the_ball() {
    // Five faces around one corner are gone: a ring of five, whose chords lie 0.08 mm under the ball.
    let known = ball(96);
    let place = direction(1.5 + 0.049904511196668756, -0.4924848874893152) * RADIUS;
    let broken = without(&known, place, 3.855740332104458);
    assert_eq!(broken.edge_census().open.len(), 5);
    let solid = healed(broken, &known, &[MendKind::FilledHoles]);
    assert_eq!(solid.triangles.len(), known.triangles.len());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    /// Several kinds of damage at once, anywhere: the ball comes back within 0.1 % and 0.05 mm.
    #[test]
    fn a_ball_broken_in_any_way_is_a_ball_again(
        holes in proptest::collection::vec((0.0..0.9f64, -0.7..0.7f64, 2.4..4.0f64), 0..4),
        flips in 0usize..40,
        doubles in 0usize..40,
        start in any::<prop::sample::Index>(),
        junk in any::<bool>(),
        soup in any::<bool>(),
    ) {
        let known = ball(96);
        let mut broken = known.clone();
        // Apart from each other: two that meet may be wider than a small hole.
        for (k, (longitude, height, reach)) in holes.into_iter().enumerate() {
            let place = direction(1.5 * k as f64 + longitude, height) * RADIUS;
            let near = |t: usize| broken.corners(t).iter().all(|p| p.distance(place) < reach);
            let kept: Vec<u32> = (0..broken.triangles.len() as u32).filter(|t| !near(*t as usize)).collect();
            broken = broken.subset(&kept);
        }
        let n = broken.triangles.len();
        let at = start.index(n);
        (0..flips).for_each(|k| broken.triangles[(at + 61 * k) % n].swap(1, 2));
        (0..doubles).for_each(|k| broken.triangles.push(broken.triangles[(at + 37 * k) % n]));
        if junk {
            broken.append(&cuboid(DVec3::splat(-9.0), DVec3::new(9.0, 3.0, 2.0)));
        }
        if soup {
            let vertices = (0..broken.triangles.len()).flat_map(|t| broken.corners(t)).collect::<Vec<_>>();
            let triangles = (0..broken.triangles.len() as u32).map(|t| [3 * t, 3 * t + 1, 3 * t + 2]).collect();
            broken = Mesh { vertices, triangles };
        }
        let (solid, _) = mend(broken).map_err(|f| TestCaseError::fail(format!("{f:?}")))?;
        prop_assert!(solid.edge_census().is_closed());
        prop_assert!((solid.volume_mm3() / known.volume_mm3() - 1.0).abs() < 1e-3);
        prop_assert!(strays(&solid, &known) < 0.05);
    }
}
