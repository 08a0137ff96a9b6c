//! Filler at seams and over layers, and how much longer a rough print is sanded.

use super::Outside;
use crate::catalogue::{Filler, Material, Process};
use crate::outcome::{Body, Joint, Piece};
use crate::project::Project;
use solid::section::{Basis, area_mm2, section};

/// A seam that is filled.
#[derive(Clone, Debug, PartialEq)]
pub struct Seam {
    /// Number of the joint.
    pub joint: u32,
    /// Its station, mm.
    pub station_mm: f64,
    /// Length of the line that is seen, mm.
    pub round_mm: f64,
    /// Catalogue name of the filler.
    pub filler: String,
    /// What fills it, ml.
    pub filled_ml: f64,
    /// What is stirred for that, ml, with what is sanded off and left.
    pub wet_ml: f64,
    /// When it can be sanded, s.
    pub sandable_s: f64,
    /// What to mind.
    pub caution: String,
    /// What melts the plastic, where its own paste is used.
    pub solvent: Option<String>,
}

/// Layers that are filled over the outside of a piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Skim {
    /// Number of the piece.
    pub piece: u32,
    /// Catalogue name of the filler.
    pub filler: String,
    /// What fills the grooves between its layers, ml.
    pub filled_ml: f64,
    /// What is spread for that, ml.
    pub wet_ml: f64,
}

/// The other side of a cut is looked at so far from it, mm: collars and pockets change the section, the maker's outside does not.
const BESIDE_MM: f64 = 0.3;
/// Times of sanding hold for layers so high, mm (common practice, no source).
const USUAL_LAYER_MM: f64 = 0.2;
/// Sanding of a print of resin against that of layers of 0.2 mm: marks of supports only (common practice, no source).
const RESIN: f64 = 0.25;
/// Share of a layer's height squared that stays open between two beads with round flanks: (1/2 - pi/8) of it.
const GROOVE: f64 = 0.5 - std::f64::consts::PI / 8.0;

/// How long a piece is sanded against one of usual layers: as its layers are high, from a half to twice.
pub(crate) fn roughness(project: &Project, piece: &Piece) -> f64 {
    match project.printers.iter().find(|p| p.name == piece.printer) {
        Some(p) if p.process == Process::Resin => RESIN,
        Some(p) => (p.layer_mm / USUAL_LAYER_MM).clamp(0.5, 2.0),
        None => 1.0,
    }
}

/// What the grooves between layers hold on so much outside, ml: a layer's worth of (1/2 - pi/8) h on every mm2.
fn grooves_ml(area_mm2: f64, layer_mm: f64) -> f64 {
    GROOVE * layer_mm * area_mm2 * 1e-3
}

/// What is stirred or spread so that so much stays.
fn wet_ml(filler: &Filler, filled_ml: f64) -> f64 {
    filled_ml * (1.0 + filler.waste) / filler.solids
}

/// The seams of all glued joints of bodies with coats, by number.
pub(super) fn seams(project: &Project, bodies: &[Body], pieces: &[Piece], joints: &[Joint]) -> Vec<Seam> {
    let rules = &project.finish;
    let painted = |piece: &Piece| !project.rules_for(&piece.body).coats.is_empty();
    let mut all = Vec::new();
    for joint in joints.iter().filter(|j| !j.kind.comes_apart()) {
        let of = |n: u32| pieces.iter().find(|p| p.number == n);
        let (Some(butt), Some(tip)) = (of(joint.pieces[0]), of(joint.pieces[1])) else { continue };
        if !(painted(butt) || painted(tip)) {
            continue;
        }
        let sides = [(butt, -BESIDE_MM), (tip, BESIDE_MM)];
        let around = sides.map(|(piece, by)| round_mm(bodies, piece, joint, by));
        let round_mm = around[0].max(around[1]);
        let materials: [Material; 2] = [butt, tip].map(|p| project.rules_for(&p.body).material);
        let filler = rules.gap_filler([&materials[0], &materials[1]]);
        let filled_ml = round_mm * rules.seam_mm * rules.seam_depth_mm * 1e-3;
        all.push(Seam {
            joint: joint.number,
            station_mm: joint.frame.station_mm,
            round_mm,
            filler: filler.name.clone(),
            filled_ml,
            wet_ml: wet_ml(filler, filled_ml),
            sandable_s: filler.sandable_s,
            caution: filler.caution.clone(),
            solvent: materials[0].solvent.clone().filter(|_| filler.own_plastic),
        });
    }
    all
}

/// Length of a body's outline beside a joint, mm; 0 where it has no section.
fn round_mm(bodies: &[Body], piece: &Piece, joint: &Joint, by_mm: f64) -> f64 {
    let Some(body) = bodies.iter().find(|b| b.name == piece.body) else { return 0.0 };
    let frame = &joint.frame;
    let origin = frame.point + frame.along * by_mm;
    let basis = Basis { origin, x: frame.across, y: frame.through };
    let loops = section(&body.mesh, &basis).unwrap_or_default();
    let outer = loops.iter().filter(|l| area_mm2(std::slice::from_ref(*l)) > 0.0);
    outer.map(|l| (0..l.len()).map(|k| l[k].distance(l[(k + 1) % l.len()])).sum::<f64>()).sum()
}

/// What is spread over the layers of every piece with coats that filament made.
pub(super) fn skims(project: &Project, pieces: &[Piece], outsides: &[Outside]) -> Vec<Skim> {
    let filler = &project.finish.filler;
    let mut all = Vec::new();
    for (piece, outside) in pieces.iter().zip(outsides).filter(|_| project.finish.skim) {
        let printer = project.printers.iter().find(|p| p.name == piece.printer);
        let Some(printer) = printer.filter(|p| p.process == Process::Filament) else { continue };
        if project.rules_for(&piece.body).coats.is_empty() {
            continue;
        }
        let filled_ml = grooves_ml(outside.body_mm2, printer.layer_mm);
        let (name, wet_ml) = (filler.name.clone(), wet_ml(filler, filled_ml));
        all.push(Skim { piece: piece.number, filler: name, filled_ml, wet_ml });
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    /// Between two half circles of radius h/2 that touch stays h * h/2 - pi h^2 / 8; with h 0.2 mm on a square decimetre
    /// that is 500 grooves of 100 mm, each 0.0043 mm2.
    #[test]
    fn grooves_between_beads_are_counted_by_hand() {
        let groove: f64 = 0.2 * 0.1 - std::f64::consts::PI * 0.2 * 0.2 / 8.0;
        assert!((grooves_ml(10_000.0, 0.2) - 500.0 * 100.0 * groove * 1e-3).abs() < 1e-12);
        let putty = Catalogue::built_in().fillers.remove(0);
        // Three times what stays, at 60 % solids.
        assert!((wet_ml(&putty, 1.0) - 5.0).abs() < 1e-12);
    }
}
