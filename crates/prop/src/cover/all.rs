//! All covers of a prop, in the order of their numbers, and the order they go on in.

use super::hollow::{Seat, hollowed};
use super::make::{Earlier, Joining, Wanted, choose, make};
use super::sweep::{Core, middle_mm};
use super::{CoverMade, Entry};
use crate::catalogue::Process;
use crate::memory::{Key, KeyOf, Known, Memory};
use crate::outcome::{Body, Joint, Role};
use crate::path::PathFrame;
use crate::pieces::{Made, PieceError, number_cover};
use crate::project::{BodyRules, Project};
use crate::stages::{Placed, SplitPiece};
use solid::{Cancel, Mesh, Plane};

/// Bores and numbers every cover; their numbers follow those of the pieces `before`.
///
/// # Errors
/// [`PieceError`] when geometry fails.
pub(crate) fn covers(
    project: &Project,
    placed: &Known<Placed>,
    joints: &[Joint],
    before: &[SplitPiece],
    memory: &Memory,
    cancel: &Cancel,
) -> Result<Vec<SplitPiece>, PieceError> {
    let bodies: Vec<&Body> = placed.core().collect();
    let wanted: Vec<usize> = (0..placed.bodies.len()).filter(|i| placed.bodies[*i].role == Role::Cover).collect();
    if wanted.is_empty() {
        return Ok(Vec::new());
    }
    let key = KeyOf::stage("core").and(&placed.key()).key();
    let core = memory.recall("core", 1, key, || Ok::<_, PieceError>(Core::of(&bodies, &placed.path)))?;
    let Some(core) = core.as_ref() else { return Ok(Vec::new()) };
    let rules: Vec<(BodyRules, [f64; 2])> = bodies.iter().map(|b| (project.rules_for(&b.name), b.station_mm)).collect();
    let join = Joining { project, path: &placed.path, core, bodies: &rules, joints, before };
    let mut pieces = Vec::new();
    for index in &wanted {
        let body = &placed.bodies[*index];
        let number = (before.len() + pieces.len()) as u32 + 1;
        let rules = project.rules_for(&body.name);
        let own = KeyOf::stage("which cover").and(&placed.key()).and(index).key();
        let cover = Wanted { body, rules: &rules, number };
        let choice = choose(&join, &cover, &Earlier { memory, cover: own, count: wanted.len() })?;
        let key = join.told(KeyOf::stage("cover").and(&own).and(&(number, &rules)), &choice).key();
        let made = memory.recall("cover", wanted.len(), key, || {
            let made = make(&join, &cover, &choice)?;
            let finish = |(number, made)| {
                let key = KeyOf::stage("cover piece").and(&(key, number)).key();
                finished(placed, *index, (number, key), rules.clone(), made, cancel)
            };
            (number..).zip(made).map(finish).collect::<Result<Vec<SplitPiece>, PieceError>>()
        })?;
        pieces.extend_from_slice(&made);
    }
    order(joints, &mut pieces);
    Ok(pieces)
}

/// The piece with its number sunk into the bore, hollowed if it is of resin.
fn finished(
    placed: &Placed,
    index: usize,
    (number, key): (u32, Key),
    rules: BodyRules,
    (mesh, mut cover): (Mesh, CoverMade),
    cancel: &Cancel,
) -> Result<SplitPiece, PieceError> {
    let body = &placed.bodies[index];
    let frame = placed.path.frame((body.station_mm[0] + body.station_mm[1]) / 2.0);
    let mut planes = [None, None];
    let mut stands = frame;
    let mut whole_mm3 = body.mesh.volume_mm3();
    if let Some(h) = &cover.halves {
        // A half stands on its mating face and ends there.
        let plane = Plane::through(placed.path.frame(middle_mm(body.station_mm)).point, h.side);
        planes[h.half] = Some(plane);
        whole_mm3 = solid::slab(&body.mesh, planes[0].as_ref(), planes[1].as_ref())?.volume_mm3();
        let along = if h.half == 0 { h.side } else { -h.side };
        let across = (frame.along - along * frame.along.dot(along)).normalize();
        stands = PathFrame { along, across, through: along.cross(across), ..frame };
    }
    let (label, mesh) = number_cover(&mesh, number, &frame)?.map_or_else(|| (None, mesh), |(l, m)| (Some(l), m));
    let mesh = if rules.material.process == Process::Resin {
        let seat = Seat { path: &placed.path, frame, station_mm: body.station_mm, label: label.as_ref() };
        let (mesh, hollowed) = hollowed(&mesh, &cover, &rules, &seat, cancel)?;
        if let (Some(wall), false) = (&mut cover.wall, hollowed.hollows.is_empty()) {
            wall.least_mm = wall.least_mm.min(hollowed.wall_mm);
        }
        cover.hollowed = Some(hollowed);
        mesh
    } else {
        mesh
    };
    let taken_mm3 = whole_mm3 - mesh.volume_mm3();
    let made = Made { mesh, whole_mm3, taken_mm3, added_mm3: 0.0, void: Mesh::default(), filled: 0, label };
    Ok(SplitPiece {
        number,
        body: index,
        lid: None,
        rules,
        station_mm: body.station_mm,
        frame: stands,
        planes,
        stands_out: [false; 2],
        made: Known::part(key, made),
        cover: Some(cover),
    })
}

/// Covers that sit where another one passes, or on what is not there yet, go on later: they are away meanwhile.
fn order(joints: &[Joint], pieces: &mut [SplitPiece]) {
    let later: Vec<Vec<u32>> = pieces
        .iter()
        .enumerate()
        .map(|(i, p)| {
            let others = pieces.iter().enumerate().filter(|(k, _)| *k != i);
            others.filter(|(_, o)| is_in_the_way(joints, p, o)).map(|(_, o)| o.number).collect()
        })
        .collect();
    for i in 0..pieces.len() {
        let number = pieces[i].number;
        let knots: Vec<u32> = pieces
            .iter()
            .zip(&later)
            .filter(|(o, after)| after.contains(&number) && later[i].contains(&o.number))
            .map(|(o, _)| o.number)
            .collect();
        if let Some(cover) = &mut pieces[i].cover {
            cover.knots = knots;
            if let Ok(way) = &mut cover.way {
                way.away.extend(&later[i]);
            }
        }
    }
}

/// Whether `other` must not sit yet when `piece` goes on.
fn is_in_the_way(joints: &[Joint], piece: &SplitPiece, other: &SplitPiece) -> bool {
    let Some(cover) = &piece.cover else { return false };
    let [from, to] = piece.station_mm;
    let [other_from, other_to] = other.station_mm;
    match cover.entry {
        Entry::Butt => other_from < to,
        Entry::Tip => other_to > from,
        Entry::OntoButtSide(i) => other_to > from.min(joints[i].frame.station_mm),
        Entry::OntoTipSide(i) => other_from < to.max(joints[i].frame.station_mm),
        Entry::Sides => false,
    }
}
