//! Holes that are small, or flat, filled.

use super::crossing::{Named, cross};
use super::fill::{self, LONGEST_RING};
use super::note::{Mend, MendKind};
use super::patch::Patch;
use super::rim;
use crate::{Bounds, EdgeCensus, Mesh};
use glam::DVec3;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Widest hole in a curved surface that is filled, as a share of the diagonal of its shell's box.
pub(super) const CURVED_SHARE: f64 = 0.05;
/// Widest hole with a flat rim, such as the open underside of a sculpt: one wider is the mouth of a bowl, or the edge of
/// a sheet.
const FLAT_SHARE: f64 = 0.5;
/// A rim is flat when it strays from its plane by less than this share of its width: scans end in rough rims.
const FLATNESS: f64 = 0.05;
/// A patch is made smooth only where all faces around the rim look less than 60 degrees away from their mean.
const SMOOTH_COSINE: f64 = 0.5;

/// A hole's rim with what lies around it.
struct Hole {
    /// In the direction in which a filling runs.
    ring: Vec<u32>,
    bounds: Bounds,
    /// Faces whose box meets the hole's.
    near: Vec<u32>,
    /// Whether it may be closed with a curved patch; else only with a flat lid.
    small: bool,
}

/// Fills the holes that are small enough for it to be clear what was there: any of three sides, those narrower than 5 %
/// of their shell with a surface that goes on smoothly from around them, and flat ones up to half the shell with a lid.
/// A filling that would cross the surface is left out. Whether anything changed.
pub(super) fn fill(mesh: &mut Mesh, census: &EdgeCensus, mends: &mut Vec<Mend>) -> bool {
    let open = if rim::part_pinched(mesh, &census.open) { mesh.edge_census().open } else { census.open.clone() };
    let rings = rim::apart(mesh, rim::rings(&open));
    let mut holes = fillable(mesh, rings);
    if holes.is_empty() {
        return false;
    }
    gather(mesh, &mut holes);
    let patches: Vec<Option<Patch>> = holes.par_iter().map(|hole| close(mesh, hole)).collect();
    let mut spots = Vec::new();
    for (hole, patch) in holes.iter().zip(patches) {
        let Some(patch) = patch else { continue };
        let first = mesh.vertices.len();
        mesh.vertices.extend(&patch.points[patch.ring..]);
        let name = |k: usize| if k < patch.ring { hole.ring[k] } else { (first + k - patch.ring) as u32 };
        mesh.triangles.extend(patch.triangles.iter().map(|t| t.map(name)));
        spots.push(hole.bounds);
    }
    if spots.is_empty() {
        return false;
    }
    mends.push(Mend::new(MendKind::FilledHoles, spots.len(), spots));
    true
}

/// The holes that are small or flat enough.
fn fillable(mesh: &Mesh, rings: Vec<Vec<u32>>) -> Vec<Hole> {
    let mut shell_of = vec![u32::MAX; mesh.vertices.len()];
    let mut diagonals = Vec::new();
    for (k, shell) in mesh.shells().iter().enumerate() {
        shell.iter().flat_map(|t| mesh.triangles[*t as usize]).for_each(|v| shell_of[v as usize] = k as u32);
        let bounds = Bounds::of(shell.iter().flat_map(|t| mesh.corners(*t as usize)));
        diagonals.push(bounds.map_or(0.0, |b| b.size().length()));
    }
    let hole = |ring: Vec<u32>| {
        let points: Vec<DVec3> = ring.iter().map(|v| mesh.vertices[*v as usize]).collect();
        let bounds = Bounds::of(points.iter().copied())?;
        let (width, whole) = (width(&points, &bounds), diagonals[shell_of[ring[0] as usize] as usize]);
        let small = ring.len() == 3 || width <= CURVED_SHARE * whole;
        let flat = width <= FLAT_SHARE * whole && is_flat(&points, width);
        (small || flat).then_some(Hole { ring, bounds, near: Vec::new(), small })
    };
    rings.into_iter().filter_map(hole).collect()
}

/// Largest distance between two points of a ring; the box's diagonal for very long ones.
fn width(points: &[DVec3], bounds: &Bounds) -> f64 {
    const MOST_COMPARED: usize = 2000;
    if points.len() > MOST_COMPARED {
        return bounds.size().length();
    }
    let furthest = |(k, p): (usize, &DVec3)| points[k + 1..].iter().map(|q| p.distance_squared(*q)).fold(0.0, f64::max);
    libm::sqrt(points.iter().enumerate().map(furthest).fold(0.0, f64::max))
}

fn is_flat(points: &[DVec3], width: f64) -> bool {
    let Some(up) = fill::normal(points).try_normalize() else { return false };
    points.iter().all(|p| (*p - points[0]).dot(up).abs() <= FLATNESS * width)
}

/// Finds the faces near each hole in one walk over the mesh.
fn gather(mesh: &Mesh, holes: &mut [Hole]) {
    let mut rooms: Vec<(Bounds, usize)> = holes
        .iter()
        .enumerate()
        .map(|(k, h)| {
            let reach = DVec3::splat(0.3 * h.bounds.size().length());
            (Bounds { min: h.bounds.min - reach, max: h.bounds.max + reach }, k)
        })
        .collect();
    rooms.sort_by(|a, b| a.0.min.x.total_cmp(&b.0.min.x).then(a.1.cmp(&b.1)));
    let widest = rooms.iter().map(|(b, _)| b.size().x).fold(0.0, f64::max);
    let found: Vec<(usize, u32)> = (0..mesh.triangles.len())
        .into_par_iter()
        .flat_map_iter(|t| {
            let [a, b, c] = mesh.corners(t);
            let (low, high) = (a.min(b).min(c), a.max(b).max(c));
            let from = rooms.partition_point(|r| r.0.min.x < low.x - widest);
            let to = rooms.partition_point(|r| r.0.min.x <= high.x);
            let meets = move |r: &&(Bounds, usize)| r.0.min.cmple(high).all() && r.0.max.cmpge(low).all();
            rooms[from..to.max(from)].iter().filter(meets).map(move |r| (r.1, t as u32))
        })
        .collect();
    found.into_iter().for_each(|(k, t)| holes[k].near.push(t));
}

