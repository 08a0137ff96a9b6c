//! The way of the wires: from the strip's far end, beside the rail, through the end walls and bores to the grip.

use super::fitting::{Core, Rail};
use crate::outcome::Role;
use solid::{DVec2, DVec3};

/// Distance between the places that a way is measured at, mm.
const STEP_MM: f64 = 2.0;
/// Length over which the wires come from the cavity to the bore's middle, mm.
const SLANT_MM: f64 = 18.0;
/// Air kept to the wall, mm.
const AIR_MM: f64 = 0.5;

/// The wires beside the ribs from one distance along the rail's way to another, butt side first, as far as there is room:
/// at the best place that has it, out of the light. Towards the tip it only gets worse, so that they never cross it twice.
pub(crate) fn beside_ribs(cores: &[Core], rail: &Rail, [from, to]: [f64; 2]) -> Vec<DVec3> {
    let point = |d: f64, place: DVec2| {
        let (run, at) = rail.way.locate(d);
        run.point(place, at)
    };
    let room = |d: f64, place: DVec2| {
        let s = rail.way.station_at(d);
        let here = |c: &&Core| c.body.role == Role::Lit && s >= c.body.station_mm[0] && s <= c.body.station_mm[1];
        cores.iter().find(here).is_some_and(|b| {
            -b.outer.signed_distance(point(d, place)) >= b.rules.wall_mm + rail.layout.wire_radius + AIR_MM
        })
    };
    let steps = ((to - from) / STEP_MM).floor().max(0.0) as usize;
    let places = rail.layout.wires_in_cavity();
    let mut best = 0;
    let mut way = Vec::new();
    for i in 0..=steps {
        let d = from + STEP_MM * i as f64;
        while best + 1 < places.len() && !room(d, places[best]) {
            best += 1;
        }
        if best + 1 == places.len() && !room(d, places[best]) {
            break;
        }
        way.push(point(d, places[best]));
    }
    way
}

/// The part of the way beside the ribs, butt side first; empty where nothing is lit.
pub(crate) fn in_cavity(cores: &[Core], rail: &Rail) -> Vec<DVec3> {
    match (rail.strip_mm, rail.bore_mm) {
        (Some([_, strip_end]), Some([_, bore_to])) => beside_ribs(cores, rail, [bore_to + SLANT_MM, strip_end]),
        _ => Vec::new(),
    }
}

/// The way as a polyline in the prop frame, tip side first; empty when there is nothing to wire.
///
/// In the lit body the wires lie beside the ribs as far from the pixels' light as there is room for the bundle everywhere;
/// in end walls and solid bodies they run in the bore.
pub fn wire_way(cores: &[Core], rail: &Rail) -> Vec<DVec3> {
    let (Some(_), Some([bore_from, bore_to])) = (rail.strip_mm, rail.bore_mm) else { return Vec::new() };
    let point = |d: f64, place: DVec2| {
        let (run, at) = rail.way.locate(d);
        run.point(place, at)
    };
    let mut way = in_cavity(cores, rail);
    way.reverse();
    let middle = rail.layout.wires_in_bore();
    let mut meets: Vec<f64> = vec![bore_from + rail.layout.wire_radius + AIR_MM + rail.layout.wire_gap];
    if rail.layout.spokes.is_some() {
        // Through the end block the wires come from their place in the cavity to the spine.
        way.push(point(bore_to, rail.layout.wires_in_cavity()[0]));
        meets.extend(rail.mouth_mm.map(|m| m[0]));
    } else {
        meets.push(bore_to);
    }
    let mut done = 0.0;
    for run in &rail.way.runs {
        done += run.length_mm;
        if done < bore_to && done > bore_from {
            meets.push(done);
        }
    }
    meets.sort_by(|a, b| b.total_cmp(a));
    way.extend(meets.into_iter().map(|d| point(d, middle)));
    way
}
