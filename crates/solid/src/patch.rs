//! Open pieces of a surface: made finer, ruled with lines, taken apart along them.
//!
//! Everything keeps the surface where it is: new corners lie on the edges that were there.

use crate::Mesh;
use glam::{DVec2, DVec3};
use std::collections::BTreeMap;

/// A crossing nearer to an edge's end than this share of it is put on the end: no slivers.
const SNAP: f64 = 0.05;
/// Rounds of halving at most: an edge becomes a thousandth of itself.
const ROUNDS: usize = 10;

/// The surface with edges no longer than `longest_mm`: every longer edge is halved, again and again, up to ten times.
pub fn finer(mesh: &Mesh, longest_mm: f64) -> Mesh {
    let mut mesh = mesh.clone();
    for _ in 0..ROUNDS {
        let long = |mesh: &Mesh, a: u32, b: u32| {
            (mesh.vertices[a as usize] - mesh.vertices[b as usize]).length_squared() > longest_mm * longest_mm
        };
        let (next, split) = divided(&mesh, &mut |mesh, a, b| long(mesh, a, b).then_some(0.5));
        mesh = next;
        if split.is_empty() {
            break;
        }
    }
    mesh
}

/// A surface ruled with the line where a quantity is zero.
#[derive(Clone, Debug)]
pub struct Ruled {
    /// The surface, with corners on the line.
    pub mesh: Mesh,
    /// The quantity at each corner: exactly 0 on the line.
    pub values: Vec<f64>,
}

impl Ruled {
    /// The parts where the quantity is negative and where it is positive.
    pub fn sides(&self) -> [Mesh; 2] {
        let above = |t: &[u32; 3]| t.iter().any(|v| self.values[*v as usize] > 0.0);
        let (mut low, mut high) = (Vec::new(), Vec::new());
        for (k, t) in self.mesh.triangles.iter().enumerate() {
            if above(t) { high.push(k as u32) } else { low.push(k as u32) }
        }
        [self.mesh.subset(&low), self.mesh.subset(&high)]
    }
}

/// The surface ruled with the line where a quantity, known at the corners, is zero. `at` says where between two corners
/// (a share of the way from the first, 0 to 1), given their numbers, the first of which has the negative value.
pub fn ruled(mesh: &Mesh, values: &[f64], at: &mut dyn FnMut(u32, u32) -> f64) -> Ruled {
    let mut values = values.to_vec();
    let mut known: BTreeMap<[u32; 2], f64> = BTreeMap::new();
    // Ends that crossings come too near to, seen before anything is moved.
    let mut near = Vec::new();
    for t in &mesh.triangles {
        for k in 0..3 {
            let (a, b) = (t[k], t[(k + 1) % 3]);
            let [a, b] = if values[a as usize] < values[b as usize] { [a, b] } else { [b, a] };
            if values[a as usize] < 0.0 && values[b as usize] > 0.0 && !known.contains_key(&[a, b]) {
                let share = at(a, b);
                known.insert([a, b], share);
                near.extend((share < SNAP).then_some(a));
                near.extend((share > 1.0 - SNAP).then_some(b));
            }
        }
    }
    near.iter().for_each(|v| values[*v as usize] = 0.0);
    let (mesh, split) = divided(mesh, &mut |_, a, b| {
        let turned = values[a as usize] > values[b as usize];
        let [low, high] = if turned { [b, a] } else { [a, b] };
        if !(values[low as usize] < 0.0 && values[high as usize] > 0.0) {
            return None;
        }
        let share = known.get(&[low, high]).copied().unwrap_or(0.5);
        Some(if turned { 1.0 - share } else { share })
    });
    values.extend(split.iter().map(|_| 0.0));
    Ruled { mesh, values }
}

/// As [`ruled`], where the quantity runs evenly along each edge.
pub fn ruled_evenly(mesh: &Mesh, values: &[f64]) -> Ruled {
    ruled(mesh, values, &mut |a, b| {
        let (low, high) = (values[a as usize], values[b as usize]);
        low / (low - high)
    })
}

