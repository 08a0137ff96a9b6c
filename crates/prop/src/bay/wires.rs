//! Leading the wires: from every part to every part it is wired to, through what is hollow already where that serves,
//! else through channels of their own that keep their walls.
//!
//! A shortest way over a lattice (Dijkstra), pulled taut, its corners rounded as far as there is room.

use super::lattice::{Stands, field, lattice};
use super::light::Surfaces;
use super::{Bay, Lid};
use crate::catalogue::PartKind;
use crate::project::{Feed, Project, STRIP};
use crate::stages::{Inside, Placed};
use rayon::prelude::*;
use solid::{BooleanError, Bounds, Bvh, DVec3, Mesh};

/// Kept between two channels, mm.
const APART_MM: f64 = 0.5;
/// Air round a bundle in its channel, mm.
const AIR_MM: f64 = 0.3;
/// Diameter of one wire of 0.3 to 0.5 mm2 with silicone round it, mm (from memory).
pub(crate) const WIRE_MM: f64 = 1.5;
/// The largest radius that a corner is rounded to, mm.
const ROUNDED_MM: f64 = 15.0;
/// Room to spare beside a bundle that is tried for, mm, most first.
const SPARE_MM: [f64; 6] = [3.0, 2.0, 1.4, 0.9, 0.4, 0.0];
/// A corner that turns less is none, degrees.
const LEAST_TURN_DEG: f64 = 5.0;

/// Wires to a strip: plus, minus and data, or those and plus and minus for its far pads.
const FED_AT_START: u32 = 3;
pub(crate) const FED_AT_BOTH: u32 = 5;

/// A connection between two parts, or from a part to the strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Net {
    /// Index into the project's parts.
    pub from: usize,
    /// The same, or `None` for the strip.
    pub to: Option<usize>,
    /// Wires side by side.
    pub wires: u32,
}

/// A corner of a way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// Where, prop frame.
    pub at: DVec3,
    /// By how much it turns, degrees.
    pub angle_deg: f64,
    /// How far it is rounded, mm.
    pub radius_mm: f64,
}

/// The way of the wires of one connection.
#[derive(Clone, Debug)]
pub struct WireRun {
    /// The connection.
    pub net: Net,
    /// The way with rounded corners, prop frame; empty when there is none.
    pub points: Vec<DVec3>,
    /// Its corners.
    pub bends: Vec<Bend>,
    /// Diameter of the bundle, mm.
    pub bundle_mm: f64,
    /// What is taken from the bodies for it.
    pub channel: Mesh,
    /// Bodies it passes.
    pub bodies: Vec<usize>,
    /// Where there is no way: what alone stands in it, if anything does.
    pub blocked: Option<Stands>,
}

impl WireRun {
    /// Length of the way itself, mm.
    pub fn way_mm(&self) -> f64 {
        self.points.windows(2).map(|p| (p[1] - p[0]).length()).sum()
    }
}

/// Diameter of the smallest circle around `count` equal circles of diameter 1 (values of the packing of equal circles in
/// a circle, Graham 1968; beyond seven an upper bound by area at a density of 0.65).
fn packed(count: u32) -> f64 {
    match count {
        0 | 1 => 1.0,
        2 => 2.0,
        3 => 2.155,
        4 => 2.414,
        5 => 2.701,
        6 | 7 => 3.0,
        n => (f64::from(n) / 0.65).sqrt(),
    }
}

