//! Third stage: where the prop is cut, how the pieces hold on to each other, and the pieces themselves.

use super::{Inside, InsideBody, Monitor, Placed};
use crate::bay::{Bays, Lid};
use crate::cover::{CoverMade, covers};
use crate::cutting::{Cut, Measures, plan_cuts};
use crate::joint::{Fastening, JointError, MOST_SPAN_MM, Place, Site, collar, fasten, sites};
use crate::memory::{Key, KeyOf, Known, Memory};
use crate::outcome::{Body, Joint, JointKind, Role};
use crate::path::PathFrame;
use crate::pieces::{Made, PieceError, PieceSpec, TRIM_MM, hollows, make, number_lid};
use crate::project::{BodyRules, Glow, Project, Show};
use crate::refusal::{Refusal, problem};
use rayon::prelude::*;
use solid::section::Basis;
use solid::{Cancel, DVec3, Lengthwise, Mesh, Plane, Rows};
use std::convert::Infallible;
use std::sync::atomic::{AtomicUsize, Ordering};

/// A piece in the prop frame.
#[derive(Clone)]
pub struct SplitPiece {
    /// 1, 2, ... from the butt, covers last.
    pub number: u32,
    /// Index of its body in [`Placed::bodies`].
    pub body: usize,
    /// Index of the lid in [`Bays::lids`] that it is, if it is one.
    pub lid: Option<usize>,
    /// Its rules.
    pub rules: BodyRules,
    /// Stations, mm.
    pub station_mm: [f64; 2],
    /// Frame at the butt-side end: how it stands on the bed.
    pub frame: PathFrame,
    /// Planes of its cuts.
    pub planes: [Option<Plane>; 2],
    /// Whether a collar or plug stands out at its butt-side and its tip-side end.
    pub stands_out: [bool; 2],
    /// What was made.
    pub made: Known<Made>,
    /// How it goes on, if it is a cover.
    pub cover: Option<CoverMade>,
}

impl SplitPiece {
    /// What it is called: its number and its body.
    pub fn name(&self) -> String {
        let plain = |c: char| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
        let stem: String = self.rules.name.chars().map(plain).collect();
        let lid = if self.lid.is_some() { "-lid" } else { "" };
        format!("{:02}-{}{lid}", self.number, stem.trim_matches('-'))
    }

    /// The wall asked for, mm, where light shines through it.
    pub fn wall_mm(&self) -> Option<f64> {
        (self.rules.role == Role::Lit).then_some(self.rules.wall_mm)
    }

    /// Names the piece with all that says how it prints.
    pub fn key(&self) -> Key {
        // Every field is named, so that none is forgotten. The way a cover goes on is none of the printer's business.
        let SplitPiece { number, body, lid, rules, station_mm, frame, planes, stands_out, made, cover: _ } = self;
        KeyOf::stage("split piece")
            .and(&(number, body, lid, rules, station_mm))
            .and(&(frame, planes, stands_out, made.key()))
            .key()
    }
}

/// All pieces and joints.
pub struct Split {
    /// Pieces by number.
    pub pieces: Vec<SplitPiece>,
    /// Joints by number.
    pub joints: Vec<Joint>,
    /// The solids of each joint.
    pub fastenings: Vec<Known<Fastening>>,
    /// The cuts.
    pub cuts: Vec<Cut>,
}

