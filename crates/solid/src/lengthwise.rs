//! A solid's triangles by where they lie along x, so that a section across it looks only at those it may pass.

use crate::section::{Basis, section};
use crate::{Bounds, CutError, DVec2, DVec3, Mesh, Plane};

/// Length of a row, mm: a few triangles of a fine shape.
const ROW_MM: f64 = 4.0;
/// Rows at most.
const MOST_ROWS: f64 = 4096.0;

/// Which triangles of a mesh lie where along x.
#[derive(Clone, Debug)]
pub struct Rows {
    bounds: Option<Bounds>,
    row_mm: f64,
    /// Triangles that reach into each row, ascending.
    rows: Vec<Vec<u32>>,
}

impl Rows {
    /// Those of no triangle.
    pub const fn none() -> Rows {
        Rows { bounds: None, row_mm: ROW_MM, rows: Vec::new() }
    }

    /// Sorts the triangles of a mesh.
    pub fn of(mesh: &Mesh) -> Rows {
        let Some(bounds) = mesh.bounds() else { return Rows::none() };
        let long_mm = bounds.size().x;
        let mut rows = Rows { bounds: Some(bounds), row_mm: ROW_MM.max(long_mm / MOST_ROWS), rows: Vec::new() };
        rows.rows.resize(rows.row(bounds.max.x) + 1, Vec::new());
        for t in 0..mesh.triangles.len() {
            let x = mesh.corners(t).map(|p| p.x);
            let [first, last] = [x[0].min(x[1]).min(x[2]), x[0].max(x[1]).max(x[2])].map(|x| rows.row(x));
            rows.rows[first..=last].iter_mut().for_each(|row| row.push(t as u32));
        }
        rows
    }

    /// The row of a place, the first or the last for one beyond the ends.
    fn row(&self, x: f64) -> usize {
        let from = self.bounds.map_or(0.0, |b| b.min.x);
        let row = ((x - from) / self.row_mm) as usize;
        if self.rows.is_empty() { row } else { row.min(self.rows.len() - 1) }
    }

    /// Where along x a plane passes the box around the mesh; `None` where it runs along x.
    fn passed(&self, plane: &Plane) -> Option<[f64; 2]> {
        const LEAST_ACROSS: f64 = 0.5;
        let Bounds { min, max } = self.bounds?;
        if plane.normal.x.abs() < LEAST_ACROSS {
            return None;
        }
        let corners = [(min.y, min.z), (min.y, max.z), (max.y, min.z), (max.y, max.z)];
        let x = corners.map(|(y, z)| (plane.offset_mm - plane.normal.dot(DVec3::new(0.0, y, z))) / plane.normal.x);
        Some(x.into_iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], x| [low.min(x), high.max(x)]))
    }
}

/// A solid with its rows.
#[derive(Clone, Copy, Debug)]
pub struct Lengthwise<'a> {
    mesh: &'a Mesh,
    rows: &'a Rows,
}

impl<'a> Lengthwise<'a> {
    /// A mesh and what [`Rows::of`] made of it.
    pub fn new(mesh: &'a Mesh, rows: &'a Rows) -> Lengthwise<'a> {
        Lengthwise { mesh, rows }
    }

    /// As [`section`] of the mesh, to the last bit, and sooner.
    ///
    /// # Errors
    /// As [`section`].
    pub fn section(&self, basis: &Basis) -> Result<Vec<Vec<DVec2>>, CutError> {
        let Some(passed) = self.rows.passed(&basis.plane()) else { return section(self.mesh, basis) };
        // A millimetre more: nothing that rounding might lead the plane through is left out.
        let [first, last] = [passed[0] - 1.0, passed[1] + 1.0].map(|x| self.rows.row(x));
        let mut triangles: Vec<u32> = self.rows.rows[first..=last].iter().flatten().copied().collect();
        triangles.sort_unstable();
        triangles.dedup();
        // Corners keep their order, on which the direction of each edge depends.
        let mut corners: Vec<u32> = triangles.iter().flat_map(|t| self.mesh.triangles[*t as usize]).collect();
        corners.sort_unstable();
        corners.dedup();
        let place = |v: u32| corners.partition_point(|c| *c < v) as u32;
        let near = Mesh {
            vertices: corners.iter().map(|v| self.mesh.vertices[*v as usize]).collect(),
            triangles: triangles.iter().map(|t| self.mesh.triangles[*t as usize].map(place)).collect(),
        };
        section(&near, basis)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{cylinder, sphere};
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn sections_are_those_of_the_whole(
            x in -35.0f64..35.0,
            tilt in prop::array::uniform2(-1.0f64..1.0),
            turn in 0.0f64..3.0,
        ) {
            let mut solid = sphere(DVec3::X * 5.0, 20.0, 48);
            // Long triangles, and a void.
            solid.append(&cylinder(DVec3::new(-30.0, 0.3, 25.0), DVec3::new(30.0, 0.2, 26.0), 3.0, 24));
            solid.append(&sphere(DVec3::X * 8.0, 12.0, 32).reversed());
            let rows = Rows::of(&solid);
            let normal = DVec3::new(libm::cos(turn), tilt[0], tilt[1]).normalize();
            let across = normal.any_orthonormal_vector();
            let basis = Basis { origin: DVec3::X * x, x: across, y: normal.cross(across) };
            prop_assert_eq!(Lengthwise::new(&solid, &rows).section(&basis), section(&solid, &basis));
        }
    }

    #[test]
    fn nothing_has_no_section() {
        let rows = Rows::of(&Mesh::default());
        let basis = Basis { origin: DVec3::ZERO, x: DVec3::Y, y: DVec3::Z };
        assert_eq!(Lengthwise::new(&Mesh::default(), &rows).section(&basis), Ok(Vec::new()));
    }
}
