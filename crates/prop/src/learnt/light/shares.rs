//! From pixel values, meter readings and exposures to shares of the screen's light.

use super::readings::{How, Line};
use crate::fields::Report;

/// Pixel values that can be compared: darker ones drown in noise, brighter ones are cut off.
const PIXEL: [f64; 2] = [8.0, 247.0];
/// Pixel values that are taken for the same.
const ALIKE: f64 = 2.0;
/// Stray light, as a share of the dimmest step, that spoils it.
const STRAY: f64 = 0.25;
/// More than this share of the screen's light no step passes; a little more is noise.
const MOST: f64 = 1.03;

/// What the lines of one group come to.
pub(super) struct Shares {
    /// Whether they are of the bare screen.
    pub(super) of_screen: bool,
    /// The screen from 60 degrees.
    pub(super) slant: Option<f64>,
    /// One for each line about a step, in their order.
    pub(super) steps: Vec<f64>,
}

/// The bare screen, the same from 60 degrees, what is dark, and the steps.
pub(super) struct Group<'s, 'l> {
    pub(super) screen: Vec<&'l Line<'s>>,
    pub(super) slant: Vec<&'l Line<'s>>,
    pub(super) dark: Vec<&'l Line<'s>>,
    pub(super) steps: Vec<&'l Line<'s>>,
}

/// Shares of the light; every mistake is reported at its line.
pub(super) fn shares(how: How, group: &Group, report: &Report) -> Option<Shares> {
    let made = match how {
        How::Camera => by_camera(group, report),
        How::Raw | How::Meter => by_numbers(group, how == How::Raw, report),
        How::Share => Some(Shares {
            of_screen: true,
            slant: group.slant.first().map(|l| l.value),
            steps: group.steps.iter().map(|l| l.value).collect(),
        }),
    }?;
    let over = |(line, share): (&&Line, &f64)| {
        (made.of_screen && *share > MOST).then(|| {
            let message = format!("{:.0} % of the bare screen's light comes through step {}", share * 100.0, line.step);
            line.cell.error::<()>(
                report,
                message,
                "a step can't pass more than there is: measure it and the screen again",
            );
        })
    };
    if group.steps.iter().zip(&made.steps).filter_map(over).count() > 0 {
        return None;
    }
    Some(made)
}

/// The camera's curve is read from the bare screen at several exposures: a step as bright as the screen was at an exposure
/// of t, seen at an exposure of s, lets through t / s. How the camera turns light into pixel values cancels out.
fn by_camera(group: &Group, report: &Report) -> Option<Shares> {
    let mut curve: Vec<[f64; 2]> = Vec::new();
    let mut screen = group.screen.clone();
    let all = || screen.iter().chain(&group.slant).chain(&group.steps);
    let mut fine = true;
    for line in all().chain(&group.dark) {
        fine &= line.exposure(report).is_some();
    }
    for line in all() {
        if !(PIXEL[0]..=PIXEL[1]).contains(&line.value) {
            let word = if line.value < PIXEL[0] { "dark" } else { "bright" };
            let message = format!("a pixel value of {} is too {word} to be compared", line.value);
            line.cell.error::<()>(report, message, "change the exposure until it lies between 30 and 220");
            fine = false;
        }
    }
    if !fine {
        return None;
    }
    let Some(first) = group.steps.first().filter(|_| screen.is_empty()) else {
        screen.sort_by(|a, b| a.exposure_s.total_cmp(&b.exposure_s));
        for pair in screen.windows(2) {
            if pair[1].value < pair[0].value - ALIKE {
                let message = format!(
                    "the screen is darker here ({}) than at the shorter exposure of {} s ({})",
                    pair[1].value, pair[0].exposure_s, pair[0].value
                );
                return pair[1].cell.error(report, message, "read both again, everything on the camera set by hand");
            }
        }
        for line in &screen {
            // Values alike are one point, the later one's.
            match curve.last_mut().filter(|last| line.value - last[0] < 1e-9) {
                Some(last) => last[1] = (last[1] + libm::log(line.exposure_s)) / 2.0,
                None => curve.push([line.value, libm::log(line.exposure_s)]),
            }
        }
        return along(&curve, group, report);
    };
    let help = "photograph the bare screen through a window too, at exposures that make it as bright as the steps";
    first.cell.error(report, "a camera's steps need the bare screen beside them", help)
}

