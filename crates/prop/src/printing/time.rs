//! Mass and time of a piece, from its own layers.

use super::mass::{Filling, laid_filled, laid_solid};
use super::{PrintError, above_zero, layers};
use crate::catalogue::{Material, Printer, Process};
use crate::finding::Band;
use solid::Mesh;

/// What printing a piece takes.
#[derive(Clone, Debug, PartialEq)]
pub struct PrintEstimate {
    /// Mass, g: what is laid times the density. The band spans flow and the density's own range.
    pub mass_g: Band,
    /// Time on the printer, s, with its start.
    pub time_s: Band,
    /// Volume of the solid, mm3.
    pub volume_mm3: f64,
    /// Volume of material laid, mm3: less than the solid where there is infill. Without supports and brims.
    pub extruded_mm3: f64,
    /// Number of layers.
    pub layers: u32,
    /// Length of all beads, mm; 0 for resin.
    pub path_mm: f64,
}

/// Printers lay 5 % more or less than asked. Common practice, no source.
const FLOW: f64 = 0.05;
/// Moves without laying, as a share of the time spent laying. Common practice, no source.
const TRAVEL_SHARE: f64 = 0.1;
/// Lifting, wiping and moving to the next layer, s. Common practice, no source.
const LAYER_CHANGE_S: f64 = 1.0;

/// Mass and time of a piece on a printer.
///
/// `shell_mm` is the thickness of the solid shell round an infill of `infill` (0 to 1); without it the piece is printed
/// solid. Resin always prints solid. A layer takes what its beads take at the printer's mean speed, travel and a
/// layer change, but at least the printer's least layer time.
///
/// # Errors
/// [`PrintError`] for a piece without volume and for a printer whose numbers allow no printing.
pub fn print_estimate(
    mesh: &Mesh,
    printer: &Printer,
    material: &Material,
    shell_mm: Option<f64>,
    infill: f64,
) -> Result<PrintEstimate, PrintError> {
    let stack = layers(mesh, printer)?;
    let volume_mm3 = mesh.volume_mm3();
    let filling = shell_mm
        .filter(|_| printer.process == Process::Filament)
        .map(|shell_mm| Filling { shell_mm: shell_mm.max(0.0), infill: infill.clamp(0.0, 1.0) });
    let (laid, least_mm3) = match filling {
        None => (laid_solid(&stack), volume_mm3),
        // How many outlines have no hole is not counted: the low end takes one in each layer.
        Some(filling) => {
            let least = laid_filled(mesh, &stack, printer.layer_mm, filling, 1.0);
            (laid_filled(mesh, &stack, printer.layer_mm, filling, 0.0), volume_mm3 - least.empty_mm3)
        }
    };
    let extruded_mm3 = volume_mm3 - laid.empty_mm3;
    let [usual, lightest, heaviest] = material.density_g_cm3.map(|d| d / 1000.0);
    let mass_g = Band {
        value: extruded_mm3 * usual,
        low: least_mm3 * lightest * (1.0 - FLOW),
        high: extruded_mm3 * heaviest * (1.0 + FLOW),
    };
    let layers = laid.layers_mm2.len() as u32;
    let start = Band::exact(printer.start_time_s.max(0.0));
    let (time_s, path_mm) = match printer.process {
        Process::Filament => {
            above_zero(printer, "the bead width", printer.bead_mm)?;
            above_zero(printer, "the speed", printer.speed_mm_s)?;
            let beads: Vec<f64> = laid.layers_mm2.iter().map(|a| a / printer.bead_mm).collect();
            (bead_time_s(&beads, printer), beads.iter().sum())
        }
        Process::Resin => {
            above_zero(printer, "the time a layer takes", printer.layer_time_s)?;
            let [value, low, high] = printer.pace.map(|pace| f64::from(layers) * printer.layer_time_s * pace);
            (Band { value, low, high }, 0.0)
        }
    };
    Ok(PrintEstimate { mass_g, time_s: start.plus(time_s), volume_mm3, extruded_mm3, layers, path_mm })
}

/// Time for the layers, from the length of beads in each. The printer's pace holds for all of it.
fn bead_time_s(beads_mm: &[f64], printer: &Printer) -> Band {
    let layer =
        |bead: &f64| (bead * (1.0 + TRAVEL_SHARE) / printer.speed_mm_s + LAYER_CHANGE_S).max(printer.layer_time_s);
    let computed: f64 = beads_mm.iter().filter(|b| **b > 0.0).map(layer).sum();
    let [value, low, high] = printer.pace.map(|pace| computed * pace);
    Band { value, low, high }
}

#[cfg(test)]
mod tests {
    use super::super::trial::{abs, filament, tube};
    use super::*;
    use solid::{DVec2, DVec3, cuboid};

    #[test]
    fn a_solid_cube_weighs_its_volume() {
        let cube = cuboid(DVec3::ZERO, DVec3::splat(20.0));
        let estimate = print_estimate(&cube, &filament(), &abs(), None, 0.2).unwrap();
        // 8 cm3 of 1.04 g/cm3.
        assert!((estimate.mass_g.value - 8.32).abs() < 1e-9);
        assert!((estimate.mass_g.low - 8.0 * 1.02 * 0.95).abs() < 1e-9);
        assert!((estimate.mass_g.high - 8.0 * 1.06 * 1.05).abs() < 1e-9);
        assert_eq!(estimate.layers, 100);
        // 400 mm2 of beads 0.45 mm wide in each of 100 layers.
        assert!((estimate.path_mm - 100.0 * 400.0 / 0.45).abs() < 1e-6);
        let layer_s = 400.0 / 0.45 / 45.0 * 1.1 + 1.0;
        assert!((estimate.time_s.value - (300.0 + 100.0 * layer_s)).abs() < 1e-6);
    }

