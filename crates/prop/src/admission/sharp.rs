//! How sharp edges and points are, measured on the real surface.
//!
//! A place is as round as the largest ball that lies inside the prop and comes within a hair of it: under a rounding of 2 mm lies a
//! ball of 2 mm, and where two faces meet at an angle, one of radius r stays r (1 / sin(angle / 2) - 1) away. So one number holds for
//! roundings, wedges and cones alike, however finely the surface is meshed. Where the ball is stopped by a wall opposite, the prop is
//! thin there, and not sharp.

use crate::outcome::Body;
use rayon::prelude::*;
use solid::{Bvh, DVec3, Mesh};

/// How near the ball must come to an edge, mm: what a bead of plastic rounds off (our choice: half of it). A right angle
/// is then as sharp as a rounding of 0.48 mm.
const EDGE_MM: f64 = 0.2;
/// How near it must come to a point, mm: a corner of a box is then as sharp as a ball of 1.4 mm (our choice).
const POINT_MM: f64 = 1.0;
/// Rounder than this is not told apart, mm.
pub(super) const ROUND_MM: f64 = 8.0;
/// A place curves like a point, not like an edge, when it does so at least this much across its sharpest way (our choice).
const LIKE_A_POINT: f64 = 0.25;
/// Flatter than this a vertex bends nothing, and steeper it is a crease, degrees between its normal and a face's.
const FLAT_DEG: f64 = 0.5;
const CREASE_DEG: f64 = 15.0;
/// What stops a ball lies opposite when it is seen from its middle at more than 100 degrees from the place: cosine.
const OPPOSITE: f64 = -0.17;
/// Another body this near covers a place, mm.
const COVERED_MM: f64 = 0.5;
/// Vertices looked at by one thread at a time: each knows only what it found itself, so that any number of threads find the same.
const AT_ONCE: usize = 2048;

/// The sharpest place of a kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Sharp {
    /// Radius of the ball, mm; at most 8.
    pub radius_mm: f64,
    /// Angle of the clean wedge, or of the cone, that is as sharp, degrees.
    pub wedge_deg: f64,
    /// Where, prop frame.
    pub at: DVec3,
    /// Which body.
    pub body: String,
}

/// The sharpest edge and the sharpest point of all bodies together; `None` where nothing is sharper than a rounding of 8 mm.
pub fn sharpest(bodies: &[Body]) -> [Option<Sharp>; 2] {
    let surfaces: Vec<Bvh> = bodies.iter().map(|b| Bvh::new(&b.mesh)).collect();
    let mut least: [Option<Sharp>; 2] = [None, None];
    for (k, body) in bodies.iter().enumerate() {
        let others: Vec<&Bvh> = surfaces.iter().enumerate().filter(|(j, _)| *j != k).map(|(_, s)| s).collect();
        for (all, found) in least.iter_mut().zip(of_body(&body.mesh, &surfaces[k], &others)) {
            let Some((radius_mm, at, near)) = found else { continue };
            if all.as_ref().is_none_or(|a| radius_mm < a.radius_mm) {
                let half = libm::asin(radius_mm / (radius_mm + near));
                *all = Some(Sharp { radius_mm, wedge_deg: 2.0 * half.to_degrees(), at, body: body.name.clone() });
            }
        }
    }
    least
}

/// Radius, place and the tolerance with which it was found.
type Found = Option<(f64, DVec3, f64)>;

