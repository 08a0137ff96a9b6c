//! The book as `book.pdf`: the same chapters as data, laid out by a template.

use super::model::{Block, Book, Drawing};
use crate::look::PAPER;
use crate::svg::Sheet;
use crate::{Artifact, PackError, words};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use typeset::{Facts, Manuscript};

/// What a drawing may take of an upright page, below its heading, mm: A4 and US Letter both have it.
pub(super) const ROOM_MM: [f64; 2] = [178.0, 225.0];
/// From this width on, mm, a drawing lies across a page, and what it may take there.
const ACROSS_MM: f64 = 190.0;
const ACROSS_ROOM_MM: [f64; 2] = [250.0, 158.0];

/// The height that a drawing of a width may have to lie across a page as wide as that is, mm.
pub(super) fn across_mm(width_mm: f64) -> f64 {
    ACROSS_ROOM_MM[1] * (width_mm / ACROSS_ROOM_MM[0]).max(1.0)
}

/// The bytes of the file. `drawings` are those of steps, by path; `pictures` lie in the pack, those that the book shows among them.
pub(super) fn pdf(book: &Book, drawings: &[(String, Sheet)], pictures: &[Artifact]) -> Result<Vec<u8>, PackError> {
    let facts = Facts {
        title: format!("{}: build book", book.cover.title),
        authors: book.cover.authors.clone(),
        description: "Everything the workshop needs to build the prop, in the order of work.".to_owned(),
        ident: book.cover.input_hash.clone(),
    };
    let mut manuscript = Manuscript::new(facts, include_str!("book.typ"));
    let mut shown = BTreeSet::new();
    let mut sheets = Vec::new();
    let chapters: Vec<Value> = book
        .chapters
        .iter()
        .map(|c| {
            let blocks: Vec<Value> = c.blocks.iter().map(|b| block(b, &mut shown, &mut sheets)).collect();
            json!({ "id": c.id, "title": c.title, "blocks": blocks })
        })
        .collect();
    shown.extend(book.cover.pictures.iter().map(|p| p.file.clone()));
    let data = json!({
        "paper": if book.inches { "us-letter" } else { "a4" },
        "look": { "ink": PAPER.ink, "slate": PAPER.slate, "brick": PAPER.brick, "rule": PAPER.rule, "box": PAPER.box_ground },
        "title": book.cover.title,
        "pictures": book.cover.pictures,
        "facts": book.cover.facts,
        "tally": book.cover.tally.iter().map(|(v, n)| json!([super::page::mark(*v, *n), format!("{n} {}", words::verdicts(*v, *n))])).collect::<Vec<_>>(),
        "imprint": book.cover.imprint,
        "inputs": book.cover.input_hash,
        "places": places(book),
        "chapters": chapters,
    });
    manuscript.add("book.json", data.to_string());
    for (path, sheet) in sheets.into_iter().chain(drawings.iter().map(|(path, sheet)| (path.clone(), sheet))) {
        manuscript.add(path, sheet.to_print());
    }
    for artifact in pictures.iter().filter(|a| shown.contains(&a.path)) {
        manuscript.add(artifact.path.clone(), artifact.bytes.clone());
    }
    typeset::pdf(&manuscript).map_err(|e| PackError::Print { what: "book.pdf".to_owned(), reason: e.to_string() })
}

/// Ids that something on paper may lead to.
fn places(book: &Book) -> Vec<String> {
    let mut ids: Vec<String> = Vec::new();
    for chapter in &book.chapters {
        ids.push(chapter.id.to_owned());
        for block in &chapter.blocks {
            match block {
                Block::Heading { id, .. } => ids.push(id.clone()),
                Block::Table(t) => ids.extend(t.rows.iter().filter_map(|r| r.id.clone())),
                Block::Cards { cards, .. } => ids.extend(cards.iter().map(|c| c.id.clone())),
                _ => {}
            }
        }
    }
    ids
}

/// A block as data; pictures that it shows are added to `shown`, drawings to `sheets`, both by path.
fn block<'a>(block: &Block<'a>, shown: &mut BTreeSet<String>, sheets: &mut Vec<(String, &'a Sheet)>) -> Value {
    match block {
        Block::Text(text) => json!({ "is": "text", "text": text }),
        Block::Quiet(text) => json!({ "is": "quiet", "text": text }),
        Block::List(items) => json!({ "is": "list", "items": items }),
        Block::Cautions(items) => json!({ "is": "cautions", "items": items }),
        Block::Heading { id, title } => json!({ "is": "heading", "id": id, "title": title }),
        Block::Table(t) => json!({ "is": "table", "table": t }),
        Block::Drawing(d) => {
            let each: Vec<Value> = parts(d)
                .into_iter()
                .map(|(path, sheet)| {
                    let value = figure(&path, sheet);
                    sheets.push((path, sheet));
                    value
                })
                .collect();
            json!({ "is": "drawing", "parts": each })
        }
        Block::Pictures(pictures) => {
            shown.extend(pictures.iter().map(|p| p.file.clone()));
            json!({ "is": "pictures", "pictures": pictures })
        }
        Block::Findings([open, holds]) => {
            json!({ "is": "findings", "open": open, "holds": holds, "holding": words::holding(holds.len()) })
        }
        Block::Cards { caption, cards } => {
            shown.extend(cards.iter().map(|c| c.picture.file.clone()));
            json!({ "is": "cards", "caption": caption, "cards": cards })
        }
        Block::Steps(steps) => {
            shown.extend(steps.iter().map(|s| s.picture.file.clone()));
            json!({ "is": "steps", "steps": steps })
        }
    }
}

/// The sheets of a drawing on paper, with their paths.
fn parts<'a>(d: &Drawing<'a>) -> Vec<(String, &'a Sheet)> {
    if d.parts.is_empty() {
        return vec![(d.file.to_owned(), d.sheet)];
    }
    let stem = d.file.trim_end_matches(".svg");
    d.parts.iter().enumerate().map(|(k, sheet)| (format!("{stem}-{}.svg", k + 1), sheet)).collect()
}

fn figure(path: &str, sheet: &Sheet) -> Value {
    let [w, h] = sheet.size_mm();
    json!({ "file": path, "alt": sheet.told(), "width": w, "height": h, "across": w >= ACROSS_MM && w > 1.2 * h })
}
