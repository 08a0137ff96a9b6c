//! Joining and cutting closed solids. The only room that knows the boolean engine.
//!
//! Operands are closed, oriented meshes that don't cross themselves; they may have several shells, and inward-facing
//! ones for voids. Never bring coincident surfaces together: tools overlap what they cut by a fraction of a millimetre.

mod local;

use std::panic::{AssertUnwindSafe, catch_unwind};

use glam::{DVec2, DVec3};
use manifold_rust::linalg::Vec2;
use manifold_rust::manifold::Manifold;
use manifold_rust::polygon;
use manifold_rust::types::{BooleanEngine, Error as EngineError, MeshGLP, OpType, PolyVert, WindingRule};

use crate::{Bounds, Mesh};

/// Why a boolean could not be computed. Operands are counted from 1 in the order given.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum BooleanError {
    /// An operand has edges that are not shared by exactly two opposite triangles.
    #[error(
        "solid {operand} is not closed: {edges} of its edges don't join two triangles, one at {near} mm; heal it first"
    )]
    NotClosed {
        /// Which operand.
        operand: usize,
        /// How many edges are open, flipped or crowded.
        edges: usize,
        /// Middle of the first of them, mm.
        near: DVec3,
    },
    /// An operand encloses a negative volume.
    #[error("solid {operand} is inside out (signed volume {volume_mm3:.3} mm3); turn its triangles over")]
    InsideOut {
        /// Which operand.
        operand: usize,
        /// Signed volume, mm3.
        volume_mm3: f64,
    },
    /// A coordinate is infinite or not a number.
    #[error("vertex {vertex} of solid {operand} is not a finite point")]
    NotFinite {
        /// Which operand.
        operand: usize,
        /// Index of the vertex.
        vertex: usize,
    },
    /// A triangle names a vertex that isn't there.
    #[error("triangle {triangle} of solid {operand} names a vertex beyond the last")]
    BadIndex {
        /// Which operand.
        operand: usize,
        /// Index of the triangle.
        triangle: usize,
    },
    /// A length given is not a finite number of at least zero.
    #[error("the {what} must be zero or more millimetres, not {value}")]
    BadLength {
        /// Which length.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// The engine gave up.
    #[error("the {what} of these solids failed: {why}")]
    Failed {
        /// The operation.
        what: &'static str,
        /// What the engine said.
        why: String,
    },
}

/// Everything inside `a` or `b`.
///
/// # Errors
/// When an operand is open, inside out or not finite, or the engine fails.
pub fn union(a: &Mesh, b: &Mesh) -> Result<Mesh, BooleanError> {
    combine("union", a, b, OpType::Add)
}

/// Everything inside `a` and not inside `b`.
///
/// # Errors
/// As [`union`].
pub fn difference(a: &Mesh, b: &Mesh) -> Result<Mesh, BooleanError> {
    combine("difference", a, b, OpType::Subtract)
}

/// Everything inside both `a` and `b`.
///
/// # Errors
/// As [`union`].
pub fn intersection(a: &Mesh, b: &Mesh) -> Result<Mesh, BooleanError> {
    combine("intersection", a, b, OpType::Intersect)
}

/// Everything inside any of `solids`. Solids whose boxes are apart are put together without computing, so a hundred
/// scattered ones cost hardly more than one.
///
/// # Errors
/// As [`union`].
pub fn union_all(solids: &[Mesh]) -> Result<Mesh, BooleanError> {
    Ok(export(&union_counted(solids, 1)?))
}

/// Everything inside `a` and inside none of `tools`: one boolean, however many tools.
///
/// # Errors
/// As [`union`]; `a` counts as operand 1.
pub fn difference_all(a: &Mesh, tools: &[Mesh]) -> Result<Mesh, BooleanError> {
    let (solid, tool) = (import(a, 1)?, union_counted(tools, 2)?);
    if a.is_empty() || tool.is_empty() {
        return Ok(used(a));
    }
    Ok(export(&engine("difference", &solid, &tool, OpType::Subtract)?))
}

/// The same solid with fewer triangles: edges whose removal moves the surface by no more than `tolerance_mm` collapse.
/// Above about 0.02 mm the result may cross itself where walls are thin: check with [`self_intersects`].
///
/// # Errors
/// As [`union`], and for a tolerance that is not a length.
pub fn simplify(mesh: &Mesh, tolerance_mm: f64) -> Result<Mesh, BooleanError> {
    check_length("tolerance", tolerance_mm)?;
    if mesh.is_empty() {
        return Ok(Mesh::default());
    }
    let solid = import(mesh, 1)?;
    finish("simplification", || solid.simplify(tolerance_mm))
}

