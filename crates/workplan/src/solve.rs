//! The plan that ends soonest.

use crate::bound::by_resources;
use crate::calendar::DAY;
use crate::engine::Engine;
use crate::error::WorkError;
use crate::model::{Plan, Project};
use crate::place::{Stuck, place, sooner};
use crate::problem::Problem;

/// How hard a plan is looked for. Counted, never timed: the same effort gives the same plan on every machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Seed of the orders that are tried at random.
    pub seed: u64,
    /// Orders that are tried.
    pub orders: u32,
    /// Contradictions that the exact search may meet in all, times tasks.
    pub steps: u64,
}

impl Default for Effort {
    fn default() -> Effort {
        Effort { seed: 1, orders: 200, steps: 1_000_000 }
    }
}

impl Project {
    /// The plan that ends soonest, as far as the effort goes; [`Plan::bound`] says how much sooner another could. The same project
    /// and effort give the same plan.
    ///
    /// # Errors
    ///
    /// What contradicts itself in the project, or [`WorkError::NoPlace`] where waits, hours and resources leave no plan.
    pub fn solve(&self, effort: &Effort) -> Result<Plan, WorkError> {
        self.solve_until(effort, i64::MIN)
    }

    /// The last day, counted from 0 and not before the project's beginning, on whose first minute the work can begin and still be
    /// done by a minute; `None` when it cannot even from the project's beginning. A plan for it has been found; with little effort a
    /// later day may be missed.
    ///
    /// # Errors
    ///
    /// Those of [`Project::solve`].
    pub fn latest_day(&self, due: i64, effort: &Effort) -> Result<Option<i64>, WorkError> {
        let in_time = |begin: i64| -> Result<bool, WorkError> {
            let from = Project { begin: begin.max(self.begin), due: None, ..self.clone() };
            match from.solve_until(effort, due) {
                Ok(plan) => Ok(plan.finish <= due),
                // Work that has begun may allow no plan from later on.
                Err(WorkError::NoPlace { .. } | WorkError::NeverTogether { .. }) if begin > self.begin => Ok(false),
                Err(error) => Err(error),
            }
        };
        if !in_time(self.begin)? {
            return Ok(None);
        }
        let (mut works, mut fails) = (self.begin.div_euclid(DAY), due.div_euclid(DAY) + 1);
        while fails - works > 1 {
            let day = works + (fails - works) / 2;
            if in_time(day * DAY)? { works = day } else { fails = day }
        }
        Ok(Some(works))
    }

    /// A plan that ends by a minute if one is found, else the one that ends soonest.
    fn solve_until(&self, effort: &Effort, enough: i64) -> Result<Plan, WorkError> {
        let problem = Problem::new(self)?;
        let (mut best, stuck) = by_orders(&problem, effort, enough);
        let by = best.as_ref().map_or(problem.horizon, |b| finish(self, b));
        let mut bounds = Engine::new(&problem, by);
        let bound = match bounds.first_bound() {
            Some(first) => first.max(by_resources(&problem, &bounds.earliest())),
            None if best.is_none() => return Err(no_place(self, stuck)),
            None => by,
        };
        let steps = effort.steps / (self.tasks.len() as u64).max(1);
        let mut proved = bound;
        if by > bound.max(enough) && steps > 0 {
            let mut engine = Engine::new(&problem, if best.is_some() { by - 1 } else { by });
            let found = engine.search(best.as_deref(), bound.max(enough), steps);
            proved = bound.max(if found.proved { found.finish } else { bound });
            best = found.starts.or(best);
        }
        let mut starts = best.ok_or_else(|| no_place(self, stuck))?;
        sooner(&problem, &mut starts);
        let finish = finish(self, &starts);
        Ok(Plan { starts, finish, bound: proved.min(finish) })
    }
}

/// When the last task ends.
pub(crate) fn finish(project: &Project, starts: &[i64]) -> i64 {
    let ends = starts.iter().zip(&project.tasks).map(|(s, t)| s + t.minutes);
    ends.max().unwrap_or(project.begin).max(project.begin)
}

fn no_place(project: &Project, stuck: Option<Stuck>) -> WorkError {
    let name = |k: usize| project.tasks.get(k).map_or_else(String::new, |t| t.name.clone());
    let (before, after) = stuck.map_or((usize::MAX, usize::MAX), |s| (s.before, s.after));
    WorkError::NoPlace { before: name(before), after: name(after) }
}

/// The best of several orders: by the longest way to the end, by what waits longest, and by chance near the first.
fn by_orders(problem: &Problem, effort: &Effort, enough: i64) -> (Option<Vec<i64>>, Option<Stuck>) {
    let minutes = problem.minutes();
    let n = minutes.len();
    let longest = problem.tail.iter().max().copied().unwrap_or(1).max(1) as f64;
    let ways: Vec<f64> = problem.tail.iter().map(|t| 1.0 - *t as f64 / longest).collect();
    let mut random = oorandom::Rand64::new(u128::from(effort.seed));
    let (mut best, mut best_finish, mut stuck) = (None, i64::MAX, None);
    let mut near = ways.clone();
    for round in 0..effort.orders.max(1) {
        if best_finish <= enough {
            break;
        }
        let ranks: Vec<f64> = match round {
            0 => ways.clone(),
            1 => (0..n).map(|i| ways[i] - 0.3 * minutes[i] as f64 / longest).collect(),
            _ => {
                let wild = [0.05, 0.15, 0.4][(round % 3) as usize];
                near.iter().map(|r| r + wild * (random.rand_float() - 0.5)).collect()
            }
        };
        match place(problem, &minutes, &ranks) {
            Ok(starts) => {
                let end = finish(problem.project, &starts);
                if end < best_finish {
                    (best_finish, near) = (end, ranks);
                    best = Some(starts);
                }
            }
            Err(at) => stuck = stuck.or(Some(at)),
        }
    }
    (best, stuck)
}