/// A patch that closes the hole without crossing what is near.
fn close(mesh: &Mesh, hole: &Hole) -> Option<Patch> {
    let ring = &hole.ring;
    let n = ring.len();
    let points: Vec<DVec3> = ring.iter().map(|v| mesh.vertices[*v as usize]).collect();
    let around = Around::of(mesh, hole);
    let taken = |i: usize, j: usize| around.is_edge(i, j);
    let beside: Vec<DVec3> = (0..n).map(|k| around.beside[k]).collect();
    let smoothest = if hole.small && n <= LONGEST_RING { fill::smoothest(&points, &beside, taken) } else { None };
    let triangles = smoothest.or_else(|| {
        let lid = fill::lid(&points)?;
        let doubled =
            |t: &[usize; 3]| (0..3).any(|k| !beside_each_other(t[k], t[(k + 1) % 3], n) && taken(t[k], t[(k + 1) % 3]));
        (!lid.iter().any(doubled)).then_some(lid)
    })?;
    let plain = Patch { points, triangles, ring: n };
    let mean = beside.iter().sum::<DVec3>().try_normalize();
    let gentle = mean.is_some_and(|m| beside.iter().all(|b| b.dot(m) >= SMOOTH_COSINE));
    if hole.small && n > 3 && gentle {
        let mut smooth = plain.clone();
        smooth.refine(taken, &around.neighbours);
        smooth.fair(&around.neighbours);
        if !crosses(mesh, hole, &smooth) {
            return Some(smooth);
        }
    }
    (!crosses(mesh, hole, &plain)).then_some(plain)
}

fn beside_each_other(i: usize, j: usize, n: usize) -> bool {
    (i + 1) % n == j || (j + 1) % n == i
}

/// The mesh around a rim, by the rim's own numbers.
struct Around {
    /// Unit normal of the face across each side.
    beside: Vec<DVec3>,
    /// Places of the neighbours of each rim vertex that are off the rim, and of those across the mesh.
    neighbours: Vec<Vec<DVec3>>,
    /// Pairs of rim vertices, lower first, with an edge between them.
    edges: Vec<[usize; 2]>,
}

impl Around {
    fn of(mesh: &Mesh, hole: &Hole) -> Around {
        let n = hole.ring.len();
        let slots: BTreeMap<u32, usize> = hole.ring.iter().enumerate().map(|(k, v)| (*v, k)).collect();
        let mut around = Around { beside: vec![DVec3::ZERO; n], neighbours: vec![Vec::new(); n], edges: Vec::new() };
        let mut near: Vec<(usize, u32)> = Vec::new();
        for t in &hole.near {
            let corners = mesh.triangles[*t as usize];
            for k in 0..3 {
                let (a, b) = (corners[k], corners[(k + 1) % 3]);
                let (Some(i), other) = (slots.get(&a).copied(), slots.get(&b).copied()) else {
                    if let Some(j) = slots.get(&b) {
                        near.push((*j, a));
                    }
                    continue;
                };
                let Some(j) = other else {
                    near.push((i, b));
                    continue;
                };
                around.edges.push([i.min(j), i.max(j)]);
                // The face runs against the filling: its side from b to a is the ring's from i to j.
                if (j + 1) % n == i {
                    around.beside[j] = mesh.area_vector(*t as usize).try_normalize().unwrap_or(DVec3::ZERO);
                } else if !beside_each_other(i, j, n) {
                    near.extend([(i, b), (j, a)]);
                }
            }
        }
        near.sort_unstable();
        near.dedup();
        near.iter().for_each(|(k, v)| around.neighbours[*k].push(mesh.vertices[*v as usize]));
        around.edges.sort_unstable();
        around
    }

    fn is_edge(&self, i: usize, j: usize) -> bool {
        self.edges.binary_search(&[i.min(j), i.max(j)]).is_ok()
    }
}

/// Whether any triangle of the patch crosses a face near it, or another of the patch.
fn crosses(mesh: &Mesh, hole: &Hole, patch: &Patch) -> bool {
    let fresh = u32::MAX - patch.points.len() as u32;
    let name = |k: usize| if k < patch.ring { hole.ring[k] } else { fresh + k as u32 };
    let own: Vec<Named> = patch.triangles.iter().map(|t| t.map(|k| (name(k), patch.points[k]))).collect();
    let others: Vec<Named> =
        hole.near.iter().map(|t| mesh.triangles[*t as usize].map(|v| (v, mesh.vertices[v as usize]))).collect();
    let room = |t: &Named| {
        let [a, b, c] = t.map(|c| c.1);
        (a.min(b).min(c), a.max(b).max(c))
    };
    let mut all: Vec<((DVec3, DVec3), bool, &Named)> = own.iter().map(|t| (room(t), true, t)).collect();
    all.extend(others.iter().map(|t| (room(t), false, t)));
    all.sort_by(|a, b| a.0.0.x.total_cmp(&b.0.0.x));
    (0..all.len()).into_par_iter().any(|i| {
        let ((low, high), mine, a) = &all[i];
        all[i + 1..]
            .iter()
            .take_while(|other| other.0.0.x <= high.x)
            .any(|((l, h), theirs, b)| (*mine || *theirs) && l.cmple(*high).all() && low.cmple(*h).all() && cross(a, b))
    })
}
