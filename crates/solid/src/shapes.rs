//! Closed, outward-facing building blocks, and block figures to engrave.
//!
//! Every shape comes out empty when a size is not positive and finite, so that nothing degenerate is ever built.

use std::f64::consts::PI;

use glam::{DAffine3, DVec2, DVec3};

use crate::Mesh;
use crate::boolean::triangulate;

/// The box between two opposite corners, mm.
pub fn cuboid(min: DVec3, max: DVec3) -> Mesh {
    if !(max - min).is_finite() || (max - min).min_element() <= 0.0 {
        return Mesh::default();
    }
    let ring = |z: f64| {
        [(min.x, min.y), (max.x, min.y), (max.x, max.y), (min.x, max.y)].map(|(x, y)| DVec3::new(x, y, z)).to_vec()
    };
    loft(&[ring(min.z), ring(max.z)])
}

/// A cylinder between two points, its corners **on** the circle: flat to flat it is narrower by the factor
/// cos(pi / `segments`). For a hole that must clear a round bar take [`around_mm`] as the radius.
pub fn cylinder(from: DVec3, to: DVec3, radius_mm: f64, segments: u32) -> Mesh {
    cone_frustum(from, to, radius_mm, radius_mm, segments)
}

/// The corner radius of a regular polygon whose flats touch a circle of `radius_mm` from outside.
pub fn around_mm(radius_mm: f64, segments: u32) -> f64 {
    radius_mm / libm::cos(PI / f64::from(segments.max(3)))
}

/// A cone between two points with radius `r0_mm` at `from` and `r1_mm` at `to`, corners on the circles; one of the
/// radii may be 0 for a point. At least 3 segments are used.
pub fn cone_frustum(from: DVec3, to: DVec3, r0_mm: f64, r1_mm: f64, segments: u32) -> Mesh {
    let axis = to - from;
    let fits = axis.is_finite() && from.is_finite() && axis.length() > 0.0;
    if !fits || !r0_mm.is_finite() || !r1_mm.is_finite() || r0_mm.min(r1_mm) < 0.0 || r0_mm.max(r1_mm) <= 0.0 {
        return Mesh::default();
    }
    let (x, y) = (axis / axis.length()).any_orthonormal_pair();
    let ring = |center: DVec3, radius: f64| -> Vec<DVec3> {
        circle(segments).map(|c| center + (x * c.x + y * c.y) * radius).collect()
    };
    let end = |center: DVec3, radius: f64| if radius > 0.0 { ring(center, radius) } else { vec![center] };
    loft(&[end(from, r0_mm), end(to, r1_mm)])
}

/// A ball with its poles along z and corners on the sphere: `segments` around the equator (at least 4), half as many
/// bands from pole to pole.
pub fn sphere(center: DVec3, radius_mm: f64, segments: u32) -> Mesh {
    if !center.is_finite() || !radius_mm.is_finite() || radius_mm <= 0.0 {
        return Mesh::default();
    }
    let segments = segments.max(4);
    let bands = segments / 2;
    let mut rings = vec![vec![center - DVec3::Z * radius_mm]];
    for band in 1..bands {
        let (sin, cos) = libm::sincos(PI * f64::from(band) / f64::from(bands));
        rings.push(circle(segments).map(|c| center + DVec3::new(c.x * sin, c.y * sin, -cos) * radius_mm).collect());
    }
    rings.push(vec![center + DVec3::Z * radius_mm]);
    loft(&rings)
}

/// An outline in the x, y plane of `place`, extruded along its z from `from_mm` to `to_mm`. The outline is simple and
/// may be concave; repeated points are dropped.
pub fn prism(outline: &[DVec2], place: &DAffine3, from_mm: f64, to_mm: f64) -> Mesh {
    let mut outline = outline.to_vec();
    outline.dedup();
    while outline.len() > 1 && outline.first() == outline.last() {
        outline.pop();
    }
    let ring = |z: f64| outline.iter().map(|p| place.transform_point3(p.extend(z))).collect::<Vec<_>>();
    if from_mm == to_mm { Mesh::default() } else { loft(&[ring(from_mm), ring(to_mm)]) }
}

