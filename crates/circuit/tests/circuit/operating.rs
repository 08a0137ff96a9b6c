//! Whole circuits at an instant.

use crate::made::{prop, stiff};
use circuit::{
    Cell, CircuitError, Conditions, Contact, Converter, Demand, Holding, Load, Network, Scene, Wire, copper_factor,
};

const WHITE: [f64; 4] = [1.0, 1.0, 1.0, 0.0];

#[test]
fn power_in_is_power_used_and_lost() {
    let prop = prop(3, 112).unwrap();
    let scene = Scene::even(&prop.net, WHITE);
    for light in [0.0, 0.1, 0.3, 1.0] {
        for (charge, ambient_c) in [(1.0, 25.0), (0.3, 0.0), (0.02, -10.0)] {
            let conditions = Conditions { charge, ..Conditions::full_at(ambient_c) };
            let demand = Demand { scene: &scene, light, sound_w: 2.0 };
            match prop.net.solve(&demand, &conditions) {
                Ok(state) => {
                    let left = state.given_w() - state.used_w() - state.lost_w();
                    assert!(left.abs() <= 1e-9 * state.given_w().abs(), "{left} W of {}", state.given_w());
                    assert!(state.parts.iter().all(|p| p.lost_w >= -1e-12));
                }
                Err(fault) => assert!(matches!(fault, CircuitError::CannotCarry { .. }), "{fault}"),
            }
        }
    }
}

#[test]
fn green_and_blue_go_first_and_the_far_end_before_the_near() {
    let prop = prop(3, 112).unwrap();
    let scene = Scene::even(&prop.net, WHITE);
    let state = prop.net.solve(&Demand::still(&scene), &Conditions::full_at(25.0)).unwrap();
    assert_eq!(state.converters[0].holding, Holding::Limited);
    assert!(state.volt(prop.rail, prop.rail_minus) < 4.5);
    let shares = &state.strips[1].shares;
    assert!(shares[111][1] < shares[0][1] && shares[111][1] < shares[111][0]);
    assert_eq!(state.strips[1].lowest().0, 111);
}

