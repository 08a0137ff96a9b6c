//! Readings made by the model itself with known noise: what went in must come out, within what is said of it.

use super::*;
use crate::Random;

const THICKNESSES: [f64; 6] = [0.9, 1.35, 1.8, 2.7, 3.6, 5.0];
/// Reflectance and fullness of a screen.
const SCREEN: [f64; 2] = [0.12, 0.75];

/// The bare screen was read, straight on and from 60 degrees.
const SITTING: Sitting = Sitting { gain: 0.04, fullness: [SCREEN[1], 0.03] };

fn guess(scatter_per_mm: [f64; 2]) -> Guess {
    Guess {
        scatter_per_mm,
        absorb_per_mm: vec![[0.001, 0.02]],
        index: vec![1.5],
        behind: [SCREEN[0], 0.05],
        sittings: vec![SITTING],
        noise: 0.04,
    }
}

/// A normal deviate: Box and Muller, Ann. Math. Stat. 29, 610 (1958).
fn normal(random: &mut Random) -> f64 {
    let [u, v] = [random.uniform(), random.uniform()];
    (-2.0 * libm::log(u)).sqrt() * libm::cos(std::f64::consts::TAU * v)
}

fn readings(scatter: f64, absorb: f64, gain: f64, screen: [f64; 2], noise: f64, random: &mut Random) -> Vec<Reading> {
    let medium = Medium::of_reduced(scatter, absorb, 1.5).unwrap();
    let reading = |thickness_mm: &f64| {
        let seen = seen_through(&medium, *thickness_mm, 1.0, screen).unwrap();
        let share = seen * libm::exp(gain + noise * normal(random));
        Reading { thickness_mm: *thickness_mm, cosine: 1.0, share, band: 0, sitting: 0, weight: 1.0 }
    };
    THICKNESSES.iter().map(reading).collect()
}

#[test]
fn what_is_seen_is_what_passes_and_comes_again() {
    let medium = Medium::of_reduced(2.0, 0.005, 1.46).unwrap();
    // 0.358 and R_d 0.633: another adding-doubling library.
    assert!((seen_through(&medium, 2.0, 1.0, [0.0, 1.0]).unwrap() - 0.358).abs() < 1e-3);
    assert!((seen_through(&medium, 2.0, 1.0, [0.84, 1.0]).unwrap() - 0.358 / (1.0 - 0.84 * 0.633)).abs() < 3e-3);
    // Light that is not scattered comes straight on, however the screen looks from aside.
    let straight = libm::exp(-2.0 * 2.005) * (1.0 - 0.035) * (1.0 - 0.035);
    let half = seen_through(&medium, 2.0, 1.0, [0.0, 0.5]).unwrap();
    assert!((half - straight - 0.5 * (0.358 - straight)).abs() < 1e-3);
    assert!(seen_through(&medium, 0.0, 1.0, SCREEN).is_err() && seen_through(&medium, 1.0, 1.0, [1.5, 1.0]).is_err());
}

#[test]
fn a_screen_that_dims_aside_is_less_full() {
    assert!((fullness(1.0) - 1.0).abs() < 1e-12);
    // The mean of c^p (1 + 0.37 c) over 2 c dc, against the same for p = 0, by a plain sum.
    for power in [0.5, 1.0, 2.0] {
        let sum = |p: f64| -> f64 {
            (0..20_000).map(|k| (f64::from(k) + 0.5) / 20_000.0).map(|c| libm::pow(c, 1.0 + p) * (1.0 + 0.37 * c)).sum()
        };
        let at_60 = libm::pow(0.5, power);
        assert!((fullness(at_60) - sum(power) / sum(0.0)).abs() < 1e-6, "{power}");
    }
    // That law is what walls do: diffuse light passes as the mean over directions of light straight on and slanting.
    for (scatter, thickness_mm) in [(0.5, 3.0), (2.0, 2.0), (4.0, 1.0)] {
        let wall =
            Wall::checked(Medium::of_reduced(scatter, 0.005, 1.46).unwrap(), thickness_mm, Finish::Bare, Finish::Bare);
        let passed = |i| doubled(&wall.clone().unwrap(), i, ANGLES).unwrap().through();
        let (straight, diffuse) = (passed(Incidence::Collimated { cosine: 1.0 }), passed(Incidence::Diffuse));
        assert!((diffuse / straight - (1.0 + 0.74 / 3.0) / 1.37).abs() < 0.015, "{scatter}: {}", diffuse / straight);
    }
}

