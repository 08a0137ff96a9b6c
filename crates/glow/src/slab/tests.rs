//! Against published values, against closed forms, and energy booked.

use super::*;
use crate::{Coat, Medium};

/// A row of published or computed totals: optical thickness, single-scattering albedo, anisotropy, index, then what is sent
/// back and passed for light along the normal and for diffuse light.
struct Row {
    source: &'static str,
    tau: f64,
    albedo: f64,
    anisotropy: f64,
    index: f64,
    straight: (f64, f64),
    diffuse: (f64, f64),
}

const HULST: &str = "van de Hulst, Multiple Light Scattering, vol. 1 (1980), ch. 9, table 12";
const WANG: &str = "Wang, Jacques, Zheng, Comput. Methods Programs Biomed. 47 (1995), after van de Hulst (1980)";
const GIOVANELLI: &str = "Giovanelli, Opt. Acta 2 (1955), value from memory; 0.26008 by adding and doubling";
const ADDING: &str = "adding and doubling, iadpython 0.5.3, 16 angles";
const ADDING_SUITE: &str = "the test suite of iadpython 0.5.3";

/// Deep enough for a half-space: less than 1e-6 comes back from there.
const DEEP: f64 = 120.0;

const ROWS: [Row; 16] = [
    row(WANG, 2.0, 0.9, 0.75, 1.0, (0.09739, 0.66096), (0.19109, 0.50182)),
    row(GIOVANELLI, DEEP, 0.9, 0.0, 1.5, (0.2600, 0.0), (0.3074, 0.0)),
    row(HULST, 1.0, 1.0, 0.0, 1.0, (0.34133, 0.65867), (0.44659, 0.55341)),
    row(ADDING, 2.0, 1.0, 0.0, 1.0, (0.51751, 0.48249), (0.60994, 0.39006)),
    row(ADDING, 4.0, 1.0, 0.0, 1.0, (0.69093, 0.30907), (0.75403, 0.24597)),
    row(ADDING, 8.0, 1.0, 0.0, 1.0, (0.82180, 0.17820), (0.85847, 0.14153)),
    row(ADDING, 16.0, 1.0, 0.0, 1.0, (0.90363, 0.09637), (0.92346, 0.07654)),
    row(ADDING, 1.0, 0.9, 0.0, 1.0, (0.26741, 0.59163), (0.35271, 0.47475)),
    row(ADDING, 2.0, 0.8, 0.0, 1.0, (0.26594, 0.28595), (0.32795, 0.19727)),
    row(ADDING, 1.0, 1.0, 0.5, 1.0, (0.17611, 0.82389), (0.30133, 0.69867)),
    row(ADDING, 10.0, 1.0, 0.75, 1.0, (0.56898, 0.43102), (0.66044, 0.33956)),
    row(ADDING_SUITE, DEEP, 0.8, 0.0, 1.0, (0.28525, 0.0), (0.34187, 0.0)),
    row(ADDING, DEEP, 0.9, 0.0, 1.0, (0.41495, 0.0), (0.47802, 0.0)),
    row(ADDING, DEEP, 0.95, 0.0, 1.0, (0.53554, 0.0), (0.59667, 0.0)),
    row(ADDING, DEEP, 0.99, 0.0, 1.0, (0.75272, 0.0), (0.79456, 0.0)),
    row(ADDING, 4.01, 4.0 / 4.01, 0.0, 1.46, (0.599, 0.358), (0.633, 0.326)),
];

const fn row(
    source: &'static str,
    tau: f64,
    albedo: f64,
    anisotropy: f64,
    index: f64,
    straight: (f64, f64),
    diffuse: (f64, f64),
) -> Row {
    Row { source, tau, albedo, anisotropy, index, straight, diffuse }
}

const NORMAL: Incidence = Incidence::Collimated { cosine: 1.0 };

fn bare(medium: Medium, thickness_mm: f64) -> Wall {
    Wall::checked(medium, thickness_mm, Finish::Bare, Finish::Bare).unwrap()
}

