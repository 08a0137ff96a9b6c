//! One cover: the best way on to the body, the bore, the piece.

use super::sweep::{Bore, Care, Core, bore};
use super::wall::{Thinnest, thinnest};
use super::{CoverGap, CoverMade, CoverWall, Entry, NoWay, way};
use crate::catalogue::Process;
use crate::joint::{COLLAR_REACH_MM, JointError};
use crate::outcome::{Body, Joint, Way, WayKind};
use crate::path::CentrePath;
use crate::pieces::{PieceError, main_body};
use crate::project::{BodyRules, Project};
use crate::rail::layout::Fit;
use crate::stages::SplitPiece;
use solid::section::OutlineError;
use solid::{DAffine3, Mesh};

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

/// Bores a cover: the bored solid, and how it was done.
///
/// # Errors
/// [`PieceError`] when geometry fails.
pub(crate) fn make(join: &Joining, wanted: &Wanted) -> Result<(Mesh, CoverMade), PieceError> {
    let gap = gap_of(join, wanted);
    let need_mm = least_wall(join.project, wanted.rules);
    let measure = |b: &Bore| thinnest(&wanted.body.mesh, b, gap.drawn_mm(), need_mm).map_err(outline);
    let station_mm = wanted.body.station_mm;
    let mut best: Option<(Thinnest, Entry, f64)> = None;
    let mut chosen: Option<Candidate> = None;
    for c in candidates(join, station_mm) {
        let Some(thin) = measure(&c.bore)? else {
            chosen = Some(c);
            break;
        };
        if thin.mm >= need_mm {
            chosen = Some(c);
            break;
        }
        if best.as_ref().is_none_or(|b| thin.mm > b.0.mm) {
            let at = c.bore.blocker_mm(join.core, station_mm, c.entry, joint_mm(join, c.entry), thin.place);
            best = Some((thin, c.entry, at));
        }
    }
    let exact = |entry| bore(join.core, join.path, station_mm, (entry, joint_mm(join, entry)), Care::Exact);
    let (entry, way, bore) = match (chosen, best) {
        (Some(c), _) => (c.entry, Ok(the_way(join, wanted, c.entry, &gap)), exact(c.entry)),
        (None, best) => {
            let (mm, entry, at) = best.map_or((0.0, Entry::Butt, station_mm[0]), |(t, e, s)| (t.mm, e, s));
            let no = NoWay { missing_mm: need_mm - mm, entry, station_mm: at, halves_tried: false };
            // Bored for its seat, so that it is a piece at all.
            (entry, Err(no), exact(Entry::Sides))
        }
    };
    let tool = bore.solid(gap.drawn_mm()).map_err(outline)?;
    let bored = if tool.is_empty() { wanted.body.mesh.clone() } else { solid::difference(&wanted.body.mesh, &tool)? };
    let (mesh, _) = main_body(bored);
    let wall = thinnest(&mesh, &bore, gap.drawn_mm(), need_mm).map_err(outline)?.map(|t| CoverWall {
        need_mm,
        least_mm: t.mm,
        station_mm: join.path.station_of(t.at),
    });
    Ok((mesh, CoverMade { bore: tool, gap, entry, way, wall, knots: Vec::new() }))
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

/// All ways that could be best, the one that loses least first; of equal ones, those over the prop's ends.
fn candidates(join: &Joining, [from, to]: [f64; 2]) -> Vec<Candidate> {
    let mut entries = vec![Entry::Butt, Entry::Tip];
    let at = |i: &usize| join.joints[*i].frame.station_mm;
    let all = 0..join.joints.len();
    // On one side the nearest joint passes least.
    entries.extend(all.clone().filter(|i| at(i) > from && at(i) < to).map(Entry::OntoButtSide));
    entries.extend(all.clone().find(|i| at(i) >= to).map(Entry::OntoButtSide));
    entries.extend(all.rev().find(|i| at(i) <= from).map(Entry::OntoTipSide));
    let mut found: Vec<Candidate> = entries
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

/// The poses of a cover's way, and what is not there yet while it goes on.
fn the_way(join: &Joining, wanted: &Wanted, entry: Entry, gap: &CoverGap) -> Way {
    let [from, to] = wanted.body.station_mm;
    let [butt, tip] = join.core.ends_mm;
    // The pieces on the butt or the tip side of a joint.
    let beyond = |j: &Joint, side: usize| -> Vec<u32> {
        let middle = |p: &SplitPiece| f64::midpoint(p.station_mm[0], p.station_mm[1]);
        let there = |p: &&SplitPiece| (middle(p) > j.frame.station_mm) == (side == 1);
        join.before.iter().filter(there).map(|p| p.number).collect()
    };
    let (away_mm, away): (f64, Vec<u32>) = match entry {
        Entry::Butt => (-(to - butt + OFF_MM), Vec::new()),
        Entry::Tip | Entry::Sides => (tip - from + OFF_MM, Vec::new()),
        Entry::OntoButtSide(i) => {
            let j = &join.joints[i];
            // Beyond the collar that stands out of the butt-side piece.
            (j.frame.station_mm - from + COLLAR_REACH_MM + OFF_MM, beyond(j, 1))
        }
        Entry::OntoTipSide(i) => {
            let j = &join.joints[i];
            (-(to - j.frame.station_mm + OFF_MM), beyond(j, 0))
        }
    };
    let poses: Vec<DAffine3> = way::along_path(join.path, wanted.body.station_mm, away_mm);
    Way {
        kind: WayKind::Cover,
        name: wanted.body.name.clone(),
        piece: Some(wanted.number),
        poses,
        away,
        clearance_mm: gap.drawn_mm(),
    }
}