/// A skin through sections of equally many points, joined point to point, the ends closed by flat fillings. A first or
/// last section of a single point makes a tip. Empty with fewer than two sections, sections of different length or a
/// coordinate that is not finite.
///
/// The mesh is closed and faces outwards whichever way round the sections run; that it doesn't cross itself is up to
/// the sections.
pub fn loft(sections: &[Vec<DVec3>]) -> Mesh {
    let count = sections.iter().map(Vec::len).max().unwrap_or(0);
    let last = sections.len().saturating_sub(1);
    let tip_or_ring = |(i, s): (usize, &Vec<DVec3>)| s.len() == count || (s.len() == 1 && (i == 0 || i == last));
    let rings = sections.iter().filter(|s| s.len() == count).count();
    if count < 3
        || last < 1
        || rings < 1
        || !sections.iter().enumerate().all(tip_or_ring)
        || !sections.iter().flatten().all(|p| p.is_finite())
    {
        return Mesh::default();
    }
    let mut mesh = Mesh::default();
    let mut starts = Vec::with_capacity(sections.len());
    for section in sections {
        starts.push(mesh.vertices.len() as u32);
        mesh.vertices.extend_from_slice(section);
    }
    for (i, pair) in sections.windows(2).enumerate() {
        join(&mut mesh, (starts[i], pair[0].len() as u32), (starts[i + 1], pair[1].len() as u32));
    }
    if sections[0].len() > 1 {
        close(&mut mesh, starts[0], &sections[0], true);
    }
    if sections[last].len() > 1 {
        close(&mut mesh, starts[last], &sections[last], false);
    }
    match mesh.volume_mm3() {
        v if v < 0.0 => mesh.reversed(),
        v if v > 0.0 => mesh,
        _ => Mesh::default(),
    }
}

/// Block figures `height_mm` tall, centred on the origin, as counter-clockwise rectangles that never touch: the strokes
/// stand apart by a quarter of their width, so that each can be extruded and cut by itself. Characters other than 0-9
/// and the minus sign leave an empty place. Nothing comes out unless the height exceeds four stroke widths.
pub fn digits(text: &str, height_mm: f64, stroke_mm: f64) -> Vec<Vec<DVec2>> {
    if !(height_mm.is_finite() && stroke_mm > 0.0 && height_mm > 4.0 * stroke_mm) {
        return Vec::new();
    }
    let gap = stroke_mm / 4.0;
    let width = (height_mm * 0.55).max(3.0 * stroke_mm);
    let advance = width + 1.5 * stroke_mm;
    let places = text.chars().count() as f64;
    let mut x = -(places * advance - 1.5 * stroke_mm) / 2.0;
    let mut outlines = Vec::new();
    // Lines across at the bottom, middle and top; uprights fill what lies between them.
    let low = -height_mm / 2.0;
    let middle = -stroke_mm / 2.0;
    let high = height_mm / 2.0 - stroke_mm;
    let (lower, upper) = ((low + stroke_mm + gap, middle - gap), (middle + stroke_mm + gap, high - gap));
    for c in text.chars() {
        let right = x + width - stroke_mm;
        let strokes = [
            (x, x + width, low, low + stroke_mm),
            (x, x + width, middle, middle + stroke_mm),
            (x, x + width, high, high + stroke_mm),
            (x, x + stroke_mm, lower.0, lower.1),
            (right, right + stroke_mm, lower.0, lower.1),
            (x, x + stroke_mm, upper.0, upper.1),
            (right, right + stroke_mm, upper.0, upper.1),
        ];
        for (k, (x0, x1, y0, y1)) in strokes.into_iter().enumerate() {
            if figure(c) >> k & 1 == 1 {
                outlines.push([(x0, y0), (x1, y0), (x1, y1), (x0, y1)].map(DVec2::from).to_vec());
            }
        }
        x += advance;
    }
    outlines
}

/// Which strokes a figure has, one bit each: bottom, middle, top, lower left, lower right, upper left, upper right.
fn figure(c: char) -> u8 {
    match c {
        '0' => 0b111_1101,
        '1' => 0b101_0000,
        '2' => 0b100_1111,
        '3' => 0b101_0111,
        '4' => 0b111_0010,
        '5' => 0b011_0111,
        '6' => 0b011_1111,
        '7' => 0b101_0100,
        '8' => 0b111_1111,
        '9' => 0b111_0111,
        '-' => 0b000_0010,
        _ => 0,
    }
}

/// Points around the unit circle.
fn circle(segments: u32) -> impl Iterator<Item = DVec2> {
    let segments = segments.max(3);
    (0..segments).map(move |k| {
        let (sin, cos) = libm::sincos(2.0 * PI * f64::from(k) / f64::from(segments));
        DVec2::new(cos, sin)
    })
}

