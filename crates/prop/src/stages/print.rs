//! Fourth stage: how each piece stands, on which printer, what it weighs and how long it takes.

use super::{Monitor, Split, SplitPiece, suits};
use crate::finding::Band;
use crate::outcome::{Piece, Pose, Role};
use crate::printing::{BedReport, Job, bed_report, print_estimate, share, to_bed};
use crate::project::Project;
use crate::refusal::Refusal;
use rayon::prelude::*;
use solid::settle;

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
    /// Time until the last printer is done, s.
    pub elapsed_s: Band,
}

/// Turns the pieces as they print, shares them out, and rounds them to the coordinates that are written.
///
/// # Errors
/// A [`Refusal`] when a piece has no volume or no printer suits its material.
pub fn print(project: &Project, split: &Split, monitor: &Monitor) -> Result<Printed, Refusal> {
    let plans: Vec<Plan> = split.pieces.par_iter().map(|p| plan(project, p)).collect::<Result<_, _>>()?;
    let jobs: Vec<Job> =
        plans.iter().map(|p| Job { on: p.on.iter().map(|o| (o.printer, o.time_s)).collect() }).collect();
    let sharing =
        share(&jobs).map_err(|e| Refusal::of(&["printer"], e.to_string(), "name a printer for every body"))?;
    monitor.step("rounding the pieces", 0.76)?;
    let laid: Vec<(Piece, BedReport, bool, usize)> = split
        .pieces
        .par_iter()
        .zip(plans)
        .zip(&sharing.printer)
        .map(|((piece, plan), printer)| lay(project, piece, &plan, *printer, monitor))
        .collect::<Result<_, _>>()?;
    let mut printed = Printed {
        pieces: Vec::new(),
        beds: Vec::new(),
        fits: Vec::new(),
        flat_faces: Vec::new(),
        elapsed_s: sharing.elapsed_s,
    };
    for (piece, bed, fits, flat) in laid {
        printed.pieces.push(piece);
        printed.beds.push(bed);
        printed.fits.push(fits);
        printed.flat_faces.push(flat);
    }
    Ok(printed)
}

struct Plan {
    pose: Pose,
    on: Vec<On>,
}

/// A pose, the printers that take the piece so, and how good it is: taken at all, overhang, foot (less is better).
struct Choice {
    rank: (bool, f64, f64),
    pose: Pose,
    takes: Vec<usize>,
}

struct On {
    printer: usize,
    time_s: Band,
    mass_g: Band,
}

fn broken(piece: &SplitPiece, error: impl std::fmt::Display) -> Refusal {
    Refusal::of(
        &[],
        format!("piece {:02} cannot be printed: {error}", piece.number),
        "move the cuts next to it, or mend the shape there",
    )
}

/// Chooses the pose with the least overhang (then the largest foot) and estimates the piece on every printer that takes it.
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
    let mut best: Option<Choice> = None;
    for pose in poses {
        let takes: Vec<usize> = suited
            .iter()
            .copied()
            .filter(|p| to_bed(&piece.made.mesh, pose, &piece.frame, &project.printers[*p]).spare.is_some())
            .collect();
        let first = takes.first().or(suited.first()).copied().unwrap_or(0);
        let bed = to_bed(&piece.made.mesh, pose, &piece.frame, &project.printers[first]);
        let report = bed_report(&bed.mesh, &project.printers[first]).map_err(|e| broken(piece, e))?;
        let rank = (takes.is_empty(), report.overhang.area_mm2, -report.first_layer_mm2);
        let better = best.as_ref().is_none_or(|Choice { rank: r, .. }| {
            (rank.0, rank.1, rank.2).partial_cmp(&(r.0, r.1, r.2)).is_some_and(std::cmp::Ordering::is_lt)
        });
        if better {
            best = Some(Choice { rank, pose, takes });
        }
    }
    let (pose, takes) = best.map_or((Pose::Upright, Vec::new()), |b| (b.pose, b.takes));
    let on = if takes.is_empty() { suited } else { takes };
    let on = on
        .into_iter()
        .map(|p| {
            let printer = &project.printers[p];
            let bed = to_bed(&piece.made.mesh, pose, &piece.frame, printer);
            let shell = (rules.role != Role::Lit).then_some(rules.wall_mm);
            let e = print_estimate(&bed.mesh, printer, &rules.material, shell, rules.infill)
                .map_err(|e| broken(piece, e))?;
            Ok(On { printer: p, time_s: e.time_s, mass_g: e.mass_g })
        })
        .collect::<Result<_, Refusal>>()?;
    Ok(Plan { pose, on })
}

fn lay(
    project: &Project,
    piece: &SplitPiece,
    plan: &Plan,
    printer: usize,
    monitor: &Monitor,
) -> Result<(Piece, BedReport, bool, usize), Refusal> {
    if monitor.cancel.is_cancelled() {
        return Err(Refusal::Stopped);
    }
    let machine = &project.printers[printer];
    let bed = to_bed(&piece.made.mesh, plan.pose, &piece.frame, machine);
    let settled = settle(&bed.mesh).map_err(|e| broken(piece, e))?;
    let report = bed_report(&settled.mesh, machine).map_err(|e| broken(piece, e))?;
    let on = plan.on.iter().find(|o| o.printer == printer).or(plan.on.first());
    let (time_s, mass_g) = on.map_or((Band::exact(0.0), Band::exact(0.0)), |o| (o.time_s, o.mass_g));
    let rules = &piece.rules;
    let volume_mm3 = settled.mesh.volume_mm3();
    let stem: String =
        rules.name.chars().map(|c| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { '-' }).collect();
    let piece = Piece {
        number: piece.number,
        name: format!(
            "{:02}-{}{}",
            piece.number,
            stem.trim_matches('-'),
            if piece.lid.is_some() { "-lid" } else { "" }
        ),
        body: rules.name.clone(),
        role: rules.role,
        to_prop: bed.to_prop,
        station_mm: piece.station_mm,
        printer: machine.name.clone(),
        bed_mm: machine.bed_mm,
        pose: plan.pose,
        wall_mm: (rules.role == Role::Lit).then_some(rules.wall_mm),
        material: rules.material.name.clone(),
        mass_g,
        print_time_s: time_s,
        volume_mm3,
        taken_mm3: piece.made.taken_mm3,
        added_mm3: piece.made.added_mm3,
        show_inside: rules.role == Role::Lit,
        mesh: settled.mesh,
    };
    Ok((piece, report, bed.spare.is_some(), settled.flat_triangles))
}
