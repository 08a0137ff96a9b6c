//! What the maker says about time: `[plan]`, and `[done.NAME]`.

use super::cuts::{each, list};
use super::jobs::{JobRules, read_jobs};
use crate::catalogue::Season;
use crate::catalogue::rows::Stock;
use crate::fields::{Field, Fields};
use crate::quantity::{Quantity, Wanted};
use time::{Date, Month};

/// Who works when, and for when: `[plan]`.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanRules {
    /// `start`: the first day, as a Julian day number.
    pub start_day: i32,
    /// `event`: the day it is for, counted from the first.
    pub event: Option<i64>,
    /// `ready`: how long before the event's morning it must be finished, min.
    pub ready_min: i64,
    /// `people`: pairs of hands.
    pub people: u32,
    /// `clamps`: joints that can be held at once.
    pub clamps: u32,
    /// `weekdays` and `weekend`: when somebody is there, minutes of the day.
    pub hours: [Vec<[i64; 2]>; 2],
    /// `off`: days without work, counted from the first.
    pub off: Vec<i64>,
    /// `spray`: when it can be sprayed, minutes of the day.
    pub spray: Vec<[i64; 2]>,
    /// `too-cold`: from and up to and with which day nothing can be sprayed, counted from the first.
    pub too_cold: Vec<[i64; 2]>,
    /// `season`: the air where it is sprayed, month by month; `None`: it does all year.
    pub season: Option<Season>,
    /// `spray-warm`: the coldest and the warmest air that paint is laid in, °C.
    pub spray_c: [f64; 2],
    /// `spray-damp`: the most relative humidity, 0 to 1.
    pub spray_damp: f64,
    /// `booth`: the longest thing that is sprayed without covering a room, mm.
    pub booth_mm: Option<f64>,
    /// `failing`: the chance that a plate fails, 0 to below 1.
    pub failing: f64,
    /// `finish`: sanding, minutes for a square decimetre, all passes.
    pub sanding_min_dm2: f64,
    /// `printer-measured`: whether the printers' clearances have been measured on a coupon.
    pub measured: bool,
    /// `now`: what has been done by then is in `done`, minutes from the first day's midnight.
    pub now: Option<i64>,
    /// `[job.NAME]`, in file order.
    pub jobs: Vec<JobRules>,
    /// `[done.NAME]`: task, start and end, minutes.
    pub done: Vec<(String, i64, Option<i64>)>,
}

/// Sanding for a look at two metres and for a show case, minutes for a square decimetre over all passes: 3 to 6, and 15 to 30
/// (common practice, no source).
const SANDING: [(&str, f64); 2] = [("photo", 4.5), ("display", 20.0)];
/// One plate of this share fails: a practised maker's 5 to 10 % (common practice, no source).
pub(crate) const FAILING: f64 = 0.08;
/// Working and painted three to seven days before (common practice, no source).
const READY_S: f64 = 3.0 * 86_400.0;
/// Air in which one-part paints are laid: 10 to 30 °C, 85 % of humidity at most (a paint maker's working conditions).
const SPRAY_C: [f64; 2] = [10.0, 30.0];
const SPRAY_DAMP: f64 = 0.85;
/// Pairs of hands, joints held at once, and when somebody is there, minutes of the day.
const PEOPLE: u32 = 1;
const CLAMPS: u32 = 2;
const WEEKDAYS: [[i64; 2]; 1] = [[18 * 60, 22 * 60]];
const WEEKEND: [[i64; 2]; 2] = [[10 * 60, 13 * 60], [14 * 60, 19 * 60]];
const SPRAY: [[i64; 2]; 1] = [[9 * 60, 21 * 60]];
/// A day to count from where none is known.
const ANY_DAY: i32 = 2_461_000;
const DAY_MIN: i64 = 24 * 60;
const HOURS: &str = "[\"18:00-22:00\"]";
const DATE: &str = "2026-05-16";

