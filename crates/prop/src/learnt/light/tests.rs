//! Sheets made by the model, with a camera's curve and noise, and read back; sheets with mistakes.

use super::*;
use crate::catalogue::{Catalogue, Origin};
use crate::learnt::{Learnt, append, apply, read};
use crate::project::{Project, parse};
use glow::Medium;
use glow::fit::{fullness, seen_through};
use proptest::prelude::*;

const PROJECT: &str = "[prop]\nname = \"t\"\n[shape]\nfile = \"a.stl\"\n[body.blade]\nrole = \"lit\"\nmaterial = \"abs-white\"\n\
    printers = [\"wide\"]\n[body.grip]\nrole = \"plain\"\nmaterial = \"abs-white\"\nprinters = [\"wide\"]\n[light]\n\
    strip = \"strip-60\"\n[printer.wide]\nkind = \"filament-220\"\n";
const HEADING: &str = "printer,material,step,thickness,colour,how,exposure,reading\n";
const THICKNESS: [f64; 6] = [0.9, 1.35, 1.8, 2.7, 3.6, 4.95];
/// A screen as it may be: its reflectance, and its brightness from 60 degrees.
const BEHIND: f64 = 0.10;
const AT_60: f64 = 0.6;
/// What the plastic does: more than the catalogue's usual 3 and 0.005 per mm.
const SCATTER: f64 = 4.2;
const ABSORB: f64 = 0.012;

fn project() -> Project {
    parse(PROJECT, &Catalogue::built_in()).unwrap()
}

fn note() -> Note {
    Note { date: "2026-11-25".into(), sheet: "0123456789ab".into() }
}

fn share(thickness_mm: f64, cosine: f64) -> f64 {
    let index = project().bodies[0].material.optics.index[1];
    let plastic = Medium::of_reduced(SCATTER, ABSORB, index).unwrap();
    seen_through(&plastic, thickness_mm, cosine, [BEHIND, fullness(AT_60)]).unwrap()
}

/// A camera's curve as cameras have it: bent, with a shoulder, and to a whole number.
fn pixel(light: f64) -> f64 {
    (255.0 * libm::pow(1.0 - libm::exp(-light), 1.0 / 2.2)).round()
}

/// The sheet of somebody who set exposures in thirds of a stop so that pixels came out about half way.
fn camera_sheet() -> String {
    let thirds = |k: i32| libm::exp2(f64::from(k) / 3.0) / 1000.0;
    let exposure = |bright: f64| thirds((3.0 * libm::log2(0.2 * 1000.0 / bright)).round() as i32);
    let mut lines = String::from(HEADING);
    let mut line = |step: &str, thickness: &str, seconds: f64, light: f64| {
        lines += &format!("wide,abs-white,{step},{thickness},,camera,{seconds:.6} s,{}\n", pixel(light * seconds));
    };
    // The screen gives 100 a second.
    for k in [-1, 0, 1, 2, 3, 4] {
        line("screen", "", thirds(k), 100.0);
    }
    line("screen-60", "", exposure(100.0 * AT_60), 100.0 * AT_60);
    for (k, t) in THICKNESS.iter().enumerate() {
        let light = 100.0 * share(*t, 1.0);
        line(&format!("1{}", k + 1), &format!("{t} mm"), exposure(light), light);
    }
    lines
}

/// A meter's sheet, with 5 lx of stray light that it shows in the dark too.
fn meter_sheet() -> String {
    let mut lines = format!("{HEADING}wide,abs-white,screen,,,meter,,1005\nwide,abs-white,dark,,,meter,,5 lx\n");
    lines += &format!("wide,abs-white,screen-60,,,meter,,{}\n", 1000.0 * AT_60 + 5.0);
    for (k, t) in THICKNESS.iter().enumerate() {
        lines += &format!("wide,abs-white,1{},{t} mm,white,meter,,{:.1}\n", k + 1, 1000.0 * share(*t, 0.8) + 5.0);
    }
    lines
}

fn of_sheet(text: &str) -> Vec<Light> {
    light_readings(text, &project(), &note()).unwrap_or_else(|d| panic!("{}", d.render("readings.csv", text)))
}

fn summary(lights: &[Light]) -> LightSummary {
    let all: Vec<&Light> = lights.iter().collect();
    light_summary(&all, &project().bodies[0].material).unwrap().unwrap()
}

#[track_caller]
fn within(value: f64, [usual, low, high]: [f64; 3]) {
    assert!(low < value && value < high && low < usual && usual < high, "{value}: {usual} ({low} to {high})");
}

