//! A fault put in on purpose, one a test: it fails, heals or is refused, with the right words.

use crate::wand::{Bench, blade, body, grip};
use solid::Mesh;

fn same(text: &str) -> String {
    text.to_owned()
}

#[test]
fn the_wand_as_it_is_holds() {
    let (code, said) = Bench::new(same).check();
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("0 fail"), "{said}");
}

#[test]
fn a_spine_three_tenths_too_wide_does_not_slide() {
    // The slot stays as it was printed for a 3.0 mm bar: 3.0 + 0.1 of tolerance + 0.2 of loss + 0.4 of gap.
    let fixed = |fat: &str| {
        format!("least-length = \"60 mm\"\nslot-thickness = \"3.7 mm\"\ntolerance = \"0.1 mm\"\nthickness = \"{fat}\"")
    };
    let with = |fat: &str| Bench::new(|t| t.replace("least-length = \"60 mm\"", &fixed(fat))).check();
    let (code, said) = with("3.0 mm");
    assert_eq!(code, 0, "{said}");
    let (code, said) = with("3.3 mm");
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("FAILS spine (spine_slides)"), "{said}");
    assert!(said.contains("slimmer stock"), "{said}");
}

#[test]
fn a_printer_too_small_is_refused_with_the_stretch() {
    let (code, said) =
        Bench::new(|t| t.replace("[\"120 mm\", \"120 mm\", \"140 mm\"]", "[\"45 mm\", \"45 mm\", \"140 mm\"]")).check();
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("no printer takes a piece over stations"), "{said}");
    assert!(said.contains("larger printer"), "{said}");
}

#[test]
fn an_open_mesh_is_refused_with_its_place() {
    let mut open = blade();
    // A hole in the side of the blade, near the middle of the prop.
    let hole = (0..open.triangles.len())
        .find(|t| open.corners(*t).iter().all(|p| p.x > 230.0 && p.x < 250.0 && p.y > 5.0))
        .unwrap();
    let place = open.corners(hole)[0];
    open.triangles.remove(hole);
    let (code, said) = Bench::with(&[("blade", open), ("grip", grip())], same).check();
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("blade: ") && said.contains("open"), "{said}");
    // Station and coordinates of the hole, within the hole's size.
    let station: f64 = said.split("at station ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    assert!((station - place.x).abs() < 15.0, "{station} {place}: {said}");
    assert!(said.contains("to mend it: "), "{said}");
}

#[test]
fn two_overlapping_shells_are_united_and_listed() {
    let mut two = blade();
    // A boss whose shell runs through the blade's.
    let boss = body(&[(200.0, 6.0, 18.0), (220.0, 6.0, 18.0), (240.0, 6.0, 18.0)]);
    two.append(&boss);
    let whole = Bench::with(&[("blade", two), ("grip", grip())], same).check();
    assert!(whole.1.contains("mended blade: ") && whole.1.contains("overlap"), "{}", whole.1);
    assert!(!whole.1.contains("FAILS piece 02 (volumes_add_up)"), "{}", whole.1);
    assert_ne!(whole.0, 2, "{}", whole.1);
}

#[test]
fn an_inside_out_body_is_turned_and_listed() {
    let (code, said) = Bench::with(&[("blade", blade().reversed()), ("grip", grip())], same).check();
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("mended blade: "), "{said}");
}

#[test]
fn a_wall_thicker_than_the_blade_is_refused() {
    let (code, said) = Bench::new(|t| t.replace("wall = \"2 mm\"", "wall = \"14 mm\"")).check();
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("leaves no cavity in blade"), "{said}");
    assert!(said.contains("take a wall under"), "{said}");
    // Underlined at its place.
    assert!(said.contains("wall = \"14 mm\"\n") && said.contains("^^^^"), "{said}");
}

#[test]
fn a_length_left_out_gets_three_guesses_beside_the_wearer() {
    let (code, said) = Bench::new(|t| t.replace("length = \"36 cm\"\n", "")).check();
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("36.0 cm if it is in the file's own unit"), "{said}");
    assert_eq!(said.matches(" if it is in ").count(), 3, "{said}");
    assert_eq!(said.matches("% of the wearer's height").count(), 3, "{said}");
}

#[test]
fn a_missing_shape_and_a_misspelt_key_are_underlined() {
    let (code, said) = Bench::new(|t| t.replace("wand.3mf", "wind.3mf")).check();
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("there is no file") && said.contains("^^^^"), "{said}");
    let (code, said) = Bench::new(|t| t.replace("wall = ", "wal = ").replace("rows = 2", "rows = 7")).check();
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("\"wall\"") && said.contains("rows"), "both mistakes at once: {said}");
}

#[test]
fn a_body_that_the_shape_lacks_is_named() {
    let (code, said) = Bench::with(&[("blade", blade())], same).check();
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("the shape has no body \"grip\"; it has blade"), "{said}");
}

#[test]
fn bodies_that_do_not_meet_are_refused() {
    let far: Mesh = body(&[(0.0, 19.0, 16.0), (50.0, 19.0, 16.0), (90.0, 19.0, 16.0)]);
    let (code, said) = Bench::with(&[("blade", blade()), ("grip", far)], same).check();
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("do not meet: 30.0 mm of air at station 90 mm"), "{said}");
}

#[test]
fn rubbish_is_refused_without_a_panic() {
    let bench = Bench::new(same);
    for (name, bytes) in [("empty.stl", &b""[..]), ("text.obj", b"v 1 2\nf 9 9 9\n"), ("cut.glb", b"glTF\x02\0\0\0")] {
        std::fs::write(bench.path(name), bytes).unwrap();
        let output = bench.lanthorn().args(["new", "other", "--shape", name, "--length", "1 m"]).output().unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(said.contains(name) && !said.contains("panicked"), "{said}");
    }
}
