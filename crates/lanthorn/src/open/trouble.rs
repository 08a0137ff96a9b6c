//! What hinders a build, with its place in the project file: what the page shows until it is mended.

use crate::load::Unread;
use prop::diagnostic::{Diagnostic, Diagnostics};
use serde::Serialize;

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Trouble {
    /// `file`, `toml`, `project`, `mesh` or `shape`.
    kind: &'static str,
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
    pub(crate) fn of(kind: &'static str, message: String, help: &str) -> Trouble {
        let help = help.to_owned();
        Trouble { kind, key: None, line: None, column: None, length: None, source: None, message, help }
    }

    fn at(kind: &'static str, found: &Diagnostic, text: &str) -> Trouble {
        let place = found.place(text);
        let kind = if found.key == "shape.file" { "mesh" } else { kind };
        Trouble {
            kind,
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
    found.0.iter().map(|one| Trouble::at(if one.key.is_empty() { "toml" } else { "project" }, one, text)).collect()
}

/// Why nothing could be built of it.
pub(crate) fn refused(found: &Diagnostics, text: &str) -> Vec<Trouble> {
    found.0.iter().map(|one| Trouble::at("shape", one, text)).collect()
}

/// Why it could not be read.
pub(crate) fn unread(unread: &Unread) -> Vec<Trouble> {
    match unread {
        Unread::Mistakes { text, all, .. } => mistakes(all, text),
        Unread::Beside(error) => {
            vec![Trouble::of("mesh", format!("{error:#}"), "mend or replace the file: the page goes on by itself")]
        }
    }
}

impl Trouble {
    /// Whether it is of a kind.
    pub(crate) fn is_of(&self, kind: &str) -> bool {
        self.kind == kind
    }
}
