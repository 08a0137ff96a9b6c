//! The findings, worst first; what holds is folded away.

use crate::html::escape;
use crate::words;
use prop::finding::{Band, Finding, Limit, Verdict};
use prop::outcome::Outcome;

/// Class of a verdict in the page's style.
pub(crate) fn class(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Fails => "fails",
        Verdict::Unsure => "unsure",
        Verdict::Note => "note",
        Verdict::Holds => "holds",
    }
}

/// The word behind a count.
pub(crate) fn plural(verdict: Verdict, count: usize) -> &'static str {
    match (verdict, count) {
        (Verdict::Fails, 1) => "fails",
        (Verdict::Fails, _) => "fail",
        (Verdict::Unsure, _) => "unsure",
        (Verdict::Note, 1) => "note",
        (Verdict::Note, _) => "notes",
        (Verdict::Holds, 1) => "holds",
        (Verdict::Holds, _) => "hold",
    }
}

fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Fails => "Fails",
        Verdict::Unsure => "Unsure",
        Verdict::Note => "Note",
        Verdict::Holds => "Holds",
    }
}

/// The section of the page.
pub(crate) fn section(out: &mut String, outcome: &Outcome) {
    out.push_str("<section id=\"findings\">\n<h2>Findings</h2>\n");
    let open: Vec<&Finding> = outcome.findings.iter().filter(|f| f.verdict != Verdict::Holds).collect();
    let holds: Vec<&Finding> = outcome.findings.iter().filter(|f| f.verdict == Verdict::Holds).collect();
    if open.is_empty() {
        out.push_str("<p class=\"verdict holds\">Everything that was checked holds.</p>\n");
    } else {
        out.push_str("<ol class=\"findings\">\n");
        for f in open {
            entry(out, outcome, f);
        }
        out.push_str("</ol>\n");
    }
    if !holds.is_empty() {
        let count = holds.len();
        let summary = if count == 1 { "1 check holds".to_owned() } else { format!("{count} checks hold") };
        out.push_str(&format!("<details>\n<summary>{summary}</summary>\n<ol class=\"findings\">\n"));
        for f in holds {
            entry(out, outcome, f);
        }
        out.push_str("</ol>\n</details>\n");
    }
    out.push_str("</section>\n");
}

fn entry(out: &mut String, outcome: &Outcome, f: &Finding) {
    let place = f.station_mm.map(|s| format!(", {}", words::stations(s))).unwrap_or_default();
    out.push_str(&format!(
        "<li class=\"{}\"><p class=\"verdict\"><b>{}</b> <span>{}{}</span></p>\n<p>{}</p>\n",
        class(f.verdict),
        word(f.verdict),
        subject(outcome, &f.subject),
        escape(&place),
        escape(&f.message)
    ));
    if !f.remedy.is_empty() {
        out.push_str(&format!("<p><b>To do:</b> {}</p>\n", escape(&f.remedy)));
    }
    let m = &f.measured;
    let measured = words::band(Band { value: m.value, low: m.low, high: m.high }, m.unit);
    let limit = f.limit.as_ref().map(limit_words).unwrap_or_default();
    out.push_str(&format!(
        "<p class=\"quiet\">Measured {}{}. <code>{}</code></p></li>\n",
        escape(&measured),
        escape(&limit),
        escape(f.id)
    ));
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

/// The subject as a link to its place on the page, where it has one.
fn subject(outcome: &Outcome, subject: &str) -> String {
    let text = escape(subject);
    let target = match subject.split_once(' ') {
        Some(("piece", n)) if outcome.pieces.iter().any(|p| words::piece(p.number) == n) => format!("piece-{n}"),
        Some(("joint", n)) if outcome.joints.iter().any(|j| format!("J{}", j.number) == n) => format!("joint-{n}"),
        _ => return text,
    };
    format!("<a href=\"#{target}\">{text}</a>")
}
