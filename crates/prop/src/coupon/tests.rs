//! Coupons measured on their own meshes.

use super::*;
use crate::catalogue::Catalogue;
use solid::section::{Basis, area_mm2, section};
use solid::{DVec3, self_intersects};

fn project(more: &str) -> Project {
    let text = format!(
        "[prop]\nname = \"t\"\n[shape]\nfile = \"a.stl\"\n[body.blade]\nrole = \"lit\"\nmaterial = \"abs-white\"\n\
         printers = [\"wide\"]\n[body.ring]\nrole = \"cover\"\nmaterial = \"resin-standard\"\nprinters = [\"fine\"]\n\
         [light]\nstrip = \"strip-60\"\n[printer.wide]\nkind = \"filament-220\"\n[printer.fine]\nkind = \"resin-small\"\n{more}"
    );
    crate::project::parse(&text, &Catalogue::built_in()).unwrap()
}

fn flat() -> Vec<Coupon> {
    coupons(&project("[spine]\nbar = \"flat-aluminium-12x3\"\n"), &["blade", "ring"]).unwrap()
}

/// The loops of a level section whose middle lies near `middle`.
fn opening(mesh: &Mesh, z_mm: f64, middle: DVec2) -> Vec<DVec2> {
    let level = Basis { origin: DVec3::Z * z_mm, x: DVec3::X, y: DVec3::Y };
    let loops = section(mesh, &level).unwrap();
    let centre = |l: &Vec<DVec2>| l.iter().sum::<DVec2>() / l.len() as f64;
    let holes: Vec<_> = loops.into_iter().filter(|l| area_mm2(std::slice::from_ref(l)) < 0.0).collect();
    holes.into_iter().min_by(|a, b| centre(a).distance(middle).total_cmp(&centre(b).distance(middle))).unwrap()
}

fn extent(l: &[DVec2]) -> DVec2 {
    let low = l.iter().copied().reduce(DVec2::min).unwrap();
    l.iter().copied().reduce(DVec2::max).unwrap() - low
}

#[test]
fn every_part_is_one_clean_body_and_prints_within_an_hour() {
    for coupon in flat() {
        for part in &coupon.parts {
            assert!(part.mesh.edge_census().is_closed(), "{}", part.name);
            assert_eq!(part.mesh.shells().len(), 1, "{}", part.name);
            assert!(!self_intersects(&part.mesh).unwrap(), "{}", part.name);
            assert!(part.mesh.volume_mm3() > 0.0);
            assert!(part.time_s.value < 3600.0, "{}: {:.0} s", part.name, part.time_s.value);
        }
    }
}

#[test]
fn printers_and_materials_that_are_used_get_what_they_need() {
    let names = |c: &Coupon| c.parts.iter().map(|p| p.name.clone()).collect::<Vec<_>>();
    let all = flat();
    assert_eq!(
        all.iter().map(|c| (c.printer.as_str(), c.material.as_str())).collect::<Vec<_>>(),
        [("wide", "abs-white"), ("fine", "resin-standard")]
    );
    assert_eq!(
        names(&all[0]),
        [
            "11-strip-slot",
            "12-bar-slot",
            "13-peg-bore",
            "14-pin-bore",
            "15-lid-pocket",
            "16-slide-lid",
            "17-rule",
            "1-pin",
            "1-lid",
            "1-slider"
        ]
    );
    assert_eq!(
        names(&all[1]),
        ["21-pin-bore", "22-lid-pocket", "23-slide-lid", "24-rule", "2-pin", "2-lid", "2-slider"]
    );
    // Ten steps of 0.05 mm for filament, half of that for resin.
    let gaps: Vec<f64> = all[0].parts[1].places.iter().map(|p| p.gap_mm).collect();
    assert!(gaps.iter().zip(1..).all(|(g, k)| (g - 0.05 * f64::from(k)).abs() < 1e-12) && gaps.len() == 10, "{gaps:?}");
    assert!((all[1].parts[0].places[4].gap_mm - 0.25).abs() < 1e-12);
    assert_eq!(coupons(&project(""), &["ring"]).unwrap().len(), 1, "only what the bodies use");
}

