//! A wall that is graded by its own light, from the project file to the pieces.

use crate::wand::body;
use prop::Inputs;
use prop::catalogue::Catalogue;
use prop::finding::{Finding, Verdict};
use prop::outcome::Outcome;
use solid::Cancel;
use solid::read::{NamedMesh, Shape};

/// A bar so slim that the pixels stand close behind its edges.
const BAR: &str = r#"[prop]
name = "Bar"
[shape]
file = "bar.stl"
length = "24 cm"
[body.bar]
role = "lit"
material = "abs-white"
wall = "graded"
wall-least = "1.2 mm"
wall-most = "4 mm"
coats = ["primer-grey"]
[window.edge]
in = "bar"
band = "edges"
width = "8 mm"
[light]
strip = "strip-60"
noise = "3 %"
[printer.wide]
kind = "filament-220"
"#;

fn built(text: &str) -> Outcome {
    let mesh = body(&(0..=30).map(|i| (f64::from(i) * 8.0, 16.0, 11.0)).collect::<Vec<_>>());
    let shape = Shape { bodies: vec![NamedMesh::plain("bar", mesh)], unit_mm: Some(1.0), notes: Vec::new() };
    let mut project = prop::project::parse(text, &Catalogue::built_in()).unwrap();
    // A plastic without a range: its ends would be followed too, which takes as long again.
    let optics = &mut project.bodies[0].material.optics;
    optics.scatter_per_mm = [optics.scatter_per_mm[0]; 3];
    optics.absorb_per_mm = optics.absorb_per_mm.map(|a| [a[0]; 3]);
    let monitor = prop::Monitor { cancel: Cancel::default(), report: &|_, _| {} };
    prop::build(&Inputs { project, shape, hash: String::new() }, &monitor).unwrap()
}

fn found<'a>(outcome: &'a Outcome, id: &str) -> &'a Finding {
    outcome.findings.iter().find(|f| f.id == id).unwrap_or_else(|| panic!("no {id}"))
}

/// The ripple at the pitch is at most a third of the even wall's, and the pieces are closed and keep to their wall.
#[test]
fn a_graded_wall_takes_the_pixels_out_of_the_light() {
    let outcome = built(BAR);
    let gain = found(&outcome, "graded_wall");
    assert!(gain.measured.value <= 1.0 / 3.0, "{}", gain.message);
    for id in ["wall_graded", "wall_followed", "piece_closed", "piece_uncrossed", "piece_single", "outer_kept"] {
        let f = found(&outcome, id);
        assert_eq!(f.verdict, Verdict::Holds, "{id}: {}", f.message);
    }
    assert!(outcome.findings.iter().all(|f| f.id != "wall_even"));
    // Measured apart: from the printed piece's faces, the wall is nowhere thinner than its least.
    let walls = found(&outcome, "wall_graded");
    assert!(walls.measured.low >= 1.2 - 0.02 && walls.measured.high > 2.0, "{}", walls.message);
}

#[test]
fn without_light_the_wall_stays_even_and_says_so() {
    let outcome = built(&BAR.replace("noise = \"3 %\"", "follow = false"));
    let gain = found(&outcome, "graded_wall");
    assert!(gain.verdict == Verdict::Fails && gain.message.contains("2.6 mm"), "{}", gain.message);
    assert_eq!(found(&outcome, "wall_even").verdict, Verdict::Holds);
}

#[test]
fn the_graded_example_reads() {
    let text = include_str!("../../../../examples/reed-glaive/graded.toml");
    let project = prop::project::parse(text, &Catalogue::built_in()).unwrap();
    let graded: Vec<_> = project.bodies.iter().filter(|b| b.graded.is_some()).map(|b| b.name.as_str()).collect();
    assert_eq!(graded, ["blade"]);
}
