//! Pairs of magnets in both pieces of a joint, laid so that they pull in one position only.

use super::plug::{LEAD_MM, PLUG_WALL_MM, Plug, record};
use super::site::Site;
use super::{Fastening, JointError, Loops, Place, material, no_room, place_of, raise, within};
use crate::catalogue::Magnet;
use crate::fixing::{BEFORE_MM, POCKET_WALL_MM, Pocket, drilled, poles_of};
use crate::outcome::{Bought, JointKind, TakeDown};
use crate::project::{Hardware, Pole, Side};
use crate::rail::layout::Fit;
use solid::section::{intersect, subtract};
use solid::{DVec2, Mesh};

/// Diameters of the two keys of a cap, mm: unequal, so that it goes on one way only.
const KEYS_MM: [f64; 2] = [5.0, 4.0];
/// Wall around a key's hole, mm.
const KEY_WALL_MM: f64 = 1.6;

/// Magnets in the plug's end and the socket's floor.
pub(super) fn in_end(
    plug: &mut Plug,
    fit: &Fit,
    magnet: &Magnet,
    pairs: u32,
    poles: &[Option<Vec<Pole>>; 2],
) -> Result<(), JointError> {
    let pocket = Pocket::of(magnet, fit);
    let stuff = subtract(&plug.outline, &plug.holes)?;
    let room = within(&stuff, pocket.radius_mm + PLUG_WALL_MM + LEAD_MM / 2.0)?;
    let Some(middles) = spread(&room, pairs, 2.0 * pocket.radius_mm + POCKET_WALL_MM) else {
        return Err(no_place(plug.site, magnet, &pocket, pairs, "in the plug's end"));
    };
    let poles = poles_at(poles, pairs, plug.site.plug);
    let (end, floor) = (plug.site.reach_mm, plug.floor_mm);
    for (k, p) in middles.iter().enumerate() {
        let pole = [poles[0][k], poles[1][k]];
        plug.solid = solid::difference(&plug.solid, &pocket.cut(&plug.axes, *p, end, -1.0, pole[0])?)?;
        plug.socket = solid::union(&plug.socket, &pocket.cut(&plug.axes, *p, floor, 1.0, pole[1])?)?;
        plug.record.magnets.push(pocket.pair(&plug.axes, *p, [end, floor], pole));
    }
    plug.record.bought.push(Bought::magnets(magnet, pairs));
    Ok(())
}

