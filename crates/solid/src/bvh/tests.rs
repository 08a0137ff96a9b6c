//! The tree held against plain loops over all triangles and against another library.

use super::*;
use crate::{cuboid, sphere};
use parry3d_f64::math::Vector;
use parry3d_f64::query::{PointQuery, Ray, RayCast};
use parry3d_f64::shape::{TriMesh, TriMeshFlags};

/// Points in a box by an additive recurrence with the plastic number's powers (Roberts' R3 sequence, from memory):
/// evenly spread, the same everywhere.
fn points(n: usize, half_mm: f64) -> Vec<DVec3> {
    let step = DVec3::new(0.819_172_513_396_164_4, 0.671_043_606_703_789_3, 0.549_700_477_901_970_3);
    (1..=n).map(|i| ((step * i as f64).fract() - 0.5) * 2.0 * half_mm).collect()
}

/// Two bodies with needles and large triangles between them, far from the origin.
fn pair() -> Mesh {
    let mut mesh = sphere(DVec3::new(503.0, -200.0, 90.0), 12.0, 60);
    mesh.append(&cuboid(DVec3::new(512.0, -190.0, 80.0), DVec3::new(512.01, -160.0, 110.0)));
    mesh
}

fn around_pair(n: usize) -> Vec<DVec3> {
    points(n, 30.0).into_iter().map(|p| p + DVec3::new(508.0, -190.0, 92.0)).collect()
}

/// Distance to a triangle by trying its plane, sides and corners separately: another way than the one under test.
fn plain_distance(p: DVec3, corners: [DVec3; 3]) -> f64 {
    let [a, b, c] = corners;
    let mut best = corners.iter().map(|q| q.distance(p)).fold(f64::INFINITY, f64::min);
    for (u, v) in [(a, b), (b, c), (c, a)] {
        let along = (p - u).dot(v - u) / (v - u).length_squared();
        if (0.0..=1.0).contains(&along) {
            best = best.min((u + (v - u) * along).distance(p));
        }
    }
    // Barycentric coordinates by Cramer's rule.
    let (e, f, g) = (b - a, c - a, p - a);
    let (ee, ef, ff, ge, gf) = (e.dot(e), e.dot(f), f.dot(f), g.dot(e), g.dot(f));
    let det = ee * ff - ef * ef;
    let (v, w) = ((ff * ge - ef * gf) / det, (ee * gf - ef * ge) / det);
    if v >= 0.0 && w >= 0.0 && v + w <= 1.0 {
        best = best.min((a + e * v + f * w).distance(p));
    }
    best
}

#[test]
fn nearest_is_what_a_loop_over_all_triangles_finds() {
    let mesh = pair();
    let bvh = Bvh::new(&mesh);
    for p in around_pair(3000) {
        let all = (0..mesh.triangles.len()).map(|t| plain_distance(p, mesh.corners(t)));
        let least = all.fold(f64::INFINITY, f64::min);
        let near = bvh.nearest(p, f64::INFINITY).unwrap();
        assert!((near.distance_mm - least).abs() < 2e-5, "{p}: {} not {least}", near.distance_mm);
        assert!((near.point.distance(p) - near.distance_mm).abs() < 1e-12);
        assert!(plain_distance(near.point, mesh.corners(near.triangle as usize)) < 1e-9);
        assert!(bvh.nearest(p, least * 0.999 - 1e-4).is_none());
        assert!(bvh.nearest(p, least * 1.001 + 1e-4).is_some());
    }
}

fn parry(mesh: &Mesh) -> TriMesh {
    let vertices = mesh.vertices.iter().map(|v| Vector::new(v.x, v.y, v.z)).collect();
    TriMesh::with_flags(vertices, mesh.triangles.clone(), TriMeshFlags::ORIENTED).unwrap()
}

