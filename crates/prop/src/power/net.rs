//! The circuit as a network.

use super::supply::{Feeder, Supply};
use super::{Design, PowerWork};
use crate::catalogue::{Boost, Connector, Electrics};
use crate::project::Feed;
use circuit::{
    Amplifier, Cell, CircuitError, Contact, Converter, Fuse, Load, Network, Node, Part, PartId, Pixel, Strip, Wire,
    foil_ohm,
};

/// Gauge of the wires to what draws only milliamperes.
pub(crate) const SIGNAL_AWG: i32 = 28;
/// A rail of a strip takes so much of its board's width: 2.5 mm of 10 mm (from memory).
const RAIL_SHARE: f64 = 0.25;
/// Its copper, micrometres: two ounces a square foot (from memory).
const FOIL_UM: f64 = 70.0;

/// Another cell or a converter in the place of what the project has.
#[derive(Clone, Debug, Default)]
pub(crate) struct Change {
    /// The cell and how many side by side.
    pub(crate) cell: Option<(Electrics, u32)>,
    /// A converter before the controller, where the project has none.
    pub(crate) converter: Option<Boost>,
}

/// Nodes of a part: plus towards the cell, plus away from it, minus.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Pins {
    /// Plus towards the cell.
    pub(crate) plus_in: Node,
    /// Plus away from the cell; the same for what is not in line.
    pub(crate) plus_out: Node,
    /// Minus.
    pub(crate) minus: Node,
}

impl Pins {
    /// Where wires go on from.
    fn away(&self) -> [Node; 2] {
        [self.plus_out, self.minus]
    }
}

/// The network, and where things are in it.
pub(crate) struct Wired {
    /// The circuit.
    pub(crate) net: Network,
    /// The cell.
    pub(crate) cell: PartId,
    /// The fuse.
    pub(crate) fuse: Option<PartId>,
    /// Plus and minus wire of each feeder, in their order; wires to the far pads behind them.
    pub(crate) wires: Vec<[PartId; 2]>,
    /// Nodes of each reached part: index into the project's parts.
    pub(crate) pins: Vec<(usize, Pins)>,
    /// Of the controller.
    pub(crate) controller: Option<Pins>,
    /// Plus and minus of the first pads, and of the far ones.
    pub(crate) pads: Vec<[Node; 2]>,
    /// Contacts of connectors in joints, each with its joint.
    pub(crate) plugs: Vec<(u32, PartId)>,
}

impl Wired {
    fn cell(&self) -> Option<&Cell> {
        match &self.net.part(self.cell)?.part {
            Part::Cell(cell) => Some(cell),
            _ => None,
        }
    }

    /// Energy of the cells, Wh.
    pub(crate) fn watt_hours(&self) -> f64 {
        self.cell().map_or(0.0, Cell::watt_hours)
    }

    /// The same circuit with the cell's resistance so many times as large.
    pub(crate) fn aged(&self, grown: f64) -> Result<Network, CircuitError> {
        let mut net = self.net.clone();
        if let Some(cell) = self.cell() {
            net.replace(self.cell, Cell { ohm_grown: grown, ..cell.clone() })?;
        }
        Ok(net)
    }
}

