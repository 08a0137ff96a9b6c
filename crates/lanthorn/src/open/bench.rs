//! The workbench's own state: the open project, what is shown of it, and who waits for news.

use super::edit::Edit;
use super::fault::Fault;
use super::light::LightShown;
use super::mesh::Meshes;
use super::pairing::Pairing;
use super::rehearsal::Rehearsals;
use super::scene::Scene;
use super::session::{By, Changed, Session, Told, unreadable};
use super::stage::{Stage, StageShown, Stages};
use super::start::Uploads;
use super::steps::Store;
use super::tracks::Track;
use super::trouble::{Trouble, TroubleKind};
use crate::load::{Stamp, beside, stamp};
use prop::outcome::Outcome;
use prop::project::Project;
use serde::Serialize;
use solid::Cancel;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Instant;
use tokio::sync::broadcast;

/// News that a slow page may lag behind before it has to fetch everything anew.
const NEWS: usize = 256;

/// Something that pages are told: kind and JSON.
#[derive(Clone, Debug)]
pub(crate) struct News {
    pub(crate) kind: &'static str,
    pub(crate) data: String,
}

/// Everything that requests share.
pub(crate) struct Workbench {
    /// Folder in which a new project is begun.
    pub(crate) folder: PathBuf,
    /// Whether other machines are listened to.
    pub(crate) lan: bool,
    pub(crate) pairing: Pairing,
    pub(crate) rehearsals: Rehearsals,
    pub(crate) uploads: Uploads,
    desk: Mutex<Desk>,
    wanted: Condvar,
    news: broadcast::Sender<News>,
}

/// What lies on the workbench.
pub(crate) struct Desk {
    pub(crate) session: Option<Session>,
    /// The newest build: asked for, or at work.
    pub(crate) build: u64,
    begun: u64,
    cancel: Cancel,
    working: bool,
    progress: Option<(String, f64, Instant)>,
    pub(crate) stages: Stages,
    trouble: Vec<Trouble>,
    /// Files beside the project file, as they were when they were last read.
    beside: Vec<(PathBuf, Stamp)>,
    pub(crate) shown: Shown,
    /// What was ticked, with the file that it is kept in, once anything was.
    pub(crate) store: Option<(PathBuf, Arc<Store>)>,
    /// The version of that.
    pub(crate) steps: u64,
}

/// The last good results.
pub(crate) struct Shown {
    pub(crate) scene: Arc<Scene>,
    pub(crate) scene_build: u64,
    pub(crate) meshes: Meshes,
    pub(crate) light: Option<Arc<LightShown>>,
    pub(crate) tracks: Vec<Track>,
    pub(crate) project: Option<Arc<Project>>,
    pub(crate) outcome: Option<(u64, Arc<Outcome>)>,
}

impl Shown {
    fn nothing() -> Shown {
        Shown {
            scene: Arc::new(Scene::empty()),
            scene_build: 0,
            meshes: Meshes::default(),
            light: None,
            tracks: Vec::new(),
            project: None,
            outcome: None,
        }
    }
}

/// A build to be done.
pub(crate) struct Job {
    pub(crate) build: u64,
    pub(crate) path: PathBuf,
    pub(crate) text: String,
    pub(crate) cancel: Cancel,
}

/// Whether a project is open.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
enum Mode {
    Project,
    Start,
}

/// News that a stage has come to something.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct StageNews {
    build: u64,
    name: Stage,
}

/// The state as it is told.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "State"))]
pub(crate) struct StateShown<'a> {
    version: &'static str,
    mode: Mode,
    file: Option<String>,
    folder: Option<String>,
    revision: Option<&'a str>,
    undo: Vec<Told>,
    redo: Vec<Told>,
    changed_by: Option<By>,
    build: u64,
    working: bool,
    progress: Option<ProgressShown<'a>>,
    stages: [StageShown; 7],
    trouble: &'a [Trouble],
    steps: u64,
    sharing: Sharing,
}

/// How far a build is.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Progress"))]
pub(crate) struct ProgressShown<'a> {
    build: u64,
    doing: &'a str,
    done: f64,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Sharing {
    lan: bool,
    here: bool,
}

