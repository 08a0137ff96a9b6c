//! Each cut and the middle of each piece, to scale, hatched by material.

use crate::hatch::diagonal;
use crate::labels::{spread, text_width};
use crate::svg::{Anchor, Drawing, Sheet, thinned};
use crate::words::{self, short};
use prop::outcome::{Outcome, Outlines, SectionView};
use prop::path::PathFrame;
use solid::DVec2;

const SHEET_WIDTH: f64 = 400.0;
const MARGIN: f64 = 10.0;
/// Room about a section in its cell, mm: dimensions left and below, names above.
const LEFT: f64 = 14.0;
const RIGHT: f64 = 10.0;
const ABOVE: f64 = 22.0;
const BELOW: f64 = 19.0;
/// Room for the title block and what the hatches mean, mm.
const KEY: f64 = 62.0;
/// Width that a section alone may take, mm: it is shown small, beside a step, and its hatch and letters are to be seen there.
const ALONE: f64 = 130.0;
/// Distance of hatch lines on the sheet, mm.
const HATCH: f64 = 1.0;
const LETTER: f64 = 3.0;

/// A section laid on the sheet: `scale` mm of sheet a mm of prop.
struct Cell<'a> {
    section: &'a SectionView,
    scale: f64,
    /// Where the path's point lies on the sheet.
    origin: DVec2,
}

impl Cell<'_> {
    fn at(&self, p: DVec2) -> DVec2 {
        self.origin + DVec2::new(p.x, -p.y) * self.scale
    }

    fn lay(&self, outlines: &Outlines) -> Vec<Vec<DVec2>> {
        outlines.iter().map(|l| thinned(&l.iter().map(|p| self.at(*p)).collect::<Vec<_>>())).collect()
    }
}

/// Draws all sections in a grid, at one scale.
pub(crate) fn draw(outcome: &Outcome) -> Sheet {
    let all: Vec<&SectionView> = outcome.sections.iter().collect();
    grid(outcome, "sections".to_owned(), &all, SHEET_WIDTH, true)
}

/// The same on pages of a size, mm: each at full size where that fits, as many beside each other and below each other as a page
/// holds, what the hatches mean on the last.
pub(crate) fn pages(outcome: &Outcome, [width, height]: [f64; 2]) -> Vec<Sheet> {
    let mut pages: Vec<Drawing> = Vec::new();
    // Where the next one goes, and the height of the row so far.
    let (mut at, mut row) = (DVec2::new(width, height), 0.0_f64);
    for section in &outcome.sections {
        let b = bounds(section);
        let scale = scale_for(b[1].x - b[0].x, width).min(1.0);
        let [wide, high] = [(b[1].x - b[0].x) * scale, (b[1].y - b[0].y) * scale];
        let cell = DVec2::new((wide + LEFT + RIGHT).max(52.0), ABOVE + high + BELOW);
        if at.x + cell.x > width - MARGIN {
            at = DVec2::new(MARGIN, at.y + row);
            row = 0.0;
        }
        if at.y + cell.y > height - KEY {
            pages.push(Drawing::new(
                format!("sections-{}", pages.len() + 1),
                format!("{}: sections", outcome.prop),
                "Sections square to the centre path, seen from the tip, with wall, rail, strip, spine, wire way and parts.".to_owned(),
            ));
            at = DVec2::splat(MARGIN);
        }
        let Some(d) = pages.last_mut() else { continue };
        let free = (cell.x - LEFT - RIGHT - wide) / 2.0;
        let origin =
            at + DVec2::new(LEFT + free - b[0].x * scale, ABOVE + high / 2.0 + (b[0].y + b[1].y) / 2.0 * scale);
        draw_cell(d, outcome, &Cell { section, scale, origin }, at, cell.x);
        if scale < 1.0 {
            let word = format!("1:{}", short(1.0 / scale, 0));
            d.text("small", at + DVec2::new(2.0, 10.0), Anchor::Start, &word);
        }
        at.x += cell.x;
        row = row.max(cell.y);
    }
    let below = at.y + row;
    if let Some(last) = pages.last_mut() {
        key(last, outcome, "1:1, or as written,", below + 4.0, width);
    }
    pages.into_iter().map(|d| d.finish(DVec2::new(width, height))).collect()
}

/// The section with a label by itself.
pub(crate) fn one(outcome: &Outcome, label: &str) -> Option<Sheet> {
    let section = outcome.sections.iter().find(|s| s.label == label)?;
    Some(grid(outcome, "section".to_owned(), &[section], 0.0, false))
}

