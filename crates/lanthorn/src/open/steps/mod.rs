//! Building the prop: jobs of the plan with ticks, readings, photos and timers.

mod back;
mod coupon;
mod store;

use super::Workbench;
use super::fault::{Answer, Fault};
use super::routes::{Bench, Form, now_s, offload};
use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, Query, State as Shared};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
pub(crate) use back::{learn, replan};
#[cfg(test)]
pub(crate) use coupon::CouponSheet;
pub(crate) use coupon::sheet as coupon_sheet;
use prop::outcome::Outcome;
use prop::quantity::{Quantity, Wanted};
use prop::work::{Job, Schedule, Trade};
use serde::{Deserialize, Serialize};
use std::path::PathBuf;
use std::sync::Arc;
pub(crate) use store::{Entry, Kind, State, Store};
use store::{FILE, Photo, Reading, Tick, Timer, Written};

/// The longest name, note and request, characters.
const LONGEST: usize = 2000;
/// The largest photo, bytes.
pub(crate) const PHOTO_BYTES: usize = 20 << 20;
/// The longest that a timer runs, min: 30 days.
const TIMER_MIN: f64 = 43_200.0;

/// The plan's jobs as they are shown and kept.
#[derive(Clone, Serialize, Deserialize)]
struct Planned {
    start_day: String,
    jobs: Vec<JobShown>,
}

#[derive(Clone, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct JobShown {
    name: String,
    trade: String,
    from_min: i64,
    to_min: i64,
    hands_min: i64,
    after: Vec<String>,
    from: String,
    to: String,
    critical: bool,
    station_mm: Option<[f64; 2]>,
    asks: Vec<String>,
    /// The printer whose coupon is measured here.
    #[serde(default)]
    coupon: Option<String>,
}

impl Planned {
    fn of(work: &Schedule) -> Planned {
        let clock = |minute: i64| {
            format!("{} {:02}:{:02}", work.day_text(minute), minute.rem_euclid(1440) / 60, minute.rem_euclid(60))
        };
        let job = |job: &Job| JobShown {
            name: job.name.clone(),
            trade: format!("{:?}", job.trade).to_lowercase(),
            from_min: job.from_min,
            to_min: job.to_min,
            hands_min: job.hands_min,
            after: job.after.iter().filter_map(|k| Some(work.jobs.get(*k)?.name.clone())).collect(),
            from: clock(job.from_min),
            to: clock(job.to_min),
            critical: job.critical,
            station_mm: job.station_mm,
            asks: asks(job).iter().map(|a| (*a).to_owned()).collect(),
            coupon: coupon::measured_at(&job.name).map(str::to_owned),
        };
        Planned { start_day: work.day_text(0), jobs: work.jobs.iter().map(job).collect() }
    }
}

/// What is worth measuring at a job.
fn asks(job: &Job) -> &'static [&'static str] {
    match job.trade {
        Trade::Printing if job.name.starts_with("print ") => &["print-time", "mass"],
        Trade::Joining if job.name.starts_with("glue ") => &["glue-time"],
        Trade::Wiring => &["volt", "ampere"],
        _ => &[],
    }
}

/// What of a store belongs to one job, besides its plan.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Job"))]
struct Step {
    #[serde(flatten)]
    planned: JobShown,
    #[serde(flatten)]
    done: Ticked,
    values: Vec<Reading>,
    photos: Vec<Photo>,
    timers: Vec<Timer>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Ticked {
    state: State,
    ticked_at: Option<String>,
    ticked_by: Option<String>,
}

fn ticked(tick: Option<&Tick>) -> Ticked {
    Ticked {
        state: tick.map_or(State::Open, |t| t.state),
        ticked_at: tick.map(|t| t.at.clone()),
        ticked_by: tick.map(|t| t.by.clone()),
    }
}

/// All steps, as they are told.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Steps {
    version: u64,
    /// Whether the project has a plan.
    planned: bool,
    start_day: Option<String>,
    jobs: Vec<Step>,
    gone: Vec<Gone>,
}

/// A job that was begun or done, and that the plan has no more.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Gone {
    name: String,
    state: State,
    ticked_at: String,
}

/// News that something was written.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct StepsNews {
    version: u64,
}

