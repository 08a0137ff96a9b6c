//! The side view and the top view on one station axis.

use crate::labels::{spread, text_width};
use crate::svg::{Anchor, Drawing, LETTER, Sheet, thinned};
use crate::words::{self, short};
use prop::outcome::{Bar, BodyView, Joint, Outcome, Piece, Role, Silhouette};
use solid::{DVec2, DVec3};

const MARGIN: f64 = 14.0;
/// Room for the prop on the sheet, mm: with the margins about 400 mm.
const PROP_WIDTH: f64 = 380.0;
/// How far cuts and leaders reach beyond the outline, mm on the sheet.
const BEYOND: f64 = 3.0;

/// One of the two views: which coordinate of the prop goes up the sheet, and where zero lies.
struct View {
    scale: f64,
    left_mm: f64,
    zero_y: f64,
    top_view: bool,
}

impl View {
    fn up(&self, p: DVec3) -> f64 {
        if self.top_view { p.y } else { p.z }
    }

    fn at(&self, p: DVec3) -> DVec2 {
        self.flat(p.x, self.up(p))
    }

    fn flat(&self, x: f64, up: f64) -> DVec2 {
        DVec2::new(self.x(x), self.zero_y - up / self.scale)
    }

    fn x(&self, x: f64) -> f64 {
        MARGIN + (x - self.left_mm) / self.scale
    }

    fn silhouette<'a>(&self, view: &'a BodyView) -> &'a Silhouette {
        if self.top_view { &view.top } else { &view.side }
    }
}

