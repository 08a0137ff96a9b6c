//! Fourth stage: how each piece stands, on which printer, what it weighs and how long it takes.

use super::plates::{plates, reserved, stocks};
use super::{Monitor, Split, SplitPiece, suits};
use crate::catalogue::Printer;
use crate::finding::Band;
use crate::memory::{Key, KeyOf, Known, Memory};
use crate::outcome::{Piece, Plate, Pose, Role, Stock};
use crate::printing::{
    BedReport, Faces, Footprint, Load, PoseSpec, PoseTrial, PrintEstimate, Task, allot, bed_report, best,
    print_estimate, shadow, to_bed, weigh,
};
use crate::project::Project;
use crate::refusal::Refusal;
use rayon::prelude::*;
use solid::{Mesh, settle};

/// Pieces as they print.
pub struct Printed {
    /// By number.
    pub pieces: Vec<Piece>,
    /// How each lies on its bed.
    pub beds: Vec<BedReport>,
    /// Whether each fits its printer.
    pub fits: Vec<bool>,
    /// Zero-area faces that remain in each after rounding.
    pub flat_faces: Vec<usize>,
    /// What names each with all that it was made from.
    pub keys: Vec<Key>,
    /// The poses that were weighed for each, and which was chosen.
    pub poses: Vec<(Vec<PoseTrial>, usize)>,
    /// What is printed together.
    pub plates: Vec<Plate>,
    /// What the plates take of each material.
    pub stocks: Vec<Stock>,
    /// For each plate of the project file the numbers of the pieces that found no place on it.
    pub left_out: Vec<Vec<u32>>,
    /// Time until the last printer is done, s.
    pub elapsed_s: Band,
}

/// Turns the pieces as they print, lays them on plates, and rounds them to the coordinates that are written.
///
/// # Errors
/// A [`Refusal`] when a piece has no volume, no printer suits its material, or a plate of the project file asks for what
/// cannot be.
pub fn print(project: &Project, split: &Split, memory: &Memory, monitor: &Monitor) -> Result<Printed, Refusal> {
    let count = split.pieces.len();
    let plans: Vec<Known<Plan>> = split
        .pieces
        .par_iter()
        .map(|p| {
            let key = KeyOf::stage("pose").and(&p.key()).and(&project.printers).and(&project.spine.is_some()).key();
            memory.recall("pose", count, key, || plan(project, p))
        })
        .collect::<Result<_, _>>()?;
    monitor.step("filling plates", 0.74)?;
    let tasks: Vec<Task> = plans
        .iter()
        .zip(&split.pieces)
        .map(|(plan, piece)| Task {
            material: piece.rules.material.name.clone(),
            on: plan.on.iter().map(|on| on.load.clone()).collect(),
        })
        .collect();
    let reserved = reserved(project, split, &tasks)?;
    let allotment = allot(&project.printers, &tasks, &reserved)
        .map_err(|e| Refusal::of(&["printer"], e.to_string(), "name a printer for every body"))?;
    monitor.step("rounding the pieces", 0.76)?;
    let laid: Vec<Known<LaidDown>> = split
        .pieces
        .par_iter()
        .zip(&plans)
        .enumerate()
        .map(|(i, (piece, plan))| {
            let printer = allotment.printer_of(i).unwrap_or(plan.on[0].load.printer);
            let key = KeyOf::stage("laid down").and(&plan.key()).and(&printer).key();
            memory.recall("laid down", count, key, || lay(project, piece, plan, printer, monitor))
        })
        .collect::<Result<_, _>>()?;
    let number = |task: &usize| split.pieces[*task].number;
    let mut printed = Printed {
        pieces: Vec::new(),
        beds: Vec::new(),
        fits: Vec::new(),
        flat_faces: Vec::new(),
        keys: Vec::new(),
        poses: plans.iter().map(|p| (p.trials.clone(), p.chosen)).collect(),
        plates: Vec::new(),
        stocks: Vec::new(),
        left_out: allotment.left_out.iter().map(|left| left.iter().map(number).collect()).collect(),
        elapsed_s: allotment.elapsed_s,
    };
    for laid in laid {
        printed.pieces.push(laid.piece.clone());
        printed.beds.push(laid.bed.clone());
        printed.fits.push(laid.fits);
        printed.flat_faces.push(laid.flat_faces);
        printed.keys.push(laid.key());
    }
    printed.plates = plates(project, split, &tasks, &allotment, &printed.pieces);
    printed.stocks = stocks(split, &printed.plates);
    Ok(printed)
}

struct Plan {
    trials: Vec<PoseTrial>,
    /// Which of them.
    chosen: usize,
    pose: Pose,
    on: Vec<On>,
}

struct On {
    load: Load,
    time_s: Band,
    mass_g: Band,
}

/// A piece laid on its bed.
struct LaidDown {
    piece: Piece,
    bed: BedReport,
    fits: bool,
    flat_faces: usize,
}

fn broken(piece: &SplitPiece, error: impl std::fmt::Display) -> Refusal {
    Refusal::of(
        &[],
        format!("piece {:02} cannot be printed: {error}", piece.number),
        "move the cuts next to it, or mend the shape there",
    )
}

