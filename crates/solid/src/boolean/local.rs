//! A boolean computed near its tool only. What lies further off stays as it is, triangle by triangle.
//!
//! Slabs of the large solid around the tool go through the engine. Of what comes back, the triangles that went in unchanged
//! are the solid's own; the others take the place of those that are gone. Whatever looks odd on the way is left to the whole
//! boolean.

use super::{BooleanError, apart, check, combine_whole, used, used_bounds};
use crate::cut::{CUT, Plane, Slabs, slabs};
use crate::{Bounds, Mesh};
use glam::DVec3;
use manifold_rust::types::OpType;
use std::collections::{HashMap, HashSet};

/// A solid of fewer triangles is as soon done whole.
const LEAST_TRIANGLES: usize = 4096;
/// Slabs that hold more of the solid's length than this are not worth the detour.
const MOST_SHARE: f64 = 0.6;
/// How far a slab goes beyond the triangles that the tool may meet, mm.
const MARGIN_MM: f64 = 0.5;

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

/// Pairs of planes across one axis with all of the tool between them, and every triangle that it may meet: the axis along
/// which the tool holds the least of a solid.
fn planes_around(tool: &Mesh, a: &Mesh) -> Option<Vec<Plane>> {
    let all = used_bounds(a)?;
    let boxes: Vec<Bounds> =
        tool.shells().iter().filter_map(|s| Bounds::of(s.iter().flat_map(|t| tool.corners(*t as usize)))).collect();
    let share = |axis: DVec3, stretches: &[Stretch]| {
        let [low, high] = [all.min.dot(axis), all.max.dot(axis)];
        let held: f64 = stretches.iter().map(|s| (s.to.min(high) - s.from.max(low)).max(0.0)).sum();
        held / (high - low)
    };
    let (_, axis, stretches) = [DVec3::X, DVec3::Y, DVec3::Z]
        .into_iter()
        .map(|axis| (axis, joined(boxes.iter().map(|b| Stretch::of(*b, axis)).collect())))
        .map(|(axis, stretches)| (share(axis, &stretches), axis, stretches))
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    let stretches = joined(reaching(stretches, a, axis));
    let plane = |offset_mm: f64| Plane { normal: axis, offset_mm };
    let planes = || stretches.iter().flat_map(|s| [s.from, s.to]).map(plane).collect();
    (share(axis, &stretches) <= MOST_SHARE).then(planes)
}

/// Where boxes lie along an axis.
struct Stretch {
    from: f64,
    to: f64,
    boxes: Vec<Bounds>,
}

impl Stretch {
    fn of(bounds: Bounds, axis: DVec3) -> Stretch {
        Stretch { from: bounds.min.dot(axis), to: bounds.max.dot(axis), boxes: vec![bounds] }
    }
}

/// Those that touch made one, in order.
fn joined(mut each: Vec<Stretch>) -> Vec<Stretch> {
    each.sort_by(|a, b| a.from.total_cmp(&b.from));
    let mut joined: Vec<Stretch> = Vec::new();
    for next in each {
        match joined.last_mut() {
            Some(last) if next.from <= last.to => {
                last.to = last.to.max(next.to);
                last.boxes.extend(next.boxes);
            }
            _ => joined.push(next),
        }
    }
    joined
}

/// Stretches made longer, so that each holds the whole of every triangle whose box touches one of its boxes, and a margin.
fn reaching(stretches: Vec<Stretch>, a: &Mesh, axis: DVec3) -> Vec<Stretch> {
    let mut reach: Vec<[f64; 2]> = stretches.iter().map(|s| [s.from, s.to]).collect();
    for t in 0..a.triangles.len() {
        let corners = a.corners(t);
        let [p, q, r] = corners.map(|c| c.dot(axis));
        let (low, high) = (p.min(q).min(r), p.max(q).max(r));
        let first = stretches.partition_point(|s| s.to < low);
        for (s, reach) in stretches.iter().zip(&mut reach).skip(first).take_while(|(s, _)| s.from <= high) {
            if Bounds::of(corners).is_some_and(|own| s.boxes.iter().any(|b| !apart(b, &own))) {
                *reach = [reach[0].min(low), reach[1].max(high)];
            }
        }
    }
    let longer = |(s, [from, to]): (Stretch, [f64; 2])| Stretch { from: from - MARGIN_MM, to: to + MARGIN_MM, ..s };
    stretches.into_iter().zip(reach).map(longer).collect()
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

    #[test]
    fn a_rod_of_long_triangles_is_computed_as_far_as_they_reach() {
        let pipe = pipe();
        // Through the rod, whose triangles run from 10 to 110 mm: most of the pipe.
        let through = cuboid(DVec3::new(50.0, -1.0, -1.5), DVec3::new(54.0, 1.0, 6.0));
        assert!(planes_around(&through, &pipe).is_none());
        // A tool beside it meets only the walls.
        let beside = cuboid(DVec3::new(50.0, -1.0, 5.0), DVec3::new(54.0, 1.0, 30.0));
        let planes = planes_around(&beside, &pipe).unwrap();
        let at = [planes[0].offset_mm, planes[1].offset_mm];
        assert!(planes.len() == 2 && at[0] < 49.5 && at[0] > 47.0 && at[1] > 54.5 && at[1] < 57.0, "{at:?}");
        for tool in [&through, &beside] {
            let (near, whole) = (difference(&pipe, tool), combine_whole("boolean", &pipe, tool, OpType::Subtract));
            assert!((near.unwrap().volume_mm3() - whole.unwrap().volume_mm3()).abs() < 1e-6);
        }
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
