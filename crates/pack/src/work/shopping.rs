//! What is bought and what it costs: `work/shopping.csv`, `work/cost.csv`.

use crate::Artifact;
use crate::csv::line;
use crate::words;
use prop::outcome::Outcome;
use prop::shopping::{Line, Shopping};

/// Both; nothing where nothing is taken.
pub(super) fn files(outcome: &Outcome) -> Vec<Artifact> {
    let list = &outcome.shopping;
    if list.lines.is_empty() {
        return Vec::new();
    }
    vec![Artifact::new("work/shopping.csv", shopping(list)), Artifact::new("work/cost.csv", cost(outcome))]
}

fn money(cost: Option<[f64; 2]>, k: usize) -> String {
    cost.map_or_else(String::new, |c| format!("{:.2}", c[k]))
}

fn shopping(list: &Shopping) -> String {
    let mut text = line(&[
        "kind",
        "row",
        "what",
        "needed",
        "taken",
        "unit",
        "added",
        "has",
        "missing",
        "package",
        "packages",
        "cost_least",
        "cost_most",
        "currency",
        "dated",
    ]);
    let number = |v: f64| format!("{v:.3}");
    for l in &list.lines {
        text += &line(&[
            l.kind.to_owned(),
            l.row.clone(),
            l.title.clone(),
            number(l.needed.count),
            number(l.taken.count),
            l.needed.unit.word().to_owned(),
            l.added.clone(),
            number(l.has.count),
            number(l.missing.count),
            number(l.package.count),
            l.packages.to_string(),
            money(l.cost, 0),
            money(l.cost, 1),
            list.currency.clone(),
            l.dated.clone(),
        ]);
    }
    text
}

const COST: [&str; 12] = [
    "what",
    "name",
    "material",
    "mass_g",
    "prints",
    "material_least",
    "material_most",
    "finish_least",
    "finish_most",
    "all_least",
    "all_most",
    "currency",
];

/// A row of the costs; columns that are not named stay empty.
fn cost_row<const N: usize>(cells: [(&str, String); N]) -> String {
    line(&COST.map(|column| cells.iter().find(|c| c.0 == column).map_or("", |c| c.1.as_str())))
}

/// Pieces, then kinds of things, then the finished prop by part.
fn cost(outcome: &Outcome) -> String {
    let list = &outcome.shopping;
    let mut text = line(&COST);
    let number = |v: f64| format!("{v:.2}");
    let sums = |what: &str, name: &str, sum: [f64; 2]| {
        cost_row([
            ("what", what.to_owned()),
            ("name", name.to_owned()),
            ("all_least", number(sum[0])),
            ("all_most", number(sum[1])),
            ("currency", list.currency.clone()),
        ])
    };
    for (piece, cost) in outcome.pieces.iter().zip(&list.pieces) {
        let all = cost.all();
        text += &cost_row([
            ("what", format!("piece {}", words::piece(piece.number))),
            ("name", piece.name.clone()),
            ("material", piece.material.clone()),
            ("mass_g", number(piece.mass_g.value)),
            ("prints", number(cost.prints)),
            ("material_least", money(cost.material, 0)),
            ("material_most", money(cost.material, 1)),
            ("finish_least", number(cost.finish[0])),
            ("finish_most", number(cost.finish[1])),
            ("all_least", number(all[0])),
            ("all_most", number(all[1])),
            ("currency", list.currency.clone()),
        ]);
    }
    for (kind, used, _) in kinds(list) {
        text += &sums("kind", kind, used);
    }
    text += &sums("all that is used", "", list.used);
    text += &sums("all that is bought", "", list.bought);
    for weight in &list.weights {
        text += &cost_row([
            ("what", "weight".to_owned()),
            ("name", weight.what.clone()),
            ("mass_g", number(weight.mass_g.value)),
        ]);
    }
    text
}

/// Kinds of things in the order of the list: what is used and what is bought of each, least and most.
pub(crate) fn kinds(list: &Shopping) -> Vec<(&'static str, [f64; 2], [f64; 2])> {
    let mut kinds: Vec<(&'static str, [f64; 2], [f64; 2])> = Vec::new();
    for Line { kind, used, cost, .. } in &list.lines {
        let (used, cost) = (used.unwrap_or_default(), cost.unwrap_or_default());
        let add = |sum: [f64; 2], more: [f64; 2]| [sum[0] + more[0], sum[1] + more[1]];
        match kinds.iter_mut().find(|(k, ..)| k == kind) {
            Some(entry) => (entry.1, entry.2) = (add(entry.1, used), add(entry.2, cost)),
            None => kinds.push((kind, used, cost)),
        }
    }
    kinds
}
