//! Walls that vary, against bodies where they are known exactly.
//!
//! On a plane, a tube and a lens the distance to the outer surface is a formula, so that every corner can be held against
//! the thickness wanted there. Sections across are known areas: the set that the wall leaves, eroded and dilated by the
//! ball (Steiner's formula in the plane: A + P r + pi r^2). What a slope of the wall along the body changes of that is of
//! its square: under a thousandth here.

use super::*;
use crate::{Plane, cuboid, cylinder, difference, intersection, prism, self_intersects, slab, sphere};
use glam::{DAffine3, DQuat, DVec2, Vec3Swizzles};
use std::f64::consts::{PI, TAU};

/// Radius of the ball.
const R: f64 = 1.5;
const CELL: f64 = 0.4;

type Field<'a> = &'a (dyn Fn(DVec3) -> f64 + Sync);

fn graded<'a>(thickness: Field<'a>, [least_mm, most_mm]: [f64; 2], slope: f64) -> GradedWall<'a> {
    GradedWall { thickness, least_mm, most_mm, slope }
}

fn spec<'a>(wall: &'a GradedWall<'a>) -> GradedSpec<'a> {
    GradedSpec { wall, least_cavity_mm: 2.0 * R, cell_mm: CELL, even_mm: 0.05 }
}

fn try_hollow(body: &Mesh, wall: &GradedWall<'_>) -> Result<Mesh, HollowError> {
    hollow_graded(&Bvh::new(body), body.bounds().unwrap(), &spec(wall), &Cancel::default())
}

/// Somewhere and somehow, so that nothing falls on lattice points or planes.
fn astray() -> DAffine3 {
    let turn = DQuat::from_axis_angle(DVec3::new(0.3, -1.0, 2.0).normalize(), 0.9);
    DAffine3::from_rotation_translation(turn, DVec3::new(-41.3, 20.7, 133.1))
}

/// A body that lies along x.
struct Known<'a> {
    mesh: Mesh,
    /// How deep a point lies.
    depth: &'a dyn Fn(DVec3) -> f64,
    /// Whether the cavity is at its wall there, clear of what the ball can't reach.
    on_the_wall: &'a dyn Fn(DVec3) -> bool,
    /// Stations between which nothing comes of the ends.
    span_mm: [f64; 2],
}

/// Hollows a body, straight and turned, and looks at the cavity: closed, in one piece without handles, nowhere through
/// itself, the wall within limits, at the thickness wanted wherever it is on the wall, and its volume between two stations
/// that of the sections' areas.
fn check(known: &Known<'_>, thickness: Field<'_>, limits: [f64; 2], slope: f64, area: &dyn Fn(f64) -> f64) {
    let Known { mesh, depth, on_the_wall, span_mm: [from, to] } = known;
    let (from, to) = (*from, *to);
    for place in [DAffine3::IDENTITY, astray()] {
        let back = place.inverse();
        let turned = |p: DVec3| thickness(back.transform_point3(p));
        let wall = graded(&turned, limits, slope);
        let body = mesh.transformed(&place);
        let cavity = try_hollow(&body, &wall).unwrap();
        assert!(cavity.edge_census().is_closed());
        assert_eq!(cavity.shells().len(), 1);
        assert_eq!(2 * cavity.vertices.len(), cavity.triangles.len() + 4, "genus");
        assert!(!self_intersects(&cavity).unwrap());
        let report = wall_against(&Bvh::new(&body), &cavity, &wall);
        assert!(report.least_mm > -0.02, "{} mm too thin at {}", report.least_mm, report.least_at);
        assert!(wall_report(&Bvh::new(&body), &cavity).least_mm >= limits[0]);
        let mut seen = 0;
        for p in &cavity.vertices {
            let p = back.transform_point3(*p);
            let off = depth(p) - thickness(p);
            assert!(off > -0.02, "{off} mm at {p}");
            if on_the_wall(p) {
                seen += 1;
                assert!(off < 0.02, "{off} mm at {p}");
            }
        }
        assert!(seen > 1000, "{seen}");
        let ends = [from, to].map(|x| {
            let along = place.transform_vector3(DVec3::X);
            Plane::through(place.transform_point3(DVec3::X * x), along)
        });
        let found = slab(&cavity, Some(&ends[0]), Some(&ends[1])).unwrap();
        // Simpson's rule in steps of a twentieth of a millimetre at most.
        let n = (2.0 * ((to - from) * 10.0).ceil()) as usize;
        let at = |i: usize| area(from + (to - from) * i as f64 / n as f64);
        let weight = |i: usize| if i == 0 || i == n { 1.0 } else { 2.0 + 2.0 * (i % 2) as f64 };
        let exact = (0..=n).map(|i| weight(i) * at(i)).sum::<f64>() * (to - from) / (3.0 * n as f64);
        let volume = found.volume_mm3();
        assert!((volume - exact).abs() < 0.02 * found.area_mm2(), "volume {volume} not {exact}");
    }
}

