//! Sections of the printed pieces, as they are laid.
//!
//! A piece with infill counts as a lighter, softer solid: density and stiffness by the share of it that is laid. Its skin
//! lies outside, so it is stiffer than that.

use super::shear::Nominal;
use super::{StrengthError, StrengthWork};
use crate::memory::{KeyOf, Known};
use crate::outcome::{Piece, Pose, Role};
use crate::stages::SplitPiece;
use beam::section::{Material, Region};
use beam::{DVec2, Section, outlines, section};
use rayon::prelude::*;
use solid::Mesh;
use solid::section::{Basis, OutlineError, inset};
use std::sync::Arc;

/// Stations along the prop, about.
const STATIONS: f64 = 200.0;
/// Each piece has so many at least.
const LEAST: usize = 4;
/// How near an outline's thinned corners keep, mm.
const TOLERANCE_MM: f64 = 0.02;
/// How near the bounds of torsion are brought.
pub(super) const ACCURACY: f64 = 0.02;
/// So far off where a section would lie in a face of the mesh, mm.
const ASIDE_MM: f64 = 0.0137;

/// A stretch of one piece, with the section in its middle.
#[derive(Clone)]
pub(super) struct Wall {
    /// Index of the piece.
    pub(super) piece: usize,
    /// Stations, mm.
    pub(super) span_mm: [f64; 2],
    /// Plane of the section.
    pub(super) basis: Basis,
    /// What is printed there.
    pub(super) regions: Arc<Vec<Region>>,
    /// Its section.
    pub(super) section: Arc<Section>,
    /// Its shear as textbooks have it.
    pub(super) shear: Nominal,
    /// Share of it that is laid, 0 to 1.
    pub(super) laid: f64,
    /// Whether the section is its neighbour's.
    pub(super) is_guess: bool,
}

impl Wall {
    pub(super) fn middle_mm(&self) -> f64 {
        f64::midpoint(self.span_mm[0], self.span_mm[1])
    }
}

/// The pieces that make up the prop's length, one after the other: no covers, no lids.
pub(super) fn is_core(split: &SplitPiece, piece: &Piece) -> bool {
    piece.role != Role::Cover && split.lid.is_none()
}

/// Strength along the prop's axis, MPa, by how the piece stands.
pub(super) fn along(piece: &Piece) -> usize {
    usize::from(piece.pose != Pose::Lying)
}

/// Share of a piece's volume that is laid, 0 to 1.
fn laid(split: &SplitPiece, piece: &Piece) -> f64 {
    let solid_g = piece.volume_mm3 * 1e-3 * split.rules.material.density_g_cm3[0];
    if solid_g > 0.0 { (piece.mass_g.value / solid_g).clamp(0.02, 1.0) } else { 1.0 }
}

/// Stretches of all pieces from the butt to the tip.
pub(super) fn walls(work: &StrengthWork) -> Result<Vec<Wall>, StrengthError> {
    let length = work.placed.path.length_mm();
    let core: Vec<usize> = (0..work.printed.pieces.len())
        .filter(|i| is_core(&work.split.pieces[*i], &work.printed.pieces[*i]))
        .filter(|i| work.printed.pieces[*i].station_mm[1] > work.printed.pieces[*i].station_mm[0])
        .collect();
    let made: Vec<Known<Vec<Wall>>> = core
        .par_iter()
        .map(|i| {
            let split = &work.split.pieces[*i];
            let holding = &split.rules.material.holding;
            let key = KeyOf::stage("strength sections").and(&work.printed.keys[*i]).and(&work.placed.key());
            let key = key
                .and(&(*i, holding, split.rules.material.density_g_cm3))
                .and(&bead_mm(work, &work.printed.pieces[*i]))
                .key();
            work.memory.recall("strength sections", core.len(), key, || cut(work, *i, length))
        })
        .collect::<Result<_, StrengthError>>()?;
    let mut walls: Vec<Wall> = made.iter().flat_map(|m| m.iter().cloned()).collect();
    walls.sort_by(|a, b| a.span_mm[0].total_cmp(&b.span_mm[0]));
    if walls.is_empty() { Err(StrengthError::Nothing) } else { Ok(walls) }
}

/// What bears is this many beads thick at least: two side by side, as everywhere in a print, a little less for rounding. A lone bead
/// between two holes tears first, takes all the shear on paper and hardly any in the hand.
const BEADS: f64 = 1.9;

/// Width of a bead, mm; 0 for resin.
fn bead_mm(work: &StrengthWork, piece: &Piece) -> f64 {
    work.project.printers.iter().find(|p| p.name == piece.printer).map_or(0.0, |p| p.bead_mm)
}

/// A section that was looked for, or why there is none.
struct Tried {
    span_mm: [f64; 2],
    basis: Basis,
    found: Result<(Arc<Vec<Region>>, Arc<Section>), String>,
}

/// What bears in a plane. What is thinner than two beads bears nothing.
fn look(
    mesh: &Mesh,
    basis: &Basis,
    material: Material,
    bead_mm: f64,
) -> Result<(Arc<Vec<Region>>, Arc<Section>), String> {
    let loops = solid::section::section(mesh, basis).map_err(|e| e.to_string())?;
    let loops = without_slivers(&loops, BEADS * bead_mm).map_err(|e| e.to_string())?;
    let regions = vec![Region { material, outlines: outlines(&loops, TOLERANCE_MM) }];
    let section = section(&regions, ACCURACY).map_err(|e| e.to_string())?;
    Ok((Arc::new(regions), Arc::new(section)))
}

/// The outlines without what is thinner than `mm`: drawn in by half of it, and out again.
fn without_slivers(loops: &[Vec<DVec2>], mm: f64) -> Result<Vec<Vec<DVec2>>, OutlineError> {
    if mm <= 0.0 { Ok(loops.to_vec()) } else { inset(&inset(loops, 0.5 * mm)?, -0.5 * mm) }
}

