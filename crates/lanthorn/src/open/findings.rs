//! Findings as the page takes them, with the things of the scene that each speaks of.

use super::mirror::{Limit, Measured, Verdict};
use prop::finding::{Finding, Verdict as Came};
use serde::Serialize;

/// All findings, as they are told.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Findings {
    build: u64,
    counts: Counts,
    findings: Vec<Shown>,
}

/// How many came to what.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Counts {
    fails: usize,
    unsure: usize,
    note: usize,
    holds: usize,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Finding"))]
struct Shown {
    id: &'static str,
    verdict: Verdict,
    subject: String,
    station_mm: Option<[f64; 2]>,
    measured: Measured,
    limit: Option<Limit>,
    message: String,
    remedy: String,
    /// Which of its kind it is, from 0.
    nth: usize,
    /// Ids of things in the scene that it speaks of.
    targets: Vec<String>,
}

impl Shown {
    fn of(finding: &Finding, nth: usize) -> Shown {
        Shown {
            id: finding.id,
            verdict: finding.verdict.into(),
            subject: finding.subject.clone(),
            station_mm: finding.station_mm,
            measured: (&finding.measured).into(),
            limit: finding.limit.as_ref().map(Limit::from),
            message: finding.message.clone(),
            remedy: finding.remedy.clone(),
            nth,
            targets: targets(&finding.subject),
        }
    }
}

/// All findings with their counts.
pub(crate) fn shown(build: u64, findings: &[Finding]) -> Findings {
    let count = |v: Came| findings.iter().filter(|f| f.verdict == v).count();
    let counts = Counts {
        fails: count(Came::Fails),
        unsure: count(Came::Unsure),
        note: count(Came::Note),
        holds: count(Came::Holds),
    };
    let nth = |k: usize| findings[..k].iter().filter(|f| f.id == findings[k].id).count();
    let all = findings.iter().enumerate();
    Findings { build, counts, findings: all.map(|(k, f)| Shown::of(f, nth(k))).collect() }
}

/// What of the scene a subject speaks of: "piece 03", "joint J2", "pieces 03 and 04", "part A cell", "strip 1".
fn targets(subject: &str) -> Vec<String> {
    let words: Vec<&str> = subject.split([' ', ',', ':']).filter(|w| !w.is_empty()).collect();
    let mut found: Vec<String> = Vec::new();
    let mut kind = "";
    for (k, word) in words.iter().enumerate() {
        let number = word.chars().all(|c| c.is_ascii_digit());
        let joint = word.strip_prefix('J').is_some_and(|n| !n.is_empty() && n.chars().all(|c| c.is_ascii_digit()));
        let letter = word.len() == 1 && word.chars().all(|c| c.is_ascii_uppercase());
        match *word {
            "piece" | "pieces" => kind = "piece",
            "strip" => kind = "strip",
            "spine" => kind = "spine",
            "part" => kind = "part",
            _ if joint => found.push((*word).to_owned()),
            _ if number && kind == "piece" => found.push(format!("piece-{:0>2}", word)),
            _ if number && (kind == "strip" || kind == "spine") && words[k - 1] == kind => {
                found.push(format!("{kind}-{word}"))
            }
            _ if letter && kind == "part" => found.push(format!("part-{word}")),
            _ => {}
        }
    }
    found.dedup();
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn subjects_lead_to_things() {
        for (subject, wanted) in [
            ("piece 03", &["piece-03"][..]),
            ("pieces 03 and 04", &["piece-03", "piece-04"]),
            ("joint J2", &["J2"]),
            ("part A cell", &["part-A"]),
            ("strip 1", &["strip-1"]),
            ("blade", &[]),
            ("prop", &[]),
            ("", &[]),
        ] {
            assert_eq!(targets(subject), wanted, "{subject}");
        }
    }
}
