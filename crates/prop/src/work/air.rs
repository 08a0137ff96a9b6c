//! Where it is sprayed: months too cold, too warm or too damp, and props longer than the place is wide.

use super::Deed;
use super::jobs::{Jobs, PEOPLE, SPRAY, Shop};
use super::minutes::{AIR, AIRED_WITHIN, COVER_ROOM, HANDS};
use crate::project::PlanRules;
use time::{Date, Month};
use workplan::{DAY, During, Span, Spread, Task, Waits};

/// How the job is called that covers a room.
pub(super) const COVERED: &str = "cover a room";
/// Months that are looked at from the first on: no prop takes longer.
const MONTHS: usize = 36;

/// A month in which nothing can be sprayed.
pub(super) struct Closed {
    /// Its days, as minutes.
    pub(super) span: Span,
    /// "March 2026: 8 °C at most, and 10 °C are needed".
    pub(super) why: String,
}

/// The months in which the air does not do.
pub(super) fn closed(rules: &PlanRules) -> Vec<Closed> {
    let (Some(season), Ok(first)) = (&rules.season, Date::from_julian_day(rules.start_day)) else { return Vec::new() };
    let (mut year, mut month) = (first.year(), first.month());
    let mut found = Vec::new();
    for _ in 0..MONTHS {
        let k = usize::from(u8::from(month)) - 1;
        let (warm, damp) = (season.highest_c[k], season.humidity[k]);
        let [least, most] = rules.spray_c;
        let why = if warm < least {
            Some(format!("{warm:.0} °C at the day's highest, and {least:.0} °C are needed"))
        } else if warm > most {
            Some(format!("{warm:.0} °C at the day's highest, and {most:.0} °C is the most"))
        } else if damp > rules.spray_damp {
            let [damp, most] = [damp, rules.spray_damp].map(|d| 100.0 * d);
            Some(format!("{damp:.0} % humidity, and {most:.0} % is the most"))
        } else {
            None
        };
        let next = if month == Month::December { year + 1 } else { year };
        let day = |y: i32, m: Month| Date::from_calendar_date(y, m, 1).map(|d| i64::from(d.to_julian_day()));
        if let (Some(why), Ok(from), Ok(to)) = (why, day(year, month), day(next, month.next())) {
            let start = i64::from(rules.start_day);
            let span = Span::new((from - start) * DAY, (to - start) * DAY);
            found.push(Closed { span, why: format!("{month} {year}: {why}") });
        }
        (year, month) = (next, month.next());
    }
    found
}

/// What is longer than the booth is sprayed in a room, which is covered before its first coat and aired after each.
pub(super) fn cover(jobs: &mut Jobs, shop: &Shop) {
    let Some(booth_mm) = shop.rules.booth_mm else { return };
    let long = |jobs: &Jobs, k: usize| jobs.about[k].station_mm.map(|s| s[1] - s[0]).filter(|l| *l > booth_mm);
    let coats: Vec<usize> = (0..jobs.work.tasks.len())
        .filter(|k| jobs.work.tasks[*k].uses.iter().any(|u| u.resource == SPRAY) && long(jobs, *k).is_some())
        .collect();
    // Coats of one workpiece span the same stations: its room is covered once.
    let mut covered: Vec<([f64; 2], usize)> = Vec::new();
    for coat in coats {
        let Some(station) = jobs.about[coat].station_mm else { continue };
        let name = jobs.work.tasks[coat].name.clone();
        let job = match covered.iter().find(|c| c.0 == station) {
            Some((_, job)) => *job,
            None => {
                let more = (station[1] - station[0] - booth_mm).ceil();
                let task = format!("{COVERED} for what is {more:.0} mm longer than the booth");
                let job = jobs.hands(Deed::CoverRoom, Some(station), task, COVER_ROOM);
                covered.push((station, job));
                job
            }
        };
        jobs.order(job, coat);
        // Nothing else is sprayed while the room is aired.
        let mut air = Task::new(format!("air the room after {name}"), AIR).using(SPRAY, 1);
        air.uses.push(workplan::Use { resource: PEOPLE, amount: 1, during: During::First(5) });
        air.spread = Spread { shares: HANDS, failing: 0.0 };
        let air = jobs.add(Deed::AirRoom, Some(station), air);
        jobs.wait(coat, air, Waits::between(0, AIRED_WITHIN));
    }
}
