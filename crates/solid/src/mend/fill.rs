//! Triangles over a ring of points.

use crate::boolean::triangulate;
use glam::{DVec2, DVec3};

/// Longest ring for [`smoothest`], whose work grows with the third power of it.
pub(super) const LONGEST_RING: usize = 400;

/// The filling that bends least, and among those the smallest: over all ways to lay triangles between the points of a
/// ring, the one whose sharpest edge is the flattest (Liepa, Filling Holes in Meshes, 2003, after Barequet and Sharir,
/// Filling Gaps in the Boundary of a Polyhedron, 1995). `beside` are unit normals of the faces across each side of the
/// ring; `taken` says which pairs of points are an edge already. `None` when every way needs such an edge.
pub(super) fn smoothest(
    ring: &[DVec3],
    beside: &[DVec3],
    taken: impl Fn(usize, usize) -> bool,
) -> Option<Vec<[usize; 3]>> {
    let n = ring.len();
    if !(3..=LONGEST_RING).contains(&n) {
        return None;
    }
    let free = |i: usize, j: usize| j == i + 1 || (i == 0 && j == n - 1) || !taken(i, j);
    let normal = |i: usize, m: usize, j: usize| (ring[m] - ring[i]).cross(ring[j] - ring[i]);
    // For each pair of points the bend and area of the best filling between them, and the corner it puts over them.
    let mut best = vec![(0u32, 0.0f64); n * n];
    let mut over = vec![usize::MAX; n * n];
    let bend = |a: DVec3, b: DVec3| ((1.0 - a.dot(b)) * BEND_STEPS) as u32;
    let unit = |v: DVec3| v.try_normalize().unwrap_or(DVec3::ZERO);
    let side = |over: &[usize], i: usize, j: usize| {
        if j == i + 1 { beside[i] } else { unit(normal(i, over[i * n + j], j)) }
    };
    for gap in 2..n {
        for i in 0..n - gap {
            let j = i + gap;
            let mut found: Option<((u32, f64), usize)> = None;
            for m in i + 1..j {
                let known = |a: usize, b: usize| b == a + 1 || over[a * n + b] != usize::MAX;
                if !free(i, j) || !known(i, m) || !known(m, j) {
                    continue;
                }
                let whole = normal(i, m, j);
                let (up, [left, right]) = (unit(whole), [best[i * n + m], best[m * n + j]]);
                let mut sharpest =
                    left.0.max(right.0).max(bend(up, side(&over, i, m))).max(bend(up, side(&over, m, j)));
                if gap == n - 1 {
                    sharpest = sharpest.max(bend(up, beside[n - 1]));
                }
                let cost = (sharpest, left.1 + right.1 + whole.length());
                if found.is_none_or(|(least, _)| cost.0 < least.0 || (cost.0 == least.0 && cost.1 < least.1)) {
                    found = Some((cost, m));
                }
            }
            if let Some((cost, m)) = found {
                best[i * n + j] = cost;
                over[i * n + j] = m;
            }
        }
    }
    let mut triangles = Vec::with_capacity(n - 2);
    let mut waiting = vec![(0, n - 1)];
    while let Some((i, j)) = waiting.pop() {
        if j == i + 1 {
            continue;
        }
        let m = over[i * n + j];
        if m == usize::MAX {
            return None;
        }
        triangles.push([i, m, j]);
        waiting.extend([(i, m), (m, j)]);
    }
    Some(triangles)
}

/// Bends that differ by less than a hundredth (of one less the cosine of the angle) count as the same.
const BEND_STEPS: f64 = 100.0;

/// A flat lid: the ring seen along its own normal. `None` when it crosses itself there.
pub(super) fn lid(ring: &[DVec3]) -> Option<Vec<[usize; 3]>> {
    let (across, up) = normal(ring).try_normalize()?.any_orthonormal_pair();
    let flat = ring.iter().map(|p| *p - ring[0]).map(|p| DVec2::new(p.dot(across), p.dot(up))).collect();
    let filling = triangulate(&[flat])?;
    let whole = filling.midpoints.is_empty() && filling.triangles.len() == ring.len() - 2;
    whole.then(|| filling.triangles.iter().map(|t| t.map(|k| k as usize)).collect())
}

/// Twice the ring's area along its normal, by Newell's sum.
pub(super) fn normal(ring: &[DVec3]) -> DVec3 {
    let at = |k: usize| ring[k % ring.len()] - ring[0];
    (0..ring.len()).map(|k| at(k).cross(at(k + 1))).sum()
}
