//! Plates: as 3MF, as data, and drawn.

use crate::Artifact;
use crate::findings::written;
use crate::hatch::diagonal;
use crate::index::row_major;
use crate::labels::text_width;
use crate::svg::{Anchor, Drawing, LETTER, Sheet, thinned};
use crate::words::{self, short};
use prop::finding::Band;
use prop::outcome::{OnPlate, Outcome, Piece, Plate, Stock};
use serde::Serialize;
use solid::DVec2;
use solid::section::{distance_to, inset, point_in};
use solid::write::{Part, threemf};

#[derive(Serialize)]
struct Index<'a> {
    /// Until the last printer is done.
    elapsed_s: Band,
    plates: Vec<PlateRow<'a>>,
    materials: Vec<StockRow<'a>>,
}

#[derive(Serialize)]
struct PlateRow<'a> {
    /// Beside this index.
    file: String,
    name: &'a str,
    printer: &'a str,
    number: u32,
    by_hand: Option<&'a str>,
    material: &'a str,
    bed_mm: [f64; 3],
    margin_mm: f64,
    spacing_mm: f64,
    fits: bool,
    time_s: Band,
    mass_g: Band,
    pieces: Vec<PieceRow<'a>>,
}

#[derive(Serialize)]
struct PieceRow<'a> {
    number: u32,
    name: &'a str,
    to_plate: [f64; 16],
    brim_mm: f64,
    outline: Vec<[f64; 2]>,
}

#[derive(Serialize)]
struct StockRow<'a> {
    material: &'a str,
    plates: u32,
    mass_g: Band,
    amount: Band,
    unit: &'a str,
    spoilt_share: [f64; 2],
    package: f64,
    packages: u32,
}

/// `plates/index.json`.
pub(crate) fn json(outcome: &Outcome) -> String {
    let plates = outcome.plates.iter().map(|plate| PlateRow {
        file: format!("{}.3mf", plate.name),
        name: &plate.name,
        printer: &plate.printer,
        number: plate.number,
        by_hand: plate.by_hand.as_deref(),
        material: &plate.material,
        bed_mm: plate.bed_mm,
        margin_mm: plate.margin_mm,
        spacing_mm: plate.spacing_mm,
        fits: plate.fits,
        time_s: plate.time_s,
        mass_g: plate.mass_g,
        pieces: on(outcome, plate)
            .map(|(at, piece)| PieceRow {
                number: at.piece,
                name: &piece.name,
                to_plate: row_major(&at.to_plate),
                brim_mm: at.brim_mm,
                outline: at.outline.iter().map(|p| p.to_array()).collect(),
            })
            .collect(),
    });
    written(&Index {
        elapsed_s: outcome.print_elapsed_s,
        plates: plates.collect(),
        materials: outcome.stocks.iter().map(stock_row).collect(),
    })
}

fn stock_row(s: &Stock) -> StockRow<'_> {
    StockRow {
        material: &s.material,
        plates: s.plates,
        mass_g: s.mass_g,
        amount: s.amount,
        unit: s.unit,
        spoilt_share: s.spoilt,
        package: s.package,
        packages: s.packages,
    }
}

/// The pieces of a plate with their meshes.
fn on<'a>(outcome: &'a Outcome, plate: &'a Plate) -> impl Iterator<Item = (&'a OnPlate, &'a Piece)> {
    plate.pieces.iter().filter_map(|at| Some((at, outcome.pieces.iter().find(|p| p.number == at.piece)?)))
}

/// A plate as 3MF: each piece an object, placed on the bed.
pub(crate) fn file(outcome: &Outcome, plate: &Plate) -> Artifact {
    let parts: Vec<Part<'_>> = on(outcome, plate)
        .map(|(at, piece)| Part { name: piece.name.clone(), mesh: &piece.mesh, placed: at.to_plate })
        .collect();
    let title = format!("{}: plate {}", outcome.prop, plate.name);
    let bytes = threemf(&parts, &crate::files::metadata(outcome, &title));
    Artifact::new(format!("plates/{}.3mf", plate.name), bytes)
}

const SHEET_WIDTH: f64 = 400.0;
const MARGIN: f64 = 10.0;
/// Room about a bed in its cell, mm: dimensions left and below, names above.
const LEFT: f64 = 14.0;
const RIGHT: f64 = 10.0;
const ABOVE: f64 = 22.0;
const BELOW: f64 = 16.0;
/// Room for the title block, mm.
const BLOCK: f64 = 27.0;
/// Distance of hatch lines on the sheet, mm.
const HATCH: f64 = 1.6;

