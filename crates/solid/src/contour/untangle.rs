//! Folds smoothed out: where vertices drawn to a crease passed each other, triangles lie on their backs.

use super::Fit;
use crate::{DVec3, Mesh};
use rayon::prelude::*;

/// How often folds are smoothed, at most.
const ROUNDS: usize = 8;

/// Moves the corners of triangles that face against the surface around them to the middle of their neighbours, and
/// back onto the surface, until no such triangle is left or patience ends.
pub(crate) fn untangle(mesh: &mut Mesh, fit: &impl Fit) {
    for _ in 0..ROUNDS {
        let is_folded = folded(mesh);
        let around = middles_of_neighbours(mesh, &is_folded);
        if around.is_empty() {
            return;
        }
        let placed: Vec<DVec3> = around.par_iter().map(|(_, middle)| fit.snap(*middle)).collect();
        for ((vertex, _), place) in around.iter().zip(placed) {
            mesh.vertices[*vertex as usize] = place;
        }
    }
}

/// For each vertex, whether it is a corner of a triangle that faces against the sum of the triangles around one of its
/// corners.
fn folded(mesh: &Mesh) -> Vec<bool> {
    let mut facing = vec![DVec3::ZERO; mesh.vertices.len()];
    for (i, t) in mesh.triangles.iter().enumerate() {
        let area = mesh.area_vector(i);
        t.iter().for_each(|v| facing[*v as usize] += area);
    }
    let is_against = |i: usize| {
        let area = mesh.area_vector(i);
        mesh.triangles[i].iter().any(|v| area.dot(facing[*v as usize]) < 0.0)
    };
    let against: Vec<usize> = (0..mesh.triangles.len()).into_par_iter().filter(|i| is_against(*i)).collect();
    let mut folded = vec![false; mesh.vertices.len()];
    against.into_iter().flat_map(|i| mesh.triangles[i]).for_each(|v| folded[v as usize] = true);
    folded
}

/// The marked vertices, in order, each with the middle of its neighbours.
fn middles_of_neighbours(mesh: &Mesh, is_marked: &[bool]) -> Vec<(u32, DVec3)> {
    let mut pairs: Vec<(u32, DVec3)> = Vec::new();
    for t in &mesh.triangles {
        for k in 0..3 {
            if is_marked[t[k] as usize] {
                // Each neighbour comes once as the next corner, seen from one of the two triangles that share the edge.
                pairs.push((t[k], mesh.vertices[t[(k + 1) % 3] as usize]));
            }
        }
    }
    pairs.sort_by_key(|(vertex, _)| *vertex);
    pairs
        .chunk_by(|a, b| a.0 == b.0)
        .map(|group| (group[0].0, group.iter().map(|(_, p)| *p).sum::<DVec3>() / group.len() as f64))
        .collect()
}
