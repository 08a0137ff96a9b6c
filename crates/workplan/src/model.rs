//! What is to be done, with what, and in which order.

use crate::calendar::{Calendar, Span};

/// Somebody or something that tasks need: printers, people, clamps, a bench.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Resource {
    /// Its name, as errors and plans say it.
    pub name: String,
    /// How many there are.
    pub capacity: u32,
    /// When they are there.
    pub calendar: Calendar,
}

/// Which part of a task takes a resource.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum During {
    /// From its start to its end.
    Whole,
    /// So many minutes from its start: hands that spread glue, while clamps hold until it has cured.
    First(i64),
}

/// What a task takes of a resource.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Use {
    /// Place in [`Project::resources`].
    pub resource: usize,
    /// How many of them.
    pub amount: u32,
    /// For how long.
    pub during: During,
}

/// How long a task may really take: a triangular distribution, and trials that fail and are made again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Shortest, likeliest and longest, each as a share of the task's minutes.
    pub shares: [f64; 3],
    /// The chance that a trial fails, 0 to below 1. Each failure costs another whole trial.
    pub failing: f64,
}

impl Spread {
    /// Exactly as long as planned.
    pub const NONE: Spread = Spread { shares: [1.0; 3], failing: 0.0 };
}

/// A piece of work or a wait.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    /// Its name, as errors and plans say it.
    pub name: String,
    /// How long it takes, minutes. It is never interrupted.
    pub minutes: i64,
    /// What it takes. Nothing for a mere wait.
    pub uses: Vec<Use>,
    /// Not started before.
    pub not_before: i64,
    /// Spans that it may not touch, such as hours too cold for paint.
    pub closed: Vec<Span>,
    /// How sure its length is.
    pub spread: Spread,
    /// When it was really started, if it was. Its hours and waits are history then, and are not judged.
    pub started: Option<i64>,
}

impl Task {
    /// A task that takes nothing but time.
    pub fn new(name: impl Into<String>, minutes: i64) -> Task {
        let (uses, closed) = (Vec::new(), Vec::new());
        Task { name: name.into(), minutes, uses, not_before: i64::MIN, closed, spread: Spread::NONE, started: None }
    }

    /// The same, taking some of a resource from start to end.
    #[must_use]
    pub fn using(mut self, resource: usize, amount: u32) -> Task {
        self.uses.push(Use { resource, amount, during: During::Whole });
        self
    }

    /// The same, taking some of a resource at its beginning.
    #[must_use]
    pub fn using_first(mut self, resource: usize, amount: u32, minutes: i64) -> Task {
        self.uses.push(Use { resource, amount, during: During::First(minutes) });
        self
    }

    /// How long a use lasts when the task takes so many minutes.
    pub fn use_minutes(&self, used: &Use, minutes: i64) -> i64 {
        match used.during {
            During::Whole => minutes,
            During::First(first) => first.min(minutes),
        }
    }
}

/// From where a wait counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum From {
    /// From the earlier task's start.
    Start,
    /// From its end.
    End,
}

/// Waits that are allowed between two tasks: one of several ranges, each from at least to at most so many minutes. The last may
/// have no upper end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Waits(pub Vec<(i64, Option<i64>)>);

impl Waits {
    /// At least so long.
    pub fn at_least(minutes: i64) -> Waits {
        Waits(vec![(minutes, None)])
    }

    /// At least and at most so long.
    pub fn between(least: i64, most: i64) -> Waits {
        Waits(vec![(least, Some(most))])
    }

    /// Soon, or not for long: paint that wrinkles in between.
    pub fn within_or_after(soon: (i64, i64), late: i64) -> Waits {
        Waits(vec![(soon.0, Some(soon.1)), (late, None)])
    }
}

/// One task after another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Link {
    /// Place of the earlier one in [`Project::tasks`].
    pub before: usize,
    /// Place of the later one.
    pub after: usize,
    /// From where its start is counted.
    pub from: From,
    /// How long after that it may start.
    pub waits: Waits,
}

impl Link {
    /// Any time after the end.
    pub fn after(before: usize, after: usize) -> Link {
        Link { before, after, from: From::End, waits: Waits::at_least(0) }
    }

    /// After the end, with such a wait.
    pub fn waiting(before: usize, after: usize, waits: Waits) -> Link {
        Link { before, after, from: From::End, waits }
    }

    /// After the start, with such a wait.
    pub fn from_start(before: usize, after: usize, waits: Waits) -> Link {
        Link { before, after, from: From::Start, waits }
    }
}

/// All that is to be planned.
#[derive(Clone, Debug, PartialEq)]
pub struct Project {
    /// What there is.
    pub resources: Vec<Resource>,
    /// What is to be done.
    pub tasks: Vec<Task>,
    /// In which order.
    pub links: Vec<Link>,
    /// Nothing that has not been started is started before.
    pub begin: i64,
    /// When everything must have ended.
    pub due: Option<i64>,
}

/// When each task starts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// For each task of the project, minutes.
    pub starts: Vec<i64>,
    /// When the last one ends.
    pub finish: i64,
    /// No plan can end sooner. Equal to `finish` where the plan is proved the best.
    pub bound: i64,
}

impl Plan {
    /// Whether no plan ends sooner.
    pub fn is_proved(&self) -> bool {
        self.bound >= self.finish
    }
}
