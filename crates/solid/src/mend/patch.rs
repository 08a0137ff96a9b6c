//! A filling as fine as the mesh around it, and as smooth.

use glam::DVec3;
use std::collections::BTreeSet;

/// A patch over a ring: the ring's points come first and never move.
#[derive(Clone)]
pub(super) struct Patch {
    pub(super) points: Vec<DVec3>,
    pub(super) triangles: Vec<[usize; 3]>,
    /// How many of the points are the ring.
    pub(super) ring: usize,
}

/// Most points of a patch; a larger one stays as coarse as it is.
const MOST_POINTS: usize = 20_000;
/// An inner edge this much longer than all edges of the mesh at its ends is halved.
const LONG: f64 = 1.1;

impl Patch {
    /// Splits triangles until they are as small as the sides of the ring near them, turning edges as it goes (Liepa,
    /// Filling Holes in Meshes, 2003, after Pfeifle and Seidel 1996), then inner edges that are still longer than those of
    /// the mesh around. `taken`: pairs of ring points that are an edge of that mesh already; `around` as for
    /// [`Patch::fair`].
    pub(super) fn refine(&mut self, taken: impl Fn(usize, usize) -> bool, around: &[Vec<DVec3>]) {
        let n = self.ring;
        let side = |k: usize| self.points[k % n].distance(self.points[(k + 1) % n]);
        let mut scale: Vec<f64> = (0..n).map(|k| (side(k) + side(k + n - 1)) / 2.0).collect();
        let beyond = |k: usize| around[k].iter().map(|p| p.distance(self.points[k])).fold(0.0, f64::max);
        let mut longest: Vec<f64> = (0..n).map(|k| side(k).max(side(k + n - 1)).max(beyond(k))).collect();
        self.relax(&taken);
        for _ in 0..16 {
            if !self.split_wide(&mut scale, &mut longest) && !self.split_long(&mut scale, &mut longest) {
                break;
            }
            self.relax(&taken);
        }
    }

    /// Splits each triangle in three whose corners all lie further from its middle than the sides near them are long, and
    /// says whether there was one.
    fn split_wide(&mut self, scale: &mut Vec<f64>, longest: &mut Vec<f64>) -> bool {
        let mut split = false;
        for t in 0..self.triangles.len() {
            let corners = self.triangles[t];
            let middle = corners.iter().map(|v| self.points[*v]).sum::<DVec3>() / 3.0;
            let here = corners.iter().map(|v| scale[*v]).sum::<f64>() / 3.0;
            let wide = |v: &usize| {
                let away = std::f64::consts::SQRT_2 * middle.distance(self.points[*v]);
                away > here && away > scale[*v]
            };
            if corners.iter().all(wide) && self.points.len() < MOST_POINTS {
                let m = self.points.len();
                self.points.push(middle);
                scale.push(here);
                longest.push(corners.iter().map(|v| longest[*v]).sum::<f64>() / 3.0);
                let [a, b, c] = corners;
                self.triangles[t] = [a, b, m];
                self.triangles.extend([[b, c, m], [c, a, m]]);
                split = true;
            }
        }
        split
    }

    /// Halves inner edges that are too long, the longest first and one for each triangle, and says whether there was one. In a
    /// hole with few sides no triangle is wide, and an edge over what was a corner is a chord under the surface.
    fn split_long(&mut self, scale: &mut Vec<f64>, longest: &mut Vec<f64>) -> bool {
        let mut long: Vec<(f64, [usize; 2], [usize; 2])> = Vec::new();
        for pair in self.edges().chunk_by(|a, b| a.0 == b.0).filter(|g| g.len() == 2) {
            let [a, b] = pair[0].0;
            let share = self.points[a].distance(self.points[b]) / longest[a].max(longest[b]);
            if share > LONG {
                long.push((share, [a, b], [pair[0].1, pair[1].1]));
            }
        }
        long.sort_by(|x, y| y.0.total_cmp(&x.0).then(x.1.cmp(&y.1)));
        let mut done = vec![false; self.triangles.len()];
        for (_, [a, b], sides) in &long {
            if sides.iter().any(|t| done[*t]) || self.points.len() >= MOST_POINTS {
                continue;
            }
            let m = self.points.len();
            self.points.push((self.points[*a] + self.points[*b]) / 2.0);
            scale.push((scale[*a] + scale[*b]) / 2.0);
            longest.push((longest[*a] + longest[*b]) / 2.0);
            for t in sides {
                done[*t] = true;
                let whole = self.triangles[*t];
                let half = |gone: usize| whole.map(|v| if v == gone { m } else { v });
                self.triangles[*t] = half(*b);
                self.triangles.push(half(*a));
            }
        }
        !long.is_empty()
    }

