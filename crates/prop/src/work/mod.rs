//! The plan of work: tasks from what is built, when each is done, and whether it is ready in time.
//!
//! Rooms: `jobs`, what tasks are made of; `printing`, `wiring`, `joining`, `finishing`, the tasks of each trade with the order that
//! bites; `air`, where it is sprayed; `deed`, `steps`, what each does, in order; `minutes`, how long they take; `asked`, what the maker knows better; `changes`, what would be sooner; `told`, the findings.

mod air;
mod asked;
mod changes;
mod deed;
mod finishing;
mod jobs;
mod joining;
mod minutes;
mod printing;
mod steps;
#[cfg(test)]
pub(crate) mod tests;
mod told;
mod wiring;

use crate::finding::Finding;
use crate::outcome::Outcome;
use crate::project::{PlanRules, Project};
pub use changes::Change;
pub use deed::Deed;
use jobs::{Jobs, Shop};
use serde::Serialize;
pub use steps::Step;
pub(crate) use steps::steps;
use thiserror::Error;
use time::Date;
use workplan::{Because, DAY, Effort, Plan, Plays, Report, WorkError};

/// What a job belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Trade {
    /// On a printer, and what follows at once.
    Printing,
    /// On the bench: strips, wires, tests.
    Wiring,
    /// Fitting, threading, gluing.
    Joining,
    /// Filling, sanding, masking, painting.
    Finishing,
    /// Last fittings and trials.
    Ending,
}

/// What a job takes of a resource.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Taken {
    /// Place in [`Schedule::resources`].
    pub resource: usize,
    /// Which of them: 1, 2, ...
    pub which: u32,
    /// From its start for so long, min.
    pub minutes: i64,
}

/// One job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Job {
    /// Its name: unique, and the same in every build of the same prop.
    pub name: String,
    /// What it belongs to.
    pub trade: Trade,
    /// When it starts, minutes from the first day's midnight.
    pub from_min: i64,
    /// When it ends.
    pub to_min: i64,
    /// How long hands are on it, from its start; the rest is waiting.
    pub hands_min: i64,
    /// What it takes.
    pub taken: Vec<Taken>,
    /// Jobs that it waits for.
    pub after: Vec<usize>,
    /// Whether the finish hangs on it: put off to the next day, it makes everything end later.
    pub critical: bool,
    /// Whether it has been reported begun or done.
    pub begun: bool,
    /// Where on the prop: stations from, to, mm.
    pub station_mm: Option<[f64; 2]>,
}

/// A link of the way from the first job to the last, each of which lets the next one start no sooner.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChainLink {
    /// Place in [`Schedule::jobs`].
    pub job: usize,
    /// Why it does not start sooner, in words: "after print wide-01", "printer wide was taken until then".
    pub because: String,
    /// From when on that let it start; from then on it waited for hours, minutes.
    pub since_min: i64,
}

/// When everything is done.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Schedule {
    /// The first day, as a Julian day number.
    pub start_day: i32,
    /// The day of the event, counted from the first.
    pub event: Option<i64>,
    /// When it must be finished, minutes from the first day's midnight.
    pub due_min: Option<i64>,
    /// What there is: name, and how many.
    pub resources: Vec<(String, u32)>,
    /// Spans in which somebody is there, up to the finish, minutes.
    pub hours: Vec<[i64; 2]>,
    /// Jobs by start.
    pub jobs: Vec<Job>,
    /// The way from the first job to the last one.
    pub chain: Vec<ChainLink>,
    /// When the last job ends.
    pub finish_min: i64,
    /// No plan ends sooner.
    pub bound_min: i64,
    /// When nine of ten runs had ended, and one of ten, with lengths drawn from what they may be.
    pub finish_band_min: [i64; 2],
    /// The share of such runs that ended in time, where there is a date.
    pub in_time: Option<f64>,
    /// The last day on which the work can begin, counted from the first.
    pub latest_day: Option<i64>,
    /// What would be sooner, where it is late or tight.
    pub changes: Vec<Change>,
}

impl Job {
    /// Hands, min: where two pairs are on it, both count.
    pub fn people_min(&self) -> i64 {
        self.taken.iter().filter(|t| t.resource == jobs::PEOPLE).map(|t| t.minutes).sum()
    }
}

