//! A film pressed flat: least squares of Green's strain, by damped Gauss-Newton steps (Levenberg 1944, Marquardt 1963, from
//! memory).

use super::{Numbering, Plane};
use crate::skyline::Skyline;
use glam::DVec2;

/// Steps at most, and the change of energy, as a share, at which it rests.
const STEPS: usize = 30;
const REST: f64 = 1e-5;
/// Dampings tried in one step, each so many times the one before.
const TRIES: usize = 4;
const STIFFER: f64 = 30.0;

/// Slopes of the map over a triangle.
fn slopes(plane: &Plane, points: &[DVec2]) -> [DVec2; 2] {
    let mut out = [DVec2::ZERO; 2];
    for (v, g) in plane.corners.iter().zip(plane.slopes) {
        out[0] += points[*v] * g.x;
        out[1] += points[*v] * g.y;
    }
    out
}

/// Green's strain: along x, along y, and the shear so that the sum of squares is that of the tensor.
fn strain([x, y]: [DVec2; 2]) -> [f64; 3] {
    [0.5 * (x.length_squared() - 1.0), 0.5 * (y.length_squared() - 1.0), x.dot(y) * std::f64::consts::FRAC_1_SQRT_2]
}

fn energy(planes: &[Plane], points: &[DVec2]) -> f64 {
    planes.iter().map(|p| p.area * strain(slopes(p, points)).iter().map(|e| e * e).sum::<f64>()).sum()
}

/// Lets go of the film, which then finds its rest. `held` are the two corners that keep it from drifting and turning: the
/// first stays, the second keeps its y, which must be the first one's.
pub(super) fn rested(planes: &[Plane], numbers: &Numbering, held: [usize; 2], mut points: Vec<DVec2>) -> Vec<DVec2> {
    let size = 2 * points.len();
    let fixed = [2 * numbers.place[held[0]], 2 * numbers.place[held[0]] + 1, 2 * numbers.place[held[1]] + 1];
    let is_free = |k: usize| !fixed.contains(&k);
    let blocks: Vec<[Option<usize>; 6]> =
        planes.iter().map(|p| numbers.unknowns(p).map(|k| is_free(k).then_some(k))).collect();
    let empty = Skyline::for_blocks(size, blocks.iter().map(<[_; 6]>::as_slice));
    let mut now = energy(planes, &points);
    let whole: f64 = planes.iter().map(|p| p.area).sum();
    let mut damping = 1e-3;
    for _ in 0..STEPS {
        if now <= 1e-16 * whole {
            break;
        }
        let mut matrix = empty.clone();
        let mut down = vec![0.0; size];
        for (plane, mine) in planes.iter().zip(&blocks) {
            let [x, y] = slopes(plane, &points);
            let e = strain([x, y]);
            let mut rows = [[0.0; 6]; 3];
            for (k, g) in plane.slopes.iter().enumerate() {
                let of = [x * g.x, y * g.y, (x * g.y + y * g.x) * std::f64::consts::FRAC_1_SQRT_2];
                for (row, d) in rows.iter_mut().zip(of) {
                    (row[2 * k], row[2 * k + 1]) = (d.x, d.y);
                }
            }
            for (row, e) in rows.iter().zip(e) {
                for i in 0..6 {
                    let Some(a) = mine[i] else { continue };
                    down[a] -= plane.area * row[i] * e;
                    for j in 0..6 {
                        if let Some(b) = mine[j] {
                            matrix.add(a, b, plane.area * row[i] * row[j]);
                        }
                    }
                }
            }
        }
        let mut better = None;
        for _ in 0..TRIES {
            let mut damped = matrix.clone();
            for k in 0..size {
                let diagonal = matrix.diagonal(k);
                damped.add(k, k, if diagonal > 0.0 { damping * diagonal } else { 1.0 });
            }
            let moved = damped.factor().ok().map(|f| f.solve(&down)).map(|step| {
                let by = |v: usize| DVec2::new(step[2 * numbers.place[v]], step[2 * numbers.place[v] + 1]);
                points.iter().enumerate().map(|(v, p)| *p + by(v)).collect::<Vec<DVec2>>()
            });
            let found = moved.map(|m| (energy(planes, &m), m)).filter(|(e, _)| *e < now);
            if let Some(found) = found {
                damping = (damping * 0.03).max(1e-12);
                better = Some(found);
                break;
            }
            damping *= STIFFER;
        }
        let Some((next, moved)) = better else { break };
        let rests = now - next < REST * now;
        (now, points) = (next, moved);
        if rests {
            break;
        }
    }
    points
}
