//! Mass and time of a piece, from its own layers.

use super::loops::loops;
use super::mass::{Filling, laid_filled, laid_solid};
use super::{PrintError, above_zero, layers};
use crate::catalogue::{Material, Printer, Process};
use crate::finding::Band;
use crate::slices::Slice;
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
    /// Length of all moves without laying, mm; 0 for resin.
    pub travel_mm: f64,
    /// What each layer of this piece takes by itself, s, from the bed up: laying and travel for filament, without the
    /// change to the next layer; the printer's layer time for resin.
    pub layers_s: Vec<f64>,
}

/// Printers lay 5 % more or less than asked. Common practice, no source.
const FLOW: f64 = 0.05;
/// Drawing the filament back, moving on and pressing it out again at the start of a line, s. Common practice, no source.
const START_S: f64 = 0.25;
/// A tour of n places spread over an area A is about this times sqrt(n A) long (Beardwood, Halton and Hammersley, Proc.
/// Cambridge Phil. Soc. 55, 1959; the constant after Johnson, McGeoch and Rothberg, 1996).
const TOUR: f64 = 0.7124;
/// Lifting, wiping and moving to the next layer, s. Common practice, no source.
const LAYER_CHANGE_S: f64 = 1.0;

/// Mass and time of a piece on a printer.
///
/// `shell_mm` is the thickness of the solid shell round an infill of `infill` (0 to 1); without it the piece is printed
/// solid. Resin always prints solid. The time is that of a plate with this piece alone, see [`plate_time`].
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
    let (layers_s, path_mm, travel_mm) = match printer.process {
        Process::Filament => {
            above_zero(printer, "the bead width", printer.bead_mm)?;
            above_zero(printer, "the speed", printer.speed_mm_s)?;
            above_zero(printer, "the speed of travel", printer.travel_mm_s)?;
            let heights: Vec<f64> = stack.iter().map(|s| s.x).collect();
            let moves: Vec<Moves> = stack
                .iter()
                .zip(&laid.layers_mm2)
                .zip(loops(mesh, &heights))
                .map(|((slice, laid_mm2), loops)| moves(slice, *laid_mm2, loops, filling, printer.bead_mm))
                .collect();
            let sum = |of: fn(&Moves) -> f64| moves.iter().map(of).sum();
            let layers_s = moves
                .iter()
                .map(|m| m.bead_mm / printer.speed_mm_s + m.travel_mm / printer.travel_mm_s + m.starts * START_S);
            (layers_s.collect(), sum(|m| m.bead_mm), sum(|m| m.travel_mm))
        }
        Process::Resin => {
            above_zero(printer, "the time a layer takes", printer.layer_time_s)?;
            (vec![printer.layer_time_s; stack.len()], 0.0, 0.0)
        }
    };
    let time_s = plate_time(printer, &[&layers_s]);
    let layers = layers_s.len() as u32;
    Ok(PrintEstimate { mass_g, time_s, volume_mm3, extruded_mm3, layers, path_mm, travel_mm, layers_s })
}

/// What the nozzle does in one layer of one piece.
struct Moves {
    bead_mm: f64,
    travel_mm: f64,
    starts: f64,
}

/// Beads fill what is laid. Lines run along each outline until the shell is full, or the whole of a solid layer; each
/// starts anew a bead beside the last, and the outlines are visited in a tour. Infill starts once for each outline.
fn moves(slice: &Slice, laid_mm2: f64, loops: u32, filling: Option<Filling>, bead_mm: f64) -> Moves {
    if laid_mm2 <= 0.0 || loops == 0 {
        return Moves { bead_mm: 0.0, travel_mm: 0.0, starts: 0.0 };
    }
    let loops = f64::from(loops);
    let across_mm = laid_mm2 / slice.outline_mm;
    let lines = (filling.map_or(across_mm, |f| f.shell_mm.min(across_mm)) / bead_mm).max(1.0);
    let infill = if filling.is_some_and(|f| across_mm > f.shell_mm) { loops } else { 0.0 };
    let starts = loops * lines + infill;
    let size = slice.high - slice.low;
    let travel_mm = TOUR * (loops * size.x * size.y).sqrt() + starts * bead_mm;
    Moves { bead_mm: laid_mm2 / bead_mm, travel_mm, starts }
}

