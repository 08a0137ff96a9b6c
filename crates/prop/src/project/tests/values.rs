//! One mistake of each kind in a value or a key, in the words and with the place a maker gets.

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
        expect![[r#"
            prop.toml, line 9, column 1: body.blade.least_cavity: there is no such key
                9 | least_cavity = "2 mm"
                  | ^^^^^^^^^^^^
              to mend it: did you mean "least-cavity"?

            prop.toml, line 11, column 1: wires.bundel: there is no such key
               11 | bundel = "4 mm"
                  | ^^^^^^
              to mend it: did you mean "bundle"?

            prop.toml, line 12, column 1: wires.length-of-the-wire: there is no such key
               12 | length-of-the-wire = "4 m"
                  | ^^^^^^^^^^^^^^^^^^
              to mend it: what can stand here: "bundle", "reflect"
        "#]],
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
        expect![[r#"
            prop.toml, line 7, column 2: lights: there is no table [lights]
                7 | [lights]
                  |  ^^^^^^
              to mend it: did you mean "light"?

            prop.toml, line 9, column 2: blade: there is no table [blade]
                9 | [blade]
                  |  ^^^^^
              to mend it: did you mean "plate"?
        "#]],
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
        expect![[r#"
            prop.toml, line 8, column 10: wires.bundle: a bare number
                8 | bundle = 4
                  |          ^
              to mend it: lengths need a unit (mm, cm, m, in or ft), for example "4 mm"

            prop.toml, line 10, column 8: body.grip.wall: a bare number
               10 | wall = 1.2
                  |        ^^^
              to mend it: lengths need a unit (mm, cm, m, in or ft), for example "2 mm"

            prop.toml, line 11, column 10: body.grip.infill: a bare number
               11 | infill = 20
                  |          ^^
              to mend it: shares need a unit (%), for example "20 %"
        "#]],
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
        expect![[r#"
            prop.toml, line 8, column 8: body.grip: this must be a table, not a text
                8 | grip = "plain"
                  |        ^^^^^^^
              to mend it: write [body.grip] on a line of its own, its keys below

            prop.toml, line 10, column 8: body.pommel.wall: this must be a text in quotes, not a list
               10 | wall = ["2 mm"]
                  |        ^^^^^^^^
              to mend it: lengths need a unit (mm, cm, m, in or ft), for example "2 mm"

            prop.toml, line 11, column 11: body.pommel.may-lie: this must be true or false, not a text
               11 | may-lie = "yes"
                  |           ^^^^^
              to mend it: write true or false, without quotes

            prop.toml, line 12, column 8: body.pommel.role: this must be a text in quotes, not a bare number
               12 | role = 1
                  |        ^
              to mend it: what can stand here: "lit", "plain", "cover"

            prop.toml, line 15, column 8: light.rows: this must be a whole number, not a text
               15 | rows = "two"
                  |        ^^^^^
              to mend it: write a whole number from 1 to 6, without quotes

            prop.toml, line 17, column 8: cuts.lock: this must be a list, not a text
               17 | lock = "512 mm"
                  |        ^^^^^^^^
              to mend it: write it in brackets, for example ["512 mm"]

            prop.toml, line 18, column 10: cuts.shift[1]: this must be a table, not a text
               18 | shift = ["6 mm"]
                  |          ^^^^^^
              to mend it: write { joint = 2, by = "6 mm" }
        "#]],
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
        expect![[r#"
            prop.toml, line 8, column 8: body.grip.wall: "deg" is a unit of angle, and this must be a length
                8 | wall = "2 deg"
                  |        ^^^^^^^
              to mend it: lengths need a unit (mm, cm, m, in or ft), for example "2 mm"

            prop.toml, line 9, column 10: body.grip.infill: "mm" is a unit of length, and this must be a share
                9 | infill = "2 mm"
                  |          ^^^^^^
              to mend it: shares need a unit (%), for example "20 %"

            prop.toml, line 10, column 16: body.grip.least-cavity: "furlong" is no unit that is known here
               10 | least-cavity = "2 furlong"
                  |                ^^^^^^^^^^^
              to mend it: lengths need a unit (mm, cm, m, in or ft), for example "2 mm"

            prop.toml, line 12, column 10: wires.bundle: the comma in "1,5" is not a decimal point
               12 | bundle = "1,5 mm"
                  |          ^^^^^^^^
              to mend it: write a point, for example "4 mm"
        "#]],
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
rows = 7
tape = "-0.1 mm"
[wearer]
height = "168 mm"
"#,
        expect![[r#"
            prop.toml, line 8, column 8: body.grip.wall: 20 cm is too large
                8 | wall = "20 cm"
                  |        ^^^^^^^
              to mend it: it must lie from 0.4 mm to 50 mm

            prop.toml, line 9, column 10: body.grip.infill: 120 % is too large
                9 | infill = "120 %"
                  |          ^^^^^^^
              to mend it: it must lie from 0 % to 100 %

            prop.toml, line 12, column 8: light.rows: 7 is out of range
               12 | rows = 7
                  |        ^
              to mend it: write a whole number from 1 to 6, without quotes

            prop.toml, line 13, column 8: light.tape: -0.1 mm is too small
               13 | tape = "-0.1 mm"
                  |        ^^^^^^^^^
              to mend it: it must lie from 0 mm to 2 mm

            prop.toml, line 15, column 10: wearer.height: 168 mm is too small
               15 | height = "168 mm"
                  |          ^^^^^^^^
              to mend it: it must lie from 500 mm to 2800 mm
        "#]],
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
        expect![[r#"
            prop.toml, line 8, column 12: body.blade.material: the catalogue has no "abs-whit"
                8 | material = "abs-whit"
                  |            ^^^^^^^^^^
              to mend it: did you mean "abs-white"?

            prop.toml, line 9, column 13: body.blade.printers[1]: there is no [printer.wid]
                9 | printers = ["wid", "small", "wide", "wide"]
                  |             ^^^^^
              to mend it: did you mean "wide"?

            prop.toml, line 9, column 20: body.blade.printers[2]: there is no [printer.small]
                9 | printers = ["wid", "small", "wide", "wide"]
                  |                    ^^^^^^^
              to mend it: this file has: "wide"

            prop.toml, line 9, column 37: body.blade.printers[4]: this printer is named twice
                9 | printers = ["wid", "small", "wide", "wide"]
                  |                                     ^^^^^^
              to mend it: name it once

            prop.toml, line 10, column 8: body.blade.glow: "edge" is not one of the choices
               10 | glow = "edge"
                  |        ^^^^^^
              to mend it: did you mean "edges"?

            prop.toml, line 12, column 9: light.strip: the catalogue has no "strip-61"
               12 | strip = "strip-61"
                  |         ^^^^^^^^^^
              to mend it: did you mean "strip-60"?

            prop.toml, line 14, column 7: spine.bar: the catalogue has no "unobtainium"
               14 | bar = "unobtainium"
                  |       ^^^^^^^^^^^^^
              to mend it: the catalogue has: "flat-aluminium-10x2", "flat-aluminium-12x3", "flat-aluminium-15x3", "flat-aluminium-20x3", "flat-glass-10x2", "flat-glass-12x3", "round-glass-6", "round-glass-8", "round-glass-10", "tube-aluminium-8x1", "tube-aluminium-10x1", "tube-aluminium-12x1", "dowel-8", "dowel-10", "dowel-12"
        "#]],
    );
}

#[test]
fn twice_another_case() {
    check_more(
        r#"[body.grip]
[body.Grip]
"#,
        expect![[r#"
            prop.toml, line 8, column 7: body.Grip: there is a body of this name already above, but for capitals
                8 | [body.Grip]
                  |       ^^^^
              to mend it: join the two tables, or give this one the name of its own body
        "#]],
    );
}

#[test]
fn a_printer_not_there_beside_one_that_cannot_be_read() {
    let text = format!("{LEAST}bed = [\"220 mm\"]\n[body.blade]\nrole = \"plain\"\nprinters = [\"wid\"]\n");
    let all = parse(&text, &Catalogue::built_in()).unwrap_err();
    let keys: Vec<&str> = all.0.iter().map(|d| d.key.as_str()).collect();
    assert_eq!(keys, ["printer.wide.bed", "body.blade.printers[1]"]);
    assert_eq!(all.0[1].help, "did you mean \"wide\"?");
}

#[test]
fn the_shape_file_is_found_among_mistakes() {
    let file = |text: &str| shape_file(text);
    assert_eq!(file("[prop]\nnam = 1\n[shape]\nfile = \"a.stl\"\nlength = 3\n").as_deref(), Some("a.stl"));
    assert_eq!(file("[shape]\nfile = \"a.stl\"\nlength = 3 mm\n").as_deref(), Some("a.stl"));
    for none in ["", "[shape]\nfile = 3\n", "shape = 1\n", "[shape]\nfile = \" \"\n"] {
        assert_eq!(file(none), None, "{none}");
    }
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
        expect![[r#"
            prop.toml, line 9, column 1: printer.fine.speed: there is no such key
                9 | speed = "40 mm/s"
                  | ^^^^^
              to mend it: what can stand here: "kind", "title", "source", "bed", "margin", "layer", "bead", "least-layer-time", "start-time", "overhang", "slide-gap", "glue-gap", "slot-loss", "hole-loss", "press-gap", "spacing", "brim", "pace"

            prop.toml, line 11, column 12: body.grip.material: "resin-standard" is resin, but the printer "wide" takes filament
               11 | material = "resin-standard"
                  |            ^^^^^^^^^^^^^^^^
              to mend it: name printers and a material that go together

            prop.toml, line 14, column 12: body.cap.printers: "pla-white" is filament, but the printer "fine" takes resin
               14 | printers = ["fine", "wide"]
                  |            ^^^^^^^^^^^^^^^^
              to mend it: name printers and a material that go together
        "#]],
    );
}

#[test]
fn lit_without_light() {
    check_more(
        r#"[body.blade]
"#,
        expect![[r#"
            prop.toml, line 7, column 7: body.blade: this body is lit, but there is no [light] table
                7 | [body.blade]
                  |       ^^^^^
              to mend it: add [light], and below it strip = "strip-60"; or write role = "plain" here
        "#]],
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
        expect![[r#"
            prop.toml, line 10, column 6: light.to: this ends at 400 mm, before it begins at 500 mm
               10 | to = "40 cm"
                  |      ^^^^^^^
              to mend it: stations count from the butt: make this larger than from
        "#]],
    );
}

#[test]
fn cuts_that_contradict() {
    check_more(
        r#"[cuts]
lock = ["320 mm", "512 mm", "512 mm"]
forbid = [["340 mm", "300 mm"]]
"#,
        expect![[r#"
            prop.toml, line 8, column 29: cuts.lock[3]: the cut at 512 mm is locked twice
                8 | lock = ["320 mm", "512 mm", "512 mm"]
                  |                             ^^^^^^^^
              to mend it: keep one of the two

            prop.toml, line 9, column 11: cuts.forbid[1]: the first must be smaller than the second
                9 | forbid = [["340 mm", "300 mm"]]
                  |           ^^^^^^^^^^^^^^^^^^^^
              to mend it: write them in order: ["300 mm", "340 mm"]
        "#]],
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
        expect![[r#"
            prop.toml, line 8, column 29: cuts.lock[3]: the cut at 512 mm is locked twice
                8 | lock = ["320 mm", "512 mm", "512 mm"]
                  |                             ^^^^^^^^
              to mend it: keep one of the two

            prop.toml, line 9, column 55: cuts.forbid[3]: there must be 2 lengths here, not 1
                9 | forbid = [["300 mm", "340 mm"], ["330 mm", "360 mm"], ["1 mm"]]
                  |                                                       ^^^^^^^^
              to mend it: write exactly 2, for example ["300 mm", "300 mm"]

            prop.toml, line 10, column 20: cuts.shift[1].joint: 0 is out of range
               10 | shift = [{ joint = 0, by = "6 mm" }, { by = "1 m" }]
                  |                    ^
              to mend it: write a whole number from 1 to 999, without quotes

            prop.toml, line 10, column 38: cuts.shift[2].joint: this key is missing
               10 | shift = [{ joint = 0, by = "6 mm" }, { by = "1 m" }]
                  |                                      ^^^^^^^^^^^^^^
              to mend it: add joint = 2

            prop.toml, line 10, column 45: cuts.shift[2].by: 1 m is too large
               10 | shift = [{ joint = 0, by = "6 mm" }, { by = "1 m" }]
                  |                                             ^^^^^
              to mend it: it must lie from -200 mm to 200 mm
        "#]],
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
        expect![[r#"
            prop.toml, line 8, column 9: cuts.lock[1]: 320 mm lies in a range that cuts.forbid keeps free of cuts: 300 mm to 340 mm
                8 | lock = ["320 mm", "512 mm", "512 mm"]
                  |         ^^^^^^^^
              to mend it: move the lock out of the range, or make the range smaller

            prop.toml, line 8, column 29: cuts.lock[3]: the cut at 512 mm is locked twice
                8 | lock = ["320 mm", "512 mm", "512 mm"]
                  |                             ^^^^^^^^
              to mend it: keep one of the two

            prop.toml, line 9, column 33: cuts.forbid[2]: this range overlaps another one: 300 mm to 340 mm
                9 | forbid = [["300 mm", "340 mm"], ["330 mm", "360 mm"]]
                  |                                 ^^^^^^^^^^^^^^^^^^^^
              to mend it: write one range: ["300 mm", "360 mm"]

            prop.toml, line 10, column 38: cuts.shift[2]: joint 2 is moved twice
               10 | shift = [{ joint = 2, by = "6 mm" }, { joint = 2, by = "1 mm" }]
                  |                                      ^^^^^^^^^^^^^^^^^^^^^^^^^^
              to mend it: keep one of the two, with the sum
        "#]],
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
        expect![[r#"
            prop.toml, line 8, column 8: strip.mine.kind: the catalogue has no "strip-61"
                8 | kind = "strip-61"
                  |        ^^^^^^^^^^
              to mend it: did you mean "strip-60"?

            prop.toml, line 10, column 11: material.mine.process: this key is missing
               10 | [material.mine]
                  |           ^^^^
              to mend it: add process = "filament"

            prop.toml, line 13, column 13: bar.dowel-8.thickness: a round bar has a diameter only
               13 | thickness = "3 mm"
                  |             ^^^^^^
              to mend it: leave out either this or the diameter

            prop.toml, line 16, column 8: printer.odd.kind: the catalogue has no "filament-20"
               16 | kind = "filament-20"
                  |        ^^^^^^^^^^^^^
              to mend it: did you mean "filament-220"?

            prop.toml, line 17, column 10: printer.odd.margin: 200 mm is too large
               17 | margin = "200 mm"
                  |          ^^^^^^^^
              to mend it: it must lie from 0 mm to 50 mm
        "#]],
    );
}

#[test]
fn plates() {
    check_more(
        r#"[plate.first]
printer = "wid"
pieces = [1, 2, 1]
[plate.second]
printer = "wide"
pieces = [2, "three", 0]
bed = "220 mm"
[plate.third]
pieces = []
"#,
        expect![[r#"
            prop.toml, line 8, column 11: plate.first.printer: there is no [printer.wid]
                8 | printer = "wid"
                  |           ^^^^^
              to mend it: did you mean "wide"?

            prop.toml, line 9, column 17: plate.first.pieces[3]: piece 1 is on a plate already
                9 | pieces = [1, 2, 1]
                  |                 ^
              to mend it: name it once

            prop.toml, line 12, column 11: plate.second.pieces[1]: piece 2 is on a plate already
               12 | pieces = [2, "three", 0]
                  |           ^
              to mend it: name it once

            prop.toml, line 12, column 14: plate.second.pieces[2]: this must be a whole number, not a text
               12 | pieces = [2, "three", 0]
                  |              ^^^^^^^
              to mend it: write a whole number from 1 to 9999, without quotes

            prop.toml, line 12, column 23: plate.second.pieces[3]: 0 is out of range
               12 | pieces = [2, "three", 0]
                  |                       ^
              to mend it: write a whole number from 1 to 9999, without quotes

            prop.toml, line 13, column 1: plate.second.bed: there is no such key
               13 | bed = "220 mm"
                  | ^^^
              to mend it: what can stand here: "printer", "pieces"

            prop.toml, line 14, column 8: plate.third.printer: this key is missing
               14 | [plate.third]
                  |        ^^^^^
              to mend it: add printer = "wide"

            prop.toml, line 15, column 10: plate.third.pieces: no piece is named
               15 | pieces = []
                  |          ^^
              to mend it: name one at least, or leave this plate out
        "#]],
    );
    let p = read(&format!("{LEAST}[plate.first]\nprinter = \"wide\"\npieces = [3, 1]\n"));
    assert_eq!(
        (p.plates[0].name.as_str(), p.plates[0].printer, p.plates[0].pieces.as_slice()),
        ("first", 0, &[3, 1][..])
    );
}

#[test]
fn drains_where_nothing_is_hollow() {
    check_more(
        r#"[body.guard]
role = "cover"
material = "abs-white"
drain = [{ at = "40 mm", side = "-z" }]
"#,
        expect![[r#"
            prop.toml, line 10, column 9: body.guard.drain: only covers of resin are hollowed and drained
               10 | drain = [{ at = "40 mm", side = "-z" }]
                  |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
              to mend it: leave this key out
        "#]],
    );
}

#[test]
fn wires_leave_a_part_somewhere_on_its_end() {
    let with = |kind: &str, lines: &str| {
        format!("{LEAST}[body.grip]\nrole = \"plain\"\n[part.own]\nkind = \"{kind}\"\nin = \"grip\"\n{lines}\n")
    };
    let exit = |lines: &str| read(&with("controller-small", lines)).parts[0].row.exit_mm;
    assert_eq!(exit(""), [0.0, 0.0]);
    assert_eq!(exit("exit = [\"7 mm\", \"-1 mm\"]"), [7.0, -1.0]);
    let said = |kind: &str, lines: &str| {
        let text = with(kind, lines);
        parse(&text, &Catalogue::built_in()).expect_err("a mistake").render("prop.toml", &text)
    };
    // The board is 18 mm wide, the cell's end a circle of 18.6 mm; a narrower board leaves its place off its end.
    let wide = said("controller-small", "exit = [\"9.5 mm\", \"0 mm\"]");
    assert!(wide.contains("part.own.exit: wires leave 9.5 mm aside and 0 mm up"), "{wide}");
    assert!(wide.contains("off its end of 18 by 5 mm") && wide.contains("from the middle of the end"), "{wide}");
    let round = said("cell-18650", "exit = [\"7 mm\", \"7 mm\"]");
    assert!(round.contains("off its end of a circle 18.6 mm wide"), "{round}");
    let narrow = said("controller-small", "size = [\"23 mm\", \"8 mm\", \"5 mm\"]\nexit = [\"5 mm\", \"0 mm\"]");
    assert!(narrow.contains("part.own.exit"), "{narrow}");
}
