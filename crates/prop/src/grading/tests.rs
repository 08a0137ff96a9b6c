//! Grading on made-up cells, whose light is worked out apart from the room's own model: finer, and with the spread of the
//! thickness that is there.

use super::*;
use std::f64::consts::TAU;

/// Diffuse light through white plastic (reduced scattering 2 /mm, absorption 0.005 /mm, index 1.46) by thickness: an
/// adding-doubling library's table (iadpython 0.5.3, 16 points).
const PASSES: [[f64; 2]; 6] = [[0.8, 0.494], [1.2, 0.420], [1.6, 0.368], [2.0, 0.326], [3.0, 0.251], [4.0, 0.199]];
const PITCH: f64 = 1000.0 / 60.0;
const STEP: f64 = PITCH / 8.0;
const ALONG: usize = 240;
const SPEC: GradingSpec = GradingSpec {
    even_mm: 2.0,
    limits_mm: [1.2, 3.2],
    step_mm: STEP,
    judged: [0, ALONG - 1],
    pitch_mm: PITCH,
    spread: 0.7,
    slope: 0.25,
    noise: 0.0,
};

fn passing() -> Passing {
    Passing::new(&PASSES).unwrap()
}

fn station(k: usize) -> f64 {
    (k as f64 + 0.5) * STEP
}

/// Light that leaves at a station: what comes from inside through a wall of thickness `mm`, spread by a bell curve as wide
/// as 0.7 of the thickness at each place it comes through; summed in tenths of a millimetre.
fn leaves(inside: &dyn Fn(f64) -> f64, mm: &dyn Fn(f64) -> f64, at: f64) -> f64 {
    leaves_through(&passing(), inside, mm, at)
}

fn leaves_through(passing: &Passing, inside: &dyn Fn(f64) -> f64, mm: &dyn Fn(f64) -> f64, at: f64) -> f64 {
    let (mut sum, mut weights) = (0.0, 0.0);
    for k in -120..=120 {
        let from = at + 0.1 * f64::from(k);
        let sigma = 0.7 * mm(from);
        let weight = libm::exp(-0.5 * (at - from) * (at - from) / (sigma * sigma)) / sigma;
        sum += weight * inside(from) * libm::exp(passing.log(mm(from)));
        weights += weight;
    }
    sum / weights
}

/// Noise of standard deviation 1, more or less, without a period.
fn rough(k: usize, side: usize) -> f64 {
    let x = (k * 31 + side * 17 + 5) as f64;
    std::f64::consts::SQRT_2 * libm::sin(x * x * 0.7317)
}

/// A prop that shines on the sides +y and -y, its pixels at whole pitches.
fn cells(inside: &dyn Fn(f64) -> f64, noise: f64) -> Vec<LitCell> {
    let even = |_: f64| SPEC.even_mm;
    (0..ALONG)
        .flat_map(|k| {
            let light = leaves(inside, &even, station(k));
            [[0.98, 0.1], [-0.97, 0.05], [0.1, 1.0], [0.0, -1.0]].into_iter().enumerate().map(move |(side, place)| {
                let area_mm2 = if side < 2 { 20.0 } else { 0.0 };
                LitCell { along: k, place, area_mm2, luminance: 100.0 * light * (1.0 + noise * rough(k, side)) }
            })
        })
        .collect()
}

/// Those cells before pixels at whole pitches.
fn lit(cells: Vec<LitCell>) -> Lit {
    Lit { cells, along: ALONG, pixels: Default::default() }
}

/// Ripple at the pitch (Michelson) of the light along one side, by its Fourier sum over the middle twenty pitches.
fn ripple(inside: &dyn Fn(f64) -> f64, mm: &dyn Fn(f64) -> f64) -> f64 {
    let (mut mean, mut cosine, mut sine) = (0.0, 0.0, 0.0);
    for k in 0..320 {
        let at = 5.0 * PITCH + PITCH / 16.0 * f64::from(k);
        let light = leaves(inside, mm, at);
        mean += light / 320.0;
        cosine += light * libm::cos(TAU * at / PITCH) / 160.0;
        sine += light * libm::sin(TAU * at / PITCH) / 160.0;
    }
    libm::hypot(cosine, sine) / mean
}

fn thickness(graded: &Grading, side: usize) -> impl Fn(f64) -> f64 {
    let mm = graded.sides_mm[side].clone();
    let at: Vec<f64> = (0..mm.len()).map(station).collect();
    move |s| between(&at, &mm, s)
}

