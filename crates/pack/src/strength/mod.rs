//! What the prop bears: a table of stations, and charts on the same axis as every other drawing.

mod chart;
mod tables;

use crate::Artifact;
use crate::csv::line;
use prop::outcome::Outcome;

pub(crate) use chart::draw;
pub(crate) use tables::{CASES, JOINTS, SPINES, cases, joints, spines};

/// Factors above this are shown as this: nobody asks whether it is 40 or 400.
pub(crate) const MANY: f64 = 99.9;

/// `strength/stations.csv`, and the tables of the page; nothing where strength was not worked out.
pub(crate) fn files(outcome: &Outcome) -> Vec<Artifact> {
    let Some(found) = &outcome.strength else { return Vec::new() };
    let mut text = line(&[
        "from_mm",
        "to_mm",
        "piece",
        "area_mm2",
        "centroid_across_mm",
        "centroid_through_mm",
        "shear_centre_across_mm",
        "shear_centre_through_mm",
        "broad_slope_deg",
        "ei_most_nmm2",
        "ei_least_nmm2",
        "gj_nmm2",
        "mass_g_mm",
        "sag_flat_mm",
        "sag_edge_mm",
        "factor",
        "along_mpa",
        "shear_mpa",
        "strength_mpa",
        "case",
        "spine_factor",
        "spine_mpa",
    ]);
    for s in &found.stations {
        let spine = |of: &dyn Fn(&prop::strength::Worst) -> String| s.spine.as_ref().map_or_else(String::new, of);
        text += &line(&[
            format!("{:.2}", s.span_mm[0]),
            format!("{:.2}", s.span_mm[1]),
            s.piece.to_string(),
            format!("{:.1}", s.area_mm2),
            format!("{:.2}", s.centroid_mm[0]),
            format!("{:.2}", s.centroid_mm[1]),
            s.shear_centre_mm.map_or_else(String::new, |c| format!("{:.2}", c[0])),
            s.shear_centre_mm.map_or_else(String::new, |c| format!("{:.2}", c[1])),
            format!("{:.1}", s.slope_deg),
            format!("{:.4e}", s.ei_nmm2[0]),
            format!("{:.4e}", s.ei_nmm2[1]),
            format!("{:.4e}", s.gj_nmm2),
            format!("{:.4}", s.mass_g_mm),
            format!("{:.3}", s.sag_mm[0]),
            format!("{:.3}", s.sag_mm[1]),
            format!("{:.2}", s.worst.factor.min(MANY)),
            format!("{:.3}", s.worst.along_mpa),
            format!("{:.3}", s.worst.shear_mpa),
            format!("{:.1}", s.worst.strength_mpa),
            s.worst.case.to_owned(),
            spine(&|w| format!("{:.2}", w.factor.min(MANY))),
            spine(&|w| format!("{:.3}", w.along_mpa)),
        ]);
    }
    vec![
        Artifact::new("strength/stations.csv", text),
        tables::file("joints", &JOINTS, joints(found)),
        tables::file("cases", &CASES, cases(found)),
        tables::file("spines", &SPINES, spines(found)),
    ]
}