/// Who is wired to whom: what the project says, else what parts of each kind usually are.
pub fn connections(project: &Project) -> Vec<Net> {
    let parts = &project.parts;
    let first = |kind: PartKind| parts.iter().position(|p| p.row.kind == kind);
    let brain = first(PartKind::Controller);
    let power = first(PartKind::Converter).or(brain);
    let cell = first(PartKind::Cell);
    let lit = project.light.is_some();
    let both = project.power.as_ref().is_some_and(|p| p.feed == Some(Feed::Both));
    let to_strip = if both { FED_AT_BOTH } else { FED_AT_START };
    let mut nets: Vec<Net> = Vec::new();
    let mut add = |from: usize, to: Option<usize>| {
        let known = |n: &Net| (n.from == from && n.to == to) || (Some(n.from) == to && n.to == Some(from));
        if to == Some(from) || nets.iter().any(known) {
            return;
        }
        let wires = match to {
            Some(to) => {
                let both = parts[from].row.wires.min(parts[to].row.wires);
                // A converter's wires are those of both its sides: plus and minus go in, plus and minus come out.
                both.min(match [from, to].map(|p| parts[p].row.kind) {
                    // Also the cell's own plus, from before the converter: behind it nobody sees the cell run low.
                    [PartKind::Converter, PartKind::Controller] | [PartKind::Controller, PartKind::Converter] => 3,
                    [PartKind::Converter, _] | [_, PartKind::Converter] => 2,
                    _ => both,
                })
            }
            None => to_strip,
        };
        nets.push(Net { from, to, wires });
    };
    for (i, part) in parts.iter().enumerate() {
        if let Some(named) = &part.to {
            for name in named {
                if name == STRIP {
                    add(i, None);
                } else if let Some(other) = parts.iter().position(|p| p.name == *name) {
                    add(i, Some(other));
                }
            }
            continue;
        }
        let usual = match part.row.kind {
            PartKind::Cell => first(PartKind::Fuse).or(power),
            PartKind::Fuse => power,
            PartKind::Converter | PartKind::Sensor | PartKind::Amplifier | PartKind::Switch | PartKind::ProgramPort => {
                brain
            }
            PartKind::Speaker => first(PartKind::Amplifier).or(brain),
            PartKind::ChargePort => cell,
            PartKind::Controller => None,
        };
        if let Some(other) = usual {
            add(i, Some(other));
        }
        if part.row.kind == PartKind::Controller && lit {
            add(i, None);
        }
    }
    nets
}

/// Where the strip's wires come out of the rail, if there is a strip.
pub(super) fn strip_end(placed: &Placed, inside: &Inside) -> Option<DVec3> {
    let rail = inside.rail.as_ref()?;
    crate::rail::wires::wire_way(&inside.cores(placed), rail).last().copied()
}

/// Round its own plug a bundle comes apart into single wires: within this of where they leave the part, mm.
pub fn home_mm(project: &Project, part: Option<usize>, bundle_mm: f64) -> f64 {
    1.4 * (part.map_or(6.0, |p| project.parts[p].row.room_mm) + bundle_mm / 2.0 + 2.0)
}

