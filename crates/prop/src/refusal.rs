//! What a build cannot go on without: said once, with the place and the way out.

use thiserror::Error;

/// One reason why nothing could be built.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Key of the project file it concerns, such as `shape.length`; empty when it concerns the shape alone.
    pub key: Vec<String>,
    /// What is wrong and where.
    pub message: String,
    /// What to do.
    pub remedy: String,
}

/// Nothing was built.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Refusal {
    /// The inputs don't allow it: every reason found.
    #[error("{}", .0.iter().map(|p| p.message.as_str()).collect::<Vec<_>>().join("; "))]
    Problems(Vec<Problem>),
    /// Stopped from outside.
    #[error("stopped before it was done")]
    Stopped,
}

impl Refusal {
    /// A single reason.
    pub fn of(key: &[&str], message: impl Into<String>, remedy: impl Into<String>) -> Refusal {
        Refusal::Problems(vec![problem(key, message, remedy)])
    }
}

/// One reason.
pub fn problem(key: &[&str], message: impl Into<String>, remedy: impl Into<String>) -> Problem {
    Problem { key: key.iter().map(|k| (*k).to_owned()).collect(), message: message.into(), remedy: remedy.into() }
}
