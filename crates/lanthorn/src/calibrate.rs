//! `lanthorn calibrate`: from filled-in sheets to `learnt.toml`.

use crate::build::compute;
use crate::load::{LEARNT, digest, learnt_beside, load, read_text};
use crate::progress::Progress;
use anyhow::{Context, Result, anyhow, bail};
use prop::catalogue::{Catalogue, Printer};
use prop::diagnostic::Diagnostics;
use prop::learnt::{self, Learnt, Note, Prediction, Spread, Summary};
use prop::project::{Project, parse};
use std::fs;
use std::path::{Path, PathBuf};

/// Where to keep what is learnt.
#[derive(clap::Args)]
pub(crate) struct To {
    /// The project file: learnt.toml is kept beside it.
    #[arg(long, default_value = "prop.toml")]
    project: PathBuf,
    /// Day of the measurement, as 2026-11-25; today when left out.
    #[arg(long, value_parser = day)]
    date: Option<String>,
}

/// A day in the calendar, as ISO 8601 writes it.
fn day(text: &str) -> Result<String, String> {
    let wrong = || "write a day as 2026-11-25".to_owned();
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts[..] else { return Err(wrong()) };
    let number =
        |t: &str, digits: usize| (t.len() == digits).then(|| t.parse::<u16>().ok()).flatten().ok_or_else(wrong);
    let (year, month, day) = (number(year, 4)?, number(month, 2)?, number(day, 2)?);
    let month = u8::try_from(month).ok().and_then(|m| time::Month::try_from(m).ok()).ok_or_else(wrong)?;
    let date = time::Date::from_calendar_date(i32::from(year), month, u8::try_from(day).map_err(|_| wrong())?);
    date.map(|_| text.to_owned()).map_err(|_| wrong())
}

/// A sheet with the project it is for.
struct Desk {
    project: Project,
    sheet: String,
    shown: String,
    note: Note,
    known: Learnt,
    known_text: String,
}

fn lay_out(sheet: &Path, to: &To) -> Result<Desk> {
    let text = read_text(sheet, "name the sheet that you filled in")?;
    desk(sheet.display().to_string(), text, to)
}

/// A sheet that is at hand as text.
fn desk(shown: String, text: String, to: &To) -> Result<Desk> {
    let project_text = read_text(&to.project, "name the project with --project")?;
    let project = parse(&project_text, &Catalogue::built_in())
        .map_err(|d| anyhow!("{}", d.render(&to.project.display().to_string(), &project_text)))?;
    let (known, known_text) = learnt_beside(&to.project)?;
    let date = to.date.clone().unwrap_or_else(|| time::OffsetDateTime::now_utc().date().to_string());
    let note = Note { date, sheet: digest([text.as_bytes()])[..12].to_owned() };
    if let Some(day) = known.day_of(&note.sheet) {
        bail!("{shown} was learnt on {day} already; nothing changed. Give each printed copy a sheet of its own");
    }
    Ok(Desk { project, sheet: text, shown, note, known, known_text })
}

impl Desk {
    fn mistakes(&self, found: &Diagnostics) -> anyhow::Error {
        anyhow!("{}", found.render(&self.shown, &self.sheet))
    }

    /// The same, and says so.
    fn keep(&self, more: &Learnt, to: &To) -> Result<Learnt> {
        let all = self.written(more, to)?;
        let file = to.project.parent().unwrap_or(Path::new(".")).join(LEARNT);
        println!("{} written: build, check and coupon use it from now on.", file.display());
        Ok(all)
    }

    /// Writes the file with `more` at its end, whole or not at all, and gives everything that is known now.
    fn written(&self, more: &Learnt, to: &To) -> Result<Learnt> {
        let text = learnt::append(&self.known_text, more);
        let file = to.project.parent().unwrap_or(Path::new(".")).join(LEARNT);
        let all = learnt::read(&text).map_err(|d| anyhow!("{}", d.render(&file.display().to_string(), &text)))?;
        let draft = file.with_file_name(format!(".{LEARNT}.draft-{}", std::process::id()));
        let written = fs::write(&draft, &text).and_then(|()| fs::rename(&draft, &file));
        if written.is_err() {
            // What is left of the draft is of no use to anybody.
            let _ = fs::remove_file(&draft);
        }
        written.with_context(|| format!("{} cannot be written; it is as it was", file.display()))?;
        Ok(all)
    }
}

