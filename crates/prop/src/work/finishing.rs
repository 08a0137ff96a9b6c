//! Filling, sanding, masking, painting, and what comes last.
//!
//! The order that bites (common practice): ports and magnets before paint; masks before primer, and off while the last coat is soft;
//! a coat soon after the one before or late, never where it wrinkles; nothing is taped or packed that has not hardened.

use super::jobs::{BENCH, Jobs, PEOPLE, SPRAY, Shop, hands, minutes_of};
use super::joining::Workpiece;
use super::minutes::{
    BEFORE, CARRY, COAT, COAT_DM2, FILL, FILL_MM, FILL_SETS, FIT, MASK, MASK_MM, PORT, PULL, PULL_WITHIN, STRETCH,
    TUNE, WRAP, WRAP_CROSSING, WRAP_TURN,
};
use super::{Deed, PlanError};
use crate::catalogue::PartKind;
use crate::catalogue::optics::{Coat, CoatKind, Drying};
use crate::finish::roughness;
use crate::outcome::{Outcome, Reached};
use crate::project::Project;
use workplan::{Task, Waits};

/// For each workpiece the jobs after which it is finished, with the wait until it may be handled.
pub(super) fn paint(
    jobs: &mut Jobs,
    project: &Project,
    outcome: &Outcome,
    shop: &Shop,
    joined: &[Workpiece],
) -> Result<Vec<Vec<(usize, i64)>>, PlanError> {
    joined.iter().map(|piece| paint_one(jobs, project, outcome, shop, piece)).collect()
}

fn paint_one(
    jobs: &mut Jobs,
    project: &Project,
    outcome: &Outcome,
    shop: &Shop,
    piece: &Workpiece,
) -> Result<Vec<(usize, i64)>, PlanError> {
    let station = Some(piece.station_mm);
    let zones = zones(project, outcome, shop, piece);
    if zones.is_empty() {
        return Ok(piece.closed.clone());
    }
    // As long as an even print of usual layers so large.
    let area: f64 = zones.iter().map(|z| z.sand_dm2).sum();
    // Filled joint by joint, and sanded when all of it can be.
    let mut smooth: Vec<(usize, i64)> = Vec::new();
    for joint in &piece.joints {
        let seam = outcome.finish.seams.iter().find(|s| s.joint == *joint);
        let fill = FILL + seam.map_or(0, |s| (s.round_mm / FILL_MM).ceil() as i64);
        let sets = seam.map_or(FILL_SETS, |s| minutes_of(s.sandable_s).max(1));
        let task = Task::new(format!("fill the seam of J{joint}"), fill + sets).using_first(PEOPLE, 1, fill);
        let fill = jobs.add(Deed::Fill { joint: *joint }, station, task);
        wait_for(jobs, &piece.closed, fill);
        smooth.push((fill, 0));
    }
    let before = if smooth.is_empty() { piece.closed.clone() } else { smooth };
    let primers: usize =
        zones.iter().map(|z| z.coats.iter().filter(|c| c.kind == CoatKind::Primer).count()).max().unwrap_or(0);
    let sanding = shop.rules.sanding_min_dm2 * area;
    let first = if primers == 0 { sanding } else { BEFORE * sanding };
    let mut last = sand(jobs, shop, piece, &piece.name, first, &before);
    for zone in &zones {
        let rub = if primers == 0 { 0.0 } else { (1.0 - BEFORE) * sanding * (zone.sand_dm2 / area) / primers as f64 };
        // A zone is taped against the one before when that has hardened.
        last = coats(jobs, shop, piece, zone, rub, &last, outcome)?;
    }
    Ok(last)
}

/// Bodies of a workpiece that get the same coats.
struct Zone {
    name: String,
    bodies: Vec<String>,
    coats: Vec<Coat>,
    /// What is sprayed.
    area_dm2: f64,
    /// What is sanded, as if it were a print of usual layers.
    sand_dm2: f64,
}

