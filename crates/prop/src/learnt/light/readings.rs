//! A filled-in sheet of light readings.

use super::shares::{Group, shares};
use super::summary::{NOISE, light_summary, without};
use super::{Colour, Light, Seen};
use crate::catalogue::Material;
use crate::diagnostic::Diagnostics;
use crate::fields::Report;
use crate::learnt::Note;
use crate::learnt::readings::read_pair;
use crate::learnt::sheet::{Cell, Row, Sheet, settled, whole};
use crate::project::Project;
use crate::quantity::{Quantity, Wanted};

/// How a line was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum How {
    /// Pixel values, 0 to 255, at exposures.
    Camera,
    /// Raw (linear) pixel values at exposures.
    Raw,
    /// A meter's numbers.
    Meter,
    /// Shares of the screen's light, worked out already.
    Share,
}

const HOW: [(&str, How); 4] =
    [("camera", How::Camera), ("raw", How::Raw), ("meter", How::Meter), ("share", How::Share)];
const NEEDED: [&str; 8] = ["printer", "material", "step", "thickness", "colour", "how", "exposure", "reading"];
const THICKNESS: Wanted = Wanted::length(0.1, 30.0, "2.10 mm");
const EXPOSURE: Wanted = Wanted::of(Quantity::Time, 1e-5, 120.0, "1/60 s");
const SHARE: Wanted = Wanted::of(Quantity::Share, 1e-5, 1.0, "41 %");
/// Fewer thicknesses than this tell nothing of how light falls off.
const FEWEST: usize = 3;
/// Readings of one step further apart than this, times, contradict each other; so does a thicker step brighter by more than
/// a third of it. Four usual deviations of a difference.
const APART: f64 = 1.25;
/// A reading that lies this far, times, from what the other steps say is a slip.
const SLIP: f64 = 1.25;

/// Slips are looked for when a reading is off by more than this, in usual deviations.
const DOUBT: f64 = 1.5;

/// What a line is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Of {
    Screen,
    Slant,
    Dark,
    Step,
}

/// A filled-in line.
pub(super) struct Line<'s> {
    printer: String,
    material: String,
    colour: Colour,
    how: How,
    of: Of,
    /// As it stands in the sheet.
    pub(super) step: &'s str,
    thickness_mm: f64,
    /// 0 where it is left empty.
    pub(super) exposure_s: f64,
    exposure_cell: Cell<'s>,
    pub(super) value: f64,
    pub(super) cell: Cell<'s>,
}

impl Line<'_> {
    /// Its exposure, s; said to be missing where it is.
    pub(super) fn exposure(&self, report: &Report) -> Option<f64> {
        if self.exposure_s > 0.0 {
            return Some(self.exposure_s);
        }
        self.exposure_cell.error(report, "this is missing", "write the exposure time: 1/60 s")
    }
}

/// Reads a filled-in sheet of light readings. Lines without a reading are left out. `note` says when and whence.
///
/// # Errors
/// Every mistake at its place: what can't be read; steps that contradict each other; readings that leave scattering or
/// absorption open. Nothing is taken from a sheet with one.
pub fn light_readings(text: &str, project: &Project, note: &Note) -> Result<Vec<Light>, Diagnostics> {
    let sheet = Sheet::read(text, &NEEDED)?;
    let report = Report::default();
    let filled = sheet.rows.iter().filter(|row| !sheet.cell(row, "reading").is_empty());
    let lines: Vec<Line> = filled.filter_map(|row| read_line(&sheet, row, project, &report)).collect();
    if report.is_empty() && lines.is_empty() {
        let help = "write what the camera or meter shows under reading, and camera, raw, meter or share under how";
        return Err(whole("no line of the sheet is filled in", help));
    }
    let mut sittings: Vec<(Light, Vec<&Line>)> = Vec::new();
    let mut groups: Vec<Vec<&Line>> = Vec::new();
    for line in &lines {
        let same = |g: &&mut Vec<&Line>| {
            (&g[0].printer, &g[0].material, g[0].colour) == (&line.printer, &line.material, line.colour)
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.push(line),
            None => groups.push(vec![line]),
        }
    }
    if report.is_empty() {
        sittings.extend(groups.iter().filter_map(|group| sitting(group, note, &report)));
    }
    if report.is_empty() {
        judge(&sittings, project, &report);
    }
    settled(report, sittings.into_iter().map(|(light, _)| light).collect())
}

