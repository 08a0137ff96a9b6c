//! What is known from measurements and in use.

use super::Work;
use crate::finding::{Finding, Measured, Verdict};

pub(super) fn check(work: &Work) -> Vec<Finding> {
    let found = work.project.learnt.iter().map(|known| Finding {
        id: known.id,
        verdict: Verdict::Note,
        subject: known.subject.clone(),
        station_mm: None,
        measured: Measured { value: known.value[0], low: known.value[1], high: known.value[2], unit: known.unit },
        inputs: known.inputs.clone(),
        limit: None,
        message: known.message.clone(),
        remedy: String::new(),
    });
    found.collect()
}
