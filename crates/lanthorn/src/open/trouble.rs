//! What hinders a build, with its place in the project file: what the page shows until it is mended.

use crate::load::{LEARNT, Unread};
use prop::diagnostic::{Diagnostic, Diagnostics};
use serde::Serialize;

/// What is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
pub(crate) enum TroubleKind {
    /// The project file cannot be read.
    File,
    /// It is no TOML.
    Toml,
    /// It says what cannot be.
    Project,
    /// What was learnt says what cannot be.
    Learnt,
    /// The mesh cannot be read.
    Mesh,
    /// Another file beside the project cannot be read.
    Beside,
    /// The shape cannot be built.
    Shape,
}

/// One thing that is wrong, with its place in the project file where it has one.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Trouble {
    kind: TroubleKind,
    /// The file that the place is in, where it is not the project's own.
    file: Option<&'static str>,
    key: Option<String>,
    line: Option<usize>,
    column: Option<usize>,
    length: Option<usize>,
    /// The line itself.
    source: Option<String>,
    message: String,
    help: String,
}

impl Trouble {
    /// Something without a place in the project file.
    pub(crate) fn of(kind: TroubleKind, message: String, help: &str) -> Trouble {
        let help = help.to_owned();
        Trouble { kind, file: None, key: None, line: None, column: None, length: None, source: None, message, help }
    }

    fn at(kind: TroubleKind, found: &Diagnostic, text: &str) -> Trouble {
        let place = found.place(text);
        let kind = if found.key == "shape.file" { TroubleKind::Mesh } else { kind };
        Trouble {
            kind,
            file: None,
            key: Some(found.key.clone()).filter(|k| !k.is_empty()),
            line: place.as_ref().map(|p| p.line),
            column: place.as_ref().map(|p| p.column),
            length: place.as_ref().map(|p| p.width),
            source: place.map(|p| p.text),
            message: found.message.clone(),
            help: found.help.clone(),
        }
    }
}

/// Mistakes in the project file.
pub(crate) fn mistakes(found: &Diagnostics, text: &str) -> Vec<Trouble> {
    found
        .0
        .iter()
        .map(|one| Trouble::at(if one.key.is_empty() { TroubleKind::Toml } else { TroubleKind::Project }, one, text))
        .collect()
}

/// Why nothing could be built of it.
pub(crate) fn refused(found: &Diagnostics, text: &str) -> Vec<Trouble> {
    found.0.iter().map(|one| Trouble::at(TroubleKind::Shape, one, text)).collect()
}

/// Why it could not be read.
pub(crate) fn unread(unread: &Unread) -> Vec<Trouble> {
    match unread {
        Unread::Mistakes { text, all, .. } => mistakes(all, text),
        Unread::Learnt { text, all, .. } => {
            let told = all.0.iter().map(|one| Trouble::at(TroubleKind::Learnt, one, text));
            told.map(|trouble| Trouble { file: Some(LEARNT), ..trouble }).collect()
        }
        Unread::Mesh(error) => vec![beside(TroubleKind::Mesh, error)],
        Unread::Beside(error) => vec![beside(TroubleKind::Beside, error)],
    }
}

fn beside(kind: TroubleKind, error: &anyhow::Error) -> Trouble {
    Trouble::of(kind, format!("{error:#}"), "mend or replace the file: the page goes on by itself")
}

impl Trouble {
    /// Whether it is of a kind.
    pub(crate) fn is_of(&self, kind: TroubleKind) -> bool {
        self.kind == kind
    }
}
