//! Hollowing against exact solids.
//!
//! Eroded by wall and ball radius, each body here is a convex body known exactly, and the cavity is that dilated by the
//! ball. Its volume is V + A r + M r^2 + 4/3 pi r^3 (Steiner's formula; M, the integral of mean curvature, is half the
//! sum of edge length times outer angle for a polyhedron: Schneider, Convex Bodies, chapter 4, from memory).

use super::*;
use crate::{around_mm, cone_frustum, cuboid, cylinder, prism, self_intersects, sphere};
use glam::{DAffine3, DQuat, DVec2};
use std::f64::consts::PI;

const WALL: f64 = 2.0;
/// Radius of the ball.
const R: f64 = 1.5;
/// How deep the middle of the ball stays.
const DEPTH: f64 = WALL + R;
const SPEC: HollowSpec = HollowSpec { wall_mm: WALL, least_cavity_mm: 2.0 * R, cell_mm: 0.5, even_mm: 0.05 };

fn cavity_of(body: &Mesh) -> (Bvh, Mesh) {
    let bvh = Bvh::new(body);
    let cavity = hollow(&bvh, body.bounds().unwrap(), &SPEC, &Cancel::default()).unwrap();
    assert!(cavity.edge_census().is_closed());
    (bvh, cavity)
}

fn steiner(volume: f64, area: f64, curvature: f64) -> f64 {
    volume + area * R + curvature * R * R + 4.0 / 3.0 * PI * R * R * R
}

/// Somewhere and somehow, so that nothing falls on lattice points or planes.
fn astray() -> DAffine3 {
    let turn = DQuat::from_axis_angle(DVec3::new(1.0, 2.0, -0.5).normalize(), 0.7);
    DAffine3::from_rotation_translation(turn, DVec3::new(100.3, -20.7, 33.1))
}

/// Hollows a body, straight and turned, and holds every vertex and triangle middle against the exact cavity: the points
/// `R` away from the body that the ball's middle keeps to.
fn check(body: &Mesh, cell_mm: f64, volume_mm3: f64, distance_to_middles: &dyn Fn(DVec3) -> f64) {
    for place in [DAffine3::IDENTITY, astray()] {
        let body = body.transformed(&place);
        let bvh = Bvh::new(&body);
        let spec = HollowSpec { cell_mm, ..SPEC };
        let cavity = hollow(&bvh, body.bounds().unwrap(), &spec, &Cancel::default()).unwrap();
        assert!(cavity.edge_census().is_closed());
        assert!(!self_intersects(&cavity).unwrap());
        assert_eq!(cavity.shells().len(), 1);
        // Within what 0.02 mm over all of the surface is worth.
        let found = cavity.volume_mm3();
        assert!((found - volume_mm3).abs() < 0.02 * cavity.area_mm2(), "volume {found} not {volume_mm3}");
        let report = wall_report(&bvh, &cavity);
        assert!((report.least_mm - WALL).abs() < 0.02, "least wall {} at {}", report.least_mm, report.least_at);
        let back = place.inverse();
        let off = |p: DVec3| distance_to_middles(back.transform_point3(p)) - R;
        for p in &cavity.vertices {
            assert!(off(*p).abs() < 0.05, "{} mm off the exact cavity at {}", off(*p), back.transform_point3(*p));
        }
        for t in &cavity.triangles {
            let corners = t.map(|v| cavity.vertices[v as usize]);
            let middle = corners.iter().sum::<DVec3>() / 3.0;
            // On a rounded edge a flat triangle sags below the ball by s^2 / 2 R. On the wall nothing is rounded.
            let s = corners.iter().map(|p| p.distance(middle)).fold(0.0, f64::max);
            let on_the_wall = bvh.nearest(middle, WALL + 0.1).is_some();
            let sag = if on_the_wall { 0.0 } else { s * s / (2.0 * R) };
            let off = off(middle);
            assert!(off < 0.05 && off > -0.05 - sag, "{off} mm off at {}", back.transform_point3(middle));
        }
    }
}

