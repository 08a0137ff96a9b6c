//! A sheet of measured printing times.

use super::sheet::{Sheet, settled, whole};
use super::{Note, Print};
use crate::diagnostic::Diagnostics;
use crate::fields::Report;
use crate::project::Project;
use crate::quantity::{Quantity, Wanted};

/// What is computed for a piece or plate as things stand.
#[derive(Clone, Debug, PartialEq)]
pub struct Prediction {
    /// Its name, such as `03-blade`.
    pub name: String,
    /// Printer, by its name in the project.
    pub printer: String,
    /// Usual time with the printer's start, s.
    pub time_s: f64,
}

/// What a sheet of times gave.
pub type Times = Vec<Print>;

const NEEDED: [&str; 4] = ["piece", "printer", "predicted", "measured"];
const TIME: Wanted = Wanted::of(Quantity::Time, 30.0, 3_600_000.0, "5.2 h");
/// No printer takes this many times longer than computed, or shorter: that is a slip of the line.
const FURTHEST: f64 = 5.0;

/// Whether some filled-in line leaves out what was predicted, so that predictions are needed.
///
/// # Errors
/// As [`times`].
pub fn unpredicted(text: &str) -> Result<bool, Diagnostics> {
    let sheet = Sheet::read(text, &NEEDED)?;
    let open = |row| !sheet.cell(row, "measured").is_empty() && sheet.cell(row, "predicted").is_empty();
    Ok(sheet.rows.iter().any(open))
}

/// Reads measured times. Each line names a piece or plate, its printer, what the pack predicts (or leaves that to
/// `predictions`) and what was measured, both from start to end; lines without a measured time are left out.
///
/// # Errors
/// Every mistake at its place.
pub fn times(text: &str, project: &Project, predictions: &[Prediction], note: &Note) -> Result<Times, Diagnostics> {
    let sheet = Sheet::read(text, &NEEDED)?;
    let report = Report::default();
    let mut prints: Times = Vec::new();
    for row in sheet.rows.iter().filter(|row| !sheet.cell(row, "measured").is_empty()) {
        let printers = project.printers.iter().map(|p| (p.name.as_str(), p));
        let printer = sheet.cell(row, "printer").one_of(&report, printers, "the project has");
        let piece_cell = sheet.cell(row, "piece");
        let predicted_cell = sheet.cell(row, "predicted");
        let predicted = if predicted_cell.is_empty() {
            let known = predictions.iter().map(|p| (p.name.as_str(), p));
            piece_cell.one_of(&report, known, "the pack has").and_then(|p| {
                let other = printer.is_some_and(|known| known.name != p.printer);
                if other {
                    let message = format!("{} is planned on {}, not on this printer", p.name, p.printer);
                    return piece_cell.error(
                        &report,
                        message,
                        "write under predicted what is computed for the printer it ran on",
                    );
                }
                Some(p.time_s)
            })
        } else {
            predicted_cell.quantity(&report, &TIME)
        };
        let measured_cell = sheet.cell(row, "measured");
        let measured = measured_cell.quantity(&report, &TIME);
        let (Some(printer), Some(predicted), Some(measured)) = (printer, predicted, measured) else { continue };
        let start = printer.start_time_s;
        if predicted <= start || measured <= start {
            let cell = if predicted <= start { predicted_cell } else { measured_cell };
            let message = format!("this is no longer than {} takes to start, {:.1} min", printer.name, start / 60.0);
            cell.error::<()>(
                &report,
                message,
                "give the time from pressing start to the last layer, or correct the printer's start-time",
            );
            continue;
        }
        // A prediction has the pace in force in it; what is kept is free of it.
        let computed_s = (predicted - start) / printer.pace[0];
        let measured_s = measured - start;
        let times = measured_s / computed_s;
        if !(1.0 / FURTHEST..=FURTHEST).contains(&times) {
            let message = format!("this is {times:.1} times what is computed");
            measured_cell.error::<()>(&report, message, "look whether the line and the units are right");
            continue;
        }
        let piece = if piece_cell.is_empty() { "a print" } else { piece_cell.text }.to_owned();
        prints.push(Print { printer: printer.name.clone(), piece, computed_s, measured_s, note: note.clone() });
    }
    if report.is_empty() && prints.is_empty() {
        return Err(whole(
            "no line of the sheet is filled in",
            "write under measured how long each print took: \"6.1 h\"",
        ));
    }
    settled(report, prints)
}
