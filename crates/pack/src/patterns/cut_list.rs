//! What is cut to length: strip, spine, pegs, wires and bands, on sheets to tick off.

use super::paper::{FOOT, MARGIN, PAPERS, Paper};
use super::tiles::{Foot, Page, sign};
use crate::labels::text_width;
use crate::lists;
use crate::svg::{Anchor, Drawing, LETTER, Sheet};
use crate::words::{self, short, with_unit};
use prop::outcome::{Bar, Outcome};
use solid::DVec2;

/// Height of a row, mm.
const ROW: f64 = 7.0;
/// Where columns begin, mm from the margin: box to tick, what, from what, how many, length, where.
const COLUMNS: [f64; 6] = [0.0, 8.0, 48.0, 128.0, 148.0, 196.0];

/// A thing to cut.
struct Line {
    what: String,
    from: String,
    count: String,
    length: String,
    place: String,
}

/// Where rows begin, and what is free below the last, mm.
const TOP: f64 = MARGIN + 20.0;
const BELOW: f64 = MARGIN + FOOT + 2.0;

/// Everything that is cut to length on one sheet; none where nothing is.
pub(super) fn whole(outcome: &Outcome, foot: &Foot) -> Option<Sheet> {
    let rows = lines(outcome).len() as f64;
    let paper = Paper::roll(DVec2::new(PAPERS[0].size.x, TOP + ROW * rows + BELOW));
    pages(outcome, &paper, foot).pop().map(|page| page.sheet)
}

/// The same on pages.
pub(super) fn pages(outcome: &Outcome, paper: &Paper, foot: &Foot) -> Vec<Page> {
    let lines = lines(outcome);
    // A hair more than rows take: what was added up for a roll may be less by rounding.
    let per_page = ((paper.size.y - BELOW - TOP) / ROW + 1e-6).floor().max(1.0) as usize;
    let count = lines.len().div_ceil(per_page);
    let page = |(k, some): (usize, &[Line])| {
        let alt = format!("Cut list of {}, page {} of {count}: {} lines to tick off.", outcome.prop, k + 1, some.len());
        let mut d = Drawing::new(format!("cuts-{}", k + 1), format!("{}: cut list, page {}", outcome.prop, k + 1), alt);
        let left = MARGIN;
        let head = format!("{}: cut list", outcome.prop);
        d.text("head", DVec2::new(left, MARGIN + 6.0), Anchor::Start, &head);
        for (x, word) in COLUMNS.iter().zip(["", "what", "of", "pieces", "length", "where"]) {
            d.text("small", DVec2::new(left + x, TOP - 2.5), Anchor::Start, word);
        }
        for (i, line) in some.iter().enumerate() {
            let y = TOP + ROW * i as f64;
            d.line("quiet", DVec2::new(left, y), DVec2::new(paper.size.x - MARGIN, y));
            d.rect("thin", DVec2::new(left + 0.5, y + 1.5), DVec2::splat(4.0));
            let cells = [&line.what, &line.from, &line.count, &line.length, &line.place];
            for (k, cell) in cells.into_iter().enumerate() {
                let x = COLUMNS[k + 1];
                let room = COLUMNS.get(k + 2).map_or(paper.size.x - MARGIN - left, |next| *next) - x;
                let is_long = text_width(cell, LETTER) > room;
                let class = if is_long {
                    "small"
                } else if k == 3 {
                    "name"
                } else {
                    ""
                };
                d.text(class, DVec2::new(left + x, y + 4.9), Anchor::Start, cell);
            }
        }
        sign(&mut d, paper, foot, &format!("{}: cut list", outcome.prop), [k + 1, count]);
        Page { name: (k + 1).to_string(), sheet: d.finish(paper.size) }
    };
    lines.chunks(per_page).enumerate().map(page).collect()
}

fn lines(outcome: &Outcome) -> Vec<Line> {
    let mm = |mm: f64| words::length(mm, outcome.inches);
    let mut all = Vec::new();
    for same in outcome.strips.chunk_by(|a, b| a.name == b.name) {
        let number = same[0].name.rsplit(' ').next().and_then(|n| n.parse::<u32>().ok());
        let pixels = outcome.pixels.iter().filter(|p| Some(p.strip) == number).count();
        let bends = match same.len() {
            1 => String::new(),
            2 => ", bent once".to_owned(),
            n => format!(", bent {} times", n - 1),
        };
        all.push(Line {
            what: same[0].name.clone(),
            from: format!("strip, {pixels} pixels{bends}: cut on a cutting mark"),
            count: "1".into(),
            length: mm(same.iter().map(long).sum()),
            place: words::stations([same[0].station_mm[0], same[same.len() - 1].station_mm[1]]),
        });
    }
    for bar in &outcome.spines {
        let [wide, thick] = bar.size_mm.map(|m| short(m, 1));
        all.push(Line {
            what: bar.name.clone(),
            from: format!("bar, {wide} x {}", with_unit(&thick, "mm")),
            count: "1".into(),
            length: mm(long(bar)),
            place: words::stations(bar.station_mm),
        });
    }
    all.extend(lists::hardware(outcome).into_iter().filter_map(|h| {
        let length = mm(h.cut_mm?);
        Some(Line { what: h.what.to_owned(), from: h.title, count: h.count.to_string(), length, place: h.place })
    }));
    for wire in outcome.wires.iter().filter(|w| !w.points.is_empty()) {
        all.push(Line {
            what: format!("W{}", wire.number),
            from: format!("wire, from {} to {}", wire.from, words::wire_end(wire.to)),
            count: wire.wires.to_string(),
            length: words::band(wire.cut_mm, "mm"),
            place: wire.joints.iter().map(|j| format!("J{j}")).collect::<Vec<_>>().join(" "),
        });
    }
    for wrap in &outcome.finish.wraps {
        all.push(Line {
            what: format!("wrap {}", wrap.name),
            from: wrap.title.clone(),
            count: wrap.bands.to_string(),
            length: mm(wrap.cut_mm),
            place: words::stations(wrap.station_mm),
        });
    }
    all
}

fn long(bar: &Bar) -> f64 {
    (bar.end - bar.start).length()
}
