//! Small dense systems of equations.

/// Solves `a x = b` in place by elimination with the largest pivot of each column; `b` becomes `x`.
///
/// Returns false, with both spoilt, when no pivot is left.
pub(crate) fn solve(a: &mut [f64], b: &mut [f64]) -> bool {
    let n = b.len();
    for k in 0..n {
        let row = (k..n).fold(k, |best, r| if a[r * n + k].abs() > a[best * n + k].abs() { r } else { best });
        let pivot = a[row * n + k];
        if !pivot.is_finite() || pivot == 0.0 {
            return false;
        }
        if row != k {
            for c in k..n {
                a.swap(k * n + c, row * n + c);
            }
            b.swap(k, row);
        }
        let (top, below) = a.split_at_mut((k + 1) * n);
        let lead = &top[k * n..];
        for (r, line) in below.chunks_exact_mut(n).enumerate() {
            let factor = line[k] / pivot;
            if factor != 0.0 {
                line[k + 1..].iter_mut().zip(&lead[k + 1..]).for_each(|(x, y)| *x -= factor * y);
                b[k + 1 + r] -= factor * b[k];
            }
        }
    }
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|c| a[k * n + c] * b[c]).sum();
        b[k] = (b[k] - known) / a[k * n + k];
    }
    b.iter().all(|x| x.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_system_is_solved() {
        let (mut a, mut b) = (vec![0.0, 2.0, 1.0, 1.0, 1.0, 0.0, 3.0, 0.0, 1.0], vec![7.0, 3.0, 6.0]);
        assert!(solve(&mut a, &mut b));
        for (x, want) in b.iter().zip([1.0, 2.0, 3.0]) {
            assert!((x - want).abs() < 1e-14);
        }
        assert!(!solve(&mut [1.0, 2.0, 2.0, 4.0], &mut [1.0, 1.0]));
    }
}
