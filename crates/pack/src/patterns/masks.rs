//! Masks at full size: the surface in each window laid flat.

use super::tiles::{Pattern, percent};
use crate::labels::text_width;
use crate::svg::{Anchor, Drawing, LETTER, thinned};
use crate::words::{self, short};
use prop::mask::{LIMIT, Mask, MaskPart};
use prop::outcome::Outcome;
use solid::patch::traced;
use solid::{DVec2, JUDGED_MM};

const MARGIN: f64 = 14.0;
/// Between parts, mm, and room below each for its words.
const GAP: f64 = 8.0;
const WORDS: f64 = 12.0;
/// The sheet is at least so wide, mm.
const LEAST: f64 = 500.0;
/// Stations marked on a mask, mm.
const STATIONS_MM: f64 = 50.0;
/// Outlines of holes smaller than this are not drawn, mm2: nobody cuts them.
const HOLE_MM2: f64 = 2.0;

/// In file names.
pub(super) const NAME: &str = "masks";

/// Every part of every mask with its name and its window's.
pub(super) fn named(outcome: &Outcome) -> impl Iterator<Item = (String, String, &MaskPart)> {
    outcome.masks.iter().flat_map(|mask| {
        let window = &outcome.windows[mask.window].name;
        let one = mask.parts.len() == 1;
        let name = move |k: usize| if one { window.clone() } else { format!("{window} {}", k + 1) };
        mask.parts.iter().enumerate().map(move |(k, part)| (name(k), window.clone(), part))
    })
}

/// A part with its words.
struct Laid<'a> {
    part: &'a MaskPart,
    name: String,
    words: [String; 2],
    low: DVec2,
    size: DVec2,
}

pub(super) fn pattern(outcome: &Outcome) -> Option<Pattern> {
    let mut laid: Vec<Laid> = named(outcome).map(worded).collect();
    if laid.is_empty() {
        return None;
    }
    let width = laid.iter().map(|l| l.size.x).fold(LEAST, f64::max) + 2.0 * MARGIN;
    let title = format!("{}: masks at full size", outcome.prop);
    let desc = format!(
        "The surface in each window laid flat, seen from outside, butt left, at full size, in {} parts, each with its stations, the \
         cuts that cross it, and how far laying it flat stretches it.",
        laid.len()
    );
    let mut d = Drawing::new("masks", title, desc);
    d.text("head", DVec2::new(MARGIN, MARGIN + 4.0), Anchor::Start, "Masks, seen from outside, butt left");
    // Rows from the top, each as high as its highest part; a part goes on in the row while it fits.
    let (mut x, mut y, mut high) = (MARGIN, MARGIN + 10.0, 0.0f64);
    for part in &mut laid {
        if x + part.size.x > width - MARGIN + 1e-6 && x > MARGIN {
            (x, y, high) = (MARGIN, y + high + GAP, 0.0);
        }
        draw(&mut d, outcome, part, DVec2::new(x, y));
        x += part.size.x + GAP;
        high = high.max(part.size.y);
    }
    let size = DVec2::new(width, y + high + MARGIN);
    let mut notes: Vec<String> = outcome.masks.iter().map(|m| told(outcome, m)).collect();
    notes.push(format!(
        "An edge of a mask is longer or shorter than on the prop by no more than is said beside it; where a limit of {} could be kept \
         only by parting it, it is in parts. Edges under {JUDGED_MM} mm are not judged. Cut along the thick line; lay it with this \
         side out; the cuts between pieces are chain lines.",
        percent(LIMIT)
    ));
    if laid.iter().any(|l| l.part.flat.slit) {
        notes.push(
            "What goes all round is slit along the line opposite +z, under the prop as the side view shows it.".into(),
        );
    }
    Some(Pattern { name: NAME, title: "masks".to_owned(), sheet: d.finish(size), notes })
}

/// One line about a window's mask.
fn told(outcome: &Outcome, mask: &Mask) -> String {
    let window = &outcome.windows[mask.window];
    let mut line = match (&mask.trouble, mask.parts.len()) {
        (Some(trouble), _) => return format!("Window {} has no mask: {trouble}. Mask it by hand.", window.name),
        (None, 1) => format!("Window {}: one part", window.name),
        (None, n) => format!("Window {}: {n} parts", window.name),
    };
    line.push_str(&format!(
        ", edges true within {}, area within {}.",
        percent(mask.edge_error()),
        percent(mask.area_error())
    ));
    if mask.edge_error() > LIMIT {
        line.push_str(" Over the limit: cut into it where it wrinkles, or mask with tape that gives.");
    }
    if mask.specks_mm2 > 0.5 {
        line.push_str(&format!(" Left out: specks of {} mm² in all.", short(mask.specks_mm2, 0)));
    }
    line
}

