//! What the maker knows better about jobs: how long they take, what they wait for and what they take besides.

use super::PlanError;
use super::jobs::{Jobs, Shop};
use crate::fields::nearest;

/// Changes the jobs that the project names. Where something is tried in the plan's place a job may be missing, and is passed over.
pub(super) fn apply(jobs: &mut Jobs, shop: &Shop) -> Result<(), PlanError> {
    let known = |jobs: &Jobs, key: String, name: &str| match jobs.named(name) {
        Some(task) => Ok(Some(task)),
        None if shop.is_tried() => Ok(None),
        None => Err(PlanError::NoSuchTask { near: near(name, jobs.work.tasks.iter().map(|t| t.name.as_str())), key }),
    };
    for job in &shop.rules.jobs {
        let Some(task) = known(jobs, format!("job.{:?}", job.name), &job.name)? else { continue };
        if let Some(minutes) = job.minutes {
            jobs.work.tasks[task].minutes = minutes;
        }
        for name in &job.after {
            if let Some(before) = known(jobs, format!("job.{:?}.after {name:?}", job.name), name)? {
                jobs.order(before, task);
            }
        }
        for name in &job.takes {
            let Some(resource) = jobs.work.resources.iter().position(|r| r.name == *name) else {
                let there = jobs.work.resources.iter().map(|r| r.name.as_str());
                return Err(PlanError::NoSuchResource {
                    job: job.name.clone(),
                    name: name.clone(),
                    near: near(name, there),
                });
            };
            let asked = jobs.work.tasks[task].clone();
            if asked.uses.iter().all(|u| u.resource != resource) {
                jobs.work.tasks[task] = asked.using(resource, 1);
            }
        }
    }
    Ok(())
}

/// "; did you mean ...?", or what there is.
fn near<'n>(name: &str, there: impl Iterator<Item = &'n str> + Clone) -> String {
    match nearest(name, there.clone()) {
        Some(near) => format!("; did you mean {near:?}?"),
        None if there.clone().count() < 12 => format!("; there are {}", there.collect::<Vec<_>>().join(", ")),
        None => String::new(),
    }
}