#[test]
fn a_camera_with_any_curve_gives_shares() {
    let lights = of_sheet(&camera_sheet());
    assert_eq!(lights.len(), 1);
    assert!(lights[0].of_screen && lights[0].seen == Seen::Camera && lights[0].colour == Colour::White);
    // Pixel values are whole numbers and the curve is drawn through points a third of a stop apart.
    for [thickness_mm, found] in &lights[0].steps {
        assert!((found / share(*thickness_mm, 1.0) - 1.0).abs() < 0.02, "{thickness_mm}: {found}");
    }
    assert!((lights[0].slant.unwrap() / AT_60 - 1.0).abs() < 0.02);
    let told = summary(&lights);
    within(SCATTER, told.scatter_per_mm);
    told.absorb_per_mm.iter().for_each(|band| within(ABSORB, band.unwrap()));
    assert!(told.suffices() && told.condition > 2.0 && told.noise < 0.04, "{told:?}");
    assert!(told.values().starts_with("scatters ") && told.values().contains("; absorbs 0.01"), "{}", told.values());
    // The band is narrower than the catalogue's, 1.5 to 6.
    assert!(told.scatter_per_mm[2] / told.scatter_per_mm[1] < 2.5, "{told:?}");
}

#[test]
fn a_meter_sees_a_cone_and_its_stray_light_is_taken_off() {
    let lights = of_sheet(&meter_sheet());
    assert_eq!(lights[0].seen, Seen::Meter);
    for [thickness_mm, found] in &lights[0].steps {
        assert!((found / share(*thickness_mm, 0.8) - 1.0).abs() < 0.01, "{thickness_mm}: {found}");
    }
    within(SCATTER, summary(&lights).scatter_per_mm);
    // Two sheets together say more than one.
    let both: Vec<Light> = lights.iter().cloned().chain(of_sheet(&camera_sheet())).collect();
    let [one, two] = [summary(&lights), summary(&both)].map(|s| s.scatter_per_mm[2] / s.scatter_per_mm[1]);
    assert!(two < one, "{two} {one}");
    within(SCATTER, summary(&both).scatter_per_mm);
}

#[test]
fn shares_and_raw_values_are_read_too() {
    let shares: String = THICKNESS
        .iter()
        .map(|t| format!("wide,abs-white,1,{t} mm,,share,,{:.2} %\n", share(*t, 1.0) * 100.0))
        .collect();
    let lights = of_sheet(&format!("{HEADING}wide,abs-white,screen-60,,,share,,60 %\n{shares}"));
    assert!(lights[0].slant == Some(0.6) && (lights[0].steps[0][1] - share(0.9, 1.0)).abs() < 1e-4);
    let raw: String = THICKNESS
        .iter()
        .map(|t| format!("wide,abs-white,1,{t} mm,,raw,1/20,{:.0}\n", share(*t, 1.0) * 2000.0 + 64.0))
        .collect();
    let raw = format!("{HEADING}wide,abs-white,screen,,,raw,1/100 s,464\nwide,abs-white,dark,,,raw,,64\n{raw}");
    let lights = of_sheet(&raw);
    for [thickness_mm, found] in &lights[0].steps {
        assert!((found / share(*thickness_mm, 1.0) - 1.0).abs() < 0.01, "{thickness_mm}: {found}");
    }
}

#[test]
fn colours_get_an_absorption_each() {
    let mut lines = String::from(HEADING);
    let optics = &project().bodies[0].material.optics;
    for (k, (colour, absorb)) in [("red", 0.004), ("green", 0.012), ("blue", 0.05)].into_iter().enumerate() {
        let plastic = Medium::of_reduced(SCATTER, absorb, optics.index[k]).unwrap();
        for t in THICKNESS {
            let seen = seen_through(&plastic, t, 1.0, [BEHIND, fullness(AT_60)]).unwrap();
            lines += &format!("wide,abs-white,1,{t} mm,{colour},share,,{:.3} %\n", seen * 100.0);
        }
        lines += &format!("wide,abs-white,screen-60,,{colour},share,,60 %\n");
    }
    let told = summary(&of_sheet(&lines));
    within(SCATTER, told.scatter_per_mm);
    within(0.012, told.absorb_per_mm[1].unwrap());
    within(0.05, told.absorb_per_mm[2].unwrap());
    assert!(told.absorb_per_mm[2].unwrap()[0] > told.absorb_per_mm[1].unwrap()[0]);
    assert!(told.values().contains("in blue"), "{}", told.values());
}

/// The first mistake of a sheet, as it is shown.
fn said(text: &str) -> String {
    light_readings(text, &project(), &note()).unwrap_err().render("readings.csv", text)
}

/// The meter's sheet with a text put for another.
fn with(from: &str, to: &str) -> String {
    let sheet = meter_sheet();
    assert!(sheet.contains(from), "{from}: {sheet}");
    said(&sheet.replacen(from, to, 1))
}

