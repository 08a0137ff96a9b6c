//! First stage: mend the shape, find how it lies and how large it is, and bring it into the prop frame.

use super::{SoFar, Tell};
use crate::centre::{core_slices, find_path};
use crate::memory::{KeyOf, Known, Memory};
use crate::mending::mend_note;
use crate::outcome::{Body, MendNote, Role};
use crate::path::CentrePath;
use crate::placing::{RawBody, fault_words, file_to_prop, lie, unit_guesses};
use crate::project::Project;
use crate::refusal::{Problem, Refusal, problem};
use crate::window::Painted;
use rayon::prelude::*;
use solid::mend::{Fault, mend};
use solid::read::{NamedMesh, Shape};
use solid::{DAffine3, DVec3};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The shape in the prop frame.
pub struct Placed {
    /// Bodies by station; the core (lit and plain) first, then covers.
    pub bodies: Vec<Body>,
    /// What was mended.
    pub mends: Vec<MendNote>,
    /// The centre path.
    pub path: CentrePath,
    /// Straight length, mm.
    pub length_mm: f64,
    /// The colours of the maker's mesh, by body, where it has any.
    pub paints: BTreeMap<String, Arc<Painted>>,
}

impl Placed {
    /// The bodies that pieces are cut from end to end: lit and plain ones, from the butt.
    pub fn core(&self) -> impl Iterator<Item = &Body> {
        self.bodies.iter().filter(|b| b.role != Role::Cover)
    }
}

/// Mends and places the shape.
///
/// # Errors
/// A [`Refusal`] with every fault of the shape and its place, or the three likely sizes when no length is given.
pub fn place(project: &Project, shape: &Shape, memory: &Memory) -> Result<Known<Placed>, Refusal> {
    place_telling(project, shape, memory, &|_| ())
}

/// As [`place`], telling how the shape lies before it is mended.
pub(super) fn place_telling(
    project: &Project,
    shape: &Shape,
    memory: &Memory,
    tell: Tell,
) -> Result<Known<Placed>, Refusal> {
    let seen = project.for_place();
    let stage = KeyOf::stage("placed").and(&seen).and(&shape.unit_mm);
    let key = shape.bodies.iter().fold(stage, |key, body| key.and(&body.name).mesh(&body.mesh).and(&body.paint)).key();
    // The wearer's height is spoken of in refusals only, and those are not kept.
    memory.recall("placed", 1, key, || lay(&Project { wearer_mm: project.wearer_mm, ..seen }, shape, tell))
}

fn lay(project: &Project, shape: &Shape, tell: Tell) -> Result<Placed, Refusal> {
    let mut problems = missing_bodies(project, shape);
    let raw: Vec<RawBody> = shape
        .bodies
        .iter()
        .map(|b| RawBody { name: b.name.clone(), role: project.rules_for(&b.name).role, mesh: b.mesh.clone() })
        .collect();
    if raw.iter().all(|b| b.mesh.is_empty()) {
        return Err(Refusal::of(
            &["shape", "file"],
            "the shape file holds no surface",
            "export the model again as triangles",
        ));
    }
    let Some(how) = lie(&raw, &project.shape) else {
        return Err(Refusal::of(
            &["shape", "file"],
            "the shape has no length: all its points lie in one place or plane",
            "export the model again, at its full size",
        ));
    };
    let length_mm = match (project.shape.length_mm, shape.unit_mm) {
        (Some(l), _) => l,
        (None, unit) => {
            problems.push(no_length(project, how.long_units, unit));
            return Err(Refusal::Problems(problems));
        }
    };
    let to_prop = file_to_prop(&raw, &how, length_mm);
    tell(SoFar::Read(&as_read(&raw, &to_prop), length_mm));
    let mended: Vec<_> = raw.par_iter().map(|b| mend(b.mesh.clone())).collect();
    let mut bodies = Vec::new();
    let mut mends = Vec::new();
    for (body, result) in raw.iter().zip(mended) {
        match result {
            Ok((mesh, notes)) => {
                let mesh = mesh.transformed(&to_prop);
                mends.extend(notes.iter().map(|m| mend_note(&body.name, m, &to_prop)));
                bodies.push(Body { name: body.name.clone(), role: body.role, mesh, station_mm: [0.0; 2] });
            }
            Err(faults) => {
                let scale = length_mm / how.long_units;
                problems.extend(
                    faults.iter().map(|f| fault_problem(&body.name, f, to_prop.transform_point3(f.place), scale)),
                );
            }
        }
    }
    if !problems.is_empty() {
        return Err(Refusal::Problems(problems));
    }
    let path = match &project.shape.path {
        Some(points) => CentrePath::new(points.iter().map(|p| DVec3::from_array(*p)).collect()).ok_or_else(|| {
            Refusal::of(
                &["shape", "path"],
                "the centre path does not run from butt to tip",
                "let each point have a larger x than the one before",
            )
        })?,
        None => find_path(&core_slices(&bodies, length_mm), length_mm).ok_or_else(|| {
            Refusal::of(
                &["shape", "path"],
                "no centre path was found: no body but covers has a section",
                "give the main body the role \"lit\" or \"plain\", or draw the path as shape.path",
            )
        })?,
    };
    for body in &mut bodies {
        body.station_mm = span(body, &path);
    }
    let start = |b: &Body| b.station_mm[0];
    bodies.sort_by(|a, b| {
        (a.role == Role::Cover)
            .cmp(&(b.role == Role::Cover))
            .then(start(a).total_cmp(&start(b)))
            .then(a.name.cmp(&b.name))
    });
    let paint = |b: &NamedMesh| Some((b.name.clone(), Arc::new(Painted::new(b, &to_prop)?)));
    let paints = shape.bodies.iter().filter_map(paint).collect();
    let placed = Placed { bodies, mends, path, length_mm, paints };
    chain(&placed)?;
    Ok(placed)
}

