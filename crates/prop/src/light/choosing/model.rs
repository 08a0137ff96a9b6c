//! A short stretch of the prop under other rules, with its light: cavity, rail, strips and spine made anew.

use crate::light::scene::{Standing, glance};
use crate::light::{LightError, LightWork, Profile, Reading, evenness};
use crate::memory::{KeyOf, Known};
use crate::outcome::{Bar, Role};
use crate::path::PathFrame;
use crate::project::{BodyRules, Project};
use crate::rail::fitting::{Core, RailError};
use crate::rail::stretch::{room, stretch};
use crate::rail::wires::beside_ribs;
use crate::stages::{Inside, InsideBody, hollow_spec};
use crate::window::Windows;
use solid::{Bvh, Cancel, DAffine3, DMat3, DVec2, DVec3, Mesh, Plane};

/// How far the cavity's mesh may be moved to make it lighter, mm.
const LIGHTER_MM: f64 = 0.02;
/// The plates that shut the stretch stand so far from its cuts, and are so thick, mm.
const PLATE_MM: [f64; 2] = [0.02, 3.0];

/// A short stretch of a window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stretch {
    /// Index of the window.
    pub(super) window: usize,
    /// Index of its body.
    pub(super) body: usize,
    /// Stations of its ends.
    pub(super) station_mm: [f64; 2],
    /// Stations between which it is looked at.
    pub(super) core_mm: [f64; 2],
}

/// How a stretch glows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Look {
    /// Mean luminance, cd/m2.
    pub(super) mean: Reading,
    /// Ripple at the pitch.
    pub(super) ripple: Option<Reading>,
    /// Darkest against brightest round the prop.
    pub(super) across: Option<Reading>,
    /// From the pixels to the wall that they look at, mm.
    pub(super) stand_off_mm: Option<f64>,
}

