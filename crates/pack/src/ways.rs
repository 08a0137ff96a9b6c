//! `pieces/ways.json`: how covers, parts and lids are put in, pose by pose, for other programs to replay.

use crate::findings::written;
use crate::index::row_major;
use prop::outcome::{Outcome, Snap, Way, WayKind};
use serde::Serialize;

#[derive(Serialize)]
struct Ways<'a> {
    ways: Vec<Entry<'a>>,
}

#[derive(Serialize)]
struct Entry<'a> {
    kind: WayKind,
    name: &'a str,
    /// Number of the piece that moves; null for a part that is none.
    piece: Option<u32>,
    /// Rigid motions in the prop frame, 4 x 4 row by row, of the thing in its seat; the seat itself last.
    poses: Vec<[f64; 16]>,
    /// Pieces that are not there yet, or are taken off, while it moves.
    away: &'a [u32],
    /// Smallest distance to every other piece at every pose, mm; what comes near `snap` does not count.
    clearance_mm: f64,
    /// Where it is meant to meet something that gives way; null for most.
    snap: Option<SnapEntry>,
}

#[derive(Serialize)]
struct SnapEntry {
    at: [f64; 3],
    within_mm: f64,
}

/// The file's content.
pub(crate) fn json(outcome: &Outcome) -> String {
    written(&Ways { ways: outcome.ways.iter().map(entry).collect() })
}

fn entry(way: &Way) -> Entry<'_> {
    Entry {
        kind: way.kind,
        name: &way.name,
        piece: way.piece,
        poses: way.poses.iter().map(row_major).collect(),
        away: &way.away,
        clearance_mm: way.clearance_mm,
        snap: way.snap.map(|Snap { at, within_mm }| SnapEntry { at: at.to_array(), within_mm }),
    }
}
