//! Bodies of ovals around the x axis with flat ends.

use crate::section::{Place, oval};
use crate::steps;
use crate::sweep::{Ends, Ring, sweep};
use solid::{DVec2, DVec3, Mesh};

/// A row of rings from the middle of a flat face out to its rim: (x, share of the outline). The innermost ring is one
/// step wide.
pub fn flat_start(x: f64, half_mm: f64, step_mm: f64) -> Vec<(f64, f64)> {
    steps(0.0, 1.0, step_mm / half_mm).map(|share| (x, share)).collect()
}

/// The same inwards from the rim, which is left out.
pub fn flat_end(x: f64, half_mm: f64, step_mm: f64) -> Vec<(f64, f64)> {
    let mut row = flat_start(x, half_mm, step_mm);
    row.reverse();
    row.remove(0);
    row
}

/// A body of ovals around the x axis between two flat ends, closed and facing outwards: `half_mm` gives their half axes
/// at each x, `relief` moves each place of the surface there.
pub fn turned(x: [f64; 2], edge_mm: f64, half_mm: &dyn Fn(f64) -> DVec2, relief: &dyn Fn(f64, Place) -> Place) -> Mesh {
    let mut row = flat_start(x[0], half_mm(x[0]).x, edge_mm);
    row.extend(steps(x[0], x[1], edge_mm * 0.866).map(|x| (x, 1.0)));
    row.extend(flat_end(x[1], half_mm(x[1]).x, edge_mm));
    let rings: Vec<Ring<'_>> = row
        .into_iter()
        .map(|(x, share)| Ring {
            outline: Box::new(move |turn| oval(half_mm(x), turn).scaled(share)),
            vertex: Box::new(move |place| {
                let full = place.scaled(1.0 / share);
                let p = relief(x, full).scaled(share).point;
                DVec3::new(x, p.x, p.y)
            }),
        })
        .collect();
    sweep(&rings, &Ends::Points(DVec3::X * x[0], DVec3::X * x[1]), edge_mm)
}
