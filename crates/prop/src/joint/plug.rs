//! The plug of a joint that comes apart: it reaches into a socket of the other piece, goes in one way only, and lets
//! spine, wires and their connector pass.
//!
//! Everything here is worked out in the joint's own axes: z the way the plug reaches, side 0 the piece that carries it.

use super::site::Site;
use super::{
    Fastening, JointError, Loops, Place, bayonet, disc, extent, extrude, magnets, no_room, place_of, raise, rect,
    screws, unbored, within,
};
pub(super) use crate::fixing::BEFORE_MM;
use crate::outcome::{Bought, JointKind, TakeDown};
use crate::project::{Hardware, Side};
use solid::section::{area_mm2, distance_to, intersect, point_in, section, subtract};
use solid::{DAffine3, DVec2, Mesh};

/// How far the plug's root runs into its own piece, mm.
const ROOT_MM: f64 = 2.0;
/// Wall of a plug around what passes through it, mm: three beads of a 0.4 nozzle.
pub(super) const PLUG_WALL_MM: f64 = 1.2;
/// The plug's end is this much slimmer over its last bit, mm, so that it finds its socket.
pub(super) const LEAD_MM: f64 = 0.8;
/// The socket is this much deeper than the plug, mm, so that the faces meet and not the plug's end; magnets want less.
const END_PLAY_MM: f64 = 1.0;
const MAGNET_PLAY_MM: f64 = 0.3;
/// Depth of the flat that lets a plug in one way only, mm (our choice: more than any clearance, less than a wall).
const KEY_MM: f64 = 1.6;
/// A section whose inner circle has this share of its reach counts as round.
const ROUND_SHARE: f64 = 0.85;
/// A connector is tried in so many steps to each side of the wires, half its size in all.
const ASIDE: i32 = 12;
/// Sections are taken this far apart, mm.
const STEP_MM: f64 = 4.0;
/// A hole in the plug is drawn this much wider than the bore, mm, so that no two surfaces coincide.
const APART_MM: f64 = 0.03;

/// A plug in its socket, before anything holds it.
pub(super) struct Plug<'a> {
    pub(super) site: &'a Site<'a>,
    /// The joint's axes.
    pub(super) axes: DAffine3,
    /// Outline of the plug.
    pub(super) outline: Loops,
    /// What goes through it: bore and connector's room.
    pub(super) holes: Loops,
    /// Gap per side as drawn, mm.
    pub(super) gap_mm: f64,
    /// Depth of the socket, mm.
    pub(super) floor_mm: f64,
    /// Radius of a bayonet's plug, mm.
    pub(super) radius_mm: f64,
    /// The plug.
    pub(super) solid: Mesh,
    /// The socket.
    pub(super) socket: Mesh,
    /// Through the socket's wall.
    pub(super) drills: Mesh,
    /// What it is made of so far.
    pub(super) record: TakeDown,
}

/// The joint that comes apart at a site.
///
/// # Errors
/// [`JointError::NoRoom`] when the plug or what holds it has no room.
pub(super) fn take_down(place: &Place, site: &Site) -> Result<Fastening, JointError> {
    let place = &seen_from_plug(place, site.plug);
    let mut made = match &site.rules.hardware {
        Hardware::Magnets { .. } if site.cap => magnets::cap(place, site)?,
        _ => plugged(place, site)?,
    };
    if site.plug == Side::Tip {
        made.adds.swap(0, 1);
        made.takes.swap(0, 1);
        made.drills.swap(0, 1);
        made.depth_mm.swap(0, 1);
        for pair in made.take_down.iter_mut().flat_map(|t| &mut t.magnets) {
            pair.face.swap(0, 1);
            pair.pole.swap(0, 1);
        }
    }
    Ok(made)
}

fn seen_from_plug<'a>(place: &Place<'a>, plug: Side) -> Place<'a> {
    let mut seen = place.clone();
    if plug == Side::Tip {
        seen.basis.y = -seen.basis.y;
        seen.cavity.swap(0, 1);
        seen.outer.swap(0, 1);
        seen.span_mm.swap(0, 1);
    }
    seen
}

