//! What the prop bears: charts and tables.

use super::drawing;
use super::parts::table;
use crate::strength::{CASES, JOINTS, SPINES, cases, joints, spines};
use crate::svg::Sheet;
use prop::outcome::Outcome;

/// The section, with the drawings (and their paths) of [`crate::strength::draw`].
pub(crate) fn section(out: &mut String, outcome: &Outcome, sheets: &[(String, Sheet)]) {
    out.push_str("<section id=\"strength\">\n<h2>Strength</h2>\n");
    let Some(found) = &outcome.strength else {
        out.push_str("<p>Whether it holds was not worked out; the findings say why.</p>\n</section>\n");
        return;
    };
    out.push_str(
        "<p>Computed from the pieces as they print, with materials that scatter: what is strong enough here may still break. \
         These numbers are no permission to swing it near others: the event's own rules, and the judgement of whoever checks \
         props there, decide. Every station is in <a href=\"strength/stations.csv\">a table</a>.</p>\n",
    );
    table(
        out,
        "Load cases",
        "strength/cases.csv",
        "What is done to the prop, and where it asks most.",
        &CASES,
        cases(found).into_iter(),
    );
    table(
        out,
        "Strength of joints",
        "strength/joints.csv",
        "What holds each joint, alone.",
        &JOINTS,
        joints(found).into_iter(),
    );
    table(
        out,
        "Stock for the spine",
        "strength/spines.csv",
        "Stock tried in the spine's place, lightest first.",
        &SPINES,
        spines(found).into_iter(),
    );
    out.push_str("</section>\n");
    for (path, sheet) in sheets {
        let (id, heading) = if path.contains("bears") {
            ("strength-bears-view", "What each place bears")
        } else {
            ("strength-bends-view", "How it bends")
        };
        drawing(out, id, heading, path, sheet);
    }
}
