//! What channels for wires see of the prop: how much room there is at a place, and the shortest way through a lattice of
//! such places (Dijkstra).

use super::light::Surfaces;
use super::{Bay, Lid};
use crate::stages::{Inside, Placed};
use rayon::prelude::*;
use solid::{Bvh, DVec3};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Cells of the lattice, mm.
const CELL_MM: f64 = 1.5;
/// Plastic kept between a channel and the outside, mm: three beads.
const OUTSIDE_MM: f64 = 1.2;
/// Kept to parts, lids and the spine, mm.
const PART_MM: f64 = 0.6;
const LID_MM: f64 = 0.8;
const SPINE_MM: f64 = 0.3;
/// A lattice larger than this is given up, cells.
const MOST_CELLS: usize = 6_000_000;
/// Kept free round the plane where two bodies meet when a channel's wall is judged, mm.
const MEETING_MM: f64 = 4.0;

/// What a channel goes round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stands {
    /// A part with its lid: index into the project's parts.
    Part(usize),
    /// Spine and strips.
    Spine,
    /// The wires of another connection: index into the connections.
    Wires(usize),
}

/// A solid that channels keep off.
struct Solid {
    surface: Bvh,
    off_mm: f64,
    whose: Vec<Stands>,
}

/// A body's surface, by how much it may lie outside the maker's, mm, and where it begins and ends.
struct Around<'a> {
    surface: &'a Bvh,
    off_mm: f64,
    x: [f64; 2],
}

/// What channels see of the prop.
pub(super) struct Field<'a> {
    bodies: Vec<Around<'a>>,
    /// Where two bodies meet: x of the plane.
    meets: Vec<f64>,
    solid: Vec<Solid>,
}

impl Field<'_> {
    /// The largest radius of a channel through a point, mm; negative where there is none. One thing may be left out.
    pub(super) fn room(&self, p: DVec3, without: Option<Stands>) -> f64 {
        let mut room = self.depth(p) - OUTSIDE_MM;
        for Solid { surface, off_mm, .. } in self.solid.iter().filter(|s| without.is_none_or(|w| !s.whose.contains(&w)))
        {
            if room <= 0.0 {
                return room;
            }
            if surface.is_inside(p) {
                return -1.0;
            }
            if let Some(near) = surface.nearest(p, room + off_mm) {
                room = room.min(near.distance_mm - off_mm);
            }
        }
        room
    }

    /// Parts, spine and strips that there are.
    pub(super) fn all(&self) -> Vec<Stands> {
        let mut all: Vec<Stands> = Vec::new();
        for stands in self.solid.iter().flat_map(|s| &s.whose) {
            if !all.contains(stands) {
                all.push(*stands);
            }
        }
        all
    }

    /// Distance to the outside, the faces where bodies meet left out.
    fn depth(&self, p: DVec3) -> f64 {
        let in_one = |p: DVec3| {
            self.bodies
                .iter()
                .filter(|b| p.x >= b.x[0] && p.x <= b.x[1])
                .map(|b| -b.surface.signed_distance(p) - b.off_mm)
                .fold(-1.0, f64::max)
        };
        match self.meets.iter().find(|m| (p.x - **m).abs() < MEETING_MM) {
            Some(m) => {
                let aside = |by: f64| in_one(DVec3::new(m + by, p.y, p.z));
                aside(MEETING_MM).min(aside(-MEETING_MM))
            }
            None => in_one(p),
        }
    }
}

/// The lattice with the room at each of its points.
pub(super) struct Lattice {
    low: DVec3,
    count: [usize; 3],
    pub(super) room: Vec<f32>,
    hollow: Vec<bool>,
}

impl Lattice {
    pub(super) fn point(&self, i: usize) -> DVec3 {
        let [nx, ny, _] = self.count;
        self.low + DVec3::new((i % nx) as f64, (i / nx % ny) as f64, (i / nx / ny) as f64) * CELL_MM
    }

    fn nearest(&self, p: DVec3) -> usize {
        let q = ((p - self.low) / CELL_MM).round().max(DVec3::ZERO);
        let at = |v: f64, n: usize| (v as usize).min(n - 1);
        let [nx, ny, nz] = self.count;
        at(q.x, nx) + nx * (at(q.y, ny) + ny * at(q.z, nz))
    }

