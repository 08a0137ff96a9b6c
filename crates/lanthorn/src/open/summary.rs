//! The prop in a few numbers, and its drawings.

use super::fault::{Answer, Fault};
use super::routes::{Bench, beside_the_build, offload, open};
use axum::Json;
use axum::extract::{Path, State};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use prop::finding::Band;
use prop::outcome::Outcome;
use serde_json::{Value, json};
use std::sync::Arc;

/// What it is, weighs, costs and takes.
pub(crate) async fn summary(State(bench): Bench) -> Answer<Value> {
    let (build, outcome) = built(&bench)?;
    let work = outcome.work.as_ref();
    let shop = &outcome.shopping;
    let [least, most] = shop.bought;
    let hours = |s: f64| s / 3600.0;
    Ok(Json(json!({
        "build": build,
        "name": outcome.prop,
        "length_mm": outcome.length_mm,
        "mass_g": shop.weights.iter().map(|w| w.mass_g).reduce(Band::plus),
        "pieces": outcome.pieces.len(),
        "plates": outcome.plates.len(),
        "print_elapsed_s": outcome.print_elapsed_s,
        "cost": (most > 0.0).then(|| json!({
            "value": f64::midpoint(least, most), "low": least, "high": most, "currency": shop.currency,
        })),
        "runs_h": outcome.power.as_ref().map(|p| &p.runtime).map(|r| Band {
            value: hours(r.runtime.lasts_s),
            low: hours(r.least_s),
            high: hours(r.most_s),
        }),
        "finish": work.map(|w| w.day_text(w.finish_min)),
        "in_time": work.and_then(|w| w.in_time),
    })))
}

fn built(bench: &super::Workbench) -> Result<(u64, Arc<Outcome>), Fault> {
    open(bench, |desk| desk.shown.outcome.clone())?.ok_or_else(|| Fault::waiting("the whole prop"))
}

/// The drawings that there are.
pub(crate) async fn drawings(State(bench): Bench) -> Answer<Value> {
    let (build, outcome) = built(&bench)?;
    let all = offload(move || beside_the_build(|| pack::drawings(&outcome))).await??;
    let told: Vec<Value> = all.iter().map(|d| json!({ "name": d.name, "title": d.title })).collect();
    Ok(Json(json!({ "build": build, "drawings": told })))
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
