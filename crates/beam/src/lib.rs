//! Sections of several materials, their torsion, and jointed bars along a path.
//!
//! A library in its own right: it knows outlines, moduli, nodes and spans, and nothing of props. Lengths are
//! millimetres, forces newtons, moduli megapascals (N/mm²), masses grams, angles radians. Everything is linear: small
//! deflections, no yielding. The same input gives the same bytes; nothing here opens a file, prints or keeps state.
//!
//! # Rooms
//!
//! - [`section`](mod@section): area, centroid, second moments, principal axes, stiffness and stress, by exact formulas
//!   of polygons.
//! - [`torsion`](mod@torsion): torsional stiffness between two bounds, shear and the shear centre. Inside, `plan` tells
//!   material from emptiness, `mesh` makes triangles, `element` integrates over one, `solve` has the equations, `shear`
//!   what forces across do.
//! - `outlines`: [`outlines()`], from the loops of a cut solid.
//! - `composite`: [`Section`], both together, and two glued without new triangles.
//! - [`frame`]: bars, joints, supports, masses. Inside, `line` makes a frame along a path, `checked` asks what is
//!   wrong, `bar` is one span's matrices, `assembled` puts them together; `still` (deflection, play), `modes`
//!   (frequencies), `buckle`, `pulse` (strikes, knocks), `weigh` (mass, balance, swing).
//! - [`glue`]: faces, scarfs, plugs and groups of pegs between pieces. [`wall`]: thin walls that buckle by themselves.
//! - [`heat`]: temperatures along a bar that is warm inside. Inside, `film` is air at its skin, `network` the
//!   equations, `level` what it may bear.
//! - Equations are solved by `solid::skyline`.
//!
//! # What it does not know
//!
//! A shear centre away from the centroid does not couple bending with torsion. Warping held back at a support is not
//! counted (it would only stiffen). Nothing damps.

mod composite;
pub mod frame;
pub mod glue;
pub mod heat;
mod outlines;
pub mod section;
pub mod torsion;
pub mod wall;

pub use composite::{Section, section};
pub use glam::{DMat2, DMat3, DVec2, DVec3};
pub use outlines::outlines;