/// Joins everything that is fed.
///
/// # Errors
/// Numbers that cannot be.
pub(crate) fn network(
    work: &PowerWork,
    supply: &Supply,
    design: &Design,
    change: &Change,
) -> Result<Wired, CircuitError> {
    let parts = &work.project.parts;
    let mut net = Network::default();
    let name = |part: usize| format!("{} {}", crate::furnished::letter(part), parts[part].name);
    let (own, count) = match &change.cell {
        Some((cell, count)) => (cell, *count),
        None => (&parts[supply.cell].row.electrics, supply.cells),
    };
    let [plus, minus] = ["+", "-"].map(|p| net.node(format!("{} {p}", name(supply.cell))));
    let cell = net.add(name(supply.cell), cell_of(own, count), &[plus, minus])?;
    let mut wired = Wired {
        net,
        cell,
        fuse: None,
        wires: Vec::new(),
        pins: vec![(supply.cell, Pins { plus_in: plus, plus_out: plus, minus })],
        controller: None,
        pads: Vec::new(),
        plugs: Vec::new(),
    };
    for feeder in &supply.feeders {
        let Some(from) = wired.pins.iter().find(|p| p.0 == feeder.from).map(|p| p.1.away()) else { continue };
        let number = work.wires[feeder.wire].number;
        let word = feeder.to.map_or_else(|| "strip".to_owned(), name);
        let to = [format!("{word} +"), format!("{word} -")].map(|n| wired.net.node(n));
        let awg = gauge_of(work, feeder, design);
        let crossed = supply.crossed(work, feeder);
        wired.join(
            &format!("W{number}"),
            Wire::stranded(awg, feeder.cut_mm.value),
            &plugs(work, &crossed),
            [from, to],
        )?;
        match feeder.to {
            None => wired.pads.push(to),
            Some(part) => {
                let pins = wired.put(&name(part), &parts[part].row.electrics, to, design, change, work)?;
                if matches!(parts[part].row.electrics, Electrics::Controller { .. }) && wired.controller.is_none() {
                    wired.controller = Some(pins);
                }
                wired.pins.push((part, pins));
            }
        }
    }
    wired.strips(work, supply, design)?;
    Ok(wired)
}

/// Gauge of a feeder's wires: thin where only milliamperes flow.
pub(crate) fn gauge_of(work: &PowerWork, feeder: &Feeder, design: &Design) -> i32 {
    match feeder.to.map(|p| &work.project.parts[p].row.electrics) {
        Some(Electrics::Sensor { .. }) => SIGNAL_AWG.max(design.awg),
        _ => design.awg,
    }
}

/// The connectors that part wires which cross these joints, as contacts.
fn plugs(work: &PowerWork, joints: &[u32]) -> Vec<(u32, Contact)> {
    joints
        .iter()
        .filter_map(|j| Some((*j, plug(work, *j)?)))
        .map(|(j, c)| (j, Contact::closed(c.ohm, c.rated_a)))
        .collect()
}

/// The connector in a joint, if it has one.
pub(crate) fn plug<'a>(work: &'a PowerWork, joint: u32) -> Option<&'a Connector> {
    let made = work.joints.iter().find(|j| j.number == joint)?.take_down.as_ref()?;
    let bought = made.bought.iter().find(|b| b.what == "connector")?;
    work.project.joints.iter().filter_map(|j| j.connector.as_ref()).find(|c| c.name == bought.row)
}

fn cell_of(electrics: &Electrics, count: u32) -> Cell {
    let Electrics::Cell { capacity_ah, ohm, most_a, cut_off_v } = *electrics else {
        return Cell::lithium_ion(f64::NAN, f64::NAN, f64::NAN);
    };
    let mut cell = Cell { parallel: count, ..Cell::lithium_ion(capacity_ah, ohm, most_a) };
    // Each cell brings its own protection: together they let through as many times as much.
    cell.protection.most_a = most_a * f64::from(count);
    cell.protection.lowest_v = cut_off_v;
    cell
}

impl Wired {
    /// Plus and minus wire between pairs of nodes, and behind each the contacts of the connectors that part it.
    fn join(
        &mut self,
        name: &str,
        wire: Wire,
        plugs: &[(u32, Contact)],
        [from, to]: [[Node; 2]; 2],
    ) -> Result<(), CircuitError> {
        let mut ids = Vec::new();
        for (side, word) in ["plus", "minus"].into_iter().enumerate() {
            let mut at = to[side];
            for (k, (joint, contact)) in plugs.iter().enumerate() {
                // A way may cross a joint there and back.
                let plug = format!("{name} {word} plug {} J{joint}", k + 1);
                let before = self.net.node(format!("before {plug}"));
                self.plugs.push((*joint, self.net.add(plug, *contact, &[before, at])?));
                at = before;
            }
            ids.push(self.net.add(format!("{name} {word}"), wire, &[from[side], at])?);
        }
        self.wires.push([ids[0], ids[1]]);
        Ok(())
    }

