//! Parts, the hardware of lids and joints, and bundles of wires.

use super::model::{Block, Chapter, Table};
use crate::lists::{self, way_mm};
use crate::words::{self, short, with_unit};
use prop::outcome::Outcome;

pub(super) fn chapter(outcome: &Outcome) -> Chapter<'static> {
    let mut blocks = Vec::new();
    if outcome.parts.is_empty() {
        blocks.push(Block::Text("The project names no part: nothing goes in but strip, spine and wires.".into()));
    }
    blocks.extend([parts(outcome), hardware(outcome), wires(outcome)].map(Block::Table));
    Chapter { id: "parts", short: "Parts", title: "Parts and wires".into(), blocks }
}

fn parts(outcome: &Outcome) -> Table {
    let rows = outcome.parts.iter().map(|p| {
        let off: Vec<String> = p.pieces_off.iter().map(|n| words::piece(*n)).collect();
        let wired = outcome.wires.iter().filter(|w| w.from == p.letter || w.to == Some(p.letter));
        vec![
            p.letter.to_string(),
            format!("{}: {}", p.name, p.title),
            with_unit(&p.size_mm.map(|v| short(v, 1)).join(" × "), "mm"),
            with_unit(&short(p.mass_g, 1), "g"),
            p.body.clone(),
            with_unit(&p.station_mm.map(|s| short(s, 0)).join(" to "), "mm"),
            words::reached(p.reached),
            if off.is_empty() { "none".to_owned() } else { off.join(", ") },
            listed(wired.map(|w| format!("W{}", w.number))),
        ]
    });
    let columns = ["Part", "What it is", "Size", "Mass", "In", "Stations", "Comes out", "Pieces off first", "Wires"];
    let caption = "Parts by letter, as in the drawing of what is inside.";
    Table::new("Parts", Some("parts/parts.csv"), caption, &columns, rows)
}

fn hardware(outcome: &Outcome) -> Table {
    let rows = lists::hardware(outcome).into_iter().map(|h| {
        let cut = h.cut_mm.map_or_else(|| "\u{2013}".to_owned(), |mm| with_unit(&short(mm, 1), "mm"));
        vec![h.place, h.count.to_string(), h.title, cut]
    });
    let columns = ["Where", "Count", "What it is", "Cut to"];
    Table::new("Hardware", Some("parts/hardware.csv"), "Hardware of joints and lids.", &columns, rows)
}

fn wires(outcome: &Outcome) -> Table {
    let rows = outcome.wires.iter().map(|w| {
        let led = !w.points.is_empty();
        let tightest = w.bends.iter().map(|b| b.radius_mm).min_by(f64::total_cmp);
        vec![
            format!("W{}", w.number),
            format!("{} to {}", w.from, words::wire_end(w.to)),
            w.wires.to_string(),
            with_unit(&short(w.bundle_mm, 1), "mm"),
            if led { words::band(w.cut_mm, "mm") } else { "no way found".to_owned() },
            match tightest {
                Some(mm) => format!("{}, tightest {}", w.bends.len(), with_unit(&short(mm, 1), "mm")),
                None => "none".to_owned(),
            },
            listed(w.joints.iter().map(|j| format!("J{j}"))),
            if led { with_unit(&short(w.cut_mm.value - way_mm(w), 0), "mm") } else { "\u{2013}".to_owned() },
        ]
    });
    let columns =
        ["Wires", "From, to", "Count", "Bundle", "Cut to", "Bends", "Joints crossed", "Of that slack and ends"];
    Table::new("Wires", Some("parts/wires.csv"), "Wires by number; lengths with their band.", &columns, rows)
}

fn listed(names: impl Iterator<Item = String>) -> String {
    let names: Vec<String> = names.collect();
    if names.is_empty() { "none".to_owned() } else { names.join(", ") }
}
