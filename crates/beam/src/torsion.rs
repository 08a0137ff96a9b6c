//! How a section resists twisting: Saint-Venant's torsion between two bounds.
//!
//! Prandtl's stress function, `∇·(∇φ/G) = −2`, is zero on the outside and an unknown constant on each hole; twice its
//! volume is a **lower** bound of GJ when φ is approximate. The warping function's energy is an **upper** bound (both: Timoshenko &
//! Goodier, *Theory of Elasticity*, chapter on torsion; bounds after Trefftz; from memory). Triangles are refined until the
//! two lie close, so that the answer carries its own error.
//!
//! A hole, a slit, several cells and pieces that do not touch need nothing special: the emptiness around is divided into what hangs
//! together, and φ is one number on each.

mod element;
mod mesh;
mod plan;

use glam::DVec2;

use crate::section::{Region, SectionError, properties};
use crate::skyline::Skyline;
use element::{Element, element};
use mesh::{Mesh, mesh};

/// How often triangles are halved before giving up.
const MOST_ROUNDS: usize = 5;

/// Torsional stiffness, and where a force does not twist.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Torsion {
    /// The middle of the two bounds: torque for each radian in each millimetre, N·mm².
    pub gj_nmm2: f64,
    /// Not less than this, from the stress function.
    pub least_nmm2: f64,
    /// Not more than this, from warping.
    pub most_nmm2: f64,
    /// Shear centre (Trefftz: warping does no work in bending; Poisson's ratio aside), mm. `None` where pieces of the section
    /// do not touch: each then has its own.
    pub shear_centre_mm: Option<DVec2>,
    /// Triangles in the last round.
    pub triangles: usize,
}

impl Torsion {
    /// Torsion constant J for a shear modulus, mm⁴.
    #[must_use]
    pub fn constant_mm4(&self, g_mpa: f64) -> f64 {
        self.gj_nmm2 / g_mpa
    }
}

/// Why there is no torsional stiffness.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum TorsionError {
    /// The section itself is at fault.
    #[error(transparent)]
    Section(#[from] SectionError),
    /// An accuracy that can't be met.
    #[error("an accuracy of {accuracy} was asked for; ask for one from 0.001 to 0.5")]
    Accuracy {
        /// What was asked.
        accuracy: f64,
    },
    /// Two regions lie on one another.
    #[error("regions {first} and {second} overlap at ({}, {}) mm; cut one out of the other", at_mm.x, at_mm.y)]
    Overlap {
        /// One of them.
        first: usize,
        /// The other.
        second: usize,
        /// A point in both.
        at_mm: DVec2,
    },
    /// Outlines that no triangles fit into.
    #[error(
        "triangles cover {meshed_mm2} mm² of a section of {area_mm2} mm²; look for outlines that cross themselves or holes outside their outline"
    )]
    Untidy {
        /// Area of the triangles.
        meshed_mm2: f64,
        /// Area by the outlines.
        area_mm2: f64,
    },
    /// Nothing could be solved for.
    #[error("the stress function has no solution near unknown {unknown}; look for outlines thinner than 0.001 mm")]
    Unsolved {
        /// Which unknown.
        unknown: usize,
    },
    /// Bounds that stay apart.
    #[error(
        "GJ lies between {least_nmm2} and {most_nmm2} N·mm², further apart than asked; ask for less accuracy or drop slivers"
    )]
    Apart {
        /// Lower bound.
        least_nmm2: f64,
        /// Upper bound.
        most_nmm2: f64,
    },
}

/// Torsional stiffness of regions that hold together where they touch (within 0.001 mm).
///
/// `accuracy` is the largest distance of a bound from `gj_nmm2`, as a share of it: 0.005 is half a per cent.
///
/// # Errors
///
/// See [`TorsionError`].
pub fn torsion(regions: &[Region], accuracy: f64) -> Result<Torsion, TorsionError> {
    if !(0.001..=0.5).contains(&accuracy) {
        return Err(TorsionError::Accuracy { accuracy });
    }
    let mut size = 1.0;
    let mut found = coarse(regions, size)?;
    for _ in 1..MOST_ROUNDS {
        if found.most_nmm2 - found.least_nmm2 <= 2.0 * accuracy * found.gj_nmm2 {
            return Ok(found);
        }
        size *= 0.5;
        found = coarse(regions, size)?;
    }
    let Torsion { least_nmm2, most_nmm2, gj_nmm2, .. } = found;
    let close = most_nmm2 - least_nmm2 <= 2.0 * accuracy * gj_nmm2;
    if close { Ok(found) } else { Err(TorsionError::Apart { least_nmm2, most_nmm2 }) }
}

