//! Pages: the first with its squares and the key map, and a tile each.

use super::paper::{BEYOND, FOOT, MARGIN, Paper, Tile, Tiling, letters};
use crate::svg::{Anchor, Drawing, ROW_MM, Sheet, rows_of};
use crate::words::{short, with_unit};
use solid::DVec2;

/// A sheet at full size, to be laid out on pages.
pub(crate) struct Pattern {
    /// In file names.
    pub(crate) name: &'static str,
    /// In words: "Outline".
    pub(crate) title: String,
    /// The long sheet.
    pub(crate) sheet: Sheet,
    /// What is to be known of it, on its first page.
    pub(crate) notes: Vec<String>,
}

/// What stands on every page of a prop.
pub(crate) struct Foot<'a> {
    pub(crate) prop: &'a str,
    /// Author, licence and whoever else is to be named, a line each.
    pub(crate) imprint: &'a [String],
}

/// One page: its name in file names, and its drawing.
pub(crate) struct Page {
    pub(crate) name: String,
    pub(crate) sheet: Sheet,
}

/// Lines through all tiles to lay them by stand so far apart, mm.
const AXES_MM: f64 = 100.0;
/// Arms of a cross mark, mm.
const ARM: f64 = 4.0;
const INCH: f64 = 25.4;
/// Height of a line of notes, mm.
const NOTE: f64 = 5.2;

/// The long sheet with its axes, which run through everything.
pub(crate) fn with_axes(sheet: &Sheet, [low, high]: [DVec2; 2]) -> Sheet {
    let mut d = Drawing::new("axes", String::new(), String::new());
    d.begin("axes", "Axes to lay the pages by, every 100 mm");
    let steps = |from: f64, to: f64| (from / AXES_MM).ceil() as i64..=(to / AXES_MM).floor() as i64;
    for k in steps(low.x, high.x) {
        let x = k as f64 * AXES_MM;
        d.line("axis", DVec2::new(x, low.y), DVec2::new(x, high.y));
    }
    for k in steps(low.y, high.y) {
        let y = k as f64 * AXES_MM;
        d.line("axis", DVec2::new(low.x, y), DVec2::new(high.x, y));
    }
    d.end();
    sheet.over(d)
}

/// The long sheet as one, with its axes and the imprint on its foot.
pub(crate) fn long(pattern: &Pattern, foot: &Foot) -> Sheet {
    let size = DVec2::from_array(pattern.sheet.size_mm());
    with_axes(&pattern.sheet, [DVec2::ZERO, size]).signed(foot.imprint)
}

/// All pages of a pattern on one paper.
pub(crate) fn pages(pattern: &Pattern, paper: &Paper, foot: &Foot) -> (Tiling, Vec<Page>) {
    let tiling = Tiling::of(&pattern.sheet, paper);
    let whole = tiling.whole();
    let sheet = with_axes(&pattern.sheet, [whole[0] - DVec2::splat(BEYOND), whole[1] + DVec2::splat(BEYOND)]);
    let count = tiling.tiles.len() + 1;
    let mut all = vec![first(pattern, paper, foot, &tiling)];
    for (k, tile) in tiling.tiles.iter().enumerate() {
        all.push(tile_page(pattern, &sheet, paper, foot, &tiling, *tile, [k + 2, count]));
    }
    (tiling, all)
}

/// The name of a page, its number and the imprint on its foot: all of it on the first page, and what fits a line on others.
pub(super) fn sign(d: &mut Drawing, paper: &Paper, foot: &Foot, left: &str, [page, count]: [usize; 2]) {
    let y = paper.size.y - MARGIN - 1.0;
    let rows = rows_of(foot.imprint, paper.room().x);
    let below = if page == 1 { rows.len().max(1) } else { 1 };
    d.begin("foot", "Name of the page");
    let name_y = y - ROW_MM * below as f64;
    d.text("small", DVec2::new(MARGIN, name_y), Anchor::Start, left);
    let more = if rows.len() > 1 && page > 1 { "; credits go on on page 1" } else { "" };
    let right = format!("page {page} of {count}{more}");
    d.text("small", DVec2::new(paper.size.x - MARGIN, name_y), Anchor::End, &right);
    for (k, row) in rows.iter().take(below).enumerate() {
        d.text("small", DVec2::new(MARGIN, y - ROW_MM * (below - 1 - k) as f64), Anchor::Start, row);
    }
    d.end();
}

