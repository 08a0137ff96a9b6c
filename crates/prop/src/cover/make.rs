//! One cover: the best way on to the body, the bore, the piece.

use super::halves::{SIDES, part, poses};
use super::sweep::{Bore, Care, Core, bore};
use super::wall::thinnest;
use super::{CoverGap, CoverMade, CoverWall, Entry, NoWay, way};
use crate::catalogue::Process;
use crate::joint::{COLLAR_REACH_MM, JointError};
use crate::memory::KeyOf;
use crate::outcome::{Body, Joint, Way, WayKind};
use crate::path::CentrePath;
use crate::pieces::{PieceError, main_body};
use crate::project::{BodyRules, Project};
use crate::rail::layout::Fit;
use crate::stages::SplitPiece;
use solid::section::OutlineError;
use solid::{DAffine3, DVec2, Mesh};

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
    /// Adds it to a key that names the placed shape and a cover at these stations.
    pub(crate) fn told(&self, key: KeyOf, station_mm: [f64; 2]) -> KeyOf {
        // Every field is named, so that none is forgotten. Of joints and pieces those count that it could come on by.
        let Joining { project, path: _, core: _, bodies, joints: _, before: _ } = self;
        let ways: Vec<(Entry, f64, Vec<u32>)> =
            entries(self, station_mm).into_iter().map(|e| (e, joint_mm(self, e), away(self, e))).collect();
        key.and(&project.printers).and(bodies).and(&ways)
    }
}

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
    bore: Bore,
    volume_mm3: f64,
}

fn outline(e: OutlineError) -> PieceError {
    PieceError::Joint(JointError::Outline(e))
}

/// Bores a cover: the bored solid, whole or in two halves, and how it was done.
///
/// # Errors
/// [`PieceError`] when geometry fails.
pub(crate) fn make(join: &Joining, wanted: &Wanted) -> Result<Vec<(Mesh, CoverMade)>, PieceError> {
    let split = wanted.rules.cover.split;
    let gap = gap_of(join, wanted);
    let need_mm = least_wall(join.project, wanted.rules);
    let station_mm = wanted.body.station_mm;
    let measure = |b: &Bore| thinnest(&wanted.body.mesh, b, gap.drawn_mm(), need_mm).map_err(outline);
    let exact = |entry| bore(join.core, join.path, station_mm, (entry, joint_mm(join, entry)), Care::Exact);
    let mut best: Option<NoWay> = None;
    if split != Some(true) {
        for c in candidates(join, station_mm) {
            let thin = measure(&c.bore)?;
            let Some(thin) = thin.filter(|t| t.mm < need_mm) else {
                let way = the_way(join, wanted, c.entry, &gap);
                return Ok(vec![bored(join, wanted, &exact(c.entry), (c.entry, Ok(way)), gap, need_mm)?]);
            };
            if best.as_ref().is_none_or(|b| need_mm - thin.mm < b.missing_mm) {
                let joint = joint_mm(join, c.entry);
                let at = c.bore.blocker_mm(join.core, station_mm, c.entry, joint, thin.place);
                let halves_tried = split.is_none();
                best = Some(NoWay { missing_mm: need_mm - thin.mm, entry: c.entry, station_mm: at, halves_tried });
            }
        }
    }
    if split != Some(false) {
        let mut choice: Option<(f64, DVec2, Bore)> = None;
        for side in SIDES {
            let bore = exact(Entry::Sides).dropped(side);
            let mm = measure(&bore)?.map_or(f64::INFINITY, |t| t.mm);
            // Through the thickness, unless the other way leaves clearly more.
            if choice.as_ref().is_none_or(|c| mm > c.0 + 0.2) {
                choice = Some((mm, side, bore));
            }
        }
        if let Some((mm, side, bore)) = choice
            && (mm >= need_mm || split == Some(true))
        {
            return in_halves(join, wanted, &bore, side, gap, need_mm);
        }
    }
    let no = best.unwrap_or(NoWay {
        missing_mm: need_mm,
        entry: Entry::Sides,
        station_mm: station_mm[0],
        halves_tried: true,
    });
    // Bored for its seat, so that it is a piece at all.
    Ok(vec![bored(join, wanted, &exact(Entry::Sides), (no.entry, Err(no)), gap, need_mm)?])
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
fn candidates(join: &Joining, [from, to]: [f64; 2]) -> Vec<Candidate> {
    let mut found: Vec<Candidate> = entries(join, [from, to])
        .into_iter()
        .map(|entry| {
            let bore = bore(join.core, join.path, [from, to], (entry, joint_mm(join, entry)), Care::Rough);
            Candidate { entry, volume_mm3: bore.volume_mm3(), bore }
        })
        .collect();
    let least = found.iter().map(|c| c.volume_mm3).fold(f64::INFINITY, f64::min);
    // Stable: equal ones stay in order.
    found.sort_by(|a, b| {
        let same = |c: &Candidate| if c.volume_mm3 <= least * (1.0 + SAME_LOSS) { 0.0 } else { c.volume_mm3 };
        same(a).total_cmp(&same(b))
    });
    found
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
