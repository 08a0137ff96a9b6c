use super::*;
use crate::catalogue::Catalogue;
use crate::outcome::JointKind;
use expect_test::{Expect, expect};
use proptest::prelude::*;

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

    let blade = &p.bodies[0];
    assert_eq!((blade.name.as_str(), blade.role, blade.material.name.as_str()), ("blade", Role::Lit, "abs-white"));
    assert_eq!((blade.wall_mm, blade.least_cavity_mm, blade.infill), (2.0, 2.5, 0.15));
    assert_eq!((blade.glow, blade.may_lie, blade.joint), (Glow::Faces, true, Some(JointKind::Pegs)));
    assert_eq!(blade.printers, [1, 0], "as the maker ranks them");
    let end = &p.bodies[1];
    assert_eq!((end.name.as_str(), end.printers.as_slice()), ("end piece", &[2][..]), "the one that takes resin");
    assert_eq!(end.material.density_g_cm3, [1.15, 1.12, 1.17]);

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

/// One mistake of each kind, in the words and with the place a maker gets.
mod mistakes {
    use super::*;

    #[test]
    fn unknown_key() {
        check_more(
            r#"[body.blade]
role = "plain"
least_cavity = "2 mm"
[wires]
bundel = "4 mm"
length-of-the-wire = "4 m"
"#,
            expect![[]],
        );
    }

    #[test]
    fn unknown_table() {
        check_more(
            r#"[lights]
strip = "strip-60"
[blade]
wall = "2 mm"
"#,
            expect![[]],
        );
    }

    #[test]
    fn bare_number() {
        check_more(
            r#"[wires]
bundle = 4
[body.grip]
wall = 1.2
infill = 20
"#,
            expect![[]],
        );
    }

    #[test]
    fn wrong_type() {
        check_more(
            r#"[body]
grip = "plain"
[body.pommel]
wall = ["2 mm"]
may-lie = "yes"
role = 1
[light]
strip = "strip-60"
rows = "two"
[cuts]
lock = "512 mm"
shift = ["6 mm"]
"#,
            expect![[]],
        );
    }

    #[test]
    fn wrong_unit() {
        check_more(
            r#"[body.grip]
wall = "2 deg"
infill = "2 mm"
least-cavity = "2 furlong"
[wires]
bundle = "1,5 mm"
"#,
            expect![[]],
        );
    }

    #[test]
    fn out_of_range() {
        check_more(
            r#"[body.grip]
wall = "20 cm"
infill = "120 %"
[light]
strip = "strip-60"
rows = 3
tape = "-0.1 mm"
[wearer]
height = "168 mm"
"#,
            expect![[]],
        );
    }

    #[test]
    fn names_not_there() {
        check_more(
            r#"[body.blade]
material = "abs-whit"
printers = ["wid", "small", "wide", "wide"]
glow = "edge"
[light]
strip = "strip-61"
[spine]
bar = "unobtainium"
"#,
            expect![[]],
        );
    }

    #[test]
    fn twice_another_case() {
        check_more(
            r#"[body.grip]
[body.Grip]
"#,
            expect![[]],
        );
    }

    #[test]
    fn printer_and_material() {
        check_more(
            r#"[printer.fine]
kind = "resin-small"
speed = "40 mm/s"
[body.grip]
material = "resin-standard"
printers = ["wide"]
[body.cap]
printers = ["fine", "wide"]
"#,
            expect![[]],
        );
    }

    #[test]
    fn lit_without_light() {
        check_more(
            r#"[body.blade]
"#,
            expect![[]],
        );
    }

    #[test]
    fn ends_reversed() {
        check_more(
            r#"[light]
strip = "strip-60"
from = "500 mm"
to = "40 cm"
"#,
            expect![[]],
        );
    }

    #[test]
    fn cuts_that_contradict() {
        check_more(
            r#"[cuts]
lock = ["320 mm", "512 mm", "512 mm"]
forbid = [["340 mm", "300 mm"]]
"#,
            expect![[]],
        );
    }

    #[test]
    fn cuts_that_contradict_too() {
        check_more(
            r#"[cuts]
lock = ["320 mm", "512 mm", "512 mm"]
forbid = [["300 mm", "340 mm"], ["330 mm", "360 mm"], ["1 mm"]]
shift = [{ joint = 0, by = "6 mm" }, { by = "1 m" }]
"#,
            expect![[]],
        );
    }

    #[test]
    fn cuts_overlap_and_repeat() {
        check_more(
            r#"[cuts]
lock = ["320 mm", "512 mm", "512 mm"]
forbid = [["300 mm", "340 mm"], ["330 mm", "360 mm"]]
shift = [{ joint = 2, by = "6 mm" }, { joint = 2, by = "1 mm" }]
"#,
            expect![[]],
        );
    }

    #[test]
    fn own_rows() {
        check_more(
            r#"[strip.mine]
kind = "strip-61"
width = "4 mm"
[material.mine]
density = "1.2 g/cm3"
[bar.dowel-8]
thickness = "3 mm"
diameter = "8 mm"
[printer.odd]
kind = "filament-20"
margin = "200 mm"
layer = "0.6 mm"
[spine]
bar = "dowel-8"
[body.grip]
material = "mine"
"#,
            expect![[]],
        );
    }

