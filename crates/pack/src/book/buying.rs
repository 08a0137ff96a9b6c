//! What is painted, what is bought, what it costs and weighs.

use super::model::{Block, Chapter, Table, Text};
use crate::work::kinds;
use prop::finish::Bond;
use prop::outcome::Outcome;

/// Finish: zones with their coats, seams and wraps.
pub(super) fn finish(outcome: &Outcome) -> Chapter<'static> {
    let finish = &outcome.finish;
    let mut blocks = Vec::new();
    if finish.zones.is_empty() && finish.wraps.is_empty() {
        let text = "Nothing is painted or wrapped. Give bodies coats, or grips a wrap, in the project file.";
        blocks.push(Block::Text(text.into()));
    } else {
        let text = Text::from("Measured on the pieces as they print, bare windows left out. In full: ")
            .file("what each takes", "work/finish.csv")
            .plain(", ")
            .file("areas by piece", "work/areas.csv")
            .plain(". Try the whole stack on a scrap of the same print first.");
        blocks.push(Block::Text(text));
        blocks.push(Block::Table(coats(outcome)));
        let seams: f64 = finish.seams.iter().map(|s| s.round_mm).sum();
        if let Some(seam) = finish.seams.first() {
            let ml: f64 = finish.seams.iter().map(|s| s.wet_ml).sum();
            let text = format!("Seams: {seams:.0} mm in all, {ml:.1} ml to stir. {}", seam.caution);
            blocks.push(Block::Text(text.into()));
        }
        blocks.push(Block::Table(wraps(outcome)));
    }
    Chapter { id: "finish", short: "Colours", title: "Colours and finish".into(), blocks }
}

fn coats(outcome: &Outcome) -> Table {
    let mut rows = Vec::new();
    for zone in &outcome.finish.zones {
        for layer in &zone.layers {
            let ml =
                layer.wet_ml.map_or_else(|| "not known".to_owned(), |b| format!("{:.0} to {:.0} ml", b.low, b.high));
            let holds = match &layer.bond {
                Bond::Holds => "holds".to_owned(),
                Bond::Parts(on) => format!("does not hold on {on}"),
                Bond::Unknown(what) => format!("nobody says {what}"),
            };
            let area = format!("{:.0}", zone.area_mm2() / 100.0);
            rows.push(vec![zone.name.clone(), area, layer.title.clone(), layer.by.word().to_owned(), ml, holds]);
        }
    }
    let columns = ["Zone", "cm²", "Coat", "With", "Wet", "On what is below"];
    Table::new("Coats", Some("work/finish.csv"), "Coats by zone, from the plastic outwards.", &columns, rows)
}

fn wraps(outcome: &Outcome) -> Table {
    let rows = outcome.finish.wraps.iter().map(|w| {
        let hands =
            if w.hands.is_empty() { "one pair".to_owned() } else { format!("two pairs {}", w.hands.join(", ")) };
        vec![
            w.name.clone(),
            w.title.clone(),
            format!("{} × {:.2} m", w.bands, w.cut_mm / 1000.0),
            format!("{:.1}", w.turns),
            w.crossings_mm.len().to_string(),
            hands,
        ]
    });
    let columns = ["Wrap", "With", "Cut", "Turns", "Crossings", "Hands"];
    Table::new("Wraps", Some("work/finish.csv"), "What is wound round grips.", &columns, rows)
}

/// Shopping and cost.
pub(super) fn shopping(outcome: &Outcome) -> Chapter<'static> {
    let list = &outcome.shopping;
    let blocks = if list.lines.is_empty() { vec![Block::Text("Nothing is listed.".into())] } else { listed(outcome) };
    Chapter { id: "shopping", short: "Shopping", title: "Shopping and cost".into(), blocks }
}

fn listed(outcome: &Outcome) -> Vec<Block<'static>> {
    let list = &outcome.shopping;
    let range = |[low, high]: [f64; 2]| format!("{low:.0} to {high:.0} {}", list.currency);
    let text = Text::from(format!(
        "To buy: {}. Used up in all: {}. Finished, it weighs {:.0} g. {:.1} plates are expected to be printed again. As tables: ",
        range(list.bought),
        range(list.used),
        list.mass_g().value,
        list.reprints
    ))
    .file("what to buy", "work/shopping.csv")
    .plain(", ")
    .file("cost and weight", "work/cost.csv")
    .plain(". Prices are those of the list or of the project file, with their day.");
    let rows = list.lines.iter().map(|l| {
        let cost = l.cost.map_or_else(|| "no price".to_owned(), |[a, b]| format!("{a:.2} to {b:.2}"));
        let buy =
            if l.packages == 0 { "nothing".to_owned() } else { format!("{} of {}", l.packages, l.package.words()) };
        vec![l.kind.to_owned(), l.title.clone(), l.taken.words(), l.has.words(), buy, cost]
    });
    let cost = format!("Cost, {}", list.currency);
    let columns = ["Kind", "What", "Taken", "There", "Buy", &cost];
    let caption = "What is taken, with waste and spare, and what is missing.";
    let bought = Table::new("What is bought", Some("work/shopping.csv"), caption, &columns, rows);
    let rows = kinds(list).into_iter().map(|(kind, used, bought)| vec![kind.to_owned(), range(used), range(bought)]);
    let caption = "What is used and what is bought, by kind.";
    let kinds = Table::new("Cost by kind", Some("work/cost.csv"), caption, &["Kind", "Used", "Bought"], rows);
    let rows = list.weights.iter().map(|w| {
        let between = format!("{:.0} to {:.0}", w.mass_g.low, w.mass_g.high);
        vec![w.what.clone(), format!("{:.0}", w.mass_g.value), between]
    });
    let caption = "The finished prop by part.";
    let weights = Table::new("Weight", Some("work/cost.csv"), caption, &["Part", "g", "Between"], rows);
    vec![Block::Text(text), Block::Table(bought), Block::Table(kinds), Block::Table(weights)]
}
