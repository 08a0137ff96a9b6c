//! The parts, lids and wires of an outcome, from where the bays were put and where the prop was cut.

use crate::bay::wires::home_mm;
use crate::bay::{Bay, Bays, Opens, RIDGE_NEAR_MM};
use crate::finding::{Band, Finding};
use crate::outcome::{Joint, LidView, Part, Reached, Snap, Way, WayKind, Wire};
use crate::path::CentrePath;
use crate::project::Project;
use crate::stages::Split;
use solid::{DAffine3, DVec3, Mesh};

/// Slack that a wire needs at a joint, so that it can be soldered or plugged before the joint closes, mm (makers' guides:
/// 30 to 60 mm).
pub const SLACK_MM: [f64; 3] = [45.0, 30.0, 60.0];
/// Length that stripping and soldering take at each end, mm (common practice, no source).
const END_MM: [f64; 3] = [15.0, 10.0, 20.0];

/// Distance between the places on the way of a part or lid, mm.
pub(crate) const STEP_MM: f64 = 2.0;

/// The letter of a part: A, B, C, ... by its place in the project; parts past Z go on in small letters.
pub(crate) fn letter(part: usize) -> char {
    let n = (part % 52) as u8;
    char::from(if n < 26 { b'A' + n } else { b'a' + n - 26 })
}

/// Parts by letter.
pub(crate) fn parts(project: &Project, bays: &Bays, split: &Split, path: &CentrePath) -> Vec<Part> {
    bays.bays.iter().map(|bay| part(project, bay, split, path)).collect()
}

fn part(project: &Project, bay: &Bay, split: &Split, path: &CentrePath) -> Part {
    let rules = &project.parts[bay.part];
    let (reached, pieces_off) = match bay.opens {
        Opens::Lid(lid) => {
            let number = split.pieces.iter().find(|p| p.lid == Some(lid)).map_or(0, |p| p.number);
            (Reached::Lid(number), vec![number])
        }
        Opens::Outside => (Reached::Port, Vec::new()),
        Opens::Joint(station_mm) => {
            let joint = nearest_joint(&split.joints, station_mm);
            let buttwards = bay.out.dot(path.frame(station_mm).along) < 0.0;
            let last = split.joints.len() as u32 + 1;
            let off = joint.map_or_else(Vec::new, |j| {
                if buttwards { (1..=j.pieces[0]).collect() } else { (j.pieces[1]..=last).collect() }
            });
            (Reached::Joint(joint.map_or(0, |j| j.number)), off)
        }
    };
    let bounds = bay.solid.bounds();
    let middle = bay.place.translation;
    let along = path.frame(path.station_of(middle)).along;
    let reach = bounds.map_or(0.0, |b| {
        bay.solid.vertices.iter().map(|v| (*v - middle).dot(along).abs()).fold(0.0, f64::max).min(b.size().length())
    });
    let at = path.station_of(middle);
    Part {
        letter: letter(bay.part),
        name: rules.name.clone(),
        title: rules.row.title.clone(),
        kind: rules.row.kind,
        body: rules.body.clone(),
        size_mm: rules.row.size_mm,
        over_mm: rules.row.over_mm,
        gap_mm: bay.gap_mm,
        mass_g: rules.row.mass_g,
        to_prop: bay.place,
        station_mm: [at - reach, at + reach],
        mesh: bay.solid.clone(),
        largest: bay.largest.clone(),
        way_out: bay.out * bay.travel_mm,
        reached,
        pieces_off,
        exit: bay.exit,
        sound: bay.sound.clone(),
    }
}

fn nearest_joint(joints: &[Joint], station_mm: f64) -> Option<&Joint> {
    let off = |j: &Joint| (j.frame.station_mm - station_mm).abs();
    joints.iter().min_by(|a, b| off(a).total_cmp(&off(b))).filter(|j| off(j) < 2.0)
}

