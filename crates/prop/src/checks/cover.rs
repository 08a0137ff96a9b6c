//! Does each cover go on to its seat, and is it sound round its bore?

use super::{Checked, Laid, Work, note, piece_name};
use crate::cover::way::{Standing, tightest};
use crate::cover::{CoverMade, Entry, NoWay};
use crate::finding::{Band, Finding, PIECES, input};
use crate::outcome::{Piece, Way};
use rayon::prelude::*;
use solid::{DAffine3, Mesh};

pub(super) fn check(work: &Work, laid: &[Laid]) -> Vec<Finding> {
    let covers: Vec<usize> = (0..work.split.pieces.len()).filter(|i| work.split.pieces[*i].cover.is_some()).collect();
    if covers.is_empty() {
        return Vec::new();
    }
    let meshes: Vec<Mesh> = work.printed.pieces.par_iter().map(|p| p.mesh.transformed(&p.to_prop)).collect();
    let standing: Vec<Option<Standing>> =
        meshes.par_iter().zip(laid).map(|(m, l)| Standing::new(m, &l.surface)).collect();
    let mut found = Vec::new();
    for i in covers {
        let piece = &work.printed.pieces[i];
        let Some(cover) = &work.split.pieces[i].cover else { continue };
        let others = |away: &[u32]| -> Vec<&Standing> {
            let pieces = work.printed.pieces.iter().zip(&standing);
            let there = pieces.filter(|(p, _)| p.number != piece.number && !away.contains(&p.number));
            there.filter_map(|(_, s)| s.as_ref()).collect()
        };
        match &cover.way {
            Ok(way) => {
                found.push(passes(work, piece, cover, way, &meshes[i], &others(&way.away)));
                found.push(order(work, piece, cover));
            }
            Err(no) => found.push(cannot_pass(work, piece, cover, no)),
        }
        // Halves touch each other.
        let body = work.split.pieces[i].body;
        let own: Vec<u32> = work.split.pieces.iter().filter(|p| p.body == body).map(|p| p.number).collect();
        found.push(seat(work, piece, cover, &meshes[i], &others(&own)));
        found.extend(super::stop::stop(
            work,
            piece,
            cover,
            work.split.pieces[i].rules.cover.fit,
            &meshes[i],
            &others(&own),
        ));
        found.extend(halves(piece, cover));
        found.extend(wall(piece, cover));
    }
    found
}

/// The whole way, measured on the pieces as they print.
fn passes(work: &Work, piece: &Piece, cover: &CoverMade, way: &Way, mesh: &Mesh, others: &[&Standing]) -> Finding {
    let tight = tightest(mesh, &way.poses, others);
    let station = work.placed.path.station_of(tight.at);
    let left = tight.mm - cover.gap.loss_mm;
    keeps_gap(
        "cover_passes",
        piece,
        cover,
        tight.mm,
        format!(
            "Moved on {} in {} steps of at most {:.0} mm, {} keeps {left:.2} mm a side where its bore prints narrow by {:.2} mm a side (tightest at station {station:.0} mm).",
            entry_words(work, cover.entry),
            way.poses.len() - 1,
            crate::cover::way::POSE_MM,
            piece.body,
            cover.gap.loss_mm
        ),
        "this is a fault of the program or of a very curved body: let the cover be split (split = true)",
    )
}

/// A least gap between a cover and the other pieces, held against what its fit asks where the bore prints narrow.
fn keeps_gap(
    id: &'static str,
    piece: &Piece,
    cover: &CoverMade,
    gap_mm: f64,
    message: String,
    remedy: &str,
) -> Finding {
    let left = gap_mm - cover.gap.loss_mm;
    Checked {
        id,
        subject: piece_name(piece),
        station_mm: Some(piece.station_mm),
        value: Band { value: left, low: left, high: gap_mm },
        unit: "mm",
        min: Some(cover.gap.need_mm),
        max: None,
        source: format!("body.{}.fit with glue-gap or slide-gap of the printers concerned", piece.body),
        message,
        remedy: remedy.into(),
    }
    .finding()
    .worked_from([
        input("gap as drawn, a side", gap_mm, "mm", PIECES),
        input("printed narrower by, a side", cover.gap.loss_mm, "mm", "hole-loss of the printers"),
    ])
}

fn entry_words(work: &Work, entry: Entry) -> String {
    let joint = |i: usize| format!("J{}", work.split.joints[i].number);
    match entry {
        Entry::Butt => "over the butt".into(),
        Entry::Tip => "over the tip".into(),
        Entry::OntoButtSide(i) => format!("from the open end of joint {} on its butt side", joint(i)),
        Entry::OntoTipSide(i) => format!("from the open end of joint {} on its tip side", joint(i)),
        Entry::Sides => "in halves from both sides".into(),
    }
}

