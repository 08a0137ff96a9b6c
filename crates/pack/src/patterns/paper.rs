//! Paper, and how a long sheet is laid out on pages of it.

use crate::svg::Sheet;
use solid::DVec2;

/// A size of paper, lying.
pub(crate) struct Paper {
    /// In file names.
    pub(crate) name: &'static str,
    /// In words.
    pub(crate) title: &'static str,
    /// Width and height, mm: ISO 216; ANSI/ASME Y14.1 (8.5 x 11 in).
    pub(crate) size: DVec2,
    /// A tile's own part of the long sheet, mm.
    cell: DVec2,
}

/// What every printer at home leaves, mm: nothing is printed nearer to the paper's edge.
pub(crate) const MARGIN: f64 = 10.0;
/// Room at the foot of a page for its name, mm.
pub(crate) const FOOT: f64 = 8.0;
/// How far a tile shows beyond its own part on each side, mm: neighbours overlap by twice that.
pub(crate) const BEYOND: f64 = 5.0;

/// The sizes of paper that patterns are made for. The parts are whole millimetres, so that their corners are too.
pub(crate) const PAPERS: [Paper; 2] = [
    Paper { name: "a4", title: "A4", size: DVec2::new(297.0, 210.0), cell: DVec2::new(267.0, 172.0) },
    Paper { name: "letter", title: "US Letter", size: DVec2::new(279.4, 215.9), cell: DVec2::new(249.0, 177.0) },
];

impl Paper {
    /// A length of a roll, for one page of a list.
    pub(crate) fn roll(size: DVec2) -> Paper {
        Paper { name: "roll", title: "roll", size, cell: size }
    }

    /// Where the long sheet's part is laid on the page: first corner, and size with what lies beyond.
    pub(crate) fn shown(&self) -> [DVec2; 2] {
        let size = self.cell + DVec2::splat(2.0 * BEYOND);
        let free = self.room();
        [DVec2::new((self.size.x - size.x) / 2.0, MARGIN + (free.y - FOOT - size.y) / 2.0), size]
    }

    /// What may be printed on, mm.
    pub(crate) fn room(&self) -> DVec2 {
        self.size - DVec2::splat(2.0 * MARGIN)
    }
}

/// A page with a part of the long sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Tile {
    /// From the top: A, B, ...
    pub(crate) row: usize,
    /// From the left: 1, 2, ...
    pub(crate) column: usize,
}

impl Tile {
    /// "B3".
    pub(crate) fn name(&self) -> String {
        format!("{}{}", letters(self.row), self.column + 1)
    }
}

/// A, B, ... Z, AA, AB, ...
pub(crate) fn letters(row: usize) -> String {
    let last = char::from(b'A' + (row % 26) as u8);
    if row < 26 { last.to_string() } else { format!("{}{last}", letters(row / 26 - 1)) }
}

/// A long sheet in tiles.
pub(crate) struct Tiling {
    pub(crate) rows: usize,
    pub(crate) columns: usize,
    /// The sheet's place of the first tile's corner, mm: the sheet lies in the middle of all.
    origin: DVec2,
    cell: DVec2,
    /// Those with something on them, row by row.
    pub(crate) tiles: Vec<Tile>,
}

impl Tiling {
    /// Tiles that hold a whole sheet; those on which nothing is drawn are left out.
    pub(crate) fn of(sheet: &Sheet, paper: &Paper) -> Tiling {
        let size = DVec2::from_array(sheet.size_mm());
        let count = (size / paper.cell).ceil().max(DVec2::ONE);
        let (columns, rows) = (count.x as usize, count.y as usize);
        let origin = ((size - count * paper.cell) * 0.5).round();
        let mut tiling = Tiling { rows, columns, origin, cell: paper.cell, tiles: Vec::new() };
        let all = (0..rows).flat_map(|row| (0..columns).map(move |column| Tile { row, column }));
        tiling.tiles = all.filter(|t| sheet.draws_in(tiling.low(*t), tiling.low(*t) + paper.cell)).collect();
        tiling
    }

    /// First corner of a tile's own part, on the sheet.
    pub(crate) fn low(&self, tile: Tile) -> DVec2 {
        self.origin + self.cell * DVec2::new(tile.column as f64, tile.row as f64)
    }

    /// What a tile's page shows of the sheet: both corners.
    pub(crate) fn shows(&self, tile: Tile) -> [DVec2; 2] {
        let low = self.low(tile);
        [low - DVec2::splat(BEYOND), low + self.cell + DVec2::splat(BEYOND)]
    }

    /// Size of every tile's own part.
    pub(crate) fn cell(&self) -> DVec2 {
        self.cell
    }

    /// The corners of all tiles together, on the sheet.
    pub(crate) fn whole(&self) -> [DVec2; 2] {
        [self.origin, self.origin + self.cell * DVec2::new(self.columns as f64, self.rows as f64)]
    }

    pub(crate) fn has(&self, row: usize, column: usize) -> bool {
        self.tiles.contains(&Tile { row, column })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::svg::Drawing;

    /// ISO 216 and ASME Y14.1; printers at home leave up to 6.4 mm (common practice, no source).
    #[test]
    fn what_is_shown_keeps_the_margins() {
        for paper in &PAPERS {
            let [corner, size] = paper.shown();
            let far = paper.size - corner - size;
            assert!(corner.cmpge(DVec2::splat(MARGIN)).all() && far.cmpge(DVec2::splat(MARGIN)).all());
            assert!(far.y >= MARGIN + FOOT, "room for the name: {far}");
        }
        assert!((PAPERS[1].size - DVec2::new(11.0, 8.5) * 25.4).length() < 1e-9);
    }

    #[test]
    fn tiles_cover_the_sheet_and_empty_ones_are_left_out() {
        let mut d = Drawing::new("x", "t".into(), "d".into());
        d.line("thin", DVec2::new(5.0, 5.0), DVec2::new(900.0, 5.0));
        d.line("thin", DVec2::new(890.0, 5.0), DVec2::new(890.0, 320.0));
        let sheet = d.finish(DVec2::new(910.0, 330.0));
        let tiling = Tiling::of(&sheet, &PAPERS[0]);
        assert_eq!((tiling.rows, tiling.columns), (2, 4));
        let [low, high] = tiling.whole();
        assert!(low.cmple(DVec2::ZERO).all() && high.cmpge(DVec2::new(910.0, 330.0)).all());
        let names: Vec<String> = tiling.tiles.iter().map(Tile::name).collect();
        assert_eq!(names, ["A1", "A2", "A3", "A4", "B4"]);
    }

    #[test]
    fn rows_go_on_after_z() {
        assert_eq!([0, 25, 26, 27, 52].map(letters), ["A", "Z", "AA", "AB", "BA"]);
    }
}
