//! Screws through the socket's wall into inserts in the plug.

use super::plug::{PLUG_WALL_MM, Plug};
use super::{JointError, Loops, Place, at, no_room, raise, reach_of, towards};
use crate::catalogue::{Insert, Screw};
use crate::outcome::Bought;
use crate::project::Show;
use solid::section::{point_in, section, subtract};
use solid::{DVec2, DVec3, around_mm};

/// Wall left under a screw's head, mm (common practice: two beads at least).
const UNDER_HEAD_MM: f64 = 0.8;
/// A screw holds when so many of its diameters are in the insert (common practice).
const HOLDS: f64 = 1.0;
/// Room beyond the screw's end, mm.
const BEYOND_MM: f64 = 0.5;
/// Directions tried for the first screw.
const TRIES: u32 = 24;
const SEGMENTS: u32 = 32;

/// A screw's place: direction in the section, radius of the plug and of the outside there, mm.
struct Seat {
    out: DVec2,
    plug_mm: f64,
    outside_mm: f64,
}

/// Sets inserts into the plug and drills the socket's wall, heads off the side that is looked at.
pub(super) fn screw(
    place: &Place,
    plug: &mut Plug,
    screw: &Screw,
    insert: &Insert,
    count: u32,
) -> Result<(), JointError> {
    let z = plug.site.reach_mm / 2.0;
    let outside = section(place.outer[1], &at(&place.basis, z))?;
    let stuff = subtract(&plug.outline, &plug.holes)?;
    let shown = match place.show {
        Show::Both => DVec3::ZERO,
        Show::Up => DVec3::Z,
        Show::Down => DVec3::NEG_Z,
    };
    let seats_from = |first: f64| -> Option<(f64, Vec<Seat>)> {
        let mut seen = f64::NEG_INFINITY;
        let mut seats = Vec::new();
        for k in 0..count {
            let out = towards(first + 360.0 * f64::from(k) / f64::from(count));
            seen = seen.max(plug.axes.transform_vector3(out.extend(0.0)).dot(shown));
            let seat = Seat { out, plug_mm: reach_of(&plug.outline, out), outside_mm: reach_of(&outside, out) };
            if !seat.has_room(&stuff, plug, screw, insert) {
                return None;
            }
            seats.push(seat);
        }
        Some((seen, seats))
    };
    // Off the show face first; of those alike, along the section's y, where a flat body is thickest.
    let tries = (0..TRIES).map(|k| 90.0 + 360.0 * f64::from(k) / f64::from(TRIES));
    let best = tries.filter_map(seats_from).fold(None, |best: Option<(f64, Vec<Seat>)>, found| match best {
        Some(b) if b.0 <= found.0 + 1e-9 => Some(b),
        _ => Some(found),
    });
    let Some((_, seats)) = best else {
        return Err(no_room(
            plug.site,
            format!(
                "{count} of {} in {} have no room: each wants {:.1} mm of plug with {:.1} mm of wall around it, and {:.1} mm \
                 of socket wall under its head",
                screw.title,
                insert.title,
                insert.depth_mm,
                insert.wall_mm,
                screw.head_height_mm + UNDER_HEAD_MM
            ),
            "take a smaller screw and insert, fewer of them (count), another length of screw, or a thicker joint wall",
        ));
    };
    for seat in seats {
        let point = |r: f64| raise(&plug.axes, seat.out * r, z);
        let engaged = seat.engaged(plug, screw);
        let bottom = seat.plug_mm - insert.depth_mm.max(engaged + BEYOND_MM);
        let hole = solid::cylinder(
            point(bottom),
            point(seat.plug_mm + 1.0),
            around_mm(insert.hole_mm / 2.0, SEGMENTS),
            SEGMENTS,
        );
        plug.solid = solid::difference(&plug.solid, &hole)?;
        let shaft = around_mm(screw.hole_mm / 2.0, SEGMENTS);
        let head = around_mm(screw.head_mm / 2.0 + plug.gap_mm / 2.0, SEGMENTS);
        let top = seat.outside_mm;
        let mut drill = solid::cylinder(point(seat.plug_mm - 0.7), point(top + 0.5), shaft, SEGMENTS);
        let sunk = seat.sunk(plug, screw);
        if screw.countersunk {
            // The cone goes on at 45 degrees past the skin, so that it ends outside it.
            let low = top - screw.head_height_mm - 0.2;
            let cone = solid::cone_frustum(point(low), point(low + head - shaft), shaft, head, SEGMENTS);
            let rest = solid::cylinder(point(low + head - shaft - 0.01), point(top + 3.0), head, SEGMENTS);
            drill = solid::union_all(&[drill, cone, rest])?;
        } else if sunk > 0.0 {
            drill = solid::union(&drill, &solid::cylinder(point(top - sunk), point(top + 3.0), head, SEGMENTS))?;
        }
        plug.drills = solid::union(&plug.drills, &drill)?;
        plug.record.holes.push(((seat.out * top).extend(z), seat.out.extend(0.0), head));
    }
    let bought = |what, row: &str, title: &str| Bought { what, row: row.to_owned(), title: title.to_owned(), count };
    plug.record.bought.push(bought("screw", &screw.name, &screw.title));
    plug.record.bought.push(bought("insert", &insert.name, &insert.title));
    Ok(())
}

/// Diameter of a screw's thread, mm: what stands behind its letter, else a little less than the hole it passes.
fn thread_mm(screw: &Screw) -> f64 {
    screw.thread.trim_start_matches('M').parse().unwrap_or(0.9 * screw.hole_mm)
}

impl Seat {
    /// Thickness of the socket's wall here, mm.
    fn wall_mm(&self, plug: &Plug) -> f64 {
        self.outside_mm - self.plug_mm - plug.gap_mm
    }

    /// How deep a head is let in, mm: all of a countersunk one; of another what leaves twice the least wall.
    fn sunk(&self, plug: &Plug, screw: &Screw) -> f64 {
        if screw.countersunk {
            screw.head_height_mm + 0.2
        } else {
            (self.wall_mm(plug) - 2.0 * UNDER_HEAD_MM).clamp(0.0, screw.head_height_mm)
        }
    }

    /// How far the screw's end goes into the plug, mm.
    fn engaged(&self, plug: &Plug, screw: &Screw) -> f64 {
        let sunk = self.sunk(plug, screw);
        // A countersunk screw's length counts its head.
        let from_skin = if screw.countersunk { screw.length_mm + 0.2 } else { screw.length_mm + sunk };
        from_skin - self.wall_mm(plug) - plug.gap_mm
    }

    fn has_room(&self, stuff: &Loops, plug: &Plug, screw: &Screw, insert: &Insert) -> bool {
        let engaged = self.engaged(plug, screw);
        let under = self.wall_mm(plug) - if screw.countersunk { self.sunk(plug, screw) } else { 0.0 };
        // The flat of the key is no place for a hole: there the wall is thicker than the screw is made for.
        let depth = insert.depth_mm.max(engaged + BEYOND_MM) + PLUG_WALL_MM;
        let half = insert.hole_mm / 2.0 + insert.wall_mm;
        let side = self.out.perp();
        let (n, m) = (12, 8);
        let solid = (0..=n).all(|i| {
            let r = self.plug_mm - depth * (0.15 + 0.85 * f64::from(i) / f64::from(n));
            (-m..=m).all(|j| point_in(stuff, self.out * r + side * (half * f64::from(j) / f64::from(m))))
        });
        under >= UNDER_HEAD_MM && engaged >= HOLDS * thread_mm(screw) && solid
    }
}