/// Why a stretch has no look.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub(super) enum NoLook {
    #[error("{0}")]
    Rail(#[from] RailError),
    #[error("{0}")]
    Cut(#[from] solid::CutError),
    #[error("{0}")]
    Hollow(#[from] solid::HollowError),
    #[error("{0}")]
    Boolean(#[from] solid::BooleanError),
    #[error("{0}")]
    Light(#[from] LightError),
    #[error("the stretch has no cavity")]
    NoCavity,
    #[error("no light leaves the window there")]
    Dark,
}

/// The share of the strip's length along which the rail has room under a project's rules.
pub(super) fn room_share(work: &LightWork, project: &Project) -> Result<f64, RailError> {
    let Some(rail) = &work.inside.rail else { return Ok(0.0) };
    let rules = rules_of(work, project);
    room(project, &cores(work, &rules), rail)
}

fn rules_of(work: &LightWork, project: &Project) -> Vec<BodyRules> {
    work.inside.bodies.iter().map(|b| project.rules_for(&work.placed.bodies[b.body].name)).collect()
}

fn cores<'a>(work: &'a LightWork, rules: &'a [BodyRules]) -> Vec<Core<'a>> {
    let bodies = work.inside.bodies.iter().zip(rules);
    bodies.map(|(b, rules)| Core { body: &work.placed.bodies[b.body], rules, outer: &b.outer }).collect()
}

/// A stretch under a project's rules, made: what its light is followed in.
pub(super) struct Model {
    shell: Mesh,
    frames: [PathFrame; 2],
    planes: [Plane; 2],
    rules: BodyRules,
    inside: Inside,
    bars: (Vec<Bar>, Vec<Bar>),
    wires: Vec<DVec3>,
    windows: Windows,
    stand_off_mm: Option<f64>,
}

impl Model {
    fn new(work: &LightWork, project: &Project, at: &Stretch, cancel: &Cancel) -> Result<Model, NoLook> {
        let whole = work.inside.rail.as_ref().ok_or(NoLook::Dark)?;
        let all_rules = rules_of(work, project);
        let cores = cores(work, &all_rules);
        let own = work.inside.bodies.iter().position(|b| b.body == at.body).ok_or(NoLook::Dark)?;
        let rules = all_rules[own].clone();
        let rail = stretch(project, &cores, whole, at.station_mm)?.ok_or(NoLook::Dark)?;
        let frames = at.station_mm.map(|s| work.placed.path.frame(s));
        let planes = frames.map(|f| Plane::through(f.point, f.along));
        let shell = shell(&work.placed.bodies[at.body].mesh, &rules, &rail.ribs, &planes, cancel)?;
        let ends = at.station_mm.map(|s| rail.way.distance_at(s));
        let wires = beside_ribs(&cores, &rail, ends);
        let stand_off_mm = rail.pixels.get(rail.pixels.len() / 2).and_then(|p| {
            let wall = work.inside.bodies[own].outer.ray(p.point, p.facing, 1e3)?;
            Some(wall.distance_mm - rules.wall_mm)
        });
        let bodies = work.inside.bodies.iter().map(|b| InsideBody {
            body: b.body,
            rules: b.rules.clone(),
            outer: b.outer.clone(),
            cavity: None,
            field: None,
        });
        let inside = Inside { bodies: bodies.collect(), rail: Some(rail), key: work.inside.key };
        let (strips, spines, _) = crate::views::fittings(&inside, work.placed);
        let windows = work.windows.dressed(project, work.placed);
        Ok(Model { shell, frames, planes, rules, inside, bars: (strips, spines), wires, windows, stand_off_mm })
    }

    /// Its light, the mean known within `sigma` (a share of it) or by `most_paths`.
    fn look(
        &self,
        work: &LightWork,
        project: &Project,
        at: &Stretch,
        (sigma, most_paths): (f64, u32),
        cancel: &Cancel,
    ) -> Result<Look, NoLook> {
        let bounds = self.shell.bounds().ok_or(NoLook::NoCavity)?;
        let half = bounds.size().y.max(bounds.size().z) + PLATE_MM[1];
        let plain = |mesh| Standing {
            mesh,
            role: Role::Plain,
            station_mm: at.station_mm,
            body: at.body,
            planes: Vec::new(),
            material: &self.rules.material,
        };
        let [near, far] = PLATE_MM;
        let standing = vec![
            Standing { role: Role::Lit, planes: self.planes.to_vec(), ..plain(self.shell.clone()) },
            plain(plate(&self.frames[0], half, [-far, -near])),
            plain(plate(&self.frames[1], half, [near, far])),
        ];
        let short = LightWork {
            project,
            inside: &self.inside,
            bars: [&self.bars.0, &self.bars.1],
            wire_way: &self.wires,
            parts: &[],
            windows: &self.windows,
            ..*work
        };
        let pitch = project.light.as_ref().ok_or(NoLook::Dark)?.strip.pitch_mm;
        let core = core_of(at, pitch);
        let seen = glance(&short, standing, (at.window, core), (sigma, most_paths), cancel)?.ok_or(NoLook::Dark)?;
        let own = |p: &Profile| p.window == at.window && p.body == at.body;
        let here = seen.profiles.iter().position(own).ok_or(NoLook::Dark)?;
        let mean = seen.profiles[here].mean(core).filter(|m| m.value > 0.0).ok_or(NoLook::Dark)?;
        Ok(Look {
            mean,
            ripple: seen.profiles[here].harmonic(core, pitch),
            across: evenness(&seen.around[here]),
            stand_off_mm: self.stand_off_mm,
        })
    }
}

/// As many whole pitches as the core has, in its middle.
fn core_of(at: &Stretch, pitch_mm: f64) -> [f64; 2] {
    let [from, to] = at.core_mm;
    let half = ((to - from) / pitch_mm + 1e-6).floor().max(1.0) * pitch_mm / 2.0;
    let middle = f64::midpoint(from, to);
    [middle - half, middle + half]
}

/// The wall between two cuts, with the ribs in it.
fn shell(outer: &Mesh, rules: &BodyRules, ribs: &Mesh, planes: &[Plane; 2], cancel: &Cancel) -> Result<Mesh, NoLook> {
    let spec = hollow_spec(rules.wall_mm, rules.least_cavity_mm);
    // Beyond the cuts the cavity ends, rounded.
    let more_mm = spec.wall_mm + spec.least_cavity_mm + 2.0;
    let [low, high] = planes;
    let wider = |plane: &Plane, by: f64| Plane { offset_mm: plane.offset_mm + by, ..*plane };
    let longer = solid::slab(outer, Some(&wider(low, -more_mm)), Some(&wider(high, more_mm)))?;
    let bounds = longer.bounds().ok_or(NoLook::NoCavity)?;
    let cavity = solid::hollow(&Bvh::new(&longer), bounds, &spec, cancel)?;
    if cavity.is_empty() {
        return Err(NoLook::NoCavity);
    }
    let void = solid::difference(&solid::simplify(&cavity, LIGHTER_MM)?, ribs)?;
    let mut set = longer;
    set.append(&void.reversed());
    Ok(crate::pieces::main_body(solid::slab(&set, Some(low), Some(high))?).0)
}

/// A square plate across the prop, between two distances from a cut.
fn plate(frame: &PathFrame, half_mm: f64, [from, to]: [f64; 2]) -> Mesh {
    let square = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(x, y)| DVec2::new(x, y) * half_mm);
    let axes: [DVec3; 3] = [frame.across, frame.through, frame.along];
    let place = DAffine3::from_mat3_translation(DMat3::from_cols(axes[0], axes[1], axes[2]), frame.point);
    solid::prism(&square, &place, from, to)
}

/// The light of a stretch under a project's rules, remembered; `made` keeps the stretch from one look to a closer one.
pub(super) fn look(
    work: &LightWork,
    project: &Project,
    (at, made): (&Stretch, &mut Option<Model>),
    how: (f64, u32),
    memory: &crate::Memory,
    cancel: &Cancel,
) -> Result<Known<Look>, NoLook> {
    // Looks that a build has room for, whatever it asks.
    const EACH_BUILD: usize = 128;
    let seen = project.for_inside();
    let key = KeyOf::stage("choosing").and(&work.inside.key).and(&seen).and(at).and(&how).key();
    memory.recall("choosing", EACH_BUILD, key, || {
        let model = match made {
            Some(model) => model,
            None => made.insert(Model::new(work, project, at, cancel)?),
        };
        model.look(work, project, at, how, cancel)
    })
}