/// Scale, no more than `most`, and width of a cell, for sections with these boxes on a sheet of a width.
fn laid(boxes: &[[DVec2; 2]], width: f64, most: f64) -> (f64, f64) {
    let widest = boxes.iter().map(|b| b[1].x - b[0].x).fold(0.0, f64::max);
    let scale = scale_for(widest, width).min(most);
    (scale, (widest * scale + LEFT + RIGHT).max(52.0))
}

fn columns(width: f64, cell_width: f64) -> usize {
    (((width - 2.0 * MARGIN) / cell_width).floor() as usize).max(1)
}

/// Sections in a grid at one scale, on a sheet of a width, or as wide as one cell where that is wider.
fn grid(outcome: &Outcome, name: String, those: &[&SectionView], sheet_width: f64, with_key: bool) -> Sheet {
    let boxes: Vec<[DVec2; 2]> = those.iter().map(|s| bounds(s)).collect();
    // One scale on all sheets of a width.
    let all: Vec<[DVec2; 2]> = outcome.sections.iter().map(bounds).collect();
    let (scale, cell_width) =
        if sheet_width > 0.0 { laid(&all, sheet_width, f64::INFINITY) } else { laid(&boxes, ALONE, 1.0) };
    let scale_word =
        if scale < 1.0 { format!("1:{}", short(1.0 / scale, 0)) } else { format!("{}:1", short(scale, 0)) };
    let mut d = Drawing::new(
        name,
        format!("{}: sections", outcome.prop),
        format!(
            "{} sections square to the centre path, seen from the tip, scale {scale_word}, with wall, rail, strip, spine, wire \
             way and parts: {}.",
            those.len(),
            those.iter().map(|s| s.label.as_str()).collect::<Vec<_>>().join(", ")
        ),
    );
    let n_columns = columns(sheet_width, cell_width);
    let cell_width = cell_width.max((sheet_width - 2.0 * MARGIN) / n_columns as f64);
    let width = 2.0 * MARGIN + cell_width * n_columns as f64;
    let mut y = MARGIN;
    for (row_idx, row) in those.chunks(n_columns).enumerate() {
        let row_boxes = &boxes[row_idx * n_columns..][..row.len()];
        let height = row_boxes.iter().map(|b| b[1].y - b[0].y).fold(0.0, f64::max) * scale;
        for (i, (&section, b)) in row.iter().zip(row_boxes).enumerate() {
            let corner = DVec2::new(MARGIN + i as f64 * cell_width, y);
            // The figure in the middle of its room, resting on the row's lowest line.
            let free = (cell_width - LEFT - RIGHT - (b[1].x - b[0].x) * scale) / 2.0;
            let origin = corner
                + DVec2::new(LEFT + free - b[0].x * scale, ABOVE + height / 2.0 + (b[0].y + b[1].y) / 2.0 * scale);
            draw_cell(&mut d, outcome, &Cell { section, scale, origin }, corner, cell_width);
        }
        y += ABOVE + height + BELOW;
    }
    if !with_key {
        return d.finish(DVec2::new(width, y + MARGIN));
    }
    let bottom = key(&mut d, outcome, &scale_word, y + 4.0, width);
    d.finish(DVec2::new(width, bottom + 6.0))
}

/// Twice full size for small props, full size, or the largest usual reduction (ISO 5455) that fits the sheet.
fn scale_for(widest_mm: f64, width: f64) -> f64 {
    let room = width - 2.0 * MARGIN - LEFT - RIGHT;
    match widest_mm {
        w if w <= 70.0 => 2.0,
        w if w <= room => 1.0,
        w => [2.0, 5.0, 10.0, 20.0, 50.0].into_iter().find(|n| w / n <= room).map_or(0.01, |n| 1.0 / n),
    }
}

fn bounds(section: &SectionView) -> [DVec2; 2] {
    let loops = [&section.outer, &section.printed];
    let points = loops.into_iter().flatten().flatten();
    points
        .fold(None, |all: Option<[DVec2; 2]>, p| Some(all.map_or([*p; 2], |[a, b]| [a.min(*p), b.max(*p)])))
        .unwrap_or_default()
}