fn run(wall: &Wall, incidence: Incidence, packets: u32) -> Passed {
    let passed = slab(wall, incidence, Walk { packets, seed: 2024 }).unwrap();
    let booked = passed.shares.sum() + passed.roulette;
    assert!((booked - 1.0).abs() < 1e-9, "energy: {booked}");
    passed
}

/// Within four standard deviations and within half a percent; `rounding` is that of the value as it was printed.
fn holds(what: &str, got: f64, want: f64, sigma: f64, rounding: f64) {
    let off = (got - want).abs();
    assert!(off <= 4.0 * sigma + rounding && off <= 0.005, "{what}: {got} and not {want}, sigma {sigma}");
}

#[test]
fn published_slabs_come_out() {
    for Row { source, tau, albedo, anisotropy, index, straight, diffuse } in ROWS {
        // One millimetre per free path: a millimetre means nothing else to these rows.
        let medium = Medium::checked(albedo, anisotropy, 1.0 - albedo, index).unwrap();
        let wall = bare(medium, tau);
        // The last row was printed with three digits, the half-space with four.
        let rounding = if index == 1.0 {
            1e-5
        } else if index == 1.5 {
            1e-4
        } else {
            5e-4
        };
        for (incidence, (back, through)) in [(NORMAL, straight), (Incidence::Diffuse, diffuse)] {
            let passed = run(&wall, incidence, 200_000);
            let what = format!("tau {tau}, albedo {albedo}, g {anisotropy}, index {index}, {incidence:?} ({source})");
            holds(&format!("{what}: back"), passed.shares.back(), back, passed.sigma_back, rounding);
            holds(&format!("{what}: through"), passed.shares.through(), through, passed.sigma_through, rounding);
        }
    }
}

#[test]
fn the_table_of_printed_walls_comes_out() {
    // Passed of light along the normal and of diffuse light, by adding and doubling (iadpython 0.5.3, 16 angles): index
    // 1.46, absorption 0.005 per mm, no anisotropy; columns 0.8, 2 and 4 mm, printed with three digits.
    let rows = [
        (0.25, [(0.844, 0.769), (0.737, 0.665), (0.605, 0.542)]),
        (1.0, [(0.676, 0.610), (0.491, 0.443), (0.339, 0.309)]),
        (4.0, [(0.412, 0.376), (0.235, 0.215), (0.122, 0.112)]),
    ];
    for (reduced, cells) in rows {
        for (thickness_mm, (straight, diffuse)) in [0.8, 2.0, 4.0].into_iter().zip(cells) {
            let wall = bare(Medium::of_reduced(reduced, 0.005, 1.46).unwrap(), thickness_mm);
            for (incidence, want) in [(NORMAL, straight), (Incidence::Diffuse, diffuse)] {
                let passed = run(&wall, incidence, 100_000);
                let what = format!("{reduced} per mm, {thickness_mm} mm, {incidence:?}");
                holds(&what, passed.shares.through(), want, passed.sigma_through, 5e-4);
            }
        }
    }
}

#[test]
fn forward_scattering_does_nearly_as_its_reduced_one() {
    // Adding and doubling: µs 20 per mm at g 0.9, 2 mm, index 1.46, absorption 0.005 per mm pass .353 and .324.
    let wall = bare(Medium::checked(20.0, 0.9, 0.005, 1.46).unwrap(), 2.0);
    for (incidence, want) in [(NORMAL, 0.353), (Incidence::Diffuse, 0.324)] {
        let passed = run(&wall, incidence, 40_000);
        holds(&format!("{incidence:?}"), passed.shares.through(), want, passed.sigma_through, 5e-4);
    }
}

