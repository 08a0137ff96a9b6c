//! Pages of the made-up prop.

use super::paper::{BEYOND, FOOT, MARGIN, PAPERS};
use super::tiles::{Foot, pages};
use super::{cut_list, masks, outline, sizing, wraps};
use crate::sample;
use crate::tests::read_xml;
use solid::DVec2;

fn with_foot<T>(look: impl FnOnce(&prop::outcome::Outcome, &Foot) -> T) -> T {
    let outcome = sample::glaive();
    let lines = outcome.imprint.lines();
    assert!(!lines.is_empty());
    look(&outcome, &Foot { prop: &outcome.prop, imprint: &lines })
}

/// Every attribute of one name on elements of one kind and class, as numbers.
fn sizes(page: &str, tag: &str, class: &str) -> Vec<[f64; 4]> {
    let pieces = page.split('<').filter(|p| p.starts_with(tag) && p.contains(&format!("class=\"{class}\"")));
    let value = |p: &str, key: &str| -> f64 {
        p.split(&format!(" {key}=\"")).nth(1).and_then(|v| v.split('"').next()).and_then(|v| v.parse().ok()).unwrap()
    };
    pieces.map(|p| ["x", "y", "width", "height"].map(|k| value(p, k))).collect()
}

#[test]
fn pages_are_well_formed_and_carry_the_imprint() {
    with_foot(|outcome, foot| {
        for paper in &PAPERS {
            let patterns = [Some(outline::pattern(outcome)), masks::pattern(outcome), wraps::pattern(outcome)];
            let mut all: Vec<String> = Vec::new();
            for pattern in patterns {
                all.extend(
                    pages(&pattern.expect("the sample has one"), paper, foot).1.into_iter().map(|p| p.sheet.to_print()),
                );
            }
            all.extend(cut_list::pages(outcome, paper, foot).into_iter().map(|p| p.sheet.to_print()));
            all.push(sizing::page(outcome, paper, foot).sheet.to_print());
            for page in &all {
                let (attributes, words) = read_xml(page);
                let first = foot.imprint[0].split(' ').next_back().unwrap();
                assert!(words.contains(&crate::html::escape(first)), "no imprint");
                let ids: Vec<&String> = attributes.iter().filter(|a| a.1 == "id").map(|a| &a.2).collect();
                let unique: std::collections::BTreeSet<&String> = ids.iter().copied().collect();
                assert_eq!(ids.len(), unique.len());
            }
        }
    });
}

/// 100 mm and 4 x 25.4 mm, on the part that printers print.
#[test]
fn the_first_page_has_both_squares() {
    with_foot(|outcome, foot| {
        for paper in &PAPERS {
            let (_, pages) = pages(&outline::pattern(outcome), paper, foot);
            let squares = sizes(&pages[0].sheet.to_print(), "rect", "square");
            assert_eq!(squares.iter().map(|s| [s[2], s[3]]).collect::<Vec<_>>(), [[100.0; 2], [101.6; 2]]);
            for [x, y, w, h] in squares {
                assert!(x >= MARGIN && y >= MARGIN && x + w <= paper.size.x - MARGIN);
                assert!(y + h <= paper.size.y - MARGIN - FOOT);
            }
        }
    });
}

/// Where two pages' frames meet, both show the same place of the sheet.
#[test]
fn neighbours_show_the_same_place() {
    with_foot(|outcome, foot| {
        for paper in &PAPERS {
            let (tiling, _) = pages(&outline::pattern(outcome), paper, foot);
            let [corner, size] = paper.shown();
            assert_eq!(size, tiling.cell() + DVec2::splat(2.0 * BEYOND));
            let on_sheet = |tile, page: DVec2| tiling.shows(tile)[0] + page - corner;
            for pair in tiling.tiles.windows(2).filter(|p| p[0].row == p[1].row && p[0].column + 1 == p[1].column) {
                let right = on_sheet(pair[0], corner + DVec2::new(size.x - BEYOND, 40.0));
                let left = on_sheet(pair[1], corner + DVec2::new(BEYOND, 40.0));
                assert!(right.distance(left) < 1e-9);
            }
        }
    });
}
