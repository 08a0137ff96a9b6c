//! What can be wrong with work that is asked for.

/// Why no plan can be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WorkError {
    /// A task takes less than no time.
    #[error("\"{task}\" takes {minutes} min: no task takes less than none")]
    NegativeDuration {
        /// The task.
        task: String,
        /// Its minutes.
        minutes: i64,
    },
    /// Numbers beyond a hundred years.
    #[error("{what} is {minutes} min, beyond what a plan counts ({most} min)")]
    TooLarge {
        /// What is too large.
        what: String,
        /// Its minutes.
        minutes: i64,
        /// As much as may be.
        most: i64,
    },
    /// A task takes a resource that isn't there.
    #[error("\"{task}\" needs resource number {resource}, and there are {there}")]
    UnknownResource {
        /// The task.
        task: String,
        /// The place it names.
        resource: usize,
        /// How many there are.
        there: usize,
    },
    /// A link names a task that isn't there.
    #[error("a link names task number {task}, and there are {there}")]
    UnknownTask {
        /// The place it names.
        task: usize,
        /// How many there are.
        there: usize,
    },
    /// A task takes more than there is.
    #[error("\"{task}\" needs {amount} of \"{resource}\", and there are {capacity}")]
    TooFew {
        /// The task.
        task: String,
        /// The resource.
        resource: String,
        /// What it needs.
        amount: u32,
        /// What there is.
        capacity: u32,
    },
    /// Tasks wait for each other in a circle.
    #[error("these wait for each other in a circle: {}", tasks.join(", "))]
    CyclicOrder {
        /// The tasks round the circle.
        tasks: Vec<String>,
    },
    /// A link's waits overlap, run backwards or are negative.
    #[error(
        "the wait between \"{before}\" and \"{after}\" must be ranges of minutes from 0 up, each after the one before"
    )]
    BadWait {
        /// The earlier task.
        before: String,
        /// The later one.
        after: String,
    },
    /// A spread is not a distribution.
    #[error(
        "how long \"{task}\" may take must be three rising shares from 0 up and a chance of failing from 0 to below 1"
    )]
    BadSpread {
        /// The task.
        task: String,
    },
    /// A resource that is never there, although a task needs it.
    #[error("\"{resource}\" has no working day, and \"{task}\" needs it")]
    NoWorkingDay {
        /// The resource.
        resource: String,
        /// A task that needs it.
        task: String,
    },
    /// A task doesn't fit in a day.
    #[error("\"{task}\" needs \"{resource}\" for {minutes} min on end, and the longest it is there is {longest} min")]
    LongerThanAnyDay {
        /// The task.
        task: String,
        /// The resource.
        resource: String,
        /// How long it is needed on end.
        minutes: i64,
        /// How long it is there on end.
        longest: i64,
    },
    /// Resources that are never there together for long enough.
    #[error("\"{task}\" never finds all it needs at the same time")]
    NeverTogether {
        /// The task.
        task: String,
    },
    /// The date lies before the beginning.
    #[error("the date (minute {due}) lies before the work can begin (minute {begin})")]
    DateInThePast {
        /// The date.
        due: i64,
        /// The beginning.
        begin: i64,
    },
    /// A wait that must end sooner than what has to happen meanwhile.
    #[error("\"{after}\" must start within {most} min of \"{before}\", and what comes between them takes {least} min")]
    WaitCannotBeMet {
        /// The earlier task.
        before: String,
        /// The later one.
        after: String,
        /// As long as it may be, counted from start to start.
        most: i64,
        /// As short as it can be.
        least: i64,
    },
    /// The search found no place for tasks that belong close together.
    #[error(
        "no place was found for \"{after}\" soon enough after \"{before}\": the hours or what else they need do not allow it"
    )]
    NoPlace {
        /// The earlier task.
        before: String,
        /// The later one.
        after: String,
    },
    /// A report that doesn't fit.
    #[error(
        "\"{task}\" was reported from minute {from} to {to}, now is {now}: it must start before it ends and both lie behind"
    )]
    BadReport {
        /// The task.
        task: String,
        /// When it is said to have started.
        from: i64,
        /// When it is said to have ended.
        to: i64,
        /// Now.
        now: i64,
    },
}
