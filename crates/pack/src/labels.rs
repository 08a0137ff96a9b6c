//! Labels in a row that must not run into each other.

/// Where `wanted` labels (middle, width) go in one row between `from` and `to`, so that none overlap and each stays as
/// near to its wanted middle as the order allows: overlapping neighbours form a block about their mean. In the order
/// given. When the row is too short for all, they are packed from `from`.
pub(crate) fn spread(wanted: &[(f64, f64)], from: f64, to: f64) -> Vec<f64> {
    struct Block {
        start: f64,
        width: f64,
        // Sum over members of (wanted left edge - offset in block), and their count: the best start is the mean.
        sum: f64,
        count: f64,
    }
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|a, b| wanted[*a].0.total_cmp(&wanted[*b].0).then(a.cmp(b)));
    let mut blocks: Vec<Block> = Vec::new();
    let place = |sum: f64, count: f64, width: f64| (sum / count).min(to - width).max(from);
    for i in &order {
        let (middle, width) = wanted[*i];
        let left = middle - width / 2.0;
        let mut block = Block { start: place(left, 1.0, width), width, sum: left, count: 1.0 };
        while let Some(last) = blocks.pop_if(|b| b.start + b.width > block.start) {
            let sum = last.sum + block.sum - last.width * block.count;
            let (count, width) = (last.count + block.count, last.width + block.width);
            block = Block { start: place(sum, count, width), width, sum, count };
        }
        blocks.push(block);
    }
    let mut placed = vec![0.0; wanted.len()];
    let mut rest = order.iter();
    for block in &blocks {
        let mut x = block.start;
        for _ in 0..block.count as usize {
            let Some(i) = rest.next() else { break };
            placed[*i] = x + wanted[*i].1 / 2.0;
            x += wanted[*i].1;
        }
    }
    placed
}

/// Width of a text, mm, for a letter height of `size` mm: a generous guess for any sans-serif face.
pub(crate) fn text_width(text: &str, size: f64) -> f64 {
    text.chars().count() as f64 * size * 0.6
}

/// How much wider the same words are in the bold of names and heads.
pub(crate) const BOLD: f64 = 1.15;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_stay_where_they_fit() {
        assert_eq!(spread(&[(10.0, 4.0), (30.0, 4.0)], 0.0, 100.0), vec![10.0, 30.0]);
    }

    #[test]
    fn neighbours_share_the_push() {
        assert_eq!(spread(&[(10.0, 4.0), (10.0, 4.0)], 0.0, 100.0), vec![8.0, 12.0]);
        assert_eq!(spread(&[(99.0, 4.0), (98.0, 4.0), (1.0, 6.0)], 0.0, 100.0), vec![98.0, 94.0, 3.0]);
    }

    #[test]
    fn no_two_overlap() {
        let wanted: Vec<(f64, f64)> = (0..40).map(|i| (f64::from((i * 37) % 101), f64::from(1 + i % 4))).collect();
        let placed = spread(&wanted, 0.0, 120.0);
        for (i, a) in placed.iter().enumerate() {
            assert!(a - wanted[i].1 / 2.0 > -1e-9 && a + wanted[i].1 / 2.0 < 120.0 + 1e-9);
            for (j, b) in placed.iter().enumerate().skip(i + 1) {
                assert!((a - b).abs() > (wanted[i].1 + wanted[j].1) / 2.0 - 1e-9, "{i} {j}");
            }
        }
    }
}
