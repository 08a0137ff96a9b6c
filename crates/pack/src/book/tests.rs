//! The book's two faces say the same.

use super::*;
use crate::html::escape;
use crate::{pack, sample};
use model::Run;
use prop::work::Deed;

/// Every text of the chapters, as both faces show it.
fn texts(book: &Book) -> Vec<String> {
    let plain = |t: &Text| -> Vec<String> {
        let of = |r: &Run| match r {
            Run::Plain { text } | Run::Strong { text } | Run::Code { text } | Run::Quiet { text } => Some(text.clone()),
            Run::File { text, .. } | Run::Place { text, .. } => Some(text.clone()),
            Run::Line => None,
        };
        t.0.iter().filter_map(of).collect()
    };
    let mut all = Vec::new();
    for block in book.chapters.iter().flat_map(|c| &c.blocks) {
        match block {
            Block::Text(t) | Block::Quiet(t) => all.extend(plain(t)),
            Block::List(items) | Block::Cautions(items) => all.extend(items.iter().flat_map(plain)),
            Block::Table(t) => all.extend(t.rows.iter().flat_map(|r| &r.cells).flat_map(plain)),
            Block::Steps(steps) => {
                all.extend(
                    steps.iter().flat_map(|s| [vec![s.check.clone(), s.stop.clone()], plain(&s.action)].concat()),
                );
            }
            Block::Findings(both) => all.extend(both.iter().flatten().map(|f| f.message.clone())),
            _ => {}
        }
    }
    all.retain(|t| !t.is_empty());
    all
}

fn drawn<R>(outcome: &Outcome, then: impl FnOnce(&Drawn) -> R) -> R {
    let [side, within, sections, beds] = [
        crate::side::draw(outcome),
        crate::inside::draw(outcome),
        crate::sections::draw(outcome),
        crate::plates::draw(outcome),
    ];
    let none: [(String, Sheet); 0] = [];
    then(&Drawn {
        side: &side,
        within: &within,
        sections: &sections,
        beds: &beds,
        lit: &none,
        loaded: &none,
        wiring: None,
        rehearsed: None,
        days: None,
        patterns: &Patterns::of(outcome),
    })
}

#[test]
fn the_page_says_all_that_the_book_says() {
    let outcome = sample::glaive();
    let (page, all) = drawn(&outcome, |drawn| {
        let parts = Parts::of(&outcome, drawn);
        let book = content(&outcome, drawn, &parts, &mut Places::default());
        (page::page(&book), texts(&book))
    });
    assert!(all.len() > 100, "{}", all.len());
    for text in all {
        assert!(page.contains(&escape(&text)), "{text}");
    }
}

/// Every step has a check with a number in it; stops stand before what cannot be undone (common practice, no source).
#[test]
fn steps_check_with_numbers_and_stop_before_what_stays() {
    let outcome = sample::glaive();
    let mut places = Places::default();
    let chapter = steps::chapter(&outcome, &mut places);
    let Some(Block::Steps(told)) = chapter.blocks.last() else { panic!("no steps") };
    assert_eq!(told.len(), outcome.steps.len());
    for (step, job) in told.iter().zip(&outcome.steps) {
        assert!(
            step.check.chars().any(|c| c.is_ascii_digit()) || step.check.contains("no light shows"),
            "{}",
            step.check
        );
        assert!(!step.action.0.is_empty() && step.when.contains(&job.name), "{}", step.when);
        let stays = matches!(
            job.deed,
            Deed::MeasureCoupon { .. }
                | Deed::CutSpine { .. }
                | Deed::CutStrip { .. }
                | Deed::BenchTest
                | Deed::SetHardware { .. }
                | Deed::LayIn
                | Deed::Glue { .. }
                | Deed::Coat { layer: 0, .. }
        );
        assert!(!stays || !step.stop.is_empty(), "{}", job.name);
        let there = places.sheets.iter().any(|(path, _)| *path == step.picture.file);
        assert!(there || step.picture.file.starts_with("pictures/"), "{}", step.picture.file);
    }
    // A place that several steps are at is drawn once.
    let mut paths: Vec<&String> = places.sheets.iter().map(|(path, _)| path).collect();
    paths.sort_unstable();
    paths.dedup();
    assert_eq!(paths.len(), places.sheets.len());
}

/// The layout finds every picture and place, also for a prop with next to nothing in it, on both papers.
#[test]
fn a_bare_prop_has_a_book_too() {
    let mut outcome = sample::glaive();
    outcome.inches = !outcome.inches;
    outcome.pieces.truncate(1);
    outcome.joints.clear();
    outcome.parts.clear();
    outcome.lids.clear();
    outcome.wires.clear();
    outcome.sections.clear();
    outcome.steps.clear();
    outcome.plates.clear();
    outcome.prop = "\u{6728}\u{5251} \"#\\[x]\" *_$".to_owned();
    let files = pack(&outcome, &|_, _| true).expect("a pack");
    let pdf = files.iter().find(|f| f.path == "book.pdf").expect("a book");
    assert!(pdf.bytes.starts_with(b"%PDF-1.7"));
}