/// Whether any two triangles cross, overlap or coincide, other than by sharing edges and corners.
///
/// # Errors
/// When the mesh is open or not finite. Inside-out is fine here.
pub fn self_intersects(mesh: &Mesh) -> Result<bool, BooleanError> {
    if mesh.is_empty() {
        return Ok(false);
    }
    let solid = import_loose(mesh)?;
    guarded("self-intersection search", || solid.has_self_intersections())
}

/// The solid where the winding number is positive: overlapping shells become one, doubled surfaces single, inside-out
/// bodies vanish. Slow (about 10 s for a million triangles), and the triangles change everywhere.
///
/// # Errors
/// When the mesh is open or not finite, or the engine fails.
pub fn rebuild(mesh: &Mesh) -> Result<Mesh, BooleanError> {
    if mesh.is_empty() {
        return Ok(Mesh::default());
    }
    let solid = import_loose(mesh)?;
    finish("rebuilding", || solid.rebuild_solid(WindingRule::Positive))
}

/// The smallest distance between two solids, mm: 0 where they overlap, `search_mm` when they are at least that far
/// apart or one is empty.
///
/// # Errors
/// As [`union`], and for a search distance that is not a length.
pub fn min_gap(a: &Mesh, b: &Mesh, search_mm: f64) -> Result<f64, BooleanError> {
    check_length("search distance", search_mm)?;
    let (Some(box_a), Some(box_b)) = (used_bounds(a), used_bounds(b)) else { return Ok(search_mm) };
    let (solid_a, solid_b) = (import(a, 1)?, import(b, 2)?);
    if !apart(&box_a, &box_b)
        && !guarded("overlap test", || solid_a.boolean_with_engine(&solid_b, OpType::Intersect, BooleanEngine::Exact))?
            .is_empty()
    {
        return Ok(0.0);
    }
    guarded("gap search", || solid_a.min_gap(&solid_b, search_mm))
}

/// A filling of closed loops: triangles over the points of all loops one after the other, then `midpoints`, each the
/// middle of two points.
pub(crate) struct Filling {
    /// Point indices, counter-clockwise.
    pub(crate) triangles: Vec<[u32; 3]>,
    /// The points between which each further point lies.
    pub(crate) midpoints: Vec<[u32; 2]>,
}

/// Triangles that fill nested closed loops, outer ones counter-clockwise and holes clockwise. They use every loop edge
/// exactly once and every other edge once each way; `None` when the triangulator can't do that.
pub(crate) fn triangulate(loops: &[Vec<DVec2>]) -> Option<Filling> {
    let mut next = 0i32;
    let polygons: Vec<Vec<PolyVert>> = loops
        .iter()
        .map(|points| {
            points
                .iter()
                .map(|p| {
                    next += 1;
                    PolyVert { pos: Vec2::new(p.x, p.y), idx: next - 1 }
                })
                .collect()
        })
        .collect();
    // A negative tolerance lets the triangulator choose one from the extent.
    let filled = catch_unwind(AssertUnwindSafe(|| polygon::triangulate_idx(&polygons, -1.0, true))).ok()?;
    let mut triangles: Vec<[u32; 3]> = filled.iter().map(|t| [t.x as u32, t.y as u32, t.z as u32]).collect();
    let midpoints = split_repeats(&mut triangles, next as u32)?;
    fills(loops, &triangles).then_some(Filling { triangles, midpoints })
}