fn of_body(mesh: &Mesh, surface: &Bvh, others: &[&Bvh]) -> [Found; 2] {
    let bends = bends(mesh);
    let starts: Vec<usize> = (0..mesh.vertices.len()).step_by(AT_ONCE).collect();
    let looked: Vec<[Found; 2]> = starts
        .par_iter()
        .map(|&start| {
            let mut least: [Found; 2] = [None, None];
            for (&p, bend) in mesh.vertices.iter().zip(&bends).skip(start).take(AT_ONCE) {
                let Some(bend) = bend else { continue };
                let covered = |s: &&Bvh| s.nearest(p, COVERED_MM).is_some() || s.is_inside(p);
                // A point is an edge too.
                for (kind, near) in [(0, EDGE_MM), (1, POINT_MM)] {
                    let most = least[kind].map_or(ROUND_MM, |f: (f64, DVec3, f64)| f.0);
                    if kind == 1 && !bend.pointed || room(surface, p, -bend.normal, most + near) >= most {
                        continue;
                    }
                    let (radius, opposite) = ball_mm(surface, p, -bend.normal, near);
                    let thin = opposite && !bend.crease;
                    if radius < most && !thin && !others.iter().any(covered) {
                        least[kind] = Some((radius, p, near));
                    }
                }
            }
            least
        })
        .collect();
    let smaller = |a: Found, b: Found| match (a, b) {
        (Some(x), Some(y)) => Some(if y.0 < x.0 { y } else { x }),
        (a, b) => a.or(b),
    };
    looked.into_iter().fold([None, None], |all, found| [smaller(all[0], found[0]), smaller(all[1], found[1])])
}

/// How far the surface is from a point so far inwards, mm.
fn room(surface: &Bvh, p: DVec3, inwards: DVec3, depth_mm: f64) -> f64 {
    surface.nearest(p + inwards * depth_mm, depth_mm * 1.01 + 1e-6).map_or(depth_mm, |n| n.distance_mm)
}

/// The radius of the largest ball whose surface comes within `near` of a place, and whether it is stopped from opposite. Its middle is
/// looked for straight inwards, then to the sides, for the direction inwards is known only as well as the mesh is fine.
fn ball_mm(surface: &Bvh, p: DVec3, inwards: DVec3, near: f64) -> (f64, bool) {
    let (mut best, mut way) = (straight(surface, p, inwards, near), inwards);
    let (mut step, side) = (0.4, inwards.any_orthonormal_vector());
    let other = inwards.cross(side);
    while step > 0.02 {
        let tried = [side, -side, other, -other].map(|d| (way + d * step).normalize());
        let better = tried.into_iter().map(|w| (straight(surface, p, w, near), w)).find(|t| t.0 > best + 1e-4);
        match better {
            Some(found) => (best, way) = found,
            None => step *= 0.5,
        }
    }
    let middle = p + way * (best + near + 1e-3);
    let stop = surface.nearest(middle, f64::INFINITY).map_or(p, |n| n.point);
    let opposite = (p - middle).normalize_or_zero().dot((stop - middle).normalize_or_zero()) < OPPOSITE;
    (best, opposite)
}

/// The same in one direction: the further in, the further its surface lies behind the place, and never nearer again. Nothing where
/// that leads out of the prop.
fn straight(surface: &Bvh, p: DVec3, inwards: DVec3, near: f64) -> f64 {
    let (mut low, mut high) = (0.0, ROUND_MM + near);
    for _ in 0..18 {
        let depth = 0.5 * (low + high);
        if depth - room(surface, p, inwards, depth) <= near { low = depth } else { high = depth }
    }
    // Beside a thin edge there is room enough, outside.
    if surface.is_inside(p + inwards * low) { (low - near).max(0.0) } else { 0.0 }
}

/// How the surface bends at a vertex.
struct Bend {
    /// Outwards.
    normal: DVec3,
    /// Whether it curves like a point.
    pointed: bool,
    /// Whether faces meet there at an angle.
    crease: bool,
}

