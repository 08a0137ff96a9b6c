//! Days: charge and power kept, steps against states solved one by one, runtimes against days.

use crate::made::prop;
use circuit::{
    Cell, Change, Conditions, Converter, DaySpec, Demand, End, Holding, Load, Moment, Network, Pixel, Scene, Strip,
    Unsure, Usage, Wire,
};

/// An idle glow, with a swing now and then and a flash with a loud sound now and again.
fn usage(net: &Network, step_s: f64) -> Usage {
    let (white, blue) = (Scene::even(net, [1.0, 1.0, 1.0, 0.0]), Scene::even(net, [0.1, 0.4, 1.0, 0.0]));
    let moment = |k: usize| {
        let at_s = k as f64 * step_s;
        match at_s % 20.0 {
            t if t < 0.3 => Moment { scene: 0, light: 1.0 - t, sound_w: 2.5 },
            t if t < 3.0 => Moment { scene: 1, light: 0.5 + 0.4 * (t - 1.5).abs() / 1.5, sound_w: 1.0 / (1.0 + t) },
            _ => Moment { scene: 1, light: 0.25, sound_w: 0.05 },
        }
    };
    let moments = (0..(60.0 / step_s) as usize).map(moment).collect();
    Usage { scenes: vec![white, blue], moments, step_s }
}

fn spec(hours: f64) -> DaySpec {
    DaySpec { duration_s: 3600.0 * hours, ambient_c: 20.0, charge: 1.0, trace_s: 60.0 }
}

#[test]
fn charge_drawn_is_charge_lost_and_power_adds_up_at_every_step() {
    let prop = prop(3, 60).unwrap();
    let day = prop.net.day(&usage(&prop.net, 0.01), &spec(1.0)).unwrap();
    let Some(placed) = prop.net.part(prop.cell) else { panic!("no cell") };
    let circuit::Part::Cell(cell) = &placed.part else { panic!("no cell") };
    let lost_c = (1.0 - day.charge) * cell.full_c();
    assert!((day.drawn_c / lost_c - 1.0).abs() < 1e-6);
    assert!(day.unbalanced < 1e-6, "{}", day.unbalanced);
    let out_j = day.pixels_j + day.sound_j + day.loads_j + day.lost_j;
    assert!((day.given_j / out_j - 1.0).abs() < 1e-6);
    // What goes through the plug, worked out on its own, is what the cell gives.
    let plug = prop.net.find("plug").unwrap();
    assert!((day.parts[plug.index()].through_c / day.drawn_c - 1.0).abs() < 1e-6);
    assert_eq!(day.trace.len(), 60);
    let mean_a: f64 = day.trace.iter().map(|s| s.current_a).sum::<f64>() / 60.0;
    assert!((mean_a * day.lasted_s / day.drawn_c - 1.0).abs() < 1e-6);
}

#[test]
fn steps_between_states_are_close_to_states() {
    let prop = prop(3, 60).unwrap();
    let usage = usage(&prop.net, 0.05);
    let day = prop.net.day(&usage, &spec(0.25)).unwrap();
    // The same quarter of an hour solved at every step, cold parts held at the mean warmth of the day.
    let circuit::Part::Cell(cell) = &prop.net.part(prop.cell).unwrap().part else { panic!("no cell") };
    let (mut charge, mut drawn_c, mut given_j) = (1.0, 0.0, 0.0);
    let rise_k = day.peak.conditions.rise_k.clone();
    // Every seventh step stands for seven: 7 and the 1200 of a round have nothing in common, so all are met in turn.
    for k in (0..(900.0 / 0.05) as usize).step_by(7) {
        let demand = usage.demand(&usage.moments[k % usage.moments.len()]).unwrap();
        let conditions = Conditions { charge, ambient_c: 20.0, rise_k: rise_k.clone() };
        let state = prop.net.solve(&demand, &conditions).unwrap();
        let amps = state.parts[prop.cell.index()].current_a;
        (drawn_c, given_j) = (drawn_c + amps * 0.35, given_j + state.given_w() * 0.35);
        charge -= amps * 0.35 / cell.full_c();
    }
    assert!((day.drawn_c / drawn_c - 1.0).abs() < 3e-3, "{} {drawn_c}", day.drawn_c);
    assert!((day.given_j / given_j - 1.0).abs() < 3e-3);
    // What stood out, solved for itself, is what the day said.
    for (instant, what) in [(day.lowest_pixel.as_ref().unwrap(), 0), (&day.peak, 1), (&day.lowest, 2)] {
        let state = prop.net.solve(&usage.demand(&instant.moment).unwrap(), &instant.conditions).unwrap();
        let value = match what {
            0 => state.lowest_pixel().unwrap().2,
            1 => state.parts[prop.cell.index()].current_a,
            _ => state.volt(prop.plus, prop.minus),
        };
        assert!((value / instant.value - 1.0).abs() < 5e-3, "{what}: {value} {}", instant.value);
    }
}