impl Workbench {
    pub(crate) fn new(folder: PathBuf, session: Option<Session>, lan: bool) -> Workbench {
        let desk = Desk {
            build: u64::from(session.is_some()),
            session,
            begun: 0,
            cancel: Cancel::default(),
            working: false,
            progress: None,
            stages: Stages::default(),
            trouble: Vec::new(),
            beside: Vec::new(),
            shown: Shown::nothing(),
            store: None,
            steps: 0,
        };
        let (news, _) = broadcast::channel(NEWS);
        Workbench {
            folder,
            lan,
            pairing: Pairing::default(),
            rehearsals: Rehearsals::default(),
            uploads: Uploads::default(),
            desk: Mutex::new(desk),
            wanted: Condvar::new(),
            news,
        }
    }

    /// The desk, for a moment: nothing long is done while it is held.
    pub(crate) fn desk(&self) -> MutexGuard<'_, Desk> {
        self.desk.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub(crate) fn listen(&self) -> broadcast::Receiver<News> {
        self.news.subscribe()
    }

    /// Tells plain data, which always becomes JSON.
    pub(crate) fn tell_that(&self, kind: &'static str, told: &impl Serialize) {
        self.tell(kind, serde_json::to_string(told).unwrap_or_default());
    }

    fn tell(&self, kind: &'static str, data: String) {
        // Nobody listening is no fault.
        let _ = self.news.send(News { kind, data });
    }

    /// The state as JSON; `here` is whether who asks is this machine.
    pub(crate) fn state(&self, desk: &Desk, here: bool) -> String {
        let session = desk.session.as_ref();
        let name = |p: &Path| p.file_name().map(|n| n.to_string_lossy().into_owned());
        let [undo, redo] = session.map(Session::steps).unwrap_or_default();
        let state = StateShown {
            version: env!("CARGO_PKG_VERSION"),
            mode: if session.is_some() { Mode::Project } else { Mode::Start },
            file: session.and_then(|s| name(s.path())),
            folder: session.and_then(|s| name(s.folder())),
            revision: session.map(Session::revision),
            undo,
            redo,
            changed_by: session.map(Session::by),
            build: desk.build,
            working: desk.working || desk.build > desk.begun,
            progress: desk.progress.as_ref().map(|(doing, done, _)| ProgressShown {
                build: desk.begun,
                doing,
                done: *done,
            }),
            stages: desk.stages.shown(),
            trouble: &desk.trouble,
            steps: desk.steps,
            sharing: Sharing { lan: self.lan, here },
        };
        // Plain data always becomes JSON.
        serde_json::to_string(&state).unwrap_or_default()
    }

    fn tell_state(&self, desk: &Desk) {
        self.tell("state", self.state(desk, true));
    }

    /// Changes the project by `work`, has it built anew, and tells everybody.
    pub(crate) fn change(&self, work: impl FnOnce(&mut Session) -> Result<Changed, Fault>) -> Result<Changed, Fault> {
        let mut desk = self.desk();
        let session = desk.session.as_mut().ok_or_else(Fault::no_project)?;
        let before = session.revision().to_owned();
        let changed = work(session);
        // Even what was refused may have found that the file was edited outside.
        if session.revision() != before {
            self.ask(&mut desk);
        }
        changed
    }

    /// Puts values into the project.
    pub(crate) fn edit(&self, base: &str, edits: &[Edit]) -> Result<Changed, Fault> {
        self.change(|session| session.change(base, edits))
    }

    /// Opens a project in place of what was open.
    pub(crate) fn open(&self, session: Session) {
        let mut desk = self.desk();
        desk.session = Some(session);
        desk.stages = Stages::default();
        desk.shown = Shown::nothing();
        desk.trouble.clear();
        desk.store = None;
        desk.steps = 0;
        self.ask(&mut desk);
    }

    /// Has the project built as it is now; what is at work is stopped, since it is of an older text.
    pub(crate) fn ask(&self, desk: &mut Desk) -> u64 {
        desk.cancel.cancel();
        desk.build += 1;
        desk.stages.age();
        self.wanted.notify_all();
        self.tell_state(desk);
        desk.build
    }

