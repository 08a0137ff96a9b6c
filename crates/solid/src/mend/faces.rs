//! Faces: those without area taken out, those on top of each other dropped.

use super::note::spots_of_faces;
use super::{Mend, MendKind};
use crate::Mesh;
use rayon::prelude::*;
use std::collections::HashMap;

/// Takes out the triangles lower than `same`: one with a short side by joining that side's ends, one whose corner lies
/// on its longest side by turning that side over in the triangle beyond. Whether anything changed.
pub(super) fn drop_zero_area(mesh: &mut Mesh, same: f64, mends: &mut Vec<Mend>) -> bool {
    let points = drop_edges(mesh, mends);
    let flat: Vec<u32> =
        (0..mesh.triangles.len() as u32).into_par_iter().filter(|t| is_flat(mesh, *t as usize, same)).collect();
    if flat.is_empty() {
        return points;
    }
    let places = spots_of_faces(mesh, flat.iter().copied());
    let mut patch = Patch::around(mesh, &flat);
    let mut waiting = flat.clone();
    loop {
        let before = waiting.len();
        waiting.retain(|t| {
            let t = *t as usize;
            !patch.dead[t] && is_flat(patch.mesh, t, same) && !patch.mend(t, same)
        });
        waiting.retain(|t| !patch.dead[*t as usize] && is_flat(patch.mesh, *t as usize, same));
        if waiting.len() == before || waiting.is_empty() {
            break;
        }
    }
    let dead = patch.dead;
    let kept = waiting.len();
    if kept > 0 {
        let spots = spots_of_faces(mesh, waiting.iter().copied());
        mends.push(Mend::new(MendKind::ZeroAreaKept, kept, spots));
    }
    if flat.len() > kept {
        mends.push(Mend::new(MendKind::ZeroAreaFaces, flat.len() - kept, places));
    }
    let mut t = 0;
    mesh.triangles.retain(|_| {
        t += 1;
        !dead[t - 1]
    });
    super::join::compact(mesh);
    points || flat.len() > kept
}

/// Drops triangles that use a vertex twice. Each is an edge used once each way, so nothing opens without it.
fn drop_edges(mesh: &mut Mesh, mends: &mut Vec<Mend>) -> bool {
    let twice = |[a, b, c]: &[u32; 3]| a == b || b == c || c == a;
    let found: Vec<u32> = (0..mesh.triangles.len() as u32).filter(|t| twice(&mesh.triangles[*t as usize])).collect();
    if found.is_empty() {
        return false;
    }
    let spots = spots_of_faces(mesh, found.iter().copied());
    mesh.triangles.retain(|t| !twice(t));
    super::join::compact(mesh);
    mends.push(Mend::new(MendKind::ZeroAreaFaces, found.len(), spots));
    true
}

/// Whether a triangle's height over its longest side is at most `same`.
fn is_flat(mesh: &Mesh, t: usize, same: f64) -> bool {
    let [a, b, c] = mesh.corners(t);
    let longest = a.distance_squared(b).max(b.distance_squared(c)).max(c.distance_squared(a));
    mesh.area_vector(t).length_squared() * 4.0 <= same * same * longest
}

/// The triangles around the vertices of some of them, kept up to date while they change.
struct Patch<'a> {
    mesh: &'a mut Mesh,
    dead: Vec<bool>,
    /// Triangles at each vertex that a flat triangle has, or that one got later.
    fans: HashMap<u32, Vec<u32>>,
}

