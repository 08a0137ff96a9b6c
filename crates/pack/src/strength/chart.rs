//! Stiffness, hanging and safety along the prop, on the same axis as the side view above them.

use crate::light::step;
use crate::svg::{Anchor, Drawing, Sheet, thinned};
use crate::view::{MARGIN, PROP_WIDTH, View, cuts, outline, role, span, station_axis, view_range, whole_scale};
use crate::words::{fixed, short};
use prop::outcome::Outcome;
use prop::strength::Strength;
use solid::DVec2;

/// Height of a chart, mm on the sheet.
const HEIGHT: f64 = 44.0;
/// The most that a chart of factors shows.
const TOP_FACTOR: f64 = 10.0;

/// One line of a chart.
struct Curve {
    id: &'static str,
    class: &'static str,
    word: String,
    /// A value for each stretch; `None` where there is none.
    values: Vec<Option<f64>>,
}

/// A chart: what it shows, its unit, how far it reaches, and a limit.
struct Chart {
    heading: &'static str,
    unit: &'static str,
    curves: Vec<Curve>,
    most: f64,
    limit: Option<(f64, String)>,
}

/// The drawings with their paths in the pack.
pub(crate) fn draw(outcome: &Outcome) -> Vec<(String, Sheet)> {
    let Some(found) = &outcome.strength else { return Vec::new() };
    let all =
        |of: &dyn Fn(&prop::strength::AtStation) -> Option<f64>| found.stations.iter().map(of).collect::<Vec<_>>();
    let safety = found.safety;
    let factors = Chart {
        heading: "How many times the worst load each place bears",
        unit: "times",
        curves: vec![
            Curve {
                id: "pieces",
                class: "thick",
                word: "printed pieces".into(),
                values: all(&|s| Some(s.worst.factor.min(TOP_FACTOR))),
            },
            Curve {
                id: "weakest",
                class: "way",
                word: "printed pieces of the weakest material".into(),
                values: all(&|s| Some((s.worst.low()).min(TOP_FACTOR))),
            },
            Curve {
                id: "spine",
                class: "centre",
                word: "spine".into(),
                values: all(&|s| s.spine.map(|w| w.factor.min(TOP_FACTOR))),
            },
        ],
        most: TOP_FACTOR,
        limit: Some((safety, format!("wanted: {} times", short(safety, 1)))),
    };
    let stiff = Chart {
        heading: "Stiffness in bending",
        unit: "N m²",
        curves: vec![
            Curve {
                id: "most",
                class: "thick",
                word: "the stiff way".into(),
                values: all(&|s| Some(s.ei_nmm2[0] * 1e-6)),
            },
            Curve {
                id: "least",
                class: "way",
                word: "the soft way".into(),
                values: all(&|s| Some(s.ei_nmm2[1] * 1e-6)),
            },
        ],
        most: 0.0,
        limit: None,
    };
    let hangs = Chart {
        heading: "How far it hangs, held level in one hand",
        unit: "mm",
        curves: vec![
            Curve { id: "flat", class: "thick", word: "flat".into(), values: all(&|s| Some(s.sag_mm[0].abs())) },
            Curve { id: "edge", class: "way", word: "on edge".into(), values: all(&|s| Some(s.sag_mm[1].abs())) },
        ],
        most: 0.0,
        limit: None,
    };
    let sheets = [
        ("bears", "what each place bears", vec![factors]),
        ("bends", "how stiff it is and how far it hangs", vec![stiff, hangs]),
    ];
    sheets
        .into_iter()
        .map(|(name, what, charts)| {
            (format!("drawings/strength-{name}.svg"), sheet(outcome, found, name, what, &charts))
        })
        .collect()
}

fn sheet(outcome: &Outcome, found: &Strength, name: &str, what: &str, charts: &[Chart]) -> Sheet {
    let [from, to] = span(outcome);
    let scale = whole_scale(to - from);
    let width = 2.0 * MARGIN + PROP_WIDTH.max((to - from) / scale);
    let least = found.stations.iter().map(|s| s.worst.factor).fold(f64::INFINITY, f64::min);
    let mut d = Drawing::new(
        format!("strength-{name}"),
        format!("{}: {what}", outcome.prop),
        format!(
            "Charts along the station axis under the side view: {what}. The weakest place of the printed pieces bears {} times its worst load; held level in one hand the tip hangs {} mm.",
            fixed(least, 1),
            fixed(found.cases.first().map_or(0.0, |c| c.tip_mm), 1)
        ),
    );
    let mut view = View { scale, left_mm: from, zero_y: 0.0, top_view: false };
    let range = view_range(outcome, &view);
    d.text("head", DVec2::new(MARGIN, 12.0), Anchor::Start, &format!("Strength: {what}"));
    let top = 24.0;
    view.zero_y = top + range[1] / scale;
    for (i, body) in outcome.views.iter().enumerate() {
        d.begin(&format!("body-{}", i + 1), &format!("{} ({})", body.name, role(body.role)));
        d.outlines("thin", [outline(&view, &body.side)]);
        d.end();
    }
    cuts(&mut d, outcome, &view, "cut");
    hands(&mut d, outcome, found, &view);
    let mut y = top + (range[1] - range[0]) / scale + 14.0;
    for (k, chart) in charts.iter().enumerate() {
        d.begin(&format!("chart-{}", k + 1), chart.heading);
        draw_chart(&mut d, outcome, found, chart, &view, [y, y + HEIGHT]);
        d.end();
        y = key(&mut d, k, chart, y + HEIGHT + 6.0) + 10.0;
    }
    let y = station_axis(&mut d, outcome, &view, y);
    let rows = [
        ("prop", outcome.prop.clone()),
        ("drawing", what.to_owned()),
        ("held", held(found)),
        ("inputs", outcome.input_hash.chars().take(16).collect()),
    ];
    let height = rows.len() as f64 * 5.4;
    d.title_block(DVec2::new(width - MARGIN, y + 4.0 + height), &rows);
    d.finish(DVec2::new(width, y + height + 10.0))
}

