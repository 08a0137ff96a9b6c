//! What keeps a cover where it sits.

use super::{Work, note, piece_name};
use crate::cover::way::{Standing, Tightest, along_path, tightest};
use crate::cover::{CoverFit, CoverMade};
use crate::finding::Finding;
use crate::outcome::Piece;
use solid::Mesh;

/// How far beyond its seat a cover is pushed, mm.
const PUSHES_MM: [f64; 4] = [0.5, 1.0, 2.0, 4.0];

/// A place where a cover that is pushed on runs into something.
struct Stop {
    pushed_mm: f64,
    station_mm: f64,
}

/// Pushes the printed cover both ways along the prop until it runs into what stands.
pub(super) fn stop(
    work: &Work,
    piece: &Piece,
    cover: &CoverMade,
    fit: CoverFit,
    mesh: &Mesh,
    others: &[&Standing],
) -> Option<Finding> {
    if cover.halves.as_ref().is_some_and(|h| h.half == 1) {
        return None;
    }
    let path = &work.placed.path;
    let push = |sign: f64| {
        PUSHES_MM.iter().find_map(|d| {
            let pose = along_path(path, piece.station_mm, sign * d).into_iter().take(1).collect::<Vec<_>>();
            let Tightest { mm, at, .. } = tightest(mesh, &pose, others);
            (mm <= 0.0).then(|| Stop { pushed_mm: *d, station_mm: path.station_of(at) })
        })
    };
    let stops = [("butt", push(-1.0)), ("tip", push(1.0))];
    let words = stops.iter().map(|(name, stop)| match stop {
        Some(s) => format!(
            "towards the {name} it runs into the prop within {:.1} mm, at station {:.0} mm",
            s.pushed_mm, s.station_mm
        ),
        None => format!("towards the {name} nothing stops it"),
    });
    let words = words.collect::<Vec<_>>().join("; ");
    let held = stops.iter().filter(|(_, s)| s.is_some()).count();
    let so = match (fit, held) {
        (_, 2) => "The shape alone keeps it there".into(),
        (CoverFit::Glue, 1) => "Push it on to its stop and glue it".into(),
        (CoverFit::Glue, _) => {
            format!("Only glue keeps it there: mark station {:.0} mm, where it begins, first", piece.station_mm[0])
        }
        (CoverFit::Slide, 1) => "It slides off the other way".into(),
        (CoverFit::Slide, _) => format!("Nothing keeps it there: glue it (body.{}.fit)", piece.body),
    };
    Some(note(
        "cover_stop",
        piece_name(piece),
        Some(piece.station_mm),
        held as f64,
        "1",
        format!("Pushed on from its seat, {}: {words}. {so}.", piece.body),
    ))
}
