//! A screw through a wall into an insert behind it.

use crate::catalogue::{Insert, Screw};
use crate::outcome::Bought;
use solid::{BooleanError, DVec3, Mesh, around_mm};

/// Wall left under a screw's head, mm (common practice: two beads at least).
pub(crate) const UNDER_HEAD_MM: f64 = 0.8;
/// A screw holds when so many of its diameters are in the insert (common practice).
const HOLDS: f64 = 1.0;
/// Room beyond the screw's end, mm.
const BEYOND_MM: f64 = 0.5;
/// A countersunk head lies so far below the skin at least, mm.
const BELOW_MM: f64 = 0.2;
const SEGMENTS: u32 = 32;

/// A screw in its place.
#[derive(Clone, Copy)]
pub(crate) struct Bolt<'a> {
    pub(crate) screw: &'a Screw,
    pub(crate) insert: &'a Insert,
    /// Thickness of the wall that it passes, mm.
    pub(crate) wall_mm: f64,
    /// Air between that wall and the face that holds the insert, mm.
    pub(crate) air_mm: f64,
    /// Air round the head, mm.
    pub(crate) round_mm: f64,
    /// How much smaller the holes may print, mm on the diameter.
    pub(crate) hole_loss_mm: f64,
}

/// The thinnest wall that hides a screw's head, or of a pan head bears it, mm.
pub(crate) fn least_wall_mm(screw: &Screw) -> f64 {
    UNDER_HEAD_MM + if screw.countersunk { screw.head_height_mm + BELOW_MM } else { UNDER_HEAD_MM }
}

impl Bolt<'_> {
    /// How deep its head is let in, mm: a countersunk one wholly, another as deep as leaves twice the least wall; deeper in
    /// a wall so thick that the screw would else not reach through its insert.
    pub(crate) fn sunk_mm(&self) -> f64 {
        let shallow = if self.screw.countersunk {
            self.screw.head_height_mm + BELOW_MM
        } else {
            (self.wall_mm - 2.0 * UNDER_HEAD_MM).clamp(0.0, self.screw.head_height_mm)
        };
        let lacking = self.insert.depth_mm - BEYOND_MM - self.reach_mm(shallow);
        (shallow + lacking.max(0.0)).min((self.wall_mm - UNDER_HEAD_MM).max(shallow))
    }

    /// How far its end goes into the piece behind with its head let in so deep, mm.
    fn reach_mm(&self, sunk_mm: f64) -> f64 {
        // A countersunk screw's length counts its head.
        let head = if self.screw.countersunk { self.screw.head_height_mm } else { 0.0 };
        self.screw.length_mm + sunk_mm - head - self.wall_mm - self.air_mm
    }

    /// How far its end goes into the piece behind, mm.
    pub(crate) fn engaged_mm(&self) -> f64 {
        self.reach_mm(self.sunk_mm())
    }

    /// Depth of the insert's hole, mm.
    pub(crate) fn hole_mm(&self) -> f64 {
        self.insert.depth_mm.max(self.engaged_mm() + BEYOND_MM)
    }

    /// Radius of the head's way in, mm.
    pub(crate) fn head_mm(&self) -> f64 {
        around_mm(self.screw.head_mm / 2.0 + self.round_mm, SEGMENTS)
    }

    /// Whether the wall bears its head and enough of it is in the insert.
    pub(crate) fn holds(&self) -> bool {
        let under = self.wall_mm - if self.screw.countersunk { self.sunk_mm() } else { 0.0 };
        under >= UNDER_HEAD_MM && self.engaged_mm() >= HOLDS * thread_mm(self.screw)
    }

    /// The insert's hole. `foot` is on the face that holds it, `out` the unit vector towards the head.
    pub(crate) fn insert_hole(&self, foot: DVec3, out: DVec3) -> Mesh {
        let radius = around_mm((self.insert.hole_mm + self.hole_loss_mm) / 2.0, SEGMENTS);
        solid::cylinder(foot - out * self.hole_mm(), foot + out, radius, SEGMENTS)
    }

    /// What is drilled through the wall, going on `over_mm` beyond its skin.
    pub(crate) fn passage(&self, foot: DVec3, out: DVec3, over_mm: f64) -> Result<Mesh, BooleanError> {
        let point = |r: f64| foot + out * r;
        let shaft = around_mm((self.screw.hole_mm + self.hole_loss_mm) / 2.0, SEGMENTS);
        let head = self.head_mm();
        let (top, sunk) = (self.air_mm + self.wall_mm, self.sunk_mm());
        let hole = solid::cylinder(point(-0.7), point(top + 0.5), shaft, SEGMENTS);
        if self.screw.countersunk {
            // The cone goes on at 45 degrees to the head's radius, past the skin where that is wide.
            let low = top - sunk;
            let cone = solid::cone_frustum(point(low), point(low + head - shaft), shaft, head, SEGMENTS);
            let rest = solid::cylinder(point(low + head - shaft - 0.01), point(top + over_mm), head, SEGMENTS);
            return solid::union_all(&[hole, cone, rest]);
        }
        if sunk > 0.0 {
            return solid::union(&hole, &solid::cylinder(point(top - sunk), point(top + over_mm), head, SEGMENTS));
        }
        Ok(hole)
    }
}

