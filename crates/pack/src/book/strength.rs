//! What the prop bears: charts and tables.

use super::model::{Block, Chapter, Drawing, Table, Text};
use crate::strength::{CASES, JOINTS, SPINES, cases, joints, spines};
use crate::svg::Sheet;
use prop::outcome::Outcome;

/// The chapter, with the drawings (and their paths) of [`crate::strength::draw`].
pub(super) fn chapter<'a>(outcome: &Outcome, sheets: &'a [(String, Sheet)]) -> Chapter<'a> {
    let mut blocks = Vec::new();
    if let Some(found) = &outcome.strength {
        let text = Text::from(
            "Computed from the pieces as they print, with materials that scatter: what is strong enough here may still \
             break. These numbers are no permission to swing it near others: the event's own rules, and the judgement of \
             whoever checks props there, decide. Every station is in ",
        );
        blocks.push(Block::Text(text.file("a table", "strength/stations.csv").plain(".")));
        let table = |name, file, caption: &str, columns: &[&str], rows: Vec<Vec<String>>| {
            Block::Table(Table::new(name, Some(file), caption, columns, rows))
        };
        let caption = "What is done to the prop, and where it asks most.";
        blocks.push(table("Load cases", "strength/cases.csv", caption, &CASES, cases(found)));
        let caption = "What holds each joint, alone.";
        blocks.push(table("Strength of joints", "strength/joints.csv", caption, &JOINTS, joints(found)));
        let caption = "Stock tried in the spine's place, lightest first.";
        blocks.push(table("Stock for the spine", "strength/spines.csv", caption, &SPINES, spines(found)));
        for (file, sheet) in sheets {
            let (id, heading) = if file.contains("bears") {
                ("strength-bears-view", "What each place bears")
            } else {
                ("strength-bends-view", "How it bends")
            };
            blocks.push(Block::Heading { id: id.to_owned(), title: heading.to_owned() });
            blocks.push(Block::Drawing(Drawing { heading, file, sheet, parts: &[] }));
        }
    } else {
        blocks.push(Block::Text("Whether it holds was not worked out; the findings say why.".into()));
    }
    Chapter { id: "strength", short: "Strength", title: "Strength".into(), blocks }
}
