//! The lists beside the see-through view: parts, wires, what the lines mean.

use super::ratio;
use crate::labels::text_width;
use crate::svg::{Anchor, Drawing};
use crate::view::MARGIN;
use crate::words::{self, short, with_unit};
use prop::outcome::Outcome;
use solid::DVec2;

const ROW: f64 = 5.4;
const LETTER: f64 = 3.0;

/// Id, heading, columns and rows of a list.
type List<'a> = (&'a str, &'a str, &'a [&'a str], Vec<Vec<String>>);

/// Parts in words, with size, station and way out; wires with their length beside or below. Returns the next free y.
pub(super) fn tables(d: &mut Drawing, outcome: &Outcome, y: f64, width: f64) -> f64 {
    let parts: Vec<Vec<String>> = outcome
        .parts
        .iter()
        .map(|p| {
            vec![
                p.letter.to_string(),
                p.name.clone(),
                p.title.clone(),
                with_unit(&p.size_mm.map(|v| short(v, 1)).join(" × "), "mm"),
                with_unit(&p.station_mm.map(|s| short(s, 0)).join(" to "), "mm"),
                words::reached(p.reached),
            ]
        })
        .collect();
    let wires: Vec<Vec<String>> = outcome
        .wires
        .iter()
        .map(|w| {
            let joints: Vec<String> = w.joints.iter().map(|j| format!("J{j}")).collect();
            vec![
                format!("W{}", w.number),
                format!("{} to {}", w.from, words::wire_end(w.to)),
                w.wires.to_string(),
                if w.points.is_empty() { "no way found".to_owned() } else { words::band(w.cut_mm, "mm") },
                if joints.is_empty() { "\u{2013}".to_owned() } else { joints.join(", ") },
            ]
        })
        .collect();
    let lists: [List<'_>; 2] = [
        ("list-parts", "Parts", &["", "name", "what it is", "size", "stations", "comes out"], parts),
        ("list-wires", "Wires", &["", "from, to", "wires", "length to cut", "across"], wires),
    ];
    let (mut x, mut top, mut bottom) = (MARGIN, y, y);
    for (id, head, columns, rows) in lists {
        if rows.is_empty() {
            continue;
        }
        let widths = widths(columns, &rows);
        let whole: f64 = widths.iter().sum();
        if x > MARGIN && x + whole > width - MARGIN {
            (x, top) = (MARGIN, bottom + 6.0);
        }
        d.begin(id, head);
        d.text("head", DVec2::new(x, top + 2.0), Anchor::Start, head);
        let line = |d: &mut Drawing, y: f64, class: &str, cells: &mut dyn Iterator<Item = &str>| {
            let mut at = x;
            for (cell, w) in cells.zip(&widths) {
                d.text(class, DVec2::new(at, y), Anchor::Start, cell);
                at += w;
            }
        };
        line(d, top + 8.0, "small name", &mut columns.iter().copied());
        d.line("thin", DVec2::new(x, top + 9.4), DVec2::new(x + whole, top + 9.4));
        for (i, row) in rows.iter().enumerate() {
            line(d, top + 13.0 + i as f64 * ROW, "small", &mut row.iter().map(String::as_str));
        }
        d.end();
        bottom = bottom.max(top + 13.0 + rows.len() as f64 * ROW);
        x += whole + 8.0;
    }
    bottom
}

fn widths(columns: &[&str], rows: &[Vec<String>]) -> Vec<f64> {
    (0..columns.len())
        .map(|c| {
            let cells = rows.iter().map(|r| r[c].as_str()).chain([columns[c]]);
            cells.map(|t| text_width(t, LETTER)).fold(0.0, f64::max) + 3.5
        })
        .collect()
}

/// Samples of the lines left, title block right. Returns the next free y.
pub(super) fn key(d: &mut Drawing, outcome: &Outcome, y: f64, width: f64, scale: f64) -> f64 {
    let rows = [
        ("prop", outcome.prop.clone()),
        ("drawing", "what is inside, from the side and from the top".to_owned()),
        ("scale", format!("{} when printed at full size, parts as stated", ratio(scale))),
        ("units", "millimetres; stations along the centre path".to_owned()),
        ("inputs", outcome.input_hash.chars().take(16).collect()),
    ];
    let bottom = y + rows.len().max(5) as f64 * ROW;
    d.title_block(DVec2::new(width - MARGIN, bottom), &rows);
    d.begin("lines", "What the lines mean");
    let samples = [
        ("thick", "outline of a body"),
        ("part", "part, with its letter"),
        ("lid", "lid"),
        ("cut", "cut, with the joint's name"),
        ("hidden", "strip or spine"),
        ("wire", "wires between parts"),
        ("way", "wire way along the rail"),
        ("centre", "centre path, axis of a screw"),
        ("arrow", "the way a part comes out"),
        ("magnet", "magnet; + or \u{2212} is the pole at its open face"),
        ("toward", "comes out towards you; crossed: away"),
    ];
    for (i, (class, word)) in samples.iter().enumerate() {
        let at = DVec2::new(MARGIN + (i / 4) as f64 * 80.0, y + 4.0 + (i % 4) as f64 * 6.0);
        let middle = at + DVec2::new(7.5, 0.0);
        match *class {
            "magnet" => d.rect("magnet", middle - DVec2::new(3.0, 1.0), DVec2::new(6.0, 2.0)),
            "toward" => {
                d.circle("thin", middle, 1.6);
                d.circle("solid", middle, 0.5);
            }
            "arrow" => {
                d.line("thin", at, at + DVec2::new(12.6, 0.0));
                let tip = at + DVec2::new(15.0, 0.0);
                d.outlines("solid", [[tip, tip + DVec2::new(-2.4, 0.8), tip + DVec2::new(-2.4, -0.8)]]);
            }
            _ => d.line(class, at, at + DVec2::new(15.0, 0.0)),
        }
        d.text("small", at + DVec2::new(18.0, 1.0), Anchor::Start, word);
    }
    d.end();
    bottom
}