impl PlanRules {
    /// The workshop of somebody who plans nothing: the file's own defaults, from any day on, clearances not yet measured.
    pub(crate) fn usual() -> PlanRules {
        PlanRules {
            start_day: ANY_DAY,
            event: None,
            ready_min: (READY_S / 60.0) as i64,
            people: PEOPLE,
            clamps: CLAMPS,
            hours: [WEEKDAYS.to_vec(), WEEKEND.to_vec()],
            off: Vec::new(),
            spray: SPRAY.to_vec(),
            too_cold: Vec::new(),
            season: None,
            spray_c: SPRAY_C,
            spray_damp: SPRAY_DAMP,
            booth_mm: None,
            failing: FAILING,
            sanding_min_dm2: SANDING[1].1,
            measured: false,
            now: None,
            jobs: Vec::new(),
            done: Vec::new(),
        }
    }
}

/// Reads `[plan]` and `[done.NAME]`; without `[plan]` nothing is planned.
#[expect(clippy::option_option, reason = "absent and unreadable are two things here")]
pub(super) fn read_plan(root: &mut Fields<'_>, stock: &Stock) -> Option<Option<PlanRules>> {
    const READY: Wanted = Wanted::of(Quantity::Time, 0.0, 60.0 * 86_400.0, "72 h");
    const SHARE: Wanted = Wanted::of(Quantity::Share, 0.0, 0.9, "8 %");
    const AIR: Wanted = Wanted::of(Quantity::Temperature, -20.0, 60.0, "10 C");
    const BOOTH: Wanted = Wanted::length(100.0, 10_000.0, "80 cm");
    let done_tables = root.named_tables("done");
    let jobs = read_jobs(root);
    let Some(field) = root.get("plan") else {
        if let Some(table) = done_tables.first() {
            table.error("something is done, but nothing is planned", "add [plan], and below it start = \"2026-03-02\"");
            return None;
        }
        if let Some(job) = jobs.iter().flatten().next() {
            let message = format!("job.{:?} is changed, but nothing is planned", job.name);
            root.error(message, "add [plan], and below it start = \"2026-03-02\"");
            return None;
        }
        return Some(None);
    };
    let mut table = field.table()?;
    let start = table.need("start", "start = \"2026-03-02\"").and_then(|f| day(&f));
    // What cannot be read is counted from any day: it has been told.
    let zero = start.unwrap_or(ANY_DAY);
    let from_start = |f: &Field<'_>| day(f).map(|d| i64::from(d - zero));
    let event = table.optional("event", |f| {
        let event = from_start(&f)?;
        if event < 0 {
            return f.error("the event lies before plan.start", "correct one of the two dates");
        }
        Some(event)
    });
    let ready = table.quantity("ready", &READY, Some(READY_S));
    let people = table.get("people").map_or(Some(PEOPLE), |f| f.whole(1..=20));
    let clamps = table.get("clamps").map_or(Some(CLAMPS), |f| f.whole(1..=50));
    let weekdays = hours(&mut table, "weekdays", &WEEKDAYS);
    let weekend = hours(&mut table, "weekend", &WEEKEND);
    let off = each(&list(&mut table, "off", "[\"2026-04-05\"]"), from_start);
    let spray = hours(&mut table, "spray", &SPRAY);
    let cold = "[[\"2026-01-01\", \"2026-03-10\"]]";
    let too_cold = each(&list(&mut table, "too-cold", cold), |f| {
        let [from, to] =
            f.items(cold)?.iter().map(&from_start).collect::<Option<Vec<i64>>>()?.try_into().ok().or_else(|| {
                f.error("this must be two dates", format!("write the first and the last cold day: {cold}"))
            })?;
        if from > to {
            return f.error("it ends before it begins", "write the earlier date first");
        }
        Some([from, to])
    });
    let season = table.optional("season", |f| stock.find(&f, &stock.rows.seasons).cloned());
    let warm = table.get("spray-warm").map_or(Some(SPRAY_C), |f| f.range(&AIR));
    let damp = table.quantity("spray-damp", &Wanted { least: 0.1, most: 1.0, ..SHARE }, Some(SPRAY_DAMP));
    let booth = table.optional_quantity("booth", &BOOTH);
    let failing = table.quantity("failing", &SHARE, Some(FAILING));
    let sanding = table.choice("finish", &SANDING, Some(SANDING[1].1));
    let measured = table.flag("printer-measured", false);
    let now = table.optional("now", |f| moment(&f, zero));
    table.finish();
    let done: Vec<Option<(String, i64, Option<i64>)>> = done_tables.into_iter().map(|t| read_done(t, zero)).collect();
    let done: Option<Vec<(String, i64, Option<i64>)>> = done.into_iter().collect();
    Some(Some(PlanRules {
        start_day: start?,
        event: event?,
        ready_min: (ready? / 60.0).ceil() as i64,
        people: people?,
        clamps: clamps?,
        hours: [weekdays?, weekend?],
        off: off?,
        spray: spray?,
        too_cold: too_cold?,
        season: season?,
        spray_c: warm?,
        spray_damp: damp?,
        booth_mm: booth?,
        failing: failing?,
        sanding_min_dm2: sanding?,
        measured: measured?,
        now: now?,
        jobs: jobs?,
        done: done?,
    }))
}

