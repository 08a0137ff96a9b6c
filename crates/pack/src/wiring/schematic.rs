//! The schematic: from the cell to the right, each part one step behind the one it is wired to.

use super::symbols::{HALF, POLE, symbol};
use crate::svg::{Anchor, Drawing};
use crate::words::{short, with_unit};
use prop::catalogue::PartKind;
use prop::outcome::{Outcome, Wire};
use prop::power::{Carries, Conductor, Power};
use solid::DVec2;

/// From part to part, mm on the sheet.
const STEP: DVec2 = DVec2::new(94.0, 30.0);

/// A part in its place; `None` is the strip.
struct Stand {
    letter: Option<char>,
    at: DVec2,
}

/// Draws it with its left upper corner at `corner`. Returns how far it reaches to the right and down.
pub(super) fn draw(d: &mut Drawing, outcome: &Outcome, power: &Power, corner: DVec2) -> [f64; 2] {
    let (stands, spans) = stands(outcome, power, corner + DVec2::new(HALF + 2.0, 12.0));
    for (k, (wire, from, to)) in spans.iter().enumerate() {
        d.begin(&format!("W{}", wire.number), &format!("Wires W{}", wire.number));
        connection(d, power, wire, stands[*from].at, stands[*to].at, k);
        d.end();
    }
    let mut reach = [corner.x, corner.y];
    for stand in &stands {
        let part = stand.letter.and_then(|l| outcome.parts.iter().find(|p| p.letter == l));
        let name = part.map_or_else(|| "strip".to_owned(), |p| format!("{} {}", p.letter, p.name));
        let rating = match part.map(|p| p.kind) {
            Some(PartKind::Fuse) => power.design.fuse_a.map(|a| with_unit(&short(a, 1), "A")),
            None => Some(format!("{} pixels", outcome.pixels.len())),
            _ => None,
        };
        d.begin(&format!("symbol-{}", stand.letter.map_or_else(|| "strip".to_owned(), String::from)), &name);
        symbol(d, part.map(|p| p.kind), stand.at);
        d.text("name", stand.at + DVec2::new(0.0, 11.0), Anchor::Middle, &name);
        if let Some(rating) = rating {
            d.text("small", stand.at + DVec2::new(0.0, 14.8), Anchor::Middle, &rating);
        }
        d.end();
        reach = [reach[0].max(stand.at.x + STEP.x / 2.0), reach[1].max(stand.at.y + 18.0)];
    }
    let y = reach[1] + 3.0;
    d.begin("key", "Lines of the schematic");
    let lines = [("thick", "plus, red"), ("thin", "minus, black"), ("hidden", "signal or sound")];
    for (k, (class, word)) in lines.into_iter().enumerate() {
        let x = corner.x + 56.0 * k as f64;
        d.line(class, DVec2::new(x, y - 1.0), DVec2::new(x + 12.0, y - 1.0));
        d.text("small", DVec2::new(x + 14.0, y), Anchor::Start, word);
    }
    d.end();
    [reach[0], y + 3.0]
}

/// Parts step by step from the cell, and the connections between them.
fn stands<'a>(outcome: &'a Outcome, power: &Power, first: DVec2) -> (Vec<Stand>, Vec<(&'a Wire, usize, usize)>) {
    let mut stands = vec![Stand { letter: Some(power.cell.0), at: first }];
    let mut depth = vec![0_usize];
    let mut spans: Vec<(&Wire, usize, usize)> = Vec::new();
    let mut rows: Vec<usize> = vec![1];
    let mut next = 0;
    while next < stands.len() {
        let own = stands[next].letter;
        for wire in outcome.wires.iter().filter(|w| Some(w.from) == own || (w.to == own && own.is_some())) {
            if spans.iter().any(|s| s.0.number == wire.number) {
                continue;
            }
            let other = if Some(wire.from) == own { wire.to } else { Some(wire.from) };
            let place = stands.iter().position(|s| s.letter == other).unwrap_or_else(|| {
                let column = depth[next] + 1;
                if rows.len() <= column {
                    rows.push(0);
                }
                let at = first + STEP * DVec2::new(column as f64, rows[column] as f64);
                rows[column] += 1;
                stands.push(Stand { letter: other, at });
                depth.push(column);
                stands.len() - 1
            });
            spans.push((wire, next, place));
        }
        next += 1;
    }
    (stands, spans)
}

/// The wires of a connection, and what they are.
fn connection(d: &mut Drawing, power: &Power, wire: &Wire, from: DVec2, to: DVec2, k: usize) {
    let wires: Vec<&Conductor> = power.loom.iter().filter(|c| c.bundle == wire.number).collect();
    // Each connection turns at a place of its own, so that no two lie on each other.
    let turn = from.x + HALF + 6.0 + 3.6 * (k % 8) as f64;
    let line = |d: &mut Drawing, class: &str, off: f64, shift: f64| {
        let (a, b) = (from + DVec2::new(HALF, off), to + DVec2::new(-HALF, off));
        let x = turn + shift;
        d.polyline(class, [a, DVec2::new(x, a.y), DVec2::new(x, b.y), b]);
    };
    let count = |what: Carries| wires.iter().filter(|c| c.carries == what).count();
    // A signal that comes back through the minus goes to the contact where plus would.
    let signal = if count(Carries::Plus) == 0 && count(Carries::Minus) > 0 { -POLE } else { 0.0 };
    for (what, class, off, shift) in [
        (Carries::Plus, "thick", -POLE, 0.0),
        (Carries::Minus, "thin", POLE, 1.2),
        (Carries::Signal, "hidden", signal, 0.6),
    ] {
        if count(what) > 0 {
            line(d, class, off, shift);
        }
    }
    let gauges = wires.iter().find(|c| c.carries == Carries::Plus).or(wires.first());
    let words = gauges.map_or_else(String::new, |c| {
        format!("W{}: {} x, {} AWG, {}", wire.number, wires.len(), c.awg, with_unit(&short(c.cut_mm.value, 0), "mm"))
    });
    d.text("small", to + DVec2::new(-HALF - 1.5, -POLE - 1.6), Anchor::End, &words);
}
