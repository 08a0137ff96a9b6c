//! Lines and words of text formats.

use super::error::shown;
use super::{Format, Place, ReadError, checked};
use glam::DVec3;

/// The lines of a text, numbered from 1; a line ends with LF, CR or CR LF.
pub(super) struct Lines<'a> {
    rest: &'a [u8],
    number: u64,
    done: bool,
}

impl<'a> Lines<'a> {
    pub(super) fn new(text: &'a [u8]) -> Lines<'a> {
        Lines { rest: text.strip_prefix(b"\xef\xbb\xbf").unwrap_or(text), number: 0, done: false }
    }

    /// What follows the lines read so far.
    pub(super) fn rest(&self) -> &'a [u8] {
        self.rest
    }
}

impl<'a> Iterator for Lines<'a> {
    type Item = (u64, &'a [u8]);

    fn next(&mut self) -> Option<(u64, &'a [u8])> {
        if self.done {
            return None;
        }
        self.number += 1;
        let Some(end) = self.rest.iter().position(|b| matches!(b, b'\n' | b'\r')) else {
            self.done = true;
            return if self.rest.is_empty() { None } else { Some((self.number, std::mem::take(&mut self.rest))) };
        };
        let line = &self.rest[..end];
        let width = if self.rest[end..].starts_with(b"\r\n") { 2 } else { 1 };
        self.rest = &self.rest[end + width..];
        Some((self.number, line))
    }
}

/// The words of a line.
pub(super) fn words(line: &[u8]) -> impl Iterator<Item = &[u8]> {
    line.split(|b| b.is_ascii_whitespace()).filter(|w| !w.is_empty())
}

/// What a reader of words says when one is wrong.
#[derive(Clone, Copy)]
pub(super) struct Spot {
    pub(super) format: Format,
    pub(super) line: u64,
}

impl Spot {
    pub(super) fn place(self) -> Place {
        Place::Line(self.line)
    }

    pub(super) fn unexpected(self, expected: &str, found: &[u8]) -> ReadError {
        ReadError::Unexpected {
            format: self.format,
            place: self.place(),
            expected: expected.into(),
            found: shown(found),
        }
    }

    /// A number of any type that is written in decimal.
    pub(super) fn number<T: std::str::FromStr>(self, expected: &str, word: Option<&[u8]>) -> Result<T, ReadError> {
        let word = word.unwrap_or_default();
        std::str::from_utf8(word)
            .ok()
            .and_then(|text| text.strip_prefix('+').unwrap_or(text).parse().ok())
            .ok_or_else(|| self.unexpected(expected, word))
    }

    /// Three coordinates; `vertex` counts from 1.
    pub(super) fn point<'a>(self, vertex: u64, words: &mut impl Iterator<Item = &'a [u8]>) -> Result<DVec3, ReadError> {
        let mut at = [0.0; 3];
        for value in &mut at {
            *value = self.number("a coordinate", words.next())?;
        }
        checked(self.format, || self.place(), vertex, DVec3::from_array(at))
    }
}