fn tile_page(
    pattern: &Pattern,
    sheet: &Sheet,
    paper: &Paper,
    foot: &Foot,
    tiling: &Tiling,
    tile: Tile,
    number: [usize; 2],
) -> Page {
    let name = tile.name();
    let alt =
        format!("Page {name} of {}, full size: row {}, column {}.", pattern.title, letters(tile.row), tile.column + 1);
    let mut d = Drawing::new(format!("tile-{name}"), format!("{}, page {name}", pattern.title), alt);
    let [corner, _] = paper.shown();
    d.window(&format!("window-{name}"), sheet, tiling.shows(tile), corner);
    let cell = corner + DVec2::splat(BEYOND);
    d.begin("frame", "This page's own part: its neighbours begin here");
    d.rect("quiet", cell, tiling.cell());
    d.end();
    d.begin("marks", "Crosses to lay on those of the neighbours");
    for (x, y) in [(0.0, 0.0), (0.5, 0.0), (1.0, 0.0), (0.0, 0.5), (1.0, 0.5), (0.0, 1.0), (0.5, 1.0), (1.0, 1.0)] {
        let at = cell + tiling.cell() * DVec2::new(x, y);
        d.line("mark", at - DVec2::new(ARM, 0.0), at + DVec2::new(ARM, 0.0));
        d.line("mark", at - DVec2::new(0.0, ARM), at + DVec2::new(0.0, ARM));
        d.circle("quiet", at, 1.5);
    }
    d.end();
    d.begin("neighbours", "What lies beside");
    let middle = cell + tiling.cell() * 0.5;
    let (row, column) = (tile.row, tile.column);
    let beside = |r: usize, c: usize| tiling.has(r, c).then(|| Tile { row: r, column: c }.name());
    let inside = 4.0;
    if let Some(n) = column.checked_sub(1).and_then(|c| beside(row, c)) {
        d.text_turned("small", DVec2::new(cell.x + inside, middle.y - 20.0), Anchor::Middle, &format!("to {n}"), true);
    }
    if let Some(n) = beside(row, column + 1) {
        let x = cell.x + tiling.cell().x - 2.0;
        d.text_turned("small", DVec2::new(x, middle.y - 20.0), Anchor::Middle, &format!("to {n}"), true);
    }
    if let Some(n) = row.checked_sub(1).and_then(|r| beside(r, column)) {
        d.text("small", DVec2::new(middle.x - 20.0, cell.y + inside), Anchor::Middle, &format!("to {n}"));
    }
    if let Some(n) = beside(row + 1, column) {
        let y = cell.y + tiling.cell().y - 2.0;
        d.text("small", DVec2::new(middle.x - 20.0, y), Anchor::Middle, &format!("to {n}"));
    }
    d.text("head", cell + DVec2::new(2.5, 6.5), Anchor::Start, &name);
    d.end();
    sign(&mut d, paper, foot, &format!("{}: {}, {name}, 1:1", foot.prop, pattern.title), number);
    Page { name, sheet: d.finish(paper.size) }
}