/// Bodies that were not looked at yet, in the prop frame.
fn as_read(raw: &[RawBody], to_prop: &DAffine3) -> Vec<Body> {
    let laid = |b: &RawBody| {
        let mesh = b.mesh.transformed(to_prop);
        let station_mm = mesh.bounds().map_or([0.0; 2], |b| [b.min.x, b.max.x]);
        Body { name: b.name.clone(), role: b.role, mesh, station_mm }
    };
    raw.iter().map(laid).collect()
}

/// Stations of a body's ends: of its outermost points along the prop.
fn span(body: &Body, path: &CentrePath) -> [f64; 2] {
    let mut ends = [(f64::INFINITY, DVec3::ZERO), (f64::NEG_INFINITY, DVec3::ZERO)];
    for v in &body.mesh.vertices {
        if v.x < ends[0].0 {
            ends[0] = (v.x, *v);
        }
        if v.x > ends[1].0 {
            ends[1] = (v.x, *v);
        }
    }
    // The station where the path itself has that x: what cuts square to it see.
    let at = |x: f64| {
        let near = path.station_of(DVec3::new(x, 0.0, 0.0));
        let mut s = near;
        for _ in 0..30 {
            s += x - path.point(s).x;
        }
        // Rounding must not keep a body from beginning where the prop does.
        let s = if s.abs() < 1e-6 { 0.0 } else { s };
        s.clamp(0.0, path.length_mm())
    };
    [at(ends[0].0), at(ends[1].0)]
}

/// Neighbours in the core must meet: a gap cannot be glued, an overlap of more than a little is a mistake.
fn chain(placed: &Placed) -> Result<(), Refusal> {
    let core: Vec<&Body> = placed.core().collect();
    let mut problems = Vec::new();
    for pair in core.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let gap = b.station_mm[0] - a.station_mm[1];
        let shorter = (a.station_mm[1] - a.station_mm[0]).min(b.station_mm[1] - b.station_mm[0]);
        if gap > 0.5 {
            problems.push(problem(
                &["body", &b.name],
                format!(
                    "{} and {} do not meet: {gap:.1} mm of air at station {:.0} mm",
                    a.name, b.name, a.station_mm[1]
                ),
                "move them together in the modelling program, or give one the role \"cover\"",
            ));
        } else if -gap > shorter / 2.0 {
            problems.push(problem(
                &["body", &b.name],
                format!("{} and {} lie side by side from station {:.0} to {:.0} mm; pieces are cut one after another along the prop",
                    a.name, b.name, b.station_mm[0], a.station_mm[1].min(b.station_mm[1])),
                "join them into one body in the modelling program, or give the one that slides over the other the role \"cover\"",
            ));
        }
    }
    if problems.is_empty() { Ok(()) } else { Err(Refusal::Problems(problems)) }
}

fn missing_bodies(project: &Project, shape: &Shape) -> Vec<Problem> {
    let names: Vec<&str> = shape.bodies.iter().map(|b| b.name.as_str()).collect();
    project
        .bodies
        .iter()
        .filter(|b| !names.iter().any(|n| n.to_lowercase() == b.name.to_lowercase()))
        .map(|b| {
            problem(
                &["body", &b.name],
                format!("the shape has no body \"{}\"; it has {}", b.name, names.join(", ")),
                "use a name from the shape, or name the object in the modelling program",
            )
        })
        .collect()
}

fn no_length(project: &Project, long_units: f64, unit_mm: Option<f64>) -> Problem {
    let guesses = unit_guesses(long_units, unit_mm, project.wearer_mm);
    let each: Vec<String> = guesses.iter().map(|g| g.describe(project.wearer_mm)).collect();
    problem(
        &["shape", "length"],
        format!("the finished length is not given and the shape is {long_units:.4} units long: {}", each.join("; ")),
        format!(
            "add the finished length under [shape], for example length = \"{:.0} cm\"",
            guesses[0].length_mm / 10.0
        ),
    )
}

fn fault_problem(body: &str, f: &Fault, at: DVec3, scale: f64) -> Problem {
    problem(&["shape", "file"], format!("{body}: {}", fault_words(f, at, scale)), f.kind.advice())
}
