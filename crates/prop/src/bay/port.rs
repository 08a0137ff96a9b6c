//! Ports: parts that go in through the wall from outside, with a rim that lies sunk in the surface.

use super::room::{Axes, Room, steps};
use super::shapes::{ROUND, circle, part_solid, post, wire_exit};
use super::tray::{ROOF_MM, STEEP, gabled};
use super::{Bay, Opens};
use crate::catalogue::PartRow;
use crate::project::Flank;
use solid::{BooleanError, DAffine3, DMat3, DVec2};

/// How far the rim's bed lies under the lowest point of the surface around it, mm.
const SUNK_MM: f64 = 0.3;
/// A rim lies this much above its bed, mm: room for a thin gasket or glue.
const GASKET_MM: f64 = 0.3;
/// Distance between samples, mm.
const SAMPLE_MM: f64 = 2.5;
/// The surface around the rim may fall off by this much at most: beyond, the bed eats into the prop, mm (our choice).
const CURVED_MM: f64 = 3.0;

/// Points along the sides of an outline.
fn along(outline: &[DVec2]) -> Vec<DVec2> {
    let sides = outline.iter().zip(outline.iter().cycle().skip(1));
    let points = sides.flat_map(|(a, b)| {
        let parts = ((*b - *a).length() / SAMPLE_MM).ceil().max(1.0) as u32;
        (0..parts).map(move |k| *a + (*b - *a) * (f64::from(k) / f64::from(parts)))
    });
    points.collect()
}

/// A part for a port.
pub(super) struct PortPart<'a> {
    pub(super) part: usize,
    pub(super) row: &'a PartRow,
    pub(super) flange_mm: [f64; 3],
    pub(super) gap_mm: f64,
}

/// A place for it.
pub(super) struct PortPlace {
    pub(super) station_mm: f64,
    pub(super) axes: Axes,
    /// Height of the rim's bed.
    pub(super) bed_mm: f64,
    pub(super) short_mm: f64,
}

