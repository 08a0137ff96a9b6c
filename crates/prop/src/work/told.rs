//! What is told of the plan.

use super::{ChainLink, Change, Job, PlanError, SURE, Schedule};
use crate::checks::{Checked, note};
use crate::finding::{Band, Finding, Input, Limit, Measured, Verdict, input};
use crate::outcome::Outcome;
use crate::project::PlanRules;
use workplan::{DAY, WorkError};

const DAY_MIN: f64 = DAY as f64;

pub(super) fn findings(rules: &PlanRules, schedule: &Schedule, outcome: &Outcome) -> Vec<Finding> {
    let mut found = vec![hangs(schedule), hands(schedule)];
    found.extend(air(rules, schedule));
    found.extend(booth(rules, schedule, outcome));
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
        found.push(
            note("plan_finish", "prop".to_owned(), None, schedule.finish_min as f64 / DAY_MIN, "d", message)
                .worked_from(lengths(schedule)),
        );
    }
    found.extend(schedule.changes.iter().map(|c| change(schedule, c)));
    found
}

/// What there is to do, and who does it.
fn lengths(schedule: &Schedule) -> Vec<Input> {
    let mut all = vec![
        input("jobs", schedule.jobs.len() as f64, "1", "pieces, joints, wires, coats and [job]"),
        input("hands in all", schedule.hands_min() as f64 / 60.0, "h", OF_JOBS),
    ];
    all.extend(
        schedule.resources.iter().map(|(name, count)| input(name.clone(), f64::from(*count), "1", "[plan], [printer]")),
    );
    all
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
    .worked_from(
        [
            input("event", event as f64, "d", "plan.event, from the first day"),
            input(
                "finished",
                schedule.finish_min as f64 / DAY_MIN,
                "d",
                "the order of jobs that was found, from the first day",
            ),
            input("no plan ends before", schedule.bound_min as f64 / DAY_MIN, "d", "a bound that none beats"),
        ]
        .into_iter()
        .chain(lengths(schedule)),
    )
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
    .worked_from([
        input("plays", f64::from(super::PLAYS.runs), "1", "lengths drawn from what they may be"),
        input("in time", share * f64::from(super::PLAYS.runs), "1", "plays that end before it is due"),
        input("due", due as f64 / DAY_MIN, "d", "plan.event less plan.ready, from the first day"),
    ])
}

fn latest(schedule: &Schedule) -> Finding {
    let message = match schedule.latest_day {
        Some(day) => format!("The last day to begin what is left is {}.", schedule.day_text(day * DAY)),
        None => "There is no day left on which to begin in time.".to_owned(),
    };
    note("plan_start", "prop".to_owned(), None, schedule.latest_day.unwrap_or(-1) as f64, "d", message)
        .worked_from(lengths(schedule))
}

/// Links that are told in words: the first ones and the last. The whole way stands in the table and the drawing.
const TOLD: [usize; 2] = [5, 9];

/// The way from the first job to the last, each link with its reason.
fn hangs(schedule: &Schedule) -> Finding {
    let critical = schedule.jobs.iter().filter(|j| j.critical).count();
    let words: Vec<String> = schedule.chain.iter().map(|link| told_link(schedule, link)).collect();
    let n = words.len();
    let shown = if n > TOLD[0] + TOLD[1] + 1 {
        let (first, last) = (words[..TOLD[0]].join("; "), words[n - TOLD[1]..].join("; "));
        format!("{first}; {} more (work/chain.csv); {last}", n - TOLD[0] - TOLD[1])
    } else {
        words.join("; ")
    };
    let message = format!(
        "The way to the finish is {n} jobs long. On {critical} of them, with > before them, it hangs: put off to the next day, they \
         make it later. {shown}."
    );
    note("plan_hangs", "prop".to_owned(), None, critical as f64, "1", message).worked_from([
        input("jobs of the way", n as f64, "1", "each begins when the one before it ends"),
        input("jobs in all", schedule.jobs.len() as f64, "1", "pieces, joints, wires, coats and [job]"),
    ])
}

/// "> glue J1 (2026-03-05 18:20, after thread J1, then hours from 2026-03-04 21:50)".
fn told_link(schedule: &Schedule, link: &ChainLink) -> String {
    let job = &schedule.jobs[link.job];
    let mark = if job.critical { "> " } else { "" };
    let moment = |minute: i64| moment_text(schedule.start_day, minute);
    let hours = if job.from_min > link.since_min {
        format!(", and nobody or nothing was free for it from {}", moment(link.since_min))
    } else {
        String::new()
    };
    format!("{mark}{} ({}: {}{hours})", job.name, moment(job.from_min), link.because)
}

