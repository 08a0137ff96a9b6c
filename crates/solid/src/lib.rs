//! Triangle solids: read, heal, join, cut, offset, section, distance, ray.
//!
//! A library in its own right: it knows meshes and nothing of props. All lengths are millimetres, all
//! results are the same bytes for the same input whatever the number of threads. Nothing here opens a
//! file, prints or keeps state.

mod mesh;

pub use glam::{DAffine3, DMat3, DVec2, DVec3};
pub use mesh::{Bounds, EdgeCensus, Mesh};