/// Divides edges: `at` gives the share of the way from one corner to the other at which the edge between them is divided, or
/// nothing. Asked once for each edge. Gives the new mesh, and the edges that were divided, in the order of their new corners.
fn divided(mesh: &Mesh, at: &mut dyn FnMut(&Mesh, u32, u32) -> Option<f64>) -> (Mesh, Vec<[u32; 2]>) {
    let mut vertices = mesh.vertices.clone();
    let mut asked: BTreeMap<[u32; 2], Option<u32>> = BTreeMap::new();
    let mut split = Vec::new();
    let mut triangles = Vec::with_capacity(mesh.triangles.len());
    for t in &mesh.triangles {
        let mut middle = [None; 3];
        for k in 0..3 {
            let (a, b) = (t[k].min(t[(k + 1) % 3]), t[k].max(t[(k + 1) % 3]));
            middle[k] = *asked.entry([a, b]).or_insert_with(|| {
                let share = at(mesh, a, b)?;
                let new = u32::try_from(vertices.len()).expect("a mesh has fewer than 2^32 vertices");
                vertices.push(mesh.vertices[a as usize].lerp(mesh.vertices[b as usize], share));
                split.push([a, b]);
                Some(new)
            });
        }
        let count = middle.iter().flatten().count();
        // Turned so that the edges to divide come first.
        let turn = match count {
            1 => (0..3).find(|k| middle[*k].is_some()).unwrap_or(0),
            2 => (0..3).find(|k| middle[(*k + 2) % 3].is_none()).unwrap_or(0),
            _ => 0,
        };
        let [a, b, c] = [0, 1, 2].map(|k| t[(k + turn) % 3]);
        let [ab, bc, ca] = [0, 1, 2].map(|k| middle[(k + turn) % 3]);
        match (ab, bc, ca) {
            (Some(p), None, None) => triangles.extend([[a, p, c], [p, b, c]]),
            (Some(p), Some(q), None) => {
                let apart = |i: u32, j: u32| (vertices[i as usize] - vertices[j as usize]).length_squared();
                triangles.push([p, b, q]);
                triangles.extend(if apart(a, q) < apart(p, c) {
                    [[a, p, q], [a, q, c]]
                } else {
                    [[a, p, c], [p, q, c]]
                });
            }
            (Some(p), Some(q), Some(r)) => triangles.extend([[a, p, r], [p, b, q], [r, q, c], [p, q, r]]),
            _ => triangles.push(*t),
        }
    }
    (Mesh { vertices, triangles }, split)
}

/// The surface taken apart along edges: corners between faces that hang together only across them are doubled.
pub fn opened(mesh: &Mesh, along: &dyn Fn(u32, u32) -> bool) -> Mesh {
    // Corners of triangles, 3 t + k: those that stay one vertex have one root.
    let mut parent: Vec<u32> = (0..mesh.triangles.len() as u32 * 3).collect();
    let mut edges: BTreeMap<[u32; 2], [u32; 2]> = BTreeMap::new();
    for (t, triangle) in mesh.triangles.iter().enumerate() {
        for k in 0..3 {
            let (i, j) = ((3 * t + k) as u32, (3 * t + (k + 1) % 3) as u32);
            let (a, b) = (triangle[k], triangle[(k + 1) % 3]);
            if along(a.min(b), a.max(b)) {
                continue;
            }
            let mine = if a < b { [i, j] } else { [j, i] };
            if let Some(other) = edges.insert([a.min(b), a.max(b)], mine) {
                join(&mut parent, mine[0], other[0]);
                join(&mut parent, mine[1], other[1]);
            }
        }
    }
    let mut slot = vec![u32::MAX; parent.len()];
    let mut out = Mesh::default();
    for (t, triangle) in mesh.triangles.iter().enumerate() {
        out.triangles.push([0, 1, 2].map(|k| {
            let root = root(&mut parent, (3 * t + k) as u32) as usize;
            if slot[root] == u32::MAX {
                slot[root] = out.vertices.len() as u32;
                out.vertices.push(mesh.vertices[triangle[k] as usize]);
            }
            slot[root]
        }));
    }
    out
}