fn keeps_limits(graded: &Grading) {
    for side in &graded.sides_mm {
        assert_eq!(side.len(), ALONG);
        assert!(side.iter().all(|t| (SPEC.limits_mm[0]..=SPEC.limits_mm[1]).contains(t)));
        assert!(side.windows(2).all(|w| (w[1] - w[0]).abs() <= SPEC.slope * STEP + 1e-12));
    }
}

#[test]
fn ripple_goes_and_the_wall_is_thick_at_the_pixels() {
    let inside = |s: f64| 1.0 + 0.12 * libm::cos(TAU * s / PITCH) + 0.02 * libm::cos(2.0 * TAU * s / PITCH);
    let graded = grade(&lit(cells(&inside, 0.0)), &passing(), &SPEC, None).unwrap();
    keeps_limits(&graded);
    let t = thickness(&graded, 0);
    let (before, after) = (ripple(&inside, &|_| SPEC.even_mm), ripple(&inside, &t));
    assert!(before > 0.07 && after < before / 5.0, "{before} {after}");
    // Pixels at whole pitches.
    assert!(t(10.0 * PITCH) > t(10.5 * PITCH) + 0.3, "{} {}", t(10.0 * PITCH), t(10.5 * PITCH));
    // It says what it did.
    assert!((graded.contrast[0] / before - 1.0).abs() < 0.2, "{:?} {before}", graded.contrast);
    assert!(graded.contrast[1] < graded.contrast[0] / 4.0, "{:?}", graded.contrast);
    // What isn't lit follows what is.
    assert_eq!(graded.sides_mm[1], graded.sides_mm[3]);
}

#[test]
fn noise_of_a_twentieth_a_cell_does_not_get_into_the_wall() {
    let inside = |s: f64| 1.0 + 0.12 * libm::cos(TAU * s / PITCH);
    let graded = grade(&lit(cells(&inside, 0.05)), &passing(), &SPEC, None).unwrap();
    let (before, after) = (ripple(&inside, &|_| SPEC.even_mm), ripple(&inside, &thickness(&graded, 0)));
    assert!(after < before / 3.0, "{before} {after}");
    // Nor where there is no ripple at all: five hundredths of noise make no more than one of light.
    let flat = |_: f64| 1.0;
    let graded = grade(&lit(cells(&flat, 0.05)), &passing(), &SPEC, None).unwrap();
    let after = ripple(&flat, &thickness(&graded, 0));
    assert!(after < 0.01, "{after}");
}

#[test]
fn more_noise_is_fitted_over_more_pitches() {
    // Two strips, the second half a pitch nearer than the first one's pixels would go on.
    let half = 0.5 * ALONG as f64 * STEP;
    let pixel = |n: i32| f64::from(n) * PITCH + if f64::from(n) * PITCH > half { 0.5 * PITCH } else { 0.0 };
    let stations: Vec<f64> = (0..30).map(pixel).collect();
    let nearest = |s: f64| stations.iter().map(|p| s - p).reduce(|a, b| if b.abs() < a.abs() { b } else { a }).unwrap();
    let inside = |s: f64| 1.0 + 0.12 * libm::cos(TAU * nearest(s) / PITCH);
    // A fifth on cells of 20 mm2 is 9 % on a square centimetre.
    let noisy = GradingSpec { noise: 0.09, ..SPEC };
    let pixels = std::array::from_fn(|_| stations.iter().map(|s| s / STEP - 0.5).collect());
    let all = Lit { pixels, ..lit(cells(&inside, 0.2)) };
    // Light at the middles of pixels against light between them, over all of both strips.
    let ripple = |mm: &dyn Fn(f64) -> f64| {
        let light = |off: f64| {
            let at = stations.iter().filter(|s| (30.0..470.0).contains(*s) && (*s - half).abs() > 2.0 * PITCH);
            let all: Vec<f64> = at.map(|s| libm::log(leaves(&inside, mm, s + off * PITCH))).collect();
            all.iter().sum::<f64>() / all.len() as f64
        };
        light(0.0) - light(0.5)
    };
    let even = ripple(&|_| SPEC.even_mm);
    let [near, far] = [SPEC, noisy].map(|spec| {
        let graded = grade(&all, &passing(), &spec, None).unwrap();
        keeps_limits(&graded);
        let t = thickness(&graded, 0);
        let off = ripple(&t);
        let stray: Vec<f64> = (0..20).map(|n| t(stations[4 + n]) - t(stations[4] + 0.5 * PITCH)).collect();
        let mean = stray.iter().sum::<f64>() / 20.0;
        (off, stray.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>())
    });
    assert!(far.0.abs() < even / 3.0, "{even} {near:?} {far:?}");
    assert!(far.1 < 0.7 * near.1, "{near:?} {far:?}");
}

