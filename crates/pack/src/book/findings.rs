//! The findings, worst first.

use super::model::{Block, Chapter, Entry, Text};
use crate::words;
use prop::finding::{Band, Finding, Limit, Verdict};
use prop::outcome::Outcome;

pub(super) fn chapter(outcome: &Outcome) -> Chapter<'static> {
    let of = |holds: bool| {
        let those = outcome.findings.iter().filter(|f| (f.verdict == Verdict::Holds) == holds);
        those.map(|f| entry(outcome, f)).collect()
    };
    let blocks = vec![Block::Findings([of(false), of(true)])];
    Chapter { id: "findings", short: "Findings", title: "Findings".into(), blocks }
}

fn entry(outcome: &Outcome, f: &Finding) -> Entry {
    let m = &f.measured;
    let measured = words::band(Band { value: m.value, low: m.low, high: m.high }, m.unit);
    let limit = f.limit.as_ref().map(limit_words).unwrap_or_default();
    let mut subject = subject(outcome, &f.subject);
    if let Some(station) = f.station_mm {
        subject = subject.plain(format!(", {}", words::stations(station)));
    }
    Entry {
        verdict: f.verdict,
        subject,
        message: f.message.clone(),
        remedy: f.remedy.clone(),
        measured: format!("Measured {measured}{limit}."),
        id: f.id.to_owned(),
    }
}

/// "; limit at least 2 mm (prop.toml: inside.wall)".
fn limit_words(limit: &Limit) -> String {
    let show = |v: f64| words::band(Band::exact(v), limit.unit);
    let range = match (limit.min, limit.max) {
        (Some(min), Some(max)) if min == max => format!("exactly {}", show(min)),
        (Some(min), Some(max)) => format!("from {} to {}", show(min), show(max)),
        (Some(min), None) => format!("at least {}", show(min)),
        (None, Some(max)) => format!("at most {}", show(max)),
        (None, None) => return String::new(),
    };
    let source = if limit.source.is_empty() { String::new() } else { format!(" ({})", limit.source) };
    format!("; limit {range}{source}")
}

/// The subject, leading to its place in the book where it has one.
fn subject(outcome: &Outcome, subject: &str) -> Text {
    let target = match subject.split_once(' ') {
        Some(("piece", n)) if outcome.pieces.iter().any(|p| words::piece(p.number) == n) => format!("piece-{n}"),
        Some(("joint", n)) if outcome.joints.iter().any(|j| format!("J{}", j.number) == n) => format!("joint-{n}"),
        _ => return subject.into(),
    };
    Text::new().place(subject, target)
}
