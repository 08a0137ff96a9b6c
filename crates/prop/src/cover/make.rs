//! One cover: the best way on to the body, the bore, the piece.

use super::halves::{SIDES, part, poses};
use super::sweep::{Bore, Care, Core, bore};
use super::wall::thinnest;
use super::{CoverGap, CoverMade, CoverWall, Entry, NoWay, way};
use crate::catalogue::Process;
use crate::joint::{COLLAR_REACH_MM, JointError};
use crate::memory::{Key, KeyOf, Known, Memory};
use crate::outcome::{Body, Joint, Way, WayKind};
use crate::path::CentrePath;
use crate::pieces::{PieceError, main_body};
use crate::project::{BodyRules, Project};
use crate::rail::layout::Fit;
use crate::stages::SplitPiece;
use solid::section::OutlineError;
use solid::{DAffine3, DVec2, Mesh};
use std::fmt::Debug;

/// Thinnest wall of resin round a bore, mm (common practice, no source: unsupported resin walls are 1 mm or more).
const RESIN_WALL_MM: f64 = 1.0;
/// Thinnest wall of filament: this many beads (common practice, no source).
const WALL_BEADS: f64 = 2.0;
/// Bores whose volumes differ by less than this share lose the same.
const SAME_LOSS: f64 = 0.005;
/// A cover is off when it stands this far clear, mm.
const OFF_MM: f64 = 3.0;

/// What a cover is put into.
pub(crate) struct Joining<'a> {
    /// The project.
    pub(crate) project: &'a Project,
    /// The centre path.
    pub(crate) path: &'a CentrePath,
    /// The core along the path.
    pub(crate) core: &'a Core,
    /// Rules of the core's bodies with their stations.
    pub(crate) bodies: &'a [(BodyRules, [f64; 2])],
    /// The joints.
    pub(crate) joints: &'a [Joint],
    /// Pieces of the core and their lids.
    pub(crate) before: &'a [SplitPiece],
}

impl Joining<'_> {
    /// Adds it to a key that names the placed shape and a cover that goes on as chosen.
    pub(crate) fn told(&self, key: KeyOf, choice: &Choice) -> KeyOf {
        // Every field is named, so that none is forgotten. Of joints and pieces those count that it comes on by.
        let Joining { project, path: _, core: _, bodies, joints: _, before: _ } = self;
        let entry = match choice {
            Choice::Whole(entry) => *entry,
            Choice::Halves(_) => Entry::Sides,
            Choice::Nowhere(no) => no.entry,
        };
        key.and(&project.printers).and(bodies).and(choice).and(&(joint_mm(self, entry), away(self, entry)))
    }
}

/// How a cover goes on.
#[derive(Clone, Debug)]
pub(crate) enum Choice {
    /// Whole.
    Whole(Entry),
    /// In halves that come from this side of the section and the one across from it.
    Halves(DVec2),
    /// Not at all.
    Nowhere(NoWay),
}

/// What earlier builds found out.
pub(crate) struct Earlier<'a> {
    /// Where it is kept.
    pub(crate) memory: &'a Memory,
    /// Names the placed shape and the cover.
    pub(crate) cover: Key,
    /// How many covers a build has.
    pub(crate) count: usize,
}

impl Earlier<'_> {
    /// What a stage came to for one way on to the body, which other joints have no part in.
    fn recall<T: Send + Sync + 'static>(
        &self,
        stage: &'static str,
        (entry, joint_mm): (Entry, f64),
        more: &impl Debug,
        make: impl FnOnce() -> Result<T, PieceError>,
    ) -> Result<Known<T>, PieceError> {
        // Which joint of how many it is makes no difference.
        let entry = match entry {
            Entry::OntoButtSide(_) => Entry::OntoButtSide(0),
            Entry::OntoTipSide(_) => Entry::OntoTipSide(0),
            other => other,
        };
        let key = KeyOf::stage(stage).and(&self.cover).and(&(entry, joint_mm)).and(more).key();
        self.memory.recall(stage, MOST_WAYS * self.count, key, make)
    }
}