/// For each vertex its bend; `None` where it is flat.
fn bends(mesh: &Mesh) -> Vec<Option<Bend>> {
    let n = mesh.vertices.len();
    let mut sum = vec![DVec3::ZERO; n];
    let mut faces: Vec<Vec<u32>> = vec![Vec::new(); n];
    for (t, triangle) in mesh.triangles.iter().enumerate() {
        let normal = mesh.area_vector(t).normalize_or_zero();
        let corners = mesh.corners(t);
        for k in 0..3 {
            let (a, b) = (corners[(k + 1) % 3] - corners[k], corners[(k + 2) % 3] - corners[k]);
            // Weighted by the angle at the corner (Thürmer and Wüthrich 1998): finer triangles on one side turn nothing.
            let angle = libm::acos((a.normalize_or_zero().dot(b.normalize_or_zero())).clamp(-1.0, 1.0));
            sum[triangle[k] as usize] += normal * angle;
            faces[triangle[k] as usize].push(t as u32);
        }
    }
    let [flat, crease] = [FLAT_DEG, CREASE_DEG].map(|d| libm::cos(d.to_radians()));
    let bend = |v: usize| {
        let normal = sum[v].normalize_or_zero();
        let leans = |t: &u32| mesh.area_vector(*t as usize).normalize_or_zero().dot(normal);
        let steepest = faces[v].iter().map(leans).fold(1.0, f64::min);
        let bent = normal != DVec3::ZERO && steepest < flat;
        bent.then(|| Bend { normal, pointed: is_pointed(mesh, &faces[v], normal), crease: steepest < crease })
    };
    (0..n).map(bend).collect()
}

