//! The cut planner: which of the candidate stations to cut at.
//!
//! It knows no geometry. The caller says what each cut costs and which stretches some printer takes; the plan is the
//! best one there is, found by dynamic programming from the tip to the butt.

use thiserror::Error;

/// Where cuts may go, what they cost, and what fits.
pub struct CutProblem<'a> {
    /// Candidate stations, mm, strictly ascending, both ends included. The first and the last are no cuts.
    pub stations_mm: Vec<f64>,
    /// Price of a cut at each candidate, 0 to 1e12, counted to a millionth; infinite where a cut is forbidden. The
    /// prices of the two ends are not looked at.
    pub price: Vec<f64>,
    /// Candidates that must be cuts (indices, any order): locked by the maker, or where one body meets the next.
    pub locked: Vec<usize>,
    /// No printer takes a piece longer than this, mm; infinite when no such length is known. Only saves calls of `fits`.
    pub reach_mm: f64,
    /// Whether some printer takes the piece from one candidate to a later one, and at what price (0 to 1e12). A longer
    /// piece may fit where a shorter one does not.
    pub fits: &'a dyn Fn(usize, usize) -> Option<f64>,
}

/// The best plan.
#[derive(Clone, Debug, PartialEq)]
pub struct CutPlan {
    /// Candidates that are cut, ascending, without the ends.
    pub cuts: Vec<usize>,
    /// Prices of all cuts and pieces together.
    pub price: f64,
}

impl CutPlan {
    /// The pieces from butt to tip: stations from, to, mm. `stations_mm` are the candidates the plan was made for.
    pub fn spans_mm(&self, stations_mm: &[f64]) -> Vec<[f64; 2]> {
        let mut ends: Vec<f64> = stations_mm.first().copied().into_iter().collect();
        ends.extend(self.cuts.iter().map(|i| stations_mm[*i]));
        ends.extend(stations_mm.last());
        ends.windows(2).map(|w| [w[0], w[1]]).collect()
    }
}

/// Why there is no plan.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum PlanError {
    /// No cuts can make pieces that fit: nothing that starts at `from_mm` or before ends at `to_mm` or later.
    #[error(
        "no printer takes a piece over stations {from_mm:.1} to {to_mm:.1} mm: the longest that fits from {from_mm:.1} mm \
         is {longest_mm:.1} mm, and the next place where a cut is allowed is {to_mm:.1} mm; allow a cut between them, \
         let the piece lie, or name a larger printer"
    )]
    NoFit {
        /// Last station that pieces from the butt can reach, mm.
        from_mm: f64,
        /// Next station after it where a cut is allowed or the prop ends, mm.
        to_mm: f64,
        /// The longest piece from `from_mm` that would fit if it could be cut there, mm; 0 when none.
        longest_mm: f64,
    },
    /// The maker locks a cut where cuts are forbidden.
    #[error("the cut at {station_mm:.1} mm is locked, but a cut there is forbidden; move the lock or lift the ban")]
    LockedForbidden {
        /// The station, mm.
        station_mm: f64,
    },
    /// Fewer than two candidates.
    #[error("{count} candidate stations; a prop has at least its two ends")]
    TooFew {
        /// How many there are.
        count: usize,
    },
    /// A station that is not finite, further than a kilometre, or not beyond the one before.
    #[error("candidate {index} lies at {station_mm} mm, not beyond the one before it")]
    Station {
        /// Which candidate.
        index: usize,
        /// Its station, mm.
        station_mm: f64,
    },
    /// Not one price for each candidate.
    #[error("{prices} prices for {stations} candidate stations")]
    Count {
        /// Number of prices.
        prices: usize,
        /// Number of candidates.
        stations: usize,
    },
    /// A price that is negative, not a number, or above 1e12.
    #[error("price {price} over stations {from_mm:.1} to {to_mm:.1} mm; prices run from 0 to 1e12")]
    Price {
        /// The price.
        price: f64,
        /// From, mm.
        from_mm: f64,
        /// To, mm; equal to `from_mm` for the price of a cut.
        to_mm: f64,
    },
    /// A locked candidate that does not exist.
    #[error("candidate {index} is locked, but there are only {count}")]
    Locked {
        /// Its index.
        index: usize,
        /// Number of candidates.
        count: usize,
    },
}

