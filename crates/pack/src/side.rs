//! The side view and the top view on one station axis.

use crate::labels::{spread, text_width};
use crate::svg::{Anchor, Drawing, LETTER, Sheet};
use crate::view::{
    MARGIN, PROP_WIDTH, View, cuts, fitting_names, fittings, named_row, outline, piece_numbers, range_at, role, span,
    station_axis, view_range, whole_scale,
};
use crate::windows;
use crate::words::{self, short};
use prop::outcome::{Outcome, Piece};
use solid::DVec2;

/// Draws both views, with cuts, pieces, pixels, strips and spine, at a true scale.
pub(crate) fn draw(outcome: &Outcome) -> Sheet {
    let [from, to] = span(outcome);
    let scale = whole_scale(to - from);
    let width = 2.0 * MARGIN + PROP_WIDTH.max((to - from) / scale);
    let mut d = Drawing::new(
        "side",
        format!("{}: side view and top view", outcome.prop),
        format!(
            "The whole prop from the side and from above, butt left and tip right, scale 1:{}, with {} pieces, {} cuts \
             and {} pixels at their stations.",
            short(scale, 0),
            outcome.pieces.len(),
            outcome.joints.len(),
            outcome.pixels.len()
        ),
    );
    let mut side = View { scale, left_mm: from, zero_y: 0.0, top_view: false };
    let mut top = View { scale, left_mm: from, zero_y: 0.0, top_view: true };
    let (side_range, top_range) = (view_range(outcome, &side), view_range(outcome, &top));

    // Down the sheet: overall length, names of bodies and cuts, side view, pieces, top view, names of what lies inside,
    // lengths of the pieces, stations, title block.
    let mut y = 12.0;
    d.begin("length", "Overall length");
    let ends = [DVec2::new(side.x(from), y + 2.0), DVec2::new(side.x(from + outcome.length_mm), y + 2.0)];
    d.dimension(ends[0], ends[1], 0.0, &words::length(outcome.length_mm, outcome.inches));
    d.end();
    y += 8.0;
    d.text("head", DVec2::new(MARGIN, y + 2.0), Anchor::Start, "Side view");
    let names_y = y + 7.0;
    y += 19.0;
    side.zero_y = y + side_range[1] / scale;
    y += (side_range[1] - side_range[0]) / scale;
    let numbers_y = y + 9.0;
    y += 18.0;
    d.text("head", DVec2::new(MARGIN, y), Anchor::Start, "Top view");
    y += 10.0;
    top.zero_y = y + top_range[1] / scale;
    y += (top_range[1] - top_range[0]) / scale;
    let inside_y = y + 10.0;

    for view in [&side, &top] {
        let word = if view.top_view { "top" } else { "view" };
        for (i, body) in outcome.views.iter().enumerate() {
            d.begin(&format!("{word}-body-{}", i + 1), &format!("{} ({})", body.name, role(body.role)));
            d.outlines("thick", [outline(view, view.silhouette(body))]);
            d.end();
        }
        windows::draw(&mut d, outcome, view, word);
        inside(&mut d, outcome, view, word);
        cuts(&mut d, outcome, view, word);
    }
    body_names(&mut d, outcome, &side, names_y, width);
    piece_numbers(&mut d, outcome, &side, numbers_y, width);
    inside_names(&mut d, outcome, &top, inside_y, width);
    y = inside_y + 5.0;
    y = piece_lengths(&mut d, outcome, &side, y);
    y = station_axis(&mut d, outcome, &side, y + 4.0);
    y = line_key(&mut d, y + 5.0, width, outcome, scale);
    d.finish(DVec2::new(width, y + 6.0))
}

/// What lies inside: centre path, wire way, strips, spine and pixels.
fn inside(d: &mut Drawing, outcome: &Outcome, view: &View, word: &str) {
    fittings(d, outcome, view, word);
    for pixels in outcome.pixels.chunk_by(|a, b| a.strip == b.strip) {
        d.begin(&format!("{word}-pixels-{}", pixels[0].strip), &format!("Pixels of strip {}", pixels[0].strip));
        for p in pixels {
            d.rect("light pixel", view.at(p.point) - DVec2::splat(0.45), DVec2::splat(0.9));
        }
        d.end();
    }
}

fn body_names(d: &mut Drawing, outcome: &Outcome, view: &View, y: f64, width: f64) {
    let mut names: Vec<(DVec2, String)> = outcome
        .views
        .iter()
        .filter_map(|v| {
            // Beside the middle, so that leaders keep off cuts that halve a body.
            let (first, last) = (v.side.edge.first()?, v.side.edge.last()?);
            let x = first[0] + (last[0] - first[0]) * 0.45;
            let [low, high] = range_at(&v.side, x)?;
            Some((view.flat(x, high - (high - low) * 0.15), v.name.clone()))
        })
        .collect();
    names.extend(windows::names(outcome, view));
    names.sort_by(|a, b| a.0.x.total_cmp(&b.0.x));
    d.begin("bodies", "Names of the bodies");
    named_row(d, y, width, "", &names);
    d.end();
}

