//! Wedges and frames measured on their own meshes.

use super::*;
use crate::catalogue::Catalogue;
use solid::section::{Basis, area_mm2, section};
use solid::{DVec3, self_intersects};

fn project(more: &str) -> Project {
    let text = format!(
        "[prop]\nname = \"t\"\n[shape]\nfile = \"a.stl\"\n[body.blade]\nrole = \"lit\"\nmaterial = \"abs-white\"\n\
         wall = \"2 mm\"\nprinters = [\"wide\"]\n[body.pane]\nrole = \"lit\"\nmaterial = \"resin-standard\"\nwall = \"1.5 mm\"\n\
         printers = [\"fine\"]\n[body.grip]\nrole = \"plain\"\nmaterial = \"pla-white\"\nprinters = [\"wide\"]\n[light]\n\
         strip = \"strip-60\"\n[printer.wide]\nkind = \"filament-220\"\n[printer.fine]\nkind = \"resin-small\"\n{more}"
    );
    crate::project::parse(&text, &Catalogue::built_in()).unwrap()
}

const BODIES: [&str; 3] = ["blade", "pane", "grip"];

#[test]
fn only_lit_bodies_get_a_wedge() {
    let all = light_coupons(&project(""), &BODIES).unwrap();
    let pairs: Vec<_> = all.iter().map(|c| (c.number, c.printer.as_str(), c.material.as_str())).collect();
    assert_eq!(pairs, [(1, "wide", "abs-white"), (2, "fine", "resin-standard")]);
    assert!(light_coupons(&project(""), &["grip"]).unwrap().is_empty());
}

#[test]
fn every_part_is_one_clean_body() {
    for coupon in light_coupons(&project(""), &BODIES).unwrap() {
        for part in [&coupon.wedge, &coupon.frame] {
            assert!(part.mesh.edge_census().is_closed(), "{}", part.name);
            assert_eq!(part.mesh.shells().len(), 1, "{}", part.name);
            assert!(!self_intersects(&part.mesh).unwrap(), "{}", part.name);
            assert!(
                part.mesh.volume_mm3() > 0.0 && part.time_s.value < 3.0 * 3600.0,
                "{} {:?}",
                part.name,
                part.time_s
            );
            assert!(part.mesh.bounds().unwrap().min.length() < 1e-9, "{}", part.name);
        }
    }
}

#[test]
fn steps_bracket_the_wall_in_whole_beads() {
    let all = light_coupons(&project(""), &BODIES).unwrap();
    let bead = project("").printers[0].bead_mm;
    let [thin, thick] = [all[0].steps[0].thickness_mm, all[0].steps[5].thickness_mm];
    assert!((thin - 1.0).abs() < bead / 2.0 + 1e-9 && (thick - 5.0).abs() < bead / 2.0 + 1e-9, "{thin} {thick}");
    for step in &all[0].steps {
        let beads = step.thickness_mm / bead;
        assert!((beads - beads.round()).abs() < 0.02, "{step:?}");
    }
    for coupon in &all {
        assert!(coupon.steps.windows(2).all(|p| p[1].thickness_mm > p[0].thickness_mm), "{:?}", coupon.steps);
        let [least, most] = coupon.wall_mm;
        assert!(coupon.steps[0].thickness_mm < least && coupon.steps.last().unwrap().thickness_mm > 2.0 * most);
        assert_eq!(coupon.steps[0].figure, coupon.number * 10 + 1);
    }
    // A wall of one bead has no half: steps follow bead by bead.
    let printer = project("").printers[0].clone();
    let beads: Vec<f64> = thicknesses(&printer, [bead; 2], 6).iter().map(|t| (t / bead).round()).collect();
    assert_eq!(beads, [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]);
}

