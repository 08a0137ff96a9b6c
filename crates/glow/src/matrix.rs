//! Small square matrices of numbers: what adding-doubling multiplies and solves.

/// A square matrix, row after row.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Square {
    size: usize,
    rows: Vec<f64>,
}

impl Square {
    pub(crate) fn zero(size: usize) -> Self {
        Self { size, rows: vec![0.0; size * size] }
    }

    pub(crate) fn unit(size: usize) -> Self {
        let mut unit = Self::zero(size);
        (0..size).for_each(|i| unit.rows[i * size + i] = 1.0);
        unit
    }

    /// The matrix of which `entry` says the number in a row and a column.
    pub(crate) fn of(size: usize, entry: impl Fn(usize, usize) -> f64) -> Self {
        Self { size, rows: (0..size * size).map(|at| entry(at / size, at % size)).collect() }
    }

    pub(crate) fn size(&self) -> usize {
        self.size
    }

    pub(crate) fn at(&self, row: usize, column: usize) -> f64 {
        self.rows[row * self.size + column]
    }

    pub(crate) fn is_finite(&self) -> bool {
        self.rows.iter().all(|v| v.is_finite())
    }

    /// `self + factor other`.
    pub(crate) fn plus(&self, factor: f64, other: &Self) -> Self {
        let rows = self.rows.iter().zip(&other.rows).map(|(a, b)| a + factor * b).collect();
        Self { size: self.size, rows }
    }

    pub(crate) fn times(&self, other: &Self) -> Self {
        let n = self.size;
        let mut product = Self::zero(n);
        for (of_self, of_product) in self.rows.chunks_exact(n).zip(product.rows.chunks_exact_mut(n)) {
            for (a, of_other) in of_self.iter().zip(other.rows.chunks_exact(n)) {
                of_product.iter_mut().zip(of_other).for_each(|(p, b)| *p += a * b);
            }
        }
        product
    }

    pub(crate) fn on(&self, vector: &[f64]) -> Vec<f64> {
        self.rows.chunks_exact(self.size).map(|row| row.iter().zip(vector).map(|(a, b)| a * b).sum()).collect()
    }

    /// The matrix X with `self X = right`: Gauss's elimination with the largest pivot of a column. `None` where there is no
    /// such one.
    pub(crate) fn solved(&self, right: &Self) -> Option<Self> {
        let n = self.size;
        let (mut a, mut x) = (self.clone(), right.clone());
        for k in 0..n {
            let pivot = (k..n).max_by(|i, j| a.rows[i * n + k].abs().total_cmp(&a.rows[j * n + k].abs()))?;
            let largest = a.rows[pivot * n + k];
            if largest == 0.0 || !largest.is_finite() {
                return None;
            }
            if pivot != k {
                (0..n).for_each(|j| a.rows.swap(k * n + j, pivot * n + j));
                (0..n).for_each(|j| x.rows.swap(k * n + j, pivot * n + j));
            }
            for i in k + 1..n {
                let factor = a.rows[i * n + k] / largest;
                if factor != 0.0 {
                    a.lessen(i, k, factor);
                    x.lessen(i, k, factor);
                }
            }
        }
        for k in (0..n).rev() {
            let pivot = a.rows[k * n + k];
            x.rows[k * n..(k + 1) * n].iter_mut().for_each(|v| *v /= pivot);
            (0..k).for_each(|i| x.lessen(i, k, a.rows[i * n + k]));
        }
        Some(x)
    }

    /// Takes `factor` times row `k` from row `i`.
    fn lessen(&mut self, i: usize, k: usize, factor: f64) {
        let n = self.size;
        for j in 0..n {
            self.rows[i * n + j] -= factor * self.rows[k * n + j];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_solved_is_the_answer() {
        // The first pivot is 0, so that rows must change places.
        let a = Square::of(3, |i, j| [[0.0, 2.0, 1.0], [1.0, -1.0, 0.0], [3.0, 0.5, 4.0]][i][j]);
        let right = Square::of(3, |i, j| (i * 3 + j) as f64 - 2.0);
        let x = a.solved(&right).unwrap();
        let back = a.times(&x).plus(-1.0, &right);
        assert!(back.rows.iter().all(|v| v.abs() < 1e-12), "{back:?}");
        assert_eq!(a.times(&Square::unit(3)), a);
        // By hand: rows times (1, 2, 3).
        assert_eq!(a.on(&[1.0, 2.0, 3.0]), [7.0, -1.0, 16.0]);
        assert_eq!(Square::zero(2).solved(&Square::unit(2)), None);
        assert_eq!(Square::of(2, |_, _| f64::NAN).solved(&Square::unit(2)), None);
    }
}