fn held(found: &Strength) -> String {
    let hands = &found.carried.hands;
    match hands.other_mm {
        Some(other) => format!("at stations {other:.0} and {:.0} mm", hands.lead_mm),
        None => format!("at station {:.0} mm", hands.lead_mm),
    }
}

fn hands(d: &mut Drawing, outcome: &Outcome, found: &Strength, view: &View) {
    let c = &found.carried;
    let marks = [("hand", Some(c.hands.lead_mm)), ("hand", c.hands.other_mm), ("balance", Some(c.balance_mm))];
    for (k, (word, station)) in marks.iter().enumerate() {
        let Some(station) = station else { continue };
        let at = view.at(outcome.path.point(*station));
        d.begin(&format!("held-{}", k + 1), &format!("{word} at station {station:.0} mm"));
        d.circle("solid", at, 0.9);
        d.text("small", at + DVec2::new(1.6, 1.0 + 3.4 * k as f64), Anchor::Start, word);
        d.end();
    }
}

fn draw_chart(
    d: &mut Drawing,
    outcome: &Outcome,
    found: &Strength,
    chart: &Chart,
    view: &View,
    [top, floor]: [f64; 2],
) {
    let x_at = |station: f64| view.x(outcome.path.point(station).x);
    let most = chart.curves.iter().flat_map(|c| c.values.iter().flatten()).copied().fold(chart.most, f64::max);
    let step = step(most);
    let full = (most / step).ceil().max(1.0) * step;
    let y_at = |value: f64| floor - (floor - top) * value / full;
    let [left, right] = [0.0, outcome.path.length_mm()].map(x_at);
    let decimals = if step < 1.0 { 1 } else { 0 };
    for i in 0..=(full / step).round() as u32 {
        let value = f64::from(i) * step;
        d.line("thin", DVec2::new(left - 1.5, y_at(value)), DVec2::new(if i == 0 { right } else { left }, y_at(value)));
        d.text("small", DVec2::new(left - 2.2, y_at(value) + 1.0), Anchor::End, &short(value, decimals));
    }
    d.line("thin", DVec2::new(left, floor), DVec2::new(left, top));
    d.text("small", DVec2::new(left - 2.0, top - 6.0), Anchor::Start, &format!("{}, {}", chart.heading, chart.unit));
    if let Some((limit, _)) = &chart.limit {
        d.line("hidden", DVec2::new(left, y_at(*limit)), DVec2::new(right, y_at(*limit)));
    }
    for curve in &chart.curves {
        // A line for each run of stretches that have a value, in the middle of each.
        let mut run = Vec::new();
        for (value, station) in curve.values.iter().zip(&found.stations) {
            match value {
                Some(v) => run.push(DVec2::new(x_at(f64::midpoint(station.span_mm[0], station.span_mm[1])), y_at(*v))),
                None => {
                    d.polyline(curve.class, thinned(&run));
                    run.clear();
                }
            }
        }
        d.polyline(curve.class, thinned(&run));
    }
    if chart.limit.is_some() {
        for joint in &found.joints {
            let at = DVec2::new(x_at(joint.station_mm), y_at(joint.factor.min(TOP_FACTOR)));
            d.circle("solid", at, 1.0);
            // Below where it would run into the heading.
            let aside = DVec2::new(1.4, if joint.factor > 0.9 * TOP_FACTOR { 4.4 } else { -0.8 });
            d.text("name", at + aside, Anchor::Start, &format!("J{}", joint.number));
        }
    }
}

/// What the lines mean, side by side. Returns the next free y.
fn key(d: &mut Drawing, k: usize, chart: &Chart, y: f64) -> f64 {
    let mut lines: Vec<(&str, &str, String)> = chart.curves.iter().map(|c| (c.id, c.class, c.word.clone())).collect();
    lines.extend(chart.limit.as_ref().map(|(_, word)| ("limit", "hidden", word.clone())));
    d.begin(&format!("lines-{}", k + 1), "What the lines mean");
    let mut x = MARGIN;
    for (_, class, word) in &lines {
        d.line(class, DVec2::new(x, y), DVec2::new(x + 12.0, y));
        d.text("small", DVec2::new(x + 14.0, y + 1.0), Anchor::Start, word);
        x += 18.0 + crate::labels::text_width(word, crate::svg::LETTER);
    }
    d.end();
    y
}