#[test]
fn distance_side_and_rays_agree_with_parry() {
    let mesh = pair();
    let (bvh, parry) = (Bvh::new(&mesh), parry(&mesh));
    let mut n_hits = 0;
    let all = around_pair(6000);
    for (i, p) in all.iter().enumerate() {
        let theirs = parry.project_local_point(Vector::new(p.x, p.y, p.z), false);
        let at = DVec3::new(theirs.point.x, theirs.point.y, theirs.point.z);
        let distance = at.distance(*p) * if theirs.is_inside { -1.0 } else { 1.0 };
        let ours = bvh.signed_distance(*p);
        assert!((ours - distance).abs() < 2e-5, "{p}: {ours} not {distance}");

        let d = (all[(i * 7 + 3) % all.len()] - *p).normalize_or(DVec3::X);
        let ray = Ray::new(Vector::new(p.x, p.y, p.z), Vector::new(d.x, d.y, d.z));
        let theirs = parry.cast_local_ray(&ray, 40.0, false);
        let ours = bvh.ray(*p, d, 40.0).map(|h| h.distance_mm);
        n_hits += usize::from(ours.is_some());
        match (ours, theirs) {
            (Some(ours), Some(theirs)) => assert!((ours - theirs).abs() < 1e-6, "{p} {d}: {ours} not {theirs}"),
            (None, None) => {}
            _ => panic!("{p} {d}: {ours:?} not {theirs:?}"),
        }
    }
    assert!(n_hits > 500, "{n_hits}");
}

#[test]
fn winding_counts_the_shells_around_a_point() {
    let mut mesh = sphere(DVec3::ZERO, 20.0, 48);
    mesh.append(&sphere(DVec3::X * 10.0, 20.0, 48));
    let bvh = Bvh::new(&mesh);
    for (x, times) in [(5.0, 2.0), (-15.0, 1.0), (25.0, 1.0), (40.0, 0.0), (-21.0, 0.0), (500.0, 0.0)] {
        let w = bvh.winding(DVec3::new(x, 0.3, 0.2));
        assert!((w - times).abs() < 0.03, "{x}: {w}");
    }
    // A single triangle from right above its corner of 90 degrees, far below the sides' length: an eighth of the
    // sphere, by the solid angle of an octant.
    let corner = Mesh { vertices: vec![DVec3::ZERO, DVec3::X, DVec3::Y], triangles: vec![[0, 1, 2]] };
    let w = Bvh::new(&corner).winding(DVec3::new(1e-4, 1e-4, -1e-6));
    assert!((w.abs() - 0.5).abs() < 0.01, "{w}");
}

#[test]
fn the_winding_number_is_the_plain_sum_of_solid_angles() {
    // In double precision, each triangle by its own arctangent.
    let plain = |mesh: &Mesh, p: DVec3| {
        let angle = |t: usize| {
            let [a, b, c] = mesh.corners(t).map(|q| q - p);
            let (la, lb, lc) = (a.length(), b.length(), c.length());
            let below = la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb;
            2.0 * libm::atan2(a.dot(b.cross(c)), below)
        };
        (0..mesh.triangles.len()).map(angle).sum::<f64>() / (4.0 * std::f64::consts::PI)
    };
    // Large triangles one through the other: no branch is far, and angles add up to several turns either way.
    let corners = points(120, 20.0);
    let soup = Mesh { triangles: (0..40).map(|t| [3 * t, 3 * t + 1, 3 * t + 2]).collect(), vertices: corners };
    let bvh = Bvh::new(&soup);
    let mut most = 0.0f64;
    // On a triangle there is no telling on which side.
    for p in points(500, 12.0).into_iter().filter(|p| bvh.nearest(*p, 1e-2).is_none()) {
        let want = plain(&soup, p);
        most = most.max(want.abs());
        assert!((bvh.winding(p) - want).abs() < 1e-3, "{p}: {} not {want}", bvh.winding(p));
    }
    assert!(most > 1.0, "{most}");
    // Two shells that overlap and a sheet with a rim; far branches count by their dipole.
    let mut mesh = sphere(DVec3::ZERO, 20.0, 30);
    mesh.append(&sphere(DVec3::X * 10.0, 20.0, 30));
    mesh.append(&sphere(DVec3::X * -30.0, 9.0, 24).subset(&(0..400).collect::<Vec<_>>()));
    let bvh = Bvh::new(&mesh);
    for p in points(500, 45.0) {
        let want = plain(&mesh, p);
        assert!((bvh.winding(p) - want).abs() < 0.03, "{p}: {} not {want}", bvh.winding(p));
        let within = bvh.bounds().is_some_and(|b| b.min.cmple(p).all() && p.cmple(b.max).all());
        assert_eq!(bvh.is_inside(p), within && bvh.winding(p) > 0.5);
    }
}

