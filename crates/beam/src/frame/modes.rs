//! Shapes in which a frame swings: subspace iteration (Bathe & Wilson 1972, from memory).

use glam::DVec3;

use super::assembled::Assembled;
use super::{Frame, FrameError, Ready};
use solid::columns::{Columns, LANES};
use solid::skyline::{Factor, Skyline};

const MOST_ROUNDS: usize = 200;

/// Values that change by less than this share in a round have settled.
const SETTLED: f64 = 1e-9;

/// A way in which the frame swings by itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Mode {
    /// How often.
    pub hz: f64,
    /// How each node moves, the largest movement being 1.
    pub shape: Vec<DVec3>,
}

/// The slowest `count` modes, slowest first; fewer where the frame has fewer.
///
/// # Errors
///
/// See [`FrameError`].
pub fn modes(frame: &Frame, count: usize) -> Result<Vec<Mode>, FrameError> {
    Ready::new(frame)?.modes(count)
}

/// 1/ω² and how far each unknown moves, scaled so that the strain energy is ½.
pub(super) type Shape = (f64, Vec<f64>);

/// The slowest, slowest first.
pub(super) fn shapes(assembled: &Assembled<'_>, factor: &Factor, count: usize) -> Result<Vec<Shape>, FrameError> {
    let found = largest(factor, &assembled.mass(), count)?;
    // What is left of zero after rounding is no mode.
    let top = found.first().map_or(0.0, |f| f.0);
    let kept: Vec<_> = found.into_iter().filter(|f| f.0 > 0.0 && f.0 > 1e-12 * top).collect();
    if kept.is_empty() { Err(FrameError::NoMass) } else { Ok(kept) }
}

pub(super) fn mode(assembled: &Assembled<'_>, (value, shape): &Shape) -> Mode {
    let at = |u: &Option<usize>| u.map_or(0.0, |u| shape[u]);
    let moved: Vec<DVec3> = assembled.unknown.iter().map(|u| DVec3::new(at(&u[0]), at(&u[1]), at(&u[2]))).collect();
    let most = moved.iter().map(|m| m.length()).fold(0.0, f64::max);
    let scale = if most > 0.0 { 1.0 / most } else { 1.0 };
    Mode { hz: 1.0 / value.sqrt() / std::f64::consts::TAU, shape: moved.iter().map(|m| *m * scale).collect() }
}

/// The largest µ of B x = µ K x with their x, largest first, scaled to xᵀK x = 1.
///
/// No round multiplies with K, whose entries are as large as the nodes are near: K x is what the solver was given.
fn largest(factor: &Factor, of: &Skyline, count: usize) -> Result<Vec<(f64, Vec<f64>)>, FrameError> {
    let size = of.size();
    let width = (count + 7).max(2 * count).next_multiple_of(LANES).min(size);
    let mut basis = start(size, width);
    let mut given = of.times_each(&basis);
    let mut before: Vec<f64> = Vec::new();
    for _ in 0..MOST_ROUNDS {
        let pushed = factor.solve_each(&given);
        let weighed = of.times_each(&pushed);
        let (values, mixes): (Vec<f64>, Vec<Vec<f64>>) =
            small(&pushed.products(&given), &pushed.products(&weighed)).into_iter().unzip();
        // What B makes of the new ones is as much of what it made of these.
        (basis, given) = (pushed.mixed(&mixes), weighed.mixed(&mixes));
        let values: Vec<f64> = values.into_iter().take(count).collect();
        let scale = values.first().map_or(0.0, |v| v.abs());
        let near = |(a, b): (&f64, &f64)| (a - b).abs() <= SETTLED * b.abs().max(1e-9 * scale);
        if before.len() == values.len() && values.iter().zip(&before).all(near) {
            return Ok(values.into_iter().enumerate().map(|(k, value)| (value, basis.column(k))).collect());
        }
        before = values;
    }
    Err(FrameError::Unsettled { rounds: MOST_ROUNDS })
}