    /// Two equal arcs that meet in two sharp edges, as a blade's section: 60 wide and 20 thick with radius 50 and
    /// centres 40 off. Counter-clockwise from the right edge, `n` points an arc.
    fn lens(radius: f64, n: u32) -> Vec<DVec2> {
        let half = libm::acos(40.0 / radius);
        let arc = |side: f64| {
            (0..n).map(move |i| {
                let (s, c) = libm::sincos(half * (1.0 - 2.0 * f64::from(i) / f64::from(n)));
                DVec2::new(side * s * radius, side * (c * radius - 40.0))
            })
        };
        arc(1.0).chain(arc(-1.0)).collect()
    }

    #[test]
    fn a_blade_shell_prints_at_an_honest_rate() {
        // Thin shells come to 10 to 25 cm3 an hour. Common practice, no source.
        let shell = tube(&lens(50.0, 60), &lens(48.0, 60), 150.0);
        let estimate = print_estimate(&shell, &filament(), &abs(), None, 0.0).unwrap();
        // Area between the lenses: r^2 (2 f - sin 2 f) each, cos f = 40 / r.
        let segment = |r: f64| {
            let f = libm::acos(40.0 / r);
            r * r * (2.0 * f - libm::sin(2.0 * f))
        };
        assert!((estimate.volume_mm3 / ((segment(50.0) - segment(48.0)) * 150.0) - 1.0).abs() < 0.005);
        let rate_cm3_h = |s: f64| estimate.extruded_mm3 / 1000.0 / (s / 3600.0);
        let (slow, usual) = (rate_cm3_h(estimate.time_s.high), rate_cm3_h(estimate.time_s.value));
        let fast = rate_cm3_h(estimate.time_s.low);
        assert!(10.0 < usual && usual < 25.0 && fast < 25.0 && slow < usual, "{slow} {usual} {fast}");
    }

    #[test]
    fn small_layers_take_the_least_time() {
        let pin = cuboid(DVec3::ZERO, DVec3::new(4.0, 4.0, 40.0));
        let estimate = print_estimate(&pin, &filament(), &abs(), None, 0.0).unwrap();
        assert_eq!(estimate.time_s, Band { value: 1900.0, low: 300.0 + 0.8 * 1600.0, high: 300.0 + 1.25 * 1600.0 });
        // A maker who measured that the layers take a tenth longer.
        let known = Printer { pace: [1.1, 1.08, 1.12], ..filament() };
        let estimate = print_estimate(&pin, &known, &abs(), None, 0.0).unwrap();
        assert!((estimate.time_s.value - (300.0 + 1760.0)).abs() < 1e-9);
    }

    #[test]
    fn resin_takes_layers_and_no_infill() {
        let printer =
            Printer { process: Process::Resin, layer_mm: 0.05, layer_time_s: 9.0, start_time_s: 60.0, ..filament() };
        let cube = cuboid(DVec3::ZERO, DVec3::splat(20.0));
        let estimate = print_estimate(&cube, &printer, &abs(), Some(1.0), 0.2).unwrap();
        assert_eq!(estimate.layers, 400);
        assert!((estimate.time_s.value - (60.0 + 400.0 * 9.0)).abs() < 1e-9);
        assert!((estimate.extruded_mm3 - 8000.0).abs() < 1e-9);
    }

    #[test]
    fn infill_lightens_and_hurries() {
        let block = cuboid(DVec3::ZERO, DVec3::splat(40.0));
        let solid = print_estimate(&block, &filament(), &abs(), None, 0.2).unwrap();
        let filled = print_estimate(&block, &filament(), &abs(), Some(1.2), 0.2).unwrap();
        // 80 % of a core 37.6 mm on each side stays empty.
        let exact = 64_000.0 - 0.8 * 37.6f64.powi(3);
        assert!((filled.extruded_mm3 / exact - 1.0).abs() < 0.02, "{} {exact}", filled.extruded_mm3);
        assert!(filled.mass_g.low < exact * 1.02e-3 && exact * 1.06e-3 < filled.mass_g.high);
        assert!(filled.time_s.high < solid.time_s.low);
        let thick = print_estimate(&block, &filament(), &abs(), Some(50.0), 0.2).unwrap();
        assert!((thick.extruded_mm3 - solid.extruded_mm3).abs() < 1e-6);
    }

    #[test]
    fn a_printer_that_cannot_print_is_refused() {
        let block = cuboid(DVec3::ZERO, DVec3::splat(10.0));
        let still = Printer { speed_mm_s: 0.0, ..filament() };
        let error = print_estimate(&block, &still, &abs(), None, 0.0).unwrap_err();
        assert_eq!(error.to_string(), "printer big: the speed is 0, but must be above zero");
        let fine = Printer { layer_mm: 1e-5, ..filament() };
        let error = print_estimate(&block, &fine, &abs(), None, 0.0).unwrap_err();
        assert!(matches!(error, PrintError::Layers { height_mm: 10.0, .. }));
    }
}
