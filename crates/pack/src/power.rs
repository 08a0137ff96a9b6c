//! Wires to cut, what a meter reads, and what the cell gives: lists and the section of the page.

use crate::Artifact;
use crate::csv::line;
use crate::html::escape;
use crate::page::table;
use crate::svg::Sheet;
use crate::words::{band, fixed, short, with_unit};
use prop::finding::Band;
use prop::outcome::Outcome;
use prop::power::{Carries, Conductor, Power, SLACK_MM, TestPoint};

/// `power/wires.csv`, `power/bench-test.csv`, `power/brightness.csv`, `power/choices.csv`, `power/day.csv`; nothing without power.
pub(crate) fn files(outcome: &Outcome) -> Vec<Artifact> {
    let Some(power) = &outcome.power else { return Vec::new() };
    vec![
        Artifact::new("power/wires.csv", sheet(&WIRES, power.loom.iter().map(wire))),
        Artifact::new("power/bench-test.csv", sheet(&BENCH, power.bench.iter().map(|p| point(power, p)))),
        Artifact::new("power/brightness.csv", sheet(&BRIGHTNESS, brightness(power))),
        Artifact::new("power/choices.csv", sheet(&CHOICES, choices(power))),
        Artifact::new("power/day.csv", sheet(&DAY, day(power))),
    ]
}

const WIRES: [&str; 12] = [
    "wire",
    "from",
    "to",
    "carries",
    "AWG",
    "colour",
    "code",
    "cut to mm",
    "at least mm",
    "at most mm",
    "slack in joints",
    "fuse A",
];
const BENCH: [&str; 13] = [
    "test point",
    "red probe",
    "black probe",
    "unit",
    "dark",
    "dark from",
    "dark to",
    "lit",
    "lit from",
    "lit to",
    "cell rested at V",
    "lit white at %",
    "otherwise",
];
const BRIGHTNESS: [&str; 3] = ["share of the cap %", "brightness of full %", "hours"];
const CHOICES: [&str; 6] =
    ["change", "cap it allows %", "hours at the cap as it is", "hours at its own cap", "takes", "room for it"];
const DAY: [&str; 5] = ["hours", "charge %", "mean current A", "lowest cell V", "cell warmer by K"];

fn sheet(columns: &[&str], rows: impl Iterator<Item = Vec<String>>) -> String {
    let mut out = line(columns);
    out.extend(rows.map(|row| line(&row)));
    out
}

/// A number for other programs: a plain minus.
fn plain(value: f64, decimals: usize) -> String {
    fixed(value, decimals).replace('\u{2212}', "-")
}

pub(crate) fn carries(what: Carries) -> &'static str {
    match what {
        Carries::Plus => "plus",
        Carries::Minus => "minus",
        Carries::Signal => "signal",
    }
}

fn wire(c: &Conductor) -> Vec<String> {
    let mut row = vec![c.name.clone(), c.from.words(), c.to.words(), carries(c.carries).to_owned(), c.awg.to_string()];
    row.extend([c.colour.0.to_owned(), c.colour.1.to_owned()]);
    row.extend([c.cut_mm.value, c.cut_mm.low, c.cut_mm.high].map(|v| plain(v, 0)));
    row.push(slack(c));
    row.push(c.fuse_a.map_or_else(|| "none".to_owned(), |a| short(a, 1)));
    row
}

/// The joints it crosses, with the slack that is left in each for putting them together.
pub(crate) fn slack(c: &Conductor) -> String {
    let each = with_unit(&fixed(SLACK_MM[0], 0), "mm");
    match c.joints.as_slice() {
        [] => "none crossed".to_owned(),
        [only] => format!("{each} in J{only}"),
        [first, second] => format!("{each} in J{first}, J{second}"),
        [first, .., last] if (last.abs_diff(*first) as usize) + 1 == c.joints.len() => {
            format!("{each} in J{first} to J{last}")
        }
        many => format!("{each} in each of {}", many.len()),
    }
}

fn point(power: &Power, p: &TestPoint) -> Vec<String> {
    let mut row = vec![p.what.clone(), p.red.clone(), p.black.clone(), p.unit.to_owned()];
    for band in [p.dark, p.lit] {
        row.extend([band.value, band.low, band.high].map(|v| plain(v, 2)));
    }
    row.extend([plain(power.bench_rest_v, 2), plain(100.0 * power.bench_light, 0), p.otherwise.to_owned()]);
    row
}