/// Leads all wires. A connection without a way has no points: a finding says so.
pub(super) fn lead(
    project: &Project,
    placed: &Placed,
    inside: &Inside,
    surfaces: &Surfaces,
    bays: &[Bay],
    lids: &[Lid],
    nets: &[Net],
) -> Result<Vec<WireRun>, BooleanError> {
    let bay = |part: usize| bays.iter().find(|b| b.part == part);
    let strip = strip_end(placed, inside);
    let ends: Vec<Option<[DVec3; 2]>> =
        nets.iter().map(|n| Some([bay(n.from)?.exit, n.to.map_or(strip, |to| bay(to).map(|b| b.exit))?])).collect();
    let all: Vec<DVec3> = ends.iter().flatten().flatten().copied().collect();
    let Some(first) = all.first() else { return Ok(Vec::new()) };
    let reach =
        bays.iter().filter_map(|b| inside.bodies.iter().find(|i| i.body == b.body)).filter_map(|b| b.outer.bounds());
    let section =
        reach.fold(Bounds { min: *first, max: *first }, |a, b| Bounds { min: a.min.min(b.min), max: a.max.max(b.max) });
    let span = all.iter().fold([first.x, first.x], |s, p| [s[0].min(p.x), s[1].max(p.x)]);
    let low = DVec3::new(span[0] - 15.0, section.min.y, section.min.z);
    let high = DVec3::new(span[1] + 15.0, section.max.y, section.max.z);
    let field = field(placed, inside, surfaces, bays, lids);
    let lattice = lattice(&field, low, high, bays, inside);
    let speakers: Vec<(usize, Bvh)> =
        bays.iter().filter(|b| b.sound.is_some()).map(|b| (b.part, Bvh::new(&b.taken))).collect();
    let mut runs: Vec<WireRun> = Vec::new();
    // The shortest first: they have the least choice.
    let mut order: Vec<usize> = (0..nets.len()).collect();
    let apart = |i: &usize| ends[*i].map_or(0.0, |[a, b]| (a - b).length());
    order.sort_by(|a, b| apart(a).total_cmp(&apart(b)).then(a.cmp(b)));
    let mut led: Vec<(usize, Bvh)> = Vec::new();
    for i in order {
        let net = nets[i];
        let bundle_mm = WIRE_MM * packed(net.wires);
        let radius = bundle_mm / 2.0 + AIR_MM;
        let mut run = WireRun {
            net,
            points: Vec::new(),
            bends: Vec::new(),
            bundle_mm,
            channel: Mesh::default(),
            bodies: Vec::new(),
            blocked: None,
        };
        if let (Some([from, to]), Some(lattice)) = (ends[i], &lattice) {
            let own: Vec<(DVec3, f64)> = [Some(net.from), net.to]
                .into_iter()
                .zip([from, to])
                .map(|(part, at)| (at, home_mm(project, part, bundle_mm)))
                .collect();
            let at_home = |p: DVec3| own.iter().any(|(at, near)| (p - *at).length() <= *near);
            let foreign: Vec<&(usize, Bvh)> =
                speakers.iter().filter(|(part, _)| *part != net.from && Some(*part) != net.to).collect();
            let room_but = |p: DVec3, without: Option<Stands>| -> f64 {
                let mut room = field.room(p, without);
                for (_, surface) in led.iter().filter(|(other, _)| without != Some(Stands::Wires(*other))) {
                    if at_home(p) {
                        break;
                    }
                    if surface.is_inside(p) {
                        return -1.0;
                    }
                    if let Some(near) = surface.nearest(p, room.max(0.0) + APART_MM) {
                        room = room.min(near.distance_mm - APART_MM);
                    }
                }
                let shut = |s: &Bvh| s.is_inside(p) || s.nearest(p, radius + APART_MM).is_some();
                if foreign.iter().any(|(part, s)| without != Some(Stands::Part(*part)) && shut(s)) {
                    -1.0
                } else {
                    room
                }
            };
            let room_at = |p: DVec3| room_but(p, None);
            // Beside its own plug the bundle comes apart into single wires, more and more the nearer it comes.
            let need = |p: DVec3, spare: f64| {
                let apart = own.iter().map(|(at, near)| ((p - *at).length() / near - 0.4) / 0.6).fold(1.0, f64::min);
                WIRE_MM / 2.0 + (radius + spare - WIRE_MM / 2.0) * apart.max(0.0)
            };
            let passes = |p: DVec3| room_at(p) >= need(p, 0.0);
            let rooms: Vec<f64> = (0..lattice.room.len())
                .into_par_iter()
                .map(|c| if f64::from(lattice.room[c]) < WIRE_MM / 2.0 { -1.0 } else { room_at(lattice.point(c)) })
                .collect();
            // With as much room to spare as can be had, so that corners can be rounded.
            let found = SPARE_MM.iter().find_map(|spare| {
                let way = lattice.way(from, to, radius, &|c| rooms[c] >= need(lattice.point(c), *spare))?;
                let spacious = |p: DVec3| room_at(p) >= need(p, *spare);
                Some(pull(&way, &spacious))
            });
            if let Some(taut) = found {
                let taut = relaxed(taut, &passes);
                let (points, bends) = rounded(&taut, &passes, &at_home);
                let gentle = points.windows(3).all(|w| turns_wider(w, radius + 0.5));
                run.channel = tube(&points, radius, gentle)?;
                run.bends = bends;
                run.bodies = inside
                    .bodies
                    .iter()
                    .filter(|b| {
                        let x = b.outer.bounds().map_or([0.0; 2], |b| [b.min.x, b.max.x]);
                        points.iter().any(|p| p.x > x[0] - radius && p.x < x[1] + radius)
                    })
                    .map(|b| b.body)
                    .collect();
                run.points = points;
                led.push((i, Bvh::new(&run.channel)));
            } else {
                let ends = [Some(net.from), net.to].map(|p| p.map(Stands::Part));
                let others = field.all().into_iter().filter(|s| !ends.contains(&Some(*s)));
                let wires = led.iter().map(|(other, _)| Stands::Wires(*other));
                run.blocked = others.chain(wires).find(|stands| {
                    let open: Vec<bool> = (0..lattice.room.len())
                        .into_par_iter()
                        .map(|c| {
                            let p = lattice.point(c);
                            room_but(p, Some(*stands)) >= need(p, 0.0)
                        })
                        .collect();
                    lattice.way(from, to, radius, &|c| open[c]).is_some()
                });
            }
        }
        runs.push(run);
    }
    runs.sort_by_key(|r| nets.iter().position(|n| *n == r.net));
    Ok(runs)
}

