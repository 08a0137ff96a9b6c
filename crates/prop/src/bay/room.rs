//! What is free in a body: distances to its outer surface and to what is inside already.

use crate::path::{CentrePath, PathFrame};
use crate::project::Flank;
use solid::{Bvh, DVec3, Mesh};

/// Plastic kept between a bay and the bore, another bay or a lid's seat, mm: three beads of a 0.4 nozzle.
pub(super) const PARTITION_MM: f64 = 1.2;

/// Something inside a body that a bay must keep off.
pub(super) struct Kept {
    pub(super) surface: Bvh,
    pub(super) off_mm: f64,
}

/// A body as bays see it.
pub(super) struct Room<'a> {
    /// Index in the placed shape.
    pub(super) body: usize,
    pub(super) path: &'a CentrePath,
    pub(super) outer: &'a Bvh,
    /// By how much that may lie outside the maker's surface, mm.
    pub(super) off_mm: f64,
    /// Plastic kept to the outside, mm.
    pub(super) wall_mm: f64,
    /// Stations that lids, trays and ports may take up, mm: joints keep the rest.
    pub(super) span_mm: [f64; 2],
    /// Stations that joints which come apart take up, mm.
    pub(super) closed_mm: Vec<[f64; 2]>,
    /// Half the largest extent of the body's section, mm.
    pub(super) reach_mm: f64,
    pub(super) kept: Vec<Kept>,
}

/// Axes of a place: the way out and the prop's own direction.
#[derive(Clone, Copy)]
pub(super) struct Axes {
    pub(super) origin: DVec3,
    pub(super) along: DVec3,
    pub(super) out: DVec3,
    pub(super) beside: DVec3,
}

impl Axes {
    pub(super) fn new(frame: &PathFrame, side: Flank) -> Axes {
        let out = match side {
            Flank::PlusY => frame.across,
            Flank::MinusY => -frame.across,
            Flank::PlusZ => frame.through,
            Flank::MinusZ => -frame.through,
        };
        Axes { origin: frame.point, along: frame.along, out, beside: out.cross(frame.along) }
    }

    /// A point by its distance along the prop, sideways and along the way out.
    pub(super) fn at(&self, along: f64, beside: f64, out: f64) -> DVec3 {
        self.origin + self.along * along + self.beside * beside + self.out * out
    }
}

impl Room<'_> {
    /// By how much a lid, tray or port that reaches `reach_mm` to both sides of a station runs into joints or ends, mm.
    pub(super) fn misplaced(&self, station_mm: f64, reach_mm: f64) -> f64 {
        let [from, to] = [station_mm - reach_mm, station_mm + reach_mm];
        let ends = (self.span_mm[0] - from).max(0.0) + (to - self.span_mm[1]).max(0.0);
        let closed = self.closed_mm.iter().map(|c| (to.min(c[1]) - from.max(c[0])).max(0.0));
        ends + closed.sum::<f64>()
    }

    /// By how much a point lacks `wall_mm` of plastic to the outside, mm; 0 when it has it.
    pub(super) fn thin(&self, p: DVec3, wall_mm: f64) -> f64 {
        let wall_mm = wall_mm + self.off_mm;
        match self.outer.nearest(p, wall_mm + self.reach_mm) {
            _ if !self.outer.is_inside(p) => {
                wall_mm + self.outer.nearest(p, f64::INFINITY).map_or(0.0, |n| n.distance_mm)
            }
            Some(n) if n.distance_mm < wall_mm => wall_mm - n.distance_mm,
            _ => 0.0,
        }
    }

    /// By how much a point comes too near to what is inside already, mm.
    pub(super) fn crowded(&self, p: DVec3) -> f64 {
        self.kept
            .iter()
            .map(|k| {
                if k.surface.is_inside(p) {
                    k.off_mm + k.surface.nearest(p, f64::INFINITY).map_or(0.0, |n| n.distance_mm)
                } else {
                    k.surface.nearest(p, k.off_mm).map_or(0.0, |n| k.off_mm - n.distance_mm)
                }
            })
            .fold(0.0, f64::max)
    }

    /// Height of the outer surface over a place, mm along the way out from the centre path; negative infinity where there
    /// is none.
    pub(super) fn surface(&self, axes: &Axes, along: f64, beside: f64) -> f64 {
        let far = self.reach_mm * 2.0 + 10.0;
        self.outer
            .ray(axes.at(along, beside, far), -axes.out, 2.0 * far)
            .map_or(f64::NEG_INFINITY, |hit| far - hit.distance_mm)
    }

    /// Keeps later bays off some solids.
    pub(super) fn keep_off(&mut self, solids: &[&Mesh], off_mm: f64) {
        for solid in solids.iter().filter(|s| !s.is_empty()) {
            self.kept.push(Kept { surface: Bvh::new(solid), off_mm });
        }
    }
}

/// Values from `from` to `to` in equal steps of at most `step`.
pub(super) fn steps(from: f64, to: f64, step: f64) -> impl Iterator<Item = f64> {
    let count = ((to - from) / step).ceil().max(1.0) as u32;
    (0..=count).map(move |i| from + (to - from) * f64::from(i) / f64::from(count))
}
