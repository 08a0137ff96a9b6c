//! How a section resists twisting: Saint-Venant's torsion between two bounds.
//!
//! Prandtl's stress function, `∇·(∇φ/G) = −2`, is zero on the outside and an unknown constant on each hole; twice its
//! volume is a **lower** bound of GJ when φ is approximate. The warping function's energy is an **upper** bound (both:
//! Timoshenko & Goodier, *Theory of Elasticity*, chapter on torsion; bounds after Trefftz; from memory). Triangles are
//! refined until the two lie close, so that the answer carries its own error.
//!
//! The triangles that carry warping also carry what a shearing force does to the section (the same equation with
//! another right side), so shear flexibility, peaks of shear stress and the shear centre come from them too, Poisson's
//! ratio aside.
//!
//! A hole, a slit, several cells and pieces that do not touch need nothing special: the emptiness around is divided
//! into what hangs together, and φ is one number on each.

mod element;
mod mesh;
mod plan;
mod shear;
mod solve;

use glam::{DMat2, DVec2};

use crate::section::{Region, SectionError, properties};
use element::{Element, element};
use mesh::mesh;
use solve::{Warping, stress_function};

/// How often triangles are halved before giving up.
const MOST_ROUNDS: usize = 5;

/// Torsional stiffness, and where a force does not twist.
#[derive(Clone, Debug, PartialEq)]
pub struct Torsion {
    /// The middle of the two bounds: torque for each radian in each millimetre, N·mm².
    pub gj_nmm2: f64,
    /// Not less than this, from the stress function.
    pub least_nmm2: f64,
    /// Not more than this, from warping.
    pub most_nmm2: f64,
    /// Shear centre (Trefftz: warping does no work in bending; Poisson's ratio aside), mm. `None` where pieces of the
    /// section do not touch: each then has its own.
    pub shear_centre_mm: Option<DVec2>,
    /// Shear flexibility: how far neighbouring sections slide past each other, mm in each mm for each newton across. A
    /// plain rectangle has 1.2/(GA) both ways.
    pub shear_per_n: DMat2,
    /// The highest shear stress in each region, in the order given.
    pub peaks: Vec<Peak>,
    /// Triangles in the last round.
    pub triangles: usize,
}

/// The highest shear stress in a region for each unit of what causes it. Taken in the middles of triangles' sides: in a
/// sharp inward corner the true stress has no bound, and what stands here grows slowly with finer triangles. Elsewhere
/// within some 5 %.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Peak {
    /// MPa for each N·mm of torque.
    pub torque: f64,
    /// MPa for each newton along y and along z.
    pub force: DVec2,
}

impl Peak {
    /// Shear stress by a torque and a force across together, as if their peaks met in one place: never too low.
    #[must_use]
    pub fn shear_mpa(&self, torque_nmm: f64, force_n: DVec2) -> f64 {
        self.torque * torque_nmm.abs() + self.force.dot(force_n.abs())
    }
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
/// `size` is the length of triangles' sides on an outline, in wall thicknesses (twice the area of a region over its
/// perimeter).
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
    let warping = Warping::new(&mesh, &elements)?;
    let warped = warping.twisted(&mesh, &elements);
    let most_nmm2: f64 = elements.iter().zip(&mesh.triangles).map(|(e, t)| e.energy(&t.nodes.map(|n| warped[n]))).sum();
    let gj_nmm2 = 0.5 * (least_nmm2 + most_nmm2);
    let shear_centre_mm = (mesh.pieces == 1).then(|| {
        let ei = section.ei_nmm2;
        let worth = elements.iter().zip(&mesh.triangles).map(|(e, t)| e.warping_moment(&t.nodes.map(|n| warped[n])));
        let moment: DVec2 = worth.sum();
        let det = ei.about_z * ei.about_y - ei.mixed * ei.mixed;
        let y = (moment.x * ei.mixed - ei.about_z * moment.y) / det;
        let z = (ei.about_y * moment.x - ei.mixed * moment.y) / det;
        section.centroid_mm + DVec2::new(y, z)
    });
    let sheared = shear::sheared(&mesh, &elements, &warping);
    let peaks = shear::peaks(&mesh, &elements, regions.len(), gj_nmm2, &warped, &sheared);
    let shear_per_n = sheared.flexibility;
    Ok(Torsion { gj_nmm2, least_nmm2, most_nmm2, shear_centre_mm, shear_per_n, peaks, triangles: elements.len() })
}
