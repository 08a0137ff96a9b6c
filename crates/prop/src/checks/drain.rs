//! Is each hollow of a resin cover drained, and where nobody looks?

use super::{Checked, Work, note, piece_name};
use crate::cover::{Drain, DrainRule, DrainSide, Hollowed};
use crate::finding::{Band, Finding, PIECES, input};
use crate::outcome::Piece;
use crate::project::{BodyRules, Show};

pub(super) fn check(work: &Work) -> Vec<Finding> {
    let mut found = Vec::new();
    let pieces = || work.printed.pieces.iter().zip(&work.split.pieces);
    for (piece, split) in pieces() {
        let Some(hollowed) = split.cover.as_ref().and_then(|c| c.hollowed.as_ref()) else { continue };
        if hollowed.hollows.is_empty() {
            found.push(stays_solid(piece, hollowed));
        } else {
            found.extend(drained(piece, hollowed));
            found.push(hidden(piece, hollowed, &split.rules));
        }
    }
    // A drain is for one half of a cover only: it is lost if it leads into neither.
    for (i, (piece, split)) in pieces().enumerate() {
        if split.cover.is_none() || pieces().take(i).any(|(_, s)| s.body == split.body) {
            continue;
        }
        let drilled = |rule: &DrainRule| {
            let own = work.split.pieces.iter().filter(|s| s.body == split.body);
            own.filter_map(|s| s.cover.as_ref()?.hollowed.as_ref())
                .flat_map(|h| h.hollows.iter().flat_map(|h| &h.drains))
                .any(|d| d.asked.as_ref() == Some(rule))
        };
        found.extend(split.rules.cover.drains.iter().filter(|r| !drilled(r)).map(|r| lost(piece, r)));
    }
    found
}

const SOURCE: &str = "common practice, no source: two holes of 3 mm or more, one for the resin and one for the air";

fn stays_solid(piece: &Piece, h: &Hollowed) -> Finding {
    // A wall that leaves nothing leaves a crumb of either sign.
    let room_mm3 = if h.room_mm3 < 1.0 { 0.0 } else { h.room_mm3 };
    let share = 100.0 * room_mm3 / h.solid_mm3.max(1e-9);
    let worth = 100.0 * crate::cover::WORTH_SHARE;
    let why = if share < worth {
        format!("worth it from {worth:.0} % on")
    } else {
        "but no two drain holes lead into it from the bore".into()
    };
    note(
        "cover_solid",
        piece_name(piece),
        Some(piece.station_mm),
        share,
        "%",
        format!(
            "{} prints solid, {:.1} cm3 of resin: a wall of {:.1} mm would leave {:.1} cm3 or {share:.0} % hollow, {why}.",
            piece.body,
            h.solid_mm3 / 1000.0,
            h.wall_mm,
            room_mm3 / 1000.0
        ),
    )
    .worked_from([
        input("solid", h.solid_mm3 / 1000.0, "cm3", PIECES),
        input("room inside the wall", room_mm3 / 1000.0, "cm3", PIECES),
        input("wall", h.wall_mm, "mm", format!("body.{}.wall", piece.body)),
    ])
}

fn drained<'a>(piece: &'a Piece, h: &'a Hollowed) -> impl Iterator<Item = Finding> + 'a {
    let share = 100.0 * h.hollows.iter().map(|h| h.volume_mm3).sum::<f64>() / h.solid_mm3.max(1e-9);
    h.hollows.iter().enumerate().map(move |(i, hollow)| {
        let least = hollow.drains.iter().map(|d| d.diameter_mm).fold(f64::INFINITY, f64::min);
        let stations: Vec<String> = hollow.drains.iter().map(|d| format!("{:.0}", d.station_mm)).collect();
        Checked {
            id: "resin_drains",
            subject: piece_name(piece),
            station_mm: Some(piece.station_mm),
            value: Band::exact(hollow.drains.len() as f64),
            unit: "1",
            min: Some(crate::cover::DRAINS as f64),
            max: None,
            source: SOURCE.into(),
            message: format!(
                "Hollow {} of {} of {} ({:.1} cm3 behind {:.1} mm of wall; all of them save {share:.0} % of the resin) has {} drain holes of {least:.1} mm or more, at stations {} mm.",
                i + 1,
                h.hollows.len(),
                piece.body,
                hollow.volume_mm3 / 1000.0,
                h.wall_mm,
                hollow.drains.len(),
                stations.join(", ")
            ),
            remedy: format!("take a thinner wall (body.{}.wall)", piece.body),
        }
        .finding()
        .worked_from([
            input("hollow", hollow.volume_mm3 / 1000.0, "cm3", PIECES),
            input("narrowest drain", least, "mm", PIECES),
        ])
    })
}

fn side_word(side: DrainSide) -> &'static str {
    match side {
        DrainSide::Up => "+z",
        DrainSide::Down => "-z",
    }
}

/// Whether a side of a body is looked at.
fn is_shown(show: Show, side: DrainSide) -> bool {
    !matches!((show, side), (Show::Up, DrainSide::Down) | (Show::Down, DrainSide::Up))
}

fn hidden(piece: &Piece, h: &Hollowed, rules: &BodyRules) -> Finding {
    let drains: Vec<&Drain> = h.hollows.iter().flat_map(|h| &h.drains).collect();
    let seen: Vec<&DrainRule> =
        drains.iter().filter_map(|d| d.asked.as_ref()).filter(|r| is_shown(rules.show, r.side)).collect();
    let places: Vec<String> =
        seen.iter().map(|r| format!("station {:.0} mm on side {}", r.at_mm, side_word(r.side))).collect();
    let message = if seen.is_empty() {
        format!(
            "None of the {} drain holes of {} opens on a face that is looked at; those into the bore are hidden by the body.",
            drains.len(),
            piece.body
        )
    } else {
        format!("There is a drain on a show face of {}: {}.", piece.body, places.join(", "))
    };
    Checked {
        id: "drain_hidden",
        subject: piece_name(piece),
        station_mm: seen.first().map_or(Some(piece.station_mm), |r| Some([r.at_mm, r.at_mm])),
        value: Band::exact(seen.len() as f64),
        unit: "1",
        min: None,
        max: Some(0.0),
        source: format!("body.{}.show and body.{}.drain", piece.body, piece.body),
        message,
        remedy: format!(
            "leave it out of body.{}.drain: holes into the bore are drilled without it; or say which side is looked at (body.{}.show)",
            piece.body, piece.body
        ),
    }
    .finding()
    .worked_from([input("drains", drains.len() as f64, "1", PIECES)])
}

fn lost(piece: &Piece, rule: &DrainRule) -> Finding {
    Checked {
        id: "resin_drains",
        subject: piece_name(piece),
        station_mm: Some([rule.at_mm, rule.at_mm]),
        value: Band::exact(0.0),
        unit: "1",
        min: Some(1.0),
        max: None,
        source: format!("body.{}.drain", piece.body),
        message: format!(
            "The drain of {} at station {:.0} mm on side {} leads into no hollow: it is not drilled.",
            piece.body,
            rule.at_mm,
            side_word(rule.side)
        ),
        remedy: format!("move it to where the cover is hollow, or leave it out of body.{}.drain", piece.body),
    }
    .finding()
}
