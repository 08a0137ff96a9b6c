//! Edges at fault, in connected groups, the longest first.

use super::{Fault, FaultKind};
use crate::{Bounds, EdgeCensus, Mesh};
use glam::DVec3;

/// One fault for each kind of wrong edge there is.
pub(super) fn of_edges(mesh: &Mesh, census: &EdgeCensus) -> Vec<Fault> {
    [
        (FaultKind::OpenEdges, &census.open),
        (FaultKind::FlippedFaces, &census.flipped),
        (FaultKind::CrowdedEdges, &census.crowded),
    ]
    .into_iter()
    .filter_map(|(kind, edges)| worst(mesh, kind, edges))
    .collect()
}

fn worst(mesh: &Mesh, kind: FaultKind, edges: &[[u32; 2]]) -> Option<Fault> {
    let groups = groups(mesh, edges);
    let (length_mm, bounds) = groups.first()?;
    Some(Fault { kind, count: groups.len(), length_mm: *length_mm, place: bounds.center(), size: bounds.size() })
}

/// Length and box of each connected group of edges, the longest first, then in the order of their first vertex.
fn groups(mesh: &Mesh, edges: &[[u32; 2]]) -> Vec<(f64, Bounds)> {
    let measured = |group: Vec<[u32; 2]>| {
        let ends: Vec<[DVec3; 2]> = group.iter().map(|e| e.map(|v| mesh.vertices[v as usize])).collect();
        let length = ends.iter().map(|[p, q]| p.distance(*q)).sum();
        Some((length, Bounds::of(ends.into_iter().flatten())?))
    };
    let mut groups: Vec<(f64, Bounds)> = grouped(edges).into_iter().filter_map(measured).collect();
    groups.sort_by(|p, q| q.0.total_cmp(&p.0));
    groups
}

/// Edges in sets that hang together, each in the order given, by their first member.
pub(super) fn grouped(edges: &[[u32; 2]]) -> Vec<Vec<[u32; 2]>> {
    let mut vertices: Vec<u32> = edges.iter().flatten().copied().collect();
    vertices.sort_unstable();
    vertices.dedup();
    let slot = |v: u32| vertices.partition_point(|other| *other < v);
    let mut parent: Vec<usize> = (0..vertices.len()).collect();
    edges.iter().for_each(|[a, b]| join(&mut parent, slot(*a), slot(*b)));
    let mut groups: Vec<Vec<[u32; 2]>> = vec![Vec::new(); vertices.len()];
    edges.iter().for_each(|e| groups[root(&mut parent, slot(e[0]))].push(*e));
    groups.retain(|g| !g.is_empty());
    groups
}

/// The lowest member of a set in a union-find forest.
pub(super) fn root(parent: &mut [usize], mut at: usize) -> usize {
    while parent[at] != at {
        parent[at] = parent[parent[at]];
        at = parent[at];
    }
    at
}

/// Makes one set of two in a union-find forest.
pub(super) fn join(parent: &mut [usize], a: usize, b: usize) {
    let (a, b) = (root(parent, a), root(parent, b));
    parent[a.max(b)] = a.min(b);
}
