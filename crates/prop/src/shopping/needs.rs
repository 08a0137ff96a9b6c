//! What is taken of each row: of what is built, never of a fixed list.

use crate::catalogue::{Amount, CoatKind, Supply, Tool, Unit};
use crate::outcome::Outcome;
use crate::project::Project;
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// So much of a row.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Need {
    pub(super) kind: &'static str,
    pub(super) row: String,
    pub(super) title: String,
    /// What goes into the prop.
    pub(super) amount: Amount,
    /// What is wasted, as a share of it, and why.
    pub(super) wasted: (f64, &'static str),
    /// Whether some is kept spare.
    pub(super) spare: bool,
    /// What one package holds, where the row says so.
    pub(super) package: Option<f64>,
    /// Of what is cut from stock: the lengths, mm.
    pub(super) lengths_mm: Vec<f64>,
}

impl Need {
    fn new(kind: &'static str, row: &str, title: &str, count: f64, unit: Unit) -> Need {
        let amount = Amount { count, unit };
        let (row, title) = (row.to_owned(), title.to_owned());
        Need { kind, row, title, amount, wasted: (0.0, ""), spare: true, package: None, lengths_mm: Vec::new() }
    }

    fn wasting(self, share: f64, why: &'static str) -> Need {
        Need { wasted: (share, why), ..self }
    }

    fn exact(self) -> Need {
        Need { spare: false, ..self }
    }

    fn cut(self, lengths_mm: Vec<f64>) -> Need {
        Need { lengths_mm, spare: false, ..self }
    }

    fn sold(self, package: f64) -> Need {
        Need { package: Some(package), ..self }
    }
}

/// Thickness of a line of glue, mm: 0.1 to 0.3 (a study of lap joints, 0.1 to 0.3 mm), and what stays in the cup, as a share (common
/// practice, no source).
pub(super) const GLUE_LINE_MM: f64 = 0.2;
const GLUE_LEFT: f64 = 0.5;
/// Coarsest paper goes over seams, so wide, mm (our choice).
const SEAM_SANDED_MM: f64 = 20.0;
/// Below so many minutes of sanding for a square decimetre only two grits are used (our choice: looked at from two metres).
const SHOWN_MIN_DM2: f64 = 10.0;
/// Foil and tape are trimmed.
const TRIMMED: f64 = 0.15;
/// Tape laps over itself and runs out past the ends.
const LAPPED: f64 = 0.2;

/// All of it, kind by kind.
pub(super) fn needs(project: &Project, outcome: &Outcome, failing: f64) -> Vec<Need> {
    let mut all = materials(project, outcome, failing);
    all.extend(lights(project, outcome));
    all.extend(bars(project, outcome));
    all.extend(wires(outcome));
    all.extend(parts(project, outcome));
    all.extend(glue(project, outcome));
    all.extend(fillers(project, outcome));
    all.extend(paints(project, outcome));
    all.extend(papers(project, outcome));
    all.extend(
        outcome
            .finish
            .wraps
            .iter()
            .map(|w| Need::new("wrap", &w.row, &w.title, f64::from(w.bands) * w.cut_mm * 1e-3, Unit::Metre)),
    );
    all
}

/// Filament and resin; a plate that fails is lost whole.
fn materials(project: &Project, outcome: &Outcome, failing: f64) -> Vec<Need> {
    let again = super::prints(failing) - 1.0;
    let rows = project.bodies.iter().map(|b| &b.material).chain([&project.unlisted.material]);
    let rows: Vec<_> = rows.collect();
    let of = |stock: &crate::outcome::Stock| {
        let resin = rows.iter().any(|m| m.name == stock.material && matches!(m.supply, Supply::Bottle { .. }));
        let need = if resin {
            Need::new("resin", &stock.material, &stock.title, stock.amount.value, Unit::Ml)
        } else {
            Need::new("filament", &stock.material, &stock.title, stock.mass_g.value, Unit::Gram)
        };
        need.wasting(again, "prints that fail").sold(stock.package)
    };
    outcome.stocks.iter().map(of).collect()
}

/// Strips, cut between pixels.
fn lights(project: &Project, outcome: &Outcome) -> Vec<Need> {
    let Some(light) = project.light.as_ref().filter(|_| !outcome.pixels.is_empty()) else { return Vec::new() };
    let metres = outcome.pixels.len() as f64 * light.strip.pitch_mm * 1e-3;
    vec![Need::new("strip", &light.strip.name, &light.strip.title, metres, Unit::Metre)]
}