/// Plans the cuts and makes the pieces, with the lids of the bays after all others.
///
/// # Errors
/// A [`Refusal`] when no printer takes some stretch, or geometry fails.
pub fn split(
    project: &Project,
    placed: &Known<Placed>,
    inside: &Inside,
    bays: &Bays,
    memory: &Memory,
    monitor: &Monitor,
) -> Result<Split, Refusal> {
    let core: Vec<&Body> = placed.core().collect();
    let key = KeyOf::stage("measures").and(&placed.key()).key();
    let taken = || Ok::<_, Refusal>(core.par_iter().map(|b| Measures::of(b)).collect::<Vec<_>>());
    let measures = memory.recall("measures", 1, key, taken)?;
    let rail = inside.rail.as_ref();
    let cuts = plan_cuts(project, &core, &measures, &placed.path, rail, &bays.uncut_mm()).map_err(|e| {
        Refusal::of(
            &["cuts"],
            e.to_string(),
            "name a larger printer for that body, let its pieces lie (may-lie = true), or unlock and allow more cuts",
        )
    })?;
    let specs = spans(placed, &cuts);
    let sites = sites(project, &core, &placed.path);
    misplaced(placed, &sites)?;
    openings(placed, &specs, &cuts, project)?;
    monitor.step("working out joints", 0.42)?;
    let rows = rows(placed, inside, memory);
    // Pegs and magnets keep off everything; wires may be led through a plug.
    let keep_off = [bays.keep_off(), rooms(bays)];
    let kept = keep_off.iter().fold(KeyOf::stage("joints").and(&inside.key), KeyOf::mesh).key();
    let keep_off = keep_off.map(|all| all.shells().iter().map(|shell| all.subset(shell)).collect());
    let fastened = || -> Result<Vec<Known<Fastening>>, JointError> {
        let of = |(k, c): (usize, &Cut)| {
            let (place, of) = place_at(project, placed, (inside, &rows), &keep_off, &sites, &specs, (k, c));
            let key = place.told(KeyOf::stage("joint").and(&kept).and(&of)).key();
            let remembered = |place: &Place| {
                let place = Place { span_mm: [0.0; 2], ..place.clone() };
                let key = place.told(KeyOf::stage("collar").and(&kept).and(&of)).key();
                memory.recall("collar", cuts.len(), key, || collar(&place)).map(|c| Option::clone(&c))
            };
            memory.recall("joint", cuts.len(), key, || fasten(&place, remembered))
        };
        cuts.par_iter().enumerate().map(of).collect()
    };
    let hollowed = || -> Result<Vec<Known<Mesh>>, PieceError> {
        let of = |b: &InsideBody| {
            let key = KeyOf::stage("hollows").and(&inside.key).and(&b.body).key();
            memory.recall("hollows", core.len(), key, || hollows(b.cavity.as_deref(), inside.rail.as_ref()))
        };
        inside.bodies.par_iter().map(of).collect()
    };
    let (hollows, fastenings) = rayon::join(hollowed, fastened);
    let fastenings = fastenings.map_err(|e| failed(&e.into(), "a joint"))?;
    let hollows = hollows.map_err(|e| failed(&e, "what is hollow"))?;
    monitor.step("making the pieces", 0.46)?;
    let making = Making {
        project,
        placed,
        inside,
        bays,
        hollows: &hollows,
        fastenings: &fastenings,
        count: specs.len(),
        memory,
        cancel: &monitor.cancel,
    };
    let done = AtomicUsize::new(0);
    let made: Vec<Result<SplitPiece, PieceError>> = specs
        .par_iter()
        .map(|s| {
            let piece = make_span(&making, s);
            let n = done.fetch_add(1, Ordering::Relaxed) + 1;
            (monitor.report)("making the pieces", 0.46 + 0.24 * n as f64 / specs.len() as f64);
            piece
        })
        .collect();
    let mut pieces = Vec::new();
    for (piece, spec) in made.into_iter().zip(&specs) {
        pieces.push(piece.map_err(|e| failed(&e, &format!("piece {:02}", spec.number)))?);
    }
    for (k, lid) in bays.lids.iter().enumerate() {
        let number = pieces.len() as u32 + 1;
        let key = KeyOf::stage("lid").and(&placed.key()).and(lid).and(&number).key();
        let made = memory
            .recall("lid", bays.lids.len(), key, || make_lid(placed, lid, number))
            .map_err(|e| failed(&e, &format!("piece {number:02}")))?;
        pieces.push(lid_piece(project, placed, (k, lid), number, made));
    }
    let joints = joints_of(placed, inside, &cuts, &fastenings, memory);
    monitor.step("boring covers", 0.70)?;
    let covers =
        covers(project, placed, &joints, &pieces, memory, &monitor.cancel).map_err(|e| failed(&e, "a cover"))?;
    pieces.extend(covers);
    Ok(Split { pieces, joints, fastenings, cuts })
}

