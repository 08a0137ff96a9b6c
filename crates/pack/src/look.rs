//! The colours and lines of every drawing and page.

/// Colours for one ground, as `#rrggbb`.
pub(crate) struct Palette {
    pub(crate) ink: &'static str,
    pub(crate) paper: &'static str,
    /// Second series colour; cut faces.
    pub(crate) slate: &'static str,
    /// Light itself, and nothing else.
    pub(crate) amber: &'static str,
    /// Trouble, always with a word and a mark.
    pub(crate) brick: &'static str,
    /// Rules between rows; carries no meaning.
    pub(crate) rule: &'static str,
    /// Ground of boxes.
    pub(crate) box_ground: &'static str,
}

/// Ink on paper.
pub(crate) const PAPER: Palette = Palette {
    ink: "#1d2733",
    paper: "#fbfaf6",
    slate: "#5b7083",
    amber: "#9a6000",
    brick: "#a63a2b",
    rule: "#cfccc2",
    box_ground: "#f2f0e9",
};

/// The reverse, for a dark room.
pub(crate) const DARK: Palette = Palette {
    ink: "#e9e6dd",
    paper: "#12171d",
    slate: "#9fb3c6",
    amber: "#e8a33d",
    brick: "#e07a6a",
    rule: "#39424d",
    box_ground: "#1a2129",
};

/// Red, green, blue, 0 to 1, of a colour of the palette.
pub(crate) fn rgb(colour: &str) -> [f64; 3] {
    let part = |i: usize| u8::from_str_radix(&colour[i..i + 2], 16).map_or(0.0, |v| f64::from(v) / 255.0);
    [part(1), part(3), part(5)]
}

/// Rules for the classes of [`crate::svg::Drawing`]; lengths are mm on the sheet, line widths after ISO 128 (thick 0.5,
/// thin 0.25).
pub(crate) fn drawing_css() -> String {
    format!(
        "{}\n{}\n@media screen and (prefers-color-scheme: dark) {{\n{}}}\n@media print {{\n.drawing text {{ font-family: Georgia, 'Times New Roman', serif }}\n}}\n",
        include_str!("drawing.css").trim_end(),
        colours(&PAPER),
        colours(&DARK)
    )
}

/// The same for paper: no second ground, no tint to print.
pub(crate) fn print_css() -> String {
    let white = Palette { paper: "#ffffff", ..PAPER };
    format!("{}\n{}", include_str!("drawing.css").trim_end(), colours(&white))
}

fn colours(p: &Palette) -> String {
    let Palette { ink, paper, slate, amber, .. } = p;
    format!(
        ".drawing .sheet {{ fill: {paper} }}
.drawing text {{ fill: {ink}; stroke: {paper} }}
.drawing .thick, .drawing .thin, .drawing .hidden, .drawing .centre, .drawing .cut, .drawing .way, .drawing .hatch, .drawing .part, .drawing .lid, .drawing .wire, .drawing .magnet, .drawing .mark, .drawing .square, .drawing .band {{ stroke: {ink} }}
.drawing .quiet, .drawing .axis {{ stroke: {slate} }}
.drawing text.small {{ fill: {slate} }}
.drawing .light {{ stroke: {amber} }}
.drawing text.light {{ fill: {amber}; stroke: {paper} }}
.drawing .blank {{ fill: {paper} }}
.drawing .solid {{ fill: {ink} }}
"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast ratio after WCAG 2.2.
    fn contrast(a: &str, b: &str) -> f64 {
        let luminance = |c: &str| {
            let [r, g, b] = rgb(c).map(|v| if v <= 0.04045 { v / 12.92 } else { libm::pow((v + 0.055) / 1.055, 2.4) });
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn text_keeps_the_contrast_of_wcag_aa() {
        // Black on white is 21:1 by definition.
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
        for p in [PAPER, DARK] {
            for ground in [p.paper, p.box_ground] {
                for text in [p.ink, p.slate, p.amber, p.brick] {
                    assert!(contrast(text, ground) >= 4.5, "{text} on {ground}: {}", contrast(text, ground));
                }
            }
        }
    }
}
