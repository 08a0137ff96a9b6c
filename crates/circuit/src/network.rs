//! Parts joined at nodes.

use crate::error::CircuitError;
use crate::part::Part;
use crate::wiring;

/// A point where parts are joined.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Node(pub(crate) usize);

/// A part of a network: how many were added before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PartId(pub(crate) usize);

impl PartId {
    /// Where the part stands in lists that have an entry for each part.
    pub fn index(self) -> usize {
        self.0
    }
}

/// A part, its name and where it is joined.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// Its name, as messages say it.
    pub name: String,
    /// What it is.
    pub part: Part,
    /// The nodes of its ends, in the order that [`Part`] tells.
    pub nodes: Vec<Node>,
}

/// A circuit as it is wired.
///
/// # Example: a lamp of 37 ohm on a cell
///
/// ```
/// use circuit::{Cell, Conditions, Demand, Load, Network, Scene, Wire};
///
/// let mut net = Network::default();
/// let (plus, minus, lamp) = (net.node("cell +"), net.node("cell -"), net.node("lamp +"));
/// net.add("cell", Cell::lithium_ion(3.0, 0.05, 10.0), &[plus, minus])?;
/// net.add("red wire", Wire::stranded(24, 1000.0), &[plus, lamp])?;
/// net.add("lamp", Load::Current { amps: 1.0, lowest_v: 2.0 }, &[lamp, minus])?;
/// let scene = Scene::dark(&net);
/// let state = net.solve(&Demand::still(&scene), &Conditions::full_at(25.0))?;
/// // 4.2 V open, 0.0471 ohm inside when full, 86.8 milliohms of wire at 20 °C and 2 % more at 25 °C.
/// assert!((state.volt(lamp, minus) - 4.0644).abs() < 1e-3);
/// # Ok::<(), circuit::CircuitError>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Network {
    pub(crate) nodes: Vec<String>,
    pub(crate) parts: Vec<Placed>,
}

impl Network {
    /// A new node.
    pub fn node(&mut self, name: impl Into<String>) -> Node {
        self.nodes.push(name.into());
        Node(self.nodes.len() - 1)
    }

    /// Joins a part to nodes, in the order that [`Part`] tells.
    ///
    /// # Errors
    ///
    /// Numbers that cannot be, a name that is taken, nodes of another network or too few of them.
    pub fn add(
        &mut self,
        name: impl Into<String>,
        part: impl Into<Part>,
        nodes: &[Node],
    ) -> Result<PartId, CircuitError> {
        let placed = Placed { name: name.into(), part: part.into(), nodes: nodes.to_vec() };
        if self.find(&placed.name).is_some() {
            return Err(CircuitError::SameName { name: placed.name });
        }
        self.fits(&placed)?;
        self.parts.push(placed);
        Ok(PartId(self.parts.len() - 1))
    }

    /// Puts another part in the place of one: another cell, a thicker wire.
    ///
    /// # Errors
    ///
    /// As [`Network::add`]; a part of another network.
    pub fn replace(&mut self, id: PartId, part: impl Into<Part>) -> Result<(), CircuitError> {
        let Some(old) = self.parts.get(id.0) else {
            return Err(CircuitError::NoPart { index: id.0 });
        };
        let placed = Placed { part: part.into(), ..old.clone() };
        self.fits(&placed)?;
        self.parts[id.0] = placed;
        Ok(())
    }

    fn fits(&self, placed: &Placed) -> Result<(), CircuitError> {
        placed.part.check(&placed.name)?;
        let (wanted, got) = (placed.part.ends(), placed.nodes.len());
        if wanted != got {
            return Err(CircuitError::Ends { part: placed.name.clone(), wanted, got });
        }
        match placed.nodes.iter().find(|n| n.0 >= self.nodes.len()) {
            Some(node) => Err(CircuitError::LooseNode { node: node.0.to_string() }),
            None => Ok(()),
        }
    }

    /// The part of a name.
    pub fn find(&self, name: &str) -> Option<PartId> {
        self.parts.iter().position(|p| p.name == name).map(PartId)
    }

    /// All parts in the order in which they were added.
    pub fn parts(&self) -> impl Iterator<Item = (PartId, &Placed)> {
        self.parts.iter().enumerate().map(|(i, p)| (PartId(i), p))
    }

    /// A part, `None` for one of another network.
    pub fn part(&self, id: PartId) -> Option<&Placed> {
        self.parts.get(id.0)
    }

    /// All nodes with their names.
    pub fn nodes(&self) -> impl Iterator<Item = (Node, &str)> {
        self.nodes.iter().enumerate().map(|(i, name)| (Node(i), name.as_str()))
    }

    /// The strips in the order in which they were added.
    pub(crate) fn strips(&self) -> impl Iterator<Item = (PartId, &crate::strip::Strip)> {
        self.parts().filter_map(|(id, p)| if let Part::Strip(strip) = &p.part { Some((id, strip)) } else { None })
    }

    /// Whether the wiring can work at all.
    ///
    /// # Errors
    ///
    /// No cell, a node without a part, a loop of wire, a shorted cell, a cell with no path, a strip or load with no supply, a piece
    /// that nothing joins to the first cell.
    pub fn check(&self) -> Result<(), CircuitError> {
        wiring::check(self)
    }
}