/// The record of a joint at a site, nothing bought yet.
pub(super) fn record(place: &Place, site: &Site, gap_mm: f64) -> TakeDown {
    TakeDown {
        name: site.rules.name.clone(),
        plug: site.plug,
        axes: place_of(&place.basis),
        reach_mm: site.reach_mm,
        gap_mm,
        section_mm: site.depth_mm,
        cap: site.cap,
        turn_deg: 0.0,
        bumps: Vec::new(),
        holes: Vec::new(),
        magnets: Vec::new(),
        bought: Vec::new(),
        rod_stands_mm: site.stands_mm,
    }
}

fn plugged(place: &Place, site: &Site) -> Result<Fastening, JointError> {
    let mut plug = Plug::of(place, site)?;
    plug.bay(place)?;
    let kind = match &site.rules.hardware {
        Hardware::Bayonet { turn_deg, bite_mm } => {
            stands_round(place, site)?;
            bayonet::lock(&mut plug, *turn_deg, *bite_mm)?;
            JointKind::Bayonet
        }
        Hardware::Screws { screw, insert, count } => {
            screws::screw(place, &mut plug, screw, insert, *count)?;
            JointKind::Screws
        }
        Hardware::Magnets { magnet, pairs, poles } => {
            magnets::in_end(&mut plug, &place.fit, magnet, *pairs, poles)?;
            JointKind::Magnets
        }
    };
    Ok(Fastening {
        adds: [plug.solid, Mesh::default()],
        takes: [Mesh::default(), plug.socket],
        drills: [Mesh::default(), plug.drills],
        depth_mm: [0.0, plug.floor_mm],
        take_down: Some(plug.record),
        ..Fastening::of(kind)
    })
}

/// What stands out of a plug that is turned must be round.
fn stands_round(place: &Place, site: &Site) -> Result<(), JointError> {
    let beyond = if site.plug == Side::Butt { site.stands_mm - site.reach_mm } else { site.stands_mm };
    let spine = place.rail.and_then(|r| r.layout.spine.as_ref());
    // Flat stock has four corners.
    if beyond <= 0.0 || spine.is_none_or(|s| s.nominal.len() > 4) {
        return Ok(());
    }
    Err(no_room(
        site,
        format!("a flat bar stands {beyond:.0} mm out of a joint that is turned: it would jam in its slot"),
        "take a round bar, leave rod-stands out, or hold the joint with screws or magnets",
    ))
}

