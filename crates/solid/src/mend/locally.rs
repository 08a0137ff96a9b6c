//! A surface that passes through itself made anew only around the places where it does.

use super::join::joined_within;
use super::stitch::stitch;
use super::{CRACK_SHARE, SAME_SHARE, crossings};
use crate::boolean::rebuild;
use crate::cut::{Plane, slab};
use crate::{Bounds, Bvh, EdgeCensus, Mesh};
use glam::DVec3;
use rayon::prelude::*;

/// How far beyond the crossing faces a box reaches, in lengths of the edges in it; tried one after the other.
const MARGINS: [f64; 2] = [1.5, 5.0];

/// What the surface winds around, made anew within boxes around the crossings, and the boxes. Faces that meet no box keep
/// their corners bit for bit, those on a box's surface are split there and don't move.
///
/// `None` where that doesn't lead to a closed surface that holds what it should, or boxes would hold most of the solid.
/// Whether the rest is free of crossings is for the caller to ask.
pub(super) fn rebuilt(mesh: &Mesh) -> Option<(Mesh, Vec<Bounds>)> {
    let places = crossings::places(mesh);
    if places.is_empty() {
        return None;
    }
    MARGINS.iter().find_map(|margin| {
        let boxes = boxes_around(mesh, &places, *margin);
        anew_within(mesh, &boxes).map(|anew| (anew, boxes))
    })
}

/// Boxes apart from each other, with a margin around the places.
fn boxes_around(mesh: &Mesh, places: &[Bounds], margin: f64) -> Vec<Bounds> {
    let area = mesh.area_mm2() / mesh.triangles.len() as f64;
    let grown = |b: &Bounds| {
        // Not a round share, so that planes through the file's round coordinates are missed.
        let by = DVec3::splat(margin * (libm::sqrt(area) + 0.10371 * b.size().max_element()));
        Bounds { min: b.min - by, max: b.max + by }
    };
    let mut boxes: Vec<Bounds> = Vec::new();
    for place in places {
        let mut own = grown(place);
        while let Some(k) = boxes.iter().position(|b| meet(b, &own)) {
            let other = boxes.swap_remove(k);
            own = Bounds { min: own.min.min(other.min), max: own.max.max(other.max) };
        }
        boxes.push(own);
    }
    boxes.sort_by(|a, b| a.min.x.total_cmp(&b.min.x).then(a.min.y.total_cmp(&b.min.y)));
    boxes
}

fn meet(a: &Bounds, b: &Bounds) -> bool {
    a.min.cmple(b.max).all() && b.min.cmple(a.max).all()
}

fn anew_within(mesh: &Mesh, boxes: &[Bounds]) -> Option<Mesh> {
    let outside = outside(mesh, boxes)?;
    let diagonal = mesh.bounds()?.size().length();
    let parts: Vec<Option<(Mesh, f64)>> = boxes
        .par_iter()
        .map(|b| {
            let near = within(mesh, b)?;
            let anew = rebuild(&near).ok()?;
            let gained = anew.volume_mm3() - near.volume_mm3();
            Some((without_faces_on(&anew, b, 1e-9 * diagonal), gained))
        })
        .collect();
    let mut whole = outside;
    let mut volume = mesh.volume_mm3();
    for part in parts {
        let (part, gained) = part?;
        whole.append(&part);
        volume += gained;
    }
    let mut sewn = joined_within(&whole, &whole.edge_census(), SAME_SHARE * diagonal);
    let census = sewn.edge_census();
    let census = stitch(&mut sewn, census, CRACK_SHARE * diagonal, &mut Vec::new());
    if !census.is_closed() {
        return without_inner(&sewn, &census);
    }
    let holds = (sewn.volume_mm3() - volume).abs() <= VOLUME_SHARE * volume.abs();
    (volume > 0.0 && holds).then_some(sewn)
}

/// The closed shells, when all others lie inside them: what goes on inside from where the surface entered itself.
fn without_inner(mesh: &Mesh, census: &EdgeCensus) -> Option<Mesh> {
    if !census.flipped.is_empty() || !census.crowded.is_empty() {
        return None;
    }
    let mut open = vec![false; mesh.vertices.len()];
    census.open.iter().flatten().for_each(|v| open[*v as usize] = true);
    let is_open = |s: &Vec<u32>| s.iter().any(|t| mesh.triangles[*t as usize].iter().any(|v| open[*v as usize]));
    let (sheets, closed): (Vec<Vec<u32>>, Vec<Vec<u32>>) = mesh.shells().into_iter().partition(is_open);
    let mut triangles: Vec<u32> = closed.concat();
    triangles.sort_unstable();
    let solid = mesh.subset(&triangles);
    let surface = Bvh::new(&solid);
    let is_inner = |t: &u32| surface.is_inside(mesh.corners(*t as usize).iter().sum::<DVec3>() / 3.0);
    sheets.par_iter().flatten().all(is_inner).then_some(solid)
}

