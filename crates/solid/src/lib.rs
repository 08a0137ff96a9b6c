//! Triangle solids: read, heal, join, cut, offset, section, distance, ray.
//!
//! A library in its own right: it knows meshes and nothing of props. All lengths are millimetres, all
//! results are the same bytes for the same input whatever the number of threads. Nothing here opens a
//! file, prints or keeps state.

mod boolean;
mod bricks;
mod bvh;
mod cancel;
pub mod columns;
mod contour;
mod cubes;
mod cut;
mod depth;
mod flatten;
mod hollow;
mod lengthwise;
mod lighter;
pub mod mend;
mod mesh;
mod offset;
pub mod patch;
pub mod read;
pub mod section;
mod settle;
mod shapes;
pub mod skyline;
pub mod write;

pub use boolean::{
    BooleanError, difference, difference_all, intersection, min_gap, rebuild, self_intersects, simplify, union,
    union_all,
};
pub use bvh::{Bvh, Nearest, RayHit};
pub use cancel::{Cancel, Cancelled};
pub use cubes::Cubes;
pub use cut::{CutError, Plane, reaching, slab, split};
pub use depth::{GradedWall, STEEPEST};
pub use flatten::{Flat, FlattenError, FlattenSpec, JUDGED_MM, flatten};
pub use glam::{DAffine3, DMat3, DVec2, DVec3};
pub use hollow::{GradedSpec, HollowError, HollowSpec, WallReport, hollow, hollow_graded, wall_against, wall_report};
pub use lengthwise::{Lengthwise, Rows};
pub use lighter::{LighterError, lighter};
pub use mesh::{Bounds, EdgeCensus, Mesh};
pub use offset::{OffsetError, OffsetSpec, offset};
pub use settle::{GRID_PER_MM, REACH_MM, SettleError, Settled, settle};
pub use shapes::{around_mm, cone_frustum, cuboid, cylinder, digits, loft, prism, sphere};