/// The plan with the fewest pieces; of those the one with the least price; of those the one with the most even pieces
/// (least sum of squared lengths, to the micrometre); of those the one whose first differing cut is nearer the butt.
///
/// Exact: sums are kept in whole numbers, so equal prices tie and nothing depends on the order of adding.
///
/// # Errors
/// [`PlanError::NoFit`] when no plan exists; the others when the problem itself is malformed.
pub fn plan(problem: &CutProblem) -> Result<CutPlan, PlanError> {
    let field = Field::of(problem)?;
    let last = field.last();
    let mut best: Vec<Option<Tail>> = vec![None; last + 1];
    best[last] = Some(Tail { pieces: 0, price: 0, uneven: 0, next: last });
    for i in (0..last).rev() {
        if !field.may_end(i) {
            continue;
        }
        let mut chosen: Option<Tail> = None;
        for j in (i + 1..=field.furthest(i)).rev() {
            let Some(rest) = best[j] else { continue };
            // What this choice comes to if the piece itself is free: no need to ask about it when that is too much.
            let mut tail = Tail {
                pieces: rest.pieces + 1,
                price: rest.price + field.cut_price[j].unwrap_or(0),
                uneven: rest.uneven + field.length_um(i, j).pow(2),
                next: j,
            };
            if chosen.is_some_and(|c| c < tail) {
                continue;
            }
            let Some(piece) = field.piece_price(i, j)? else { continue };
            tail.price += piece;
            if chosen.is_none_or(|c| tail < c) {
                chosen = Some(tail);
            }
        }
        best[i] = chosen;
    }
    let Some(whole) = best[0] else { return Err(field.first_gap()?) };
    let mut cuts = Vec::new();
    let mut at = whole.next;
    while at != last {
        cuts.push(at);
        at = best[at].map_or(last, |tail| tail.next);
    }
    Ok(CutPlan { cuts, price: whole.price as f64 / PRICE_STEPS })
}

/// Prices are counted in millionths.
const PRICE_STEPS: f64 = 1e6;
const DEAREST: f64 = 1e12;
const FURTHEST_MM: f64 = 1e6;

/// The best way from one candidate to the tip; ordered as [`plan`] prefers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Tail {
    pieces: u32,
    price: u128,
    uneven: u128,
    next: usize,
}

/// A problem found to be well formed, with its prices in whole steps.
struct Field<'a> {
    problem: &'a CutProblem<'a>,
    /// `None` where forbidden; 0 at the ends.
    cut_price: Vec<Option<u128>>,
    /// For each candidate the next locked one (or the tip).
    stop: Vec<usize>,
}