/// How exactly the volume must be that before plus what the boxes gained.
const VOLUME_SHARE: f64 = 1e-7;

/// The closed solid within a box.
fn within(mesh: &Mesh, b: &Bounds) -> Option<Mesh> {
    let mut part: Option<Mesh> = None;
    for normal in [DVec3::X, DVec3::Y, DVec3::Z] {
        let [low, high] = [b.min, b.max].map(|p| Plane::through(p, normal));
        part = Some(slab(part.as_ref().unwrap_or(mesh), Some(&low), Some(&high)).ok()?);
    }
    part
}

/// A part of a solid without its faces on the box that it was cut with.
fn without_faces_on(mesh: &Mesh, b: &Bounds, same: f64) -> Mesh {
    let on = |t: &[u32; 3]| {
        (0..3).any(|axis| {
            [b.min[axis], b.max[axis]]
                .iter()
                .any(|at| t.iter().all(|v| (mesh.vertices[*v as usize][axis] - at).abs() <= same))
        })
    };
    let kept: Vec<u32> = (0..mesh.triangles.len() as u32).filter(|t| !on(&mesh.triangles[*t as usize])).collect();
    mesh.subset(&kept)
}

/// The surface outside all boxes, open where it enters them; `None` when less than half of the faces are left.
fn outside(mesh: &Mesh, boxes: &[Bounds]) -> Option<Mesh> {
    let mut out = Mesh { vertices: mesh.vertices.clone(), triangles: Vec::with_capacity(mesh.triangles.len()) };
    let mut gone = 0;
    for (t, triangle) in mesh.triangles.iter().enumerate() {
        let corners = mesh.corners(t);
        let own = Bounds::of(corners)?;
        let mut polygons: Vec<Vec<(u32, DVec3)>> = vec![[0, 1, 2].map(|k| (triangle[k], corners[k])).to_vec()];
        let mut is_whole = true;
        for b in boxes.iter().filter(|b| meet(b, &own)) {
            is_whole = false;
            polygons = polygons.into_iter().flat_map(|polygon| beyond(polygon, b)).collect();
        }
        if is_whole {
            out.triangles.push(*triangle);
            continue;
        }
        gone += 1;
        for polygon in polygons {
            let corners: Vec<u32> = polygon
                .into_iter()
                .map(|(v, p)| {
                    if v != NEW {
                        return v;
                    }
                    out.vertices.push(p);
                    out.vertices.len() as u32 - 1
                })
                .collect();
            out.triangles.extend((1..corners.len() - 1).map(|k| [corners[0], corners[k], corners[k + 1]]));
        }
    }
    (2 * gone < mesh.triangles.len()).then_some(out)
}

/// Stands for a corner that the mesh doesn't have yet.
const NEW: u32 = u32::MAX;

/// The parts of a convex polygon outside a box, convex too.
fn beyond(polygon: Vec<(u32, DVec3)>, b: &Bounds) -> Vec<Vec<(u32, DVec3)>> {
    let mut out = Vec::new();
    let mut rest = polygon;
    for axis in 0..3 {
        for (at, sign) in [(b.min[axis], 1.0), (b.max[axis], -1.0)] {
            let deep = |p: DVec3| (p[axis] - at) * sign;
            let (inner, outer) = (half(&rest, &|p| deep(p)), half(&rest, &|p| -deep(p)));
            if outer.len() >= 3 {
                out.push(outer);
            }
            rest = inner;
            if rest.len() < 3 {
                return out;
            }
        }
    }
    out
}