#[test]
fn clean_readings_give_back_what_made_them() {
    for (scatter, absorb) in [(0.4, 0.005), (2.0, 0.005), (3.0, 0.05), (5.0, 0.002)] {
        let made = readings(scatter, absorb, 0.0, SCREEN, 0.0, &mut Random::of(1, 1));
        // A guess that is very wide leaves it to the readings.
        let wide = Guess {
            scatter_per_mm: [0.01, 100.0],
            absorb_per_mm: vec![[1e-5, 3.0]],
            sittings: vec![Sitting { gain: 1e-4, fullness: [SCREEN[1], 1e-4] }],
            behind: [SCREEN[0], 1e-4],
            noise: 1e-4,
            ..guess([1.0, 1.0])
        };
        let found = fit(&made, &wide).unwrap();
        assert!((found.scatter.per_mm / scatter - 1.0).abs() < 0.01, "{scatter} {absorb} {found:?}");
        assert!((found.absorb[0].per_mm / absorb - 1.0).abs() < 0.03, "{scatter} {absorb} {found:?}");
        assert!(found.left.iter().all(|r| r.abs() < 1e-3), "{found:?}");
    }
}

/// Sittings with everything off as it may be: the true values lie as often within two deviations as a normal law says.
#[test]
fn deviations_are_as_large_as_the_errors() {
    let mut random = Random::of(11, 3);
    let (mut scatter_squares, mut absorb_squares, mut far) = (0.0, 0.0, 0);
    const SITTINGS: u32 = 24;
    for _ in 0..SITTINGS {
        // Plastics as the guess has them: two thirds between its ends.
        let scatter = libm::sqrt(5.0) * libm::exp(libm::log(5.0) / 2.0 * normal(&mut random));
        let absorb = libm::sqrt(0.001 * 0.02) * libm::exp(libm::log(20.0) / 2.0 * normal(&mut random));
        let gain = 0.04 * normal(&mut random);
        let behind = (SCREEN[0] + 0.05 * normal(&mut random)).max(0.0);
        let full = SCREEN[1] + 0.03 * normal(&mut random);
        let made = readings(scatter, absorb, gain, [behind, full], 0.04, &mut random);
        let found = fit(&made, &guess([1.0, 5.0])).unwrap();
        let z = libm::log(found.scatter.per_mm / scatter) / found.scatter.deviation;
        let za = libm::log(found.absorb[0].per_mm / absorb) / found.absorb[0].deviation;
        scatter_squares += z * z;
        absorb_squares += za * za;
        far += u32::from(z.abs() > 3.5) + u32::from(za.abs() > 3.5);
        assert!(found.scatter.open() < 0.5, "{found:?}");
    }
    // Mean squares of 24 normal deviates lie within 0.6 of 1 in 19 of 20 cases; the law here is a little wider than normal.
    let [scatter, absorb] = [scatter_squares, absorb_squares].map(|s| s / f64::from(SITTINGS));
    assert!((0.4..1.6).contains(&scatter) && (0.4..1.6).contains(&absorb) && far <= 1, "{scatter} {absorb} {far}");
}

#[test]
fn steps_only_compared_among_each_other_tell_less() {
    let made = readings(2.0, 0.005, 0.0, SCREEN, 0.01, &mut Random::of(5, 5));
    let with = fit(&made, &guess([1.0, 5.0])).unwrap();
    let without = fit(&made, &Guess { sittings: vec![Sitting { gain: 3.0, ..SITTING }], ..guess([1.0, 5.0]) }).unwrap();
    assert!(without.scatter.deviation > 2.0 * with.scatter.deviation, "{with:?} {without:?}");
    assert!(without.condition > with.condition, "{} {}", without.condition, with.condition);
    // One step alone can't tell two values apart.
    let one = fit(&made[2..3], &guess([1.0, 5.0])).unwrap();
    assert!(one.condition > 100.0, "{}", one.condition);
    assert!(one.absorb[0].open() > 0.9 && one.scatter.open() < 0.7, "{one:?}");
}

