//! The rail as solids: its section led along its way.

use super::runs::Way;
use solid::{BooleanError, DVec2, Mesh, difference_all, union_all};

/// A cut goes this far beyond what it is taken from, mm.
const BEYOND_MM: f64 = 1.0;

/// Outlines led along the way from one distance to another and joined.
///
/// # Errors
/// When they cannot be joined.
pub(super) fn led(way: &Way, outlines: &[Vec<DVec2>], [from, to]: [f64; 2]) -> Result<Mesh, BooleanError> {
    let mut solids: Vec<Mesh> = outlines.iter().map(|o| solid::loft(&way.rings(o, from, to))).collect();
    if solids.len() == 1 { Ok(solids.swap_remove(0)) } else { union_all(&solids) }
}

/// The rail's own solid between two distances: what is joined less what is taken away.
///
/// # Errors
/// When the parts cannot be joined.
pub(super) fn rail(
    way: &Way,
    [joined, taken]: &[Vec<Vec<DVec2>>; 2],
    [from, to]: [f64; 2],
) -> Result<Mesh, BooleanError> {
    let whole = led(way, joined, [from, to])?;
    if taken.is_empty() {
        return Ok(whole);
    }
    let longer = [from - BEYOND_MM, to + BEYOND_MM];
    let tools: Vec<Mesh> = taken.iter().map(|o| led(way, std::slice::from_ref(o), longer)).collect::<Result<_, _>>()?;
    difference_all(&whole, &tools)
}
