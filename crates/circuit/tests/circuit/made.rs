//! Circuits that several tests use.

use circuit::{
    Amplifier, Cell, CircuitError, Contact, Converter, Fuse, Load, Network, Node, PartId, Pixel, Strip, Wire, foil_ohm,
};

/// A cell so strong that its terminals stand at its voltage within a microvolt.
pub(crate) fn stiff(volt: f64) -> Cell {
    let mut cell = Cell::lithium_ion(1e6, 1.1e-7, 1e6);
    cell.open_v = vec![(0.0, volt), (1.0, volt)];
    (cell.cold_k, cell.empty_rise) = (0.0, 0.0);
    cell
}

/// A prop's circuit and the parts of it that tests change.
pub(crate) struct Prop {
    pub net: Network,
    pub cell: PartId,
    pub minus: Node,
    pub plus: Node,
    pub rail: Node,
    pub rail_minus: Node,
    pub wire: PartId,
}

/// Cell, connector, switch, fuse, wires, a converter up to 5 V, a controller, an amplifier and strips of `pixels` each, each fed at
/// its first pad by its own wires.
pub(crate) fn prop(strips: usize, pixels: usize) -> Result<Prop, CircuitError> {
    let mut net = Network::default();
    let [plus, minus, plug, knob, fused, held, rail, rail_minus] =
        ["cell +", "cell -", "plug", "switched", "fused", "converter in", "5 V", "5 V -"].map(|n| net.node(n));
    let cell = net.add("cell", Cell::lithium_ion(3.5, 0.04, 15.0), &[plus, minus])?;
    net.add("plug", Contact::closed(0.01, 10.0), &[plus, plug])?;
    net.add("switch", Contact::closed(0.01, 6.0), &[plug, knob])?;
    net.add("fuse", Fuse::rated(7.5), &[knob, fused])?;
    let wire = net.add("red wire", Wire::stranded(20, 150.0), &[fused, held])?;
    net.add("black wire", Wire::stranded(20, 150.0), &[minus, rail_minus])?;
    net.add("converter", Converter::up_to_5v(6.0), &[held, rail, rail_minus])?;
    net.add("controller", Load::Current { amps: 0.08, lowest_v: 3.4 }, &[rail, rail_minus])?;
    let amp = Amplifier { speaker_ohm: 4.0, efficiency: 0.85, idle_a: 0.0028, lowest_v: 2.5 };
    net.add("amplifier", amp, &[held, rail_minus])?;
    for k in 0..strips {
        let (a, b) = (net.node(format!("strip {k} +")), net.node(format!("strip {k} -")));
        net.add(format!("strip {k} red"), Wire::stranded(22, 300.0), &[rail, a])?;
        net.add(format!("strip {k} black"), Wire::stranded(22, 300.0), &[rail_minus, b])?;
        let strip = Strip::fed_at_start(pixels, Pixel::rgb(0.012), foil_ohm(1000.0 / 60.0, 2.5, 70.0));
        net.add(format!("strip {k}"), strip, &[a, b])?;
    }
    Ok(Prop { net, cell, minus, plus, rail, rail_minus, wire })
}
