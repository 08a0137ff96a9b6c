//! A small SVG writer: real millimetres, text as text, groups with ids, fixed number format.

use crate::html::escape;
use crate::labels::text_width;
use crate::look;
use crate::reach::{Reach, shown};
use solid::DVec2;

/// Height of plain letters, mm.
pub(crate) const LETTER: f64 = 3.5;
/// The same of small ones and of heads (`drawing.css`).
pub(crate) const SMALL: f64 = 3.0;
const HEAD: f64 = 4.5;

/// Where a text stands relative to its point.
#[derive(Clone, Copy)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// One drawing on one sheet. Coordinates are mm on the sheet, x right, y down. Ids get the drawing's name in front, so that
/// several drawings can stand in one page.
pub(crate) struct Drawing {
    name: String,
    title: String,
    desc: String,
    body: String,
    open_groups: usize,
    /// Where each element of the body is drawn, in their order.
    reaches: Vec<Reach>,
    folds: Folds,
}

/// Where a tall sheet may be parted for paper: heights on the sheet, mm, with the length of the body above them.
#[derive(Clone, Debug, Default)]
struct Folds {
    /// What is drawn above it stands on every part.
    head: Option<(f64, usize)>,
    between: Vec<(f64, usize)>,
    /// What is drawn below it is told elsewhere in the book.
    aside: Option<(f64, usize)>,
}

/// A finished drawing.
#[derive(Clone)]
pub(crate) struct Sheet {
    name: String,
    title: String,
    desc: String,
    body: String,
    size: DVec2,
    reaches: Vec<Reach>,
    folds: Folds,
}

impl Drawing {
    /// An empty drawing; `name` is the word its ids start with, `title` and `desc` are for readers who cannot see it.
    pub(crate) fn new(name: impl Into<String>, title: String, desc: String) -> Drawing {
        Drawing {
            name: name.into(),
            title,
            desc,
            body: String::new(),
            open_groups: 0,
            reaches: Vec::new(),
            folds: Folds::default(),
        }
    }

    /// Opens a group called `id` with a title that is shown on pointing.
    pub(crate) fn begin(&mut self, id: &str, title: &str) {
        let id = id.replace(|c: char| !c.is_ascii_alphanumeric(), "-");
        self.body.push_str(&format!("<g id=\"{}-{id}\"><title>{}</title>\n", self.name, escape(title)));
        self.open_groups += 1;
    }

    /// Closes the innermost group.
    pub(crate) fn end(&mut self) {
        if self.open_groups > 0 {
            self.open_groups -= 1;
            self.body.push_str("</g>\n");
        }
    }

    /// All that was drawn so far lies above `y` and stands on every part of the sheet on paper.
    pub(crate) fn head(&mut self, y: f64) {
        self.folds.head = Some((y, self.body.len()));
    }

    /// All that was drawn so far lies above `y`, and all that comes below it: here the sheet may be parted for paper.
    pub(crate) fn fold(&mut self, y: f64) {
        self.folds.between.push((y, self.body.len()));
    }

    /// As [`Drawing::fold`]; what comes is told elsewhere in the book, and left out on paper.
    pub(crate) fn aside(&mut self, y: f64) {
        self.folds.aside = Some((y, self.body.len()));
    }

    /// A straight line.
    pub(crate) fn line(&mut self, class: &str, a: DVec2, b: DVec2) {
        let [x1, y1, x2, y2] = [a.x, a.y, b.x, b.y].map(number);
        self.reaches.push(Reach::along(&[a, b]));
        self.body.push_str(&format!("<line class=\"{class}\" x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\"/>\n"));
    }

    /// A line through points.
    pub(crate) fn polyline(&mut self, class: &str, points: impl IntoIterator<Item = DVec2>) {
        self.path(class, &[points.into_iter().collect()], false);
    }

    /// Closed outlines as one path, even-odd.
    pub(crate) fn outlines<I: IntoIterator<Item = DVec2>>(&mut self, class: &str, loops: impl IntoIterator<Item = I>) {
        let loops: Vec<Vec<DVec2>> = loops.into_iter().map(|points| points.into_iter().collect()).collect();
        self.path(class, &loops, true);
    }

    /// Many separate lines as one path.
    pub(crate) fn lines(&mut self, class: &str, lines: impl IntoIterator<Item = [DVec2; 2]>) {
        let lines: Vec<Vec<DVec2>> = lines.into_iter().map(|line| line.to_vec()).collect();
        self.path(class, &lines, false);
    }

