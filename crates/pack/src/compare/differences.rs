//! The differences, by kind.

use super::read::{Found, PieceTold, Told, Value};
use super::{COMPARED, FoundPack, Row, Section};
use crate::words;
use prop::finding::Band;
use std::collections::{BTreeMap, BTreeSet};

/// What a finding measured is told again when it moved by more than this share.
const MOVED_SHARE: f64 = 0.05;
/// Said of what one of the two does not tell.
const UNTOLD: &str = "not told";

pub(super) fn sections(told: &[Told; 2]) -> Vec<Section> {
    let [before, after] = told;
    vec![
        Section { heading: "Numbers", none: "The numbers are the same.", rows: numbers(told) },
        Section {
            heading: "Findings",
            none: "No finding has come, gone or changed its verdict.",
            rows: verdicts(before, after),
        },
        Section {
            heading: "Measured otherwise",
            none: "No other finding measures more than 5 % more or less.",
            rows: moved(before, after),
        },
        Section { heading: "Pieces", none: "The pieces are the same.", rows: pieces(before, after) },
        Section {
            heading: "Costs",
            none: "It takes the same material, hours and bought parts.",
            rows: costs(before, after),
        },
    ]
}

/// Files of the two that only one has, of those that are compared and of drawings and pages.
pub(super) fn missing(packs: [&FoundPack; 2]) -> Vec<String> {
    let all: Vec<BTreeSet<&str>> = packs
        .iter()
        .map(|p| p.paths.iter().map(String::as_str).chain(p.files.keys().map(String::as_str)).collect())
        .collect();
    let mut said = Vec::new();
    for (k, other) in [(0, 1), (1, 0)] {
        let lacks = all[other].difference(&all[k]).filter(|path| !is_piece(path));
        said.extend(lacks.map(|path| format!("{} has no {path}", packs[k].name)));
    }
    // Lists that neither has are lists that neither needs.
    let neither =
        COMPARED.iter().filter(|path| path.ends_with(".json") && all.iter().all(|paths| !paths.contains(**path)));
    said.extend(neither.map(|path| format!("neither has {path}")));
    said
}

/// Meshes and pictures of single pieces and plates are told with the pieces.
fn is_piece(path: &str) -> bool {
    let file = path.rsplit('/').next().unwrap_or(path);
    let is_numbered = file.starts_with(|c: char| c.is_ascii_digit());
    (path.starts_with("pieces/") || path.starts_with("pictures/")) && is_numbered
        || path.starts_with("plates/") && path.ends_with(".3mf")
}

fn numbers([before, after]: &[Told; 2]) -> Vec<Row> {
    let of = |read: &dyn Fn(&Told) -> Option<Value>, unit: &str| {
        [read(before), read(after)].map(|v| v.map(|v| (v, unit.to_owned())))
    };
    let mut rows = Vec::new();
    let mut tell = |what: &str, pair: [Option<(Value, String)>; 2]| rows.extend(values(what, &pair));
    tell("length", of(&|t| t.findings.as_ref()?.length_mm.map(exact), "mm"));
    tell("wearer", of(&|t| t.findings.as_ref()?.wearer_mm.map(exact), "mm"));
    tell("pieces", of(&|t| Some(exact(t.pieces.as_ref()?.pieces.len() as f64)), "1"));
    tell("joints", of(&|t| Some(exact(t.pieces.as_ref()?.joints.len() as f64)), "1"));
    tell("plates", of(&|t| Some(exact(t.plates.as_ref()?.plates.len() as f64)), "1"));
    let mass = |t: &Told| sum(t.pieces.as_ref()?.pieces.iter().map(|p| p.mass_g.as_ref()));
    tell("printed mass", of(&mass, "g"));
    for verdict in ["fails", "unsure", "note", "holds"] {
        let count = |t: &Told| {
            Some(exact(t.findings.as_ref()?.findings.iter().filter(|f| f.verdict == verdict).count() as f64))
        };
        tell(&format!("findings: {verdict}"), of(&count, "1"));
    }
    rows
}

fn exact(value: f64) -> Value {
    Value { value, low: value, high: value, unit: String::new() }
}