/// A box along x from 0 to 70, 30 wide and 16 high.
fn board_mesh() -> Mesh {
    cuboid(DVec3::new(0.0, -15.0, -8.0), DVec3::new(70.0, 15.0, 8.0))
}

fn board_depth(p: DVec3) -> f64 {
    (15.0 - p.y.abs()).min(8.0 - p.z.abs()).min(p.x).min(70.0 - p.x)
}

fn on_the_board(p: DVec3) -> bool {
    // Clear of the rounded edges and of the ends.
    p.y.abs() < 8.0 && (8.0..62.0).contains(&p.x)
}

fn board() -> Known<'static> {
    Known { mesh: board_mesh(), depth: &board_depth, on_the_wall: &on_the_board, span_mm: [8.0, 62.0] }
}

fn board_area(t: f64) -> f64 {
    (30.0 - 2.0 * t) * (16.0 - 2.0 * t) - (4.0 - PI) * R * R
}

#[test]
fn a_board_with_a_tapered_wall() {
    let t = |p: DVec3| 1.4 + 0.025 * p.x;
    check(&board(), &t, [1.2, 3.4], 0.03, &|x| board_area(1.4 + 0.025 * x));
}

#[test]
fn a_board_with_a_rippled_wall() {
    let ripple = |x: f64| 2.2 + 0.5 * libm::cos(TAU * x / 16.7);
    let t = |p: DVec3| ripple(p.x);
    check(&board(), &t, [1.2, 3.2], 0.19, &|x| board_area(ripple(x)));
}

/// A round bar along x from 0 to 60.
fn rod() -> Known<'static> {
    Known {
        mesh: cylinder(DVec3::ZERO, DVec3::X * 60.0, 11.0, 360),
        depth: &|p| (11.0 - p.yz().length()).min(p.x).min(60.0 - p.x),
        on_the_wall: &|p| (7.0..53.0).contains(&p.x),
        span_mm: [7.0, 53.0],
    }
}

#[test]
fn a_tube_with_a_wall_that_ripples_along() {
    let ripple = |x: f64| 2.4 + 0.6 * libm::cos(TAU * x / 20.0);
    let t = |p: DVec3| ripple(p.x);
    check(&rod(), &t, [1.2, 3.2], 0.2, &|x| PI * (11.0 - ripple(x)) * (11.0 - ripple(x)));
}

#[test]
fn a_tube_with_a_wall_that_varies_around() {
    // 2 + 0.5 cos 2a, from the square of the cosine; in the middle, where no wall is, it comes to rest.
    let t = |p: DVec3| {
        let (y, away) = (p.y, p.yz().length().max(8.0));
        1.5 + y * y / (away * away)
    };
    // Half the integral of (11 - t)^2 with t = 2 + 0.5 cos 2a.
    let area = PI * (9.0 * 9.0 + 0.5 * 0.5 / 2.0);
    check(&rod(), &t, [1.2, 3.2], 0.26, &|_| area);
}

/// The section of a lens: two arcs of radius `BOW` about middles `SHIFT` above and below.
const BOW: f64 = 40.0;
const SHIFT: f64 = 30.0;

#[test]
fn a_lens_with_a_tapered_and_rippled_wall() {
    let half = 240;
    let lap = libm::acos(SHIFT / BOW);
    let arc = |up: f64| {
        (0..half).map(move |i| {
            let a = lap * (1.0 - 2.0 * f64::from(i) / f64::from(half));
            DVec2::new(BOW * libm::sin(a), BOW * libm::cos(a) - SHIFT) * up
        })
    };
    let outline: Vec<DVec2> = arc(1.0).chain(arc(-1.0)).rev().collect();
    let mesh = prism(
        &outline,
        &DAffine3::from_quat(DQuat::from_mat3(&glam::DMat3::from_cols(DVec3::Y, DVec3::Z, DVec3::X))),
        0.0,
        70.0,
    );
    assert!(mesh.volume_mm3() > 0.0);
    let wanted = |x: f64| 1.8 + 0.008 * x + 0.35 * libm::cos(TAU * x / 16.7);
    let t = |p: DVec3| wanted(p.x);
    let depth = |p: DVec3| {
        let from = |z: f64| BOW - DVec2::new(p.y, p.z - z).length();
        from(SHIFT).min(from(-SHIFT)).min(p.x).min(70.0 - p.x)
    };
    let area = |x: f64| {
        // Of the lens that the ball's middle keeps to; it turns into what the ball covers.
        let bow = BOW - wanted(x) - R;
        let lap = libm::acos(SHIFT / bow);
        let (area, around) =
            (2.0 * bow * bow * lap - 2.0 * SHIFT * (bow * bow - SHIFT * SHIFT).sqrt(), 4.0 * bow * lap);
        area + around * R + PI * R * R
    };
    let on_the_wall = |p: DVec3| p.y.abs() < 8.0 && (8.0..62.0).contains(&p.x);
    let known = Known { mesh, depth: &depth, on_the_wall: &on_the_wall, span_mm: [8.0, 62.0] };
    check(&known, &t, [1.2, 3.2], 0.15, &area);
}

