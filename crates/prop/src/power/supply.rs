//! The way of the power: from the cell through fuse, switch and converter to all that is fed.

use super::{PowerError, PowerWork};
use crate::catalogue::PartKind;
use crate::finding::Band;
use crate::furnished::SLACK_MM;
use crate::project::Feed;
use solid::DVec3;

/// A connection that carries power, from the cell's side on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Feeder {
    /// Index into the wires.
    pub(crate) wire: usize,
    /// Index into the project's parts.
    pub(crate) from: usize,
    /// The same, or `None` for the strip.
    pub(crate) to: Option<usize>,
    /// Length to cut, mm; of the strip's as far as its first pads.
    pub(crate) cut_mm: Band,
}

/// The way of the power.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Supply {
    /// The cell: index into the project's parts.
    pub(crate) cell: usize,
    /// How many like it there are, side by side.
    pub(crate) cells: u32,
    /// Connections in the order of the current.
    pub(crate) feeders: Vec<Feeder>,
    /// Length to cut of wires that go on to the far pads, mm, where they can run.
    pub(crate) far_mm: Option<Band>,
    /// Joints that the strip's wires cross beside the rail as far as its first pads, and those on to its far ones.
    pub(crate) rail_joints: [Vec<u32>; 2],
}

impl Supply {
    /// The first part of a kind on the way.
    pub(crate) fn first(&self, work: &PowerWork, kind: PartKind) -> Option<usize> {
        let of = |part: &usize| work.project.parts[*part].row.kind == kind;
        self.feeders.iter().filter_map(|f| f.to).find(of)
    }

    /// Joints that a feeder's wires cross, the strip's as far as its first pads.
    pub(crate) fn crossed(&self, work: &PowerWork, feeder: &Feeder) -> Vec<u32> {
        let own = &work.wires[feeder.wire].joints;
        if feeder.to.is_none() { [own.as_slice(), &self.rail_joints[0]].concat() } else { own.clone() }
    }

    /// Joints that the wires to the far pads cross.
    pub(crate) fn crossed_far(&self, work: &PowerWork, feeder: &Feeder) -> Vec<u32> {
        [work.wires[feeder.wire].joints.as_slice(), &self.rail_joints[1]].concat()
    }

    /// Connections from the cell to a part, the part's own first.
    pub(crate) fn way_to(&self, part: usize) -> Vec<&Feeder> {
        let mut way: Vec<&Feeder> = Vec::new();
        while let Some(feeder) = self.feeders.iter().find(|f| f.to == Some(way.last().map_or(part, |w| w.from))) {
            way.push(feeder);
        }
        way
    }

    /// Whether wires can run to the feed points: the bundle's way to the strip is made for so many.
    pub(crate) fn can(&self, work: &PowerWork, feed: Feed) -> bool {
        let wires = self.feeders.iter().find(|f| f.to.is_none()).map_or(0, |f| work.wires[f.wire].wires);
        feed == Feed::Start || (self.far_mm.is_some() && wires >= crate::bay::wires::FED_AT_BOTH)
    }
}

/// A wire that comes so near the last pixel reaches its pads, mm.
const REACHES_MM: f64 = 40.0;

