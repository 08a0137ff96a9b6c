//! The stages from shape to outcome, in order: each a function from earlier results to a result.

mod bays;
mod graded;
mod inside;
mod light;
mod place;
mod plates;
mod power;
mod print;
mod sofar;
mod split;
mod strength;

use crate::bay::Bays;
use crate::catalogue::Process;
use crate::finding::Finding;
use crate::light::{LightWork, Lighting};
use crate::memory::{KeyOf, Known, Memory};
use crate::outcome::{Bar, BodyView, Outcome, Part};
use crate::power::PowerWork;
use crate::project::Project;
use crate::refusal::Refusal;
use crate::window::Windows;
use solid::read::Shape;
use solid::{Cancel, DVec3};

pub use bays::bays;
use graded::rounds;
pub(crate) use inside::hollow_spec;
pub use inside::{Inside, InsideBody, inside};
pub use light::light;
pub use place::{Placed, place};
pub(crate) use plates::SPOILT;
pub use power::{Powered, power};
pub use print::{Printed, print};
pub use sofar::{Geometry, SoFar, Tell};
pub(crate) use split::basis_at;
pub use split::{Split, SplitPiece, split};

/// What a build is made from.
pub struct Inputs {
    /// The checked project.
    pub project: Project,
    /// The maker's shape as read.
    pub shape: Shape,
    /// Hash of everything that went in, hex.
    pub hash: String,
}

/// How a build is watched and stopped.
pub struct Monitor<'a> {
    /// Stops the work.
    pub cancel: Cancel,
    /// Told what is being done and how much of the whole is done, 0 to 1.
    pub report: &'a (dyn Fn(&str, f64) + Sync),
}

impl Monitor<'_> {
    /// Says what comes next; an error when the work is to stop.
    ///
    /// # Errors
    /// [`Refusal::Stopped`].
    pub fn step(&self, what: &str, done: f64) -> Result<(), Refusal> {
        if self.cancel.is_cancelled() {
            return Err(Refusal::Stopped);
        }
        (self.report)(what, done);
        Ok(())
    }

    /// Work whose own count from 0 to 1 is this part of the whole.
    fn within<T>(&self, [from, to]: [f64; 2], work: impl FnOnce(&Monitor) -> T) -> T {
        let report = |what: &str, done: f64| (self.report)(what, from + (to - from) * done);
        work(&Monitor { cancel: self.cancel.clone(), report: &report })
    }
}

/// The whole way from the shape to the outcome.
///
/// # Errors
/// [`Refusal`] when the inputs allow no pieces at all, or the work was stopped.
pub fn build(inputs: &Inputs, monitor: &Monitor) -> Result<Outcome, Refusal> {
    build_with(inputs, &Memory::default(), monitor)
}

/// As [`build`], taking from memory what earlier builds came to and this one has the same inputs for, and leaving there what
/// it comes to itself. The outcome is the same, to the last bit, as that of a build with an empty memory.
///
/// # Errors
/// As [`build`].
pub fn build_with(inputs: &Inputs, memory: &Memory, monitor: &Monitor) -> Result<Outcome, Refusal> {
    build_telling(inputs, memory, monitor, &|_| ())
}

