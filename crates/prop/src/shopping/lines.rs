//! From what is needed to packages and money.

use super::needs::Need;
use super::{Line, PieceCost, cut, prints};
use crate::catalogue::{Amount, Price, Supply, Unit};
use crate::outcome::{Outcome, Piece};
use crate::project::Project;

/// One line of the list: what is taken less what is there, in whole packages.
pub(super) fn line(project: &Project, need: Need) -> Line {
    let unit = need.amount.unit;
    let of = |count: f64| Amount { count, unit };
    let price = project.cost.price(&need.row).filter(|p| p.per.unit == unit);
    let held = project.cost.has.iter().filter(|h| h.name == need.row && h.amount.unit == unit);
    // From nothing: a sum of none is less than nothing, as floating-point numbers have it.
    let has = held.clone().fold(0.0, |sum, h| sum + h.amount.count);
    let spare = if need.spare { project.cost.spare } else { 0.0 };
    let exact = need.amount.count * (1.0 + need.wasted.0) * (1.0 + spare);
    let mut taken = if unit == Unit::Piece { whole(exact) } else { exact };
    let mut package = need.package.or(price.map(|p| p.per.count)).unwrap_or(1.0);
    let mut added = Vec::new();
    if need.wasted.0 > 0.0 {
        added.push(format!("{:.0} % {}", need.wasted.0 * 100.0, need.wasted.1));
    }
    if spare > 0.0 {
        added.push(format!("{:.0} % spare", spare * 100.0));
    }
    let (missing, packages) = if need.lengths_mm.is_empty() {
        let missing = (taken - has).max(0.0);
        (missing, whole(missing / package) as u32)
    } else {
        // Each entry of what is there is one length.
        let offcuts: Vec<f64> = held.map(|h| h.amount.count * 1e3).collect();
        let (count, stock_mm) = cut(&need.lengths_mm, package * 1e3, &offcuts);
        package = stock_mm * 1e-3;
        added.push(format!("{} cut from lengths of {package:.2} m", need.lengths_mm.len()));
        taken = taken.max(need.amount.count);
        (f64::from(count) * package, count)
    };
    let each = |count: f64| price.map(|p| p.each.map(|e| e * count / p.per.count));
    Line {
        kind: need.kind,
        row: need.row,
        title: need.title,
        needed: need.amount,
        taken: of(taken),
        added: added.join(", "),
        has: of(has),
        missing: of(missing),
        package: of(package),
        packages,
        cost: each(f64::from(packages) * package),
        used: each(taken),
        dated: price.map_or_else(String::new, |p| p.dated.clone()),
    }
}

/// Up to a whole number, but for what rounding left.
fn whole(count: f64) -> f64 {
    (count - 1e-9).ceil().max(0.0)
}

/// What each piece costs.
pub(super) fn pieces(project: &Project, outcome: &Outcome, failing: f64) -> Vec<PieceCost> {
    outcome.pieces.iter().map(|piece| of_piece(project, outcome, piece, failing)).collect()
}

fn of_piece(project: &Project, outcome: &Outcome, piece: &Piece, failing: f64) -> PieceCost {
    let material = project.rules_for(&piece.body).material;
    let count = match material.supply {
        Supply::Spool { .. } => piece.mass_g.value,
        Supply::Bottle { .. } => piece.mass_g.value / material.density_g_cm3[0],
    };
    let prints = prints(failing);
    let cost = |price: &Price, count: f64| price.each.map(|e| e * count / price.per.count);
    let mut finish = [0.0; 2];
    let mut add = |row: &str, count: f64| {
        if let Some(price) = project.cost.price(row) {
            let cost = cost(price, count);
            finish = [finish[0] + cost[0], finish[1] + cost[1]];
        }
    };
    for zone in &outcome.finish.zones {
        let area = zone.area_mm2();
        let own: f64 = zone.pieces.iter().filter(|(n, _)| *n == piece.number).map(|(_, mm2)| mm2).sum();
        for layer in zone.layers.iter().filter(|_| area > 0.0) {
            add(&layer.coat, layer.wet_ml.map_or(0.0, |ml| ml.value) * own / area);
        }
    }
    for skim in outcome.finish.skims.iter().filter(|s| s.piece == piece.number) {
        add(&skim.filler, skim.wet_ml);
    }
    let material = project.cost.price(&material.name).map(|price| cost(price, count * prints));
    PieceCost { piece: piece.number, prints, material, finish }
}
