//! `patterns/index.json`: which files there are, and how their pages lie together.

use super::{Made, OnPaper, bound, masks, one, page_file};
use crate::findings::written;
use prop::mask::MaskPart;
use prop::outcome::Outcome;
use serde::Serialize;

/// One pattern. Files are named as they lie beside this index.
#[derive(Serialize)]
struct Entry<'a> {
    name: &'a str,
    title: &'a str,
    /// All of it on one sheet.
    files: Vec<String>,
    /// Size of the long sheet, mm; none for what is not at full size.
    #[serde(skip_serializing_if = "Option::is_none")]
    sheet_mm: Option<[f64; 2]>,
    papers: Vec<PaperEntry>,
    /// What laying it flat did to each part of a mask.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    parts: Vec<PartEntry>,
}

/// Errors as shares.
#[derive(Serialize)]
struct PartEntry {
    name: String,
    window: String,
    area_mm2: f64,
    area_error: f64,
    edge_error: f64,
    mean_error: f64,
}

#[derive(Serialize)]
struct PaperEntry {
    paper: &'static str,
    /// All pages, to print.
    pdf: String,
    /// Each of them as a drawing, in their order.
    pages: Vec<String>,
    /// Where the part of the long sheet that a page shows begins on the page, and its size, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    shown_mm: Option<[[f64; 2]; 2]>,
    /// Pages after the first: name, and where what they show begins on the long sheet, mm.
    tiles: Vec<TileEntry>,
}

#[derive(Serialize)]
struct TileEntry {
    name: String,
    from_mm: [f64; 2],
}

/// The file's content.
pub(super) fn json(outcome: &Outcome, all: &[Made]) -> String {
    let entries: Vec<Entry> = all.iter().map(|made| entry(outcome, made)).collect();
    written(&serde_json::json!({ "patterns": entries }))
}

fn entry<'a>(outcome: &Outcome, made: &'a Made) -> Entry<'a> {
    let ends = ["pdf", "svg"].into_iter().filter(|end| *end == "svg" || made.one_fits());
    let parts = if made.name == masks::NAME { masks::named(outcome).map(part).collect() } else { Vec::new() };
    Entry {
        name: made.name,
        title: &made.title,
        files: ends.map(|end| one(made.name, end)).collect(),
        sheet_mm: made.full_size.then(|| made.long.size_mm()),
        papers: made.papers.iter().map(|on| paper(made.name, on)).collect(),
        parts,
    }
}

fn part((name, window, part): (String, String, &MaskPart)) -> PartEntry {
    PartEntry {
        name,
        window,
        area_mm2: part.flat.area_mm2(),
        area_error: part.flat.area_error,
        edge_error: part.flat.edge_error,
        mean_error: part.flat.mean_error,
    }
}

fn paper(name: &str, on: &OnPaper) -> PaperEntry {
    let tiles = on.tiling.iter().flat_map(|tiling| {
        tiling.tiles.iter().map(|t| TileEntry { name: t.name(), from_mm: tiling.shows(*t)[0].to_array() })
    });
    PaperEntry {
        paper: on.paper.name,
        pdf: bound(name, on.paper),
        pages: on.pages.iter().map(|page| page_file(name, on.paper, page)).collect(),
        shown_mm: on.tiling.as_ref().map(|_| on.paper.shown().map(|v| v.to_array())),
        tiles: tiles.collect(),
    }
}