/// The same problem among few vectors: µ, largest first, with how much of each vector makes the shape. Directions that add nothing
/// are dropped.
fn small(stiffness: &[Vec<f64>], of: &[Vec<f64>]) -> Vec<(f64, Vec<f64>)> {
    let n = stiffness.len();
    // Each vector to length 1 as K sees it, then all square to one another.
    let lengths: Vec<f64> = (0..n).map(|i| stiffness[i][i].max(0.0).sqrt()).collect();
    let unit = |i: usize| if lengths[i] > 0.0 { 1.0 / lengths[i] } else { 0.0 };
    let scaled = (0..n).map(|i| (0..n).map(|j| stiffness[i][j] * unit(i) * unit(j)).collect()).collect();
    let axes: Vec<Vec<f64>> = eigen(scaled)
        .into_iter()
        .filter(|(value, _)| *value > 1e-10)
        .map(|(value, v)| (0..n).map(|i| v[i] * unit(i) / value.sqrt()).collect())
        .collect();
    let turned: Vec<Vec<f64>> = axes.iter().map(|a| of.iter().map(|row| dot(row, a)).collect()).collect();
    let mut pairs = eigen(axes.iter().map(|a| turned.iter().map(|t| dot(a, t)).collect()).collect());
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0));
    pairs.into_iter().map(|(value, mix)| (value, mixed(&axes, &mix))).collect()
}

/// Vectors to begin with: a fixed scatter, so that none is missed and all is the same every time.
fn start(size: usize, width: usize) -> Columns {
    let mut state = 0x9E37_79B9_7F4A_7C15_u64;
    let mut next = || {
        // Knuth's MMIX generator (from memory).
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
    };
    let mut begun = Columns::zeros(size, width);
    for column in 0..width {
        (0..size).for_each(|row| begun.set(row, column, next()));
    }
    begun
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// As much of each vector as `mix` says.
fn mixed(basis: &[Vec<f64>], mix: &[f64]) -> Vec<f64> {
    let mut sum = vec![0.0; basis.first().map_or(0, Vec::len)];
    for (x, m) in basis.iter().zip(mix) {
        sum.iter_mut().zip(x).for_each(|(sum, x)| *sum += x * m);
    }
    sum
}

/// Eigenvalues and vectors of a small symmetric matrix: Jacobi's rotations (Golub & Van Loan, from memory).
fn eigen(mut a: Vec<Vec<f64>>) -> Vec<(f64, Vec<f64>)> {
    let n = a.len();
    let mut vectors: Vec<Vec<f64>> = (0..n).map(|i| (0..n).map(|j| f64::from(i == j)).collect()).collect();
    let total: f64 = a.iter().flatten().map(|v| v * v).sum();
    for _ in 0..60 {
        let off: f64 = (0..n).map(|i| (0..i).map(|j| a[i][j] * a[i][j]).sum::<f64>()).sum();
        if off <= 1e-30 * total {
            break;
        }
        for p in 0..n {
            for q in p + 1..n {
                if a[p][q] == 0.0 {
                    continue;
                }
                let theta = (a[q][q] - a[p][p]) / (2.0 * a[p][q]);
                let t = theta.signum() / (theta.abs() + (theta * theta + 1.0).sqrt());
                let c = 1.0 / (t * t + 1.0).sqrt();
                let s = t * c;
                for row in &mut a {
                    (row[p], row[q]) = (c * row[p] - s * row[q], s * row[p] + c * row[q]);
                }
                for k in 0..n {
                    (a[p][k], a[q][k]) = (c * a[p][k] - s * a[q][k], s * a[p][k] + c * a[q][k]);
                    (vectors[p][k], vectors[q][k]) =
                        (c * vectors[p][k] - s * vectors[q][k], s * vectors[p][k] + c * vectors[q][k]);
                }
            }
        }
    }
    vectors.into_iter().enumerate().map(|(i, v)| (a[i][i], v)).collect()
}
