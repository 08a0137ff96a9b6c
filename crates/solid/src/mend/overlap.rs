//! Shells that pass through each other, through themselves, or lie inside solid.

use super::fault::{join as join_sets, root};
use super::shells::Nesting;
use super::{Fault, FaultKind, Mend, MendKind, locally};
use crate::boolean::{rebuild, self_intersects, union};
use crate::{Bounds, Mesh};
use rayon::prelude::*;

/// A single shell with more triangles is trusted not to pass through itself: the test takes seconds for millions.
const MOST_TESTED_ALONE: usize = 400_000;

/// Solids on their way into one: so far apart from each other, or already united.
struct Joined {
    mesh: Mesh,
    /// Box of each solid in it, and whether a union touched it.
    solids: Vec<(Bounds, bool)>,
    /// Boxes of solids that lay inside others and are gone.
    inner: Vec<Bounds>,
    /// Boxes in which solids overlapped.
    shared: Vec<Bounds>,
}

/// Unites what overlaps, so that no solid lies inside solid. Solids that touch nothing keep their triangles as they are,
/// and so do those in which others lay.
pub(super) fn resolve(mesh: Mesh, nesting: &Nesting, mends: &mut Vec<Mend>) -> Result<Mesh, Vec<Fault>> {
    let solids = nesting.solids();
    let boxes: Vec<Bounds> = solids.iter().map(|s| nesting.bounds[s[0]]).collect();
    let meshes: Vec<Mesh> = solids.par_iter().map(|s| mesh.subset(&nesting.triangles(s))).collect();
    let made = uncrossed(&meshes, &boxes)?;
    let mut crossing: Vec<Anew> = made.iter().flatten().map(|m| m.1.clone()).collect();
    let groups = meeting(&boxes);
    if groups.iter().all(|g| g.len() == 1) && crossing.is_empty() {
        return Ok(mesh);
    }
    let current = |k: usize| made[k].as_ref().map_or(&meshes[k], |m| &m.0).clone();
    let (mut inner, mut shared, mut united) = (Vec::new(), Vec::new(), 0);
    let mut whole = Mesh::default();
    let mut changed = !crossing.is_empty();
    for group in groups {
        let leaves = group.iter().map(|k| Joined {
            mesh: current(*k),
            solids: vec![(boxes[*k], false)],
            inner: vec![],
            shared: vec![],
        });
        let all = unite(leaves.collect())?;
        if !all.shared.is_empty() {
            let place = all.shared[0];
            if sound(&all.mesh) {
                whole.append(&all.mesh);
            } else {
                let mut apart = Mesh::default();
                group.iter().for_each(|k| apart.append(&current(*k)));
                let (anew, what) = made_anew(&apart, place)?;
                whole.append(&anew);
                crossing.push(what);
            }
        } else {
            whole.append(&all.mesh);
        }
        changed |= !all.shared.is_empty() || !all.inner.is_empty();
        united += all.solids.iter().filter(|s| s.1).count();
        inner.extend(all.inner);
        shared.extend(all.shared);
    }
    if !changed {
        return Ok(mesh);
    }
    let places: Vec<Bounds> = crossing.iter().flat_map(|c| c.places.iter().copied()).collect();
    let shells: Vec<Bounds> = crossing.iter().filter_map(|c| c.whole).collect();
    for (kind, count, spots) in [
        (MendKind::CrossingPlaces, places.len(), places),
        (MendKind::CrossingShells, shells.len(), shells),
        (MendKind::InnerShells, inner.len(), inner),
        (MendKind::OverlappingShells, united, shared),
    ] {
        if count > 0 {
            mends.push(Mend::new(kind, count, spots));
        }
    }
    Ok(whole)
}

/// Those solids that pass through themselves, made anew; nothing for the others.
fn uncrossed(meshes: &[Mesh], boxes: &[Bounds]) -> Result<Vec<Option<(Mesh, Anew)>>, Vec<Fault>> {
    let crosses = |k: usize| {
        let tested = meshes[k].triangles.len() <= MOST_TESTED_ALONE;
        tested && self_intersects(&meshes[k]).unwrap_or(true)
    };
    let at_fault: Vec<usize> = (0..meshes.len()).into_par_iter().filter(|k| crosses(*k)).collect();
    let mut made = vec![None; meshes.len()];
    for k in &at_fault {
        made[*k] = Some(made_anew(&meshes[*k], boxes[*k])?);
    }
    Ok(made)
}

/// Where a solid was made anew: in places, or as a whole.
#[derive(Clone)]
struct Anew {
    places: Vec<Bounds>,
    whole: Option<Bounds>,
}

/// What the surface winds around, as a sound solid: made anew around the crossings if that will do, else as a whole.
fn made_anew(mesh: &Mesh, place: Bounds) -> Result<(Mesh, Anew), Vec<Fault>> {
    if let Some((anew, places)) = locally::rebuilt(mesh).filter(|(anew, _)| sound(anew)) {
        return Ok((anew, Anew { places, whole: None }));
    }
    match rebuild(mesh) {
        Ok(anew) if sound(&anew) => Ok((anew, Anew { places: Vec::new(), whole: Some(place) })),
        _ => Err(still(place)),
    }
}

