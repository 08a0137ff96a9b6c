//! Finding a place for every part: the maker's own where there is one, else the best that keeps every wall.

use super::end::EndPart;
use super::lid::{LEDGE_MM, lid_gap_mm, make_lid};
use super::light::Surfaces;
use super::port::PortPart;
use super::room::{PARTITION_MM, Room};
use super::tray::{Member, Tray, TrayPlace};
use super::wires::{Net, connections};
use super::{Bay, Bays};
use crate::catalogue::PartKind;
use crate::outcome::Role;
use crate::project::{Flank, LidHold, PartRules, Project, WayOut};
use crate::rail::layout::Fit;
use crate::stages::{Inside, Placed};
use rayon::prelude::*;
use solid::DVec3;
use thiserror::Error;

/// Kept free of lids and ports at a body's ends, for joints, mm.
const END_MM: f64 = 14.0;
/// Plastic kept outside of a bay in a body, at least, mm: a handled wall of three to four beads (common practice).
const WALL_MM: f64 = 1.6;
/// Distance between tried stations, mm.
const COARSE_MM: f64 = 5.0;
const FINE_MM: f64 = 1.0;
/// A place that lacks less than this is sound, mm.
const SOUND_MM: f64 = 1e-6;
const SIDES: [Flank; 4] = [Flank::PlusZ, Flank::MinusZ, Flank::PlusY, Flank::MinusY];

/// Why a part has no place.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum BayError {
    /// Named body is not there or not solid.
    #[error("part {part} is to go into {body}, which {why}")]
    NoBody {
        /// Part.
        part: String,
        /// Body.
        body: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// No joint comes apart for a part that goes in through an end.
    #[error("part {part} goes into {body} through an end, but no joint of it comes apart")]
    NoJoint {
        /// Part.
        part: String,
        /// Body.
        body: String,
    },
    /// No place keeps all walls.
    #[error(
        "{parts} ({long_mm:.0} mm with lid and walls) fits nowhere in {body}, of which {free_mm:.0} mm are free of joints; the best place, at station {station_mm:.0} mm, lacks {short_mm:.1} mm"
    )]
    NoRoom {
        /// Parts.
        parts: String,
        /// Body.
        body: String,
        /// Length needed along the prop, mm.
        long_mm: f64,
        /// Length between the ends kept for joints, mm.
        free_mm: f64,
        /// Station of the best place, mm.
        station_mm: f64,
        /// What it lacks, mm.
        short_mm: f64,
    },
    /// A lid that slides has no room for its ways.
    #[error(
        "the lid of {parts} can't slide in {body}: at station {station_mm:.0} mm, side {side}, {short_mm:.1} mm of the body's plastic lack over its tongue and lugs, since the surface curves down too soon beside it"
    )]
    NoSlide {
        /// Parts.
        parts: String,
        /// Body.
        body: String,
        /// Station of the best place, mm.
        station_mm: f64,
        /// Its side.
        side: &'static str,
        /// What lacks, mm.
        short_mm: f64,
    },
    /// Geometry failed.
    #[error("a bay could not be made: {0}")]
    Boolean(#[from] solid::BooleanError),
}

impl BayError {
    /// The part it is about, for the place in the project file.
    pub fn part(&self) -> Option<&str> {
        match self {
            BayError::NoBody { part, .. } | BayError::NoJoint { part, .. } => Some(part),
            BayError::NoRoom { parts, .. } | BayError::NoSlide { parts, .. } => parts.split(", ").next(),
            BayError::Boolean(_) => None,
        }
    }

    /// What to do.
    pub fn remedy(&self) -> &'static str {
        match self {
            BayError::NoBody { .. } => "name a body with the role \"plain\"",
            BayError::NoJoint { .. } => {
                "add a joint that comes apart there ([joint.cap] with at and kind), or let it go in through a lid: way = \"lid\""
            }
            BayError::NoRoom { .. } => {
                "take a smaller part, a thicker body or another one (in), or end the spine earlier (spine.from, spine.to)"
            }
            BayError::NoSlide { .. } => {
                "hold the lid by magnets or screws (lid = \"magnets\"), or put it on a flatter or wider side (at, side), or deeper (depth)"
            }
            BayError::Boolean(_) => "move the part a little (at, side, depth)",
        }
    }
}

/// A joint that comes apart, as bays see it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OpenJoint {
    /// Station of its faces, mm.
    pub station_mm: f64,
    /// Stations that its plug and socket take up, mm.
    pub span_mm: [f64; 2],
}

