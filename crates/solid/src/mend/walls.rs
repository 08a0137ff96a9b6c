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
    /// How each patch runs.
    ways: Vec<Way>,
    /// For each crowded edge its faces.
    crowded: Vec<Vec<Side>>,
}

/// How the faces of a patch run. Volumes are to one point, the same for all patches.
struct Way {
    twisted: bool,
    /// Faces that would have to be turned to run like the first.
    to_turn: usize,
    /// Volume before the faces as they are.
    volume: f64,
    /// As if all ran like the first.
    volume_turned: f64,
}

/// A face at a crowded edge.
struct Side {
    patch: usize,
    /// Whether it runs up along the edge once all faces of its patch run like the first.
    up: bool,
}

impl Patches {
    fn of(mesh: &Mesh) -> Patches {
        let uses = orient::uses(mesh, |_, _| true);
        let (surfaces, turned) = orient::surfaces(mesh, &uses);
        let origin = mesh.bounds().map_or(DVec3::ZERO, |b| b.center());
        let volume = |t: u32| {
            let [a, b, c] = mesh.corners(t as usize).map(|p| p - origin);
            a.dot(b.cross(c)) / 6.0
        };
        let mut patch_of = vec![0; mesh.triangles.len()];
        let mut ways = Vec::with_capacity(surfaces.len());
        let mut faces = Vec::with_capacity(surfaces.len());
        for (p, surface) in surfaces.into_iter().enumerate() {
            let mut own = surface.faces;
            own.sort_unstable();
            own.iter().for_each(|t| patch_of[*t as usize] = p);
            let signed = |t: &u32| if turned[*t as usize] { -volume(*t) } else { volume(*t) };
            ways.push(Way {
                twisted: surface.twisted,
                to_turn: own.iter().filter(|t| turned[**t as usize]).count(),
                volume: own.iter().map(|t| volume(*t)).sum(),
                volume_turned: own.iter().map(signed).sum(),
            });
            faces.push(own);
        }
        let mut open = vec![false; faces.len()];
        let mut crowded = Vec::new();
        for edge in uses.chunk_by(|a: &Use, b: &Use| (a.low, a.high) == (b.low, b.high)) {
            let side = |u: &Use| Side { patch: patch_of[u.triangle as usize], up: u.up != turned[u.triangle as usize] };
            match edge {
                [one] => open[patch_of[one.triangle as usize]] = true,
                [_, _] => {}
                many => crowded.push(many.iter().map(side).collect()),
            }
        }
        Patches { faces, open, ways, crowded }
    }

    /// What the surfaces of some patches enclose without one of them, each turned like its neighbours where that is possible,
    /// as [`orient::turn_flipped`] turns faces.
    fn enclosed(&self, patches: &[usize], gone: usize) -> f64 {
        // Which patches meet at edges that are left with two faces, and whether one of the two has to be turned.
        let mut next: Vec<Vec<(usize, bool)>> = patches.iter().map(|_| Vec::new()).collect();
        let slot = |patch: usize| patches.binary_search(&patch).ok();
        for edge in &self.crowded {
            let left: Vec<&Side> = edge.iter().filter(|s| s.patch != gone).collect();
            let [a, b] = left[..] else { continue };
            let (Some(p), Some(q)) = (slot(a.patch), slot(b.patch)) else { continue };
            next[p].push((q, a.up == b.up));
            next[q].push((p, a.up == b.up));
        }
        let mut turned: Vec<Option<bool>> = vec![None; patches.len()];
        let mut all = 0.0;
        for start in (0..patches.len()).filter(|k| patches[*k] != gone) {
            if turned[start].is_some() {
                continue;
            }
            turned[start] = Some(false);
            let mut surface = vec![start];
            let (mut at, mut twisted) = (0, false);
            let (mut faces, mut to_turn, mut volume, mut volume_turned) = (0, 0, 0.0, 0.0);
            while let Some(k) = surface.get(at).copied() {
                at += 1;
                let own = turned[k] == Some(true);
                let (way, count) = (&self.ways[patches[k]], self.faces[patches[k]].len());
                twisted |= way.twisted;
                faces += count;
                to_turn += if own { count - way.to_turn } else { way.to_turn };
                volume += way.volume;
                volume_turned += if own { -way.volume_turned } else { way.volume_turned };
                for (n, differs) in &next[k] {
                    match turned[*n] {
                        None => {
                            turned[*n] = Some(own != *differs);
                            surface.push(*n);
                        }
                        Some(known) => twisted |= known != (own != *differs),
                    }
                }
            }
            all += match (twisted, 2 * to_turn <= faces) {
                (true, _) => volume,
                (false, true) => volume_turned,
                (false, false) => -volume_turned,
            };
        }
        all.abs()
    }

