//! How far aside light comes out of a wall.

use solid::DVec2;

/// Weights over distance: a histogram whose bins grow with distance, eight to a doubling, from [`NEAREST_MM`] to
/// [`FARTHEST_MM`]. What is nearer lies in the first bin, what is farther in the last.
#[derive(Clone, Debug, PartialEq)]
pub struct Sideways {
    bins: Vec<f64>,
    square_sum: f64,
}

/// Below this, distances aren't told apart.
pub const NEAREST_MM: f64 = 0.0078125;

/// Beyond this, distances aren't told apart.
pub const FARTHEST_MM: f64 = 1024.0;

/// Bins to a doubling of the distance's square: the upper bits of a double's mantissa.
const MANTISSA_BITS: u32 = 2;

const SHIFT: u32 = 52 - MANTISSA_BITS;

const FIRST: u64 = (NEAREST_MM * NEAREST_MM).to_bits() >> SHIFT;

const BINS: usize = (((FARTHEST_MM * FARTHEST_MM).to_bits() >> SHIFT) - FIRST) as usize + 2;

impl Default for Sideways {
    fn default() -> Self {
        Self { bins: vec![0.0; BINS], square_sum: 0.0 }
    }
}

impl Sideways {
    /// Weight comes out at that place aside.
    pub(crate) fn record(&mut self, aside: DVec2, weight: f64) {
        let square = aside.length_squared();
        // The bits of positive doubles sort as the numbers do, so that their upper part numbers the bins. Infinity, which
        // only a grazing path in a clear wall could reach, falls into the last.
        let bin = (square.to_bits() >> SHIFT).saturating_sub(FIRST - 1).min(BINS as u64 - 1);
        self.bins[bin as usize] += weight;
        self.square_sum += weight * square.min(FARTHEST_MM * FARTHEST_MM);
    }

    pub(crate) fn add(&mut self, other: &Self) {
        for (bin, more) in self.bins.iter_mut().zip(&other.bins) {
            *bin += more;
        }
        self.square_sum += other.square_sum;
    }

    /// The same with each weight of the other times a factor.
    pub(crate) fn add_weighed(&mut self, other: &Self, factor: f64) {
        for (bin, more) in self.bins.iter_mut().zip(&other.bins) {
            *bin += more * factor;
        }
        self.square_sum += other.square_sum * factor;
    }

    /// The distribution made for drawing from.
    pub(crate) fn cumulative(&self) -> Cumulative {
        let total = self.total();
        let mut sum = 0.0;
        let upto = self.bins.iter().map(|weight| {
            sum += weight;
            if total > 0.0 { (sum / total).min(1.0) } else { 1.0 }
        });
        Cumulative { upto: upto.collect() }
    }

    /// All weight together.
    pub fn total(&self) -> f64 {
        self.bins.iter().sum()
    }

    /// Share of the weight within a distance, 0 to 1; 0 where there is no weight. Even over the area of a bin.
    pub fn share_within(&self, distance_mm: f64) -> f64 {
        let square = distance_mm * distance_mm;
        let total = self.total();
        if total == 0.0 {
            return 0.0;
        }
        let within: f64 = self
            .bins
            .iter()
            .enumerate()
            .map(|(k, weight)| weight * ((square - edge(k)) / (edge(k + 1) - edge(k))).clamp(0.0, 1.0))
            .sum();
        (within / total).min(1.0)
    }

    /// Mean of the squared distance, mm²; 0 where there is no weight.
    pub fn mean_square_mm2(&self) -> f64 {
        let total = self.total();
        if total > 0.0 { self.square_sum / total } else { 0.0 }
    }