/// The first page: what to do, the squares to measure, the key map.
fn first(pattern: &Pattern, paper: &Paper, foot: &Foot, tiling: &Tiling) -> Page {
    let count = tiling.tiles.len();
    let alt = format!(
        "First page of {}: a square of 100 mm and one of 4 inches to check the print by, and the key map of {count} pages in {} \
         rows and {} columns.",
        pattern.title, tiling.rows, tiling.columns
    );
    let mut d = Drawing::new("first", format!("{}, first page", pattern.title), alt);
    let (left, right) = (MARGIN, paper.size.x - MARGIN);
    let mut y = MARGIN + 6.0;
    d.text(
        "head",
        DVec2::new(left, y),
        Anchor::Start,
        &format!("{}: {}, full size, {}", foot.prop, pattern.title, paper.title),
    );
    y += 5.0;
    let squares = DVec2::new(left + 0.25, y);
    d.begin("square-100-mm", "A square of 100 mm");
    d.rect("square", squares, DVec2::splat(100.0));
    let said = |d: &mut Drawing, corner: DVec2, words: &[&str]| {
        for (k, line) in words.iter().enumerate() {
            let class = if k == 0 { "name" } else { "" };
            d.text(class, corner + DVec2::new(4.0, 9.0 + 6.0 * k as f64), Anchor::Start, line);
        }
    };
    let metric = with_unit("100", "mm");
    said(
        &mut d,
        squares,
        &[
            &format!("{metric} from line to line"),
            "Measure both ways before you cut anything.",
            "Print at 100 %, not fitted to the page.",
            "If it is off by more than half a millimetre,",
            "set your printer's scale and print again.",
        ],
    );
    d.end();
    let inches = squares + DVec2::new(100.0 + 6.0, 0.0);
    d.begin("square-4-inch", "A square of 4 inches");
    d.rect("square", inches, DVec2::splat(4.0 * INCH));
    let four = with_unit("4", "in");
    said(
        &mut d,
        inches,
        &[
            &format!("{four} from line to line"),
            "1. Cut each page along its right and its lower",
            "    frame line. Its name stands at the upper left.",
            "2. Lay it over the pages named at its edges,",
            "    crosses on crosses, circles on circles.",
            "3. The fine lines, 100 mm apart, run straight",
            "    through all pages: sight along them.",
            "4. Tape at the crosses first, then between.",
        ],
    );
    d.end();
    key_map(&mut d, tiling, [DVec2::new(inches.x + 4.0 * INCH + 5.0, y), DVec2::new(right, y + 4.0 * INCH)]);
    let y = y + 4.0 * INCH + 8.0;
    let mut lines: Vec<String> = pattern.notes.iter().flat_map(|note| wrapped(note, right - left)).collect();
    let most = ((paper.size.y - MARGIN - FOOT - 1.0 - y) / NOTE).floor().max(1.0) as usize;
    if lines.len() > most {
        lines.truncate(most - 1);
        lines.push("... and so on: the rest stands beside each part.".to_owned());
    }
    for (k, line) in lines.iter().enumerate() {
        d.text("", DVec2::new(left, y + NOTE * k as f64), Anchor::Start, line);
    }
    sign(&mut d, paper, foot, &format!("{}: {}", foot.prop, pattern.title), [1, count + 1]);
    Page { name: "first".to_owned(), sheet: d.finish(paper.size) }
}

/// Which page lies where; those without anything on them dashed and unnamed.
fn key_map(d: &mut Drawing, tiling: &Tiling, [low, high]: [DVec2; 2]) {
    let room = high - low - DVec2::new(0.0, 6.0);
    let whole = tiling.cell() * DVec2::new(tiling.columns as f64, tiling.rows as f64);
    let scale = (room / whole).min_element();
    let cell = tiling.cell() * scale;
    let from = low + DVec2::new(0.0, 6.0);
    d.begin("key-map", "Key map: which page lies where");
    d.text("name", low + DVec2::new(0.0, 3.5), Anchor::Start, "Key map");
    for row in 0..tiling.rows {
        for column in 0..tiling.columns {
            let corner = from + cell * DVec2::new(column as f64, row as f64);
            let is_there = tiling.has(row, column);
            d.rect(if is_there { "thin" } else { "hidden" }, corner, cell);
            if is_there {
                let at = corner + cell * 0.5 + DVec2::new(0.0, 1.1);
                d.text("small", at, Anchor::Middle, &Tile { row, column }.name());
            }
        }
    }
    d.end();
    let y = from.y + cell.y * tiling.rows as f64 + 5.0;
    let empty = tiling.rows * tiling.columns - tiling.tiles.len();
    let pages = crate::words::counted(tiling.tiles.len(), "page", "pages");
    let words = if empty == 0 { pages } else { format!("{pages}; {empty} empty, not printed") };
    d.text("small", DVec2::new(low.x, y), Anchor::Start, &words);
}

/// A text in lines no wider than so many mm.
pub(super) fn wrapped(text: &str, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if crate::labels::text_width(&format!("{line} {word}"), crate::svg::LETTER) <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// "0.8 %".
pub(super) fn percent(share: f64) -> String {
    if share.abs() < 5e-5 {
        return with_unit("under 0.01", "%");
    }
    with_unit(&short(100.0 * share.abs(), if share.abs() < 0.01 { 2 } else { 1 }), "%")
}