    /// Whether every crowded edge of some patches has an even number of faces without them.
    fn even_without(&self, gone: &[usize]) -> bool {
        self.crowded.iter().filter(|e| e.iter().any(|s| gone.contains(&s.patch))).all(|e| {
            let left = e.iter().filter(|s| !gone.contains(&s.patch)).count();
            left >= 2 && left % 2 == 0
        })
    }

    /// The patches that hang together with one over crowded edges, ascending.
    fn tangle(&self, start: usize) -> Vec<usize> {
        let mut parent: Vec<usize> = (0..self.faces.len()).collect();
        self.crowded.iter().for_each(|e| e.windows(2).for_each(|w| join(&mut parent, w[0].patch, w[1].patch)));
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
    fins(mesh, &patches, scrap).or_else(|| wall(&patches))
}

/// Open patches on crowded edges that lie inside what the others enclose, or are scraps.
fn fins(mesh: &Mesh, patches: &Patches, scrap: f64) -> Option<Vec<u32>> {
    let hanging = |p: usize| patches.open[p] && patches.crowded.iter().any(|e| e.iter().any(|s| s.patch == p));
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
fn wall(patches: &Patches) -> Option<Vec<u32>> {
    let start = patches.crowded.first()?.first()?.patch;
    let tangle = patches.tangle(start);
    if tangle.len() > MOST_PATCHES {
        return None;
    }
    let candidates = tangle.iter().copied().filter(|p| !patches.open[*p] && patches.even_without(&[*p]));
    let best =
        candidates.map(|p| (patches.enclosed(&tangle, p), p)).max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)))?;
    Some(patches.faces[best.1].clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cuboid;
    use proptest::prelude::*;

    /// Rooms of 1 x 1.5 x 2 in a row, one wall between each two, every face turned as the seed says.
    fn rooms(count: usize, seed: u64) -> Mesh {
        let mut mesh = Mesh::default();
        for k in 0..count {
            let from = DVec3::X * k as f64;
            let room = cuboid(from, from + DVec3::new(1.0, 1.5, 2.0));
            for t in &room.triangles {
                let corners = t.map(|v| room.vertices[v as usize]);
                // The room before has that wall.
                if k > 0 && corners.iter().all(|p| p.x == from.x) {
                    continue;
                }
                mesh.triangles.push(corners.map(|p| {
                    let known = mesh.vertices.iter().position(|q| *q == p);
                    known.unwrap_or_else(|| {
                        mesh.vertices.push(p);
                        mesh.vertices.len() - 1
                    }) as u32
                }));
            }
        }
        for (k, t) in mesh.triangles.iter_mut().enumerate() {
            if seed >> (k % 64) & 1 == 1 {
                t.swap(1, 2);
            }
        }
        mesh
    }

    proptest! {
        #[test]
        fn patches_enclose_what_their_faces_do(count in 2usize..6, seed in any::<u64>()) {
            let mesh = rooms(count, seed);
            let middle = DVec3::new(count as f64, 1.5, 2.0) / 2.0;
            let patches = Patches::of(&mesh);
            let Some(start) = patches.crowded.first().map(|e| e[0].patch) else {
                return Err(TestCaseError::fail("no edge is crowded"));
            };
            let tangle = patches.tangle(start);
            let candidates: Vec<usize> =
                tangle.iter().copied().filter(|p| !patches.open[*p] && patches.even_without(&[*p])).collect();
            // Any wall, and any room's outside.
            prop_assert_eq!(candidates.len(), 2 * count - 1);
            for gone in candidates {
                let mut rest = mesh.subset(&patches.all(tangle.iter().copied().filter(|p| *p != gone)));
                orient::turn_flipped(&mut rest, &mut Vec::new());
                // To the same point: with three rooms, edges with three faces may be left.
                let volume: f64 = (0..rest.triangles.len())
                    .map(|t| {
                        let [a, b, c] = rest.corners(t).map(|p| p - middle);
                        a.dot(b.cross(c)) / 6.0
                    })
                    .sum();
                let enclosed = patches.enclosed(&tangle, gone);
                prop_assert!((enclosed - volume.abs()).abs() < 1e-9, "{enclosed} {volume}");
            }
        }
    }
}
