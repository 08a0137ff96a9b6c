//! What was ticked and measured flows back: into the plan, and into how long prints take.

use super::store::{Reading, State};
use super::{coupon, planned, store};
use crate::calibrate::{learn_fits, learn_prints};
use crate::open::edit::Edit;
use crate::open::fault::{Answer, Fault};
use crate::open::fields::quoted;
use crate::open::routes::{Base, Bench, Form, offload};
use crate::open::session::Changed;
use axum::Json;
use axum::extract::State as Shared;
use prop::learnt::Prediction;
use prop::outcome::{Outcome, Plate};
use serde::Serialize;
use serde_json::Value;
use time::{Date, Duration, Month, PrimitiveDateTime, Time};

/// The numbers of the last readings that were learnt: of times, of coupons.
const LEARNT: [&str; 2] = ["learnt", "learnt-coupon"];

/// Puts what is begun and done into the project's `[done]`, so that the rest is planned from there.
pub(crate) async fn replan(Shared(bench): Bench, Form(Base { base }): Form<Base>) -> Answer<Changed> {
    offload(move || -> Result<Changed, Fault> {
        let nothing = || Fault::new(422, "nothing", "nothing is ticked yet", "tick what is begun or done");
        let store = store(&bench, false)?.ok_or_else(nothing)?;
        let plan = planned(&bench, Some(&store))?.ok_or_else(nothing)?;
        let all = store.all()?;
        let mut edits = Vec::new();
        for job in &plan.jobs {
            let Some(tick) = all.ticks.iter().find(|t| t.job == job.name && t.state != State::Open) else { continue };
            let lasted = Duration::minutes(job.to_min - job.from_min);
            let [begun, done] = [&tick.begun, &tick.done].map(|t| t.as_deref().and_then(read_clock));
            // Who ticked only the end is taken to have needed as long as planned.
            let Some(from) = begun.or_else(|| done.map(|d| d.saturating_sub(lasted))) else { continue };
            let key = |end: &str| format!("done.{}.{end}", quoted(&job.name));
            edits.push(Edit { key: key("from"), value: clock(from).into() });
            let to = done.filter(|_| tick.state == State::Done).map_or(Value::Null, |d| clock(d.max(from)).into());
            edits.push(Edit { key: key("to"), value: to });
        }
        if edits.is_empty() {
            return Err(nothing());
        }
        bench.edit(&base, &edits)
    })
    .await?
    .map(Json)
}

/// "2026-03-03 18:30", read.
pub(super) fn read_clock(text: &str) -> Option<PrimitiveDateTime> {
    let (day, hour) = text.split_once(' ')?;
    let mut day = day.splitn(3, '-').map(str::parse::<u16>);
    let (year, month, day) = (day.next()?.ok()?, day.next()?.ok()?, day.next()?.ok()?);
    let (hour, minute) = hour.split_once(':')?;
    let month = Month::try_from(u8::try_from(month).ok()?).ok()?;
    let date = Date::from_calendar_date(i32::from(year), month, u8::try_from(day).ok()?).ok()?;
    Some(PrimitiveDateTime::new(date, Time::from_hms(hour.parse().ok()?, minute.parse().ok()?, 0).ok()?))
}

fn clock(at: PrimitiveDateTime) -> String {
    format!("{:04}-{:02}-{:02} {:02}:{:02}", at.year(), u8::from(at.month()), at.day(), at.hour(), at.minute())
}

/// What was learnt, in words.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Learnt {
    learnt: Vec<String>,
}

/// What is learnt from readings, in words; `None` where there is nothing to learn.
type Learner<'a> = &'a dyn Fn(&[&Reading]) -> Option<anyhow::Result<Vec<String>>>;

/// Learns from the measured printing times how long prints really take, and from coupons how things fit.
pub(crate) async fn learn(Shared(bench): Bench) -> Answer<Learnt> {
    offload(move || -> Result<Learnt, Fault> {
        let nothing = || {
            let remedy = "write down how long a plate took, or what a coupon showed";
            Fault::new(422, "nothing", "nothing was measured yet that could be learnt from", remedy)
        };
        let store = store(&bench, false)?.ok_or_else(nothing)?;
        let all = store.all()?;
        let (path, outcome) = {
            let desk = bench.desk();
            let session = desk.session.as_ref().ok_or_else(Fault::no_project)?;
            let (_, outcome) =
                desk.shown.outcome.clone().ok_or_else(|| Fault::waiting("how long prints are to take"))?;
            (session.path().to_owned(), outcome)
        };
        let mut learnt = Vec::new();
        let mut take = |kept_as: &str, kind: &str, learn: Learner| {
            // No reading counts twice.
            let last: i64 = store.kept(kept_as)?.and_then(|n| n.parse().ok()).unwrap_or(0);
            let fresh: Vec<&Reading> = all.readings.iter().filter(|r| r.kind == kind && r.id > last).collect();
            let (Some(newest), Some(found)) = (fresh.iter().map(|r| r.id).max(), learn(&fresh)) else { return Ok(()) };
            let remedy = "correct what was written down";
            learnt.extend(found.map_err(|e| Fault::new(422, "learn", format!("{e:#}"), remedy))?);
            store.keep(kept_as, &newest.to_string())?;
            Ok::<(), Fault>(())
        };
        take(LEARNT[0], "print-time", &|readings| {
            Some(learn_prints(&path, &times(readings, &outcome)?, &predictions(&outcome)))
        })?;
        take(LEARNT[1], coupon::KIND, &|readings| Some(learn_fits(&path, &coupon::filled(readings.iter().copied())?)))?;
        if learnt.is_empty() {
            return Err(nothing());
        }
        // learnt.toml has changed, and is seen to have.
        bench.watch();
        Ok(Learnt { learnt })
    })
    .await?
    .map(Json)
}

/// A sheet of how long plates took; `None` where none of them is on the plan any more.
fn times(readings: &[&Reading], outcome: &Outcome) -> Option<String> {
    let row = |r: &&Reading| {
        let plate = outcome.plates.iter().find(|p| format!("print {}", p.name) == r.job)?;
        Some(format!("{},{},,{}\n", plate.name, plate.printer, r.value))
    };
    let rows: String = readings.iter().filter_map(row).collect();
    (!rows.is_empty()).then(|| format!("piece,printer,predicted,measured\n{rows}"))
}

fn predictions(outcome: &Outcome) -> Vec<Prediction> {
    let of = |p: &Plate| Prediction { name: p.name.clone(), printer: p.printer.clone(), time_s: p.time_s.value };
    outcome.plates.iter().map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clocks_come_back_as_they_were() {
        assert_eq!(clock(read_clock("2026-03-03 18:30").unwrap()), "2026-03-03 18:30");
        for wrong in ["", "2026-03-03", "2026-02-30 10:00", "2026-03-03 24:00", "x-y-z 1:2", "2026-03-03T18:30"] {
            assert_eq!(read_clock(wrong), None, "{wrong}");
        }
    }
}
