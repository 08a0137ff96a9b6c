//! A patch of a surface laid flat, and how far that stretches it.
//!
//! The flat shape is the one in which a thin elastic film, pressed flat, would hold the least energy: the sum over
//! triangles of area times the square of Green's strain (`film`), started from a conformal map (`start`; Lévy, Petitjean,
//! Ray and Maillot, *Least squares conformal maps*, 2002, from memory). Where that stretches more than is allowed, the
//! patch is slit, or parted where its faces look most differently, or across (`parts`).

mod film;
mod parts;
mod start;
#[cfg(test)]
mod tests;

use crate::Mesh;
use glam::{DVec2, DVec3};
use std::collections::BTreeSet;

pub use parts::flatten;

/// How a patch may be laid flat.
pub struct FlattenSpec<'a> {
    /// Edges may become longer or shorter by this share; beyond it the patch is taken apart.
    pub limit: f64,
    /// Where a patch that goes all round is slit: for a point of the surface, how far it lies off the slit (signed, 0 on
    /// it), and how far on the slit's side (positive there, negative on the far side). mm.
    pub slit: &'a (dyn Fn(DVec3) -> DVec2 + Sync),
    /// How often a patch is parted at most, one part after the other: 0 keeps it whole.
    pub depth: usize,
}

/// A part of a patch laid flat.
#[derive(Clone, Debug, PartialEq)]
pub struct Flat {
    /// The part in space, slit as it was.
    pub mesh: Mesh,
    /// Where each of its vertices lies flat, mm: seen from outside, its longest way along +x, middle of its box at 0.
    pub points: Vec<DVec2>,
    /// Area laid flat over area in space, less 1.
    pub area_error: f64,
    /// The longest or shortest edge against its length in space, less 1: the worst of those of [`JUDGED_MM`] and more.
    pub edge_error: f64,
    /// The same as a mean over all edges, each weighed by its length, root of squares.
    pub mean_error: f64,
    /// Whether it was slit.
    pub slit: bool,
}

/// Edges shorter than this are not judged, mm: a knife does not follow them.
pub const JUDGED_MM: f64 = 0.2;

/// Why a patch cannot be laid flat.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FlattenError {
    /// Nothing there.
    #[error("a patch without a triangle has no flat shape")]
    Empty,
    /// Coordinates that are none.
    #[error("a corner of the patch is not finite")]
    NotFinite,
    /// Faces that hang together in no surface.
    #[error("{0} edges of the patch have more than two faces, or faces that look opposite ways")]
    NoSurface(usize),
    /// Turned over or overlapping wherever it was parted.
    #[error("the patch folds over itself however it is parted")]
    Folds,
}

impl Flat {
    /// The outline and the outlines of holes, the outer one first, mm.
    pub fn outlines(&self) -> Vec<Vec<DVec2>> {
        let flat = |chain: Vec<u32>| chain.into_iter().map(|v| self.points[v as usize]).collect::<Vec<_>>();
        let mut all: Vec<Vec<DVec2>> = crate::patch::borders(&self.mesh).into_iter().map(flat).collect();
        let size = |l: &Vec<DVec2>| crate::section::area_mm2(std::slice::from_ref(l)).abs();
        all.sort_by(|a, b| size(b).total_cmp(&size(a)));
        all
    }

    /// Its area in space, mm2.
    pub fn area_mm2(&self) -> f64 {
        self.mesh.area_mm2()
    }

    /// Measures what lying flat did to it, and lays it along +x; `None` when a face is turned over.
    fn measured(mesh: Mesh, mut points: Vec<DVec2>, slit: bool) -> Option<Flat> {
        let mut flat_mm2 = 0.0;
        for t in &mesh.triangles {
            let [a, b, c] = t.map(|v| points[v as usize]);
            let area = (b - a).perp_dot(c - a) * 0.5;
            if area.is_nan() || area < 0.0 {
                return None;
            }
            flat_mm2 += area;
        }
        let edges: BTreeSet<[u32; 2]> = mesh
            .triangles
            .iter()
            .flat_map(|t| (0..3).map(move |k| [t[k].min(t[(k + 1) % 3]), t[k].max(t[(k + 1) % 3])]))
            .collect();
        let (mut worst, mut squares, mut all_mm) = (0.0f64, 0.0, 0.0);
        for [a, b] in edges {
            let (a, b) = (a as usize, b as usize);
            let long = (mesh.vertices[a] - mesh.vertices[b]).length();
            if long <= 0.0 {
                continue;
            }
            let off = points[a].distance(points[b]) / long - 1.0;
            squares += off * off * long;
            all_mm += long;
            if long >= JUDGED_MM && off.abs() > worst.abs() {
                worst = off;
            }
        }
        let area_error = flat_mm2 / mesh.area_mm2() - 1.0;
        along_x(&mesh.triangles, &mut points);
        Some(Flat { points, area_error, edge_error: worst, mean_error: (squares / all_mm).sqrt(), slit, mesh })
    }
}