/// Leaves out every corner that a straight stretch can do without.
fn pull(way: &[DVec3], passes: &dyn Fn(DVec3) -> bool) -> Vec<DVec3> {
    let mut taut = vec![way[0]];
    let mut at = 0;
    while at + 1 < way.len() {
        let mut next = at + 1;
        // The farthest that is seen: doubling, then halving.
        let mut step = 1;
        while at + 1 + step < way.len() && clear(way[at], way[at + 1 + step], passes) {
            next = at + 1 + step;
            step *= 2;
        }
        let mut high = (at + 1 + step).min(way.len() - 1);
        while high > next {
            let middle = next + (high - next).div_ceil(2);
            if clear(way[at], way[middle], passes) {
                next = middle;
            } else {
                high = middle - 1;
            }
        }
        taut.push(way[next]);
        at = next;
    }
    taut
}

/// The largest arc round the middle one of three corners that passes: its points, how much the way turns (radians) and
/// the arc's radius. `None` where the way goes straight on.
fn corner(w: [DVec3; 3], passes: &dyn Fn(DVec3) -> bool) -> Option<(Vec<DVec3>, f64, f64)> {
    let (a, b) = (w[0] - w[1], w[2] - w[1]);
    let (la, lb) = (a.length(), b.length());
    let (a, b) = (a / la, b / lb);
    let turn = core::f64::consts::PI - libm::acos(a.dot(b).clamp(-1.0, 1.0));
    if turn < 0.02 || la.min(lb) < 1e-6 {
        return None;
    }
    let tan = libm::tan(turn / 2.0);
    let mut radius = (la.min(lb) / 2.0 / tan).min(ROUNDED_MM);
    let arc = |radius: f64| -> Vec<DVec3> {
        let back = radius * tan;
        let n = (turn / 0.2).ceil().max(2.0) as u32;
        let middle = w[1] + (a + b).normalize_or_zero() * (radius / libm::cos(turn / 2.0));
        let (from, to) = (w[1] + a * back - middle, w[1] + b * back - middle);
        (0..=n)
            .map(|k| {
                let t = f64::from(k) / f64::from(n);
                let (s, c) = (libm::sin(turn * t), libm::sin(turn * (1.0 - t)));
                middle + (from * c + to * s) / libm::sin(turn)
            })
            .collect()
    };
    let mut round = arc(radius);
    while radius > 0.5 && !round.iter().all(|p| passes(*p)) {
        radius *= 0.8;
        round = arc(radius);
    }
    Some((round, turn, radius))
}