#[test]
fn a_plain_load_empties_a_plain_cell_when_division_says() {
    // 3 Ah at 1 A are three hours, whatever the curve; the cell has no protection worth the name and next to no resistance.
    let mut net = Network::default();
    let (plus, minus) = (net.node("+"), net.node("-"));
    let mut cell = Cell::lithium_ion(3.0, 1e-4, 100.0);
    cell.protection.lowest_v = 2.0;
    net.add("cell", cell, &[plus, minus]).unwrap();
    net.add("load", Load::Current { amps: 1.0, lowest_v: 1.0 }, &[plus, minus]).unwrap();
    let moments = vec![Moment { scene: 0, light: 0.0, sound_w: 0.0 }];
    let usage = Usage { scenes: vec![Scene::dark(&net)], moments, step_s: 0.5 };
    let day = net.day(&usage, &spec(10.0)).unwrap();
    assert_eq!(day.end, End::Empty);
    assert!((day.lasted_s / 10_800.0 - 1.0).abs() < 1e-4, "{}", day.lasted_s);
    let runtime = net.runtime(&usage, 20.0).unwrap();
    assert!((runtime.lasts_s / 10_800.0 - 1.0).abs() < 1e-6 && runtime.charge_left == 0.0);
    let band = net.runtime_band(&usage, 20.0, &Unsure { capacity: 0.1, ..Unsure::default() }).unwrap();
    assert!((band.least_s / 9720.0 - 1.0).abs() < 1e-3 && (band.most_s / 11_880.0 - 1.0).abs() < 1e-3);
}

#[test]
fn the_runtime_is_that_of_the_day() {
    let prop = prop(2, 60).unwrap();
    let usage = usage(&prop.net, 0.02);
    let day = prop.net.day(&usage, &spec(24.0)).unwrap();
    assert_eq!(day.end, End::CutOff);
    let runtime = prop.net.runtime(&usage, 20.0).unwrap();
    assert!((runtime.lasts_s / day.lasted_s - 1.0).abs() < 0.01, "{} {}", runtime.lasts_s, day.lasted_s);
    assert!((runtime.charge_left - day.charge).abs() < 0.01);
    let band = prop.net.runtime_band(&usage, 20.0, &Unsure::default()).unwrap();
    assert!(band.least_s < runtime.lasts_s && runtime.lasts_s < band.most_s);
}

#[test]
fn a_wire_and_a_fuse_warm_as_their_loss_makes_them() {
    let mut net = Network::default();
    let [plus, minus, end, lamp] = ["+", "-", "end", "lamp"].map(|n| net.node(n));
    net.add("cell", Cell::lithium_ion(10.0, 0.02, 100.0), &[plus, minus]).unwrap();
    let wire = Wire::stranded(24, 400.0);
    net.add("wire", wire, &[plus, end]).unwrap();
    net.add("fuse", circuit::Fuse::rated(3.0), &[end, lamp]).unwrap();
    net.add("lamp", Load::Current { amps: 3.0, lowest_v: 1.0 }, &[lamp, minus]).unwrap();
    let moments = vec![Moment { scene: 0, light: 0.0, sound_w: 0.0 }];
    let usage = Usage { scenes: vec![Scene::dark(&net)], moments, step_s: 0.1 };
    let day = net.day(&usage, &spec(0.5)).unwrap();
    let steady_k = circuit::steady_celsius(&wire, 3.0, 20.0).unwrap() - 20.0;
    assert!((day.parts[1].peak_k / steady_k - 1.0).abs() < 0.02, "{} {steady_k}", day.parts[1].peak_k);
    // At its rating the fuse is 60 K warm, its resistance by then counted.
    assert!((day.parts[2].peak_k / 60.0 - 1.0).abs() < 0.02, "{}", day.parts[2].peak_k);
    let lost_w = day.parts[2].lost_j / day.lasted_s;
    assert!((lost_w / 0.3 - 1.0).abs() < 0.03, "{lost_w}");
    assert_eq!(day.end, End::Lasted);
}

#[test]
fn a_brown_out_is_told_and_the_day_goes_on_until_the_cell_gives_out() {
    let mut prop = prop(3, 112).unwrap();
    let weak = Cell::lithium_ion(2.0, 0.25, 15.0);
    prop.net.replace(prop.cell, weak).unwrap();
    let day = prop.net.day(&usage(&prop.net, 0.02), &spec(8.0)).unwrap();
    assert!(day.short_s > 0.0 && day.first_short_s.is_some());
    assert_eq!(day.end, End::CutOff);
    assert!(day.lasted_s < 8.0 * 3600.0);
    // The trace goes on to the very end, where the voltage is lowest.
    let last = day.trace.last().unwrap();
    assert_eq!((last.at_s, last.charge), (day.lasted_s, day.charge));
    assert!(last.lowest_v < 2.75);
    let starts = [0.0].into_iter().chain(day.trace.iter().map(|s| s.at_s));
    let drawn_c: f64 = day.trace.iter().zip(starts).map(|(s, start_s)| s.current_a * (s.at_s - start_s)).sum();
    assert!((drawn_c / day.drawn_c - 1.0).abs() < 1e-6, "{drawn_c} {}", day.drawn_c);
    // The runtime says the last charge at which all was well, five hundredths before at most.
    let runtime = prop.net.runtime(&usage(&prop.net, 0.02), 20.0).unwrap();
    let (well_s, first_s) = (runtime.well_s.unwrap(), day.first_short_s.unwrap());
    assert!(well_s <= first_s + 60.0 && well_s >= first_s - 0.06 * day.lasted_s - 60.0, "{well_s} {first_s}");
    let scene = Scene::even(&prop.net, [1.0, 1.0, 1.0, 0.0]);
    let conditions = Conditions { charge: 0.1, ..Conditions::full_at(0.0) };
    let worst = prop.net.solve(&Demand { scene: &scene, light: 1.0, sound_w: 2.5 }, &conditions);
    assert!(matches!(worst, Err(circuit::CircuitError::CannotCarry { .. })), "{worst:?}");
}