    fn path(&mut self, class: &str, lines: &[Vec<DVec2>], closed: bool) {
        let d: String = lines.iter().map(|line| trace(line.iter().copied(), closed)).collect();
        if !d.is_empty() {
            self.reaches.push(Reach::of_lines(lines, closed));
            self.body.push_str(&format!("<path class=\"{class}\" fill-rule=\"evenodd\" d=\"{d}\"/>\n"));
        }
    }

    /// A circle.
    pub(crate) fn circle(&mut self, class: &str, middle: DVec2, radius: f64) {
        let [x, y, r] = [middle.x, middle.y, radius].map(number);
        self.reaches.push(Reach::of_box(middle - DVec2::splat(radius), middle + DVec2::splat(radius)));
        self.body.push_str(&format!("<circle class=\"{class}\" cx=\"{x}\" cy=\"{y}\" r=\"{r}\"/>\n"));
    }

    /// A box from its corner of smallest coordinates.
    pub(crate) fn rect(&mut self, class: &str, corner: DVec2, size: DVec2) {
        let [x, y, w, h] = [corner.x, corner.y, size.x, size.y].map(number);
        self.reaches.push(Reach::of_box(corner, corner + size));
        self.body.push_str(&format!("<rect class=\"{class}\" x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\"/>\n"));
    }

    /// A picture in a box from its corner of smallest coordinates: PNG, its pixels as they are.
    pub(crate) fn picture(&mut self, corner: DVec2, size: DVec2, png: &[u8]) {
        let [x, y, w, h] = [corner.x, corner.y, size.x, size.y].map(number);
        self.reaches.push(Reach::of_box(corner, corner + size));
        self.body.push_str(&format!(
            "<image x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" preserveAspectRatio=\"none\" \
             style=\"image-rendering:pixelated\" href=\"data:image/png;base64,{}\"/>\n",
            base64(png)
        ));
    }

    /// What a sheet shows within a box, `low` to `high`, laid so that the box's first corner comes to `at`; cut off at its edges.
    pub(crate) fn window(&mut self, id: &str, sheet: &Sheet, [low, high]: [DVec2; 2], at: DVec2) {
        let [x, y, w, h] = [at.x, at.y, high.x - low.x, high.y - low.y].map(number);
        let [dx, dy] = (at - low).to_array().map(number);
        self.reaches.push(Reach::of_box(at, at + high - low));
        self.body.push_str(&format!(
            "<clipPath id=\"{id}\"><rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\"/></clipPath>\n\
             <g clip-path=\"url(#{id})\"><g transform=\"translate({dx} {dy})\">\n{}</g></g>\n",
            shown(&sheet.body, &sheet.reaches, low, high)
        ));
    }

    /// A text whose base line starts, is centred or ends at `at`.
    pub(crate) fn text(&mut self, class: &str, at: DVec2, anchor: Anchor, text: &str) {
        self.text_turned(class, at, anchor, text, false);
    }

    /// The same, reading upwards when `upwards`.
    pub(crate) fn text_turned(&mut self, class: &str, at: DVec2, anchor: Anchor, text: &str, upwards: bool) {
        let [x, y] = [at.x, at.y].map(number);
        let letter = match class {
            "head" => HEAD,
            "small" => SMALL,
            _ => LETTER,
        };
        self.reaches.push(Reach::of_text(at, anchor, text, letter, upwards));
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let turn = if upwards { format!(" transform=\"rotate(-90 {x} {y})\"") } else { String::new() };
        let class = if class.is_empty() { String::new() } else { format!(" class=\"{class}\"") };
        self.body.push_str(&format!("<text{class} x=\"{x}\" y=\"{y}\"{anchor}{turn}>{}</text>\n", escape(text)));
    }

    /// A dimension of the straight length from `a` to `b`, its line moved square off by `off` (to the left of a to b for
    /// negative values, y being down), with ticks after ISO 129-1 (oblique strokes) and extension lines.
    pub(crate) fn dimension(&mut self, a: DVec2, b: DVec2, off: f64, text: &str) {
        let Some(along) = (b - a).try_normalize() else { return };
        let square = DVec2::new(-along.y, along.x) * off;
        let (p, q) = (a + square, b + square);
        let gap = square.try_normalize().unwrap_or_default();
        if off.abs() > 2.0 {
            self.line("thin", a + gap, p + gap);
            self.line("thin", b + gap, q + gap);
        }
        self.line("thin", p, q);
        let tick = DVec2::new(0.9, -0.9);
        for end in [p, q] {
            self.line("thin", end - tick, end + tick);
        }
        let upwards = along.y.abs() > along.x.abs();
        let lift = if upwards { DVec2::new(-1.0, 0.0) } else { DVec2::new(0.0, -1.0) };
        if upwards && (q - p).length() < text_width(text, LETTER) + 1.0 {
            // Too short to stand along: level, beside the line.
            self.text("", (p + q) * 0.5 + DVec2::new(-1.8, 1.2), Anchor::End, text);
        } else {
            self.text_turned("", (p + q) * 0.5 + lift, Anchor::Middle, text, upwards);
        }
    }