fn failed(error: &PieceError, what: &str) -> Refusal {
    match error {
        PieceError::Cancelled => Refusal::Stopped,
        PieceError::Joint(JointError::NoRoom { what, remedy, key }) => {
            let key: Vec<&str> = key.iter().map(String::as_str).collect();
            Refusal::of(&key, what.clone(), remedy.clone())
        }
        e => Refusal::of(
            &[],
            format!("{what} could not be made: {e}"),
            "this is a fault of the program or of a very unusual mesh: move the cut a little with cuts.shift, or remesh the body",
        ),
    }
}

/// Joints that come apart must not part a lit body: its strip is one.
fn misplaced(placed: &Placed, sites: &[Site]) -> Result<(), Refusal> {
    let mut problems = Vec::new();
    for site in sites {
        let s = site.station_mm;
        let body = placed.core().find(|b| s > b.station_mm[0] && s < b.station_mm[1]);
        match body.filter(|_| !site.meeting) {
            Some(b) if b.role == Role::Lit => problems.push(problem(
                &["joint", &site.rules.name, "at"],
                format!(
                    "joint {} lies in {}, which is lit: its strip runs through and cannot be parted",
                    site.rules.name, b.name
                ),
                format!(
                    "move it to an end of {} (station {:.0} or {:.0} mm), or into a plain body",
                    b.name, b.station_mm[0], b.station_mm[1]
                ),
            )),
            None if !site.meeting => problems.push(problem(
                &["joint", &site.rules.name, "at"],
                format!(
                    "joint {} at station {s:.0} mm lies outside the prop, which ends at {:.0} mm",
                    site.rules.name,
                    placed.path.length_mm()
                ),
                "stations count from the butt along the middle of the prop",
            )),
            _ => {}
        }
    }
    if problems.is_empty() { Ok(()) } else { Err(Refusal::Problems(problems)) }
}

/// What cannot be built at all: a lit body that no cut opens, and cuts moved past their neighbours.
fn openings(placed: &Placed, specs: &[SpanSpec], cuts: &[Cut], project: &Project) -> Result<(), Refusal> {
    let mut problems = Vec::new();
    for spec in specs {
        let body = &placed.bodies[spec.body];
        if body.role == Role::Lit && spec.cuts == [None, None] {
            problems.push(problem(
                &["body", &body.name],
                format!(
                    "{} is closed all round and fits a printer in one piece: nothing could be put into it",
                    body.name
                ),
                "lock a cut in it (cuts.lock), or join a grip on to it",
            ));
        }
        if spec.station_mm[1] - spec.station_mm[0] < SHORTEST_MM {
            problems.push(problem(
                &["cuts"],
                format!(
                    "the cuts at stations {:.1} and {:.1} mm leave a piece of {:.1} mm",
                    spec.station_mm[0],
                    spec.station_mm[1],
                    spec.station_mm[1] - spec.station_mm[0]
                ),
                format!("keep at least {SHORTEST_MM:.0} mm between cuts: change cuts.lock or cuts.shift"),
            ));
        }
    }
    for (joint, _) in &project.cuts.shift_mm {
        match cuts.get((*joint as usize).wrapping_sub(1)) {
            None => problems.push(problem(
                &["cuts", "shift"],
                format!("there is no joint {joint} to move: the plan has {}", cuts.len()),
                "name a joint of the side view",
            )),
            Some(c) if c.meeting => problems.push(problem(
                &["cuts", "shift"],
                format!("joint {joint} is where two bodies meet and cannot be moved"),
                "move the bodies' ends in the modelling program",
            )),
            Some(_) => {}
        }
    }
    if problems.is_empty() { Ok(()) } else { Err(Refusal::Problems(problems)) }
}

