//! What is tried, and in which order.

use super::{Claim, Contradiction, Engine, Reason};

/// Conflicts of the shortest run between two fresh starts.
const RUN: u64 = 60;

/// Nogoods that are kept before the weaker half is forgotten.
const KEPT: usize = 6000;

/// What a search came to.
pub(crate) struct Found {
    /// The best plan that was found, if one better than asked for was.
    pub(crate) starts: Option<Vec<i64>>,
    /// When it ends; when the plan known before ends, if none was found.
    pub(crate) finish: i64,
    /// Whether no plan ends sooner than that.
    pub(crate) proved: bool,
}

impl Engine<'_> {
    /// When the last task can end at the earliest by links and hours alone; `None` where that contradicts itself.
    pub(crate) fn first_bound(&mut self) -> Option<i64> {
        self.propagate().ok()?;
        Some(self.lower(self.finish))
    }

    /// Starts of the tasks at the earliest, as far as is known.
    pub(crate) fn earliest(&self) -> Vec<i64> {
        (0..self.finish).map(|v| self.lower(v)).collect()
    }

    /// Looks for better and better plans until none is left or the search has met so many contradictions. A plan that ends
    /// by `enough` is not improved.
    pub(crate) fn search(&mut self, near: Option<&[i64]>, enough: i64, conflicts: u64) -> Found {
        let mut best: Option<Vec<i64>> = None;
        let mut near: Option<Vec<i64>> = near.map(<[i64]>::to_vec);
        let mut finish = self.upper(self.finish) + 1;
        for run in 1.. {
            let budget = (RUN * luby(run)).min(conflicts.saturating_sub(self.conflicts));
            if budget == 0 || finish <= enough {
                return Found { starts: best, finish, proved: false };
            }
            match self.run(near.as_deref(), run % 2 == 1, budget) {
                Run::Spent => {}
                Run::Nothing => return Found { starts: best, finish, proved: true },
                Run::Plan(starts) => {
                    let ends = starts.iter().zip(&self.minutes).map(|(s, m)| s + m);
                    finish = ends.max().unwrap_or(finish);
                    near = Some(starts.clone());
                    best = Some(starts);
                }
            }
            self.back_to(0);
            if self.nogoods.len() > KEPT {
                self.forget();
            }
            if self.set(Claim::at_most(self.finish, finish - 1), Reason::Root).is_err() {
                return Found { starts: best, finish, proved: true };
            }
        }
        Found { starts: best, finish, proved: false }
    }

    fn run(&mut self, near: Option<&[i64]>, in_time: bool, budget: u64) -> Run {
        let until = self.conflicts + budget;
        loop {
            while let Err(Contradiction) = self.propagate() {
                if !self.learn() {
                    return Run::Nothing;
                }
                self.stale.iter_mut().for_each(|s| *s = true);
            }
            if self.conflicts >= until {
                return Run::Spent;
            }
            let Some(claim) = self.next(near, in_time) else {
                return Run::Plan((0..self.finish).map(|v| self.lower(v)).collect());
            };
            self.levels.push((self.trail.len(), self.store.len()));
            self.push(claim, Reason::Tried);
        }
    }

    /// What to try: in time, the task that could start first at its earliest; else the one that was in most contradictions, near
    /// where it started in the best plan.
    fn next(&self, near: Option<&[i64]>, in_time: bool) -> Option<Claim> {
        let open = (0..self.finish).filter(|v| self.lower(*v) < self.upper(*v));
        if in_time {
            let var = open.min_by_key(|v| (self.lower(*v), self.upper(*v), *v))?;
            return Some(Claim::at_most(var, self.lower(var)));
        }
        let var = open.max_by(|a, b| self.activity[*a].total_cmp(&self.activity[*b]).then(b.cmp(a)))?;
        let (lower, upper) = (self.lower(var), self.upper(var));
        let wanted = near.map_or(lower, |n| n[var]).clamp(lower, upper);
        Some(if wanted > lower { Claim::at_least(var, wanted) } else { Claim::at_most(var, lower) })
    }
}

enum Run {
    Spent,
    Nothing,
    Plan(Vec<i64>),
}

/// 1, 1, 2, 1, 1, 2, 4, ... (Luby, Sinclair and Zuckerman, "Optimal speedup of Las Vegas algorithms", 1993).
fn luby(k: u64) -> u64 {
    let bits = 64 - k.leading_zeros();
    if k + 1 == 1 << bits { 1 << (bits - 1) } else { luby(k + 1 - (1 << (bits - 1))) }
}

#[cfg(test)]
mod tests {
    #[test]
    fn runs_are_as_long_as_published() {
        let first: Vec<u64> = (1..=15).map(super::luby).collect();
        assert_eq!(first, [1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8]);
    }
}