/// The sum of bands, ends added; `None` where one is not told.
fn sum<'v>(values: impl Iterator<Item = Option<&'v Value>>) -> Option<Value> {
    values.collect::<Option<Vec<&Value>>>().map(|all| {
        let total = all.iter().fold(Band::exact(0.0), |sum, v| sum.plus(v.band()));
        Value { value: total.value, low: total.low, high: total.high, unit: String::new() }
    })
}

/// A row where two values read differently.
fn values(what: &str, pair: &[Option<(Value, String)>; 2]) -> Option<Row> {
    let [before, after] =
        pair.each_ref().map(|v| v.as_ref().map_or_else(|| UNTOLD.to_owned(), |(v, unit)| words::band(v.band(), unit)));
    if before == after {
        return None;
    }
    let change = match pair {
        [Some((from, unit)), Some((to, other))] if unit == other => difference(from.value, to.value, unit),
        _ => String::new(),
    };
    Some(Row { what: what.to_owned(), before, after, change })
}

/// "+12 g (+3 %)".
fn difference(from: f64, to: f64, unit: &str) -> String {
    let by = to - from;
    let sign = if by > 0.0 { "+" } else { "" };
    let plain = format!("{sign}{}", words::band(Band::exact(by), unit));
    let share = 100.0 * by / from.abs();
    if share.is_finite() && unit != "1" {
        format!("{plain} ({sign}{})", words::with_unit(&words::short(share, 1), "%"))
    } else {
        plain
    }
}

/// Findings of a pack by kind and subject, those of one kind and subject counted along the prop.
fn by_key(told: &Told) -> BTreeMap<(String, String, usize), &Found> {
    let mut all: Vec<&Found> = told.findings.iter().flat_map(|f| &f.findings).collect();
    let station = |f: &Found| f.station_mm.map_or(f64::NEG_INFINITY, |s| s[0]);
    all.sort_by(|a, b| (&a.id, &a.subject).cmp(&(&b.id, &b.subject)).then(station(a).total_cmp(&station(b))));
    let mut keyed = BTreeMap::new();
    let mut count = 0;
    for (k, found) in all.iter().enumerate() {
        count =
            if k > 0 && (&all[k - 1].id, &all[k - 1].subject) == (&found.id, &found.subject) { count + 1 } else { 0 };
        keyed.insert((found.id.clone(), found.subject.clone(), count), *found);
    }
    keyed
}

fn rank(verdict: &str) -> usize {
    ["fails", "unsure", "note", "holds"].iter().position(|v| *v == verdict).unwrap_or(4)
}

fn verdicts(before: &Told, after: &Told) -> Vec<Row> {
    if before.findings.is_none() || after.findings.is_none() {
        return Vec::new();
    }
    let (old, new) = (by_key(before), by_key(after));
    let keys: BTreeSet<&(String, String, usize)> = old.keys().chain(new.keys()).collect();
    let mut rows = Vec::new();
    for key in keys {
        let (was, is) = (old.get(key), new.get(key));
        let verdict = |f: Option<&&Found>| f.map_or(4, |f| rank(&f.verdict));
        if verdict(was) == verdict(is) {
            continue;
        }
        // What newly holds, or no longer does because it is no longer asked, is no news.
        if (was.is_none() && verdict(is) == 3) || (is.is_none() && verdict(was) == 3) {
            continue;
        }
        let shown = |f: Option<&&Found>| f.map_or_else(|| "no such finding".to_owned(), |f| shown(f));
        let change = match (was, is) {
            (None, _) => "new",
            (_, None) => "gone",
            _ if verdict(is) < verdict(was) => "worse",
            _ => "better",
        };
        let what = format!("{} ({})", key.1, key.0);
        let told = is.or(was).map(|f| f.message.clone()).unwrap_or_default();
        let row = Row { what, before: shown(was), after: shown(is), change: format!("{change}: {told}") };
        rows.push(((verdict(is), key.clone()), row));
    }
    rows.sort_by(|a, b| a.0.cmp(&b.0));
    rows.into_iter().map(|(_, row)| row).collect()
}