fn zones(project: &Project, outcome: &Outcome, shop: &Shop, piece: &Workpiece) -> Vec<Zone> {
    let mut zones: Vec<Zone> = Vec::new();
    for body in &outcome.bodies {
        let own: Vec<u32> = piece
            .pieces
            .iter()
            .map(|k| &outcome.pieces[*k])
            .filter(|p| p.body == body.name)
            .map(|p| p.number)
            .collect();
        let mut coats = project.rules_for(&body.name).coats;
        if shop.coat_less.as_ref() == Some(&body.name) {
            coats.pop();
        }
        if own.is_empty() || coats.is_empty() {
            continue;
        }
        let outsides = outcome.finish.outsides.iter().filter(|o| own.contains(&o.piece));
        let (mut area_dm2, mut sand_dm2) = (0.0, 0.0);
        for outside in outsides {
            area_dm2 += outside.body_mm2 / 1e4;
            let made = outcome.pieces.iter().find(|p| p.number == outside.piece);
            sand_dm2 += outside.all_mm2() / 1e4 * made.map_or(1.0, |p| roughness(project, p));
        }
        match zones.iter_mut().find(|z| z.coats == coats) {
            Some(zone) => {
                zone.area_dm2 += area_dm2;
                zone.sand_dm2 += sand_dm2;
                zone.name = format!("{} and {}", zone.name, body.name);
                zone.bodies.push(body.name.clone());
            }
            None => {
                zones.push(Zone { name: body.name.clone(), bodies: vec![body.name.clone()], coats, area_dm2, sand_dm2 })
            }
        }
    }
    // A body in several workpieces: the zone is named after its workpiece.
    let split = |z: &Zone| {
        outcome.pieces.iter().enumerate().any(|(k, p)| z.bodies.contains(&p.body) && !piece.pieces.contains(&k))
    };
    for zone in &mut zones {
        if split(zone) {
            zone.name = format!("{} ({})", zone.name, piece.name);
        }
    }
    zones
}

fn wait_for(jobs: &mut Jobs, before: &[(usize, i64)], after: usize) {
    for (job, wait) in before {
        jobs.wait(*job, after, Waits::at_least(*wait));
    }
}

/// Sanding in stretches that hands and hours allow.
fn sand(
    jobs: &mut Jobs,
    shop: &Shop,
    piece: &Workpiece,
    name: &str,
    minutes: f64,
    before: &[(usize, i64)],
) -> Vec<(usize, i64)> {
    let minutes = minutes.ceil() as i64;
    let longest = STRETCH.min(shop.longest()).max(1);
    let count = (minutes + longest - 1) / longest;
    let mut last = before.to_vec();
    for k in 0..count {
        let here = minutes * (k + 1) / count - minutes * k / count;
        let of = if count > 1 { format!(" ({} of {count})", k + 1) } else { String::new() };
        let task = hands(format!("sand {name}{of}"), here).using(BENCH, 1);
        let job = jobs.add(Deed::Sand, Some(piece.station_mm), task);
        wait_for(jobs, &last, job);
        last = vec![(job, 0)];
    }
    last
}

/// Masks, coats with rubbing down between primers, and the masks off; jobs after which the zone is done, with its hardening.
fn coats(
    jobs: &mut Jobs,
    shop: &Shop,
    piece: &Workpiece,
    zone: &Zone,
    rub: f64,
    before: &[(usize, i64)],
    outcome: &Outcome,
) -> Result<Vec<(usize, i64)>, PlanError> {
    let station = Some(piece.station_mm);
    let mut last = before.to_vec();
    let windows: Vec<_> = outcome
        .windows
        .iter()
        .filter(|w| zone.bodies.contains(&w.body) && w.area_mm2 > 0.0)
        .filter(|w| w.station_mm[0] < piece.station_mm[1] && piece.station_mm[0] < w.station_mm[1])
        .collect();
    for window in &windows {
        let long = window.station_mm[1] - window.station_mm[0];
        let minutes = MASK + (long / MASK_MM).ceil() as i64;
        let name = format!("mask {} of {}", window.name, zone.name);
        let deed = Deed::Mask { window: window.name.clone() };
        let job = jobs.hands(deed, Some(window.station_mm), name, minutes);
        wait_for(jobs, &last, job);
        last = vec![(job, 0)];
    }
    let spray = COAT + (COAT_DM2 * zone.area_dm2).ceil() as i64;
    let mut laid: Option<(usize, Drying)> = None;
    for (k, coat) in zone.coats.iter().enumerate() {
        let Some(drying) = coat.drying else { return Err(PlanError::NoDrying { coat: coat.name.clone() }) };
        let task = hands(format!("coat {} of {}: {}", k + 1, zone.name, coat.name), spray).using(SPRAY, 1);
        let deed = Deed::Coat { bodies: zone.bodies.clone(), layer: k };
        let job = jobs.add(deed, station, task);
        wait_for(jobs, &last, job);
        if let Some((under, drying)) = laid {
            jobs.wait(under, job, recoat(&drying));
        }
        last = vec![(job, minutes_of(drying.recoat_s))];
        if coat.kind == CoatKind::Primer && k + 1 < zone.coats.len() {
            last = sand(jobs, shop, piece, &format!("{} over coat {}", zone.name, k + 1), rub, &last);
        }
        laid = Some((job, drying));
    }
    let Some((top, drying)) = laid else { return Ok(last) };
    let mut done = vec![(top, minutes_of(drying.hardens_s))];
    let dry = minutes_of(drying.recoat_s);
    for window in &windows {
        let name = format!("pull the mask of {} of {}", window.name, zone.name);
        let deed = Deed::Unmask { window: window.name.clone() };
        let job = jobs.hands(deed, Some(window.station_mm), name, PULL);
        jobs.wait(top, job, Waits::between(dry, dry.max(PULL_WITHIN)));
        done.push((job, 0));
    }
    Ok(done)
}