fn read_done(mut table: Fields<'_>, zero: i32) -> Option<(String, i64, Option<i64>)> {
    let name = table.name.clone();
    let from = table.need("from", "from = \"2026-03-02 18:00\"").and_then(|f| moment(&f, zero));
    let to = table.optional("to", |f| moment(&f, zero));
    table.finish();
    Some((name, from?, to?))
}

/// A date as a Julian day number.
fn day(field: &Field<'_>) -> Option<i32> {
    let text = field.text()?;
    read_day(text)
        .or_else(|| field.error(format!("{text:?} is no date"), format!("write it as year-month-day: {DATE:?}")))
}

fn read_day(text: &str) -> Option<i32> {
    let parts: Vec<&str> = text.trim().split('-').collect();
    let [year, month, day] = parts.as_slice() else { return None };
    let month = Month::try_from(month.parse::<u8>().ok()?).ok()?;
    // A prop is made in years of four figures.
    let year = year.parse().ok().filter(|y| (1900..3000).contains(y))?;
    Some(Date::from_calendar_date(year, month, day.parse().ok()?).ok()?.to_julian_day())
}

/// A date with an hour, minutes from the midnight of a day.
fn moment(field: &Field<'_>, zero: i32) -> Option<i64> {
    let text = field.text()?;
    let read = || {
        let (date, clock) = text.trim().split_once([' ', 'T'])?;
        Some(i64::from(read_day(date)? - zero) * DAY_MIN + of_day(clock)?)
    };
    read().or_else(|| field.error(format!("{text:?} is no date with an hour"), "write it as \"2026-03-02 18:00\""))
}

/// Minutes of the day of "18:00"; midnight at its end is "24:00".
fn of_day(text: &str) -> Option<i64> {
    let (hour, minute) = text.trim().split_once(':')?;
    let (hour, minute): (i64, i64) = (hour.parse().ok()?, minute.parse().ok()?);
    let minutes = hour * 60 + minute;
    ((0..60).contains(&minute) && (0..=DAY_MIN).contains(&minutes)).then_some(minutes)
}

/// Spans of a day, "18:00-22:00" each.
fn hours(table: &mut Fields<'_>, name: &'static str, usual: &[[i64; 2]]) -> Option<Vec<[i64; 2]>> {
    let Some(field) = table.get(name) else { return Some(usual.to_vec()) };
    each(&field.items(HOURS), |f| {
        let text = f.text()?;
        let read = text.split_once('-').and_then(|(from, to)| Some([of_day(from)?, of_day(to)?]));
        read.filter(|[from, to]| from < to)
            .or_else(|| f.error(format!("{text:?} is no span of a day"), format!("write from and to: {HOURS}")))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_and_hours_are_read_or_refused() {
        // Julian day numbers: 2000-01-01 at noon is 2 451 545 (Astronomical Almanac).
        assert_eq!(read_day("2000-01-01"), Some(2_451_545));
        assert_eq!(read_day("2026-02-28").map(|d| d + 1), read_day("2026-03-01"));
        for wrong in ["2026-02-29", "26-01-01", "2026/01/01", "2026-13-01", "tomorrow", "2026-01"] {
            assert_eq!(read_day(wrong), None, "{wrong}");
        }
        assert_eq!([of_day("18:30"), of_day("24:00"), of_day("0:05")], [Some(1110), Some(1440), Some(5)]);
        assert_eq!([of_day("24:01"), of_day("12:60"), of_day("-1:00"), of_day("noon")], [None; 4]);
    }
}
