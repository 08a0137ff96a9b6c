//! What the maker knows better about a job: `[job.NAME]`.

use crate::fields::{Field, Fields};
use crate::quantity::{Quantity, Wanted};

/// A job as the maker has it.
#[derive(Clone, Debug, PartialEq)]
pub struct JobRules {
    /// Its name in `work/plan.csv`.
    pub name: String,
    /// `time`: how long it takes, min.
    pub minutes: Option<i64>,
    /// `after`: jobs that it waits for besides.
    pub after: Vec<String>,
    /// `takes`: what it takes besides, from start to end.
    pub takes: Vec<String>,
}

/// Reads `[job.NAME]`.
pub(super) fn read_jobs(root: &mut Fields<'_>) -> Option<Vec<JobRules>> {
    const TIME: Wanted = Wanted::of(Quantity::Time, 60.0, 60.0 * 86_400.0, "90 min");
    let names = |field: Field<'_>| {
        let items = field.one_or_more("[\"glue J1\"]")?;
        items.iter().map(|i| i.text().map(str::to_owned)).collect::<Option<Vec<String>>>()
    };
    let read = |mut table: Fields<'_>| {
        let name = table.name.clone();
        let time = table.optional_quantity("time", &TIME);
        let after = table.optional("after", names);
        let takes = table.optional("takes", names);
        table.finish();
        Some(JobRules {
            name,
            minutes: time?.map(|s| (s / 60.0).ceil() as i64),
            after: after?.unwrap_or_default(),
            takes: takes?.unwrap_or_default(),
        })
    };
    let read: Vec<Option<JobRules>> = root.named_tables("job").into_iter().map(read).collect();
    read.into_iter().collect()
}