#[test]
fn an_even_thickness_is_the_even_wall() {
    let body = difference(&sphere(DVec3::ZERO, 16.0, 120), &cuboid(DVec3::splat(2.0), DVec3::splat(20.0))).unwrap();
    let t = |_: DVec3| 2.0;
    let wall = graded(&t, [1.2, 3.2], 0.0);
    let found = try_hollow(&body, &wall).unwrap();
    let even = HollowSpec { wall_mm: 2.0, least_cavity_mm: 2.0 * R, cell_mm: CELL, even_mm: 0.05 };
    let bvh = Bvh::new(&body);
    let exact = hollow(&bvh, body.bounds().unwrap(), &even, &Cancel::default()).unwrap();
    assert!((found.volume_mm3() - exact.volume_mm3()).abs() < 0.005 * exact.area_mm2());
    let worst = {
        let other = Bvh::new(&exact);
        found.vertices.iter().filter_map(|p| other.nearest(*p, 5.0)).map(|n| n.distance_mm).fold(0.0, f64::max)
    };
    assert!(worst < 0.25 * CELL, "{worst}");
}

#[test]
fn limits_hold_where_the_field_goes_beyond_them() {
    let t = |p: DVec3| 0.2 + 0.1 * p.x;
    let wall = graded(&t, [1.2, 2.6], 0.1);
    let body = board_mesh();
    let cavity = try_hollow(&body, &wall).unwrap();
    let report = wall_report(&Bvh::new(&body), &cavity);
    assert!(report.least_mm >= 1.2, "{report:?}");
    let thickest = cavity.vertices.iter().filter(|p| on_the_board(**p)).map(|p| board_depth(*p)).fold(0.0, f64::max);
    assert!((thickest - 2.6).abs() < 0.005, "{thickest}");
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let body = intersection(&sphere(DVec3::ZERO, 20.0, 90), &sphere(DVec3::Z * 22.0, 20.0, 90)).unwrap();
    let t = |p: DVec3| 1.8 + 0.3 * libm::sin(p.x * 0.5);
    let wall = graded(&t, [1.2, 2.4], 0.16);
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| try_hollow(&body, &wall).unwrap())
    };
    let one = run(1);
    assert!(!one.is_empty());
    assert!(one == run(3));
}

#[test]
fn walls_that_are_not_ones_are_refused() {
    let body = board_mesh();
    let even = |_: DVec3| 2.0;
    let refused =
        |t: Field<'_>, limits: [f64; 2], slope: f64| try_hollow(&body, &graded(t, limits, slope)).unwrap_err();
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(refused(&even, [bad, 3.0], 0.1), HollowError::Wall(_)));
    }
    for bad in [1.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(refused(&even, [1.2, bad], 0.1), HollowError::Limits { .. }));
    }
    for bad in [STEEPEST, 2.0, -0.1, f64::NAN] {
        assert!(matches!(refused(&even, [1.2, 3.0], bad), HollowError::Slope(_)));
    }
    let steep = |p: DVec3| 1.3 + 0.2 * (p.x - 30.0).clamp(0.0, 5.0);
    let error = refused(&steep, [1.2, 3.0], 0.1);
    assert!(
        matches!(error, HollowError::Steeper { stated: 0.1, .. }) && error.to_string().contains("0.100 was stated")
    );
    let nowhere = |p: DVec3| if p.x > 30.0 { f64::NAN } else { 2.0 };
    assert!(matches!(refused(&nowhere, [1.2, 3.0], 0.4), HollowError::Thickness(_) | HollowError::Steeper { .. }));
    let half = Bounds { min: DVec3::ZERO, max: DVec3::splat(10.0) };
    let wall = graded(&even, [1.2, 3.0], 0.1);
    let outside = hollow_graded(&Bvh::new(&body), half, &spec(&wall), &Cancel::default());
    assert!(matches!(outside, Err(HollowError::Bounds(_))));
}

#[test]
fn what_is_too_thin_for_its_wall_stays_solid() {
    // 7 mm high: a wall of 1.5 mm leaves 4 mm, one of 2.5 mm only 2 mm, under the ball's 3 mm.
    let plate = cuboid(DVec3::ZERO, DVec3::new(60.0, 30.0, 7.0));
    let t = |p: DVec3| 1.5 + (p.x - 20.0).clamp(0.0, 20.0) * 0.05;
    let wall = graded(&t, [1.2, 2.6], 0.05);
    let cavity = try_hollow(&plate, &wall).unwrap();
    // The ball fits while 7 - 2 t is at least 3: to t = 2, at x = 30, and a little on where it rolls into the wedge.
    let reach = cavity.bounds().unwrap().max.x;
    assert!(reach > 30.0 - CELL && reach < 30.0 + R + 0.1, "{reach}");
}