fn shown(found: &Found) -> String {
    let value = found.measured.as_ref().map(|m| words::band(m.band(), &m.unit));
    value.map_or_else(|| found.verdict.clone(), |value| format!("{}, {value}", found.verdict))
}

fn moved(before: &Told, after: &Told) -> Vec<Row> {
    let (old, new) = (by_key(before), by_key(after));
    let mut rows = Vec::new();
    for (key, was) in &old {
        let Some(is) = new.get(key).filter(|is| is.verdict == was.verdict) else { continue };
        let (Some(a), Some(b)) = (&was.measured, &is.measured) else { continue };
        if a.unit == b.unit && (b.value - a.value).abs() > MOVED_SHARE * a.value.abs() {
            let row = values(&format!("{} ({})", key.1, key.0), &[a, b].map(|v| Some((v.clone(), v.unit.clone()))));
            rows.extend(row.map(|row| ((rank(&is.verdict), key.clone()), row)));
        }
    }
    rows.sort_by(|a, b| a.0.cmp(&b.0));
    rows.into_iter().map(|(_, row)| row).collect()
}

/// Pieces by body, counted from the butt: numbers shift when a body before gets one more.
fn pieces(before: &Told, after: &Told) -> Vec<Row> {
    let (Some(old), Some(new)) = (&before.pieces, &after.pieces) else { return Vec::new() };
    let counted = |pieces: &'_ [PieceTold]| {
        let mut seen: BTreeMap<String, usize> = BTreeMap::new();
        let mut keys = Vec::new();
        for piece in pieces {
            let count = seen.entry(piece.body.clone()).or_default();
            *count += 1;
            keys.push((piece.body.clone(), *count));
        }
        keys
    };
    let (old_keys, new_keys) = (counted(&old.pieces), counted(&new.pieces));
    let mut rows = Vec::new();
    for (key, was) in old_keys.iter().zip(&old.pieces) {
        let is = new_keys.iter().position(|k| k == key).map(|k| &new.pieces[k]);
        let (from, to) = (described(was), is.map_or_else(|| "no such piece".to_owned(), described));
        if from != to {
            let change = match is {
                None => "gone".to_owned(),
                Some(is) => match (&was.mass_g, &is.mass_g) {
                    (Some(a), Some(b)) if words::band(a.band(), "g") != words::band(b.band(), "g") => {
                        difference(a.value, b.value, "g")
                    }
                    _ => String::new(),
                },
            };
            rows.push(Row { what: format!("{} {}", key.0, key.1), before: from, after: to, change });
        }
    }
    for (key, is) in new_keys.iter().zip(&new.pieces).filter(|(key, _)| !old_keys.contains(key)) {
        let before = "no such piece".to_owned();
        rows.push(Row { what: format!("{} {}", key.0, key.1), before, after: described(is), change: "new".to_owned() });
    }
    rows
}

fn described(piece: &PieceTold) -> String {
    let mut said = vec![piece.name.clone()];
    said.extend(piece.station_mm.map(words::stations));
    said.extend(piece.mass_g.as_ref().map(|m| words::band(Band::exact(m.value), "g")));
    said.extend(piece.print_time_s.as_ref().map(|t| words::band(Band::exact(t.value), "s")));
    said.extend([&piece.printer, &piece.material].into_iter().filter(|w| !w.is_empty()).cloned());
    said.join(", ")
}

