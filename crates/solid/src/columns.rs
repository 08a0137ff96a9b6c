//! Vectors side by side, so that what is done to a row is done to all of them at once.

/// Vectors that a processor works on together.
pub const LANES: usize = 8;

/// So many vectors as `groups` times [`LANES`], all of one length; those that are not asked for are zero.
#[derive(Clone, Debug)]
pub struct Columns {
    groups: usize,
    /// Row after row, in each of them group after group.
    values: Vec<[f64; LANES]>,
}

impl Columns {
    /// Zeros: room for `width` vectors of `size` entries, and for those that fill up the last group.
    pub fn zeros(size: usize, width: usize) -> Self {
        let groups = width.div_ceil(LANES).max(1);
        Self { groups, values: vec![[0.0; LANES]; size * groups] }
    }

    /// Vectors that there is room for.
    pub fn width(&self) -> usize {
        self.groups * LANES
    }

    /// Groups of [`LANES`] vectors.
    pub fn groups(&self) -> usize {
        self.groups
    }

    /// Every row, group after group.
    pub fn rows(&self) -> impl Iterator<Item = &[[f64; LANES]]> {
        self.values.chunks_exact(self.groups)
    }

    /// All rows, for whoever knows where each begins.
    pub fn flat_mut(&mut self) -> &mut [[f64; LANES]] {
        &mut self.values
    }

    /// Puts a value into a row of one of the vectors.
    pub fn set(&mut self, row: usize, column: usize, value: f64) {
        self.values[row * self.groups + column / LANES][column % LANES] = value;
    }

    /// One of the vectors.
    pub fn column(&self, column: usize) -> Vec<f64> {
        self.rows().map(|row| row[column / LANES][column % LANES]).collect()
    }

    /// Each of these times each of the others, evened out over the diagonal.
    pub fn products(&self, other: &Self) -> Vec<Vec<f64>> {
        let n = self.width();
        let mut raw = vec![vec![[0.0; LANES]; other.groups]; n];
        for (left, right) in self.rows().zip(other.rows()) {
            for (sums, l) in raw.iter_mut().zip(left.as_flattened()) {
                for (sum, r) in sums.iter_mut().zip(right) {
                    add(sum, *l, r);
                }
            }
        }
        let raw: Vec<Vec<f64>> = raw.into_iter().map(|sums| sums.as_flattened().to_vec()).collect();
        (0..n).map(|i| (0..n).map(|j| 0.5 * (raw[i][j] + raw[j][i])).collect()).collect()
    }

    /// A vector for each of `mixes`: as much of each of these as it says.
    pub fn mixed(&self, mixes: &[Vec<f64>]) -> Self {
        let mut made = Self::zeros(self.values.len() / self.groups, mixes.len());
        // For each of these, how much of it each new one gets.
        let mut shares = Self::zeros(self.width(), mixes.len());
        for (column, mix) in mixes.iter().enumerate() {
            mix.iter().enumerate().for_each(|(row, value)| shares.set(row, column, *value));
        }
        for (row, new) in self.values.chunks_exact(self.groups).zip(made.values.chunks_exact_mut(made.groups)) {
            for (value, shares) in row.as_flattened().iter().zip(shares.rows()) {
                new.iter_mut().zip(shares).for_each(|(sum, share)| add(sum, *value, share));
            }
        }
        made
    }
}

/// `sum += times × of`, lane by lane.
pub fn add(sum: &mut [f64; LANES], times: f64, of: &[f64; LANES]) {
    sum.iter_mut().zip(of).for_each(|(sum, of)| *sum += times * of);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_multiplied_and_mixed_like_vectors() {
        let (mut a, mut b) = (Columns::zeros(2, 9), Columns::zeros(2, 9));
        a.set(0, 0, 1.0);
        a.set(1, 0, 2.0);
        a.set(1, 8, 3.0);
        b.set(0, 0, 5.0);
        b.set(1, 8, 7.0);
        let found = a.products(&b);
        assert_eq!((found[0][0], found[8][8]), (5.0, 21.0));
        assert_eq!((found[0][8], found[8][0]), (7.0, 7.0), "the mean of 14 and 0");
        let mut mix = vec![0.0; 16];
        (mix[0], mix[8]) = (10.0, -1.0);
        assert_eq!(a.mixed(&[mix]).column(0), [10.0, 17.0]);
    }
}
