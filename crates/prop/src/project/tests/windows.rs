//! Windows, coats, and what rows say about light.

use super::*;
use crate::catalogue::CoatKind;
use crate::project::Flank;

const WINDOWS: &str = r#"
[body.blade]
role = "plain"
coats = ["primer-white", "own-gold"]
lining = "lining-white"

[window.edge]
in = "blade"
band = "edges"
width = "8 mm"
stations = ["300 mm", "900 mm"]
coats = "clear-gloss"

[window.pane]
in = "lantern"
faces = ["+z", "-z"]
within = "40 deg"
stations = [["100 mm", "200 mm"], ["250 mm", "300 mm"]]

[window.all]
in = "blade"
faces = "-y"

[coat.own-gold]
kind = "paint-gold"
through = "1 %"

[coat.varnish]
role = "clear"
towards-light = "1 %"
through = "95 %"

[wires]
reflect = "60 %"
"#;

#[test]
fn windows_and_coats_are_read() {
    let p = read(&format!("{LEAST}{WINDOWS}"));
    let blade = &p.bodies[0];
    let names = |coats: &[crate::catalogue::Coat]| coats.iter().map(|c| c.name.clone()).collect::<Vec<_>>();
    assert_eq!(names(&blade.coats), ["primer-white", "own-gold"]);
    assert_eq!(names(&blade.lining), ["lining-white"]);
    let gold = &blade.coats[1];
    assert_eq!((gold.through, gold.kind), ([0.01; 3], CoatKind::Paint));
    assert!(gold.towards_light[0] > 2.0 * gold.towards_light[2], "the rest is taken over from its kind");
    let [edge, pane, all] = p.windows.as_slice() else { panic!("{:?}", p.windows) };
    assert_eq!((edge.name.as_str(), edge.body.as_str()), ("edge", "blade"));
    let band = edge.band.as_ref().unwrap();
    assert_eq!((band.sides.as_slice(), band.width_mm), (&[Flank::PlusY, Flank::MinusY][..], 8.0));
    assert_eq!(
        (edge.stations_mm.as_slice(), names(&edge.coats)),
        (&[[300.0, 900.0]][..], vec!["clear-gloss".to_owned()])
    );
    let faces = pane.faces.as_ref().unwrap();
    assert_eq!((faces.sides.as_slice(), faces.within_deg), (&[Flank::PlusZ, Flank::MinusZ][..], 40.0));
    assert_eq!(pane.stations_mm, [[100.0, 200.0], [250.0, 300.0]]);
    assert_eq!(all.faces.as_ref().unwrap().within_deg, 45.0);
    assert_eq!((p.wire_reflect, read(LEAST).wire_reflect), (0.6, 0.2));
}

#[test]
fn an_own_material_says_what_it_does_to_light_or_is_unknown() {
    let own = "[material.jade]\nprocess = \"filament\"\ndensity = \"1.2 g/cm3\"\n";
    let with = |more: &str| {
        let text = format!("{LEAST}[body.a]\nmaterial = \"jade\"\n{own}{more}");
        read(&text).bodies[0].material.optics.clone()
    };
    let unknown = with("");
    assert!(unknown.scatter_per_mm[1] <= 0.05 && unknown.scatter_per_mm[2] >= 6.0, "{unknown:?}");
    let said = with("scatter = \"1.5 /mm\"\nabsorb = \"0.02 /mm\"\nabsorb-red = \"0.2 /mm\"\nindex = 1.49\n");
    assert_eq!((said.scatter_per_mm[0], said.index), (1.5, [1.49; 3]));
    assert_eq!(said.absorb_per_mm.map(|a| a[0]), [0.2, 0.02, 0.02]);
    assert!(said.scatter_per_mm[1] < 1.5 && said.scatter_per_mm[2] > 1.5 && said.scatter_per_mm[2] < 2.0);
    let ranged = with("absorb = \"0.02 /mm\"\nabsorb-red = \"0.2 /mm\"\nabsorb-range = [\"0.01 /mm\", \"0.04 /mm\"]\n");
    assert_eq!(ranged.absorb_per_mm[1], [0.02, 0.01, 0.04]);
    assert!((ranged.absorb_per_mm[0][2] - 0.4).abs() < 1e-12, "a tint keeps the range in proportion");
}

