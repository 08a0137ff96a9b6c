//! What to buy and to cut: parts with their sizes, hardware of lids and joints, wires with their lengths.

use crate::Artifact;
use crate::csv::line;
use crate::findings::written;
use crate::words;
use prop::outcome::{Bought, Outcome, Wire};
use serde::Serialize;

/// One kind of small thing at one place.
pub(crate) struct Hardware {
    /// "magnet", "screw", "insert", "connector", "peg".
    pub(crate) what: &'static str,
    /// In words, with its size.
    pub(crate) title: String,
    /// How many.
    pub(crate) count: usize,
    /// Length to cut, mm, of what is cut from stock.
    pub(crate) cut_mm: Option<f64>,
    /// "J2", "lid 09".
    pub(crate) place: String,
}

/// Magnets, screws, inserts, connectors and pegs: joints from the butt, then lids.
pub(crate) fn hardware(outcome: &Outcome) -> Vec<Hardware> {
    let mut all = Vec::new();
    for joint in &outcome.joints {
        let place = format!("J{}", joint.number);
        all.extend(joint.pegs.iter().map(|p| Hardware {
            what: "peg",
            title: p.title.clone(),
            count: p.count as usize,
            cut_mm: Some(p.length_mm),
            place: place.clone(),
        }));
        all.extend(joint.take_down.iter().flat_map(|t| &t.bought).map(|b| bought(b, &place)));
    }
    for lid in &outcome.lids {
        let place = format!("lid {}", words::piece(lid.piece));
        all.extend(lid.bought.iter().map(|b| bought(b, &place)));
    }
    all
}

fn bought(b: &Bought, place: &str) -> Hardware {
    let (title, place) = (b.title.clone(), place.to_owned());
    Hardware { what: b.what, title, count: b.count as usize, cut_mm: None, place }
}

/// Length of the way of wires, mm.
pub(crate) fn way_mm(wire: &Wire) -> f64 {
    wire.points.windows(2).map(|p| (p[1] - p[0]).length()).sum()
}

/// The three lists as files; those without a line are left out.
pub(crate) fn files(outcome: &Outcome) -> Vec<Artifact> {
    let lists = [
        ("parts/parts.csv", parts(outcome)),
        ("parts/hardware.csv", small_things(outcome)),
        ("parts/wires.csv", wires(outcome)),
    ];
    lists
        .into_iter()
        .filter(|(_, text)| text.lines().count() > 1)
        .map(|(path, text)| Artifact::new(path, text))
        .collect()
}

#[derive(Serialize)]
struct Led {
    name: String,
    from: char,
    to: Option<char>,
    bundle_mm: f64,
    homes_mm: [f64; 2],
    points: Vec<[f64; 3]>,
}

/// `pieces/wires.json`: the way of each bundle as points in the prop frame, for other programs; `None` without any.
pub(crate) fn ways(outcome: &Outcome) -> Option<Artifact> {
    let led = |w: &Wire| Led {
        name: format!("W{}", w.number),
        from: w.from,
        to: w.to,
        bundle_mm: w.bundle_mm,
        homes_mm: w.homes_mm,
        points: w.points.iter().map(|p| p.to_array()).collect(),
    };
    let all: Vec<Led> = outcome.wires.iter().map(led).collect();
    (!all.is_empty()).then(|| Artifact::new("pieces/wires.json", written(&serde_json::json!({ "wires": all }))))
}

fn parts(outcome: &Outcome) -> String {
    let mut out = line(&[
        "letter",
        "name",
        "kind",
        "what it is",
        "length mm",
        "width mm",
        "thickness mm",
        "may be larger by mm",
        "mass g",
        "body",
        "station from mm",
        "station to mm",
        "comes out",
        "pieces off first",
        "wires",
    ]);
    for p in &outcome.parts {
        let numbers = p.size_mm.iter().chain([&p.over_mm, &p.mass_g]).map(|v| plain(*v, 2));
        let wired = outcome.wires.iter().filter(|w| w.from == p.letter || w.to == Some(p.letter));
        let mut fields =
            vec![p.letter.to_string(), p.name.clone(), words::part_kind(p.kind).to_owned(), p.title.clone()];
        fields.extend(numbers);
        fields.push(p.body.clone());
        fields.extend(p.station_mm.map(|s| plain(s, 1)));
        fields.push(words::reached(p.reached));
        fields.push(p.pieces_off.iter().map(|n| words::piece(*n)).collect::<Vec<_>>().join(" "));
        fields.push(wired.map(|w| format!("W{}", w.number)).collect::<Vec<_>>().join(" "));
        out.push_str(&line(&fields));
    }
    out
}

fn small_things(outcome: &Outcome) -> String {
    let mut out = line(&["kind", "what it is", "count", "cut to mm", "where"]);
    for h in hardware(outcome) {
        let cut = h.cut_mm.map(|mm| plain(mm, 1)).unwrap_or_default();
        out.push_str(&line(&[h.what.to_owned(), h.title, h.count.to_string(), cut, h.place]));
    }
    out
}

fn wires(outcome: &Outcome) -> String {
    let mut out = line(&[
        "wires",
        "from",
        "to",
        "count",
        "bundle mm",
        "way mm",
        "cut to mm",
        "at least mm",
        "at most mm",
        "bends",
        "tightest bend mm",
        "joints",
        "slack and ends mm",
    ]);
    for w in &outcome.wires {
        let way = way_mm(w);
        let mut fields = vec![format!("W{}", w.number), w.from.to_string(), words::wire_end(w.to), w.wires.to_string()];
        fields.push(plain(w.bundle_mm, 1));
        if w.points.is_empty() {
            fields.push("no way found".to_owned());
            fields.extend(std::iter::repeat_n(String::new(), 7));
        } else {
            fields.extend([way, w.cut_mm.value, w.cut_mm.low, w.cut_mm.high].map(|v| plain(v, 0)));
            fields.push(w.bends.len().to_string());
            let tightest = w.bends.iter().map(|b| b.radius_mm).min_by(f64::total_cmp);
            fields.push(tightest.map(|mm| plain(mm, 1)).unwrap_or_default());
            fields.push(w.joints.iter().map(|j| format!("J{j}")).collect::<Vec<_>>().join(" "));
            fields.push(plain(w.cut_mm.value - way, 0));
        }
        out.push_str(&line(&fields));
    }
    out
}

/// A number that other programs read: a point, a plain minus, no zeros at the end.
fn plain(value: f64, decimals: usize) -> String {
    words::short(value, decimals).replace('\u{2212}', "-")
}
