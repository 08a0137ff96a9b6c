//! The coupon's files: everything named, everything countable.

use super::*;
use prop::catalogue::Catalogue;
use prop::coupon::{coupons, stock};
use quick_xml::Reader;
use quick_xml::events::Event;

const PROJECT: &str = "[prop]\nname = \"Reed, \\\"short\\\"\"\n[shape]\nfile = \"a.stl\"\n[body.blade]\nrole = \"lit\"\n\
    material = \"abs-white\"\n[light]\nstrip = \"strip-60\"\n[spine]\nbar = \"round-glass-10\"\n\
    [printer.\"wide, old\"]\nkind = \"filament-220\"\n";

fn made() -> (Vec<Coupon>, Vec<Artifact>) {
    let project = prop::project::parse(PROJECT, &Catalogue::built_in()).unwrap();
    let coupons = coupons(&project, &["blade"]).unwrap();
    let artifacts = coupon(&project.name, &project.imprint, &coupons, &stock(&project)).unwrap();
    (coupons, artifacts)
}

fn text(artifacts: &[Artifact], path: &str) -> String {
    String::from_utf8(artifacts.iter().find(|a| a.path == path).unwrap().bytes.clone()).unwrap()
}

#[test]
fn every_part_comes_in_both_formats() {
    let (coupons, artifacts) = made();
    let names: Vec<&str> = coupons[0].parts.iter().map(|p| p.name.as_str()).collect();
    for name in &names {
        for end in ["3mf", "stl"] {
            let path = format!("coupon-1/{name}.{end}");
            assert!(artifacts.iter().any(|a| a.path == path && a.bytes.len() > 600), "{path}");
        }
    }
    assert_eq!(artifacts.len(), 2 * names.len() + 5);
    assert!(artifacts.is_sorted_by(|a, b| a.path < b.path));
}

#[test]
fn the_sheet_has_a_line_for_every_step() {
    let (coupons, artifacts) = made();
    let sheet = text(&artifacts, "readings.csv");
    let lines: Vec<&str> = sheet.lines().filter(|l| !l.starts_with('#')).collect();
    let places: usize = coupons[0].parts.iter().map(|p| p.places.len()).sum();
    // The heading; the bar's diameter and the strip's width; the rule's scale.
    assert_eq!(lines.len(), 1 + 2 + places + 1);
    assert_eq!(lines[0], "printer,material,row,feature,nominal,step,gap,reading,how");
    assert!(lines.contains(&"stock,round-glass-10,,diameter,10 mm,,,,"), "{sheet}");
    assert!(lines.contains(&"\"wide, old\",abs-white,12,bar-bore,10 mm,3,0.15 mm,,"), "{sheet}");
    assert!(lines.contains(&"\"wide, old\",abs-white,17,inside,50 mm,1,,,"), "{sheet}");
}

#[test]
fn the_drawing_names_every_part_at_full_size() {
    let (coupons, artifacts) = made();
    let drawing = text(&artifacts, "coupon.svg");
    let (mut words, mut ids, mut sheet) = (Vec::new(), Vec::new(), Vec::new());
    let mut reader = Reader::from_str(&drawing);
    loop {
        match reader.read_event().unwrap() {
            Event::Eof => break,
            Event::Start(e) if e.name().as_ref() == b"g" => {
                let id = e.try_get_attribute("id").unwrap().unwrap();
                ids.push(String::from_utf8(id.value.to_vec()).unwrap());
            }
            Event::Start(e) if e.name().as_ref() == b"svg" => {
                sheet = ["width", "viewBox"]
                    .map(|a| String::from_utf8(e.try_get_attribute(a).unwrap().unwrap().value.to_vec()).unwrap())
                    .to_vec();
            }
            Event::Text(t) => words.push(String::from_utf8(t.to_vec()).unwrap()),
            _ => {}
        }
    }
    // A millimetre of the drawing is one of the sheet.
    assert_eq!(sheet[0], "249mm");
    assert!(sheet[1].starts_with("0 0 249 "), "{sheet:?}");
    for part in &coupons[0].parts {
        assert!(words.contains(&part.name), "{}", part.name);
        assert!(ids.contains(&format!("coupon-{}", part.name)), "{ids:?}");
    }
    for gap in ["0.05", "0.3", "0.5", "outside 100", "inside 50", "\u{2300}11", "push the bar through"] {
        assert!(words.iter().any(|w| w == gap), "{gap}: {words:?}");
    }
}
