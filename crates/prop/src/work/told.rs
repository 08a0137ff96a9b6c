//! What is told of the plan.

use super::{Change, PlanError, SURE, Schedule};
use crate::checks::{Checked, note};
use crate::finding::{Band, Finding, Limit, Measured, Verdict};
use crate::project::PlanRules;
use workplan::{DAY, WorkError};

const DAY_MIN: f64 = DAY as f64;

pub(super) fn findings(rules: &PlanRules, schedule: &Schedule) -> Vec<Finding> {
    let mut found = vec![hangs(schedule), hands(schedule)];
    if let (Some(event), Some(due)) = (schedule.event, schedule.due_min) {
        found.push(in_time(rules, schedule, event));
        found.push(chance(schedule, due));
        found.push(latest(schedule));
    } else {
        let message = format!(
            "Begun on {}, it is finished on {} ({} to {}).",
            schedule.day_text(0),
            schedule.day_text(schedule.finish_min),
            schedule.day_text(schedule.finish_band_min[0]),
            schedule.day_text(schedule.finish_band_min[1])
        );
        found.push(note("plan_finish", "prop".to_owned(), None, schedule.finish_min as f64 / DAY_MIN, "d", message));
    }
    found.extend(schedule.changes.iter().map(|c| change(schedule, c)));
    found
}

fn in_time(rules: &PlanRules, schedule: &Schedule, event: i64) -> Finding {
    let left = |finish: i64| (event * DAY - finish) as f64 / DAY_MIN;
    let (value, [early, late]) = (left(schedule.finish_min), schedule.finish_band_min);
    let least = rules.ready_min as f64 / DAY_MIN;
    let best = if schedule.finish_min > schedule.bound_min {
        format!(" No plan ends before {}.", schedule.day_text(schedule.bound_min))
    } else {
        " No plan ends sooner.".to_owned()
    };
    Checked {
        id: "plan_in_time",
        subject: "prop".to_owned(),
        station_mm: None,
        value: Band { value, low: left(late).min(value), high: left(early).max(value) },
        unit: "d",
        min: Some(least),
        max: None,
        source: "plan.ready".to_owned(),
        message: format!(
            "Finished on {}, {} before the event on {}; with lengths as they may be, between {} and {}.{best}",
            schedule.day_text(schedule.finish_min),
            days(value),
            schedule.day_text(event * DAY),
            schedule.day_text(early),
            schedule.day_text(late)
        ),
        remedy: remedy(schedule),
    }
    .finding()
}

fn chance(schedule: &Schedule, due: i64) -> Finding {
    let share = schedule.in_time.unwrap_or(0.0);
    // Two standard errors of a share of so many runs.
    let error = 2.0 * (share * (1.0 - share) / f64::from(super::PLAYS.runs)).sqrt();
    Checked {
        id: "plan_chance",
        subject: "prop".to_owned(),
        station_mm: None,
        value: Band { value: share, low: (share - error).max(0.0), high: (share + error).min(1.0) },
        unit: "1",
        min: Some(SURE),
        max: None,
        source: "our choice: four of five".to_owned(),
        message: format!(
            "With plates that fail and work that takes longer, it is ready by {} in {:.0} of 100 runs.",
            schedule.day_text(due - 1),
            100.0 * share
        ),
        remedy: remedy(schedule),
    }
    .finding()
}

fn latest(schedule: &Schedule) -> Finding {
    let message = match schedule.latest_day {
        Some(day) => format!("The last day to begin what is left is {}.", schedule.day_text(day * DAY)),
        None => "There is no day left on which to begin in time.".to_owned(),
    };
    note("plan_start", "prop".to_owned(), None, schedule.latest_day.unwrap_or(-1) as f64, "d", message)
}

fn hangs(schedule: &Schedule) -> Finding {
    let chain: Vec<&str> = schedule.jobs.iter().filter(|j| j.critical).map(|j| j.name.as_str()).collect();
    let shown = if chain.len() > 12 {
        let (first, last) = (chain[..5].join(", "), chain[chain.len() - 6..].join(", "));
        format!("{first}, {} more, {last}", chain.len() - 11)
    } else {
        chain.join(", ")
    };
    let message = format!("Put one of these off to the next day, and the finish is later: {shown}.");
    note("plan_hangs", "prop".to_owned(), None, chain.len() as f64, "1", message)
}

