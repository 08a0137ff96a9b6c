//! Faces that hang on a solid at edges with too many faces: walls through its inside, fins within it.

use super::fault::{join, root};
use super::note::{Mend, MendKind, spots_of_faces};
use super::orient::{self, Use};
use crate::{Bounds, Bvh, Mesh};
use glam::DVec3;

/// Most patches of one tangle that are tried one by one.
const MOST_PATCHES: usize = 64;

/// Faces that hang together over edges with two faces.
struct Patches {
    faces: Vec<Vec<u32>>,
    /// Whether a patch has an edge of its own.
    open: Vec<bool>,
    /// For each crowded edge the patch of each of its faces.
    crowded: Vec<Vec<usize>>,
}

impl Patches {
    fn of(mesh: &Mesh) -> Patches {
        let uses = orient::uses(mesh, |_, _| true);
        let edges: Vec<&[Use]> = uses.chunk_by(|a, b| (a.low, a.high) == (b.low, b.high)).collect();
        let mut parent: Vec<usize> = (0..mesh.triangles.len()).collect();
        for pair in edges.iter().filter(|g| g.len() == 2) {
            join(&mut parent, pair[0].triangle as usize, pair[1].triangle as usize);
        }
        let mut slot = vec![usize::MAX; mesh.triangles.len()];
        let mut faces: Vec<Vec<u32>> = Vec::new();
        let mut patch_of = vec![0; mesh.triangles.len()];
        for (t, patch) in patch_of.iter_mut().enumerate() {
            let first = root(&mut parent, t);
            if slot[first] == usize::MAX {
                slot[first] = faces.len();
                faces.push(Vec::new());
            }
            *patch = slot[first];
            faces[slot[first]].push(t as u32);
        }
        let mut open = vec![false; faces.len()];
        edges.iter().filter(|g| g.len() == 1).for_each(|g| open[patch_of[g[0].triangle as usize]] = true);
        let crowded = edges.iter().filter(|g| g.len() > 2);
        let crowded = crowded.map(|g| g.iter().map(|u| patch_of[u.triangle as usize]).collect()).collect();
        Patches { faces, open, crowded }
    }

    /// Whether every crowded edge of some patches has an even number of faces without them.
    fn even_without(&self, gone: &[usize]) -> bool {
        self.crowded.iter().filter(|e| e.iter().any(|p| gone.contains(p))).all(|e| {
            let left = e.iter().filter(|p| !gone.contains(p)).count();
            left >= 2 && left % 2 == 0
        })
    }

    /// The patches that hang together with one over crowded edges, ascending.
    fn tangle(&self, start: usize) -> Vec<usize> {
        let mut parent: Vec<usize> = (0..self.faces.len()).collect();
        self.crowded.iter().for_each(|e| e.windows(2).for_each(|w| join(&mut parent, w[0], w[1])));
        let set = root(&mut parent, start);
        (0..self.faces.len()).filter(|p| root(&mut parent, *p) == set).collect()
    }

    fn all(&self, patches: impl Iterator<Item = usize>) -> Vec<u32> {
        let mut faces: Vec<u32> = patches.flat_map(|p| self.faces[p].iter().copied()).collect();
        faces.sort_unstable();
        faces
    }
}

/// Drops what hangs on crowded edges and lies inside: sheets with an edge of their own, and walls without which the rest
/// closes and encloses the most. Sheets smaller than `scrap` go wherever they are. Whether anything changed.
pub(super) fn drop_inner(mesh: &mut Mesh, scrap: f64, mends: &mut Vec<Mend>) -> bool {
    let mut changed = false;
    // Each round takes out at least one patch.
    while let Some(gone) = dispensable(mesh, scrap) {
        let spots = spots_of_faces(mesh, gone.iter().copied());
        mends.push(Mend::new(MendKind::InnerWalls, gone.len(), spots));
        let kept: Vec<u32> = (0..mesh.triangles.len() as u32).filter(|t| gone.binary_search(t).is_err()).collect();
        *mesh = mesh.subset(&kept);
        changed = true;
    }
    changed
}

/// Faces, ascending, that the surface closes better without.
fn dispensable(mesh: &Mesh, scrap: f64) -> Option<Vec<u32>> {
    let patches = Patches::of(mesh);
    fins(mesh, &patches, scrap).or_else(|| wall(mesh, &patches))
}

/// Open patches on crowded edges that lie inside what the others enclose, or are scraps.
fn fins(mesh: &Mesh, patches: &Patches, scrap: f64) -> Option<Vec<u32>> {
    let hanging = |p: usize| patches.open[p] && patches.crowded.iter().any(|e| e.contains(&p));
    let open: Vec<usize> = (0..patches.faces.len()).filter(|p| hanging(*p)).collect();
    if open.is_empty() {
        return None;
    }
    let closed = mesh.subset(&patches.all((0..patches.faces.len()).filter(|p| !patches.open[*p])));
    let around = Bvh::new(&closed);
    let mut on_closed = vec![false; mesh.vertices.len()];
    let bounding = (0..patches.faces.len()).filter(|p| !patches.open[*p]).flat_map(|p| &patches.faces[p]);
    bounding.flat_map(|t| mesh.triangles[*t as usize]).for_each(|v| on_closed[v as usize] = true);
    let lies_inside = |p: usize| {
        let faces = &patches.faces[p];
        let step = faces.len().div_ceil(100);
        faces.iter().step_by(step).all(|t| {
            let middle = mesh.corners(*t as usize).iter().sum::<DVec3>() / 3.0;
            let corners = mesh.triangles[*t as usize].into_iter().filter(|v| !on_closed[*v as usize]);
            let mut places = corners.map(|v| mesh.vertices[v as usize]).chain([middle]);
            places.all(|p| around.winding(p).abs() > 0.9)
        })
    };
    let is_scrap = |p: usize| {
        let bounds = Bounds::of(patches.faces[p].iter().flat_map(|t| mesh.corners(*t as usize)));
        bounds.is_some_and(|b| b.size().length() <= scrap)
    };
    let gone: Vec<usize> = open.into_iter().filter(|p| is_scrap(*p) || lies_inside(*p)).collect();
    (!gone.is_empty() && patches.even_without(&gone)).then(|| patches.all(gone.into_iter()))
}

/// The one patch of a tangle without which the rest closes around the most.
fn wall(mesh: &Mesh, patches: &Patches) -> Option<Vec<u32>> {
    let start = *patches.crowded.first()?.first()?;
    let tangle = patches.tangle(start);
    if tangle.len() > MOST_PATCHES {
        return None;
    }
    let left = |gone: usize| mesh.subset(&patches.all(tangle.iter().copied().filter(|p| *p != gone)));
    let encloses = |gone: usize| {
        let mut rest = left(gone);
        orient::turn_flipped(&mut rest, &mut Vec::new());
        rest.volume_mm3().abs()
    };
    let candidates = tangle.iter().copied().filter(|p| !patches.open[*p] && patches.even_without(&[*p]));
    let best = candidates.map(|p| (encloses(p), p)).max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)))?;
    Some(patches.faces[best.1].clone())
}