#[test]
fn every_slot_is_as_wide_as_it_says_on_the_mesh_itself() {
    for coupon in flat() {
        for part in &coupon.parts {
            for p in part.places.iter().filter(|p| !matches!(p.feature, Feature::SlideLid | Feature::Outside)) {
                let middle = (p.ends[0] + p.ends[1]) / 2.0;
                let size = extent(&opening(&part.mesh, 2.0, middle));
                let read = if p.feature.is_round() || p.feature == Feature::Inside { size.x } else { size.y };
                // Coordinates are rounded to 1/1024 mm; a bore's flats on the axes are measured.
                let slack = 0.003;
                assert!((read - p.drawn_mm).abs() < slack, "{} step {}: {read} {}", part.name, p.step, p.drawn_mm);
                assert!((p.drawn_mm - p.nominal_mm - 2.0 * p.gap_mm).abs() < 1e-9);
                if p.feature == Feature::BarSlot {
                    assert!((size.x - 3.0 - 2.0 * p.gap_mm).abs() < slack, "{}: {}", part.name, size.x);
                }
                if p.feature == Feature::StripSlot {
                    assert!((size.x - 0.3 - 2.0 * p.gap_mm).abs() < slack, "{}: {}", part.name, size.x);
                }
            }
        }
    }
}

#[test]
fn a_groove_clears_its_lid_by_the_gap_on_every_face() {
    let all = flat();
    let groove = all[0].parts.iter().find(|p| p.name.ends_with("slide-lid")).unwrap();
    let lid = all[0].parts.iter().find(|p| p.name.ends_with("slider")).unwrap();
    for p in &groove.places {
        let middle = (p.ends[0] + p.ends[1]) / 2.0;
        // The lid upright in its groove: its foot the gap above the groove's.
        let at = DVec3::new(middle.x - 5.0, middle.y - 7.0, block::DEPTH_MM - loose::GROOVE_HIGH_MM);
        let laid = lid.mesh.transformed(&solid::DAffine3::from_translation(at));
        let gap = solid::min_gap(&groove.mesh, &laid, 2.0).unwrap();
        assert!((gap - p.gap_mm).abs() < 0.003, "step {}: {gap}", p.step);
    }
}

#[test]
fn the_rule_measures_what_it_says() {
    let all = flat();
    let rule = all[0].parts.iter().find(|p| p.name == "17-rule").unwrap();
    let size = rule.mesh.bounds().unwrap().size();
    assert!((size.x - 100.0).abs() < 1e-9);
    assert_eq!(rule.places.iter().map(|p| p.drawn_mm).collect::<Vec<_>>(), [100.0, 50.0, 5.0, 8.0, 12.0]);
    // The resin bed is 130 mm wide; one of 60 mm takes the shorter rule.
    let small = project(
        "[printer.tiny]\nkind = \"resin-small\"\nbed = [\"60 mm\", \"60 mm\", \"60 mm\"]\n[body.cap]\nrole = \"cover\"\nmaterial = \"resin-standard\"\nprinters = [\"tiny\"]\n",
    );
    let all = coupons(&small, &["cap"]).unwrap();
    let rule = all[0].parts.iter().find(|p| p.name.ends_with("rule")).unwrap();
    assert_eq!(rule.places[0].drawn_mm, 50.0);
    let width = |part: &Part| part.mesh.bounds().unwrap().size().x;
    assert!(all[0].parts.iter().all(|p| width(p) <= 54.0), "all inside the bed's margins");
}

#[test]
fn round_stock_gets_bores_in_as_many_lines_as_the_bed_needs() {
    let all = coupons(&project("[spine]\nbar = \"round-glass-10\"\n"), &["blade"]).unwrap();
    let bores = &all[0].parts[1];
    assert_eq!(bores.name, "12-bar-bore");
    let size = bores.mesh.bounds().unwrap().size();
    assert!(size.x <= 110.0 && size.y > 30.0, "{size}");
    assert_eq!(bores.mesh.shells().len(), 1);
    let ys: Vec<f64> = bores.places.iter().map(|p| p.ends[0].y).collect();
    assert!(ys[0] > ys[9], "the first line lies at the back");
}

#[test]
fn figures_stand_on_every_step() {
    let all = flat();
    let bars = &all[0].parts[1];
    for p in &bars.places {
        let figure = p.figure.unwrap();
        let above: Vec<_> = bars
            .mesh
            .vertices
            .iter()
            .filter(|v| (v.z - 1.5).abs() < 1e-6 && v.truncate().distance(figure) < 4.0)
            .collect();
        assert!(above.len() >= 8, "step {} has its figure in relief", p.step);
    }
}
