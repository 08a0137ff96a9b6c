//! What events and ways of travel allow, held against the prop as it is built. The rules are rows of data, each with its source; the
//! event's own rules, and the judgement of whoever checks props there, decide.
//!
//! `apart` takes the prop apart, `room` lays a part into cases and cars, `packed` all of them together, `sharp` measures edges and points, `stuff` weighs what it is made
//! of; `events` and `travels` say the findings, `passages` what drawings show.

mod apart;
mod events;
mod packed;
mod passages;
mod room;
mod sharp;
mod stuff;
#[cfg(test)]
mod tests;
mod travels;

use crate::finding::Finding;
use crate::memory::{KeyOf, Memory};
use crate::outcome::Outcome;
use crate::project::Project;
pub use apart::{Fit, Portion, Whole};
pub(crate) use passages::passages;
pub use passages::{Passage, PassageKind};
pub use room::longest_mm;
pub use sharp::{Sharp, sharpest};
use std::convert::Infallible;
pub use stuff::{Stuff, Weighed, weighed};

/// Holds the prop against every event and way of travel of the project.
pub(crate) fn judged(project: &Project, outcome: &Outcome, memory: &Memory) -> Vec<Finding> {
    let asked = &project.admission;
    if asked.events.is_empty() && asked.travels.is_empty() {
        return Vec::new();
    }
    let whole = Whole::of(outcome);
    let mut found = Vec::new();
    if asked.events.iter().any(|e| e.edge_mm.is_some() || e.point_mm.is_some()) {
        let key = outcome.bodies.iter().fold(KeyOf::stage("sharp"), |k, b| k.and(&b.name).mesh(&b.mesh)).key();
        let Ok(sharp) = memory.recall("sharp", 1, key, || Ok::<_, Infallible>(sharpest(&outcome.bodies)));
        for event in &asked.events {
            found.extend(events::sharp(event, &sharp, outcome));
        }
    }
    for event in &asked.events {
        found.extend(events::event(event, project, outcome, &whole));
    }
    for travel in &asked.travels {
        found.extend(travels::travel(travel, outcome, &whole));
    }
    found
}

/// A rule's source with its date, and whose word is the last.
fn source(source: &str, date: &str) -> String {
    format!("{source} ({date}); the rules on the spot and whoever checks there decide")
}

/// "840 mm" of a joint, as findings name places.
fn place(outcome: &Outcome, joint: u32) -> String {
    outcome
        .joints
        .iter()
        .find(|j| j.number == joint)
        .map_or_else(|| format!("J{joint}"), |j| format!("J{joint} (station {:.0} mm)", j.frame.station_mm))
}

/// "J2 (station 512 mm) and J5 (station 980 mm)".
fn places(outcome: &Outcome, joints: &[u32]) -> String {
    joints.iter().map(|j| place(outcome, *j)).collect::<Vec<_>>().join(" and ")
}

/// What it would take to make joints come apart that are glued now.
fn would(outcome: &Outcome, whole: &Whole, joints: &[u32], parts: &[Portion]) -> String {
    let longest = parts.iter().map(|p| p.box_mm[0]).fold(0.0, f64::max);
    let station = |n: &u32| outcome.joints.iter().find(|j| j.number == *n).map_or(0.0, |j| j.frame.station_mm);
    let strip = joints.iter().any(|n| whole.strip_at(station(n)));
    let also = if strip { "; the strip would have to be parted there too" } else { "" };
    format!(
        "were {} made to come apart ([joint.NAME] at = \"{:.0} mm\"), no part would be longer than {:.0} mm, and it would fit{also}",
        places(outcome, joints),
        joints.first().map_or(0.0, station),
        longest.ceil()
    )
}
