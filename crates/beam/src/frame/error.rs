//! What can be wrong with a frame.

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
    /// Something at a node that no bar reaches.
    #[error("{what} {idx} is at node {node}, which no span reaches; put it where the bar is, or join the node to it")]
    Unattached {
        /// "support", "mass" or "load".
        what: &'static str,
        /// Which of them.
        idx: usize,
        /// Its node.
        node: usize,
    },
    /// A number that is none.
    #[error(
        "{what} {idx} holds a number that is not finite, or a negative mass, slide or spring; mend it where it came from"
    )]
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
    #[error("node {node} can {} against next to no resistance; add a support, stiffen the joint there, or drop nodes that all but meet their neighbours", if *turns { "turn" } else { "move" })]
    Loose {
        /// Which node.
        node: usize,
        /// Whether it turns (or else moves).
        turns: bool,
    },
    /// A pulse without a length.
    #[error("a pulse that lasts {lasts_s} s; give a time above 0")]
    Pulse {
        /// How long.
        lasts_s: f64,
    },
    /// Stops of a line out of order.
    #[error("stop {stop} of the line lies at {at_mm} mm, not beyond the one before it; give stops in order, each once")]
    Order {
        /// Which stop.
        stop: usize,
        /// Its station.
        at_mm: f64,
    },
    /// A line too short to be one.
    #[error("a line of {stops} stop; give two or more")]
    Short {
        /// How many stops.
        stops: usize,
    },
    /// No mass to swing.
    #[error("the frame has no mass, so it has no frequency; give its bars a density or add a mass")]
    NoMass,
    /// Frequencies, or joints with play, that do not settle.
    #[error("no answer settled in {rounds} rounds; ask for fewer shapes, or give joints less play")]
    Unsettled {
        /// How many.
        rounds: usize,
    },
}
