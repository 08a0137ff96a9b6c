//! What the circuit comes to, judged: here the cell and the worst instant; wires and strip in `wiring`, the cell's dangers in `safety`.

mod safety;
mod wiring;

use super::choose::{Choice, PIXEL_V};
use super::net::Wired;
use super::supply::Supply;
use super::{Carries, Power, PowerWork, hours};
use crate::catalogue::{Electrics, PartKind};
use crate::checks::{Checked, note};
use crate::finding::{Band, Finding, Input, input};
use crate::furnished::letter;
use crate::project::Feed;
use circuit::CircuitError;

/// A colour is still itself while blue gets this share of its current against red. (Our choice: a fifth less is just seen.)
const COLOUR: f64 = 0.8;

/// All findings of the circuit.
pub(crate) fn check(
    work: &PowerWork,
    supply: &Supply,
    wired: &Wired,
    power: &Power,
) -> Result<Vec<Finding>, CircuitError> {
    let mut all = vec![lasts(work, supply, power)];
    all.extend(worst(work, supply, power));
    all.extend(wiring::fuse(work, supply, power));
    all.extend(wiring::wires(wired, power)?);
    all.extend(wiring::plugs(work, wired, power));
    all.extend(wiring::strip(work, supply, wired, power)?);
    all.extend(safety::safety(work, supply, power));
    all.push(chosen(work, power));
    all.push(smallest(supply, power));
    Ok(all)
}

fn band_of(value: f64) -> Band {
    Band::exact(value)
}

/// Whether a change carries the cap as it is, and has room as far as that was tried.
fn allows(power: &Power, choice: &Choice) -> bool {
    choice.fits != Some(false) && choice.cap.is_some_and(|cap| cap >= power.design.cap - 1e-9)
}

fn lasts(work: &PowerWork, supply: &Supply, power: &Power) -> Finding {
    let r = &power.runtime;
    let value = Band {
        value: hours(r.runtime.lasts_s) * 3600.0,
        low: hours(r.least_s) * 3600.0,
        high: hours(r.most_s) * 3600.0,
    };
    let others: Vec<String> = power
        .choices
        .iter()
        .filter(|c| allows(power, c) && c.hours * 3600.0 >= power.rules.day_s)
        .take(2)
        .map(|c| format!("{} ({:.1} h; it takes {})", c.what, c.hours, c.needs))
        .collect();
    let dimmer = power.brightness.iter().find(|b| b[1] * 3600.0 >= power.rules.day_s);
    let mut ways: Vec<String> = others;
    ways.extend(dimmer.map(|b| format!("{:.0} % of the brightness ({:.1} h)", 100.0 * b[0], b[1])));
    let well = r.runtime.well_s.map_or_else(String::new, |s| {
        format!("; from {:.1} h on something gets too little voltage at times", hours(s))
    });
    Checked {
        id: "power_lasts",
        subject: format!("part {}", power.cell.0),
        station_mm: None,
        value,
        unit: "s",
        min: Some(power.rules.day_s),
        max: None,
        source: "power.day".into(),
        message: format!(
            "at the stated use the cell lasts {:.1} h ({:.1} to {:.1}) at {:.0} °C, mean current {:.2} A{well}",
            value.value / 3600.0,
            value.low / 3600.0,
            value.high / 3600.0,
            power.rules.ambient_c,
            r.runtime.mean_a
        ),
        remedy: if ways.is_empty() {
            "take a cell along to change at half time, or lower the light of the modes under [power.use.NAME]".into()
        } else {
            format!("take {}; or a second cell along", ways.join(", or "))
        },
    }
    .finding()
    .worked_from(capacity(work, supply).into_iter().chain([
        input("charge left at the end", r.runtime.charge_left, "1", "the cell's protection acts"),
        input("mean current", r.runtime.mean_a, "A", "the circuit through the stated use"),
        input("air", power.rules.ambient_c, "°C", "power.ambient"),
    ]))
}

/// What the cells hold.
fn capacity(work: &PowerWork, supply: &Supply) -> Vec<Input> {
    let Electrics::Cell { capacity_ah, .. } = work.project.parts[supply.cell].row.electrics else { return Vec::new() };
    vec![
        input("capacity of a cell", capacity_ah, "Ah", "catalogue: cell"),
        input("cells side by side", f64::from(supply.cells), "1", "the parts of the project"),
    ]
}

