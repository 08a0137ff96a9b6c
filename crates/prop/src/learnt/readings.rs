//! The sheet that comes with coupons, filled in.

use super::file::SCALE;
use super::sheet::{Cell, Row, Sheet, settled, whole};
use super::{Ladder, Note, Rule, Stock};
use crate::coupon::Feature;
use crate::diagnostic::Diagnostics;
use crate::fields::Report;
use crate::project::Project;
use crate::quantity::Wanted;

/// What a sheet gave.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Readings {
    /// Ladders that were tried or measured.
    pub ladders: Vec<Ladder>,
    /// Rules that were measured.
    pub rules: Vec<Rule>,
    /// Stock that was measured.
    pub stock: Vec<Stock>,
}

/// How a step went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum How {
    No,
    Press,
    Slides,
    Loose,
}

const HOW: [(&str, How); 4] = [("no", How::No), ("press", How::Press), ("slides", How::Slides), ("loose", How::Loose)];
/// Columns that must be there.
const NEEDED: [&str; 8] = ["printer", "material", "feature", "nominal", "step", "gap", "reading", "how"];
const LENGTH: Wanted = Wanted::length(0.05, 1000.0, "12.1 mm");
const GAP: Wanted = Wanted::length(0.0, 2.0, "0.15 mm");
/// A slot or hole is never further from its drawing than this, mm: more is a slip of the eye or of the line.
const FURTHEST_MM: f64 = 1.0;
/// Nor is a length, as a share: ABS shrinks by 1.6 % at most, and growth adds a little to a short one.
const FURTHEST_SHARE: f64 = 0.05;

/// A filled-in line about a printer.
struct Line<'s> {
    printer: String,
    material: String,
    feature: Feature,
    step: u32,
    gap_mm: f64,
    drawn_mm: f64,
    reading_mm: Option<f64>,
    how: Option<How>,
    cell: Cell<'s>,
}

/// Reads a filled-in sheet. Lines with neither reading nor word are left out. `note` says when and whence.
///
/// A line is one step or measure; stock has lines of its own: `stock, NAME, 10.14 mm`, flat stock with its thickness and
/// its height.
///
/// # Errors
/// Every mistake at its place; nothing is taken from a sheet with one.
pub fn readings(text: &str, project: &Project, note: &Note) -> Result<Readings, Diagnostics> {
    let sheet = Sheet::read(text, &NEEDED)?;
    let report = Report::default();
    let mut lines = Vec::new();
    let mut scales: Vec<(String, String, f64)> = Vec::new();
    let mut stock: Vec<(Stock, Option<f64>)> = Vec::new();
    for row in &sheet.rows {
        if sheet.cell(row, "printer").text.eq_ignore_ascii_case("stock") {
            for (name, measure, read_mm, nominal_mm) in read_stock(&sheet, row, project, &report) {
                match stock.iter_mut().find(|(s, _)| s.name == name && s.measure == measure) {
                    Some((known, _)) => known.read_mm.push(read_mm),
                    None => {
                        stock.push((Stock { name, measure, read_mm: vec![read_mm], note: note.clone() }, nominal_mm))
                    }
                }
            }
        } else if sheet.cell(row, "feature").text.eq_ignore_ascii_case("scale") {
            if !sheet.cell(row, "reading").is_empty() {
                scales.extend(read_scale(&sheet, row, project, &report));
            }
        } else if !sheet.cell(row, "reading").is_empty() || !sheet.cell(row, "how").is_empty() {
            lines.extend(read_line(&sheet, row, project, &report));
        }
    }
    let mut made = Readings::default();
    let mut groups: Vec<(usize, Vec<&Line>)> = Vec::new();
    for (at, line) in lines.iter().enumerate() {
        let same = |other: &Line| {
            let kind = line.feature.is_ladder() == other.feature.is_ladder();
            let kind = kind && (!line.feature.is_ladder() || line.feature == other.feature);
            kind && line.printer == other.printer && line.material == other.material
        };
        match groups.iter_mut().find(|(first, _)| same(&lines[*first])) {
            Some((_, members)) => members.push(line),
            None => groups.push((at, vec![line])),
        }
    }
    for (_, mut members) in groups {
        members.sort_by_key(|l| (l.feature.name(), l.step));
        if let Some(pair) = members.windows(2).find(|p| p[0].feature == p[1].feature && p[0].step == p[1].step) {
            let message = format!("step {} of {} is there twice", pair[1].step, pair[1].feature.name());
            pair[1].cell.error::<()>(&report, message, "give each printed copy a sheet of its own");
        } else if members[0].feature.is_ladder() {
            made.ladders.extend(ladder(&members, over_mm(members[0].feature, &stock, project), note, &report));
        } else {
            made.rules.extend(rule(&members, &scales, note, &report));
        }
    }
    made.stock = stock.into_iter().map(|(s, _)| s).collect();
    let nothing = made.ladders.is_empty() && made.rules.is_empty() && made.stock.is_empty();
    if report.is_empty() && nothing {
        return Err(whole(
            "no line of the sheet is filled in",
            "write what calipers read under reading, and no, press, slides or loose under how",
        ));
    }
    settled(report, made)
}

