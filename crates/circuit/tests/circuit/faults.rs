//! Bad circuits are refused by name.

use crate::made::{prop, stiff};
use circuit::{Capacitor, Cell, CircuitError, Conditions, Contact, Demand, Load, Network, Pixel, Scene, Strip, Wire};

const LOAD: Load = Load::Current { amps: 0.1, lowest_v: 2.0 };

fn solve(net: &Network) -> CircuitError {
    let scene = Scene::even(net, [1.0; 4]);
    net.solve(&Demand::still(&scene), &Conditions::full_at(20.0)).expect_err("a fault")
}

#[test]
fn loops_of_wire_and_shorted_cells() {
    let mut net = Network::default();
    let [a, b, c, minus] = ["a", "b", "c", "-"].map(|n| net.node(n));
    net.add("cell", stiff(4.0), &[a, minus]).unwrap();
    net.add("load", LOAD, &[c, minus]).unwrap();
    net.add("one", Wire::stranded(20, 100.0), &[a, b]).unwrap();
    net.add("two", Wire::stranded(20, 100.0), &[b, c]).unwrap();
    assert!(net.check().is_ok());
    let mut ring = net.clone();
    ring.add("three", Wire::stranded(20, 100.0), &[c, a]).unwrap();
    assert_eq!(solve(&ring), CircuitError::LoopOfWire { parts: "two, one, three".into() });
    let mut short = net.clone();
    short.add("three", Wire::stranded(20, 100.0), &[c, minus]).unwrap();
    assert_eq!(solve(&short), CircuitError::Shorted { cell: "cell".into(), parts: "one, two, three".into() });
    let mut own = net;
    own.add("three", Wire::stranded(20, 100.0), &[b, b]).unwrap();
    assert_eq!(solve(&own), CircuitError::LoopOfWire { parts: "three".into() });
}

#[test]
fn a_cell_with_no_path() {
    let mut net = Network::default();
    let [plus, minus, end] = ["+", "-", "end"].map(|n| net.node(n));
    net.add("cell", stiff(4.0), &[plus, minus]).unwrap();
    net.add("wire", Wire::stranded(20, 100.0), &[plus, end]).unwrap();
    assert_eq!(solve(&net), CircuitError::NoPath { cell: "cell".into() });
    net.add("capacitor", Capacitor { farad: 1e-3, esr_ohm: 0.1 }, &[end, minus]).unwrap();
    assert_eq!(solve(&net), CircuitError::NoPath { cell: "cell".into() });
}

#[test]
fn pieces_that_nothing_joins() {
    let prop = prop(1, 10).unwrap();
    let apart = |net: &Network, at: &str| {
        assert_eq!(solve(net), CircuitError::Apart { node: at.into(), cell: "cell".into() });
    };
    let mut wire = prop.net.clone();
    let [a, b] = ["a", "b"].map(|n| wire.node(n));
    wire.add("wire", Wire::stranded(20, 100.0), &[a, b]).unwrap();
    apart(&wire, "a");
    // Two whole circuits: a voltage between them is nobody's.
    let mut two = prop.net.clone();
    let [a, b] = ["other +", "other -"].map(|n| two.node(n));
    two.add("other cell", stiff(4.0), &[a, b]).unwrap();
    two.add("other lamp", LOAD, &[a, b]).unwrap();
    apart(&two, "other +");
    two.add("one minus", Wire::stranded(20, 100.0), &[prop.minus, b]).unwrap();
    assert!(two.check().is_ok());
    let other = prop.net.parts().last().unwrap().0;
    let mut small = Network::default();
    assert!(matches!(small.replace(other, LOAD), Err(CircuitError::NoPart { .. })));
}