impl Bought {
    /// Screws and the inserts they go into.
    pub(crate) fn screws(screw: &Screw, insert: &Insert, count: u32) -> [Bought; 2] {
        let bought =
            |what, row: &str, title: &str| Bought { what, row: row.to_owned(), title: title.to_owned(), count };
        [bought("screw", &screw.name, &screw.title), bought("insert", &insert.name, &insert.title)]
    }
}

/// Diameter of a screw's thread, mm: what stands behind its letter, else a little less than the hole it passes.
fn thread_mm(screw: &Screw) -> f64 {
    screw.thread.trim_start_matches('M').parse().unwrap_or(0.9 * screw.hole_mm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    #[test]
    fn a_head_goes_as_deep_as_the_wall_asks() {
        let stock = Catalogue::built_in();
        let screw = |name: &str| stock.screws.iter().find(|s| s.name == name).unwrap();
        let insert = stock.inserts.iter().find(|i| i.name == "insert-m3").unwrap();
        let bolt =
            |name, wall_mm| Bolt { screw: screw(name), insert, wall_mm, air_mm: 0.1, round_mm: 0.1, hole_loss_mm: 0.2 };
        // By hand: M3 x 8 with a head of 1.7 mm, 0.2 mm below the skin of a wall of 3 mm: 8.2 - 3 - 0.1 = 5.1 mm are in,
        // 0.5 mm more is drilled.
        let thin = bolt("countersunk-m3x8", 3.0);
        assert!((thin.sunk_mm() - 1.9).abs() < 1e-12 && (thin.engaged_mm() - 5.1).abs() < 1e-12);
        assert!((thin.hole_mm() - 5.6).abs() < 1e-12 && thin.holds());
        // In a wall of 8 mm the head goes down until 4.5 mm of the insert's 5 are filled: 4.4 mm deeper.
        let thick = bolt("countersunk-m3x8", 8.0);
        assert!((thick.sunk_mm() - 6.3).abs() < 1e-12 && (thick.engaged_mm() - 4.5).abs() < 1e-12);
        assert!((thick.hole_mm() - 5.0).abs() < 1e-12 && thick.holds());
        // A wall that the head would fall through, and a pan head on a wall of 2 mm, let in by 0.4.
        assert!(!bolt("countersunk-m3x8", 2.6).holds() && bolt("countersunk-m3x8", 2.71).holds());
        assert!((bolt("pan-m3x8", 2.0).sunk_mm() - 0.4).abs() < 1e-12);
        for name in ["countersunk-m3x8", "pan-m3x8", "countersunk-m3x10"] {
            let mesh = bolt(name, 4.0).passage(DVec3::ZERO, DVec3::Z, 3.0).unwrap();
            assert!(mesh.edge_census().is_closed() && mesh.volume_mm3() > 0.0);
        }
    }
}