/// Ways on to a body that a cover can have: over the ends, and by the joint under it and that on each side.
const MOST_WAYS: usize = 5;

/// A cover to be made.
pub(crate) struct Wanted<'a> {
    /// Its body.
    pub(crate) body: &'a Body,
    /// Its rules.
    pub(crate) rules: &'a BodyRules,
    /// Its number.
    pub(crate) number: u32,
}

/// A way on to the body with what it costs.
struct Candidate {
    entry: Entry,
    bore: Known<Bore>,
    volume_mm3: f64,
}

fn outline(e: OutlineError) -> PieceError {
    PieceError::Joint(JointError::Outline(e))
}

/// Finds how a cover goes on: whole where its wall stays thick enough, else in halves.
///
/// # Errors
/// [`PieceError`] when geometry fails.
pub(crate) fn choose(join: &Joining, wanted: &Wanted, earlier: &Earlier) -> Result<Choice, PieceError> {
    let split = wanted.rules.cover.split;
    let gap = gap_of(join, wanted);
    let need_mm = least_wall(join.project, wanted.rules);
    let station_mm = wanted.body.station_mm;
    let measure = |b: &Bore| thinnest(&wanted.body.mesh, b, gap.drawn_mm(), need_mm).map_err(outline);
    let mut best: Option<NoWay> = None;
    if split != Some(true) {
        for c in candidates(join, station_mm, earlier)? {
            let joint = joint_mm(join, c.entry);
            let thin = *earlier.recall("cover wall", (c.entry, joint), &(gap, need_mm), || measure(&c.bore))?;
            let Some(thin) = thin.filter(|t| t.mm < need_mm) else { return Ok(Choice::Whole(c.entry)) };
            if best.as_ref().is_none_or(|b| need_mm - thin.mm < b.missing_mm) {
                let at = c.bore.blocker_mm(join.core, station_mm, c.entry, joint, thin.place);
                let halves_tried = split.is_none();
                best = Some(NoWay { missing_mm: need_mm - thin.mm, entry: c.entry, station_mm: at, halves_tried });
            }
        }
    }
    if split != Some(false) {
        let mut choice: Option<(f64, DVec2)> = None;
        for side in SIDES {
            let bore = exact(join, wanted, Entry::Sides).dropped(side);
            let mm = measure(&bore)?.map_or(f64::INFINITY, |t| t.mm);
            // Through the thickness, unless the other way leaves clearly more.
            if choice.as_ref().is_none_or(|c| mm > c.0 + 0.2) {
                choice = Some((mm, side));
            }
        }
        if let Some((mm, side)) = choice
            && (mm >= need_mm || split == Some(true))
        {
            return Ok(Choice::Halves(side));
        }
    }
    Ok(Choice::Nowhere(best.unwrap_or(NoWay {
        missing_mm: need_mm,
        entry: Entry::Sides,
        station_mm: station_mm[0],
        halves_tried: true,
    })))
}

/// Bores a cover as chosen: the bored solid, whole or in two halves, and how it was done.
///
/// # Errors
/// [`PieceError`] when geometry fails.
pub(crate) fn make(join: &Joining, wanted: &Wanted, choice: &Choice) -> Result<Vec<(Mesh, CoverMade)>, PieceError> {
    let gap = gap_of(join, wanted);
    let need_mm = least_wall(join.project, wanted.rules);
    let exact = |entry| exact(join, wanted, entry);
    let (entry, way) = match choice {
        Choice::Halves(side) => {
            return in_halves(join, wanted, &exact(Entry::Sides).dropped(*side), *side, gap, need_mm);
        }
        Choice::Whole(entry) => (*entry, Ok(the_way(join, wanted, *entry, &gap))),
        Choice::Nowhere(no) => (no.entry, Err(*no)),
    };
    // One without a way is bored for its seat, so that it is a piece at all.
    let bore = exact(if way.is_ok() { entry } else { Entry::Sides });
    Ok(vec![bored(join, wanted, &bore, (entry, way), gap, need_mm)?])
}

