//! Sections of several materials, their torsion, and jointed bars along a path.
//!
//! A library in its own right: it knows outlines, moduli, nodes and spans, and nothing of props. Lengths are
//! millimetres, forces newtons, moduli megapascals (N/mm²), masses grams, angles radians. Everything is linear: small
//! deflections, no yielding. The same input gives the same bytes; nothing here opens a file, prints or keeps state.
//!
//! # Rooms
//!
//! - [`section`]: area, centroid, second moments, principal axes, stiffness and stress, by exact formulas of polygons.
//! - [`torsion`]: torsional stiffness between two bounds, and the shear centre. Inside, `mesh` makes triangles and
//!   `element` integrates over one.
//! - [`frame`]: bars, joints, supports, masses. Inside, `bar` is one span's matrices, `assembled` puts them together;
//!   `still` (deflection), `modes` (frequencies and buckling).
//! - `skyline`: the one equation solver, used by both.
//!
//! # What it does not know
//!
//! Bars are Euler-Bernoulli: no shear deflection. A shear centre away from the centroid does not couple bending with
//! torsion. Warping held back at a support is not counted (it would only stiffen).

pub mod frame;
pub mod section;
mod skyline;
pub mod torsion;

pub use glam::{DVec2, DVec3};