fn cannot_pass(work: &Work, piece: &Piece, cover: &CoverMade, no: &NoWay) -> Finding {
    let need = cover.wall.map_or(0.0, |w| w.need_mm);
    let halves = if no.halves_tried { ", and not in halves either" } else { "" };
    let way_out = if no.halves_tried {
        format!("make it larger by {:.1} mm all round there, or the body slimmer", no.missing_mm.max(0.1))
    } else {
        format!(
            "let it be made in halves (body.{}.split = true), make it larger by {:.1} mm all round, or cut the body beside it (cuts.lock)",
            piece.body,
            no.missing_mm.max(0.1)
        )
    };
    Checked {
        id: "cover_passes",
        subject: piece_name(piece),
        station_mm: Some([no.station_mm.min(piece.station_mm[0]), no.station_mm.max(piece.station_mm[1])]),
        value: Band::exact(need - no.missing_mm),
        unit: "mm",
        min: Some(need),
        max: None,
        source: "least wall of its material round a bore that passes the body".into(),
        message: format!(
            "{} can't pass{halves}: on its best way, {}, station {:.0} mm of the body is too thick for it. {:.1} mm are missing: a bore that passes leaves {:.1} mm of wall.",
            piece.body,
            entry_words(work, no.entry),
            no.station_mm,
            no.missing_mm,
            need - no.missing_mm
        ),
        remedy: way_out,
    }
    .finding()
    .worked_from([
        input("least wall", need, "mm", "catalogue: material"),
        input("missing", no.missing_mm, "mm", "a bore that passes the body"),
    ])
}

/// In its place, with everything else there.
fn seat(work: &Work, piece: &Piece, cover: &CoverMade, mesh: &Mesh, others: &[&Standing]) -> Finding {
    let tight = tightest(mesh, &[DAffine3::IDENTITY], others);
    let station = work.placed.path.station_of(tight.at);
    let left = tight.mm - cover.gap.loss_mm;
    keeps_gap(
        "cover_clears",
        piece,
        cover,
        tight.mm,
        format!(
            "In its place {} keeps {left:.2} mm a side from all other pieces, narrow as it may print (tightest at station {station:.0} mm).",
            piece.body
        ),
        "move it along the prop in the modelling program until it clears its neighbours",
    )
}

fn wall(piece: &Piece, cover: &CoverMade) -> Option<Finding> {
    let wall = cover.wall?;
    Some(
        Checked {
            id: "cover_wall",
            subject: piece_name(piece),
            station_mm: Some([wall.station_mm, wall.station_mm]),
            value: Band::exact(wall.least_mm),
            unit: "mm",
            min: Some(wall.need_mm),
            max: None,
            source: "common practice, no source: two beads of filament, 1 mm of resin".into(),
            message: format!(
                "Round its bore {} is {:.2} mm thick at least (station {:.0} mm).",
                piece.body, wall.least_mm, wall.station_mm
            ),
            remedy: format!("make it larger by {:.1} mm all round there", (wall.need_mm - wall.least_mm).max(0.1)),
        }
        .finding()
        .worked_from([
            input("thinnest at station", wall.station_mm, "mm", PIECES),
            input("asked", wall.need_mm, "mm", "two beads of filament, 1 mm of resin"),
        ]),
    )
}

/// How its halves hold on to each other.
fn halves(piece: &Piece, cover: &CoverMade) -> Option<Finding> {
    let halves = cover.halves.as_ref().filter(|h| h.half == 0)?;
    let pegs = match halves.peg_mm {
        Some([diameter, depth]) => format!(
            "{} pegs of {diameter:.1} mm rod, {:.0} mm long, place them; their sockets are hidden in the mating face",
            halves.sockets.len(),
            2.0 * depth
        ),
        None => "there is no room for pegs: tape them straight while the glue sets".into(),
    };
    Some(
        note(
            "cover_halves",
            piece_name(piece),
            Some(piece.station_mm),
            halves.face_mm2,
            "mm2",
            format!("{} is made in halves, glued round the body on {:.0} mm2: {pegs}.", piece.body, halves.face_mm2),
        )
        .worked_from(halves.peg_mm.into_iter().flat_map(|[diameter, depth]| {
            [
                input("pegs", halves.sockets.len() as f64, "1", "room in the mating face"),
                input("diameter of a peg", diameter, "mm", "catalogue: rod"),
                input("depth of a socket", depth, "mm", "room in the mating face"),
            ]
        })),
    )
}

/// When it goes on, and what goes on after it.
fn order(work: &Work, piece: &Piece, cover: &CoverMade) -> Finding {
    let is_cover = |n: &&u32| work.split.pieces.iter().any(|p| p.number == **n && p.cover.is_some());
    let after: Vec<String> = match &cover.way {
        Ok(way) => way.away.iter().filter(is_cover).map(|n| format!("{n:02}")).collect(),
        Err(_) => Vec::new(),
    };
    let then = if after.is_empty() { String::new() } else { format!(" Only after it: piece {}.", after.join(", ")) };
    let mut message = match cover.entry {
        Entry::Butt | Entry::Tip => {
            format!(
                "{} goes on {}, when the prop is glued or before.{then}",
                piece.body,
                entry_words(work, cover.entry)
            )
        }
        Entry::OntoButtSide(i) | Entry::OntoTipSide(i) => format!(
            "{} loses least {}: put it on before joint J{} is glued.{then}",
            piece.body,
            entry_words(work, cover.entry),
            work.split.joints[i].number
        ),
        Entry::Sides => format!("{} goes on in halves, when the prop is glued or before.{then}", piece.body),
    };
    if cover.knots.is_empty() {
        return note("cover_order", piece_name(piece), Some(piece.station_mm), after.len() as f64, "1", message);
    }
    let knots: Vec<String> = cover.knots.iter().map(|n| format!("{n:02}")).collect();
    message += &format!(" But piece {} would have to go on before and after it.", knots.join(", "));
    Checked {
        id: "cover_order",
        subject: piece_name(piece),
        station_mm: Some(piece.station_mm),
        value: Band::exact(knots.len() as f64),
        unit: "1",
        min: None,
        max: Some(0.0),
        source: "two covers cannot each go on before the other".into(),
        message,
        remedy: format!("let one of them be made in halves (body.{}.split = true)", piece.body),
    }
    .finding()
}