#[test]
fn clear_plates_follow_the_formulas_of_textbooks() {
    // A plate between two faces of reflectance R that passes t of what crosses it: the sum over all bounces.
    for (absorb, cosine) in [(0.0, 1.0), (0.0, 0.4), (0.2, 1.0), (0.2, 0.3)] {
        let (index, thickness_mm) = (1.5, 2.0);
        let wall = bare(Medium::checked(0.0, 0.0, absorb, index).unwrap(), thickness_mm);
        let r = fresnel::reflectance(cosine, 1.0 / index);
        let t = libm::exp(-absorb * thickness_mm / fresnel::refracted_cosine(cosine, 1.0 / index).unwrap());
        let through = (1.0 - r) * (1.0 - r) * t / (1.0 - r * r * t * t);
        let back = r * (1.0 + t * through);
        let passed = run(&wall, Incidence::Collimated { cosine }, 100_000);
        let what = format!("absorption {absorb}, cosine {cosine}");
        holds(&what, passed.shares.unscattered_through, through, passed.sigma.unscattered_through + 1e-9, 0.0);
        holds(&what, passed.shares.specular, back, passed.sigma.specular + 1e-9, 0.0);
        assert_eq!((passed.shares.diffuse_back, passed.shares.diffuse_through), (0.0, 0.0));
    }
}

#[test]
fn coats_send_back_and_pass_as_two_diffuse_sheets_do() {
    // Between diffuse sheets in clear air nothing depends on angles: the sum over all bounces is exact.
    let (inner, outer) = (Coat::checked(0.5, 0.4).unwrap(), Coat::checked(0.6, 0.3).unwrap());
    let clear = Medium::checked(0.0, 0.0, 0.0, 1.0).unwrap();
    let wall = Wall::checked(clear, 1.0, Finish::Coat(inner), Finish::Coat(outer)).unwrap();
    let inside = inner.transmittance / (1.0 - inner.reflectance * outer.reflectance);
    let passed = run(&wall, Incidence::Diffuse, 200_000);
    let through = inside * outer.transmittance;
    let back = inner.reflectance + inside * outer.reflectance * inner.transmittance;
    let coats = 1.0 - through - back;
    // Such a packet loses the same share at each bounce; only roulette makes noise.
    holds("through", passed.shares.diffuse_through, through, passed.sigma.diffuse_through + 1e-9, 0.0);
    holds("back", passed.shares.diffuse_back, back, passed.sigma.diffuse_back + 1e-9, 0.0);
    holds("coats", passed.shares.absorbed_coats, coats, passed.sigma.absorbed_coats + 1e-9, 0.0);
    assert_eq!(passed.shares.absorbed_wall + passed.shares.specular + passed.shares.unscattered_through, 0.0);
}

#[test]
fn an_opaque_coat_passes_nothing_and_a_white_one_sends_more_back_than_a_black_one() {
    let medium = Medium::of_reduced(1.0, 0.005, 1.46).unwrap();
    let painted = |reflectance| {
        let coat = Finish::Coat(Coat::checked(reflectance, 0.0).unwrap());
        run(&Wall::checked(medium, 2.0, Finish::Bare, coat).unwrap(), Incidence::Diffuse, 20_000).shares
    };
    let (white, black) = (painted(0.9), painted(0.05));
    assert_eq!((white.through(), black.through()), (0.0, 0.0));
    assert!(white.back() > black.back() + 0.2, "{} and {}", white.back(), black.back());
}

#[test]
fn light_from_a_point_spreads_by_the_inverse_square_and_lamberts_law() {
    // A diffuse sheet over a clear gap of d: of what a point sends out, sin² of the angle lies within it, which is
    // r² / (r² + d²) at the far side, where another sheet passes it.
    let sheet = Finish::Coat(Coat::checked(0.0, 1.0).unwrap());
    let clear = Medium::checked(0.0, 0.0, 0.0, 1.0).unwrap();
    for d in [0.5, 3.0] {
        let passed = run(&Wall::checked(clear, d, sheet, sheet).unwrap(), NORMAL, 100_000);
        assert_eq!(passed.shares.diffuse_through, 1.0);
        for r in [0.3 * d, d, 2.0 * d, 6.0 * d] {
            let want = r * r / (r * r + d * d);
            let sigma = (want * (1.0 - want) / 1e5_f64).sqrt();
            let got = passed.sideways_through.share_within(r);
            // Even bins over a falling density put a little of a bin's light too far out: below 0.2 % here.
            assert!((got - want).abs() < 4.0 * sigma + 0.002, "{d} {r}: {got} and not {want}");
        }
    }
}

