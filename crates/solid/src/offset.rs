//! The surface at one distance from another.

use crate::bricks::{Band, SampleError, sample};
use crate::contour::{Cell, Fit, contour, untangle};
use crate::depth::Depth;
use crate::{Bounds, Bvh, Cancel, Cancelled, DMat3, DVec3, Mesh};

/// How to offset.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OffsetSpec {
    /// Distance from the surface, mm; negative runs inwards.
    pub distance_mm: f64,
    /// Edge of the lattice cells, mm: at most half the distance. Detail smaller than a cell may be lost; where the
    /// surface is smooth, the mesh strays from the true offset by about cell squared over eight distances.
    pub cell_mm: f64,
}

/// Why there is no offset.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum OffsetError {
    /// The distance is zero or not finite.
    #[error("an offset of {0} mm isn't one: the distance must be a number other than zero")]
    Distance(f64),
    /// The cell is not a positive number.
    #[error("a lattice cell of {0} mm isn't one: it must be a positive number")]
    Cell(f64),
    /// The cell is larger than half the distance.
    #[error("a lattice cell of {cell_mm} mm is too coarse for {distance_mm} mm: at most {most_mm} mm")]
    CellTooLarge {
        /// Cell asked for, mm.
        cell_mm: f64,
        /// Distance asked for, without sign, mm.
        distance_mm: f64,
        /// Largest cell that would do, mm.
        most_mm: f64,
    },
    /// The surface reaches out of the box given.
    #[error("the surface reaches out of the box from {:?} to {:?}: give the box around the whole body", .0.min.to_array(), .0.max.to_array())]
    Bounds(Bounds),
    /// The cell is so small that the result wouldn't fit into memory.
    #[error("a lattice cell of {cell_mm} mm is too fine for a body of {} x {} x {} mm: take a larger one", .size.x, .size.y, .size.z)]
    CellTooSmall {
        /// Cell asked for, mm.
        cell_mm: f64,
        /// Edge lengths of the box, mm.
        size: DVec3,
    },
    /// Stopped by its [`Cancel`].
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

/// The surface at a distance from a closed one, inwards or outwards.
///
/// The mesh is closed and oriented, faces away from the body it bounds, and each of its edges has two triangles; it is
/// empty where nothing is that deep. Its vertices lie at the distance to within some micrometres, except in a few cells
/// at creases; creases are kept sharp where one vertex a cell can,
/// and cut by up to a third of a cell elsewhere. Self-intersections aren't excluded by construction.
/// Parts thinner than a cell may be missing or ragged. Same input, same bytes, whatever the number of threads.
///
/// `bounds` is a box around the whole surface.
///
/// # Errors
///
/// See [`OffsetError`].
pub fn offset(surface: &Bvh, bounds: Bounds, spec: &OffsetSpec, cancel: &Cancel) -> Result<Mesh, OffsetError> {
    let mut mesh = sharp_offset(surface, bounds, spec, OVERHANG, cancel)?;
    untangle(&mut mesh, &Level { surface, depth: Depth::Even(spec.distance_mm.abs()), overhang: OVERHANG });
    Ok(mesh)
}

/// [`offset`] with creases that may reach `overhang` cells out of their own cell, and folds left in. With a large
/// overhang, thin edges are there to their tip: right for distances, wrong for a mesh to be made.
pub(crate) fn sharp_offset(
    surface: &Bvh,
    bounds: Bounds,
    spec: &OffsetSpec,
    overhang: f64,
    cancel: &Cancel,
) -> Result<Mesh, OffsetError> {
    if !(spec.distance_mm.is_finite() && spec.distance_mm != 0.0) {
        return Err(OffsetError::Distance(spec.distance_mm));
    }
    if !(spec.cell_mm.is_finite() && spec.cell_mm > 0.0) {
        return Err(OffsetError::Cell(spec.cell_mm));
    }
    let distance_mm = spec.distance_mm.abs();
    if spec.cell_mm > 0.5 * distance_mm {
        return Err(OffsetError::CellTooLarge { cell_mm: spec.cell_mm, distance_mm, most_mm: 0.5 * distance_mm });
    }
    let Some(body) = surface.bounds() else { return Ok(Mesh::default()) };
    if !(bounds.min.cmple(body.min).all() && bounds.max.cmpge(body.max).all() && bounds.size().is_finite()) {
        return Err(OffsetError::Bounds(bounds));
    }
    let depth = Depth::Even(distance_mm);
    let band = Band { depth, inwards: spec.distance_mm < 0.0, cell_mm: spec.cell_mm };
    trace(surface, body, &band, &Level { surface, depth, overhang }, cancel)
}

