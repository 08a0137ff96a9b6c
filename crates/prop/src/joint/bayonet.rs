//! A bayonet: two lugs of unequal width on the plug, in L-shaped ways of the socket, and a bump behind each that it snaps
//! past. All flanks slope at 45 degrees, so that lugs and ways print whichever end is up.

use super::plug::{BEFORE_MM, Plug};
use super::{JointError, no_room, towards};
use solid::{DAffine3, DVec2, DVec3, Mesh};

/// How far a lug stands out, mm.
pub(super) const LUG_MM: f64 = 2.0;
/// Where a lug begins at the plug's skin, mm from the cut, and how long it is there.
const FROM_MM: f64 = 4.5;
const LONG_MM: f64 = 6.0;
/// Arc of the wider lug, degrees; the other has this share of it, so that it goes in one way only.
const ARC_DEG: f64 = 34.0;
const NARROWER: f64 = 0.68;
/// What the turn must leave beside the wider lug, degrees: room for the bump.
const BUMP_ROOM_DEG: f64 = 12.0;
/// Half the bump's arc, degrees.
const BUMP_DEG: f64 = 3.0;
/// Wall between one lug's way and the other's, degrees.
const BETWEEN_DEG: f64 = 8.0;
/// Largest step of an arc, degrees.
const STEP_DEG: f64 = 2.0;

/// Adds the lugs to the plug and their ways to the socket.
pub(super) fn lock(plug: &mut Plug, turn_deg: f64, bite_mm: f64) -> Result<(), JointError> {
    let (r, gap) = (plug.radius_mm, plug.gap_mm);
    let slack_deg = (gap / r).to_degrees();
    let wide = ARC_DEG.min(turn_deg - BUMP_ROOM_DEG - 2.0 * slack_deg);
    if plug.site.reach_mm < FROM_MM + LONG_MM + 2.0
        || turn_deg + wide + 2.0 * slack_deg + BETWEEN_DEG > 180.0
        || wide < 8.0
    {
        return Err(no_room(
            plug.site,
            format!(
                "its lugs have no room: a plug of {:.1} mm across that reaches {:.1} mm and turns {turn_deg:.0} degrees",
                2.0 * r,
                plug.site.reach_mm
            ),
            "ask for a reach of 13 mm or more and a turn of 30 to 110 degrees",
        ));
    }
    let seats = [(90.0, wide), (270.0, wide * NARROWER)];
    let mut lugs = Vec::new();
    let mut ways = Vec::new();
    let steep = gap * core::f64::consts::SQRT_2;
    for (seat, arc) in seats {
        let lug = [
            DVec2::new(r - 1.0, FROM_MM - 1.0),
            DVec2::new(r + LUG_MM, FROM_MM + LUG_MM),
            DVec2::new(r + LUG_MM, FROM_MM + LONG_MM - LUG_MM),
            DVec2::new(r - 1.0, FROM_MM + LONG_MM + 1.0),
        ];
        lugs.push(turned(&lug, &plug.axes, seat - arc / 2.0, seat + arc / 2.0));
        let (inner, outer) = (r + gap - 0.5, r + LUG_MM + gap);
        let low = |x: f64| FROM_MM + (x - r) - steep;
        let high = |x: f64| FROM_MM + LONG_MM - (x - r) + steep;
        let turn = [
            DVec2::new(inner, low(inner)),
            DVec2::new(outer, low(outer)),
            DVec2::new(outer, high(outer)),
            DVec2::new(inner, high(inner)),
        ];
        let (first, last) = (seat - turn_deg - arc / 2.0 - slack_deg, seat + arc / 2.0 + slack_deg);
        let way = turned(&turn, &plug.axes, first, last);
        // The bump stands behind the seated lug.
        let bump_deg = seat - arc / 2.0 - slack_deg - BUMP_DEG;
        let top = r + LUG_MM - bite_mm;
        let ridge = [
            towards(bump_deg) * top,
            towards(bump_deg + BUMP_DEG) * (outer + 0.3),
            towards(bump_deg - BUMP_DEG) * (outer + 0.3),
        ];
        let ridge = solid::prism(&ridge, &plug.axes, 0.0, FROM_MM + LONG_MM + 4.0);
        let way = solid::difference(&way, &ridge)?;
        let entry = [
            DVec2::new(inner, -BEFORE_MM - 0.2),
            DVec2::new(outer, -BEFORE_MM - 0.2),
            DVec2::new(outer, FROM_MM + LONG_MM / 2.0),
            DVec2::new(inner, FROM_MM + LONG_MM / 2.0),
        ];
        // A hair wider than the way's end, so that the two share no face.
        let entry = turned(&entry, &plug.axes, first - 0.05, seat - turn_deg + arc / 2.0 + slack_deg);
        ways.push(solid::union(&way, &entry)?);
        let middle = towards(bump_deg) * (r + LUG_MM);
        plug.record.bumps.push((middle.extend(FROM_MM + LONG_MM / 2.0), LONG_MM));
    }
    lugs.insert(0, plug.solid.clone());
    plug.solid = solid::union_all(&lugs)?;
    ways.insert(0, plug.socket.clone());
    plug.socket = solid::union_all(&ways)?;
    plug.record.turn_deg = turn_deg;
    Ok(())
}

/// A section in (distance from the axis, z), swept about z of `axes` from one angle to another.
fn turned(profile: &[DVec2], axes: &DAffine3, from_deg: f64, to_deg: f64) -> Mesh {
    let steps = ((to_deg - from_deg) / STEP_DEG).ceil().max(1.0) as usize;
    let rings: Vec<Vec<DVec3>> = (0..=steps)
        .map(|k| {
            let out = towards(from_deg + (to_deg - from_deg) * k as f64 / steps as f64);
            profile.iter().map(|p| axes.transform_point3((out * p.x).extend(p.y))).collect()
        })
        .collect();
    solid::loft(&rings)
}