#[test]
fn rays_hit_the_box_where_they_must_and_never_slip_through_an_edge() {
    let bvh = Bvh::new(&cuboid(DVec3::splat(-5.0), DVec3::splat(5.0)));
    let start = DVec3::new(-20.0, 1.0, 2.0);
    assert!((bvh.ray(start, DVec3::X, 100.0).unwrap().distance_mm - 15.0).abs() < 1e-12);
    assert_eq!(bvh.ray(start, DVec3::X, 14.9), None);
    assert_eq!(bvh.ray(start, -DVec3::X, 100.0), None);
    // From inside, along the axes and through every edge, corner and diagonal of the faces.
    for x in -4..=4 {
        for y in -4..=4 {
            for z in -4..=4 {
                let Some(d) = DVec3::new(f64::from(x), f64::from(y), f64::from(z)).try_normalize() else { continue };
                let way = bvh.ray(DVec3::ZERO, d, 100.0).unwrap().distance_mm;
                assert!((way - 5.0 / d.abs().max_element()).abs() < 1e-9, "{d}: {way}");
            }
        }
    }
}

#[test]
fn a_ray_among_some_triangles_passes_through_the_others() {
    let mesh = cuboid(DVec3::splat(-5.0), DVec3::splat(5.0));
    let bvh = Bvh::new(&mesh);
    let start = DVec3::new(-20.0, 1.0, 2.0);
    let leaves = |t: u32, _: f64| mesh.area_vector(t as usize).x > 0.0;
    let hit = bvh.ray_among(start, DVec3::X, 100.0, leaves).unwrap();
    assert!((hit.distance_mm - 25.0).abs() < 1e-12);
    assert!((bvh.ray_among(start, DVec3::X, 100.0, |_, mm| mm > 20.0).unwrap().distance_mm - 25.0).abs() < 1e-12);
    assert_eq!(bvh.ray_among(start, DVec3::X, 100.0, |_, _| false), None);
}

#[test]
fn nothing_and_nonsense_have_answers() {
    let empty = Bvh::new(&Mesh::default());
    assert!(empty.is_empty() && empty.bounds().is_none());
    assert_eq!(empty.nearest(DVec3::ZERO, f64::INFINITY), None);
    assert_eq!(empty.ray(DVec3::ZERO, DVec3::X, 10.0), None);
    assert_eq!(empty.winding(DVec3::ZERO), 0.0);
    assert_eq!(empty.signed_distance(DVec3::ZERO), f64::INFINITY);
    let mut mesh = cuboid(DVec3::ZERO, DVec3::ONE);
    mesh.vertices.push(DVec3::NAN);
    mesh.vertices.push(DVec3::splat(0.5));
    // Not finite: left out. No area: a line and a point, still something to be near to.
    mesh.triangles.extend([[0, 1, 8], [9, 9, 9], [9, 0, 9]]);
    let bvh = Bvh::new(&mesh);
    assert!((bvh.nearest(DVec3::splat(0.6), 9.0).unwrap().distance_mm - 0.03f64.sqrt()).abs() < 1e-12);
    assert_eq!(bvh.nearest(DVec3::NAN, f64::INFINITY), None);
    assert_eq!(bvh.nearest(DVec3::ZERO, f64::NAN), None);
    assert_eq!(bvh.ray(DVec3::NAN, DVec3::X, 9.0), None);
}