/// A cap at an end of the prop: magnets in both faces, placed by two short keys, around whatever room lies in the middle.
pub(super) fn cap(place: &Place, site: &Site) -> Result<Fastening, JointError> {
    let Hardware::Magnets { magnet, pairs, poles } = &site.rules.hardware else {
        return Ok(Fastening::of(JointKind::Faces));
    };
    let pocket = Pocket::of(magnet, &place.fit);
    let gap = place.fit.drawn_gap_mm(0.0);
    let reach = site.reach_mm;
    let deep = |mm: f64| -> Result<Loops, JointError> {
        let mut all: Option<Loops> = None;
        for share in [0.02, 0.5, 1.0] {
            let both = intersect(&material(place, 0, mm * share)?, &material(place, 1, mm * share)?)?;
            all = Some(match all {
                Some(before) => intersect(&before, &both)?,
                None => both,
            });
        }
        Ok(all.unwrap_or_default())
    };
    let stuff = deep(pocket.deep_mm() + POCKET_WALL_MM)?;
    let wall = POCKET_WALL_MM.max(site.rules.wall_mm);
    let room = within(&stuff, pocket.radius_mm + wall)?;
    let apart = 2.0 * pocket.radius_mm + POCKET_WALL_MM;
    let middles =
        spread(&room, *pairs, apart).ok_or_else(|| no_place(site, magnet, &pocket, *pairs, "in the faces"))?;
    let key_stuff = deep(reach + gap + KEY_WALL_MM)?;
    let mut keys: Vec<(DVec2, f64)> = Vec::new();
    for diameter in KEYS_MM {
        let radius = diameter / 2.0;
        let room = within(&key_stuff, radius + gap + KEY_WALL_MM)?;
        let clear = |p: &DVec2| {
            let from_magnets = middles.iter().map(|m| (*m - *p).length() - pocket.radius_mm);
            let from_keys = keys.iter().map(|(k, r)| (*k - *p).length() - r - gap);
            from_magnets.chain(from_keys).fold(f64::INFINITY, f64::min)
        };
        let best = room.iter().flatten().copied().max_by(|a, b| clear(a).total_cmp(&clear(b)));
        if let Some(p) = best.filter(|p| clear(p) >= radius + gap + KEY_WALL_MM) {
            keys.push((p, radius));
        }
    }
    if keys.is_empty() {
        return Err(no_room(
            site,
            format!("a key of {:.0} mm beside the magnets has no room in the faces", KEYS_MM[1]),
            "take smaller or fewer magnets, a smaller room behind the cap, or move the cut to a wider place",
        ));
    }
    let axes = place_of(&place.basis);
    let mut take_down: TakeDown = record(place, site, gap);
    let (mut adds, mut takes) = (Mesh::default(), [Mesh::default(), Mesh::default()]);
    let poles = poles_at(poles, *pairs, site.plug);
    for (k, p) in middles.iter().enumerate() {
        let pole = [poles[0][k], poles[1][k]];
        for (side, take) in takes.iter_mut().enumerate() {
            let into = if side == 0 { -1.0 } else { 1.0 };
            take.append(&pocket.cut(&axes, *p, 0.0, into, pole[side])?);
        }
        take_down.magnets.push(pocket.pair(&axes, *p, [0.0, 0.0], pole));
    }
    for (p, radius) in &keys {
        let tip = 0.6;
        let stub = drilled(&axes, *p, *radius / solid::around_mm(1.0, super::SEGMENTS), -2.0, reach - tip);
        let end = solid::cone_frustum(
            raise(&axes, *p, reach - tip - 0.05),
            raise(&axes, *p, reach),
            radius - 0.05,
            radius - tip,
            super::SEGMENTS,
        );
        adds.append(&solid::union(&stub, &end)?);
        takes[1].append(&drilled(&axes, *p, radius + gap, -BEFORE_MM, reach + 0.5));
    }
    take_down.bought.push(Bought::magnets(magnet, *pairs));
    Ok(Fastening {
        adds: [adds, Mesh::default()],
        takes,
        depth_mm: [pocket.deep_mm(), (reach + 0.5).max(pocket.deep_mm())],
        take_down: Some(take_down),
        ..Fastening::of(JointKind::Magnets)
    })
}

fn no_place(site: &Site, magnet: &Magnet, pocket: &Pocket, pairs: u32, at: &str) -> JointError {
    no_room(
        site,
        format!(
            "{pairs} pairs of {} have no room {at}: each wants {:.1} mm of solid across and {POCKET_WALL_MM:.1} mm to the next",
            magnet.title,
            2.0 * (pocket.radius_mm + POCKET_WALL_MM)
        ),
        "take smaller or fewer magnets, or move the joint to a wider place",
    )
}

/// The poles that look at the joint: on the plug's piece, on the other.
fn poles_at(asked: &[Option<Vec<Pole>>; 2], pairs: u32, plug: Side) -> [Vec<Pole>; 2] {
    let [butt, tip] = poles_of(asked, pairs);
    if plug == Side::Butt { [butt, tip] } else { [tip, butt] }
}

/// Places far from each other, in order around their middle; `None` when there are fewer at that distance.
fn spread(room: &Loops, count: u32, apart_mm: f64) -> Option<Vec<DVec2>> {
    let mut chosen = super::far_pair(room).filter(|[a, b]| (*b - *a).length() >= apart_mm)?.to_vec();
    let candidates: Vec<DVec2> = room.iter().flatten().copied().collect();
    while chosen.len() < count as usize {
        let clear = |p: &DVec2| chosen.iter().map(|c| (*c - *p).length()).fold(f64::INFINITY, f64::min);
        let best = candidates.iter().copied().max_by(|a, b| clear(a).total_cmp(&clear(b)))?;
        if clear(&best) < apart_mm {
            return None;
        }
        chosen.push(best);
    }
    let middle = chosen.iter().sum::<DVec2>() / chosen.len() as f64;
    let angle = |p: &DVec2| libm::atan2(p.y - middle.y, p.x - middle.x);
    chosen.sort_by(|a, b| angle(a).total_cmp(&angle(b)));
    Some(chosen)
}
