//! The wall of a body: a thickness, or limits between which it is graded.

use super::{GradedRules, defaults};
use crate::catalogue::{Material, Printer};
use crate::fields::Fields;
use crate::outcome::Role;
use crate::quantity::Wanted;

const WALL: Wanted = Wanted::length(0.4, 50.0, "2 mm");
/// What is written for a wall that is graded.
const GRADED: &str = "graded";
/// A wall under this many beads has no two that lie fully beside each other, and doesn't hold (common practice, no source).
const LEAST_BEADS: f64 = 2.0;
/// Keys that say how a wall is graded.
const KEYS: [&str; 3] = ["wall-least", "wall-most", "wall-beads"];

/// Reads the wall of a body of this role, printed of `material` on one of `printers`: its thickness (of a graded one, the
/// middle between its limits), and how it is graded if it is.
pub(super) fn read_wall(
    body: &mut Fields<'_>,
    role: Role,
    material: Option<&Material>,
    printers: &[&Printer],
) -> Option<(f64, Option<GradedRules>)> {
    let wall = body.get("wall");
    let asked = KEYS.into_iter().find(|key| body.has(key));
    let least = body.optional_quantity("wall-least", &WALL);
    let most = body.optional_quantity("wall-most", &WALL);
    let in_beads = body.flag("wall-beads", material.is_some_and(|m| m.whole_beads));
    if !wall.as_ref().is_some_and(|field| field.is_text(GRADED)) {
        if let Some(key) = asked {
            body.error_at(
                key,
                "this is for a graded wall".into(),
                "write wall = \"graded\" beside it, or leave it out",
            );
        }
        return Some((
            wall.map_or(Some(defaults::wall_mm(role, material.map(|m| m.process))), |field| field.quantity(&WALL))?,
            None,
        ));
    }
    if role != Role::Lit {
        body.error_at("wall", "only the wall of a lit body can be graded".into(), "write its thickness, as \"2 mm\"");
        return None;
    }
    let bead_mm = printers.iter().map(|p| p.bead_mm).fold(0.0, f64::max);
    let two_mm = LEAST_BEADS * bead_mm;
    let least_mm = least?.unwrap_or(two_mm.max(defaults::GRADED_MM[0]));
    let most_mm = most?.unwrap_or((least_mm + 1.0).max(defaults::GRADED_MM[1]));
    if least_mm < two_mm - 1e-9 {
        let message = format!("this is less than two beads of {bead_mm} mm beside each other");
        body.error_at(
            "wall-least",
            message,
            &format!("write {two_mm:.2} mm or more, or name a printer with a finer bead"),
        );
        return None;
    }
    if most_mm < least_mm + LEAST_RANGE_MM {
        let message = format!("a wall from {least_mm} to {most_mm} mm has nothing to be graded between");
        let key = if body.has("wall-most") { "wall-most" } else { "wall-least" };
        body.error_at(key, message, &format!("make them {LEAST_RANGE_MM} mm apart or more"));
        return None;
    }
    Some(((least_mm + most_mm) / 2.0, Some(GradedRules { least_mm, most_mm, in_beads: in_beads? })))
}

/// Limits of a graded wall lie at least so far apart, mm: less changes light by no more than prints differ.
const LEAST_RANGE_MM: f64 = 0.2;
