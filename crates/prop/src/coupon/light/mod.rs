//! Light coupons: a step wedge of a lit body's plastic, and a dark frame that shows the middle of each step only.
//!
//! The wedge stands while it prints, as walls do: its thickness is beads side by side, which scatter otherwise than layers on
//! top of each other. It is measured lying with its flat back on lit paper, under the frame. Seen from the front, u runs
//! along the wedge, v up its figures, n towards the eye.

mod frame;
#[cfg(test)]
mod tests;
mod wedge;

use super::CouponError;
use crate::catalogue::{Material, Printer, Process};
use crate::finding::Band;
use crate::outcome::Role;
use crate::printing::{plate_time, print_estimate};
use crate::project::Project;
use solid::{DVec2, Mesh};

pub use frame::{PLATE_MM, WINDOW_MM};
pub use wedge::{END_MM, HEIGHT_MM, STEP_MM};

/// Most and fewest steps of a wedge.
const STEPS: [usize; 2] = [4, 6];
/// How far the steps reach below the thinnest and above the thickest lit wall, times.
const REACH: [f64; 2] = [0.5, 2.5];
/// Thinnest step, mm, and what thicknesses are whole numbers of, for resin.
const RESIN_MM: [f64; 2] = [0.5, 0.1];

/// A wedge with its frame, for one printer and material.
#[derive(Clone, Debug, PartialEq)]
pub struct LightCoupon {
    /// Number, from 1: the first figure of its steps.
    pub number: u32,
    /// Printer, by its name in the project.
    pub printer: String,
    /// Material, by its name in the catalogue.
    pub material: String,
    /// Thinnest and thickest wall of the lit bodies in it, mm.
    pub wall_mm: [f64; 2],
    /// From the thinnest, as they follow each other from the left.
    pub steps: Vec<Step>,
    /// The wedge as it prints.
    pub wedge: LightPart,
    /// The frame as it prints: its face down.
    pub frame: LightPart,
    /// Time of the wedge on a plate of its own, s.
    pub time_s: Band,
}

/// One step of a wedge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// The figure in relief: the coupon's number, then the step's.
    pub figure: u32,
    /// How thick it is drawn, mm.
    pub thickness_mm: f64,
    /// Its middle from the wedge's left end, seen from the front, mm.
    pub middle_mm: f64,
}

/// A body to print.
#[derive(Clone, Debug, PartialEq)]
pub struct LightPart {
    /// Name, usable as a file's.
    pub name: String,
    /// As it prints: bed at z = 0, first corner at the origin. One closed body.
    pub mesh: Mesh,
    /// Seen from the front: along u, along v and through, mm.
    pub size_mm: [f64; 3],
    /// Printing time on its own, with the printer's start, s.
    pub time_s: Band,
    /// Mass, g.
    pub mass_g: Band,
}

/// The light coupons for every printer and material that the lit ones among the bodies `names` may be printed on and in, in
/// the order of the bodies; none where nothing is lit.
///
/// # Errors
/// [`CouponError`].
pub fn light_coupons(project: &Project, names: &[&str]) -> Result<Vec<LightCoupon>, CouponError> {
    let mut pairs: Vec<(usize, Material, [f64; 2])> = Vec::new();
    for name in names {
        let rules = project.rules_for(name);
        if rules.role != Role::Lit {
            continue;
        }
        let wall = rules.wall_mm;
        for printer in &rules.printers {
            match pairs.iter_mut().find(|(p, m, _)| p == printer && m.name == rules.material.name) {
                Some((_, _, [least, most])) => (*least, *most) = (least.min(wall), most.max(wall)),
                None => pairs.push((*printer, rules.material.clone(), [wall; 2])),
            }
        }
    }
    (1..)
        .zip(&pairs)
        .map(|(number, (printer, material, wall_mm))| coupon(number, &project.printers[*printer], material, *wall_mm))
        .collect()
}

fn coupon(number: u32, printer: &Printer, material: &Material, wall_mm: [f64; 2]) -> Result<LightCoupon, CouponError> {
    let room = printer.bed_mm[0] - 2.0 * printer.margin_mm;
    let count = ((room - frame::more_mm() - 2.0 * END_MM) / STEP_MM).floor();
    let [fewest, most] = STEPS;
    if count < fewest as f64 {
        let need_mm = wedge::long_mm(fewest) + frame::more_mm();
        let (printer, feature) = (printer.name.clone(), "light-wedge");
        return Err(CouponError::Bed { printer, feature, need_mm, room_mm: room });
    }
    let thicknesses = thicknesses(printer, wall_mm, most.min(count as usize));
    let steps: Vec<Step> = (1..)
        .zip(&thicknesses)
        .map(|(k, thickness_mm)| Step {
            figure: number * 10 + k,
            thickness_mm: *thickness_mm,
            middle_mm: END_MM + (f64::from(k) - 0.5) * STEP_MM,
        })
        .collect();
    let part = |name: String, mesh: Mesh, size_mm| -> Result<(LightPart, Vec<f64>), CouponError> {
        let mesh = solid::settle(&mesh)?.mesh;
        let estimate = print_estimate(&mesh, printer, material, None, 1.0)?;
        let part = LightPart { name, mesh, size_mm, time_s: estimate.time_s, mass_g: estimate.mass_g };
        Ok((part, estimate.layers_s))
    };
    let (wedge, layers) = part(format!("{number}-wedge"), wedge::standing(&steps)?, wedge::size_mm(&steps))?;
    let (frame, _) = part(format!("{number}-frame"), frame::face_down(&steps)?, frame::size_mm(&steps))?;
    let time_s = plate_time(printer, &[&layers]);
    let (printer, material) = (printer.name.clone(), material.name.clone());
    Ok(LightCoupon { number, printer, material, wall_mm, steps, wedge, frame, time_s })
}

/// Thicknesses in equal proportions from half the thinnest wall to two and a half times the thickest, each a whole number of
/// beads, none twice.
fn thicknesses(printer: &Printer, [thinnest, thickest]: [f64; 2], count: usize) -> Vec<f64> {
    let ([least, unit], places) = match printer.process {
        Process::Filament => ([printer.bead_mm; 2], 2),
        Process::Resin => (RESIN_MM, 1),
    };
    let (from, to) = ((REACH[0] * thinnest).max(least), (REACH[1] * thickest).max(2.0 * least));
    let ratio = libm::pow(to / from, 1.0 / (count - 1) as f64);
    let mut whole: Vec<f64> = Vec::new();
    let mut wanted = from;
    for _ in 0..count {
        let next = (wanted / unit).round().max((least / unit).round());
        // Thin walls have no room for six steps between: the thicker ones then follow bead by bead.
        whole.push(whole.last().map_or(next, |last| next.max(last + 1.0)));
        wanted *= ratio;
    }
    let round = libm::pow(10.0, f64::from(places));
    whole.into_iter().map(|n| (n * unit * round).round() / round).collect()
}

/// The middle of each step's window, seen from the front on the wedge, mm.
pub fn window_middle(step: &Step) -> DVec2 {
    DVec2::new(step.middle_mm, frame::WINDOW_V_MM)
}
