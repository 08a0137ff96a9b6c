//! Which squares of a bed an outline takes, with some room round it.

use solid::DVec2;

/// The squares that a shape takes, row by row.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Runs {
    /// Number of the first row; row 0 begins at y = 0.
    pub(super) first_row: i32,
    /// For each row the squares taken, from and up to, ascending and apart.
    pub(super) rows: Vec<Vec<[i32; 2]>>,
}

/// Every square of side `cell` mm that lies within `reach` mm of an outline or inside it, touching included.
pub(super) fn runs(outline: &[DVec2], reach: f64, cell: f64) -> Runs {
    let (low, high) = outline.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p.y), h.max(p.y)));
    let first_row = ((low - reach) / cell - HAIR).floor() as i32;
    let last_row = ((high + reach) / cell + HAIR).floor() as i32;
    let row = |k: i32| {
        let band = [f64::from(k) * cell, f64::from(k + 1) * cell];
        let mut taken: Vec<[i32; 2]> = sides(outline)
            .filter_map(|side| stadium_in_band(side, reach, band))
            .chain(inside_at(outline, (band[0] + band[1]) / 2.0))
            .map(|[from, to]| [(from / cell - HAIR).floor() as i32, (to / cell + HAIR).floor() as i32 + 1])
            .collect();
        taken.sort_unstable();
        taken.dedup_by(|next, last| {
            let joins = next[0] <= last[1];
            if joins {
                last[1] = last[1].max(next[1]);
            }
            joins
        });
        taken
    };
    Runs { first_row, rows: (first_row..=last_row).map(row).collect() }
}

/// Shapes count as this much larger, in squares, so that rounding leaves none out.
const HAIR: f64 = 1e-6;

fn sides(outline: &[DVec2]) -> impl Iterator<Item = [DVec2; 2]> {
    (0..outline.len()).map(|k| [outline[k], outline[(k + 1) % outline.len()]])
}

/// From where to where lies a stadium (everything within `reach` of a straight side) over a band of heights?
fn stadium_in_band([a, b]: [DVec2; 2], reach: f64, band: [f64; 2]) -> Option<[f64; 2]> {
    let (low, high) = (band[0].max(a.y.min(b.y) - reach), band[1].min(a.y.max(b.y) + reach));
    if low > high {
        return None;
    }
    // Each end is a concave function of the height, highest where the end that sticks out most lies.
    let end = |sign: f64| {
        let out = if sign * a.x >= sign * b.x { a } else { b };
        sign * furthest([a, b], reach, sign, out.y.clamp(low, high))
    };
    Some([end(-1.0), end(1.0)])
}

/// Furthest of a stadium along `sign` x at one height, times `sign`; minus infinity beyond it.
fn furthest([a, b]: [DVec2; 2], reach: f64, sign: f64, y: f64) -> f64 {
    let round = |p: DVec2| {
        // Rounding at the very top must not lose the point there.
        let rest = reach * reach - (y - p.y) * (y - p.y);
        if rest < -1e-9 * reach * reach { f64::NEG_INFINITY } else { sign * p.x + rest.max(0.0).sqrt() }
    };
    let straight = (b - a).try_normalize().map_or(f64::NEG_INFINITY, |along| {
        let normal = DVec2::new(along.y, -along.x);
        let off = normal * (reach * if normal.x * sign >= 0.0 { 1.0 } else { -1.0 });
        let (p, q) = (a + off, b + off);
        let t = (y - p.y) / (q.y - p.y);
        if (0.0..=1.0).contains(&t) { sign * (p.x + (q.x - p.x) * t) } else { f64::NEG_INFINITY }
    });
    round(a).max(round(b)).max(straight)
}

/// Where a level line runs inside an outline.
fn inside_at(outline: &[DVec2], y: f64) -> Vec<[f64; 2]> {
    let mut at: Vec<f64> = sides(outline)
        .filter(|[a, b]| (a.y > y) != (b.y > y))
        .map(|[a, b]| a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y)))
        .collect();
    at.sort_by(f64::total_cmp);
    at.chunks_exact(2).map(|c| [c[0], c[1]]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use solid::section::{distance_to, point_in};

    proptest! {
        #[test]
        fn takes_what_it_touches_and_little_more(
            radii in prop::collection::vec(3.0f64..30.0, 3..14), reach in 0.1f64..6.0, cell in 0.5f64..2.0
        ) {
            let n = radii.len() as f64;
            let outline: Vec<DVec2> = radii.iter().enumerate().map(|(k, r)| {
                let (s, c) = libm::sincos(k as f64 / n * std::f64::consts::TAU);
                DVec2::new(c, s) * *r
            }).collect();
            let loops = [outline.clone()];
            let taken = runs(&outline, reach, cell);
            // Brute force: squares by nine points each.
            for row in -60..60 {
                let runs = usize::try_from(row - taken.first_row).ok().and_then(|k| taken.rows.get(k));
                for column in -60..60 {
                    let is_taken = runs.is_some_and(|r| r.iter().any(|[a, b]| (*a..*b).contains(&column)));
                    let mut nearest = f64::INFINITY;
                    for i in 0..3 {
                        for k in 0..3 {
                            let p = DVec2::new(f64::from(column) + f64::from(i) / 2.0, f64::from(row) + f64::from(k) / 2.0) * cell;
                            let off = if point_in(&loops, p) { 0.0 } else { distance_to(&loops, p) };
                            nearest = nearest.min(off);
                        }
                    }
                    prop_assert!(is_taken || nearest > reach, "left out: {column} {row} {nearest} of {reach}");
                    prop_assert!(!is_taken || nearest <= reach + cell * 0.5, "too much: {column} {row} {nearest}");
                }
            }
        }
    }
}