#[test]
fn thick_walls_spread_light_as_diffusion_says() {
    // Diffusion between extrapolated faces (the textbook's dipole sum in Fourier space): light that enters one free path deep
    // and passes has a mean square distance of 2/3 (L² - a²), L = d + 2 ze, a = 1 + ze, in free paths. The extrapolation
    // length is 0.7104 (Milne's problem, Case and Zweifel 1967). Exact only for walls without end: 4 % are allowed.
    let d = 20.0;
    let passed = run(&bare(Medium::of_reduced(1.0, 0.0, 1.0).unwrap(), d), NORMAL, 100_000);
    let (long, deep) = (d + 2.0 * 0.7104, 1.0 + 0.7104);
    let want = 2.0 / 3.0 * (long * long - deep * deep);
    let got = passed.sideways_through.mean_square_mm2();
    assert!((got / want - 1.0).abs() < 0.04, "{got} and not {want}");
}

#[test]
fn the_result_hangs_on_the_seed_and_not_on_threads() {
    let wall = bare(Medium::checked(3.0, 0.4, 0.02, 1.5).unwrap(), 1.5);
    let walk = |seed| slab(&wall, Incidence::Diffuse, Walk { packets: 10_000, seed }).unwrap();
    let on = |threads| rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap().install(|| walk(7));
    assert_eq!(on(1), on(3));
    assert_eq!(on(1), walk(7));
    assert_ne!(walk(7).shares, walk(8).shares);
}

#[test]
fn sigma_is_the_spread_of_repeated_runs() {
    let wall = bare(Medium::checked(2.0, 0.0, 0.05, 1.46).unwrap(), 2.0);
    let runs: Vec<Passed> = (0..60).map(|seed| slab(&wall, NORMAL, Walk { packets: 2000, seed }).unwrap()).collect();
    let values: Vec<f64> = runs.iter().map(|r| r.shares.through()).collect();
    let mean = values.iter().sum::<f64>() / 60.0;
    let spread = (values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / 59.0).sqrt();
    let said = runs.iter().map(|r| r.sigma_through).sum::<f64>() / 60.0;
    // A spread from 60 values is itself known to about 9 %.
    assert!((spread / said - 1.0).abs() < 0.35, "{spread} and not {said}");
    // Parting packets at faces is never noisier than sending each one way.
    assert!(said < (mean * (1.0 - mean) / 2000.0).sqrt());
}

#[test]
fn what_cannot_be_walked_is_refused_and_the_worst_that_can_ends() {
    let wall = bare(Medium::of_reduced(1.0, 0.0, 1.5).unwrap(), 1.0);
    let walk = Walk { packets: 10, seed: 0 };
    for cosine in [0.0, -0.5, 1.1, f64::NAN] {
        let refused = slab(&wall, Incidence::Collimated { cosine }, walk).unwrap_err();
        assert!(refused.to_string().contains("cosine of incidence"), "{refused}");
    }
    assert!(slab(&wall, NORMAL, Walk { packets: 0, seed: 0 }).unwrap_err().to_string().contains("packets"));
    assert!(slab(&Wall { thickness_mm: f64::NAN, ..wall }, NORMAL, walk).is_err());

    // White mirrors round a clear wall, and a black wall: all booked, nothing infinite.
    let mirror = Finish::Coat(Coat::checked(1.0, 0.0).unwrap());
    let leak = Finish::Coat(Coat::checked(0.999, 0.001).unwrap());
    let clear = Medium::checked(0.0, 0.0, 0.0, 1.5).unwrap();
    let black = Medium::checked(0.0, 0.0, 1e4, 1.5).unwrap();
    for wall in [
        Wall::checked(clear, 1.0, leak, mirror).unwrap(),
        Wall::checked(clear, 1.0, Finish::Bare, mirror).unwrap(),
        Wall::checked(clear, 1.0, mirror, Finish::Bare).unwrap(),
        bare(black, 1000.0),
    ] {
        let shares = run(&wall, Incidence::Diffuse, 2000).shares;
        assert!(
            [shares.back(), shares.through(), shares.absorbed_wall].iter().all(|v| (0.0..=1.5).contains(v)),
            "{shares:?}"
        );
    }
}
