//! The project's text: the file on disk is the one source; every change of it can be undone.

use super::edit::{Edit, clashes, edited};
use super::fault::Fault;
use super::trouble::{Trouble, TroubleKind, mistakes};
use crate::load::{Stamp, digest, read_text, stamp};
use anyhow::{Context, Result};
use prop::catalogue::Catalogue;
use prop::project::{Project, SoundSource, parse};
use serde::Serialize;
use std::collections::VecDeque;
use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};

/// Changes that can be undone, and texts that are remembered to tell conflicts by.
const STEPS: usize = 200;

/// Who changed the text last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "ChangedBy"))]
#[serde(rename_all = "lowercase")]
pub(crate) enum By {
    Start,
    Page,
    File,
    Undo,
}

/// A change, with the whole text on both sides of it.
#[derive(Clone, Debug)]
struct Step {
    what: String,
    before: String,
    after: String,
}

/// An open project.
pub(crate) struct Session {
    /// The project file, every link followed.
    path: PathBuf,
    text: String,
    revision: String,
    seen: Stamp,
    by: By,
    undo: Vec<Step>,
    redo: Vec<Step>,
    /// Revisions with their texts, newest last.
    known: VecDeque<(String, String)>,
}

/// A change as it is told.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Changed {
    /// The text's name now.
    pub(crate) revision: String,
    /// What was changed.
    pub(crate) told: Vec<String>,
}

/// A step in a list of what can be undone.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Step"))]
pub(crate) struct Told {
    what: String,
}

fn revision_of(text: &str) -> String {
    digest([text.as_bytes()])[..16].to_owned()
}

impl Session {
    /// Opens the project file, whatever is in it.
    pub(crate) fn open(path: &Path) -> Result<Session> {
        let path = fs::canonicalize(path)
            .with_context(|| format!("{} is not there; start a project with: lanthorn new", path.display()))?;
        let seen = stamp(&path);
        let text = read_text(&path, "look at its rights")?;
        let revision = revision_of(&text);
        let known = VecDeque::from([(revision.clone(), text.clone())]);
        Ok(Session { path, text, revision, seen, by: By::Start, undo: Vec::new(), redo: Vec::new(), known })
    }

    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// The folder that the project lies in.
    pub(crate) fn folder(&self) -> &Path {
        self.path.parent().unwrap_or(Path::new("."))
    }

    pub(crate) fn text(&self) -> &str {
        &self.text
    }

    pub(crate) fn revision(&self) -> &str {
        &self.revision
    }

    pub(crate) fn by(&self) -> By {
        self.by
    }

    /// What can be undone and what can be done again, newest last.
    pub(crate) fn steps(&self) -> [Vec<Told>; 2] {
        [&self.undo, &self.redo].map(|steps| steps.iter().map(|s| Told { what: s.what.clone() }).collect())
    }

    /// Takes up what was edited outside; whether anything was.
    ///
    /// # Errors
    /// The file cannot be read; the text stays as it was.
    pub(crate) fn look(&mut self) -> Result<bool> {
        let now = stamp(&self.path);
        if now.is_some() && now == self.seen {
            return Ok(false);
        }
        self.read()
    }

    /// The same, whatever the file's time says.
    fn read(&mut self) -> Result<bool> {
        let now = stamp(&self.path);
        let text = read_text(&self.path, "put it back, or open another project")?;
        self.seen = now;
        if text == self.text {
            return Ok(false);
        }
        self.push("edited in another program".to_owned(), text);
        self.by = By::File;
        Ok(true)
    }

    /// Puts values into the text and writes the file.
    ///
    /// # Errors
    /// Conflicts, keys that are none, and texts that would not read as a project any more.
    pub(crate) fn change(&mut self, base: &str, edits: &[Edit]) -> Result<Changed, Fault> {
        self.read()?;
        if base != self.revision {
            let before = self.known.iter().find(|(name, _)| name == base).map(|(_, text)| text.as_str());
            let found = clashes(before, &self.text, edits);
            if !found.is_empty() {
                return Err(self.conflict().with(|more| more.conflicts = Some(found)));
            }
        }
        let (text, told) = edited(&self.text, edits)
            .map_err(|why| Fault::new(422, "key", why, "name a key of the project file, such as body.blade.wall"))?;
        self.put(text, told.join(", "), told)
    }

    /// Replaces the whole text.
    ///
    /// # Errors
    /// As [`Session::change`].
    pub(crate) fn replace(&mut self, base: &str, text: String) -> Result<Changed, Fault> {
        self.read()?;
        if base != self.revision {
            return Err(self.conflict().with(|more| more.theirs = Some(self.text.clone())));
        }
        self.put(text, "the whole text".to_owned(), vec!["the whole text".to_owned()])
    }

