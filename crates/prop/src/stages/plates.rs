//! Plates: what the maker reserves, what is laid on each, and what all of them take of each material.

use super::Split;
use crate::catalogue::{Material, Printer, Supply};
use crate::finding::Band;
use crate::outcome::{OnPlate, Piece, Plate, Stock};
use crate::printing::{Allotment, Laid, Placing, Reserved, Task};
use crate::project::Project;
use crate::refusal::{Problem, Refusal, problem};
use solid::{DAffine3, DVec3};

/// Of a hundred plates five to ten fail. Common practice, no source.
pub(crate) const SPOILT: [f64; 2] = [0.05, 0.1];

/// The plates of the project file, with the places of their pieces in the list.
///
/// # Errors
/// A [`Refusal`] that names every piece that is not there, or that cannot be printed so.
pub(super) fn reserved(project: &Project, split: &Split, tasks: &[Task]) -> Result<Vec<Reserved>, Refusal> {
    let mut problems: Vec<Problem> = Vec::new();
    let mut plates = Vec::new();
    for plate in &project.plates {
        let key = ["plate", plate.name.as_str(), "pieces"];
        let printer = &project.printers[plate.printer].name;
        let mut held: Vec<usize> = Vec::new();
        for number in &plate.pieces {
            let Some(task) = split.pieces.iter().position(|p| p.number == *number) else {
                let last = split.pieces.iter().map(|p| p.number).max().unwrap_or(0);
                let message = format!("plate {} asks for piece {number:02}, but there is none", plate.name);
                problems.push(problem(&key, message, format!("name pieces from 01 to {last:02}")));
                continue;
            };
            if !tasks[task].on.iter().any(|load| load.printer == plate.printer) {
                let body = &split.pieces[task].rules.name;
                let message =
                    format!("plate {} asks for piece {number:02}, but {printer} does not take it", plate.name);
                let remedy = format!("name a printer from body.{body}.printers that is large enough for it");
                problems.push(problem(&key, message, remedy));
            } else if let Some(first) = held.first()
                && tasks[*first].material != tasks[task].material
            {
                let message = format!(
                    "plate {} asks for piece {number:02} in {} beside {}: a plate has one material",
                    plate.name, tasks[task].material, tasks[*first].material
                );
                problems.push(problem(&key, message, "put it on a plate of its own material"));
            } else {
                held.push(task);
            }
        }
        plates.push(Reserved { printer: plate.printer, tasks: held });
    }
    if problems.is_empty() { Ok(plates) } else { Err(Refusal::Problems(problems)) }
}

/// The plates as they are shown and written.
pub(super) fn plates(
    project: &Project,
    split: &Split,
    tasks: &[Task],
    allotment: &Allotment,
    pieces: &[Piece],
) -> Vec<Plate> {
    let stems = stems(&project.printers);
    let mut made: Vec<Plate> = Vec::new();
    for laid in &allotment.plates {
        let printer = &project.printers[laid.printer];
        let number = made.iter().filter(|p| p.printer == printer.name).count() as u32 + 1;
        let on: Vec<OnPlate> = laid.placed.iter().filter_map(|at| on_plate(at, laid, tasks, pieces)).collect();
        let Some(material) = laid.placed.first().map(|at| &split.pieces[at.piece].rules.material) else { continue };
        let zero = Band::exact(0.0);
        let mass_g = laid.placed.iter().fold(zero, |sum, at| sum.plus(pieces[at.piece].mass_g));
        made.push(Plate {
            name: format!("{}-{number:02}", stems[laid.printer]),
            printer: printer.name.clone(),
            number,
            by_hand: laid.reserved.map(|k| project.plates[k].name.clone()),
            bed_mm: printer.bed_mm,
            margin_mm: printer.margin_mm,
            spacing_mm: printer.spacing_mm,
            material: material.name.clone(),
            mass_g: on.iter().fold(mass_g, |sum, piece| sum.plus(brim_g(piece, printer, material))),
            pieces: on,
            time_s: laid.time_s,
            fits: laid.fits,
        });
    }
    made
}

fn on_plate(at: &Placing, laid: &Laid, tasks: &[Task], pieces: &[Piece]) -> Option<OnPlate> {
    let load = tasks[at.piece].on.iter().find(|l| l.printer == laid.printer)?;
    let turned = |p: DVec3| at.to_bed(p.truncate()).extend(p.z);
    let corner = turned(DVec3::ZERO);
    let axis = |p: DVec3| turned(p) - corner;
    Some(OnPlate {
        piece: pieces[at.piece].number,
        to_plate: DAffine3 {
            matrix3: solid::DMat3::from_cols(axis(DVec3::X), axis(DVec3::Y), DVec3::Z),
            translation: corner,
        },
        outline: load.footprint.outline.iter().map(|p| at.to_bed(*p)).collect(),
        brim_mm: load.footprint.brim_mm,
    })
}

