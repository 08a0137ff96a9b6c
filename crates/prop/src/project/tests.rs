mod conduct;
mod endure;
mod files;
mod finish;
mod joints;
mod values;
mod wall;
mod windows;

use super::*;
use crate::catalogue::{Catalogue, Supply};
use crate::outcome::JointKind;
use expect_test::{Expect, expect};

/// A file that uses every key.
const FULL: &str = r#"
[prop]
name = "Reed glaive"
inches = true

[wearer]
height = "5 ft 6 in"

[shape]
file = "shape/reed-glaive.3mf"
length = "150 cm"
axis = "y"
tip = "low"
thickness = "z"
path = [["0 mm", "0 mm", "0 mm"], ["90 cm", "-20 mm", "0 mm"], ["150 cm", "6 cm", "0 mm"]]

[body.blade]
role = "lit"
material = "abs-white"
wall = "2 mm"
least-cavity = "2.5 mm"
infill = "15 %"
glow = "faces"
printers = ["small", "wide"]
may-lie = true
joint = "pegs"

[body."end piece"]
role = "plain"
material = "own-resin"

[light]
strip = "own-strip"
rows = 1
tape = "0.15 mm"
from = "420 mm"
to = "1480 mm"

[spine]
bar = "flat-aluminium-12x3"
least-length = "20 cm"
from = "100 mm"
to = "1400 mm"
thickness = "3.3 mm"
height = "12.1 mm"
tolerance = "0.05 mm"

[wires]
bundle = "5 mm"

[printer.wide]
kind = "filament-220"
speed = "60 mm/s"
start-time = "10 min"

[printer.small]
kind = "filament-180"
bed = ["180 mm", "180 mm", "170 mm"]
margin = "3 mm"
layer = "0.16 mm"
bead = "0.42 mm"
least-layer-time = "12 s"
overhang = "50 deg"
slide-gap = ["0.15 mm", "0.25 mm"]
glue-gap = "0.1 mm"
slot-loss = "0.15 mm"
spacing = "6 mm"
brim = "3 mm"
pace = ["110 %", "105 %", "120 %"]

[printer.fine]
kind = "resin-small"

[cuts]
lock = ["512 mm"]
forbid = [["300 mm", "340 mm"], ["700 mm", "710 mm"]]
shift = [{ joint = 2, by = "-6 mm" }]

[material.own-resin]
title = "Tough resin from the shop"
process = "resin"
density = "1.15 g/cm3"
density-range = ["1.12 g/cm3", "1.17 g/cm3"]
bottle = "500 ml"

[strip.own-strip]
kind = "strip-60"
width = "12 mm"

[bar.flat-aluminium-12x3]
tolerance = "0.2 mm"
"#;

/// The least that is a project.
const LEAST: &str = "[prop]\nname = \"Lamp\"\n[shape]\nfile = \"lamp.stl\"\n[printer.wide]\nkind = \"filament-220\"\n";

fn read(text: &str) -> Project {
    parse(text, &Catalogue::built_in()).unwrap_or_else(|e| panic!("{}", e.render("prop.toml", text)))
}

/// What is said about `text`.
#[expect(clippy::needless_pass_by_value, reason = "expectations are written in place")]
fn check(text: &str, expected: Expect) {
    let said = parse(text, &Catalogue::built_in()).expect_err("a mistake");
    expected.assert_eq(&said.render("prop.toml", text));
}

/// What is said about the least project with `more` behind it.
fn check_more(more: &str, expected: Expect) {
    check(&format!("{LEAST}{more}"), expected);
}

