//! Bars along a path, with joints, supports and masses.
//!
//! Nodes are points; a [`Span`] is a straight bar of one section between two of them. A bar that varies or curves is many short spans.
//! Elements are Euler-Bernoulli bars in space: Przemieniecki, *Theory of Matrix Structural Analysis* (1968), stiffness,
//! consistent mass and geometric stiffness (from memory).

mod assembled;
mod bar;
mod modes;
mod still;

use glam::DVec3;

use crate::section::{Properties, Second};
use crate::torsion::Torsion;

pub use modes::{Mode, buckling, modes};
pub use still::{End, Reaction, Still, still};

/// How a section acts in a bar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bar {
    /// Against stretching.
    pub ea_n: f64,
    /// Against bending about the span's own y and z.
    pub ei_nmm2: Second,
    /// Against twisting.
    pub gj_nmm2: f64,
    /// Mass for each millimetre.
    pub mass_g_mm: f64,
    /// Moment of inertia about the axis, for each millimetre.
    pub spin_gmm2_mm: f64,
}

impl Bar {
    /// What a section comes to.
    #[must_use]
    pub fn of(section: &Properties, torsion: &Torsion) -> Self {
        Self {
            ea_n: section.ea_n,
            ei_nmm2: section.ei_nmm2,
            gj_nmm2: torsion.gj_nmm2,
            mass_g_mm: section.mass_g_mm,
            spin_gmm2_mm: section.spin_gmm2_mm,
        }
    }
}

/// A straight bar from one node to another. Its own axes: x along it, y as near to `across` as square to x allows, z = x × y.
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

/// Two nodes in one place that may turn against each other but not part.
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
    /// Resistance against turning about its x, y and z, N·mm for each radian; 0 turns freely.
    pub turn_nmm: [f64; 3],
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
}

/// A mass without size at a node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PointMass {
    /// Which node.
    pub node: usize,
    /// How much.
    pub mass_g: f64,
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
    /// On all mass: the pull of the earth is 9806.65 mm/s² downwards.
    Pull {
        /// Acceleration, mm/s².
        mm_s2: DVec3,
    },
    /// All mass goes round a fixed axis at a steady rate and is pulled outwards. Taken at the middle of each span.
    Swing {
        /// A point on the axis.
        centre_mm: DVec3,
        /// Rate, radians a second, along the axis.
        rate_rad_s: DVec3,
    },
}

/// Why a frame can't be computed. Nodes, spans and joints are counted from 0 in the order given.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum FrameError {
    /// Nothing to bend.
    #[error("the frame has no spans; give at least one bar between two nodes")]
    Empty,
    /// Held nowhere.
    #[error("nothing holds the frame: it has no support; say at which node a hand or a floor holds it")]
    NoSupport,
    /// A node that is not there.
    #[error("{what} {idx} names node {node}, but there are {nodes}")]
    NoNode {
        /// "span", "joint", "mass", "support" or "load".
        what: &'static str,
        /// Which of them.
        idx: usize,
        /// The node it names.
        node: usize,
        /// How many there are.
        nodes: usize,
    },
    /// A number that is none.
    #[error("{what} {idx} holds a number that is not finite, or a negative mass or spring; mend it where it came from")]
    NotFinite {
        /// "node", "span", "joint", "mass", "support" or "load".
        what: &'static str,
        /// Which of them.
        idx: usize,
    },
    /// A section that is gone.
    #[error(
        "span {span} has no section left (EA is {ea_n} N): its material has vanished there; end the bar before it or thicken the wall"
    )]
    Vanished {
        /// Which span.
        span: usize,
        /// Its EA.
        ea_n: f64,
    },
    /// A stiffness of zero.
    #[error("span {span} has zero stiffness ({which} is {value} N·mm²); give its section a material and a size")]
    ZeroStiffness {
        /// Which span.
        span: usize,
        /// "the lesser EI" or "GJ".
        which: &'static str,
        /// What it is.
        value: f64,
    },
    /// No length, or no direction across.
    #[error(
        "span {span} is {length_mm} mm long and its direction across lies along it or is nothing; move a node or turn `across`"
    )]
    NoAxes {
        /// Which span.
        span: usize,
        /// Its length.
        length_mm: f64,
    },
    /// A joint without axes.
    #[error("joint {joint}: `along` and `across` do not span a plane; give two directions that differ")]
    JointAxes {
        /// Which joint.
        joint: usize,
    },
    /// A joint whose nodes lie apart.
    #[error("joint {joint}: its nodes lie {apart_mm} mm apart; put both in one place")]
    JointApart {
        /// Which joint.
        joint: usize,
        /// How far.
        apart_mm: f64,
    },
    /// Something moves freely.
    #[error("node {node} can {} without any resistance; add a support, or stiffen the joint there", if *turns { "turn" } else { "move" })]
    Loose {
        /// Which node.
        node: usize,
        /// Whether it turns (or else moves).
        turns: bool,
    },
    /// No mass to swing.
    #[error("the frame has no mass, so it has no frequency; give its bars a density or add a mass")]
    NoMass,
    /// Frequencies or buckling that do not settle.
    #[error("the shapes did not settle after {rounds} rounds; ask for fewer of them")]
    Unsettled {
        /// How many.
        rounds: usize,
    },
}
