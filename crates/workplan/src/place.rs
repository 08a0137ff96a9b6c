//! Plans made task by task: each as early as what is already placed allows.
//!
//! Serial generation (Kelley, "The critical-path method: resources planning and scheduling", 1963). Tasks tied by upper ends of
//! waits are placed together: where the later one comes too late, the earlier one is taken out and placed later.

use crate::problem::{Problem, least, shift};

/// How often a group may be taken out again, for each of its tasks.
const TRIES: usize = 200;

/// A link whose upper end was not met.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stuck {
    pub(crate) before: usize,
    pub(crate) after: usize,
}

/// How much of a resource is taken from each minute on.
#[derive(Clone, Debug)]
struct Taken {
    steps: Vec<(i64, i64)>,
}

impl Taken {
    fn new() -> Taken {
        Taken { steps: vec![(i64::MIN, 0)] }
    }

    /// Makes a step at a minute; its place.
    fn step(&mut self, at: i64) -> usize {
        let after = self.steps.partition_point(|s| s.0 <= at);
        if self.steps[after - 1].0 < at {
            self.steps.insert(after, (at, self.steps[after - 1].1));
            after
        } else {
            after - 1
        }
    }

    fn add(&mut self, from: i64, to: i64, amount: i64) {
        if from < to {
            let first = self.step(from);
            let last = self.step(to);
            self.steps[first..last].iter_mut().for_each(|s| s.1 += amount);
        }
    }

    /// The earliest minute, not before the one given, from which the level stays at most so high for so long.
    fn fit(&self, at: i64, minutes: i64, level: i64) -> i64 {
        let mut at = at;
        if minutes == 0 {
            return at;
        }
        let mut k = self.steps.partition_point(|s| s.0 <= at) - 1;
        while let Some(&(from, taken)) = self.steps.get(k) {
            if from >= at + minutes {
                break;
            }
            k += 1;
            if taken > level {
                // The last level is nothing, so another step follows.
                at = self.steps.get(k).map_or(at, |s| s.0);
            }
        }
        at
    }
}

/// When each task starts if they are placed by rank, the lowest first, as soon as their links let them, and take so long. Hours
/// are kept with the lengths that were planned: what takes longer is finished after hours.
///
/// # Errors
///
/// The link whose upper end was not met.
pub(crate) fn place(problem: &Problem, minutes: &[i64], rank: &[f64]) -> Result<Vec<i64>, Stuck> {
    let n = minutes.len();
    let mut floor = Floor { problem, minutes, taken: vec![Taken::new(); problem.open.len()], starts: vec![None; n] };
    for (task, asked) in problem.project.tasks.iter().enumerate() {
        if let Some(start) = asked.started {
            floor.put(task, start, 1);
            floor.starts[task] = Some(start);
        }
    }
    let mut unit_of = vec![0; n];
    for (u, unit) in problem.units.iter().enumerate() {
        unit.iter().for_each(|t| unit_of[*t] = u);
    }
    let mut waiting = vec![0_usize; problem.units.len()];
    let mut followers = vec![Vec::new(); problem.units.len()];
    for link in &problem.links {
        let (a, b) = (unit_of[link.before], unit_of[link.after]);
        if a != b {
            waiting[b] += 1;
            followers[a].push(b);
        }
    }
    let ranks: Vec<f64> =
        problem.units.iter().map(|u| u.iter().map(|t| rank[*t]).fold(f64::INFINITY, f64::min)).collect();
    let mut ready: Vec<usize> = (0..waiting.len()).filter(|u| waiting[*u] == 0).collect();
    while !ready.is_empty() {
        let best = (0..ready.len()).min_by(|a, b| {
            let (a, b) = (ready[*a], ready[*b]);
            ranks[a].total_cmp(&ranks[b]).then(a.cmp(&b))
        });
        let unit = ready.swap_remove(best.unwrap_or(0));
        floor.place_unit(&problem.units[unit])?;
        for &follower in &followers[unit] {
            waiting[follower] -= 1;
            if waiting[follower] == 0 {
                ready.push(follower);
            }
        }
    }
    Ok(floor.starts.into_iter().flatten().collect())
}

/// Moves every task as far to the front as the others let it, until none moves.
pub(crate) fn sooner(problem: &Problem, starts: &mut [i64]) {
    let minutes = problem.minutes();
    let taken = vec![Taken::new(); problem.open.len()];
    let mut floor = Floor { problem, minutes: &minutes, taken, starts: starts.iter().copied().map(Some).collect() };
    for (task, start) in starts.iter().enumerate() {
        floor.put(task, *start, 1);
    }
    let mut order: Vec<usize> = (0..starts.len()).filter(|t| problem.project.tasks[*t].started.is_none()).collect();
    order.sort_by_key(|t| (starts[*t], *t));
    // Every round moves something by a minute at least; as many rounds as tasks are plenty.
    for _ in 0..=starts.len() {
        let mut moved = false;
        for &task in &order {
            let old = starts[task];
            floor.put(task, old, -1);
            floor.starts[task] = None;
            let new = match floor.try_unit(&[task], &[i64::MIN]) {
                None => floor.starts[task].unwrap_or(old),
                Some(_) => old,
            };
            let kept = |link: &&crate::model::Link| {
                let waited = starts[link.after] - new - shift(link, &minutes);
                link.waits.0.iter().any(|w| w.0 <= waited && w.1.is_none_or(|most| waited <= most))
            };
            let fits = new < old && problem.links.iter().copied().filter(|l| l.before == task).all(|l| kept(&l));
            if floor.starts[task].is_some() && !fits {
                floor.put(task, new, -1);
            }
            if fits {
                starts[task] = new;
                moved = true;
            } else {
                floor.put(task, old, 1);
            }
            floor.starts[task] = Some(starts[task]);
        }
        if !moved {
            return;
        }
    }
}