/// When a coat takes the next one.
fn recoat(drying: &Drying) -> Waits {
    let soon = minutes_of(drying.recoat_s);
    match drying.wrinkles_s.map(|w| w.map(minutes_of)) {
        Some([within, later]) if later > within + 1 && within >= soon => Waits::within_or_after((soon, within), later),
        _ => Waits::at_least(soon),
    }
}

/// Last fittings and trials: parts in, covers on, joints and lids closed, ports tried, thresholds set, carried.
pub(super) fn end(
    jobs: &mut Jobs,
    outcome: &Outcome,
    joined: &[Workpiece],
    painted: &[Vec<(usize, i64)>],
    wired: &[usize],
) {
    let every: Vec<(usize, i64)> = painted.iter().flatten().copied().collect();
    let (mut fitted, mut cells) = (Vec::new(), Vec::new());
    for part in &outcome.parts {
        let deed = Deed::FitPart { part: part.letter };
        let job = jobs.hands(deed, Some(part.station_mm), format!("fit {}", part.subject()), FIT);
        for (piece, painted) in joined.iter().zip(painted) {
            if piece.pieces.iter().any(|k| outcome.pieces[*k].body == part.body) {
                wait_for(jobs, painted, job);
            }
        }
        jobs.after_all(wired, job);
        if part.kind == PartKind::Cell { cells.push(job) } else { fitted.push(job) }
    }
    // Nothing is fitted beside a live cell.
    cells.iter().for_each(|cell| jobs.after_all(&fitted, *cell));
    fitted.extend(cells);
    let mut last = every.clone();
    last.extend(fitted.iter().map(|job| (*job, 0)));
    for (k, wrap) in outcome.finish.wraps.iter().enumerate() {
        let minutes = WRAP
            + (WRAP_TURN * wrap.turns * f64::from(wrap.bands)).ceil() as i64
            + (WRAP_CROSSING * wrap.crossings_mm.len() as f64).ceil() as i64;
        // Who is alone takes a clamp for the second pair of hands, and twice as long.
        let alone = !wrap.hands.is_empty() && jobs.people() < 2;
        let pairs = if wrap.hands.is_empty() || alone { 1 } else { 2 };
        let mut task = hands(format!("wrap {}", wrap.name), if alone { 2 * minutes } else { minutes });
        task.uses[0].amount = pairs;
        let job = jobs.add(Deed::Wrap { wrap: k }, Some(wrap.station_mm), task);
        for (piece, painted) in joined.iter().zip(painted) {
            if piece.pieces.iter().any(|k| outcome.pieces[*k].body == wrap.body) {
                wait_for(jobs, painted, job);
            }
        }
        last.push((job, 0));
    }
    for lid in &outcome.lids {
        let Some(piece) = outcome.pieces.iter().find(|p| p.number == lid.piece) else { continue };
        let deed = Deed::CloseLid { piece: piece.number };
        let job = jobs.hands(deed, Some(piece.station_mm), format!("close {}", piece.name), FIT);
        wait_for(jobs, &every, job);
        jobs.after_all(&fitted, job);
        last.push((job, 0));
    }
    for piece in joined.iter().filter(|p| p.cover) {
        let job = jobs.hands(Deed::PutOn, Some(piece.station_mm), format!("put on {}", piece.name), FIT);
        wait_for(jobs, &every, job);
        last.push((job, 0));
    }
    for joint in outcome.joints.iter().filter(|j| j.kind.comes_apart()) {
        let station = Some([joint.frame.station_mm; 2]);
        let deed = Deed::CloseJoint { joint: joint.number };
        let job = jobs.hands(deed, station, format!("close J{}", joint.number), FIT);
        wait_for(jobs, &every, job);
        jobs.after_all(&fitted, job);
        last.push((job, 0));
    }
    let mut whole = |jobs: &mut Jobs, deed: Deed, name: String, minutes: i64| {
        let job = jobs.hands(deed, None, name, minutes);
        wait_for(jobs, &last, job);
        last = vec![(job, 0)];
    };
    // A port that is tried after all is closed is a port that can be reached.
    for part in outcome.parts.iter().filter(|p| p.reached == Reached::Port) {
        if matches!(part.kind, PartKind::ProgramPort | PartKind::ChargePort) {
            let deed = Deed::TryPort { part: part.letter };
            whole(jobs, deed, format!("try {} with all closed", part.subject()), PORT);
        }
    }
    if !wired.is_empty() {
        whole(jobs, Deed::Tune, "set thresholds, brightness and volume".to_owned(), TUNE);
    }
    whole(jobs, Deed::Carry, "carry it for an hour".to_owned(), CARRY);
}