fn draw_cell(d: &mut Drawing, outcome: &Outcome, cell: &Cell<'_>, corner: DVec2, width: f64) {
    let s = cell.section;
    d.begin(&s.label, &format!("Section {} at {}", s.label, words::stations([s.station_mm; 2])));
    let station = words::with_unit(&short(s.station_mm, 1), "mm");
    d.text("head", corner + DVec2::new(2.0, 5.0), Anchor::Start, &s.label);
    let indent = text_width(&s.label, 4.5) + 5.0;
    d.text("small", corner + DVec2::new(2.0 + indent, 5.0), Anchor::Start, &format!("station {station}"));
    material(d, cell);
    for (_, strip) in &s.strips {
        d.outlines("thin blank", cell.lay(strip));
    }
    for (_, part) in &s.parts {
        d.outlines("part blank", cell.lay(part));
    }
    d.outlines("way", cell.lay(&s.wire));
    d.outlines("thick", cell.lay(&s.outer));
    let o = cell.origin;
    d.lines(
        "centre",
        [[o - DVec2::new(2.5, 0.0), o + DVec2::new(2.5, 0.0)], [o - DVec2::new(0.0, 2.5), o + DVec2::new(0.0, 2.5)]],
    );
    light(d, outcome, cell);
    for (letter, part) in &s.parts {
        if let Some([low, high]) = box_of(part) {
            // Off the cross of the centre path.
            let at = cell.at((low + high) * 0.5) + DVec2::new(0.0, 1.25);
            let off = if (at - o).length() < 3.0 { DVec2::new(2.6, -1.6) } else { DVec2::ZERO };
            d.text("name", at + off, Anchor::Middle, &letter.to_string());
        }
    }
    names(d, cell, corner, width);
    dimensions(d, cell, is_walled(outcome, s));
    d.end();
}

/// Wall at 45 degrees, rail at 135, spine crossed.
fn material(d: &mut Drawing, cell: &Cell<'_>) {
    let s = cell.section;
    let (printed, rail, spine) = (cell.lay(&s.printed), cell.lay(&s.rail), cell.lay(&s.spine));
    // Even-odd over both takes the rail out of the printed material.
    let wall: Vec<Vec<DVec2>> = printed.iter().chain(&rail).cloned().collect();
    let hatch = |loops: &[Vec<DVec2>], rising: bool| {
        diagonal(&loops.iter().map(Vec::as_slice).collect::<Vec<_>>(), HATCH, rising)
    };
    // On the sheet y runs down, so a line that rises for the reader falls in sheet coordinates.
    d.lines("hatch", hatch(&wall, false));
    d.lines("hatch", hatch(&rail, true));
    d.outlines("thin", printed);
    d.outlines("thin", rail);
    d.lines("hatch", hatch(&spine, true));
    d.lines("hatch", hatch(&spine, false));
    d.outlines("thin", spine);
}

/// An arrow from each strip the way its pixels face.
fn light(d: &mut Drawing, outcome: &Outcome, cell: &Cell<'_>) {
    let s = cell.section;
    let frame = frame_of(outcome, s);
    for (name, outlines) in &s.strips {
        let Some([low, high]) = box_of(outlines) else { continue };
        let number: Option<u32> = name.rsplit(' ').next().and_then(|n| n.parse().ok());
        let nearest = outcome
            .pixels
            .iter()
            .filter(|p| number.is_none_or(|n| n == p.strip))
            .min_by(|a, b| (a.station_mm - s.station_mm).abs().total_cmp(&(b.station_mm - s.station_mm).abs()));
        let Some(pixel) = nearest else { continue };
        let facing = DVec2::new(pixel.facing.dot(frame.across), pixel.facing.dot(frame.through));
        let Some(facing) = facing.try_normalize() else { continue };
        let half = (high - low) * 0.5;
        let from = cell.at((low + high) * 0.5 + facing * (half * facing).length());
        let dir = DVec2::new(facing.x, -facing.y);
        let (tip, side) = (from + dir * 4.0, dir.perp());
        d.line("light", from, tip);
        d.polyline("light", [tip - dir * 1.4 + side, tip, tip - dir * 1.4 - side]);
    }
}

fn frame_of(outcome: &Outcome, section: &SectionView) -> PathFrame {
    let of_joint = outcome.joints.iter().find(|j| section.label == format!("J{}", j.number));
    of_joint.map_or_else(|| outcome.path.frame(section.station_mm), |j| j.frame)
}

