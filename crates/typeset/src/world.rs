//! The desk at which the library works: a manuscript and fonts, and nothing beyond.

use crate::{MAIN, Manuscript, Mistake, fonts, legible};
use std::collections::BTreeMap;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World, WorldExt};

/// Path of the few lines that the crate itself puts before the main text.
const OPENING: &str = "opening.typ";

pub(crate) struct Desk {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    opening: Source,
    /// By path without the slash in front.
    files: BTreeMap<String, Bytes>,
}

impl Desk {
    pub(crate) fn new(manuscript: &Manuscript) -> Desk {
        let fonts = fonts::all();
        let path = VirtualPath::new(OPENING).expect("a plain name is a path");
        let id = RootedPath::new(VirtualRoot::Project, path).intern();
        let files = manuscript.files.iter().map(|(path, bytes)| {
            let bytes = match std::str::from_utf8(bytes) {
                Ok(text) => Bytes::from_string(legible(text)),
                Err(_) => Bytes::new(bytes.clone()),
            };
            (path.trim_start_matches('/').to_owned(), bytes)
        });
        let main = (MAIN.to_owned(), Bytes::from_string(legible(&manuscript.main)));
        Desk {
            library: LazyHash::new(Library::default()),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            files: files.chain([main]).collect(),
            opening: Source::new(id, legible(&manuscript.opening())),
            fonts,
        }
    }

    /// What the library says, with its place.
    pub(crate) fn mistake(&self, said: &SourceDiagnostic) -> Mistake {
        let id = said.span.id();
        let line = id.and_then(|id| {
            let at = self.range(said.span)?.start;
            let text = self.file(id).ok()?;
            Some(text.iter().take(at).filter(|b| **b == b'\n').count() + 1)
        });
        let hints: String = said.hints.iter().map(|h| format!(" ({})", h.v)).collect();
        Mistake {
            file: id.map(|id| id.get().vpath().get_without_slash().to_owned()),
            line,
            message: format!("{}{hints}", said.message),
        }
    }
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.book
    }

    fn main(&self) -> FileId {
        self.opening.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.opening.id() {
            return Ok(self.opening.clone());
        }
        let bytes = self.file(id)?;
        let text = bytes.as_str().map_err(|_| FileError::InvalidUtf8)?;
        Ok(Source::new(id, text.to_owned()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let path = id.get();
        let known = match path.root() {
            VirtualRoot::Project => self.files.get(path.vpath().get_without_slash()),
            VirtualRoot::Package(_) => None,
        };
        known.cloned().ok_or_else(|| FileError::NotFound(path.vpath().get_without_slash().into()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.fonts.get(index).cloned()
    }

    /// A document knows no day but those its text names.
    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}
