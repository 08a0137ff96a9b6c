//! The thread that works: stage by stage, remembering, and the newest change wins.

use super::bench::{Ended, Job, Shown, Workbench};
use super::light;
use super::scene::{Scene, Shows};
use super::stage::Stage;
use super::tracks::{self, Track};
use super::trouble::{Trouble, TroubleKind, refused, unread};
use crate::load::{Loaded, Shapes, read_project, refused as reasons};
use prop::stages::SoFar;
use prop::{Memory, Monitor, build_telling};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex, PoisonError};

/// Builds what is asked for, for ever.
pub(crate) fn run(bench: &Workbench) {
    let mut shapes = Shapes::default();
    let mut memory = Memory::default();
    loop {
        let job = bench.next();
        // A fault of the program must not end the workbench: it is told, and the next change is tried afresh.
        let ended = catch_unwind(AssertUnwindSafe(|| build(bench, &job, &mut shapes, &memory)));
        let ended = ended.unwrap_or_else(|_| {
            memory = Memory::default();
            let message = "the program met a fault of its own while it worked this out".to_owned();
            Ended::Trouble(vec![Trouble::of(
                TroubleKind::Shape,
                message,
                "undo the last change, and keep the project file: it shows the fault",
            )])
        });
        bench.over(&job, ended);
    }
}

fn build(bench: &Workbench, job: &Job, shapes: &mut Shapes, memory: &Memory) -> Ended {
    let loaded = match read_project(&job.path, &job.text, shapes) {
        Ok(loaded) => loaded,
        Err(found) => return Ended::Trouble(unread(&found)),
    };
    let report = |what: &str, done: f64| bench.progress(job, what, done);
    let monitor = Monitor { cancel: job.cancel.clone(), report: &report };
    let seen = Mutex::new(Seen::default());
    let tell = |so_far: SoFar| {
        if !job.cancel.is_cancelled() {
            told(bench, job, &loaded, &mut seen.lock().unwrap_or_else(PoisonError::into_inner), so_far);
        }
    };
    match build_telling(&loaded.inputs, memory, &monitor, &tell) {
        Ok(outcome) => {
            let outcome = Arc::new(outcome);
            let store = bench.desk().store.clone();
            if let Some((_, store)) = store {
                super::steps::keep_plan(&store, &outcome);
            }
            bench.take(job, Stage::All, true, |shown| {
                shown.scene = Arc::new(Scene::clone(&shown.scene).with_ways(&outcome));
                shown.scene_build = job.build;
                shown.outcome = Some((job.build, outcome));
            });
            Ended::Done
        }
        Err(refusal) => match reasons(&loaded, &refusal) {
            Some(found) => Ended::Trouble(refused(&found, &loaded.text)),
            None => Ended::Stopped,
        },
    }
}

/// What later stages of a build show, and need of earlier ones.
#[derive(Default)]
struct Seen {
    shape: Option<Scene>,
    pixels: Vec<prop::outcome::Pixel>,
    bodies: Vec<prop::outcome::Body>,
    /// Of the pieces.
    tracks: Vec<Track>,
}

fn told(bench: &Workbench, job: &Job, loaded: &Loaded, seen: &mut Seen, so_far: SoFar) {
    let project = &loaded.inputs.project;
    let before = bench.desk().shown.meshes.clone();
    match so_far {
        SoFar::Read(bodies, length_mm) => {
            // Better than nothing, and only that.
            bench.preview(job, |shown| {
                if shown.scene.shows == Shows::Nothing {
                    let (scene, meshes) = Scene::as_read(bodies, length_mm, project.wearer_mm);
                    shown.scene = Arc::new(scene);
                    shown.meshes.extend(meshes);
                }
            });
        }
        SoFar::Shape(placed, views) => {
            let (scene, meshes) = Scene::of_shape(placed, views, project.wearer_mm, &before);
            seen.shape = Some(scene.clone());
            seen.bodies = placed
                .bodies
                .iter()
                .map(|b| prop::outcome::Body { mesh: solid::Mesh::default(), ..b.clone() })
                .collect();
            bench.take(job, Stage::Shape, true, |shown| {
                shown.project = Some(Arc::new(project.clone()));
                // Pieces stay until there are others.
                if shown.scene.shows != Shows::Pieces {
                    shown.scene = Arc::new(scene);
                    shown.scene_build = job.build;
                }
                shown.meshes.extend(meshes);
            });
        }
        SoFar::Geometry(made) => {
            let Some(shape) = seen.shape.clone() else { return };
            let (scene, meshes) = shape.with_pieces(&made, &project.cuts, &before);
            seen.tracks = tracks::of_geometry(&made);
            seen.pixels = made.inside.rail.as_ref().map_or_else(Vec::new, |r| r.pixels.clone());
            let drawn = meshes.clone();
            bench.take(job, Stage::Geometry, true, |shown| {
                // What was shown until now may still be on its way to a page.
                let old = shown.meshes.only(&shown.scene.names());
                let mut all = shown.meshes.only(&scene.names());
                all.extend(meshes);
                all.extend(old);
                shown.meshes = all;
                shown.scene = Arc::new(scene);
                shown.scene_build = job.build;
                put(shown, Stage::Geometry, job.build, seen.tracks.clone());
            });
            // They will be asked for at once: what comes next can wait for them.
            drawn.draw();
        }
        SoFar::Print(made, printed) => {
            let reach = tracks::cuts(&made, Some(printed));
            let all = seen.tracks.drain(..).map(|t| if t.id == reach.id { reach.clone() } else { t }).collect();
            let solidness = tracks::solidness(&made);
            bench.take(job, Stage::Print, true, |shown| {
                shown.scene = Arc::new(Scene::clone(&shown.scene).with_print(printed));
                put(shown, Stage::Geometry, job.build, all);
                put(shown, Stage::Print, job.build, vec![solidness]);
            });
        }
        SoFar::Light(light) => {
            let strips = seen.pixels.iter().map(|p| p.strip).max().unwrap_or(0) as usize;
            let found =
                light.map(|l| (Arc::new(light::shown(l, &seen.bodies, strips, job.build)), tracks::of_light(l)));
            bench.take(job, Stage::Light, found.is_some(), |shown| {
                let (light, tracks) = found.unzip();
                shown.light = light;
                put(shown, Stage::Light, job.build, tracks.unwrap_or_default());
            });
        }
        SoFar::Strength(strength) => {
            let tracks = strength.map(tracks::of_strength);
            bench.take(job, Stage::Strength, tracks.is_some(), |shown| {
                put(shown, Stage::Strength, job.build, tracks.unwrap_or_default());
            });
        }
        SoFar::Power(power) => {
            let tracks = power.map(|p| tracks::of_power(p, &seen.pixels));
            bench.take(job, Stage::Power, tracks.is_some(), |shown| {
                put(shown, Stage::Power, job.build, tracks.unwrap_or_default());
            });
        }
    }
}

/// Puts a stage's tracks in the place of those that it had.
fn put(shown: &mut Shown, stage: Stage, build: u64, tracks: Vec<Track>) {
    shown.tracks.retain(|t| t.stage != stage);
    shown.tracks.extend(tracks.into_iter().map(|mut track| {
        track.build = build;
        track
    }));
    shown.tracks.sort_by_key(|t| tracks::ORDER.iter().position(|id| *id == t.id));
}
