//! Bays and ports: rooms for cell, boards, sensor, speaker and switches inside the solid bodies, and the ways in.
//!
//! `room` measures what is free in a body; `tray`, `port` and `end` each try places of one kind of part; `search` picks
//! the best; `light` holds the outer surfaces they ask; `shapes` makes the solids; `lid` the lids, `slide` those that slide;
//! `wires` leads the wires between them.
//!
//! **Part frame**: origin in the middle of the part, +x along its length towards its wire end, +z the way it leaves
//! (the way out of a port is -x). Heights are measured from the centre path along the way out.

mod end;
mod lattice;
mod lid;
mod light;
mod port;
mod room;
mod search;
mod shapes;
mod slide;
mod tray;
pub mod wires;

pub use lattice::Stands;
pub use lid::{LID_GAP_LEAST_MM, Lid, RIDGE_NEAR_MM, Screw};
pub use search::{BayError, OpenJoint, find_bays};

use solid::{DAffine3, DVec3, Mesh};

/// Where a part is reached from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Opens {
    /// Behind a lid (an index into [`Bays::lids`]).
    Lid(usize),
    /// From outside, through a port.
    Outside,
    /// Along the prop, where the joint at this station comes apart.
    Joint(f64),
}

/// A part in its place with the room that is cut for it.
#[derive(Clone, Debug)]
pub struct Bay {
    /// Index into the project's parts.
    pub part: usize,
    /// Index of its body in the placed shape.
    pub body: usize,
    /// From the part frame to the prop frame.
    pub place: DAffine3,
    /// The way it leaves, a unit vector in the prop frame.
    pub out: DVec3,
    /// How far it moves until it is free, mm.
    pub travel_mm: f64,
    /// How it is reached.
    pub opens: Opens,
    /// The part at nominal size, prop frame.
    pub solid: Mesh,
    /// The part at its largest, prop frame.
    pub largest: Mesh,
    /// What is taken from its body (and from the piece that closes its end), prop frame.
    pub taken: Mesh,
    /// Where its wires leave, prop frame.
    pub exit: DVec3,
    /// Gap per side as drawn around the nominal part, mm.
    pub gap_mm: f64,
    /// Stations that it takes up with its walls, mm.
    pub span_mm: [f64; 2],
    /// Millimetres by which the best place falls short of its walls; 0 for a sound one.
    pub short_mm: f64,
    /// Of a speaker.
    pub sound: Option<Sound>,
}

/// What a speaker needs besides its seat.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Sound {
    /// Open area of the grille, mm2.
    pub grille_mm2: f64,
    /// Number of its holes.
    pub holes: usize,
    /// Area of the cone, mm2.
    pub cone_mm2: f64,
    /// Closed room behind the speaker, cm3.
    pub chamber_cm3: f64,
    /// What it asks for, cm3.
    pub chamber_least_cm3: f64,
}

/// All bays of a prop.
#[derive(Clone, Debug, Default)]
pub struct Bays {
    /// In the order of the project's parts.
    pub bays: Vec<Bay>,
    /// Lids by station.
    pub lids: Vec<Lid>,
    /// Ways of the wires.
    pub wires: Vec<wires::WireRun>,
}

impl Bays {
    /// Everything taken from a body, as solids that may overlap.
    pub fn taken_from(&self, body: usize) -> Vec<&Mesh> {
        let bays = self.bays.iter().filter(|b| b.body == body).map(|b| &b.taken);
        let lids = self.lids.iter().filter(|l| l.body == body).flat_map(|l| [&l.recess, &l.sunk_in_body]);
        let wires = self.wires.iter().filter(|w| w.bodies.contains(&body)).map(|w| &w.channel);
        bays.chain(lids).chain(wires).filter(|m| !m.is_empty()).collect()
    }

    /// Stretches of stations where a cut would part a bay or a lid, mm.
    pub fn uncut_mm(&self) -> Vec<[f64; 2]> {
        let bays = self.bays.iter().map(|b| b.span_mm);
        bays.chain(self.lids.iter().map(|l| l.span_mm)).collect()
    }

    /// What joints must keep off: bays, lids' seats and wire channels, all in one (parts may overlap).
    pub fn keep_off(&self) -> Mesh {
        let mut all = Mesh::default();
        for bay in &self.bays {
            all.append(&bay.taken);
        }
        for lid in &self.lids {
            all.append(&lid.recess);
            all.append(&lid.sunk_in_body);
        }
        for wire in &self.wires {
            all.append(&wire.channel);
        }
        all
    }
}
