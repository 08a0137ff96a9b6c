//! The wiring: a schematic, the run along the prop, and a line for every wire.

mod schematic;
mod symbols;

use crate::power::{carries, slack};
use crate::svg::{Anchor, Drawing, Sheet, thinned};
use crate::view::{MARGIN, PROP_WIDTH, View, cuts, named_row, outline, span, station_axis, view_range, whole_scale};
use crate::words::{band, short, with_unit};
use prop::outcome::Outcome;
use prop::power::Power;
use solid::DVec2;

/// Height of a row of the table, mm on the sheet.
const ROW: f64 = 5.2;

/// The drawing; `None` for a prop without power.
pub(crate) fn draw(outcome: &Outcome) -> Option<Sheet> {
    let power = outcome.power.as_ref()?;
    let [from, to] = span(outcome);
    let scale = whole_scale(to - from);
    let mut width = 2.0 * MARGIN + PROP_WIDTH.max((to - from) / scale);
    let mut d = Drawing::new(
        "wiring",
        format!("{}: wiring", outcome.prop),
        format!(
            "Schematic of {} parts and the strip with symbols after IEC 60617, the run of {} connections along the prop, butt left and \
             tip right, and a line for each of {} wires with its ends, gauge, colour, length, polarity and fuse.",
            outcome.parts.len(),
            outcome.wires.len(),
            power.loom.len()
        ),
    );
    d.text("head", DVec2::new(MARGIN, 12.0), Anchor::Start, "Schematic");
    let [right, below] = schematic::draw(&mut d, outcome, power, DVec2::new(MARGIN, 20.0));
    width = width.max(right + MARGIN);
    d.fold(below + 3.0);
    let y = run(&mut d, outcome, scale, from, below + 10.0, width);
    d.aside(y + 1.0);
    let y = list(&mut d, power, y + 8.0);
    let d_rows = [
        ("Prop", outcome.prop.clone()),
        ("Drawing", "Wiring; scale of the run as its stations say".to_owned()),
        ("Brightness", format!("{} at most", with_unit(&short(100.0 * power.design.cap, 0), "%"))),
        ("Inputs", outcome.input_hash.chars().take(16).collect()),
    ];
    let height = d.title_block(DVec2::new(width - MARGIN, y + 6.0 + 5.4 * d_rows.len() as f64), &d_rows);
    Some(d.finish(DVec2::new(width, y + 6.0 + height + 8.0)))
}

/// The side view with parts and the ways of the wires. Returns the next free y.
fn run(d: &mut Drawing, outcome: &Outcome, scale: f64, left_mm: f64, y: f64, width: f64) -> f64 {
    d.text("head", DVec2::new(MARGIN, y), Anchor::Start, "Run along the prop, from the side");
    let mut view = View { scale, left_mm, zero_y: 0.0, top_view: false };
    let range = view_range(outcome, &view);
    let (letters_y, top) = (y + 8.0, y + 18.0);
    view.zero_y = top + range[1] / scale;
    let bottom = top + (range[1] - range[0]) / scale;
    for (i, body) in outcome.views.iter().enumerate() {
        d.begin(&format!("body-{}", i + 1), &body.name);
        d.outlines("thin", [outline(&view, &body.side)]);
        d.end();
    }
    d.begin("wire-way", "Way of the strip's wires");
    d.polyline("way", thinned(&outcome.wire_way.iter().map(|p| view.at(*p)).collect::<Vec<_>>()));
    d.end();
    let mut names: Vec<(DVec2, String)> = Vec::new();
    for w in &outcome.wires {
        d.begin(&format!("run-W{}", w.number), &format!("W{}", w.number));
        let points: Vec<DVec2> = w.points.iter().map(|p| view.at(*p)).collect();
        d.polyline("wire", thinned(&points));
        d.end();
        names.extend(points.get(points.len() / 2).map(|p| (*p, format!("W{}", w.number))));
    }
    let mut letters: Vec<(DVec2, String)> = Vec::new();
    for p in &outcome.parts {
        let Some(b) = p.mesh.bounds() else { continue };
        let (a, c) = (view.at(b.min), view.at(b.max));
        d.begin(&format!("run-part-{}", p.letter), &p.title);
        d.rect("part", a.min(c), (c - a).abs());
        d.end();
        letters.push((view.at(b.center()), p.letter.to_string()));
    }
    d.begin("run-pixels", "Pixels");
    for p in &outcome.pixels {
        d.rect("light pixel", view.at(p.point) - DVec2::splat(0.4), DVec2::splat(0.8));
    }
    d.end();
    cuts(d, outcome, &view, "run");
    let sorted = |mut all: Vec<(DVec2, String)>| {
        all.sort_by(|a, b| a.0.x.total_cmp(&b.0.x).then(a.1.cmp(&b.1)));
        all
    };
    d.begin("run-letters", "Letters of the parts");
    named_row(d, letters_y, width, "name", &sorted(letters));
    d.end();
    d.begin("run-names", "Names of the connections");
    named_row(d, bottom + 10.0, width, "", &sorted(names));
    d.end();
    station_axis(d, outcome, &view, bottom + 18.0)
}

/// A line for each wire. Returns the next free y.
fn list(d: &mut Drawing, power: &Power, y: f64) -> f64 {
    const AT: [f64; 9] = [0.0, 18.0, 62.0, 118.0, 142.0, 160.0, 196.0, 246.0, 296.0];
    d.begin("wires", "A line for each wire");
    d.text("head", DVec2::new(MARGIN, y), Anchor::Start, "Wires");
    let heads = ["Wire", "From", "To", "Carries", "AWG", "Colour", "Cut to", "Slack in joints", "Fuse before it"];
    for (x, head) in AT.iter().zip(heads) {
        d.text("small", DVec2::new(MARGIN + x, y + 7.0), Anchor::Start, head);
    }
    let mut y = y + 8.5;
    for c in &power.loom {
        d.line("quiet", DVec2::new(MARGIN, y), DVec2::new(MARGIN + 324.0, y));
        y += ROW;
        let cells = [
            c.name.clone(),
            c.from.words(),
            c.to.words(),
            carries(c.carries).to_owned(),
            c.awg.to_string(),
            format!("{} ({})", c.colour.0, c.colour.1),
            band(c.cut_mm, "mm"),
            slack(c),
            c.fuse_a.map_or_else(|| "none".to_owned(), |a| with_unit(&short(a, 1), "A")),
        ];
        for (x, cell) in AT.iter().zip(cells) {
            d.text("", DVec2::new(MARGIN + x, y - 1.4), Anchor::Start, &cell);
        }
    }
    d.end();
    y
}
