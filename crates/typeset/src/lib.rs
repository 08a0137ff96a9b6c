//! From marked-up text, drawings and pictures to tagged PDF.
//!
//! A [`Manuscript`] holds everything a document is made of; [`pdf`] lays it out and gives the file's bytes. The markup is
//! that of the typst library, which does the work ([decision 28](../../../docs/decisions/0028-print.md)).
//!
//! Guaranteed: the same manuscript gives the same bytes; nothing is read but the manuscript and the fonts in this crate;
//! the file is tagged and passes the library's checks for PDF/UA-1 (ISO 14289-1), so every picture needs an `alt` and
//! headings go down one level at a time; every font is embedded. Not guaranteed: that a page break falls well.
//!
//! Fonts: `Libertinus Serif` (regular, italic, semibold), the text font unless the markup sets another, also for text in
//! SVG drawings whatever family they name; `DejaVu Sans Mono`, for codes and for the signs that the first lacks.

mod fonts;
mod world;

use std::collections::BTreeMap;
use std::fmt;
use typst::diag::SourceDiagnostic;
use typst::foundations::Smart;
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};
use world::Desk;

/// What a document says of itself in its file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Facts {
    /// Shown by readers instead of the file's name. Not empty: PDF/UA-1 asks for it.
    pub title: String,
    /// Who made it; may be empty.
    pub authors: Vec<String>,
    /// What it is, in a sentence; may be empty.
    pub description: String,
    /// What it stays identified by from edition to edition, such as the hash of what it was made from.
    pub ident: String,
}

/// Everything a document is made of.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Manuscript {
    facts: Facts,
    main: String,
    files: BTreeMap<String, Vec<u8>>,
}

/// Path of the main text among the files, as mistakes name it.
pub const MAIN: &str = "main.typ";

impl Manuscript {
    /// A manuscript with its main text, in typst's markup.
    pub fn new(facts: Facts, main: impl Into<String>) -> Manuscript {
        Manuscript { facts, main: main.into(), files: BTreeMap::new() }
    }

    /// Adds a file that the markup can name by its path from the root: a module (`.typ`), data (`.json`), a drawing
    /// (`.svg`), a picture (`.png`). A second file of the same path takes the first one's place.
    pub fn add(&mut self, path: impl Into<String>, bytes: impl Into<Vec<u8>>) {
        self.files.insert(path.into(), bytes.into());
    }

    /// What stands before the main text: the document's facts.
    fn opening(&self) -> String {
        let f = &self.facts;
        let authors: String = f.authors.iter().map(|a| format!("{}, ", quoted(a))).collect();
        format!(
            "#set document(title: {}, author: ({authors}), description: {}, date: none)\n#include \"{MAIN}\"",
            quoted(&f.title),
            if f.description.is_empty() { "none".to_owned() } else { quoted(&f.description) },
        )
    }
}

/// A text as a literal of the markup.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

/// One thing that is wrong with a manuscript.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mistake {
    /// Path of the file it is in, where it is in one.
    pub file: Option<String>,
    /// Line of that file, from 1.
    pub line: Option<usize>,
    /// What is wrong, with what the library hints at.
    pub message: String,
}

impl fmt::Display for Mistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (&self.file, self.line) {
            (Some(file), Some(line)) => write!(f, "{file}, line {line}: {}", self.message),
            (Some(file), None) => write!(f, "{file}: {}", self.message),
            _ => write!(f, "{}", self.message),
        }
    }
}

/// Why a manuscript gave no document.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TypesetError {
    /// The markup could not be laid out, or only with doubts: an unknown file, a font that is not there, a page that never
    /// settles.
    #[error("the manuscript cannot be laid out: {}", listed(.0))]
    Layout(Vec<Mistake>),
    /// What was laid out is no document that everybody can read: no alternative text, a heading that skips a level.
    #[error("the document cannot be written: {}", listed(.0))]
    Export(Vec<Mistake>),
}

fn listed(mistakes: &[Mistake]) -> String {
    mistakes.iter().map(Mistake::to_string).collect::<Vec<_>>().join("; ")
}

/// `text` with every character that no font of this crate shows replaced by U+FFFD, the sign for such characters. [`pdf`]
/// does it to every text of a manuscript.
pub fn legible(text: &str) -> String {
    let fonts = fonts::all();
    let shown = |c: char| c.is_ascii() || fonts.iter().any(|f| f.info().coverage.contains(u32::from(c)));
    text.chars().map(|c| if shown(c) { c } else { '\u{fffd}' }).collect()
}

/// The document as a PDF file.
///
/// # Errors
///
/// [`TypesetError::Layout`] when the markup is wrong or names what is not there, [`TypesetError::Export`] when the document
/// breaks a rule of PDF/UA-1. Both hold every mistake, with its place.
pub fn pdf(manuscript: &Manuscript) -> Result<Vec<u8>, TypesetError> {
    let desk = Desk::new(manuscript);
    let mistakes = |found: &[SourceDiagnostic]| found.iter().map(|d| desk.mistake(d)).collect::<Vec<_>>();
    let laid_out = typst::compile::<PagedDocument>(&desk);
    let document = laid_out.output.map_err(|e| TypesetError::Layout(mistakes(&e)))?;
    if !laid_out.warnings.is_empty() {
        return Err(TypesetError::Layout(mistakes(&laid_out.warnings)));
    }
    let standards = PdfStandards::new(&[PdfStandard::Ua_1]).map_err(|e| {
        TypesetError::Export(vec![Mistake { file: None, line: None, message: e.message().to_string() }])
    })?;
    let options = PdfOptions {
        ident: Smart::Custom(manuscript.facts.ident.clone()),
        creator: Smart::Custom(Some("Lanthorn".to_owned())),
        standards,
        ..PdfOptions::default()
    };
    let bytes = typst_pdf::pdf(&document, &options).map_err(|e| TypesetError::Export(mistakes(&e)));
    // What the library remembers of this document helps no other.
    typst::comemo::evict(0);
    bytes
}

#[cfg(test)]
mod tests;