fn box_of(outlines: &Outlines) -> Option<[DVec2; 2]> {
    outlines
        .iter()
        .flatten()
        .fold(None, |all: Option<[DVec2; 2]>, p| Some(all.map_or([*p; 2], |[a, b]| [a.min(*p), b.max(*p)])))
}

/// Names of strips, spine and wire way in a row above, with leaders.
fn names(d: &mut Drawing, cell: &Cell<'_>, corner: DVec2, width: f64) {
    let s = cell.section;
    // Strips are touched left of their middle and the spine right of it, so that leaders keep off the light's arrow.
    let parts = s.strips.iter().map(|(name, outlines)| (name.as_str(), outlines, 0.15));
    let named: Vec<(DVec2, &str)> = parts
        .chain([("spine", &s.spine, 0.85), ("wire way", &s.wire, 0.5)])
        .filter_map(|(name, outlines, share)| {
            let [a, b] = box_of(outlines)?;
            Some((cell.at(DVec2::new(a.x + (b.x - a.x) * share, (a.y + b.y) / 2.0)), name))
        })
        .collect();
    let wanted: Vec<(f64, f64)> = named.iter().map(|(at, n)| (at.x, text_width(n, LETTER) + 1.5)).collect();
    let y = corner.y + 11.5;
    for ((at, name), x) in named.iter().zip(spread(&wanted, corner.x + 1.0, corner.x + width - 1.0)) {
        d.line("thin", DVec2::new(x, y + 1.0), *at);
        d.circle("solid", *at, 0.45);
        d.text("small", DVec2::new(x, y), Anchor::Middle, name);
    }
}

/// Whether a piece that was hollowed to a wall shows in the section.
fn is_walled(outcome: &Outcome, section: &SectionView) -> bool {
    let joint = outcome.joints.iter().find(|j| section.label == format!("J{}", j.number));
    let shows =
        |number: u32| joint.map_or_else(|| section.label == words::piece(number), |j| j.pieces.contains(&number));
    outcome.pieces.iter().any(|p| p.wall_mm.is_some() && shows(p.number))
}

/// Width, height and, of a walled body, the wall where it is thinnest.
fn dimensions(d: &mut Drawing, cell: &Cell<'_>, walled: bool) {
    let s = cell.section;
    let Some([low, high]) = box_of(&s.outer) else { return };
    let (left, right) = (cell.at(DVec2::new(low.x, low.y)), cell.at(DVec2::new(high.x, low.y)));
    d.dimension(left, right, 12.0, &short(high.x - low.x, 1));
    let top = cell.at(DVec2::new(low.x, high.y));
    d.dimension(top, left, 6.0, &short(high.y - low.y, 1));
    let wall = if walled { thinnest(&s.outer, &s.printed) } else { None };
    if let Some([outer, inner]) = wall {
        let (a, b) = (cell.at(outer), cell.at(inner));
        let dir = (a - b).normalize_or(DVec2::Y);
        // Arrows point at both faces from outside, as for every measure too short for its figures (ISO 129-1).
        d.line("thin", a + dir * 4.0, a);
        d.line("thin", a, b);
        for (tip, out) in [(a, dir), (b, -dir)] {
            d.line("thin", tip, tip + out * 2.5);
            d.polyline("thin", [tip + out * 1.2 + out.perp() * 0.45, tip, tip + out * 1.2 - out.perp() * 0.45]);
        }
        let anchor = if dir.x > 0.0 { Anchor::Start } else { Anchor::End };
        let drop = if dir.y > 0.3 { 2.5 } else { 0.5 };
        let at = a + dir * 4.0 + DVec2::new(if dir.x > 0.0 { 0.8 } else { -0.8 }, drop);
        d.text("small", at, anchor, &format!("wall {}", words::fixed((outer - inner).length(), 2)));
    }
}

/// The shortest way from a corner of the inner outlines (holes of `printed`) to the outer one: outer end, inner end. Of
/// places alike within half a percent, the one furthest to the right, where its figures are out of the way.
fn thinnest(outer: &Outlines, printed: &Outlines) -> Option<[DVec2; 2]> {
    let area = |l: &[DVec2]| l.iter().enumerate().map(|(i, p)| p.perp_dot(l[(i + 1) % l.len()])).sum::<f64>();
    let ways: Vec<[DVec2; 2]> = printed
        .iter()
        .filter(|l| area(l) < 0.0)
        .flatten()
        .filter_map(|p| nearest(outer, *p).map(|q| [q, *p]))
        .collect();
    let length = |way: &[DVec2; 2]| (way[0] - way[1]).length();
    let least = ways.iter().map(length).min_by(f64::total_cmp).filter(|l| *l > 1e-3)?;
    ways.into_iter().filter(|way| length(way) <= 1.005 * least).max_by(|a, b| a[0].x.total_cmp(&b[0].x))
}

