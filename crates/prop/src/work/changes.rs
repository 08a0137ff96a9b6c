//! What would be sooner: each change planned for itself.

use super::jobs::{Jobs, Shop};
use super::{PLAYS, PlanError, QUICK, listed, now, reported};
use crate::outcome::Outcome;
use crate::project::{PlanRules, Project};
use rayon::prelude::*;
use serde::Serialize;
use workplan::Plan;

/// A change, and what it comes to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// In words: "a second pair of hands".
    pub what: String,
    /// When the last job would end, min.
    pub finish_min: i64,
    /// How much sooner that is than in the plan, min.
    pub sooner_min: i64,
    /// The share of runs that would end in time.
    pub in_time: Option<f64>,
}

/// Workshops and props that are tried in the plan's place: one more of everything that jobs take, a coat or a joint fewer.
pub(super) fn shops<'a>(project: &Project, outcome: &Outcome, usual: &Shop<'a>) -> Vec<(String, Shop<'a>)> {
    let mut shops: Vec<(String, Shop)> = vec![
        ("one more pair of hands".to_owned(), Shop { people: usual.people + 1, ..usual.clone() }),
        ("clamps for one more joint".to_owned(), Shop { clamps: usual.clamps + 1, ..usual.clone() }),
    ];
    for printer in Jobs::new(usual, outcome).printers() {
        let words = format!("a second printer like {printer}");
        shops.push((words, Shop { more_printers: Some(printer), ..usual.clone() }));
    }
    for body in &outcome.bodies {
        if let Some(coat) = project.rules_for(&body.name).coats.last() {
            let words = format!("{} without its last coat ({})", body.name, coat.name);
            shops.push((words, Shop { coat_less: Some(body.name.clone()), ..usual.clone() }));
        }
    }
    if let Some(joint) = outcome.joints.iter().rev().find(|j| !j.kind.comes_apart()) {
        let words = "a joint fewer, on a printer that takes a longer piece".to_owned();
        shops.push((words, Shop { without_joint: Some(joint.number), ..usual.clone() }));
    }
    shops
}

/// Changes that end sooner, the soonest first.
pub(super) fn tried(
    project: &Project,
    rules: &PlanRules,
    outcome: &Outcome,
    plan: &Plan,
) -> Result<Vec<Change>, PlanError> {
    let shops = shops(project, outcome, &Shop::of(rules));
    let tried = |(what, shop): (String, Shop)| -> Result<Option<Change>, PlanError> {
        let jobs = listed(project, outcome, &shop)?;
        // A report of what is left out then is no report, but it is no earlier for that.
        let there = |name: &String| jobs.work.tasks.iter().any(|t| t.name == *name);
        let done = rules.done.iter().filter(|d| there(&d.0)).cloned().collect();
        let work = reported(&jobs, &PlanRules { done, now: now(rules), ..rules.clone() })?;
        let other = work.solve(&QUICK)?;
        if other.finish >= plan.finish {
            return Ok(None);
        }
        let share = match work.due {
            Some(due) => Some(work.chance(&other, &workplan::Plays { runs: 300, ..PLAYS })?.by(due)),
            None => None,
        };
        Ok(Some(Change { what, finish_min: other.finish, sooner_min: plan.finish - other.finish, in_time: share }))
    };
    let found: Vec<Option<Change>> = shops.into_par_iter().map(tried).collect::<Result<_, PlanError>>()?;
    let mut changes: Vec<Change> = found.into_iter().flatten().collect();
    changes.sort_by_key(|c| c.finish_min);
    Ok(changes)
}
