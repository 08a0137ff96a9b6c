//! Flashes against exponentials in closed form.

use crate::made::stiff;
use circuit::{Capacitor, Channel, Conditions, Contact, Demand, Network, Pixel, Scene, Strip, TransientSpec};

/// A strip of one pixel that steps to 2 A behind 0.1 ohm, with 4.7 mF of 50 milliohms beside it.
#[test]
fn a_step_of_current_discharges_a_capacitor_as_the_exponential_says() {
    let (ohm, esr, farad, amps) = (0.1, 0.05, 4.7e-3, 2.0);
    let mut net = Network::default();
    let [plus, minus, end] = ["+", "-", "end"].map(|n| net.node(n));
    net.add("cell", stiff(5.0), &[plus, minus]).unwrap();
    net.add("contact", Contact::closed(ohm, 10.0), &[plus, end]).unwrap();
    net.add("capacitor", Capacitor { farad, esr_ohm: esr }, &[end, minus]).unwrap();
    let mut pixel = Pixel::rgb(0.0);
    pixel.channels[0] = Channel { full_a: amps, off_v: 0.5, full_v: 1.0 };
    pixel.idle_a = 0.0;
    net.add("strip", Strip::fed_at_start(1, pixel, 1e-6), &[end, minus]).unwrap();
    let (dark, lit) = (Scene::dark(&net), Scene::even(&net, [1.0, 0.0, 0.0, 0.0]));
    let spec = TransientSpec { step_s: 5e-6, duration_s: 3e-3, conditions: Conditions::full_at(20.0) };
    let demand = |t: f64| Demand::still(if t > 0.0 { &lit } else { &dark });
    let run = net.transient(&spec, &demand, &[end]).unwrap();
    // At first the capacitor's own resistance shares the step; in the end all of it comes through the contact.
    let tau = farad * (ohm + esr);
    for (t, v) in run.at_s.iter().zip(&run.volts[0]).skip(1) {
        let fall = amps * ohm * (1.0 - ohm / (ohm + esr) * libm::exp(-t / tau));
        assert!((5.0 - v - fall).abs() < 2e-3 * amps * ohm, "{t}: {} {fall}", 5.0 - v);
    }
    assert!((run.volts[0][0] - 5.0).abs() < 1e-6);
    assert_eq!(run.lowest_pixel_v.len(), run.at_s.len());
}

#[test]
fn half_the_step_is_a_quarter_of_the_error() {
    let (ohm, farad, amps) = (0.1, 1e-2, 1.0);
    let error = |step_s: f64| {
        let mut net = Network::default();
        let [plus, minus, end] = ["+", "-", "end"].map(|n| net.node(n));
        net.add("cell", stiff(5.0), &[plus, minus]).unwrap();
        net.add("contact", Contact::closed(ohm, 10.0), &[plus, end]).unwrap();
        net.add("capacitor", Capacitor { farad, esr_ohm: 0.0 }, &[end, minus]).unwrap();
        let mut pixel = Pixel::rgb(0.0);
        pixel.channels[0] = Channel { full_a: amps, off_v: 0.5, full_v: 1.0 };
        pixel.idle_a = 0.0;
        net.add("strip", Strip::fed_at_start(1, pixel, 1e-6), &[end, minus]).unwrap();
        let lit = Scene::even(&net, [1.0, 0.0, 0.0, 0.0]);
        let spec = TransientSpec { step_s, duration_s: 2e-3, conditions: Conditions::full_at(20.0) };
        // A ramp: a smooth demand shows the order of the method.
        let run = net.transient(&spec, &|t| Demand { light: t / 2e-3, ..Demand::still(&lit) }, &[end]).unwrap();
        let (t, tau) = (2e-3, ohm * farad);
        let fall = amps / 2e-3 * ohm * (t - tau * (1.0 - libm::exp(-t / tau)));
        (5.0 - run.volts[0].last().unwrap() - fall).abs()
    };
    let (coarse, fine) = (error(1e-4), error(5e-5));
    assert!((3.0..5.0).contains(&(coarse / fine)), "{coarse} {fine}");
}
