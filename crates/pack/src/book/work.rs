//! When everything is done.

use super::model::{Block, Chapter, Drawing, Text};
use crate::svg::Sheet;
use prop::outcome::Outcome;

/// The chapter, with the drawing of [`crate::work::draw`].
pub(super) fn chapter<'a>(outcome: &Outcome, sheet: Option<&'a Sheet>, parts: &'a [Sheet]) -> Chapter<'a> {
    let mut blocks = Vec::new();
    if let (Some(plan), Some(sheet)) = (&outcome.work, sheet) {
        let date = plan.event.map_or_else(String::new, |e| format!(" for {}", plan.day_text(e * 24 * 60)));
        let text = Text::from(format!(
            "{} jobs, {:.0} hours of hands, begun on {} and finished on {}{date}. Take them along as ",
            plan.jobs.len(),
            plan.hands_min() as f64 / 60.0,
            plan.day_text(0),
            plan.day_text(plan.finish_min)
        ))
        .file("a table", "work/plan.csv")
        .plain(" or into ")
        .file("your calendar", "work/plan.ics")
        .plain("; why each job starts no sooner, ")
        .file("another table", "work/chain.csv")
        .plain(" says. When jobs are done, say so with ")
        .code("[done.\"NAME\"]")
        .plain(" and build again: the rest is planned from there.");
        blocks.push(Block::Text(text));
        let (heading, file) = ("Day by day", "drawings/plan.svg");
        blocks.push(Block::Drawing(Drawing { heading, file, sheet, parts }));
    } else {
        let text = Text::from("Nothing is planned. Write ")
            .code("[plan]")
            .plain(" with a start in the project file, and every job gets its day.");
        blocks.push(Block::Text(text));
    }
    Chapter { id: "work", short: "Calendar", title: "Calendar".into(), blocks }
}