/// The part of a convex polygon where `deep` is positive. A side is cut from its lower end whichever polygon asks, so that
/// both on it get the same bits.
fn half(polygon: &[(u32, DVec3)], deep: &dyn Fn(DVec3) -> f64) -> Vec<(u32, DVec3)> {
    let mut kept = Vec::new();
    for (k, (v, p)) in polygon.iter().enumerate() {
        let q = polygon[(k + 1) % polygon.len()].1;
        let (dp, dq) = (deep(*p), deep(q));
        if dp >= 0.0 {
            kept.push((*v, *p));
        }
        if dp * dq < 0.0 {
            let ([a, b], [da, db]) =
                if p.to_array() < q.to_array() { ([*p, q], [dp, dq]) } else { ([q, *p], [dq, dp]) };
            kept.push((NEW, a + (b - a) * (da / (da - db))));
        }
    }
    if kept.iter().any(|(_, p)| deep(*p) > 0.0) { kept } else { Vec::new() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mend::{MendKind, mend};
    use crate::{loft, self_intersects};

    /// A square bar bent into a P whose end goes through its own beginning: a single shell. It is 4 x 4 mm, and 3.2 x 2.8 mm
    /// where it goes through. In steps of half a millimetre.
    fn bent_through_itself() -> Mesh {
        let corners =
            [[0.0, 0.0], [40.0, 0.0], [40.0, 20.2], [10.0, 20.2], [10.0, -11.9]].map(|[x, y]| DVec3::new(x, y, 0.0));
        let right = |k: usize| (corners[k + 1] - corners[k]).normalize().cross(DVec3::Z);
        let mut rings = vec![vec![corners[0] - DVec3::X]];
        for leg in 0..4 {
            let (from, to) = (corners[leg], corners[leg + 1]);
            let steps = (from.distance(to) * 2.0) as u32;
            // Not beside the corners, where slanting rings would fold.
            let is_clear = |i: u32| i == steps || (8..=steps - 8).contains(&i);
            for i in (0..=steps).filter(|i| is_clear(*i) || (*i == 0 && leg == 0)) {
                let share = f64::from(i) / f64::from(steps);
                // Along the third leg it gets slimmer.
                let slim = [0.0, 0.0, share, 1.0][leg];
                let (wide, high) = (2.0 - 0.4 * slim, 2.0 - 0.6 * slim);
                let across = if i == steps && leg < 3 {
                    let (a, b) = (right(leg), right(leg + 1));
                    (a + b) / (1.0 + a.dot(b))
                } else {
                    right(leg)
                };
                let at = from.lerp(to, share);
                let side = |k: u32| (k as f64 / 4.0) - 1.0;
                let square = (0..8).map(|k| [-side(k), 1.0]).chain((0..8).map(|k| [-1.0, -side(k)]));
                let square = square.chain((0..8).map(|k| [side(k), -1.0])).chain((0..8).map(|k| [1.0, side(k)]));
                rings.push(square.map(|[u, v]| at + across * (u * wide) + DVec3::Z * (v * high)).collect::<Vec<_>>());
            }
        }
        rings.push(vec![corners[4] - DVec3::Y]);
        loft(&rings)
    }

    #[test]
    fn only_the_place_where_a_bar_goes_through_itself_is_made_anew() {
        let bar = bent_through_itself();
        assert!(bar.edge_census().is_closed() && self_intersects(&bar).unwrap());
        let (solid, mends) = mend(bar.clone()).unwrap();
        assert_eq!(mends.iter().map(|m| m.kind).collect::<Vec<_>>(), [MendKind::CrossingPlaces]);
        assert!(solid.edge_census().is_closed() && !self_intersects(&solid).unwrap());
        // What was there twice: 3.2 mm by the bar's 4 by 2.8.
        let once = bar.volume_mm3() - 3.2 * 4.0 * 2.8;
        assert!((solid.volume_mm3() / once - 1.0).abs() < 1e-9, "{} {once}", solid.volume_mm3());
        // Away from there every face is as it was.
        let key = |mesh: &Mesh, t: usize| mesh.corners(t).map(|p| p.to_array().map(f64::to_bits));
        let mut kept: Vec<_> = (0..solid.triangles.len()).map(|t| key(&solid, t)).collect();
        kept.sort_unstable();
        let far = |t: &usize| bar.corners(*t).iter().all(|p| p.x > 18.0);
        let away: Vec<usize> = (0..bar.triangles.len()).filter(far).collect();
        assert!(away.len() > 4000, "{}", away.len());
        assert!(away.iter().all(|t| kept.binary_search(&key(&bar, *t)).is_ok()));
        // And nearby the surface is the bar's own, less what lay inside it.
        let surface = Bvh::new(&bar);
        assert!(solid.vertices.iter().all(|p| surface.nearest(*p, 1e-6).is_some()));
    }
}
