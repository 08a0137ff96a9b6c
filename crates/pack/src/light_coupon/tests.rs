//! The light coupon's files.

use super::*;
use prop::catalogue::Catalogue;
use prop::coupon::light_coupons;
use quick_xml::Reader;
use quick_xml::events::Event;

const PROJECT: &str = "[prop]\nname = \"Reed & \\\"short\\\"\"\n[shape]\nfile = \"a.stl\"\n[body.blade]\nrole = \"lit\"\n\
    material = \"abs-white\"\nwall = \"2 mm\"\n[light]\nstrip = \"strip-60\"\n[printer.\"wide, old\"]\nkind = \"filament-220\"\n";

fn made() -> (Vec<LightCoupon>, Vec<Artifact>) {
    let project = prop::project::parse(PROJECT, &Catalogue::built_in()).unwrap();
    let coupons = light_coupons(&project, &["blade"]).unwrap();
    let artifacts = light_coupon(&project.name, &project.imprint, &coupons).unwrap();
    (coupons, artifacts)
}

fn text(artifacts: &[Artifact], path: &str) -> String {
    String::from_utf8(artifacts.iter().find(|a| a.path == path).unwrap().bytes.clone()).unwrap()
}

#[test]
fn everything_is_there_under_its_name() {
    let (_, artifacts) = made();
    let paths: Vec<&str> = artifacts.iter().map(|a| a.path.as_str()).collect();
    let wanted = [
        "light-1/1-frame.3mf",
        "light-1/1-frame.stl",
        "light-1/1-wedge.3mf",
        "light-1/1-wedge.stl",
        "light-coupon-a4.pdf",
        "light-coupon-letter.pdf",
        "light-coupon.pdf",
        "light-coupon.svg",
        "measure.html",
        "readings.csv",
    ];
    assert_eq!(paths, wanted);
}

#[test]
fn the_sheet_has_lines_for_screen_dark_and_every_step() {
    let (coupons, artifacts) = made();
    let sheet = text(&artifacts, "readings.csv");
    let lines: Vec<&str> = sheet.lines().filter(|l| !l.starts_with('#')).collect();
    assert_eq!(lines.len(), 1 + 5 + 1 + 1 + coupons[0].steps.len());
    assert_eq!(lines[0], "printer,material,step,thickness,colour,how,exposure,reading");
    assert!(lines.contains(&"\"wide, old\",abs-white,screen-60,,white,,,"), "{sheet}");
    let step = &coupons[0].steps[2];
    let line = format!("\"wide, old\",abs-white,{},{:.2} mm,white,,,", step.figure, step.thickness_mm);
    assert!(lines.contains(&line.as_str()), "{line}\n{sheet}");
    // It is the sheet that is read: all it lacks are readings.
    let project = prop::project::parse(PROJECT, &Catalogue::built_in()).unwrap();
    let told = prop::learnt::light_readings(&sheet, &project, &prop::learnt::Note::default()).unwrap_err();
    assert!(told.render("s", &sheet).contains("no line of the sheet is filled in"));
}

#[test]
fn page_and_drawing_are_well_formed_and_name_every_step() {
    let (coupons, artifacts) = made();
    for path in ["light-coupon.svg", "measure.html"] {
        // The page's empty elements are the three in its head.
        let mut found = text(&artifacts, path).replace("<!doctype html>", "");
        for line in found.clone().lines().filter(|l| l.starts_with("<meta")) {
            found = found.replace(line, "");
        }
        let (mut words, mut depth, mut reader) = (Vec::new(), 0i32, Reader::from_str(&found));
        loop {
            match reader.read_event().unwrap() {
                Event::Eof => break,
                Event::Start(_) => depth += 1,
                Event::End(_) => depth -= 1,
                Event::Text(t) => words.push(String::from_utf8(t.to_vec()).unwrap()),
                _ => {}
            }
        }
        assert_eq!(depth, 0, "{path}");
        for step in &coupons[0].steps {
            for word in [step.figure.to_string(), format!("{:.2}", step.thickness_mm)] {
                assert!(words.contains(&word), "{path}: {word}");
            }
        }
    }
    let drawing = text(&artifacts, "light-coupon.svg");
    assert!(drawing.contains("width=\"297mm\"") && drawing.contains("Reed &amp; &quot;short&quot;"));
}
