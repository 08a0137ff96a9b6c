//! Finish: what is filled, sanded and painted, how large it is, and what that takes.
//!
//! Rooms: `area`, the outside of each piece by what becomes of it; `layers`, paint and what holds on what; `fill`, seams and layers that are
//! filled; `wrap`, what is wound round a grip; `told`, the findings.

mod area;
mod fill;
mod layers;
#[cfg(test)]
mod tests;
mod told;
mod wrap;

use crate::catalogue::Coat;
use crate::finding::Finding;
use crate::memory::{Key, KeyOf, Known, Memory};
use crate::outcome::{Joint, Part, Piece};
use crate::project::Project;
use crate::stages::Placed;
use crate::window::Windows;
pub use area::Outside;
use area::{Surfaces, outside};
pub(crate) use fill::roughness;
pub use fill::{Seam, Skim};
pub use layers::{Bond, Layer};
use rayon::prelude::*;
use std::convert::Infallible;
pub use told::Problem;
pub use wrap::Wrap;

/// What is done to the outside.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Finish {
    /// The outside of each piece, in the order of the pieces.
    pub outsides: Vec<Outside>,
    /// What is painted alike: the outside of each body with coats, each window with coats of its own, each lined hollow.
    pub zones: Vec<Zone>,
    /// Seams that are filled, by joint.
    pub seams: Vec<Seam>,
    /// Layers that are filled, by piece.
    pub skims: Vec<Skim>,
    /// What is wound round grips, in file order.
    pub wraps: Vec<Wrap>,
}

/// Which faces a zone is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// A body's outside wherever it is no window.
    Outside,
    /// A window: its place in the outcome's windows.
    Window(usize),
    /// The hollow of a body.
    Hollow,
}

/// Faces of one plastic that get the same coats.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// "blade", "window edge", "hollow of blade".
    pub name: String,
    /// Body that it belongs to.
    pub body: String,
    /// Which of its faces.
    pub place: Place,
    /// Material of its pieces (a catalogue name).
    pub material: String,
    /// Pieces with a part in it: number, mm2.
    pub pieces: Vec<(u32, f64)>,
    /// Coats from the plastic on.
    pub coats: Vec<Coat>,
    /// What each of them comes to, in the same order.
    pub layers: Vec<Layer>,
    /// Stations that it spans, mm.
    pub station_mm: [f64; 2],
}

impl Zone {
    /// Its area, mm2.
    pub fn area_mm2(&self) -> f64 {
        // From nothing: a sum of none would be less than nothing.
        self.pieces.iter().fold(0.0, |sum, (_, mm2)| sum + mm2)
    }
}

/// What finish is worked out from.
pub(crate) struct FinishWork<'a> {
    pub(crate) project: &'a Project,
    pub(crate) placed: &'a Placed,
    pub(crate) windows: &'a Known<Windows>,
    pub(crate) pieces: &'a [Piece],
    pub(crate) joints: &'a [Joint],
    pub(crate) parts: &'a [Part],
    /// What each piece was made from.
    pub(crate) keys: &'a [Key],
    pub(crate) memory: &'a Memory,
}

/// Works it out, with what is found.
pub(crate) fn finish(work: &FinishWork) -> (Finish, Vec<Finding>) {
    let surfaces = std::sync::OnceLock::new();
    let of_piece = |(piece, key): (&Piece, &Key)| {
        let key = KeyOf::stage("outside").and(&work.windows.key()).and(key).key();
        let Ok(known) = work.memory.recall("outside", work.pieces.len(), key, || {
            let surfaces = surfaces.get_or_init(|| Surfaces::of(work.placed));
            Ok::<Outside, Infallible>(outside(work.placed, work.windows, surfaces, piece))
        });
        Outside::clone(&known)
    };
    let outsides: Vec<Outside> = work.pieces.par_iter().zip(work.keys).map(of_piece).collect();
    let seams = fill::seams(work.project, &work.placed.bodies, work.pieces, work.joints);
    let skims = fill::skims(work.project, work.pieces, &outsides);
    let mut zones = zones(work, &outsides);
    for zone in &mut zones {
        let material = work.project.rules_for(&zone.body).material;
        // What lies on the outside here and there: a paste is the plastic itself.
        let pieces = |number: u32| zone.pieces.iter().any(|(n, _)| *n == number);
        let filled = zone.place == Place::Outside && skims.iter().any(|s| pieces(s.piece));
        let filler = filled.then_some(&work.project.finish.filler);
        zone.layers = layers::layers(&zone.coats, &material, filler, zone.area_mm2(), work.project.finish.spray);
    }
    let mut wraps = Vec::new();
    let mut problems = Vec::new();
    for rules in &work.project.finish.wraps {
        match wrap::wound(rules, &work.placed.bodies, &work.placed.path) {
            Ok(wrap) => wraps.push(wrap),
            Err(problem) => problems.push((rules.name.clone(), problem)),
        }
    }
    let finish = Finish { outsides, zones, seams, skims, wraps };
    let people = work.project.plan.as_ref().map(|p| p.people);
    let mut findings = told::findings(&finish, people, &problems);
    findings.extend(finish.wraps.iter().map(|w| told::clear(w, work.parts)));
    (finish, findings)
}

/// All zones: bodies by station, of each its outside, its windows, its hollow.
fn zones(work: &FinishWork, outsides: &[Outside]) -> Vec<Zone> {
    let mut all = Vec::new();
    for body in &work.placed.bodies {
        let rules = work.project.rules_for(&body.name);
        let own = |mm2: &dyn Fn(&Outside) -> f64| -> Vec<(u32, f64)> {
            let pieces = work.pieces.iter().zip(outsides).filter(|(p, _)| p.body == body.name);
            pieces.map(|(p, o)| (p.number, mm2(o))).filter(|(_, mm2)| *mm2 > 0.0).collect()
        };
        let zone = |name: String, place, coats: &[Coat], pieces, station_mm| Zone {
            name,
            body: body.name.clone(),
            place,
            material: rules.material.name.clone(),
            pieces,
            coats: coats.to_vec(),
            layers: Vec::new(),
            station_mm,
        };
        if !rules.coats.is_empty() {
            let pieces = own(&|o| o.body_mm2);
            all.push(zone(body.name.clone(), Place::Outside, &rules.coats, pieces, body.station_mm));
        }
        for (k, window) in work.windows.list().iter().enumerate() {
            let coats = work.project.windows.iter().find(|w| w.name == window.name).map(|w| w.coats.as_slice());
            let Some(coats) = coats.filter(|c| !c.is_empty() && !window.implied) else { continue };
            if work.placed.bodies[window.body].name == body.name {
                let pieces = own(&|o| o.window_mm2(k));
                all.push(zone(format!("window {}", window.name), Place::Window(k), coats, pieces, window.station_mm));
            }
        }
        if !rules.lining.is_empty() && body.role == crate::outcome::Role::Lit {
            let pieces = own(&|o| o.hollow_mm2);
            let name = format!("hollow of {}", body.name);
            all.push(zone(name, Place::Hollow, &rules.lining, pieces, body.station_mm));
        }
    }
    all
}