    /// Distance within which that share of the weight lies, the inverse of [`Sideways::share_within`]; 0 where there is no
    /// weight.
    pub fn quantile_mm(&self, share: f64) -> f64 {
        let mut left = share.clamp(0.0, 1.0) * self.total();
        let mut reached = 0.0;
        for (k, &weight) in self.bins.iter().enumerate() {
            if weight > 0.0 {
                if left <= weight {
                    return (edge(k) + (edge(k + 1) - edge(k)) * left / weight).sqrt();
                }
                left -= weight;
                reached = edge(k + 1);
            }
        }
        reached.sqrt()
    }
}

/// Share of the weight up to the end of each bin.
#[derive(Clone, Debug)]
pub(crate) struct Cumulative {
    upto: Vec<f64>,
}

impl Cumulative {
    /// A distance drawn by an even number of (0, 1) from a mixture: this one but for a share of another.
    pub(crate) fn drawn_mm(&self, other: &Self, share: f64, uniform: f64) -> f64 {
        let mixed = |k: usize| self.upto[k] + (other.upto[k] - self.upto[k]) * share;
        let (mut low, mut high) = (0, BINS - 1);
        while low < high {
            let middle = usize::midpoint(low, high);
            if mixed(middle) < uniform { low = middle + 1 } else { high = middle }
        }
        let before = if low == 0 { 0.0 } else { mixed(low - 1) };
        let weight = mixed(low) - before;
        let within = if weight > 0.0 { ((uniform - before) / weight).clamp(0.0, 1.0) } else { 0.0 };
        (edge(low) + (edge(low + 1) - edge(low)) * within).sqrt()
    }
}

/// Square of the distance where a bin begins.
fn edge(bin: usize) -> f64 {
    if bin == 0 { 0.0 } else { f64::from_bits((FIRST - 1 + bin as u64) << SHIFT) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Random;

    #[test]
    fn bins_begin_and_end_where_they_say() {
        assert_eq!(edge(0), 0.0);
        assert_eq!(edge(1), NEAREST_MM * NEAREST_MM);
        assert_eq!(edge(BINS - 1), FARTHEST_MM * FARTHEST_MM);
        for k in 0..BINS {
            assert!(edge(k) < edge(k + 1));
            let mut one = Sideways::default();
            one.record(DVec2::new((0.5 * (edge(k) + edge(k + 1))).sqrt(), 0.0), 1.0);
            assert_eq!(one.bins[k], 1.0, "{k}");
        }
    }

    #[test]
    fn a_known_distribution_comes_back() {
        // Even over a disc of radius 3: the share within r is (r / 3)², the mean square 4.5.
        let mut random = Random::of(5, 0);
        let mut disc = Sideways::default();
        for _ in 0..200_000 {
            let r = 3.0 * random.uniform().sqrt();
            disc.record(random.azimuth() * r, 0.5);
        }
        assert!((disc.total() - 1e5).abs() < 1e-6);
        assert!((disc.mean_square_mm2() - 4.5).abs() < 0.03);
        for share in [0.01, 0.25, 0.5, 0.9] {
            let r = 3.0 * f64::sqrt(share);
            assert!((disc.share_within(r) - share).abs() < 0.005, "{share}");
            assert!((disc.quantile_mm(share) - r).abs() < 0.02, "{share}");
            assert!((disc.share_within(disc.quantile_mm(share)) - share).abs() < 1e-9);
        }
    }

    #[test]
    fn nothing_and_the_ends_stay_finite() {
        let none = Sideways::default();
        assert_eq!(
            (none.total(), none.share_within(1.0), none.quantile_mm(0.5), none.mean_square_mm2()),
            (0.0, 0.0, 0.0, 0.0)
        );
        let mut ends = Sideways::default();
        ends.record(DVec2::ZERO, 1.0);
        ends.record(DVec2::new(f64::INFINITY, 0.0), 1.0);
        assert!(ends.quantile_mm(0.2) < NEAREST_MM && ends.quantile_mm(1.0) >= FARTHEST_MM);
        assert!(ends.quantile_mm(1.0).is_finite() && ends.mean_square_mm2().is_finite());
    }
}
