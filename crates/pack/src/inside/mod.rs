//! The see-through view: every part in its place, how it comes out, and how it is wired.

mod legend;
pub(crate) mod things;

use crate::svg::{Anchor, Drawing, Sheet};
use crate::view::{
    MARGIN, PROP_WIDTH, View, cuts, fitting_names, fittings, named_row, outline, piece_numbers, span, station_axis,
    ticks, view_range, whole_scale,
};
use crate::words::{self, short};
use prop::outcome::Outcome;
use solid::{DVec2, Mesh};
use things::Window;

/// Parts nearer to each other than this along the prop share one enlarged view, mm.
const TOGETHER_MM: f64 = 60.0;
/// Shown beyond the parts of an enlarged view, mm.
const AROUND_MM: f64 = 12.0;
/// How far the arrows of the ways out reach beyond the outline, mm on the sheet.
const ARROW: f64 = 9.0;

/// Draws the whole prop seen through, and each stretch that holds parts enlarged.
pub(crate) fn draw(outcome: &Outcome) -> Sheet {
    let [from, to] = span(outcome);
    let scale = whole_scale(to - from);
    let width = 2.0 * MARGIN + PROP_WIDTH.max((to - from) / scale);
    let mut d = Drawing::new(
        "inside",
        format!("{}: what is inside", outcome.prop),
        format!(
            "The whole prop seen through, from the side and from above, butt left and tip right, scale {}, with {} parts, \
             {} lids and {} connections; below, each stretch that holds parts enlarged. A list of the parts follows.",
            ratio(scale),
            outcome.parts.len(),
            outcome.lids.len(),
            outcome.wires.len()
        ),
    );
    let mut y = whole(&mut d, outcome, scale, from, width);
    let stretches = stretches(outcome);
    for (i, stretch) in stretches.iter().enumerate() {
        d.fold(y + 1.0);
        y = enlarged(&mut d, outcome, i + 1, *stretch, y + 8.0, width);
    }
    d.fold(y + 1.0);
    y = legend::tables(&mut d, outcome, y + 8.0, width);
    y = legend::key(&mut d, outcome, y + 6.0, width, scale);
    d.finish(DVec2::new(width, y + 6.0))
}

/// Both views of the whole prop on the station axis. Returns the next free y.
fn whole(d: &mut Drawing, outcome: &Outcome, scale: f64, left_mm: f64, width: f64) -> f64 {
    let mut y = 10.0;
    for top_view in [false, true] {
        let mut view = View { scale, left_mm, zero_y: 0.0, top_view };
        let range = view_range(outcome, &view);
        let (word, head) = if top_view { ("top", "From the top") } else { ("view", "From the side, seen through") };
        d.text("head", DVec2::new(MARGIN, y), Anchor::Start, head);
        let names_y = y + 7.0;
        y += 20.0;
        view.zero_y = y + range[1] / scale;
        y += (range[1] - range[0]) / scale;
        let window = Window { view: &view, from: f64::NEG_INFINITY, to: f64::INFINITY };
        for (i, body) in outcome.views.iter().enumerate() {
            d.begin(&format!("{word}-body-{}", i + 1), &format!("Outline of {}", body.name));
            d.outlines("thick", [outline(&view, view.silhouette(body))]);
            d.end();
        }
        fittings(d, outcome, &view, word);
        things::wires(d, outcome, &window, word);
        things::lids(d, outcome, &window, word);
        things::parts(d, outcome, &window, word);
        cuts(d, outcome, &view, word);
        let letters: Vec<(DVec2, String)> = outcome
            .parts
            .iter()
            .filter_map(|p| Some((view.at(p.mesh.bounds()?.center()), p.letter.to_string())))
            .collect();
        d.begin(&format!("{word}-letters"), "Letters of the parts");
        named_row(d, names_y, width, "name", &letters);
        d.end();
        if top_view {
            d.begin("fittings", "Names of strips, spine and wire way");
            named_row(d, y + 9.0, width, "", &fitting_names(outcome, &view));
            d.end();
        } else {
            piece_numbers(d, outcome, &view, y + 9.0, width);
        }
        y += 22.0;
        if top_view {
            y = station_axis(d, outcome, &view, y - 4.0);
        }
    }
    y
}

