//! What the trade says of plastics and paint over light, worked out from the catalogue's rows. Common practice, no source; and
//! the rows' scattering is an engineering guess, so that these hold the rows together rather than prove them.

use super::Catalogue;
use glow::{ANGLES, Coat, Finish, Incidence, Medium, Shares, Wall, doubled, glowing_tube};

/// Diffuse light on a wall of a built-in material, with what its outer face carries, in one colour of a pixel.
fn lit(material: &str, thickness_mm: f64, outer: Finish, colour: usize) -> Shares {
    let catalogue = Catalogue::built_in();
    let row = catalogue.materials.iter().find(|m| m.name == material).expect("a built-in material");
    let optics = &row.optics;
    let medium = Medium::of_reduced(optics.scatter_per_mm[0], optics.absorb_per_mm[colour][0], optics.index[colour]);
    let wall = Wall::checked(medium.expect("sane optics"), thickness_mm, Finish::Bare, outer).expect("a wall");
    doubled(&wall, Incidence::Diffuse, ANGLES).expect("light")
}

/// Of what comes out, the share that went straight: by it the pixel itself is seen through the wall.
fn straight(shares: &Shares) -> f64 {
    shares.unscattered_through / shares.through()
}

#[test]
fn abs_spreads_light_better_than_pla_of_the_same_wall() {
    for (abs, pla) in [("abs-white", "pla-white"), ("abs-natural", "pla-natural")] {
        for thickness_mm in [1.2, 1.6, 2.0] {
            for colour in 0..3 {
                let (a, p) =
                    (lit(abs, thickness_mm, Finish::Bare, colour), lit(pla, thickness_mm, Finish::Bare, colour));
                // Less of the pixel shows, and more goes to and fro inside before it comes out.
                assert!(straight(&a) < 0.75 * straight(&p), "{abs} {thickness_mm}: {} {}", straight(&a), straight(&p));
                assert!(a.back() > p.back() + 0.02, "{abs} {thickness_mm}: {} {}", a.back(), p.back());
            }
        }
    }
}

#[test]
fn a_wall_of_2_mm_lights_well_from_inside() {
    for material in [
        "pla-white",
        "pla-natural",
        "petg-white",
        "petg-natural",
        "abs-white",
        "abs-natural",
        "asa-white",
        "asa-natural",
    ] {
        for colour in 0..3 {
            let shares = lit(material, 2.0, Finish::Bare, colour);
            // A quarter passes at once, and of a closed tube's light four fifths come out in the end.
            let tube = glowing_tube(shares.back(), shares.through()).expect("a wall that passes light");
            assert!(shares.through() > 0.25 && tube > 0.8, "{material}: {shares:?}, {tube}");
            // White plastic hides its pixels, too.
            assert!(!material.ends_with("white") || straight(&shares) < 0.05, "{material}: {}", straight(&shares));
        }
    }
    // Black plastic doesn't.
    assert!(lit("pla-black", 2.0, Finish::Bare, 1).through() < 1e-3);
}

#[test]
fn dark_paint_over_the_rest_keeps_light_in_the_window() {
    let catalogue = Catalogue::built_in();
    for name in ["primer-black", "paint-black"] {
        let row = catalogue.coats.iter().find(|c| c.name == name).expect("a built-in coat");
        for material in ["pla-white", "abs-white", "petg-natural"] {
            for colour in 0..3 {
                let coat = Coat::checked(row.towards_light[colour], row.through[colour]).expect("a sane coat");
                let masked = lit(material, 2.0, Finish::Coat(coat), colour).through();
                let window = lit(material, 2.0, Finish::Bare, colour).through();
                assert!(masked < 0.01 * window, "{name} on {material}: {masked} beside {window}");
            }
        }
    }
}