#[test]
fn mistakes_are_told_at_their_place() {
    for (from, to, place, words) in [
        ("11,0.9 mm", "11,0 mm", "line 5, column 19: thickness", "too small"),
        ("11,0.9 mm", "11,0.9", "thickness", "has no unit"),
        ("11,0.9 mm", "x,0.9 mm", "line 5, column 16: step", "neither a step nor the screen"),
        ("meter,,1005", "meter,,bright", "line 2, column 32: reading", "\"bright\" is not a number"),
        ("meter,,1005", "meter,,\"1,02\"", "reading", "is not a number"),
        ("meter,,1005", "meter,,-5", "reading", "is not a number"),
        ("meter,,1005", "glance,,1020", "how", "\"glance\" is not known here"),
        ("meter,,1005", "meter,1 mm,1020", "exposure", "unit of length"),
        ("meter,,1005", "raw,1/60,1020", "how", ""),
        (",white,", ",purple,", "colour", "\"purple\" is not known here"),
        ("wide,", "narrow,", "printer", "\"narrow\" is not known here"),
        ("abs-white", "abs-whit", "material", "did you mean \"abs-white\"?"),
        // The dark reading can't be brighter than a step.
        (",5 lx", ",900", "reading", "no more than the dark reading"),
        (",5 lx", ",30", "reading", "stray light is"),
        // The screen is dimmer than what passes the thinnest step.
        ("meter,,1005", "meter,,220", "line 5", "of the bare screen's light comes through step 11"),
    ] {
        let said = with(from, to);
        assert!(said.contains(place) || place == "how", "{from} {to}\n{said}");
        assert!(said.contains(words) && said.contains("to mend it: "), "{from} {to}\n{said}");
    }
    let percent = format!("{HEADING}wide,abs-white,11,1 mm,,share,,140 %\n");
    assert!(said(&percent).contains("line 2") && said(&percent).contains("140 % is too large"), "{}", said(&percent));
    assert!(said(HEADING).contains("no line of the sheet is filled in"));
    assert!(said("printer,material\n").contains("there is no column step"));
}

fn shares(rows: &[(u32, f64, f64)]) -> String {
    let line = |(step, mm, percent): &(u32, f64, f64)| format!("wide,abs-white,{step},{mm} mm,,share,,{percent} %\n");
    format!("{HEADING}{}", rows.iter().map(line).collect::<String>())
}

#[test]
fn readings_that_contradict_each_other_name_both() {
    let rows = |k: usize, factor: f64| -> Vec<(u32, f64, f64)> {
        let at =
            |(i, t): (usize, &f64)| (11 + i as u32, *t, 100.0 * share(*t, 1.0) * if i == k { factor } else { 1.0 });
        THICKNESS.iter().enumerate().map(at).collect()
    };
    let mut twice = rows(9, 1.0);
    twice.push((13, 1.8, 150.0 * share(1.8, 1.0)));
    let told = said(&shares(&twice));
    assert!(
        told.contains("line 8") && told.contains("step 13 lets through") && told.contains("of the same thickness"),
        "{told}"
    );
    let told = said(&shares(&rows(4, 1.9)));
    assert!(
        told.contains("line 6") && told.contains("step 15 lets through") && told.contains("step 14, which is thinner"),
        "{told}"
    );
    // A slip that keeps the order: told by what the other steps say.
    let told = said(&shares(&rows(5, 0.55)));
    assert!(
        told.contains("line 7") && told.contains("step 16 lets through 0.5") && told.contains("other steps say"),
        "{told}"
    );
    // Two of three lines alike in exposure and contrary in brightness.
    let sheet = camera_sheet().replacen(",camera,0.002000 s,", ",camera,0.002000 s,9", 1);
    let told = said(&sheet);
    assert!(told.contains("the screen is darker here") || told.contains("is out of range"), "{told}");
}

#[test]
fn readings_that_do_not_suffice_are_refused_with_what_is_missing() {
    let of = |n: usize| -> Vec<(u32, f64, f64)> {
        THICKNESS[..n].iter().enumerate().map(|(i, t)| (11 + i as u32, *t, 100.0 * share(*t, 1.0))).collect()
    };
    let told = said(&shares(&of(2)));
    assert!(told.contains("line 3") && told.contains("only 2 steps of abs-white were read"), "{told}");
    // Without the screen there are only ratios: scattering and absorption trade off.
    let sheet: String = meter_sheet().lines().filter(|l| !l.contains("screen")).map(|l| format!("{l}\n")).collect();
    let told = said(&sheet);
    assert!(told.contains("leave its scattering open") && told.contains("condition number"), "{told}");
    assert!(told.contains("read the bare screen too"), "{told}");
    // A camera's values mean nothing without it.
    let sheet: String = camera_sheet().lines().filter(|l| !l.contains("screen")).map(|l| format!("{l}\n")).collect();
    assert!(said(&sheet).contains("need the bare screen beside them"), "{}", said(&sheet));
    // Nor is a curve drawn on beyond what was read.
    let sheet: String =
        camera_sheet().lines().filter(|l| !l.contains("screen,,,camera,0.002")).map(|l| format!("{l}\n")).collect();
    let told = said(&sheet);
    assert!(told.contains("the bare screen was read from") && told.contains("at longer exposures"), "{told}");
    let sheet = camera_sheet().replace("white,13,1.8 mm,,camera,", "white,13,1.8 mm,,camera,9");
    assert!(!said(&sheet).contains("panicked"));
}

