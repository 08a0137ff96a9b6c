//! Heat along a bar against closed forms and published values.

mod common;

use beam::heat::{
    Air, Film, HeatError, Level, Limits, Slice, Spot, Warmth, level, round_wall_w_mk, soak_s, steady, warming,
};
use common::close;
use std::f64::consts::PI;

/// A tube 40 × 2 of PLA (k 0.13), the inner film 10 W/m²K.
fn tube(length_mm: f64, w_m: f64) -> Slice {
    let inner_mm = 36.0;
    Slice {
        length_mm,
        core_w: w_m * length_mm * 1e-3,
        wall_w: 0.0,
        cavity_w_mk: PI * inner_mm * 1e-3 * 10.0,
        wall_w_mk: round_wall_w_mk(0.13, 40.0, inner_mm),
        girth_mm: PI * 40.0,
        width_mm: 40.0,
        emissivity: 0.9,
        absorptance: 0.3,
        core_along_wm_k: 0.0,
        wall_along_wm_k: 0.0,
        core_j_k: 0.1 * length_mm,
        wall_j_k: 0.2 * length_mm,
    }
}

const ROOM: Air = Air { air_c: 25.0, around_c: 25.0, film: Film::Level, sun_w_m2: 0.0 };

const GIVEN: Air = Air { film: Film::Given { w_m2k: 10.0 }, ..ROOM };

/// Outer skin of a level tube in air of 25 °C, emissivity 0.9, by the simple formula 1.32 (ΔT/D)^¼ (Holman, *Heat
/// Transfer*; from memory), which lies a little above Churchill & Chu's: so the skin is up to a tenth warmer here.
#[test]
fn skins_of_tubes() {
    for (w_m, width, skin) in [
        (5.0, 30.0, 30.1),
        (5.0, 40.0, 29.1),
        (5.0, 60.0, 28.0),
        (10.0, 30.0, 34.4),
        (10.0, 40.0, 32.6),
        (10.0, 60.0, 30.5),
        (15.0, 40.0, 35.8),
        (25.0, 30.0, 45.8),
        (25.0, 40.0, 41.8),
        (25.0, 60.0, 37.3),
    ] {
        let slice = Slice { girth_mm: PI * width, width_mm: width, ..tube(100.0, w_m) };
        let found = steady(&[slice], &ROOM).expect("it settles");
        let more = (found.outer_c[0] - 25.0) / (skin - 25.0);
        assert!((0.99..1.12).contains(&more), "{w_m} W/m, {width} mm: {} against {skin}", found.outer_c[0]);
        // Through the wall 1.3 K at 10 W/m, in the cavity 8.8 K.
        close("wall", found.inner_c[0] - found.outer_c[0], 1.29 * w_m / 10.0, 0.01);
        close("cavity", found.core_c[0] - found.inner_c[0], 8.84 * w_m / 10.0, 0.01);
    }
}

/// What a strip of 144 pixels a metre comes to in white at full (26 W/m) in a tube of 40 mm: about 67 °C in the cavity, above where
/// PLA softens; at 10 W/m about 43 °C (the films of Holman, *Heat Transfer*, and 10 W/m²K inside, worked out by hand; up to a tenth
/// warmer here, as the skins above).
#[test]
fn cavities_of_tubes() {
    for (w_m, cavity) in [(26.0, 67.0), (10.0, 43.0)] {
        let found = steady(&[tube(100.0, w_m)], &ROOM).expect("it settles").core_c[0];
        close(&format!("cavity at {w_m} W/m"), found - 25.0, cavity - 25.0, 0.1);
    }
}

/// A fin heated at one end, the other at rest: q = √(hPkA) tanh(mL) θ₀, θ(L) = θ₀/cosh(mL) (Incropera & DeWitt, fins;
/// from memory).
#[test]
fn a_fin() {
    let (n, length_m, ka) = (400, 0.6, 0.02_f64);
    let slice = Slice {
        core_w: 0.0,
        cavity_w_mk: 1e4,
        wall_w_mk: 1e4,
        emissivity: 0.0,
        core_along_wm_k: ka,
        ..tube(length_m * 1e3 / f64::from(n), 0.0)
    };
    let mut slices = vec![slice; n as usize];
    slices[0].core_w = 3.0;
    let found = steady(&slices, &GIVEN).expect("it settles");
    let loss = 10.0 * PI * 0.04;
    let m = (loss / ka).sqrt();
    let root = 3.0 / ((loss * ka).sqrt() * libm::tanh(m * length_m));
    // The first slice's middle lies half a slice in.
    let at = |x: f64| root * libm::cosh(m * (length_m - x)) / libm::cosh(m * length_m);
    let half = 0.5 * length_m / f64::from(n);
    close("root", found.core_c[0] - 25.0, at(half), 0.003);
    close("middle", found.core_c[200] - 25.0, at(0.5 * length_m + half), 0.003);
    close("end", found.core_c[399] - 25.0, at(length_m - half), 0.003);
}