/// Turns a flat shape so that it reaches farthest along x, by the second moments of its area, and moves the middle of its box
/// to 0.
fn along_x(triangles: &[[u32; 3]], points: &mut [DVec2]) {
    let corners = |t: &[u32; 3]| t.map(|v| points[v as usize]);
    let (mut area, mut first) = (0.0, DVec2::ZERO);
    for [a, b, c] in triangles.iter().map(corners) {
        let mm2 = (b - a).perp_dot(c - a) * 0.5;
        (area, first) = (area + mm2, first + (a + b + c) * (mm2 / 3.0));
    }
    let mean = first / area;
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for t in triangles.iter().map(corners) {
        let mm2 = (t[1] - t[0]).perp_dot(t[2] - t[0]) * 0.5;
        let [a, b, c] = t.map(|p| p - mean);
        // Exact over a triangle: a twelfth of its area times the sum over its corners and their sum.
        for p in [a, b, c, a + b + c] {
            (xx, xy, yy) = (xx + mm2 * p.x * p.x, xy + mm2 * p.x * p.y, yy + mm2 * p.y * p.y);
        }
    }
    let angle = 0.5 * libm::atan2(2.0 * xy, xx - yy);
    let (sin, cos) = libm::sincos(angle);
    for p in points.iter_mut() {
        let d = *p - mean;
        *p = DVec2::new(cos * d.x + sin * d.y, cos * d.y - sin * d.x);
    }
    let (low, high) = points.iter().fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| (l.min(*p), h.max(*p)));
    points.iter_mut().for_each(|p| *p -= (low + high) * 0.5);
}

/// A triangle in its own plane: what turns values at its corners into their slope.
struct Plane {
    /// Numbers of its corners.
    corners: [usize; 3],
    /// Slope of the function that is 1 at a corner and 0 at the others, in the triangle's own axes, 1/mm.
    slopes: [DVec2; 3],
    /// mm2.
    area: f64,
}

/// Every triangle that has an area.
fn planes(mesh: &Mesh) -> Vec<Plane> {
    let mut all = Vec::with_capacity(mesh.triangles.len());
    for (k, t) in mesh.triangles.iter().enumerate() {
        let [a, b, c] = mesh.corners(k);
        let (along, normal) = ((b - a).try_normalize(), mesh.area_vector(k).try_normalize());
        let (Some(x), Some(n)) = (along, normal) else { continue };
        let y = n.cross(x);
        let flat = |p: DVec3| DVec2::new((p - a).dot(x), (p - a).dot(y));
        let p = [a, b, c].map(flat);
        let area = (p[1] - p[0]).perp_dot(p[2] - p[0]) * 0.5;
        if area <= 1e-12 {
            continue;
        }
        let slopes = [0, 1, 2].map(|i| (p[(i + 2) % 3] - p[(i + 1) % 3]).perp() / (2.0 * area));
        all.push(Plane { corners: t.map(|v| v as usize), slopes, area });
    }
    all
}

/// Equations in two unknowns a corner, numbered so that what is near has near numbers.
struct Numbering {
    /// Place of each corner.
    place: Vec<usize>,
}

impl Numbering {
    fn of(mesh: &Mesh) -> Numbering {
        let mut beside: Vec<Vec<usize>> = vec![Vec::new(); mesh.vertices.len()];
        for t in &mesh.triangles {
            for k in 0..3 {
                beside[t[k] as usize].extend([t[(k + 1) % 3] as usize, t[(k + 2) % 3] as usize]);
            }
        }
        for list in &mut beside {
            list.sort_unstable();
            list.dedup();
        }
        let mut place = vec![0; beside.len()];
        for (k, v) in crate::skyline::rings(&beside).into_iter().flatten().rev().enumerate() {
            place[v] = k;
        }
        Numbering { place }
    }

    /// The unknowns of a triangle: x and y of each corner; those held have none.
    fn unknowns(&self, plane: &Plane) -> [usize; 6] {
        let [a, b, c] = plane.corners.map(|v| 2 * self.place[v]);
        [a, a + 1, b, b + 1, c, c + 1]
    }
}