/// The bore for one way, with every turn of the path.
fn exact(join: &Joining, wanted: &Wanted, entry: Entry) -> Bore {
    bore(join.core, join.path, wanted.body.station_mm, (entry, joint_mm(join, entry)), Care::Exact)
}

/// The cover less its bore.
fn bored(
    join: &Joining,
    wanted: &Wanted,
    bore: &Bore,
    (entry, way): (Entry, Result<Way, NoWay>),
    gap: CoverGap,
    need_mm: f64,
) -> Result<(Mesh, CoverMade), PieceError> {
    let tool = bore.solid(gap.drawn_mm()).map_err(outline)?;
    let bored = if tool.is_empty() { wanted.body.mesh.clone() } else { solid::difference(&wanted.body.mesh, &tool)? };
    let (mesh, _) = main_body(bored);
    let wall = thinnest(&mesh, bore, gap.drawn_mm(), need_mm).map_err(outline)?.map(|t| CoverWall {
        need_mm,
        least_mm: t.mm,
        station_mm: join.path.station_of(t.at),
    });
    Ok((mesh, CoverMade { bore: tool, gap, entry, way, wall, halves: None, hollowed: None, knots: Vec::new() }))
}

/// The cover as two halves that come on from both sides.
fn in_halves(
    join: &Joining,
    wanted: &Wanted,
    bore: &Bore,
    side: DVec2,
    gap: CoverGap,
    need_mm: f64,
) -> Result<Vec<(Mesh, CoverMade)>, PieceError> {
    let way = the_way(join, wanted, Entry::Sides, &gap);
    let (mesh, made) = bored(join, wanted, bore, (Entry::Sides, Ok(way.clone())), gap, need_mm)?;
    let own = wanted.rules.printers.iter().map(|p| &join.project.printers[*p]);
    let fit = Fit::over(own);
    let peg_gap_mm = fit.glue_gap_mm + fit.slot_loss_mm / 2.0;
    let halves = part(&mesh, &bore.frame, side, peg_gap_mm)?;
    let number = |half: usize| wanted.number + half as u32;
    Ok(halves
        .into_iter()
        .map(|(mesh, halves)| {
            let poses = poses(bore, halves.side, halves.half);
            let (own, other) = (number(halves.half), number(1 - halves.half));
            let way = Way { piece: Some(own), poses, away: vec![other], ..way.clone() };
            (mesh, CoverMade { way: Ok(way), halves: Some(halves), ..made.clone() })
        })
        .collect())
}

/// The thinnest wall that a cover's material allows round its bore, mm.
fn least_wall(project: &Project, rules: &BodyRules) -> f64 {
    match rules.material.process {
        Process::Resin => RESIN_WALL_MM,
        Process::Filament => {
            let beads = rules.printers.iter().map(|p| project.printers[*p].bead_mm);
            WALL_BEADS * beads.fold(0.0, f64::max)
        }
    }
}

/// The gap: the cover's printers, and those of the bodies that it passes or sits on.
fn gap_of(join: &Joining, wanted: &Wanted) -> CoverGap {
    let printers = |rules: &BodyRules| rules.printers.iter().map(|p| &join.project.printers[*p]).collect::<Vec<_>>();
    let own = printers(wanted.rules);
    let cover = Fit::over(own.iter().copied());
    let under = join.bodies.iter().flat_map(|(rules, _)| printers(rules));
    CoverGap::of(wanted.rules.cover.fit, &cover, &Fit::over(own.iter().copied().chain(under)))
}

