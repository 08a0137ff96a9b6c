//! Masks: the surface in each window laid flat, so that tape can be cut to it before the coats go on.

use crate::memory::{KeyOf, Known, Memory};
use crate::stages::Placed;
use crate::window::{Window, WindowIdx, Windows};
use rayon::prelude::*;
use solid::{DVec2, DVec3, Flat, FlattenError, FlattenSpec, Mesh, flatten};
use std::convert::Infallible;

/// The mask of one window.
#[derive(Clone, Debug)]
pub struct Mask {
    /// Its window's place in the outcome's windows.
    pub window: usize,
    /// Its parts, from the butt on.
    pub parts: Vec<MaskPart>,
    /// Specks of the window that are left out, mm2 in all.
    pub specks_mm2: f64,
    /// Why there is none, where there is none.
    pub trouble: Option<FlattenError>,
}

/// A part of a mask that is cut in one piece.
#[derive(Clone, Debug)]
pub struct MaskPart {
    /// In space (prop frame), and flat: seen from outside, butt left.
    pub flat: Flat,
    /// Stations that it spans, mm.
    pub station_mm: [f64; 2],
    /// Which way it looks, as a mean: across and through, -1 to 1.
    pub looks: [f64; 2],
    /// How far its middle lies off the centre path: across and through, mm.
    pub lies_mm: [f64; 2],
}

/// Edges of a mask may be off by this share: what tape gives.
pub const LIMIT: f64 = 0.03;
/// How often a mask is parted at most, part after part.
const DEPTH: usize = 6;
/// Parts of a window that are no larger are left out, mm2.
const SPECK_MM2: f64 = 4.0;

impl Mask {
    /// The worst edge of all parts: how far it is off its length, as a share.
    pub fn edge_error(&self) -> f64 {
        self.parts.iter().map(|p| p.flat.edge_error.abs()).fold(0.0, f64::max)
    }

    /// The worst part's area, off its own in space, as a share.
    pub fn area_error(&self) -> f64 {
        self.parts.iter().map(|p| p.flat.area_error.abs()).fold(0.0, f64::max)
    }
}

/// The masks of all windows beside which something is painted.
pub(crate) fn masks(windows: &Known<Windows>, placed: &Placed, memory: &Memory) -> Vec<Mask> {
    let key = KeyOf::stage("masks").and(&windows.key()).key();
    let painted = |k: &usize| {
        let w = &windows.list()[*k];
        w.area_mm2 > 0.0 && windows.skin(w.body, None).is_some_and(|s| !s.coats.is_empty())
    };
    let Ok(known) = memory.recall("masks", 1, key, || {
        let wanted: Vec<usize> = (0..windows.list().len()).filter(painted).collect();
        Ok::<_, Infallible>(wanted.into_par_iter().map(|k| mask(windows, placed, k)).collect::<Vec<Mask>>())
    });
    known.to_vec()
}

/// The mask of one window.
pub(crate) fn mask(windows: &Windows, placed: &Placed, k: usize) -> Mask {
    let window: &Window = &windows.list()[k];
    let patch = windows.patch(WindowIdx(k), &placed.bodies[window.body].mesh);
    let (kept, specks_mm2) = without_specks(&patch);
    if kept.is_empty() {
        return Mask { window: k, parts: Vec::new(), specks_mm2, trouble: None };
    }
    // All round, it is slit on the far side from +z.
    let slit = |p: DVec3| {
        let frame = placed.path.frame(placed.path.station_of(p));
        DVec2::new((p - frame.point).dot(frame.across), -(p - frame.point).dot(frame.through))
    };
    match flatten(&kept, &FlattenSpec { limit: LIMIT, slit: &slit, depth: DEPTH }) {
        Ok(flats) => {
            let mut parts: Vec<MaskPart> = flats.into_iter().map(|flat| part(flat, placed)).collect();
            let order = |p: &MaskPart| (p.station_mm[0], -p.lies_mm[0], -p.lies_mm[1]);
            parts.sort_by(|a, b| {
                let (a, b) = (order(a), order(b));
                // Those that begin within 5 mm of each other stand side by side, not one after the other.
                let beside = |s: f64| (s / 5.0).round();
                beside(a.0).total_cmp(&beside(b.0)).then(a.1.total_cmp(&b.1)).then(a.2.total_cmp(&b.2))
            });
            Mask { window: k, parts, specks_mm2, trouble: None }
        }
        Err(trouble) => Mask { window: k, parts: Vec::new(), specks_mm2, trouble: Some(trouble) },
    }
}

/// The patch without its smallest shells, and their area.
fn without_specks(patch: &Mesh) -> (Mesh, f64) {
    let mut kept = Vec::new();
    let mut specks_mm2 = 0.0;
    for shell in patch.shells() {
        let mm2: f64 = shell.iter().map(|t| patch.area_vector(*t as usize).length()).sum();
        if mm2 > SPECK_MM2 { kept.extend(shell) } else { specks_mm2 += mm2 }
    }
    kept.sort_unstable();
    (patch.subset(&kept), specks_mm2)
}

/// A flat part with its place, turned so that its butt end lies left.
fn part(mut flat: Flat, placed: &Placed) -> MaskPart {
    let stations: Vec<f64> = flat.mesh.vertices.iter().map(|v| placed.path.station_of(*v)).collect();
    let mean = stations.iter().sum::<f64>() / stations.len() as f64;
    if flat.points.iter().zip(&stations).map(|(p, s)| p.x * (s - mean)).sum::<f64>() < 0.0 {
        flat.points.iter_mut().for_each(|p| *p = -*p);
    }
    let (mut look, mut lies, mut all) = ([0.0; 2], [0.0; 2], 0.0);
    for t in 0..flat.mesh.triangles.len() {
        let area = flat.mesh.area_vector(t);
        let [a, b, c] = flat.mesh.corners(t);
        let middle = (a + b + c) / 3.0;
        let frame = placed.path.frame(placed.path.station_of(middle));
        let mm2 = area.length();
        all += mm2;
        for (k, axis) in [frame.across, frame.through].into_iter().enumerate() {
            look[k] += area.dot(axis);
            lies[k] += (middle - frame.point).dot(axis) * mm2;
        }
    }
    let (low, high) = stations.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), s| (l.min(*s), h.max(*s)));
    MaskPart { flat, station_mm: [low, high], looks: look.map(|v| v / all), lies_mm: lies.map(|v| v / all) }
}