#[test]
fn every_step_is_as_thick_as_it_says_under_its_window() {
    for coupon in light_coupons(&project(""), &BODIES).unwrap() {
        let long = coupon.wedge.size_mm[0];
        for height in [window_middle(&coupon.steps[0]).y - 8.0, window_middle(&coupon.steps[0]).y + 8.0] {
            let level = Basis { origin: DVec3::Z * height, x: DVec3::X, y: DVec3::Y };
            let loops = section(&coupon.wedge.mesh, &level).unwrap();
            assert_eq!(loops.len(), 1);
            // The area of each step's slice is its length times its thickness.
            let ends: f64 = [0, coupon.steps.len() - 1].iter().map(|k| coupon.steps[*k].thickness_mm * END_MM).sum();
            let steps: f64 = coupon.steps.iter().map(|s| s.thickness_mm * STEP_MM).sum();
            assert!((area_mm2(&loops) - ends - steps).abs() < 0.1);
            for step in &coupon.steps {
                // Seen from the front the first step lies left: at the far end of x.
                let x = long - step.middle_mm;
                let corners = loops[0].iter().filter(|p| (p.x - x).abs() < STEP_MM / 2.0 + END_MM + 1e-3);
                let found = corners.filter(|p| (p.y - step.thickness_mm).abs() < 1e-3).count();
                assert!(found >= 2, "step {}: {:?}", step.figure, loops[0]);
            }
        }
    }
}

#[test]
fn the_frame_goes_over_the_wedge_and_shows_each_step() {
    for coupon in light_coupons(&project(""), &BODIES).unwrap() {
        let level = |z: f64| Basis { origin: DVec3::Z * z, x: DVec3::X, y: DVec3::Y };
        let face = section(&coupon.frame.mesh, &level(1.5)).unwrap();
        let holes: Vec<f64> =
            face.iter().map(|l| area_mm2(std::slice::from_ref(l))).filter(|a| *a < 0.0).map(f64::abs).collect();
        assert_eq!(holes.len(), coupon.steps.len());
        assert!(holes.iter().all(|a| (a - WINDOW_MM[0] * WINDOW_MM[1]).abs() < 0.1), "{holes:?}");
        let rim = section(&coupon.frame.mesh, &level(PLATE_MM + 0.5)).unwrap();
        let tray = rim.iter().map(|l| area_mm2(std::slice::from_ref(l))).find(|a| *a < 0.0).unwrap().abs();
        let [long, high, deep] = coupon.wedge.size_mm;
        assert!((tray - (long + 1.0) * (high + 1.0)).abs() < 0.2, "{tray}");
        assert!(coupon.frame.size_mm[2] > deep + PLATE_MM + 0.6);
        let size = coupon.frame.mesh.bounds().unwrap().size();
        assert!((size - DVec3::from(coupon.frame.size_mm)).abs().max_element() < 2e-3, "{size}");
    }
}

#[test]
fn figures_stand_out_towards_the_eye() {
    let all = light_coupons(&project(""), &BODIES).unwrap();
    for step in &all[0].steps {
        let x = all[0].wedge.size_mm[0] - step.middle_mm;
        let on = all[0].wedge.mesh.vertices.iter();
        let on = on.filter(|v| (v.x - x).abs() < 8.0 && (v.y - step.thickness_mm - 0.6).abs() < 1e-3);
        let (count, most) = on.fold((0, 0.0f64), |(n, most), v| (n + 1, most.max(v.z)));
        assert!(count >= 8 && most < 10.0, "step {}: {count} {most}", step.figure);
    }
}

#[test]
fn a_small_bed_gets_fewer_steps_and_a_tiny_one_an_error() {
    let small = project(
        "[printer.bench]\nkind = \"filament-180\"\nbed = [\"120 mm\", \"120 mm\", \"140 mm\"]\n[body.tip]\nrole = \"lit\"\nmaterial = \"abs-white\"\nprinters = [\"bench\"]\n",
    );
    let all = light_coupons(&small, &["tip"]).unwrap();
    let room = 120.0 - 2.0 * small.printers[2].margin_mm;
    assert!(all[0].steps.len() == 5 && all[0].frame.size_mm[0] <= room, "{:?}", all[0].frame.size_mm);
    let tiny = project(
        "[printer.tiny]\nkind = \"resin-small\"\nbed = [\"60 mm\", \"60 mm\", \"60 mm\"]\n[body.tip]\nrole = \"lit\"\nmaterial = \"resin-standard\"\nprinters = [\"tiny\"]\n",
    );
    let error = light_coupons(&tiny, &["tip"]).unwrap_err();
    assert!(error.to_string().starts_with("printer tiny: light-wedge needs 90 mm of its bed"), "{error}");
}
