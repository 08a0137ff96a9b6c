//! The outline at full size: from the side and from the top.

use super::tiles::Pattern;
use crate::inside::things::{self, Window};
use crate::svg::{Anchor, Drawing};
use crate::view::{
    MARGIN, View, cuts, fitting_names, fittings, named_row, outline, piece_numbers, span, station_axis, ticks,
    view_range,
};
use crate::windows;
use crate::words::short;
use prop::outcome::Outcome;
use solid::DVec2;

/// Marks on the centre path stand so far apart, mm; every other one has its number.
const STATIONS_MM: f64 = 50.0;

pub(super) fn pattern(outcome: &Outcome) -> Pattern {
    let [from, to] = span(outcome);
    let width = 2.0 * MARGIN + (to - from);
    let title = format!("{}: outline at full size", outcome.prop);
    let desc = "The whole prop from the side and from the top at full size, butt left and tip right, with stations, cuts, windows, \
                strips, spine, parts and wires.";
    let mut d = Drawing::new("outline", title, desc.to_owned());
    let mut y = MARGIN;
    for top_view in [false, true] {
        y = drawn(&mut d, outcome, View { scale: 1.0, left_mm: from, zero_y: 0.0, top_view }, y, width);
    }
    let key = [
        ("thick", "outline"),
        ("cut", "cut, with the joint's name"),
        ("centre", "centre path, with stations"),
        ("hidden", "strip or spine, inside"),
        ("way", "wire way"),
        ("wire", "wires between parts"),
        ("light window", "window: bare wall, light comes out"),
    ];
    d.begin("lines", "What the lines mean");
    for (k, (class, word)) in key.iter().enumerate() {
        let at = DVec2::new(MARGIN + (k % 4) as f64 * 75.0, y + 4.0 + (k / 4) as f64 * 6.0);
        d.line(class, at, at + DVec2::new(15.0, 0.0));
        d.text("small", at + DVec2::new(18.0, 1.0), Anchor::Start, word);
    }
    d.end();
    let notes = vec![
        "The outline is the prop's shadow from the side and from the top. Stations are counted along the centre path from the \
         butt, so on a curved prop they stand closer where the path slopes."
            .to_owned(),
        "Pages without anything on them are left out; the key map shows them dashed.".to_owned(),
    ];
    Pattern { name: "outline", title: "outline".to_owned(), sheet: d.finish(DVec2::new(width, y + 16.0)), notes }
}

/// One view with everything on it. Returns the next free y.
fn drawn(d: &mut Drawing, outcome: &Outcome, mut view: View, y: f64, width: f64) -> f64 {
    let range = view_range(outcome, &view);
    let (word, head) = if view.top_view { ("top", "From the top") } else { ("view", "From the side") };
    let mut y = y + 4.0;
    d.text("head", DVec2::new(MARGIN, y), Anchor::Start, head);
    let names_y = y + 7.0;
    y += 20.0;
    view.zero_y = y + range[1];
    y += range[1] - range[0];
    let window = Window { view: &view, from: f64::NEG_INFINITY, to: f64::INFINITY };
    for (k, body) in outcome.views.iter().enumerate() {
        d.begin(&format!("{word}-body-{}", k + 1), &format!("Outline of {}", body.name));
        d.outlines("thick", [outline(&view, view.silhouette(body))]);
        d.end();
    }
    windows::draw(d, outcome, &view, word);
    fittings(d, outcome, &view, word);
    things::wires(d, outcome, &window, word);
    things::lids(d, outcome, &window, word);
    things::parts(d, outcome, &window, word);
    cuts(d, outcome, &view, word);
    stations(d, outcome, &view, word);
    let mut names: Vec<(DVec2, String)> = outcome
        .parts
        .iter()
        .filter_map(|p| Some((view.at(p.mesh.bounds()?.center()), format!("{} {}", p.letter, p.name))))
        .collect();
    names.extend(windows::names(outcome, &view));
    names.extend(fitting_names(outcome, &view));
    d.begin(&format!("{word}-names"), "Names of windows, parts, strips and spine");
    named_row(d, names_y, width, "", &names);
    d.end();
    if !view.top_view {
        piece_numbers(d, outcome, &view, y + 9.0, width);
        d.begin("view-axis", "Stations from the butt along the centre path, mm");
        ticks(d, outcome, &view, y + 22.0, [0.0, outcome.path.length_mm()], [STATIONS_MM, 2.0 * STATIONS_MM]);
        d.end();
        return y + 38.0;
    }
    station_axis(d, outcome, &view, y + 8.0) + 8.0
}

/// Marks across the centre path.
fn stations(d: &mut Drawing, outcome: &Outcome, view: &View, word: &str) {
    d.begin(&format!("{word}-stations"), "Stations on the centre path, mm");
    let count = (outcome.path.length_mm() / STATIONS_MM).floor() as usize;
    for k in 0..=count {
        let frame = outcome.path.frame(k as f64 * STATIONS_MM);
        let at = view.at(frame.point);
        let along = (view.at(frame.point + frame.along) - at).normalize_or_zero();
        let half = along.perp() * if k % 2 == 0 { 3.0 } else { 1.5 };
        d.line("thin", at - half, at + half);
        if k % 2 == 0 {
            d.text("small", at + DVec2::new(1.0, -1.0), Anchor::Start, &short(frame.station_mm, 0));
        }
    }
    d.end();
}