/// Torsional stiffness from one set of triangles, without looking at how close the bounds are.
///
/// `size` is the length of triangles' sides on an outline, in wall thicknesses (twice the area of a region over its perimeter).
///
/// # Errors
///
/// See [`TorsionError`].
pub fn coarse(regions: &[Region], size: f64) -> Result<Torsion, TorsionError> {
    let section = properties(regions)?;
    let mesh = mesh(regions, &section, size)?;
    let elements: Vec<Element> = mesh
        .triangles
        .iter()
        .map(|t| element(t.nodes.map(|n| mesh.nodes[n] - section.centroid_mm), regions[t.region].material))
        .collect();
    let least_nmm2 = stress_function(&mesh, &elements)?;
    let warped = warping(&mesh, &elements)?;
    let most_nmm2: f64 = elements.iter().zip(&mesh.triangles).map(|(e, t)| e.energy(&t.nodes.map(|n| warped[n]))).sum();
    let shear_centre_mm = (mesh.pieces == 1).then(|| {
        let ei = section.ei_nmm2;
        let worth = elements.iter().zip(&mesh.triangles).map(|(e, t)| e.warping_moment(&t.nodes.map(|n| warped[n])));
        let moment: DVec2 = worth.sum();
        let det = ei.about_z * ei.about_y - ei.mixed * ei.mixed;
        let y = (moment.x * ei.mixed - ei.about_z * moment.y) / det;
        let z = (ei.about_y * moment.x - ei.mixed * moment.y) / det;
        section.centroid_mm + DVec2::new(y, z)
    });
    Ok(Torsion {
        gj_nmm2: 0.5 * (least_nmm2 + most_nmm2),
        least_nmm2,
        most_nmm2,
        shear_centre_mm,
        triangles: elements.len(),
    })
}

/// Twice the volume under φ, holes with theirs.
fn stress_function(mesh: &Mesh, elements: &[Element]) -> Result<f64, TorsionError> {
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
    let places: Vec<[Option<usize>; 6]> = mesh.triangles.iter().map(|t| t.nodes.map(|n| unknown[n])).collect();
    let mut matrix = Skyline::for_blocks(count, places.iter().map(|p| &p[..]));
    let mut load = vec![0.0; count];
    for (element, place) in elements.iter().zip(&places) {
        for (i, row) in place.iter().enumerate() {
            let Some(row) = *row else { continue };
            load[row] += 2.0 * element.volume[i];
            for (j, column) in place.iter().enumerate() {
                if let Some(column) = *column {
                    matrix.add(row, column, element.slope[i][j] / element.g_mpa);
                }
            }
        }
    }
    for (unknown, area) in hole_unknown.iter().zip(&mesh.void_areas) {
        if let (Some(unknown), Some(area)) = (unknown, area) {
            load[*unknown] += 2.0 * area;
        }
    }
    let factor = matrix.factor().map_err(|unknown| TorsionError::Unsolved { unknown })?;
    Ok(factor.solve(&load).iter().zip(&load).map(|(phi, load)| phi * load).sum())
}

/// Warping at each node, for one radian in each millimetre about the centroid; zero at the first node of each piece.
fn warping(mesh: &Mesh, elements: &[Element]) -> Result<Vec<f64>, TorsionError> {
    let mut unknown = vec![None; mesh.nodes.len()];
    let mut count = 0;
    for &node in mesh.order.iter().filter(|n| !mesh.pinned[**n]) {
        unknown[node] = Some(count);
        count += 1;
    }
    let places: Vec<[Option<usize>; 6]> = mesh.triangles.iter().map(|t| t.nodes.map(|n| unknown[n])).collect();
    let mut matrix = Skyline::for_blocks(count, places.iter().map(|p| &p[..]));
    let mut load = vec![0.0; count];
    for (element, place) in elements.iter().zip(&places) {
        for (i, row) in place.iter().enumerate() {
            let Some(row) = *row else { continue };
            load[row] += element.g_mpa * element.twist[i];
            for (j, column) in place.iter().enumerate() {
                if let Some(column) = *column {
                    matrix.add(row, column, element.slope[i][j] * element.g_mpa);
                }
            }
        }
    }
    let factor = matrix.factor().map_err(|unknown| TorsionError::Unsolved { unknown })?;
    let solved = factor.solve(&load);
    Ok(unknown.iter().map(|u| u.map_or(0.0, |u| solved[u])).collect())
}
