//! Sheets with an edge of their own: inside solid they are junk, and tiny ones are scraps.

use super::note::{Mend, MendKind, spots_of_faces};
use crate::{Bounds, Bvh, Mesh};
use rayon::prelude::*;

/// Drops open shells that lie wholly inside the closed ones. Whether anything changed.
pub(super) fn drop_inner(mesh: &mut Mesh, open: &[[u32; 2]], mends: &mut Vec<Mend>) -> bool {
    let (torn, closed) = by_edge(mesh, open);
    if torn.is_empty() || closed.is_empty() {
        return false;
    }
    let around = Bvh::new(&mesh.subset(&closed.concat()));
    let lies_inside = |shell: &Vec<u32>| {
        let step = shell.len().div_ceil(200);
        shell.iter().step_by(step).all(|t| {
            let [a, b, c] = mesh.corners(*t as usize);
            [a, b, c, (a + b + c) / 3.0].iter().all(|p| around.winding(*p).abs() > 0.9)
        })
    };
    let gone: Vec<u32> = torn.par_iter().filter(|s| lies_inside(s)).flatten().copied().collect();
    drop_faces(mesh, gone, mends)
}

/// Drops open shells no wider than `scrap`, as long as something else is there. Whether anything changed.
pub(super) fn drop_tiny(mesh: &mut Mesh, open: &[[u32; 2]], scrap: f64, mends: &mut Vec<Mend>) -> bool {
    let (torn, _) = by_edge(mesh, open);
    let tiny = |shell: &Vec<u32>| {
        let bounds = Bounds::of(shell.iter().flat_map(|t| mesh.corners(*t as usize)));
        bounds.is_some_and(|b| b.size().length() <= scrap)
    };
    let gone: Vec<u32> = torn.iter().filter(|s| tiny(s)).flatten().copied().collect();
    gone.len() < mesh.triangles.len() && drop_faces(mesh, gone, mends)
}

/// The shells with open edges, and the others.
fn by_edge(mesh: &Mesh, open: &[[u32; 2]]) -> (Vec<Vec<u32>>, Vec<Vec<u32>>) {
    let mut at_edge = vec![false; mesh.vertices.len()];
    open.iter().flatten().for_each(|v| at_edge[*v as usize] = true);
    let is_torn = |s: &Vec<u32>| s.iter().any(|t| mesh.triangles[*t as usize].iter().any(|v| at_edge[*v as usize]));
    mesh.shells().into_iter().partition(is_torn)
}

fn drop_faces(mesh: &mut Mesh, mut gone: Vec<u32>, mends: &mut Vec<Mend>) -> bool {
    if gone.is_empty() {
        return false;
    }
    gone.sort_unstable();
    let spots = spots_of_faces(mesh, gone.iter().copied());
    mends.push(Mend::new(MendKind::Scraps, gone.len(), spots));
    let kept: Vec<u32> = (0..mesh.triangles.len() as u32).filter(|t| gone.binary_search(t).is_err()).collect();
    *mesh = mesh.subset(&kept);
    true
}
