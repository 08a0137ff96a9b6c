//! Which straight lengths the spine is cut to.

use super::runs::Way;
use crate::project::SpineRules;

/// A length of spine is cut this much short at each end so that it never bears on an end, mm (common practice: a rod is
/// cut 1 to 2 mm short).
pub(super) const SHORT_MM: f64 = 1.0;

/// Lengths of spine between two distances along the way, in order: distances that each spans, and how long each stretch
/// is that was too short to be of use. One to each straight run, parted at the maker's cuts and at joints that come apart
/// (`parted_mm`, stations), none where the maker leaves it out, and where a stretch is longer than the stock, as many
/// equal ones as it takes.
pub(super) fn lengths(
    way: &Way,
    rules: &SpineRules,
    parted_mm: &[f64],
    [from, to]: [f64; 2],
) -> (Vec<[f64; 2]>, Vec<f64>) {
    let at = |station: &f64| way.distance_at(*station);
    let mut stretches = Vec::new();
    let mut done = 0.0;
    for run in &way.runs {
        stretches.push([from.max(done), to.min(done + run.length_mm)]);
        done += run.length_mm;
    }
    for cut in rules.cut_mm.iter().chain(parted_mm).map(at) {
        stretches = stretches.into_iter().flat_map(|s| parted(s, [cut, cut])).collect();
    }
    for [a, b] in &rules.leave_mm {
        stretches = stretches.into_iter().flat_map(|s| parted(s, [at(a), at(b)])).collect();
    }
    let (mut kept, mut dropped) = (Vec::new(), Vec::new());
    for [a, b] in stretches {
        let pieces = rules.longest_mm.map_or(1.0, |most| ((b - a) / (most + 2.0 * SHORT_MM)).ceil().max(1.0));
        for k in 0..pieces as usize {
            let share = |k: usize| a + (b - a) * k as f64 / pieces;
            let ends = [share(k) + SHORT_MM, share(k + 1) - SHORT_MM];
            let length = ends[1] - ends[0];
            if length >= rules.least_length_mm {
                kept.push(ends);
            } else if length > 0.0 {
                dropped.push(length);
            }
        }
    }
    (kept, dropped)
}

/// A stretch without what lies between two distances.
fn parted([a, b]: [f64; 2], [out, back]: [f64; 2]) -> Vec<[f64; 2]> {
    if back <= a || out >= b {
        return vec![[a, b]];
    }
    [[a, out.max(a)], [back.min(b), b]].into_iter().filter(|s| s[1] > s[0]).collect()
}

/// Where the spine's bore runs: from each length's seat to the next, with the air at their ends.
pub(super) fn bored(lengths: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut spans: Vec<[f64; 2]> = Vec::new();
    for [a, b] in lengths {
        let (a, b) = (a - SHORT_MM, b + SHORT_MM);
        match spans.last_mut() {
            Some(last) if a <= last[1] + SHORT_MM => last[1] = b,
            _ => spans.push([a, b]),
        }
    }
    spans
}

#[cfg(test)]
mod tests {
    use super::super::runs::way_through;
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::path::CentrePath;
    use solid::DVec3;

    fn rules() -> SpineRules {
        let bar = Catalogue::built_in().bars.into_iter().find(|b| b.name == "round-glass-8").unwrap();
        SpineRules::plain(bar)
    }

    fn cut(rules: &SpineRules, runs: &[f64]) -> (Vec<[f64; 2]>, Vec<f64>) {
        let path = CentrePath::new(vec![DVec3::ZERO, DVec3::X * 1800.0]).unwrap();
        lengths(&way_through(&path, runs, true), rules, &[], [3.0, 1797.0])
    }

    #[test]
    fn a_straight_staff_takes_what_the_shop_sells() {
        assert_eq!(cut(&rules(), &[0.0, 1800.0]).0, [[4.0, 1796.0]]);
        let metre = SpineRules { longest_mm: Some(1000.0), ..rules() };
        assert_eq!(cut(&metre, &[0.0, 1800.0]).0, [[4.0, 899.0], [901.0, 1796.0]]);
        // 1792 mm are just to be had.
        let just = SpineRules { longest_mm: Some(1792.0), ..rules() };
        assert_eq!(cut(&just, &[0.0, 1800.0]).0.len(), 1);
    }

    #[test]
    fn it_is_parted_where_the_maker_says_and_left_out_for_parts() {
        let parts = SpineRules { cut_mm: vec![840.0], leave_mm: vec![[1270.0, 1480.0]], ..rules() };
        assert_eq!(cut(&parts, &[0.0, 1800.0]).0, [[4.0, 839.0], [841.0, 1269.0], [1481.0, 1796.0]]);
        assert_eq!(bored(&cut(&parts, &[0.0, 1800.0]).0), [[3.0, 1270.0], [1480.0, 1797.0]]);
        // A stretch of 60 mm is of no use.
        let short = SpineRules { cut_mm: vec![65.0], ..rules() };
        assert_eq!(cut(&short, &[0.0, 1800.0]), (vec![[66.0, 1796.0]], vec![60.0]));
        // Straight runs part it as well.
        assert_eq!(cut(&rules(), &[0.0, 600.0, 1800.0]).0, [[4.0, 599.0], [601.0, 1796.0]]);
    }
}