/// Finds a place for every part of the project. `joints` are those that come apart: parts go in through them, and lids and
/// ports keep off them.
///
/// Parts that the maker placed are put there whatever they lack; the findings say what. For the others every station
/// and side of their body is tried.
///
/// # Errors
/// [`BayError`] names the first part without a place.
pub fn find_bays(project: &Project, placed: &Placed, inside: &Inside, joints: &[OpenJoint]) -> Result<Bays, BayError> {
    let surfaces = Surfaces::of(placed, inside);
    let mut search =
        Search { project, placed, inside, surfaces: &surfaces, joints, bays: Vec::new(), lids: Vec::new() };
    let mut order: Vec<usize> = Vec::new();
    for body in 0..placed.bodies.len() {
        let here: Vec<usize> =
            (0..project.parts.len()).filter(|p| same(&project.parts[*p].body, &placed.bodies[body].name)).collect();
        if !here.is_empty() {
            search.fill(body, &here)?;
            order.extend(here);
        }
    }
    if let Some(lost) = (0..project.parts.len()).find(|p| !order.contains(p)) {
        let part = &project.parts[lost];
        return Err(no_body(part, "the shape does not have"));
    }
    search.bays.sort_by_key(|b| b.part);
    let nets = connections(project);
    let wires = super::wires::lead(project, placed, inside, &surfaces, &search.bays, &search.lids, &nets)?;
    Ok(Bays { bays: search.bays, lids: search.lids, wires })
}

fn same(a: &str, b: &str) -> bool {
    a == b || a.to_lowercase() == b.to_lowercase()
}

fn no_body(part: &PartRules, why: &'static str) -> BayError {
    BayError::NoBody { part: part.name.clone(), body: part.body.clone(), why }
}

/// Kept free of bays on both sides of a cut, for its pegs, mm.
const CUT_MM: f64 = 10.0;
/// Taken off a printer's height, mm: margins and what a joint adds to a piece.
const TALLER_MM: f64 = 12.0;

/// 1 when these stretches leave no cuts for pieces of at most `longest_mm` between two stations, else 0.
fn uncuttable(span: [f64; 2], longest_mm: f64, uncut_mm: &[[f64; 2]]) -> f64 {
    let mut from = span[0];
    while from + longest_mm < span[1] {
        let mut cut = from + longest_mm;
        // Back to where no bay is.
        while let Some(block) = uncut_mm.iter().find(|b| cut > b[0] - CUT_MM && cut < b[1] + CUT_MM) {
            cut = block[0] - CUT_MM;
        }
        if cut < from + 2.0 * CUT_MM {
            return 1.0;
        }
        from = cut;
    }
    0.0
}

struct Search<'a> {
    project: &'a Project,
    placed: &'a Placed,
    inside: &'a Inside,
    surfaces: &'a Surfaces<'a>,
    joints: &'a [OpenJoint],
    bays: Vec<Bay>,
    lids: Vec<super::Lid>,
}

