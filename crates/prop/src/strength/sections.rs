//! Sections of the printed pieces, as they are laid.
//!
//! A piece with infill counts as a lighter, softer solid: density and stiffness by the share of it that is laid. Its skin
//! lies outside, so it is stiffer than that.

use super::{StrengthError, StrengthWork};
use crate::memory::{KeyOf, Known};
use crate::outcome::{Piece, Pose, Role};
use crate::stages::SplitPiece;
use beam::section::{Material, Outline, Region};
use beam::{Section, outlines, section};
use rayon::prelude::*;
use solid::section::Basis;
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
            let key = key.and(&(*i, holding, split.rules.material.density_g_cm3)).key();
            work.memory.recall("strength sections", core.len(), key, || cut(work, *i, length))
        })
        .collect::<Result<_, StrengthError>>()?;
    let mut walls: Vec<Wall> = made.iter().flat_map(|m| m.iter().cloned()).collect();
    walls.sort_by(|a, b| a.span_mm[0].total_cmp(&b.span_mm[0]));
    if walls.is_empty() { Err(StrengthError::Nothing) } else { Ok(walls) }
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
    let tried: Vec<([f64; 2], Basis, Result<(Vec<Region>, Section), String>)> = (0..count)
        .into_par_iter()
        .map(|k| {
            let span = [from + step * k as f64, if k + 1 == count { to } else { from + step * (k as f64 + 1.0) }];
            let middle = f64::midpoint(span[0], span[1]) + ASIDE_MM;
            let frame = work.placed.path.frame(middle);
            let basis = Basis { origin: frame.point, x: frame.across, y: frame.through };
            let found = solid::section::section(&mesh, &basis).map_err(|e| e.to_string()).and_then(|loops| {
                let outlines: Vec<Outline> = outlines(&loops, TOLERANCE_MM);
                let regions = vec![Region { material, outlines }];
                section(&regions, ACCURACY).map_err(|e| e.to_string()).map(|section| (regions, section))
            });
            (span, basis, found)
        })
        .collect();
    let sound: Vec<usize> = (0..count).filter(|k| tried[*k].2.is_ok()).collect();
    let shared: Vec<Option<(Arc<Vec<Region>>, Arc<Section>)>> = tried
        .iter()
        .map(|(_, _, found)| found.as_ref().ok().map(|(r, s)| (Arc::new(r.clone()), Arc::new(s.clone()))))
        .collect();
    let stand_in = |k: usize| sound.iter().copied().min_by_key(|s| s.abs_diff(k));
    let mut walls = Vec::with_capacity(count);
    for (k, (span_mm, basis, found)) in tried.iter().enumerate() {
        let Some((regions, section)) = stand_in(k).and_then(|s| shared[s].clone()) else {
            let reason = found.as_ref().err().cloned().unwrap_or_default();
            return Err(StrengthError::Section { piece: piece.number, station_mm: span_mm[0], reason });
        };
        let is_guess = found.is_err();
        walls.push(Wall { piece: index, span_mm: *span_mm, basis: *basis, regions, section, laid, is_guess });
    }
    Ok(walls)
}
