//! The pieces and the shape as mesh files.

use crate::Artifact;
use prop::outcome::{Outcome, Piece};
use solid::DAffine3;
use solid::write::{Part, stl, threemf};

const PROGRAM: &str = "Lanthorn";

/// One piece as 3MF and STL, as it prints.
pub(crate) fn piece(outcome: &Outcome, piece: &Piece) -> Vec<Artifact> {
    let title = format!("{}: {}", outcome.prop, piece.name);
    let part = Part { name: piece.name.clone(), mesh: &piece.mesh, placed: DAffine3::IDENTITY };
    vec![
        Artifact::new(
            format!("pieces/{}.3mf", piece.name),
            threemf(&[part], &[("Title", &title), ("Application", PROGRAM)]),
        ),
        Artifact::new(format!("pieces/{}.stl", piece.name), stl(&piece.mesh, &piece.name)),
    ]
}

/// The mended, scaled outer shape in the prop frame, one object a body.
pub(crate) fn shape(outcome: &Outcome) -> Artifact {
    let parts: Vec<Part<'_>> = outcome
        .bodies
        .iter()
        .map(|b| Part { name: b.name.clone(), mesh: &b.mesh, placed: DAffine3::IDENTITY })
        .collect();
    Artifact::new("shape/prop.3mf", threemf(&parts, &[("Title", &outcome.prop), ("Application", PROGRAM)]))
}
