//! Lengths cut from stock.

/// What a saw takes from cut to cut, mm (from memory).
const KERF_MM: f64 = 2.0;

/// How many lengths of stock so many cuts take, when there are offcuts already: each cut from the first that it fits into, the longest
/// first (first fit decreasing: never more than 11/9 of the fewest and a bit, Johnson 1973, from memory). Stock lengths that are too
/// short for the longest cut are bought in so many joined shop lengths as it takes.
///
/// Gives the lengths bought and how long each is, mm.
pub fn cut(lengths_mm: &[f64], stock_mm: f64, offcuts_mm: &[f64]) -> (u32, f64) {
    let longest = lengths_mm.iter().copied().fold(0.0, f64::max);
    let stock = stock_mm * (longest / stock_mm).ceil().max(1.0);
    let mut sorted: Vec<f64> = lengths_mm.to_vec();
    sorted.sort_by(|a, b| b.total_cmp(a));
    let mut left: Vec<f64> = offcuts_mm.to_vec();
    for length in sorted {
        match left.iter_mut().find(|l| **l >= length) {
            Some(rest) => *rest -= length + KERF_MM,
            None => left.push(stock - length - KERF_MM),
        }
    }
    ((left.len() - offcuts_mm.len()) as u32, stock)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_cut_as_by_hand() {
        // 600 and 350 from one metre, 500 from another.
        assert_eq!(cut(&[350.0, 600.0, 500.0], 1000.0, &[]), (2, 1000.0));
        // Two halves of a metre do not come out of one: the saw takes its own.
        assert_eq!(cut(&[500.0, 500.0], 1000.0, &[]).0, 2);
        assert_eq!(cut(&[499.0, 499.0], 1000.0, &[]).0, 1);
        // The offcut does the longest that it can.
        assert_eq!(cut(&[350.0, 600.0, 500.0], 1000.0, &[620.0]).0, 1);
        assert_eq!(cut(&[], 1000.0, &[]).0, 0);
        // What is longer than the shop's metre is bought in two.
        assert_eq!(cut(&[1200.0], 1000.0, &[]), (1, 2000.0));
    }
}
