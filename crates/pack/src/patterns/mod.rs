//! Patterns at full size, in tiles for the paper at home and as one long sheet; the cut list; the sizing sheet.
//!
//! `paper` says what fits a page, `tiles` draws the pages; `outline`, `masks` and `wraps` are long sheets, `cut_list` and `sizing` pages
//! of their own.

mod cut_list;
mod masks;
mod outline;
mod paper;
mod sizing;
#[cfg(test)]
mod tests;
mod tiles;
mod wraps;

use crate::Artifact;
use crate::findings::written;
use paper::{PAPERS, Paper};
use prop::outcome::Outcome;
use serde::Serialize;
use tiles::{Foot, Page, Pattern};

/// What `patterns/index.json` says of one.
#[derive(Serialize)]
struct Entry {
    name: &'static str,
    title: String,
    /// Beside this index.
    files: Vec<String>,
    /// Size of the long sheet, mm; none for pages of their own.
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
    /// Beside this index, in their order.
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

/// Files for the page's list, with their words.
pub(crate) fn listed(outcome: &Outcome) -> Vec<(String, String)> {
    let kinds = [
        (true, "outline", "outline at full size", true),
        (masks::named(outcome).next().is_some(), masks::NAME, "masks at full size", true),
        (!outcome.finish.wraps.is_empty(), "wraps", "wraps at full size", true),
        (cut_list::is_any(outcome), "cut-list", "cut list", false),
        (true, "sizing", "sizing sheet", false),
    ];
    let mut all = Vec::new();
    for (_, name, title, is_long) in kinds.into_iter().filter(|k| k.0) {
        let first = if is_long { "first" } else { "1" };
        let on = |p: &Paper| (format!("patterns/{name}-{}/{first}.svg", p.name), format!("{title}, {}", p.title));
        all.extend(PAPERS.iter().map(on));
        if is_long {
            all.push((format!("patterns/{name}.svg"), format!("{title}, one sheet")));
        }
    }
    all.push(("patterns/index.json".to_owned(), "patterns as data".to_owned()));
    all
}

/// Everything below `patterns/`.
pub(crate) fn files(outcome: &Outcome) -> Vec<Artifact> {
    let imprint = outcome.imprint.lines();
    let foot = Foot { prop: &outcome.prop, imprint: &imprint };
    let patterns: Vec<Pattern> = [Some(outline::pattern(outcome)), masks::pattern(outcome), wraps::pattern(outcome)]
        .into_iter()
        .flatten()
        .collect();
    let mut made = Vec::new();
    let mut entries = Vec::new();
    for pattern in patterns {
        let (some, mut entry) = of_pattern(pattern, &foot);
        made.extend(some);
        if entry.name == masks::NAME {
            entry.parts = masks::named(outcome)
                .map(|(name, window, part)| PartEntry {
                    name,
                    window,
                    area_mm2: part.flat.area_mm2(),
                    area_error: part.flat.area_error,
                    edge_error: part.flat.edge_error,
                    mean_error: part.flat.mean_error,
                })
                .collect();
        }
        entries.push(entry);
    }
    if cut_list::is_any(outcome) {
        let on = |paper: &Paper| cut_list::pages(outcome, paper, &foot);
        let (some, entry) = of_pages("cut-list", "cut list", &on);
        made.extend(some);
        entries.push(entry);
    }
    let (some, mut entry) = of_pages("sizing", "sizing sheet", &|paper| vec![sizing::page(outcome, paper, &foot)]);
    made.extend(some);
    made.push(artifact("sizing.svg", sizing::drawn(outcome, &PAPERS[0], &foot).to_file()));
    entry.files.push("sizing.svg".into());
    entries.push(entry);
    made.push(artifact("index.json", written(&serde_json::json!({ "patterns": entries }))));
    made
}

/// A long sheet: as one, and in tiles on each paper.
fn of_pattern(pattern: Pattern, foot: &Foot) -> (Vec<Artifact>, Entry) {
    let name = pattern.name;
    let file = format!("{name}.svg");
    let mut made = vec![artifact(&file, tiles::long(&pattern, foot).to_file())];
    let mut papers = Vec::new();
    for paper in &PAPERS {
        let (tiling, pages) = tiles::pages(&pattern, paper, foot);
        let tiles = tiling.tiles.iter().map(|t| TileEntry { name: t.name(), from_mm: tiling.shows(*t)[0].to_array() });
        let shown_mm = Some(paper.shown().map(|v| v.to_array()));
        papers.push(PaperEntry { shown_mm, tiles: tiles.collect(), ..on_paper(name, paper, &pages) });
        made.extend(filed(name, paper, pages));
    }
    let sheet_mm = Some(pattern.sheet.size_mm());
    (made, Entry { name, title: pattern.title, files: vec![file], sheet_mm, papers, parts: Vec::new() })
}

/// Pages of their own on each paper.
fn of_pages(name: &'static str, title: &str, on: &dyn Fn(&Paper) -> Vec<Page>) -> (Vec<Artifact>, Entry) {
    let (mut made, mut papers) = (Vec::new(), Vec::new());
    for paper in &PAPERS {
        let pages = on(paper);
        papers.push(on_paper(name, paper, &pages));
        made.extend(filed(name, paper, pages));
    }
    (made, Entry { name, title: title.to_owned(), files: Vec::new(), sheet_mm: None, papers, parts: Vec::new() })
}

fn on_paper(name: &str, paper: &Paper, pages: &[Page]) -> PaperEntry {
    let pages = pages.iter().map(|page| path(name, paper, page)).collect();
    PaperEntry { paper: paper.name, pages, shown_mm: None, tiles: Vec::new() }
}

/// "outline-a4/B3.svg".
fn path(name: &str, paper: &Paper, page: &Page) -> String {
    format!("{name}-{}/{}.svg", paper.name, page.name)
}

fn filed(name: &str, paper: &Paper, pages: Vec<Page>) -> Vec<Artifact> {
    pages.into_iter().map(|page| artifact(&path(name, paper, &page), page.svg)).collect()
}

fn artifact(file: &str, svg: String) -> Artifact {
    Artifact::new(format!("patterns/{file}"), svg)
}
