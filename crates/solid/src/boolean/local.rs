//! A boolean computed near its tool only. What lies further off stays as it is, triangle by triangle.
//!
//! Slabs of the large solid around the tool go through the engine. Of what comes back, the triangles that went in unchanged
//! are the solid's own; the others take the place of those that are gone. Whatever looks odd on the way is left to the whole
//! boolean.

use super::{BooleanError, check, combine_whole, used, used_bounds};
use crate::cut::{CUT, Plane, Slabs, slabs};
use crate::{Bounds, Mesh};
use glam::DVec3;
use manifold_rust::types::OpType;
use std::collections::{HashMap, HashSet};

/// A solid of fewer triangles is as soon done whole.
const LEAST_TRIANGLES: usize = 4096;
/// Slabs that hold more of the solid's length than this are not worth the detour.
const MOST_SHARE: f64 = 0.6;
/// How far beyond the tool a slab goes, mm: further than the triangles reach that the tool meets, where there are many.
const MARGIN_MM: f64 = 2.0;

/// What [`combine_whole`] comes to, if the tool meets but a part of the solid; `None` where it is to be computed whole.
pub(super) fn combine(what: &'static str, a: &Mesh, tool: &Mesh, op: OpType) -> Result<Option<Mesh>, BooleanError> {
    if a.triangles.len() < LEAST_TRIANGLES || tool.is_empty() || [a, tool].iter().any(|m| check(m, 1).is_err()) {
        return Ok(None);
    }
    // The whole boolean names what is wrong.
    if a.volume_mm3() < 0.0 || tool.volume_mm3() < 0.0 || !balances(a) || !balances(tool) {
        return Ok(None);
    }
    let Some(planes) = planes_around(tool, a) else { return Ok(None) };
    let Ok(near) = slabs(a, &planes) else { return Ok(None) };
    let made = combine_whole(what, &near.parts, tool, op)?;
    Ok(if op == OpType::Intersect { Some(made) } else { set_in(a, &near, &made).filter(balances) })
}