impl Search<'_> {
    fn fill(&mut self, body: usize, parts: &[usize]) -> Result<(), BayError> {
        let rules = |p: usize| &self.project.parts[p];
        let own = self.inside.bodies.iter().find(|b| b.body == body && b.cavity.is_none());
        let surfaces = self.surfaces;
        let (Some(own), Some(surface)) = (own, surfaces.of_body(body)) else {
            let why = if self.placed.bodies[body].role == Role::Lit { "is lit and hollow" } else { "is a cover" };
            return Err(no_body(rules(parts[0]), why));
        };
        let ends = self.placed.bodies[body].station_mm;
        let bounds = self.placed.bodies[body].mesh.bounds();
        let reach =
            bounds.map_or(0.0, |b| b.min.abs().max(b.max.abs()).truncate().y.max(b.min.abs().max(b.max.abs()).z));
        let mut room = Room {
            body,
            path: &self.placed.path,
            outer: surface.bvh(),
            off_mm: surface.off_mm(),
            wall_mm: own.rules.wall_mm.max(WALL_MM),
            span_mm: [ends[0] + END_MM, ends[1] - END_MM],
            reach_mm: reach + 2.0,
            closed_mm: self.joints.iter().map(|j| j.span_mm).collect(),
            kept: Vec::new(),
        };
        if let Some(rail) = &self.inside.rail {
            room.keep_off(&[&rail.bore], PARTITION_MM);
        }
        let fit = Fit::over(own.rules.printers.iter().map(|p| &self.project.printers[*p]));
        let gap = |p: usize| {
            let row = &rules(p).row;
            // A sensor must not shift: it is glued into a seat that only just takes it.
            if row.kind == PartKind::Sensor {
                fit.glue_gap_mm + (fit.slot_loss_mm + row.over_mm) / 2.0
            } else {
                fit.drawn_gap_mm(row.over_mm)
            }
        };
        for &p in parts.iter().filter(|p| rules(**p).way == Some(WayOut::End)) {
            self.end(&mut room, p, gap(p), ends)?;
        }
        let in_trays: Vec<(usize, &LidHold)> =
            parts.iter().filter_map(|p| Some((*p, rules(*p).lid.as_ref()?))).collect();
        // Parts with places of their own and cells stand alone; boards share a tray by what holds its lid.
        let alone = |p: usize| {
            let r = rules(p);
            r.at_mm.is_some() || r.side.is_some() || r.depth_mm.is_some() || r.row.kind == PartKind::Cell
        };
        let mut groups: Vec<(Vec<usize>, &LidHold)> = Vec::new();
        for (p, hold) in in_trays.iter().filter(|(p, _)| alone(*p)) {
            groups.push((vec![*p], hold));
        }
        let lone = groups.len();
        for (p, hold) in in_trays.into_iter().filter(|(p, _)| !alone(*p)) {
            match groups[lone..].iter_mut().find(|(_, other)| *other == hold) {
                Some((shared, _)) => shared.push(p),
                None => groups.push((vec![p], hold)),
            }
        }
        // What the maker placed comes first, then the largest.
        let volume = |g: &[usize]| g.iter().map(|p| rules(*p).row.size_mm.iter().product::<f64>()).sum::<f64>();
        let free = |g: &[usize]| rules(g[0]).at_mm.is_none();
        groups.sort_by(|(a, _), (b, _)| free(a).cmp(&free(b)).then(volume(b).total_cmp(&volume(a))).then(a.cmp(b)));
        for (group, hold) in groups {
            self.trays(&mut room, &group, hold, fit, &gap)?;
        }
        for &p in parts.iter().filter(|p| rules(**p).row.flange_mm.is_some()) {
            self.port(&mut room, p, gap(p))?;
        }
        Ok(())
    }

    fn end(&mut self, room: &mut Room, p: usize, gap_mm: f64, ends: [f64; 2]) -> Result<(), BayError> {
        let rules = &self.project.parts[p];
        let within = |s: &f64| *s >= ends[0] - 1.0 && *s <= ends[1] + 1.0;
        let aim = rules.at_mm.unwrap_or(f64::midpoint(ends[0], ends[1]));
        let stations = self.joints.iter().map(|j| j.station_mm).filter(within);
        let joint = stations.min_by(|a, b| (a - aim).abs().total_cmp(&(b - aim).abs()));
        let Some(joint_mm) = joint else {
            return Err(BayError::NoJoint { part: rules.name.clone(), body: rules.body.clone() });
        };
        // Into the longer side of the body, unless the maker says where.
        let buttwards = match rules.at_mm {
            Some(at) => at > joint_mm,
            None => joint_mm - ends[0] < ends[1] - joint_mm,
        };
        let part = EndPart { part: p, row: &rules.row, gap_mm, joint_mm, buttwards };
        let end_mm = if buttwards { ends[1] - END_MM } else { ends[0] + END_MM };
        let place = part.place(room, rules.at_mm, end_mm);
        if place.short_mm > SOUND_MM && rules.at_mm.is_none() {
            let [from, to] = part.span(&place);
            return Err(BayError::NoRoom {
                parts: rules.name.clone(),
                body: rules.body.clone(),
                long_mm: to - from,
                free_mm: (end_mm - joint_mm).abs(),
                station_mm: joint_mm,
                short_mm: place.short_mm,
            });
        }
        let bay = part.bay(room, &place)?;
        room.keep_off(&[&bay.taken], PARTITION_MM);
        self.bays.push(bay);
        Ok(())
    }

    /// Puts parts into one tray, or into two where one is too long for any place.
    fn trays(
        &mut self,
        room: &mut Room,
        group: &[usize],
        hold: &LidHold,
        fit: Fit,
        gap: &(dyn Fn(usize) -> f64 + Sync),
    ) -> Result<(), BayError> {
        let first = &self.project.parts[group[0]];
        let members = group.iter().map(|p| Member { part: *p, row: &self.project.parts[*p].row, gap_mm: gap(*p) });
        let tray = Tray {
            members: members.collect(),
            hold: hold.clone(),
            lid_gap_mm: lid_gap_mm(hold, &fit),
            fit,
            depth_mm: first.depth_mm,
            roofs: true,
        };
        let reach = tray.reach();
        let sides: Vec<Flank> = first.side.map_or(SIDES.to_vec(), |s| vec![s]);
        let [from, to] = room.span_mm;
        let pull = self.pull(group);
        let taken: Vec<[f64; 2]> = self.bays.iter().filter(|b| b.body == room.body).map(|b| b.span_mm).collect();
        let longest_mm = self.longest_mm(room.body);
        let whole = self.placed.bodies[room.body].station_mm;
        let cuttable = |s: f64| {
            let mut all = taken.clone();
            all.push([s - reach, s + reach]);
            100.0 * uncuttable(whole, longest_mm, &all)
        };
        let best_of = |stations: &[f64], sides: &[Flank]| -> Option<(f64, Flank, TrayPlace)> {
            let tried: Vec<(usize, f64, Flank)> = stations
                .iter()
                .flat_map(|s| sides.iter().map(move |side| (*s, *side)))
                .enumerate()
                .map(|(i, (s, d))| (i, s, d))
                .collect();
            tried
                .into_par_iter()
                .filter_map(|(i, s, side)| {
                    let place = tray.places(room, s, side, f64::INFINITY).pop()?;
                    Some((1000.0 * (place.short_mm + cuttable(s)) + pull(room, s, side), i, side, place))
                })
                .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
                .map(|(cost, _, side, place)| (cost, side, place))
        };
        let span = [from + reach, to - reach];
        let stations: Vec<f64> = match first.at_mm {
            Some(at) => vec![at],
            None if span[1] >= span[0] => super::room::steps(span[0], span[1], COARSE_MM).collect(),
            None => vec![f64::midpoint(from, to)],
        };
        let mut found = best_of(&stations, &sides);
        if let (Some((_, side, place)), None) = (&found, first.at_mm) {
            let near: Vec<f64> =
                super::room::steps(place.station_mm - COARSE_MM, place.station_mm + COARSE_MM, FINE_MM)
                    .filter(|s| *s >= span[0] && *s <= span[1])
                    .collect();
            let side = *side;
            let finer = best_of(&near, &[side]);
            if let (Some(a), Some(b)) = (&finer, &found)
                && a.0 < b.0
            {
                found = finer;
            }
        }
        let sound = found.as_ref().is_some_and(|f| f.2.short_mm <= SOUND_MM);
        if !sound && first.at_mm.is_none() && group.len() > 1 {
            let (a, b) = group.split_at(group.len().div_ceil(2));
            self.trays(room, a, hold, fit, gap)?;
            return self.trays(room, b, hold, fit, gap);
        }
        let names = || group.iter().map(|p| self.project.parts[*p].name.as_str()).collect::<Vec<_>>().join(", ");
        // A lid that only its ways keep from fitting is told from parts that don't fit at all.
        if let Some((_, side, place)) = found.as_ref().filter(|f| *hold == LidHold::Slide && f.2.short_mm > SOUND_MM) {
            let bare = Tray { roofs: false, members: tray.members.clone(), hold: hold.clone(), ..tray };
            let free = bare.places(room, place.station_mm, *side, f64::INFINITY).pop();
            if let Some(free) = free.filter(|f| f.short_mm <= SOUND_MM) {
                return Err(BayError::NoSlide {
                    parts: names(),
                    body: first.body.clone(),
                    station_mm: place.station_mm,
                    side: side.word(),
                    short_mm: free.roof_mm,
                });
            }
        }
        let Some((_, _, place)) = found.filter(|f| f.2.short_mm <= SOUND_MM || first.at_mm.is_some()) else {
            let best = best_of(&stations, &sides);
            return Err(BayError::NoRoom {
                parts: names(),
                body: first.body.clone(),
                long_mm: 2.0 * reach,
                free_mm: to - from,
                station_mm: best.as_ref().map_or(from, |b| b.2.station_mm),
                short_mm: best.as_ref().map_or((2.0 * reach - (to - from)).max(0.0), |b| b.2.short_mm),
            });
        };
        let bays = tray.bays(room, &place, self.lids.len())?;
        let plan = tray.lid(room, &place);
        let lid = make_lid(&plan, room.body, group.to_vec(), place.station_mm)?;
        for bay in &bays {
            room.keep_off(&[&bay.taken], PARTITION_MM);
        }
        room.keep_off(&[&lid.recess, &lid.sunk_in_body], LEDGE_MM.min(PARTITION_MM));
        self.bays.extend(bays);
        self.lids.push(lid);
        Ok(())
    }

    /// The tallest piece that a printer of a body takes standing, mm.
    fn longest_mm(&self, body: usize) -> f64 {
        let own = self.inside.bodies.iter().find(|b| b.body == body);
        own.into_iter()
            .flat_map(|b| &b.rules.printers)
            .map(|p| &self.project.printers[*p])
            .map(|p| p.bed_mm[2] - p.margin_mm - TALLER_MM)
            .fold(0.0, f64::max)
            .max(60.0)
    }

    fn port(&mut self, room: &mut Room, p: usize, gap_mm: f64) -> Result<(), BayError> {
        let rules = &self.project.parts[p];
        let Some(flange_mm) = rules.row.flange_mm else { return Ok(()) };
        let part = PortPart { part: p, row: &rules.row, flange_mm, gap_mm };
        let [from, to] = room.span_mm;
        let reach = part.reach();
        let stations: Vec<f64> = match rules.at_mm {
            Some(at) => vec![at],
            None => super::room::steps(from + reach, (to - reach).max(from + reach), 2.0).collect(),
        };
        let sides: Vec<Flank> = rules.side.map_or(SIDES.to_vec(), |s| vec![s]);
        let group = [p];
        let pull = self.pull(&group);
        let tried: Vec<(usize, f64, Flank)> = stations
            .iter()
            .flat_map(|s| sides.iter().map(move |side| (*s, *side)))
            .enumerate()
            .map(|(i, (s, d))| (i, s, d))
            .collect();
        let best = tried
            .into_par_iter()
            .map(|(i, s, side)| {
                let place = part.place(room, s, side);
                (1000.0 * place.short_mm + pull(room, s, side), i, place)
            })
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let Some((_, _, place)) = best.filter(|b| b.2.short_mm.is_finite()) else {
            return Err(no_body(rules, "has no surface there"));
        };
        if place.short_mm > SOUND_MM && rules.at_mm.is_none() {
            return Err(BayError::NoRoom {
                parts: rules.name.clone(),
                body: rules.body.clone(),
                long_mm: 2.0 * reach,
                free_mm: to - from,
                station_mm: place.station_mm,
                short_mm: place.short_mm,
            });
        }
        let bay = part.bay(room, &place)?;
        room.keep_off(&[&bay.taken], PARTITION_MM);
        self.bays.push(bay);
        Ok(())
    }

    /// What draws a part to a place: short wires to what it is connected to, a lid on a side that has one already, and,
    /// for all else alike, the butt, where weight swings least.
    fn pull(&self, group: &[usize]) -> impl Fn(&Room, f64, Flank) -> f64 + Sync + use<> {
        let nets = connections(self.project);
        let mut ends: Vec<DVec3> = Vec::new();
        for p in group {
            for net in &nets {
                let other = match net {
                    Net { from, to: Some(to), .. } if from == p => Some(*to),
                    Net { from, to: Some(to), .. } if to == p => Some(*from),
                    Net { from, to: None, .. } if from == p => {
                        ends.extend(super::wires::strip_end(self.placed, self.inside));
                        None
                    }
                    _ => None,
                };
                ends.extend(other.and_then(|o| self.bays.iter().find(|b| b.part == o)).map(|b| b.exit));
            }
        }
        let outs: Vec<DVec3> = self.lids.iter().map(|l| l.out).collect();
        let lidded = self.project.parts[group[0]].row.flange_mm.is_none();
        move |room: &Room, station_mm: f64, side: Flank| {
            let axes = super::room::Axes::new(&room.path.frame(station_mm), side);
            let near = axes.at(0.0, 0.0, 5.0);
            let wires: f64 = ends.iter().map(|e| (*e - near).length()).sum();
            let new_side =
                if outs.is_empty() || outs.iter().any(|o| o.dot(axes.out) > 0.9) == lidded { 0.0 } else { 20.0 };
            wires + new_side + 0.01 * station_mm
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bays_leave_room_for_the_cuts() {
        // 340 mm in pieces of at most 240: a cut between 160 (100 from the end) and 240 is needed.
        assert_eq!(uncuttable([60.0, 400.0], 240.0, &[]), 0.0);
        assert_eq!(uncuttable([60.0, 400.0], 240.0, &[[70.0, 160.0], [181.0, 390.0]]), 0.0);
        assert_eq!(uncuttable([60.0, 400.0], 240.0, &[[70.0, 160.0], [175.0, 390.0]]), 1.0);
        assert_eq!(uncuttable([60.0, 400.0], 240.0, &[[70.0, 390.0]]), 1.0);
        // A short body needs none.
        assert_eq!(uncuttable([0.0, 60.0], 240.0, &[[5.0, 55.0]]), 0.0);
    }
}