#[test]
fn light_that_follows_more_strongly_is_noticed_and_graded_again() {
    let inside = |s: f64| 1.0 + 0.12 * libm::cos(TAU * s / PITCH);
    let truly = passing().stronger(2.2);
    let seen = |mm: &dyn Fn(f64) -> f64| {
        lit((0..ALONG)
            .map(|along| {
                let luminance = leaves_through(&truly, &inside, mm, station(along));
                LitCell { along, place: [1.0, 0.0], area_mm2: 20.0, luminance }
            })
            .collect())
    };
    let swing = |mm: &dyn Fn(f64) -> f64| {
        let all: Vec<f64> = seen(mm).cells[40..200].iter().map(|c| c.luminance).collect();
        let (low, high) = all.iter().fold((f64::INFINITY, 0.0f64), |(l, h), v| (l.min(*v), h.max(*v)));
        (high - low) / (high + low)
    };
    let even = |_: f64| SPEC.even_mm;
    let first = grade(&seen(&even), &passing(), &SPEC, None).unwrap();
    let once = thickness(&first, 0);
    // Too much of it: where pixels are it is darker now.
    assert!(swing(&once) > 0.5 * swing(&even), "{} {}", swing(&even), swing(&once));
    let times = gain([&seen(&even), &seen(&once)], &first, &SPEC);
    assert!((1.8..2.6).contains(&times), "{times}");
    let second = grade(&seen(&once), &passing().stronger(times), &SPEC, Some(&first)).unwrap();
    keeps_limits(&second);
    let twice = thickness(&second, 0);
    assert!(swing(&twice) < swing(&even) / 4.0, "{} {} {}", swing(&even), swing(&once), swing(&twice));
    // Of nothing nothing is told.
    assert_eq!(gain([&Lit::default(), &Lit::default()], &first, &SPEC), 1.0);
}

#[test]
fn walls_thin_out_towards_dim_ends_as_far_as_the_limits_let_them() {
    let length = ALONG as f64 * STEP;
    let inside = |s: f64| 0.4 + 0.6 * (s.min(length - s) / 120.0).clamp(0.0, 1.0);
    let graded = grade(&lit(cells(&inside, 0.0)), &passing(), &SPEC, None).unwrap();
    keeps_limits(&graded);
    let t = thickness(&graded, 0);
    assert!(t(length / 2.0) > t(40.0) + 0.4 && t(4.0) <= 1.25, "{} {} {}", t(length / 2.0), t(40.0), t(4.0));
    let [middle, near] = [length / 2.0, 80.0].map(|s| leaves(&inside, &t, s));
    let even = [length / 2.0, 80.0].map(|s| leaves(&inside, &|_| 2.0, s));
    assert!(near / middle > 0.93 && even[1] / even[0] < 0.85, "{} {}", near / middle, even[1] / even[0]);
}

#[test]
fn pixels_are_evened_where_the_ends_take_all_the_range() {
    let length = ALONG as f64 * STEP;
    let trend = |s: f64| 0.3 + 0.7 * (s.min(length - s) / 200.0).clamp(0.0, 1.0);
    let inside = |s: f64| trend(s) * (1.0 + 0.12 * libm::cos(TAU * s / PITCH));
    let graded = grade(&lit(cells(&inside, 0.0)), &passing(), &SPEC, None).unwrap();
    keeps_limits(&graded);
    let t = thickness(&graded, 0);
    // In the middle the wall would be thicker than its most, at the ends thinner than its least.
    let local = |mm: &dyn Fn(f64) -> f64, at: f64| {
        let light = |k: i32| leaves(&inside, mm, at + PITCH / 4.0 * f64::from(k));
        // A pixel against the places half a pitch beside it.
        (2.0 * light(0) - light(-2) - light(2)).abs() / (2.0 * light(0) + light(-2) + light(2))
    };
    for at in [3.0, 8.0, 12.0, 15.0] {
        let (before, after) = (local(&|_| 2.0, at * PITCH), local(&t, at * PITCH));
        assert!(before > 0.06 && after < before / 3.0, "{at}: {before} {after}");
    }
    // What lies outside of where evenness counts takes nothing from what lies within.
    let dark = |s: f64| if s < 100.0 { 0.02 } else { 1.0 } * inside(s);
    let judged = GradingSpec { judged: [70, ALONG - 60], ..SPEC };
    let [bright, cut] = [&inside as &dyn Fn(f64) -> f64, &dark]
        .map(|i| grade(&lit(cells(i, 0.0)), &passing(), &judged, None).unwrap().sides_mm[0][ALONG / 2]);
    assert!((bright - cut).abs() < 0.05, "{bright} {cut}");
}

