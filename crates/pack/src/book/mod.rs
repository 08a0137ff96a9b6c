//! The build book: everything the pack says, in the order of work. Built once as chapters of blocks (`model`), shown twice: as
//! `index.html` (`page`) and as `book.pdf` (`print`).

mod buying;
mod cautions;
mod cover;
mod findings;
mod light;
pub(crate) mod model;
mod page;
mod parts;
mod pieces;
mod places;
mod print;
mod steps;
mod strength;
#[cfg(test)]
mod tests;
mod work;

use crate::patterns::Patterns;
use crate::svg::Sheet;
use crate::{Artifact, PackError};
use model::{Block, Book, Chapter, Drawing, Text};
pub(crate) use page::page_css;
use places::Places;
use prop::outcome::Outcome;

/// The drawings that stand in the book; those of which there may be several with their paths.
pub(crate) struct Drawn<'a> {
    pub(crate) side: &'a Sheet,
    pub(crate) within: &'a Sheet,
    pub(crate) sections: &'a Sheet,
    pub(crate) beds: &'a Sheet,
    pub(crate) lit: &'a [(String, Sheet)],
    pub(crate) loaded: &'a [(String, Sheet)],
    pub(crate) wiring: Option<&'a Sheet>,
    pub(crate) rehearsed: Option<&'a Sheet>,
    pub(crate) days: Option<&'a Sheet>,
    pub(crate) patterns: &'a Patterns,
}

/// `index.html`, `book.pdf`, and the drawings of steps. `pictures` are those files of the pack that the book may show.
///
/// # Errors
/// [`PackError::Print`] when the book cannot be laid out.
pub(crate) fn files(outcome: &Outcome, drawn: &Drawn, pictures: &[Artifact]) -> Result<Vec<Artifact>, PackError> {
    let parts = Parts::of(outcome, drawn);
    let mut places = Places::default();
    let book = content(outcome, drawn, &parts, &mut places);
    let pdf = print::pdf(&book, &places.sheets, pictures)?;
    let drawings = places.sheets.iter().map(|(path, sheet)| Artifact::new(path.clone(), sheet.to_file()));
    let mut files: Vec<Artifact> = drawings.collect();
    files.push(Artifact::new("index.html", page::page(&book)));
    files.push(Artifact::new("book.pdf", pdf));
    Ok(files)
}

/// Drawings that are too large for a page, in parts that each fit one.
struct Parts {
    sections: Vec<Sheet>,
    beds: Vec<Sheet>,
    within: Vec<Sheet>,
    wiring: Vec<Sheet>,
    days: Vec<Sheet>,
}

impl Parts {
    fn of(outcome: &Outcome, drawn: &Drawn) -> Parts {
        let folded =
            |sheet: Option<&Sheet>| sheet.map_or_else(Vec::new, |s| s.folded(print::across_mm(s.size_mm()[0])));
        Parts {
            sections: crate::sections::pages(outcome, print::ROOM_MM),
            beds: crate::plates::pages(outcome, print::ROOM_MM),
            within: folded(Some(drawn.within)),
            wiring: folded(drawn.wiring),
            days: folded(drawn.days),
        }
    }
}

/// All of it, in the order of work.
fn content<'a>(outcome: &'a Outcome, drawn: &Drawn<'a>, parts: &'a Parts, places: &mut Places) -> Book<'a> {
    let single = |id, short, heading: &'a str, file, sheet, parts: &'a [Sheet]| Chapter {
        id,
        short,
        title: heading.to_owned(),
        blocks: vec![Block::Drawing(Drawing { heading, file, sheet, parts })],
    };
    let beds =
        Drawing { heading: "Plates from above", file: "drawings/plates.svg", sheet: drawn.beds, parts: &parts.beds };
    let [power, wiring] = crate::power::chapters(outcome, drawn.wiring, &parts.wiring);
    let (side, within) = ("Side view and top view", "Inside");
    Book {
        cover: cover::cover(outcome),
        chapters: vec![
            findings::chapter(outcome),
            single("side-view", "Side view", side, "drawings/side.svg", drawn.side, &[]),
            pieces::pieces(outcome),
            pieces::plates(outcome, beds),
            single("inside-view", within, within, "drawings/inside.svg", drawn.within, &parts.within),
            single("section-views", "Sections", "Sections", "drawings/sections.svg", drawn.sections, &parts.sections),
            pieces::joints(outcome),
            light::chapter(outcome, drawn.lit),
            strength::chapter(outcome, drawn.loaded),
            power,
            crate::rehearsal::chapter(outcome, drawn.rehearsed),
            wiring,
            parts::chapter(outcome),
            buying::shopping(outcome),
            steps::chapter(outcome, places),
            buying::finish(outcome),
            work::chapter(outcome, drawn.days, &parts.days),
            mended(outcome),
            cautions::care(outcome),
            cautions::chapter(outcome),
        ],
        files: data(outcome, drawn.patterns),
        inches: outcome.inches,
    }
}

/// Data that stand in no chapter.
fn data(outcome: &Outcome, patterns: &Patterns) -> Vec<(String, String)> {
    let mut files = vec![
        ("findings.json", "findings as data"),
        ("pieces/index.json", "pieces as data"),
        ("pieces/ways.json", "how covers and parts go in, as data"),
        ("plates/index.json", "plates as data"),
        ("light/windows.json", "windows as data"),
        ("shape/prop.3mf", "the mended shape"),
    ];
    if !(outcome.strips.is_empty() && outcome.spines.is_empty() && outcome.parts.is_empty()) {
        files.push(("pieces/inside.3mf", "strips, spine and parts in place"));
    }
    if !outcome.openings.is_empty() {
        files.push(("pieces/openings.3mf", "where your shape is opened for parts"));
    }
    let mut all: Vec<(String, String)> = files.into_iter().map(|(f, w)| (f.to_owned(), w.to_owned())).collect();
    all.extend(patterns.listed());
    all
}

fn mended(outcome: &Outcome) -> Chapter<'static> {
    let mut blocks = Vec::new();
    if outcome.mends.is_empty() {
        blocks.push(Block::Text("Nothing: the shape was sound as it came.".into()));
    } else {
        let text = "The shape file stays as it is; these changes were made on the way in.";
        blocks.push(Block::Text(text.into()));
        let item = |m: &prop::outcome::MendNote| Text::new().strong(m.body.as_str()).plain(format!(": {}", m.what));
        blocks.push(Block::List(outcome.mends.iter().map(item).collect()));
        if outcome.mends.iter().any(|m| !m.spots.is_empty()) {
            let text = Text::from("Each place is marked in ")
                .file("shape/mends.3mf", "shape/mends.3mf")
                .plain(": open it together with ")
                .file("shape/prop.3mf", "shape/prop.3mf")
                .plain(".");
            blocks.push(Block::Text(text));
        }
    }
    Chapter { id: "mended", short: "Mended", title: "What was mended".into(), blocks }
}
