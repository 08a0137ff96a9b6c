//! The timed steps. Each makes its own input first, which isn't timed.

use crate::cost::{cpu_s, peak_mb};
use crate::power::Wired;
use crate::strength as beams;
use crate::tools;
use prop::catalogue::Catalogue;
use prop::outcome::Outcome;
use prop::project::parse;
use prop::refusal::Refusal;
use prop::{Inputs, Memory, Monitor};
use solid::read::{Format, NamedMesh, Shape};
use solid::{BooleanError, Bvh, Cancel, DVec3, HollowSpec, Mesh, Plane};
use std::process::ExitCode;
use std::time::Instant;

/// A step: prepares for a glaive of so many triangles, then hands back the timed part, whose result is one number.
type Step = fn(usize) -> Box<dyn FnOnce() -> Result<f64, String>>;

pub(crate) const STEPS: [(&str, Step); 15] = [
    ("read", read),
    ("cut", cut),
    ("sockets", sockets),
    ("keys", keys),
    ("bays", bays),
    ("hollow", hollow),
    ("build", build),
    ("move", move_cut),
    ("edit", edit),
    ("mend", mend),
    ("sculpt", sculpt),
    ("strength", strength),
    ("spine", spine),
    ("day", day),
    ("gauge", gauge),
];

/// What a step needs besides the blade, for the peer.
pub(crate) fn tool(step: &str) -> Option<Mesh> {
    match step {
        "sockets" => Some(tools::sockets()),
        "keys" => Some(tools::keys()),
        "bays" => Some(tools::bays()),
        _ => None,
    }
}

pub(crate) fn named(name: &str) -> Option<Step> {
    STEPS.iter().find(|s| s.0 == name).map(|s| s.1)
}

/// Whether manifold3d does the same work.
pub(crate) fn has_peer(name: &str) -> bool {
    name == "cut" || tool(name).is_some()
}

/// Runs one step and prints seconds, processor seconds, peak megabytes and its result.
pub(crate) fn run(step: Step, triangles: usize) -> ExitCode {
    let timed = step(triangles);
    let (start, busy) = (Instant::now(), cpu_s());
    match timed() {
        Ok(result) => {
            println!("{} {} {} {result}", start.elapsed().as_secs_f64(), cpu_s() - busy, peak_mb());
            ExitCode::SUCCESS
        }
        Err(fault) => {
            eprintln!("{fault}");
            ExitCode::FAILURE
        }
    }
}

/// The glaive's blade when the whole glaive has so many triangles.
pub(crate) fn blade(triangles: usize) -> Mesh {
    reed_glaive_shape::glaive(triangles).into_iter().find(|b| b.0 == "blade").expect("the glaive has a blade").1
}

/// The blade from the bytes of a binary STL file; the result is its volume, mm3.
fn read(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    let bytes = solid::write::stl(&blade(triangles), "blade");
    Box::new(move || {
        let shape = solid::read::shape(Format::Stl, &bytes, "blade").map_err(|e| e.to_string())?;
        Ok(shape.bodies[0].mesh.volume_mm3())
    })
}

/// Lumps of a sculpt that run into each other.
const SHELLS: usize = 60;

/// A sculpt of overlapping shells made one; the result is its volume, mm3.
fn mend(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    let sculpt = sculpt_shape::sculpt(SHELLS, triangles);
    Box::new(move || {
        let (solid, _) = solid::mend::mend(sculpt).map_err(|f| f[0].describe())?;
        Ok(solid.volume_mm3())
    })
}

/// The same sculpt from its shells to hollow pieces and findings; the result is the pieces' volume, mm3.
fn sculpt(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    let mesh = sculpt_shape::sculpt(SHELLS, triangles);
    let bodies = vec![NamedMesh::plain("sculpt", mesh)];
    built(sculpt_shape::PROJECT, Shape { bodies, unit_mm: Some(1.0), notes: Vec::new() })
}

/// Seven cuts into eight equal lengths; the result is the smallest part's volume, mm3.
fn cut(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    let blade = blade(triangles);
    let planes: Vec<Plane> =
        (1..8).map(|k| Plane::through(DVec3::X * (400.0 + 137.5 * f64::from(k)), DVec3::X)).collect();
    Box::new(move || {
        let parts = solid::split(&blade, &planes).map_err(|e| e.to_string())?;
        Ok(parts.iter().map(Mesh::volume_mm3).fold(f64::INFINITY, f64::min))
    })
}

/// Sockets drilled into the whole blade; the result is what is left, mm3.
fn sockets(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    combined(triangles, tools::sockets(), solid::difference)
}

/// Keys put on the whole blade; the result is the volume with them, mm3.
fn keys(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    combined(triangles, tools::keys(), solid::union)
}

/// Bays cut into the whole blade; the result is what is left, mm3.
fn bays(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    combined(triangles, tools::bays(), solid::difference)
}

/// From meshes to a mesh, checks and all.
fn combined(
    triangles: usize,
    tool: Mesh,
    combine: fn(&Mesh, &Mesh) -> Result<Mesh, BooleanError>,
) -> Box<dyn FnOnce() -> Result<f64, String>> {
    let blade = blade(triangles);
    Box::new(move || Ok(combine(&blade, &tool).map_err(|e| e.to_string())?.volume_mm3()))
}

/// The blade's cavity under a wall of 2 mm, its search tree included; the result is its volume, mm3.
fn hollow(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    let blade = blade(triangles);
    Box::new(move || {
        let bounds = blade.bounds().ok_or("an empty blade")?;
        let outer = Bvh::new(&blade);
        let spec = HollowSpec { wall_mm: 2.0, least_cavity_mm: 2.0, cell_mm: 0.5, even_mm: 0.2 };
        let cavity = solid::hollow(&outer, bounds, &spec, &Cancel::default()).map_err(|e| e.to_string())?;
        Ok(cavity.volume_mm3())
    })
}