/// The point of the outlines that is nearest to `p`.
fn nearest(outlines: &Outlines, p: DVec2) -> Option<DVec2> {
    let on_edges = outlines.iter().flat_map(|l| {
        l.iter().enumerate().map(move |(i, a)| {
            let edge = l[(i + 1) % l.len()] - *a;
            let share = if edge == DVec2::ZERO { 0.0 } else { (p - *a).dot(edge) / edge.length_squared() };
            *a + edge * share.clamp(0.0, 1.0)
        })
    });
    on_edges.min_by(|a, b| (*a - p).length_squared().total_cmp(&(*b - p).length_squared()))
}

fn key(d: &mut Drawing, outcome: &Outcome, scale: &str, y: f64, width: f64) -> f64 {
    let rows = [
        ("prop", outcome.prop.clone()),
        ("drawing", "sections square to the path, seen from the tip".to_owned()),
        ("scale", format!("{scale} when printed at full size")),
        ("units", "millimetres; wall given where it is thinnest".to_owned()),
        ("inputs", outcome.input_hash.chars().take(16).collect()),
    ];
    let bottom = y + rows.len() as f64 * 5.4;
    d.title_block(DVec2::new(width - MARGIN, bottom), &rows);
    // Below the block where the sheet is too narrow for both side by side.
    let narrow = width < 300.0;
    let y = if narrow { bottom + 6.0 } else { y };
    let bottom = if narrow { y + 24.0 } else { bottom };
    d.begin("hatches", "What the hatches mean");
    let size = DVec2::new(12.0, 5.0);
    for (i, word) in ["wall", "rail", "spine", "strip", "wire way", "the way its light goes", "part, with its letter"]
        .iter()
        .enumerate()
    {
        let at = DVec2::new(MARGIN + 2.0 + (i / 3) as f64 * 60.0, y + (i % 3) as f64 * 8.0);
        let rect = [at, at + DVec2::new(size.x, 0.0), at + size, at + DVec2::new(0.0, size.y)];
        let middle = at + size * 0.5;
        match *word {
            "wire way" => d.circle("way", middle, 2.4),
            "part, with its letter" => {
                d.outlines("part", [rect]);
                d.text("name", middle + DVec2::new(0.0, 1.25), Anchor::Middle, "A");
            }
            "strip" => d.rect("thin", at + DVec2::new(0.0, 1.5), DVec2::new(size.x, 2.0)),
            "wall" | "rail" | "spine" => {
                d.outlines("thin", [rect]);
                let rising = [*word != "rail", *word != "wall"];
                if rising[0] {
                    d.lines("hatch", diagonal(&[&rect], HATCH, false));
                }
                if rising[1] {
                    d.lines("hatch", diagonal(&[&rect], HATCH, true));
                }
            }
            _ => {
                let tip = middle + DVec2::new(3.0, 0.0);
                d.line("light", middle - DVec2::new(3.0, 0.0), tip);
                d.polyline("light", [tip + DVec2::new(-1.4, -1.0), tip, tip + DVec2::new(-1.4, 1.0)]);
            }
        }
        d.text("small", at + DVec2::new(size.x + 3.0, 3.6), Anchor::Start, word);
    }
    d.end();
    bottom
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(half: f64) -> Vec<DVec2> {
        [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(x, y)| DVec2::new(x, y) * half).to_vec()
    }

    #[test]
    fn the_thinnest_wall_of_a_box_with_a_shifted_hole() {
        let hole: Vec<DVec2> = square(7.0).iter().rev().map(|p| *p + DVec2::new(1.5, 0.0)).collect();
        let [a, b] = thinnest(&vec![square(10.0)], &vec![square(10.0), hole]).unwrap();
        assert!(((a - b).length() - 1.5).abs() < 1e-12);
        assert_eq!(thinnest(&vec![square(10.0)], &vec![square(10.0)]), None);
    }

    #[test]
    fn wide_props_are_drawn_smaller() {
        assert_eq!([40.0, 200.0, 500.0, 900.0].map(|w| scale_for(w, SHEET_WIDTH)), [2.0, 1.0, 0.5, 0.2]);
    }
}