/// As [`build_with`], telling each stage's results as soon as they are there.
///
/// # Errors
/// As [`build`].
pub fn build_telling(inputs: &Inputs, memory: &Memory, monitor: &Monitor, tell: Tell) -> Result<Outcome, Refusal> {
    let project = &inputs.project;
    monitor.step("mending and placing the shape", 0.0)?;
    let placed = place::place_telling(project, &inputs.shape, memory, tell)?;
    let views = crate::views::bodies(&placed);
    tell(SoFar::Shape(&placed, &views));
    let windows = windows(project, &placed, memory)?;
    let base = Base { project, placed: &placed, windows: &windows, views: &views, tell };
    let (pass, even_light) = rounds(
        &base,
        |monitor| {
            monitor.step("hollowing", 0.12)?;
            inside(project, &placed, memory, monitor)
        },
        memory,
        monitor,
    )?;
    monitor.step("loading the prop", 0.86)?;
    let strength = strength::strength(&base, &pass, memory);
    tell(SoFar::Strength(strength.as_ref().and_then(|found| found.as_ref().ok())));
    let Pass { inside, bays, split, printed, parts, fittings: (strips, spines, wire_way), mut light } = pass;
    let wires = crate::furnished::wires(project, &bays, &split, &placed.path);
    monitor.step("checking", 0.88)?;
    let mut findings = crate::checks::all(&crate::checks::Work {
        project,
        placed: &placed,
        windows: &windows,
        inside: &inside,
        bays: &bays,
        split: &split,
        printed: &printed,
        light: light.as_ref(),
        memory,
        even_light: even_light.as_ref(),
        strength: strength.as_ref(),
    });
    if let Some(light) = &mut light {
        monitor.step("trying what would make windows even", 0.9)?;
        let lit = LightWork {
            project,
            placed: &placed,
            inside: &inside,
            split: &split,
            printed: &printed,
            views: &views,
            bars: [&strips, &spines],
            wire_way: &wire_way,
            parts: &parts,
            windows: &windows,
            seed: 1,
        };
        crate::light::advise(&lit, light, &mut findings, memory, &monitor.cancel).map_err(|_| Refusal::Stopped)?;
    }
    monitor.step("rehearsing", 0.92)?;
    let pixels = inside.rail.as_ref().map_or(&[][..], |r| r.pixels.as_slice());
    let levels = light.as_ref().map_or(&[][..], |l| l.levels.as_slice());
    let (conduct, of_conduct) = crate::conduct::judged(project, pixels, levels, &parts, &placed.path, memory)?;
    findings.extend(of_conduct);
    monitor.step("following the current", 0.93)?;
    let work = PowerWork {
        project,
        parts: &parts,
        wires: &wires,
        wire_way: &wire_way,
        pixels,
        joints: &split.joints,
        path: &placed.path,
        light: light.as_ref(),
        conduct: conduct.as_ref(),
        room_for: &|row, count| bays::room_for_cells(project, &placed, &inside, (row, count), memory),
    };
    let powered = power(&work, inside.key, memory)?;
    tell(SoFar::power(&powered));
    let (power, of_power) = Powered::clone(&powered);
    findings.extend(of_power);
    findings.extend(conduct.as_ref().zip(power.as_ref()).map(|(view, power)| crate::conduct::within_cap(view, power)));
    sort(&mut findings);
    monitor.step("drawing sections", 0.94)?;
    let sections = crate::views::sections(&placed, &inside, &split, &printed, &parts);
    monitor.step("laying masks flat", 0.95)?;
    let masks = crate::mask::masks(&windows, &placed, memory);
    monitor.step("measuring what is painted", 0.96)?;
    let (finish, of_finish) = crate::finish::finish(&crate::finish::FinishWork {
        project,
        placed: &placed,
        windows: &windows,
        pieces: &printed.pieces,
        joints: &split.joints,
        parts: &parts,
        keys: &printed.keys,
        memory,
    });
    findings.extend(of_finish);
    sort(&mut findings);
    let rail = inside.rail.as_ref();
    let covers = split.pieces.iter().filter_map(|p| p.cover.as_ref()?.way.as_ref().ok().cloned());
    let ways = covers.chain(crate::furnished::ways(&parts, &bays, &split, &findings)).collect();
    let mut outcome = Outcome {
        prop: project.name.clone(),
        input_hash: inputs.hash.clone(),
        inches: project.inches,
        length_mm: placed.length_mm,
        wearer_mm: project.wearer_mm,
        imprint: project.imprint.clone(),
        mends: placed.mends.clone(),
        pieces: printed.pieces,
        ways,
        plates: printed.plates,
        stocks: printed.stocks,
        pixels: rail.map_or_else(Vec::new, |r| r.pixels.clone()),
        strips,
        spines,
        wire_way,
        parts,
        lids: crate::furnished::lids(&bays, &split),
        wires,
        power,
        openings: crate::furnished::openings(&bays, placed.bodies.len()),
        windows: crate::window::views(&windows, &placed),
        masks,
        views,
        sections,
        light,
        strength: strength.and_then(Result::ok),
        conduct,
        finish,
        shopping: crate::shopping::Shopping::default(),
        work: None,
        passages: Vec::new(),
        steps: Vec::new(),
        findings,
        print_elapsed_s: printed.elapsed_s,
        joints: split.joints,
        path: placed.path.clone(),
        bodies: placed.bodies.clone(),
    };
    monitor.step("planning the work", 0.97)?;
    let (work, planned) = crate::work::plan(project, &outcome);
    // Why there are none, a finding says where a plan was asked for.
    outcome.steps = crate::work::steps(project, &outcome, work.as_ref()).unwrap_or_default();
    outcome.work = work;
    outcome.findings.extend(planned);
    monitor.step("what to buy, and what the event allows", 0.99)?;
    let (shopping, of_shopping) = crate::shopping::shopping(project, &outcome);
    outcome.shopping = shopping;
    outcome.findings.extend(of_shopping);
    outcome.findings.extend(crate::admission::judged(project, &outcome, memory));
    outcome.passages = crate::admission::passages(project, &outcome);
    sort(&mut outcome.findings);
    Ok(outcome)
}