/// Follows the power from the cell on.
///
/// # Errors
/// No cell, a cell or strip that is left out, a ring, too few wires, a wire without a way.
pub(crate) fn trace(work: &PowerWork) -> Result<Supply, PowerError> {
    let parts = &work.project.parts;
    let name = |part: usize| parts[part].name.clone();
    let mut cells = (0..parts.len()).filter(|p| parts[*p].row.kind == PartKind::Cell);
    let cell = cells.next().ok_or(PowerError::NoCell)?;
    let mut count = 1;
    for other in cells {
        if parts[other].row.electrics != parts[cell].row.electrics {
            return Err(PowerError::Unlike { first: name(cell), other: name(other) });
        }
        count += 1;
    }
    let part_of = |letter: char| (0..parts.len()).find(|p| crate::furnished::letter(*p) == letter);
    let edges: Vec<(usize, usize, Option<usize>)> = work
        .wires
        .iter()
        .enumerate()
        .filter_map(|(w, wire)| {
            Some((w, part_of(wire.from)?, wire.to.map(part_of).map_or(Some(None), |p| p.map(Some))?))
        })
        .collect();
    let joined = |part: usize| edges.iter().filter(|e| e.1 == part || e.2 == Some(part)).count();
    let fed = |part: usize| match parts[part].row.kind {
        PartKind::Fuse | PartKind::Converter | PartKind::Controller | PartKind::Sensor | PartKind::Amplifier => true,
        // A switch that stands in a wire has two; one that only signals has one.
        PartKind::Switch => joined(part) > 1,
        PartKind::Cell | PartKind::Speaker | PartKind::ChargePort | PartKind::ProgramPort => false,
    };
    let mut feeders: Vec<Feeder> = Vec::new();
    let (mut reached, mut lit) = (vec![cell], false);
    let mut next = 0;
    while let Some(&from) = reached.get(next) {
        next += 1;
        for (wire, a, b) in &edges {
            let to = if *a == from {
                *b
            } else if *b == Some(from) {
                Some(*a)
            } else {
                continue;
            };
            let led = &work.wires[*wire];
            match to {
                Some(to) if !fed(to) || feeders.iter().any(|f| f.wire == *wire) => continue,
                Some(to) if reached.contains(&to) => return Err(PowerError::Loop { part: name(to) }),
                // A second connection to the strip carries data only.
                None if lit => continue,
                None => lit = true,
                Some(to) => reached.push(to),
            }
            if led.wires < 2 {
                return Err(PowerError::OneWire { part: name(to.unwrap_or(from)), wires: led.wires });
            }
            if led.points.is_empty() {
                return Err(PowerError::NoWay { number: led.number });
            }
            feeders.push(Feeder { wire: *wire, from, to, cut_mm: led.cut_mm });
        }
    }
    if feeders.is_empty() {
        return Err(PowerError::NoPath { cell: name(cell) });
    }
    if !lit && !work.pixels.is_empty() {
        return Err(PowerError::NoSupply { cell: name(cell) });
    }
    let mut supply = Supply { cell, cells: count, feeders, far_mm: None, rail_joints: Default::default() };
    lead_in(work, &mut supply);
    Ok(supply)
}

/// The strip's wires go on beside the rail: to the first pads, and to the far ones where there is room.
fn lead_in(work: &PowerWork, supply: &mut Supply) {
    let Some(feeder) = supply.feeders.iter_mut().find(|f| f.to.is_none()) else { return };
    // From the grip towards the tip.
    let way: Vec<DVec3> = work.wire_way.iter().rev().copied().collect();
    let (Some(first), Some(last)) = (work.pixels.first(), work.pixels.iter().max_by_key(|p| p.number)) else { return };
    let upto = |target: DVec3| -> (f64, f64) {
        let (mut best, mut along) = ((0.0, f64::INFINITY), 0.0);
        for (i, p) in way.iter().enumerate() {
            along += if i == 0 { 0.0 } else { (*p - way[i - 1]).length() };
            let off = (*p - target).length();
            if off < best.1 {
                best = (along, off);
            }
        }
        best
    };
    let joints = |from: f64, to: f64| -> Vec<u32> {
        let crossed = |j: &&crate::outcome::Joint| j.frame.station_mm > from && j.frame.station_mm < to;
        work.joints.iter().filter(crossed).map(|j| j.number).collect()
    };
    let begins = way.first().map_or(0.0, |p| work.path.station_of(*p));
    let longer = |cut: Band, mm: f64, crossings: usize| {
        let slack = SLACK_MM.map(|s| s * crossings as f64);
        Band { value: cut.value + mm + slack[0], low: cut.low + mm + slack[1], high: cut.high + mm + slack[2] }
    };
    let (near, off) = if way.is_empty() { (0.0, 0.0) } else { upto(first.point) };
    let own = feeder.cut_mm;
    supply.rail_joints[0] = joints(begins, first.station_mm);
    feeder.cut_mm = longer(own, near + off, supply.rail_joints[0].len());
    if let Some(end) = way.last() {
        let off = (*end - last.point).length();
        if off <= REACHES_MM {
            let (along, off) = upto(last.point);
            supply.rail_joints[1] = joints(begins, last.station_mm);
            supply.far_mm = Some(longer(own, along + off, supply.rail_joints[1].len()));
        }
    }
}
