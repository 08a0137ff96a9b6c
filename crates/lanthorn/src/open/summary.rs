//! The prop in a few numbers, and its drawings.

use super::fault::{Answer, Fault};
use super::mirror::Band;
use super::routes::{Bench, beside_the_build, offload, open};
use axum::Json;
use axum::extract::{Path, State};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use prop::outcome::Outcome;
use serde::Serialize;
use std::sync::Arc;

/// The prop in a few numbers.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Summary {
    build: u64,
    name: String,
    length_mm: f64,
    mass_g: Option<Band>,
    pieces: usize,
    plates: usize,
    print_elapsed_s: Band,
    cost: Option<Cost>,
    /// How long a charge lasts.
    runs_h: Option<Band>,
    /// The last day of the plan.
    finish: Option<String>,
    /// How likely it is to be ready in time, 0 to 1.
    in_time: Option<f64>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Cost {
    #[serde(flatten)]
    band: Band,
    currency: String,
}

/// The drawings that there are, as they are told.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Drawings {
    build: u64,
    drawings: Vec<Drawing>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Drawing {
    name: String,
    title: String,
}

/// What it is, weighs, costs and takes.
pub(crate) async fn summary(State(bench): Bench) -> Answer<Summary> {
    let (build, outcome) = built(&bench)?;
    let work = outcome.work.as_ref();
    let shop = &outcome.shopping;
    let [least, most] = shop.bought;
    let hours = |s: f64| s / 3600.0;
    Ok(Json(Summary {
        build,
        name: outcome.prop.clone(),
        length_mm: outcome.length_mm,
        mass_g: shop.weights.iter().map(|w| w.mass_g).reduce(prop::finding::Band::plus).map(Band::from),
        pieces: outcome.pieces.len(),
        plates: outcome.plates.len(),
        print_elapsed_s: outcome.print_elapsed_s.into(),
        cost: (most > 0.0).then(|| Cost {
            band: Band { value: f64::midpoint(least, most), low: least, high: most },
            currency: shop.currency.clone(),
        }),
        runs_h: outcome.power.as_ref().map(|p| &p.runtime).map(|r| Band {
            value: hours(r.runtime.lasts_s),
            low: hours(r.least_s),
            high: hours(r.most_s),
        }),
        finish: work.map(|w| w.day_text(w.finish_min)),
        in_time: work.and_then(|w| w.in_time),
    }))
}

fn built(bench: &super::Workbench) -> Result<(u64, Arc<Outcome>), Fault> {
    open(bench, |desk| desk.shown.outcome.clone())?.ok_or_else(|| Fault::waiting("the whole prop"))
}

/// The drawings that there are.
pub(crate) async fn drawings(State(bench): Bench) -> Answer<Drawings> {
    let (build, outcome) = built(&bench)?;
    let all = offload(move || beside_the_build(|| pack::drawings(&outcome))).await??;
    let drawings = all.into_iter().map(|d| Drawing { name: d.name, title: d.title }).collect();
    Ok(Json(Drawings { build, drawings }))
}

/// One drawing.
pub(crate) async fn drawing(State(bench): Bench, Path(name): Path<String>) -> Result<Response, Fault> {
    let (_, outcome) = built(&bench)?;
    let all = offload(move || beside_the_build(|| pack::drawings(&outcome))).await??;
    let found = all.into_iter().find(|d| d.name == name).ok_or_else(|| Fault::none("such drawing"))?;
    let kind = (header::CONTENT_TYPE, HeaderValue::from_static("image/svg+xml"));
    // A drawing carries its own style and loads nothing.
    let policy =
        (header::CONTENT_SECURITY_POLICY, HeaderValue::from_static("default-src 'none'; style-src 'unsafe-inline'"));
    Ok(([kind, policy], found.svg).into_response())
}

impl From<pack::PackError> for Fault {
    fn from(error: pack::PackError) -> Fault {
        Fault::new(500, "drawing", error.to_string(), "look at the findings")
    }
}