/// Lengths of spine and pegs, from stock.
fn bars(project: &Project, outcome: &Outcome) -> Vec<Need> {
    let mut all = Vec::new();
    if let Some(spine) = project.spine.as_ref().filter(|_| !outcome.spines.is_empty()) {
        let lengths: Vec<f64> = outcome.spines.iter().map(|b| b.start.distance(b.end)).collect();
        let metres = lengths.iter().sum::<f64>() * 1e-3;
        all.push(Need::new("spine", &spine.bar.name, &spine.bar.title, metres, Unit::Metre).cut(lengths));
    }
    let mut rods: BTreeMap<&str, (&str, Vec<f64>)> = BTreeMap::new();
    for pegs in outcome.joints.iter().filter_map(|j| j.pegs.as_ref()) {
        let lengths = (0..pegs.count).map(|_| pegs.length_mm);
        rods.entry(&pegs.stock).or_insert((&pegs.title, Vec::new())).1.extend(lengths);
    }
    for (row, (title, lengths)) in rods {
        let metres = lengths.iter().sum::<f64>() * 1e-3;
        all.push(Need::new("pegs", row, title, metres, Unit::Metre).cut(lengths));
    }
    all
}

/// Wires by gauge and colour; by nothing where the circuit was not worked out.
fn wires(outcome: &Outcome) -> Vec<Need> {
    let mut by: BTreeMap<(i32, &str), f64> = BTreeMap::new();
    if let Some(power) = &outcome.power {
        for wire in &power.loom {
            *by.entry((wire.awg, wire.colour.0)).or_default() += wire.cut_mm.value * 1e-3;
        }
        let of = |((awg, colour), metres): ((i32, &str), f64)| {
            Need::new(
                "wire",
                &format!("wire-{awg}-{colour}"),
                &format!("Wire, AWG {awg}, {colour}"),
                metres,
                Unit::Metre,
            )
        };
        return by.into_iter().map(of).collect();
    }
    let metres: f64 = outcome.wires.iter().map(|w| f64::from(w.wires) * w.cut_mm.value * 1e-3).sum();
    if metres > 0.0 { vec![Need::new("wire", "wire", "Wire", metres, Unit::Metre)] } else { Vec::new() }
}