    /// A title block: rows of "word: value" in a box whose right bottom corner is `corner`. Returns its height.
    pub(crate) fn title_block(&mut self, corner: DVec2, rows: &[(&str, String)]) -> f64 {
        let longest = rows.iter().map(|(_, value)| text_width(value, LETTER)).fold(0.0, f64::max);
        let (width, row) = ((longest + 28.0).max(90.0), 5.4);
        let height = rows.len() as f64 * row;
        let left = corner - DVec2::new(width, height);
        self.begin("title-block", "Title block");
        self.rect("thick", left, DVec2::new(width, height));
        self.line("thin", left + DVec2::new(24.0, 0.0), left + DVec2::new(24.0, height));
        for (i, (word, value)) in rows.iter().enumerate() {
            let y = left.y + i as f64 * row;
            if i > 0 {
                self.line("thin", DVec2::new(left.x, y), DVec2::new(corner.x, y));
            }
            self.text("small", DVec2::new(left.x + 2.0, y + 3.9), Anchor::Start, word);
            self.text("", DVec2::new(left.x + 26.0, y + 3.9), Anchor::Start, value);
        }
        self.end();
        height
    }

    /// Closes the drawing on a sheet of `size` mm.
    pub(crate) fn finish(mut self, size: DVec2) -> Sheet {
        while self.open_groups > 0 {
            self.end();
        }
        let Drawing { name, title, desc, body, reaches, folds, .. } = self;
        Sheet { name, title, desc, body, size, reaches, folds }
    }
}

impl Sheet {
    /// What it shows.
    pub(crate) fn title(&self) -> &str {
        &self.title
    }

    /// The sheet with lines on its foot, as many to a row as fit: it grows by what they take.
    pub(crate) fn signed(mut self, lines: &[String]) -> Sheet {
        let mut d = Drawing::new(self.name.clone(), String::new(), String::new());
        let rows = rows_of(lines, self.size.x - 2.0 * FOOT_MM);
        if !rows.is_empty() {
            d.begin("imprint", "Author and licence");
            for row in &rows {
                self.size.y += ROW_MM;
                d.text("small", DVec2::new(FOOT_MM, self.size.y - 1.5), Anchor::Start, row);
            }
            d.end();
            self.size.y += 1.5;
        }
        self.body.push_str(&d.body);
        self.reaches.extend(d.reaches);
        self
    }

    /// The same on a sheet of fixed size, in its empty margin.
    pub(crate) fn signed_inside(mut self, lines: &[String]) -> Sheet {
        let size = self.size;
        let rows = rows_of(lines, size.x - 2.0 * FOOT_MM).len() as f64;
        self.size.y -= rows * ROW_MM + 3.0;
        let mut signed = self.signed(lines);
        signed.size = size;
        signed
    }

    /// The same on top of another drawing.
    pub(crate) fn over(&self, below: Drawing) -> Sheet {
        let Drawing { mut body, mut reaches, .. } = below;
        body.push_str(&self.body);
        reaches.extend(self.reaches.iter().cloned());
        Sheet {
            name: self.name.clone(),
            title: self.title.clone(),
            desc: self.desc.clone(),
            body,
            size: self.size,
            reaches,
            folds: Folds::default(),
        }
    }

    /// The sheet for paper: parted at its folds into sheets of at most a height, mm, or as high as what must stay together.
    pub(crate) fn folded(&self, most_mm: f64) -> Vec<Sheet> {
        let Folds { head, between, aside } = &self.folds;
        let (head_y, head_end) = head.unwrap_or((0.0, 0));
        let mut folds = vec![(head_y, head_end)];
        folds.extend(between.iter().filter(|f| aside.is_none_or(|a| f.1 < a.1)));
        folds.push(aside.unwrap_or((self.size.y, self.body.len())));
        let mut parts = Vec::new();
        let mut first = 0;
        for last in 1..folds.len() {
            if last + 1 < folds.len() && head_y + folds[last + 1].0 - folds[first].0 <= most_mm {
                continue;
            }
            let ((top, from), (bottom, to)) = (folds[first], folds[last]);
            let shift = number(head_y - top);
            let body = format!(
                "{}<g transform=\"translate(0 {shift})\">\n{}</g>\n",
                &self.body[..head_end],
                &self.body[from..to]
            );
            let name = format!("{}-{}", self.name, parts.len() + 1);
            let (title, desc) = (self.title.clone(), self.desc.clone());
            let size = DVec2::new(self.size.x, head_y + bottom - top);
            parts.push(Sheet { name, title, desc, body, size, reaches: Vec::new(), folds: Folds::default() });
            first = last;
        }
        parts
    }