/// The printer and the material of a line.
pub(super) fn read_pair(
    sheet: &Sheet,
    row: &Row,
    project: &Project,
    report: &Report,
) -> (Option<String>, Option<String>) {
    let printers = project.printers.iter().map(|p| (p.name.as_str(), p.name.clone()));
    let printer = sheet.cell(row, "printer").one_of(report, printers, "the project has");
    let bodies = project.bodies.iter().chain([&project.unlisted]);
    let mut names: Vec<&str> = bodies.map(|b| b.material.name.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    let materials = names.iter().map(|m| (*m, (*m).to_owned()));
    let material = sheet.cell(row, "material").one_of(report, materials, "the project's bodies are of");
    (printer, material)
}

/// The scale that was set while a coupon printed.
fn read_scale(sheet: &Sheet, row: &Row, project: &Project, report: &Report) -> Option<(String, String, f64)> {
    let (printer, material) = read_pair(sheet, row, project, report);
    let scale = sheet.cell(row, "reading").quantity(report, &SCALE);
    Some((printer?, material?, scale?))
}

fn read_line<'s>(sheet: &'s Sheet, row: &'s Row, project: &Project, report: &Report) -> Option<Line<'s>> {
    let (printer, material) = read_pair(sheet, row, project, report);
    let features = Feature::ALL.iter().map(|f| (f.name(), *f));
    let feature = sheet.cell(row, "feature").one_of(report, features, "there are");
    let step_cell = sheet.cell(row, "step");
    let step = match step_cell.text.parse::<u32>() {
        Ok(step) if (1..=99).contains(&step) => Some(step),
        _ => step_cell.error(
            report,
            "this is not the number of a step",
            "write the figure that stands at the slot, 1 to 10",
        ),
    };
    let nominal = sheet.cell(row, "nominal").quantity(report, &LENGTH);
    let gap_cell = sheet.cell(row, "gap");
    let is_ladder = feature.is_none_or(Feature::is_ladder);
    let gap = if gap_cell.is_empty() && !is_ladder { Some(0.0) } else { gap_cell.quantity(report, &GAP) };
    let cell = sheet.cell(row, "reading");
    let reading = if cell.is_empty() {
        Some(None)
    } else if feature.is_none_or(Feature::is_measured) {
        cell.quantity(report, &LENGTH).map(Some)
    } else {
        cell.error(report, "a groove is tried, not measured", "leave this empty, and say under how how it went")
    };
    let how_cell = sheet.cell(row, "how");
    let how = if how_cell.is_empty() {
        Some(None)
    } else if is_ladder {
        how_cell.one_of(report, HOW.iter().copied(), "what can stand here").map(Some)
    } else {
        how_cell.error(report, "a measure has a reading only", "leave this empty")
    };
    let line = Line {
        printer: printer?,
        material: material?,
        feature: feature?,
        step: step?,
        gap_mm: gap?,
        drawn_mm: nominal? + 2.0 * gap?,
        reading_mm: reading?,
        how: how?,
        cell: if cell.is_empty() { how_cell } else { cell },
    };
    if let Some(read) = line.reading_mm {
        let far = (read - line.drawn_mm).abs();
        let lengths = matches!(line.feature, Feature::Outside | Feature::Inside);
        let most = if lengths { FURTHEST_SHARE * line.drawn_mm + 0.3 } else { FURTHEST_MM };
        if far > most {
            let message = format!("{read} mm is {far:.2} mm from what is drawn, {:.2} mm", line.drawn_mm);
            return line.cell.error(report, message, "measure again, and look whether the line is the right one");
        }
    }
    Some(line)
}

fn ladder(members: &[&Line], stock_over_mm: f64, note: &Note, report: &Report) -> Option<Ladder> {
    let tried: Vec<(&&Line, How)> = members.iter().filter_map(|l| l.how.map(|h| (l, h))).collect();
    for pair in tried.windows(2) {
        if pair[0].1 > pair[1].1 || pair[0].0.gap_mm >= pair[1].0.gap_mm {
            let message =
                format!("step {} goes harder than step {}, which is narrower", pair[1].0.step, pair[0].0.step);
            return pair[1].0.cell.error(report, message, "try both again: a wider step cannot go harder");
        }
    }
    let gaps = |wanted: fn(How) -> bool| {
        tried.iter().filter(|(_, how)| wanted(*how)).map(|(line, _)| line.gap_mm).collect::<Vec<_>>()
    };
    let most = |wanted| gaps(wanted).into_iter().reduce(f64::max);
    let least = |wanted| gaps(wanted).into_iter().reduce(f64::min);
    let first = members[0];
    Some(Ladder {
        printer: first.printer.clone(),
        material: first.material.clone(),
        feature: first.feature,
        press_mm: most(|h| h == How::Press),
        stuck_mm: most(|h| h < How::Slides),
        slide_mm: least(|h| h >= How::Slides),
        loose_mm: least(|h| h == How::Loose),
        loss_mm: members.iter().filter_map(|l| l.reading_mm.map(|r| l.drawn_mm - r)).collect(),
        stock_over_mm,
        note: note.clone(),
    })
}

fn rule(members: &[&Line], scales: &[(String, String, f64)], note: &Note, report: &Report) -> Option<Rule> {
    let of = |feature: Feature| {
        members.iter().filter(move |l| l.feature == feature).filter_map(|l| l.reading_mm.map(|r| (*l, [l.drawn_mm, r])))
    };
    let lengths_mm = match (of(Feature::Outside).next(), of(Feature::Inside).next()) {
        (Some((_, outside)), Some((_, inside))) => Some([outside, inside]),
        (None, None) => None,
        (Some((line, _)), None) | (None, Some((line, _))) => {
            let help = "measure the outside and the inside: only both together tell shrinkage from growth";
            return line.cell.error(report, "the other length of the rule is missing", help);
        }
    };
    let scale = scales.iter().find(|(p, m, _)| *p == members[0].printer && *m == members[0].material);
    Some(Rule {
        printer: members[0].printer.clone(),
        material: members[0].material.clone(),
        lengths_mm,
        scale: scale.map_or(1.0, |(_, _, share)| *share),
        hole_loss_mm: of(Feature::Hole).map(|(_, [drawn, read])| drawn - read).collect(),
        note: note.clone(),
    })
}

/// The measures that stock of a project can have: name, measure.
fn stock_measures(project: &Project) -> Vec<(&str, &'static str)> {
    let mut all = Vec::new();
    if let Some(spine) = &project.spine {
        let name = spine.bar.name.as_str();
        all.extend(if spine.bar.round {
            vec![(name, "diameter")]
        } else {
            vec![(name, "thickness"), (name, "height")]
        });
    }
    if let Some(light) = &project.light {
        all.push((light.strip.name.as_str(), "width"));
    }
    let known = |name: &str, all: &[(&str, &str)]| all.iter().any(|(n, _)| *n == name);
    let rods: Vec<_> =
        project.rods.iter().filter(|r| !known(&r.name, &all)).map(|r| (r.name.as_str(), "diameter")).collect();
    all.extend(rods);
    all
}

/// One line about stock: name, measure, reading and what the coupon took it to be.
fn read_stock(sheet: &Sheet, row: &Row, project: &Project, report: &Report) -> Vec<(String, String, f64, Option<f64>)> {
    let measures = stock_measures(project);
    let names = measures.iter().map(|(name, _)| (*name, *name));
    let short = row.len() <= 4;
    let name_cell = if short { row.at(1, "stock") } else { Some(sheet.cell(row, "material")) };
    let Some(name_cell) = name_cell else {
        report.add(
            "stock",
            None,
            "a line about stock names it".into(),
            "write: stock, round-glass-10, 10.14 mm".into(),
        );
        return Vec::new();
    };
    if !short && sheet.cell(row, "reading").is_empty() {
        return Vec::new();
    }
    let Some(name) = name_cell.one_of(report, names, "the project's stock is") else { return Vec::new() };
    let of_name: Vec<&str> = measures.iter().filter(|(n, _)| *n == name).map(|(_, m)| *m).collect();
    if short {
        let cells: Vec<Cell> =
            (2..row.len()).filter_map(|at| row.at(at, "reading")).filter(|c| !c.is_empty()).collect();
        if cells.len() != of_name.len() {
            let example = of_name.iter().map(|m| format!("its {m}")).collect::<Vec<_>>().join(", ");
            let message = format!("{} readings of {name}, which has {}", cells.len(), of_name.len());
            name_cell.error::<()>(report, message, format!("write: stock, {name}, {example}, each with its unit"));
            return Vec::new();
        }
        let read = of_name.iter().zip(&cells).filter_map(|(m, c)| Some((*m, c.quantity(report, &LENGTH)?)));
        return read.map(|(m, r)| (name.to_owned(), m.to_owned(), r, None)).collect();
    }
    let measure = sheet.cell(row, "feature").one_of(report, of_name.iter().map(|m| (*m, *m)), "it has");
    let cell = sheet.cell(row, "reading");
    let read = cell.quantity(report, &LENGTH);
    let nominal_cell = sheet.cell(row, "nominal");
    let nominal = if nominal_cell.is_empty() { Some(None) } else { nominal_cell.quantity(report, &LENGTH).map(Some) };
    let (Some(measure), Some(read), Some(nominal)) = (measure, read, nominal) else { return Vec::new() };
    if let Some(nominal) = nominal.filter(|n| (read - n).abs() > FURTHEST_MM) {
        let message =
            format!("{read} mm is {:.2} mm from what it is taken to be, {nominal} mm", (read - nominal).abs());
        cell.error::<()>(report, message, "measure again; if it is other stock, name that in the project file");
        return Vec::new();
    }
    vec![(name.to_owned(), measure.to_owned(), read, nominal)]
}

/// How much larger stock is than the coupon's ladder took it to be, mm in all: its measure that is over most.
fn over_mm(feature: Feature, stock: &[(Stock, Option<f64>)], project: &Project) -> f64 {
    let name = match feature {
        Feature::StripSlot => project.light.as_ref().map(|l| l.strip.name.as_str()),
        Feature::BarSlot | Feature::BarBore => project.spine.as_ref().map(|s| s.bar.name.as_str()),
        _ => None,
    };
    let of_name = stock.iter().filter(|(s, _)| Some(s.name.as_str()) == name);
    let over =
        of_name.filter_map(|(s, nominal)| Some(s.read_mm.iter().sum::<f64>() / s.read_mm.len() as f64 - (*nominal)?));
    over.reduce(f64::max).unwrap_or(0.0)
}