/// Samples around a level and runs the surface through them, placed by `fit`. The band has been looked at.
pub(crate) fn trace(
    surface: &Bvh,
    bounds: Bounds,
    band: &Band<'_>,
    fit: &impl Fit,
    cancel: &Cancel,
) -> Result<Mesh, OffsetError> {
    let bricks = sample(surface, bounds, band, cancel).map_err(|e| match e {
        SampleError::Cancelled => OffsetError::Cancelled(Cancelled),
        SampleError::TooMany => OffsetError::CellTooSmall { cell_mm: band.cell_mm, size: bounds.size() },
    })?;
    Ok(contour(&bricks, fit, cancel)?)
}

/// The points at one depth from a surface, on the side the samples say.
pub(crate) struct Level<'a> {
    pub(crate) surface: &'a Bvh,
    pub(crate) depth: Depth<'a>,
    /// How far out of its cell a vertex may go to a crease, in cells.
    pub(crate) overhang: f64,
}

/// A cell counts as smooth while its corners miss a linear function by less than this part of its edge.
const SMOOTH: f64 = 0.03;
/// Overhang for meshes that are to be made.
pub(crate) const OVERHANG: f64 = 0.5;
/// Overhang for a vertex that isn't right to within [`SURE_MM`] where it wants to go.
const UNSURE: f64 = 0.05;
/// See [`UNSURE`].
const SURE_MM: f64 = 0.02;
/// Weight of staying at the middle of the crossings, against one crossing's plane: enough to hold the vertex on an edge or
/// a face, too little to pull it off.
const STAY: f64 = 2e-3;
/// A vertex is moved by at most this part of the distance at once.
const STEP: f64 = 0.125;
/// Vertices this near the distance stay, mm.
const CLOSE_ENOUGH_MM: f64 = 2e-3;

impl Fit for Level<'_> {
    fn place(&self, cell: &Cell<'_>) -> DVec3 {
        let middle = cell.crossings.iter().sum::<DVec3>() / cell.crossings.len() as f64;
        let start = if cell.bend_mm < SMOOTH * cell.size_mm { middle } else { self.crease(cell, middle) };
        self.snap(start)
    }

    /// The point moved along the way from its nearest point until that is at the depth, by at most [`STEP`] at once.
    ///
    /// A move towards the surface is safe: whatever else is there was farther away, and stays so by at least the
    /// distance. After a move away another part may be nearer, so that moves away are looked at again.
    fn snap(&self, mut p: DVec3) -> DVec3 {
        // What a depth that varies changes on the way is made good by further moves, each less than half the last.
        let (rounds, safe) = match self.depth {
            Depth::Even(mm) => (3, STEP * mm),
            Depth::Graded(_) => (10, CLOSE_ENOUGH_MM),
        };
        for _ in 0..rounds {
            let depth = self.depth.at(p);
            let most = STEP * depth;
            let Some(near) = self.surface.nearest(p, depth + 4.0 * most) else { return p };
            let missing = (depth - near.distance_mm).clamp(-most, most);
            p += (p - near.point).normalize_or_zero() * missing;
            if missing < CLOSE_ENOUGH_MM && missing > -safe {
                return p;
            }
        }
        p
    }

    fn miss_mm(&self, p: DVec3) -> f64 {
        let depth = self.depth.at(p);
        let within = 2.0 * depth;
        let distance = self.surface.rough_distance(p, within).unwrap_or(within);
        (distance - depth).abs()
    }
}

impl Level<'_> {
    /// The point nearest to all the planes at the distance that belong to the crossings' nearest points: on the edge
    /// or in the corner where they meet, at the middle where they are one.
    fn crease(&self, cell: &Cell<'_>, middle: DVec3) -> DVec3 {
        let within = self.depth.at(middle) + 2.0 * cell.size_mm * (1.0 + self.depth.slope());
        let mut normals = [DVec3::ZERO; 12];
        let mut feet = [DVec3::ZERO; 12];
        let mut n = 0;
        for crossing in cell.crossings {
            let Some(near) = self.surface.nearest(*crossing, within) else { continue };
            let Some(normal) = (*crossing - near.point).try_normalize() else { continue };
            (feet[n], normals[n]) = self.depth.plane(*crossing, near.point, normal);
            n += 1;
        }
        if n == 0 {
            return middle;
        }
        let center = feet[..n].iter().sum::<DVec3>() / n as f64;
        // Least squares of the distances to the planes, plus a little for the way from the middle.
        let mut matrix = DMat3::from_diagonal(DVec3::splat(STAY * n as f64));
        let mut right = DVec3::ZERO;
        for (normal, foot) in normals[..n].iter().zip(&feet[..n]) {
            matrix += DMat3::from_cols(*normal * normal.x, *normal * normal.y, *normal * normal.z);
            right += *normal * normal.dot(*foot - center);
        }
        let best = center + matrix.inverse() * right;
        let within = |overhang: f64| {
            let over_mm = overhang * cell.size_mm;
            best.clamp(cell.corner - over_mm, cell.corner + cell.size_mm + over_mm)
        };
        let near = within(UNSURE);
        let far = within(self.overhang);
        if far != near && self.miss_mm(far) < SURE_MM { far } else { near }
    }
}

#[cfg(test)]
mod tests;
