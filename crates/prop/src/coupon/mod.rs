//! Coupons: small test prints that show what a printer makes of a slot, a hole or a length in a material.
//!
//! A *ladder* is a row of the same slot or bore with growing gaps, numbered in relief: stock, or a small printed
//! counterpart, is tried in one after the other. A *rule* has an outside and an inside measure and upright holes for
//! calipers. A *wedge* has steps of growing thickness that light is measured through. What was read goes to
//! [`crate::learnt`].

mod block;
mod light;
mod loose;
mod rule;
#[cfg(test)]
mod tests;

pub use light::{
    END_MM, HEIGHT_MM, LightCoupon, LightPart, PLATE_MM, STEP_MM, Step, WINDOW_MM, light_coupons, window_middle,
};

use crate::catalogue::{Material, Printer, Process, Rod};
use crate::finding::Band;
use crate::outcome::Role;
use crate::printing::{PrintError, plate_time, print_estimate};
use crate::project::Project;
use solid::{BooleanError, DVec2, Mesh, SettleError};
use thiserror::Error;

/// Gap of the first step and between steps, mm a side. Sliding fits of filament lie at 0.20 to 0.30, press fits at
/// 0.05 to 0.15 (three print-tolerance guides), resin's at about half of that (common practice, no source): ten steps
/// reach beyond both.
const fn step_mm(process: Process) -> f64 {
    match process {
        Process::Filament => 0.05,
        Process::Resin => 0.025,
    }
}

/// Pegs of the body's own rod where the maker names none: the thinnest rod of at least this, mm.
const LEAST_PEG_MM: f64 = 3.0;

/// Printed counterparts are tried in every second step.
const STEPS: [u32; 10] = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10];
const FEW_STEPS: [u32; 5] = [2, 4, 6, 8, 10];

/// What is tried or measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feature {
    /// The strip's board in a slot.
    StripSlot,
    /// Flat bar in a slot.
    BarSlot,
    /// Round bar in an upright bore.
    BarBore,
    /// Peg rod in an upright bore.
    PegBore,
    /// A printed pin in an upright bore.
    PinBore,
    /// A printed lid dropped into its opening.
    LidPocket,
    /// A printed lid slid along its groove.
    SlideLid,
    /// An outside length.
    Outside,
    /// An inside length.
    Inside,
    /// An upright hole.
    Hole,
}

impl Feature {
    /// Every kind.
    pub const ALL: [Feature; 10] = [
        Feature::StripSlot,
        Feature::BarSlot,
        Feature::BarBore,
        Feature::PegBore,
        Feature::PinBore,
        Feature::LidPocket,
        Feature::SlideLid,
        Feature::Outside,
        Feature::Inside,
        Feature::Hole,
    ];

    /// Its name in sheets.
    pub fn name(self) -> &'static str {
        match self {
            Feature::StripSlot => "strip-slot",
            Feature::BarSlot => "bar-slot",
            Feature::BarBore => "bar-bore",
            Feature::PegBore => "peg-bore",
            Feature::PinBore => "pin-bore",
            Feature::LidPocket => "lid-pocket",
            Feature::SlideLid => "slide-lid",
            Feature::Outside => "outside",
            Feature::Inside => "inside",
            Feature::Hole => "hole",
        }
    }

    /// Whether it is a row of growing gaps.
    pub fn is_ladder(self) -> bool {
        !matches!(self, Feature::Outside | Feature::Inside | Feature::Hole)
    }

    /// Whether calipers can take it: a groove with leaning flanks is only tried.
    pub fn is_measured(self) -> bool {
        self != Feature::SlideLid
    }

    /// Whether it is round and upright, so that it loses what holes lose.
    pub fn is_round(self) -> bool {
        matches!(self, Feature::BarBore | Feature::PegBore | Feature::PinBore | Feature::Hole)
    }
}

/// One slot, bore or length of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// What it is.
    pub feature: Feature,
    /// Its number in the row, from 1; a measure's, from 1.
    pub step: u32,
    /// Gap a side round the nominal size, mm; 0 for a measure.
    pub gap_mm: f64,
    /// The measure that calipers take, as drawn, mm: a slot's long side, a bore's diameter, a length.
    pub drawn_mm: f64,
    /// The same without the gap, mm.
    pub nominal_mm: f64,
    /// Ends of that measure on the part, seen from above, mm.
    pub ends: [DVec2; 2],
    /// Its outline where it is narrowest, seen from above, counter-clockwise, mm.
    pub outline: Vec<DVec2>,
    /// Middle of its figure, mm; `None` for a measure without one.
    pub figure: Option<DVec2>,
}