/// A corner with at least this radius is left where it is, mm.
const GENTLE_MM: f64 = 6.0;

/// Moves tight corners away from what they turn round, as long as that makes the tightest of a corner and its neighbours
/// wider.
fn relaxed(mut taut: Vec<DVec3>, passes: &dyn Fn(DVec3) -> bool) -> Vec<DVec3> {
    let radius = |way: &[DVec3], i: usize| {
        if i == 0 || i + 1 >= way.len() {
            return ROUNDED_MM;
        }
        corner([way[i - 1], way[i], way[i + 1]], passes).map_or(ROUNDED_MM, |c| c.2)
    };
    let tightest = |way: &[DVec3], i: usize| radius(way, i - 1).min(radius(way, i)).min(radius(way, i + 1));
    for _ in 0..6 {
        let mut moved = false;
        for i in 1..taut.len().saturating_sub(1) {
            let mut best = tightest(&taut, i);
            if best >= GENTLE_MM {
                continue;
            }
            let (a, b) = ((taut[i - 1] - taut[i]).normalize_or_zero(), (taut[i + 1] - taut[i]).normalize_or_zero());
            let (outwards, along) = (-(a + b).normalize_or_zero(), (b - a).normalize_or_zero());
            let across = outwards.cross(along);
            let from = taut[i];
            for direction in [outwards, along, -along, across, -across, outwards + along, outwards - along] {
                for step in [0.7, 1.6, 3.2, 6.0] {
                    let mut way = taut.clone();
                    way[i] = from + direction * step;
                    let wider = passes(way[i])
                        && clear(way[i - 1], way[i], passes)
                        && clear(way[i], way[i + 1], passes)
                        && tightest(&way, i) > best + 0.05;
                    if wider {
                        best = tightest(&way, i);
                        taut = way;
                        moved = true;
                    }
                }
            }
        }
        if !moved {
            break;
        }
    }
    taut
}

/// Whether a straight stretch passes everywhere between its ends.
fn clear(a: DVec3, b: DVec3, passes: &dyn Fn(DVec3) -> bool) -> bool {
    let n = ((b - a).length() / 0.7).ceil().max(1.0) as u32;
    (1..n).all(|k| passes(a + (b - a) * (f64::from(k) / f64::from(n))))
}

/// Rounds the corners as far as there is room: the way, and its corners but for those where the wires are at home and bend
/// one by one.
fn rounded(taut: &[DVec3], passes: &dyn Fn(DVec3) -> bool, at_home: &dyn Fn(DVec3) -> bool) -> (Vec<DVec3>, Vec<Bend>) {
    let mut points = vec![taut[0]];
    let mut bends = Vec::new();
    for w in taut.windows(3) {
        let Some((arc, turn, radius_mm)) = corner([w[0], w[1], w[2]], passes) else { continue };
        points.extend(arc);
        if !at_home(w[1]) && turn.to_degrees() > LEAST_TURN_DEG {
            bends.push(Bend { at: w[1], angle_deg: turn.to_degrees(), radius_mm });
        }
    }
    points.push(taut[taut.len() - 1]);
    (points, bends)
}

/// Whether a way turns round its middle one of three points with more than a radius.
fn turns_wider(w: &[DVec3], radius_mm: f64) -> bool {
    let (u, v) = (w[1] - w[0], w[2] - w[1]);
    let turn = libm::acos(u.normalize_or_zero().dot(v.normalize_or_zero()).clamp(-1.0, 1.0));
    turn * radius_mm < (u.length() + v.length()) / 2.0
}

