//! The least gap that a fit asks of the pieces: common practice, or what coupons showed or the project file states.

use crate::catalogue::{Origin, Printer};

/// Less air than this a side is a press fit: nothing slides any more, mm (common practice, no source: press fits are drawn
/// with 0.05 to 0.15 mm a side).
const SLIDES_MM: f64 = 0.15;
/// A glued seat that only just takes its part, mm (fit guides: glued locating fits 0.10 to 0.20).
const GLUED_MM: f64 = 0.1;
/// Gaps measured on pieces come out this much smaller at most, mm: tools stay a hundredth apart, places are sampled.
const MEASURED_MM: f64 = 0.02;

/// A least gap, mm a side, and who says so.
pub(super) struct Least {
    pub(super) mm: f64,
    pub(super) source: String,
}

/// The gap that something slides in, where the printer that needs most of it is `widest`: what is stated or was learnt, be it
/// less than common practice or more.
pub(super) fn slides(widest: Option<&Printer>) -> Least {
    let known = widest.map(|p| (p, p.slide_gap_mm[0], &p.origins.slide_gap));
    least(known, "slide-gap", SLIDES_MM)
}

/// The gap of a seat that something is glued into, where the printer that needs most of it is `widest`.
pub(super) fn glued(widest: Option<&Printer>) -> Least {
    let known = widest.map(|p| (p, p.glue_gap_mm, &p.origins.glue_gap));
    least(known, "glue-gap", GLUED_MM)
}

fn least(of: Option<(&Printer, f64, &Origin)>, key: &str, usual_mm: f64) -> Least {
    match of {
        Some((printer, gap_mm, origin @ (Origin::Project | Origin::Learnt(_)))) => Least {
            mm: gap_mm - MEASURED_MM,
            source: format!("printer {}: {}, less {MEASURED_MM} mm of measuring", printer.name, origin.words(key)),
        },
        _ => Least { mm: usual_mm, source: "common practice, no source: less is a press fit".into() },
    }
}