/// Months that the plan touches in which nothing can be sprayed.
fn air(rules: &PlanRules, schedule: &Schedule) -> Option<Finding> {
    let season = rules.season.as_ref()?;
    let months: Vec<String> =
        super::air::closed(rules).into_iter().filter(|c| c.span.from < schedule.finish_min).map(|c| c.why).collect();
    let message = if months.is_empty() {
        format!("By {} it can be sprayed in every month until the finish.", season.title.to_lowercase())
    } else {
        format!(
            "It cannot be sprayed in {}; so says {} (a month's mean, no forecast).",
            months.join("; in "),
            season.name
        )
    };
    Some(note("plan_air", "prop".to_owned(), None, months.len() as f64, "1", message).worked_from([input(
        "air at the least",
        rules.spray_c[0],
        "°C",
        "plan.spray-warm",
    )]))
}

/// Workpieces that are longer than the booth.
fn booth(rules: &PlanRules, schedule: &Schedule, outcome: &Outcome) -> Option<Finding> {
    let booth_mm = rules.booth_mm?;
    let covered: Vec<&Job> = schedule.jobs.iter().filter(|j| j.name.starts_with(super::air::COVERED)).collect();
    let first = covered.first()?;
    let long = covered.iter().filter_map(|j| j.station_mm.map(|s| s[1] - s[0])).fold(0.0, f64::max);
    let hands: i64 = covered.iter().map(|j| j.hands_min).sum();
    let message = format!(
        "What is painted at one time is up to {long:.0} mm long, of the prop's {:.0}, and the booth takes {booth_mm:.0}: a room is covered \
         for it ({hands} min of hands), and aired after each coat.",
        outcome.length_mm
    );
    Some(note("plan_booth", "prop".to_owned(), first.station_mm, long, "mm", message).worked_from([
        input("booth", booth_mm, "mm", "plan.booth"),
        input("prop", outcome.length_mm, "mm", "shape.length"),
    ]))
}

/// Where lengths of jobs come from.
const OF_JOBS: &str = "minutes of each job, common practice";

fn hands(schedule: &Schedule) -> Finding {
    use super::Trade;
    let of = |trade: Trade| {
        let minutes: i64 = schedule.jobs.iter().filter(|j| j.trade == trade).map(Job::people_min).sum();
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
    note("plan_hands", "prop".to_owned(), None, all, "h", message).worked_from([
        input("printing", of(Trade::Printing), "h", OF_JOBS),
        input("wiring", of(Trade::Wiring), "h", OF_JOBS),
        input("joining", of(Trade::Joining), "h", OF_JOBS),
        input("filling, sanding and painting", of(Trade::Finishing), "h", OF_JOBS),
        input("last fittings and trials", of(Trade::Ending), "h", OF_JOBS),
    ])
}

fn change(schedule: &Schedule, change: &Change) -> Finding {
    let share = change.in_time.map_or_else(String::new, |s| format!(", in time in {:.0} of 100 runs", 100.0 * s));
    let message = format!(
        "With {}: finished on {}, {} sooner{share}.",
        change.what,
        schedule.day_text(change.finish_min),
        days(change.sooner_min as f64 / DAY_MIN)
    );
    note("plan_change", change.what.clone(), None, change.sooner_min as f64 / DAY_MIN, "d", message).worked_from([
        input("finished then", change.finish_min as f64 / DAY_MIN, "d", "the plan made anew, from the first day"),
        input(
            "finished as it is",
            schedule.finish_min as f64 / DAY_MIN,
            "d",
            "the order of jobs that was found, from the first day",
        ),
    ])
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

/// "2026-03-02 18:00".
fn moment_text(start_day: i32, minute: i64) -> String {
    let of_day = minute.rem_euclid(DAY);
    format!("{} {:02}:{:02}", super::day_text(start_day, minute), of_day / 60, of_day % 60)
}

/// What the planner counts in minutes, said in dates.
fn with_dates(rules: &PlanRules, error: &PlanError) -> String {
    let at = |minute: i64| moment_text(rules.start_day, minute);
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
        PlanError::NoSuchResource { .. } => "use the names of work/plan.csv, under takes".to_owned(),
        PlanError::Work(WorkError::CyclicOrder { .. }) => "take one of these out of after, under [job.NAME]".to_owned(),
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
        inputs: Vec::new(),
        limit: Some(Limit { min: Some(1.0), max: None, unit: "1", source: "[plan]".to_owned() }),
        message: format!("No plan can be made: {}.", with_dates(rules, error)),
        remedy,
    }
}