struct Floor<'a> {
    problem: &'a Problem<'a>,
    minutes: &'a [i64],
    taken: Vec<Taken>,
    starts: Vec<Option<i64>>,
}

impl Floor<'_> {
    fn put(&mut self, task: usize, start: i64, sign: i64) {
        let asked = &self.problem.project.tasks[task];
        for used in &asked.uses {
            let to = start + asked.use_minutes(used, self.minutes[task]);
            self.taken[used.resource].add(start, to, sign * i64::from(used.amount));
        }
    }

    fn place_unit(&mut self, unit: &[usize]) -> Result<(), Stuck> {
        let mut not_before = vec![i64::MIN; unit.len()];
        let mut late = None;
        for _ in 0..=TRIES * unit.len() {
            let Some((stuck, at)) = self.try_unit(unit, &not_before) else { return Ok(()) };
            for task in unit {
                if let Some(start) = self.starts[*task].filter(|_| self.problem.project.tasks[*task].started.is_none())
                {
                    self.put(*task, start, -1);
                    self.starts[*task] = None;
                }
            }
            // Put off beyond all hours: what put it off is to be told.
            let Some(at) = at else { return Err(late.unwrap_or(stuck)) };
            late = Some(stuck);
            // A start that has happened cannot be put off.
            let Some(k) = unit.iter().position(|t| *t == stuck.before) else { return Err(stuck) };
            not_before[k] = at;
        }
        late.map_or(Ok(()), Err)
    }

    /// Places the tasks of a unit; or the link that came too late and when its earlier task would have to start,
    /// where it can.
    fn try_unit(&mut self, unit: &[usize], not_before: &[i64]) -> Option<(Stuck, Option<i64>)> {
        for (&task, &floor) in unit.iter().zip(not_before) {
            if self.problem.project.tasks[task].started.is_some() {
                continue;
            }
            let into = &self.problem.into[task];
            let mut at = floor;
            for &k in into {
                let link = self.problem.links[k];
                at = at.max(self.starts[link.before].unwrap_or(i64::MIN / 2) + least(link, self.minutes));
            }
            'again: loop {
                let stuck = |before: usize| Stuck { before, after: task };
                let Some(free) = self.free(task, at) else {
                    let before = into.first().map_or(task, |k| self.problem.links[*k].before);
                    return Some((stuck(before), None));
                };
                at = free;
                for &k in into {
                    let link = self.problem.links[k];
                    let Some(start) = self.starts[link.before] else { continue };
                    let waited = at - start - shift(link, self.minutes);
                    let allowed = |w: &&(i64, Option<i64>)| w.1.is_none_or(|most| waited <= most);
                    match link.waits.0.iter().find(allowed) {
                        Some(&(least, _)) if waited < least => {
                            at += least - waited;
                            continue 'again;
                        }
                        Some(_) => {}
                        None => {
                            let most = link.waits.0.last().and_then(|w| w.1).unwrap_or(0);
                            return Some((stuck(link.before), Some(start + waited - most)));
                        }
                    }
                }
                break;
            }
            self.put(task, at, 1);
            self.starts[task] = Some(at);
        }
        None
    }

    /// The earliest start, not before the one given, at which hours, forbidden spans and what is taken allow a task.
    fn free(&self, task: usize, at: i64) -> Option<i64> {
        let asked = &self.problem.project.tasks[task];
        let mut at = at;
        loop {
            let before = at;
            at = self.problem.allowed(task, at)?;
            for used in &asked.uses {
                let level = i64::from(self.problem.project.resources[used.resource].capacity) - i64::from(used.amount);
                let minutes = asked.use_minutes(used, self.minutes[task]);
                at = self.taken[used.resource].fit(at, minutes, level);
            }
            if at == before {
                return Some(at);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_taken_is_kept_in_steps() {
        let mut taken = Taken::new();
        taken.add(10, 20, 2);
        taken.add(15, 30, 1);
        assert_eq!(taken.fit(0, 10, 0), 0);
        assert_eq!(taken.fit(0, 11, 0), 30);
        assert_eq!(taken.fit(0, 11, 1), 20);
        assert_eq!(taken.fit(12, 3, 2), 12);
        assert_eq!(taken.fit(12, 4, 2), 20);
        taken.add(15, 30, -1);
        assert_eq!(taken.fit(0, 11, 0), 20);
    }
}