fn hands(schedule: &Schedule) -> Finding {
    use super::Trade;
    let of = |trade: Trade| {
        let minutes: i64 = schedule.jobs.iter().filter(|j| j.trade == trade).map(|j| j.hands_min).sum();
        minutes as f64 / 60.0
    };
    let all = schedule.hands_min() as f64 / 60.0;
    let message = format!(
        "{all:.0} hours of hands: printing {:.1}, wiring {:.1}, joining {:.1}, filling, sanding and painting {:.1}, last \
         fittings and trials {:.1}.",
        of(Trade::Printing),
        of(Trade::Wiring),
        of(Trade::Joining),
        of(Trade::Finishing),
        of(Trade::Ending)
    );
    note("plan_hands", "prop".to_owned(), None, all, "h", message)
}

fn change(schedule: &Schedule, change: &Change) -> Finding {
    let share = change.in_time.map_or_else(String::new, |s| format!(", in time in {:.0} of 100 runs", 100.0 * s));
    let message = format!(
        "With {}: finished on {}, {} sooner{share}.",
        change.what,
        schedule.day_text(change.finish_min),
        days(change.sooner_min as f64 / DAY_MIN)
    );
    note("plan_change", change.what.clone(), None, change.sooner_min as f64 / DAY_MIN, "d", message)
}

fn remedy(schedule: &Schedule) -> String {
    match schedule.changes.first() {
        Some(best) => {
            format!("{} helps most (see the other changes tried); or begin sooner, or choose a later date", best.what)
        }
        None => "begin sooner, or choose a later date: more hands or printers alone do not help".to_owned(),
    }
}

fn days(value: f64) -> String {
    if value.abs() < 1.0 { format!("{:.0} h", 24.0 * value) } else { format!("{value:.1} d") }
}

/// What the planner counts in minutes, said in dates.
fn with_dates(rules: &PlanRules, error: &PlanError) -> String {
    let at = |minute: i64| {
        let of_day = minute.rem_euclid(DAY);
        format!("{} {:02}:{:02}", super::day_text(rules.start_day, minute), of_day / 60, of_day % 60)
    };
    match error {
        PlanError::Work(WorkError::DateInThePast { due, begin }) => {
            format!("it must be finished by {}, and that lies before the work can begin ({})", at(*due), at(*begin))
        }
        PlanError::Work(WorkError::BadReport { task, from, to, now }) => format!(
            "{task:?} was reported from {} to {}, now is {}: it must start before it ends and both lie behind",
            at(*from),
            at(*to),
            at(*now)
        ),
        other => other.to_string(),
    }
}

/// Nothing can be planned.
pub(super) fn impossible(rules: &PlanRules, error: &PlanError) -> Finding {
    let remedy = match error {
        PlanError::NoDrying { coat } => format!("add recoat and hardens to [coat.{coat}]"),
        PlanError::NoSuchTask { .. } => "use the names of work/plan.csv".to_owned(),
        PlanError::Work(WorkError::NoWorkingDay { .. }) => {
            "give plan.weekdays, plan.weekend or plan.spray some hours".to_owned()
        }
        PlanError::Work(WorkError::LongerThanAnyDay { .. }) => {
            "lengthen a span of plan.weekdays or plan.weekend".to_owned()
        }
        PlanError::Work(WorkError::DateInThePast { .. }) => "correct plan.event, plan.ready or plan.now".to_owned(),
        PlanError::Work(WorkError::BadReport { .. }) => "correct that [done], or plan.now".to_owned(),
        PlanError::Work(WorkError::NeverTogether { .. }) => "let plan.spray and the hours of hands overlap".to_owned(),
        PlanError::Work(_) => "longer hours, more hands, or a glue and coats with more time".to_owned(),
    };
    Finding {
        id: "plan_possible",
        verdict: Verdict::Fails,
        subject: "prop".to_owned(),
        station_mm: None,
        measured: Measured { value: 0.0, low: 0.0, high: 0.0, unit: "1" },
        limit: Some(Limit { min: Some(1.0), max: None, unit: "1", source: "[plan]".to_owned() }),
        message: format!("No plan can be made: {}.", with_dates(rules, error)),
        remedy,
    }
}
