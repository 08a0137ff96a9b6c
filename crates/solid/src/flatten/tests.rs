//! Against exact developments, and where there is none.

use super::*;
use crate::patch::{finer, ruled_evenly};
use crate::{cone_frustum, cylinder, sphere};
use std::f64::consts::{PI, TAU};

const LIMIT: f64 = 0.01;

/// Slit below.
fn below(p: DVec3) -> DVec2 {
    DVec2::new(p.y, -p.z)
}

fn spec(limit: f64, depth: usize) -> FlattenSpec<'static> {
    FlattenSpec { limit, slit: &below, depth }
}

/// The faces of a solid of revolution about x that look sideways, not finer than needed.
fn wall(solid: &Mesh, longest_mm: f64) -> Mesh {
    let sideways = |t: &u32| solid.area_vector(*t as usize).normalize_or_zero().x.abs() < 0.9;
    let keep: Vec<u32> = (0..solid.triangles.len() as u32).filter(sideways).collect();
    finer(&solid.subset(&keep), longest_mm)
}

/// The part of a surface where a quantity is positive.
fn where_positive(mesh: &Mesh, of: impl Fn(DVec3) -> f64) -> Mesh {
    let values: Vec<f64> = mesh.vertices.iter().map(|v| of(*v)).collect();
    let [_, above] = ruled_evenly(mesh, &values).sides();
    above
}

fn size(flat: &Flat) -> DVec2 {
    let (low, high) =
        flat.points.iter().fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| (l.min(*p), h.max(*p)));
    high - low
}

/// A cylinder's wall, slit, is a rectangle as long as its girth (that of the prism with as many sides, which it is).
#[test]
fn a_cylinder_becomes_its_rectangle() {
    let solid = cylinder(DVec3::ZERO, DVec3::X * 40.0, 20.0, 96);
    let flats = flatten(&wall(&solid, 4.0), &spec(LIMIT, 3)).unwrap();
    let [flat] = &flats[..] else { panic!("{} parts", flats.len()) };
    assert!(flat.slit);
    assert!(flat.edge_error.abs() < 1e-5 && flat.area_error.abs() < 1e-5, "{} {}", flat.edge_error, flat.area_error);
    let girth = 96.0 * 2.0 * 20.0 * libm::sin(PI / 96.0);
    assert!((size(flat) - DVec2::new(girth, 40.0)).abs().max_element() < 0.01, "{}", size(flat));
    // Less than 1 % from the true cylinder's.
    assert!((size(flat).x / (TAU * 20.0) - 1.0).abs() < 0.001);
    let outline = flat.outlines();
    assert_eq!(outline.len(), 1);
    assert!((crate::section::area_mm2(&outline) - girth * 40.0).abs() < 1.0);
}

/// A cone's wall, slit, is the ring sector between its slant heights, over the angle 2 pi r / s (any handbook).
#[test]
fn a_cone_becomes_its_sector() {
    let (r0, r1, high) = (30.0f64, 12.0f64, 50.0f64);
    let solid = cone_frustum(DVec3::ZERO, DVec3::X * high, r0, r1, 120);
    let flats = flatten(&wall(&solid, 4.0), &spec(LIMIT, 3)).unwrap();
    let [flat] = &flats[..] else { panic!("{} parts", flats.len()) };
    assert!(flat.edge_error.abs() < 1e-5 && flat.area_error.abs() < 1e-5, "{} {}", flat.edge_error, flat.area_error);
    let slant = high.hypot(r0 - r1);
    let (outer, inner) = (slant * r0 / (r0 - r1), slant * r1 / (r0 - r1));
    let angle = TAU * r0 / outer;
    let area = 0.5 * angle * (outer * outer - inner * inner);
    let found = flat.area_mm2() * (1.0 + flat.area_error);
    assert!((found / area - 1.0).abs() < 0.001, "{found} {area}");
    // The chord between the sector's far corners, and its rise.
    let box_mm = size(flat);
    let wide = 2.0 * outer * if angle < PI { libm::sin(angle / 2.0) } else { 1.0 };
    assert!((box_mm.x / wide - 1.0).abs() < 0.002, "{box_mm} {wide}");
}

/// A patch that does not go round needs no slit, and its holes stay.
#[test]
fn half_a_cylinder_with_a_hole_stays_whole() {
    let solid = cylinder(DVec3::ZERO, DVec3::X * 60.0, 20.0, 72);
    let half = where_positive(&wall(&solid, 2.0), |p| p.z);
    let holed = where_positive(&half, |p| (p - DVec3::new(30.0, 0.0, 20.0)).length() - 8.0);
    let flats = flatten(&holed, &spec(LIMIT, 3)).unwrap();
    let [flat] = &flats[..] else { panic!("{} parts", flats.len()) };
    assert!(!flat.slit && flat.outlines().len() == 2);
    assert!(flat.edge_error.abs() < 1e-4, "{}", flat.edge_error);
    assert!((size(flat) - DVec2::new(PI * 20.0, 60.0)).abs().max_element() < 0.3, "{}", size(flat));
}

