//! Between the second stage and the third: where the parts go, with lids, ports and the ways of the wires.

use super::{Inside, Placed};
use crate::bay::{BayError, Bays, OpenJoint, find_bays};
use crate::memory::{KeyOf, Known, Memory};
use crate::outcome::Body;
use crate::project::Project;
use crate::refusal::Refusal;

/// Finds a place for every part.
///
/// # Errors
/// A [`Refusal`] at the part that fits nowhere.
pub fn bays(
    project: &Project,
    placed: &Known<Placed>,
    inside: &Inside,
    memory: &Memory,
) -> Result<Known<Bays>, Refusal> {
    let seen = project.for_inside();
    let key = KeyOf::stage("bays").and(&inside.key).and(&seen).key();
    memory.recall("bays", 1, key, || find(&seen, placed, inside))
}

fn find(project: &Project, placed: &Placed, inside: &Inside) -> Result<Bays, Refusal> {
    if project.parts.is_empty() {
        return Ok(Bays::default());
    }
    let core: Vec<&Body> = placed.core().collect();
    let joints: Vec<OpenJoint> = crate::joint::sites(project, &core, &placed.path)
        .iter()
        .map(|site| OpenJoint { station_mm: site.station_mm, span_mm: site.span_mm() })
        .collect();
    find_bays(project, placed, inside, &joints).map_err(|e| refusal(&e))
}

fn refusal(error: &BayError) -> Refusal {
    match error.part() {
        Some(part) => Refusal::of(&["part", part, "in"], error.to_string(), error.remedy()),
        None => Refusal::of(&["part"], error.to_string(), error.remedy()),
    }
}