impl Schedule {
    /// 0 for Monday.
    pub fn weekday(&self, minute: i64) -> u32 {
        // Day 0 of the Julian count was a Monday.
        (i64::from(self.start_day) + minute.div_euclid(DAY)).rem_euclid(7) as u32
    }

    /// "2026-03-02".
    pub fn day_text(&self, minute: i64) -> String {
        day_text(self.start_day, minute)
    }

    /// Hands in all, min: where two pairs are on a job, both count.
    pub fn hands_min(&self) -> i64 {
        self.jobs.iter().map(Job::people_min).sum()
    }
}

/// "2026-03-02": the date of a minute, counted from the midnight of a Julian day.
fn day_text(start_day: i32, minute: i64) -> String {
    let day = i64::from(start_day) + minute.div_euclid(DAY);
    // A plan ends within a hundred years of a date with four figures.
    let date = i32::try_from(day).ok().and_then(|d| Date::from_julian_day(d).ok()).unwrap_or(Date::MAX);
    format!("{:04}-{:02}-{:02}", date.year(), u8::from(date.month()), date.day())
}

/// Why nothing can be planned.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum PlanError {
    /// A coat that does not say how it dries.
    #[error("the coat {coat:?} does not say how it dries")]
    NoDrying {
        /// Its name.
        coat: String,
    },
    /// Something said of a task that is not there.
    #[error("{key} is no task of this prop{near}")]
    NoSuchTask {
        /// Where it is said: `done."glue J9"`.
        key: String,
        /// What may be meant.
        near: String,
    },
    /// A job that is to take what is not there.
    #[error("job.{job:?}.takes {name:?}, which is not in the workshop{near}")]
    NoSuchResource {
        /// The job.
        job: String,
        /// As named.
        name: String,
        /// What may be meant.
        near: String,
    },
    /// What the planner says.
    #[error("{0}")]
    Work(#[from] WorkError),
}

/// How hard the plan itself is looked for, and the plans that it is compared with.
const FULL: Effort = Effort { seed: 1, orders: 200, steps: 400_000 };
const QUICK: Effort = Effort { seed: 1, orders: 40, steps: 60_000 };
/// Times that the plan is played through: a chance is then known within 3 in 100.
const PLAYS: Plays = Plays { seed: 1, runs: 1000 };
/// A plan is tight when fewer runs than this end in time (our choice).
pub(crate) const SURE: f64 = 0.8;

/// Plans the work of a prop that has been built, with what is to be told of it; nothing where the project plans nothing.
pub(crate) fn plan(project: &Project, outcome: &Outcome) -> (Option<Schedule>, Vec<Finding>) {
    let Some(rules) = &project.plan else { return (None, Vec::new()) };
    match schedule(project, rules, outcome) {
        Ok(schedule) => {
            let findings = told::findings(rules, &schedule, outcome);
            (Some(schedule), findings)
        }
        Err(error) => (None, vec![told::impossible(rules, &error)]),
    }
}

fn schedule(project: &Project, rules: &PlanRules, outcome: &Outcome) -> Result<Schedule, PlanError> {
    let jobs = listed(project, outcome, &Shop::of(rules))?;
    let work = reported(&jobs, rules)?;
    let plan = work.solve(&FULL)?;
    let chance = work.chance(&plan, &PLAYS)?;
    let share = work.due.map(|due| chance.by(due));
    let latest_day = match work.due {
        Some(due) => work.latest_day(due, &QUICK)?,
        None => None,
    };
    let late = work.due.is_some_and(|due| plan.finish > due) || share.is_some_and(|s| s < SURE);
    let changes = if late { changes::tried(project, rules, outcome, &plan)? } else { Vec::new() };
    let far = plan.finish + 365 * DAY;
    let band = [0.1, 0.9].map(|s| chance.minute(s).unwrap_or(far));
    let mut hours: Vec<[i64; 2]> =
        work.resources[jobs::PEOPLE].calendar.open(plan.finish + DAY).iter().map(|s| [s.from, s.to]).collect();
    hours.retain(|h| h[0] < plan.finish);
    let (jobs, chain) = told_jobs(&jobs, &work, &plan)?;
    Ok(Schedule {
        start_day: rules.start_day,
        event: rules.event,
        due_min: work.due,
        resources: work.resources.iter().map(|r| (r.name.clone(), r.capacity)).collect(),
        hours,
        jobs,
        chain,
        finish_min: plan.finish,
        bound_min: plan.bound,
        finish_band_min: band,
        in_time: share,
        latest_day,
        changes,
    })
}