/// The worst instant, as it is solved.
fn of_instant(power: &Power) -> Vec<Input> {
    let w = &power.worst;
    let mut all = vec![
        input("cap of the light", power.design.cap, "1", by_whom(power, 2, "power.cap")),
        input("air", power.rules.cold_c, "°C", "power.cold"),
        input("current of the cell", w.cell_a, "A", "the circuit in that instant"),
        input("voltage of the cell", w.cell_v, "V", "the circuit in that instant"),
    ];
    all.extend(
        w.short
            .as_ref()
            .filter(|s| s.share < 1.0)
            .map(|s| input("share that can be carried", s.share, "1", "the circuit in that instant")),
    );
    all
}

fn worst(work: &PowerWork, supply: &Supply, power: &Power) -> Vec<Finding> {
    let w = &power.worst;
    let cap = 100.0 * power.design.cap;
    let carried = w.short.as_ref().filter(|s| s.share < 1.0);
    let instant = format!(
        "a white flash at a cap of {cap:.0} % with the loudest sound, a tenth of the charge left, {:.0} °C{}",
        power.rules.cold_c,
        carried.map_or_else(String::new, |s| format!(
            " (only {:.0} % of light and sound can be carried)",
            100.0 * s.share
        ))
    );
    let better = power.choices.iter().filter(|c| allows(power, c));
    let allowed = better.filter_map(|c| Some((c.cap?, c))).max_by(|a, b| a.0.total_cmp(&b.0));
    let better = allowed.map_or_else(String::new, |(cap, c)| format!(", or {} (allows {:.0} %)", c.what, 100.0 * cap));
    let remedy = format!("a lower power.cap{better}");
    let solved = of_instant(power);
    let mut all = Vec::new();
    if let Some(value) = w.pixel_v {
        let [strip, pixel] = w.pixel;
        let station = work.pixels.iter().find(|p| p.strip == strip && p.number == pixel).map(|p| p.station_mm);
        let subject = format!("strip {strip}");
        all.push(
            Checked {
                id: "power_pixels",
                subject: subject.clone(),
                station_mm: station.map(|s| [s, s]),
                value,
                unit: "V",
                min: Some(PIXEL_V),
                max: None,
                source: "supply of such pixels, 3.5 to 5.3 V (published comparison)".into(),
                message: format!("{instant}: pixel {pixel} of strip {strip} gets {:.2} V", value.value),
                remedy: remedy.clone(),
            }
            .finding()
            .worked_from(solved.clone()),
        );
        all.push(
            Checked {
                id: "power_colour",
                subject,
                station_mm: station.map(|s| [s, s]),
                value: band_of(w.colour),
                unit: "1",
                min: Some(COLOUR),
                max: None,
                source: "our choice".into(),
                message: format!(
                    "in that instant blue gets {:.0} % of its current against red at pixel {pixel}{}",
                    100.0 * w.colour,
                    if w.colour < COLOUR { ": white turns amber there" } else { "" }
                ),
                remedy: remedy.clone(),
            }
            .finding()
            .worked_from(w.pixel_v.map(|v| input("voltage of the pixel", v.value, "V", "the circuit in that instant"))),
        );
    }
    let cell = &work.project.parts[supply.cell];
    if let Electrics::Cell { most_a, .. } = cell.row.electrics {
        all.push(
            Checked {
                id: "power_peak",
                subject: format!("part {}", letter(supply.cell)),
                station_mm: None,
                value: band_of(w.cell_a),
                unit: "A",
                min: None,
                max: Some(most_a * f64::from(supply.cells)),
                source: "most of the cell's row".into(),
                message: format!("{instant}: the cell gives {:.2} A at {:.2} V", w.cell_a, w.cell_v),
                remedy: format!("a cell that bears more, two side by side, or {remedy}"),
            }
            .finding()
            .worked_from(solved.clone().into_iter().chain([
                input("most of a cell", most_a, "A", "catalogue: cell"),
                input("cells side by side", f64::from(supply.cells), "1", "the parts of the project"),
            ])),
        );
    }
    if let Some([value, most]) = w.converter_a {
        all.push(
            Checked {
                id: "power_converter",
                subject: "converter".into(),
                station_mm: None,
                value: band_of(value),
                unit: "A",
                min: None,
                max: Some(most),
                source: "most of the converter's row".into(),
                message: format!("{instant}: the converter takes {value:.2} A in"),
                remedy: format!("a larger converter, or {remedy}"),
            }
            .finding()
            .worked_from(solved.clone()),
        );
    }
    let brain = supply.first(work, PartKind::Controller);
    let mut gets_least = |subject: String, whose: &str, value: f64, lowest_v: f64| {
        all.push(
            Checked {
                id: "power_brownout",
                subject,
                station_mm: None,
                value: band_of(value),
                unit: "V",
                min: Some(lowest_v),
                max: None,
                source: format!("lowest of the row of {whose}"),
                message: format!("{instant}: {whose} gets {value:.2} V"),
                remedy: format!("{remedy}, or a quieter power.loudest"),
            }
            .finding()
            .worked_from(solved.clone()),
        );
    };
    let mut told = None;
    if let (Some(value), Some(part)) = (w.controller_v, brain)
        && let Electrics::Controller { lowest_v, .. } = work.project.parts[part].row.electrics
    {
        gets_least(format!("part {}", letter(part)), "the controller", value, lowest_v);
        told = Some(format!("{} {}", letter(part), work.project.parts[part].name));
    }
    // Where not everything is carried, the controller above is well on less: what breaks down is told as well.
    if let Some(short) = w.short.as_ref().filter(|s| told.as_ref() != Some(&s.part)) {
        gets_least(
            format!("part {}", short.part),
            &format!("with all of it {}", short.part),
            short.volt,
            short.lowest_v,
        );
    }
    all
}

