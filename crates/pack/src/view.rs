//! A view of the prop along one of its sides, laid on a sheet: what every drawing on the station axis shares.

use crate::labels::{BOLD, spread, text_width};
use crate::svg::{Anchor, Drawing, LETTER, thinned};
use crate::words::{self, short};
use prop::outcome::{Bar, BodyView, Joint, Outcome, Piece, Role, Silhouette};
use solid::{DVec2, DVec3};

pub(crate) const MARGIN: f64 = 14.0;
/// Room for the prop on the sheet, mm: with the margins about 400 mm.
pub(crate) const PROP_WIDTH: f64 = 380.0;
/// How far cuts and leaders reach beyond the outline, mm on the sheet.
pub(crate) const BEYOND: f64 = 3.0;

/// One of the two views: which coordinate of the prop goes up the sheet, and where zero lies.
pub(crate) struct View {
    pub(crate) scale: f64,
    pub(crate) left_mm: f64,
    pub(crate) zero_y: f64,
    pub(crate) top_view: bool,
}

impl View {
    pub(crate) fn up(&self, p: DVec3) -> f64 {
        if self.top_view { p.y } else { p.z }
    }

    pub(crate) fn at(&self, p: DVec3) -> DVec2 {
        self.flat(p.x, self.up(p))
    }

    pub(crate) fn flat(&self, x: f64, up: f64) -> DVec2 {
        DVec2::new(self.x(x), self.zero_y - up / self.scale)
    }

    pub(crate) fn x(&self, x: f64) -> f64 {
        MARGIN + (x - self.left_mm) / self.scale
    }

    pub(crate) fn silhouette<'a>(&self, view: &'a BodyView) -> &'a Silhouette {
        if self.top_view { &view.top } else { &view.side }
    }
}

/// Millimetres of prop a millimetre of sheet: the least whole number at which the prop fits.
pub(crate) fn whole_scale(span_mm: f64) -> f64 {
    (span_mm / PROP_WIDTH).ceil().max(1.0)
}

/// The span of x that the drawing must hold, prop frame.
pub(crate) fn span(outcome: &Outcome) -> [f64; 2] {
    let ends = outcome.views.iter().flat_map(|v| [&v.side, &v.top]).flat_map(|s| [s.edge.first(), s.edge.last()]);
    let path = outcome.path.points();
    let mut span = [path[0].x, path[path.len() - 1].x];
    for e in ends.flatten() {
        span = [span[0].min(e[0]), span[1].max(e[0])];
    }
    span
}

/// Lowest and highest value of a view, prop frame.
pub(crate) fn view_range(outcome: &Outcome, view: &View) -> [f64; 2] {
    let edges = outcome.views.iter().flat_map(|v| view.silhouette(v).edge.iter()).map(|e| [e[1], e[2]]);
    let path = outcome.path.points().iter().map(|p| [view.up(*p); 2]);
    edges.chain(path).fold([0.0, 0.0], |all, e| [all[0].min(e[0]), all[1].max(e[1])])
}

/// The closed outline of a silhouette on the sheet: along the top edge and back along the bottom one.
pub(crate) fn outline(view: &View, silhouette: &Silhouette) -> Vec<DVec2> {
    let upper: Vec<DVec2> = silhouette.edge.iter().map(|e| view.flat(e[0], e[2])).collect();
    let lower: Vec<DVec2> = silhouette.edge.iter().rev().map(|e| view.flat(e[0], e[1])).collect();
    let mut all = thinned(&upper);
    all.extend(thinned(&lower));
    all
}

/// A bar seen in a view: its length, and the width its section shows.
pub(crate) fn bar_outline(view: &View, bar: &Bar) -> Vec<DVec2> {
    let through = (bar.end - bar.start).cross(bar.across).normalize_or_zero();
    let (a, b) = (view.at(bar.start), view.at(bar.end));
    let shown = |dir: DVec3, size: f64| (view.at(bar.start + dir) - a).length() * size / 2.0;
    let half = shown(bar.across, bar.size_mm[0]) + shown(through, bar.size_mm[1]);
    let square = (b - a).perp().normalize_or_zero() * half;
    vec![a + square, b + square, b - square, a - square]
}