impl From<rusqlite::Error> for Fault {
    fn from(error: rusqlite::Error) -> Fault {
        Fault::new(
            500,
            "store",
            format!("what was ticked cannot be kept or read: {error}"),
            "look at the folder's rights and the room on the disk",
        )
    }
}

/// The store of the open project; `None` as long as nothing was ever ticked, unless it is to be made.
pub(super) fn store(bench: &Workbench, make: bool) -> Result<Option<Arc<Store>>, Fault> {
    let mut desk = bench.desk();
    let file: PathBuf = desk.session.as_ref().ok_or_else(Fault::no_project)?.folder().join(FILE);
    if let Some((path, store)) = &desk.store
        && *path == file
    {
        return Ok(Some(Arc::clone(store)));
    }
    if !make && !file.exists() {
        return Ok(None);
    }
    let store = Arc::new(Store::open(&file)?);
    if let Some((_, outcome)) = &desk.shown.outcome {
        keep_plan(&store, outcome);
    }
    desk.store = Some((file, Arc::clone(&store)));
    Ok(Some(store))
}

/// Keeps the plan of an outcome, so that steps are there at once when the workbench is opened again.
pub(super) fn keep_plan(store: &Store, outcome: &Outcome) {
    if let Some(work) = &outcome.work {
        // The plan is worked out again in any case; it is only there sooner.
        let _ = store.keep("plan", &serde_json::to_string(&Planned::of(work)).unwrap_or_default());
    }
}

/// The plan: of the last build, else as it was kept.
fn planned(bench: &Workbench, store: Option<&Store>) -> Result<Option<Planned>, Fault> {
    let outcome = bench.desk().shown.outcome.clone();
    if let Some((_, outcome)) = outcome {
        return Ok(outcome.work.as_ref().map(Planned::of));
    }
    let kept = store.map(|s| s.kept("plan")).transpose()?.flatten();
    match kept.and_then(|text| serde_json::from_str(&text).ok()) {
        Some(plan) => Ok(Some(plan)),
        None => Err(Fault::waiting("the plan of the work")),
    }
}

/// All steps.
pub(crate) async fn all(Shared(bench): Bench) -> Answer<Steps> {
    offload(move || -> Result<Steps, Fault> {
        let store = store(&bench, false)?;
        let plan = planned(&bench, store.as_deref())?;
        let all = store.as_ref().map(|s| s.all()).transpose()?.unwrap_or_default();
        let planned = plan.is_some();
        let (start_day, jobs) = plan.map(|p| (p.start_day, p.jobs)).unzip();
        let jobs: Vec<JobShown> = jobs.unwrap_or_default();
        let here = |name: &str| jobs.iter().any(|j| j.name == name);
        let lost = all.ticks.iter().filter(|t| !here(&t.job) && t.state != State::Open);
        let gone = lost.map(|t| Gone { name: t.job.clone(), state: t.state, ticked_at: t.at.clone() }).collect();
        let step = |planned: JobShown| Step {
            done: ticked(all.ticks.iter().find(|t| t.job == planned.name)),
            values: all.readings.iter().filter(|r| r.job == planned.name).cloned().collect(),
            photos: all.photos.iter().filter(|p| p.job == planned.name).cloned().collect(),
            timers: all.timers.iter().filter(|t| t.job == planned.name).cloned().collect(),
            planned,
        };
        let jobs = jobs.into_iter().map(step).collect();
        Ok(Steps { version: all.version, planned, start_day, jobs, gone })
    })
    .await?
    .map(Json)
}

/// Writes an entry, and tells every page when it is on the disk.
fn write(bench: &Workbench, request: &str, by: &str, entry: &Entry) -> Result<Written, Fault> {
    if request.is_empty() || request.len() > 100 {
        return Err(Fault::new(
            422,
            "request",
            "a write carries a name of its own",
            "send request: a new UUID for each",
        ));
    }
    if by.chars().count() > 100 {
        return Err(Fault::new(422, "by", "that name is too long", "up to 100 characters do"));
    }
    let store = store(bench, true)?.ok_or_else(Fault::no_project)?;
    let written = store.write(request, by, now_s() as i64, entry)?;
    let written =
        written.ok_or_else(|| Fault::new(404, "gone", "that is not there any more", "fetch the steps again"))?;
    if written.is_new {
        let mut desk = bench.desk();
        desk.steps = written.version;
        bench.tell_that("steps", &StepsNews { version: written.version });
    }
    Ok(written)
}