fn by_whom(power: &Power, k: usize, key: &'static str) -> &'static str {
    if power.chosen[k] { "chosen so that all holds" } else { key }
}

fn chosen(work: &PowerWork, power: &Power) -> Finding {
    let d = &power.design;
    let by = |k: usize| if power.chosen[k] { "chosen" } else { "yours" };
    let fed = match d.feed {
        Feed::Start => "at its first pads",
        Feed::Both => "at both ends",
    };
    let fuse = d.fuse_a.map_or_else(|| "no fuse".to_owned(), |a| format!("a fuse of {a} A ({})", by(3)));
    let supplied = power.loom.iter().filter(|c| c.carries == Carries::Plus).count();
    let wires = format!("wires of {} AWG ({}), {fuse}", d.awg, by(0));
    let message = if work.pixels.is_empty() {
        format!("{wires}; {supplied} red wires")
    } else {
        format!(
            "set the controller's brightness to {:.0} % at most ({}); {wires}, the strip fed {fed} ({}); {supplied} red wires",
            100.0 * d.cap,
            by(2),
            by(1)
        )
    };
    note("power_chosen", "prop".into(), None, d.cap, "1", message).worked_from(
        [
            input("gauge", f64::from(d.awg), "AWG", by_whom(power, 0, "power.gauge")),
            input("cap", d.cap, "1", by_whom(power, 2, "power.cap")),
        ]
        .into_iter()
        .chain(d.fuse_a.map(|a| input("fuse", a, "A", by_whom(power, 3, "power.fuse")))),
    )
}

fn smallest(supply: &Supply, power: &Power) -> Finding {
    let known = power.smallest.as_ref();
    let hours = known.and_then(|s| s.hours).unwrap_or(hours(power.runtime.runtime.lasts_s));
    let lasts = format!("holds this brightness and lasts the day, {hours:.1} h");
    let mut message = match known {
        Some(s) if s.hours.is_some() => format!("{} {lasts}, and its bay was tried: there is room", s.what),
        Some(s) => format!("{} {lasts}; nothing smaller does", s.what),
        None => "no cell or pair of the catalogue that finds room holds this brightness through the day".to_owned(),
    };
    let no_room: Vec<&str> = power.choices.iter().filter(|c| c.fits == Some(false)).map(|c| c.what.as_str()).collect();
    if !no_room.is_empty() {
        message += &format!("; no room was found for {}", no_room.join(", "));
    }
    note("cell_smallest", format!("part {}", letter(supply.cell)), None, hours * 3600.0, "s", message).worked_from([
        input("mean current", power.runtime.runtime.mean_a, "A", "the circuit through the stated use"),
        input("asked for", power.rules.day_s / 3600.0, "h", "power.day"),
        input("changes tried", power.choices.len() as f64, "1", "cells of the catalogue"),
    ])
}