/// The outside of no body.
static NOTHING: Mesh = Mesh { vertices: Vec::new(), triangles: Vec::new() };
static NOWHERE: Rows = Rows::none();

/// A piece shorter than this has no room for its joints, mm.
const SHORTEST_MM: f64 = 12.0;

/// One piece to be.
struct SpanSpec {
    number: u32,
    body: usize,
    station_mm: [f64; 2],
    /// Indices of the cuts at its ends.
    cuts: [Option<usize>; 2],
    planes: [Option<Plane>; 2],
    /// Whether the body meets another at that end.
    trims: [bool; 2],
}

fn spans(placed: &Placed, cuts: &[Cut]) -> Vec<SpanSpec> {
    let core: Vec<usize> = (0..placed.bodies.len()).filter(|i| placed.bodies[*i].role != Role::Cover).collect();
    let mut specs = Vec::new();
    let mut body = 0;
    for k in 0..=cuts.len() {
        let low = (k > 0).then(|| k - 1);
        let high = (k < cuts.len()).then_some(k);
        if low.is_some_and(|c| cuts[c].meeting) {
            body += 1;
        }
        let index = core[body.min(core.len() - 1)];
        let ends = placed.bodies[index].station_mm;
        specs.push(SpanSpec {
            number: specs.len() as u32 + 1,
            body: index,
            station_mm: [low.map_or(ends[0], |c| cuts[c].station_mm), high.map_or(ends[1], |c| cuts[c].station_mm)],
            cuts: [low, high],
            planes: [low.map(|c| plane_of(placed, &cuts[c], 1.0)), high.map(|c| plane_of(placed, &cuts[c], -1.0))],
            trims: [low, high].map(|c| c.is_some_and(|c| cuts[c].meeting)),
        });
    }
    specs
}

/// The plane of a cut as seen by the piece on one side: +1 the tip-side piece, -1 the butt-side one. Where bodies meet,
/// the plane is square to the prop and each side loses a little, so that it ends in a cut.
fn plane_of(placed: &Placed, cut: &Cut, side: f64) -> Plane {
    let frame = placed.path.frame(cut.station_mm);
    if cut.meeting {
        Plane::through(frame.point + DVec3::X * (side * TRIM_MM), DVec3::X)
    } else {
        Plane::through(frame.point, frame.along)
    }
}

/// Section axes at a cut: the rail's where there is one, else the path's.
pub(crate) fn basis_at(placed: &Placed, inside: &Inside, station_mm: f64, normal: DVec3) -> Basis {
    let frame = placed.path.frame(station_mm);
    let (origin, u) = match &inside.rail {
        Some(rail) => {
            let (run, _) = rail.way.locate(rail.way.distance_at(station_mm));
            let to_plane = (frame.point - run.start).dot(normal) / run.along.dot(normal);
            (run.start + run.along * to_plane, run.u)
        }
        None => (frame.point, frame.across),
    };
    let x = (u - normal * u.dot(normal)).normalize();
    Basis { origin, x, y: normal.cross(x) }
}

/// Bays and the seats of their lids, without the wires' channels.
fn rooms(bays: &Bays) -> Mesh {
    let mut all = Mesh::default();
    for bay in &bays.bays {
        all.append(&bay.taken);
    }
    for lid in &bays.lids {
        all.append(&lid.recess);
        all.append(&lid.sunk_in_body);
    }
    all
}