/// Whether the plan has a job; a job that was ticked before may be ticked on although the plan has lost it.
fn known(bench: &Workbench, job: &str) -> Result<(), Fault> {
    let store = store(bench, false)?;
    let planned = planned(bench, store.as_deref())?;
    let ticks = store.map(|s| s.all()).transpose()?.unwrap_or_default().ticks;
    let there = planned.is_some_and(|p| p.jobs.iter().any(|j| j.name == job)) || ticks.iter().any(|t| t.job == job);
    if there {
        Ok(())
    } else {
        Err(Fault::new(404, "job", format!("the plan has no job {job:?}"), "fetch the steps again"))
    }
}

#[derive(Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "TickAsked", optional_fields))]
#[serde(deny_unknown_fields)]
pub(crate) struct TickForm {
    request: String,
    #[serde(default)]
    by: String,
    job: String,
    state: State,
    /// The clock on the wall: `2026-03-03 18:30`.
    local: Option<String>,
}

/// Ticks a job.
pub(crate) async fn tick(Shared(bench): Bench, Form(form): Form<TickForm>) -> Answer<Written> {
    offload(move || {
        known(&bench, &form.job)?;
        if form.local.as_deref().is_some_and(|l| back::read_clock(l).is_none()) {
            return Err(Fault::new(422, "local", "that is no date and time", "write it as 2026-03-03 18:30"));
        }
        let entry = Entry::Tick { job: &form.job, state: form.state, local: form.local.as_deref() };
        write(&bench, &form.request, &form.by, &entry)
    })
    .await?
    .map(Json)
}

#[derive(Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "ValueAsked"))]
#[serde(deny_unknown_fields)]
pub(crate) struct ValueForm {
    request: String,
    #[serde(default)]
    by: String,
    job: String,
    kind: String,
    value: String,
}

/// Keeps a reading.
pub(crate) async fn value(Shared(bench): Bench, Form(form): Form<ValueForm>) -> Answer<Written> {
    offload(move || {
        known(&bench, &form.job)?;
        if form.kind == coupon::KIND {
            let text = bench.desk().session.as_ref().map(|s| s.text().to_owned()).ok_or_else(Fault::no_project)?;
            coupon::check(&form.value, &text)?;
        } else {
            readable(&form.kind, &form.value)?;
        }
        write(
            &bench,
            &form.request,
            &form.by,
            &Entry::Reading { job: &form.job, kind: &form.kind, value: form.value.trim() },
        )
    })
    .await?
    .map(Json)
}

/// Whether a value is one of its kind.
fn readable(kind: &str, value: &str) -> Result<(), Fault> {
    const TIME: Wanted = Wanted::of(Quantity::Time, 1.0, 3_600_000.0, "5.2 h");
    const VOLT: Wanted = Wanted::of(Quantity::Voltage, 0.0, 60.0, "4.1 V");
    const AMPERE: Wanted = Wanted::of(Quantity::Current, 0.0, 100.0, "0.8 A");
    const LENGTH: Wanted = Wanted::length(0.0, 10_000.0, "2.1 mm");
    const MASS: Wanted = Wanted::of(Quantity::Mass, 0.0, 100_000.0, "61 g");
    let wanted = match kind {
        "print-time" | "glue-time" => TIME,
        "volt" => VOLT,
        "ampere" => AMPERE,
        "length" => LENGTH,
        "mass" => MASS,
        "note" if !value.trim().is_empty() && value.chars().count() <= LONGEST => return Ok(()),
        "note" => return Err(Fault::new(422, "value", "a note has 1 to 2000 characters", "")),
        _ => {
            return Err(Fault::new(
                422,
                "kind",
                format!("{kind:?} is nothing that is measured here"),
                "print-time, glue-time, volt, ampere, length, mass, coupon or note",
            ));
        }
    };
    wanted.read(value).map(|_| ()).map_err(|e| Fault::new(422, "value", format!("{value:?}: {e}"), wanted.help(&e)))
}