/// One body to print.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Name, usable as a file's: `11-bar-slot`, `1-pin`.
    pub name: String,
    /// Its row: the figures at its left end; 0 for a counterpart.
    pub row: u32,
    /// As it prints: bed at z = 0, first corner at the origin. One closed body.
    pub mesh: Mesh,
    /// Where its slots, bores and lengths are; none on a counterpart.
    pub places: Vec<Place>,
    /// Its outline seen from above, mm.
    pub outline: [DVec2; 2],
    /// Printing time on its own, with the printer's start, s.
    pub time_s: Band,
    /// Mass, g.
    pub mass_g: Band,
}

/// All test prints for one printer and material.
#[derive(Clone, Debug, PartialEq)]
pub struct Coupon {
    /// Number, from 1: the first figure of its rows.
    pub number: u32,
    /// Printer, by its name in the project.
    pub printer: String,
    /// Material, by its name in the catalogue.
    pub material: String,
    /// Ladders, the rule, then counterparts.
    pub parts: Vec<Part>,
    /// Time of all parts on one plate, s.
    pub time_s: Band,
}

/// A measure of stock that calipers should take.
#[derive(Clone, Debug, PartialEq)]
pub struct StockMeasure {
    /// Catalogue name of the strip or bar.
    pub name: String,
    /// `thickness`, `height`, `diameter` or `width`.
    pub measure: &'static str,
    /// What it is taken to be now, mm.
    pub nominal_mm: f64,
}