/// The triangles of each body and of its cavity along the prop.
fn rows(placed: &Known<Placed>, inside: &Inside, memory: &Memory) -> Vec<[Known<Rows>; 2]> {
    let made = |key: Key, mesh: &Mesh| {
        let Ok(rows) = memory.recall("rows", 2 * inside.bodies.len(), key, || Ok::<_, Infallible>(Rows::of(mesh)));
        rows
    };
    let of = |b: &InsideBody| {
        let outer = KeyOf::stage("rows").and(&placed.key()).and(&b.body).key();
        let cavity = KeyOf::stage("rows").and(&b.cavity.as_ref().map(Known::key)).key();
        [made(outer, &placed.bodies[b.body].mesh), made(cavity, b.cavity.as_deref().unwrap_or(&NOTHING))]
    };
    inside.bodies.par_iter().map(of).collect()
}

/// What is at a cut, and which bodies it lies between.
fn place_at<'a>(
    project: &'a Project,
    placed: &'a Placed,
    (inside, rows): (&'a Inside, &'a [[Known<Rows>; 2]]),
    keep_off: &'a [Vec<Mesh>; 2],
    sites: &'a [Site],
    specs: &[SpanSpec],
    (index, cut): (usize, &Cut),
) -> (Place<'a>, [Option<usize>; 2]) {
    let normal = plane_of(placed, cut, 1.0).normal;
    let basis = basis_at(placed, inside, cut.station_mm, normal);
    let at = |s: f64| {
        on_body(placed, inside, s).and_then(|b| inside.bodies.iter().zip(rows).find(|(own, _)| own.body == b.body))
    };
    let site = sites.iter().find(|s| (s.station_mm - cut.station_mm).abs() < 1e-6);
    // What makes no difference to the joint is no reason to work it out again.
    let most = if site.is_some() { f64::INFINITY } else { MOST_SPAN_MM };
    let side = |spec: usize| specs.get(spec).map_or(0.0, |s| s.station_mm[1] - s.station_mm[0]).min(most);
    let (butt, tip) = (at(cut.station_mm - 2.0), at(cut.station_mm + 2.0));
    let outer = |side: Option<(&InsideBody, &'a [Known<Rows>; 2])>| match side {
        Some((b, [outer, _])) => Lengthwise::new(&placed.bodies[b.body].mesh, outer),
        None => Lengthwise::new(&NOTHING, &NOWHERE),
    };
    let cavity = |side: Option<(&'a InsideBody, &'a [Known<Rows>; 2])>| {
        side.and_then(|(b, [_, rows])| b.cavity.as_deref().map(|c| Lengthwise::new(c, rows)))
    };
    let sides = [butt, tip];
    let [butt, tip] = sides.map(|side| side.map(|(b, _)| b));
    let rules = butt.or(tip).map(|b| &b.rules);
    let printers = [butt, tip].into_iter().flatten().flat_map(|b| &b.rules.printers).map(|p| &project.printers[*p]);
    let fit = crate::rail::layout::Fit::over(printers);
    let both = butt.is_some() && tip.is_some();
    let asked = [butt, tip].into_iter().flatten().find(|b| b.rules.peg.is_some()).or(butt).map(|b| &b.rules);
    let place = Place {
        basis,
        cavity: sides.map(cavity),
        meeting: cut.meeting,
        outer: sides.map(outer),
        span_mm: [side(index), side(index + 1)],
        rail: inside.rail.as_ref(),
        glow: rules.map_or(Glow::Around, |r| r.glow),
        glue_gap_mm: fit.glue_gap_mm + fit.slot_loss_mm / 2.0,
        fit,
        asked: if both { asked.and_then(|r| r.joint) } else { Some(JointKind::Faces) },
        body: asked.map_or("", |r| &r.name),
        rods: &project.rods,
        peg: asked.and_then(|r| r.peg.as_ref()),
        site,
        keep_off: &keep_off[usize::from(site.is_some_and(|s| !s.cap))],
        show: rules.map_or(Show::Both, |r| r.show),
    };
    (place, [butt, tip].map(|b| b.map(|b| b.body)))
}