/// No map of a sphere keeps lengths (Gauss 1827). Of a cap of half angle a the best disc in the plane is off by at least a² / 16
/// at its rim or middle (Milnor, *A problem in cartography*, 1969, for the ratio of scales, log sec²(a/2); from memory): told,
/// not hidden.
#[test]
fn a_sphere_s_cap_tells_its_error() {
    let ball = finer(&sphere(DVec3::ZERO, 50.0, 96), 3.0);
    let half_angle: f64 = 0.6;
    let cap = where_positive(&ball, |p| p.normalize().z - libm::cos(half_angle));
    let flats = flatten(&cap, &spec(1.0, 0)).unwrap();
    let [flat] = &flats[..] else { panic!("{} parts", flats.len()) };
    assert!(flat.edge_error.abs() > half_angle * half_angle / 16.0, "{}", flat.edge_error);
    assert!(flat.edge_error.abs() < 0.12 && flat.mean_error > 0.005, "{} {}", flat.edge_error, flat.mean_error);
    // Parts of it are flatter, all of it is there, and each keeps the limit.
    let parts = flatten(&cap, &spec(0.03, 6)).unwrap();
    assert!(parts.len() > 1);
    assert!(
        parts.iter().all(|f| f.edge_error.abs() <= 0.03),
        "{:?}",
        parts.iter().map(|f| f.edge_error).collect::<Vec<_>>()
    );
    let area: f64 = parts.iter().map(Flat::area_mm2).sum();
    assert!((area / cap.area_mm2() - 1.0).abs() < 1e-6);
}

/// A closed ball has no border to begin with: it is parted.
#[test]
fn a_closed_surface_is_parted() {
    let ball = finer(&sphere(DVec3::ZERO, 20.0, 48), 3.0);
    let parts = flatten(&ball, &spec(0.05, 6)).unwrap();
    assert!(parts.len() >= 2);
    let area: f64 = parts.iter().map(Flat::area_mm2).sum();
    assert!((area / ball.area_mm2() - 1.0).abs() < 1e-6);
}

/// A strip bent along a sharp edge, 5 mm to either side of a circle of 60 mm: parted along the edge, each flank is
/// all but flat.
#[test]
fn a_strip_round_a_curved_edge_is_parted_along_it() {
    let mut strip = Mesh::default();
    let (across, along) = (10u32, 160u32);
    for i in 0..=along {
        let (s, c) = libm::sincos(f64::from(i) / f64::from(along) * 1.5);
        for j in 0..=across {
            let off = (f64::from(j) - 5.0) * 1.0;
            let (r, z) = (60.0 - off.abs() * 0.9, off * 0.436);
            strip.vertices.push(DVec3::new(r * c, r * s, z));
        }
    }
    for i in 0..along {
        for j in 0..across {
            let a = i * (across + 1) + j;
            let b = a + across + 1;
            strip.triangles.extend([[a, b, b + 1], [a, b + 1, a + 1]]);
        }
    }
    let whole = flatten(&strip, &spec(1.0, 0)).unwrap();
    assert!(whole[0].edge_error.abs() > 0.03, "{}", whole[0].edge_error);
    let parts = flatten(&strip, &spec(0.03, 4)).unwrap();
    assert_eq!(parts.len(), 2);
    assert!(parts.iter().all(|f| f.edge_error.abs() < 0.005), "{} {}", parts[0].edge_error, parts[1].edge_error);
}

#[test]
fn what_is_no_surface_is_refused() {
    let refused = |mesh: &Mesh| flatten(mesh, &spec(LIMIT, 0)).unwrap_err();
    assert_eq!(refused(&Mesh::default()), FlattenError::Empty);
    let vertices = vec![DVec3::ZERO, DVec3::X, DVec3::Y, DVec3::NEG_Y];
    let same_way = Mesh { vertices: vertices.clone(), triangles: vec![[0, 1, 2], [0, 1, 3]] };
    assert_eq!(refused(&same_way), FlattenError::NoSurface(1));
    let mut wild = Mesh { vertices, triangles: vec![[0, 1, 2]] };
    wild.vertices[0].x = f64::NAN;
    assert_eq!(refused(&wild), FlattenError::NotFinite);
}

/// The same bytes again.
#[test]
fn twice_the_same() {
    let cone = wall(&cone_frustum(DVec3::ZERO, DVec3::X * 30.0, 12.0, 8.0, 40), 3.0);
    let run = || flatten(&cone, &spec(LIMIT, 2)).unwrap();
    assert_eq!(run(), run());
}
