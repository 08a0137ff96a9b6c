//! The sheet to fill in.

use crate::csv;
use prop::coupon::{Coupon, Feature, StockMeasure};

const HOW_TO: &str = "\
# Fill in what you tried and measured; lines left empty do not count. One sheet for each printed copy.\n\
# reading: what calipers show, with its unit: a slot's long side, a bore's diameter, a length.\n\
# how: no (does not go in), press, slides or loose.\n\
# scale: what was set for the material in the printer's program while this printed; empty for 100 %.\n\
# coupon.svg shows where each one is: row is the large figure, step the small one.\n";

/// What the fields of a line are. The last two are filled in.
const COLUMNS: [&str; 9] = ["printer", "material", "row", "feature", "nominal", "step", "gap", "reading", "how"];

/// A line up to what is filled in: a reading, and how it goes.
pub fn asked(row: &[String; 9]) -> String {
    csv::line(&row[..7]).trim_end().to_owned()
}

/// What a filled-in line is about, as [`asked`] says it, and whether anything is filled in; `None` for what is no line.
pub fn parted(line: &str) -> Option<(&str, bool)> {
    let mut fields = line.rsplitn(3, ',');
    let (how, reading) = (fields.next()?, fields.next()?);
    Some((fields.next()?, !how.trim().is_empty() || !reading.trim().is_empty()))
}

/// A sheet of filled-in lines.
pub fn sheet(lines: &[&str]) -> String {
    format!("{}{}\n", csv::line(&COLUMNS), lines.join("\n"))
}

/// The sheet as it is written.
pub(super) fn template(coupons: &[Coupon], stock: &[StockMeasure]) -> String {
    let lines = rows(coupons, stock);
    HOW_TO.to_owned() + &csv::line(&COLUMNS) + &lines.iter().map(|fields| csv::line(fields)).collect::<String>()
}

/// One line for every step, measure and piece of stock, with nothing filled in.
pub fn rows(coupons: &[Coupon], stock: &[StockMeasure]) -> Vec<[String; 9]> {
    let mut out = Vec::new();
    let mut line = |fields: [&str; 9]| out.push(fields.map(str::to_owned));
    for s in stock {
        line(["stock", &s.name, "", s.measure, &mm(s.nominal_mm), "", "", "", ""]);
    }
    for coupon in coupons {
        for part in &coupon.parts {
            for place in &part.places {
                let (row, step) = (part.row.to_string(), place.step.to_string());
                let gap = if place.feature.is_ladder() { mm(place.gap_mm) } else { String::new() };
                let nominal = mm(place.nominal_mm);
                let name = place.feature.name();
                line([&coupon.printer, &coupon.material, &row, name, &nominal, &step, &gap, "", ""]);
            }
            if part.places.iter().any(|p| p.feature == Feature::Outside) {
                line([&coupon.printer, &coupon.material, &part.row.to_string(), "scale", "100 %", "", "", "", ""]);
            }
        }
    }
    out
}

/// A length with as many decimals as it has, three at most.
fn mm(value: f64) -> String {
    let text = format!("{value:.3}");
    format!("{} mm", text.trim_end_matches('0').trim_end_matches('.'))
}
