//! A conformal map to begin from: angles kept as far as that goes.

use super::{Numbering, Plane};
use crate::Mesh;
use crate::skyline::Skyline;
use glam::DVec2;

/// Two corners far from each other, by two looks round: the first the farthest from the middle.
pub(super) fn far_apart(mesh: &Mesh) -> [usize; 2] {
    let middle = mesh.bounds().map(|b| b.center()).unwrap_or_default();
    let farthest = |from| {
        let far = |best: (usize, f64), (k, v): (usize, &glam::DVec3)| {
            let d = v.distance_squared(from);
            if d > best.1 { (k, d) } else { best }
        };
        mesh.vertices.iter().enumerate().fold((0, -1.0), far).0
    };
    let a = farthest(middle);
    [a, farthest(mesh.vertices[a])]
}

/// The map that keeps angles best in the sense of least squares, its two held corners as far apart as in space, and then of
/// the patch's own area. `None` where the equations have no answer.
pub(super) fn conformal(mesh: &Mesh, planes: &[Plane], numbers: &Numbering, held: [usize; 2]) -> Option<Vec<DVec2>> {
    let size = 2 * mesh.vertices.len();
    let apart = mesh.vertices[held[0]].distance(mesh.vertices[held[1]]);
    let mut fixed: Vec<Option<f64>> = vec![None; size];
    let places = held.map(|v| 2 * numbers.place[v]);
    for (at, value) in [(places[0], 0.0), (places[0] + 1, 0.0), (places[1], apart), (places[1] + 1, 0.0)] {
        fixed[at] = Some(value);
    }
    let unknowns: Vec<[usize; 6]> = planes.iter().map(|p| numbers.unknowns(p)).collect();
    let blocks: Vec<[Option<usize>; 6]> = unknowns.iter().map(|u| u.map(|k| fixed[k].is_none().then_some(k))).collect();
    let mut matrix = Skyline::for_blocks(size, blocks.iter().map(<[_; 6]>::as_slice));
    let mut right = vec![0.0; size];
    for (plane, mine) in planes.iter().zip(&unknowns) {
        let [a, b, c] = plane.slopes;
        // Slopes of x and y, one turned on the other: x_x = y_y and x_y = -y_x.
        let rows = [[a.x, -a.y, b.x, -b.y, c.x, -c.y], [a.y, a.x, b.y, b.x, c.y, c.x]];
        for row in rows {
            for i in 0..6 {
                if fixed[mine[i]].is_some() {
                    continue;
                }
                for j in 0..6 {
                    let entry = plane.area * row[i] * row[j];
                    match fixed[mine[j]] {
                        Some(value) => right[mine[i]] -= entry * value,
                        None => matrix.add(mine[i], mine[j], entry),
                    }
                }
            }
        }
    }
    for (k, value) in fixed.iter().enumerate() {
        if let Some(value) = value {
            matrix.add(k, k, 1.0);
            right[k] = *value;
        }
    }
    // Corners of triangles without area hang on nothing.
    for k in 0..size {
        if matrix.diagonal(k) == 0.0 {
            matrix.add(k, k, 1.0);
        }
    }
    let found = matrix.factor().ok()?.solve(&right);
    let points: Vec<DVec2> = numbers.place.iter().map(|k| DVec2::new(found[2 * k], found[2 * k + 1])).collect();
    let flat: f64 = planes
        .iter()
        .map(|p| {
            let [a, b, c] = p.corners.map(|v| points[v]);
            (b - a).perp_dot(c - a) * 0.5
        })
        .sum();
    let scale = (planes.iter().map(|p| p.area).sum::<f64>() / flat).sqrt();
    (scale.is_finite() && points.iter().all(|p| p.is_finite())).then(|| points.iter().map(|p| *p * scale).collect())
}

/// How differently a map enlarges: the largest share of a triangle's own area over the smallest.
pub(super) fn stretch(planes: &[Plane], points: &[DVec2]) -> f64 {
    let share = |p: &Plane| {
        let [a, b, c] = p.corners.map(|v| points[v]);
        ((b - a).perp_dot(c - a) * 0.5 / p.area).max(0.0)
    };
    let (low, high) = planes.iter().map(share).fold((f64::INFINITY, 0.0f64), |(l, h), s| (l.min(s), h.max(s)));
    high / low
}
