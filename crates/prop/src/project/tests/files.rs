//! Mistakes of a whole file: what is missing, what is there twice, what cannot be read, and all at once.

use super::*;

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
        expect![[r#"
            prop.toml, line 2, column 2: shape.file: this key is missing
                2 | [shape]
                  |  ^^^^^
              to mend it: add file = "..."

            prop.toml, line 4, column 2: light.strip: this key is missing
                4 | [light]
                  |  ^^^^^
              to mend it: add strip = "strip-60"

            prop.toml, line 6, column 2: spine.bar: this key is missing
                6 | [spine]
                  |  ^^^^^
              to mend it: add bar = "flat-aluminium-12x3"

            prop.toml, line 7, column 10: printer.wide.kind: this key is missing
                7 | [printer.wide]
                  |          ^^^^
              to mend it: add kind = "filament-220"

            prop.toml, line 9, column 10: cuts.shift[1].by: this key is missing
                9 | shift = [{ joint = 2 }]
                  |          ^^^^^^^^^^^^^
              to mend it: add by = "6 mm"

            prop.toml: prop: this table is missing
              to mend it: add [prop], and below it name = "Reed glaive"
        "#]],
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
        expect![[r#"
            prop.toml, line 2, column 8: prop.name: this is empty
                2 | name = " "
                  |        ^^^
              to mend it: write something in it

            prop.toml, line 4, column 8: shape.file: this must be a text in quotes, not a bare number
                4 | file = 3
                  |        ^
              to mend it: put double quotes round it

            prop.toml, line 5, column 1: printer: there is no printer in it
                5 | [printer]
                  | ^^^^^^^^^
              to mend it: name it: [printer.wide], and below it kind = "filament-220"
        "#]],
    );
}

#[test]
fn nothing_at_all() {
    check(
        r#""#,
        expect![[r#"
            prop.toml: prop: this table is missing
              to mend it: add [prop], and below it name = "Reed glaive"

            prop.toml: shape: this table is missing
              to mend it: add [shape], and below it file = "shape/prop.3mf"

            prop.toml: printer: this table is missing
              to mend it: add [printer.wide], and below it kind = "filament-220"
        "#]],
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
        expect![[r#"
            prop.toml, line 5, column 8: shape.axis: "w" is not one of the choices
                5 | axis = "w"
                  |        ^^^
              to mend it: what can stand here: "x", "y", "z"

            prop.toml, line 6, column 7: shape.tip: "hi" is not one of the choices
                6 | tip = "hi"
                  |       ^^^^
              to mend it: did you mean "high"?

            prop.toml, line 7, column 10: shape.length: a bare number
                7 | length = 150
                  |          ^^^
              to mend it: lengths need a unit (mm, cm, m, in or ft), for example "150 cm"

            prop.toml, line 8, column 35: shape.path[2]: there must be 3 lengths here, not 2
                8 | path = [["0 mm", "0 mm", "0 mm"], ["90 cm", "0 mm"], ["80 cm", "0 mm", "0 in in"]]
                  |                                   ^^^^^^^^^^^^^^^^^
              to mend it: write exactly 3, for example ["10 mm", "10 mm", "10 mm"]

            prop.toml, line 8, column 72: shape.path[3][3]: there is more than one quantity here: "in" is left over
                8 | path = [["0 mm", "0 mm", "0 mm"], ["90 cm", "0 mm"], ["80 cm", "0 mm", "0 in in"]]
                  |                                                                        ^^^^^^^^^
              to mend it: write one quantity with one unit, for example "10 mm"
        "#]],
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
        expect![[r#"
            prop.toml, line 5, column 8: shape.axis: "w" is not one of the choices
                5 | axis = "w"
                  |        ^^^
              to mend it: what can stand here: "x", "y", "z"

            prop.toml, line 6, column 7: shape.tip: "hi" is not one of the choices
                6 | tip = "hi"
                  |       ^^^^
              to mend it: did you mean "high"?

            prop.toml, line 7, column 10: shape.length: a bare number
                7 | length = 150
                  |          ^^^
              to mend it: lengths need a unit (mm, cm, m, in or ft), for example "150 cm"

            prop.toml, line 8, column 62: shape.path[3]: this point lies no further along the prop than the one before
                8 | path = [["0 mm", "0 mm", "0 mm"], ["90 cm", "0 mm", "0 mm"], ["80 cm", "0 mm", "0 in"]]
                  |                                                              ^^^^^^^^^^^^^^^^^^^^^^^^^
              to mend it: list the points from butt to tip: their first measure must grow
        "#]],
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
        expect![[r#"
            prop.toml, line 3, column 1: name: this key is already there above
                3 | name = "Lantern"
                  | ^^^^
              to mend it: keep one of the two

            prop.toml, line 7, column 7: grip: this table is already there above
                7 | [body.grip]
                  |       ^^^^
              to mend it: join the two, or give this one a name of its own

            prop.toml, line 8, column 8: body.grip.wall: a bare number
                8 | wall = 2
                  |        ^
              to mend it: lengths need a unit (mm, cm, m, in or ft), for example "2 mm"
        "#]],
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
        expect![[r#"
            prop.toml, line 2, column 13: the quotes do not pair up
                2 | name = "Lamp
                  |             ^
              to mend it: put the text in one pair of double quotes; write feet and inches as "5 ft 9 in"

            prop.toml, line 3, column 7: this cannot be read: unclosed table, expected `]`
                3 | [shape
                  |       ^
              to mend it: a line is a table such as [light], a key such as rows = 2 or wall = "2 mm", or a # comment

            prop.toml, line 6, column 16: the quotes do not pair up
                6 | height = "5' 6""
                  |                ^
              to mend it: put the text in one pair of double quotes; write feet and inches as "5 ft 9 in"

            prop.toml, line 8, column 8: 2 mm stands without quotes
                8 | wall = 2 mm
                  |        ^^^^
              to mend it: write wall = "2 mm"

            prop.toml, line 9, column 6: this cannot be read: key with no value, expected `=`
                9 | role plain
                  |      ^
              to mend it: a line is a table such as [light], a key such as rows = 2 or wall = "2 mm", or a # comment
        "#]],
    );
}

#[test]
fn more_syntax() {
    let bare = "[shape]\nfile = lamp.stl\nlength = \u{201c}150 cm\u{201d}\n";
    check(
        bare,
        expect![[r#"
        prop.toml, line 2, column 8: a text without double quotes
            2 | file = lamp.stl
              |        ^^^^^^^^
          to mend it: write file = "lamp.stl", with straight double quotes

        prop.toml, line 3, column 10: a text without double quotes
            3 | length = “150 cm”
              |          ^^^^^^^^
          to mend it: write length = "150 cm", with straight double quotes
    "#]],
    );
    check(
        "[shape]\nfile = \"shape\\lamp.stl\"\n",
        expect![[r#"
        prop.toml, line 2, column 15: a backslash means something else in double quotes
            2 | file = "shape\lamp.stl"
              |               ^
          to mend it: write / between folders, or \\ for one \
    "#]],
    );
    check(
        "[body.grip]\nprinters = [\"wide\" \"small\"]\n",
        expect![[r#"
        prop.toml, line 2, column 20: this cannot be read: missing comma between array elements, expected `,`
            2 | printers = ["wide" "small"]
              |                    ^
          to mend it: a list stands in brackets with commas between its items: ["wide", "small"]
    "#]],
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
        expect![[r#"
            prop.toml, line 2, column 2: prop.name: this key is missing
                2 | [prop]
                  |  ^^^^
              to mend it: add name = "..."

            prop.toml, line 3, column 1: prop.nam: there is no such key
                3 | nam = "Reed glaive"
                  | ^^^
              to mend it: did you mean "name"?

            prop.toml, line 4, column 10: prop.inches: this must be true or false, not a text
                4 | inches = "no"
                  |          ^^^^
              to mend it: write true or false, without quotes

            prop.toml, line 7, column 10: wearer.height: a bare number
                7 | height = 168
                  |          ^^^
              to mend it: lengths need a unit (mm, cm, m, in or ft), for example "168 cm"

            prop.toml, line 11, column 10: shape.length: "kg" is a unit of mass, and this must be a length
               11 | length = "150 kg"
                  |          ^^^^^^^^
              to mend it: lengths need a unit (mm, cm, m, in or ft), for example "150 cm"

            prop.toml, line 12, column 7: shape.tip: "up" is not one of the choices
               12 | tip = "up"
                  |       ^^^^
              to mend it: what can stand here: "high", "low"

            prop.toml, line 16, column 12: body.blade.material: the catalogue has no "abs-wite"
               16 | material = "abs-wite"
                  |            ^^^^^^^^^^
              to mend it: did you mean "abs-white"?

            prop.toml, line 17, column 8: body.blade.wall: 2 m is too large
               17 | wall = "2 m"
                  |        ^^^^^
              to mend it: it must lie from 0.4 mm to 50 mm

            prop.toml, line 18, column 21: body.blade.printers[2]: there is no [printer.smal]
               18 | printers = ["wide", "smal"]
                  |                     ^^^^^^
              to mend it: this file has: "wide"

            prop.toml, line 22, column 8: light.from: "dm" is no unit that is known here
               22 | from = "9 dm"
                  |        ^^^^^^
              to mend it: lengths need a unit (mm, cm, m, in or ft), for example "300 mm"

            prop.toml, line 26, column 7: printer.wide.bed: there must be 3 lengths here, not 2
               26 | bed = ["220 mm", "220 mm"]
                  |       ^^^^^^^^^^^^^^^^^^^^
              to mend it: write exactly 3, for example ["220 mm", "220 mm", "220 mm"]

            prop.toml, line 28, column 2: cutz: there is no table [cutz]
               28 | [cutz]
                  |  ^^^^
              to mend it: did you mean "cuts"?
        "#]],
    );
}

#[test]
fn a_file_that_is_not_there_is_underlined_at_its_key() {
    let said = missing_file(FULL, "/home/maker/shape/reed-glaive.3mf");
    expect![[r#"
        prop.toml, line 10, column 8: shape.file: there is no file /home/maker/shape/reed-glaive.3mf
           10 | file = "shape/reed-glaive.3mf"
              |        ^^^^^^^^^^^^^^^^^^^^^^^
          to mend it: correct the name, or put the file there
    "#]]
    .assert_eq(&said.render("prop.toml", FULL));
    let no_key = missing_file("[prop]\n[shape]\n", "x.stl");
    assert_eq!(no_key.span, Some(8..13), "the table, when the key is absent");
    assert_eq!(missing_file("", "x.stl").span, None);
    let body = mistake_at(FULL, &["body", "end piece"], "the shape has no such body".into(), String::new());
    assert_eq!(&FULL[body.span.unwrap()], "\"end piece\"");
}
