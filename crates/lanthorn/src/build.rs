//! `lanthorn build` and `lanthorn check`.

use crate::load::{Loaded, explain, load_with};
use crate::progress::Progress;
use crate::shelf::Shelf;
use anyhow::{Result, anyhow};
use prop::Monitor;
use prop::finding::{Finding, Verdict};
use prop::outcome::Outcome;
use prop::refusal::Refusal;
use std::path::Path;
use std::process::ExitCode;

/// Share of the work that is computing; the rest is drawing and writing.
const COMPUTING: f64 = 0.85;

/// Builds the pack.
pub(crate) fn build(project: &Path, out: &Path, instead: &[String]) -> Result<ExitCode> {
    let shelf = Shelf::prepare(out, "findings.json")?;
    let progress = Progress::start();
    let loaded = load_with(project, instead)?;
    let outcome = compute(&loaded, &progress, COMPUTING)?;
    let artifacts = pack::pack(&outcome, &|what, done| {
        progress.report(what, COMPUTING + (1.0 - COMPUTING) * done * 0.9);
        true
    })?;
    progress.report("writing", 0.99);
    shelf.put(&artifacts)?;
    progress.finish();
    say(&outcome);
    println!("{} files in {}; open {}", artifacts.len(), out.display(), out.join("index.html").display());
    Ok(code(&outcome))
}

/// Runs the checks.
pub(crate) fn check(project: &Path, instead: &[String]) -> Result<ExitCode> {
    let progress = Progress::start();
    let loaded = load_with(project, instead)?;
    let outcome = compute(&loaded, &progress, 1.0)?;
    progress.finish();
    say(&outcome);
    Ok(code(&outcome))
}

pub(crate) fn compute(loaded: &Loaded, progress: &Progress, share: f64) -> Result<Outcome> {
    let report = |what: &str, done: f64| progress.report(what, done * share);
    let monitor = Monitor { cancel: progress.cancel(), report: &report };
    prop::build(&loaded.inputs, &monitor).map_err(|refusal| match refusal {
        Refusal::Stopped => anyhow!("stopped; nothing was written"),
        r => anyhow!("{}", explain(loaded, &r)),
    })
}

fn code(outcome: &Outcome) -> ExitCode {
    ExitCode::from(u8::from(outcome.findings.iter().any(|f| f.verdict == Verdict::Fails)))
}

/// Findings that don't simply hold, then a summary.
fn say(outcome: &Outcome) {
    for mend in &outcome.mends {
        println!("mended {}: {}", mend.body, mend.what);
    }
    let count = |v: Verdict| outcome.findings.iter().filter(|f| f.verdict == v).count();
    for finding in outcome.findings.iter().filter(|f| f.verdict != Verdict::Holds) {
        println!("{}", line(finding));
    }
    if !outcome.imprint.changed.is_empty() {
        println!("made for {}", outcome.imprint.changed.join(", "));
    }
    let mass: f64 = outcome.pieces.iter().map(|p| p.mass_g.value).sum();
    println!(
        "{}: {} pieces, {:.0} g printed, {:.0} h on the printers side by side ({:.0} to {:.0})",
        outcome.prop,
        outcome.pieces.len(),
        mass,
        outcome.print_elapsed_s.value / 3600.0,
        outcome.print_elapsed_s.low / 3600.0,
        outcome.print_elapsed_s.high / 3600.0
    );
    println!("{}", plates(outcome));
    println!(
        "{} findings: {} fail, {} unsure, {} notes, {} hold",
        outcome.findings.len(),
        count(Verdict::Fails),
        count(Verdict::Unsure),
        count(Verdict::Note),
        count(Verdict::Holds)
    );
}

/// "5 plates: wide 3 in 18.2 h, small 2 in 17.9 h".
fn plates(outcome: &Outcome) -> String {
    let printers: Vec<String> = outcome
        .plates
        .chunk_by(|a, b| a.printer == b.printer)
        .map(|on| {
            let hours: f64 = on.iter().map(|p| p.time_s.value / 3600.0).sum();
            format!("{} {} in {hours:.1} h", on[0].printer, on.len())
        })
        .collect();
    let count = outcome.plates.len();
    format!("{count} plate{}: {}", if count == 1 { "" } else { "s" }, printers.join(", "))
}

fn line(finding: &Finding) -> String {
    let verdict = match finding.verdict {
        Verdict::Fails => "FAILS",
        Verdict::Unsure => "unsure",
        Verdict::Note => "note",
        Verdict::Holds => "holds",
    };
    let mut text = format!("{verdict} {} ({}): {}", finding.subject, finding.id, finding.message);
    if !finding.remedy.is_empty() {
        text.push_str("\n      to mend it: ");
        text.push_str(&finding.remedy);
    }
    text
}
