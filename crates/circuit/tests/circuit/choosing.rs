//! Choices hold, and the next smaller does not.

use crate::made::prop;
use circuit::{Capacitor, Cell, Conditions, Demand, Moment, Network, Part, Scene, TransientSpec, Usage};

const WHITE: [f64; 4] = [1.0, 1.0, 1.0, 0.0];

#[test]
fn the_smallest_cell_lasts_and_the_one_below_does_not() {
    let prop = prop(2, 60).unwrap();
    let moments = vec![Moment { scene: 0, light: 0.3, sound_w: 0.1 }; 10];
    let usage = Usage { scenes: vec![Scene::even(&prop.net, WHITE)], moments, step_s: 0.1 };
    let cells: Vec<Part> = [1.5, 2.0, 2.6, 3.0, 3.5, 5.0].map(|ah| Cell::lithium_ion(ah, 0.03, 15.0).into()).to_vec();
    let lasts = |net: &Network| Ok(net.runtime(&usage, 15.0)?.lasts_s >= 1.5 * 3600.0);
    let which = prop.net.first_that_holds(prop.cell, &cells, &lasts).unwrap().unwrap();
    assert!(which > 0);
    let mut net = prop.net.clone();
    net.replace(prop.cell, cells[which - 1].clone()).unwrap();
    assert!(!lasts(&net).unwrap());
    let hours = net.runtimes(&usage, 15.0, &[1.0, 0.5, 0.25]).unwrap();
    assert!(hours[0].1.lasts_s < hours[1].1.lasts_s && hours[1].1.lasts_s < hours[2].1.lasts_s);
}

#[test]
fn the_most_light_keeps_every_pixel_above_its_voltage() {
    let prop = prop(3, 112).unwrap();
    let scene = Scene::even(&prop.net, WHITE);
    let demand = Demand { scene: &scene, light: 1.0, sound_w: 2.5 };
    let conditions = Conditions { charge: 0.15, ..Conditions::full_at(0.0) };
    let holds = |state: &circuit::State| state.lowest_pixel().is_some_and(|p| p.2 >= 3.7);
    let light = prop.net.most_light(&demand, &conditions, &holds).unwrap().unwrap();
    assert!((0.02..0.9).contains(&light), "{light}");
    let at = |light: f64| prop.net.solve(&Demand { light, ..demand }, &conditions);
    assert!(holds(&at(light).unwrap()));
    assert!(!at(light + 1.0 / 256.0).is_ok_and(|state| holds(&state)));
}

#[test]
fn the_smallest_capacitor_holds_the_flash() {
    let mut prop = prop(2, 60).unwrap();
    let caps: Vec<Part> =
        [100e-6, 470e-6, 1e-3, 2.2e-3, 4.7e-3, 10e-3].map(|farad| Capacitor { farad, esr_ohm: 0.02 }.into()).to_vec();
    let cap = prop.net.add("capacitor", caps[0].clone(), &[prop.rail, prop.rail_minus]).unwrap();
    // A converter that gives little: the flash of 2 ms is the capacitor's.
    let id = prop.net.find("converter").unwrap();
    prop.net.replace(id, circuit::Converter::up_to_5v(1.2)).unwrap();
    let (dark, lit) = (Scene::dark(&prop.net), Scene::even(&prop.net, WHITE));
    let spec = TransientSpec { step_s: 2e-5, duration_s: 3e-3, conditions: Conditions::full_at(20.0) };
    let demand = |t: f64| Demand::still(if t > 0.5e-3 && t < 2.5e-3 { &lit } else { &dark });
    let holds = |net: &Network| {
        let run = net.transient(&spec, &demand, &[prop.rail])?;
        Ok(run.volts[0].iter().all(|v| *v > 4.2))
    };
    let which = prop.net.first_that_holds(cap, &caps, &holds).unwrap().unwrap();
    assert!(which > 0);
    let mut net = prop.net.clone();
    net.replace(cap, caps[which - 1].clone()).unwrap();
    assert!(!holds(&net).unwrap());
}