#[test]
fn a_state_is_the_same_whatever_came_before() {
    // So weak a pack that its converter, once at its limit, could stay there with a light that it carries well from the dark.
    let mut net = Network::default();
    let [plus, minus, rail] = ["+", "-", "5 V"].map(|n| net.node(n));
    let cell = Cell { series: 2, cold_k: 0.0, empty_rise: 0.0, ..Cell::lithium_ion(1e4, 0.5, 20.0) };
    net.add("cell", cell, &[plus, minus]).unwrap();
    let converter = Converter { change: Change::Either, ..Converter::up_to_5v(5.8) };
    net.add("converter", converter, &[plus, rail, minus]).unwrap();
    net.add("strip", Strip::fed_at_start(120, Pixel::rgb(0.012), 1e-5), &[rail, minus]).unwrap();
    let scenes = vec![Scene::even(&net, [1.0, 1.0, 1.0, 0.0])];
    for dim in [0.6, 0.65, 0.67, 0.7] {
        let moments = [1.0, dim].map(|light| Moment { scene: 0, light, sound_w: 0.0 }).to_vec();
        let usage = Usage { scenes: scenes.clone(), moments, step_s: 0.01 };
        let day = net.day(&usage, &DaySpec { duration_s: 0.02, ..spec(1.0) }).unwrap();
        let alone = net.solve(&usage.demand(&usage.moments[1]).unwrap(), &Conditions::full_at(20.0)).unwrap();
        // 8.4 V behind an ohm give 17.64 W: the converter's 5.1 V times 120 (36 light + 1) mA over 0.88, up to a light of 0.676.
        assert_eq!(alone.converters[0].holding, if dim < 0.676 { Holding::Well } else { Holding::Limited });
        let second_a = day.drawn_c / 0.01 - day.peak.value;
        assert!((second_a / alone.parts[0].current_a - 1.0).abs() < 1e-6, "{dim}: {second_a}");
    }
}

#[test]
fn usages_that_cannot_be() {
    let prop = prop(1, 10).unwrap();
    let good = usage(&prop.net, 0.1);
    for bad in [
        Usage { step_s: 0.0, ..good.clone() },
        Usage { step_s: f64::NAN, ..good.clone() },
        Usage { moments: Vec::new(), ..good.clone() },
        Usage { scenes: Vec::new(), ..good.clone() },
        Usage { moments: vec![Moment { scene: 0, light: 2.0, sound_w: 0.0 }], ..good.clone() },
        Usage { moments: vec![Moment { scene: 0, light: 0.0, sound_w: f64::INFINITY }], ..good.clone() },
    ] {
        assert!(prop.net.day(&bad, &spec(0.1)).is_err());
        assert!(prop.net.runtime(&bad, 20.0).is_err());
    }
    let none = Usage { moments: Vec::new(), ..good.clone() };
    assert_eq!(prop.net.runtime(&none, 20.0), Err(circuit::CircuitError::NoMoment));
    let two = Usage { moments: vec![Moment { scene: 2, light: 0.0, sound_w: 0.0 }], ..good.clone() };
    assert_eq!(prop.net.runtime(&two, 20.0), Err(circuit::CircuitError::NoScene { scene: 2, scenes: 2 }));
    for duration_s in [0.0, 0.05, 1e9, 1e300, f64::NAN] {
        assert!(prop.net.day(&good, &DaySpec { duration_s, ..spec(0.1) }).is_err(), "{duration_s}");
    }
    assert!(prop.net.day(&good, &DaySpec { trace_s: 0.0, ..spec(0.1) }).is_err());
    assert!(prop.net.day(&good, &DaySpec { charge: 2.0, ..spec(0.1) }).is_err());
    let mut two = prop.net.clone();
    two.add("second", Cell::lithium_ion(3.0, 0.05, 10.0), &[prop.plus, prop.minus]).unwrap();
    assert_eq!(two.day(&good, &spec(0.1)), Err(circuit::CircuitError::OneCell { cells: 2 }));
}