/// Where loops touch or cross, the triangulator may draw two diagonals between the same points. All but one get a
/// point in their middle, so that no edge has more than two triangles.
fn split_repeats(triangles: &mut Vec<[u32; 3]>, first_new: u32) -> Option<Vec<[u32; 2]>> {
    let mut midpoints = Vec::new();
    loop {
        let mut edges: Vec<([u32; 2], usize)> = Vec::with_capacity(triangles.len() * 3);
        for (i, t) in triangles.iter().enumerate() {
            edges.extend([([t[0], t[1]], i), ([t[1], t[2]], i), ([t[2], t[0]], i)]);
        }
        edges.sort_unstable();
        let Some(repeat) = edges.windows(2).find(|w| w[0].0 == w[1].0) else { return Some(midpoints) };
        let ([a, b], one) = repeat[1];
        let (_, other) = *edges[..edges.partition_point(|e| e.0 <= [b, a])].last().filter(|e| e.0 == [b, a])?;
        let middle = first_new + midpoints.len() as u32;
        midpoints.push([a, b]);
        for (triangle, from, to) in [(one, a, b), (other, b, a)] {
            let t = triangles[triangle];
            let apex = *t.iter().find(|v| **v != from && **v != to)?;
            triangles[triangle] = [from, middle, apex];
            triangles.push([middle, to, apex]);
        }
    }
}

/// Whether the directed edges of the triangles are the loop edges once each, plus inner edges once each way.
fn fills(loops: &[Vec<DVec2>], triangles: &[[u32; 3]]) -> bool {
    let mut edges: Vec<(u32, u32)> = Vec::with_capacity(triangles.len() * 6);
    for t in triangles {
        edges.extend([(t[0], t[1]), (t[1], t[2]), (t[2], t[0])]);
    }
    let mut base = 0;
    for points in loops {
        let n = points.len() as u32;
        edges.extend((0..n).map(|k| (base + (k + 1) % n, base + k)));
        base += n;
    }
    let mut reversed: Vec<(u32, u32)> = edges.iter().map(|(a, b)| (*b, *a)).collect();
    edges.sort_unstable();
    reversed.sort_unstable();
    edges == reversed && edges.windows(2).all(|w| w[0] != w[1])
}

fn combine(what: &'static str, a: &Mesh, b: &Mesh, op: OpType) -> Result<Mesh, BooleanError> {
    let (large, small) = if op == OpType::Subtract || a.triangles.len() >= b.triangles.len() { (a, b) } else { (b, a) };
    match local::combine(what, large, small, op)? {
        Some(done) => Ok(done),
        None => combine_whole(what, a, b, op),
    }
}

fn combine_whole(what: &'static str, a: &Mesh, b: &Mesh, op: OpType) -> Result<Mesh, BooleanError> {
    let (solid_a, solid_b) = (import(a, 1)?, import(b, 2)?);
    match (a.is_empty() || b.is_empty(), op) {
        (true, OpType::Intersect) => Ok(Mesh::default()),
        (true, OpType::Add) if a.is_empty() => Ok(used(b)),
        (true, _) => Ok(used(a)),
        (false, _) => Ok(export(&engine(what, &solid_a, &solid_b, op)?)),
    }
}

/// Union of solids whose operand numbers start at `first`. Solids with boxes apart share a layer; only layers are
/// computed with each other.
fn union_counted(solids: &[Mesh], first: usize) -> Result<Manifold, BooleanError> {
    let mut layers: Vec<(Vec<Manifold>, Vec<Bounds>)> = Vec::new();
    for (i, solid) in solids.iter().enumerate() {
        let imported = import(solid, first + i)?;
        let Some(bounds) = used_bounds(solid) else { continue };
        match layers.iter_mut().find(|(_, taken)| taken.iter().all(|b| apart(b, &bounds))) {
            Some((together, taken)) => {
                together.push(imported);
                taken.push(bounds);
            }
            None => layers.push((vec![imported], vec![bounds])),
        }
    }
    let mut joined = Manifold::empty();
    for (layer, _) in layers {
        let layer = guarded("union", || Manifold::compose(&layer))?;
        joined = if joined.is_empty() { layer } else { engine("union", &joined, &layer, OpType::Add)? };
    }
    Ok(joined)
}

fn engine(what: &'static str, a: &Manifold, b: &Manifold, op: OpType) -> Result<Manifold, BooleanError> {
    let solid = guarded(what, || a.boolean_with_engine(b, op, BooleanEngine::Exact))?;
    match solid.status() {
        EngineError::NoError => Ok(solid),
        status => Err(BooleanError::Failed { what, why: status.to_string() }),
    }
}

/// Whether two boxes have clear space between them.
fn apart(a: &Bounds, b: &Bounds) -> bool {
    a.max.cmplt(b.min).any() || b.max.cmplt(a.min).any()
}

fn used_bounds(mesh: &Mesh) -> Option<Bounds> {
    Bounds::of(mesh.triangles.iter().flatten().map(|v| mesh.vertices[*v as usize]))
}