impl<'a> Field<'a> {
    fn of(problem: &'a CutProblem<'a>) -> Result<Field<'a>, PlanError> {
        let stations = &problem.stations_mm;
        let count = stations.len();
        if count < 2 {
            return Err(PlanError::TooFew { count });
        }
        if problem.price.len() != count {
            return Err(PlanError::Count { prices: problem.price.len(), stations: count });
        }
        for (index, s) in stations.iter().enumerate() {
            if s.is_nan() || s.abs() > FURTHEST_MM || (index > 0 && *s <= stations[index - 1]) {
                return Err(PlanError::Station { index, station_mm: *s });
            }
        }
        let last = count - 1;
        let mut cut_price = vec![Some(0); count];
        for i in 1..last {
            let (price, at) = (problem.price[i], stations[i]);
            cut_price[i] = if price == f64::INFINITY { None } else { Some(steps(price, at, at)?) };
        }
        let mut is_locked = vec![false; count];
        for index in &problem.locked {
            if *index >= count {
                return Err(PlanError::Locked { index: *index, count });
            }
            if cut_price[*index].is_none() {
                return Err(PlanError::LockedForbidden { station_mm: stations[*index] });
            }
            is_locked[*index] = true;
        }
        let mut stop = vec![last; count];
        for i in (0..last).rev() {
            stop[i] = if is_locked[i + 1] { i + 1 } else { stop[i + 1] };
        }
        Ok(Field { problem, cut_price, stop })
    }

    fn last(&self) -> usize {
        self.cut_price.len() - 1
    }

    fn may_end(&self, candidate: usize) -> bool {
        self.cut_price[candidate].is_some()
    }

    /// The last candidate that a piece from `from` could end at.
    fn furthest(&self, from: usize) -> usize {
        let stations = &self.problem.stations_mm;
        let end = stations[from] + self.problem.reach_mm;
        let beyond = stations.partition_point(|s| *s <= end || self.problem.reach_mm.is_nan());
        self.stop[from].min(beyond.max(1) - 1)
    }

    fn length_um(&self, from: usize, to: usize) -> u128 {
        ((self.problem.stations_mm[to] - self.problem.stations_mm[from]) * 1000.0).round() as u128
    }

    fn piece_price(&self, from: usize, to: usize) -> Result<Option<u128>, PlanError> {
        let stations = &self.problem.stations_mm;
        (self.problem.fits)(from, to).map(|price| steps(price, stations[from], stations[to])).transpose()
    }

    /// Names the first stretch that stops every plan.
    fn first_gap(&self) -> Result<PlanError, PlanError> {
        let mut reached = vec![0];
        for j in (1..=self.last()).filter(|j| self.may_end(*j)) {
            for k in (0..reached.len()).rev() {
                if self.furthest(reached[k]) >= j && self.piece_price(reached[k], j)?.is_some() {
                    reached.push(j);
                    break;
                }
            }
        }
        let from = reached[reached.len() - 1];
        let stations = &self.problem.stations_mm;
        let to = (from + 1..self.last()).find(|j| self.may_end(*j)).unwrap_or(self.last());
        let mut longest_mm = 0.0;
        for j in from + 1..=self.furthest(from) {
            if self.piece_price(from, j)?.is_some() {
                longest_mm = stations[j] - stations[from];
            }
        }
        Ok(PlanError::NoFit { from_mm: stations[from], to_mm: stations[to], longest_mm })
    }
}

