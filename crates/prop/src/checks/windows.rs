//! Does each window exist, is there light behind it, and does it come through?

use super::{Checked, Work, note};
use crate::catalogue::Material;
use crate::finding::{Band, CHOICE, Finding, SHAPE, input};
use crate::outcome::{Pixel, Role};
use crate::window::{Skin, Window};
use glow::{ANGLES, Finish, Incidence, Medium, Wall, doubled};
use solid::DVec3;

/// A smaller window is none, mm2 (our choice).
const LEAST_MM2: f64 = 10.0;
/// So far beyond the first and last pixel the cavity is still lit, mm (our choice: by distance alone; `glow` follows the light).
const BESIDE_MM: f64 = 30.0;
/// Share of a window that must lie over the lit stretch (our choice).
const LIT_SHARE: f64 = 0.9;
/// A pixel further off lights nothing, mm (our choice: by distance alone; `glow` follows the light).
const REACH_MM: f64 = 60.0;
/// Share of diffuse light that plastic and coats must let through (our choice: less looks dark beside a lit wall).
const LEAST_THROUGH: f64 = 0.05;
/// The narrowest strip that can be masked, mm.
const MASK_MM: f64 = 2.0;

const COLOURS: [&str; 3] = ["red", "green", "blue"];

pub(super) fn check(work: &Work) -> Vec<Finding> {
    let mut found = Vec::new();
    for window in work.windows.list() {
        if !window.implied {
            found.push(area(work, window));
        }
        if window.area_mm2 < LEAST_MM2 {
            continue;
        }
        if !window.implied {
            found.push(lit(work, window));
            found.extend(reach(work, window));
            found.extend(mask(work, window));
        }
        found.extend(passes(work, window));
    }
    found.extend(beside(work));
    found
}

fn body_name<'a>(work: &'a Work, window: &Window) -> &'a str {
    &work.placed.bodies[window.body].name
}

/// In which of the project's tables the window is, for remedies.
fn subject(window: &Window) -> String {
    format!("window {}", window.name)
}

fn span(work: &Work, window: &Window) -> [f64; 2] {
    if window.area_mm2 > 0.0 { window.station_mm } else { work.placed.bodies[window.body].station_mm }
}

fn area(work: &Work, window: &Window) -> Finding {
    let (name, body) = (body_name(work, window), &work.placed.bodies[window.body]);
    let [from, to] = body.station_mm;
    let message = if window.area_mm2 > 0.0 {
        let [a, b] = window.station_mm;
        let cm2 = window.area_mm2 / 100.0;
        format!("{cm2:.1} cm2 of {name} lie in this window, from station {a:.0} to {b:.0} mm.")
    } else {
        format!("No point of {name} keeps everything that this window says.")
    };
    Checked {
        id: "window_area",
        subject: subject(window),
        station_mm: Some(span(work, window)),
        value: Band::factor(window.area_mm2, 0.99, 1.01),
        unit: "mm2",
        min: Some(LEAST_MM2),
        max: None,
        source: "our choice: less is no window".into(),
        message,
        remedy: format!(
            "let band, stations and faces of [window.{}] meet on {name}, which spans stations {from:.0} to {to:.0} mm",
            window.name
        ),
    }
    .finding()
    .worked_from({
        let [a, b] = span(work, window);
        [input("from station", a, "mm", SHAPE), input("to station", b, "mm", SHAPE)]
    })
}

/// The pixels within the stations of a window's body.
fn pixels<'a>(work: &'a Work, window: &Window) -> Vec<&'a Pixel> {
    let [from, to] = work.placed.bodies[window.body].station_mm;
    let all = work.inside.rail.as_ref().map_or(&[][..], |r| &r.pixels);
    all.iter().filter(|p| p.station_mm >= from && p.station_mm <= to).collect()
}

