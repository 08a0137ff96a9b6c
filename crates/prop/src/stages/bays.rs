//! Between the second stage and the third: where the parts go, with lids, ports and the ways of the wires.

use super::{Inside, Placed};
use crate::bay::{BayError, Bays, OpenJoint, find_bays};
use crate::catalogue::{Electrics, PartKind, PartRow};
use crate::memory::{KeyOf, Known, Memory};
use crate::outcome::Body;
use crate::project::{PartRules, Project};
use crate::refusal::Refusal;
use std::convert::Infallible;

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

/// Whether every part finds a place with so many cells of a row instead of the project's own.
pub(super) fn room_for_cells(
    project: &Project,
    placed: &Placed,
    inside: &Inside,
    (row, count): (&PartRow, u32),
    memory: &Memory,
) -> bool {
    let mut seen = project.for_inside();
    let Some(own) = seen.parts.iter().position(|p| p.row.kind == PartKind::Cell) else { return false };
    let cell = PartRules { row: PartRow { electrics: Electrics::Passive, ..row.clone() }, ..seen.parts[own].clone() };
    let mut at = 0;
    seen.parts.retain(|p| {
        at += 1;
        at == own + 1 || p.row.kind != PartKind::Cell
    });
    seen.parts[own] = cell.clone();
    for more in 1..count {
        // Places that the maker gave are the first cell's.
        let name = format!("{} {}", cell.name, more + 1);
        seen.parts.push(PartRules { name, at_mm: None, side: None, depth_mm: None, ..cell.clone() });
    }
    let key = KeyOf::stage("room for cells").and(&inside.key).and(&seen).key();
    let Ok(known) =
        memory.recall("room for cells", 4, key, || Ok::<_, Infallible>(find(&seen, placed, inside).is_ok()));
    *known
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
