//! Symmetric positive matrices, each row kept from its first entry to the diagonal, and their factors.
//!
//! Elimination fills nothing in before a row's first entry, so a good order of unknowns keeps it cheap. Jennings,
//! *Matrix Computation for Engineers and Scientists* (1977), on variable-band storage (from memory).

use crate::columns::{Columns, LANES, add};

/// A pivot below this share of the diagonal it began as stands for no stiffness at all.
const NO_STIFFNESS: f64 = 1e-13;

/// Lower triangle of a symmetric matrix.
#[derive(Clone, Debug)]
pub struct Skyline {
    /// First column kept, for each row.
    first: Vec<usize>,
    /// Where in `values` column 0 of each row would lie, less `first`: see [`Skyline::at`].
    begin: Vec<usize>,
    values: Vec<f64>,
}

impl Skyline {
    /// All zeros. `first[row]` is the first column that may become other than zero, at most `row`.
    pub fn new(first: Vec<usize>) -> Self {
        let mut begin = Vec::with_capacity(first.len() + 1);
        let mut length = 0;
        for (row, &column) in first.iter().enumerate() {
            begin.push(length);
            length += row + 1 - column;
        }
        begin.push(length);
        Self { first, begin, values: vec![0.0; length] }
    }

    /// For a matrix built of dense blocks, each over a set of unknowns.
    pub fn for_blocks<'a>(size: usize, blocks: impl Iterator<Item = &'a [Option<usize>]>) -> Self {
        let mut first: Vec<usize> = (0..size).collect();
        for block in blocks {
            let Some(least) = block.iter().flatten().min() else { continue };
            for &row in block.iter().flatten() {
                first[row] = first[row].min(*least);
            }
        }
        Self::new(first)
    }

    /// How many unknowns there are.
    pub fn size(&self) -> usize {
        self.first.len()
    }

    fn row(&self, row: usize) -> &[f64] {
        &self.values[self.begin[row]..self.begin[row + 1]]
    }

    /// The entry on the diagonal of a row.
    pub fn diagonal(&self, row: usize) -> f64 {
        self.values[self.begin[row + 1] - 1]
    }

    /// Adds to the entry at `row`, `column`; asks above the diagonal are ignored, since the lower half says all.
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        if column <= row {
            self.values[self.begin[row] + column - self.first[row]] += value;
        }
    }

    /// With some times another, which keeps the same rows.
    pub fn plus(mut self, other: &Self, times: f64) -> Self {
        debug_assert_eq!(self.first, other.first, "the same rows");
        self.values.iter_mut().zip(&other.values).for_each(|(a, b)| *a += times * b);
        self
    }

    /// The matrix times each of several vectors.
    pub fn times_each(&self, x: &Columns) -> Columns {
        let groups = x.groups();
        let mut y = Columns::zeros(self.size(), x.width());
        let rows: Vec<&[[f64; LANES]]> = x.rows().collect();
        for (row, of) in rows.iter().enumerate() {
            let first = self.first[row];
            let (last, before) = self.row(row).split_last().expect("a row reaches to its diagonal");
            let (above, mine) = y.flat_mut().split_at_mut(row * groups);
            let mine = &mut mine[..groups];
            mine.iter_mut().zip(*of).for_each(|(sum, x)| add(sum, *last, x));
            for ((entry, there), sums) in
                before.iter().zip(&rows[first..row]).zip(above[first * groups..].chunks_exact_mut(groups))
            {
                mine.iter_mut().zip(*there).for_each(|(sum, x)| add(sum, *entry, x));
                sums.iter_mut().zip(*of).for_each(|(sum, x)| add(sum, *entry, x));
            }
        }
        y
    }

    /// Cholesky's factor.
    ///
    /// # Errors
    /// The unknown whose pivot vanished: nothing holds it.
    pub fn factor(mut self) -> Result<Factor, usize> {
        for row in 0..self.size() {
            let first = self.first[row];
            let began = self.diagonal(row);
            let (done, rest) = self.values.split_at_mut(self.begin[row]);
            let mine = &mut rest[..row + 1 - first];
            for column in first..row {
                let other = &done[self.begin[column]..self.begin[column + 1]];
                let from = first.max(self.first[column]);
                let a = &mine[from - first..column - first];
                let b = &other[from - self.first[column]..column - self.first[column]];
                mine[column - first] = (mine[column - first] - dot(a, b)) / other[other.len() - 1];
            }
            let (last, before) = mine.split_last_mut().expect("a row reaches to its diagonal");
            let pivot = *last - dot(before, before);
            if pivot.is_nan() || pivot <= NO_STIFFNESS * began {
                return Err(row);
            }
            *last = pivot.sqrt();
        }
        Ok(Factor(self))
    }
}

/// A matrix that can be solved with.
#[derive(Clone, Debug)]
pub struct Factor(Skyline);

impl Factor {
    /// What the matrix turns into `right`.
    pub fn solve(&self, right: &[f64]) -> Vec<f64> {
        let mut x = right.to_vec();
        for row in 0..x.len() {
            let entries = self.0.row(row);
            let first = self.0.first[row];
            let (last, before) = entries.split_last().expect("a row reaches to its diagonal");
            x[row] = (x[row] - dot(before, &x[first..row])) / last;
        }
        for row in (0..x.len()).rev() {
            let entries = self.0.row(row);
            x[row] /= entries[entries.len() - 1];
            let value = x[row];
            for (k, entry) in entries[..entries.len() - 1].iter().enumerate() {
                x[self.0.first[row] + k] -= entry * value;
            }
        }
        x
    }