    /// Stops what is at work, and does not begin it anew.
    pub(crate) fn cancel(&self) -> u64 {
        let mut desk = self.desk();
        desk.cancel.cancel();
        desk.begun = desk.build;
        desk.stages.stop();
        self.tell_state(&desk);
        desk.build
    }

    /// Waits until something is to be built.
    pub(crate) fn next(&self) -> Job {
        let mut desk = self.desk();
        loop {
            if desk.build > desk.begun
                && let Some(session) = &desk.session
            {
                let (path, text) = (session.path().to_owned(), session.text().to_owned());
                desk.beside = stamps(&path, &text);
                let cancel = Cancel::default();
                desk.cancel = cancel.clone();
                desk.begun = desk.build;
                desk.working = true;
                desk.progress = None;
                desk.stages.begin();
                self.tell_state(&desk);
                return Job { build: desk.build, path, text, cancel };
            }
            desk = self.wanted.wait(desk).unwrap_or_else(PoisonError::into_inner);
        }
    }

    /// Takes up what a build has come to, unless a newer one was asked for meanwhile.
    pub(crate) fn take(&self, job: &Job, stage: Stage, there: bool, put: impl FnOnce(&mut Shown)) {
        let mut desk = self.desk();
        if job.cancel.is_cancelled() {
            return;
        }
        put(&mut desk.shown);
        desk.stages.done(stage, job.build, there);
        if stage == Stage::Shape {
            desk.trouble.clear();
        }
        self.tell_state(&desk);
        self.tell_stage(job, stage);
    }

    /// Takes up what can be shown of the shape before it is worked out.
    pub(crate) fn preview(&self, job: &Job, put: impl FnOnce(&mut Shown)) {
        let mut desk = self.desk();
        if !job.cancel.is_cancelled() {
            put(&mut desk.shown);
            self.tell_stage(job, Stage::Shape);
        }
    }

    fn tell_stage(&self, job: &Job, stage: Stage) {
        self.tell_that("stage", &StageNews { build: job.build, name: stage });
    }

    /// How far a build is.
    pub(crate) fn progress(&self, job: &Job, doing: &str, done: f64) {
        let mut desk = self.desk();
        if job.cancel.is_cancelled() {
            return;
        }
        let now = Instant::now();
        let soon = desk
            .progress
            .as_ref()
            .is_some_and(|(was, _, at)| was == doing && now.duration_since(*at).as_millis() < 100);
        if soon {
            return;
        }
        desk.progress = Some((doing.to_owned(), done, now));
        let told = ProgressShown { build: job.build, doing, done };
        self.tell_that("progress", &told);
    }

    /// A build is over: with trouble, stopped, or done.
    pub(crate) fn over(&self, job: &Job, ended: Ended) {
        let mut desk = self.desk();
        desk.working = false;
        desk.progress = None;
        if !job.cancel.is_cancelled() {
            match ended {
                Ended::Done => desk.trouble.clear(),
                Ended::Stopped => desk.stages.stop(),
                Ended::Trouble(trouble) => {
                    desk.stages.fail();
                    desk.trouble = trouble;
                }
            }
        }
        self.tell_state(&desk);
    }

    /// Looks whether the project file or what lies beside it was changed outside, and has it built anew.
    pub(crate) fn watch(&self) {
        let mut desk = self.desk();
        let Some(session) = desk.session.as_mut() else { return };
        match session.look() {
            Ok(false) => {
                let found = stamps(session.path(), session.text());
                let lost = desk.trouble.iter().any(|t| t.is_of(TroubleKind::File));
                if found != desk.beside || lost {
                    desk.beside = found;
                    self.ask(&mut desk);
                }
            }
            Ok(true) => {
                self.ask(&mut desk);
            }
            Err(error) => {
                let trouble = vec![unreadable(&error)];
                if desk.trouble != trouble {
                    desk.trouble = trouble;
                    self.tell_state(&desk);
                }
            }
        }
    }
}

/// How a build ended.
pub(crate) enum Ended {
    Done,
    Stopped,
    Trouble(Vec<Trouble>),
}

/// The files beside a project that it is built from, each as it is now.
fn stamps(path: &Path, text: &str) -> Vec<(PathBuf, Stamp)> {
    beside(path, text).into_iter().map(|file| (file.clone(), stamp(&file))).collect()
}
