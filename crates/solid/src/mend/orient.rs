//! Which way faces run along their shared edges.

use super::fault::{join, root};
use super::note::spots_of_faces;
use super::{Mend, MendKind};
use crate::{Bounds, Mesh};
use glam::DVec3;
use rayon::prelude::*;
use std::collections::HashMap;

/// One triangle's use of an edge.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Use {
    pub(super) low: u32,
    pub(super) high: u32,
    pub(super) triangle: u32,
    /// Whether the triangle runs from the lower to the higher vertex.
    pub(super) up: bool,
}

/// All uses, sorted by edge, then by triangle.
pub(super) fn uses(mesh: &Mesh, wanted: impl Fn(u32, u32) -> bool + Sync) -> Vec<Use> {
    let of_triangle = |(triangle, t): (usize, &[u32; 3])| {
        [0, 1, 2].map(|k| {
            let (a, b) = (t[k], t[(k + 1) % 3]);
            Use { low: a.min(b), high: a.max(b), triangle: triangle as u32, up: a < b }
        })
    };
    let all = mesh.triangles.par_iter().enumerate().flat_map_iter(of_triangle);
    let mut uses: Vec<Use> = all.filter(|u| wanted(u.low, u.high)).collect();
    uses.par_sort_unstable();
    uses
}

/// Faces that hang together over edges with two faces.
pub(super) struct Surface {
    /// Its faces, from the first outwards.
    pub(super) faces: Vec<u32>,
    /// Whether no way of turning them makes all neighbours run opposite ways, as in a twisted band.
    pub(super) twisted: bool,
}

/// The surfaces by their first face, and which faces would have to be turned to run like the first of theirs.
pub(super) fn surfaces(mesh: &Mesh, uses: &[Use]) -> (Vec<Surface>, Vec<bool>) {
    // For each triangle its up to three neighbours, and whether one of the two has to be turned.
    let mut next: Vec<[(u32, bool); 3]> = vec![[(u32::MAX, false); 3]; mesh.triangles.len()];
    for pair in uses.chunk_by(|a, b| (a.low, a.high) == (b.low, b.high)).filter(|g| g.len() == 2) {
        for (from, to) in [(pair[0], pair[1]), (pair[1], pair[0])] {
            let free = next[from.triangle as usize].iter_mut().find(|n| n.0 == u32::MAX);
            free.into_iter().for_each(|slot| *slot = (to.triangle, from.up == to.up));
        }
    }
    let mut turned: Vec<Option<bool>> = vec![None; mesh.triangles.len()];
    let mut surfaces = Vec::new();
    for start in 0..mesh.triangles.len() {
        if turned[start].is_some() {
            continue;
        }
        turned[start] = Some(false);
        let mut faces = vec![start as u32];
        let mut at = 0;
        let mut twisted = false;
        while let Some(t) = faces.get(at).copied() {
            at += 1;
            let own = turned[t as usize] == Some(true);
            for (n, differs) in next[t as usize].into_iter().filter(|(n, _)| *n != u32::MAX) {
                match turned[n as usize] {
                    None => {
                        turned[n as usize] = Some(own != differs);
                        faces.push(n);
                    }
                    Some(known) => twisted |= known != (own != differs),
                }
            }
        }
        surfaces.push(Surface { faces, twisted });
    }
    (surfaces, turned.into_iter().map(|t| t == Some(true)).collect())
}

/// Turns faces so that neighbours over edges with two faces run opposite ways, the fewer in each connected surface;
/// surfaces where that can't be, such as a twisted band, stay. Whether anything changed.
pub(super) fn turn_flipped(mesh: &mut Mesh, mends: &mut Vec<Mend>) -> bool {
    let (surfaces, turned) = surfaces(mesh, &uses(mesh, |_, _| true));
    let mut swapped: Vec<u32> = Vec::new();
    for Surface { faces, .. } in surfaces.iter().filter(|s| !s.twisted) {
        let to_turn = faces.iter().filter(|t| turned[**t as usize]).count();
        let wanted = 2 * to_turn <= faces.len();
        for t in faces.iter().filter(|t| turned[**t as usize] == wanted) {
            mesh.triangles[*t as usize].swap(1, 2);
            swapped.push(*t);
        }
    }
    if !swapped.is_empty() {
        let spots = spots_of_faces(mesh, swapped.iter().copied());
        mends.push(Mend::new(MendKind::FlippedFaces, swapped.len(), spots));
    }
    !swapped.is_empty()
}