/// Whether the faces round a vertex lean away from its normal to all sides: by the spread of their normals across it.
fn is_pointed(mesh: &Mesh, faces: &[u32], normal: DVec3) -> bool {
    let side = normal.any_orthonormal_vector();
    let other = normal.cross(side);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for &t in faces {
        let face = mesh.area_vector(t as usize).normalize_or_zero();
        let (x, y) = (face.dot(side), face.dot(other));
        (xx, xy, yy) = (xx + x * x, xy + x * y, yy + y * y);
    }
    let (middle, apart) = (0.5 * (xx + yy), (0.25 * (xx - yy) * (xx - yy) + xy * xy).sqrt());
    let (most, least) = (middle + apart, middle - apart);
    // Spreads go with the square of the bend.
    most > 0.0 && least >= LIKE_A_POINT * LIKE_A_POINT * most
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::Role;
    use solid::{DAffine3, DVec2, cone_frustum, cuboid, prism, sphere};

    fn of(mesh: Mesh) -> [Option<Sharp>; 2] {
        let bounds = mesh.bounds().expect("a solid");
        sharpest(&[Body { name: "it".into(), role: Role::Plain, mesh, station_mm: [bounds.min.x, bounds.max.x] }])
    }

    #[test]
    fn a_box_has_right_angles_and_corners() {
        let [edge, point] = of(cuboid(DVec3::ZERO, DVec3::new(60.0, 40.0, 30.0)));
        let (edge, point) = (edge.expect("an edge"), point.expect("a corner"));
        // Pythagoras: a ball of radius r lies r (sqrt 3 - 1) from a corner of a box, which is sharper than an edge.
        assert!((edge.radius_mm - 0.2 / (3.0_f64.sqrt() - 1.0)).abs() < 0.01, "{edge:?}");
        assert!((point.radius_mm - 1.0 / (3.0_f64.sqrt() - 1.0)).abs() < 0.05, "{point:?}");
    }

    #[test]
    fn a_rounded_pin_is_as_round_as_its_end() {
        // A pin of 6 mm, its end half a ball.
        let ring = |k: usize| {
            let turn = 0.5 * std::f64::consts::PI * k as f64 / 16.0;
            let (x, r) = (3.0 - 3.0 * libm::cos(turn), 3.0 * libm::sin(turn));
            let corner = |j: usize| std::f64::consts::TAU * j as f64 / 48.0;
            (0..48).map(|j| DVec3::new(x, r * libm::cos(corner(j)), r * libm::sin(corner(j)))).collect::<Vec<_>>()
        };
        let mut rings = vec![vec![DVec3::ZERO]];
        rings.extend((1..=16).map(ring));
        rings.push(ring(16).into_iter().map(|p| p + DVec3::X * 40.0).collect());
        let [edge, point] = of(solid::loft(&rings));
        let (edge, point) = (edge.expect("its other end"), point.expect("the end"));
        // Facets lie a little inside; the other end is cut square.
        assert!((2.85..3.2).contains(&point.radius_mm) && point.at.x < 3.1, "{point:?}");
        assert!((0.4..0.5).contains(&edge.radius_mm) && edge.at.x > 42.0, "{edge:?}");
        assert_eq!(of(sphere(DVec3::ZERO, 30.0, 48)), [None, None]);
    }

    /// Euclid: a ball of radius r in a wedge of an angle stays r (1 / sin(angle / 2) - 1) from its edge, and as far from the
    /// point of a cone of that angle.
    #[test]
    fn a_wedge_is_as_sharp_as_its_angle() {
        for deg in [20.0_f64, 45.0, 70.0] {
            let half = (0.5 * deg).to_radians();
            let kite = [[0.0, 0.0], [40.0, -40.0 * libm::tan(half)], [80.0, 0.0], [40.0, 40.0 * libm::tan(half)]]
                .map(DVec2::from);
            let [edge, _] = of(prism(&kite, &DAffine3::IDENTITY, 0.0, 100.0));
            let edge = edge.expect("a wedge");
            // Its ends are corners, sharper than the edge: more than half of what the edge alone would be.
            let want = EDGE_MM / (1.0 / libm::sin(half) - 1.0);
            assert!((0.5 * want..=1.01 * want).contains(&edge.radius_mm), "{deg}: {edge:?} for {want}");
            assert!(edge.at.y.abs() < 1e-9, "{deg}: {edge:?}");
            let spike = cone_frustum(DVec3::ZERO, DVec3::X * 60.0, 0.0, 60.0 * libm::tan(half), 96);
            let [_, point] = of(spike);
            let (point, want) = (point.expect("a point"), POINT_MM / (1.0 / libm::sin(half) - 1.0));
            assert!((point.radius_mm / want - 1.0).abs() < 0.03, "{deg}: {point:?} for {want}");
            assert!((point.wedge_deg / deg - 1.0).abs() < 0.03 && point.at.length() < 1e-9, "{point:?}");
        }
    }

    #[test]
    fn a_thin_board_with_round_edges_is_not_sharp() {
        // 4 mm thick, its long edges half rounds of 2 mm: a face that bends a little is thin, not sharp.
        let turn = |k: usize| std::f64::consts::PI * (k as f64 / 24.0 - 0.5);
        let round =
            |k: usize, x: f64, s: f64| DVec2::new(x + s * 2.0 * libm::cos(turn(k)), s * 2.0 * libm::sin(turn(k)));
        let outline: Vec<DVec2> =
            (0..=24).map(|k| round(k, 30.0, 1.0)).chain((0..=24).map(|k| round(k, -30.0, -1.0))).collect();
        let board = prism(&outline, &DAffine3::IDENTITY, 0.0, 200.0);
        let inner = Body { name: "it".into(), role: Role::Plain, mesh: board.clone(), station_mm: [0.0, 200.0] };
        // Caps hide the ends, which are cut square.
        let cap = |from: f64, to: f64| Body {
            name: "cap".into(),
            role: Role::Plain,
            mesh: solid::cylinder(DVec3::Z * from, DVec3::Z * to, 60.0, 256),
            station_mm: [from, to],
        };
        let [edge, _] = sharpest(&[inner, cap(-40.0, 20.0), cap(180.0, 240.0)]);
        // The caps' own rims are sharper than that.
        let edge = edge.expect("a rim");
        assert!(edge.body == "cap" && (edge.radius_mm - 0.48).abs() < 0.03, "{edge:?}");
        let [edge, _] = of(board);
        assert!(edge.is_some_and(|e| e.radius_mm < 0.5));
    }
}