#[test]
fn each_side_has_its_own_pixels() {
    // Strips back to back with pixels half a pitch apart.
    let phase = |side: usize| if side == 0 { 0.0 } else { 0.5 };
    let mut all = Vec::new();
    for side in 0..2 {
        let inside = |s: f64| 1.0 + 0.12 * libm::cos(TAU * (s / PITCH + phase(side)));
        all.extend(cells(&inside, 0.0).into_iter().filter(|c| (c.place[0] > 0.5) == (side == 0)));
    }
    let graded = grade(&lit(all), &passing(), &SPEC, None).unwrap();
    let [front, back] = [0, 2].map(|side| thickness(&graded, side));
    assert!(front(10.0 * PITCH) > back(10.0 * PITCH) + 0.3 && front(10.5 * PITCH) < back(10.5 * PITCH) - 0.3);
}

#[test]
fn an_even_light_leaves_an_even_wall_and_no_light_leaves_none() {
    let graded = grade(&lit(cells(&|_| 1.0, 0.0)), &passing(), &SPEC, None).unwrap();
    let side = &graded.sides_mm[0];
    let (low, high) = side.iter().fold((f64::INFINITY, 0.0f64), |(l, h), t| (l.min(*t), h.max(*t)));
    assert!(high - low < 0.01, "{low} {high}");
    // Of all even walls, near the thinnest: it is the brightest.
    assert!(high < 1.3, "{high}");
    assert_eq!(grade(&lit(Vec::new()), &passing(), &SPEC, None), None);
    assert_eq!(grade(&lit(cells(&|_| 0.0, 0.0)), &passing(), &SPEC, None), None);
    let dark: Vec<LitCell> = cells(&|_| 1.0, 0.0).iter().map(|c| LitCell { area_mm2: 0.0, ..*c }).collect();
    assert_eq!(grade(&lit(dark), &passing(), &SPEC, None), None);
}

#[test]
fn a_gap_in_the_window_and_a_value_that_is_none_leave_a_wall() {
    let inside = |s: f64| 1.0 + 0.12 * libm::cos(TAU * s / PITCH);
    let mut all = cells(&inside, 0.0);
    all.retain(|c| !(100..120).contains(&c.along));
    all[40].luminance = f64::NAN;
    let graded = grade(&lit(all), &passing(), &SPEC, None).unwrap();
    keeps_limits(&graded);
    assert!(graded.contrast[1] < graded.contrast[0] / 3.0, "{:?}", graded.contrast);
}

#[test]
fn shares_sum_to_one_and_run_over() {
    for i in -30..=30 {
        for j in -30..=30 {
            let place = [0.05 * f64::from(i), 0.05 * f64::from(j)];
            let all = shares(place);
            assert!((all.iter().sum::<f64>() - 1.0).abs() < 1e-12 && all.iter().all(|s| *s >= 0.0), "{place:?}");
        }
    }
    assert_eq!(shares([1.0, 0.0]), [1.0, 0.0, 0.0, 0.0]);
    assert_eq!(shares([0.0, -1.2]), [0.0, 0.0, 0.0, 1.0]);
    assert_eq!(shares([0.0, 0.0]), [0.25; 4]);
}

#[test]
fn what_passes_is_looked_up_both_ways() {
    let passing = passing();
    for mm in [0.8, 1.1, 1.9, 2.4, 4.0] {
        assert!((passing.mm(passing.log(mm)) - mm).abs() < 1e-9, "{mm}");
    }
    assert!((libm::exp(passing.log(2.0)) - 0.326).abs() < 1e-12);
    assert_eq!(Passing::new(&[[1.0, 0.5]]), None);
    assert_eq!(Passing::new(&[[1.0, 0.5], [2.0, 0.6]]), None);
    assert_eq!(Passing::new(&[[1.0, 0.5], [2.0, f64::NAN]]), None);
}

#[test]
fn beads_are_whole_but_for_ramps() {
    let at = |mm: f64| in_beads(mm, 0.45, 0.1, 0.4);
    for n in 2..7 {
        let whole = 0.45 * f64::from(n);
        assert!((at(whole) - whole).abs() < 1e-12 && (at(whole + 0.1) - whole).abs() < 1e-12);
        assert!((at(whole + 0.225) - whole - 0.225).abs() < 1e-9);
    }
    // Nowhere steeper than four times as steep as the thickness itself.
    let steepest = (0..3000).map(|k| at(1.0 + 1e-3 * f64::from(k + 1)) - at(1.0 + 1e-3 * f64::from(k)));
    assert!(steepest.fold(0.0, f64::max) < 4.01e-3);
}