fn joint_mm(join: &Joining, entry: Entry) -> f64 {
    match entry {
        Entry::OntoButtSide(i) | Entry::OntoTipSide(i) => join.joints[i].frame.station_mm,
        _ => 0.0,
    }
}

/// Where a cover could come on: over the prop's ends, and over the joints next to it.
fn entries(join: &Joining, [from, to]: [f64; 2]) -> Vec<Entry> {
    let mut entries = vec![Entry::Butt, Entry::Tip];
    let at = |i: &usize| join.joints[*i].frame.station_mm;
    let all = 0..join.joints.len();
    // On one side the nearest joint passes least.
    entries.extend(all.clone().filter(|i| at(i) > from && at(i) < to).map(Entry::OntoButtSide));
    entries.extend(all.clone().find(|i| at(i) >= to).map(Entry::OntoButtSide));
    entries.extend(all.rev().find(|i| at(i) <= from).map(Entry::OntoTipSide));
    entries
}

/// All ways that could be best, the one that loses least first; of equal ones, those over the prop's ends.
fn candidates(join: &Joining, [from, to]: [f64; 2], earlier: &Earlier) -> Result<Vec<Candidate>, PieceError> {
    let candidate = |entry| {
        let way = (entry, joint_mm(join, entry));
        let rough = || Ok(bore(join.core, join.path, [from, to], way, Care::Rough));
        let bore = earlier.recall("cover bore", way, &(), rough)?;
        Ok(Candidate { entry, volume_mm3: bore.volume_mm3(), bore })
    };
    let mut found = entries(join, [from, to]).into_iter().map(candidate).collect::<Result<Vec<_>, PieceError>>()?;
    let least = found.iter().map(|c| c.volume_mm3).fold(f64::INFINITY, f64::min);
    // Stable: equal ones stay in order.
    found.sort_by(|a, b| {
        let same = |c: &Candidate| if c.volume_mm3 <= least * (1.0 + SAME_LOSS) { 0.0 } else { c.volume_mm3 };
        same(a).total_cmp(&same(b))
    });
    Ok(found)
}

/// Numbers of the pieces that are not there yet while a cover goes on: those beyond the joint that it comes on by.
fn away(join: &Joining, entry: Entry) -> Vec<u32> {
    let beyond = |joint: usize, tip_side: bool| -> Vec<u32> {
        let middle = |p: &SplitPiece| f64::midpoint(p.station_mm[0], p.station_mm[1]);
        let there = |p: &&SplitPiece| (middle(p) > join.joints[joint].frame.station_mm) == tip_side;
        join.before.iter().filter(there).map(|p| p.number).collect()
    };
    match entry {
        Entry::OntoButtSide(i) => beyond(i, true),
        Entry::OntoTipSide(i) => beyond(i, false),
        Entry::Butt | Entry::Tip | Entry::Sides => Vec::new(),
    }
}

/// The poses of a cover's way, and what is not there yet while it goes on.
fn the_way(join: &Joining, wanted: &Wanted, entry: Entry, gap: &CoverGap) -> Way {
    let [from, to] = wanted.body.station_mm;
    let [butt, tip] = join.core.ends_mm;
    let away_mm = match entry {
        Entry::Butt => -(to - butt + OFF_MM),
        Entry::Tip | Entry::Sides => tip - from + OFF_MM,
        // Beyond the collar that stands out of the butt-side piece.
        Entry::OntoButtSide(_) => joint_mm(join, entry) - from + COLLAR_REACH_MM + OFF_MM,
        Entry::OntoTipSide(_) => -(to - joint_mm(join, entry) + OFF_MM),
    };
    let poses: Vec<DAffine3> = way::along_path(join.path, wanted.body.station_mm, away_mm);
    Way {
        kind: WayKind::Cover,
        snap: None,
        name: wanted.body.name.clone(),
        piece: Some(wanted.number),
        poses,
        away: away(join, entry),
        clearance_mm: gap.drawn_mm(),
    }
}