    /// Width and height, mm.
    pub(crate) fn size_mm(&self) -> [f64; 2] {
        self.size.to_array()
    }

    /// Whether anything is drawn within a box, mm.
    pub(crate) fn draws_in(&self, low: DVec2, high: DVec2) -> bool {
        self.reaches.iter().any(|r| r.meets(low, high))
    }

    /// The drawing for paper, which is white and has one light.
    pub(crate) fn to_print(&self) -> String {
        self.element(&look::print_css())
    }

    /// What it shows, for who cannot see it.
    pub(crate) fn told(&self) -> String {
        format!("{}. {}", self.title, self.desc)
    }

    /// The drawing as a file of its own.
    pub(crate) fn to_file(&self) -> String {
        format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}", self.element(&look::drawing_css()))
    }

    /// The drawing as part of a page that holds [`look::drawing_css`] once.
    pub(crate) fn to_inline(&self) -> String {
        self.element("")
    }

    fn element(&self, css: &str) -> String {
        let (name, [w, h]) = (&self.name, [self.size.x, self.size.y].map(number));
        let style = if css.is_empty() { String::new() } else { format!("<style>\n{css}</style>\n") };
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing\" id=\"{name}\" width=\"{w}mm\" height=\"{h}mm\" \
             viewBox=\"0 0 {w} {h}\" role=\"img\" aria-labelledby=\"{name}-title {name}-desc\">\n\
             <title id=\"{name}-title\">{}</title>\n<desc id=\"{name}-desc\">{}</desc>\n{style}\
             <rect class=\"sheet\" width=\"{w}\" height=\"{h}\"/>\n{}</svg>\n",
            escape(&self.title),
            escape(&self.desc),
            self.body
        )
    }
}

/// From the edge of a sheet to what stands on its foot, and from row to row, mm.
const FOOT_MM: f64 = 8.0;
pub(crate) const ROW_MM: f64 = 4.2;

/// Lines in rows of a width, mm: several to a row where they fit, one that is too long broken between words.
pub(crate) fn rows_of(lines: &[String], width: f64) -> Vec<String> {
    let fits = |text: &str| text_width(text, SMALL) <= width;
    let mut rows: Vec<String> = Vec::new();
    for line in lines {
        let mut starts = true;
        for word in line.split_whitespace() {
            let joint = if starts { ". " } else { " " };
            starts = false;
            match rows.last_mut() {
                Some(row) if fits(&format!("{row}{joint}{word}")) => *row = format!("{row}{joint}{word}"),
                _ => rows.push(word.to_owned()),
            }
        }
    }
    rows
}

/// A polyline without the points that lie within 0.02 mm of the line through those kept: a straight edge needs no
/// hundred points.
pub(crate) fn thinned(points: &[DVec2]) -> Vec<DVec2> {
    let mut kept: Vec<DVec2> = points.first().copied().into_iter().collect();
    let mut last = 0;
    for next in 2..points.len() {
        let (a, b) = (points[last], points[next]);
        let off = |p: &DVec2| (b - a).perp_dot(*p - a).abs() > 0.02 * (b - a).length();
        if points[last + 1..next].iter().any(off) || next - last > 200 {
            kept.push(points[next - 1]);
            last = next - 1;
        }
    }
    kept.extend(points.last().filter(|_| points.len() > 1));
    kept
}

/// Bytes as text (RFC 4648, section 4).
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let part = |k: usize| u32::from(three.get(k).copied().unwrap_or(0));
        let all = part(0) << 16 | part(1) << 8 | part(2);
        for k in 0..4 {
            let letter = char::from(LETTERS[(all >> (18 - 6 * k) & 63) as usize]);
            text.push(if k <= three.len() { letter } else { '=' });
        }
    }
    text
}

