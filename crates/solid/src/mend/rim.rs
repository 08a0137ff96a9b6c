//! The rims of holes.

use super::fault::{join, root};
use crate::Mesh;
use std::collections::HashMap;

/// Parts the vertices at which a surface meets itself in a point on its rim, so that every rim is a simple ring. Whether
/// any vertex was parted; the edges' names have changed then.
pub(super) fn part_pinched(mesh: &mut Mesh, open: &[[u32; 2]]) -> bool {
    let mut leaving: Vec<u32> = open.iter().map(|e| e[0]).collect();
    leaving.sort_unstable();
    let pinched: Vec<u32> = leaving.chunk_by(|a, b| a == b).filter(|g| g.len() > 1).map(|g| g[0]).collect();
    if pinched.is_empty() {
        return false;
    }
    // The corners at each pinched vertex, joined over the edges that two of them share.
    let mut corners: Vec<(u32, u32)> = Vec::new();
    for (t, c) in mesh.triangles.iter().enumerate() {
        corners.extend(c.iter().filter(|v| pinched.binary_search(v).is_ok()).map(|v| (*v, t as u32)));
    }
    corners.sort_unstable();
    let mut parted = false;
    for at in corners.chunk_by(|a, b| a.0 == b.0) {
        let v = at[0].0;
        let mut parent: Vec<usize> = (0..at.len()).collect();
        let mut spokes: Vec<(u32, usize)> = Vec::new();
        for (k, (_, t)) in at.iter().enumerate() {
            spokes.extend(mesh.triangles[*t as usize].iter().filter(|o| **o != v).map(|o| (*o, k)));
        }
        spokes.sort_unstable();
        spokes.windows(2).filter(|w| w[0].0 == w[1].0).for_each(|w| join(&mut parent, w[0].1, w[1].1));
        let mut copy_of: HashMap<usize, u32> = HashMap::new();
        for (k, (_, t)) in at.iter().enumerate() {
            let fan = root(&mut parent, k);
            if fan == root(&mut parent, 0) {
                continue;
            }
            let copy = *copy_of.entry(fan).or_insert_with(|| {
                mesh.vertices.push(mesh.vertices[v as usize]);
                mesh.vertices.len() as u32 - 1
            });
            mesh.triangles[*t as usize].iter_mut().filter(|c| **c == v).for_each(|c| *c = copy);
            parted = true;
        }
    }
    parted
}

/// The rings that open edges form, each in the direction in which a filling runs: against the faces beside it. Edges
/// that form no simple ring are left out.
pub(super) fn rings(open: &[[u32; 2]]) -> Vec<Vec<u32>> {
    let mut next: Vec<[u32; 2]> = open.iter().map(|[a, b]| [*b, *a]).collect();
    next.sort_unstable();
    let follow = |v: u32| {
        let from = next.partition_point(|e| e[0] < v);
        let to = next.partition_point(|e| e[0] <= v);
        (to == from + 1).then(|| next[from][1])
    };
    let mut done = vec![false; next.len()];
    let mut rings = Vec::new();
    for start in 0..next.len() {
        if done[start] {
            continue;
        }
        let first = next[start][0];
        let (mut ring, mut at) = (Vec::new(), first);
        while let Some(beyond) = follow(at) {
            let k = next.partition_point(|e| e[0] < at);
            if done[k] {
                break;
            }
            done[k] = true;
            ring.push(at);
            at = beyond;
        }
        if at == first && ring.len() >= 3 {
            rings.push(ring);
        }
    }
    rings
}

/// Takes rings apart where two holes touch in a point, which parting has joined into one that goes through both copies of it:
/// each hole gets a ring of its own, and the point is one again.
pub(super) fn apart(mesh: &mut Mesh, rings: Vec<Vec<u32>>) -> Vec<Vec<u32>> {
    let mut one_of: HashMap<u32, u32> = HashMap::new();
    let mut all = Vec::new();
    for ring in rings {
        let place = |v: u32| mesh.vertices[v as usize].to_array().map(f64::to_bits);
        let mut path: Vec<u32> = Vec::new();
        let mut place_of: HashMap<[u64; 3], usize> = HashMap::new();
        for (k, v) in ring.iter().enumerate() {
            match place_of.get(&place(*v)).copied() {
                // Loops of two are slits, and no holes.
                Some(start) if path.len() - start >= 3 && ring.len() - k + start >= 3 => {
                    one_of.insert(*v, path[start]);
                    path[start + 1..].iter().for_each(|w| {
                        place_of.remove(&place(*w));
                    });
                    let hole = path.split_off(start);
                    path.push(hole[0]);
                    all.push(hole);
                }
                _ => {
                    place_of.insert(place(*v), path.len());
                    path.push(*v);
                }
            }
        }
        all.push(path);
    }
    if !one_of.is_empty() {
        for v in mesh.triangles.iter_mut().flatten() {
            *v = *one_of.get(v).unwrap_or(v);
        }
    }
    all
}
