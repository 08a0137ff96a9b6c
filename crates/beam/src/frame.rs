//! Bars along a path, with joints, supports and masses.
//!
//! Nodes are points; a [`Span`] is a straight bar of one section between two of them. A bar that varies or curves is
//! many short spans: [`line()`] makes them. Elements are Timoshenko bars in space: Przemieniecki, *Theory of Matrix
//! Structural Analysis* (1968), stiffness with shear, consistent mass and geometric stiffness (from memory).

mod assembled;
mod bar;
mod buckle;
mod checked;
mod error;
mod line;
mod modes;
mod pulse;
mod ready;
mod still;
mod weigh;

use glam::{DMat2, DVec3};

use crate::section::Second;

pub use buckle::buckling;
pub use error::FrameError;
pub use line::{Line, Stop, line};
pub use modes::{Mode, modes};
pub use pulse::{Struck, pulse, shock_factor};
pub use ready::Ready;
pub use still::{End, Reaction, Still, still};
pub use weigh::{Heft, heft};

/// How a section acts in a bar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bar {
    /// Against stretching.
    pub ea_n: f64,
    /// Against bending about the span's own y and z.
    pub ei_nmm2: Second,
    /// Against twisting.
    pub gj_nmm2: f64,
    /// Slide in mm for each mm and newton across; zeros for a bar that does not give in shear.
    pub shear_per_n: DMat2,
    /// Mass for each millimetre.
    pub mass_g_mm: f64,
    /// Moment of inertia about the axis, for each millimetre.
    pub spin_gmm2_mm: f64,
}

/// A straight bar from one node to another. Its own axes: x along it, y as near to `across` as square to x allows, z =
/// x × y. Nodes lie on the sections' weighted centroids.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// First node.
    pub from: usize,
    /// Last node.
    pub to: usize,
    /// Roughly where the section's y points.
    pub across: DVec3,
    /// The section.
    pub bar: Bar,
}

/// How one movement is held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hold {
    /// Not at all.
    Free,
    /// Without giving.
    Firm,
    /// By a spring: N/mm, or N·mm for each radian.
    Spring(f64),
}

/// Two nodes in one place that give against each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joint {
    /// One node.
    pub from: usize,
    /// The other, in the same place.
    pub to: usize,
    /// Where the joint's own x points.
    pub along: DVec3,
    /// Roughly where its y points.
    pub across: DVec3,
    /// Movements along its x, y and z.
    pub moves: [Hold; 3],
    /// Turns about its x, y and z.
    pub turns: [Hold; 3],
    /// How far it turns about x, y and z, either way, before it holds: a loose fit. Only loads at rest ([`still`]) know
    /// of it.
    pub play_rad: [f64; 3],
}

impl Joint {
    /// Holds together and turns by springs, without play.
    #[must_use]
    pub fn turning(nodes: [usize; 2], along: DVec3, across: DVec3, turns: [Hold; 3]) -> Self {
        let [from, to] = nodes;
        Self { from, to, along, across, moves: [Hold::Firm; 3], turns, play_rad: [0.0; 3] }
    }
}

/// Where the frame is held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Support {
    /// Which node.
    pub node: usize,
    /// Movements along x, y, z of the frame, then turns about them.
    pub hold: [Hold; 6],
}

impl Support {
    /// Held against everything.
    #[must_use]
    pub fn clamp(node: usize) -> Self {
        Self { node, hold: [Hold::Firm; 6] }
    }

    /// Held in place, free to turn.
    #[must_use]
    pub fn pin(node: usize) -> Self {
        let (firm, free) = (Hold::Firm, Hold::Free);
        Self { node, hold: [firm, firm, firm, free, free, free] }
    }

    /// Held in place, and against turning by one spring for all ways: a hand.
    #[must_use]
    pub fn grip(node: usize, turn_nmm: f64) -> Self {
        let (firm, turn) = (Hold::Firm, Hold::Spring(turn_nmm));
        Self { node, hold: [firm, firm, firm, turn, turn, turn] }
    }
}

/// A mass without size, carried by a node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PointMass {
    /// Which node.
    pub node: usize,
    /// How much.
    pub mass_g: f64,
    /// Where it is, from the node.
    pub arm_mm: DVec3,
}

/// Everything that makes up a frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Frame {
    /// Points, mm.
    pub nodes: Vec<DVec3>,
    /// Bars between them.
    pub spans: Vec<Span>,
    /// Where bars may turn against each other.
    pub joints: Vec<Joint>,
    /// What sits on them.
    pub masses: Vec<PointMass>,
    /// What holds them.
    pub supports: Vec<Support>,
}

impl Frame {
    /// The same frame turned about the origin, its supports staying as they are: for one that leans against a wall.
    #[must_use]
    pub fn turned(&self, by: glam::DMat3) -> Self {
        Self {
            nodes: self.nodes.iter().map(|n| by * *n).collect(),
            spans: self.spans.iter().map(|s| Span { across: by * s.across, ..*s }).collect(),
            joints: self.joints.iter().map(|j| Joint { along: by * j.along, across: by * j.across, ..*j }).collect(),
            masses: self.masses.iter().map(|m| PointMass { arm_mm: by * m.arm_mm, ..*m }).collect(),
            supports: self.supports.clone(),
        }
    }
}

/// What acts on a frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Load {
    /// At a node.
    Point {
        /// Which.
        node: usize,
        /// Force.
        force_n: DVec3,
        /// Moment, N·mm.
        moment_nmm: DVec3,
    },
    /// On all mass: the pull of the earth is 9806.65 mm/s² downwards, whichever way that is.
    Pull {
        /// Acceleration, mm/s².
        mm_s2: DVec3,
    },
    /// All mass goes round a fixed axis: pulled outwards by the rate, and held back by what changes the rate. Along a
    /// span the force is taken as that in its middle.
    Swing {
        /// A point on the axis.
        centre_mm: DVec3,
        /// Rate, radians a second, along the axis.
        rate_rad_s: DVec3,
        /// Change of the rate, radians a second squared.
        gain_rad_s2: DVec3,
    },
}

/// The pull of the earth, mm/s² (standard gravity, ISO 80000-3).
pub const EARTH_MM_S2: f64 = 9806.65;