/// What pieces are made from.
struct Making<'a> {
    project: &'a Project,
    placed: &'a Placed,
    inside: &'a Inside,
    bays: &'a Bays,
    /// What is hollow in each of the core's bodies.
    hollows: &'a [Known<Mesh>],
    fastenings: &'a [Known<Fastening>],
    /// How many pieces there are.
    count: usize,
    memory: &'a Memory,
    cancel: &'a Cancel,
}

fn make_span(making: &Making, spec: &SpanSpec) -> Result<SplitPiece, PieceError> {
    let Making { project, placed, inside, bays, hollows, fastenings, count, memory, cancel } = *making;
    let body = &placed.bodies[spec.body];
    let frame = placed.path.frame(spec.station_mm[0]);
    let frame = match spec.planes[0] {
        // A piece stands on its cut.
        Some(p) => {
            let across = (DVec3::Y - p.normal * p.normal.y).normalize();
            PathFrame { along: p.normal, across, through: p.normal.cross(across), ..frame }
        }
        None => frame,
    };
    let own = inside.bodies.iter().position(|b| b.body == spec.body);
    let rules = own.map_or_else(|| project.rules_for(&body.name), |k| inside.bodies[k].rules.clone());
    let end = |k: usize| spec.planes[k].map(|p| (p, placed.path.frame(spec.station_mm[k])));
    let wanted = PieceSpec {
        number: spec.number,
        outer: &body.mesh,
        glow: rules.glow,
        hollow: own.is_some_and(|k| inside.bodies[k].cavity.is_some()),
        hollows: own.map_or(&NOTHING, |k| &*hollows[k]),
        rail: inside.rail.as_ref(),
        low: end(0),
        high: end(1),
        joints: spec.cuts.map(|c| c.map(|c| &*fastenings[c])),
        trims: spec.trims,
        station_mm: spec.station_mm,
        taken: bays.taken_from(spec.body),
        cancel,
    };
    let key = wanted.told(KeyOf::stage("piece").and(&inside.key).and(&spec.body)).key();
    let made = memory.recall("piece", count, key, || make(&wanted))?;
    Ok(SplitPiece {
        number: spec.number,
        body: spec.body,
        lid: None,
        rules,
        station_mm: spec.station_mm,
        frame,
        planes: spec.planes,
        stands_out: [0, 1].map(|end| spec.cuts[end].is_some_and(|c| !fastenings[c].adds[1 - end].is_empty())),
        made,
        cover: None,
    })
}

/// A lid: the maker's own surface over a tray.
fn make_lid(placed: &Placed, lid: &Lid, number: u32) -> Result<Made, PieceError> {
    let body = &placed.bodies[lid.body];
    let whole = solid::intersection(&body.mesh, &lid.plate)?;
    let (label, figures) = number_lid(lid, number);
    let sunk = solid::union(&lid.sunk_in_lid, &figures)?;
    let taken_mm3 = solid::intersection(&whole, &sunk)?.volume_mm3();
    let mesh = solid::difference(&whole, &sunk)?;
    Ok(Made {
        whole_mm3: whole.volume_mm3(),
        taken_mm3,
        added_mm3: 0.0,
        mesh,
        void: Mesh::default(),
        filled: 0,
        label: Some(label),
    })
}

fn lid_piece(
    project: &Project,
    placed: &Placed,
    (index, lid): (usize, &Lid),
    number: u32,
    made: Known<Made>,
) -> SplitPiece {
    let station_mm = f64::midpoint(lid.span_mm[0], lid.span_mm[1]);
    // It prints on its seat.
    let frame =
        PathFrame { station_mm, point: lid.seat, along: lid.out, across: lid.along, through: lid.out.cross(lid.along) };
    SplitPiece {
        number,
        body: lid.body,
        lid: Some(index),
        rules: project.rules_for(&placed.bodies[lid.body].name),
        station_mm: lid.span_mm,
        frame,
        planes: [None, None],
        stands_out: [false; 2],
        made,
        cover: None,
    }
}