/// Strips and pixels of each that fit the shape: what a rehearsal must know, without pieces and findings.
///
/// # Errors
/// As [`build`]; and where the strips have unequal numbers of pixels.
pub fn pixels(inputs: &Inputs, monitor: &Monitor) -> Result<(u16, u16), Refusal> {
    let memory = Memory::default();
    let placed = place(&inputs.project, &inputs.shape, &memory)?;
    let inside = inside(&inputs.project, &placed, &memory, monitor)?;
    let pixels = inside.rail.as_ref().map_or(&[][..], |r| r.pixels.as_slice());
    crate::conduct::counted(pixels).map_err(|p| Refusal::Problems(vec![p]))
}

/// The windows on a placed shape.
fn windows(project: &Project, placed: &Known<Placed>, memory: &Memory) -> Result<Known<Windows>, Refusal> {
    let seen = project.for_windows();
    let key = KeyOf::stage("windows").and(&placed.key()).and(&seen).key();
    memory.recall("windows", 1, key, || Windows::prepare(&seen, placed))
}

/// What every pass is made from.
struct Base<'a> {
    project: &'a Project,
    placed: &'a Known<Placed>,
    windows: &'a Known<Windows>,
    views: &'a [BodyView],
    tell: Tell<'a>,
}

/// What comes of an inside: pieces, and their light.
struct Pass {
    inside: Inside,
    bays: Known<Bays>,
    split: Split,
    printed: Printed,
    parts: Vec<Part>,
    fittings: (Vec<Bar>, Vec<Bar>, Vec<DVec3>),
    light: Option<Lighting>,
}

fn once(base: &Base, inside: Inside, seed: u64, memory: &Memory, monitor: &Monitor) -> Result<Pass, Refusal> {
    let Base { project, placed, windows, views, tell } = *base;
    monitor.step("finding room for the parts", 0.37)?;
    let bays = bays(project, placed, &inside, memory)?;
    monitor.step("planning cuts", 0.40)?;
    let split = split(project, placed, &inside, &bays, memory, monitor)?;
    let parts = crate::furnished::parts(project, &bays, &split, &placed.path);
    let fittings = crate::views::fittings(&inside, placed);
    let made = Geometry {
        placed,
        inside: &inside,
        split: &split,
        parts: &parts,
        strips: &fittings.0,
        spines: &fittings.1,
        wire_way: &fittings.2,
    };
    tell(SoFar::Geometry(made));
    monitor.step("laying pieces on the beds", 0.70)?;
    let printed = print(project, &split, memory, monitor)?;
    tell(SoFar::Print(made, &printed));
    monitor.step("following the light", 0.80)?;
    let work = LightWork {
        project,
        placed,
        inside: &inside,
        split: &split,
        printed: &printed,
        views,
        bars: [&fittings.0, &fittings.1],
        wire_way: &fittings.2,
        parts: &parts,
        windows,
        seed,
    };
    let light = light(&work, [placed.key(), windows.key()], memory, monitor)?;
    tell(SoFar::Light(light.as_ref()));
    Ok(Pass { inside, bays, split, printed, parts, fittings, light })
}

/// Worst first, then by station, then by kind.
fn sort(findings: &mut [Finding]) {
    findings.sort_by(|a, b| {
        let at = |f: &Finding| f.station_mm.map_or(-1.0, |s| s[0]);
        a.verdict.cmp(&b.verdict).then(at(a).total_cmp(&at(b))).then(a.id.cmp(b.id)).then(a.subject.cmp(&b.subject))
    });
}

/// Whether a printer works with a material.
pub(crate) fn suits(printer: &crate::catalogue::Printer, process: Process) -> bool {
    printer.process == process
}