fn brightness(power: &Power) -> impl Iterator<Item = Vec<String>> + '_ {
    power.brightness.iter().map(|[share, hours]| {
        vec![plain(100.0 * share, 0), plain(100.0 * share * power.design.cap, 0), plain(*hours, 1)]
    })
}

fn choices(power: &Power) -> impl Iterator<Item = Vec<String>> + '_ {
    power.choices.iter().map(|c| {
        let cap = c.cap.map_or_else(|| "none".to_owned(), |cap| plain(100.0 * cap, 0));
        let room = match c.fits {
            Some(true) => "tried: there is",
            Some(false) => "tried: there is none",
            None => "not tried",
        };
        vec![c.what.clone(), cap, plain(c.hours, 1), plain(c.hours_at_cap, 1), c.needs.clone(), room.to_owned()]
    })
}

fn day(power: &Power) -> impl Iterator<Item = Vec<String>> + '_ {
    power.trace.iter().map(|s| {
        vec![
            plain(s.at_s / 3600.0, 2),
            plain(100.0 * s.charge, 1),
            plain(s.current_a, 3),
            plain(s.lowest_v, 3),
            plain(s.cell_k, 1),
        ]
    })
}

/// The section of the page.
pub(crate) fn section(out: &mut String, outcome: &Outcome, wiring: Option<&Sheet>) {
    out.push_str("<section id=\"power\">\n<h2>Power and wiring</h2>\n");
    let Some(power) = &outcome.power else {
        out.push_str("<p>Power was not worked out: the project names no cell, or a finding says what is missing.</p>\n</section>\n");
        return;
    };
    let r = &power.runtime;
    // A month for what nothing draws on.
    let [value, low, high] = [r.runtime.lasts_s, r.least_s, r.most_s].map(|s| s.min(720.0 * 3600.0));
    let lasts = Band { value, low, high };
    out.push_str(&format!(
        "<p>The cell ({}, {} in all) lasts {} at the stated use, drawing {} in the mean. Set the controller's brightness to {} at most.</p>\n",
        power.cell.0,
        with_unit(&fixed(power.watt_hours, 1), "Wh"),
        escape(&band(lasts, "s")),
        with_unit(&fixed(r.runtime.mean_a, 2), "A"),
        with_unit(&fixed(100.0 * power.design.cap, 0), "%"),
    ));
    if let Some(sheet) = wiring {
        out.push_str(&format!(
            "<p class=\"quiet\"><a href=\"drawings/wiring.svg\">The drawing as a file</a></p>\n<div class=\"wide\" role=\"region\" \
             tabindex=\"0\" aria-label=\"Wiring, scrolls sideways\">\n{}</div>\n",
            sheet.to_inline()
        ));
    }
    table(
        out,
        "Wires to cut",
        "power/wires.csv",
        "One wire a line; red is plus, black is minus, and so it stands in words.",
        &WIRES,
        power.loom.iter().map(wire),
    );
    let caption = format!(
        "On the bench, before anything is glued: the cell rested at {} V at 20 °C, prop dark, then white at {}, silent. A reading \
         outside its band means a bad joint between this point and the one before. Lithium cells burn when shorted: cover what is not \
         being measured.",
        fixed(power.bench_rest_v, 2),
        with_unit(&fixed(100.0 * power.bench_light, 0), "%")
    );
    let columns = ["Test point", "Red probe", "Black probe", "Dark", "Lit", "Otherwise"];
    let rows = power.bench.iter().map(|p| {
        let reads = |b: Band| {
            with_unit(&format!("{} ({} to {})", fixed(b.value, 2), fixed(b.low, 2), fixed(b.high, 2)), p.unit)
        };
        vec![p.what.clone(), p.red.clone(), p.black.clone(), reads(p.dark), reads(p.lit), p.otherwise.to_owned()]
    });
    table(out, "Bench test", "power/bench-test.csv", &escape(&caption), &columns, rows);
    table(
        out,
        "What brightness buys",
        "power/brightness.csv",
        "Hours at the stated use, all light taken so many times.",
        &BRIGHTNESS,
        brightness(power),
    );
    table(out, "Other cells, feeds and wires", "power/choices.csv", "Each change by itself.", &CHOICES, choices(power));
    out.push_str("</section>\n");
}