#[test]
fn strips_and_loads_without_supply() {
    let mut net = Network::default();
    let [plus, minus, a, b] = ["+", "-", "a", "b"].map(|n| net.node(n));
    net.add("cell", stiff(4.0), &[plus, minus]).unwrap();
    net.add("lamp", LOAD, &[plus, minus]).unwrap();
    let strip = Strip::fed_at_start(10, Pixel::rgb(0.01), 0.01);
    net.add("strip", strip, &[a, b]).unwrap();
    assert!(matches!(solve(&net), CircuitError::NoSupply { part, .. } if part == "strip"));
    // One lead only.
    net.add("red", Wire::stranded(20, 100.0), &[plus, a]).unwrap();
    assert!(matches!(solve(&net), CircuitError::NoSupply { part, .. } if part == "strip"));
    // A ring with another load and no cell.
    let mut ring = Network::default();
    let [plus, minus, a, b] = ["+", "-", "a", "b"].map(|n| ring.node(n));
    ring.add("cell", stiff(4.0), &[plus, minus]).unwrap();
    ring.add("lamp", LOAD, &[plus, minus]).unwrap();
    ring.add("one", LOAD, &[a, b]).unwrap();
    ring.add("two", LOAD, &[a, b]).unwrap();
    assert!(matches!(solve(&ring), CircuitError::NoSupply { part, .. } if part == "one"));
    let mut none = Network::default();
    let [a, b] = ["a", "b"].map(|n| none.node(n));
    none.add("one", LOAD, &[a, b]).unwrap();
    assert_eq!(solve(&none), CircuitError::NoCell);
    none.node("loose");
    none.add("cell", stiff(4.0), &[a, b]).unwrap();
    assert_eq!(solve(&none), CircuitError::LooseNode { node: "loose".into() });
    let bare = Strip { taps: Vec::new(), ..Strip::fed_at_start(10, Pixel::rgb(0.01), 0.01) };
    assert!(matches!(none.add("bare", bare, &[]), Err(CircuitError::NoSupply { .. })));
}

#[test]
fn resistances_and_numbers_that_cannot_be() {
    let mut net = Network::default();
    let [a, b] = ["a", "b"].map(|n| net.node(n));
    for ohm in [0.0, -0.1] {
        let wrong = net.add("contact", Contact::closed(ohm, 1.0), &[a, b]).expect_err("a fault");
        assert_eq!(wrong, CircuitError::NegativeResistance { part: "contact".into(), what: "its resistance", ohm });
    }
    let cell = Cell { ohm: -0.05, ..Cell::lithium_ion(3.0, 0.05, 10.0) };
    assert!(matches!(net.add("cell", cell, &[a, b]), Err(CircuitError::NegativeResistance { .. })));
    let strip = Strip::fed_at_start(10, Pixel::rgb(0.01), -0.01);
    assert!(matches!(net.add("strip", strip, &[a, b]), Err(CircuitError::NegativeResistance { .. })));
    for bad in [f64::NAN, f64::INFINITY, -1.0, 1e300] {
        let load = Load::Power { watt: bad, lowest_v: 1.0 };
        assert!(matches!(net.add("load", load, &[a, b]), Err(CircuitError::Number { .. })));
        let wire = Wire { length_mm: bad, ..Wire::stranded(20, 1.0) };
        assert!(matches!(net.add("wire", wire, &[a, b]), Err(CircuitError::Number { .. })));
    }
    assert!(matches!(net.add("load", LOAD, &[a]), Err(CircuitError::Ends { wanted: 2, got: 1, .. })));
    net.add("load", LOAD, &[a, b]).unwrap();
    assert!(matches!(net.add("load", LOAD, &[a, b]), Err(CircuitError::SameName { .. })));
}

#[test]
fn a_strip_the_wrong_way_round() {
    let mut net = Network::default();
    let [plus, minus] = ["+", "-"].map(|n| net.node(n));
    net.add("cell", stiff(4.0), &[plus, minus]).unwrap();
    net.add("strip", Strip::fed_at_start(10, Pixel::rgb(0.01), 0.01), &[minus, plus]).unwrap();
    assert!(
        matches!(solve(&net), CircuitError::Reversed { part, volt } if part == "strip" && (volt - 4.0).abs() < 0.01)
    );
}

#[test]
fn a_demand_that_does_not_fit() {
    let prop = prop(2, 10).unwrap();
    let conditions = Conditions::full_at(20.0);
    let mut scene = Scene::dark(&prop.net);
    let ask = |scene: &Scene, light: f64, conditions: &Conditions| {
        prop.net.solve(&Demand { scene, light, sound_w: 0.0 }, conditions).expect_err("a fault")
    };
    assert!(matches!(ask(&scene, f64::NAN, &conditions), CircuitError::Number { .. }));
    assert!(matches!(ask(&scene, 1.5, &conditions), CircuitError::Number { .. }));
    let cold = Conditions::full_at(-273.0);
    assert!(matches!(ask(&scene, 1.0, &cold), CircuitError::Number { .. }));
    let over = Conditions { charge: 1.1, ..Conditions::full_at(20.0) };
    assert!(matches!(ask(&scene, 1.0, &over), CircuitError::Number { .. }));
    scene.strips[1].pop();
    let fault = ask(&scene, 1.0, &conditions);
    assert_eq!(fault, CircuitError::Demand { what: "pixels of a strip", wanted: 10, got: 9 });
    scene.strips.pop();
    assert_eq!(ask(&scene, 1.0, &conditions), CircuitError::Demand { what: "strips", wanted: 2, got: 1 });
}