fn read_line<'s>(sheet: &'s Sheet, row: &'s Row, project: &Project, report: &Report) -> Option<Line<'s>> {
    let (printer, material) = read_pair(sheet, row, project, report);
    let colour_cell = sheet.cell(row, "colour");
    let colour = if colour_cell.is_empty() {
        Some(Colour::White)
    } else {
        colour_cell.one_of(report, Colour::ALL.iter().copied(), "what can stand here")
    };
    let how = sheet.cell(row, "how").one_of(report, HOW.iter().copied(), "what can stand here");
    let step_cell = sheet.cell(row, "step");
    let of = match step_cell.text.to_lowercase().as_str() {
        "screen" => Some(Of::Screen),
        "screen-60" => Some(Of::Slant),
        "dark" => Some(Of::Dark),
        text if text.parse::<u32>().is_ok_and(|n| n > 0) => Some(Of::Step),
        _ => step_cell.error(
            report,
            format!("{:?} is neither a step nor the screen", step_cell.text),
            "write the step's figure, screen, screen-60 or dark",
        ),
    };
    let thickness =
        if of == Some(Of::Step) { sheet.cell(row, "thickness").quantity(report, &THICKNESS) } else { Some(0.0) };
    let exposure_cell = sheet.cell(row, "exposure");
    let exposure = if exposure_cell.is_empty() { Some(0.0) } else { read_exposure(&exposure_cell, report) };
    let cell = sheet.cell(row, "reading");
    let value = how.and_then(|how| read_value(how, &cell, report));
    Some(Line {
        printer: printer?,
        material: material?,
        colour: colour?,
        how: how?,
        of: of?,
        step: step_cell.text,
        thickness_mm: thickness?,
        exposure_s: exposure?,
        exposure_cell,
        value: value?,
        cell,
    })
}

/// An exposure as cameras show it: without a unit it is seconds.
fn read_exposure(cell: &Cell, report: &Report) -> Option<f64> {
    let bare = cell.text.ends_with(|c: char| c.is_ascii_digit());
    let text = if bare { format!("{} s", cell.text) } else { cell.text.to_owned() };
    EXPOSURE.read(&text).map_err(|e| cell.error::<()>(report, e.to_string(), EXPOSURE.help(&e))).ok()
}

fn read_value(how: How, cell: &Cell, report: &Report) -> Option<f64> {
    let (most, help) = match how {
        How::Share => return cell.quantity(report, &SHARE),
        How::Camera => (255.0, "write the pixel value, 0 to 255, with a decimal point"),
        How::Raw => (1e9, "write the raw value as a number, with a decimal point"),
        How::Meter => (1e9, "write the meter's number, with a decimal point"),
    };
    let number = cell.text.trim_end_matches("lx").trim_end();
    let plain = number.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    match number.parse::<f64>() {
        Ok(value) if plain && (0.0..=most).contains(&value) => Some(value),
        Ok(value) if plain => cell.error(report, format!("{value} is out of range"), help),
        _ => cell.error(report, format!("{:?} is not a number", cell.text), help),
    }
}

/// The lines of one printer, material and colour.
fn sitting<'s, 'l>(lines: &[&'l Line<'s>], note: &Note, report: &Report) -> Option<(Light, Vec<&'l Line<'s>>)> {
    let first = lines[0];
    if let Some(other) = lines.iter().find(|l| l.how != first.how) {
        let help = "read the screen and all steps of a wedge in one way; give another way a sheet of its own";
        return other.cell.error(report, "this line is read in another way than those before", help);
    }
    let of = |kind: Of| lines.iter().copied().filter(|l| l.of == kind).collect::<Vec<_>>();
    let group = Group { screen: of(Of::Screen), slant: of(Of::Slant), dark: of(Of::Dark), steps: of(Of::Step) };
    let Some(last) = group.steps.last() else {
        let help = "read the steps of the wedge as well: their lines have a figure under step";
        return first.cell.error(report, "there is no step among these readings", help);
    };
    let mut thicknesses: Vec<f64> = group.steps.iter().map(|l| l.thickness_mm).collect();
    thicknesses.sort_by(f64::total_cmp);
    thicknesses.dedup();
    if thicknesses.len() < FEWEST {
        let message = format!("{} of {} were read", steps(thicknesses.len()), last.material);
        let help =
            "read three steps of different thickness at least, better all: fewer don't tell scattering from absorption";
        return last.cell.error(report, message, help);
    }
    let found = shares(first.how, &group, report)?;
    contradictions(&group.steps, &found.steps, report)?;
    let light = Light {
        printer: first.printer.clone(),
        material: first.material.clone(),
        colour: first.colour,
        seen: if first.how == How::Meter { Seen::Meter } else { Seen::Camera },
        of_screen: found.of_screen,
        slant: found.slant.map(|s| s.min(1.0)),
        steps: group.steps.iter().zip(&found.steps).map(|(l, s)| [l.thickness_mm, *s]).collect(),
        note: note.clone(),
    };
    Some((light, group.steps))
}

