//! Wires to cut, what a meter reads, and what the cell gives: lists and the chapters of the book.

use crate::Artifact;
use crate::book::model::{Block, Chapter, Drawing, Table};
use crate::csv::line;
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

/// The chapters of power and of wiring.
pub(crate) fn chapters<'a>(outcome: &Outcome, wiring: Option<&'a Sheet>, parts: &'a [Sheet]) -> [Chapter<'a>; 2] {
    let (mut power, mut wires) = (Vec::new(), Vec::new());
    if let Some(found) = &outcome.power {
        power.push(Block::Text(told(found).into()));
        let caption = "Hours at the stated use, all light taken so many times.";
        let (name, file) = ("What brightness buys", Some("power/brightness.csv"));
        power.push(Block::Table(Table::new(name, file, caption, &BRIGHTNESS, brightness(found))));
        let (name, file) = ("Other cells, feeds and wires", Some("power/choices.csv"));
        power.push(Block::Table(Table::new(name, file, "Each change by itself.", &CHOICES, choices(found))));
        if let Some(sheet) = wiring {
            let (heading, file) = ("Wiring", "drawings/wiring.svg");
            wires.push(Block::Drawing(Drawing { heading, file, sheet, parts }));
        }
        let caption = "One wire a line; red is plus, black is minus, and so it stands in words.";
        let rows = found.loom.iter().map(wire);
        wires.push(Block::Table(Table::new("Wires to cut", Some("power/wires.csv"), caption, &WIRES, rows)));
        wires.push(Block::Table(bench(found)));
    } else {
        let text = "Power was not worked out: the project names no cell, or a finding says what is missing.";
        power.push(Block::Text(text.into()));
        wires.push(Block::Text("Without power there is no circuit.".into()));
    }
    [
        Chapter { id: "power", short: "Power", title: "Power".into(), blocks: power },
        Chapter { id: "wiring", short: "Wiring", title: "Wiring".into(), blocks: wires },
    ]
}

fn told(power: &Power) -> String {
    let r = &power.runtime;
    // A month for what nothing draws on.
    let [value, low, high] = [r.runtime.lasts_s, r.least_s, r.most_s].map(|s| s.min(720.0 * 3600.0));
    let lasts = Band { value, low, high };
    format!(
        "The cell ({}, {} in all) lasts {} at the stated use, drawing {} in the mean. Set the controller's brightness to {} at most.",
        power.cell.0,
        with_unit(&fixed(power.watt_hours, 1), "Wh"),
        band(lasts, "s"),
        with_unit(&fixed(r.runtime.mean_a, 2), "A"),
        with_unit(&fixed(100.0 * power.design.cap, 0), "%"),
    )
}

/// What a meter reads before anything is glued.
fn bench(power: &Power) -> Table {
    let caption = format!(
        "On the bench, before anything is glued: the cell rested at {} V at 20 °C, prop dark, then white at {}, silent. A reading \
         outside its band means a bad joint between this point and the one before. Lithium cells burn when shorted: cover what is not \
         being measured.",
        fixed(power.bench_rest_v, 2),
        with_unit(&fixed(100.0 * power.bench_light, 0), "%")
    );
    let columns = ["Test point", "Red probe", "Black probe", "Dark", "Lit", "Otherwise"];
    let rows = power.bench.iter().map(|p| {
        let [dark, lit] = [p.dark, p.lit].map(|b| reading(b, p.unit));
        vec![p.what.clone(), p.red.clone(), p.black.clone(), dark, lit, p.otherwise.to_owned()]
    });
    Table::new("Bench test", Some("power/bench-test.csv"), caption, &columns, rows)
}

/// "4.98 V (4.90 to 5.05)" as a meter shows it.
pub(crate) fn reading(b: Band, unit: &str) -> String {
    with_unit(&format!("{} ({} to {})", fixed(b.value, 2), fixed(b.low, 2), fixed(b.high, 2)), unit)
}
