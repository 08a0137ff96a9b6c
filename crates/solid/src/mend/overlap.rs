//! Shells that pass through each other.

use super::shells::Nesting;
use super::{Fault, FaultKind, Mend, MendKind};
use crate::boolean::{rebuild, self_intersects};
use crate::{Bounds, Mesh};

/// A single shell with more triangles is trusted not to pass through itself: the test takes seconds for millions.
const MOST_TESTED_ALONE: usize = 400_000;

/// Unites what overlaps, so that no solid lies inside solid.
pub(super) fn resolve(mesh: Mesh, nesting: &Nesting, mends: &mut Vec<Mend>) -> Result<Mesh, Vec<Fault>> {
    let meeting = first_meeting(&nesting.bounds);
    let known = nesting.swallowed.map(|i| nesting.bounds[i]);
    let Some(place) = known.or(meeting).or_else(|| mesh.bounds()) else { return Ok(mesh) };
    let still = || {
        vec![Fault {
            kind: FaultKind::StillOverlapping,
            count: nesting.bounds.len(),
            length_mm: 0.0,
            place: place.center(),
            size: place.size(),
        }]
    };
    let tested = meeting.is_some() || mesh.triangles.len() <= MOST_TESTED_ALONE;
    let overlapping = known.is_some() || (tested && self_intersects(&mesh).map_err(|_| still())?);
    if !overlapping {
        return Ok(mesh);
    }
    let united = rebuild(&mesh).map_err(|_| still())?;
    let solid = !united.is_empty() && united.edge_census().is_closed() && united.volume_mm3() > 0.0;
    if !solid || self_intersects(&united).map_err(|_| still())? {
        return Err(still());
    }
    mends.push(Mend { kind: MendKind::OverlappingShells, count: nesting.bounds.len(), place: place.center() });
    Ok(united)
}

/// Where two boxes share room, for the first pair along x.
fn first_meeting(bounds: &[Bounds]) -> Option<Bounds> {
    let mut order: Vec<&Bounds> = bounds.iter().collect();
    order.sort_by(|a, b| a.min.x.total_cmp(&b.min.x));
    order.iter().enumerate().find_map(|(i, a)| {
        order[i + 1..].iter().take_while(|b| b.min.x <= a.max.x).find_map(|b| {
            let shared = Bounds { min: a.min.max(b.min), max: a.max.min(b.max) };
            shared.min.cmple(shared.max).all().then_some(shared)
        })
    })
}
