//! Windows on the drawings, and `light/windows.json`: what each is, so that others can work it out again.

use crate::findings::written;
use crate::svg::{Drawing, thinned};
use crate::view::View;
use prop::outcome::Outcome;
use prop::project::Flank;
use prop::window::WindowView;
use serde::Serialize;
use solid::{DVec2, DVec3};

#[derive(Serialize)]
struct File<'a> {
    /// The centre path, prop frame: stations are arc length along it.
    path: Vec<[f64; 3]>,
    windows: Vec<Entry<'a>>,
}

/// A point of the body's outer surface lies in the window when it keeps everything that is not null, no window above claims
/// it, and it does not lie on a face where another body is joined on.
#[derive(Serialize)]
struct Entry<'a> {
    name: &'a str,
    body: &'a str,
    /// Whether the project names no window in the body, so that `glow` says where light comes out.
    implied: bool,
    area_mm2: f64,
    /// Stations it spans.
    station_mm: [f64; 2],
    band: Option<BandEntry>,
    /// In the outer third of the half width across, 8 mm at least.
    outer_third: bool,
    /// Within any of these; anywhere when there are none.
    stations_mm: &'a [[f64; 2]],
    faces: Option<FacesEntry>,
    /// What the maker's mesh is painted with there.
    #[serde(skip_serializing_if = "Option::is_none")]
    colour: Option<&'a str>,
    /// Stations of the body's ends where another body is joined on.
    joined_mm: &'a [f64],
    /// Coats on the window, from the plastic outwards.
    coats: &'a [String],
    /// Coats beside it.
    beside: &'a [String],
}

/// Within `width_mm` of one of the lines, on the line's side of the section's middle.
#[derive(Serialize)]
struct BandEntry {
    width_mm: f64,
    sides: Vec<&'static str>,
    lines: Vec<Vec<[f64; 3]>>,
}

/// With an outward normal within so many degrees of a side: +y across, +z through, both square to the path.
#[derive(Serialize)]
struct FacesEntry {
    within_deg: f64,
    sides: Vec<&'static str>,
}

/// The file's content.
pub(crate) fn json(outcome: &Outcome) -> String {
    written(&File { path: points(outcome.path.points()), windows: outcome.windows.iter().map(entry).collect() })
}

fn entry(w: &WindowView) -> Entry<'_> {
    let words = |sides: &[Flank]| sides.iter().map(|s| s.word()).collect();
    Entry {
        name: &w.name,
        body: &w.body,
        implied: w.implied,
        area_mm2: w.area_mm2,
        station_mm: w.station_mm,
        band: w.zone.band.as_ref().map(|(sides, width_mm)| BandEntry {
            width_mm: *width_mm,
            sides: words(sides),
            lines: w.lines.iter().map(|line| points(line)).collect(),
        }),
        outer_third: w.zone.outer_third,
        stations_mm: &w.zone.stations_mm,
        faces: w
            .zone
            .faces
            .as_ref()
            .map(|(sides, within_deg)| FacesEntry { within_deg: *within_deg, sides: words(sides) }),
        colour: w.zone.colour.as_deref(),
        joined_mm: &w.joined_mm,
        coats: &w.coats,
        beside: &w.beside,
    }
}

fn points(line: &[DVec3]) -> Vec<[f64; 3]> {
    line.iter().map(|p| p.to_array()).collect()
}

/// The windows that the project names, as they are seen in a view.
pub(crate) fn draw(d: &mut Drawing, outcome: &Outcome, view: &View, word: &str) {
    for (i, w) in outcome.windows.iter().enumerate().filter(|(_, w)| !w.implied) {
        let seen = outlines(w, view);
        if seen.is_empty() {
            continue;
        }
        d.begin(&format!("{word}-window-{}", i + 1), &title(w));
        d.outlines("light window", seen);
        d.end();
    }
}

fn title(w: &WindowView) -> String {
    format!("Window {} in {}: {:.0} cm2 of bare wall where light comes out", w.name, w.body, w.area_mm2 / 100.0)
}

fn outlines(w: &WindowView, view: &View) -> Vec<Vec<DVec2>> {
    let loops = if view.top_view { &w.top } else { &w.side };
    loops.iter().map(|l| thinned(&l.iter().map(|p| view.flat(p.x, p.y)).collect::<Vec<_>>())).collect()
}

/// A point on each window for its name, on the sheet.
pub(crate) fn names(outcome: &Outcome, view: &View) -> Vec<(DVec2, String)> {
    let named = outcome.windows.iter().filter(|w| !w.implied);
    named
        .filter_map(|w| {
            let seen = outlines(w, view);
            let widest = seen.iter().max_by(|a, b| width(a).total_cmp(&width(b)))?;
            // A third along, away from the body's name in its middle.
            let x = widest.iter().map(|p| p.x).fold(f64::INFINITY, f64::min) + width(widest) / 3.0;
            let at = widest.iter().min_by(|a, b| (a.x - x).abs().total_cmp(&(b.x - x).abs()))?;
            Some((*at, format!("window {}", w.name)))
        })
        .collect()
}

fn width(outline: &[DVec2]) -> f64 {
    let (low, high) = outline.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p.x), h.max(p.x)));
    high - low
}
