//! Vertices: unused ones dropped, doubled ones joined where that closes the surface.

use super::{Mend, MendKind};
use crate::read::weld::Welder;
use crate::{Bounds, EdgeCensus, Mesh};
use glam::DVec3;
use std::collections::HashMap;

/// Drops the vertices that no triangle uses.
pub(super) fn drop_loose(mesh: &mut Mesh, mends: &mut Vec<Mend>) {
    if let Some((count, place)) = compact(mesh) {
        mends.push(Mend::new(MendKind::LooseVertices, count, vec![Bounds { min: place, max: place }]));
    }
}

/// Drops unused vertices and keeps the order of the others; how many went, and where the first was.
pub(super) fn compact(mesh: &mut Mesh) -> Option<(usize, DVec3)> {
    let mut used = vec![false; mesh.vertices.len()];
    mesh.triangles.iter().flatten().for_each(|v| used[*v as usize] = true);
    let first = used.iter().position(|used| !used)?;
    let (before, place) = (mesh.vertices.len(), mesh.vertices[first]);
    let mut moved = vec![0; before];
    let mut next = 0;
    for v in (0..before).filter(|v| used[*v]) {
        moved[v] = next as u32;
        mesh.vertices[next] = mesh.vertices[v];
        next += 1;
    }
    mesh.vertices.truncate(next);
    mesh.triangles.iter_mut().flatten().for_each(|v| *v = moved[*v as usize]);
    Some((before - next, place))
}

/// Joins vertices at equal coordinates, then those on open edges that lie within the first, then the second of `reach`;
/// each only if fewer edges are wrong afterwards. Solids that touch at vertices of their own are therefore left apart.
pub(super) fn join_open(mesh: &mut Mesh, census: EdgeCensus, reach: [f64; 2], mends: &mut Vec<Mend>) -> EdgeCensus {
    let mut census = census;
    let mut joined: Option<(usize, Bounds)> = None;
    for reach in [None, Some(reach[0]), Some(reach[1])] {
        if census.open.is_empty() {
            break;
        }
        let target = reach.map_or_else(|| equal(mesh), |reach| near(mesh, &census, reach));
        let moved = (0..target.len()).filter(|v| target[*v] != *v as u32);
        let Some(place) = Bounds::of(moved.map(|v| mesh.vertices[v])) else { continue };
        let mut next = joined_to(mesh, &target);
        let after = next.edge_census();
        if wrong(&after) < wrong(&census) {
            let gone = compact(&mut next).map_or(0, |(count, _)| count);
            let all =
                Bounds::of([place.min, place.max].into_iter().chain(joined.iter().flat_map(|j| [j.1.min, j.1.max])));
            joined = all.map(|all| (joined.map_or(0, |j| j.0) + gone, all));
            *mesh = next;
            census = mesh.edge_census();
        }
    }
    mends.extend(joined.map(|(count, place)| Mend::new(MendKind::DuplicateVertices, count, vec![place])));
    census
}

/// The mesh with each vertex replaced by its target.
fn joined_to(mesh: &Mesh, target: &[u32]) -> Mesh {
    let mut next = Mesh { vertices: mesh.vertices.clone(), triangles: Vec::with_capacity(mesh.triangles.len()) };
    // A triangle with two corners joined has become an edge, used once each way: nothing opens without it.
    let corners = mesh.triangles.iter().map(|t| t.map(|v| target[v as usize]));
    next.triangles.extend(corners.filter(|[a, b, c]| a != b && b != c && c != a));
    next
}

/// The mesh with all vertices on open edges joined that lie within `reach` of each other.
pub(super) fn joined_within(mesh: &Mesh, census: &EdgeCensus, reach: f64) -> Mesh {
    let mut next = joined_to(mesh, &near(mesh, census, reach));
    compact(&mut next);
    next
}

fn wrong(census: &EdgeCensus) -> usize {
    census.open.len() + census.flipped.len() + census.crowded.len()
}

/// For each vertex the first one at the same coordinates.
fn equal(mesh: &Mesh) -> Vec<u32> {
    let mut welder = Welder::with_capacity(mesh.vertices.len());
    let mut first = Vec::new();
    mesh.vertices
        .iter()
        .enumerate()
        .map(|(v, point)| {
            let place = welder.index(*point) as usize;
            if place == first.len() {
                first.push(v as u32);
            }
            first[place]
        })
        .collect()
}

/// For each vertex on an open edge the first other one within `same`; the vertex itself elsewhere.
fn near(mesh: &Mesh, census: &EdgeCensus, same: f64) -> Vec<u32> {
    let mut target: Vec<u32> = (0..mesh.vertices.len() as u32).collect();
    let (Some(bounds), true) = (mesh.bounds(), same > 0.0) else { return target };
    let mut open: Vec<u32> = census.open.iter().flatten().copied().collect();
    open.sort_unstable();
    open.dedup();
    // With cells twice as wide as the reach, whatever is near lies in one of eight cells.
    let cell = |p: DVec3| ((p - bounds.min) / (2.0 * same)).to_array().map(|x| x.floor() as i64);
    let mut kept: HashMap<[i64; 3], Vec<u32>> = HashMap::new();
    for v in open {
        let point = mesh.vertices[v as usize];
        let (low, high) = (cell(point - DVec3::splat(same)), cell(point + DVec3::splat(same)));
        let found = (low[0]..=high[0])
            .flat_map(|x| (low[1]..=high[1]).map(move |y| (x, y)))
            .flat_map(|(x, y)| (low[2]..=high[2]).map(move |z| [x, y, z]))
            .filter_map(|key| kept.get(&key))
            .flatten()
            .filter(|other| mesh.vertices[**other as usize].distance(point) <= same)
            .min();
        match found {
            Some(other) => target[v as usize] = *other,
            None => kept.entry(cell(point)).or_default().push(v),
        }
    }
    target
}
