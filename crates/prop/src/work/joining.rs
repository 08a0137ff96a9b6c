//! Fitting, threading and gluing: what is glued together becomes one workpiece, joint by joint.
//!
//! The order that bites (common practice): everything fits dry before anything is glued; a cavity is lined before it is closed; strip,
//! spine and wires go through a piece before it is glued on; after every joint the light is seen while it can still be opened.

use super::Deed;
use super::jobs::{CLAMPS, Jobs, PEOPLE, Shop, hands, minutes_of};
use super::minutes::{AT_ONCE, DRY_FIT, GLUE, HANDS, LAY_IN, LIGHT, LINE, SET, SET_CURES, THREAD, TRY};
use crate::outcome::{Joint, Outcome, Role};
use crate::project::Project;
use workplan::{Spread, Task, Waits};

/// Pieces that are glued to each other, or one by itself, with the lids that are painted on it.
pub(super) struct Workpiece {
    /// Its name: the bodies in it.
    pub(super) name: String,
    /// Places of its pieces.
    pub(super) pieces: Vec<usize>,
    /// Numbers of its glued joints.
    pub(super) joints: Vec<u32>,
    /// Jobs after which it may be filled and sanded, with the wait for the glue in between.
    pub(super) closed: Vec<(usize, i64)>,
    /// Whether it is a cover, put on at the end.
    pub(super) cover: bool,
    /// Stations it spans.
    pub(super) station_mm: [f64; 2],
}

/// The workpieces by station.
pub(super) fn list(
    jobs: &mut Jobs,
    project: &Project,
    outcome: &Outcome,
    shop: &Shop,
    ready: &[usize],
    wired: &[usize],
) -> Vec<Workpiece> {
    let joints: Vec<&Joint> = outcome.joints.iter().filter(|j| Some(j.number) != shop.without_joint).collect();
    let mut pieces = groups(outcome);
    pieces.sort_by(|a, b| outcome.pieces[a[0]].station_mm[0].total_cmp(&outcome.pieces[b[0]].station_mm[0]));
    let mut list = Vec::new();
    for group in pieces {
        let number_in = |n: u32| group.iter().any(|k| outcome.pieces[*k].number == n);
        let own: Vec<&Joint> = joints
            .iter()
            .copied()
            .filter(|j| !j.kind.comes_apart() && j.pieces.iter().all(|n| number_in(*n)))
            .collect();
        let stations = group.iter().map(|k| outcome.pieces[*k].station_mm);
        let span = stations.fold([f64::INFINITY, f64::NEG_INFINITY], |s, p| [s[0].min(p[0]), s[1].max(p[1])]);
        let name = named(outcome, &group);
        let mut fitted = lined(jobs, project, outcome, &group, ready);
        fitted.extend(dry(jobs, outcome, &group, &own, ready));
        let mut closed: Vec<(usize, i64)> = set(jobs, outcome, &group, ready);
        let cover = group.iter().all(|k| outcome.pieces[*k].role == Role::Cover);
        let through = !own.is_empty() || group.iter().any(|k| outcome.pieces[*k].role == Role::Lit);
        let lit = !wired.is_empty() && !cover && through;
        let mut before = fitted;
        if lit {
            let lay = jobs.hands(Deed::LayIn, Some(span), format!("lay strip, spine and wires into {name}"), LAY_IN);
            jobs.after_all(wired, lay);
            jobs.after_all(&before, lay);
            before = vec![lay];
        }
        if own.is_empty() {
            closed.extend(before.iter().chain(group.iter().map(|k| &ready[*k])).map(|j| (*j, 0)));
        }
        for joint in &own {
            let glue = glued(jobs, project, joint, &before, lit);
            // What is left of the cure once the clamps are off.
            let held = jobs.work.tasks[glue].minutes;
            closed.push((glue, (minutes_of(project.strength.glue.cures_s) - held).max(0)));
            before = vec![glue];
        }
        list.push(Workpiece {
            name,
            joints: own.iter().map(|j| j.number).collect(),
            pieces: group,
            closed,
            cover,
            station_mm: span,
        });
    }
    list
}

/// One joint: threaded, glued, the light seen; the job of the glue.
fn glued(jobs: &mut Jobs, project: &Project, joint: &Joint, before: &[usize], lit: bool) -> usize {
    let glue = &project.strength.glue;
    let (opens, clamps) = (minutes_of(glue.opens_s), minutes_of(glue.clamps_s).max(GLUE));
    let (n, station) = (joint.number, Some([joint.frame.station_mm; 2]));
    let task = Task::new(format!("glue J{n}"), clamps).using(CLAMPS, 1).using_first(PEOPLE, 1, GLUE);
    let spread = Spread { shares: [1.0, 1.0, 1.2], failing: 0.0 };
    let job = jobs.add(Deed::Glue { joint: n }, station, Task { spread, ..task });
    if !lit {
        jobs.after_all(before, job);
        return job;
    }
    let thread = jobs.hands(Deed::Thread { joint: n }, station, format!("thread J{n}"), THREAD);
    jobs.after_all(before, thread);
    let mut seen = hands(format!("see the light at J{n}"), LIGHT);
    seen.spread = Spread { shares: [HANDS[0], 1.0, 1.3], failing: 0.0 };
    let seen = jobs.add(Deed::SeeLight { joint: n }, station, seen);
    if opens >= LIGHT {
        // It must have been seen before the glue no longer opens.
        jobs.order(thread, job);
        jobs.wait_from_start(job, seen, Waits::between(GLUE, GLUE + opens - LIGHT));
    } else {
        // No time afterwards: the joint is closed dry, the light seen, and then glued at once.
        jobs.order(thread, seen);
        jobs.wait(seen, job, Waits::between(0, AT_ONCE));
    }
    job
}