    /// All triangles' edges, lower point first, with the triangle, sorted.
    fn edges(&self) -> Vec<([usize; 2], usize)> {
        let mut edges = Vec::with_capacity(3 * self.triangles.len());
        for (t, c) in self.triangles.iter().enumerate() {
            edges.extend((0..3).map(|k| ([c[k].min(c[(k + 1) % 3]), c[k].max(c[(k + 1) % 3])], t)));
        }
        edges.sort_unstable();
        edges
    }

    /// Turns inner edges until the angles opposite each are no more than two right ones together.
    fn relax(&mut self, taken: &impl Fn(usize, usize) -> bool) {
        for _ in 0..30 {
            let edges = self.edges();
            let mut there: BTreeSet<[usize; 2]> = edges.iter().map(|e| e.0).collect();
            let mut turned = vec![false; self.triangles.len()];
            let mut any = false;
            for pair in edges.chunk_by(|a, b| a.0 == b.0).filter(|g| g.len() == 2) {
                let ([a, b], s, t) = (pair[0].0, pair[0].1, pair[1].1);
                if turned[s] || turned[t] {
                    continue;
                }
                let apex = |t: usize| self.triangles[t].into_iter().find(|v| *v != a && *v != b);
                let (Some(p), Some(q)) = (apex(s), apex(t)) else { continue };
                let new = [p.min(q), p.max(q)];
                if p == q || there.contains(&new) || (new[1] < self.ring && taken(new[0], new[1])) {
                    continue;
                }
                if self.cotangent(p, a, b) + self.cotangent(q, a, b) >= -1e-9 {
                    continue;
                }
                // Keep the way each triangle runs: s holds a to b, or b to a.
                let runs_up = (0..3).any(|k| self.triangles[s][k] == a && self.triangles[s][(k + 1) % 3] == b);
                let (a, b) = if runs_up { (a, b) } else { (b, a) };
                let made = [[a, q, p], [q, b, p]];
                let old = self.area(s) + self.area(t);
                let up = |c: [usize; 3]| {
                    let [x, y, z] = c.map(|v| self.points[v]);
                    (y - x).cross(z - x)
                };
                // Not over a fold: both new triangles look the way the old ones did.
                if made.iter().any(|c| up(*c).dot(old) <= 0.0) {
                    continue;
                }
                there.remove(&pair[0].0);
                there.insert(new);
                self.triangles[s] = made[0];
                self.triangles[t] = made[1];
                (turned[s], turned[t], any) = (true, true, true);
            }
            if !any {
                break;
            }
        }
    }

    /// Twice the area, along the normal.
    fn area(&self, t: usize) -> DVec3 {
        let [a, b, c] = self.triangles[t].map(|v| self.points[v]);
        (b - a).cross(c - a)
    }

    /// Of the angle at `p` between `a` and `b`.
    fn cotangent(&self, p: usize, a: usize, b: usize) -> f64 {
        let (u, v) = (self.points[a] - self.points[p], self.points[b] - self.points[p]);
        u.dot(v) / u.cross(v).length().max(f64::MIN_POSITIVE)
    }

    /// Moves the inner points so that the patch bends as little as it can while it goes on from the surface around
    /// without a kink: the sum of squared second differences is least. `around` are for each point of the ring its
    /// neighbours in the mesh beyond.
    pub(super) fn fair(&mut self, around: &[Vec<DVec3>]) {
        let inner = self.points.len() - self.ring;
        if inner == 0 {
            return;
        }
        let rows = self.rows(around);
        let start: Vec<DVec3> = self.points[self.ring..].to_vec();
        let solved = least_squares(&rows, start);
        if solved.iter().all(|p| p.is_finite()) {
            self.points[self.ring..].copy_from_slice(&solved);
        }
    }