/// How much of the window lies where its body is hollow and pixels are near.
fn lit(work: &Work, window: &Window) -> Finding {
    let name = body_name(work, window);
    let cavity = work.inside.bodies.iter().find(|b| b.body == window.body).and_then(|b| b.cavity.as_ref());
    let hollow = cavity.and_then(|m| m.bounds()).map(|b| [b.min.x, b.max.x]);
    let stations = pixels(work, window);
    let stations = stations.iter().map(|p| p.station_mm);
    let shone = stations.fold([f64::INFINITY, f64::NEG_INFINITY], |a, s| [a[0].min(s), a[1].max(s)]);
    let within = |p: &DVec3| {
        let s = work.placed.path.station_of(*p);
        hollow.is_some_and(|[from, to]| p.x >= from && p.x <= to)
            && s >= shone[0] - BESIDE_MM
            && s <= shone[1] + BESIDE_MM
    };
    let over = window.samples.iter().filter(|[p, _]| within(p)).count();
    let share = over as f64 / window.samples.len().max(1) as f64;
    let (message, remedy) = if hollow.is_none() {
        let message = format!("{name} is printed with infill and has no light inside.");
        (message, format!("put the window into a lit body, or write role = \"lit\" for {name}"))
    } else if shone[0] > shone[1] {
        (format!("{name} has no pixel inside."), "let the strip run through it: light.from, light.to".to_owned())
    } else {
        let [from, to] = [shone[0] - BESIDE_MM, shone[1] + BESIDE_MM].map(|s| s.max(0.0));
        (
            format!(
                "{:.0} % of the window lie where {name} is hollow and lit: its pixels stand from station {:.0} to {:.0} mm.",
                share * 100.0,
                shone[0],
                shone[1]
            ),
            format!(
                "give the window stations = [\"{from:.0} mm\", \"{to:.0} mm\"] or less, or let the strip reach further"
            ),
        )
    };
    Checked {
        id: "window_lit",
        subject: subject(window),
        station_mm: Some(window.station_mm),
        value: Band::exact(share),
        unit: "1",
        min: Some(LIT_SHARE),
        max: None,
        source: format!("our choice: {BESIDE_MM:.0} mm beyond the last pixel it grows dim"),
        message,
        remedy,
    }
    .finding()
    .worked_from([
        input("points over the lit stretch", over as f64, "1", SHAPE),
        input("points of the window", window.samples.len() as f64, "1", SHAPE),
        input("first pixel", shone[0], "mm", "the strip as it lies"),
        input("last pixel", shone[1], "mm", "the strip as it lies"),
        input("lit beyond them", BESIDE_MM, "mm", CHOICE),
    ])
}

/// The nearest pixel; nothing where there is none at all, which [`lit`] says.
fn reach(work: &Work, window: &Window) -> Option<Finding> {
    let pixels = pixels(work, window);
    let nearest = |p: &Pixel| {
        let off = window.samples.iter().map(|[q, _]| (*q - p.point).length_squared());
        off.fold(f64::INFINITY, f64::min)
    };
    let (square, pixel) =
        pixels.iter().map(|p| (nearest(p), *p)).fold(None, |best: Option<(f64, &Pixel)>, new| match best {
            Some(old) if old.0 <= new.0 => Some(old),
            _ => Some(new),
        })?;
    let value = square.sqrt();
    Some(
        Checked {
            id: "window_reach",
            subject: subject(window),
            station_mm: Some(window.station_mm),
            value: Band::exact(value),
            unit: "mm",
            min: None,
            max: Some(REACH_MM),
            source: "our choice, by distance alone".into(),
            message: format!(
                "The nearest pixel, {} of strip {} at station {:.0} mm, is {value:.0} mm from the window.",
                pixel.number, pixel.strip, pixel.station_mm
            ),
            remedy: "move the window to the strip, or let the strip reach it: light.from, light.to".into(),
        }
        .finding()
        .worked_from([
            input("nearest pixel at station", pixel.station_mm, "mm", "the strip as it lies"),
            input("points of the window", window.samples.len() as f64, "1", SHAPE),
        ]),
    )
}

/// The narrowest measure that has to be masked; only where something is painted beside it.
fn mask(work: &Work, window: &Window) -> Option<Finding> {
    if work.windows.skin(window.body, None)?.coats.is_empty() {
        return None;
    }
    let widths = window.zone.band.iter().map(|(_, width)| *width);
    let lengths = window.zone.stations_mm.iter().map(|[from, to]| to - from);
    let value = widths.chain(lengths).fold(f64::INFINITY, f64::min);
    value.is_finite().then(|| {
        Checked {
            id: "window_mask",
            subject: subject(window),
            station_mm: Some(window.station_mm),
            value: Band::exact(value),
            unit: "mm",
            min: Some(MASK_MM),
            max: None,
            source: "masking tape is cut no narrower by hand: common practice, no source".into(),
            message: format!("At its narrowest {value:.1} mm have to be masked before the rest is painted."),
            remedy: format!("make window.{}.width or its stations {MASK_MM:.0} mm or more", window.name),
        }
        .finding()
        .worked_from(
            window
                .zone
                .band
                .iter()
                .map(|(_, width)| input("width", *width, "mm", format!("window.{}.width", window.name)))
                .chain(
                    window
                        .zone
                        .stations_mm
                        .iter()
                        .map(|[a, b]| input("length", b - a, "mm", format!("window.{}.stations", window.name))),
                ),
        )
    })
}

