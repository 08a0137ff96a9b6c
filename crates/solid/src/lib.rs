//! Triangle solids: read, heal, join, cut, offset, section, distance, ray.
//!
//! A library in its own right: it knows meshes and nothing of props. All lengths are millimetres, all
//! results are the same bytes for the same input whatever the number of threads. Nothing here opens a
//! file, prints or keeps state.

mod boolean;
mod mesh;
mod shapes;

pub use boolean::{
    BooleanError, difference, difference_all, intersection, min_gap, rebuild, self_intersects, simplify, union,
    union_all,
};
pub use glam::{DAffine3, DMat3, DVec2, DVec3};
pub use mesh::{Bounds, EdgeCensus, Mesh};
pub use shapes::{around_mm, cone_frustum, cuboid, cylinder, digits, loft, prism, sphere};