impl<'a> Patch<'a> {
    fn around(mesh: &'a mut Mesh, flat: &[u32]) -> Patch<'a> {
        let mut watched = vec![false; mesh.vertices.len()];
        flat.iter().flat_map(|t| mesh.triangles[*t as usize]).for_each(|v| watched[v as usize] = true);
        let mut fans: HashMap<u32, Vec<u32>> = HashMap::new();
        for (t, corners) in mesh.triangles.iter().enumerate() {
            for v in corners.iter().filter(|v| watched[**v as usize]) {
                fans.entry(*v).or_default().push(t as u32);
            }
        }
        Patch { dead: vec![false; mesh.triangles.len()], mesh, fans }
    }

    fn fan(&self, v: u32) -> &[u32] {
        self.fans.get(&v).map_or(&[], Vec::as_slice)
    }

    /// Takes out one flat triangle, if that leaves the surface as closed as it was.
    fn mend(&mut self, t: usize, same: f64) -> bool {
        let corners = self.mesh.triangles[t];
        let side = |k: usize| {
            let [p, q] = [k, (k + 1) % 3].map(|k| self.mesh.vertices[corners[k] as usize]);
            p.distance(q)
        };
        let by_length = |a: &usize, b: &usize| side(*a).total_cmp(&side(*b));
        let shortest = (0..3).min_by(by_length).unwrap_or(0);
        let longest = (0..3).max_by(by_length).unwrap_or(0);
        if side(shortest) <= same {
            self.collapse(corners[shortest], corners[(shortest + 1) % 3])
        } else {
            self.turn_over(t, longest, same)
        }
    }

    /// Joins `gone` to `kept`. Allowed when the vertices next to both are just the corners opposite their edge (the link
    /// condition: Dey, Edelsbrunner, Guha and Nekhayev 1999), so that no other faces fall onto each other.
    fn collapse(&mut self, kept: u32, gone: u32) -> bool {
        let ring = |v: u32| {
            let mut ring: Vec<u32> =
                self.fan(v).iter().flat_map(|t| self.mesh.triangles[*t as usize]).filter(|o| *o != v).collect();
            ring.sort_unstable();
            ring.dedup();
            ring
        };
        let (ring_kept, ring_gone) = (ring(kept), ring(gone));
        let common = ring_kept.iter().filter(|v| ring_gone.binary_search(v).is_ok()).count();
        let shared: Vec<u32> =
            self.fan(gone).iter().copied().filter(|t| self.mesh.triangles[*t as usize].contains(&kept)).collect();
        let joins_two = common == 2 && shared.len() == 2;
        // Both rings hold the other end, and together they must leave a ring of three.
        if !joins_two || ring_kept.len() + ring_gone.len() < 3 + common + 2 {
            return false;
        }
        for t in &shared {
            self.dead[*t as usize] = true;
            for v in self.mesh.triangles[*t as usize] {
                self.leave(v, *t);
            }
        }
        for t in self.fans.remove(&gone).unwrap_or_default() {
            let corner = self.mesh.triangles[t as usize].iter_mut().find(|v| **v == gone);
            corner.into_iter().for_each(|v| *v = kept);
            self.enter(kept, t);
        }
        true
    }

    /// Replaces triangle `t` and the one beyond its side `longest` by the two that share the other diagonal.
    fn turn_over(&mut self, t: usize, longest: usize, same: f64) -> bool {
        let corners = self.mesh.triangles[t];
        let [p, q, r] = [0, 1, 2].map(|k| corners[(longest + k) % 3]);
        let has_side = |t: u32| {
            let c = self.mesh.triangles[t as usize];
            (0..3).find(|k| c[*k] == q && c[(k + 1) % 3] == p).map(|k| (t, c[(k + 2) % 3]))
        };
        let beyond: Vec<(u32, u32)> = self.fan(p).iter().filter_map(|t| has_side(*t)).collect();
        let [(n, d)] = beyond[..] else { return false };
        let taken = self.fan(r).iter().any(|t| self.mesh.triangles[*t as usize].contains(&d));
        if d == r || taken || is_flat(self.mesh, n as usize, same) {
            return false;
        }
        self.mesh.triangles[t] = [r, p, d];
        self.mesh.triangles[n as usize] = [d, q, r];
        self.leave(p, n);
        self.leave(q, t as u32);
        self.enter(r, n);
        self.enter(d, t as u32);
        true
    }

    fn leave(&mut self, v: u32, t: u32) {
        if let Some(fan) = self.fans.get_mut(&v) {
            fan.retain(|other| *other != t);
        }
    }

    fn enter(&mut self, v: u32, t: u32) {
        if let Some(fan) = self.fans.get_mut(&v) {
            fan.push(t);
        }
    }
}

/// Of triangles with the same three corners keeps the one, if any, that closes the edges around best: one of a doubled
/// face, none of an inner wall that was written once for each side. Whether anything changed.
pub(super) fn drop_duplicates(mesh: &mut Mesh, mends: &mut Vec<Mend>) -> bool {
    let mut order: Vec<([u32; 3], u32)> = mesh
        .triangles
        .par_iter()
        .enumerate()
        .map(|(t, corners)| {
            let mut key = *corners;
            key.sort_unstable();
            (key, t as u32)
        })
        .collect();
    order.par_sort_unstable();
    let groups: Vec<&[([u32; 3], u32)]> = order.chunk_by(|a, b| a.0 == b.0).filter(|g| g.len() > 1).collect();
    if groups.is_empty() {
        return false;
    }
    let balance = balance_at(mesh, &groups);
    let mut dropped = vec![false; mesh.triangles.len()];
    for group in &groups {
        let keep = kept_of(mesh, group, &balance);
        group.iter().filter(|(_, t)| Some(*t) != keep).for_each(|(_, t)| dropped[*t as usize] = true);
    }
    if dropped.iter().all(|d| *d) {
        // A surface written once for each side, with nothing else: the first side is as good as the second.
        groups.iter().for_each(|group| dropped[group[0].1 as usize] = false);
    }
    let gone = (0..dropped.len() as u32).filter(|t| dropped[*t as usize]);
    let spots = spots_of_faces(mesh, gone.clone());
    mends.push(Mend::new(MendKind::DuplicateFaces, gone.count(), spots));
    let mut t = 0;
    mesh.triangles.retain(|_| {
        t += 1;
        !dropped[t - 1]
    });
    super::join::compact(mesh);
    true
}

/// A triangle's sides as (lower vertex, higher vertex, +1 when it runs upwards, else -1).
fn sides(corners: [u32; 3]) -> [(u32, u32, i32); 3] {
    [0, 1, 2].map(|k| {
        let (a, b) = (corners[k], corners[(k + 1) % 3]);
        if a < b { (a, b, 1) } else { (b, a, -1) }
    })
}

/// For every edge of the groups' triangles, how many triangles run upwards along it less those that run down.
fn balance_at(mesh: &Mesh, groups: &[&[([u32; 3], u32)]]) -> HashMap<(u32, u32), i32> {
    let mut balance = HashMap::new();
    let mut watched = vec![false; mesh.vertices.len()];
    for (corners, _) in groups.iter().map(|g| g[0]) {
        corners.iter().for_each(|v| watched[*v as usize] = true);
        balance.extend(sides(corners).map(|(a, b, _)| ((a, b), 0)));
    }
    for (a, b, up) in mesh.triangles.iter().flat_map(|t| sides(*t)) {
        if watched[a as usize]
            && watched[b as usize]
            && let Some(sum) = balance.get_mut(&(a, b))
        {
            *sum += up;
        }
    }
    balance
}

/// The triangle of a group that stays.
fn kept_of(mesh: &Mesh, group: &[([u32; 3], u32)], balance: &HashMap<(u32, u32), i32>) -> Option<u32> {
    let model = sides(mesh.triangles[group[0].1 as usize]);
    // +1 for those that run like the first, -1 for those that run against it.
    let way = |t: u32| if sides(mesh.triangles[t as usize])[..].iter().all(|s| model.contains(s)) { 1 } else { -1 };
    let net: i32 = group.iter().map(|(_, t)| way(*t)).sum();
    let cost = |keep: i32| -> i32 {
        model.iter().map(|(a, b, up)| (balance.get(&(*a, *b)).unwrap_or(&0) - net * up + keep * up).abs()).sum()
    };
    // On a tie the majority's way first, then none.
    let by_preference = if net >= 0 { [1, 0, -1] } else { [-1, 0, 1] };
    let best = by_preference.into_iter().min_by_key(|keep| cost(*keep))?;
    group.iter().map(|(_, t)| *t).find(|t| way(*t) == best)
}