#[test]
fn mistakes_about_light_are_told_at_their_places() {
    check_more(
        "[window.a]\nband = \"edge\"\nwidth = \"8\"\n[window.b]\nin = \"x\"\nband = \"edges\"\n[window.c]\nin = \"x\"\nwidth = \"8 mm\"\nwithin = \"9 deg\"\ncolour = \"#ff0000\"\ncoats = [\"prime-white\"]\n",
        expect![[r##"
            prop.toml, line 7, column 9: window.a.in: this key is missing
                7 | [window.a]
                  |         ^
              to mend it: add in = "blade"

            prop.toml, line 8, column 8: window.a.band: "edge" is not one of the choices
                8 | band = "edge"
                  |        ^^^^^^
              to mend it: did you mean "edges"?

            prop.toml, line 9, column 9: window.a.width: 8 has no unit
                9 | width = "8"
                  |         ^^^
              to mend it: lengths need a unit (mm, cm, m, in or ft), for example "8 mm"

            prop.toml, line 10, column 9: window.b.width: this key is missing
               10 | [window.b]
                  |         ^
              to mend it: add width = "8 mm": how far the band reaches

            prop.toml, line 15, column 9: window.c.width: there is no band that could be so wide
               15 | width = "8 mm"
                  |         ^^^^^^
              to mend it: add band = "edges"

            prop.toml, line 16, column 10: window.c.within: there is no direction that this is an angle to
               16 | within = "9 deg"
                  |          ^^^^^^^
              to mend it: add faces = "+z"

            prop.toml, line 18, column 10: window.c.coats[1]: the catalogue has no "prime-white"
               18 | coats = ["prime-white"]
                  |          ^^^^^^^^^^^^^
              to mend it: did you mean "primer-white"?
        "##]],
    );
    check_more(
        "[coat.own]\nkind = \"primer-white\"\nthrough = \"40 %\"\n[material.pla-white]\nscatter = \"2 mm\"\nabsorb-range = [\"0.1 /mm\", \"0.2 /mm\"]\nindex = \"1.5\"\n[strip.strip-60]\nred = \"1 W\"\nbeam = \"200 deg\"\n",
        expect![[r#"
            prop.toml, line 7, column 7: coat.own: 118 % of the light is sent back or passes, which is more than there is
                7 | [coat.own]
                  |       ^^^
              to mend it: let towards-light and through come to 100 % or less

            prop.toml, line 11, column 11: material.pla-white.scatter: "mm" is a unit of length, and this must be a share per length
               11 | scatter = "2 mm"
                  |           ^^^^^^
              to mend it: shares per length need a unit (/mm or /cm), for example "2 /mm"

            prop.toml, line 12, column 16: material.pla-white.absorb-range: absorb lies outside its own range
               12 | absorb-range = ["0.1 /mm", "0.2 /mm"]
                  |                ^^^^^^^^^^^^^^^^^^^^^^
              to mend it: widen the range, or correct absorb

            prop.toml, line 13, column 9: material.pla-white.index: this must be a number, not a text
               13 | index = "1.5"
                  |         ^^^^^
              to mend it: write a number from 1 to 2.5, without quotes

            prop.toml, line 15, column 7: strip.strip-60.red: "W" is a unit of power, and this must be a luminous flux
               15 | red = "1 W"
                  |       ^^^^^
              to mend it: luminous fluxes need a unit (lm or mlm), for example "2.2 lm"

            prop.toml, line 16, column 8: strip.strip-60.beam: 200 deg is too large
               16 | beam = "200 deg"
                  |        ^^^^^^^^^
              to mend it: it must lie from 5 deg to 175 deg
        "#]],
    );
}
