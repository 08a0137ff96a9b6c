//! Cases, joints and spines as rows, for the page and as files.

use super::MANY;
use crate::Artifact;
use crate::csv::line;
use crate::words::{fixed, short, with_unit};
use prop::strength::Strength;

pub(crate) const CASES: [&str; 5] =
    ["Load case", "Tip moves", "Pieces bear, times what is asked", "At station", "Spine bears, times"];
pub(crate) const JOINTS: [&str; 6] = ["Joint", "Held by", "Asked most when", "Moment", "Bears, times that", "Weakest"];
pub(crate) const SPINES: [&str; 8] = [
    "Stock",
    "Mass",
    "Pieces bear, at the weakest",
    "Spine bears, at the weakest",
    "Joints bear, at the weakest",
    "Tip hangs",
    "Nods at",
    "Into this slot",
];

fn times(factor: f64) -> String {
    if factor >= MANY { "over 100".to_owned() } else { fixed(factor, 1) }
}

/// A line each load case.
pub(crate) fn cases(found: &Strength) -> Vec<Vec<String>> {
    let row = |c: &prop::strength::Case| {
        vec![
            c.title.to_owned(),
            with_unit(&fixed(c.tip_mm, 1), "mm"),
            times(c.wall.factor),
            with_unit(&short(c.station_mm, 0), "mm"),
            c.spine.as_ref().map_or_else(|| "\u{2013}".to_owned(), |(w, _)| times(w.factor)),
        ]
    };
    found.cases.iter().map(row).collect()
}

/// A line each joint.
pub(crate) fn joints(found: &Strength) -> Vec<Vec<String>> {
    let row = |j: &prop::strength::JointStrength| {
        vec![
            format!("J{}", j.number),
            j.by.to_owned(),
            j.case.to_owned(),
            with_unit(&fixed(j.moment_nmm * 1e-3, 2), "N m"),
            times(j.factor),
            times(j.low()),
        ]
    };
    found.joints.iter().map(row).collect()
}

/// A line each stock that was tried in the spine's place.
pub(crate) fn spines(found: &Strength) -> Vec<Vec<String>> {
    let row = |c: &prop::strength::SpineChoice| {
        let fits = match (c.is_own, c.allowed, c.fits) {
            (_, false, _) => "not allowed: metal",
            (true, ..) => "is in it",
            (_, _, true) => "goes in",
            _ => "takes a slot of its own",
        };
        vec![
            c.title.clone(),
            with_unit(&short(c.mass_g, 0), "g"),
            times(c.wall_factor),
            times(c.spine_factor),
            times(c.joint_factor),
            with_unit(&fixed(c.sag_mm, 1), "mm"),
            with_unit(&fixed(c.first_hz, 1), "Hz"),
            fits.to_owned(),
        ]
    };
    found.choices.iter().map(row).collect()
}

/// The same as a file.
pub(super) fn file(name: &str, columns: &[&str], rows: Vec<Vec<String>>) -> Artifact {
    let mut text = line(columns);
    for row in rows {
        text += &line(&row);
    }
    Artifact::new(format!("strength/{name}.csv"), text)
}