#[test]
fn a_reading_without_weight_is_only_asked() {
    let made = readings(2.0, 0.005, 0.0, SCREEN, 0.01, &mut Random::of(3, 3));
    let g = guess([1.0, 5.0]);
    let mut slipped = made.clone();
    slipped[3].share *= 1.5;
    slipped[3].weight = 0.0;
    let five: Vec<Reading> = made.iter().enumerate().filter(|(k, _)| *k != 3).map(|(_, r)| *r).collect();
    let (asked, plain) = (fit(&slipped, &g).unwrap(), fit(&five, &g).unwrap());
    assert!((asked.scatter.per_mm / plain.scatter.per_mm - 1.0).abs() < 1e-9 && asked.freedom == plain.freedom);
    assert!((asked.left[3] - libm::log(1.5)).abs() < 0.06, "{asked:?}");
}

#[test]
fn noise_that_is_larger_than_usual_widens_what_is_said() {
    let fine = fit(&readings(2.0, 0.005, 0.0, SCREEN, 0.0, &mut Random::of(1, 1)), &guess([1.0, 5.0])).unwrap();
    let rough = fit(&readings(2.0, 0.005, 0.0, SCREEN, 0.3, &mut Random::of(1, 1)), &guess([1.0, 5.0])).unwrap();
    assert!(rough.noise > 2.0 * fine.noise && rough.scatter.deviation > fine.scatter.deviation, "{fine:?} {rough:?}");
    assert!(fine.noise < 0.04);
}

#[test]
fn bands_and_sittings_share_the_scattering() {
    let mut random = Random::of(2, 9);
    let mut all = Vec::new();
    for (band, absorb) in [0.004, 0.02, 0.08].into_iter().enumerate() {
        let of_band = readings(1.5, absorb, 0.03, SCREEN, 0.005, &mut random);
        all.extend(of_band.into_iter().map(|r| Reading { band, sitting: band, ..r }));
    }
    let three = Guess {
        absorb_per_mm: vec![[0.001, 0.02], [0.001, 0.05], [0.01, 0.3]],
        index: vec![1.5; 3],
        sittings: vec![SITTING; 3],
        ..guess([1.0, 5.0])
    };
    let found = fit(&all, &three).unwrap();
    assert!(libm::log(found.scatter.per_mm / 1.5).abs() < 2.0 * found.scatter.deviation, "{found:?}");
    for (told, absorb) in found.absorb.iter().zip([0.004, 0.02, 0.08]) {
        assert!(libm::log(told.per_mm / absorb).abs() < 2.5 * told.deviation, "{found:?}");
    }
    assert!(found.absorb[2].open() < found.absorb[0].open());
}

/// Why a light pad is no place for a wedge.
#[test]
fn a_screen_that_sends_light_back_tells_little() {
    let [dark, pale] = [0.12, 0.84].map(|behind| {
        let made = readings(2.0, 0.005, 0.0, [behind, SCREEN[1]], 0.0, &mut Random::of(1, 1));
        fit(&made, &Guess { behind: [behind, 0.05], ..guess([1.0, 5.0]) }).unwrap().scatter.deviation
    });
    assert!(pale > 1.7 * dark, "{pale} {dark}");
}

#[test]
fn what_cannot_be_fitted_is_said() {
    let g = guess([1.0, 5.0]);
    let r = Reading { thickness_mm: 1.0, cosine: 1.0, share: 0.5, band: 0, sitting: 0, weight: 1.0 };
    assert_eq!(fit(&[], &g), Err(FitError::Nothing));
    assert_eq!(fit(&[Reading { band: 1, ..r }], &g), Err(FitError::Place { reading: 1 }));
    assert!(fit(&[Reading { share: 0.0, ..r }], &g).is_err());
    assert!(fit(&[Reading { share: f64::NAN, ..r }], &g).is_err());
    assert!(fit(&[Reading { thickness_mm: 0.0, ..r }], &g).is_err());
    assert!(fit(&[r], &Guess { scatter_per_mm: [0.0, 1.0], ..g.clone() }).is_err());
    assert!(fit(&[r], &Guess { noise: 0.0, ..g.clone() }).is_err());
    // Readings that no plastic gives are still answered, with what is left over to show for it.
    let upside_down = [Reading { share: 0.1, ..r }, Reading { thickness_mm: 4.0, share: 0.5, ..r }];
    let found = fit(&upside_down, &g).unwrap();
    assert!(found.noise > 0.3 && found.left[1] - found.left[0] > 1.0, "{found:?}");
}
