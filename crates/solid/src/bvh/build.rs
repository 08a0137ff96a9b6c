//! Building the tree: split at the median of the widest direction, twice a level, until four triangles are left.

use super::{Bvh, Child, Leaf, Node};
use crate::{Bounds, DVec3, Mesh};
use rayon::prelude::*;
use wide::f32x4;

/// Branches with more triangles than this are built side by side. A constant, so that the tree is the same whatever
/// the number of threads.
const SIDE_BY_SIDE: usize = 20_000;

/// A triangle waiting for its place.
#[derive(Clone, Copy)]
struct Item {
    middle: [f32; 3],
    triangle: u32,
}

/// What a branch is to its parent.
struct Branch {
    child: Child,
    low: [f32; 3],
    high: [f32; 3],
    /// Sum of the area vectors, mm2.
    dipole: [f32; 3],
    /// Sum of triangle middles weighted with their areas, mm3.
    moment: [f32; 3],
    /// mm2.
    area: f32,
}

/// The parts of a tree built so far.
#[derive(Default)]
struct Arena {
    nodes: Vec<Node>,
    leaves: Vec<Leaf>,
}

impl Bvh {
    /// Makes a mesh ready. O(n log n) in the triangles, on all threads.
    ///
    /// Coordinates should stay within some kilometres of each other: the tree rounds them to about 1e-7 of the size of
    /// the mesh.
    pub fn new(mesh: &Mesh) -> Bvh {
        Bvh::from(mesh.clone())
    }
}

impl From<Mesh> for Bvh {
    /// As [`Bvh::new`], without a copy of the mesh.
    fn from(mesh: Mesh) -> Bvh {
        let is_finite = |t: &[u32; 3]| t.iter().all(|v| mesh.vertices[*v as usize].is_finite());
        let corner = |v: &u32| mesh.vertices[*v as usize];
        let bounds = Bounds::of(mesh.triangles.iter().filter(|t| is_finite(t)).flatten().map(corner));
        let origin = bounds.map_or(DVec3::ZERO, |b| b.center());
        let mut items: Vec<Item> = mesh
            .triangles
            .par_iter()
            .enumerate()
            .filter(|(_, t)| is_finite(t))
            .map(|(i, t)| {
                let middle = t.iter().map(corner).sum::<DVec3>() / 3.0 - origin;
                Item { middle: middle.to_array().map(|x| x as f32), triangle: i as u32 }
            })
            .collect();
        let (nodes, leaves) = (Vec::new(), Vec::new());
        let mut bvh = Bvh { mesh, bounds, origin, nodes, leaves, root: Child::NONE };
        if !items.is_empty() {
            let mut arena = Arena::default();
            bvh.root = grow(&bvh, &mut items, &mut arena).child;
            bvh.nodes = arena.nodes;
            bvh.leaves = arena.leaves;
        }
        bvh
    }
}

fn grow(bvh: &Bvh, items: &mut [Item], arena: &mut Arena) -> Branch {
    if items.len() <= 4 {
        return leaf(bvh, items, arena);
    }
    let side_by_side = items.len() > SIDE_BY_SIDE;
    let mut parts: Vec<&mut [Item]> = Vec::with_capacity(4);
    let (first, second) = halve(items);
    for half in [first, second] {
        if half.len() > 4 {
            let (first, second) = halve(half);
            parts.extend([first, second]);
        } else {
            parts.push(half);
        }
    }
    let branches: Vec<Branch> = if side_by_side {
        let grown: Vec<(Branch, Arena)> = parts
            .into_par_iter()
            .map(|part| {
                let mut own = Arena::default();
                (grow(bvh, part, &mut own), own)
            })
            .collect();
        grown.into_iter().map(|(branch, own)| adopt(branch, own, arena)).collect()
    } else {
        parts.into_iter().map(|part| grow(bvh, part, arena)).collect()
    };
    join(&branches, arena)
}

/// Splits about the median along the widest direction, so that all but the last leaf are full.
fn halve(items: &mut [Item]) -> (&mut [Item], &mut [Item]) {
    let (mut low, mut high) = ([f32::MAX; 3], [f32::MIN; 3]);
    for item in items.iter() {
        for k in 0..3 {
            low[k] = low[k].min(item.middle[k]);
            high[k] = high[k].max(item.middle[k]);
        }
    }
    let size = [0, 1, 2].map(|k| high[k] - low[k]);
    let widest = (0..3).max_by(|a, b| size[*a].total_cmp(&size[*b])).unwrap_or(0);
    let at = ((items.len() / 2).div_ceil(4) * 4).clamp(1, items.len() - 1);
    items.select_nth_unstable_by(at, |a, b| {
        a.middle[widest].total_cmp(&b.middle[widest]).then(a.triangle.cmp(&b.triangle))
    });
    items.split_at_mut(at)
}