    #[test]
    fn missing_keys() {
        check(
            r#"[wearer]
[shape]
length = "150 cm"
[light]
rows = 1
[spine]
[printer.wide]
[cuts]
shift = [{ joint = 2 }]
"#,
            expect![[]],
        );
    }

    #[test]
    fn no_printer() {
        check(
            r#"[prop]
name = " "
[shape]
file = 3
[printer]
"#,
            expect![[]],
        );
    }

    #[test]
    fn nothing_at_all() {
        check(
            r#""#,
            expect![[]],
        );
    }

    #[test]
    fn shape_and_path() {
        check(
            r#"[prop]
name = "Lamp"
[shape]
file = "lamp.stl"
axis = "w"
tip = "hi"
length = 150
path = [["0 mm", "0 mm", "0 mm"], ["90 cm", "0 mm"], ["80 cm", "0 mm", "0 in in"]]
[printer.wide]
kind = "filament-220"
"#,
            expect![[]],
        );
    }

    #[test]
    fn path_that_turns_back() {
        check(
            r#"[prop]
name = "Lamp"
[shape]
file = "lamp.stl"
axis = "w"
tip = "hi"
length = 150
path = [["0 mm", "0 mm", "0 mm"], ["90 cm", "0 mm", "0 mm"], ["80 cm", "0 mm", "0 in"]]
[printer.wide]
kind = "filament-220"
"#,
            expect![[]],
        );
    }

    #[test]
    fn twice() {
        check(
            r#"[prop]
name = "Lamp"
name = "Lantern"
[shape]
file = "lamp.stl"
[body.grip]
[body.grip]
wall = 2
[printer.wide]
kind = "filament-220"
"#,
            expect![[]],
        );
    }

    #[test]
    fn syntax() {
        check(
            r#"[prop]
name = "Lamp
[shape
file = lamp.stl
[wearer]
height = "5' 6""
[body.grip]
wall = 2 mm
role plain
"#,
            expect![[]],
        );
    }

    #[test]
    fn every_mistake_of_a_bad_file_at_once() {
        check(
            r#"# Everything is wrong here.
[prop]
nam = "Reed glaive"
inches = "no"

[wearer]
height = 168

[shape]
file = "shape/reed-glaive.3mf"
length = "150 kg"
tip = "up"

[body.blade]
role = "lit"
material = "abs-wite"
wall = "2 m"
printers = ["wide", "smal"]

[light]
strip = "strip-60"
from = "9 dm"

[printer.wide]
kind = "filament-220"
bed = ["220 mm", "220 mm"]

[cutz]
lock = ["512 mm"]
"#,
            expect![[]],
        );
    }
}

#[test]
fn a_file_that_is_not_there_is_underlined_at_its_key() {
    let said = missing_file(FULL, "/home/maker/shape/reed-glaive.3mf");
    expect![[]].assert_eq(&said.render("prop.toml", FULL));
    let no_key = missing_file("[prop]\n[shape]\n", "x.stl");
    assert_eq!(no_key.span, Some(8..13), "the table, when the key is absent");
    assert_eq!(missing_file("", "x.stl").span, None);
    let body = mistake_at(FULL, &["body", "end piece"], "the shape has no such body".into(), String::new());
    assert_eq!(&FULL[body.span.unwrap()], "\"end piece\"");
}

/// Never a panic, never an empty list of mistakes, every place inside the text; rendering holds too.
fn endures(text: &str) {
    let catalogue = Catalogue::built_in();
    if let Err(said) = parse(text, &catalogue) {
        assert!(!said.0.is_empty());
        for d in &said.0 {
            assert!(d.span.as_ref().is_none_or(|s| s.start <= s.end && text.get(s.clone()).is_some()), "{d:?}");
            assert!(!d.message.is_empty() && !d.help.is_empty(), "{d:?}");
        }
        assert!(said.render("prop.toml", text).lines().count() >= 2 * said.0.len());
    }
}

proptest! {
    #[test]
    fn any_text_is_endured(text in "\\PC*|[\\[\\]{}=\"'#.,a-z0-9 \n\\\\-]*") {
        endures(&text);
    }

    /// A valid file with pieces cut out, doubled, or replaced.
    #[test]
    fn mutated_files_are_endured(cuts in proptest::collection::vec((0usize..FULL.len(), 0usize..40, "[\\[\\]{}=\"'#.,a-z0-9 \n-]{0,3}"), 1..6)) {
        let mut text = FULL.to_owned();
        for (at, length, put) in cuts {
            let at = at.min(text.len());
            let end = (at + length).min(text.len());
            text.replace_range(at..end, &put);
        }
        endures(&text);
    }

    /// A valid file with one value after another replaced by something of another kind.
    #[test]
    fn other_values_are_endured(line in 0usize..90, value in "[0-9]{1,25}|true|\\[\\]|\\{\\}|\"[ -!#-\\[\\]-~]{0,8}\"|-?[0-9]\\.[0-9]e9|1979-05-27|inf|nan") {
        let mut lines: Vec<String> = FULL.lines().map(str::to_owned).collect();
        if let Some((key, _)) = lines.get(line).and_then(|l| l.split_once(" = ")) {
            lines[line] = format!("{key} = {value}");
        }
        endures(&lines.join("\n"));
    }
}
