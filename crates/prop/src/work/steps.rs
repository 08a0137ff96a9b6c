//! Every job in an order in which it can be done: the plan's, or that of the trade where nothing is planned.

use super::jobs::{PEOPLE, Shop};
use super::{Deed, PlanError, Schedule, listed};
use crate::outcome::Outcome;
use crate::project::{PlanRules, Project};

/// One job, as somebody at the bench reads it.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Its name: that of its job in the plan.
    pub name: String,
    /// What it does.
    pub deed: Deed,
    /// From its start to its end, min.
    pub minutes: i64,
    /// How long hands are on it, from its start, min.
    pub hands_min: i64,
    /// Where on the prop: stations from, to, mm.
    pub station_mm: Option<[f64; 2]>,
}

/// The steps of a prop: in the order of `schedule` where there is one, else each after those that it waits for and otherwise as
/// they are listed, by trade.
///
/// # Errors
/// [`PlanError`], as for a plan: a coat that does not say how it dries, something said of a job that is not there.
pub(crate) fn steps(project: &Project, outcome: &Outcome, schedule: Option<&Schedule>) -> Result<Vec<Step>, PlanError> {
    let usual = PlanRules::usual();
    let shop = Shop::of(project.plan.as_ref().unwrap_or(&usual));
    let jobs = listed(project, outcome, &shop)?;
    let tasks = &jobs.work.tasks;
    let mut order: Vec<usize> = Vec::with_capacity(tasks.len());
    if let Some(schedule) = schedule {
        order.extend(schedule.jobs.iter().filter_map(|job| jobs.named(&job.name)));
    } else {
        let mut waits = vec![0; tasks.len()];
        jobs.work.links.iter().for_each(|l| waits[l.after] += 1);
        let mut open: std::collections::BTreeSet<usize> = (0..tasks.len()).filter(|t| waits[*t] == 0).collect();
        while let Some(next) = open.pop_first() {
            order.push(next);
            for link in jobs.work.links.iter().filter(|l| l.before == next) {
                waits[link.after] -= 1;
                if waits[link.after] == 0 {
                    open.insert(link.after);
                }
            }
        }
    }
    let step = |t: usize| {
        let task = &tasks[t];
        let hands = task.uses.iter().filter(|u| u.resource == PEOPLE).map(|u| task.use_minutes(u, task.minutes)).max();
        let (deed, station_mm) = (jobs.about[t].deed.clone(), jobs.about[t].station_mm);
        Step { name: task.name.clone(), deed, minutes: task.minutes, hands_min: hands.unwrap_or(0), station_mm }
    };
    Ok(order.into_iter().map(step).collect())
}
