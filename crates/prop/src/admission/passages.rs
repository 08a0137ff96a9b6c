//! Doors, cars and cases that the prop has to go through and into, for drawings.

use super::Whole;
use super::travels::{taken, through};
use crate::catalogue::{Catalogue, TravelRow};
use crate::outcome::Outcome;
use crate::project::Project;

/// Somewhere the prop has to go.
#[derive(Clone, Debug, PartialEq)]
pub struct Passage {
    /// Its name: that of the event or the way of travel.
    pub name: String,
    /// In words.
    pub title: String,
    /// What it is.
    pub kind: PassageKind,
    /// How the prop goes, in words with numbers.
    pub says: String,
    /// Whether the project says nothing of such, so that this is a usual one.
    pub is_usual: bool,
}

/// What the prop goes through or into.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PassageKind {
    /// Width and height, mm.
    Door([f64; 2]),
    /// Length, width and height inside, mm.
    Room([f64; 3]),
}

/// Usual ones (rows of the catalogue), each drawn where the project has none of its kind: a door, a car, a case.
const USUAL: [&str; 3] = ["inner-door", "small-car", "hold-bag"];
/// A room at least so long is a car's, mm (common practice, no source).
const CAR_MM: f64 = 1300.0;

impl PassageKind {
    /// Which of the usual ones it is of a kind with.
    fn usual(&self) -> usize {
        match self {
            PassageKind::Door(_) => 0,
            PassageKind::Room(room) if room[0].max(room[1]).max(room[2]) >= CAR_MM => 1,
            PassageKind::Room(_) => 2,
        }
    }
}

/// Those of the project, then usual ones of the kinds that it does not have.
pub(crate) fn passages(project: &Project, outcome: &Outcome) -> Vec<Passage> {
    let whole = Whole::of(outcome);
    let mut all = Vec::new();
    for event in &project.admission.events {
        all.extend(event.door_mm.map(|door| Passage {
            name: event.name.clone(),
            title: event.title.clone(),
            kind: PassageKind::Door(door),
            says: through(door, &whole).message().to_owned(),
            is_usual: false,
        }));
    }
    for travel in &project.admission.travels {
        all.extend(of_travel(travel, outcome, &whole, false));
    }
    let rows = Catalogue::built_in().travels;
    for (kind, name) in USUAL.iter().enumerate() {
        if !all.iter().any(|p| p.kind.usual() == kind) {
            let row = rows.iter().find(|r| r.name == *name);
            all.extend(row.into_iter().flat_map(|row| of_travel(row, outcome, &whole, true)));
        }
    }
    all
}

fn of_travel(travel: &TravelRow, outcome: &Outcome, whole: &Whole, is_usual: bool) -> Vec<Passage> {
    let of = |kind, says| Passage { name: travel.name.clone(), title: travel.title.clone(), kind, says, is_usual };
    let room = travel.room_mm.map(|room| of(PassageKind::Room(room), taken(travel, outcome, whole).message));
    let door = travel.door_mm.map(|door| of(PassageKind::Door(door), through(door, whole).message().to_owned()));
    room.into_iter().chain(door).collect()
}