/// Draws every bed from above, to one scale, its front below.
pub(crate) fn draw(outcome: &Outcome) -> Sheet {
    let all: Vec<&Plate> = outcome.plates.iter().collect();
    grid(outcome, "plates".to_owned(), &all, SHEET_WIDTH, true)
}

/// The same on pages of a size, mm: as many rows on each as it holds.
pub(crate) fn pages(outcome: &Outcome, [width, height]: [f64; 2]) -> Vec<Sheet> {
    let all: Vec<&Plate> = outcome.plates.iter().collect();
    let (part, cell) = laid(&all, width);
    let n_columns = columns(width, cell);
    let mut pages: Vec<Vec<&Plate>> = Vec::new();
    let mut free = 0.0;
    for row in all.chunks(n_columns) {
        let row_height = ABOVE + BELOW + row.iter().map(|p| p.bed_mm[1]).fold(0.0, f64::max) / part;
        if free < row_height {
            pages.push(Vec::new());
            free = height - 2.0 * MARGIN - BLOCK;
        }
        free -= row_height;
        if let Some(page) = pages.last_mut() {
            page.extend(row);
        }
    }
    let last = pages.len();
    let page =
        |(k, those): (usize, &Vec<&Plate>)| grid(outcome, format!("plates-{}", k + 1), those, width, k + 1 == last);
    pages.iter().enumerate().map(page).collect()
}

/// One plate by itself.
pub(crate) fn one(outcome: &Outcome, plate: usize) -> Sheet {
    grid(outcome, "plate".to_owned(), &[&outcome.plates[plate]], 0.0, false)
}

/// Reduction and width of a cell, for beds on a sheet of a width.
fn laid(plates: &[&Plate], width: f64) -> (f64, f64) {
    let widest = plates.iter().map(|p| p.bed_mm[0]).fold(0.0, f64::max);
    let part = scale_for(widest, width);
    (part, (widest / part + LEFT + RIGHT).max(60.0))
}

fn columns(width: f64, cell: f64) -> usize {
    (((width - 2.0 * MARGIN) / cell).floor() as usize).max(1)
}

/// Beds in a grid at one scale, on a sheet of a width, or as wide as one cell where that is wider.
fn grid(outcome: &Outcome, name: String, those: &[&Plate], sheet_width: f64, with_block: bool) -> Sheet {
    // One scale on all sheets of a width.
    let all: Vec<&Plate> = outcome.plates.iter().collect();
    let (part, cell) = if sheet_width > 0.0 { laid(&all, sheet_width) } else { laid(those, SHEET_WIDTH / 2.0) };
    let scale_word = format!("1:{}", short(part, 0));
    let mut d = Drawing::new(
        name,
        format!("{}: plates", outcome.prop),
        format!(
            "{} plates from above, front below, scale {scale_word}: the bed, the margin kept free (dashed), each piece with \
             its number, its brim (dotted).",
            those.len()
        ),
    );
    let columns = columns(sheet_width, cell);
    let cell = cell.max((sheet_width - 2.0 * MARGIN) / columns as f64);
    let width = 2.0 * MARGIN + cell * columns as f64;
    let mut y = MARGIN;
    for row in those.chunks(columns) {
        let depth = row.iter().map(|p| p.bed_mm[1]).fold(0.0, f64::max) / part;
        for (i, plate) in row.iter().enumerate() {
            let corner = DVec2::new(MARGIN + i as f64 * cell, y);
            draw_plate(&mut d, plate, corner, DVec2::new(corner.x + LEFT, y + ABOVE + depth), 1.0 / part);
        }
        y += ABOVE + depth + BELOW;
    }
    if !with_block {
        return d.finish(DVec2::new(width, y + MARGIN));
    }
    let hours = words::band(outcome.print_elapsed_s, "s");
    let rows = [
        ("Prop", outcome.prop.clone()),
        ("Scale", format!("{scale_word} when printed at full size")),
        ("Plates", format!("{}, from above, front below", outcome.plates.len())),
        ("Lines", "dashed: margin; dotted: brim".to_owned()),
        ("Time", format!("{hours}, printers side by side")),
    ];
    let height = rows.len() as f64 * 5.4;
    d.title_block(DVec2::new(width - MARGIN, y + height), &rows);
    d.finish(DVec2::new(width, y + height + MARGIN))
}

