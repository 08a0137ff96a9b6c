//! What is found about shopping and cost.

use super::Shopping;
use crate::checks::{Checked, note};
use crate::finding::{Band, Finding, Input, input};
use crate::outcome::Outcome;
use crate::project::Project;

/// All that is found; nothing of an outcome without pieces.
pub(super) fn findings(project: &Project, outcome: &Outcome, failing: f64, list: &Shopping) -> Vec<Finding> {
    if outcome.pieces.is_empty() {
        return Vec::new();
    }
    let money = |[low, high]: [f64; 2]| format!("{low:.0} to {high:.0} {}", list.currency);
    let middle = |[low, high]: [f64; 2]| 0.5 * (low + high);
    let bought = Band { value: middle(list.bought), low: list.bought[0], high: list.bought[1] };
    let days: Vec<&str> = list.lines.iter().map(|l| l.dated.as_str()).filter(|d| !d.is_empty()).collect();
    let days = match (days.iter().min(), days.iter().max()) {
        (Some(a), Some(b)) if a == b => format!("prices of {a}"),
        (Some(a), Some(b)) => format!("prices of {a} to {b}"),
        _ => "no prices".to_owned(),
    };
    let message = format!(
        "{} for what is missing, in whole packages; {} for what is used up, what is there and all ({days})",
        money(list.bought),
        money(list.used)
    );
    let mut all = Vec::new();
    // Each the middle of its prices: the sum's own middle.
    let lines = list.lines.iter().filter_map(|l| Some((l, middle(l.cost?))));
    let lines: Vec<Input> = lines
        .filter(|l| l.1 > 0.0)
        .map(|(l, cost)| input(l.title.clone(), cost, "1", priced(&l.row, &l.dated)))
        .collect();
    match project.cost.most {
        Some(most) => all.push(
            Checked {
                id: "cost_within",
                subject: "prop".into(),
                station_mm: None,
                value: bought,
                unit: "1",
                min: None,
                max: Some(most),
                source: format!("cost.most, in {}", list.currency),
                message,
                remedy: dearest(list),
            }
            .finding()
            .worked_from(lines),
        ),
        None => {
            let mut finding = note("cost_total", "prop".into(), None, bought.value, "1", message);
            (finding.measured.low, finding.measured.high) = (bought.low, bought.high);
            all.push(finding.worked_from(lines));
        }
    }
    let unpriced: Vec<&str> = list.lines.iter().filter(|l| l.cost.is_none()).map(|l| l.row.as_str()).collect();
    if !unpriced.is_empty() {
        let message = format!("no price for {}: add [price.{}] with each and per", unpriced.join(", "), unpriced[0]);
        all.push(note("cost_unpriced", "prop".into(), None, unpriced.len() as f64, "1", message).worked_from([input(
            "on the list",
            list.lines.len() as f64,
            "1",
            "what is taken, by kind",
        )]));
    }
    let message = format!("{:.1} of {} plates are expected to be printed again", list.reprints, outcome.plates.len());
    all.push(note("cost_reprints", "prop".into(), None, list.reprints, "1", message).worked_from([
        input("plates", outcome.plates.len() as f64, "1", "as they were laid"),
        input("of plates fail", failing, "1", "plan.failing"),
    ]));
    let mass = list.mass_g();
    let mut heaviest: Vec<_> = list.weights.iter().collect();
    heaviest.sort_by(|a, b| b.mass_g.value.total_cmp(&a.mass_g.value));
    let told: Vec<String> = heaviest.iter().take(4).map(|w| format!("{} {:.0} g", w.what, w.mass_g.value)).collect();
    let message = format!("finished, with paint, glue and wires: {:.0} g ({}, ...)", mass.value, told.join(", "));
    let mut finding = note("finished_weight", "prop".into(), None, mass.value, "g", message);
    (finding.measured.low, finding.measured.high) = (mass.low, mass.high);
    all.push(finding.worked_from(list.masses()));
    all
}

fn priced(row: &str, dated: &str) -> String {
    if dated.is_empty() { format!("[price.{row}]") } else { format!("{row}, price of {dated}") }
}

/// What costs most.
fn dearest(list: &Shopping) -> String {
    let mut lines: Vec<_> = list.lines.iter().filter_map(|l| Some((l.cost?, l))).collect();
    lines.sort_by(|a, b| (b.0[0] + b.0[1]).total_cmp(&(a.0[0] + a.0[1])));
    let most: Vec<String> =
        lines.iter().take(3).map(|(cost, l)| format!("{} ({:.0} to {:.0})", l.row, cost[0], cost[1])).collect();
    format!(
        "the most is for {}; say what is there already ([has.NAME]), or what you pay ([price.NAME])",
        most.join(", ")
    )
}