#[test]
fn a_ball_leaves_a_ball() {
    // The faces of 480 segments lie 0.0005 mm below the sphere.
    let exact = 4.0 / 3.0 * PI * 18f64 * 18.0 * 18.0;
    check(&sphere(DVec3::ZERO, 20.0, 480), 0.5, exact, &|p| p.length() - (20.0 - DEPTH));
}

#[test]
fn a_box_leaves_a_rounded_box() {
    let half = DVec3::new(15.0, 10.0, 8.0);
    let inner = half - DEPTH;
    let s = inner * 2.0;
    let exact = steiner(s.x * s.y * s.z, 2.0 * (s.x * s.y + s.y * s.z + s.z * s.x), PI * (s.x + s.y + s.z));
    check(&cuboid(-half, half), 0.5, exact, &|p| (p.abs() - inner).max(DVec3::ZERO).length());
}

#[test]
fn a_cylinder_leaves_a_rounded_cylinder() {
    let (radius, half) = (9.0 - DEPTH, 12.0 - DEPTH);
    let exact = steiner(
        PI * radius * radius * 2.0 * half,
        2.0 * PI * radius * (2.0 * half + radius),
        PI * 2.0 * half + PI * PI * radius,
    );
    let body = cylinder(DVec3::Z * -12.0, DVec3::Z * 12.0, around_mm(9.0, 360), 360);
    check(&body, 0.5, exact, &|p| {
        DVec2::new(p.truncate().length() - radius, p.z.abs() - half).max(DVec2::ZERO).length()
    });
}

#[test]
fn a_cone_leaves_a_rounded_cone() {
    // Base radius 15, height 30. The tip sinks by depth / sin(half angle), the base rises by the depth.
    let (sin, cos) = (1.0 / 5f64.sqrt(), 2.0 / 5f64.sqrt());
    let height = 30.0 - DEPTH / sin - DEPTH;
    let radius = 0.5 * height;
    let side = height / cos;
    let exact = steiner(
        PI * radius * radius * height / 3.0,
        PI * radius * (radius + side),
        PI * height + PI * radius * (0.5 * PI + libm::asin(sin)),
    );
    let body = cone_frustum(DVec3::ZERO, DVec3::Z * 30.0, around_mm(15.0, 720), 0.0, 720);
    // Around the tip's axis a cell holds the surface by a few chords: a finer one for 0.05 mm.
    check(&body, 0.3, exact, &|p| {
        // In the half plane of distance from the axis and height above the risen base: a right triangle.
        let q = DVec2::new(p.truncate().length(), p.z - DEPTH);
        let to_side = |a: DVec2, b: DVec2| {
            let t = ((q - a).dot(b - a) / (b - a).length_squared()).clamp(0.0, 1.0);
            (a + (b - a) * t).distance(q)
        };
        let (rim, tip) = (DVec2::new(radius, 0.0), DVec2::new(0.0, height));
        let inside = q.y >= 0.0 && q.x * cos + (q.y - height) * sin <= 0.0;
        if inside { 0.0 } else { to_side(DVec2::ZERO, rim).min(to_side(rim, tip)) }
    });
}

/// Distance to a convex body given by planes as normal and height, by Dykstra's projections (Boyle and Dykstra 1986).
fn distance_to_polyhedron(p: DVec3, planes: &[(DVec3, f64)]) -> f64 {
    let mut x = p;
    let mut kept = vec![DVec3::ZERO; planes.len()];
    for _ in 0..150 {
        for ((normal, height), kept) in planes.iter().zip(&mut kept) {
            let y = x + *kept;
            x = y - *normal * (normal.dot(y) - height).max(0.0);
            *kept = y - x;
        }
    }
    x.distance(p)
}

