//! The two sets of equations on a section's triangles: Prandtl's stress function, and warping.

use super::TorsionError;
use super::element::Element;
use super::mesh::Mesh;
use solid::skyline::{Factor, Skyline};

/// Twice the volume under φ, holes with theirs.
pub(super) fn stress_function(mesh: &Mesh, elements: &[Element]) -> Result<f64, TorsionError> {
    // Nodes on one emptiness share an unknown, and those come last: their rows are long, the others stay short.
    let mut unknown = vec![None; mesh.nodes.len()];
    let mut count = 0;
    for &node in &mesh.order {
        if mesh.void_of[node].is_none() {
            unknown[node] = Some(count);
            count += 1;
        }
    }
    let mut hole_unknown = vec![None; mesh.void_areas.len()];
    for (void, area) in mesh.void_areas.iter().enumerate() {
        if area.is_some() {
            hole_unknown[void] = Some(count);
            count += 1;
        }
    }
    for (node, void) in mesh.void_of.iter().enumerate() {
        if let Some(void) = void {
            unknown[node] = hole_unknown[*void];
        }
    }
    let matrix = assembled(mesh, elements, &unknown, count, |e| 1.0 / e.g_mpa);
    let mut load = right(mesh, elements, &unknown, count, |_, e, i| 2.0 * e.volume[i]);
    for (unknown, area) in hole_unknown.iter().zip(&mesh.void_areas) {
        if let (Some(unknown), Some(area)) = (unknown, area) {
            load[*unknown] += 2.0 * area;
        }
    }
    let factor = matrix.factor().map_err(|unknown| TorsionError::Unsolved { unknown })?;
    Ok(factor.solve(&load).iter().zip(&load).map(|(phi, load)| phi * load).sum())
}

/// The equation of warping, ready to be solved for any right side. Zero at the first node of each piece.
pub(super) struct Warping {
    unknown: Vec<Option<usize>>,
    factor: Factor,
    count: usize,
}

impl Warping {
    pub(super) fn new(mesh: &Mesh, elements: &[Element]) -> Result<Self, TorsionError> {
        let mut unknown = vec![None; mesh.nodes.len()];
        let mut count = 0;
        for &node in mesh.order.iter().filter(|n| !mesh.pinned[**n]) {
            unknown[node] = Some(count);
            count += 1;
        }
        let matrix = assembled(mesh, elements, &unknown, count, |e| e.g_mpa);
        let factor = matrix.factor().map_err(|unknown| TorsionError::Unsolved { unknown })?;
        Ok(Self { unknown, factor, count })
    }

    /// At each node, for what each triangle (by number) adds at each of its six nodes.
    pub(super) fn solve(
        &self,
        mesh: &Mesh,
        elements: &[Element],
        each: impl Fn(usize, &Element, usize) -> f64,
    ) -> Vec<f64> {
        let solved = self.factor.solve(&right(mesh, elements, &self.unknown, self.count, each));
        self.unknown.iter().map(|u| u.map_or(0.0, |u| solved[u])).collect()
    }

    /// For one radian in each millimetre about the centroid.
    pub(super) fn twisted(&self, mesh: &Mesh, elements: &[Element]) -> Vec<f64> {
        self.solve(mesh, elements, |_, e, i| e.g_mpa * e.twist[i])
    }
}

fn assembled(
    mesh: &Mesh,
    elements: &[Element],
    unknown: &[Option<usize>],
    count: usize,
    worth: impl Fn(&Element) -> f64,
) -> Skyline {
    let places: Vec<[Option<usize>; 6]> = mesh.triangles.iter().map(|t| t.nodes.map(|n| unknown[n])).collect();
    let mut matrix = Skyline::for_blocks(count, places.iter().map(|p| &p[..]));
    for (element, place) in elements.iter().zip(&places) {
        let worth = worth(element);
        for (i, row) in place.iter().enumerate() {
            let Some(row) = *row else { continue };
            for (j, column) in place.iter().enumerate() {
                if let Some(column) = *column {
                    matrix.add(row, column, element.slope[i][j] * worth);
                }
            }
        }
    }
    matrix
}

fn right(
    mesh: &Mesh,
    elements: &[Element],
    unknown: &[Option<usize>],
    count: usize,
    each: impl Fn(usize, &Element, usize) -> f64,
) -> Vec<f64> {
    let mut load = vec![0.0; count];
    for (t, (element, triangle)) in elements.iter().zip(&mesh.triangles).enumerate() {
        for (i, &node) in triangle.nodes.iter().enumerate() {
            if let Some(row) = unknown[node] {
                load[row] += each(t, element, i);
            }
        }
    }
    load
}
