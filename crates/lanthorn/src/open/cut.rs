//! Cuts moved and locked by hand.

use super::edit::Edit;
use super::fault::{Answer, Fault};
use super::routes::{Bench, Form, offload};
use super::session::Changed;
use axum::Json;
use axum::extract::State;
use prop::project::Project;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// How far a cut can be moved from where the plan puts it, mm: what the project file takes.
const MOST_MM: f64 = 200.0;

/// What is asked of a cut.
#[derive(Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "CutAsked", optional_fields))]
#[serde(deny_unknown_fields)]
pub(crate) struct Asked {
    base: String,
    joint: u32,
    station_mm: Option<f64>,
    lock: Option<bool>,
}

/// The project's cuts, with lengths as in the file.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Cuts {
    lock: Vec<String>,
    forbid: Vec<[String; 2]>,
    shift: Vec<Shift>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Shift {
    joint: u32,
    by: String,
}

/// What the project says of its cuts.
pub(crate) fn told(project: &Project) -> Cuts {
    let cuts = &project.cuts;
    Cuts {
        lock: cuts.lock_mm.iter().map(|s| mm(*s)).collect(),
        forbid: cuts.forbid_mm.iter().map(|r| r.map(mm)).collect(),
        shift: cuts.shift_mm.iter().map(|(joint, by)| Shift { joint: *joint, by: mm(*by) }).collect(),
    }
}

fn mm(value: f64) -> String {
    format!("{} mm", (value * 10.0).round() / 10.0)
}

/// Moves a cut, locks it or frees it.
pub(crate) async fn cut(State(bench): Bench, Form(asked): Form<Asked>) -> Answer<Changed> {
    offload(move || -> Result<Changed, Fault> {
        let (project, joint) = {
            let desk = bench.desk();
            let session = desk.session.as_ref().ok_or_else(Fault::no_project)?;
            let project = prop::project::parse(session.text(), &prop::catalogue::Catalogue::built_in())
                .map_err(|_| Fault::new(422, "project", "the project file has mistakes", "correct them first"))?;
            let joint = desk.shown.scene.joints.iter().find(|j| j.number == asked.joint).cloned();
            (
                project,
                joint.ok_or_else(|| {
                    Fault::new(422, "joint", format!("there is no joint J{}", asked.joint), "look at the side view")
                })?,
            )
        };
        let cuts = &project.cuts;
        if joint.own || joint.meeting {
            return Err(Fault::new(
                422,
                "locked",
                format!("joint J{} is where the shape or the project puts it", joint.number),
                "move the bodies' ends in the modelling program, or the joint's own place in the project file",
            ));
        }
        let near = |station: &f64| (station - joint.station_mm).abs() < 0.05;
        let shifts = |joint: u32, by: f64| {
            let mut all: Vec<(u32, f64)> = cuts.shift_mm.iter().copied().filter(|(n, _)| *n != joint).collect();
            if by != 0.0 {
                all.push((joint, by));
            }
            all.sort_by_key(|(n, _)| *n);
            let list: Vec<Value> = all.iter().map(|(n, by)| json!({ "joint": n, "by": mm(*by) })).collect();
            Edit { key: "cuts.shift".to_owned(), value: listed(list) }
        };
        let edits = match (asked.station_mm, asked.lock) {
            (Some(to), None) => {
                if cuts.lock_mm.iter().any(near) {
                    return Err(Fault::new(
                        422,
                        "locked",
                        format!("joint J{} is locked", joint.number),
                        "free it first",
                    ));
                }
                // From where the plan puts it: what is shown may be of an older text than the one that is changed now.
                let by = ((to - joint.station_mm + joint.shifted_mm) * 10.0).round() / 10.0;
                if !to.is_finite() || by.abs() > MOST_MM {
                    return Err(Fault::new(
                        422,
                        "far",
                        format!("a cut moves by {MOST_MM} mm at most"),
                        "lock a cut where you want one",
                    ));
                }
                vec![shifts(joint.number, by)]
            }
            (None, Some(lock)) => {
                let mut all: Vec<f64> = cuts.lock_mm.iter().copied().filter(|s| !near(s)).collect();
                if lock {
                    all.push(joint.station_mm);
                }
                all.sort_by(f64::total_cmp);
                let locks = listed(all.iter().map(|s| json!(mm(*s))).collect());
                let mut edits = vec![Edit { key: "cuts.lock".to_owned(), value: locks }];
                // It is locked where it stands: its shift is in that already.
                if lock && cuts.shift_mm.iter().any(|(n, _)| *n == joint.number) {
                    edits.push(shifts(joint.number, 0.0));
                }
                edits
            }
            _ => return Err(Fault::new(422, "form", "say either station_mm or lock", "")),
        };
        bench.edit(&asked.base, &edits)
    })
    .await?
    .map(Json)
}

/// A list, or nothing where it is empty.
fn listed(all: Vec<Value>) -> Value {
    if all.is_empty() { Value::Null } else { Value::Array(all) }
}