/// Chooses the pose and estimates the piece on every printer that takes it so.
fn plan(project: &Project, piece: &SplitPiece) -> Result<Plan, Refusal> {
    let rules = &piece.rules;
    let suited: Vec<usize> =
        rules.printers.iter().copied().filter(|p| suits(&project.printers[*p], rules.material.process)).collect();
    if suited.is_empty() {
        return Err(Refusal::of(
            &["body", &rules.name, "material"],
            format!("none of the printers named for {} prints {}", rules.name, rules.material.title),
            "name a printer of the same kind as the material (filament or resin)",
        ));
    }
    // What stands out at a cut prints on top, not below.
    let mut poses = Vec::new();
    if !piece.stands_out[0] {
        poses.push(Pose::Upright);
    }
    if !piece.stands_out[1] {
        poses.push(Pose::Inverted);
    }
    if poses.is_empty() && !rules.may_lie {
        poses.push(Pose::Upright);
    }
    if rules.may_lie {
        poses.push(Pose::Lying);
    }
    let faces = Faces::new(rules.role, [&piece.planes[0], &piece.planes[1]].map(Option::as_ref), &piece.made.void);
    let mut trials: Vec<PoseTrial> = Vec::new();
    let mut taken: Vec<Vec<usize>> = Vec::new();
    for pose in poses {
        let takes: Vec<usize> = suited
            .iter()
            .copied()
            .filter(|p| to_bed(&piece.made.mesh, pose, &piece.frame, &project.printers[*p]).spare.is_some())
            .collect();
        let printer = &project.printers[takes.first().or(suited.first()).copied().unwrap_or(0)];
        let bed = to_bed(&piece.made.mesh, pose, &piece.frame, printer);
        let report = bed_report(&bed.mesh, printer).map_err(|e| broken(piece, e))?;
        // Upside down, the same layers come in the other order.
        let same = (pose == Pose::Inverted).then(|| trials.first()).flatten();
        let time_s = match same {
            Some(upright) => upright.time_s,
            None => estimate(piece, printer, &bed.mesh)?.time_s.value,
        };
        let spec = PoseSpec { pose, taken: !takes.is_empty(), time_s, spine: project.spine.is_some() };
        trials.push(weigh(&spec, &faces, &bed.mesh, &bed.to_prop, &piece.frame, &report));
        taken.push(takes);
    }
    let chosen = best(&trials).unwrap_or(0);
    let pose = trials[chosen].pose;
    let takes = taken.swap_remove(chosen);
    let on = if takes.is_empty() { suited } else { takes };
    let on = on
        .into_iter()
        .map(|p| {
            let printer = &project.printers[p];
            let bed = to_bed(&piece.made.mesh, pose, &piece.frame, printer);
            let e = estimate(piece, printer, &bed.mesh)?;
            let report = bed_report(&bed.mesh, printer).map_err(|e| broken(piece, e))?;
            let brim_mm = if report.needs_brim() { printer.brim_mm } else { 0.0 };
            let footprint = Footprint { outline: shadow(&bed.mesh), brim_mm };
            let load = Load { printer: p, layers_s: e.layers_s, footprint };
            Ok(On { load, time_s: e.time_s, mass_g: e.mass_g })
        })
        .collect::<Result<_, Refusal>>()?;
    Ok(Plan { trials, chosen, pose, on })
}

fn estimate(piece: &SplitPiece, printer: &Printer, posed: &Mesh) -> Result<PrintEstimate, Refusal> {
    let rules = &piece.rules;
    let shell = (rules.role != Role::Lit).then_some(rules.wall_mm);
    print_estimate(posed, printer, &rules.material, shell, rules.infill).map_err(|e| broken(piece, e))
}

fn lay(
    project: &Project,
    piece: &SplitPiece,
    plan: &Plan,
    printer: usize,
    monitor: &Monitor,
) -> Result<LaidDown, Refusal> {
    if monitor.cancel.is_cancelled() {
        return Err(Refusal::Stopped);
    }
    let machine = &project.printers[printer];
    let bed = to_bed(&piece.made.mesh, plan.pose, &piece.frame, machine);
    let settled = settle(&bed.mesh).map_err(|e| broken(piece, e))?;
    let report = bed_report(&settled.mesh, machine).map_err(|e| broken(piece, e))?;
    let on = plan.on.iter().find(|o| o.load.printer == printer).or(plan.on.first());
    let (time_s, mass_g) = on.map_or((Band::exact(0.0), Band::exact(0.0)), |o| (o.time_s, o.mass_g));
    let rules = &piece.rules;
    let volume_mm3 = settled.mesh.volume_mm3();
    let piece = Piece {
        number: piece.number,
        name: piece.name(),
        body: rules.name.clone(),
        role: rules.role,
        to_prop: bed.to_prop,
        station_mm: piece.station_mm,
        printer: machine.name.clone(),
        bed_mm: machine.bed_mm,
        pose: plan.pose,
        wall_mm: piece.wall_mm(),
        material: rules.material.name.clone(),
        mass_g,
        print_time_s: time_s,
        volume_mm3,
        taken_mm3: piece.made.taken_mm3,
        added_mm3: piece.made.added_mm3,
        show_inside: rules.role == Role::Lit,
        mesh: settled.mesh,
    };
    Ok(LaidDown { piece, bed: report, fits: bed.spare.is_some(), flat_faces: settled.flat_triangles })
}