/// Share of diffuse light that comes through the wall and the window's coats, in the colour that passes best.
fn passes(work: &Work, window: &Window) -> Option<Finding> {
    let own = work.inside.bodies.iter().find(|b| b.body == window.body && b.cavity.is_some())?;
    let (material, wall_mm) = (&own.rules.material, own.rules.wall_mm);
    let each = [0, 1, 2].map(|k| through(material, wall_mm, &window.skin, k, [0, 0]).unwrap_or(0.0));
    let best = (1..3).fold(0, |best, k| if each[k] > each[best] { k } else { best });
    let end = |at: usize| through(material, wall_mm, &window.skin, best, [at, at]).unwrap_or(0.0);
    let value = Band { value: each[best], low: end(2).min(each[best]), high: end(1).max(each[best]) };
    let coats =
        if window.skin.coats.is_empty() { String::new() } else { format!(" and {}", window.skin.coats.join(", ")) };
    let optics = &material.optics;
    Some(
        Checked {
            id: "window_passes",
            subject: subject(window),
            station_mm: Some(window.station_mm),
            value,
            unit: "1",
            min: Some(LEAST_THROUGH),
            max: None,
            source: format!(
                "our choice; {}, {}: an engineering guess until a light coupon is measured",
                optics.scatter_origin.words("scatter"),
                optics.absorb_origin.words("absorb")
            ),
            message: format!(
                "{wall_mm:.1} mm of {}{coats} let {:.0} % of diffuse light through in {}, the best colour ({:.0} % to {:.0} %).",
                material.title,
                value.value * 100.0,
                COLOURS[best],
                value.low * 100.0,
                value.high * 100.0
            ),
            remedy: format!(
                "leave opaque coats out of the window, or take a paler plastic or a thinner wall for {}",
                body_name(work, window)
            ),
        }
        .finding()
        .worked_from([
            input("wall", wall_mm, "mm", format!("body.{}.wall", own.rules.name)),
            input("scattering", optics.scatter_per_mm[0], "/mm", optics.scatter_origin.words("scatter")),
            input("absorption", optics.absorb_per_mm[best][0], "/mm", optics.absorb_origin.words("absorb")),
            input("refractive index", optics.index[best], "1", "catalogue: material"),
            input("let through by the coats", window.skin.through[best], "1", "catalogue: coats"),
            input("sent back by them", window.skin.towards_plastic[best], "1", "catalogue: coats"),
        ]),
    )
}

/// `ends` picks usual (0), lowest (1) or highest (2) scattering and absorption.
fn through(material: &Material, wall_mm: f64, skin: &Skin, colour: usize, ends: [usize; 2]) -> Option<f64> {
    let optics = &material.optics;
    let medium =
        Medium::of_reduced(optics.scatter_per_mm[ends[0]], optics.absorb_per_mm[colour][ends[1]], optics.index[colour]);
    let wall = Wall::checked(medium.ok()?, wall_mm, Finish::Bare, skin.finish(colour)).ok()?;
    let clear = if skin.bare { skin.through[colour] } else { 1.0 };
    Some(doubled(&wall, Incidence::Diffuse, ANGLES).ok()?.through() * clear)
}

/// Lit bodies with a window and nothing on the rest: light comes out there too.
fn beside(work: &Work) -> Vec<Finding> {
    let bodies = work.placed.bodies.iter().enumerate().filter(|(_, b)| b.role == Role::Lit);
    bodies
        .filter(|(body, _)| {
            let bare = work.windows.skin(*body, None).is_some_and(|s| s.coats.is_empty());
            bare && work.windows.list().iter().any(|w| w.body == *body && !w.implied && !w.zone.is_whole())
        })
        .map(|(_, b)| {
            note(
                "window_beside",
                b.name.clone(),
                Some(b.station_mm),
                0.0,
                "1",
                format!("{} carries no coats, so light comes out beside its windows too; body.{}.coats says what covers the rest.", b.name, b.name),
            )
        })
        .collect()
}
