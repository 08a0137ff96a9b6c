//! What has been done, and the rest planned again from there.

use crate::error::WorkError;
use crate::model::{Project, Spread};

/// What somebody says about a task.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Report {
    /// Place in [`Project::tasks`].
    pub task: usize,
    /// When it was started.
    pub from: i64,
    /// When it ended, if it has.
    pub to: Option<i64>,
}

impl Project {
    /// What is left, from now on: what has been reported stays where it was and as long as it took, what runs goes on to its planned
    /// end (or to now, if that is past), and nothing else starts before now, or before the project begins, if that is later. What should have been done and was not reported is
    /// still to be done.
    ///
    /// # Errors
    ///
    /// [`WorkError::BadReport`] and [`WorkError::UnknownTask`].
    pub fn reported(&self, now: i64, reports: &[Report]) -> Result<Project, WorkError> {
        let mut left = Project { begin: now.max(self.begin), ..self.clone() };
        for report in reports {
            let there = left.tasks.len();
            let Some(task) = left.tasks.get_mut(report.task) else {
                return Err(WorkError::UnknownTask { task: report.task, there });
            };
            let (from, to) = (report.from, report.to.unwrap_or(report.from));
            if from > to || to > now {
                return Err(WorkError::BadReport { task: task.name.clone(), from, to, now });
            }
            task.started = Some(from);
            match report.to {
                Some(to) => (task.minutes, task.spread) = (to - from, Spread::NONE),
                None => task.minutes = task.minutes.max(now - from),
            }
        }
        Ok(left)
    }
}
