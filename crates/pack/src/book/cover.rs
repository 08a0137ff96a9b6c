//! What stands in front: the prop, lit and unlit, and its numbers.

use super::model::{Cover, Picture};
use crate::words::{self, short, with_unit};
use prop::finding::{Band, Verdict};
use prop::outcome::Outcome;

pub(super) fn cover(outcome: &Outcome) -> Cover {
    let mut pictures = Vec::new();
    if outcome.light.is_some() {
        pictures.push(picture(outcome, crate::light::LIT, "lit, from the front, in a dark room"));
    }
    pictures.push(picture(outcome, crate::light::UNLIT, "unlit, from the front, in a bright room"));
    let count = |v: Verdict| outcome.findings.iter().filter(|f| f.verdict == v).count();
    Cover {
        title: outcome.prop.clone(),
        pictures,
        facts: facts(outcome),
        tally: [Verdict::Fails, Verdict::Unsure, Verdict::Note, Verdict::Holds].map(|v| (v, count(v))).to_vec(),
        imprint: outcome.imprint.lines().join(". "),
        authors: outcome.imprint.author.iter().cloned().collect(),
        input_hash: outcome.input_hash.clone(),
    }
}

fn picture(outcome: &Outcome, file: &str, caption: &str) -> Picture {
    Picture { file: file.to_owned(), alt: format!("{} {caption}", outcome.prop), caption: caption.to_owned() }
}

fn facts(outcome: &Outcome) -> Vec<(&'static str, String)> {
    let mut facts = vec![("Length", words::length(outcome.length_mm, outcome.inches))];
    let size = |of: &dyn Fn(&solid::Bounds) -> f64| {
        let bounds = outcome.bodies.iter().filter_map(|b| b.mesh.bounds());
        bounds.map(|b| of(&b)).fold(0.0, f64::max)
    };
    let across = [size(&|b| b.size().y), size(&|b| b.size().z)].map(|v| short(v, 0));
    facts.push(("Width, thickness", with_unit(&across.join(" × "), "mm")));
    if let Some(wearer) = outcome.wearer_mm {
        facts.push(("Wearer", words::length(wearer, outcome.inches)));
    }
    if !outcome.imprint.changed.is_empty() {
        facts.push(("Made for", outcome.imprint.changed.join(", ")));
    }
    if !outcome.shopping.weights.is_empty() {
        facts.push(("Mass, finished", words::band(outcome.shopping.mass_g(), "g")));
    }
    if let Some(strength) = &outcome.strength {
        facts.push(("Balances at station", words::length(strength.carried.balance_mm, outcome.inches)));
    }
    let zero = Band::exact(0.0);
    let mass = outcome.pieces.iter().fold(zero, |sum, p| sum.plus(p.mass_g));
    let time = outcome.plates.iter().fold(zero, |sum, p| sum.plus(p.time_s));
    facts.push(("Pieces", format!("{}, at {} joints", outcome.pieces.len(), outcome.joints.len())));
    facts.push(("Plates", outcome.plates.len().to_string()));
    facts.push(("Printed mass", words::band(mass, "g")));
    facts.push(("Printing, printers side by side", words::band(outcome.print_elapsed_s, "s")));
    facts.push(("Printing, all hours added", words::band(time, "s")));
    facts.extend(events(outcome).into_iter().map(|said| ("Event check", said)));
    facts
}

/// What each event and way of travel comes to: "fair: 1 fails, 7 hold".
fn events(outcome: &Outcome) -> Vec<String> {
    let mut subjects: Vec<&str> = Vec::new();
    for f in &outcome.findings {
        if (f.subject.starts_with("event ") || f.subject.starts_with("travel "))
            && !subjects.contains(&f.subject.as_str())
        {
            subjects.push(&f.subject);
        }
    }
    subjects.sort_unstable();
    let told = |subject: &str| {
        let of = |v: Verdict| outcome.findings.iter().filter(|f| f.subject == subject && f.verdict == v).count();
        let counts = [Verdict::Fails, Verdict::Unsure, Verdict::Note, Verdict::Holds].map(|v| (v, of(v)));
        let said = counts.into_iter().filter(|(_, n)| *n > 0).map(|(v, n)| format!("{n} {}", words::verdicts(v, n)));
        format!("{subject}: {}", said.collect::<Vec<_>>().join(", "))
    };
    subjects.into_iter().map(told).collect()
}