    /// Puts a part at the end of its wires.
    fn put(
        &mut self,
        name: &str,
        electrics: &Electrics,
        [plus, minus]: [Node; 2],
        design: &Design,
        change: &Change,
        work: &PowerWork,
    ) -> Result<Pins, CircuitError> {
        let here = Pins { plus_in: plus, plus_out: plus, minus };
        match *electrics {
            Electrics::Fuse { .. } => {
                let out = self.net.node(format!("{name} out"));
                match design.fuse_a {
                    Some(rated_a) => self.fuse = Some(self.net.add(name, Fuse::rated(rated_a), &[plus, out])?),
                    // None of its ratings does: as good as a wire, and a finding says so.
                    None => {
                        self.net.add(name, Contact::closed(0.005, 1.0), &[plus, out])?;
                    }
                }
                Ok(Pins { plus_out: out, ..here })
            }
            Electrics::Switch { ohm, rated_a } => {
                let out = self.net.node(format!("{name} out"));
                self.net.add(name, Contact::closed(ohm, rated_a), &[plus, out])?;
                Ok(Pins { plus_out: out, ..here })
            }
            Electrics::Converter(boost) => Ok(Pins { plus_out: self.convert(name, boost, here)?, ..here }),
            Electrics::Controller { amps, lowest_v, boost, .. } => {
                let pins = match change.converter.or(boost) {
                    Some(boost) => Pins { plus_out: self.convert(&format!("{name} converter"), boost, here)?, ..here },
                    None => here,
                };
                self.net.add(name, Load::Current { amps, lowest_v }, &[pins.plus_out, minus])?;
                Ok(pins)
            }
            Electrics::Sensor { amps, lowest_v } => {
                self.net.add(name, Load::Current { amps, lowest_v }, &[plus, minus])?;
                Ok(here)
            }
            Electrics::Amplifier { idle_a, lowest_v, efficiency } => {
                let speaker = work.project.parts.iter().find_map(|p| match p.row.electrics {
                    Electrics::Speaker { ohm, .. } => Some(ohm),
                    _ => None,
                });
                let part = Amplifier { speaker_ohm: speaker.unwrap_or(8.0), efficiency, idle_a, lowest_v };
                self.net.add(name, part, &[plus, minus])?;
                Ok(here)
            }
            Electrics::Cell { .. } | Electrics::Speaker { .. } | Electrics::Passive => Ok(here),
        }
    }

    fn convert(&mut self, name: &str, boost: Boost, at: Pins) -> Result<Node, CircuitError> {
        let Boost { most_in_a, output_v, efficiency } = boost;
        let out = self.net.node(format!("{name} out"));
        let part = Converter { output_v, efficiency, ..Converter::up_to_5v(most_in_a) };
        self.net.add(name, part, &[at.plus_out, out, at.minus])?;
        Ok(out)
    }

    /// The strips, all joined to the same pads.
    fn strips(&mut self, work: &PowerWork, supply: &Supply, design: &Design) -> Result<(), CircuitError> {
        let (Some(light), Some(start)) = (&work.project.light, self.pads.first().copied()) else { return Ok(()) };
        let feeder = supply.feeders.iter().find(|f| f.to.is_none());
        let from = feeder.and_then(|f| self.pins.iter().find(|p| p.0 == f.from)).map(|p| p.1.away());
        if let (Feed::Both, Some(cut), Some(from)) = (design.feed, supply.far_mm, from) {
            let far = ["strip far +", "strip far -"].map(|n| self.net.node(n));
            let plugs = plugs(work, &feeder.map_or_else(Vec::new, |f| supply.crossed_far(work, f)));
            self.join("far", Wire::stranded(design.awg, cut.value), &plugs, [from, far])?;
            self.pads.push(far);
        }
        let strip = &light.strip;
        let rail_ohm = foil_ohm(strip.pitch_mm, RAIL_SHARE * strip.width_mm[0], FOIL_UM);
        let pixel = Pixel::rgb(strip.shine.current_a);
        for row in work.pixels.chunk_by(|a, b| a.strip == b.strip) {
            let one = Strip::fed_at_start(row.len(), pixel, rail_ohm);
            let (one, nodes) = match self.pads.get(1) {
                Some(far) => (one.joined_at(&[0, row.len() + 1]), vec![start[0], start[1], far[0], far[1]]),
                None => (one, vec![start[0], start[1]]),
            };
            self.net.add(format!("strip {}", row[0].strip), one, &nodes)?;
        }
        Ok(())
    }
}