    /// For every point that has a neighbour inside: the mean of its neighbours, nearer ones weighing more, less itself; over
    /// their spacing, since the bend is that over its square, and counts by the area, which goes with the square.
    fn rows(&self, around: &[Vec<DVec3>]) -> Vec<Row> {
        let mut beside: Vec<Vec<usize>> = vec![Vec::new(); self.points.len()];
        for c in &self.triangles {
            for k in 0..3 {
                beside[c[k]].extend([c[(k + 1) % 3], c[(k + 2) % 3]]);
            }
        }
        let mut rows = Vec::with_capacity(self.points.len());
        for (v, near) in beside.iter_mut().enumerate() {
            near.sort_unstable();
            near.dedup();
            let here = self.points[v];
            let weight = |p: DVec3| 1.0 / p.distance(here).max(f64::MIN_POSITIVE);
            let beyond: &[DVec3] = around.get(v).map_or(&[], Vec::as_slice);
            let all: Vec<DVec3> = near.iter().map(|u| self.points[*u]).chain(beyond.iter().copied()).collect();
            let weights: f64 = all.iter().map(|p| weight(*p)).sum();
            let spacing = libm::sqrt(all.iter().map(|p| p.distance(here)).sum::<f64>() / weights);
            let total = weights * spacing;
            let mut row = Row { inner: Vec::new(), fixed: DVec3::ZERO };
            let put = |row: &mut Row, u: usize, share: f64| match u.checked_sub(self.ring) {
                Some(k) => row.inner.push((k, share)),
                None => row.fixed += self.points[u] * share,
            };
            near.iter().for_each(|u| put(&mut row, *u, weight(self.points[*u]) / total));
            put(&mut row, v, -weights / total);
            row.fixed += beyond.iter().map(|p| *p * (weight(*p) / total)).sum::<DVec3>();
            if !row.inner.is_empty() {
                rows.push(row);
            }
        }
        rows
    }
}

/// One second difference: shares of inner points, and what fixed ones add.
struct Row {
    inner: Vec<(usize, f64)>,
    fixed: DVec3,
}

/// The points for which the rows' squares sum to the least, by conjugate gradients on the normal equations.
fn least_squares(rows: &[Row], start: Vec<DVec3>) -> Vec<DVec3> {
    let apply = |x: &[DVec3], row: &Row| row.inner.iter().map(|(k, share)| x[*k] * *share).sum::<DVec3>();
    let normal = |x: &[DVec3]| {
        let mut sum = vec![DVec3::ZERO; x.len()];
        for row in rows {
            let value = apply(x, row);
            row.inner.iter().for_each(|(k, share)| sum[*k] += value * *share);
        }
        sum
    };
    let dot = |a: &[DVec3], b: &[DVec3]| a.iter().zip(b).map(|(a, b)| a.dot(*b)).sum::<f64>();
    let mut x = start;
    let mut residual = vec![DVec3::ZERO; x.len()];
    for row in rows {
        let value = -(apply(&x, row) + row.fixed);
        row.inner.iter().for_each(|(k, share)| residual[*k] += value * *share);
    }
    let mut step = residual.clone();
    let mut size = dot(&residual, &residual);
    let enough = size * 1e-20;
    for _ in 0..2000 {
        if size <= enough || size == 0.0 {
            break;
        }
        let moved = normal(&step);
        let along = size / dot(&step, &moved);
        if !along.is_finite() {
            break;
        }
        x.iter_mut().zip(&step).for_each(|(x, s)| *x += *s * along);
        residual.iter_mut().zip(&moved).for_each(|(r, m)| *r -= *m * along);
        let next = dot(&residual, &residual);
        let keep = next / size;
        size = next;
        step.iter_mut().zip(&residual).for_each(|(s, r)| *s = *r + *s * keep);
    }
    x
}