/// Pairs of planes across one axis with all of the tool between them: the axis along which they hold the least of a solid.
fn planes_around(tool: &Mesh, a: &Mesh) -> Option<Vec<Plane>> {
    let all = used_bounds(a)?;
    let boxes: Vec<Bounds> =
        tool.shells().iter().filter_map(|s| Bounds::of(s.iter().flat_map(|t| tool.corners(*t as usize)))).collect();
    let (share, axis, stretches) = [DVec3::X, DVec3::Y, DVec3::Z]
        .into_iter()
        .map(|axis| {
            let stretches = stretches(&boxes, axis);
            let [low, high] = [all.min.dot(axis), all.max.dot(axis)];
            let held: f64 = stretches.iter().map(|[from, to]| (to.min(high) - from.max(low)).max(0.0)).sum();
            (held / (high - low), axis, stretches)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    let plane = |offset_mm: f64| Plane { normal: axis, offset_mm };
    (share <= MOST_SHARE).then(|| stretches.into_iter().flatten().map(plane).collect())
}

/// Where boxes lie along an axis, with a margin; those that touch are one.
fn stretches(boxes: &[Bounds], axis: DVec3) -> Vec<[f64; 2]> {
    let mut each: Vec<[f64; 2]> =
        boxes.iter().map(|b| [b.min.dot(axis) - MARGIN_MM, b.max.dot(axis) + MARGIN_MM]).collect();
    each.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut joined: Vec<[f64; 2]> = Vec::new();
    for [from, to] in each {
        match joined.last_mut() {
            Some(last) if from <= last[1] => last[1] = last[1].max(to),
            _ => joined.push([from, to]),
        }
    }
    joined
}

/// The solid with what its slabs came to in their place; `None` where something changed at the slabs' own ends.
fn set_in(a: &Mesh, near: &Slabs, made: &Mesh) -> Option<Mesh> {
    let places: HashMap<[u64; 3], u32> = near.parts.vertices.iter().map(bits).zip(0..).collect();
    if places.len() < near.parts.vertices.len() {
        return None;
    }
    let known: Vec<Option<u32>> = made.vertices.iter().map(|p| places.get(&bits(p)).copied()).collect();
    let distinct: HashSet<u32> = known.iter().flatten().copied().collect();
    if distinct.len() < known.iter().flatten().count() {
        return None;
    }
    let triangles: HashMap<[u32; 3], usize> = near.parts.triangles.iter().map(|t| turned(*t)).zip(0..).collect();
    if triangles.len() < near.parts.triangles.len() {
        return None;
    }
    let mut gone = vec![true; near.parts.triangles.len()];
    let mut added = Vec::new();
    for t in &made.triangles {
        let same = match t.map(|v| known[v as usize]) {
            [Some(a), Some(b), Some(c)] => triangles.get(&turned([a, b, c])),
            _ => None,
        };
        match same.filter(|k| gone[**k]) {
            Some(k) => gone[*k] = false,
            None => added.push(*t),
        }
    }
    let mut left = vec![true; a.triangles.len()];
    for (own, _) in near.triangles.iter().zip(&gone).filter(|(_, gone)| **gone) {
        *left.get_mut(*own as usize)? = false;
    }
    let mut whole = Mesh { vertices: a.vertices.clone(), triangles: Vec::new() };
    whole.triangles.extend(a.triangles.iter().zip(&left).filter(|(_, left)| **left).map(|(t, _)| *t));
    let mut names = vec![CUT; made.vertices.len()];
    for t in added {
        let mut named = [0; 3];
        for (v, name) in t.into_iter().zip(&mut named) {
            let v = v as usize;
            *name = match known[v] {
                Some(k) if near.vertices[k as usize] == CUT => return None,
                Some(k) => near.vertices[k as usize],
                None => {
                    if names[v] == CUT {
                        names[v] = whole.vertices.len() as u32;
                        whole.vertices.push(made.vertices[v]);
                    }
                    names[v]
                }
            };
        }
        whole.triangles.push(named);
    }
    Some(used(&whole))
}

/// A point as what tells it from any other.
fn bits(p: &DVec3) -> [u64; 3] {
    // The two zeros are one place.
    p.to_array().map(|x| (x + 0.0).to_bits())
}

/// A triangle with its smallest corner first.
fn turned([a, b, c]: [u32; 3]) -> [u32; 3] {
    if a <= b && a <= c {
        [a, b, c]
    } else if b <= c {
        [b, c, a]
    } else {
        [c, a, b]
    }
}

/// Whether each edge is walked as often one way as the other, as told by sums of hashes of 64 bits: sooner than by sorting,
/// and what it misses is one case in so many as no machine will meet.
fn balances(mesh: &Mesh) -> bool {
    let sum = mesh.triangles.iter().fold(0u64, |sum, [a, b, c]| {
        [(a, b), (b, c), (c, a)].iter().fold(sum, |sum, (from, to)| {
            let hash = mixed(u64::from(**from.min(to)) << 32 | u64::from(**from.max(to)));
            if from < to { sum.wrapping_add(hash) } else { sum.wrapping_sub(hash) }
        })
    });
    sum == 0
}

/// A number's bits mixed: the finisher of the SplitMix64 generator (Steele, Lea, Flood 2014).
fn mixed(mut x: u64) -> u64 {
    x = x.wrapping_add(0x9e37_79b9_7f4a_7c15);
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}

#[cfg(test)]
mod tests {
    use super::super::{difference, intersection, union};
    use super::*;
    use crate::{cuboid, cylinder, loft, self_intersects};
    use proptest::prelude::*;
    use std::f64::consts::TAU;

    /// A closed pipe of 120 mm along x in steps of about 1 mm, a rod of long triangles in it.
    fn pipe() -> Mesh {
        let ring = |x: f64, r: f64| -> Vec<DVec3> {
            (0..60)
                .map(|k| {
                    let (s, c) = libm::sincos(TAU * f64::from(k) / 60.0);
                    DVec3::new(x, r * c, r * s)
                })
                .collect()
        };
        let outside = |i: i32| ring(f64::from(i), 12.0 + 0.3 * libm::sin(f64::from(i) / 5.0));
        let mut pipe = loft(&(0..=120).map(outside).collect::<Vec<_>>());
        let inside = loft(&(3..=117).map(|i| ring(f64::from(i), 8.0)).collect::<Vec<_>>());
        pipe.append(&inside.reversed());
        pipe.append(&cylinder(DVec3::X * 10.0, DVec3::X * 110.0, 2.0, 40));
        pipe
    }

    fn tools(at: [f64; 2]) -> Mesh {
        let mut tools = Mesh::default();
        for (x, y) in at.into_iter().zip([0.3, -0.7]) {
            tools.append(&cylinder(DVec3::new(x, y, -20.0), DVec3::new(x, y, -5.1), 3.0, 24));
            tools.append(&cuboid(DVec3::new(x + 0.15, y - 2.0, 5.0), DVec3::new(x + 4.15, y + 2.0, 30.0)));
        }
        tools
    }

    type Operation = (OpType, fn(&Mesh, &Mesh) -> Result<Mesh, BooleanError>);
    const OPERATIONS: [Operation; 3] =
        [(OpType::Add, union), (OpType::Subtract, difference), (OpType::Intersect, intersection)];

    #[test]
    fn what_lies_far_from_the_tool_is_kept_as_it_is() {
        let (pipe, tools) = (pipe(), tools([31.37, 77.23]));
        let cut =
            combine("difference", &pipe, &tools, OpType::Subtract).unwrap().expect("it is computed near the tool");
        let sides = |m: &Mesh| -> HashSet<[[u64; 3]; 3]> {
            m.triangles.iter().map(|t| turned(*t).map(|v| bits(&m.vertices[v as usize]))).collect()
        };
        let boxes: Vec<Bounds> = tools
            .shells()
            .iter()
            .filter_map(|s| Bounds::of(s.iter().flat_map(|t| tools.corners(*t as usize))))
            .collect();
        let corner_sets = |m: &Mesh| -> HashSet<Vec<[u64; 3]>> {
            sides(m)
                .into_iter()
                .map(|t| {
                    let mut t = t.to_vec();
                    t.sort_unstable();
                    t
                })
                .collect()
        };
        let kept = corner_sets(&cut);
        let mut far = 0;
        for t in 0..pipe.triangles.len() {
            let b = Bounds::of(pipe.corners(t)).unwrap();
            if boxes.iter().all(|tool| super::super::apart(tool, &b)) {
                far += 1;
                let mut corners = pipe.corners(t).map(|p| bits(&p)).to_vec();
                corners.sort_unstable();
                assert!(kept.contains(&corners), "triangle {t} at {:?}", b.center());
            }
        }
        assert!(far > 12_000, "{far}");
    }

    #[test]
    fn faults_far_from_the_tool_are_seen() {
        let mut open = pipe();
        open.triangles.remove(40);
        assert!(matches!(
            difference(&open, &tools([60.0, 80.0])),
            Err(BooleanError::NotClosed { operand: 1, edges: 3, .. })
        ));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]
        #[test]
        fn near_and_whole_come_to_the_same(one in 8.1f64..50.0, other in 60.0f64..108.0) {
            let (pipe, tools) = (pipe(), tools([one, other]));
            for (op, operation) in OPERATIONS {
                let whole = combine_whole("boolean", &pipe, &tools, op).unwrap();
                let near = operation(&pipe, &tools).unwrap();
                prop_assert!((near.volume_mm3() - whole.volume_mm3()).abs() < 1e-6 * whole.volume_mm3());
                prop_assert!((near.area_mm2() - whole.area_mm2()).abs() < 1e-6 * whole.area_mm2());
                prop_assert!(near.edge_census().is_closed());
                prop_assert_eq!(near.shells().len(), whole.shells().len());
                prop_assert!(!self_intersects(&near).unwrap());
                prop_assert!(combine("boolean", &pipe, &tools, op).unwrap().is_some());
            }
        }
    }
}