/// What goes in comes out: films and rays of the outer face carry all powers and the sun.
#[test]
fn heat_is_neither_made_nor_lost() {
    let slices: Vec<Slice> = (0..20)
        .map(|k| Slice {
            core_along_wm_k: 0.01,
            wall_along_wm_k: 1e-4,
            wall_w: 0.02,
            ..tube(30.0 + f64::from(k), if k < 5 { 30.0 } else { 0.0 })
        })
        .collect();
    let air = Air { around_c: 20.0, sun_w_m2: 800.0, ..ROOM };
    let found = steady(&slices, &air).expect("it settles");
    let (mut into, mut out) = (0.0, 0.0);
    for (slice, outer) in slices.iter().zip(&found.outer_c) {
        let face = slice.girth_mm * slice.length_mm * 1e-6;
        into += slice.core_w + slice.wall_w + 0.3 * 800.0 * slice.width_mm * slice.length_mm * 1e-6;
        out += face * beam::heat::film_w_m2k(Film::Level, 40.0, *outer, 25.0) * (outer - 25.0);
        out += face * beam::heat::glow_w_m2k(0.9, *outer, 20.0) * (outer - 20.0);
    }
    close("balance", out, into, 1e-6);
}

/// One temperature, one film: it warms as 1 − e^(−t/τ), τ = C/hA (lumped capacitance, Incropera & DeWitt; from memory).
#[test]
fn lumped() {
    let slice = Slice { core_w: 2.0, cavity_w_mk: 1e6, wall_w_mk: 1e6, emissivity: 0.0, ..tube(100.0, 0.0) };
    let area = PI * 0.04 * 0.1;
    let (tau, end) = (30.0 / (10.0 * area), 2.0 / (10.0 * area));
    let found = warming(&[slice], &GIVEN, &Warmth::even(1, 25.0), 2.0 * tau, tau / 20.0).expect("it warms");
    assert_eq!(found.len(), 41);
    for (time, warmth) in &found[1..] {
        close("rise", warmth.core_c[0] - 25.0, end * (1.0 - libm::exp(-time / tau)), 0.001);
    }
    let cold = Slice { core_w: 0.0, ..slice };
    let car = Air { air_c: 70.0, ..GIVEN };
    close("time constant", soak_s(&[cold], &car, 20.0, 1.0 - libm::exp(-1.0)).expect("it warms"), tau, 0.002);
    let blown = Air { film: Film::Given { w_m2k: 2000.0 }, ..car };
    close("in no time", soak_s(&[cold], &blown, 20.0, 1.0 - libm::exp(-1.0)).expect("it warms"), tau / 200.0, 0.02);
    assert_eq!(soak_s(&[cold], &car, 70.0, 0.5), Ok(0.0));
    close("ten times nearer", soak_s(&[cold], &car, 20.0, 0.9).expect("it warms"), tau * libm::log(10.0), 0.002);
}

/// After a long time it is where it stays; more in the sun, less in the wind, and a metal spine evens it out.
#[test]
fn long_after() {
    let mut slices = vec![tube(20.0, 0.0); 30];
    slices[10..15].iter_mut().for_each(|s| s.core_w = 0.5);
    let end = steady(&slices, &ROOM).expect("it settles");
    let last = warming(&slices, &ROOM, &Warmth::even(30, 25.0), 1e5, 500.0).expect("it warms");
    let last = &last.last().expect("an end").1;
    for (a, b) in last.core_c.iter().zip(&end.core_c) {
        assert!((a - b).abs() < 1e-3);
    }
    let most = |w: &Warmth| w.core_c.iter().copied().fold(0.0, f64::max);
    let sun = steady(&slices, &Air { sun_w_m2: 1000.0, ..ROOM }).expect("it settles");
    let wind = steady(&slices, &Air { film: Film::Wind { m_s: 3.0 }, ..ROOM }).expect("it settles");
    let spine: Vec<Slice> = slices.iter().map(|s| Slice { core_along_wm_k: 167.0 * 60e-6, ..*s }).collect();
    let spine = steady(&spine, &ROOM).expect("it settles");
    assert!(most(&sun) > most(&end) + 5.0);
    assert!(most(&wind) < most(&end) - 1.0);
    assert!(most(&spine) < most(&end) - 1.0);
    assert!(spine.core_c[0] > end.core_c[0] + 0.5);
}