/// What it takes to make: amounts, and money where the findings tell it.
fn costs(before: &Told, after: &Told) -> Vec<Row> {
    let mut rows = Vec::new();
    if let (Some(old), Some(new)) = (&before.plates, &after.plates) {
        let seconds = |v: Option<Value>| v.map(|v| (v, "s".to_owned()));
        let elapsed = [old, new].map(|p| seconds(p.elapsed_s.clone()));
        rows.extend(values("printing, printers side by side", &elapsed));
        let added = [old, new].map(|p| seconds(sum(p.plates.iter().map(|p| p.time_s.as_ref()))));
        rows.extend(values("printing, all hours added", &added));
        let names: BTreeSet<&str> = old.materials.iter().chain(&new.materials).map(|m| m.material.as_str()).collect();
        for name in names {
            let of = [old, new].map(|p| p.materials.iter().find(|m| m.material == name));
            let mass =
                of.map(|m| m.map_or_else(|| Some(exact(0.0)), |m| m.mass_g.clone()).map(|v| (v, "g".to_owned())));
            rows.extend(values(name, &mass));
            let packages = of.map(|m| m.map_or(Some(0), |m| m.packages).map(|n| (exact(f64::from(n)), "1".to_owned())));
            rows.extend(values(&format!("{name}, packages"), &packages));
        }
    }
    for (what, id) in
        [("money", "cost_total"), ("money allowed", "cost_within"), ("finished weight", "finished_weight")]
    {
        let said = |told: &Told| {
            let found = told.findings.as_ref()?.findings.iter().find(|f| f.id == id)?;
            Some(found.message.clone())
        };
        let [from, to] = [said(before), said(after)].map(|m| m.unwrap_or_else(|| UNTOLD.to_owned()));
        if from != to {
            rows.push(Row { what: what.to_owned(), before: from, after: to, change: String::new() });
        }
    }
    for (what, of) in [("part", [&before.parts, &after.parts]), ("bought", [&before.hardware, &after.hardware])] {
        rows.extend(listed(what, of));
    }
    for (what, of) in
        [("ways of wires", [&before.wires, &after.wires]), ("wires to cut", [&before.power, &after.power])]
    {
        let count = of.map(|rows| rows.as_ref().map(|r| (exact(r.len().saturating_sub(1) as f64), "1".to_owned())));
        let one_has = count.iter().any(Option::is_some);
        rows.extend(values(what, &count).filter(|_| one_has));
    }
    let jobs = [&before.plan, &after.plan];
    if jobs.iter().any(|p| p.is_some()) {
        let hands =
            jobs.map(|p| p.as_ref().and_then(|p| column(p, "hands_min")).map(|m| (exact(60.0 * m), "s".to_owned())));
        rows.extend(values("work by hand", &hands));
        let ends = jobs.map(|p| p.as_ref().and_then(|p| last(p, "to")).unwrap_or_else(|| UNTOLD.to_owned()));
        let [from, to] = ends;
        if from != to {
            rows.push(Row { what: "last job ends".to_owned(), before: from, after: to, change: String::new() });
        }
    }
    rows
}

fn place(table: &[Vec<String>], column: &str) -> Option<usize> {
    table.first()?.iter().position(|name| name == column)
}

/// The sum of a column of numbers.
fn column(table: &[Vec<String>], name: &str) -> Option<f64> {
    let at = place(table, name)?;
    table[1..].iter().map(|row| row.get(at)?.trim().parse::<f64>().ok().filter(|n| n.is_finite())).sum()
}

/// The greatest of a column of dates and times, which sort as texts.
fn last(table: &[Vec<String>], name: &str) -> Option<String> {
    let at = place(table, name)?;
    table[1..].iter().filter_map(|row| row.get(at)).max().cloned()
}

/// Rows of a list that only one of the two has, as often as it has them.
fn listed(what: &str, [old, new]: [&Option<Vec<Vec<String>>>; 2]) -> Vec<Row> {
    let counted = |table: &Option<Vec<Vec<String>>>| {
        let mut counts: BTreeMap<String, usize> = BTreeMap::new();
        for row in table.iter().flat_map(|t| t.iter().skip(1)) {
            let words: Vec<&str> = row.iter().map(String::as_str).filter(|w| !w.is_empty()).collect();
            *counts.entry(words.join(", ")).or_default() += 1;
        }
        counts
    };
    let (old, new) = (counted(old), counted(new));
    let lines: BTreeSet<&String> = old.keys().chain(new.keys()).collect();
    let count = |n: Option<&usize>| n.map_or_else(|| "none".to_owned(), ToString::to_string);
    lines
        .into_iter()
        .filter(|line| old.get(*line) != new.get(*line))
        .map(|line| {
            let (before, after) = (count(old.get(line)), count(new.get(line)));
            Row { what: format!("{what}: {line}"), before, after, change: String::new() }
        })
        .collect()
}
