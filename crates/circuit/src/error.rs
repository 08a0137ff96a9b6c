//! What can be wrong with a circuit, by name.

/// A circuit that cannot be worked out, and which of its parts is to blame.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CircuitError {
    /// A number is infinite, none, or outside what it can be.
    #[error("{part}: {what} is {value}; it must be {wanted}")]
    Number {
        /// The part's name.
        part: String,
        /// What the number was to say.
        what: &'static str,
        /// What it was.
        value: f64,
        /// What it may be.
        wanted: &'static str,
    },
    /// A cell's curve of voltage against charge that cannot be.
    #[error("{part}: its curve of open-circuit voltage {why}, and this one does not")]
    Curve {
        /// The cell.
        part: String,
        /// What such a curve does.
        why: &'static str,
    },
    /// A resistance is nought or less.
    #[error(
        "{part}: {what} is {ohm} ohm; a resistance is more than 0, and a joint that counts for nothing is left out"
    )]
    NegativeResistance {
        /// The part's name.
        part: String,
        /// Which resistance.
        what: &'static str,
        /// What it was, ohm.
        ohm: f64,
    },
    /// Two parts of the same name.
    #[error("two parts are called {name}; give each a name of its own")]
    SameName {
        /// The name.
        name: String,
    },
    /// A part was given more or fewer nodes than it has ends.
    #[error("{part} has {wanted} ends and was joined to {got} nodes")]
    Ends {
        /// The part's name.
        part: String,
        /// How many ends it has.
        wanted: usize,
        /// How many nodes were given.
        got: usize,
    },
    /// A node that belongs to no part, or to another network.
    #[error("node {node} is joined to no part of this network")]
    LooseNode {
        /// The node's name, or its number where it is not of this network.
        node: String,
    },
    /// A part of another network.
    #[error("part {index} is not of this network; use what its own `add` gave back")]
    NoPart {
        /// Its place in a list of parts.
        index: usize,
    },
    /// A node that nothing joins to the cell by which voltages are told.
    #[error(
        "node {node} is not joined to {cell} by anything; join it, or work out circuits that nothing joins one by one"
    )]
    Apart {
        /// The node's name.
        node: String,
        /// The first cell.
        cell: String,
    },
    /// Wires, contacts and fuses that close a ring of their own.
    #[error("{parts} make a loop of wire; take one out, or say that wires lie side by side in one wire's `parallel`")]
    LoopOfWire {
        /// The parts of the ring, in order.
        parts: String,
    },
    /// A cell whose ends are joined by nothing but wire.
    #[error("{cell} is shorted by {parts}")]
    Shorted {
        /// The cell.
        cell: String,
        /// What shorts it.
        parts: String,
    },
    /// Nothing to draw from.
    #[error("the circuit has no cell")]
    NoCell,
    /// A cell from which no way leads back to itself.
    #[error("{cell}: no path leads from its plus back to its minus; join both ends to what it is to feed")]
    NoPath {
        /// The cell.
        cell: String,
    },
    /// A strip or load that no cell feeds.
    #[error("{part} has no supply: {why}")]
    NoSupply {
        /// The strip or load.
        part: String,
        /// What is missing.
        why: &'static str,
    },
    /// A strip, load or converter the wrong way round.
    #[error("{part} stands the wrong way round: its plus lies {volt:.2} V below its minus; swap its two leads")]
    Reversed {
        /// The part.
        part: String,
        /// How far below, V.
        volt: f64,
    },
    /// A load of constant power beyond what the cell can give through its own and the wires' resistance.
    #[error(
        "{part} asks for more than the cell can carry: with all loads it is left with {volt:.2} V and needs {lowest_v:.2} V; \
         about {:.0} % of the loads can be carried",
        share * 100.0
    )]
    CannotCarry {
        /// The load or converter that is left short.
        part: String,
        /// What it is left with, V.
        volt: f64,
        /// What it needs, V.
        lowest_v: f64,
        /// The largest share of all loads, 0 to 1, with which everything still works.
        share: f64,
    },
    /// The demand does not fit the network.
    #[error("the demand drives {got} {what} and the network has {wanted}")]
    Demand {
        /// Strips or pixels of a strip.
        what: &'static str,
        /// What the network has.
        wanted: usize,
        /// What the demand has.
        got: usize,
    },
    /// A usage in which nothing is asked for.
    #[error("the usage has no moment; give it one or more")]
    NoMoment,
    /// A moment that shows what is not there.
    #[error("a moment of the usage shows scene {scene}, counted from 0, and there are {scenes}")]
    NoScene {
        /// Which scene the moment shows, counted from 0.
        scene: usize,
        /// How many there are.
        scenes: usize,
    },
    /// A day can be followed for one kind of cell.
    #[error("a day is followed for one cell or pack of like cells, and the network has {cells}")]
    OneCell {
        /// How many there are.
        cells: usize,
    },
    /// The equations were not solved within the allowed steps.
    #[error("the circuit did not settle: {residual_a:.1e} A are left over")]
    NotSettled {
        /// Largest current that does not add up at a node, A.
        residual_a: f64,
    },
}

/// The largest amount that is told from nonsense, and the smallest that is told from none: farther than any watt, ohm, metre or
/// second in a prop, and near enough that no product of a few is infinite.
const MOST: f64 = 1e9;
const LEAST: f64 = 1e-12;

/// The number, if it is not negative.
pub(crate) fn at_least_nought(part: &str, what: &'static str, value: f64) -> Result<(), CircuitError> {
    within(part, what, value, (0.0, MOST), "0 to 1e9")
}

/// The number, if it is more than nought.
pub(crate) fn positive(part: &str, what: &'static str, value: f64) -> Result<(), CircuitError> {
    within(part, what, value, (LEAST, MOST), "more than 0 (1e-12 to 1e9)")
}

/// A share, 0 to 1.
pub(crate) fn share(part: &str, what: &'static str, value: f64) -> Result<(), CircuitError> {
    within(part, what, value, (0.0, 1.0), "0 to 1")
}

/// Celsius, from the cold of dry ice to that of solder.
pub(crate) fn celsius(part: &str, what: &'static str, value: f64) -> Result<(), CircuitError> {
    within(part, what, value, (-80.0, 400.0), "-80 to 400 degrees Celsius")
}

/// Smallest resistance that is told from none, ohm; below it nothing in a prop lies.
pub const LEAST_OHM: f64 = 1e-7;

/// A resistance.
pub(crate) fn resistance(part: &str, what: &'static str, ohm: f64) -> Result<(), CircuitError> {
    if ohm.is_finite() && ohm <= 0.0 {
        return Err(CircuitError::NegativeResistance { part: part.to_owned(), what, ohm });
    }
    within(part, what, ohm, (LEAST_OHM, 1e12), "1e-7 to 1e12 ohm")
}

pub(crate) fn within(
    part: &str,
    what: &'static str,
    value: f64,
    (least, most): (f64, f64),
    wanted: &'static str,
) -> Result<(), CircuitError> {
    if value.is_finite() && (least..=most).contains(&value) {
        Ok(())
    } else {
        Err(CircuitError::Number { part: part.to_owned(), what, value, wanted })
    }
}