impl PortPart<'_> {
    /// Half the hole: along the prop, beside.
    fn half(&self) -> DVec2 {
        DVec2::new(self.row.size_mm[1], self.row.size_mm[2]) / 2.0 + DVec2::splat(self.gap_mm)
    }

    fn rim(&self) -> DVec2 {
        DVec2::new(self.flange_mm[0], self.flange_mm[1]) / 2.0 + DVec2::splat(self.gap_mm)
    }

    /// How far the hole goes in below the rim's bed.
    fn deep(&self) -> f64 {
        self.row.size_mm[0] + self.gap_mm + self.row.room_mm
    }

    /// Half the stations it takes up.
    pub(super) fn reach(&self) -> f64 {
        self.rim().x + 1.5
    }

    fn outline(&self, half: DVec2) -> Vec<DVec2> {
        if self.row.round {
            circle(DVec2::ZERO, half.x, ROUND)
        } else {
            vec![DVec2::new(-half.x, -half.y), DVec2::new(half.x, -half.y), half, DVec2::new(-half.x, half.y)]
        }
    }

    /// The hole with a gable towards the tip, so that a standing piece prints it.
    fn hole(&self) -> Vec<DVec2> {
        let half = self.half();
        if !self.row.round {
            let slope = ((half.y - ROOF_MM / 2.0) * STEEP).max(0.0);
            return gabled(-half, half + DVec2::X * slope);
        }
        let from = libm::atan(STEEP);
        let mut outline: Vec<DVec2> =
            circle(DVec2::ZERO, half.x, ROUND).into_iter().filter(|p| libm::atan2(p.y, p.x).abs() > from).collect();
        // The gable's slopes touch the circle that the polygon's corners lie on.
        let r = solid::around_mm(half.x, ROUND);
        let apex = r / libm::cos(from);
        let roof = (ROOF_MM / 2.0).min(apex / 4.0);
        for side in [-1.0, 1.0] {
            outline.push(DVec2::new(r * libm::cos(from), side * r * libm::sin(from)));
            outline.push(DVec2::new(apex - roof * STEEP, side * roof));
        }
        outline.sort_by(|a, b| libm::atan2(a.y, a.x).total_cmp(&libm::atan2(b.y, b.x)));
        outline
    }

    pub(super) fn place(&self, room: &Room, station_mm: f64, side: Flank) -> PortPlace {
        let axes = Axes::new(&room.path.frame(station_mm), side);
        let rim = self.outline(self.rim());
        let heights: Vec<f64> = rim.iter().map(|p| room.surface(&axes, p.x, p.y)).collect();
        let lowest = heights.iter().copied().fold(f64::INFINITY, f64::min);
        let middle = room.surface(&axes, 0.0, 0.0);
        if !lowest.is_finite() {
            return PortPlace { station_mm, axes, bed_mm: 0.0, short_mm: f64::INFINITY };
        }
        let bed_mm = lowest - SUNK_MM;
        let mut short = (middle - lowest - CURVED_MM).max(0.0);
        let reach = self.reach();
        short += room.misplaced(station_mm, reach);
        let hole = self.hole();
        let mut walls: f64 = 0.0;
        for depth in steps(0.0, self.deep(), SAMPLE_MM) {
            for q in along(&hole) {
                let p = axes.at(q.x, q.y, bed_mm - depth);
                // Just under its bed the hole is where it should be: near the surface.
                let wall = if depth < 2.0 * room.wall_mm { 0.0 } else { room.wall_mm };
                walls = walls.max(room.thin(p, wall)).max(room.crowded(p));
            }
            walls = walls.max(room.crowded(axes.at(0.0, 0.0, bed_mm - depth)));
        }
        // All round: beside a corner of it another rim may still be near its side.
        for p in along(&rim) {
            walls = walls.max(room.crowded(axes.at(p.x, p.y, bed_mm)));
        }
        PortPlace { station_mm, axes, bed_mm, short_mm: short + walls }
    }

    pub(super) fn bay(&self, room: &Room, place: &PortPlace) -> Result<Bay, BooleanError> {
        let PortPlace { axes, bed_mm, .. } = place;
        let beyond = room.reach_mm + 6.0;
        // +x in, z across the hole, y along the prop: the part's width lies along the prop.
        let x = -axes.out;
        let at = axes.at(0.0, 0.0, bed_mm - self.row.size_mm[0] / 2.0);
        let place_of = DAffine3::from_mat3_translation(DMat3::from_cols(x, axes.along, x.cross(axes.along)), at);
        let hole = post(axes, &self.hole(), bed_mm - self.deep(), *bed_mm + 0.01);
        let bed = post(axes, &self.outline(self.rim()), *bed_mm - GASKET_MM, beyond);
        let reach = self.reach();
        Ok(Bay {
            part: self.part,
            body: room.body,
            place: place_of,
            out: axes.out,
            travel_mm: self.row.size_mm[0] + (beyond - bed_mm),
            opens: Opens::Outside,
            solid: part_solid(self.row, 0.0)?.transformed(&place_of),
            largest: part_solid(self.row, self.row.over_mm)?.transformed(&place_of),
            taken: solid::union(&hole, &bed)?,
            exit: place_of.transform_point3(wire_exit(self.row, self.gap_mm)),
            gap_mm: self.gap_mm,
            span_mm: [place.station_mm - reach, place.station_mm + reach],
            short_mm: place.short_mm,
            sound: None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    #[test]
    fn holes_keep_their_part_and_roof_themselves() {
        let rows = Catalogue::built_in().parts;
        for name in ["switch-push-8", "charger-port"] {
            let row = rows.iter().find(|r| r.name == name).unwrap();
            let part = PortPart { part: 0, row, flange_mm: row.flange_mm.unwrap(), gap_mm: 0.3 };
            let (hole, half) = (part.hole(), part.half());
            let loops = vec![hole.clone()];
            assert!(solid::section::area_mm2(&loops) > 0.0, "{name}");
            for p in part.outline(half * 0.999) {
                assert!(solid::section::point_in(&loops, p), "{name} {p}");
            }
            // Towards the tip no stretch hangs flatter than 45 degrees but the short roof.
            for (a, b) in hole.iter().zip(hole.iter().cycle().skip(1)) {
                let along = (*b - *a).normalize();
                let roof = along.y.abs() > 0.72 && a.x.min(b.x) > 0.3 * half.x;
                assert!(!roof || (*b - *a).length() <= ROOF_MM + 1e-9, "{name} {a} {b}");
            }
        }
    }
}
