//! A project that has been judged, with what every way of planning needs of it.

use crate::calendar::{DAY, Span, fit, fit_back};
use crate::error::WorkError;
use crate::model::{From, Link, Project, Spread, Task};

/// Numbers beyond a hundred years are a mistake.
const MOST: i64 = 100 * 366 * DAY;

pub(crate) struct Problem<'a> {
    pub(crate) project: &'a Project,
    /// No sensible plan ends later.
    pub(crate) horizon: i64,
    /// Open spans of each resource up to the horizon.
    pub(crate) open: Vec<Vec<Span>>,
    /// Links that still bind: what has been started waits for nothing.
    pub(crate) links: Vec<&'a Link>,
    /// Places in `links` of those that end at each task.
    pub(crate) into: Vec<Vec<usize>>,
    /// Tasks that upper ends of waits tie together, each group in order, the groups in an order that the links allow.
    pub(crate) units: Vec<Vec<usize>>,
    /// The longest way from each task's start to the end of all, minutes.
    pub(crate) tail: Vec<i64>,
}

impl<'a> Problem<'a> {
    /// # Errors
    ///
    /// Everything in [`WorkError`] that can be said without planning.
    pub(crate) fn new(project: &'a Project) -> Result<Problem<'a>, WorkError> {
        for task in &project.tasks {
            judge_task(project, task)?;
        }
        for link in &project.links {
            judge_link(project, link)?;
        }
        if let Some(due) = project.due.filter(|due| *due < project.begin) {
            return Err(WorkError::DateInThePast { due, begin: project.begin });
        }
        let links: Vec<&Link> = project.links.iter().filter(|l| project.tasks[l.after].started.is_none()).collect();
        let n = project.tasks.len();
        let (mut into, mut out) = (vec![Vec::new(); n], vec![Vec::new(); n]);
        for (k, link) in links.iter().enumerate() {
            into[link.after].push(k);
            out[link.before].push(k);
        }
        let order = in_order(project, &links, &into, &out)?;
        let minutes: Vec<i64> = project.tasks.iter().map(|t| t.minutes).collect();
        let mut tail = minutes.clone();
        for &task in order.iter().rev() {
            for &k in &out[task] {
                tail[task] = tail[task].max(least(links[k], &minutes) + tail[links[k].after]);
            }
        }
        waits_can_be_met(project, &links, &into, &order, &minutes)?;
        let horizon = horizon(project);
        let open = project.resources.iter().map(|r| r.calendar.open(horizon)).collect();
        let units = units(project, &links, &order);
        let problem = Problem { project, horizon, open, links, into, units, tail };
        for (i, task) in project.tasks.iter().enumerate() {
            if task.started.is_none() && problem.allowed(i, project.begin.max(0)).is_none() {
                return Err(WorkError::NeverTogether { task: task.name.clone() });
            }
        }
        Ok(problem)
    }

    pub(crate) fn minutes(&self) -> Vec<i64> {
        self.project.tasks.iter().map(|t| t.minutes).collect()
    }

    /// The earliest start of a task, not before the one given, that hours and forbidden spans allow.
    pub(crate) fn allowed(&self, task: usize, at: i64) -> Option<i64> {
        let asked = &self.project.tasks[task];
        if asked.started.is_some() {
            return asked.started.filter(|s| *s >= at);
        }
        let mut at = at.max(asked.not_before).max(self.project.begin);
        loop {
            let before = at;
            for used in &asked.uses {
                let minutes = asked.use_minutes(used, asked.minutes);
                if minutes > 0 && used.amount > 0 {
                    at = fit(&self.open[used.resource], at, minutes)?;
                }
            }
            for span in &asked.closed {
                if asked.minutes > 0 && span.from < at + asked.minutes && at < span.to && span.from < span.to {
                    at = span.to;
                }
            }
            if at > self.horizon {
                return None;
            }
            if at == before {
                return Some(at);
            }
        }
    }

    /// The latest start of a task, not after the one given, that hours and forbidden spans allow.
    pub(crate) fn allowed_back(&self, task: usize, at: i64) -> Option<i64> {
        let asked = &self.project.tasks[task];
        if asked.started.is_some() {
            return asked.started.filter(|s| *s <= at);
        }
        let mut at = at;
        loop {
            let before = at;
            for used in &asked.uses {
                let minutes = asked.use_minutes(used, asked.minutes);
                if minutes > 0 && used.amount > 0 {
                    at = fit_back(&self.open[used.resource], at, minutes)?;
                }
            }
            for span in &asked.closed {
                if asked.minutes > 0 && span.from < at + asked.minutes && at < span.to && span.from < span.to {
                    at = span.from - asked.minutes;
                }
            }
            if at < asked.not_before.max(self.project.begin) {
                return None;
            }
            if at == before {
                return Some(at);
            }
        }
    }
}

/// From start to start, as short as a link allows.
pub(crate) fn least(link: &Link, minutes: &[i64]) -> i64 {
    shift(link, minutes) + link.waits.0[0].0
}

/// From start to start, as long as a link allows, if it says so.
pub(crate) fn most(link: &Link, minutes: &[i64]) -> Option<i64> {
    link.waits.0.last().and_then(|w| w.1).map(|most| shift(link, minutes) + most)
}

/// What a wait of nothing is from start to start.
pub(crate) fn shift(link: &Link, minutes: &[i64]) -> i64 {
    match link.from {
        From::Start => 0,
        From::End => minutes[link.before],
    }
}

fn judge_task(project: &Project, task: &Task) -> Result<(), WorkError> {
    let name = || task.name.clone();
    if task.minutes < 0 {
        return Err(WorkError::NegativeDuration { task: name(), minutes: task.minutes });
    }
    let numbers = [task.minutes, task.not_before.max(-MOST), task.started.unwrap_or(0)];
    let spans = task.closed.iter().flat_map(|s| [s.from, s.to]);
    for minutes in numbers.into_iter().chain(spans) {
        if minutes.checked_abs().is_none_or(|m| m > MOST) {
            return Err(WorkError::TooLarge { what: format!("a time of \"{}\"", task.name), minutes, most: MOST });
        }
    }
    let Spread { shares: [a, b, c], failing } = task.spread;
    if !(0.0 <= a && a <= b && b <= c && c <= 1e3 && (0.0..=0.999).contains(&failing)) {
        return Err(WorkError::BadSpread { task: name() });
    }
    for used in &task.uses {
        let Some(resource) = project.resources.get(used.resource) else {
            let there = project.resources.len();
            return Err(WorkError::UnknownResource { task: name(), resource: used.resource, there });
        };
        let (amount, capacity) = (used.amount, resource.capacity);
        if amount > capacity {
            return Err(WorkError::TooFew { task: name(), resource: resource.name.clone(), amount, capacity });
        }
        let minutes = task.use_minutes(used, task.minutes);
        if minutes < 0 {
            return Err(WorkError::NegativeDuration { task: name(), minutes });
        }
        let Some(longest) = resource.calendar.longest_minutes().filter(|_| task.started.is_none()) else { continue };
        if longest == 0 {
            return Err(WorkError::NoWorkingDay { resource: resource.name.clone(), task: name() });
        }
        if longest < minutes {
            let resource = resource.name.clone();
            return Err(WorkError::LongerThanAnyDay { task: name(), resource, minutes, longest });
        }
    }
    Ok(())
}

fn judge_link(project: &Project, link: &Link) -> Result<(), WorkError> {
    let there = project.tasks.len();
    if let Some(task) = [link.before, link.after].into_iter().find(|t| *t >= there) {
        return Err(WorkError::UnknownTask { task, there });
    }
    let mut from = 0;
    let ranges = &link.waits.0;
    for (k, &(least, most)) in ranges.iter().enumerate() {
        let last = k + 1 == ranges.len();
        if least < from || least > MOST || most.is_some_and(|m| m < least || m > MOST) || (most.is_none() && !last) {
            from = i64::MAX;
            break;
        }
        // Ranges that touch would be one.
        from = most.map_or(least, |m| m + 1);
    }
    if ranges.is_empty() || from == i64::MAX {
        let [before, after] = [link.before, link.after].map(|t| project.tasks[t].name.clone());
        return Err(WorkError::BadWait { before, after });
    }
    Ok(())
}

fn in_order(
    project: &Project,
    links: &[&Link],
    into: &[Vec<usize>],
    out: &[Vec<usize>],
) -> Result<Vec<usize>, WorkError> {
    let mut waiting: Vec<usize> = into.iter().map(Vec::len).collect();
    let mut order: Vec<usize> = (0..into.len()).filter(|t| waiting[*t] == 0).collect();
    let mut next = 0;
    while let Some(&task) = order.get(next) {
        next += 1;
        for &k in &out[task] {
            let after = links[k].after;
            waiting[after] -= 1;
            if waiting[after] == 0 {
                order.push(after);
            }
        }
    }
    if order.len() == into.len() {
        return Ok(order);
    }
    // Whoever still waits waits for another who does: going back must come round.
    let mut way = vec![waiting.iter().position(|w| *w > 0).unwrap_or(0)];
    loop {
        let here = way[way.len() - 1];
        let before = into[here].iter().map(|k| links[*k].before).find(|b| waiting[*b] > 0).unwrap_or(here);
        if let Some(k) = way.iter().position(|t| *t == before) {
            let tasks = way[k..].iter().rev().map(|t| project.tasks[*t].name.clone()).collect();
            return Err(WorkError::CyclicOrder { tasks });
        }
        way.push(before);
    }
}

/// No way between two tasks may take longer than the longest wait that is allowed between them.
fn waits_can_be_met(
    project: &Project,
    links: &[&Link],
    into: &[Vec<usize>],
    order: &[usize],
    minutes: &[i64],
) -> Result<(), WorkError> {
    for link in links {
        let Some(most) = most(link, minutes) else { continue };
        let mut far = vec![None; minutes.len()];
        far[link.before] = Some(0);
        for &task in order {
            for &k in &into[task] {
                if let Some(at) = far[links[k].before] {
                    far[task] = far[task].max(Some(at + least(links[k], minutes)));
                }
            }
        }
        if let Some(least) = far[link.after].filter(|least| *least > most) {
            let [before, after] = [link.before, link.after].map(|t| project.tasks[t].name.clone());
            return Err(WorkError::WaitCannotBeMet { before, after, most, least });
        }
    }
    Ok(())
}

/// Every task one after the other, each waiting for the week after: later than any plan worth looking at.
fn horizon(project: &Project) -> i64 {
    let off = project.resources.iter().flat_map(|r| r.calendar.off.iter());
    let closed = project.tasks.iter().flat_map(|t| t.closed.iter());
    let special = off.chain(closed).map(|s| s.to).filter(|to| *to < MOST);
    let starts = project.tasks.iter().map(|t| t.not_before.max(t.started.unwrap_or(0)));
    let last = special.chain(starts).chain([project.begin, 0]).max().unwrap_or(0);
    let closes = project.resources.iter().any(|r| r.calendar.longest_minutes().is_some());
    let week = if closes { 8 * DAY } else { 0 };
    let long = |t: &Task| t.minutes + (t.minutes as f64 * t.spread.shares[2] / (1.0 - t.spread.failing)) as i64;
    let works: i64 = project.tasks.iter().map(|t| long(t) + if t.uses.is_empty() { 0 } else { week }).sum();
    let waits: i64 = project.links.iter().map(|l| l.waits.0.last().map_or(0, |w| w.0)).sum();
    last + works + waits + 1
}

/// Groups of tasks that can reach each other along links and, against them, along waits with an upper end (Tarjan, "Depth-first
/// search and linear graph algorithms", 1972, with its stack in the open).
fn units(project: &Project, links: &[&Link], order: &[usize]) -> Vec<Vec<usize>> {
    let n = order.len();
    let mut next = vec![Vec::new(); n];
    for link in links {
        next[link.before].push(link.after);
        let bound = link.waits.0.last().is_some_and(|w| w.1.is_some());
        if bound && project.tasks[link.before].started.is_none() {
            next[link.after].push(link.before);
        }
    }
    let (mut index, mut low, mut stacked) = (vec![usize::MAX; n], vec![0; n], vec![false; n]);
    let (mut stack, mut units, mut count) = (Vec::new(), Vec::new(), 0);
    for &root in order {
        let mut work = if index[root] == usize::MAX { vec![(root, 0)] } else { Vec::new() };
        while let Some((task, k)) = work.pop() {
            if k == 0 {
                (index[task], low[task], stacked[task]) = (count, count, true);
                count += 1;
                stack.push(task);
            } else {
                low[task] = low[task].min(low[next[task][k - 1]]);
            }
            let mut k = k;
            while let Some(&to) = next[task].get(k) {
                k += 1;
                if index[to] == usize::MAX {
                    work.push((task, k));
                    work.push((to, 0));
                    break;
                }
                if stacked[to] {
                    low[task] = low[task].min(index[to]);
                }
            }
            let open = work.last().is_some_and(|(t, n)| *n == 0 && index[*t] == usize::MAX);
            if !open && low[task] == index[task] {
                let mut unit = Vec::new();
                while let Some(t) = stack.pop() {
                    stacked[t] = false;
                    unit.push(t);
                    if t == task {
                        break;
                    }
                }
                units.push(unit);
            }
        }
    }
    // They come out with the last of all first.
    units.reverse();
    let mut place = vec![0; n];
    for (k, task) in order.iter().enumerate() {
        place[*task] = k;
    }
    for unit in &mut units {
        unit.sort_by_key(|t| place[*t]);
    }
    units
}