/// Names of strips, spines and the wire way under the top view, and the first and last pixel of each strip.
fn inside_names(d: &mut Drawing, outcome: &Outcome, view: &View, y: f64, width: f64) {
    d.begin("inside", "Names of what lies inside");
    named_row(d, y, width, "", &fitting_names(outcome, view));
    d.end();
    // Round the spine all strips begin and end alike: the first one's numbers stand for all.
    let around = outcome.pixels.last().is_some_and(|p| p.strip > 2);
    let ends: Vec<(DVec2, String)> = outcome
        .pixels
        .chunk_by(|a, b| a.strip == b.strip)
        .take(if around { 1 } else { usize::MAX })
        .flat_map(|p| {
            let ends = if p.len() > 1 { vec![&p[0], &p[p.len() - 1]] } else { vec![&p[0]] };
            ends.into_iter().map(|p| (view.at(p.point), p.number.to_string())).collect::<Vec<_>>()
        })
        .collect();
    let lift = |at: &DVec2| DVec2::new(at.x, at.y - 2.4);
    let wanted: Vec<(f64, f64)> = ends.iter().map(|(at, n)| (at.x, text_width(n, 3.0) + 0.6)).collect();
    d.begin("pixel-ends", "First and last pixel of each strip");
    for ((at, number), x) in ends.iter().zip(spread(&wanted, 0.0, width)) {
        d.text("small light", DVec2::new(x, lift(at).y), Anchor::Middle, number);
    }
    d.end();
}

/// A dimension for each piece; what spans the same stations, such as covers and lids, goes in rows below. Returns the next
/// free y.
fn piece_lengths(d: &mut Drawing, outcome: &Outcome, view: &View, y: f64) -> f64 {
    let mut rows: Vec<Vec<&Piece>> = Vec::new();
    for piece in &outcome.pieces {
        let apart = |other: &&Piece| {
            piece.station_mm[0] > other.station_mm[1] - 0.5 || piece.station_mm[1] < other.station_mm[0] + 0.5
        };
        match rows.iter_mut().find(|row| row.iter().all(apart)) {
            Some(row) => row.push(piece),
            None => rows.push(vec![piece]),
        }
    }
    let mut y = y + 3.0;
    for row in &mut rows {
        row.sort_by(|a, b| a.station_mm[0].total_cmp(&b.station_mm[0]));
        // Two heights in turn where a length is too short for its figures.
        let mut crowded = false;
        let mut lifted = false;
        for piece in row {
            let [a, b] = piece.station_mm.map(|s| view.x(outcome.path.point(s).x));
            let text = short(piece.station_mm[1] - piece.station_mm[0], 1);
            let title = format!("Length of piece {} along the path", words::piece(piece.number));
            lifted = !lifted && b - a < text_width(&text, LETTER) + 2.0;
            crowded |= lifted;
            let at = y + if lifted { 6.0 } else { 0.0 };
            d.begin(&format!("length-{}", words::piece(piece.number)), &title);
            d.dimension(DVec2::new(a, at), DVec2::new(b, at), 0.0, &text);
            d.end();
        }
        y += if crowded { 13.0 } else { 7.0 };
    }
    y
}

/// Samples of the lines left, title block right. Returns the next free y.
fn line_key(d: &mut Drawing, y: f64, width: f64, outcome: &Outcome, scale: f64) -> f64 {
    let rows = [
        ("prop", outcome.prop.clone()),
        ("drawing", "side view and top view".to_owned()),
        ("length", words::length(outcome.length_mm, outcome.inches)),
        ("scale", format!("1:{} when printed at full size", short(scale, 0))),
        ("units", "millimetres; stations along the centre path".to_owned()),
        ("inputs", outcome.input_hash.chars().take(16).collect()),
    ];
    let bottom = y + rows.len() as f64 * 5.4;
    d.title_block(DVec2::new(width - MARGIN, bottom), &rows);
    d.begin("lines", "What the lines mean");
    let samples = [
        ("thick", "outline of a body"),
        ("cut", "cut, with the joint's name"),
        ("centre", "centre path"),
        ("hidden", "strip or spine, inside"),
        ("way", "wire way"),
        ("light pixel", "pixel, with the first and last number"),
        ("light window", "window: bare wall, light comes out"),
    ];
    for (i, (class, word)) in samples.iter().enumerate() {
        let at = DVec2::new(MARGIN + (i / 3) as f64 * 75.0, y + 4.0 + (i % 3) as f64 * 6.0);
        if class.contains("pixel") {
            d.rect(class, at + DVec2::new(7.0, -0.45), DVec2::splat(0.9));
        } else {
            d.line(class, at, at + DVec2::new(15.0, 0.0));
        }
        d.text("small", at + DVec2::new(18.0, 1.0), Anchor::Start, word);
    }
    d.end();
    bottom
}
