//! What a plan's finish hangs on.

use crate::error::WorkError;
use crate::model::{Plan, Project};
use crate::problem::{Problem, least, shift};

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

/// A task of the critical chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Critical {
    /// Place in [`Project::tasks`].
    pub task: usize,
    /// What it waits for.
    pub because: Because,
}

impl Project {
    /// The tasks on which a plan's finish hangs, from the first to the last: put one off by a tenth of its length, and the next
    /// one starts later.
    ///
    /// # Errors
    ///
    /// Those of [`Project::solve`] that need no planning.
    pub fn critical_chain(&self, plan: &Plan) -> Result<Vec<Critical>, WorkError> {
        let problem = Problem::new(self)?;
        let ends = |t: &usize| (plan.starts[*t] + self.tasks[*t].minutes, std::cmp::Reverse(*t));
        let Some(mut task) = (0..self.tasks.len()).max_by_key(ends) else { return Ok(Vec::new()) };
        let (mut chain, mut seen) = (Vec::new(), vec![false; self.tasks.len()]);
        loop {
            seen[task] = true;
            let held = holder(&problem, &plan.starts, task).filter(|h| !seen[h.0]);
            chain.push(Critical { task, because: held.map_or(Because::Begins, |h| h.1) });
            match held {
                Some((before, _)) => task = before,
                None => break,
            }
        }
        chain.reverse();
        Ok(chain)
    }
}

/// Who lets a task start no sooner: the one that releases it last, if the task would start later were that one put off by a tenth of
/// its length, or by as much more as its own hours ask. What ends long before a cold week is over holds nothing up; what is finished
/// minutes before the evening's end does, since a little more of it costs a day.
fn holder(problem: &Problem, starts: &[i64], task: usize) -> Option<(usize, Because)> {
    let (project, start) = (problem.project, starts[task]);
    if project.tasks[task].started.is_some() {
        return None;
    }
    let minutes = problem.minutes();
    let mut found: Option<(i64, usize, Because)> = None;
    let mut offer = |release: i64, who: usize, because: Because| {
        let late = 1 + minutes[who] / 10;
        let put_off = problem.allowed(who, starts[who] + late).map_or(late, |next| next - starts[who]);
        let binding = release <= start
            && problem.allowed(task, release) == Some(start)
            && problem.allowed(task, release + put_off).is_none_or(|later| later > start);
        if binding && found.is_none_or(|f| release > f.0) {
            found = Some((release, who, because));
        }
    };
    for &k in &problem.into[task] {
        let link = problem.links[k];
        let zero = starts[link.before] + shift(link, &minutes);
        let range = link.waits.0.iter().rev().find(|w| zero + w.0 <= start);
        offer(zero + range.map_or(0, |w| w.0), link.before, Because::Order);
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
                offer(end, other, Because::Resource(used.resource));
            }
        }
    }
    if let Some((_, who, because)) = found {
        return Some((who, because));
    }
    // Kept back so that another follows soon enough.
    let tight = |link: &&&crate::model::Link| {
        let waited = starts[link.after] - start - shift(link, &minutes);
        link.before == task && link.waits.0.last().is_some_and(|w| w.1.is_some_and(|most| waited > 0 && waited == most))
    };
    let near = problem.links.iter().filter(|l| l.before == task && least(l, &minutes) <= starts[l.after] - start);
    near.clone().find(tight).map(|l| (l.after, Because::Followed))
}
