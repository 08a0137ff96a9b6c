//! Do the plates hold what is on them, how long do they take, and how much material do they want?

use super::{Checked, Work, note, piece_name};
use crate::finding::{Band, Finding, PIECES, input};
use crate::outcome::{Plate, Pose, Stock};
use crate::printing::gap_mm;
use crate::project::PlateRules;
use crate::stages::SPOILT;

pub(super) fn check(work: &Work) -> Vec<Finding> {
    let printed = work.printed;
    let mut found: Vec<Finding> = printed.plates.iter().map(fits).collect();
    found.extend(printed.plates.iter().filter(|p| p.pieces.len() > 1).map(gap));
    found.extend(work.project.plates.iter().zip(&printed.left_out).filter_map(|(plate, left)| overfull(plate, left)));
    found.extend(work.project.printers.iter().filter_map(|printer| time(&printer.name, &printed.plates)));
    found.extend(printed.stocks.iter().map(material));
    found.extend(poses(work));
    found
}

fn subject(plate: &Plate) -> String {
    format!("plate {}", plate.name)
}

/// "piece 03", "pieces 01, 02 and 05".
fn list(numbers: &[u32]) -> String {
    let names: Vec<String> = numbers.iter().map(|n| format!("{n:02}")).collect();
    match names.as_slice() {
        [] => "no piece".into(),
        [one] => format!("piece {one}"),
        [most @ .., last] => format!("pieces {} and {last}", most.join(", ")),
    }
}

fn pieces_on(plate: &Plate) -> String {
    list(&plate.pieces.iter().map(|p| p.piece).collect::<Vec<_>>())
}