/// Learns from coupons and calipers.
pub(crate) fn fit(sheet: &Path, to: &To) -> Result<()> {
    let desk = lay_out(sheet, to)?;
    let more = fits(&desk)?;
    let all = desk.keep(&more, to)?;
    fit_words(&all, &more).iter().for_each(|line| println!("{line}"));
    Ok(())
}

/// What a desk's sheet says of coupons and stock.
fn fits(desk: &Desk) -> Result<Learnt> {
    let read = learnt::readings(&desk.sheet, &desk.project, &desk.note).map_err(|d| desk.mistakes(&d))?;
    Ok(Learnt { ladders: read.ladders, rules: read.rules, stock: read.stock, ..Learnt::default() })
}

/// What is known of the printers and materials that `more` speaks of, and its stock, in lines.
fn fit_words(all: &Learnt, more: &Learnt) -> Vec<String> {
    let mut pairs: Vec<(&str, &str)> = more.ladders.iter().map(|l| (l.printer.as_str(), l.material.as_str())).collect();
    pairs.extend(more.rules.iter().map(|r| (r.printer.as_str(), r.material.as_str())));
    pairs.sort_unstable();
    pairs.dedup();
    let mut lines: Vec<String> =
        pairs.iter().filter_map(|(p, m)| learnt::summary(all, p, m)).flat_map(|s| said(&s)).collect();
    for stock in &more.stock {
        let read: Vec<String> = stock.read_mm.iter().map(|v| format!("{v:.2} mm")).collect();
        lines.push(format!("{} {}: {}", stock.name, stock.measure, read.join(", ")));
    }
    lines
}

/// Learns from coupons whose readings are at hand as a sheet; says what came of it.
pub(crate) fn learn_fits(project: &Path, sheet: &str) -> Result<Vec<String>> {
    let to = To { project: project.to_owned(), date: None };
    let desk = desk("what was read off the coupons".to_owned(), sheet.to_owned(), &to)?;
    let more = fits(&desk)?;
    let all = desk.written(&more, &to)?;
    Ok(fit_words(&all, &more))
}

fn said(s: &Summary) -> Vec<String> {
    let line = |what: &str, spread: Option<Spread>, factor: f64, unit: &str| {
        let Spread { count, mean, deviation, low, high } = spread?;
        let [mean, deviation, low, high] = [mean, deviation, low, high].map(|v| v * factor);
        let deviation = if count > 1 { format!(", standard deviation {deviation:.2}") } else { String::new() };
        Some(format!("  {what}: {mean:.2} {unit} ({low:.2} to {high:.2}; {count} readings{deviation})"))
    };
    let glue = |mm: f64| format!("  glue gap a side, as drawn: {mm:.2} mm (half way between press and slide)");
    let press_in = |mm: f64| format!("  press gap in a bore, a side, as drawn: {mm:.2} mm (magnets)");
    let scale = |of: Spread| format!("  set the scale to {:.2} % in the printer's program", of.mean * 100.0);
    let head = format!("{} in {}, from {}:", s.printer, s.material, s.words());
    let lines = [
        Some(head),
        line("press gap a side, as drawn", s.press_mm, 1.0, "mm"),
        line("slide gap a side, as drawn", s.slide_mm, 1.0, "mm"),
        line("loose gap a side, as drawn", s.loose_mm, 1.0, "mm"),
        s.glue_mm().map(glue),
        s.press_in_mm().map(press_in),
        line("slots lose", s.slot_loss_mm, 1.0, "mm"),
        line("holes lose, on the diameter", s.hole_loss_mm, 1.0, "mm"),
        line("shrinkage", s.shrinkage, 100.0, "%"),
        s.scale().map(scale),
    ];
    lines.into_iter().flatten().collect()
}