#[derive(Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "TimerAsked"))]
#[serde(deny_unknown_fields)]
pub(crate) struct TimerForm {
    request: String,
    #[serde(default)]
    by: String,
    job: String,
    label: String,
    minutes: f64,
}

/// Starts a timer.
pub(crate) async fn timer(Shared(bench): Bench, Form(form): Form<TimerForm>) -> Answer<Written> {
    offload(move || {
        known(&bench, &form.job)?;
        if !(form.minutes > 0.0 && form.minutes <= TIMER_MIN) || form.label.chars().count() > LONGEST {
            return Err(Fault::new(422, "minutes", "a timer runs from now up to 30 days, with a short name", ""));
        }
        let ends = (now_s() + form.minutes * 60.0).round() as i64;
        write(&bench, &form.request, &form.by, &Entry::Timer { job: &form.job, label: &form.label, ends })
    })
    .await?
    .map(Json)
}

#[derive(Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "RemoveAsked"))]
#[serde(deny_unknown_fields)]
pub(crate) struct RemoveForm {
    request: String,
    #[serde(default)]
    by: String,
    what: Kind,
    id: i64,
}

/// Takes out a reading, a photo or a timer.
pub(crate) async fn remove(Shared(bench): Bench, Form(form): Form<RemoveForm>) -> Answer<Written> {
    offload(move || write(&bench, &form.request, &form.by, &Entry::Remove { what: form.what, id: form.id }))
        .await?
        .map(Json)
}

#[derive(Deserialize)]
pub(crate) struct PhotoQuery {
    request: String,
    #[serde(default)]
    by: String,
    job: String,
}

/// Keeps a photo.
pub(crate) async fn photo(
    Shared(bench): Bench,
    Query(query): Query<PhotoQuery>,
    body: axum::body::Body,
) -> Answer<Written> {
    let bytes: Bytes = super::upload::read(body, PHOTO_BYTES).await?;
    offload(move || {
        known(&bench, &query.job)?;
        let kind = picture(&bytes)
            .ok_or_else(|| Fault::new(415, "picture", "this is no JPEG, PNG or WebP", "take the photo as JPEG"))?;
        write(&bench, &query.request, &query.by, &Entry::Photo { job: &query.job, kind, bytes: &bytes })
    })
    .await?
    .map(Json)
}

/// What a picture is, by its first bytes.
fn picture(bytes: &[u8]) -> Option<&'static str> {
    match bytes {
        [0xff, 0xd8, 0xff, ..] => Some("image/jpeg"),
        [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a, ..] => Some("image/png"),
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some("image/webp"),
        _ => None,
    }
}

/// A photo.
pub(crate) async fn shown_photo(Shared(bench): Bench, Path(id): Path<i64>) -> Result<Response, Fault> {
    let found = offload(move || -> Result<_, Fault> {
        let store = store(&bench, false)?.ok_or_else(|| Fault::none("such photo"))?;
        store.photo(id)?.ok_or_else(|| Fault::none("such photo"))
    })
    .await??;
    let kind = HeaderValue::from_str(&found.0).map_err(|e| anyhow::anyhow!("{e}"))?;
    Ok(([(header::CONTENT_TYPE, kind)], found.1).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_of_their_kind() {
        for (kind, value, fits) in [
            ("print-time", "11 h 20 min", true),
            ("print-time", "11 kg", false),
            ("volt", "4.1 V", true),
            ("volt", "4.1", false),
            ("ampere", "800 mA", true),
            ("mass", "61 g", true),
            ("note", "sanded twice", true),
            ("note", " ", false),
            ("wishes", "1", false),
        ] {
            assert_eq!(readable(kind, value).is_ok(), fits, "{kind} {value}");
        }
    }

    #[test]
    fn a_picture_is_known_by_its_bytes() {
        assert_eq!(picture(b"\xff\xd8\xff\xe0"), Some("image/jpeg"));
        assert_eq!(picture(b"\x89PNG\r\n\x1a\n"), Some("image/png"));
        assert_eq!(picture(b"RIFF....WEBPVP8 "), Some("image/webp"));
        assert_eq!(picture(b"<svg onload=...>"), None);
        assert_eq!(picture(b""), None);
    }
}
