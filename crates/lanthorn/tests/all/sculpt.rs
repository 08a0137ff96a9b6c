//! A sculpt of overlapping shells, as sculptors leave it, healed and built.

use prop::catalogue::Catalogue;
use prop::{Inputs, Monitor};
use sculpt_shape::{PROJECT, sculpt};
use solid::Cancel;
use solid::mend::{MendKind, mend};
use solid::read::{NamedMesh, Shape};

const SHELLS: usize = 60;
const TRIANGLES: usize = 24_000;

#[test]
fn sixty_shells_become_the_solid_that_another_method_finds() {
    let lumps = sculpt(SHELLS, TRIANGLES);
    let (solid, mends) = mend(lumps.clone()).unwrap();
    assert_eq!(mends.iter().map(|m| (m.kind, m.count)).collect::<Vec<_>>(), [(MendKind::OverlappingShells, SHELLS)]);
    assert!(solid.edge_census().is_closed() && !solid::self_intersects(&solid).unwrap());
    // An arrangement of all triangles, kept where the winding number is positive: no union of two takes part in it.
    let other = solid::rebuild(&lumps).unwrap();
    assert!((solid.volume_mm3() / other.volume_mm3() - 1.0).abs() < 1e-6);
    assert!((solid.area_mm2() / other.area_mm2() - 1.0).abs() < 1e-6);
}

#[test]
fn a_sculpt_is_built_in_hollow_pieces() {
    let bodies = vec![NamedMesh::plain("sculpt", sculpt(SHELLS, TRIANGLES))];
    let shape = Shape { bodies, unit_mm: Some(1.0), notes: Vec::new() };
    let project = prop::project::parse(PROJECT, &Catalogue::built_in()).unwrap();
    let monitor = Monitor { cancel: Cancel::default(), report: &|_, _| {} };
    let outcome = prop::build(&Inputs { project, shape, hash: String::new() }, &monitor).unwrap();
    assert!(outcome.mends[0].what.starts_with("60 shells united where they overlap"), "{}", outcome.mends[0].what);
    assert!(outcome.pieces.len() >= 4, "{} pieces of 90 cm", outcome.pieces.len());
    let solid = outcome.bodies[0].mesh.volume_mm3();
    let printed: f64 = outcome.pieces.iter().map(|p| p.mesh.volume_mm3()).sum();
    assert!(printed > 0.0 && printed < 0.5 * solid, "hollow: {printed} of {solid}");
    assert!(outcome.pieces.iter().all(|p| p.mesh.edge_census().is_closed()));
}
