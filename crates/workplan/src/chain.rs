//! What a plan's finish hangs on.

use crate::calendar::DAY;
use crate::error::WorkError;
use crate::model::{Link, Plan, Project};
use crate::place::place;
use crate::problem::{Problem, shift};
use crate::solve::finish;

/// Why a task of the critical chain does not start sooner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Because {
    /// It waits for the one before it in the chain: a link says so.
    Order,
    /// The one before it in the chain has what it needs.
    Resource(usize),
    /// It must be followed closely by the one before it in the chain, which cannot start sooner.
    Followed,
    /// Nothing: it starts as soon as hours or the beginning allow.
    Begins,
}

/// A task of the chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Critical {
    /// Place in [`Project::tasks`].
    pub task: usize,
    /// What it waits for.
    pub because: Because,
    /// From when on that let it start; from then to its start it waited for hours.
    pub since: i64,
    /// Whether all ends later when it is put off to the next day. Where not, it has room before what follows.
    pub hangs: bool,
}

impl Project {
    /// The way from a plan's beginning to its finish, from the first task to the last: each lets the next one start no sooner. On
    /// those that hang the finish depends: put off to the next day (a started one: taking a day longer), such a one makes all end later,
    /// whoever comes first in the plan still going first. Of several that hold a task up, one that hangs is followed.
    ///
    /// A day, not a minute: who works in evenings has an hour to spare on most of them, and loses a day with the evening itself.
    /// What ends long before a cold week is over holds nothing up.
    ///
    /// # Errors
    ///
    /// Those of [`Project::solve`] that need no planning.
    pub fn critical_chain(&self, plan: &Plan) -> Result<Vec<Critical>, WorkError> {
        let problem = Problem::new(self)?;
        let ends = |t: &usize| (plan.starts[*t] + self.tasks[*t].minutes, std::cmp::Reverse(*t));
        let Some(mut task) = (0..self.tasks.len()).max_by_key(ends) else { return Ok(Vec::new()) };
        let ranks: Vec<f64> = plan.starts.iter().map(|s| *s as f64).collect();
        let usual = played(&problem, &ranks);
        let (mut chain, mut seen) = (Vec::new(), vec![false; self.tasks.len()]);
        // The last task ends everything.
        let mut hangs = true;
        loop {
            seen[task] = true;
            let mut all = releases(&problem, &plan.starts, task);
            all.retain(|r| !seen[r.1]);
            let later = |r: &&(i64, usize, Because)| hangs && day_later(self, &plan.starts, &ranks, r.1) > usual;
            let (held, holds) = match (all.iter().find(later), followed(&problem, &plan.starts, task)) {
                (Some(held), _) => (Some(*held), true),
                (None, Some((who, because))) if !seen[who] => (Some((plan.starts[task], who, because)), hangs),
                (None, _) => (all.first().copied(), false),
            };
            let begins = (self.begin.max(self.tasks[task].not_before), usize::MAX, Because::Begins);
            let (since, before, because) = held.unwrap_or(begins);
            chain.push(Critical { task, because, since: since.min(plan.starts[task]), hangs });
            if because == Because::Begins {
                break;
            }
            (task, hangs) = (before, holds);
        }
        chain.reverse();
        Ok(chain)
    }
}

/// When all ends with the tasks placed in such an order; later than anything where they cannot be.
fn played(problem: &Problem, ranks: &[f64]) -> i64 {
    place(problem, &problem.minutes(), ranks).map_or(i64::MAX, |starts| finish(problem.project, &starts))
}

/// When all ends with a task put off to the next day, or taking a day longer if it has been started.
fn day_later(project: &Project, starts: &[i64], ranks: &[f64], who: usize) -> i64 {
    let mut other = project.clone();
    let task = &mut other.tasks[who];
    match task.started {
        Some(_) => task.minutes += DAY,
        None => task.not_before = (starts[who].div_euclid(DAY) + 1) * DAY,
    }
    Problem::new(&other).map_or(i64::MAX, |problem| played(&problem, ranks))
}

/// Who lets a task start no sooner than it does, and from when on they let it: the last first.
fn releases(problem: &Problem, starts: &[i64], task: usize) -> Vec<(i64, usize, Because)> {
    let (project, start) = (problem.project, starts[task]);
    let mut found: Vec<(i64, usize, Because)> = Vec::new();
    if project.tasks[task].started.is_some() {
        return found;
    }
    let minutes = problem.minutes();
    for &k in &problem.into[task] {
        let link = problem.links[k];
        let zero = starts[link.before] + shift(link, &minutes);
        let range = link.waits.0.iter().rev().find(|w| zero + w.0 <= start);
        found.push((zero + range.map_or(0, |w| w.0), link.before, Because::Order));
    }
    for used in &project.tasks[task].uses {
        let others: Vec<(usize, i64, i64, u32)> = (0..starts.len())
            .filter(|other| *other != task)
            .flat_map(|other| {
                let asked = &project.tasks[other];
                let mine = asked.uses.iter().filter(|u| u.resource == used.resource);
                mine.map(move |u| (other, starts[other], starts[other] + asked.use_minutes(u, asked.minutes), u.amount))
            })
            .collect();
        for &(other, _, end, _) in others.iter().filter(|o| o.1 < o.2 && o.2 <= start) {
            let there: u32 = others.iter().filter(|o| o.1 < end && end <= o.2).map(|o| o.3).sum();
            if there + used.amount > project.resources[used.resource].capacity {
                found.push((end, other, Because::Resource(used.resource)));
            }
        }
    }
    found.retain(|(release, ..)| *release <= start && problem.allowed(task, *release) == Some(start));
    found.sort_by_key(|f| std::cmp::Reverse(f.0));
    found
}

/// Who must follow a task so closely that it was kept back for them.
fn followed(problem: &Problem, starts: &[i64], task: usize) -> Option<(usize, Because)> {
    let (minutes, start) = (problem.minutes(), starts[task]);
    if problem.project.tasks[task].started.is_some() {
        return None;
    }
    let kept = |link: &&&Link| {
        let waited = starts[link.after] - start - shift(link, &minutes);
        link.before == task && link.waits.0.last().is_some_and(|w| w.1.is_some_and(|most| waited > 0 && waited == most))
    };
    problem.links.iter().find(kept).map(|l| (l.after, Because::Followed))
}
