//! Whether two triangles of a surface pass through each other.

use glam::DVec3;

/// A triangle as names and places of its corners; corners with the same name are shared.
pub(super) type Named = [(u32, DVec3); 3];

/// Whether two triangles cross, or lie folded onto each other over an edge they share. Exact up to rounding: triangles
/// that only touch may be told either way.
pub(super) fn cross(a: &Named, b: &Named) -> bool {
    let shared: Vec<u32> = a.iter().map(|c| c.0).filter(|v| b.iter().any(|c| c.0 == *v)).collect();
    match shared[..] {
        [] => edges(a).any(|e| pierces(e, b)) || edges(b).any(|e| pierces(e, a)),
        [v] => {
            let opposite = |t: &Named| edges(t).find(|e| e[0].0 != v && e[1].0 != v);
            opposite(a).is_some_and(|e| pierces(e, b)) || opposite(b).is_some_and(|e| pierces(e, a))
        }
        [u, v] => folded(a, b, u, v),
        _ => true,
    }
}

fn edges(t: &Named) -> impl Iterator<Item = [(u32, DVec3); 2]> {
    [[t[0], t[1]], [t[1], t[2]], [t[2], t[0]]].into_iter()
}

/// Six times the signed volume of a tetrahedron.
fn volume(a: DVec3, b: DVec3, c: DVec3, d: DVec3) -> f64 {
    (b - a).cross(c - a).dot(d - a)
}

/// Whether a segment goes through a triangle's inside.
fn pierces([p, q]: [(u32, DVec3); 2], t: &Named) -> bool {
    let (p, q, [a, b, c]) = (p.1, q.1, t.map(|c| c.1));
    let (above, below) = (volume(a, b, c, p), volume(a, b, c, q));
    if above * below >= 0.0 {
        return false;
    }
    let turns = [volume(p, q, a, b), volume(p, q, b, c), volume(p, q, c, a)];
    turns.iter().all(|v| *v > 0.0) || turns.iter().all(|v| *v < 0.0)
}

/// Whether two triangles on one edge lie on the same side of it, within a thousandth of a radian.
fn folded(a: &Named, b: &Named, u: u32, v: u32) -> bool {
    let place = |t: &Named, v: u32| t.iter().find(|c| c.0 == v).map_or(DVec3::ZERO, |c| c.1);
    let apex = |t: &Named| t.iter().find(|c| c.0 != u && c.0 != v).map_or(DVec3::ZERO, |c| c.1);
    let (foot, Some(axis)) = (place(a, u), (place(a, v) - place(a, u)).try_normalize()) else { return true };
    let out = |t: &Named| {
        let away = apex(t) - foot;
        (away - axis * away.dot(axis)).try_normalize()
    };
    match (out(a), out(b)) {
        (Some(p), Some(q)) => p.dot(q) > 0.0 && p.cross(q).length() < 1e-3,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(names: [u32; 3], places: [[f64; 3]; 3]) -> Named {
        [0, 1, 2].map(|k| (names[k], DVec3::from_array(places[k])))
    }

    #[test]
    fn triangles_cross_fold_or_lie_beside_each_other() {
        let flat = named([0, 1, 2], [[0.0, 0.0, 0.0], [4.0, 0.0, 0.0], [0.0, 4.0, 0.0]]);
        let through = named([3, 4, 5], [[1.0, 1.0, -1.0], [1.0, 1.0, 1.0], [9.0, 9.0, 1.0]]);
        let above = named([3, 4, 5], [[1.0, 1.0, 0.5], [1.0, 1.0, 1.0], [9.0, 9.0, 1.0]]);
        assert!(cross(&flat, &through) && cross(&through, &flat));
        assert!(!cross(&flat, &above));
        let from_corner = named([0, 4, 5], [[0.0, 0.0, 0.0], [1.0, 1.0, 1.0], [1.0, 1.0, -1.0]]);
        assert!(cross(&flat, &from_corner));
        let beside = named([1, 0, 5], [[4.0, 0.0, 0.0], [0.0, 0.0, 0.0], [1.0, -3.0, 0.0]]);
        let onto = named([1, 0, 5], [[4.0, 0.0, 0.0], [0.0, 0.0, 0.0], [1.0, 3.0, 0.0]]);
        assert!(!cross(&flat, &beside) && cross(&flat, &onto));
    }
}