/// Gives each solid its own copy of an edge that several touch at. At such an edge as many faces run up as down; going
/// around it, every solid lies between a face that runs down and the next that runs up. Whether anything changed.
pub(super) fn part_touching(mesh: &mut Mesh, crowded: &[[u32; 2]], mends: &mut Vec<Mend>) -> bool {
    let mut ends = vec![false; mesh.vertices.len()];
    crowded.iter().flatten().for_each(|v| ends[*v as usize] = true);
    let uses = uses(mesh, |a, b| ends[a as usize] || ends[b as usize]);
    // Corners of triangles at the ends of crowded edges, joined over each edge to the partner's corner there.
    let mut corners: Vec<(u32, u32)> = Vec::new();
    for (t, c) in mesh.triangles.iter().enumerate() {
        corners.extend(c.iter().filter(|v| ends[**v as usize]).map(|v| (*v, t as u32)));
    }
    corners.sort_unstable();
    let slot = |v: u32, t: u32| corners.binary_search(&(v, t)).ok();
    let mut parent: Vec<usize> = (0..corners.len()).collect();
    let mut spots: Vec<Bounds> = Vec::new();
    for group in uses.chunk_by(|a, b| (a.low, a.high) == (b.low, b.high)) {
        let pairs = if group.len() <= 2 { vec![(group[0], group[group.len() - 1])] } else { around(mesh, group) };
        if group.len() > 2 && !pairs.is_empty() {
            spots.extend(Bounds::of([group[0].low, group[0].high].map(|v| mesh.vertices[v as usize])));
        }
        // An edge that bounds no solids keeps all its faces together, and is a fault.
        let pairs = if pairs.is_empty() { group.windows(2).map(|w| (w[0], w[1])).collect() } else { pairs };
        for (a, b) in pairs {
            for v in [a.low, a.high] {
                if let (Some(a), Some(b)) = (slot(v, a.triangle), slot(v, b.triangle)) {
                    join(&mut parent, a, b);
                }
            }
        }
    }
    if spots.is_empty() {
        return false;
    }
    let mut copy_of: HashMap<usize, u32> = HashMap::new();
    for k in 0..corners.len() {
        let (v, t) = corners[k];
        let set = root(&mut parent, k);
        // The set of the vertex's first corner keeps the vertex.
        let first = corners.partition_point(|c| c.0 < v);
        if set == root(&mut parent, first) {
            continue;
        }
        let copy = *copy_of.entry(set).or_insert_with(|| {
            mesh.vertices.push(mesh.vertices[v as usize]);
            mesh.vertices.len() as u32 - 1
        });
        mesh.triangles[t as usize].iter_mut().filter(|c| **c == v).for_each(|c| *c = copy);
    }
    mends.push(Mend::new(MendKind::TouchingEdges, spots.len(), spots));
    true
}

/// The faces at an edge in pairs that bound the same solid; empty where they bound none.
fn around(mesh: &Mesh, group: &[Use]) -> Vec<(Use, Use)> {
    let (low, high) = (mesh.vertices[group[0].low as usize], mesh.vertices[group[0].high as usize]);
    let Some(axis) = (high - low).try_normalize() else { return vec![] };
    let (across, up) = axis.any_orthonormal_pair();
    let mut faces: Vec<(f64, Use)> = group
        .iter()
        .map(|u| {
            let corners = mesh.triangles[u.triangle as usize];
            let apex = corners.into_iter().find(|v| *v != u.low && *v != u.high).unwrap_or(u.low);
            let out: DVec3 = mesh.vertices[apex as usize] - low;
            (libm::atan2(out.dot(up), out.dot(across)), *u)
        })
        .collect();
    faces.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    open_at_widest_gap(&mut faces);
    [false, true].into_iter().find_map(|up| alternating(&faces, up)).unwrap_or_default()
}

/// Rotates directions sorted around an edge so that the widest gap lies between the last and the first, and no two
/// that coincide are parted.
fn open_at_widest_gap(faces: &mut [(f64, Use)]) {
    use std::f64::consts::TAU;
    let n = faces.len();
    let gap = |k: usize| if k == 0 { faces[0].0 + TAU - faces[n - 1].0 } else { faces[k].0 - faces[k - 1].0 };
    let start = (0..n).max_by(|a, b| gap(*a).total_cmp(&gap(*b))).unwrap_or(0);
    faces[..start].iter_mut().for_each(|f| f.0 += TAU);
    faces.rotate_left(start);
}

/// Pairs of a face that runs down and the next that runs up, the first face running as `up` says; faces in one
/// direction, such as a wall's two sides, may swap places. `None` when they don't alternate.
fn alternating(faces: &[(f64, Use)], up: bool) -> Option<Vec<(Use, Use)>> {
    /// Directions closer than this, rad, are one.
    const SAME_DIRECTION: f64 = 1e-6;
    let mut faces = faces.to_vec();
    for k in 0..faces.len() {
        let wanted = up == (k % 2 == 0);
        let reach = faces[k].0 + SAME_DIRECTION;
        let found = (k..faces.len()).take_while(|j| faces[*j].0 <= reach).find(|j| faces[*j].1.up == wanted)?;
        faces[k..=found].rotate_right(1);
    }
    if faces.len() % 2 == 1 {
        return None;
    }
    if up {
        faces.rotate_left(1);
    }
    Some(faces.chunks(2).map(|pair| (pair[0].1, pair[1].1)).collect())
}