#[test]
fn what_was_measured_is_kept_and_used() {
    let lights = of_sheet(&camera_sheet());
    let all = Learnt { light: lights.clone(), ..Learnt::default() };
    let text = append("", &all);
    let again = read(&text).unwrap();
    assert_eq!(again.light.len(), 1);
    for (a, b) in again.light[0].steps.iter().zip(&lights[0].steps) {
        assert!((a[0] - b[0]).abs() < 1e-9 && (a[1] - b[1]).abs() < 1e-5, "{text}");
    }
    let mut p = project();
    apply(&mut p, PROJECT, &["blade", "grip"], &again);
    for body in &p.bodies {
        let optics = &body.material.optics;
        within(SCATTER, optics.scatter_per_mm);
        assert!(
            matches!(&optics.scatter_origin, Origin::Learnt(w) if w == "a light sheet for abs-white of 2026-11-25")
        );
    }
    let known: Vec<_> = p.learnt.iter().filter(|k| k.subject == "material abs-white").collect();
    assert_eq!(known.len(), 1, "{:?}", p.learnt);
    assert!(
        known[0].id == "learnt" && known[0].unit == "/mm" && known[0].message.starts_with("It scatters "),
        "{known:?}"
    );
    // The project has the last word, and other printers' wedges are not this one's.
    let stated = format!("{PROJECT}[material.abs-white]\nscatter = \"1 /mm\"\n");
    let mut p = parse(&stated, &Catalogue::built_in()).unwrap();
    apply(&mut p, &stated, &["blade"], &again);
    assert_eq!(p.bodies[0].material.optics.scatter_per_mm[0], 1.0);
    assert!(
        p.learnt.iter().any(|k| k.message.contains("the project file states its own scattering")),
        "{:?}",
        p.learnt
    );
    let mut other = again.clone();
    other.light[0].printer = "tall".into();
    let mut p = project();
    apply(&mut p, PROJECT, &["blade"], &other);
    assert_eq!(p.bodies[0].material, project().bodies[0].material);
    assert!(p.learnt.iter().any(|k| k.subject == "printer tall"), "{:?}", p.learnt);
}

#[test]
fn the_file_is_held_to_its_grammar() {
    let table = "schema = 1\n[[light]]\nprinter = \"wide\"\nmaterial = \"abs-white\"\nthickness = [\"1 mm\"]\nshare = [\"40 %\"]\ndate = \"d\"\nsheet = \"s\"\n";
    assert_eq!(read(table).unwrap().light[0].steps, [[1.0, 0.4]]);
    for (from, to, words) in [
        ("[\"1 mm\"]", "[\"1 mm\", \"2 mm\"]", "there are 2 thicknesses and 1 shares"),
        ("[\"1 mm\"]", "[\"0 mm\"]", "too small"),
        ("40 %", "200 %", "too large"),
        ("printer = \"wide\"\n", "", "light[1].printer"),
        ("date", "seen = \"eye\"\ndate", "did you mean"),
        ("share = [\"40 %\"]\n", "", "there are 1 thicknesses and 0 shares"),
    ] {
        let text = table.replacen(from, to, 1);
        let found = read(&text).unwrap_err().render("learnt.toml", &text);
        assert!(found.contains(words) || words == "did you mean" && found.contains("camera"), "{to}: {found}");
    }
}

proptest! {
    #[test]
    fn no_sheet_panics(text in "[\\PC\n\r\",;#]{0,200}", cells in prop::collection::vec("(wide|abs-white|screen|screen-60|dark|11|12|1 mm|2 mm|camera|raw|meter|share|1/60 s|0|41 %|120|-1|[a-z0-9 .]{0,6})", 0..40)) {
        let p = project();
        let lines: String = cells.chunks(5).map(|c| format!("wide,abs-white,{}\n", c.join(","))).collect();
        for sheet in [text.clone(), format!("{HEADING}{lines}"), format!("{HEADING}{text}")] {
            if let Err(found) = light_readings(&sheet, &p, &note()) {
                let _ = found.render("s", &sheet);
            }
        }
    }
}