/// Linings of cavities, with their drying.
fn lined(jobs: &mut Jobs, project: &Project, outcome: &Outcome, group: &[usize], ready: &[usize]) -> Vec<usize> {
    let mut done = Vec::new();
    for &k in group {
        let piece = &outcome.pieces[k];
        let lining = &project.rules_for(&piece.body).lining;
        if lining.is_empty() || piece.role != Role::Lit {
            continue;
        }
        let dries: f64 = lining.iter().filter_map(|c| c.drying.map(|d| d.recoat_s)).sum();
        let hands = LINE * lining.len() as i64;
        let task = Task::new(format!("line {}", piece.name), hands + minutes_of(dries)).using_first(PEOPLE, 1, hands);
        let job = jobs.add(Deed::Line { piece: piece.number }, Some(piece.station_mm), task);
        jobs.order(ready[k], job);
        done.push(job);
    }
    done
}

/// Joints fitted dry, and parts tried in their places and ports.
fn dry(jobs: &mut Jobs, outcome: &Outcome, group: &[usize], own: &[&Joint], ready: &[usize]) -> Vec<usize> {
    let mut done = Vec::new();
    for joint in own {
        let station = Some([joint.frame.station_mm; 2]);
        let job =
            jobs.hands(Deed::FitDry { joint: joint.number }, station, format!("fit J{} dry", joint.number), DRY_FIT);
        for &k in group {
            if joint.pieces.contains(&outcome.pieces[k].number) {
                jobs.order(ready[k], job);
            }
        }
        done.push(job);
    }
    for part in &outcome.parts {
        let holds = |k: &&usize| {
            let piece = &outcome.pieces[**k];
            let [from, to] = piece.station_mm;
            piece.body == part.body && from < part.station_mm[1] && part.station_mm[0] < to
        };
        let around: Vec<usize> = group.iter().filter(holds).map(|k| ready[*k]).collect();
        if !around.is_empty() {
            let deed = Deed::TryPart { part: part.letter };
            let job = jobs.hands(deed, Some(part.station_mm), format!("try {} in its place", part.subject()), TRY);
            jobs.after_all(&around, job);
            done.push(job);
        }
    }
    done
}

/// Magnets and inserts, set before paint.
fn set(jobs: &mut Jobs, outcome: &Outcome, group: &[usize], ready: &[usize]) -> Vec<(usize, i64)> {
    let mut done = Vec::new();
    for &k in group {
        let piece = &outcome.pieces[k];
        let joints = outcome.joints.iter().filter(|j| j.pieces.contains(&piece.number));
        let of_joints: usize = joints.filter_map(|j| j.take_down.as_ref()).map(|t| t.bought.len()).sum();
        let of_lids: usize = outcome.lids.iter().filter(|l| l.piece == piece.number).map(|l| l.bought.len()).sum();
        if of_joints + of_lids > 0 {
            let task = Task::new(format!("set magnets and inserts of {}", piece.name), SET + SET_CURES);
            let deed = Deed::SetHardware { piece: piece.number };
            let job = jobs.add(deed, Some(piece.station_mm), task.using_first(PEOPLE, 1, SET));
            jobs.order(ready[k], job);
            done.push((job, 0));
        }
    }
    done
}

/// Places of the pieces that end up in one: joined by glue, and lids with what they close.
fn groups(outcome: &Outcome) -> Vec<Vec<usize>> {
    let place = |number: u32| outcome.pieces.iter().position(|p| p.number == number);
    let mut of: Vec<usize> = (0..outcome.pieces.len()).collect();
    let mut join = |a: usize, b: usize| {
        let (low, high) = (of[a].min(of[b]), of[a].max(of[b]));
        of.iter_mut().filter(|o| **o == high).for_each(|o| *o = low);
    };
    for joint in outcome.joints.iter().filter(|j| !j.kind.comes_apart()) {
        if let (Some(a), Some(b)) = (place(joint.pieces[0]), place(joint.pieces[1])) {
            join(a, b);
        }
    }
    for lid in &outcome.lids {
        let Some(k) = place(lid.piece) else { continue };
        let middle = 0.5 * (outcome.pieces[k].station_mm[0] + outcome.pieces[k].station_mm[1]);
        let lids: Vec<u32> = outcome.lids.iter().map(|l| l.piece).collect();
        let under = outcome.pieces.iter().position(|p| {
            let own = p.body == outcome.pieces[k].body && !lids.contains(&p.number);
            own && p.station_mm[0] <= middle && middle <= p.station_mm[1]
        });
        if let Some(under) = under {
            join(k, under);
        }
    }
    let mut groups: Vec<Vec<usize>> = vec![Vec::new(); of.len()];
    of.iter().enumerate().for_each(|(k, o)| groups[*o].push(k));
    groups.retain(|g| !g.is_empty());
    groups
}

/// "blade", "grip and blade", "03-guard" where a body is in several.
fn named(outcome: &Outcome, group: &[usize]) -> String {
    let mut bodies: Vec<&str> = Vec::new();
    for &k in group {
        if !bodies.contains(&outcome.pieces[k].body.as_str()) {
            bodies.push(&outcome.pieces[k].body);
        }
    }
    let elsewhere =
        (0..outcome.pieces.len()).any(|k| !group.contains(&k) && bodies.contains(&outcome.pieces[k].body.as_str()));
    let name = bodies.join(" and ");
    match group.first() {
        Some(k) if elsewhere => format!("{name} from {:02}", outcome.pieces[*k].number),
        _ => name,
    }
}