    fn put(&mut self, text: String, what: String, told: Vec<String>) -> Result<Changed, Fault> {
        let read = parse(&text, &Catalogue::built_in()).map_err(|found| {
            Fault::new(
                422,
                "project",
                "with this the project would not read any more; nothing was written",
                "correct what is said of each place",
            )
            .with(|more| more.trouble = Some(mistakes(&found, &text)))
        })?;
        let before = parse(&self.text, &Catalogue::built_in()).map_or_else(|_| Vec::new(), |p| files_of(&p));
        for file in files_of(&read).into_iter().filter(|file| !before.contains(file)) {
            if !self.is_within(&file) {
                return Err(Fault::new(
                    422,
                    "outside",
                    format!("{file} lies outside the project's folder"),
                    "put the file into the folder, and name it there",
                ));
            }
        }
        if text != self.text {
            self.write(&text)?;
            self.push(what, text);
            self.by = By::Page;
        }
        Ok(Changed { revision: self.revision.clone(), told })
    }

    /// Whether a file that the project names lies in its folder, every link followed.
    fn is_within(&self, file: &str) -> bool {
        let path = self.folder().join(file);
        let real = fs::canonicalize(&path).or_else(|_| {
            // What is not there yet lies where its folder does.
            let folder = path.parent().map(fs::canonicalize).unwrap_or_else(|| Ok(PathBuf::new()));
            folder.and_then(|f| path.file_name().map(|n| f.join(n)).ok_or_else(|| std::io::ErrorKind::NotFound.into()))
        });
        real.is_ok_and(|real| real.starts_with(self.folder()))
    }

    /// Goes back one change, or does the last undone one again.
    ///
    /// # Errors
    /// A conflict when the page has not seen the present text; nothing to undo; the file cannot be written.
    pub(crate) fn step(&mut self, base: &str, back: bool) -> Result<Changed, Fault> {
        self.read()?;
        if base != self.revision {
            return Err(self.conflict());
        }
        let from = if back { &mut self.undo } else { &mut self.redo };
        let Some(step) = from.pop() else {
            let word = if back { "undo" } else { "do again" };
            return Err(Fault::new(409, "nothing", format!("there is nothing to {word}"), ""));
        };
        let text = if back { &step.before } else { &step.after }.clone();
        if let Err(error) = self.write(&text) {
            if back { &mut self.undo } else { &mut self.redo }.push(step);
            return Err(error.into());
        }
        let told = vec![step.what.clone()];
        if back { &mut self.redo } else { &mut self.undo }.push(step);
        self.adopt(text);
        self.by = By::Undo;
        Ok(Changed { revision: self.revision.clone(), told })
    }

    fn conflict(&self) -> Fault {
        Fault::new(
            409,
            "conflict",
            "this was changed since the page showed it",
            "look at both values, and send yours again if you want it",
        )
        .with(|more| more.revision = Some(self.revision.clone()))
    }

    fn push(&mut self, what: String, text: String) {
        let before = std::mem::take(&mut self.text);
        self.undo.push(Step { what, before, after: text.clone() });
        if self.undo.len() > STEPS {
            self.undo.remove(0);
        }
        self.redo.clear();
        self.adopt(text);
    }

    fn adopt(&mut self, text: String) {
        self.revision = revision_of(&text);
        self.text = text;
        self.known.retain(|(name, _)| *name != self.revision);
        self.known.push_back((self.revision.clone(), self.text.clone()));
        if self.known.len() > STEPS {
            self.known.pop_front();
        }
    }

    /// Writes the file, whole or not at all.
    fn write(&mut self, text: &str) -> Result<()> {
        write_whole(&self.path, text.as_bytes())?;
        self.seen = stamp(&self.path);
        Ok(())
    }
}

/// Writes a file whole or not at all, and on the disk before it returns.
pub(crate) fn write_whole(path: &Path, bytes: &[u8]) -> Result<()> {
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let draft = path.with_file_name(format!(".{name}.draft-{}", std::process::id()));
    let written = || -> std::io::Result<()> {
        let mut file = File::create(&draft)?;
        file.write_all(bytes)?;
        if let Ok(old) = fs::metadata(path) {
            file.set_permissions(old.permissions())?;
        }
        file.sync_all()?;
        fs::rename(&draft, path)?;
        // The name itself is on the disk when its folder is.
        path.parent().map_or(Ok(()), |folder| File::open(folder)?.sync_all())
    };
    let done = written();
    if done.is_err() {
        // What is left of the draft is of no use to anybody.
        let _ = fs::remove_file(&draft);
    }
    done.with_context(|| format!("{} cannot be written; it is as it was", path.display()))
}

/// The files that a project names.
fn files_of(project: &Project) -> Vec<String> {
    let sounds = project.conduct.iter().flat_map(|c| &c.sounds).filter_map(|s| match &s.source {
        SoundSource::File { path, .. } => Some(path.clone()),
        _ => None,
    });
    let recorded = project.power.iter().filter_map(|p| p.recorded.clone());
    std::iter::once(project.shape.file.clone()).chain(sounds).chain(recorded).collect()
}

/// What is wrong with the project file itself.
pub(crate) fn unreadable(error: &anyhow::Error) -> Trouble {
    Trouble::of(TroubleKind::File, format!("{error:#}"), "put the file back or mend it: the page goes on by itself")
}