/// Least distance of an outline from the bed's sides.
fn fits(plate: &Plate) -> Finding {
    let [width, depth, _] = plate.bed_mm;
    let outlines = plate.pieces.iter().flat_map(|p| &p.outline);
    let edge = outlines.map(|p| p.x.min(p.y).min(width - p.x).min(depth - p.y)).fold(f64::INFINITY, f64::min);
    // What was laid to the margin exactly keeps it; the last bits of a turn must not decide.
    let edge = if (edge - plate.margin_mm).abs() < 1e-6 { plate.margin_mm } else { edge };
    Checked {
        id: "plate_fits",
        subject: subject(plate),
        station_mm: None,
        value: Band::exact(edge),
        unit: "mm",
        min: Some(plate.margin_mm),
        max: None,
        source: format!("printer.{}.margin", plate.printer),
        message: format!(
            "{} on {width:.0} x {depth:.0} mm, {edge:.1} mm from the nearest side of the bed.",
            capital(&pieces_on(plate))
        ),
        remedy: "name a larger printer, or cut the piece smaller".into(),
    }
    .finding()
    .worked_from([
        input("bed, wide", width, "mm", format!("printer.{}", plate.printer)),
        input("bed, deep", depth, "mm", format!("printer.{}", plate.printer)),
        input("pieces", plate.pieces.len() as f64, "1", "as they were laid"),
    ])
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Least distance between two outlines, less their brims.
fn gap(plate: &Plate) -> Finding {
    let mut least = (f64::INFINITY, 0, 0);
    for (k, a) in plate.pieces.iter().enumerate() {
        for b in &plate.pieces[..k] {
            let gap = gap_mm(&a.outline, &b.outline) - a.brim_mm - b.brim_mm;
            if gap < least.0 {
                least = (gap, b.piece, a.piece);
            }
        }
    }
    let (gap, a, b) = least;
    Checked {
        id: "plate_gap",
        subject: subject(plate),
        station_mm: None,
        value: Band::exact(gap),
        unit: "mm",
        min: Some(plate.spacing_mm - 1e-6),
        max: None,
        source: format!("printer.{}.spacing", plate.printer),
        message: format!(
            "Pieces {a:02} and {b:02} stand nearest to each other, {gap:.1} mm apart with their brims; {:.1} mm are asked.",
            plate.spacing_mm
        ),
        remedy: format!("take one of them off the plate, or allow less in printer.{}.spacing", plate.printer),
    }
    .finding()
    .worked_from([
        input("piece", f64::from(a), "1", "the nearest two"),
        input("and piece", f64::from(b), "1", "the nearest two"),
        input("kept free", plate.spacing_mm, "mm", format!("printer.{}.spacing", plate.printer)),
    ])
}

/// A plate filled by hand that cannot hold all it should.
fn overfull(plate: &PlateRules, left: &[u32]) -> Option<Finding> {
    let asked = plate.pieces.len();
    (!left.is_empty()).then(|| {
        let held = asked - left.len();
        Checked {
            id: "plate_fits",
            subject: format!("plate {}", plate.name),
            station_mm: None,
            value: Band::exact(held as f64),
            unit: "1",
            min: Some(asked as f64),
            max: None,
            source: format!("plate.{}.pieces", plate.name),
            message: format!(
                "The plate is overfull: it holds {held} of its {asked} pieces. No room is left for {}; they are laid on other plates.",
                list(left)
            ),
            remedy: format!(
                "take {} out of plate.{}.pieces, allow less spacing or brim, or name a larger printer",
                list(left),
                plate.name
            ),
        }
        .finding()
        .worked_from([
            input("asked for", asked as f64, "1", format!("plate.{}.pieces", plate.name)),
            input("left over", left.len() as f64, "1", "no room was found"),
        ])
    })
}

/// How long a printer is busy.
fn time(printer: &str, plates: &[Plate]) -> Option<Finding> {
    let on: Vec<&Plate> = plates.iter().filter(|p| p.printer == printer).collect();
    let longest = on.iter().max_by(|a, b| a.time_s.value.total_cmp(&b.time_s.value))?;
    let all = on.iter().fold(Band::exact(0.0), |sum, p| sum.plus(p.time_s));
    let hours = |s: f64| s / 3600.0;
    let message = format!(
        "{} plate{} take{} {:.1} h ({:.1} to {:.1}), the longest ({}) {:.1} h. When one plate in twenty to ten fails, keep {:.1} to {:.1} h more.",
        on.len(),
        if on.len() == 1 { "" } else { "s" },
        if on.len() == 1 { "s" } else { "" },
        hours(all.value),
        hours(all.low),
        hours(all.high),
        longest.name,
        hours(longest.time_s.value),
        hours(all.value) * SPOILT[0],
        hours(all.value) * SPOILT[1],
    );
    let mut finding = note("plate_time", format!("printer {printer}"), None, hours(all.value), "h", message);
    (finding.measured.low, finding.measured.high) = (hours(all.low), hours(all.high));
    let each = on
        .iter()
        .map(|p| input(format!("plate {}", p.name), hours(p.time_s.value), "h", "its layers and the printer's row"));
    Some(finding.worked_from(each))
}

/// What to buy.
fn material(stock: &Stock) -> Finding {
    let (package, unit) = match (stock.unit, stock.packages) {
        ("m", 1) => ("spool", "g"),
        ("m", _) => ("spools", "g"),
        (_, 1) => ("bottle", "ml"),
        _ => ("bottles", "ml"),
    };
    let message = format!(
        "{}: {:.0} g ({:.0} to {:.0}), {:.0} {} on {} plate{}. With 5 to 10 % for plates that fail (common practice, no source): {} {package} of {:.0} {unit}. Supports are not counted.",
        stock.title,
        stock.mass_g.value,
        stock.mass_g.low,
        stock.mass_g.high,
        stock.amount.value,
        stock.unit,
        stock.plates,
        if stock.plates == 1 { "" } else { "s" },
        stock.packages,
        stock.package,
    );
    let mut finding =
        note("plate_stock", format!("material {}", stock.material), None, stock.mass_g.value, "g", message);
    (finding.measured.low, finding.measured.high) = (stock.mass_g.low, stock.mass_g.high);
    finding.worked_from([
        input("amount", stock.amount.value, stock.unit, PIECES),
        input("plates", f64::from(stock.plates), "1", "as they were laid"),
        input("in a package", stock.package, unit, "catalogue: material"),
        input("plates that fail, at the most", stock.spoilt[1], "1", "common practice, no source"),
    ])
}

/// Why a piece stands as it does, where there was a choice.
fn poses(work: &Work) -> Vec<Finding> {
    let word = |pose: Pose| match pose {
        Pose::Upright => "upright",
        Pose::Inverted => "tip side down",
        Pose::Lying => "lying",
    };
    let mut found = Vec::new();
    for (piece, (trials, chosen)) in work.printed.pieces.iter().zip(&work.printed.poses) {
        let Some(best) = trials.get(*chosen).filter(|_| trials.len() > 1) else { continue };
        let each: Vec<String> = trials
            .iter()
            .map(|t| {
                let weak = if t.weak { ", layers square to its length" } else { "" };
                let seen = if t.seen_mm2 < 0.5 { 0.0 } else { t.seen_mm2 };
                let taken = if t.taken { "" } else { ", fits no printer" };
                format!(
                    "{}: {seen:.0} mm2 of show face and {:.0} mm2 elsewhere hang over{weak}{taken}, {:.1} h",
                    word(t.pose),
                    t.hidden_mm2,
                    t.time_s / 3600.0
                )
            })
            .collect();
        let message = format!("Prints {}. {}.", word(best.pose), capital(&each.join("; ")));
        found.push(note("pose", piece_name(piece), Some(piece.station_mm), best.seen_mm2, "mm2", message).worked_from(
            trials.iter().flat_map(|t| {
                [
                    input(format!("hangs over, {}", word(t.pose)), t.seen_mm2 + t.hidden_mm2, "mm2", PIECES),
                    input(
                        format!("prints, {}", word(t.pose)),
                        t.time_s / 3600.0,
                        "h",
                        "its layers and the printer's row",
                    ),
                ]
            }),
        ));
    }
    found
}