/// The time of a plate, s: its start, then its layers at the printer's pace.
///
/// `pieces` holds [`PrintEstimate::layers_s`] of each piece on it. Filament is laid layer by layer, in each layer one
/// piece after the other with a move across the bed between them, then the change to the next layer; a layer takes at
/// least the printer's least layer time. Resin cures all pieces at once: the tallest decides.
pub fn plate_time(printer: &Printer, pieces: &[&[f64]]) -> Band {
    let count = pieces.iter().map(|layers| layers.len()).max().unwrap_or(0);
    let computed: f64 = match printer.process {
        Process::Resin => count as f64 * printer.layer_time_s,
        Process::Filament => {
            let between_s = START_S + 0.5 * printer.bed_mm[0] / printer.travel_mm_s.max(1.0);
            let layer = |k: usize| {
                let laid = pieces.iter().filter_map(|layers| layers.get(k)).filter(|s| **s > 0.0);
                let (sum, pieces) = laid.fold((0.0, 0.0), |(sum, n), s| (sum + s, n + 1.0));
                let moved = sum + (pieces - 1.0) * between_s + LAYER_CHANGE_S;
                if pieces > 0.0 { moved.max(printer.layer_time_s) } else { 0.0 }
            };
            (0..count).map(layer).sum()
        }
    };
    let [value, low, high] = printer.pace.map(|pace| computed * pace);
    Band::exact(printer.start_time_s.max(0.0)).plus(Band { value, low, high })
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
        // An outline of 80 mm in beads: 5 mm of breadth along it are 11.1 lines, each started anew; one tour of 20 mm
        // square; the change of layer.
        let starts = 400.0 / 80.0 / 0.45;
        let travel = 0.7124 * 20.0 + starts * 0.45;
        assert!((estimate.travel_mm - 100.0 * travel).abs() < 1e-6);
        let layer_s = 400.0 / 0.45 / 45.0 + travel / 120.0 + starts * 0.25 + 1.0;
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
    fn plates_add_filament_and_share_resin() {
        let printer = filament();
        // 100 layers of 20 s and 50 of 6 s: the first 50 share their layer change and one move across, the upper 50 are
        // those of the tall one alone.
        let (tall, low) = (vec![20.0; 100], vec![6.0; 50]);
        let across = 0.25 + 110.0 / 120.0;
        let time = plate_time(&printer, &[&tall, &low]);
        assert!((time.value - (300.0 + 50.0 * (27.0 + across) + 50.0 * 21.0)).abs() < 1e-9);
        // Alone, the low one waits for its layers to cool: 8 s each.
        assert!((plate_time(&printer, &[&low]).value - (300.0 + 50.0 * 8.0)).abs() < 1e-9);
        let resin = Printer { process: Process::Resin, layer_time_s: 8.0, pace: [1.0, 0.95, 1.1], ..filament() };
        let both = plate_time(&resin, &[&[8.0; 400], &[8.0; 90]]);
        assert_eq!(both, Band { value: 3500.0, low: 300.0 + 0.95 * 3200.0, high: 300.0 + 1.1 * 3200.0 });
        assert_eq!(plate_time(&resin, &[]), Band::exact(300.0));
    }

    #[test]
    fn more_islands_take_longer_to_lay_the_same() {
        // A bar of 40 x 10 and the same in four posts 30 mm apart.
        let bar = cuboid(DVec3::ZERO, DVec3::new(40.0, 10.0, 20.0));
        let mut posts = solid::Mesh::default();
        for k in 0..4 {
            let x = f64::from(k) * 40.0;
            posts.append(&cuboid(DVec3::new(x, 0.0, 0.0), DVec3::new(x + 10.0, 10.0, 20.0)));
        }
        let of = |mesh| print_estimate(mesh, &filament(), &abs(), None, 0.0).unwrap();
        let (one, four) = (of(&bar), of(&posts));
        assert!((one.path_mm - four.path_mm).abs() < 1e-6);
        // Four tours of 130 x 10 and 4 x 2.5 / 0.45 starts against one of 40 x 10 and 4 / 0.45.
        let travel = |loops: f64, area: f64, starts: f64| 100.0 * (0.7124 * (loops * area).sqrt() + starts * 0.45);
        assert!((one.travel_mm - travel(1.0, 400.0, 4.0 / 0.45)).abs() < 1e-6);
        assert!((four.travel_mm - travel(4.0, 1300.0, 10.0 / 0.45)).abs() < 1e-6);
        assert!(four.time_s.value > one.time_s.value);
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
