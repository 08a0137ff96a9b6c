//! Distance, inside and outside, and rays: questions to a mesh, answered through a tree of boxes.
//!
//! The tree is four wide and held in `f32` about the middle of the mesh, so that one step looks at four boxes or four
//! triangles at once. It only picks the triangle; the answer is computed again from the `f64` corners.

mod build;
mod nearest;
mod ray;
mod winding;

use crate::{Bounds, DVec3, Mesh};
use wide::f32x4;

pub use nearest::Nearest;
pub use ray::RayHit;
pub(crate) use ray::meet;

/// A mesh made ready for many questions about distance, inside and rays.
///
/// It keeps its own copy of the mesh; about 85 bytes a triangle. Triangles with a coordinate that is not finite are
/// left out.
///
/// ```
/// use solid::{Bvh, DVec3, Mesh};
/// let corner = Mesh {
///     vertices: vec![DVec3::ZERO, DVec3::X * 6.0, DVec3::Y * 6.0, DVec3::Z * 6.0],
///     triangles: vec![[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]],
/// };
/// let bvh = Bvh::new(&corner);
/// assert!((bvh.signed_distance(DVec3::new(2.0, 1.0, 0.5)) + 0.5).abs() < 1e-12);
/// assert!(bvh.nearest(DVec3::new(2.0, 1.0, -4.0), 3.0).is_none());
/// ```
pub struct Bvh {
    mesh: Mesh,
    bounds: Option<Bounds>,
    /// What is subtracted from a point before it is rounded to `f32`.
    origin: DVec3,
    nodes: Vec<Node>,
    leaves: Vec<Leaf>,
    root: Child,
}

/// A node or a leaf by its index; the top bit marks leaves.
#[derive(Clone, Copy, PartialEq)]
struct Child(u32);

/// Four branches, one a lane: their boxes, and their dipoles for the winding number.
#[derive(Clone)]
struct Node {
    low: [f32x4; 3],
    high: [f32x4; 3],
    /// Sum of the area vectors.
    dipole: [f32x4; 3],
    /// Where the dipole sits: the middle of the surface.
    middle: [f32x4; 3],
    /// Square of a distance from `middle` that nothing of the branch exceeds.
    reach_sq: f32x4,
    child: [Child; 4],
}

/// Four triangles, one a lane. A lane without a triangle holds a point of the last one, which changes no answer.
#[derive(Clone)]
struct Leaf {
    corners: [[f32x4; 3]; 3],
    triangle: [u32; 4],
}

/// Room for a depth-first walk: at most three branches wait on each of the at most 16 levels that 2^32 triangles take.
const STACK: usize = 64;

impl Child {
    const NONE: Child = Child(u32::MAX);
    const LEAF: u32 = 1 << 31;

    /// The leaf or the node it stands for; not for `NONE`.
    fn target(self) -> Target {
        if self.0 & Self::LEAF == 0 {
            Target::Node(self.0 as usize)
        } else {
            Target::Leaf((self.0 & !Self::LEAF) as usize)
        }
    }
}

enum Target {
    Node(usize),
    Leaf(usize),
}

impl Bvh {
    /// The box around the mesh, or `None` for a mesh without (finite) triangles.
    pub fn bounds(&self) -> Option<Bounds> {
        self.bounds
    }

    /// The mesh that is asked.
    pub fn mesh(&self) -> &Mesh {
        &self.mesh
    }

    /// Whether there is nothing to ask about.
    pub fn is_empty(&self) -> bool {
        self.root == Child::NONE
    }

    fn corners(&self, triangle: u32) -> [DVec3; 3] {
        self.mesh.corners(triangle as usize)
    }

    /// A point as the tree sees it.
    fn local(&self, p: DVec3) -> [f32; 3] {
        (p - self.origin).to_array().map(|x| x as f32)
    }
}

fn minus(a: &[f32x4; 3], b: &[f32x4; 3]) -> [f32x4; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn dot(a: &[f32x4; 3], b: &[f32x4; 3]) -> f32x4 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: &[f32x4; 3], b: &[f32x4; 3]) -> [f32x4; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

#[cfg(test)]
mod tests;
