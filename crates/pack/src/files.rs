//! The pieces and the shape as mesh files.

use crate::Artifact;
use prop::outcome::{self, Bar, Outcome, Piece};
use solid::write::{Part, stl, threemf};
use solid::{DAffine3, Mesh, sphere};

pub(crate) const PROGRAM: &str = "Lanthorn";

/// What a 3MF file says of itself: title, program, and whose it is on what terms.
pub(crate) fn metadata<'a>(outcome: &'a Outcome, title: &'a str) -> Vec<(&'static str, &'a str)> {
    let mut all = vec![("Title", title), ("Application", PROGRAM)];
    let imprint = &outcome.imprint;
    all.extend(imprint.author.as_deref().map(|author| ("Designer", author)));
    all.extend(imprint.licence.as_deref().map(|licence| ("LicenseTerms", licence)));
    all
}

/// Corner radius of the smallest mark, mm: seen over the surface on a prop of any size.
const LEAST_MARK_MM: f64 = 3.0;

/// One piece as 3MF and STL, as it prints.
pub(crate) fn piece(outcome: &Outcome, piece: &Piece) -> Vec<Artifact> {
    let title = format!("{}: {}", outcome.prop, piece.name);
    let part = Part { name: piece.name.clone(), mesh: &piece.mesh, placed: DAffine3::IDENTITY };
    vec![
        Artifact::new(format!("pieces/{}.3mf", piece.name), threemf(&[part], &metadata(outcome, &title))),
        Artifact::new(format!("pieces/{}.stl", piece.name), stl(&piece.mesh, &piece.name)),
    ]
}

/// The mended, scaled outer shape in the prop frame, one object a body.
pub(crate) fn shape(outcome: &Outcome) -> Artifact {
    let bodies = outcome.bodies.iter().map(|b| (&b.name, &b.mesh));
    Artifact::new("shape/prop.3mf", in_place(outcome, &outcome.prop, bodies))
}

/// A small octahedron around each place that was mended, in the prop frame; `None` where nothing was.
pub(crate) fn mends(outcome: &Outcome) -> Option<Artifact> {
    let marks: Vec<(String, Mesh)> = outcome
        .mends
        .iter()
        .flat_map(|m| m.spots.iter().enumerate().map(move |(k, s)| (format!("{}: {} {}", m.body, m.kind, k + 1), s)))
        .map(|(name, s)| (name, sphere(s.place, (0.6 * s.size_mm).max(LEAST_MARK_MM), 4)))
        .collect();
    let title = format!("{}: what was mended", outcome.prop);
    (!marks.is_empty())
        .then(|| Artifact::new("shape/mends.3mf", in_place(outcome, &title, marks.iter().map(|(n, m)| (n, m)))))
}

/// What goes in, as solids in the prop frame: one object a length of strip or spine, and one a part ("part A cell");
/// `None` without any.
pub(crate) fn inside(outcome: &Outcome) -> Option<Artifact> {
    let bars: Vec<&Bar> = outcome.strips.iter().chain(&outcome.spines).collect();
    let parts = outcome.parts.iter();
    let names: Vec<String> = lengths(&bars).into_iter().chain(parts.clone().map(outcome::Part::subject)).collect();
    let title = format!("{}: strips, spine and parts", outcome.prop);
    let solids = names.iter().zip(bars.iter().map(|b| &b.mesh).chain(parts.map(|p| &p.mesh)));
    (!names.is_empty()).then(|| Artifact::new("pieces/inside.3mf", in_place(outcome, &title, solids)))
}

/// What is taken from the bodies for parts, lids and wires, as solids in the prop frame that may overlap; `None` without
/// any.
pub(crate) fn openings(outcome: &Outcome) -> Option<Artifact> {
    let names: Vec<String> = (1..=outcome.openings.len()).map(|k| format!("opening {k}")).collect();
    let title = format!("{}: where the shape is opened", outcome.prop);
    let solids = names.iter().zip(&outcome.openings);
    (!names.is_empty()).then(|| Artifact::new("pieces/openings.3mf", in_place(outcome, &title, solids)))
}

/// A name of its own for each bar: where several straight lengths share one, "strip 1 length 1", "strip 1 length 2".
fn lengths(bars: &[&Bar]) -> Vec<String> {
    let same = |bars: &[&Bar], name: &str| bars.iter().filter(|b| b.name == name).count();
    let name = |(at, bar): (usize, &&Bar)| match same(bars, &bar.name) {
        1 => bar.name.clone(),
        _ => format!("{} length {}", bar.name, same(&bars[..=at], &bar.name)),
    };
    bars.iter().enumerate().map(name).collect()
}

/// Meshes that already lie where they belong, as one 3MF.
fn in_place<'a>(outcome: &Outcome, title: &str, meshes: impl Iterator<Item = (&'a String, &'a Mesh)>) -> Vec<u8> {
    let parts: Vec<Part<'_>> =
        meshes.map(|(name, mesh)| Part { name: name.clone(), mesh, placed: DAffine3::IDENTITY }).collect();
    threemf(&parts, &metadata(outcome, title))
}
