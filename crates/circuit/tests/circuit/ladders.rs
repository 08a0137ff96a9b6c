//! Strips against closed forms: I r n (2N - n + 1) / 2 fed at one end, I r N (N + 2) / 8 and I r (N + 1)² / 8 fed at both
//! (sums of arithmetic series), and the table worked out from them for foil.

use crate::made::stiff;
use circuit::{
    CircuitError, Conditions, Demand, Network, Pixel, Scene, State, Strip, drop_fed_at_both_ends, drop_fed_at_one_end,
    foil_ohm,
};

/// A pixel of one colour that draws `amps` from 1 V on, whose chip draws nothing.
fn plain(amps: f64) -> Pixel {
    let mut pixel = Pixel::rgb(0.0);
    pixel.channels[0] = circuit::Channel { full_a: amps, off_v: 0.5, full_v: 1.0 };
    (pixel.idle_a, pixel.idle_v) = (0.0, 1.0);
    pixel
}

fn fed(strip: Strip, volt: f64) -> Result<State, CircuitError> {
    let mut net = Network::default();
    let (plus, minus) = (net.node("+"), net.node("-"));
    net.add("cell", stiff(volt), &[plus, minus])?;
    let nodes: Vec<_> = strip.taps.iter().flat_map(|_| [plus, minus]).collect();
    net.add("strip", strip, &nodes)?;
    let scene = Scene::even(&net, [1.0, 0.0, 0.0, 0.0]);
    net.solve(&Demand::still(&scene), &Conditions::full_at(20.0))
}

fn near(got: f64, want: f64, within: f64) {
    assert!((got - want).abs() <= within, "{got} and not {want}");
}

#[test]
fn a_strip_fed_at_one_end_drops_as_the_series_says() {
    for pixels in [1, 2, 7, 60, 144] {
        let (amps, rail) = (0.036, 0.003_284);
        let state = fed(Strip::fed_at_start(pixels, plain(amps), rail), 12.0).unwrap();
        let feed = state.strips[0].plus_v[0] - state.strips[0].minus_v[0];
        for (i, volt) in state.strips[0].pixel_v().enumerate() {
            near(feed - volt, drop_fed_at_one_end(pixels, i + 1, amps, 2.0 * rail), 1e-6);
        }
        near(state.parts[0].current_a, amps * pixels as f64, 1e-6);
    }
}

#[test]
fn a_strip_fed_at_both_ends_drops_as_the_series_says() {
    for pixels in [1, 2, 7, 60, 143, 144] {
        let (amps, rail) = (0.036, 0.003_284);
        let strip = Strip::fed_at_start(pixels, plain(amps), rail).joined_at(&[0, pixels + 1]);
        let state = fed(strip, 12.0).unwrap();
        let feed = state.strips[0].plus_v[0] - state.strips[0].minus_v[0];
        near(feed - state.strips[0].lowest().1, drop_fed_at_both_ends(pixels, amps, 2.0 * rail), 1e-6);
    }
}

#[test]
fn a_metre_of_foil_drops_as_the_table_says() {
    // 36 mA a pixel, rails 2.5 mm wide, one metre: fed at one end and at both, as worked out to four digits.
    let table = [
        (60, 35.0, 0.4327, 0.1100),
        (60, 70.0, 0.2164, 0.0550),
        (144, 35.0, 1.0286, 0.2589),
        (144, 70.0, 0.5143, 0.1295),
    ];
    for (pixels, um, one, both) in table {
        let rail = foil_ohm(1000.0 / pixels as f64, 2.5, um);
        let strip = Strip::fed_at_start(pixels, plain(0.036), rail);
        for (strip, want, sum) in [
            (strip.clone(), one, drop_fed_at_one_end(pixels, pixels, 0.036, 2.0 * rail)),
            (strip.joined_at(&[0, pixels + 1]), both, drop_fed_at_both_ends(pixels, 0.036, 2.0 * rail)),
        ] {
            let state = fed(strip, 12.0).unwrap();
            let feed = state.strips[0].plus_v[0] - state.strips[0].minus_v[0];
            let drop = feed - state.strips[0].lowest().1;
            near(drop, sum, 1e-6);
            near(drop, want, 5.1e-5);
        }
    }
}

#[test]
fn a_strip_fed_in_its_middle_is_two_fed_at_one_end() {
    let (amps, rail) = (0.02, 0.004);
    let state = fed(Strip::fed_at_start(21, plain(amps), rail).joined_at(&[11]), 12.0).unwrap();
    let strip = &state.strips[0];
    let volt: Vec<f64> = strip.pixel_v().collect();
    for n in 1..=10 {
        let drop = drop_fed_at_one_end(10, n, amps, 2.0 * rail);
        near(volt[10] - volt[10 + n], drop, 1e-7);
        near(volt[10] - volt[10 - n], drop, 1e-7);
    }
}

#[test]
fn rails_fed_at_opposite_ends_drop_alike_from_both() {
    // Plus joined at the start only and minus at the end only: each rail is a row fed at one end, seen from its own.
    let mut net = Network::default();
    let [plus, minus, far, near_minus] = ["+", "-", "far +", "near -"].map(|n| net.node(n));
    net.add("cell", stiff(12.0), &[plus, minus]).unwrap();
    let strip = Strip::fed_at_start(9, plain(0.1), 0.05).joined_at(&[0, 10]);
    net.add("strip", strip, &[plus, near_minus, far, minus]).unwrap();
    let scene = Scene::even(&net, [1.0, 0.0, 0.0, 0.0]);
    let state = net.solve(&Demand::still(&scene), &Conditions::full_at(20.0)).unwrap();
    for n in 1..=9_usize {
        // The plus rail drops by the series from the start, the minus rail rises by the series from the end.
        let drop = drop_fed_at_one_end(9, n, 0.1, 0.05) + drop_fed_at_one_end(9, 10 - n, 0.1, 0.05);
        let (volt, mirrored) = (state.strips[0].pixel_v().nth(n - 1), state.strips[0].pixel_v().nth(9 - n));
        near(volt.unwrap(), 12.0 - drop, 1e-6);
        near(volt.unwrap(), mirrored.unwrap(), 1e-6);
    }
}
