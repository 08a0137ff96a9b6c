//! `drawings/plan.svg`: a band for each day, what is taken through its hours, and beside it what is done, in order.

use super::{clock, lane};
use crate::labels::text_width;
use crate::svg::{Anchor, Drawing, LETTER, Sheet};
use prop::outcome::Outcome;
use prop::work::{Job, Schedule};
use solid::DVec2;

const DAY: i64 = 24 * 60;
/// Width of an hour, mm.
const HOUR_MM: f64 = 8.0;
/// Left margin with the day, then the names of what is taken, mm.
const LEFT_MM: f64 = 12.0;
const LANES_MM: f64 = 74.0;
/// Height of a lane and of a line of the list, mm.
const ROW_MM: f64 = 4.6;
/// Height of a bar, mm.
const BAR_MM: f64 = 3.0;
const TOP_MM: f64 = 30.0;

/// The drawing; none where nothing is planned.
pub(crate) fn draw(outcome: &Outcome) -> Option<Sheet> {
    let plan = outcome.work.as_ref()?;
    let title = format!("{}: plan of work", outcome.prop);
    let desc = format!(
        "{} jobs from {} to {}, day by day: what is taken through the hours of each day, and what is done, in order.",
        plan.jobs.len(),
        plan.day_text(0),
        plan.day_text(plan.finish_min)
    );
    let mut d = Drawing::new("plan", title.clone(), desc);
    d.text("head", DVec2::new(LEFT_MM, 10.0), Anchor::Start, &title);
    let words = "Black: hands. Box: taken; hatched, while it waits or runs by itself. Underlined, with >: the finish hangs on it. Thin line: somebody is there.";
    d.text("small", DVec2::new(LEFT_MM, 16.0), Anchor::Start, words);
    let mut y = TOP_MM;
    axis(&mut d, y - 3.0);
    d.head(y - 1.0);
    let days = plan.finish_min.div_euclid(DAY) + 1;
    let first = plan.jobs.iter().map(|j| j.from_min.div_euclid(DAY)).min().unwrap_or(0).min(0);
    let mut day = first;
    while day < days {
        let idle = (day..days).take_while(|d| here(plan, *d).is_empty()).count() as i64;
        if idle > 0 {
            let until = if idle > 1 { format!(" to {}", plan.day_text((day + idle - 1) * DAY)) } else { String::new() };
            rule(&mut d, plan, y);
            let words = format!("{}{until}: nothing", plan.day_text(day * DAY));
            d.text("small", DVec2::new(LEFT_MM, y + 3.6), Anchor::Start, &words);
            y += ROW_MM + 1.0;
            d.fold(y - 0.3);
            day += idle;
            continue;
        }
        y = band(&mut d, plan, day, y);
        d.fold(y - 0.3);
        day += 1;
    }
    rule(&mut d, plan, y);
    d.aside(y + 1.0);
    let (below, widest) = way(&mut d, plan, y + 8.0);
    y = below;
    let mut rows = vec![("Finished", super::moment(plan, plan.finish_min))];
    if let (Some(due), Some(event)) = (plan.due_min, plan.event) {
        rows.push(("Needed by", super::moment(plan, due)));
        rows.push(("Event", plan.day_text(event * DAY)));
    }
    if let Some(share) = plan.in_time {
        rows.push(("In time", format!("{:.0} of 100 runs", 100.0 * share)));
    }
    rows.push(("Hands", format!("{:.0} h", plan.hands_min() as f64 / 60.0)));
    let right = right_mm(plan).max(widest);
    let height = rows.len() as f64 * 5.4;
    d.title_block(DVec2::new(right, y + 6.0 + height), &rows);
    Some(d.finish(DVec2::new(right + LEFT_MM, y + 6.0 + height + LEFT_MM)))
}

/// Where the list of jobs ends, by the longest name.
fn right_mm(plan: &Schedule) -> f64 {
    let longest = plan.jobs.iter().map(|j| text_width(&j.name, 1.15 * LETTER)).fold(60.0, f64::max);
    x_of(DAY) + 20.0 + longest
}

/// The way from the first job to the last, a line for each, with what it waited for; where the next thing begins, and how far
/// its lines reach.
fn way(d: &mut Drawing, plan: &Schedule, mut y: f64) -> (f64, f64) {
    const BEAD_MM: f64 = 0.9;
    d.begin("way", "The way to the finish");
    d.text("name", DVec2::new(LEFT_MM, y), Anchor::Start, "The way to the finish: why each job starts no sooner");
    y += ROW_MM + 1.0;
    let (x, mut widest) = (LEFT_MM + 2.0, 0.0_f64);
    for (k, link) in plan.chain.iter().enumerate() {
        let job = &plan.jobs[link.job];
        let bead = DVec2::new(x, y - 1.2);
        if k + 1 < plan.chain.len() {
            let next = &plan.jobs[plan.chain[k + 1].job];
            let class = if job.critical && next.critical { "thick" } else { "quiet" };
            d.line(class, bead, bead + DVec2::new(0.0, ROW_MM));
        }
        d.circle(if job.critical { "solid" } else { "thin" }, bead, BEAD_MM);
        let mark = if job.critical { "> " } else { "" };
        let hours = if job.from_min > link.since_min {
            format!("; then no hours until {}", super::moment(plan, job.from_min))
        } else {
            String::new()
        };
        let words = format!("{mark}{}", job.name);
        d.text("small", DVec2::new(x + 4.0, y), Anchor::Start, &super::moment(plan, job.from_min));
        d.text(if job.critical { "name" } else { "" }, DVec2::new(x + 34.0, y), Anchor::Start, &words);
        let after = x + 40.0 + text_width(&words, 1.15 * LETTER);
        let (at, why) = (after.max(x + 120.0), format!("{}{hours}", link.because));
        d.text("small", DVec2::new(at, y), Anchor::Start, &why);
        widest = widest.max(at + text_width(&why, LETTER));
        y += ROW_MM;
    }
    d.end();
    (y, widest)
}