/// The sections of one piece.
fn cut(work: &StrengthWork, index: usize, length_mm: f64) -> Result<Vec<Wall>, StrengthError> {
    let (split, piece) = (&work.split.pieces[index], &work.printed.pieces[index]);
    let [from, to] = piece.station_mm;
    let count = ((STATIONS * (to - from) / length_mm).round() as usize).max(LEAST);
    let step = (to - from) / count as f64;
    let mesh = piece.mesh.transformed(&piece.to_prop);
    let holding = &split.rules.material.holding;
    let laid = laid(split, piece);
    let material = Material {
        e_mpa: holding.e_mpa[along(piece)] * laid,
        g_mpa: holding.g_mpa * laid,
        density_kg_m3: split.rules.material.density_g_cm3[0] * 1000.0 * laid,
    };
    let bead_mm = bead_mm(work, piece);
    let spans =
        (0..count).map(|k| [from + step * k as f64, if k + 1 == count { to } else { from + step * (k + 1) as f64 }]);
    let tried: Vec<Tried> = spans
        .collect::<Vec<_>>()
        .into_par_iter()
        .map(|span_mm| {
            let frame = work.placed.path.frame(f64::midpoint(span_mm[0], span_mm[1]) + ASIDE_MM);
            let basis = Basis { origin: frame.point, x: frame.across, y: frame.through };
            Tried { span_mm, basis, found: look(&mesh, &basis, material, bead_mm) }
        })
        .collect();
    let sound: Vec<usize> = (0..count).filter(|k| tried[*k].found.is_ok()).collect();
    let mut walls = Vec::with_capacity(count);
    for (k, one) in tried.iter().enumerate() {
        let nearest = sound.iter().min_by_key(|s| s.abs_diff(k));
        match (nearest.map(|s| &tried[*s].found), &one.found) {
            (Some(Ok((regions, section))), own) => walls.push(Wall {
                piece: index,
                span_mm: one.span_mm,
                basis: one.basis,
                regions: regions.clone(),
                section: section.clone(),
                shear: Nominal::of(regions, section),
                laid,
                is_guess: own.is_err(),
            }),
            (_, own) => {
                let reason = own.as_ref().err().cloned().unwrap_or_default();
                return Err(StrengthError::Section { piece: piece.number, station_mm: one.span_mm[0], reason });
            }
        }
    }
    Ok(walls)
}

#[cfg(test)]
mod tests {
    use super::*;
    use solid::DVec3;
    use solid::section::area_mm2;

    fn block(low: DVec2, high: DVec2) -> Vec<DVec2> {
        vec![low, DVec2::new(high.x, low.y), high, DVec2::new(low.x, high.y)]
    }

    /// Two blocks of 10 mm joined by a web: one of 0.3 mm goes, one of 0.6 mm stays. Round corners of the least width lose
    /// (4 - pi) r^2 of each block, a little less where it reaches into the web.
    #[test]
    fn what_is_thinner_bears_nothing() {
        let joined = |web: f64| {
            let half = 0.5 * web;
            vec![
                [
                    (0.0, 0.0),
                    (10.0, 0.0),
                    (10.0, 5.0 - half),
                    (15.0, 5.0 - half),
                    (15.0, 0.0),
                    (25.0, 0.0),
                    (25.0, 10.0),
                    (15.0, 10.0),
                    (15.0, 5.0 + half),
                    (10.0, 5.0 + half),
                    (10.0, 10.0),
                    (0.0, 10.0),
                ]
                .map(|(x, y)| DVec2::new(x, y))
                .to_vec(),
            ]
        };
        let round = (4.0 - std::f64::consts::PI) * 0.2 * 0.2;
        let gone = without_slivers(&joined(0.3), 0.4).unwrap();
        assert_eq!(gone.len(), 2);
        assert!((area_mm2(&gone) - (200.0 - 2.0 * round)).abs() < 0.04, "{}", area_mm2(&gone));
        let stays = without_slivers(&joined(0.6), 0.4).unwrap();
        assert_eq!(stays.len(), 1);
        assert!((area_mm2(&stays) - (203.0 - 2.0 * round)).abs() < 0.01, "{}", area_mm2(&stays));
        let as_it_is = vec![block(DVec2::ZERO, DVec2::new(0.1, 9.0))];
        assert_eq!(without_slivers(&as_it_is, 0.0).unwrap(), as_it_is);
        assert!(without_slivers(&as_it_is, 0.4).unwrap().is_empty());
    }

    /// A wall of 0.6 mm is less than two beads of 0.4 mm: there is no section, and the error says so; one of 0.8 mm has its area.
    #[test]
    fn a_wall_that_vanishes_has_no_section() {
        let basis = Basis { origin: DVec3::ZERO, x: DVec3::Y, y: DVec3::Z };
        let plastic = Material { e_mpa: 2000.0, g_mpa: 740.0, density_kg_m3: 1040.0 };
        let corners =
            |x: f64, mm: f64| [(0.0, 0.0), (20.0, 0.0), (20.0, mm), (0.0, mm)].map(|(y, z)| DVec3::new(x, y, z));
        let plate = |mm: f64| solid::loft(&[corners(-5.0, mm).to_vec(), corners(5.0, mm).to_vec()]);
        assert!(look(&plate(0.6), &basis, plastic, 0.4).is_err_and(|said| !said.is_empty()));
        let (_, found) = look(&plate(0.8), &basis, plastic, 0.4).unwrap();
        assert!((found.plain.area_mm2 - 16.0).abs() < 0.15, "{}", found.plain.area_mm2);
    }
}