/// The ways of parts and lids from where they are free to their seats, with the clearance that the checks found: of parts
/// at their largest.
pub(crate) fn ways(parts: &[Part], bays: &Bays, split: &Split, findings: &[Finding]) -> Vec<Way> {
    // As drawn: the other end of a band counts what prints narrow.
    let clearance = |id: &str, subject: &str| {
        findings.iter().find(|f| f.id == id && f.subject == subject).map_or(0.0, |f| f.measured.high)
    };
    let of_parts = parts.iter().map(|part| Way {
        kind: WayKind::Part,
        name: part.name.clone(),
        piece: None,
        poses: poses(&[part.way_out]),
        away: part.pieces_off.clone(),
        clearance_mm: clearance("part_way", &part.subject()),
        snap: None,
    });
    let of_lids = split.pieces.iter().filter_map(|piece| {
        let lid = &bays.lids[piece.lid?];
        let id = if lid.ridge.is_some() { "lid_slides" } else { "lid_seats" };
        Some(Way {
            kind: WayKind::Lid,
            name: piece.rules.name.clone(),
            piece: Some(piece.number),
            poses: poses(&lid.way()),
            away: Vec::new(),
            clearance_mm: clearance(id, &format!("piece {:02}", piece.number)),
            snap: lid.ridge.map(|at| Snap { at, within_mm: RIDGE_NEAR_MM }),
        })
    });
    of_parts.chain(of_lids).collect()
}

/// Poses along moves that lead out, one after the other, in the order of the way in.
fn poses(out: &[DVec3]) -> Vec<DAffine3> {
    let mut all = vec![DAffine3::IDENTITY];
    let mut moved = DVec3::ZERO;
    for leg in out {
        let steps = (leg.length() / STEP_MM).ceil().max(1.0) as u32;
        let along = |k: u32| moved + *leg * (f64::from(k) / f64::from(steps));
        all.extend((1..=steps).map(|k| DAffine3::from_translation(along(k))));
        moved += *leg;
    }
    all.reverse();
    all
}

/// Lids by piece.
pub(crate) fn lids(bays: &Bays, split: &Split) -> Vec<LidView> {
    let piece = |k: usize| split.pieces.iter().find(|p| p.lid == Some(k)).map_or(0, |p| p.number);
    bays.lids
        .iter()
        .enumerate()
        .map(|(k, lid)| LidView {
            piece: piece(k),
            parts: lid.parts.iter().map(|p| letter(*p)).collect(),
            out: lid.out,
            seat: lid.seat,
            magnets: lid.magnets.clone(),
            screws: lid.screws.clone(),
            bought: lid.bought.clone(),
        })
        .collect()
}

/// Wires in the order of the connections.
pub(crate) fn wires(project: &Project, bays: &Bays, split: &Split, path: &CentrePath) -> Vec<Wire> {
    bays.wires
        .iter()
        .enumerate()
        .map(|(k, run)| {
            let ends = [run.points.first(), run.points.last()].map(|p| p.map_or(0.0, |p| path.station_of(*p)));
            let (low, high) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
            let crossed = |j: &&Joint| !run.points.is_empty() && j.frame.station_mm > low && j.frame.station_mm < high;
            let joints: Vec<u32> = split.joints.iter().filter(crossed).map(|j| j.number).collect();
            let crossings = joints.len() as f64;
            let extra = |i: usize| SLACK_MM[i] * crossings + 2.0 * END_MM[i];
            let way = run.way_mm();
            Wire {
                number: k as u32 + 1,
                from: letter(run.net.from),
                to: run.net.to.map(letter),
                wires: run.net.wires,
                bundle_mm: run.bundle_mm,
                points: run.points.clone(),
                bends: run.bends.clone(),
                joints,
                homes_mm: [Some(run.net.from), run.net.to].map(|p| home_mm(project, p, run.bundle_mm)),
                cut_mm: Band { value: way + extra(0), low: way + extra(1), high: way + extra(2) },
            }
        })
        .collect()
}

/// Everything that bays, lids and wires take from the bodies.
pub(crate) fn openings(bays: &Bays, bodies: usize) -> Vec<Mesh> {
    (0..bodies).flat_map(|b| bays.taken_from(b)).cloned().collect()
}