#[test]
fn a_wedge_leaves_a_rounded_wedge() {
    // A right-angled triangle with sides 30, 16 and 34, so with an inner circle of radius 6; 20 mm long.
    let outline = [DVec2::ZERO, DVec2::new(30.0, 0.0), DVec2::new(0.0, 16.0)];
    let body = prism(&outline, &DAffine3::IDENTITY, 0.0, 20.0);
    // Eroded, the triangle keeps its shape.
    let scale = (6.0 - DEPTH) / 6.0;
    let (area, around, length) = (0.5 * 30.0 * 16.0 * scale * scale, 80.0 * scale, 20.0 - 2.0 * DEPTH);
    // The three long edges turn by 2 pi together, each edge of the ends by pi / 2.
    let curvature = 0.5 * (length * 2.0 * PI + 2.0 * around * 0.5 * PI);
    let exact = steiner(area * length, 2.0 * area + around * length, curvature);
    let planes = [
        (-DVec3::X, -DEPTH),
        (-DVec3::Y, -DEPTH),
        (DVec3::new(16.0, 30.0, 0.0) / 34.0, 16.0 * 30.0 / 34.0 - DEPTH),
        (-DVec3::Z, -DEPTH),
        (DVec3::Z, 20.0 - DEPTH),
    ];
    check(&body, 0.5, exact, &|p| distance_to_polyhedron(p, &planes));
}

#[test]
fn what_is_too_thin_stays_solid() {
    // 2.9 mm would be left between the walls, less than the 3 mm asked for.
    let plate = cuboid(DVec3::ZERO, DVec3::new(40.0, 30.0, 6.9));
    let (bvh, cavity) = cavity_of(&plate);
    assert_eq!(cavity, Mesh::default());
    assert_eq!(wall_report(&bvh, &cavity).samples, 0);
    // With a thick end the cavity comes, and stays out of the plate.
    let (_, cavity) = cavity_of(&crate::union(&plate, &cuboid(DVec3::ZERO, DVec3::new(15.0, 30.0, 20.0))).unwrap());
    // The ball's middle stays `DEPTH` above the ground and as far from the inner edge at x = 15, z = 6.9. How far it
    // gets into the tip between is a matter of the cell.
    let farthest = 15.0 - (DEPTH * DEPTH - 3.4f64 * 3.4).sqrt() + R;
    let reach = cavity.bounds().unwrap().max.x;
    assert!(reach > farthest - 1.0 && reach < farthest + 0.02, "{reach} of {farthest}");
}

#[test]
fn a_cavity_smaller_than_its_crumb_is_left_solid() {
    // The ball's middle keeps to a cube of 0.3 or 1 mm: by Steiner's formula 21.3 or 45.3 mm3 of cavity; a cube of the
    // least cavity has 27.
    let spec = HollowSpec { wall_mm: 1.9, ..SPEC };
    let cavity_of = |edge_mm: f64| {
        let body = cuboid(DVec3::ZERO, DVec3::splat(2.0 * (1.9 + R) + edge_mm));
        hollow(&Bvh::new(&body), body.bounds().unwrap(), &spec, &Cancel::default()).unwrap()
    };
    assert_eq!(cavity_of(0.3), Mesh::default());
    let volume = cavity_of(1.0).volume_mm3();
    assert!((volume - steiner(1.0, 6.0, 3.0 * PI)).abs() < 1.0, "{volume}");
}

#[test]
fn the_wall_around_a_bubble_is_kept() {
    let mut shell = sphere(DVec3::ZERO, 22.0, 120);
    shell.append(&sphere(DVec3::ZERO, 4.0, 40).reversed());
    let (bvh, cavity) = cavity_of(&shell);
    assert_eq!(cavity.shells().len(), 2);
    let exact = 4.0 / 3.0 * PI * (20f64 * 20.0 * 20.0 - 6.0 * 6.0 * 6.0);
    // The chords of 120 and 40 segments lie up to 0.015 mm below their spheres.
    assert!((cavity.volume_mm3() - exact).abs() < 0.03 * cavity.area_mm2(), "{} not {exact}", cavity.volume_mm3());
    let report = wall_report(&bvh, &cavity);
    assert!(report.least_mm > WALL - 0.02 && report.most_mm < WALL + 0.05, "{report:?}");
}