/// Why a coupon cannot be made.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum CouponError {
    /// A bed too small for a single slot.
    #[error("printer {printer}: {feature} needs {need_mm:.0} mm of its bed, and {room_mm:.0} mm are there")]
    Bed {
        /// Printer.
        printer: String,
        /// Feature.
        feature: &'static str,
        /// Length of the shortest block, mm.
        need_mm: f64,
        /// Room inside the margins, mm.
        room_mm: f64,
    },
    /// A solid could not be computed.
    #[error(transparent)]
    Boolean(#[from] BooleanError),
    /// A part could not be rounded.
    #[error(transparent)]
    Settle(#[from] SettleError),
    /// A part could not be estimated.
    #[error(transparent)]
    Print(#[from] PrintError),
}

/// The coupons for every printer and material that the bodies `names` of the shape may be printed on and in, in the
/// order of the bodies.
///
/// Slots for strip and bar come for those that hold them; covers get counterparts and the rule only.
///
/// # Errors
/// [`CouponError`].
pub fn coupons(project: &Project, names: &[&str]) -> Result<Vec<Coupon>, CouponError> {
    let mut pairs: Vec<(usize, Material, Needs)> = Vec::new();
    for name in names {
        let rules = project.rules_for(name);
        let needs = Needs { rail: rules.role != Role::Cover, peg: rules.peg.clone() };
        for printer in &rules.printers {
            match pairs.iter_mut().find(|(p, m, _)| p == printer && m.name == rules.material.name) {
                Some((_, _, all)) => {
                    all.rail |= needs.rail;
                    all.peg = all.peg.take().or_else(|| needs.peg.clone());
                }
                None => pairs.push((*printer, rules.material.clone(), needs.clone())),
            }
        }
    }
    (1..)
        .zip(&pairs)
        .map(|(number, (printer, material, needs))| {
            coupon(project, number, &project.printers[*printer], material, needs)
        })
        .collect()
}

/// What the bodies of one printer and material need.
#[derive(Clone)]
struct Needs {
    /// They hold strip, bar and pegs.
    rail: bool,
    /// Stock of their pegs, if the maker names it.
    peg: Option<Rod>,
}

/// The measures of the project's strip, bar and named pegs.
pub fn stock(project: &Project) -> Vec<StockMeasure> {
    let mut all = Vec::new();
    let mut add =
        |name: &str, measure, nominal_mm| all.push(StockMeasure { name: name.to_owned(), measure, nominal_mm });
    if let Some(spine) = &project.spine {
        let bar = &spine.bar;
        if bar.round {
            add(&bar.name, "diameter", bar.size_mm[0]);
        } else {
            add(&bar.name, "thickness", bar.size_mm[0]);
            add(&bar.name, "height", bar.size_mm[1]);
        }
    }
    if let Some(light) = &project.light {
        add(&light.strip.name, "width", light.strip.width_mm[0]);
    }
    let mut pegs: Vec<&Rod> = project.bodies.iter().filter_map(|b| b.peg.as_ref()).collect();
    pegs.dedup_by(|a, b| a.name == b.name);
    pegs.iter().for_each(|rod| add(&rod.name, "diameter", rod.diameter_mm));
    all
}

/// The ladders that a printer and material get: feature, size across and along (equal for a bore), steps.
fn ladders(project: &Project, needs: &Needs) -> Vec<(Feature, [f64; 2], &'static [u32])> {
    let mut all: Vec<(Feature, [f64; 2], &'static [u32])> = Vec::new();
    if let Some(light) = project.light.as_ref().filter(|_| needs.rail) {
        all.push((Feature::StripSlot, [light.strip.board_mm, light.strip.width_mm[0]], &STEPS));
    }
    if let Some(spine) = project.spine.as_ref().filter(|_| needs.rail) {
        let feature = if spine.bar.round { Feature::BarBore } else { Feature::BarSlot };
        all.push((feature, spine.bar.size_mm, &STEPS));
    }
    let usual = project.rods.iter().filter(|r| r.diameter_mm >= LEAST_PEG_MM);
    let usual = usual.min_by(|a, b| a.diameter_mm.total_cmp(&b.diameter_mm));
    if let Some(rod) = needs.peg.as_ref().or(usual).filter(|_| needs.rail) {
        all.push((Feature::PegBore, [rod.diameter_mm; 2], &STEPS));
    }
    all.push((Feature::PinBore, [loose::PIN_MM; 2], &FEW_STEPS));
    all.push((Feature::LidPocket, loose::LID_MM, &FEW_STEPS));
    all.push((Feature::SlideLid, [2.0 * loose::GROOVE_HALF_MM, 2.0 * loose::GROOVE_HALF_MM], &FEW_STEPS));
    all
}

fn coupon(
    project: &Project,
    number: u32,
    printer: &Printer,
    material: &Material,
    needs: &Needs,
) -> Result<Coupon, CouponError> {
    let mut parts = Vec::new();
    let mut layers_s = Vec::new();
    let mut add = |name: String, row: u32, made: (Mesh, Vec<Place>)| -> Result<(), CouponError> {
        let (part, layers) = finish(name, row, made, printer, material)?;
        parts.push(part);
        layers_s.push(layers);
        Ok(())
    };
    let row = |at: usize| number * 10 + at as u32 + 1;
    let ladders = ladders(project, needs);
    for (at, (feature, size, steps)) in ladders.iter().enumerate() {
        let gaps: Vec<f64> = steps.iter().map(|s| f64::from(*s) * step_mm(printer.process)).collect();
        let made =
            block::block(&block::Spec { row: row(at), feature: *feature, size_mm: *size, gaps: &gaps, printer })?;
        add(format!("{}-{}", row(at), feature.name()), row(at), made)?;
    }
    let rule_row = row(ladders.len());
    let rule = rule::rule(rule_row, printer)?;
    add(format!("{rule_row}-rule"), rule_row, rule)?;
    for (name, mesh) in loose::all()? {
        add(format!("{number}-{name}"), 0, (mesh, Vec::new()))?;
    }
    let time_s = plate_time(printer, &layers_s.iter().map(Vec::as_slice).collect::<Vec<_>>());
    Ok(Coupon { number, printer: printer.name.clone(), material: material.name.clone(), parts, time_s })
}

fn finish(
    name: String,
    row: u32,
    (mesh, places): (Mesh, Vec<Place>),
    printer: &Printer,
    material: &Material,
) -> Result<(Part, Vec<f64>), CouponError> {
    let mesh = solid::settle(&mesh)?.mesh;
    let estimate = print_estimate(&mesh, printer, material, None, 1.0)?;
    let outline = mesh.bounds().map_or([DVec2::ZERO; 2], |b| [b.min.truncate(), b.max.truncate()]);
    let part = Part { name, row, mesh, places, outline, time_s: estimate.time_s, mass_g: estimate.mass_g };
    Ok((part, estimate.layers_s))
}