/// Mass of a brim of one layer, g, as for a convex outline (Steiner): within a tenth.
fn brim_g(piece: &OnPlate, printer: &Printer, material: &Material) -> Band {
    let n = piece.outline.len();
    let length: f64 = (0..n).map(|k| piece.outline[k].distance(piece.outline[(k + 1) % n])).sum();
    let area = length * piece.brim_mm + std::f64::consts::PI * piece.brim_mm * piece.brim_mm;
    let [value, low, high] = material.density_g_cm3.map(|d| area * printer.layer_mm * d / 1000.0);
    Band { value, low: low * 0.9, high: high * 1.1 }
}

/// A file stem for each printer: letters, figures and hyphens, none of them twice.
fn stems(printers: &[Printer]) -> Vec<String> {
    let mut stems: Vec<String> = Vec::new();
    for (k, printer) in printers.iter().enumerate() {
        let plain: String =
            printer.name.chars().map(|c| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { '-' }).collect();
        let plain = plain.trim_matches('-').to_owned();
        let taken = plain.is_empty() || stems.iter().any(|s| s.to_lowercase() == plain.to_lowercase());
        stems.push(if taken { format!("printer-{}-{plain}", k + 1).trim_end_matches('-').to_owned() } else { plain });
    }
    stems
}

/// What the plates take of each material.
pub(super) fn stocks(split: &Split, plates: &[Plate]) -> Vec<Stock> {
    let mut materials: Vec<&Material> = split.pieces.iter().map(|p| &p.rules.material).collect();
    materials.sort_by(|a, b| a.name.cmp(&b.name));
    materials.dedup_by(|a, b| a.name == b.name);
    materials
        .into_iter()
        .map(|material| {
            let on = || plates.iter().filter(|p| p.material == material.name);
            let mass_g = on().fold(Band::exact(0.0), |sum, p| sum.plus(p.mass_g));
            stock(material, on().count() as u32, mass_g)
        })
        .collect()
}

fn stock(material: &Material, plates: u32, mass_g: Band) -> Stock {
    // At the usual density. The band keeps the density's range, which a length does not have: rather too wide than too
    // narrow, and spools are sold by mass.
    let cm3 = |g: f64| g / material.density_g_cm3[0];
    let most_g = mass_g.high * (1.0 + SPOILT[1]);
    let (amount, unit, package, used) = match material.supply {
        Supply::Spool { mass_g: package, diameter_mm } => {
            let section_cm2 = std::f64::consts::PI / 4.0 * diameter_mm * diameter_mm / 100.0;
            (scaled(mass_g, |g| cm3(g) / section_cm2 / 100.0), "m", package, most_g)
        }
        Supply::Bottle { volume_ml } => (scaled(mass_g, cm3), "ml", volume_ml, cm3(most_g)),
    };
    Stock {
        material: material.name.clone(),
        title: material.title.clone(),
        plates,
        mass_g,
        amount,
        unit,
        spoilt: SPOILT,
        package,
        packages: (used / package).ceil() as u32,
    }
}

fn scaled(band: Band, by: impl Fn(f64) -> f64) -> Band {
    Band { value: by(band.value), low: by(band.low), high: by(band.high) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    #[test]
    fn a_kilogram_of_filament_is_335_metres_of_pla() {
        // 1000 g / 1.24 g/cm3 = 806.5 cm3 over 2.405 mm2 of section.
        let rows = Catalogue::built_in().materials;
        let pla = rows.iter().find(|m| m.name == "pla-white").unwrap();
        let stock_of = |g: f64| stock(pla, 3, Band::exact(g));
        assert!((stock_of(1000.0).amount.value - 335.3).abs() < 0.1);
        assert_eq!((stock_of(1000.0).unit, stock_of(1000.0).packages), ("m", 2));
        assert_eq!(stock_of(900.0).packages, 1);
        let resin = rows.iter().find(|m| m.name == "resin-standard").unwrap();
        let bottle = stock(resin, 1, Band::exact(114.0));
        assert!((bottle.amount.value - 100.0).abs() < 1e-9);
        assert_eq!((bottle.unit, bottle.package, bottle.packages), ("ml", 1000.0, 1));
    }

    #[test]
    fn every_printer_has_a_file_stem_of_its_own() {
        let rows = Catalogue::built_in().printers;
        let named = |name: &str| Printer { name: name.into(), ..rows[0].printer.clone() };
        let printers = ["wide", "Wide", "my printer!", "my-printer", "..", "w\u{e4}rm"].map(named);
        assert_eq!(
            stems(&printers),
            ["wide", "printer-2-wide", "my-printer", "printer-4-my-printer", "printer-5", "w\u{e4}rm"]
        );
    }
}
