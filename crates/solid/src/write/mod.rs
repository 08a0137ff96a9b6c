//! Meshes as files: STL and 3MF. The same mesh gives the same bytes, and both formats give the same coordinates, since
//! both hold the f32 nearest to each.

mod stl;
mod threemf;

pub use stl::stl;
pub use threemf::{Part, threemf};

use glam::DVec3;

/// The f32 nearest to each coordinate, without negative zeros.
fn rounded(point: DVec3) -> [f32; 3] {
    point.to_array().map(|x| x as f32 + 0.0)
}
