//! Polygons into triangles.

use crate::boolean;
use glam::{DVec2, DVec3};

/// Appends the triangles of a polygon, which may be concave and need not be quite flat. All its corners are kept, also
/// those in the middle of a straight side, since a neighbour may end there. Fewer than three corners give nothing.
pub(super) fn triangulate(vertices: &[DVec3], polygon: &[u32], triangles: &mut Vec<[u32; 3]>) {
    let at = |corner: u32| vertices[corner as usize];
    match *polygon {
        [] | [_] | [_, _] => {}
        [a, b, c] => triangles.push([a, b, c]),
        [a, b, c, d] => {
            let normal = |p, q, r| (at(q) - at(p)).cross(at(r) - at(p));
            let one_way = normal(a, b, c).dot(normal(a, c, d));
            let other_way = normal(a, b, d).dot(normal(b, c, d));
            let shorter = (at(c) - at(a)).length_squared() <= (at(d) - at(b)).length_squared();
            // A diagonal outside a concave corner turns one of its triangles over.
            let along_ac = if (one_way > 0.0) == (other_way > 0.0) { shorter } else { one_way > 0.0 };
            triangles.extend(if along_ac { [[a, b, c], [a, c, d]] } else { [[a, b, d], [b, c, d]] });
        }
        _ => match clip_ears(vertices, polygon) {
            Some(ears) => triangles.extend(ears),
            // No plane shows it simple. A fan closes the surface at least.
            None => triangles.extend(polygon[1..].windows(2).map(|side| [polygon[0], side[0], side[1]])),
        },
    }
}

/// The triangles of a polygon seen along its normal; `None` when it crosses or touches itself there.
fn clip_ears(vertices: &[DVec3], polygon: &[u32]) -> Option<Vec<[u32; 3]>> {
    let at = |k: usize| vertices[polygon[k % polygon.len()] as usize];
    let origin = at(0);
    // Newell's normal (Sutherland, Sproull and Schumacker 1974): the sum of the sides' cross products.
    let normal: DVec3 = (0..polygon.len()).map(|k| (at(k) - origin).cross(at(k + 1) - origin)).sum();
    let (across, up) = normal.try_normalize()?.any_orthonormal_pair();
    let outline = (0..polygon.len()).map(|k| at(k) - origin).map(|p| DVec2::new(p.dot(across), p.dot(up))).collect();
    let filling = boolean::triangulate(&[outline])?;
    let whole = filling.midpoints.is_empty() && filling.triangles.len() == polygon.len() - 2;
    whole.then(|| filling.triangles.iter().map(|t| t.map(|k| polygon[k as usize])).collect())
}