/// A stretch with parts from the side and from the top, as large as the sheet takes. Returns the next free y.
fn enlarged(d: &mut Drawing, outcome: &Outcome, number: usize, stretch: [f64; 2], y: f64, width: f64) -> f64 {
    let [from, to] = stretch;
    let scale = [0.5, 1.0].into_iter().find(|s| (to - from) / s <= PROP_WIDTH).unwrap_or(whole_scale(to - from));
    let mut y = y;
    for top_view in [false, true] {
        let mut view = View { scale, left_mm: from, zero_y: 0.0, top_view };
        let range = Window { view: &view, from, to }.range(outcome);
        let word = format!("near-{number}-{}", if top_view { "top" } else { "side" });
        let head = format!("{}, scale {}", if top_view { "From the top" } else { "From the side" }, ratio(scale));
        d.text("head", DVec2::new(MARGIN, y), Anchor::Start, &head);
        let names_y = y + 7.0;
        let out_y = names_y + 6.0;
        y = out_y + 2.0 + ARROW;
        view.zero_y = y + range[1] / scale;
        y += (range[1] - range[0]) / scale;
        let window = Window { view: &view, from, to };
        things::outlines(d, outcome, &window, &word);
        things::bars(d, outcome, &window, &word);
        things::wires(d, outcome, &window, &word);
        things::lids(d, outcome, &window, &word);
        things::parts(d, outcome, &window, &word);
        things::cuts(d, outcome, &window, &word);
        let edges = [view.zero_y - range[1] / scale, y];
        things::ways_out(d, outcome, &window, &word, edges, [out_y, y + ARROW + 4.2], width);
        things::hold(d, outcome, &window, &word);
        things::part_names(d, outcome, &window, &word, names_y, width);
        things::wire_names(d, outcome, &window, &word, y + ARROW + 10.5, width);
        y += ARROW + 20.0;
        if top_view {
            let stations = [from, to].map(|x| outcome.path.station_of(solid::DVec3::new(x, 0.0, 0.0)));
            d.begin(&format!("near-{number}-stations"), "Stations of the enlarged stretch, mm");
            ticks(d, outcome, &view, y - 6.0, stations, [10.0, 50.0]);
            d.text("small", DVec2::new(MARGIN, y + 4.5), Anchor::Start, "station, mm");
            d.end();
            y += 6.0;
        }
    }
    y
}

/// The stretches along x that hold parts or lids, with some room about them.
fn stretches(outcome: &Outcome) -> Vec<[f64; 2]> {
    let seat = |m: &Mesh| m.bounds().map(|b| [b.min.x, b.max.x]);
    let mut spans: Vec<[f64; 2]> = outcome.parts.iter().filter_map(|p| seat(&p.mesh)).collect();
    let lids = outcome.pieces.iter().filter(|p| outcome.lids.iter().any(|l| l.piece == p.number));
    spans.extend(lids.map(|p| p.station_mm.map(|s| outcome.path.point(s).x)));
    spans.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut all: Vec<[f64; 2]> = Vec::new();
    for s in spans {
        match all.last_mut().filter(|last| s[0] - last[1] < TOGETHER_MM) {
            Some(last) => last[1] = last[1].max(s[1]),
            None => all.push(s),
        }
    }
    let [low, high] = span(outcome);
    all.iter().map(|[a, b]| [(a - AROUND_MM).max(low), (b + AROUND_MM).min(high)]).collect()
}

/// "1:4", "1:1", "2:1".
fn ratio(scale: f64) -> String {
    if scale < 1.0 { format!("{}:1", short(1.0 / scale, 0)) } else { format!("1:{}", short(scale, 0)) }
}

/// "lid 09", "J2", "port": what the way out of a part leads through.
fn exit_word(part: &prop::outcome::Part) -> String {
    match part.reached {
        prop::outcome::Reached::Lid(piece) => format!("lid {}", words::piece(piece)),
        prop::outcome::Reached::Joint(joint) => format!("J{joint}"),
        prop::outcome::Reached::Port => "port".to_owned(),
    }
}