#[test]
fn the_report_sees_a_cavity_break_through() {
    let bvh = Bvh::new(&cuboid(DVec3::ZERO, DVec3::splat(10.0)));
    let inside = wall_report(&bvh, &cuboid(DVec3::splat(2.0), DVec3::splat(7.0)));
    assert_eq!((inside.least_mm, inside.most_mm, inside.samples), (2.0, 3.0, 8 + 12));
    let through = wall_report(&bvh, &cuboid(DVec3::splat(2.0), DVec3::new(7.0, 7.0, 11.5)));
    assert!((through.least_mm + 1.5).abs() < 1e-9, "{}", through.least_mm);
    assert_eq!(through.least_at.z, 11.5);
    let beside = wall_report(&bvh, &cuboid(DVec3::splat(20.0), DVec3::splat(21.0)));
    assert!(beside.least_mm < -10.0, "{beside:?}");
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let body = cone_frustum(DVec3::ZERO, DVec3::Z * 30.0, 15.0, 8.0, 90);
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| cavity_of(&body).1)
    };
    let one = run(1);
    assert!(!one.is_empty());
    assert!(one == run(2));
    assert!(one == run(7));
}

#[test]
fn a_cancelled_run_ends_without_a_result() {
    let body = sphere(DVec3::ZERO, 20.0, 60);
    let bvh = Bvh::new(&body);
    let run = |cell_mm: f64, cancel: &Cancel| {
        hollow(&bvh, body.bounds().unwrap(), &HollowSpec { cell_mm, ..SPEC }, cancel).unwrap_err()
    };
    let cancel = Cancel::default();
    cancel.cancel();
    assert_eq!(run(0.5, &cancel), HollowError::Cancelled(Cancelled));
    // From another thread, in the middle of work that would take a minute.
    let cancel = Cancel::default();
    let error = std::thread::scope(|scope| {
        let work = scope.spawn(|| run(0.04, &cancel));
        std::thread::sleep(std::time::Duration::from_millis(30));
        cancel.cancel();
        work.join().unwrap()
    });
    assert_eq!(error, HollowError::Cancelled(Cancelled));
}

#[test]
fn bad_specs_are_refused() {
    let body = cuboid(DVec3::ZERO, DVec3::splat(20.0));
    let bvh = Bvh::new(&body);
    let bounds = body.bounds().unwrap();
    let refused = |spec: HollowSpec| hollow(&bvh, bounds, &spec, &Cancel::default()).unwrap_err();
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(refused(HollowSpec { wall_mm: bad, ..SPEC }), HollowError::Wall(_)));
        assert!(matches!(refused(HollowSpec { least_cavity_mm: bad, ..SPEC }), HollowError::LeastCavity(_)));
        assert!(matches!(refused(HollowSpec { cell_mm: bad, ..SPEC }), HollowError::Cell(_)));
    }
    let coarse = refused(HollowSpec { cell_mm: 0.8, ..SPEC });
    assert_eq!(coarse, HollowError::CellTooLarge { cell_mm: 0.8, most_mm: 0.75 });
    assert!(coarse.to_string().contains("at most 0.75 mm"));
    assert!(matches!(refused(HollowSpec { cell_mm: 1e-3, ..SPEC }), HollowError::CellTooSmall { .. }));
    assert!(matches!(refused(HollowSpec { cell_mm: 1e-300, ..SPEC }), HollowError::CellTooSmall { .. }));
    let half = Bounds { max: DVec3::splat(10.0), ..bounds };
    assert!(matches!(hollow(&bvh, half, &SPEC, &Cancel::default()), Err(HollowError::Bounds(_))));
}