    /// What the matrix turns into each of several vectors.
    pub fn solve_each(&self, right: &Columns) -> Columns {
        let groups = right.groups();
        let mut x = right.clone();
        let size = self.0.size();
        let values = x.flat_mut();
        for row in 0..size {
            let (last, before) = self.0.row(row).split_last().expect("a row reaches to its diagonal");
            let (above, mine) = values.split_at_mut(row * groups);
            for (k, mine) in mine[..groups].iter_mut().enumerate() {
                let mut sum = [0.0; LANES];
                let there = above[self.0.first[row] * groups..].chunks_exact(groups);
                before.iter().zip(there).for_each(|(entry, x)| add(&mut sum, *entry, &x[k]));
                mine.iter_mut().zip(sum).for_each(|(x, sum)| *x = (*x - sum) / last);
            }
        }
        for row in (0..size).rev() {
            let (last, before) = self.0.row(row).split_last().expect("a row reaches to its diagonal");
            let (above, mine) = values.split_at_mut(row * groups);
            let mine = &mut mine[..groups];
            mine.as_flattened_mut().iter_mut().for_each(|x| *x /= last);
            for (entry, there) in before.iter().zip(above[self.0.first[row] * groups..].chunks_exact_mut(groups)) {
                there.iter_mut().zip(mine.iter()).for_each(|(x, known)| add(x, -entry, known));
            }
        }
        x
    }
}

/// In eight sums side by side, which need not wait for each other.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let (ahead, behind) = (a.chunks_exact(LANES), b.chunks_exact(LANES));
    let rest: f64 = ahead.remainder().iter().zip(behind.remainder()).map(|(a, b)| a * b).sum();
    let mut sums = [0.0; LANES];
    for (a, b) in ahead.zip(behind) {
        for (sum, (a, b)) in sums.iter_mut().zip(a.iter().zip(b)) {
            *sum += a * b;
        }
    }
    sums.iter().sum::<f64>() + rest
}

/// What hangs together, each piece in rings from one end of it, so that what is near gets near numbers and rows stay
/// short (Cuthill & McKee 1969, from memory). `beside` holds the neighbours of each, in the order to walk in.
pub fn rings(beside: &[Vec<usize>]) -> Vec<Vec<usize>> {
    let walk = |start: usize, seen: &mut [bool]| {
        let mut found = vec![start];
        seen[start] = true;
        let mut next = 0;
        while next < found.len() {
            for &n in &beside[found[next]] {
                if !seen[n] {
                    seen[n] = true;
                    found.push(n);
                }
            }
            next += 1;
        }
        found
    };
    let mut seen = vec![false; beside.len()];
    let mut pieces = Vec::new();
    for start in 0..beside.len() {
        if !seen[start] {
            // The last of a first walk lies at an end.
            let far = walk(start, &mut seen.clone()).last().copied().unwrap_or(start);
            pieces.push(walk(far, &mut seen));
        }
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 3 – 1 – 0 – 4 and 2 – 5.
    #[test]
    fn pieces_are_walked_from_an_end() {
        let beside = [vec![1, 4], vec![0, 3], vec![5], vec![1], vec![0], vec![2]];
        assert_eq!(rings(&beside), [vec![3, 1, 0, 4], vec![5, 2]]);
    }

    /// 4 1 0 / 1 3 1 / 0 1 2, worked by hand.
    #[test]
    fn a_small_system_is_solved() {
        let mut matrix = Skyline::new(vec![0, 0, 1]);
        for (row, column, value) in [(0, 0, 4.0), (1, 0, 1.0), (1, 1, 3.0), (2, 1, 1.0), (2, 2, 2.0)] {
            matrix.add(row, column, value);
        }
        let mut two = Columns::zeros(3, 9);
        for (row, value) in [1.0, 2.0, 3.0].into_iter().enumerate() {
            two.set(row, 1, value);
            two.set(row, 8, -value);
        }
        let pushed = matrix.times_each(&two);
        assert_eq!((pushed.column(1), pushed.column(8)), (vec![6.0, 10.0, 8.0], vec![-6.0, -10.0, -8.0]));
        let factor = matrix.factor().expect("it is positive");
        let each = factor.solve_each(&pushed);
        let found = [factor.solve(&[6.0, 10.0, 8.0]), each.column(1), each.column(8).iter().map(|x| -x).collect()];
        for (found, wanted) in found.iter().flat_map(|x| x.iter().zip([1.0, 2.0, 3.0])) {
            assert!((found - wanted).abs() < 1e-14);
        }
    }

    #[test]
    fn what_nothing_holds_is_named() {
        let mut matrix = Skyline::new(vec![0, 0]);
        for (row, column, value) in [(0, 0, 1.0), (1, 0, -1.0), (1, 1, 1.0)] {
            matrix.add(row, column, value);
        }
        assert_eq!(matrix.factor().map(|_| ()), Err(1));
    }
}