    /// The shortest way between two points through cells that `open` lets through.
    pub(super) fn way(&self, from: DVec3, to: DVec3, radius: f64, open: &dyn Fn(usize) -> bool) -> Option<Vec<DVec3>> {
        let (start, goal) = (self.nearest(from), self.nearest(to));
        let mut best = vec![u32::MAX; self.room.len()];
        let mut came = vec![u32::MAX; self.room.len()];
        let mut queue = BinaryHeap::new();
        best[start] = 0;
        queue.push(Reverse((0u32, start as u32)));
        let [nx, ny, nz] = self.count.map(|n| n as i64);
        while let Some(Reverse((cost, i))) = queue.pop() {
            let i = i as usize;
            if i == goal {
                let mut way = vec![to];
                let mut at = i;
                while at != start {
                    at = came[at] as usize;
                    way.push(self.point(at));
                }
                way.pop();
                way.push(from);
                way.reverse();
                return Some(way);
            }
            if cost > best[i] {
                continue;
            }
            let (x, y, z) = (i as i64 % nx, i as i64 / nx % ny, i as i64 / nx / ny);
            for d in 0..27i64 {
                let (dx, dy, dz) = (d % 3 - 1, d / 3 % 3 - 1, d / 9 - 1);
                let (ax, ay, az) = (x + dx, y + dy, z + dz);
                if d == 13 || ax < 0 || ay < 0 || az < 0 || ax >= nx || ay >= ny || az >= nz {
                    continue;
                }
                let j = (ax + nx * (ay + ny * az)) as usize;
                if j != goal && !open(j) {
                    continue;
                }
                let long = [0, 100, 141, 173][(dx.abs() + dy.abs() + dz.abs()) as usize];
                // Through plastic a channel has to be cut and threaded.
                let drilled = if self.hollow[j] { long } else { long * 3 / 2 };
                // And with room round it, so that corners can be rounded.
                let spare = (f64::from(self.room[j]) - radius).max(0.0);
                let next = cost + drilled + (f64::from(long) * 1.5 / (0.4 + spare)) as u32;
                if next < best[j] {
                    best[j] = next;
                    came[j] = i as u32;
                    queue.push(Reverse((next, j as u32)));
                }
            }
        }
        None
    }
}

/// Everything that channels go round.
pub(super) fn field<'a>(
    placed: &Placed,
    inside: &Inside,
    surfaces: &'a Surfaces,
    bays: &[Bay],
    lids: &[Lid],
) -> Field<'a> {
    let bodies: Vec<Around> =
        surfaces.iter().map(|s| Around { surface: s.bvh(), off_mm: s.off_mm(), x: s.ends_mm() }).collect();
    let meets = bodies.windows(2).map(|w| f64::midpoint(w[0].x[1], w[1].x[0])).collect();
    let part = |p: &usize| Stands::Part(*p);
    let mut solid: Vec<Solid> = bays
        .iter()
        .map(|b| Solid { surface: Bvh::new(&b.largest), off_mm: PART_MM, whose: vec![part(&b.part)] })
        .collect();
    for lid in lids {
        for mesh in [&lid.recess, &lid.sunk_in_body].into_iter().filter(|m| !m.is_empty()) {
            let whose = lid.parts.iter().map(part).collect();
            solid.push(Solid { surface: Bvh::new(mesh), off_mm: LID_MM, whose });
        }
    }
    let (strips, spines, _) = crate::views::fittings(inside, placed);
    let fitting = |mesh| Solid { surface: Bvh::new(mesh), off_mm: SPINE_MM, whose: vec![Stands::Spine] };
    solid.extend(spines.iter().chain(&strips).map(|b| fitting(&b.mesh)));
    Field { bodies, meets, solid }
}

/// The lattice between two corners; `None` where it would be too large.
pub(super) fn lattice(field: &Field, low: DVec3, high: DVec3, bays: &[Bay], inside: &Inside) -> Option<Lattice> {
    let size = (high - low) / CELL_MM;
    let count = [size.x, size.y, size.z].map(|s| s.ceil().max(0.0) as usize + 1);
    let cells = count.iter().product::<usize>();
    if cells > MOST_CELLS {
        return None;
    }
    let mut hollow: Vec<Bvh> = bays.iter().map(|b| Bvh::new(&b.taken)).collect();
    if let Some(rail) = inside.rail.as_ref().filter(|r| !r.bore.is_empty()) {
        hollow.push(Bvh::new(&rail.bore));
    }
    let mut lattice = Lattice { low, count, room: Vec::new(), hollow: Vec::new() };
    let at: Vec<(f32, bool)> = (0..cells)
        .into_par_iter()
        .map(|i| {
            let p = lattice.point(i);
            let room = field.room(p, None);
            (room as f32, room > 0.0 && hollow.iter().any(|h| h.is_inside(p)))
        })
        .collect();
    (lattice.room, lattice.hollow) = at.into_iter().unzip();
    Some(lattice)
}
