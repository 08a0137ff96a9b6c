//! The sheet of a printer's coupon, filled in line by line at the bench.

use super::super::fault::{Answer, Fault};
use super::super::routes::{Bench, offload, open};
use super::store::Reading;
use axum::Json;
use axum::extract::{Path, State as Shared};
use pack::readings::{asked, parted, rows, sheet as filled_in};
use prop::catalogue::Catalogue;
use prop::coupon::{Feature, coupons, stock};
use prop::learnt::Note;
use prop::project::Project;
use serde::Serialize;
use std::collections::BTreeMap;

/// The kind of a reading that is a filled-in line.
pub(super) const KIND: &str = "coupon";

/// What stands before the printer's name in the job at which its coupon is measured.
const JOB: &str = "measure the coupon of ";

/// The printer whose coupon is measured at a job.
pub(super) fn measured_at(job: &str) -> Option<&str> {
    job.strip_prefix(JOB)
}

/// Everything to try and to measure on a printer's coupons.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct CouponSheet {
    printer: String,
    lines: Vec<CouponLine>,
}

/// One of them.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct CouponLine {
    /// The line as the sheet has it, up to what is filled in: a reading and how it went are put behind it.
    line: String,
    /// What it is.
    title: String,
    /// As drawn, with its unit.
    drawn: String,
    /// Whether calipers can take it.
    read: bool,
    /// Whether something is tried in it.
    tried: bool,
}

/// The sheet of a printer.
pub(crate) async fn sheet(Shared(bench): Bench, Path(printer): Path<String>) -> Answer<CouponSheet> {
    let (project, outcome) = open(&bench, |desk| (desk.shown.project.clone(), desk.shown.outcome.clone()))?;
    let (project, (_, outcome)) = project.zip(outcome).ok_or_else(|| Fault::waiting("what the coupons try"))?;
    offload(move || -> Result<CouponSheet, Fault> {
        let names: Vec<&str> = outcome.bodies.iter().map(|b| b.name.as_str()).collect();
        let refused =
            |e: &dyn std::fmt::Display| Fault::new(422, "coupon", e.to_string(), "change what the coupon tries");
        let all = coupons(&project, &names).map_err(|e| refused(&e))?;
        let own: Vec<_> = all.into_iter().filter(|c| c.printer == printer).collect();
        if own.is_empty() {
            return Err(Fault::none("coupon of such a printer"));
        }
        let lines = rows(&own, &stock(&project)).iter().map(line).collect();
        Ok(CouponSheet { printer, lines })
    })
    .await?
    .map(Json)
}

fn line(row: &[String; 9]) -> CouponLine {
    let [printer, material, number, name, nominal, step, gap, ..] = row;
    let feature = Feature::ALL.into_iter().find(|f| f.name() == name);
    let title = match feature {
        _ if printer == "stock" => format!("{material}: {name}"),
        Some(feature) if feature.is_ladder() => {
            format!("{material}, row {number}, step {step}: {}, {gap} a side", name.replace('-', " "))
        }
        _ => format!("{material}, row {number}: {name} {step}").trim_end().to_owned(),
    };
    CouponLine {
        line: asked(row),
        title,
        drawn: nominal.clone(),
        read: feature.is_none_or(Feature::is_measured),
        tried: feature.is_some_and(Feature::is_ladder),
    }
}

/// A sheet of the lines that were filled in; of those that are about the same, the last one counts. `None` where nothing is filled in.
pub(super) fn filled<'r>(readings: impl Iterator<Item = &'r Reading>) -> Option<String> {
    let mut last: BTreeMap<&str, &str> = BTreeMap::new();
    for reading in readings {
        last.insert(parted(&reading.value)?.0, &reading.value);
    }
    let lines: Vec<&str> = last.into_values().filter(|v| parted(v).is_some_and(|(_, filled)| filled)).collect();
    (!lines.is_empty()).then(|| filled_in(&lines))
}

/// Whether a line can be learnt from: its mistakes.
pub(super) fn check(value: &str, text: &str) -> Result<(), Fault> {
    let told = |message: String| Fault::new(422, "value", message, "correct what is filled in");
    let one = parted(value).filter(|_| !value.contains(['\n', '\r']));
    let (_, filled) = one.ok_or_else(|| told("this is no line of a coupon's sheet".to_owned()))?;
    if !filled {
        return Ok(());
    }
    let project: Project = prop::project::parse(text, &Catalogue::built_in())
        .map_err(|_| told("the project file cannot be read just now".to_owned()))?;
    let note = Note { date: String::new(), sheet: String::new() };
    let found = prop::learnt::readings(&filled_in(&[value]), &project, &note);
    found.map(|_| ()).map_err(|d| told(d.0.first().map_or_else(String::new, |d| format!("{}; {}", d.message, d.help))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_of_what_was_filled_in_counts() {
        let reading = |id, value: &str| Reading {
            id,
            job: String::new(),
            kind: KIND.to_owned(),
            value: value.to_owned(),
            at: String::new(),
            by: String::new(),
        };
        let all = [
            reading(1, "bench,pla-white,1,hole,5 mm,1,,4.8 mm,"),
            reading(2, "bench,pla-white,1,hole,8 mm,2,,7.8 mm,"),
            reading(3, "bench,pla-white,1,hole,5 mm,1,,4.9 mm,"),
            reading(4, "bench,pla-white,1,hole,8 mm,2,,,"),
        ];
        let sheet = filled(all.iter()).unwrap();
        assert_eq!(sheet.lines().skip(1).collect::<Vec<_>>(), ["bench,pla-white,1,hole,5 mm,1,,4.9 mm,"]);
        assert!(sheet.starts_with("printer,material,row,feature,"));
        assert_eq!(filled(all[3..].iter()), None, "nothing is filled in");
        assert_eq!((measured_at("measure the coupon of wide"), measured_at("print wide-01")), (Some("wide"), None));
    }
}