fn still(place: Bounds) -> Vec<Fault> {
    vec![Fault {
        kind: FaultKind::StillOverlapping,
        count: 1,
        length_mm: 0.0,
        place: place.center(),
        size: place.size(),
    }]
}

fn sound(mesh: &Mesh) -> bool {
    let closed = !mesh.is_empty() && mesh.edge_census().is_closed() && mesh.volume_mm3() > 0.0;
    closed && !self_intersects(mesh).unwrap_or(true)
}

/// Indices of boxes in sets that hang together, each ascending, by their first member.
fn meeting(boxes: &[Bounds]) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..boxes.len()).collect();
    order.sort_by(|a, b| boxes[*a].min.x.total_cmp(&boxes[*b].min.x).then(a.cmp(b)));
    let mut parent: Vec<usize> = (0..boxes.len()).collect();
    for (i, a) in order.iter().enumerate() {
        for b in order[i + 1..].iter().take_while(|b| boxes[**b].min.x <= boxes[*a].max.x) {
            if shared(&boxes[*a], &boxes[*b]).is_some() {
                join_sets(&mut parent, *a, *b);
            }
        }
    }
    let mut groups: Vec<Vec<usize>> = vec![Vec::new(); boxes.len()];
    for k in 0..boxes.len() {
        let first = root(&mut parent, k);
        groups[first].push(k);
    }
    groups.retain(|g| !g.is_empty());
    groups
}

/// The room that two boxes share.
fn shared(a: &Bounds, b: &Bounds) -> Option<Bounds> {
    let shared = Bounds { min: a.min.max(b.min), max: a.max.min(b.max) };
    shared.min.cmple(shared.max).all().then_some(shared)
}

/// Neighbours along the longest direction united two by two, then those, until one is left: every triangle takes part in
/// as many unions as there are doublings.
fn unite(mut parts: Vec<Joined>) -> Result<Joined, Vec<Fault>> {
    let all = Bounds::of(parts.iter().flat_map(|p| [p.solids[0].0.min, p.solids[0].0.max]));
    let axis = all.map_or(0, |b| b.size().max_position());
    parts.sort_by(|a, b| a.solids[0].0.center()[axis].total_cmp(&b.solids[0].0.center()[axis]));
    while parts.len() > 1 {
        let mut pairs: Vec<(Joined, Option<Joined>)> = Vec::with_capacity(parts.len() / 2 + 1);
        let mut rest = parts.into_iter();
        while let Some(a) = rest.next() {
            pairs.push((a, rest.next()));
        }
        parts = pairs
            .into_par_iter()
            .map(|(a, b)| b.map_or(Ok(None), |b| both(&a, &b).map(Some)).map(|made| made.unwrap_or(a)))
            .collect::<Result<_, _>>()?;
    }
    Ok(parts.pop().unwrap_or(Joined { mesh: Mesh::default(), solids: vec![], inner: vec![], shared: vec![] }))
}

fn both(a: &Joined, b: &Joined) -> Result<Joined, Vec<Fault>> {
    let inner = [a.inner.clone(), b.inner.clone()].concat();
    let mut shared_rooms = [a.shared.clone(), b.shared.clone()].concat();
    let solids = || [a.solids.clone(), b.solids.clone()].concat();
    let boxes_of = |j: &Joined| j.solids.iter().map(|s| s.0).collect::<Vec<_>>();
    let meets = |one: &Bounds, others: &Joined| others.solids.iter().find_map(|s| shared(one, &s.0));
    let beside = || {
        let mut mesh = a.mesh.clone();
        mesh.append(&b.mesh);
        mesh
    };
    let Some(room) = a.solids.iter().find_map(|s| meets(&s.0, b)) else {
        return Ok(Joined { mesh: beside(), solids: solids(), inner, shared: shared_rooms });
    };
    let made = union(&a.mesh, &b.mesh).map_err(|_| still(room))?;
    let (volume, faces) = (made.volume_mm3(), made.triangles.len());
    let alike = |v: f64, f: usize| faces <= f && (volume - v).abs() <= 1e-9 * v;
    let of = |j: &Joined| (j.mesh.volume_mm3(), j.mesh.triangles.len());
    let ((va, fa), (vb, fb)) = (of(a), of(b));
    for (keep, gone, v, f) in [(a, b, va, fa), (b, a, vb, fb)] {
        if alike(v, f) {
            let inner = [inner, boxes_of(gone)].concat();
            return Ok(Joined { mesh: keep.mesh.clone(), solids: keep.solids.clone(), inner, shared: shared_rooms });
        }
    }
    if faces == fa + fb && alike(va + vb, fa + fb) {
        return Ok(Joined { mesh: beside(), solids: solids(), inner, shared: shared_rooms });
    }
    let touched = |of: &Joined, other: &Joined| -> Vec<(Bounds, bool)> {
        of.solids.iter().map(|(b, was)| (*b, *was || meets(b, other).is_some())).collect()
    };
    shared_rooms.extend(a.solids.iter().filter_map(|s| meets(&s.0, b)));
    Ok(Joined { mesh: made, solids: [touched(a, b), touched(b, a)].concat(), inner, shared: shared_rooms })
}
