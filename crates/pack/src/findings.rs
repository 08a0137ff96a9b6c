//! `findings.json`: every check, as it was said.

use prop::finding::Finding;
use prop::outcome::Outcome;
use serde::Serialize;

#[derive(Serialize)]
struct Findings<'a> {
    prop: &'a str,
    input_hash: &'a str,
    findings: &'a [Finding],
}

/// The file's content.
pub(crate) fn json(outcome: &Outcome) -> String {
    written(&Findings { prop: &outcome.prop, input_hash: &outcome.input_hash, findings: &outcome.findings })
}

/// Data of our own as indented JSON with a newline at the end.
pub(crate) fn written(data: &impl Serialize) -> String {
    // Plain structs with string keys: the writer has nothing to refuse.
    let mut text = serde_json::to_string_pretty(data).expect("plain data becomes JSON");
    text.push('\n');
    text
}
