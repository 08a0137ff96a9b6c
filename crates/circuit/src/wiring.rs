//! What is wrong with a wiring, told from how it is joined alone.

use crate::error::CircuitError;
use crate::network::{Network, Placed};
use crate::part::Part;

pub(crate) fn check(net: &Network) -> Result<(), CircuitError> {
    let first = net.parts.iter().find(|p| matches!(p.part, Part::Cell(_))).ok_or(CircuitError::NoCell)?;
    if let Some(loose) = (0..net.nodes.len()).find(|n| !net.parts.iter().any(|p| p.nodes.iter().any(|at| at.0 == *n))) {
        return Err(CircuitError::LooseNode { node: net.nodes[loose].clone() });
    }
    check_rings(net)?;
    net.parts.iter().enumerate().try_for_each(|(i, placed)| check_supply(net, i, placed))?;
    // Voltages are told against the first cell's minus: what nothing joins to it has none.
    let mut joined = joined(net, &|_, _| true);
    let whole = joined.root(first.nodes[1].0);
    match (0..net.nodes.len()).find(|n| joined.root(*n) != whole) {
        Some(node) => Err(CircuitError::Apart { node: net.nodes[node].clone(), cell: first.name.clone() }),
        None => Ok(()),
    }
}

/// Nodes as the counted parts join them.
fn joined(net: &Network, counts: &dyn Fn(usize, &Part) -> bool) -> Sets {
    let mut joined = Sets::new(net.nodes.len());
    for (_, placed) in net.parts.iter().enumerate().filter(|(i, p)| counts(*i, &p.part)) {
        placed.nodes.windows(2).for_each(|w| {
            joined.unite(w[0].0, w[1].0);
        });
    }
    joined
}

/// Wires that close a ring, and cells that wires short.
fn check_rings(net: &Network) -> Result<(), CircuitError> {
    let mut tree: Vec<usize> = Vec::new();
    let mut joined = Sets::new(net.nodes.len());
    let named = |ring: &[usize]| ring.iter().map(|i| net.parts[*i].name.as_str()).collect::<Vec<_>>().join(", ");
    for (i, placed) in net.parts.iter().enumerate().filter(|(_, p)| p.part.is_wire()) {
        let (a, b) = (placed.nodes[0].0, placed.nodes[1].0);
        if !joined.unite(a, b) {
            let mut ring = way(net, &tree, a, b);
            ring.push(i);
            return Err(CircuitError::LoopOfWire { parts: named(&ring) });
        }
        tree.push(i);
    }
    for placed in net.parts.iter().filter(|p| matches!(p.part, Part::Cell(_))) {
        let (a, b) = (placed.nodes[0].0, placed.nodes[1].0);
        if joined.root(a) == joined.root(b) {
            let ring = way(net, &tree, a, b);
            let parts = if ring.is_empty() { "a single node".to_owned() } else { named(&ring) };
            return Err(CircuitError::Shorted { cell: placed.name.clone(), parts });
        }
    }
    Ok(())
}

/// The wires from one node to another in a tree of wires, in order.
fn way(net: &Network, tree: &[usize], from: usize, to: usize) -> Vec<usize> {
    let mut come_by: Vec<Option<(usize, usize)>> = vec![None; net.nodes.len()];
    let mut open = vec![from];
    while let Some(at) = open.pop() {
        for i in tree {
            let ends = &net.parts[*i].nodes;
            for (here, there) in [(ends[0].0, ends[1].0), (ends[1].0, ends[0].0)] {
                if here == at && there != from && come_by[there].is_none() {
                    come_by[there] = Some((*i, at));
                    open.push(there);
                }
            }
        }
    }
    let (mut found, mut at) = (Vec::new(), to);
    while at != from {
        let Some((i, before)) = come_by[at] else { return Vec::new() };
        found.push(i);
        at = before;
    }
    found.reverse();
    found
}

/// Whether current can go through a part and back: its ends must be joined without it, and there a source must be.
fn check_supply(net: &Network, which: usize, placed: &Placed) -> Result<(), CircuitError> {
    let name = || placed.name.clone();
    let (plus, minus): (Vec<usize>, Vec<usize>) = match &placed.part {
        Part::Wire(_) | Part::Contact(_) | Part::Fuse(_) | Part::Capacitor(_) => return Ok(()),
        Part::Converter(_) => (vec![placed.nodes[0].0], vec![placed.nodes[2].0]),
        Part::Strip(_) => {
            let side = |offset: usize| placed.nodes.iter().skip(offset).step_by(2).map(|n| n.0).collect();
            (side(0), side(1))
        }
        Part::Cell(_) | Part::Load(_) | Part::Amplifier(_) => (vec![placed.nodes[0].0], vec![placed.nodes[1].0]),
    };
    if plus.iter().any(|p| minus.contains(p)) && !matches!(placed.part, Part::Cell(_)) {
        let why = "its plus and its minus are joined at the same node";
        return Err(CircuitError::NoSupply { part: name(), why });
    }
    let mut joined = joined(net, &|i, part| i != which && !matches!(part, Part::Capacitor(_)));
    let there = |p: usize, m: usize, joined: &mut Sets| joined.root(p) == joined.root(m);
    let pair = plus.iter().flat_map(|p| minus.iter().map(move |m| (*p, *m))).find(|(p, m)| there(*p, *m, &mut joined));
    if matches!(placed.part, Part::Cell(_)) {
        return if pair.is_some() { Ok(()) } else { Err(CircuitError::NoPath { cell: name() }) };
    }
    let Some((at, _)) = pair else {
        let why = "no way leads from its plus to its minus through the rest of the circuit";
        return Err(CircuitError::NoSupply { part: name(), why });
    };
    let fed = net.parts.iter().any(|p| matches!(p.part, Part::Cell(_)) && there(p.nodes[0].0, at, &mut joined));
    if fed { Ok(()) } else { Err(CircuitError::NoSupply { part: name(), why: "no cell lies on its way" }) }
}

/// Nodes that are joined.
struct Sets(Vec<usize>);

impl Sets {
    fn new(count: usize) -> Self {
        Sets((0..count).collect())
    }

    fn root(&mut self, mut at: usize) -> usize {
        while self.0[at] != at {
            self.0[at] = self.0[self.0[at]];
            at = self.0[at];
        }
        at
    }

    /// Joins two sets; false if they were one.
    fn unite(&mut self, a: usize, b: usize) -> bool {
        let (a, b) = (self.root(a), self.root(b));
        self.0[a] = b;
        a != b
    }
}
