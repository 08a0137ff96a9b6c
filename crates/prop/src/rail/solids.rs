//! The rail as solids: its section led along its way.

use super::runs::Way;
use solid::{BooleanError, DVec2, DVec3, Mesh, difference_all, union_all};

/// A cut goes this far beyond what it is taken from, mm.
const BEYOND_MM: f64 = 1.0;

/// Rings lie no further apart, mm: who works on one place of a rod works on no more of it.
const RING_MM: f64 = 10.0;

/// Outlines led along the way from one distance to another and joined.
///
/// # Errors
/// When they cannot be joined.
pub(super) fn led(way: &Way, outlines: &[Vec<DVec2>], [from, to]: [f64; 2]) -> Result<Mesh, BooleanError> {
    let mut solids: Vec<Mesh> = outlines.iter().map(|o| solid::loft(&close(&way.rings(o, from, to)))).collect();
    if solids.len() == 1 { Ok(solids.swap_remove(0)) } else { union_all(&solids) }
}

/// Rings with others between them, so that none is further than [`RING_MM`] from the next.
fn close(rings: &[Vec<DVec3>]) -> Vec<Vec<DVec3>> {
    let mut all = Vec::new();
    for pair in rings.windows(2) {
        let (from, to) = (&pair[0], &pair[1]);
        let apart = from.iter().zip(to).map(|(a, b)| a.distance(*b)).fold(0.0, f64::max);
        let steps = (apart / RING_MM).ceil().max(1.0) as usize;
        let at = |share: f64| from.iter().zip(to).map(|(a, b)| *a + (*b - *a) * share).collect();
        all.extend((0..steps).map(|k| at(k as f64 / steps as f64)));
    }
    all.extend(rings.last().cloned());
    all
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rings_are_close_and_lie_on_the_rod() {
        let ring = |x: f64, r: f64| -> Vec<DVec3> {
            [(r, 0.0), (0.0, r), (-r, -r)].map(|(y, z)| DVec3::new(x, y, z)).to_vec()
        };
        let rings = [ring(0.0, 1.0), ring(25.0, 1.0), ring(30.0, 3.0)];
        let all = close(&rings);
        let at: Vec<f64> = all.iter().map(|r| r[0].x).collect();
        assert_eq!(at.len(), 5);
        assert!(at.iter().zip([0.0, 25.0 / 3.0, 50.0 / 3.0, 25.0, 30.0]).all(|(a, b)| (a - b).abs() < 1e-12));
        assert!(rings.iter().all(|r| all.contains(r)));
        let volume = |rings: &[Vec<DVec3>]| solid::loft(rings).volume_mm3();
        assert!((volume(&all) - volume(&rings)).abs() < 1e-9);
    }
}