fn x_of(minute: i64) -> f64 {
    LANES_MM + minute as f64 / 60.0 * HOUR_MM
}

fn rule(d: &mut Drawing, plan: &Schedule, y: f64) {
    d.line("quiet", DVec2::new(LEFT_MM, y), DVec2::new(right_mm(plan), y));
}

fn axis(d: &mut Drawing, y: f64) {
    d.begin("axis", "Hours of the day");
    for hour in 0..=24 {
        let x = x_of(60 * hour);
        let long = if hour % 3 == 0 { 2.0 } else { 1.0 };
        d.line("thin", DVec2::new(x, y), DVec2::new(x, y - long));
        if hour % 3 == 0 {
            d.text("", DVec2::new(x, y - 3.0), Anchor::Middle, &hour.to_string());
        }
    }
    d.line("thin", DVec2::new(x_of(0), y), DVec2::new(x_of(DAY), y));
    d.text("small", DVec2::new(x_of(0) - 4.0, y - 3.0), Anchor::End, "hour");
    d.end();
}

/// Jobs that take something on a day, each with the lanes it takes.
fn here(plan: &Schedule, day: i64) -> Vec<&Job> {
    let (from, to) = (day * DAY, (day + 1) * DAY);
    plan.jobs.iter().filter(|j| j.from_min < to && (j.to_min > from || j.from_min >= from)).collect()
}

/// A day's band; where the next one begins.
fn band(d: &mut Drawing, plan: &Schedule, day: i64, y: f64) -> f64 {
    let (from, to) = (day * DAY, (day + 1) * DAY);
    let jobs = here(plan, day);
    let date = plan.day_text(from);
    const NAMES: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
    d.begin(&format!("day-{date}"), &date);
    rule(d, plan, y);
    d.text("name", DVec2::new(LEFT_MM, y + 4.2), Anchor::Start, &date);
    d.text("small", DVec2::new(LEFT_MM, y + 8.4), Anchor::Start, NAMES[plan.weekday(from) as usize]);
    let mut lanes: Vec<(usize, u32)> = Vec::new();
    for job in &jobs {
        for taken in &job.taken {
            let until = job.from_min + taken.minutes;
            if until > from && !lanes.contains(&(taken.resource, taken.which)) {
                lanes.push((taken.resource, taken.which));
            }
        }
    }
    lanes.sort_unstable();
    for (row, (resource, which)) in lanes.iter().enumerate() {
        let top = y + 1.0 + row as f64 * ROW_MM;
        let name = DVec2::new(LANES_MM - 3.0, top + BAR_MM);
        d.text("small", name, Anchor::End, &lane(plan, *resource, *which));
        if *resource == 0 {
            for span in plan.hours.iter().filter(|h| h[0] < to && h[1] > from) {
                let [a, b] = [span[0].max(from), span[1].min(to)].map(|m| x_of(m - from));
                d.line("quiet", DVec2::new(a, top + BAR_MM + 0.7), DVec2::new(b, top + BAR_MM + 0.7));
            }
        }
        for job in &jobs {
            for taken in job.taken.iter().filter(|t| (t.resource, t.which) == (*resource, *which)) {
                let until = job.from_min + taken.minutes;
                let ends = [job.from_min, job.from_min + job.hands_min, until].map(|m| x_of(m.clamp(from, to) - from));
                if ends[2] > ends[0] {
                    bar(d, ends, top, *resource == 0, job.critical);
                }
            }
        }
    }
    let starting: Vec<&&Job> = jobs.iter().filter(|j| j.from_min >= from).collect();
    for (row, job) in starting.iter().enumerate() {
        let at = DVec2::new(x_of(DAY) + 6.0, y + 4.2 + row as f64 * ROW_MM);
        d.text("small", at, Anchor::Start, &clock(job.from_min));
        let words = if job.critical { format!("> {}", job.name) } else { job.name.clone() };
        d.text(if job.critical { "name" } else { "" }, at + DVec2::new(10.0, 0.0), Anchor::Start, &words);
    }
    d.end();
    let rows = lanes.len().max(starting.len()).max(2);
    y + 2.0 + rows as f64 * ROW_MM
}

/// A stretch of a lane: black in that of hands, else a box, hatched from where hands have left what goes on by itself.
fn bar(d: &mut Drawing, [a, left, b]: [f64; 3], top: f64, hands: bool, critical: bool) {
    let (corner, size) = (DVec2::new(a, top), DVec2::new(b - a, BAR_MM));
    if hands {
        d.rect("solid", corner, DVec2::new((size.x - 0.15).max(0.15), size.y));
    } else {
        d.rect("thin", corner, size);
        let mut x = left + 1.0;
        let mut strokes = Vec::new();
        while x < b + BAR_MM {
            // From the lower edge upwards to the right, cut at both ends.
            let (low, high) = ((x - BAR_MM).max(left), x.min(b));
            if high > low {
                strokes.push([DVec2::new(low, top + (x - low)), DVec2::new(high, top + (x - high))]);
            }
            x += 1.5;
        }
        d.lines("hatch", strokes);
    }
    if critical {
        d.line("thick", DVec2::new(a, top + BAR_MM + 0.45), DVec2::new(b, top + BAR_MM + 0.45));
    }
}
