//! Walls that are graded.

use super::*;
use crate::project::GradedRules;

fn blade(lines: &str) -> BodyRules {
    let light = "[light]\nstrip = \"strip-60\"\n";
    read(&format!("{LEAST}{light}[body.blade]\n{lines}\n")).bodies.remove(0)
}

#[test]
fn a_graded_wall_has_limits_and_its_middle_is_the_wall() {
    let all = blade("wall = \"graded\"\nwall-least = \"1.4 mm\"\nwall-most = \"3 mm\"\nwall-beads = true");
    assert_eq!(all.graded, Some(GradedRules { least_mm: 1.4, most_mm: 3.0, in_beads: true }));
    assert!((all.wall_mm - 2.2).abs() < 1e-12);
    let usual = blade("wall = \"graded\"");
    assert_eq!(usual.graded, Some(GradedRules { least_mm: 1.2, most_mm: 3.2, in_beads: false }));
    // A wall that may not be thinner than 2.5 mm is graded to a millimetre more.
    let thick = blade("wall = \"graded\"\nwall-least = \"2.5 mm\"").graded.unwrap();
    assert_eq!((thick.least_mm, thick.most_mm), (2.5, 3.5));
    assert_eq!(blade("wall = \"1.8 mm\"").graded, None);
}

#[test]
fn a_material_may_ask_for_whole_beads_and_the_body_has_the_last_word() {
    let glow = "[material.glow]\nprocess = \"filament\"\ndensity = \"1.2 g/cm3\"\nwall-beads = true\n";
    let beads = |of: &str| {
        let body = format!("[body.blade]\nwall = \"graded\"\n{of}\n");
        let text = format!("{LEAST}[light]\nstrip = \"strip-60\"\n{glow}{body}");
        read(&text).bodies.remove(0).graded.unwrap().in_beads
    };
    assert!(beads("material = \"glow\""));
    assert!(!beads("material = \"glow\"\nwall-beads = false"));
    assert!(!beads("material = \"abs-white\"") && beads("material = \"abs-white\"\nwall-beads = true"));
}

#[test]
fn walls_that_cannot_be_graded() {
    check_more(
        r#"[light]
strip = "strip-60"
[body.blade]
wall = "2 mm"
wall-most = "3 mm"
[body.grip]
wall = "graded"
[body.lamp]
wall = "graded"
wall-least = "0.6 mm"
[body.lantern]
wall = "graded"
wall-least = "2 mm"
wall-most = "2.1 mm"
[body.crystal]
wall = "gradual"
"#,
        expect![[r#"
            prop.toml, line 11, column 13: body.blade.wall-most: this is for a graded wall
               11 | wall-most = "3 mm"
                  |             ^^^^^^
              to mend it: write wall = "graded" beside it, or leave it out

            prop.toml, line 13, column 8: body.grip.wall: only the wall of a lit body can be graded
               13 | wall = "graded"
                  |        ^^^^^^^^
              to mend it: write its thickness, as "2 mm"

            prop.toml, line 16, column 14: body.lamp.wall-least: this is less than two beads of 0.45 mm beside each other
               16 | wall-least = "0.6 mm"
                  |              ^^^^^^^^
              to mend it: write 0.90 mm or more, or name a printer with a finer bead

            prop.toml, line 20, column 13: body.lantern.wall-most: a wall from 2 to 2.1 mm has nothing to be graded between
               20 | wall-most = "2.1 mm"
                  |             ^^^^^^^^
              to mend it: make them 0.2 mm apart or more

            prop.toml, line 22, column 8: body.crystal.wall: "gradual" is not a number
               22 | wall = "gradual"
                  |        ^^^^^^^^^
              to mend it: lengths need a unit (mm, cm, m, in or ft), for example "2 mm"
        "#]],
    );
}
