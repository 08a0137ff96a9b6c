//! `controller/`: the program for the board, its settings, its sounds, and the sheet that goes with them.

mod sheet;

use crate::Artifact;
use prop::outcome::Outcome;

/// The files; none where the project says nothing of what the prop does.
pub(crate) fn files(outcome: &Outcome) -> Vec<Artifact> {
    let Some(view) = &outcome.conduct else { return Vec::new() };
    let mut all: Vec<Artifact> =
        view.files.iter().map(|f| Artifact::new(format!("controller/{}", f.path), f.bytes.clone())).collect();
    all.push(Artifact::new(
        "controller/sheet.svg",
        sheet::draw(outcome, view).signed_inside(&outcome.imprint.lines()).to_file(),
    ));
    all
}