/// Draws both views, with cuts, pieces, pixels, strips and spine, at a true scale.
pub(crate) fn draw(outcome: &Outcome) -> Sheet {
    let [from, to] = span(outcome);
    let scale = ((to - from) / PROP_WIDTH).ceil().max(1.0);
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

/// The span of x that the drawing must hold, prop frame.
fn span(outcome: &Outcome) -> [f64; 2] {
    let ends = outcome.views.iter().flat_map(|v| [&v.side, &v.top]).flat_map(|s| [s.edge.first(), s.edge.last()]);
    let path = outcome.path.points();
    let mut span = [path[0].x, path[path.len() - 1].x];
    for e in ends.flatten() {
        span = [span[0].min(e[0]), span[1].max(e[0])];
    }
    span
}

/// Lowest and highest value of a view, prop frame.
fn view_range(outcome: &Outcome, view: &View) -> [f64; 2] {
    let edges = outcome.views.iter().flat_map(|v| view.silhouette(v).edge.iter()).map(|e| [e[1], e[2]]);
    let path = outcome.path.points().iter().map(|p| [view.up(*p); 2]);
    edges.chain(path).fold([0.0, 0.0], |all, e| [all[0].min(e[0]), all[1].max(e[1])])
}

/// The closed outline of a silhouette on the sheet: along the top edge and back along the bottom one.
fn outline(view: &View, silhouette: &Silhouette) -> Vec<DVec2> {
    let upper: Vec<DVec2> = silhouette.edge.iter().map(|e| view.flat(e[0], e[2])).collect();
    let lower: Vec<DVec2> = silhouette.edge.iter().rev().map(|e| view.flat(e[0], e[1])).collect();
    let mut all = thinned(&upper);
    all.extend(thinned(&lower));
    all
}

/// Centre path, wire way, strips, spine and pixels: what lies inside.
fn inside(d: &mut Drawing, outcome: &Outcome, view: &View, word: &str) {
    d.begin(&format!("{word}-path"), "Centre path");
    let points: Vec<DVec2> = outcome.path.points().iter().map(|p| view.at(*p)).collect();
    d.polyline("centre", thinned(&points));
    d.end();
    if outcome.wire_way.len() > 1 {
        d.begin(&format!("{word}-wire-way"), "Wire way");
        let points: Vec<DVec2> = outcome.wire_way.iter().map(|p| view.at(*p)).collect();
        d.polyline("way", thinned(&points));
        d.end();
    }
    for (kind, bars) in [("spine", &outcome.spines), ("strip", &outcome.strips)] {
        for (i, bar) in bars.iter().enumerate() {
            let title = format!("{}, {}", bar.name, words::stations(bar.station_mm));
            d.begin(&format!("{word}-{kind}-{}", i + 1), &title);
            d.outlines("hidden", [bar_outline(view, bar)]);
            d.end();
        }
    }
    for pixels in outcome.pixels.chunk_by(|a, b| a.strip == b.strip) {
        d.begin(&format!("{word}-pixels-{}", pixels[0].strip), &format!("Pixels of strip {}", pixels[0].strip));
        for p in pixels {
            d.rect("light pixel", view.at(p.point) - DVec2::splat(0.45), DVec2::splat(0.9));
        }
        d.end();
    }
}

/// A bar seen in a view: its length, and the width its section shows.
fn bar_outline(view: &View, bar: &Bar) -> Vec<DVec2> {
    let through = (bar.end - bar.start).cross(bar.across).normalize_or_zero();
    let (a, b) = (view.at(bar.start), view.at(bar.end));
    let shown = |dir: DVec3, size: f64| (view.at(bar.start + dir) - a).length() * size / 2.0;
    let half = shown(bar.across, bar.size_mm[0]) + shown(through, bar.size_mm[1]);
    let square = (b - a).perp().normalize_or_zero() * half;
    vec![a + square, b + square, b - square, a - square]
}

/// The cuts as chain lines with their names.
fn cuts(d: &mut Drawing, outcome: &Outcome, view: &View, word: &str) {
    let ends: Vec<[DVec2; 2]> = outcome.joints.iter().map(|j| cut_line(outcome, view, j)).collect();
    let names: Vec<String> = outcome.joints.iter().map(|j| format!("J{}", j.number)).collect();
    let wanted: Vec<(f64, f64)> = ends.iter().zip(&names).map(|(e, n)| (e[0].x, text_width(n, LETTER) + 0.6)).collect();
    let placed = spread(&wanted, 0.0, f64::INFINITY);
    for ((joint, [upper, lower]), (name, x)) in outcome.joints.iter().zip(ends).zip(names.iter().zip(placed)) {
        let title = format!("Joint {name}, {}", words::stations([joint.frame.station_mm; 2]));
        d.begin(&format!("{word}-J{}", joint.number), &title);
        d.line("cut", upper, lower);
        d.text("name", DVec2::new(x, upper.y - 1.0), Anchor::Middle, name);
        d.end();
    }
}

/// Where a cut plane shows in a view: upper end, lower end.
fn cut_line(outcome: &Outcome, view: &View, joint: &Joint) -> [DVec2; 2] {
    let frame = &joint.frame;
    let dir = if view.top_view { frame.across } else { frame.through };
    // Beside the cut too, so that its name keeps clear of a body that swells next to it.
    let beside = [-1.0, -0.5, 0.0, 0.5, 1.0].map(|share| frame.point.x + share * BEYOND * view.scale);
    let range = outcome
        .views
        .iter()
        .flat_map(|v| beside.iter().filter_map(|x| range_at(view.silhouette(v), *x)))
        .fold([view.up(frame.point); 2], |all, r| [all[0].min(r[0]), all[1].max(r[1])]);
    // A cut that lies flat in this view has no line to follow; it is drawn upright.
    let dir = if view.up(dir).abs() > 0.1 { dir / view.up(dir) } else { DVec3::ZERO };
    let at = |up: f64| {
        let p = frame.point + dir * (up - view.up(frame.point));
        view.flat(p.x, up)
    };
    [at(range[1] + BEYOND * view.scale), at(range[0] - BEYOND * view.scale)]
}

/// Low and high of a silhouette at `x`, between its samples; `None` outside it.
fn range_at(silhouette: &Silhouette, x: f64) -> Option<[f64; 2]> {
    let edge = &silhouette.edge;
    let i = edge.partition_point(|e| e[0] <= x);
    if i == 0 || (i == edge.len() && edge.last().is_none_or(|e| e[0] < x)) {
        return None;
    }
    let (a, b) = (edge[i - 1], edge[i.min(edge.len() - 1)]);
    let share = if b[0] > a[0] { (x - a[0]) / (b[0] - a[0]) } else { 0.0 };
    Some([a[1] + (b[1] - a[1]) * share, a[2] + (b[2] - a[2]) * share])
}

/// A row of names with leaders to the things they name: (target, text), base line at `y`.
fn named_row(d: &mut Drawing, y: f64, width: f64, class: &str, names: &[(DVec2, String)]) {
    let wanted: Vec<(f64, f64)> = names.iter().map(|(at, n)| (at.x, text_width(n, LETTER) + 2.0)).collect();
    let placed = spread(&wanted, 4.0, width - 4.0);
    for ((target, name), x) in names.iter().zip(placed) {
        let from = if target.y > y { DVec2::new(x, y + 1.2) } else { DVec2::new(x, y - LETTER) };
        d.line("thin", from, *target);
        d.circle("solid", *target, 0.5);
        d.text(class, DVec2::new(x, y), Anchor::Middle, name);
    }
}

fn body_names(d: &mut Drawing, outcome: &Outcome, view: &View, y: f64, width: f64) {
    let names: Vec<(DVec2, String)> = outcome
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
    d.begin("bodies", "Names of the bodies");
    named_row(d, y, width, "", &names);
    d.end();
}

fn piece_numbers(d: &mut Drawing, outcome: &Outcome, view: &View, y: f64, width: f64) {
    let radius = 3.4;
    let middles: Vec<DVec2> = outcome
        .pieces
        .iter()
        .map(|p| {
            let middle = outcome.path.point((p.station_mm[0] + p.station_mm[1]) / 2.0);
            let of_body = |v: &&BodyView| v.name == p.body;
            let range = outcome.views.iter().find(of_body).and_then(|v| range_at(&v.side, middle.x));
            let [low, high] = range.unwrap_or([view.up(middle); 2]);
            view.flat(middle.x, low + (high - low) * 0.2)
        })
        .collect();
    let wanted: Vec<(f64, f64)> = middles.iter().map(|m| (m.x, 2.0 * radius + 0.8)).collect();
    let placed = spread(&wanted, 4.0, width - 4.0);
    for ((piece, middle), x) in outcome.pieces.iter().zip(middles).zip(placed) {
        let at = DVec2::new(x, y);
        d.begin(&format!("piece-{}", words::piece(piece.number)), &piece_title(piece));
        d.line("thin", DVec2::new(x, y - radius), middle);
        d.circle("solid", middle, 0.5);
        d.circle("thin blank", at, radius);
        d.text("name", at + DVec2::new(0.0, 1.25), Anchor::Middle, &words::piece(piece.number));
        d.end();
    }
}

fn piece_title(piece: &Piece) -> String {
    format!("Piece {}, {}, {}", words::piece(piece.number), piece.body, words::stations(piece.station_mm))
}

/// Names of strips, spines and the wire way under the top view, and the first and last pixel of each strip.
fn inside_names(d: &mut Drawing, outcome: &Outcome, view: &View, y: f64, width: f64) {
    let on = |a: DVec3, b: DVec3, share: f64| view.at(a + (b - a) * share);
    let mut names: Vec<(DVec2, String)> = Vec::new();
    names.extend(outcome.spines.iter().map(|b| (on(b.start, b.end, 0.35), b.name.clone())));
    names.extend(outcome.strips.iter().map(|b| (on(b.start, b.end, 0.55), b.name.clone())));
    if let [.., a, b] = outcome.wire_way[..] {
        let (a, b) = if outcome.wire_way.len() > 2 { (outcome.wire_way[0], outcome.wire_way[1]) } else { (a, b) };
        names.push((on(a, b, 0.5), "wire way".to_owned()));
    }
    d.begin("inside", "Names of what lies inside");
    named_row(d, y, width, "", &names);
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

/// A dimension for each piece: bodies' pieces in one row, covers below. Returns the next free y.
fn piece_lengths(d: &mut Drawing, outcome: &Outcome, view: &View, y: f64) -> f64 {
    let (covers, others): (Vec<&Piece>, Vec<&Piece>) = outcome.pieces.iter().partition(|p| p.role == Role::Cover);
    let mut y = y + 3.0;
    for row in [others, covers] {
        if row.is_empty() {
            continue;
        }
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

/// Stations along the bottom: a tick each 50 mm, a number each 100 mm, inches below when asked. Ticks stand under the
/// place on the path, so on a curved prop they lie closer where the path slopes. Returns the next free y.
fn station_axis(d: &mut Drawing, outcome: &Outcome, view: &View, y: f64) -> f64 {
    let x_at = |station: f64| view.x(outcome.path.point(station).x);
    let length = outcome.path.length_mm();
    d.begin("stations", "Stations from the butt along the centre path, mm");
    d.line("thin", DVec2::new(x_at(0.0), y), DVec2::new(x_at(length), y));
    let n_ticks = (length / 50.0 + 1e-9).floor() as u32;
    for i in 0..=n_ticks {
        let (x, station) = (x_at(f64::from(i) * 50.0), i * 50);
        let tall = i % 2 == 0;
        d.line("thin", DVec2::new(x, y), DVec2::new(x, y + if tall { 2.2 } else { 1.2 }));
        if tall {
            d.text("small", DVec2::new(x, y + 5.6), Anchor::Middle, &station.to_string());
        }
    }
    d.text("small", DVec2::new(MARGIN, y - 1.5), Anchor::Start, "butt");
    d.text("small", DVec2::new(x_at(length), y - 1.5), Anchor::End, "tip");
    d.text("small", DVec2::new((x_at(0.0) + x_at(length)) / 2.0, y - 1.5), Anchor::Middle, "station, mm");
    d.end();
    if !outcome.inches {
        return y + 7.0;
    }
    let y = y + 10.0;
    d.begin("stations-inches", "Stations, inches");
    d.line("thin", DVec2::new(x_at(0.0), y), DVec2::new(x_at(length), y));
    for i in 0..=(length / 25.4 + 1e-9).floor() as u32 {
        let x = x_at(f64::from(i) * 25.4);
        let tall = i % 4 == 0;
        d.line("thin", DVec2::new(x, y), DVec2::new(x, y + if tall { 2.2 } else { 1.2 }));
        if tall {
            d.text("small", DVec2::new(x, y + 5.6), Anchor::Middle, &i.to_string());
        }
    }
    d.text("small", DVec2::new((x_at(0.0) + x_at(length)) / 2.0, y + 9.4), Anchor::Middle, "station, inches");
    d.end();
    y + 11.0
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

/// The role in the trade's word.
pub(crate) fn role(role: Role) -> &'static str {
    match role {
        Role::Lit => "lit",
        Role::Plain => "plain",
        Role::Cover => "cover",
    }
}
