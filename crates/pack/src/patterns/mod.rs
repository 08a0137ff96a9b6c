//! Patterns at full size, in tiles for the paper at home and as one long sheet; the cut list; the sizing sheet.
//!
//! `paper` says what fits a page, `tiles` draws the pages; `outline`, `masks` and `wraps` are long sheets, `cut_list` and `sizing` pages
//! of their own. All of them are drawings, and as PDF the same drawings to print.

mod cut_list;
mod index;
mod masks;
mod outline;
mod paper;
mod sizing;
#[cfg(test)]
mod tests;
mod tiles;
mod wraps;

use crate::printed::{self, Origin};
use crate::svg::Sheet;
use crate::{Artifact, PackError};
use paper::{PAPERS, Paper, Tiling};
use prop::outcome::Outcome;
pub(crate) use tiles::Pattern;
use tiles::{Foot, Page};

/// All patterns of a prop, drawn.
pub(crate) struct Patterns(Vec<Made>);

/// One of them.
struct Made {
    /// In file names.
    name: &'static str,
    /// In words: "outline".
    title: String,
    /// Whether a millimetre is one.
    full_size: bool,
    long: Sheet,
    papers: Vec<OnPaper>,
}

/// The same on pages of one paper.
struct OnPaper {
    paper: &'static Paper,
    /// None where pages are not laid together.
    tiling: Option<Tiling>,
    pages: Vec<Page>,
}

impl Made {
    /// A long sheet: as one, and in tiles on each paper.
    fn of(pattern: &Pattern, foot: &Foot) -> Made {
        let on = |paper: &'static Paper| {
            let (tiling, pages) = tiles::pages(pattern, paper, foot);
            OnPaper { paper, tiling: Some(tiling), pages }
        };
        Made {
            name: pattern.name,
            title: pattern.title.clone(),
            full_size: true,
            long: tiles::long(pattern, foot),
            papers: PAPERS.iter().map(on).collect(),
        }
    }

    /// What is made for each paper by itself.
    fn paged(name: &'static str, title: &str, long: Sheet, on: &dyn Fn(&Paper) -> Vec<Page>) -> Made {
        let papers = PAPERS.iter().map(|paper| OnPaper { paper, tiling: None, pages: on(paper) }).collect();
        Made { name, title: title.to_owned(), full_size: false, long, papers }
    }

    /// Whether all of it is one page of a PDF; what is longer than that can be is a drawing only.
    fn one_fits(&self) -> bool {
        printed::fits(&self.long)
    }

    /// To print: one file for each paper, and one of the long sheet.
    fn pdfs(&self, from: &Origin) -> Result<Vec<Artifact>, PackError> {
        let mut all = Vec::new();
        for on in &self.papers {
            let sheets: Vec<&Sheet> = on.pages.iter().map(|page| &page.sheet).collect();
            let title = format!("{}, {}", self.title, on.paper.title);
            all.push(printed::pdf(bound(self.name, on.paper), &title, from, &sheets)?);
        }
        if self.one_fits() {
            let title = format!("{}, one sheet", self.title);
            all.push(printed::pdf(one(self.name, "pdf"), &title, from, &[&self.long])?);
        }
        Ok(all)
    }
}

/// A full-size sheet that belongs to no pack: its drawing, and to print as it is and in tiles on each paper.
///
/// # Errors
/// [`PackError::Print`] when it cannot be laid out.
pub(crate) fn printed(pattern: &Pattern, from: &Origin) -> Result<Vec<Artifact>, PackError> {
    let imprint = from.imprint.lines();
    let made = Made::of(pattern, &Foot { prop: from.prop, imprint: &imprint });
    let made = Made { long: pattern.sheet.clone().signed(&imprint), ..made };
    let mut all = made.pdfs(from)?;
    all.push(Artifact::new(one(made.name, "svg"), made.long.to_file()));
    Ok(all)
}

impl Patterns {
    /// Draws them.
    pub(crate) fn of(outcome: &Outcome) -> Patterns {
        let imprint = outcome.imprint.lines();
        let foot = Foot { prop: &outcome.prop, imprint: &imprint };
        let patterns = [Some(outline::pattern(outcome)), masks::pattern(outcome), wraps::pattern(outcome)];
        let mut all: Vec<Made> = patterns.iter().flatten().map(|pattern| Made::of(pattern, &foot)).collect();
        if let Some(long) = cut_list::whole(outcome, &foot) {
            all.push(Made::paged("cut-list", "cut list", long, &|paper| cut_list::pages(outcome, paper, &foot)));
        }
        let long = sizing::drawn(outcome, &PAPERS[0], &foot);
        all.push(Made::paged("sizing", "sizing sheet", long, &|paper| vec![sizing::page(outcome, paper, &foot)]));
        Patterns(all)
    }

    /// Files for the page's list, with their words.
    pub(crate) fn listed(&self) -> Vec<(String, String)> {
        let mut all = Vec::new();
        for made in &self.0 {
            let title = format!("{}{}", made.title, if made.full_size { " at full size" } else { "" });
            for on in &made.papers {
                all.push((format!("patterns/{}", bound(made.name, on.paper)), format!("{title}, {}", on.paper.title)));
            }
            let one = |end| format!("patterns/{}", one(made.name, end));
            if made.one_fits() {
                all.push((one("pdf"), format!("{title}, one sheet")));
                all.push((one("svg"), format!("{title}, one sheet as a drawing")));
            } else {
                all.push((one("svg"), format!("{title}, one sheet as a drawing (longer than a page of a PDF can be)")));
            }
        }
        all.push(("patterns/index.json".to_owned(), "patterns as data: every page is also a drawing".to_owned()));
        all
    }

    /// Everything below `patterns/`.
    ///
    /// # Errors
    /// [`PackError::Print`] when pages cannot be laid out.
    pub(crate) fn files(&self, outcome: &Outcome) -> Result<Vec<Artifact>, PackError> {
        let from = Origin { prop: &outcome.prop, imprint: &outcome.imprint, made_from: &outcome.input_hash };
        let mut all = vec![artifact("index.json", index::json(outcome, &self.0))];
        for made in &self.0 {
            all.push(artifact(&one(made.name, "svg"), made.long.to_file()));
            for on in &made.papers {
                let file = |page: &Page| artifact(&page_file(made.name, on.paper, page), page.sheet.to_print());
                all.extend(on.pages.iter().map(file));
            }
            all.extend(made.pdfs(&from)?.into_iter().map(|pdf| artifact(&pdf.path, pdf.bytes)));
        }
        Ok(all)
    }
}

/// "outline-a4/B3.svg".
fn page_file(name: &str, paper: &Paper, page: &Page) -> String {
    format!("{name}-{}/{}.svg", paper.name, page.name)
}

/// "outline-a4.pdf".
fn bound(name: &str, paper: &Paper) -> String {
    format!("{name}-{}.pdf", paper.name)
}

/// "outline.svg".
fn one(name: &str, end: &str) -> String {
    format!("{name}.{end}")
}

fn artifact(file: &str, bytes: impl Into<Vec<u8>>) -> Artifact {
    Artifact::new(format!("patterns/{file}"), bytes)
}