/// All jobs of a prop in a workshop.
fn listed(project: &Project, outcome: &Outcome, shop: &Shop) -> Result<Jobs, PlanError> {
    let mut jobs = Jobs::new(shop, outcome);
    let ready = printing::list(&mut jobs, project, outcome, shop);
    let wired = wiring::list(&mut jobs, outcome);
    let joined = joining::list(&mut jobs, project, outcome, shop, &ready, &wired);
    let painted = finishing::paint(&mut jobs, project, outcome, shop, &joined)?;
    finishing::end(&mut jobs, outcome, &joined, &painted, &wired);
    air::cover(&mut jobs, shop);
    asked::apply(&mut jobs, shop)?;
    Ok(jobs)
}

/// From when on the rest is planned: what the maker says, or the last report.
fn now(rules: &PlanRules) -> Option<i64> {
    rules.now.or_else(|| rules.done.iter().map(|(_, from, to)| to.unwrap_or(*from)).max())
}

/// The jobs with what has been reported of them.
fn reported(jobs: &Jobs, rules: &PlanRules) -> Result<workplan::Project, PlanError> {
    let mut reports = Vec::new();
    for (name, from, to) in &rules.done {
        let Some(task) = jobs.named(name) else {
            let names = jobs.work.tasks.iter().map(|t| t.name.as_str());
            let near =
                crate::fields::nearest(name, names).map_or_else(String::new, |n| format!("; did you mean {n:?}?"));
            return Err(PlanError::NoSuchTask { key: format!("done.{name:?}"), near });
        };
        reports.push(Report { task, from: *from, to: *to });
    }
    match now(rules) {
        Some(now) => Ok(jobs.work.reported(now, &reports)?),
        None => Ok(jobs.work.clone()),
    }
}

/// The jobs in the order of their starts, each with the very printer, clamp and pair of hands that it takes.
fn told_jobs(jobs: &Jobs, work: &workplan::Project, plan: &Plan) -> Result<(Vec<Job>, Vec<ChainLink>), PlanError> {
    let mut order: Vec<usize> = (0..plan.starts.len()).collect();
    order.sort_by_key(|t| (plan.starts[*t], *t));
    let mut place = vec![0; order.len()];
    order.iter().enumerate().for_each(|(k, t)| place[*t] = k);
    let chain = work.critical_chain(plan)?;
    // Until when each of a kind is taken.
    let mut busy: Vec<Vec<i64>> = work.resources.iter().map(|r| vec![i64::MIN; r.capacity as usize]).collect();
    let mut told = Vec::with_capacity(order.len());
    for &task in &order {
        let (asked, from) = (&work.tasks[task], plan.starts[task]);
        let mut taken = Vec::new();
        for used in &asked.uses {
            let minutes = asked.use_minutes(used, asked.minutes);
            let free: Vec<usize> = (0..busy[used.resource].len()).filter(|k| busy[used.resource][*k] <= from).collect();
            // What was reported may overlap: then it is said of the first.
            for k in free.into_iter().chain([0]).take(used.amount as usize) {
                busy[used.resource][k] = from + minutes;
                taken.push(Taken { resource: used.resource, which: k as u32 + 1, minutes });
            }
        }
        let hands = taken.iter().filter(|t| t.resource == jobs::PEOPLE).map(|t| t.minutes).max().unwrap_or(0);
        let before = work.links.iter().filter(|l| l.after == task).map(|l| place[l.before]);
        told.push(Job {
            name: asked.name.clone(),
            trade: jobs.about[task].deed.trade(),
            from_min: from,
            to_min: from + asked.minutes,
            hands_min: hands,
            taken,
            after: before.collect(),
            critical: chain.iter().any(|c| c.task == task && c.hangs),
            begun: asked.started.is_some(),
            station_mm: jobs.about[task].station_mm,
        });
    }
    let links = chain.iter().enumerate().map(|(k, link)| {
        let before = || work.tasks[chain[k.saturating_sub(1)].task].name.clone();
        let because = match link.because {
            Because::Begins => "it begins".to_owned(),
            Because::Order => format!("after {}", before()),
            Because::Resource(r) => format!("{} taken by {}", work.resources[r].name, before()),
            Because::Followed => format!("it must be followed at once by {}", before()),
        };
        ChainLink { job: place[link.task], because, since_min: link.since }
    });
    Ok((told, links.collect()))
}