fn steps(price: f64, from_mm: f64, to_mm: f64) -> Result<u128, PlanError> {
    if (0.0..=DEAREST).contains(&price) {
        Ok((price * PRICE_STEPS).round() as u128)
    } else {
        Err(PlanError::Price { price, from_mm, to_mm })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::Cell;

    /// Whole numbers from a fixed seed (a linear congruence by Knuth's MMIX constants, from memory; only spread matters).
    struct Dice(u64);

    impl Dice {
        fn below(&mut self, n: u64) -> u64 {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (self.0 >> 33) % n
        }
    }

    struct Case {
        stations_mm: Vec<f64>,
        price: Vec<f64>,
        locked: Vec<usize>,
        table: Vec<Vec<Option<f64>>>,
    }

    /// Few distinct prices and lengths, so that ties are common; what fits is any table at all.
    fn case(dice: &mut Dice) -> Case {
        let n = 2 + dice.below(9) as usize;
        let mut stations_mm = vec![0.0];
        for _ in 1..n {
            stations_mm.push(stations_mm[stations_mm.len() - 1] + [10.0, 10.0, 20.0][dice.below(3) as usize]);
        }
        let price = (0..n).map(|_| [0.0, 0.0, 1.0, 2.5, f64::INFINITY][dice.below(5) as usize]).collect::<Vec<_>>();
        let locked =
            (0..n).filter(|i| dice.below(8) == 0 && (price[*i].is_finite() || *i == 0 || *i == n - 1)).collect();
        let chance = 2 + dice.below(6);
        let table = (0..n)
            .map(|_| {
                (0..n).map(|_| (dice.below(8) < chance).then(|| [0.0, 0.0, 0.5, 1.0][dice.below(4) as usize])).collect()
            })
            .collect();
        Case { stations_mm, price, locked, table }
    }

    /// Every subset of the candidates, judged by the words of [`plan`]'s contract.
    fn brute_force(case: &Case) -> Option<(Vec<usize>, f64)> {
        let last = case.stations_mm.len() - 1;
        let mut best: Option<(usize, f64, f64, Vec<usize>)> = None;
        for subset in 0..1u32 << (last - 1) {
            let cuts: Vec<usize> = (1..last).filter(|i| subset >> (i - 1) & 1 == 1).collect();
            if case.locked.iter().any(|l| *l > 0 && *l < last && !cuts.contains(l)) {
                continue;
            }
            let ends: Vec<usize> = [0].into_iter().chain(cuts.iter().copied()).chain([last]).collect();
            let pieces: Option<f64> = ends.windows(2).map(|w| case.table[w[0]][w[1]]).sum();
            let price = pieces.unwrap_or(f64::INFINITY) + cuts.iter().map(|i| case.price[*i]).sum::<f64>();
            if price.is_infinite() {
                continue;
            }
            let uneven = ends.windows(2).map(|w| (case.stations_mm[w[1]] - case.stations_mm[w[0]]).powi(2)).sum();
            let key = (ends.len() - 1, price, uneven, cuts);
            if best.as_ref().is_none_or(|b| key < *b) {
                best = Some(key);
            }
        }
        best.map(|(_, price, _, cuts)| (cuts, price))
    }

    #[test]
    fn equals_brute_force_on_small_cases() {
        let mut dice = Dice(20_26);
        let (mut solved, mut refused) = (0, 0);
        for _ in 0..400 {
            let case = case(&mut dice);
            let fits = |i: usize, j: usize| case.table[i][j];
            let found = plan(&CutProblem {
                stations_mm: case.stations_mm.clone(),
                price: case.price.clone(),
                locked: case.locked.clone(),
                reach_mm: f64::INFINITY,
                fits: &fits,
            });
            match (found, brute_force(&case)) {
                (Ok(plan), Some((cuts, price))) => {
                    assert_eq!((plan.cuts, plan.price), (cuts, price));
                    solved += 1;
                }
                (Err(PlanError::NoFit { .. }), None) => refused += 1,
                (found, brute) => panic!("{found:?} against {brute:?}"),
            }
        }
        assert!(solved >= 200 && refused >= 50, "{solved} solved, {refused} refused: both kinds must be tried");
    }

    /// Candidates every `step` mm, all free, pieces up to `longest_mm`.
    fn rod<'a>(length_mm: f64, step: f64, fits: &'a dyn Fn(usize, usize) -> Option<f64>) -> CutProblem<'a> {
        let n = (length_mm / step).round() as usize;
        CutProblem {
            stations_mm: (0..=n).map(|i| i as f64 * step).collect(),
            price: vec![0.0; n + 1],
            locked: vec![],
            reach_mm: f64::INFINITY,
            fits,
        }
    }

    #[test]
    fn a_blade_of_1100_mm_makes_seven_pieces_of_16_cm() {
        // Common practice, no source: about seven pieces. No cut may touch a pixel: 60 a metre, 5 mm square and a
        // millimetre to either side.
        let fits = |i: usize, j: usize| (j - i <= 160).then_some(0.0);
        let mut blade = rod(1100.0, 1.0, &fits);
        for (s, price) in blade.stations_mm.iter().zip(&mut blade.price) {
            let to_pixel = (s / (1000.0 / 60.0) - 0.5).rem_euclid(1.0);
            if to_pixel.min(1.0 - to_pixel) * (1000.0 / 60.0) < 3.5 {
                *price = f64::INFINITY;
            }
        }
        let plan = plan(&blade).unwrap();
        let spans = plan.spans_mm(&blade.stations_mm);
        assert_eq!(spans.len(), 7);
        assert_eq!((spans[0][0], spans[6][1]), (0.0, 1100.0));
        assert!(plan.cuts.iter().all(|c| blade.price[*c] == 0.0));
        // Even: none far from a seventh.
        assert!(spans.iter().all(|s| (s[1] - s[0] - 1100.0 / 7.0).abs() < 10.0), "{spans:?}");
    }

    #[test]
    fn few_pieces_come_before_cheap_cuts() {
        let fits = |i: usize, j: usize| (j - i <= 5).then_some(0.0);
        let mut problem = rod(100.0, 10.0, &fits);
        assert_eq!(plan(&problem).unwrap().cuts, [5]);
        problem.price[5] = 1000.0;
        assert_eq!(plan(&problem).unwrap().cuts, [5]);
        problem.price[5] = f64::INFINITY;
        assert_eq!(plan(&problem).unwrap().cuts, [3, 6]);
        problem.price[3] = 1.0;
        assert_eq!(plan(&problem).unwrap().cuts, [4, 7]);
    }

    #[test]
    fn locked_cuts_are_kept() {
        let fits = |i: usize, j: usize| (j - i <= 5).then_some(0.0);
        let mut problem = rod(100.0, 10.0, &fits);
        problem.locked = vec![2, 10, 0];
        // 2..10 in two pieces, evenly.
        assert_eq!(plan(&problem).unwrap().cuts, [2, 6]);
        problem.price[2] = f64::INFINITY;
        assert_eq!(plan(&problem), Err(PlanError::LockedForbidden { station_mm: 20.0 }));
    }

    #[test]
    fn what_stops_a_plan_is_named() {
        let fits = |i: usize, j: usize| (j - i <= 3).then_some(0.0);
        let mut problem = rod(100.0, 10.0, &fits);
        for i in 5..9 {
            problem.price[i] = f64::INFINITY;
        }
        let error = plan(&problem).unwrap_err();
        assert_eq!(error, PlanError::NoFit { from_mm: 40.0, to_mm: 90.0, longest_mm: 30.0 });
        assert!(error.to_string().contains("stations 40.0 to 90.0 mm"));
        let nothing = |_: usize, _: usize| None;
        let none = plan(&rod(30.0, 10.0, &nothing)).unwrap_err();
        assert_eq!(none, PlanError::NoFit { from_mm: 0.0, to_mm: 10.0, longest_mm: 0.0 });
    }

    #[test]
    fn a_known_reach_saves_questions_and_changes_nothing() {
        let asked = Cell::new(0u64);
        let fits = |i: usize, j: usize| {
            asked.set(asked.get() + 1);
            (j - i <= 20).then_some(0.0)
        };
        let mut problem = rod(600.0, 1.0, &fits);
        let without = plan(&problem).unwrap();
        let asked_without = asked.replace(0);
        problem.reach_mm = 20.0;
        assert_eq!(plan(&problem).unwrap(), without);
        assert!(asked.get() <= 600 * 20 && asked.get() < asked_without / 5, "{} of {asked_without}", asked.get());
    }

    #[test]
    fn malformed_problems_are_refused() {
        let fits = |_: usize, _: usize| Some(0.0);
        let with = |change: &dyn Fn(&mut CutProblem)| {
            let mut problem = rod(30.0, 10.0, &fits);
            change(&mut problem);
            plan(&problem).unwrap_err()
        };
        assert!(matches!(with(&|p| p.stations_mm.truncate(1)), PlanError::TooFew { count: 1 }));
        assert!(matches!(with(&|p| p.stations_mm[2] = 10.0), PlanError::Station { index: 2, .. }));
        assert!(matches!(with(&|p| p.stations_mm[1] = f64::NAN), PlanError::Station { index: 1, .. }));
        assert!(matches!(with(&|p| p.price.truncate(2)), PlanError::Count { prices: 2, stations: 4 }));
        assert!(matches!(with(&|p| p.price[1] = -1.0), PlanError::Price { .. }));
        assert!(matches!(with(&|p| p.price[1] = f64::NAN), PlanError::Price { .. }));
        assert!(matches!(with(&|p| p.locked = vec![9]), PlanError::Locked { index: 9, count: 4 }));
        let dear = |_: usize, _: usize| Some(f64::INFINITY);
        assert!(matches!(plan(&rod(30.0, 10.0, &dear)), Err(PlanError::Price { .. })));
    }
}
