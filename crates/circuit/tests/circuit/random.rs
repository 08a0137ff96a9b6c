//! Random networks: every one is worked out or refused by name, no number is none, and power adds up.

use circuit::{
    Amplifier, Capacitor, Cell, CircuitError, Conditions, Contact, Converter, Demand, Fuse, Load, Network, Pixel,
    Scene, Strip, Wire,
};
use proptest::prelude::*;

/// A part by number, and where its ends go.
type Drawn = (u8, f64, Vec<u8>);

fn add(net: &mut Network, nodes: &[circuit::Node], k: usize, (kind, size, at): &Drawn) -> Result<(), CircuitError> {
    let end = |i: usize| nodes[usize::from(at[i]) % nodes.len()];
    let (name, two) = (format!("part {k}"), [end(0), end(1)]);
    match kind % 12 {
        0 => net.add(name, Cell::lithium_ion(1.0 + size, 0.01 + 0.2 * size, 10.0), &two),
        1 | 2 => net.add(name, Wire::stranded(14 + (size * 16.0) as i32, 10.0 + 1000.0 * size), &two),
        3 => net.add(name, Contact { closed: *size > 0.1, ..Contact::closed(0.001 + size, 3.0) }, &two),
        4 => net.add(name, Fuse::rated(0.5 + 5.0 * size), &two),
        5 => net.add(name, Load::Current { amps: size * 2.0, lowest_v: 2.0 }, &two),
        6 => net.add(name, Load::Power { watt: size * 10.0, lowest_v: 1.0 }, &two),
        7 => {
            let amp = Amplifier { speaker_ohm: 4.0, efficiency: 0.85, idle_a: 0.003, lowest_v: 2.5 };
            net.add(name, amp, &two)
        }
        8 => net.add(name, Capacitor { farad: size * 1e-3 + 1e-6, esr_ohm: 0.05 }, &two),
        9 | 10 => net.add(name, Converter::up_to_5v(0.2 + 6.0 * size), &[end(0), end(1), end(2)]),
        _ => {
            let pixels = 1 + (size * 50.0) as usize;
            let strip = Strip::fed_at_start(pixels, Pixel::rgb(0.012), 0.004);
            if *size > 0.5 {
                net.add(
                    name,
                    strip.joined_at(&[0, pixels / 2, pixels + 1]),
                    &[two[0], two[1], end(2), end(3), end(4), end(5)],
                )
            } else {
                net.add(name, strip, &two)
            }
        }
    }
    .map(|_| ())
}

/// Checks what comes of a network, and says whether it was given up for not settling.
fn given_up(net: &Network, light: f64, sound_w: f64, conditions: &Conditions) -> Result<bool, TestCaseError> {
    let scene = Scene::even(net, [1.0, 0.7, 0.9, 0.0]);
    match net.solve(&Demand { scene: &scene, light, sound_w }, conditions) {
        Ok(state) => {
            let volts: Vec<f64> =
                net.nodes().map(|(n, _)| state.volt(n, net.nodes().next().expect("a node").0)).collect();
            prop_assert!(volts.iter().all(|v| v.is_finite()));
            let left = state.given_w() - state.used_w() - state.lost_w();
            let flow: f64 = state.parts.iter().map(|p| p.given_w.abs() + p.used_w.abs() + p.lost_w.abs()).sum();
            prop_assert!(left.abs() <= 1e-8 * flow + 1e-9, "{left} W are left of {flow}");
            Ok(false)
        }
        Err(fault) => {
            prop_assert!(!fault.to_string().contains("NaN"));
            Ok(matches!(fault, CircuitError::NotSettled { .. }))
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    /// Anything joined to anything: mostly nonsense, and never worse than an error.
    #[test]
    fn parts_thrown_together(
        parts in prop::collection::vec((any::<u8>(), 0.0..1.0_f64, prop::collection::vec(any::<u8>(), 6)), 1..12),
        light in 0.0..=1.0_f64,
        sound_w in 0.0..4.0_f64,
    ) {
        let mut net = Network::default();
        let nodes: Vec<_> = (0..5).map(|i| net.node(i.to_string())).collect();
        net.add("cell", Cell::lithium_ion(3.0, 0.05, 10.0), &[nodes[0], nodes[1]]).expect("a cell");
        for (k, drawn) in parts.iter().enumerate() {
            let _ = add(&mut net, &nodes, k, drawn);
        }
        given_up(&net, light, sound_w, &Conditions::full_at(20.0))?;
    }

    /// Trees of wire from a cell, with loads, strips and converters between plus and minus: these work, or a load is too much.
    #[test]
    fn props_of_any_kind(
        wires in prop::collection::vec((0..8_u8, 0.0..1.0_f64), 1..8),
        parts in prop::collection::vec((5..12_u8, 0.0..1.0_f64, any::<u8>()), 1..6),
        light in 0.0..=1.0_f64,
        charge in 0.0..=1.0_f64,
        ambient_c in -15.0..45.0_f64,
    ) {
        let mut net = Network::default();
        let mut plus = vec![net.node("+")];
        let minus = net.node("-");
        net.add("cell", Cell::lithium_ion(3.0, 0.05, 10.0), &[plus[0], minus]).expect("a cell");
        for (k, (from, size)) in wires.iter().enumerate() {
            let node = net.node(format!("node {k}"));
            let from = plus[usize::from(*from) % plus.len()];
            net.add(format!("wire {k}"), Wire::stranded(18 + (size * 8.0) as i32, 50.0 + 900.0 * size), &[from, node])
                .expect("a wire");
            plus.push(node);
        }
        for (k, (kind, size, at)) in parts.iter().enumerate() {
            let node = plus[usize::from(*at) % plus.len()];
            let name = format!("part {k}");
            let made = match kind % 7 {
                5 | 6 => net.add(name, Load::Power { watt: size * 6.0, lowest_v: 2.6 }, &[node, minus]),
                0 | 1 => {
                    let out = net.node(format!("out {k}"));
                    net.add(name, Converter::up_to_5v(0.5 + 6.0 * size), &[node, out, minus]).expect("a converter");
                    let strip = Strip::fed_at_start(10 + (size * 100.0) as usize, Pixel::rgb(0.012), 0.003);
                    let taps = [0, strip.pixels + 1];
                    net.add(format!("strip {k}"), strip.joined_at(&taps), &[out, minus, out, minus])
                }
                2 => net.add(name, Load::Current { amps: *size, lowest_v: 2.5 }, &[node, minus]),
                _ => {
                    let amp = Amplifier { speaker_ohm: 8.0, efficiency: 0.85, idle_a: 0.003, lowest_v: 2.5 };
                    net.add(name, amp, &[node, minus])
                }
            };
            made.expect("a part");
        }
        let conditions = Conditions { charge, ..Conditions::full_at(ambient_c) };
        prop_assert!(!given_up(&net, light, 1.0, &conditions)?);
    }
}