#[test]
fn every_key_is_read() {
    let p = read(FULL);
    assert_eq!((p.name.as_str(), p.inches, p.wire_bundle_mm), ("Reed glaive", true, 5.0));
    assert!((p.wearer_mm.unwrap() - 66.0 * 25.4).abs() < 1e-9);
    assert_eq!(p.shape.file, "shape/reed-glaive.3mf");
    assert_eq!(p.shape.length_mm, Some(1500.0));
    assert_eq!((p.shape.axis, p.shape.tip_high, p.shape.thickness_axis), (Some(1), Some(false), Some(2)));
    assert_eq!(p.shape.path.as_ref().unwrap()[1], [900.0, -20.0, 0.0]);

    let names: Vec<_> = p.printers.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(names, ["wide", "small", "fine"], "in the order of the file");
    assert_eq!((p.printers[0].speed_mm_s, p.printers[0].start_time_s, p.printers[0].bed_mm[2]), (60.0, 600.0, 250.0));
    let small = &p.printers[1];
    assert_eq!((small.bed_mm, small.margin_mm, small.layer_mm), ([180.0, 180.0, 170.0], 3.0, 0.16));
    assert_eq!((small.bead_mm, small.layer_time_s, small.overhang_deg), (0.42, 12.0, 50.0));
    assert_eq!((small.slide_gap_mm, small.glue_gap_mm, small.slot_loss_mm), ([0.15, 0.25], 0.1, 0.15));

    assert_eq!((small.spacing_mm, small.brim_mm, small.pace), (6.0, 3.0, [1.1, 1.05, 1.2]));
    assert_eq!((p.printers[0].pace, p.printers[2].pace), ([1.0, 0.8, 1.25], [1.0, 0.95, 1.1]));

    let blade = &p.bodies[0];
    assert_eq!((blade.name.as_str(), blade.role, blade.material.name.as_str()), ("blade", Role::Lit, "abs-white"));
    assert_eq!((blade.wall_mm, blade.least_cavity_mm, blade.infill), (2.0, 2.5, 0.15));
    assert_eq!((blade.glow, blade.may_lie, blade.joint), (Glow::Faces, true, Some(JointKind::Pegs)));
    assert_eq!(blade.printers, [1, 0], "as the maker ranks them");
    let end = &p.bodies[1];
    assert_eq!((end.name.as_str(), end.printers.as_slice()), ("end piece", &[2][..]), "the one that takes resin");
    assert_eq!(end.material.density_g_cm3, [1.15, 1.12, 1.17]);
    assert_eq!(end.material.supply, Supply::Bottle { volume_ml: 500.0 });
    assert_eq!(blade.material.supply, Supply::Spool { mass_g: 1000.0, diameter_mm: 1.75 });

    let light = p.light.as_ref().unwrap();
    assert_eq!((light.strip.name.as_str(), light.strip.width_mm[0], light.rows), ("own-strip", 12.0, 1));
    assert!((light.strip.pitch_mm * 60.0 - 1000.0).abs() < 1e-9, "taken over from its kind");
    assert_eq!((light.tape_mm, light.from_mm, light.to_mm), (0.15, Some(420.0), Some(1480.0)));
    let spine = p.spine.as_ref().unwrap();
    assert_eq!((spine.bar.size_mm, spine.bar.tolerance_mm, spine.bar.density_g_cm3), ([3.3, 12.1], 0.05, 2.7));
    assert_eq!((spine.least_length_mm, spine.from_mm, spine.to_mm), (200.0, Some(100.0), Some(1400.0)));
    assert_eq!(p.cuts.lock_mm, [512.0]);
    assert_eq!(p.cuts.forbid_mm, [[300.0, 340.0], [700.0, 710.0]]);
    assert_eq!(p.cuts.shift_mm, [(2, -6.0)]);
}

#[test]
fn what_is_left_out_has_its_default() {
    let p = read(&format!("{LEAST}[body.pommel]\n[light]\nstrip = \"strip-30\"\n[spine]\nbar = \"dowel-8\"\n"));
    assert_eq!((p.shape.length_mm, p.wearer_mm, p.inches, p.wire_bundle_mm), (None, None, false, 4.0));
    let pommel = &p.bodies[0];
    assert_eq!((pommel.role, pommel.material.name.as_str(), pommel.wall_mm), (Role::Plain, "pla-white", 1.2));
    assert_eq!((pommel.infill, pommel.may_lie, pommel.joint), (0.2, true, None));
    assert_eq!((p.light.as_ref().unwrap().rows, p.spine.as_ref().unwrap().least_length_mm), (2, 150.0));
    let resin = read(&LEAST.replace("filament-220", "resin-small"));
    assert_eq!(resin.rules_for("blade").material.name, "resin-standard");
}

#[test]
fn rules_for_bodies_with_and_without_a_table() {
    let p = read(FULL);
    assert_eq!(p.rules_for("blade"), p.bodies[0]);
    assert_eq!(p.rules_for("Blade").joint, Some(JointKind::Pegs), "capitals aside");
    let guard = p.rules_for("Guard_Ring");
    assert_eq!((guard.name.as_str(), guard.role, guard.wall_mm), ("Guard_Ring", Role::Cover, 1.2));
    assert_eq!((guard.material.name.as_str(), guard.printers.as_slice()), ("pla-white", &[0, 1][..]));
    let lantern = p.rules_for("lantern");
    assert_eq!((lantern.role, lantern.wall_mm, lantern.may_lie), (Role::Lit, 2.0, false));
}

#[test]
fn roles_by_name() {
    for (name, role) in [
        ("blade", Role::Lit),
        ("Longblade 2", Role::Lit),
        ("lit_edge", Role::Lit),
        ("lamps", Role::Lit),
        ("side window", Role::Lit),
        ("blade guard", Role::Cover),
        ("ring3", Role::Cover),
        ("end-cap", Role::Cover),
        ("split", Role::Plain),
        ("string", Role::Plain),
        ("escape", Role::Plain),
        ("grip", Role::Plain),
        ("", Role::Plain),
    ] {
        assert_eq!(role_by_name(name), role, "{name}");
    }
}