/// The cuts as chain lines with their names.
pub(crate) fn cuts(d: &mut Drawing, outcome: &Outcome, view: &View, word: &str) {
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
pub(crate) fn cut_line(outcome: &Outcome, view: &View, joint: &Joint) -> [DVec2; 2] {
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
pub(crate) fn range_at(silhouette: &Silhouette, x: f64) -> Option<[f64; 2]> {
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
pub(crate) fn named_row(d: &mut Drawing, y: f64, width: f64, class: &str, names: &[(DVec2, String)]) {
    let wide = if class == "name" { BOLD } else { 1.0 };
    let wanted: Vec<_> = names.iter().map(|(at, n)| (at.x, text_width(n, LETTER) * wide + 2.0)).collect();
    let placed = spread(&wanted, 4.0, width - 4.0);
    for ((target, name), x) in names.iter().zip(placed) {
        let from = if target.y > y { DVec2::new(x, y + 1.2) } else { DVec2::new(x, y - LETTER) };
        d.line("thin", from, *target);
        d.circle("solid", *target, 0.5);
        d.text(class, DVec2::new(x, y), Anchor::Middle, name);
    }
}

/// Stations along the bottom: a tick each 50 mm, a number each 100 mm, inches below when asked. Ticks stand under the
/// place on the path, so on a curved prop they lie closer where the path slopes. Returns the next free y.
pub(crate) fn station_axis(d: &mut Drawing, outcome: &Outcome, view: &View, y: f64) -> f64 {
    let x_at = |station: f64| view.x(outcome.path.point(station).x);
    let length = outcome.path.length_mm();
    d.begin("stations", "Stations from the butt along the centre path, mm");
    ticks(d, outcome, view, y, [0.0, length], [50.0, 100.0]);
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

/// A line with ticks between two stations: a tick each `every[0]`, a number each `every[1]` mm.
pub(crate) fn ticks(
    d: &mut Drawing,
    outcome: &Outcome,
    view: &View,
    y: f64,
    [from, to]: [f64; 2],
    [tick, numbered]: [f64; 2],
) {
    let x_at = |station: f64| view.x(outcome.path.point(station).x);
    d.line("thin", DVec2::new(x_at(from), y), DVec2::new(x_at(to), y));
    let first = (from / tick - 1e-9).ceil() as i64;
    let last = (to / tick + 1e-9).floor() as i64;
    let per_number = (numbered / tick).round() as i64;
    for i in first..=last {
        let (x, tall) = (x_at(i as f64 * tick), i % per_number == 0);
        d.line("thin", DVec2::new(x, y), DVec2::new(x, y + if tall { 2.2 } else { 1.2 }));
        if tall {
            d.text("small", DVec2::new(x, y + 5.6), Anchor::Middle, &short(i as f64 * tick, 0));
        }
    }
}

/// Centre path, wire way, strips and spine.
pub(crate) fn fittings(d: &mut Drawing, outcome: &Outcome, view: &View, word: &str) {
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
}

/// Names of strips, spines and the wire way, each with a point on it.
pub(crate) fn fitting_names(outcome: &Outcome, view: &View) -> Vec<(DVec2, String)> {
    let on = |a: DVec3, b: DVec3, share: f64| view.at(a + (b - a) * share);
    let mut names: Vec<(DVec2, String)> = Vec::new();
    names.extend(outcome.spines.iter().map(|b| (on(b.start, b.end, 0.35), b.name.clone())));
    names.extend(outcome.strips.iter().map(|b| (on(b.start, b.end, 0.55), b.name.clone())));
    if let [.., a, b] = outcome.wire_way[..] {
        let (a, b) = if outcome.wire_way.len() > 2 { (outcome.wire_way[0], outcome.wire_way[1]) } else { (a, b) };
        names.push((on(a, b, 0.5), "wire way".to_owned()));
    }
    names
}

/// Numbers of the pieces in a row, with leaders.
pub(crate) fn piece_numbers(d: &mut Drawing, outcome: &Outcome, view: &View, y: f64, width: f64) {
    let radius = 3.4;
    let middles: Vec<DVec2> = outcome
        .pieces
        .iter()
        .map(|p| {
            if let Some(lid) = outcome.lids.iter().find(|l| l.piece == p.number) {
                return view.at(lid.seat);
            }
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

/// A piece in words, for those who point at it.
pub(crate) fn piece_title(piece: &Piece) -> String {
    format!("Piece {}, {}, {}", words::piece(piece.number), piece.body, words::stations(piece.station_mm))
}

/// The role in the trade's word.
pub(crate) fn role(role: Role) -> &'static str {
    match role {
        Role::Lit => "lit",
        Role::Plain => "plain",
        Role::Cover => "cover",
    }
}