fn root(parent: &mut [u32], mut v: u32) -> u32 {
    while parent[v as usize] != v {
        parent[v as usize] = parent[parent[v as usize] as usize];
        v = parent[v as usize];
    }
    v
}

fn join(parent: &mut [u32], a: u32, b: u32) {
    let (a, b) = (root(parent, a), root(parent, b));
    parent[a.max(b) as usize] = a.min(b);
}

/// The borders of a surface, each a closed chain of corners in the direction of its triangles, in order of their first
/// corner's number.
pub fn borders(mesh: &Mesh) -> Vec<Vec<u32>> {
    let mut next: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
    for [a, b] in mesh.edge_census().open {
        next.entry(a).or_default().push(b);
    }
    let mut chains = Vec::new();
    while let Some((&start, _)) = next.iter().next() {
        let mut chain = vec![start];
        let mut at = start;
        while let Some(list) = next.get_mut(&at) {
            let to = list.pop();
            if list.is_empty() {
                next.remove(&at);
            }
            match to {
                Some(to) if to != start => chain.push(to),
                _ => break,
            }
            at = chain[chain.len() - 1];
        }
        if chain.len() > 2 {
            chains.push(chain);
        }
    }
    chains
}

/// Where a quantity that is known at the corners is zero, as lines on the surface laid flat.
pub fn traced(triangles: &[[u32; 3]], flat: &[DVec2], value: &dyn Fn(u32) -> f64) -> Vec<Vec<DVec2>> {
    // Each triangle's stretch leads from one crossed edge to another; stretches that share an edge go on into each other.
    let mut beside: BTreeMap<[u32; 2], Vec<[u32; 2]>> = BTreeMap::new();
    for t in triangles {
        let v = t.map(value);
        let crossed: Vec<[u32; 2]> = (0..3)
            .map(|k| (k, (k + 1) % 3))
            .filter(|(i, j)| (v[*i] < 0.0) != (v[*j] < 0.0))
            .map(|(i, j)| [t[i].min(t[j]), t[i].max(t[j])])
            .collect();
        if let [a, b] = crossed[..] {
            beside.entry(a).or_default().push(b);
            beside.entry(b).or_default().push(a);
        }
    }
    let at = |[a, b]: [u32; 2]| {
        let (u, v) = (value(a), value(b));
        flat[a as usize].lerp(flat[b as usize], u / (u - v))
    };
    let mut lines = Vec::new();
    // From loose ends first, then round what is closed.
    let ends: Vec<[u32; 2]> = beside.iter().filter(|(_, n)| n.len() == 1).map(|(e, _)| *e).collect();
    let all: Vec<[u32; 2]> = beside.keys().copied().collect();
    for start in ends.into_iter().chain(all) {
        let mut line = vec![at(start)];
        let mut here = start;
        while let Some(next) = beside.get_mut(&here).and_then(Vec::pop) {
            if let Some(back) = beside.get_mut(&next) {
                back.iter().position(|e| *e == here).map(|k| back.swap_remove(k));
            }
            line.push(at(next));
            here = next;
        }
        if line.len() > 1 {
            lines.push(line);
        }
    }
    lines
}