/// A coordinate with at most two decimals (0.01 mm): fixed, short, never "-0".
fn number(value: f64) -> String {
    let hundredths = (value * 100.0).round();
    let text = format!("{:.2}", (hundredths + 0.0) / 100.0);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn trace(points: impl IntoIterator<Item = DVec2>, closed: bool) -> String {
    let mut d = String::new();
    for (i, p) in points.into_iter().enumerate() {
        d.push(if i == 0 { 'M' } else { 'L' });
        d.push_str(&number(p.x));
        d.push(' ');
        d.push_str(&number(p.y));
    }
    if closed && !d.is_empty() {
        d.push('Z');
    }
    d
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The test vectors of RFC 4648, section 10.
    #[test]
    fn bytes_become_text() {
        for (bytes, text) in [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foobar", "Zm9vYmFy")] {
            assert_eq!(base64(bytes.as_bytes()), text);
        }
    }

    #[test]
    fn coordinates_are_short() {
        assert_eq!([1.0, -0.001, 2.345_678, -3.5, 1200.0].map(number), ["1", "0", "2.35", "-3.5", "1200"]);
    }

    #[test]
    fn straight_runs_are_thinned_and_corners_kept() {
        let points: Vec<DVec2> =
            (0..=20).map(|i| DVec2::new(f64::from(i), if i < 10 { 0.0 } else { f64::from(i - 10) })).collect();
        assert_eq!(thinned(&points), [DVec2::ZERO, DVec2::new(10.0, 0.0), DVec2::new(20.0, 10.0)]);
        assert_eq!(thinned(&points[..1]), points[..1]);
    }

    #[test]
    fn the_foot_carries_every_line_and_the_sheet_grows() {
        let lines = ["Author: A & B", "Licence: C", "shape by somebody with a long name"].map(str::to_owned);
        let blank = || Drawing::new("x", "t".into(), "d".into()).finish(DVec2::new(70.0, 20.0));
        // 54 mm hold 30 letters.
        assert_eq!(
            rows_of(&lines, 54.0),
            ["Author: A & B. Licence: C.", "shape by somebody with a long", "name"].map(|r| r.trim_end_matches('.'))
        );
        let signed = blank().signed(&lines);
        assert!((signed.size.y - (20.0 + 3.0 * ROW_MM + 1.5)).abs() < 1e-9);
        assert!(signed.to_file().contains("Author: A &amp; B. Licence: C"));
        assert_eq!(blank().signed(&[]).to_file(), blank().to_file());
        let inside = blank().signed_inside(&lines);
        assert_eq!(inside.size, DVec2::new(70.0, 20.0));
        assert!(inside.to_file().contains("somebody"));
    }

    #[test]
    fn a_tall_sheet_is_parted_at_its_folds() {
        let mut d = Drawing::new("x", "t".into(), "d".into());
        d.line("head-line", DVec2::ZERO, DVec2::X);
        d.head(5.0);
        for k in 0..4 {
            d.line(&format!("row-{k}"), DVec2::new(0.0, 5.0 + 10.0 * f64::from(k)), DVec2::X);
            d.fold(15.0 + 10.0 * f64::from(k));
        }
        d.aside(45.0);
        d.line("not-on-paper", DVec2::ZERO, DVec2::X);
        let parts = d.finish(DVec2::new(30.0, 60.0)).folded(26.0);
        assert_eq!(parts.iter().map(|p| p.size.y).collect::<Vec<_>>(), [25.0, 25.0]);
        for (k, part) in parts.iter().enumerate() {
            let file = part.to_file();
            assert!(file.contains("head-line") && !file.contains("not-on-paper"));
            for row in 0..4 {
                assert_eq!(file.contains(&format!("row-{row}")), row / 2 == k);
            }
        }
        assert!(parts[1].to_file().contains("translate(0 -20)"));
        // A sheet without folds stays whole, however high.
        let whole = Drawing::new("x", "t".into(), "d".into()).finish(DVec2::new(30.0, 60.0)).folded(10.0);
        assert_eq!((whole.len(), whole[0].size.y), (1, 60.0));
    }

    #[test]
    fn groups_are_closed_and_text_is_safe() {
        let mut d = Drawing::new("x", "a & b".into(), "<d>".into());
        d.begin("one", "\"q\"");
        d.text("", DVec2::ZERO, Anchor::Start, "1 < 2");
        let file = d.finish(DVec2::new(10.0, 20.0)).to_file();
        assert_eq!(file.matches("<g ").count(), file.matches("</g>").count());
        assert!(file.contains("a &amp; b") && file.contains("&lt;d&gt;") && file.contains("1 &lt; 2"));
        assert!(file.contains("width=\"10mm\"") && file.contains("viewBox=\"0 0 10 20\""));
    }
}
