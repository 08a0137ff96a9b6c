//! Findings as the page takes them, with the things of the scene that each speaks of, and why.

use super::mirror::{Limit, Measured, Verdict};
use prop::finding::{Finding, Verdict as Came};
use serde::Serialize;
use toml_edit::{DocumentMut, Table};

/// The guide, whose tables explain each kind of finding.
const GUIDE: &str = include_str!("../../../../docs/guide.md");

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
    /// Ids of things in the scene that it speaks of.
    targets: Vec<String>,
}

impl Shown {
    fn of(finding: &Finding) -> Shown {
        Shown {
            id: finding.id,
            verdict: finding.verdict.into(),
            subject: finding.subject.clone(),
            station_mm: finding.station_mm,
            measured: (&finding.measured).into(),
            limit: finding.limit.as_ref().map(Limit::from),
            message: finding.message.clone(),
            remedy: finding.remedy.clone(),
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
    Findings { build, counts, findings: findings.iter().map(Shown::of).collect() }
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

/// How kinds of findings are worked out.
const REASONS: &str = include_str!("why.toml");

/// What is behind a kind of finding.
#[derive(Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Why {
    id: String,
    /// The guide's words.
    what: String,
    /// How it is worked out.
    how: Option<String>,
    /// From what.
    inputs: Option<String>,
    /// Where more stands.
    more: Option<String>,
    /// Where its limit comes from.
    source: Option<String>,
}

/// What is behind a kind of finding: the guide's words on it, how it is worked out, from what, and where more stands.
pub(crate) fn why(id: &str, findings: &[Finding]) -> Option<Why> {
    let marked = format!("`{id}`");
    let says = |line: &&str| line.starts_with('|') && line.split('|').nth(1).is_some_and(|cell| cell.contains(&marked));
    let row = GUIDE.lines().find(says)?;
    let of_kind = findings.iter().find(|f| f.id == id);
    let limit = of_kind.and_then(|f| f.limit.as_ref()).map(|l| l.source.clone());
    let reasons = REASONS.parse::<DocumentMut>().ok()?;
    let all = reasons.get("why")?.as_array_of_tables()?.iter();
    let own = all.into_iter().find(|r| texts(r, "of").any(|of| of == id));
    let text = |name: &str| own.and_then(|r| r.get(name)?.as_str()).map(str::to_owned);
    Some(Why {
        id: id.to_owned(),
        what: row.split('|').nth(2)?.trim().to_owned(),
        how: text("how"),
        inputs: text("from"),
        more: text("more"),
        source: limit,
    })
}

fn texts<'t>(table: &'t Table, name: &str) -> impl Iterator<Item = &'t str> {
    table.get(name).and_then(|v| v.as_array()).into_iter().flatten().filter_map(|v| v.as_str())
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

    #[test]
    fn the_guide_says_why() {
        let found = why("tip_sags", &[]).unwrap();
        for part in [Some(&found.what), found.how.as_ref(), found.inputs.as_ref(), found.more.as_ref()] {
            assert!(part.is_some_and(|w| w.len() > 10), "{found:?}");
        }
        assert!(why("no_such", &[]).is_none());
    }

    #[test]
    fn every_reason_is_of_a_kind_that_the_guide_has_and_no_kind_has_two() {
        let reasons = REASONS.parse::<DocumentMut>().unwrap();
        let mut seen: Vec<String> = Vec::new();
        for reason in reasons["why"].as_array_of_tables().unwrap() {
            for id in texts(reason, "of") {
                assert!(why(id, &[]).is_some(), "{id} is not in the guide");
                assert!(!seen.iter().any(|s| s == id), "{id} twice");
                seen.push(id.to_owned());
            }
        }
        assert!(seen.len() > 60, "{}", seen.len());
    }
}
