//! The tables of parts, of the hardware of lids and joints, and of wires.

use crate::html::escape;
use crate::lists::{self, way_mm};
use crate::words::{self, short, with_unit};
use prop::outcome::Outcome;

/// The section with all three; those without a line are left out.
pub(crate) fn section(out: &mut String, outcome: &Outcome) {
    out.push_str("<section id=\"parts\">\n<h2>Parts and wires</h2>\n");
    if outcome.parts.is_empty() {
        out.push_str("<p>The project names no part: nothing goes in but strip, spine and wires.</p>\n");
    }
    parts(out, outcome);
    hardware(out, outcome);
    wires(out, outcome);
    out.push_str("</section>\n");
}

fn parts(out: &mut String, outcome: &Outcome) {
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
    table(out, "Parts", "parts/parts.csv", "Parts by letter, as in the drawing of what is inside.", &columns, rows);
}

fn hardware(out: &mut String, outcome: &Outcome) {
    let rows = lists::hardware(outcome).into_iter().map(|h| {
        let cut = h.cut_mm.map_or_else(|| "\u{2013}".to_owned(), |mm| with_unit(&short(mm, 1), "mm"));
        vec![h.place, h.count.to_string(), h.title, cut]
    });
    let columns = ["Where", "Count", "What it is", "Cut to"];
    table(out, "Hardware", "parts/hardware.csv", "Hardware of joints and lids.", &columns, rows);
}

fn wires(out: &mut String, outcome: &Outcome) {
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
    table(out, "Wires", "parts/wires.csv", "Wires by number; lengths with their band.", &columns, rows);
}

fn listed(names: impl Iterator<Item = String>) -> String {
    let names: Vec<String> = names.collect();
    if names.is_empty() { "none".to_owned() } else { names.join(", ") }
}

/// A table whose first column names the row; nothing at all without a row.
pub(crate) fn table(
    out: &mut String,
    name: &str,
    file: &str,
    caption: &str,
    columns: &[&str],
    rows: impl Iterator<Item = Vec<String>>,
) {
    let rows: Vec<Vec<String>> = rows.collect();
    if rows.is_empty() {
        return;
    }
    out.push_str(&format!(
        "<p class=\"quiet\"><a href=\"{file}\">{name} as a list for a spreadsheet</a></p>\n<div class=\"wide\" \
         role=\"region\" tabindex=\"0\" aria-label=\"{name}, scrolls sideways\">\n<table>\n<caption>{caption}</caption>\n\
         <thead><tr>"
    ));
    out.extend(columns.iter().map(|c| format!("<th scope=\"col\">{c}</th>")));
    out.push_str("</tr></thead>\n<tbody>\n");
    for row in rows {
        let mut cells = row.iter().map(|c| escape(c));
        let first = cells.next().unwrap_or_default();
        out.push_str(&format!("<tr><th scope=\"row\">{first}</th>"));
        out.extend(cells.map(|c| format!("<td>{c}</td>")));
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody>\n</table>\n</div>\n");
}