#[test]
fn a_load_takes_what_the_quadratic_says() {
    // E = 4 V behind R: a load of P stands at (E + sqrt(E² - 4 R P)) / 2, the higher root.
    let (volt, ohm, watt) = (4.0, 0.5, 6.0);
    let mut net = Network::default();
    let (plus, minus, end) = (net.node("+"), net.node("-"), net.node("end"));
    net.add("cell", stiff(volt), &[plus, minus]).unwrap();
    net.add("contact", Contact::closed(ohm, 5.0), &[plus, end]).unwrap();
    let load = net.add("load", Load::Power { watt, lowest_v: 1.0 }, &[end, minus]).unwrap();
    let scene = Scene::dark(&net);
    let solve = |net: &Network| net.solve(&Demand::still(&scene), &Conditions::full_at(20.0));
    let state = solve(&net).unwrap();
    let want = (volt + f64::sqrt(volt * volt - 4.0 * ohm * watt)) / 2.0;
    assert!((state.volt(end, minus) - want).abs() < 1e-6);
    // The most that comes through R is E²/4R = 8 W.
    net.replace(load, Load::Power { watt: 7.99, lowest_v: 1.0 }).unwrap();
    assert!((solve(&net).unwrap().volt(end, minus) - 2.0).abs() < 0.1);
    net.replace(load, Load::Power { watt: 10.0, lowest_v: 1.0 }).unwrap();
    match solve(&net) {
        Err(CircuitError::CannotCarry { part, share, .. }) => {
            assert_eq!(part, "load");
            assert!((share - 0.8).abs() <= 1.0 / 64.0, "{share}");
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn an_overloaded_converter_gives_what_its_limit_allows() {
    let mut net = Network::default();
    let (plus, minus, out) = (net.node("+"), net.node("-"), net.node("out"));
    net.add("cell", stiff(3.3), &[plus, minus]).unwrap();
    let converter = Converter { idle_a: 0.0, output_ohm: 1e-6, ..Converter::up_to_5v(2.0) };
    net.add("converter", converter, &[plus, out, minus]).unwrap();
    let load = net.add("load", Load::Current { amps: 1.5, lowest_v: 2.0 }, &[out, minus]).unwrap();
    let scene = Scene::dark(&net);
    let state = net.solve(&Demand::still(&scene), &Conditions::full_at(20.0)).unwrap();
    let out_v = 0.88 * 3.3 * 2.0 / 1.5;
    assert_eq!(state.converters[0].holding, Holding::Limited);
    assert!((state.volt(out, minus) - out_v).abs() < 1e-5);
    net.replace(load, Load::Current { amps: 1.0, lowest_v: 2.0 }).unwrap();
    let state = net.solve(&Demand::still(&scene), &Conditions::full_at(20.0)).unwrap();
    assert_eq!(state.converters[0].holding, Holding::Well);
    assert!((state.converters[0].in_a - 5.1 / (0.88 * 3.3)).abs() < 1e-4);
}

#[test]
fn a_warm_wire_drops_more() {
    let mut net = Network::default();
    let (plus, minus, end) = (net.node("+"), net.node("-"), net.node("end"));
    net.add("cell", stiff(5.0), &[plus, minus]).unwrap();
    let wire = Wire::stranded(24, 1000.0);
    net.add("wire", wire, &[plus, end]).unwrap();
    net.add("load", Load::Current { amps: 2.0, lowest_v: 1.0 }, &[end, minus]).unwrap();
    let scene = Scene::dark(&net);
    let drop = |rise: f64| {
        let conditions = Conditions { rise_k: vec![0.0, rise], ..Conditions::full_at(20.0) };
        let state = net.solve(&Demand::still(&scene), &conditions).unwrap();
        state.volt(plus, end)
    };
    assert!((drop(0.0) - 2.0 * wire.ohm()).abs() < 1e-7);
    assert!((drop(50.0) / drop(0.0) - copper_factor(70.0)).abs() < 1e-6);
}

#[test]
fn an_open_switch_leaves_the_cell_alone() {
    let mut prop = prop(1, 30).unwrap();
    let switch = prop.net.find("switch").unwrap();
    prop.net.replace(switch, Contact { closed: false, ..Contact::closed(0.01, 6.0) }).unwrap();
    let scene = Scene::even(&prop.net, WHITE);
    // A converter without input is starved, and it is its name that is said.
    match prop.net.solve(&Demand::still(&scene), &Conditions::full_at(25.0)) {
        Err(CircuitError::CannotCarry { part, share, .. }) => assert_eq!((part.as_str(), share), ("converter", 0.0)),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_stronger_cell_and_a_thicker_wire_hold_more() {
    let mut prop = prop(3, 60).unwrap();
    let scene = Scene::even(&prop.net, WHITE);
    let lowest = |net: &Network| {
        let demand = Demand { scene: &scene, light: 0.5, sound_w: 1.0 };
        net.solve(&demand, &Conditions::full_at(25.0)).map(|s| s.volt(prop.plus, prop.minus))
    };
    let before = lowest(&prop.net).unwrap();
    let loss = |net: &Network, part: circuit::PartId| {
        let demand = Demand { scene: &scene, light: 0.5, sound_w: 1.0 };
        net.solve(&demand, &Conditions::full_at(25.0)).map(|s| s.parts[part.index()].lost_w).unwrap()
    };
    let thin = loss(&prop.net, prop.wire);
    prop.net.replace(prop.wire, Wire::stranded(16, 150.0)).unwrap();
    assert!(loss(&prop.net, prop.wire) < thin / 2.0);
    prop.net.replace(prop.cell, Cell::lithium_ion(3.5, 0.02, 15.0)).unwrap();
    assert!(lowest(&prop.net).unwrap() > before);
}

#[test]
fn a_cold_empty_cell_sags_more() {
    let prop = prop(2, 60).unwrap();
    let scene = Scene::even(&prop.net, WHITE);
    let demand = Demand { scene: &scene, light: 0.4, sound_w: 1.0 };
    let at = |charge: f64, c: f64| {
        let conditions = Conditions { charge, ..Conditions::full_at(c) };
        prop.net.solve(&demand, &conditions).map(|s| s.volt(prop.plus, prop.minus))
    };
    let (full, half, cold) = (at(1.0, 25.0).unwrap(), at(0.5, 25.0).unwrap(), at(0.5, 0.0).unwrap());
    assert!(full > half && half > cold, "{full} {half} {cold}");
    assert!(Cell::lithium_ion(3.5, 0.04, 15.0).open_at(0.5) > half);
}