/// A part with its words, not yet anywhere.
fn worded((name, _, part): (String, String, &MaskPart)) -> Laid<'_> {
    let words = [
        format!("{name}: {}, {}", words::stations(part.station_mm.map(f64::round)), side(part)),
        format!(
            "edges true within {} (mean {}), area {}{}",
            percent(part.flat.edge_error),
            percent(part.flat.mean_error),
            percent(part.flat.area_error),
            if part.flat.slit { ", slit opposite +z" } else { "" }
        ),
    ];
    let inf = (DVec2::INFINITY, DVec2::NEG_INFINITY);
    let (low, high) = part.flat.points.iter().fold(inf, |(l, h), p| (l.min(*p), h.max(*p)));
    let longest = words.iter().map(|w| text_width(w, LETTER)).fold(0.0, f64::max);
    let size = DVec2::new((high.x - low.x).max(longest), high.y - low.y + WORDS);
    Laid { part, name, words, low, size }
}

/// Which way a part looks and where it lies, in the project's words for sides.
fn side(part: &MaskPart) -> String {
    let word = |v: [f64; 2]| {
        let axis = if v[0].abs() > v[1].abs() { 0 } else { 1 };
        format!("{}{}", if v[axis] < 0.0 { '-' } else { '+' }, ['y', 'z'][axis])
    };
    let (looks, lies) = (word(part.looks), word(part.lies_mm));
    if looks == lies { format!("on the {looks} side") } else { format!("on the {lies} side, looking to {looks}") }
}

/// Draws a part with its box's first corner at `at`; y goes down on paper, so that it is turned over once, as seen from outside.
fn draw(d: &mut Drawing, outcome: &Outcome, laid: &Laid, at: DVec2) {
    let flat = &laid.part.flat;
    let high_mm = laid.size.y - WORDS;
    let placed = |p: DVec2| at + DVec2::new(p.x - laid.low.x, high_mm - (p.y - laid.low.y));
    d.begin(&format!("mask-{}", laid.name), &format!("Mask {}", laid.words[0]));
    let outlines = flat.outlines();
    let large = |l: &&Vec<DVec2>| solid::section::area_mm2(std::slice::from_ref(*l)).abs() > HOLE_MM2;
    let drawn = outlines.iter().filter(large).map(|l| {
        let mut closed: Vec<DVec2> = l.iter().map(|p| placed(*p)).collect();
        closed.extend(closed.first().copied());
        let mut kept = thinned(&closed);
        kept.pop();
        kept
    });
    d.outlines("thick", drawn);
    let stations: Vec<f64> = flat.mesh.vertices.iter().map(|v| outcome.path.station_of(*v)).collect();
    let lines = |at: f64| -> Vec<Vec<DVec2>> {
        let found = traced(&flat.mesh.triangles, &flat.points, &|v| stations[v as usize] - at);
        found.into_iter().map(|l| l.into_iter().map(placed).collect()).collect()
    };
    let [from, to] = laid.part.station_mm;
    for k in (from / STATIONS_MM).ceil() as i64..=(to / STATIONS_MM).floor() as i64 {
        let station = k as f64 * STATIONS_MM;
        let found = lines(station);
        let Some(top) = found.iter().flatten().copied().reduce(|a, b| if b.y < a.y { b } else { a }) else { continue };
        found.into_iter().for_each(|line| d.polyline("thin", line));
        d.text("small", top + DVec2::new(0.0, -1.0), Anchor::Middle, &short(station, 0));
    }
    for joint in &outcome.joints {
        let frame = &joint.frame;
        let off = |v: u32| (flat.mesh.vertices[v as usize] - frame.point).dot(frame.along);
        let found = traced(&flat.mesh.triangles, &flat.points, &off);
        let Some(top) = found.first().map(|l| placed(l[0])) else { continue };
        found.into_iter().for_each(|line| d.polyline("cut", line.into_iter().map(placed)));
        d.text("name", top + DVec2::new(1.5, 4.0), Anchor::Start, &format!("J{}", joint.number));
    }
    for (k, line) in laid.words.iter().enumerate() {
        let class = if k == 0 { "name" } else { "small" };
        d.text(class, at + DVec2::new(0.0, high_mm + 5.0 + 4.5 * k as f64), Anchor::Start, line);
    }
    d.end();
}
