//! The plan of work: a table, a calendar to take along, and a drawing by day.

mod calendar;
mod drawing;
mod finish;
mod shopping;

use crate::Artifact;
use crate::csv::line;
use prop::outcome::Outcome;
use prop::work::{Job, Schedule};

pub(crate) use drawing::draw;
pub(crate) use shopping::kinds;

/// What is finished, and where something is planned its table and calendar.
pub(crate) fn files(outcome: &Outcome) -> Vec<Artifact> {
    let mut files = finish::files(outcome);
    files.extend(shopping::files(outcome));
    if let Some(plan) = &outcome.work {
        files.push(Artifact::new("work/plan.csv", table(plan)));
        files.push(Artifact::new("work/chain.csv", chain(plan)));
        files.push(Artifact::new("work/plan.ics", calendar::calendar(&outcome.prop, plan)));
    }
    files
}

fn table(plan: &Schedule) -> String {
    let mut text = line(&[
        "job",
        "trade",
        "from",
        "to",
        "minutes",
        "hands_min",
        "takes",
        "after",
        "critical",
        "begun",
        "station_from_mm",
        "station_to_mm",
    ]);
    for job in &plan.jobs {
        let station = |k: usize| job.station_mm.map_or_else(String::new, |s| format!("{:.1}", s[k]));
        let after: Vec<&str> = job.after.iter().map(|k| plan.jobs[*k].name.as_str()).collect();
        text += &line(&[
            job.name.clone(),
            trade(job).to_owned(),
            moment(plan, job.from_min),
            moment(plan, job.to_min),
            (job.to_min - job.from_min).to_string(),
            job.hands_min.to_string(),
            takes(plan, job),
            after.join("; "),
            yes(job.critical).to_owned(),
            yes(job.begun).to_owned(),
            station(0),
            station(1),
        ]);
    }
    text
}

/// The way from the first job to the last: each with what it waited for.
fn chain(plan: &Schedule) -> String {
    let mut text = line(&["job", "from", "to", "because", "free_from", "critical"]);
    for link in &plan.chain {
        let job = &plan.jobs[link.job];
        text += &line(&[
            job.name.clone(),
            moment(plan, job.from_min),
            moment(plan, job.to_min),
            link.because.clone(),
            moment(plan, link.since_min),
            yes(job.critical).to_owned(),
        ]);
    }
    text
}

fn trade(job: &Job) -> &'static str {
    use prop::work::Trade;
    match job.trade {
        Trade::Printing => "printing",
        Trade::Wiring => "wiring",
        Trade::Joining => "joining",
        Trade::Finishing => "finishing",
        Trade::Ending => "ending",
    }
}

fn yes(is: bool) -> &'static str {
    if is { "yes" } else { "no" }
}

/// "2026-03-02 18:00".
pub(crate) fn moment(plan: &Schedule, minute: i64) -> String {
    format!("{} {}", plan.day_text(minute), clock(minute))
}

/// "18:00".
fn clock(minute: i64) -> String {
    let of_day = minute.rem_euclid(24 * 60);
    format!("{:02}:{:02}", of_day / 60, of_day % 60)
}

/// "hands 1; printer wide".
fn takes(plan: &Schedule, job: &Job) -> String {
    let names: Vec<String> = job.taken.iter().map(|t| lane(plan, t.resource, t.which)).collect();
    names.join("; ")
}

/// "hands 2", or the bare name where there is only one.
fn lane(plan: &Schedule, resource: usize, which: u32) -> String {
    let (name, count) = &plan.resources[resource];
    if *count > 1 { format!("{name} {which}") } else { name.clone() }
}