/// Learns from light coupons.
pub(crate) fn light(sheet: &Path, to: &To) -> Result<()> {
    let desk = lay_out(sheet, to)?;
    let light = learnt::light_readings(&desk.sheet, &desk.project, &desk.note).map_err(|d| desk.mistakes(&d))?;
    let mut read: Vec<String> = light.iter().map(|l| l.material.clone()).collect();
    read.dedup();
    let all = desk.keep(&Learnt { light, ..Learnt::default() }, to)?;
    let bodies = desk.project.bodies.iter().chain([&desk.project.unlisted]);
    let mut said: Vec<&str> = Vec::new();
    for material in bodies.map(|b| &b.material).filter(|m| read.contains(&m.name)) {
        if said.contains(&material.name.as_str()) {
            continue;
        }
        said.push(&material.name);
        let sittings: Vec<&learnt::Light> = all.light.iter().filter(|l| l.material == material.name).collect();
        if let Some(s) = learnt::light_summary(&sittings, material)? {
            println!("{}: {}", material.name, s.values());
            println!(
                "  from {}; a reading is off by {:.1} %, condition number {:.0}",
                s.words(),
                s.noise * 100.0,
                s.condition
            );
        }
    }
    Ok(())
}

/// Learns from measured times.
pub(crate) fn prints(sheet: &Path, to: &To) -> Result<()> {
    let mut desk = lay_out(sheet, to)?;
    let open = learnt::unpredicted(&desk.sheet).map_err(|d| desk.mistakes(&d))?;
    let mut predictions = Vec::new();
    // What is in force now: the project with all that was learnt so far, as the last pack had it.
    let own = desk.project.printers.clone();
    if open {
        let progress = Progress::start();
        let loaded = load(&to.project)?;
        let outcome = compute(&loaded, &progress, 1.0)?;
        progress.finish();
        let predict = |p: &prop::outcome::Piece| Prediction {
            name: p.name.clone(),
            printer: p.printer.clone(),
            time_s: p.print_time_s.value,
        };
        predictions.extend(outcome.pieces.iter().map(predict));
        predictions.extend(outcome.plates.iter().map(|p| Prediction {
            name: p.name.clone(),
            printer: p.printer.clone(),
            time_s: p.time_s.value,
        }));
        desk.project = loaded.inputs.project;
    } else {
        let text = read_text(&to.project, "name the project with --project")?;
        learnt::apply(&mut desk.project, &text, &[], &desk.known);
    }
    let prints = learnt::times(&desk.sheet, &desk.project, &predictions, &desk.note).map_err(|d| desk.mistakes(&d))?;
    let all = desk.keep(&Learnt { prints, ..Learnt::default() }, to)?;
    paces(&all, &own).iter().for_each(|line| println!("{line}"));
    Ok(())
}

/// How long prints take on each printer by all that was measured, in words.
fn paces(all: &Learnt, printers: &[Printer]) -> Vec<String> {
    let said = |printer: &Printer| {
        let of: Vec<f64> =
            all.prints.iter().filter(|p| p.printer == printer.name).map(|p| p.measured_s / p.computed_s).collect();
        let [usual, low, high] = learnt::pace(&of, printer.pace).map(|p| p * 100.0);
        let words = format!(
            "{}: prints take {usual:.0} % ({low:.0} to {high:.0}) of what is computed, from {} of them",
            printer.name,
            of.len()
        );
        (!of.is_empty()).then_some(words)
    };
    printers.iter().filter_map(said).collect()
}

/// Learns from measured times that are at hand, against what the last build predicted with all that was learnt so far; says what
/// came of it.
pub(crate) fn learn_prints(project: &Path, sheet: &str, predictions: &[Prediction]) -> Result<Vec<String>> {
    let to = To { project: project.to_owned(), date: None };
    let mut desk = desk("what was measured".to_owned(), sheet.to_owned(), &to)?;
    let own = desk.project.printers.clone();
    let text = read_text(project, "put it back")?;
    learnt::apply(&mut desk.project, &text, &[], &desk.known);
    let prints = learnt::times(&desk.sheet, &desk.project, predictions, &desk.note).map_err(|d| desk.mistakes(&d))?;
    let all = desk.written(&Learnt { prints, ..Learnt::default() }, &to)?;
    Ok(paces(&all, &own))
}