fn joints_of(
    placed: &Placed,
    inside: &Inside,
    cuts: &[Cut],
    fastenings: &[Known<Fastening>],
    memory: &Memory,
) -> Vec<Joint> {
    let glued_mm2 = |cut: &Cut| {
        let key = KeyOf::stage("face").and(&inside.key).and(cut).key();
        let Ok(area) = memory.recall("face", cuts.len(), key, || Ok::<_, Infallible>(face_mm2(placed, inside, cut)));
        *area
    };
    cuts.par_iter()
        .zip(fastenings)
        .enumerate()
        .map(|(k, (cut, fastening))| Joint {
            number: k as u32 + 1,
            frame: placed.path.frame(cut.station_mm),
            kind: fastening.kind,
            pieces: [k as u32 + 1, k as u32 + 2],
            glue_mm2: if fastening.kind.comes_apart() { 0.0 } else { glued_mm2(cut) + fastening.extra_glue_mm2 },
            locked: cut.locked,
            pegs: fastening.pegs.clone(),
            take_down: fastening.take_down.clone(),
            show: body_at(placed, inside, cut.station_mm).map_or(Show::Both, |b| b.rules.show),
        })
        .collect()
}

/// The body that ends at a cut or is cut there.
fn body_at<'a>(placed: &Placed, inside: &'a Inside, station_mm: f64) -> Option<&'a InsideBody> {
    on_body(placed, inside, station_mm - 2.0).or_else(|| on_body(placed, inside, station_mm + 2.0))
}

fn on_body<'a>(placed: &Placed, inside: &'a Inside, station_mm: f64) -> Option<&'a InsideBody> {
    inside.bodies.iter().find(|b| {
        let ends = placed.bodies[b.body].station_mm;
        station_mm >= ends[0] && station_mm <= ends[1]
    })
}

/// Area of the printed faces that touch at a cut, mm2: the smaller of the two.
fn face_mm2(placed: &Placed, inside: &Inside, cut: &Cut) -> f64 {
    let faces = [-1.0, 1.0].map(|side| {
        let plane = plane_of(placed, cut, side);
        let basis = basis_at(placed, inside, cut.station_mm, plane.normal);
        let basis =
            Basis { origin: basis.origin + plane.normal * (side * 0.05 - plane.distance_mm(basis.origin)), ..basis };
        printed_area(placed, inside, cut.station_mm + side * 0.5, &basis)
    });
    faces[0].min(faces[1])
}

/// Area of the maker's section less cavity (but for its ribs) and bores, mm2.
fn printed_area(placed: &Placed, inside: &Inside, station_mm: f64, basis: &Basis) -> f64 {
    use solid::section::{area_mm2, section, subtract};
    let Some(b) = inside.bodies.iter().find(|b| {
        let ends = placed.bodies[b.body].station_mm;
        station_mm >= ends[0] && station_mm <= ends[1]
    }) else {
        return 0.0;
    };
    let mut printed = section(&placed.bodies[b.body].mesh, basis).unwrap_or_default();
    let take = |from: Vec<Vec<solid::DVec2>>, away: &[Vec<solid::DVec2>]| subtract(&from, away).unwrap_or(from);
    if let Some(cavity) = b.cavity.as_deref() {
        let mut hole = section(cavity, basis).unwrap_or_default();
        if let Some(rail) = &inside.rail {
            hole = take(hole, &section(&rail.ribs, basis).unwrap_or_default());
        }
        printed = take(printed, &hole);
    }
    if let Some(rail) = &inside.rail {
        printed = take(printed, &section(&rail.bore, basis).unwrap_or_default());
    }
    area_mm2(&printed)
}
