//! `findings.json`: every check, as it was said.

use prop::finding::Finding;
use prop::outcome::Outcome;
use serde::Serialize;

#[derive(Serialize)]
struct Findings<'a> {
    prop: &'a str,
    input_hash: &'a str,
    length_mm: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    wearer_mm: Option<f64>,
    /// What was said for this pack alone.
    #[serde(skip_serializing_if = "<[String]>::is_empty")]
    changed: &'a [String],
    findings: &'a [Finding],
}

/// The file's content.
pub(crate) fn json(outcome: &Outcome) -> String {
    written(&Findings {
        prop: &outcome.prop,
        input_hash: &outcome.input_hash,
        length_mm: outcome.length_mm,
        wearer_mm: outcome.wearer_mm,
        changed: &outcome.imprint.changed,
        findings: &outcome.findings,
    })
}

/// Data of our own as indented JSON with a newline at the end.
pub(crate) fn written(data: &impl Serialize) -> String {
    // Plain structs with string keys: the writer has nothing to refuse.
    let mut text = serde_json::to_string_pretty(data).expect("plain data becomes JSON");
    text.push('\n');
    text
}