/// Parts, magnets, inserts, screws, connectors.
fn parts(project: &Project, outcome: &Outcome) -> Vec<Need> {
    let mut count: BTreeMap<(&str, &str), u32> = BTreeMap::new();
    for part in &outcome.parts {
        if let Some(rules) = project.parts.iter().find(|p| p.name == part.name) {
            *count.entry((&rules.row.name, &part.title)).or_default() += 1;
        }
    }
    let of = |((row, title), n): ((&str, &str), u32)| Need::new("part", row, title, f64::from(n), Unit::Piece).exact();
    let mut all: Vec<Need> = count.into_iter().map(of).collect();
    let mut small: BTreeMap<(&'static str, &str, &str), u32> = BTreeMap::new();
    let of_joints = outcome.joints.iter().filter_map(|j| j.take_down.as_ref()).flat_map(|t| &t.bought);
    for b in of_joints.chain(outcome.lids.iter().flat_map(|l| &l.bought)) {
        *small.entry((b.what, &b.row, &b.title)).or_default() += b.count;
    }
    all.extend(small.into_iter().map(|((what, row, title), n)| Need::new(what, row, title, f64::from(n), Unit::Piece)));
    all
}

/// Glue between pieces, and along a spine that is glued in.
fn glue(project: &Project, outcome: &Outcome) -> Vec<Need> {
    let glue = &project.strength.glue;
    let ml = glue_ml(project, outcome);
    if ml <= 0.0 {
        return Vec::new();
    }
    vec![Need::new("glue", &glue.name, &glue.title, ml, Unit::Ml).wasting(GLUE_LEFT, "left in the cup")]
}

/// What stays in the joints, ml.
pub(super) fn glue_ml(project: &Project, outcome: &Outcome) -> f64 {
    let joints: f64 = outcome.joints.iter().filter(|j| !j.kind.comes_apart()).map(|j| j.glue_mm2).sum();
    let spine: f64 = match &project.spine {
        Some(s) if s.glued => {
            let round = if s.bar.round { PI * s.bar.size_mm[0] } else { 2.0 * (s.bar.size_mm[0] + s.bar.size_mm[1]) };
            outcome.spines.iter().map(|b| b.start.distance(b.end) * round).sum()
        }
        _ => 0.0,
    };
    (joints + spine) * GLUE_LINE_MM * 1e-3
}

/// Fillers; of a paste the solvent, for its plastic is scraps.
fn fillers(project: &Project, outcome: &Outcome) -> Vec<Need> {
    let rules = &project.finish;
    let mut by: BTreeMap<&str, f64> = BTreeMap::new();
    for (name, ml) in outcome
        .finish
        .seams
        .iter()
        .map(|s| (&s.filler, s.wet_ml))
        .chain(outcome.finish.skims.iter().map(|s| (&s.filler, s.wet_ml)))
    {
        *by.entry(name).or_default() += ml;
    }
    let mut all = Vec::new();
    for (name, ml) in by {
        let row = [Some(&rules.filler), rules.paste.as_ref()].into_iter().flatten().find(|f| f.name == name);
        let Some(row) = row else { continue };
        if row.own_plastic {
            let solvent = outcome.finish.seams.iter().find(|s| s.filler == name).and_then(|s| s.solvent.as_deref());
            let solvent = solvent.unwrap_or("solvent");
            all.push(
                Need::new("solvent", solvent, &format!("{solvent}, for the paste"), ml * (1.0 - row.solids), Unit::Ml)
                    .wasting(1.0, "dries off"),
            );
        } else {
            all.push(Need::new("filler", name, &row.title, ml, Unit::Ml).sold(row.sold_ml));
        }
    }
    all
}

/// Coats, each with what lands beside already in it; foils by their area.
fn paints(project: &Project, outcome: &Outcome) -> Vec<Need> {
    let mut wet: BTreeMap<&str, (&str, f64, f64)> = BTreeMap::new();
    let mut stuck: BTreeMap<&str, (&str, f64)> = BTreeMap::new();
    let mut kinds: BTreeMap<&str, &'static str> = BTreeMap::new();
    for zone in &outcome.finish.zones {
        for (coat, layer) in zone.coats.iter().zip(&zone.layers) {
            kinds.insert(&coat.name, kind_word(coat.kind));
            match layer.wet_ml {
                Some(ml) => {
                    let entry = wet.entry(&coat.name).or_insert((&coat.title, 0.0, coat.laying.sold_ml));
                    entry.1 += ml.value;
                }
                None if layer.by == Tool::Stuck => {
                    stuck.entry(&coat.name).or_insert((&coat.title, 0.0)).1 += zone.area_mm2() / 100.0;
                }
                None => {}
            }
        }
    }
    let kind = |name: &str| kinds.get(name).copied().unwrap_or("paint");
    let cans =
        wet.into_iter().map(|(name, (title, ml, sold))| Need::new(kind(name), name, title, ml, Unit::Ml).sold(sold));
    let mut all: Vec<Need> = cans.collect();
    all.extend(stuck.into_iter().map(|(name, (title, cm2))| {
        Need::new(kind(name), name, title, cm2, Unit::Cm2).wasting(TRIMMED, "trimmed off")
    }));
    let masked = |w: &&crate::window::WindowView| w.area_mm2 > 0.0 && !project.rules_for(&w.body).coats.is_empty();
    let tape: f64 = outcome.windows.iter().filter(masked).map(masked_mm).sum();
    if tape > 0.0 {
        let need = Need::new("mask", "masking-tape", "Masking tape, low tack", tape * 1e-3, Unit::Metre);
        all.push(need.wasting(LAPPED, "laps and ends"));
    }
    all
}

/// Length of tape round a window, mm: both its borders along each line that it follows, or along two sides of the prop.
fn masked_mm(window: &crate::window::WindowView) -> f64 {
    let long = window.station_mm[1] - window.station_mm[0];
    2.0 * long * window.lines.len().max(2) as f64
}

fn kind_word(kind: CoatKind) -> &'static str {
    match kind {
        CoatKind::Primer => "primer",
        CoatKind::Paint => "paint",
        CoatKind::Shade => "shade",
        CoatKind::Clear => "clear",
        CoatKind::Lining => "lining",
    }
}

/// Sandpaper by grit: coarse over seams, the others over all that is painted.
fn papers(project: &Project, outcome: &Outcome) -> Vec<Need> {
    let painted: Vec<u32> =
        outcome.pieces.iter().filter(|p| !project.rules_for(&p.body).coats.is_empty()).map(|p| p.number).collect();
    let outsides = outcome.finish.outsides.iter().filter(|o| painted.contains(&o.piece));
    let all_cm2 = outsides.map(crate::finish::Outside::all_mm2).sum::<f64>() / 100.0;
    let seams_cm2 = outcome.finish.seams.iter().map(|s| s.round_mm * SEAM_SANDED_MM).sum::<f64>() / 100.0;
    let shown = project.plan.as_ref().is_none_or(|p| p.sanding_min_dm2 > SHOWN_MIN_DM2);
    let coarsest = project.cost.papers.iter().map(|p| p.grit).min().unwrap_or(0);
    let mut needs = Vec::new();
    for paper in &project.cost.papers {
        let cm2 = match paper.grit {
            grit if grit == coarsest => seams_cm2,
            grit if shown || grit <= 220 => all_cm2,
            _ => 0.0,
        };
        if cm2 > 0.0 {
            needs.push(Need::new("paper", &paper.name, &paper.title, cm2 / paper.lasts_cm2, Unit::Piece));
        }
    }
    needs
}