/// The band between two rings (first vertex, count), or between a ring and a tip.
fn join(mesh: &mut Mesh, low: (u32, u32), high: (u32, u32)) {
    let count = low.1.max(high.1);
    for k in 0..count {
        let next = (k + 1) % count;
        let (a, b) = (low.0 + k % low.1, low.0 + next % low.1);
        let (c, d) = (high.0 + next % high.1, high.0 + k % high.1);
        let across = |p: u32, q: u32| mesh.vertices[p as usize].distance_squared(mesh.vertices[q as usize]);
        if a == b {
            mesh.triangles.push([a, c, d]);
        } else if c == d {
            mesh.triangles.push([a, b, c]);
        } else if across(a, c) <= across(b, d) {
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        } else {
            mesh.triangles.extend([[a, b, d], [b, c, d]]);
        }
    }
}

/// Fills a ring flat; a ring that can't be filled from its corners gets a fan about its middle.
fn close(mesh: &mut Mesh, start: u32, ring: &[DVec3], first: bool) {
    let count = ring.len() as u32;
    let normal = (0..ring.len()).map(|k| ring[k].cross(ring[(k + 1) % ring.len()])).sum::<DVec3>();
    let middle = ring.iter().sum::<DVec3>() / f64::from(count);
    let flat = normal.try_normalize().and_then(|n| {
        let (x, y) = n.any_orthonormal_pair();
        triangulate(&[ring.iter().map(|p| DVec2::new((p - middle).dot(x), (p - middle).dot(y))).collect()])
    });
    let base = mesh.vertices.len() as u32;
    let (filling, extra) = match flat {
        Some(filling) => {
            let between = |m: &[u32; 2], known: &[DVec3]| {
                let at = |v: u32| if v < count { ring[v as usize] } else { known[(v - count) as usize] };
                (at(m[0]) + at(m[1])) * 0.5
            };
            let mut extra = Vec::new();
            for m in &filling.midpoints {
                extra.push(between(m, &extra));
            }
            (filling.triangles, extra)
        }
        None => ((0..count).map(|k| [k, (k + 1) % count, count]).collect(), vec![middle]),
    };
    mesh.vertices.extend(extra);
    for t in filling {
        let [a, b, c] = t.map(|v| if v < count { start + v } else { base + v - count });
        mesh.triangles.push(if first { [a, c, b] } else { [a, b, c] });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn closed(mesh: &Mesh) -> bool {
        !mesh.is_empty() && mesh.edge_census().is_closed() && mesh.volume_mm3() > 0.0
    }

    #[test]
    fn a_box_is_a_box() {
        let b = cuboid(DVec3::new(-1.0, 0.0, 2.0), DVec3::new(1.0, 3.0, 6.0));
        assert!(closed(&b));
        assert_eq!((b.volume_mm3(), b.area_mm2(), b.triangles.len()), (24.0, 52.0, 12));
        assert!(cuboid(DVec3::ONE, DVec3::ONE).is_empty());
        assert!(cuboid(DVec3::ZERO, DVec3::new(1.0, f64::INFINITY, 1.0)).is_empty());
    }

    #[test]
    fn round_shapes_hold_what_their_polygons_hold() {
        // Area of a regular n-gon inscribed in a circle: n/2 r^2 sin(2 pi / n).
        let gon = |r: f64, n: f64| n / 2.0 * r * r * libm::sin(2.0 * PI / n);
        let (from, to) = (DVec3::new(1.0, 2.0, 3.0), DVec3::new(4.0, -2.0, 8.0));
        let length = from.distance(to);
        let rod = cylinder(from, to, 2.5, 24);
        assert!(closed(&rod));
        assert!((rod.volume_mm3() - gon(2.5, 24.0) * length).abs() < 1e-9);
        // A frustum of any base: h/3 (A + B + sqrt(A B)).
        let cone = cone_frustum(from, to, 3.0, 1.0, 16);
        let (a, b) = (gon(3.0, 16.0), gon(1.0, 16.0));
        assert!(closed(&cone));
        assert!((cone.volume_mm3() - length / 3.0 * (a + b + (a * b).sqrt())).abs() < 1e-9);
        for tip in [cone_frustum(from, to, 0.0, 2.0, 9), cone_frustum(from, to, 2.0, 0.0, 9)] {
            assert!(closed(&tip));
            assert!((tip.volume_mm3() - length / 3.0 * gon(2.0, 9.0)).abs() < 1e-9);
        }
        let ball = sphere(DVec3::X, 5.0, 200);
        let exact = 4.0 / 3.0 * PI * 125.0;
        assert!(closed(&ball));
        assert!(ball.volume_mm3() < exact && ball.volume_mm3() > exact * 0.999);
    }

    #[test]
    fn a_hole_around_a_bar_clears_it() {
        let radius = around_mm(3.0, 12);
        let hole = cylinder(DVec3::ZERO, DVec3::Z, radius, 12);
        let nearest = (0..12)
            .map(|k| (hole.vertices[k] + hole.vertices[(k + 1) % 12]).truncate().length() / 2.0)
            .fold(f64::INFINITY, f64::min);
        assert!((nearest - 3.0).abs() < 1e-12);
    }

    #[test]
    fn a_concave_outline_extrudes_either_way_round() {
        let arrow = [(0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (4.0, 4.0), (4.0, 10.0), (0.0, 10.0), (0.0, 0.0)];
        let mut outline: Vec<DVec2> = arrow.into_iter().map(DVec2::from).collect();
        let place = DAffine3::from_translation(DVec3::new(5.0, 6.0, 7.0));
        for _ in 0..2 {
            let l = prism(&outline, &place, -1.0, 2.0);
            assert!(closed(&l));
            assert!((l.volume_mm3() - 64.0 * 3.0).abs() < 1e-9);
            outline.reverse();
        }
        assert!(prism(&outline, &place, 1.0, 1.0).is_empty());
    }

    #[test]
    fn uneven_sections_are_refused() {
        let ring = |n: usize, z: f64| circle(n as u32).map(|p| p.extend(z)).collect::<Vec<_>>();
        assert!(loft(&[ring(5, 0.0), ring(6, 1.0)]).is_empty());
        assert!(loft(&[ring(5, 0.0)]).is_empty());
        assert!(loft(&[ring(5, 0.0), vec![DVec3::Z], ring(5, 2.0)]).is_empty());
        assert!(loft(&[vec![DVec3::ZERO], vec![DVec3::Z]]).is_empty());
        assert!(loft(&[ring(5, 0.0), ring(5, f64::NAN)]).is_empty());
    }

    #[test]
    fn figures_are_separate_strokes_about_the_middle() {
        let eight = digits("8", 10.0, 1.0);
        assert_eq!(eight.len(), 7);
        let all = digits("0123456789-", 12.0, 1.5);
        assert_eq!(all.len(), 6 + 2 + 5 + 5 + 4 + 5 + 6 + 3 + 7 + 6 + 1);
        let (mut low, mut high) = (DVec2::MAX, DVec2::MIN);
        for p in all.iter().flatten() {
            (low, high) = (low.min(*p), high.max(*p));
        }
        assert!((high.y - 6.0).abs() < 1e-12 && (low.y + 6.0).abs() < 1e-12);
        assert!((high.x + low.x).abs() < 1e-9);
        for (i, a) in all.iter().enumerate() {
            assert!((a[1] - a[0]).perp_dot(a[2] - a[1]) > 0.0);
            for b in &all[..i] {
                let clear = (a[0] - b[2]).max(b[0] - a[2]).max_element();
                assert!(clear > 0.3, "strokes {a:?} and {b:?} touch");
            }
        }
        assert!(digits("1", 3.0, 1.0).is_empty());
        assert!(digits("A", 10.0, 1.0).is_empty());
        // Figures differ from each other.
        let mut kinds: Vec<u8> = ('0'..='9').map(figure).collect();
        kinds.sort_unstable();
        kinds.dedup();
        assert_eq!(kinds.len(), 10);
    }

    proptest! {
        #[test]
        fn any_star_extrudes_closed(radii in prop::collection::vec(1.0..10.0f64, 3..40), height in 0.1..5.0f64) {
            let n = radii.len() as u32;
            let outline: Vec<DVec2> = circle(n).zip(&radii).map(|(c, r)| c * *r).collect();
            let area: f64 = (0..outline.len()).map(|k| outline[k].perp_dot(outline[(k + 1) % outline.len()])).sum::<f64>() / 2.0;
            let star = prism(&outline, &DAffine3::IDENTITY, 0.0, height);
            prop_assert!(closed(&star));
            prop_assert!((star.volume_mm3() - area * height).abs() < 1e-9 * area.max(1.0) * height.max(1.0));
        }
    }
}