fn steps(count: usize) -> String {
    if count == 1 { "only one step".to_owned() } else { format!("only {count} steps") }
}

/// Repeats that differ, and thicker steps that are brighter.
fn contradictions(lines: &[&Line], shares: &[f64], report: &Report) -> Option<()> {
    let mut all: Vec<(&Line, f64)> = lines.iter().copied().zip(shares.iter().copied()).collect();
    all.sort_by(|a, b| a.0.thickness_mm.total_cmp(&b.0.thickness_mm));
    let pairs = || (0..all.len()).flat_map(|k| (0..k).map(move |before| (k, before))).map(|(k, b)| (all[k], all[b]));
    for ((line, share), (before, was)) in pairs().filter(|(a, b)| a.0.thickness_mm == b.0.thickness_mm) {
        if (share / was).max(was / share) > APART {
            let [here, there] = [share, was].map(percent);
            let message = format!(
                "step {} lets through {here} here, and step {} of the same thickness {there}",
                line.step, before.step
            );
            return line.cell.error(report, message, "measure it again, and leave out the line that was a slip");
        }
    }
    for ((line, share), (before, was)) in pairs() {
        if line.thickness_mm > before.thickness_mm && share > was * (1.0 + (APART - 1.0) / 3.0) {
            let [here, there] = [share, was].map(percent);
            let message =
                format!("step {} lets through {here}, and step {}, which is thinner, {there}", line.step, before.step);
            return line.cell.error(report, message, "measure both again: a thicker step can't be brighter");
        }
    }
    Some(())
}

fn percent(share: f64) -> String {
    format!("{:.1} %", share * 100.0)
}

/// Whether the readings of each material belong together and tell what they are for.
fn judge(sittings: &[(Light, Vec<&Line>)], project: &Project, report: &Report) {
    let mut done: Vec<&str> = Vec::new();
    for (light, _) in sittings {
        if done.contains(&light.material.as_str()) {
            continue;
        }
        done.push(&light.material);
        let Some(material) =
            project.bodies.iter().chain([&project.unlisted]).map(|b| &b.material).find(|m| m.name == light.material)
        else {
            continue;
        };
        let of: Vec<&(Light, Vec<&Line>)> = sittings.iter().filter(|(l, _)| l.material == light.material).collect();
        let lights: Vec<&Light> = of.iter().map(|(l, _)| l).collect();
        let lines: Vec<&Line> = of.iter().flat_map(|(_, lines)| lines.iter().copied()).collect();
        weigh(&lights, &lines, material, report);
    }
}

fn weigh(lights: &[&Light], lines: &[&Line], material: &Material, report: &Report) -> Option<()> {
    let last = lines.last()?;
    let found = match light_summary(lights, material) {
        Ok(found) => found?,
        Err(error) => return last.cell.error(report, error.to_string(), "measure again, the room dark"),
    };
    // A slip pulls the fit towards itself: what do the others say of each reading without it?
    if lines.len() > FEWEST && found.left.iter().any(|left| left.abs() > DOUBT * NOISE) {
        let alone = |at: usize| without(lights, material, Some(at)).ok().flatten().map_or(0.0, |f| f.left[at]);
        let others: Vec<f64> = (0..lines.len()).map(alone).collect();
        let worst = (0..lines.len()).max_by(|a, b| others[*a].abs().total_cmp(&others[*b].abs()))?;
        if others[worst].abs() > libm::log(SLIP) {
            let (line, times) = (lines[worst], libm::exp(others[worst]));
            let message =
                format!("step {} lets through {times:.2} times the light that the other steps say", line.step);
            return line.cell.error(report, message, "measure it again, and its thickness, or leave it out");
        }
    }
    if found.suffices() {
        return Some(());
    }
    let [usual, low, high] = found.scatter_per_mm;
    let message = format!(
        "the readings of {} leave its scattering open: {usual:.2} /mm, but {low:.2} to {high:.2} fit as well (noise {:.0} %, condition \
         number {:.0})",
        material.name,
        found.noise * 100.0,
        found.condition
    );
    let help = if lights.iter().any(|l| !l.of_screen) {
        "read the bare screen too: steps compared among each other don't tell scattering from absorption"
    } else if found.noise > 2.0 * NOISE {
        "readings scatter too much: darken the room, fix the camera, set everything by hand, and read each step twice"
    } else {
        "read all steps, the thickest and the thinnest above all, and the screen from 60 degrees"
    };
    last.cell.error(report, message, help)
}
