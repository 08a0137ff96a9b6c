//! Findings as the page takes them, with the things of the scene that each speaks of, and why.

use prop::finding::{Finding, Verdict};
use serde::Serialize;
use serde_json::{Value, json};
use toml_edit::{DocumentMut, Table};

/// The guide, whose tables explain each kind of finding.
const GUIDE: &str = include_str!("../../../../docs/guide.md");

#[derive(Serialize)]
struct Shown<'a> {
    #[serde(flatten)]
    finding: &'a Finding,
    targets: Vec<String>,
}

/// All findings with their counts.
pub(crate) fn shown(build: u64, findings: &[Finding]) -> Value {
    let count = |v: Verdict| findings.iter().filter(|f| f.verdict == v).count();
    let all: Vec<Shown> =
        findings.iter().map(|finding| Shown { finding, targets: targets(&finding.subject) }).collect();
    json!({
        "build": build,
        "counts": {
            "fails": count(Verdict::Fails), "unsure": count(Verdict::Unsure),
            "note": count(Verdict::Note), "holds": count(Verdict::Holds),
        },
        "findings": all,
    })
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

/// What is behind a kind of finding: the guide's words on it, how it is worked out, from what, and where more stands.
pub(crate) fn why(id: &str, findings: &[Finding]) -> Option<Value> {
    let marked = format!("`{id}`");
    let says = |line: &&str| line.starts_with('|') && line.split('|').nth(1).is_some_and(|cell| cell.contains(&marked));
    let row = GUIDE.lines().find(says)?;
    let of_kind = findings.iter().find(|f| f.id == id);
    let limit = of_kind.and_then(|f| f.limit.as_ref()).map(|l| l.source.clone());
    let reasons = REASONS.parse::<DocumentMut>().ok()?;
    let all = reasons.get("why")?.as_array_of_tables()?.iter();
    let own = all.into_iter().find(|r| texts(r, "of").any(|of| of == id));
    let text = |name: &str| own.and_then(|r| r.get(name)?.as_str());
    Some(json!({
        "id": id,
        "what": row.split('|').nth(2).map(str::trim),
        "how": text("how"),
        "inputs": text("from"),
        "more": text("more"),
        "source": limit,
    }))
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
        for part in ["what", "how", "inputs", "more"] {
            assert!(found[part].as_str().is_some_and(|w| w.len() > 10), "{part}: {found}");
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