/// The mesh without the vertices that no triangle uses.
fn used(mesh: &Mesh) -> Mesh {
    mesh.subset(&(0..mesh.triangles.len() as u32).collect::<Vec<_>>())
}

fn check_length(what: &'static str, value: f64) -> Result<(), BooleanError> {
    if value.is_finite() && value >= 0.0 { Ok(()) } else { Err(BooleanError::BadLength { what, value }) }
}

fn check(mesh: &Mesh, operand: usize) -> Result<(), BooleanError> {
    if let Some(vertex) = mesh.vertices.iter().position(|v| !v.is_finite()) {
        return Err(BooleanError::NotFinite { operand, vertex });
    }
    let count = mesh.vertices.len();
    match mesh.triangles.iter().position(|t| t.iter().any(|v| *v as usize >= count)) {
        Some(triangle) => Err(BooleanError::BadIndex { operand, triangle }),
        None => Ok(()),
    }
}

fn buffers(mesh: &Mesh) -> MeshGLP<f64, u32> {
    MeshGLP {
        num_prop: 3,
        vert_properties: mesh.vertices.iter().flat_map(|v| v.to_array()).collect(),
        tri_verts: mesh.triangles.iter().flatten().copied().collect(),
        ..MeshGLP::default()
    }
}

fn import(mesh: &Mesh, operand: usize) -> Result<Manifold, BooleanError> {
    check(mesh, operand)?;
    if mesh.is_empty() {
        return Ok(Manifold::empty());
    }
    let volume_mm3 = mesh.volume_mm3();
    let solid = guarded("import", || Manifold::from_mesh_glp(&buffers(mesh)))?;
    if solid.status() != EngineError::NoError {
        return Err(import_error(mesh, operand, solid.status()));
    }
    if volume_mm3 < 0.0 {
        return Err(BooleanError::InsideOut { operand, volume_mm3 });
    }
    Ok(solid)
}

/// Import that takes crowded edges as long as the surface closes.
fn import_loose(mesh: &Mesh) -> Result<Manifold, BooleanError> {
    check(mesh, 1)?;
    let solid = guarded("import", || Manifold::from_mesh_glp_robust(&buffers(mesh)))?;
    if solid.status() != EngineError::NoError {
        return Err(import_error(mesh, 1, solid.status()));
    }
    Ok(solid)
}

/// Names the place where an import failed.
fn import_error(mesh: &Mesh, operand: usize, status: EngineError) -> BooleanError {
    let census = mesh.edge_census();
    let faulty = [&census.open, &census.flipped, &census.crowded];
    match faulty.iter().find_map(|list| list.first()) {
        Some([a, b]) => BooleanError::NotClosed {
            operand,
            edges: faulty.iter().map(|list| list.len()).sum(),
            near: (mesh.vertices[*a as usize] + mesh.vertices[*b as usize]) * 0.5,
        },
        None => BooleanError::Failed { what: "import", why: format!("solid {operand}: {status}") },
    }
}

/// Runs an engine call; its panics become errors, since they are its faults and not the caller's.
fn guarded<T>(what: &'static str, call: impl FnOnce() -> T) -> Result<T, BooleanError> {
    catch_unwind(AssertUnwindSafe(call)).map_err(|cause| {
        let why = cause.downcast_ref::<String>().cloned();
        let why = why.or_else(|| cause.downcast_ref::<&str>().map(|s| (*s).to_owned()));
        BooleanError::Failed { what, why: why.unwrap_or_else(|| "the engine broke off".to_owned()) }
    })
}

fn finish(what: &'static str, call: impl FnOnce() -> Manifold) -> Result<Mesh, BooleanError> {
    let solid = guarded(what, call)?;
    match solid.status() {
        EngineError::NoError => Ok(export(&solid)),
        status => Err(BooleanError::Failed { what, why: status.to_string() }),
    }
}

fn export(solid: &Manifold) -> Mesh {
    let out: MeshGLP<f64, u32> = solid.get_mesh_glp(-1);
    Mesh {
        vertices: out.vert_properties.chunks_exact(3).map(DVec3::from_slice).collect(),
        triangles: out.tri_verts.chunks_exact(3).map(|t| [t[0], t[1], t[2]]).collect(),
    }
}

#[cfg(test)]
mod tests;
