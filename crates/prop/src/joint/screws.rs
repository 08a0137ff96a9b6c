//! Screws through the socket's wall into inserts in the plug.

use super::plug::{PLUG_WALL_MM, Plug};
use super::{JointError, Loops, Place, at, no_room, raise, reach_of, towards};
use crate::catalogue::{Insert, Screw};
use crate::fixing::{Bolt, least_wall_mm};
use crate::outcome::Bought;
use crate::project::Show;
use solid::section::{point_in, subtract};
use solid::{DVec2, DVec3};

/// Directions tried for the first screw.
const TRIES: u32 = 24;
/// A head's way in goes on beyond the skin by this, mm.
const OVER_MM: f64 = 3.0;

/// A screw's place: direction in the section, radius of the plug and of the outside there, mm.
struct Seat {
    out: DVec2,
    plug_mm: f64,
    outside_mm: f64,
    hole_loss_mm: f64,
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
    let outside = place.outer[1].section(&at(&place.basis, z))?;
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
            let [plug_mm, outside_mm] = [&plug.outline, &outside].map(|o| reach_of(o, out));
            let seat = Seat { out, plug_mm, outside_mm, hole_loss_mm: place.fit.hole_loss_mm };
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
                least_wall_mm(screw)
            ),
            "take a smaller screw and insert, fewer of them (count), another length of screw, or a thicker joint wall",
        ));
    };
    for seat in seats {
        let (foot, out) = (raise(&plug.axes, seat.out * seat.plug_mm, z), raise_along(plug, seat.out));
        let bolt = seat.bolt(plug, screw, insert);
        plug.solid = solid::difference(&plug.solid, &bolt.insert_hole(foot, out))?;
        plug.drills = solid::union(&plug.drills, &bolt.passage(foot, out, OVER_MM)?)?;
        plug.record.holes.push(((seat.out * seat.outside_mm).extend(z), seat.out.extend(0.0), bolt.head_mm()));
    }
    plug.record.bought.extend(Bought::screws(screw, insert, count));
    Ok(())
}

/// A direction of the section in the prop frame.
fn raise_along(plug: &Plug, direction: DVec2) -> DVec3 {
    plug.axes.transform_vector3(direction.extend(0.0))
}

impl Seat {
    /// The screw by the thicknesses here.
    fn bolt<'a>(&self, plug: &Plug, screw: &'a Screw, insert: &'a Insert) -> Bolt<'a> {
        let air_mm = plug.gap_mm;
        let wall_mm = self.outside_mm - self.plug_mm - air_mm;
        Bolt { screw, insert, wall_mm, air_mm, round_mm: air_mm / 2.0, hole_loss_mm: self.hole_loss_mm }
    }

    fn has_room(&self, stuff: &Loops, plug: &Plug, screw: &Screw, insert: &Insert) -> bool {
        let bolt = self.bolt(plug, screw, insert);
        // The flat of the key is no place for a hole: there the wall is thicker than the screw is made for.
        let depth = bolt.hole_mm() + PLUG_WALL_MM;
        let half = (insert.hole_mm + self.hole_loss_mm) / 2.0 + insert.wall_mm;
        let side = self.out.perp();
        let (n, m) = (12, 8);
        let solid = (0..=n).all(|i| {
            let r = self.plug_mm - depth * (0.15 + 0.85 * f64::from(i) / f64::from(n));
            (-m..=m).all(|j| point_in(stuff, self.out * r + side * (half * f64::from(j) / f64::from(m))))
        });
        bolt.holds() && solid
    }
}