/// The thinnest and the thickest wall that `hollow` leaves, measured and not timed: printed beside the table.
pub(crate) fn walls(triangles: usize) -> Result<String, String> {
    let blade = blade(triangles);
    let outer = Bvh::new(&blade);
    let spec = HollowSpec { wall_mm: 2.0, least_cavity_mm: 2.0, cell_mm: 0.5, even_mm: 0.2 };
    let bounds = blade.bounds().ok_or("an empty blade")?;
    let cavity = solid::hollow(&outer, bounds, &spec, &Cancel::default()).map_err(|e| e.to_string())?;
    let found = solid::wall_report(&outer, &cavity);
    Ok(format!("{:.3} mm at the thinnest, {:.3} mm at half of all places", found.least_mm, found.p50_mm))
}

const GLAIVE: &str = include_str!("../../examples/reed-glaive/prop.toml");

fn glaive(triangles: usize) -> Shape {
    let bodies =
        reed_glaive_shape::glaive(triangles).into_iter().map(|(name, mesh)| NamedMesh::plain(name, mesh)).collect();
    Shape { bodies, unit_mm: Some(1.0), notes: Vec::new() }
}

/// The whole way from the glaive's shape to pieces and findings; the result is the pieces' volume, mm3.
fn build(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    built(GLAIVE, glaive(triangles))
}

/// One cut moved, until its two pieces are there as solids, in the prop frame; the result is how many were made.
fn move_cut(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    edited(triangles, true)
}

/// One cut moved, until the whole outcome is there: pieces as they print, plates, findings, drawings' data; the result is how
/// many pieces were made.
fn edit(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    edited(triangles, false)
}

/// The fifth cut of a glaive that is remembered moved by 4 mm.
fn edited(triangles: usize, solids_only: bool) -> Box<dyn FnOnce() -> Result<f64, String>> {
    let before = parse(GLAIVE, &Catalogue::built_in()).map_err(|d| d.render("prop.toml", GLAIVE));
    let shape = glaive(triangles);
    let memory = Memory::default();
    let inputs = before.map(|project| Inputs { project, shape, hash: String::new() });
    let first = inputs.and_then(|inputs| remembered(&inputs, &memory, solids_only, false).map(|()| inputs));
    Box::new(move || {
        let mut inputs = first?;
        inputs.project.cuts.shift_mm = vec![(5, 4.0)];
        let made = memory.made("piece");
        remembered(&inputs, &memory, solids_only, std::env::var_os("BENCH_STEPS").is_some())?;
        Ok((memory.made("piece") - made) as f64)
    })
}

/// A build that remembers and is remembered, whole or until the pieces are there as solids; told step by step if wished.
fn remembered(inputs: &Inputs, memory: &Memory, solids_only: bool, told: bool) -> Result<(), String> {
    let cancel = Cancel::default();
    let (start, stop) = (Instant::now(), cancel.clone());
    let report = move |what: &str, _: f64| {
        if told {
            eprintln!("{:8.3} {:6.2} {what}", start.elapsed().as_secs_f64(), cpu_s());
        }
        if solids_only && what == "boring covers" {
            stop.cancel();
        }
    };
    match prop::build_with(inputs, memory, &Monitor { cancel, report: &report }) {
        Err(Refusal::Stopped) if solids_only => Ok(()),
        Ok(_) if !solids_only => Ok(()),
        Ok(_) => Err("it was not stopped".to_owned()),
        Err(refusal) => Err(refusal.to_string()),
    }
}

/// Sections of the glaive at 200 stations, all load cases, joints, heat, and every stock of the catalogue in the spine's place;
/// the result is the least factor of the pieces.
fn strength(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    let prop = beams::prop(GLAIVE, &glaive(triangles));
    Box::new(move || prop?.loaded())
}

/// A spine when the sections of the wall are remembered: twice (as its own choice too) all load cases, joints and heat; the
/// result is the least factor of the pieces.
fn spine(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    let prop = beams::prop(GLAIVE, &glaive(triangles)).and_then(|p| p.loaded().map(|_| p.with_choices(false)));
    Box::new(move || prop?.loaded())
}

/// Eight hours of the built glaive's circuit at steps of 10 ms; the result is the charge left, 0 to 1.
fn day(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    let wired = wired(triangles);
    Box::new(move || wired?.day())
}

/// Another cell and gauge in the built glaive, until runtime and worst instant are there; the result is how long it lasts, h.
fn gauge(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    let wired = wired(triangles);
    Box::new(move || wired?.changed())
}

fn wired(triangles: usize) -> Result<Wired, String> {
    let project = parse(GLAIVE, &Catalogue::built_in()).map_err(|d| d.render("prop.toml", GLAIVE))?;
    outcome(GLAIVE, glaive(triangles)).map(|o| Wired::of(project, o))
}

/// A project and its shape built; the result is the pieces' volume, mm3.
fn built(text: &'static str, shape: Shape) -> Box<dyn FnOnce() -> Result<f64, String>> {
    Box::new(move || Ok(outcome(text, shape)?.pieces.iter().map(|p| p.mesh.volume_mm3()).sum()))
}

fn outcome(text: &str, shape: Shape) -> Result<Outcome, String> {
    let project = parse(text, &Catalogue::built_in()).map_err(|d| d.render("prop.toml", text))?;
    let monitor = Monitor { cancel: Cancel::default(), report: &|_, _| {} };
    let inputs = Inputs { project, shape, hash: String::new() };
    prop::build(&inputs, &monitor).map_err(|r| r.to_string())
}