impl<'a> Plug<'a> {
    fn of(place: &Place, site: &'a Site<'a>) -> Result<Plug<'a>, JointError> {
        let wall = site.rules.wall_mm;
        let gap = place.fit.drawn_gap_mm(0.0);
        let (play, behind) = match &site.rules.hardware {
            Hardware::Magnets { magnet, .. } => (MAGNET_PLAY_MM, magnet.thickness_mm + 1.0 + wall),
            _ => (END_PLAY_MM, wall),
        };
        let floor = site.reach_mm + play;
        if floor + behind > place.span_mm[1] {
            return Err(no_room(
                site,
                format!(
                    "the plug has no room: it reaches {:.1} mm, and the piece it goes into is {:.1} mm long",
                    site.reach_mm, place.span_mm[1]
                ),
                "ask for a shorter reach, put the plug on the other side (plug), or move the cut beyond it",
            ));
        }
        let room = socket_room(place, floor + behind)?;
        let allowed = within(&room, wall)?;
        let root = intersect(&unbored(place, 0, 0.05)?, &unbored(place, 0, ROOT_MM + 0.1)?)?;
        let root = within(&root, PLUG_WALL_MM)?;
        let bayonet = matches!(site.rules.hardware, Hardware::Bayonet { .. });
        // The plug sits round the rail's middle: a round bar may stand out of it while it turns.
        let free = |loops: &Loops| if point_in(loops, DVec2::ZERO) { distance_to(loops, DVec2::ZERO) } else { 0.0 };
        let lug = if bayonet { bayonet::LUG_MM } else { 0.0 };
        let radius_mm = (free(&allowed) - gap - lug).min(free(&root));
        let widest = extent(&allowed).iter().fold(0.0f64, |w, p| w.max(p.abs().max_element()));
        let round = bayonet || radius_mm > ROUND_SHARE * (widest - gap);
        let mut outline = if round {
            if radius_mm > 1.0 { vec![disc(DVec2::ZERO, radius_mm * circumscribed())] } else { Vec::new() }
        } else {
            // Opened by a millimetre: no whiskers where relief cuts in.
            let bare = intersect(&within(&allowed, gap)?, &root)?;
            let opened = within(&within(&bare, 1.0)?, -1.0)?;
            intersect(&opened, &bare)?
        };
        if !bayonet && !outline.is_empty() {
            let [low, high] = extent(&outline);
            let keyed = rect([low.x + KEY_MM, high.x + 1.0], [low.y - 1.0, high.y + 1.0]);
            outline = intersect(&outline, &keyed)?;
        }
        let holes = match place.rail.filter(|r| !r.bore.is_empty()) {
            Some(rail) => section(&rail.bore, &super::at(&place.basis, 1.0))?,
            None => Vec::new(),
        };
        let mut plug = Plug {
            site,
            axes: place_of(&place.basis),
            outline,
            holes,
            gap_mm: gap,
            floor_mm: floor,
            radius_mm,
            solid: Mesh::default(),
            socket: Mesh::default(),
            drills: Mesh::default(),
            record: record(place, site, gap),
        };
        plug.needs_wall(place)?;
        plug.build(place)?;
        Ok(plug)
    }

    /// The plug must have a wall around what passes through it.
    fn needs_wall(&self, place: &Place) -> Result<(), JointError> {
        const LEAST_MM2: f64 = 25.0;
        let [low, high] = extent(&self.outline);
        let least = self.outline.is_empty() || area_mm2(&subtract(&self.outline, &self.holes)?) < LEAST_MM2;
        let bare = subtract(&self.holes, &within(&self.outline, PLUG_WALL_MM)?)?;
        if !least && area_mm2(&bare).abs() < 0.05 {
            return Ok(());
        }
        let size = |[low, high]: [DVec2; 2]| {
            let s = (high - low).max(DVec2::ZERO);
            if s.is_finite() { s } else { DVec2::ZERO }
        };
        let (own, bore) = (size([low, high]), size(extent(&self.holes)));
        let section_mm = size(extent(&unbored(place, 1, 0.05)?));
        Err(no_room(
            self.site,
            format!(
                "the plug has no room: inside the section of {:.1} x {:.1} mm, with {:.1} mm of wall around its socket, it \
                 can be {:.1} x {:.1} mm, and the way for spine and wires through it takes {:.1} x {:.1} mm and a wall of \
                 {PLUG_WALL_MM:.1} mm",
                section_mm.x, section_mm.y, self.site.rules.wall_mm, own.x, own.y, bore.x, bore.y
            ),
            "move the joint to a thicker place, take a slimmer spine or thinner wires there, or a thinner wall for the joint",
        ))
    }

    fn build(&mut self, place: &Place) -> Result<(), JointError> {
        let reach = self.site.reach_mm;
        let body = extrude(&self.outline, &self.axes, -ROOT_MM, reach - LEAD_MM)?;
        let lead = extrude(&within(&self.outline, LEAD_MM / 2.0)?, &self.axes, reach - LEAD_MM - 0.1, reach)?;
        self.solid = solid::union(&body, &lead)?;
        if let Some(rail) = place.rail.filter(|_| !self.holes.is_empty()) {
            // Along the bore's own way, which may lie aslant to the cut.
            let (run, _) = rail.way.locate(rail.way.distance_at(self.site.station_mm));
            let z = self.axes.matrix3.z_axis;
            let slant = run.along / run.along.dot(z);
            for outline in within(&self.holes, -APART_MM)? {
                let ring = |t: f64| outline.iter().map(|p| raise(&self.axes, *p, 0.0) + slant * t).collect();
                let hole = solid::loft(&[ring(-ROOT_MM - 1.0), ring(reach + 1.0)]);
                self.solid = solid::difference(&self.solid, &hole)?;
            }
        }
        self.socket = extrude(&within(&self.outline, -self.gap_mm)?, &self.axes, -BEFORE_MM, self.floor_mm)?;
        Ok(())
    }

    /// The connector's room at the plug's end, beside the spine, open to the wires and to the end.
    fn bay(&mut self, place: &Place) -> Result<(), JointError> {
        let Some(connector) = &self.site.rules.connector else { return Ok(()) };
        let Some(rail) = place.rail.filter(|_| !self.holes.is_empty()) else {
            return Err(no_room(
                self.site,
                "there are no wires here for its connector to part".to_owned(),
                "leave the connector out, or move the joint to where the wires pass",
            ));
        };
        let [a, b, long] = connector.size_mm;
        let air = self.gap_mm;
        let room = within(&self.outline, PLUG_WALL_MM)?;
        let spine: Loops = rail.layout.spine.iter().map(|s| s.largest.clone()).collect();
        let mut wires = rail.layout.wires_in_bore();
        if self.site.plug == Side::Tip {
            wires.y = -wires.y;
        }
        // Around the wires' middle, pushed aside as little as will do.
        let mut best: Option<(f64, Loops)> = None;
        for [wide, high] in [[a, b], [b, a]].map(|s| s.map(|mm| mm + 2.0 * air)) {
            for (i, j) in (-ASIDE..=ASIDE).flat_map(|i| (-ASIDE..=ASIDE).map(move |j| (i, j))) {
                let aside = DVec2::new(wide * f64::from(i), high * f64::from(j)) / f64::from(2 * ASIDE);
                if best.as_ref().is_some_and(|b| b.0 <= aside.length()) {
                    continue;
                }
                let [x, y] = [wires.x + aside.x, wires.y + aside.y];
                let asked = rect([x - wide / 2.0, x + wide / 2.0], [y - high / 2.0, y + high / 2.0]);
                let out = area_mm2(&subtract(&asked, &room)?).abs();
                let hit = if spine.is_empty() { 0.0 } else { area_mm2(&intersect(&asked, &spine)?).abs() };
                if out < 1e-3 && hit < 1e-3 {
                    best = Some((aside.length(), asked));
                }
            }
        }
        let bay = best.map(|b| b.1);
        let reach = self.site.reach_mm;
        let Some(bay) = bay.filter(|_| long + air < reach + ROOT_MM) else {
            let [low, high] = extent(&room);
            let own = high - low;
            return Err(no_room(
                self.site,
                format!(
                    "the connector {:?} has no room in the plug: it takes {a:.1} x {b:.1} mm, {long:.0} mm long, beside the spine, \
                     and inside its wall the plug is {:.1} x {:.1} mm, {reach:.0} mm long",
                    connector.name, own.x, own.y
                ),
                "take a smaller connector, a thinner wall for the joint (wall), a longer reach, or move the joint to a thicker place",
            ));
        };
        let room = extrude(&bay, &self.axes, reach - long - air, reach + 1.0)?;
        self.solid = solid::difference(&self.solid, &room)?;
        self.holes.extend(bay);
        self.holes = within(&within(&self.holes, -0.01)?, 0.01)?;
        self.record.bought.push(Bought {
            what: "connector",
            row: connector.name.clone(),
            title: connector.title.clone(),
            count: 1,
        });
        Ok(())
    }
}

/// From a circle's flats back to its corners: a plug's corners lie on the circle, a socket's flats.
fn circumscribed() -> f64 {
    1.0 / solid::around_mm(1.0, super::SEGMENTS)
}

/// What is solid all the way to a depth in the piece that the plug goes into, its bore filled.
fn socket_room(place: &Place, depth_mm: f64) -> Result<Loops, JointError> {
    let steps = (depth_mm / STEP_MM).ceil().max(1.0) as usize;
    let mut all = unbored(place, 1, 0.05)?;
    for k in 1..=steps {
        all = intersect(&all, &unbored(place, 1, depth_mm * k as f64 / steps as f64)?)?;
    }
    Ok(all)
}