fn along(curve: &[[f64; 2]], group: &Group, report: &Report) -> Option<Shares> {
    let (first, last) = (curve.first()?, curve.last()?);
    let share = |line: &Line| -> Option<f64> {
        if line.value < first[0] - ALIKE || line.value > last[0] + ALIKE {
            let message = format!(
                "the bare screen was read from {} to {}, and never as bright as {}",
                first[0], last[0], line.value
            );
            let way = if line.value > last[0] { "longer" } else { "shorter" };
            let help = format!("photograph the bare screen at {way} exposures too, or this step at another");
            return line.cell.error(report, message, help);
        }
        let at = curve.windows(2).find(|p| line.value <= p[1][0]).or_else(|| curve.windows(2).last());
        let log = match at {
            Some([a, b]) if b[0] > a[0] => a[1] + (b[1] - a[1]) * ((line.value - a[0]) / (b[0] - a[0])).clamp(0.0, 1.0),
            _ => first[1],
        };
        Some(libm::exp(log) / line.exposure_s)
    };
    let steps: Vec<Option<f64>> = group.steps.iter().map(|l| share(l)).collect();
    let slant: Vec<Option<f64>> = group.slant.iter().map(|l| share(l)).collect();
    let steps: Vec<f64> = steps.into_iter().collect::<Option<_>>()?;
    let slant = slant.into_iter().collect::<Option<Vec<f64>>>()?;
    let dimmest = steps.iter().copied().fold(f64::INFINITY, f64::min);
    for line in group.dark.iter().filter(|l| l.value >= first[0]) {
        // Brighter than the screen at its shortest exposure: enough to be told.
        stray(line, share(line)?, dimmest, report)?;
    }
    Some(Shares { of_screen: true, slant: mean(&slant), steps })
}

fn stray(line: &Line, dark: f64, dimmest: f64, report: &Report) -> Option<()> {
    if dark < STRAY * dimmest {
        return Some(());
    }
    let message = format!("stray light is {:.0} % of the dimmest step", 100.0 * dark / dimmest);
    line.cell.error(report, message, "darken the room, and cover the frame's joints and thin places with tape")
}

/// Numbers that grow with the light: raw pixel values over the exposure, or a meter's.
fn by_numbers(group: &Group, exposed: bool, report: &Report) -> Option<Shares> {
    let black = mean(&group.dark.iter().map(|l| l.value).collect::<Vec<_>>()).unwrap_or(0.0);
    let light = |line: &Line| -> Option<f64> {
        let over = line.value - black;
        if over <= 0.0 {
            let message = format!("{} is no more than the dark reading, {black:.3}", line.value);
            return line.cell.error(report, message, "expose longer, or darken the room");
        }
        Some(if exposed { over / line.exposure(report)? } else { over })
    };
    let all = |lines: &[&Line]| -> Option<Vec<f64>> {
        let each: Vec<Option<f64>> = lines.iter().map(|l| light(l)).collect();
        each.into_iter().collect()
    };
    let (screen, slant, steps) = (all(&group.screen)?, all(&group.slant)?, all(&group.steps)?);
    let dimmest = group.steps.iter().map(|l| l.value - black).fold(f64::INFINITY, f64::min);
    if !exposed {
        // A raw value's black level is no light; a meter's dark reading is.
        group.dark.iter().try_for_each(|line| stray(line, line.value, dimmest, report))?;
    }
    let of_screen = mean(&screen);
    let whole = of_screen.or_else(|| steps.iter().copied().reduce(f64::max))?;
    let slant = mean(&slant).filter(|_| of_screen.is_some()).map(|s| s / whole);
    Some(Shares { of_screen: of_screen.is_some(), slant, steps: steps.iter().map(|s| s / whole).collect() })
}

fn mean(values: &[f64]) -> Option<f64> {
    if values.is_empty() { None } else { Some(values.iter().sum::<f64>() / values.len() as f64) }
}