/// Outward unit normals at the corners, weighed by area and evened out over `rounds` of neighbours.
pub(crate) fn even_normals(mesh: &Mesh, rounds: usize) -> Vec<DVec3> {
    let mut normals = vec![DVec3::ZERO; mesh.vertices.len()];
    for (k, t) in mesh.triangles.iter().enumerate() {
        t.iter().for_each(|v| normals[*v as usize] += mesh.area_vector(k));
    }
    for _ in 0..rounds {
        let before: Vec<DVec3> = normals.iter().map(|n| n.normalize_or_zero()).collect();
        normals = before.clone();
        for t in &mesh.triangles {
            let sum = t.iter().fold(DVec3::ZERO, |sum, v| sum + before[*v as usize]);
            t.iter().for_each(|v| normals[*v as usize] += sum);
        }
    }
    normals.iter().map(|n| n.normalize_or_zero()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cylinder;

    fn square() -> Mesh {
        let vertices =
            [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(|(x, y)| DVec3::new(x, y, 0.0)).to_vec();
        Mesh { vertices, triangles: vec![[0, 1, 2], [0, 2, 3]] }
    }

    #[test]
    fn finer_keeps_the_surface_and_its_one_border() {
        let fine = finer(&square(), 1.0);
        assert!((fine.area_mm2() - 100.0).abs() < 1e-9);
        let longest = fine
            .triangles
            .iter()
            .flat_map(|t| (0..3).map(move |k| [t[k], t[(k + 1) % 3]]))
            .map(|[a, b]| (fine.vertices[a as usize] - fine.vertices[b as usize]).length());
        assert!(longest.fold(0.0, f64::max) <= 1.0);
        let census = fine.edge_census();
        assert!(census.crowded.is_empty() && census.flipped.is_empty());
        let rim = borders(&fine);
        assert_eq!(rim.len(), 1);
        let closed = (0..rim[0].len()).map(|k| {
            (fine.vertices[rim[0][k] as usize] - fine.vertices[rim[0][(k + 1) % rim[0].len()] as usize]).length()
        });
        assert!((closed.sum::<f64>() - 40.0).abs() < 1e-9);
    }

    #[test]
    fn sides_of_a_line_share_it() {
        let fine = finer(&square(), 2.0);
        let values: Vec<f64> = fine.vertices.iter().map(|v| v.x - 3.3).collect();
        let ruled = ruled_evenly(&fine, &values);
        let [low, high] = ruled.sides();
        // A corner within a twentieth of an edge of the line stands for it.
        assert!((low.area_mm2() - 33.0).abs() < 1.0 && (low.area_mm2() + high.area_mm2() - 100.0).abs() < 1e-9);
        assert!(ruled.mesh.edge_census().crowded.is_empty());
        assert_eq!(borders(&low).len() + borders(&high).len(), 2);
    }

    #[test]
    fn a_tube_opened_along_a_line_has_one_border() {
        let whole = cylinder(DVec3::ZERO, DVec3::X * 20.0, 5.0, 24);
        let wall: Vec<u32> = (0..whole.triangles.len() as u32)
            .filter(|t| whole.area_vector(*t as usize).normalize().x.abs() < 0.5)
            .collect();
        let tube = finer(&whole.subset(&wall), 2.0);
        assert_eq!(borders(&tube).len(), 2);
        let off: Vec<f64> = tube.vertices.iter().map(|v| v.y).collect();
        let Ruled { mesh, values } = ruled_evenly(&tube, &off);
        let slit = opened(&mesh, &|a, b| {
            [a, b].iter().all(|v| values[*v as usize] == 0.0 && mesh.vertices[*v as usize].z < 0.0)
        });
        assert_eq!(borders(&slit).len(), 1);
        assert!((slit.area_mm2() - tube.area_mm2()).abs() < 1e-9);
        assert_eq!(slit.shells().len(), 1);
    }

    #[test]
    fn lines_are_traced_on_the_flat() {
        let fine = finer(&square(), 1.0);
        let flat: Vec<DVec2> = fine.vertices.iter().map(|v| v.truncate()).collect();
        let lines = traced(&fine.triangles, &flat, &|v| flat[v as usize].y - 2.5);
        assert_eq!(lines.len(), 1);
        let length: f64 = lines[0].windows(2).map(|w| w[0].distance(w[1])).sum();
        assert!((length - 10.0).abs() < 1e-9 && lines[0].iter().all(|p| (p.y - 2.5).abs() < 1e-9));
        let round = traced(&fine.triangles, &flat, &|v| flat[v as usize].distance(DVec2::splat(5.0)) - 3.0);
        assert!(round.len() == 1 && round[0].first() == round[0].last(), "closed");
    }
}