fn leaf(bvh: &Bvh, items: &[Item], arena: &mut Arena) -> Branch {
    let mut corners = [[[0.0f32; 4]; 3]; 3];
    let mut triangle = [0; 4];
    let mut branch = Branch::nothing();
    for lane in 0..4 {
        let item = items[lane.min(items.len() - 1)];
        triangle[lane] = item.triangle;
        let mut local = bvh.corners(item.triangle).map(|p| bvh.local(p));
        if lane < items.len() {
            branch.add_triangle(local);
        } else {
            local = [local[0]; 3];
        }
        for (corner, at) in corners.iter_mut().zip(local) {
            for k in 0..3 {
                corner[k][lane] = at[k];
            }
        }
    }
    branch.child = Child(Child::LEAF | arena.leaves.len() as u32);
    arena.leaves.push(Leaf { corners: corners.map(|c| c.map(f32x4::from)), triangle });
    branch
}

/// Moves a part grown on its own to the end of the arena.
fn adopt(branch: Branch, own: Arena, arena: &mut Arena) -> Branch {
    let (node_base, leaf_base) = (arena.nodes.len() as u32, arena.leaves.len() as u32);
    let moved = |c: Child| match c {
        Child::NONE => c,
        Child(i) if i & Child::LEAF != 0 => Child(i + leaf_base),
        Child(i) => Child(i + node_base),
    };
    arena.leaves.extend(own.leaves);
    arena.nodes.extend(own.nodes.into_iter().map(|n| Node { child: n.child.map(moved), ..n }));
    Branch { child: moved(branch.child), ..branch }
}

fn join(branches: &[Branch], arena: &mut Arena) -> Branch {
    let mut all = Branch::nothing();
    // A lane without a branch: a box nothing is near to, and a dipole of no strength very far away.
    let (mut low, mut high) = ([[f32::MAX; 4]; 3], [[f32::MIN; 4]; 3]);
    let (mut dipole, mut middle, mut reach_sq) = ([[0.0; 4]; 3], [[1e15; 4]; 3], [0.0; 4]);
    let mut child = [Child::NONE; 4];
    for (lane, branch) in branches.iter().enumerate() {
        child[lane] = branch.child;
        for k in 0..3 {
            low[k][lane] = branch.low[k];
            high[k][lane] = branch.high[k];
            dipole[k][lane] = branch.dipole[k];
            let center = (branch.low[k] + branch.high[k]) * 0.5;
            middle[k][lane] = if branch.area > 0.0 { branch.moment[k] / branch.area } else { center };
            let far = (branch.high[k] - middle[k][lane]).max(middle[k][lane] - branch.low[k]);
            reach_sq[lane] += far * far;
        }
        all.add(branch);
    }
    all.child = Child(arena.nodes.len() as u32);
    arena.nodes.push(Node {
        low: low.map(f32x4::from),
        high: high.map(f32x4::from),
        dipole: dipole.map(f32x4::from),
        middle: middle.map(f32x4::from),
        reach_sq: f32x4::from(reach_sq),
        child,
    });
    all
}

impl Branch {
    fn nothing() -> Branch {
        Branch {
            child: Child::NONE,
            low: [f32::MAX; 3],
            high: [f32::MIN; 3],
            dipole: [0.0; 3],
            moment: [0.0; 3],
            area: 0.0,
        }
    }

    fn add(&mut self, other: &Branch) {
        for k in 0..3 {
            self.low[k] = self.low[k].min(other.low[k]);
            self.high[k] = self.high[k].max(other.high[k]);
            self.dipole[k] += other.dipole[k];
            self.moment[k] += other.moment[k];
        }
        self.area += other.area;
    }

    fn add_triangle(&mut self, [a, b, c]: [[f32; 3]; 3]) {
        let side = |p: [f32; 3]| [p[0] - a[0], p[1] - a[1], p[2] - a[2]];
        let (u, v) = (side(b), side(c));
        let twice = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
        let area = 0.5 * (twice[0] * twice[0] + twice[1] * twice[1] + twice[2] * twice[2]).sqrt();
        let corners = |k: usize| [a[k], b[k], c[k]];
        self.add(&Branch {
            child: Child::NONE,
            low: [0, 1, 2].map(|k| corners(k).into_iter().fold(f32::MAX, f32::min)),
            high: [0, 1, 2].map(|k| corners(k).into_iter().fold(f32::MIN, f32::max)),
            dipole: twice.map(|x| 0.5 * x),
            moment: [0, 1, 2].map(|k| area * (a[k] + b[k] + c[k]) / 3.0),
            area,
        });
    }
}
