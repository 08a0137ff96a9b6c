//! What can be wrong with a file: what, where, and the way out.

use super::Format;
use std::fmt;

/// Where in a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// Byte offset from the start of the file.
    Byte(u64),
    /// Line number, from 1.
    Line(u64),
    /// A part inside the file: an archive's entry with a byte offset in it, or a path in a header.
    Part(String),
    /// The file as a whole.
    Whole,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Place::Byte(at) => write!(f, "byte {at}"),
            Place::Line(line) => write!(f, "line {line}"),
            Place::Part(part) => f.write_str(part),
            Place::Whole => f.write_str("the file"),
        }
    }
}

/// Why a file gives no shape. Every message says what, where and what to do.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ReadError {
    /// The file ends too early, or a count is larger than the file can hold.
    #[error(
        "{format}, {place}: {what} need {needed} bytes and {left} are left; the file was cut short or its count is wrong: copy or export it again"
    )]
    Short {
        /// What was being read.
        format: Format,
        /// Where.
        place: Place,
        /// What is missing, in the plural.
        what: String,
        /// Bytes it takes.
        needed: u64,
        /// Bytes there are.
        left: u64,
    },
    /// Something other than expected stands here.
    #[error("{format}, {place}: expected {expected}, found {found}; export the file again, or mend it by hand")]
    Unexpected {
        /// What was being read.
        format: Format,
        /// Where.
        place: Place,
        /// What belongs here.
        expected: String,
        /// What stands here, shortened.
        found: String,
    },
    /// A coordinate is no finite number or absurdly large.
    #[error(
        "{format}, {place}: vertex {vertex} has the coordinate {value}; remove or move that vertex in the modelling program and export again"
    )]
    Coordinate {
        /// What was being read.
        format: Format,
        /// Where.
        place: Place,
        /// Number of the vertex in its list, from 1.
        vertex: u64,
        /// The coordinate as read.
        value: f64,
    },
    /// A face names a vertex that doesn't exist.
    #[error("{format}, {place}: a face uses vertex {index}, and there are {count}; export the file again")]
    NoSuchVertex {
        /// What was being read.
        format: Format,
        /// Where.
        place: Place,
        /// Vertex as written in the file.
        index: i64,
        /// How many vertices there are.
        count: u64,
    },
    /// A legal file that uses what isn't read here.
    #[error("{format}, {place}: {what} can't be read; {advice}")]
    Unsupported {
        /// What was being read.
        format: Format,
        /// Where.
        place: Place,
        /// The feature.
        what: String,
        /// What to do.
        advice: &'static str,
    },
    /// The content would grow far beyond the file.
    #[error(
        "{format}, {place}: {what} grow beyond {limit}, out of proportion for this file; merge the copies in the modelling program, or export without them"
    )]
    TooLarge {
        /// What was being read.
        format: Format,
        /// Where.
        place: Place,
        /// What grows, in the plural.
        what: &'static str,
        /// How many are allowed.
        limit: u64,
    },
    /// There are no faces in it.
    #[error(
        "{format}: the file has no faces; check that the object is visible and selected when exporting, and that it is a mesh, not a curve or a point cloud"
    )]
    NoFaces {
        /// What was being read.
        format: Format,
    },
}

/// Text from a file made fit for a message: short and printable.
pub(super) fn shown(text: &[u8]) -> String {
    const LONGEST: usize = 40;
    if text.is_empty() {
        return "nothing".into();
    }
    let short: String = String::from_utf8_lossy(&text[..text.len().min(LONGEST)])
        .chars()
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect();
    format!("\"{short}{}\"", if text.len() > LONGEST { "..." } else { "" })
}