/// A round channel along a way, with round ends: one loft of rings where the way bends gently enough for it, else rods and
/// balls.
fn tube(points: &[DVec3], radius_mm: f64, gentle: bool) -> Result<Mesh, BooleanError> {
    let corners = 16;
    let r = solid::around_mm(radius_mm, corners);
    let ends = [points[0], points[points.len() - 1]].map(|p| solid::sphere(p, r + 0.02, corners));
    let mut solids = Vec::from(ends);
    if gentle && points.len() > 2 {
        let mut rings = Vec::new();
        let mut side = (points[1] - points[0]).any_orthonormal_vector();
        for (i, p) in points.iter().enumerate() {
            let along = (points[(i + 1).min(points.len() - 1)] - points[i.saturating_sub(1)]).normalize_or_zero();
            side = (side - along * side.dot(along)).normalize_or_zero();
            let up = along.cross(side);
            rings.push(
                (0..corners)
                    .map(|k| {
                        let a = f64::from(k) * core::f64::consts::TAU / f64::from(corners);
                        *p + (side * libm::cos(a) + up * libm::sin(a)) * r
                    })
                    .collect(),
            );
        }
        solids.push(solid::loft(&rings));
    } else {
        for pair in points.windows(2) {
            if (pair[1] - pair[0]).length() > 1e-3 {
                solids.push(solid::cylinder(pair[0], pair[1], r, corners));
            }
        }
        // A little fatter than the rods, so that no rod's rim lies in a ball's surface.
        solids.extend(points.iter().map(|p| solid::sphere(*p, r + 0.02, corners)));
    }
    solid::union_all(&solids)
}

#[cfg(test)]
mod tests {
    use super::super::room::steps;
    use super::*;

    #[test]
    fn circles_pack_as_published() {
        // Graham 1968: 1, 2, 1 + 2/sqrt 3, 1 + sqrt 2, 1 + sqrt(2 + 2/sqrt 5), 3.
        let known =
            [1.0, 2.0, 1.0 + 2.0 / 3f64.sqrt(), 1.0 + 2f64.sqrt(), 1.0 + (2.0 + 2.0 / 5f64.sqrt()).sqrt(), 3.0, 3.0];
        for (n, d) in known.iter().enumerate() {
            assert!((packed(n as u32 + 1) - d).abs() < 1e-3, "{} {d}", n + 1);
        }
        assert!(packed(8) >= 3.304 && packed(9) >= 3.613 && packed(12) >= 4.029);
    }

    #[test]
    fn a_taut_way_goes_round_a_block_and_is_rounded() {
        // A block between x 10 and 20 below y = 5: the way from one side to the other turns twice.
        let passes = |p: DVec3| !(p.x > 10.0 && p.x < 20.0 && p.y < 5.0);
        let way: Vec<DVec3> = steps(0.0, 30.0, 1.0)
            .map(|x| {
                DVec3::new(x, if x > 9.0 && x < 21.0 { 6.0 } else { (6.0 - (x - 15.0).abs() * 0.4).max(0.0) }, 0.0)
            })
            .collect();
        let taut = pull(&way, &passes);
        assert!(taut.len() == 3 || taut.len() == 4, "{taut:?}");
        let (points, bends) = rounded(&taut, &passes, &|_| false);
        assert!(points.iter().all(|p| passes(*p)));
        assert_eq!(bends.len(), taut.len() - 2);
        let long: f64 = points.windows(2).map(|p| (p[1] - p[0]).length()).sum();
        let straight: f64 = taut.windows(2).map(|p| (p[1] - p[0]).length()).sum();
        assert!(long <= straight + 1e-6 && long > 30.0);
        for gentle in [true, false] {
            let hole = tube(&points, 1.5, gentle).unwrap();
            // A little more than a round rod of that length (15.9 around 16 corners), with half a ball at each end.
            let rod = core::f64::consts::PI * 1.5 * 1.5 * long;
            assert!(hole.edge_census().is_closed());
            assert!(hole.volume_mm3() > rod && hole.volume_mm3() < 1.2 * rod + 20.0, "{} {rod}", hole.volume_mm3());
        }
    }
}