/// The largest usual reduction (ISO 5455) that shows two beds beside each other.
fn scale_for(widest_mm: f64, width: f64) -> f64 {
    let room = (width - 2.0 * MARGIN) / 2.0 - LEFT - RIGHT;
    [2.0, 5.0, 10.0, 20.0, 50.0].into_iter().find(|n| widest_mm / n <= room).unwrap_or(100.0)
}

/// `front` is the bed's left front corner on the sheet.
fn draw_plate(d: &mut Drawing, plate: &Plate, corner: DVec2, front: DVec2, scale: f64) {
    let at = |p: DVec2| front + DVec2::new(p.x, -p.y) * scale;
    let [w, h, _] = plate.bed_mm;
    let numbers: Vec<String> = plate.pieces.iter().map(|p| words::piece(p.piece)).collect();
    d.begin(&plate.name, &format!("Plate {}: pieces {}", plate.name, numbers.join(", ")));
    d.text("head", corner + DVec2::new(2.0, 5.0), Anchor::Start, &plate.name);
    let by_hand = plate.by_hand.as_ref().map(|name| format!("{name}, filled by hand")).unwrap_or_default();
    let indent = text_width(&plate.name, 4.5) + 5.0;
    d.text("small", corner + DVec2::new(2.0 + indent, 5.0), Anchor::Start, &by_hand);
    let facts = format!(
        "{} \u{b7} {} \u{b7} {}",
        plate.material,
        words::band(plate.mass_g, "g"),
        words::band(plate.time_s, "s")
    );
    d.text("small", corner + DVec2::new(2.0, 10.5), Anchor::Start, &facts);
    let oblong = |inset: f64| {
        [(inset, inset), (w - inset, inset), (w - inset, h - inset), (inset, h - inset)]
            .map(|(x, y)| at(DVec2::new(x, y)))
    };
    d.outlines("thick", [oblong(0.0)]);
    d.outlines("hidden", [oblong(plate.margin_mm)]);
    for piece in &plate.pieces {
        draw_piece(d, plate, piece, &at);
    }
    d.dimension(at(DVec2::ZERO), at(DVec2::X * w), 7.0, &short(w, 0));
    d.dimension(at(DVec2::ZERO), at(DVec2::Y * h), -7.0, &short(h, 0));
    d.text("small", at(DVec2::X * (w / 2.0)) + DVec2::new(0.0, 12.0), Anchor::Middle, "front");
    d.end();
}

fn draw_piece(d: &mut Drawing, plate: &Plate, piece: &OnPlate, at: &dyn Fn(DVec2) -> DVec2) {
    let number = words::piece(piece.piece);
    let sheet = |points: &[DVec2]| thinned(&points.iter().map(|p| at(*p)).collect::<Vec<_>>());
    let outline = sheet(&piece.outline);
    d.begin(&format!("{}-piece-{number}", plate.name), &format!("Piece {number} on plate {}", plate.name));
    if piece.brim_mm > 0.0 {
        // An outline that the polygons refuse has no brim to show; the numbers are in the table.
        let brim = inset(std::slice::from_ref(&piece.outline), -piece.brim_mm).unwrap_or_default();
        d.outlines("way", brim.iter().map(|points| sheet(points)));
    }
    // On the sheet y runs down, so a line that rises for the reader falls in sheet coordinates.
    d.lines("hatch", diagonal(&[&outline], HATCH, false));
    d.outlines("thick", [outline.clone()]);
    d.text("name", widest_place(&outline) + DVec2::new(0.0, LETTER * 0.36), Anchor::Middle, &number);
    d.end();
}

/// Where inside an outline a number has most room: the best of a grid of places.
fn widest_place(outline: &[DVec2]) -> DVec2 {
    const STEPS: u32 = 24;
    let loops = [outline.to_vec()];
    let low = outline.iter().copied().reduce(DVec2::min).unwrap_or_default();
    let high = outline.iter().copied().reduce(DVec2::max).unwrap_or_default();
    let mut best = ((low + high) / 2.0, 0.0);
    for i in 1..STEPS {
        for k in 1..STEPS {
            let p = low + (high - low) * DVec2::new(f64::from(i), f64::from(k)) / f64::from(STEPS);
            let room = if point_in(&loops, p) { distance_to(&loops, p) } else { 0.0 };
            if room > best.1 + 1e-9 {
                best = (p, room);
            }
        }
    }
    best.0
}