/// With films of their own all is in proportion: limits are reached where the rise says. For an hour it may be more
/// than for ever.
#[test]
fn levels() {
    let slice = Slice { emissivity: 0.0, ..tube(100.0, 20.0) };
    let found = steady(&[slice], &GIVEN).expect("it settles");
    let far = 1e3;
    let core = Limits { core_c: 60.0, inner_c: far, outer_c: far };
    let Level { share, governs } = level(&[slice], &GIVEN, &[core], None).expect("a level");
    close("core", share, 35.0 / (found.core_c[0] - 25.0), 1e-4);
    assert_eq!(governs, Spot::Core(0));
    let skin = Limits { core_c: far, inner_c: far, outer_c: 43.0 };
    let Level { share, governs } = level(&[slice], &GIVEN, &[skin], None).expect("a level");
    close("skin", share, 18.0 / (found.outer_c[0] - 25.0), 1e-4);
    assert_eq!(governs, Spot::Outer(0));
    let hour = level(&[slice], &ROOM, &[core], Some(3600.0)).expect("a level").share;
    let minute = level(&[slice], &ROOM, &[core], Some(60.0)).expect("a level").share;
    let ever = level(&[slice], &ROOM, &[core], None).expect("a level").share;
    assert!(minute > 1.5 * hour && hour >= ever - 1e-3, "{minute} {hour} {ever}");
    let hot = Air { air_c: 70.0, ..GIVEN };
    assert_eq!(level(&[slice], &hot, &[core], None).expect("a level").share, 0.0);
}

#[test]
fn mistakes_are_named() {
    let good = tube(10.0, 5.0);
    assert_eq!(steady(&[], &ROOM), Err(HeatError::Empty));
    let fails = |change: &dyn Fn(&mut Slice)| {
        let mut slice = good;
        change(&mut slice);
        steady(&[good, slice], &ROOM).expect_err("it must not pass")
    };
    assert!(matches!(fails(&|s| s.wall_w_mk = 0.0), HeatError::Slice { slice: 1, .. }));
    assert!(matches!(fails(&|s| s.core_w = f64::NAN), HeatError::Slice { slice: 1, .. }));
    assert!(matches!(fails(&|s| s.emissivity = 1.5), HeatError::Slice { what: "emissivity", .. }));
    assert!(matches!(steady(&[good], &Air { air_c: 900.0, ..ROOM }), Err(HeatError::Around { .. })));
    let still = Air { film: Film::Wind { m_s: 0.0 }, ..ROOM };
    assert!(matches!(steady(&[good], &still), Err(HeatError::Around { .. })));
    let short = warming(&[good], &ROOM, &Warmth::even(2, 20.0), 10.0, 1.0);
    assert!(matches!(short, Err(HeatError::Lists { slices: 1, given: 2, .. })));
    let endless = warming(&[good], &ROOM, &Warmth::even(1, 20.0), 1e9, 1e-3);
    assert!(matches!(endless, Err(HeatError::Around { .. })));
    let limits = [Limits { core_c: 60.0, inner_c: 50.0, outer_c: 43.0 }];
    assert_eq!(level(&[tube(10.0, 0.0)], &ROOM, &limits, None), Err(HeatError::Cold));
    assert!(matches!(level(&[good, good], &ROOM, &limits, None), Err(HeatError::Lists { .. })));
    let none = [Limits { core_c: f64::NAN, ..limits[0] }];
    assert!(matches!(level(&[good], &ROOM, &none, None), Err(HeatError::Slice { slice: 0, what: "limit, °C,", .. })));
    assert!(matches!(soak_s(&[good], &ROOM, 20.0, 1.0), Err(HeatError::Around { .. })));
}
