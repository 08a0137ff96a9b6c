//! Light held against laws and published numbers, in closed boxes.

use super::*;
use crate::scene::{Face, Solid};
use crate::{Coat, Finish, Medium};
use solid::{Mesh, cuboid, sphere};
use std::f64::consts::PI;

/// Faces by a function of solid, triangle and point.
pub(crate) struct By<F>(pub(crate) F);

impl<F: Fn(usize, usize, DVec3) -> Face + Sync> Outside for By<F> {
    fn face(&self, solid: usize, triangle: usize, point: DVec3) -> Face {
        (self.0)(solid, triangle, point)
    }
}

pub(crate) const BARE: Face = Face { finish: Finish::Bare, patch: None };

pub(crate) const NO_GLUE: Coat = Coat { reflectance: 0.0, transmittance: 1.0 };

pub(crate) fn out(patch: u32) -> Face {
    Face { finish: Finish::Bare, patch: Some(patch) }
}

pub(crate) fn coat(reflectance: f64, transmittance: f64) -> Finish {
    Finish::Coat(Coat { reflectance, transmittance })
}

pub(crate) fn whole(mesh: Mesh) -> Solid {
    Solid { mesh, glued: Vec::new() }
}

/// A closed room with walls 1 mm thick about the inside of a box.
pub(crate) fn room(min: DVec3, max: DVec3) -> Mesh {
    let mut mesh = cuboid(min - 1.0, max + 1.0);
    mesh.append(&cuboid(min, max).reversed());
    mesh
}

/// Nothing happens in it: light passes straight.
pub(crate) fn nothing() -> Medium {
    Medium::checked(0.0, 0.0, 0.0, 1.0).unwrap()
}

pub(crate) fn spec(n_patches: usize, photons: u32) -> LightSpec {
    LightSpec {
        passage: Passage::Walked,
        watched_mm2: vec![100.0; n_patches],
        noise: 1e-9,
        most_photons: photons,
        seed: 7,
    }
}

fn run(scene: &Scene, band: &Band, outside: &dyn Outside, pixels: &[Pixel], spec: &LightSpec) -> Response {
    let response = light(scene, band, outside, pixels, spec, &Cancel::default()).unwrap();
    assert!(response.totals.unbalanced().abs() < 1e-9, "{:?}", response.totals);
    response
}

#[test]
fn a_closed_diffuse_sphere_multiplies_as_the_formula_says() {
    // A Lambertian source at a sphere's wall lights all of the wall alike; with share f open and wall reflectance r the
    // port gets f / (1 - r (1 - f)) of it: M = r / (1 - r (1 - f)) of the integrating-sphere guides, over r, times f.
    for (reflectance, open) in [(0.9, 0.1), (0.8, 0.3), (0.97, 0.02)] {
        let mut shell = sphere(DVec3::ZERO, 52.0, 96);
        shell.append(&sphere(DVec3::ZERO, 50.0, 96).reversed());
        let scene = Scene::new(&[whole(shell)], &[]).unwrap();
        let cap = 50.0 * (1.0 - 2.0 * open);
        let faces = By(|_, _, p: DVec3| match p.length() {
            r if r > 51.0 => out(0),
            r if p.z > cap * r / 50.0 => BARE,
            _ => Face { finish: coat(reflectance, 0.0), patch: None },
        });
        let band = Band { media: vec![nothing()], reflectances: vec![], glue: NO_GLUE };
        let pixels: Vec<Pixel> = (0..8)
            .map(|i| {
                let (s, c) = libm::sincos(f64::from(i) * PI / 4.0);
                let at = DVec3::new(s, c, -0.3 - 0.05 * f64::from(i)).normalize() * 49.8;
                Pixel::lambertian(at, -at)
            })
            .collect();
        let response = run(&scene, &band, &faces, &pixels, &spec(1, 4_000));
        let formula = open / (1.0 - reflectance * (1.0 - open));
        let ratio = response.totals.out / formula;
        assert!((ratio - 1.0).abs() < 0.01, "{reflectance} {open}: {ratio}");
        assert_eq!(response.totals.lost, 0.0);
    }
}

/// A plate of nothing at a height over a pixel in a black room; patches of `side` mm in a grid about the axis.
fn target(height: f64, side: f64, n: i32) -> (Scene, Band, impl Outside) {
    let wide = 60.0;
    let (low, high) = (DVec3::new(-wide, -wide, -1.0), DVec3::new(wide, wide, height + 1.0));
    let inset = DVec3::new(1.0, 1.0, 0.0);
    let plate = cuboid((low + inset).with_z(height), (high - inset).with_z(height + 1e-3));
    let scene = Scene::new(&[whole(plate)], &[room(low, high)]).unwrap();
    let faces = By(move |_, _, p: DVec3| {
        if p.z < height + 5e-4 {
            return BARE;
        }
        let (x, y) = ((p.x / side).round() as i32, (p.y / side).round() as i32);
        let inside = x.abs() <= n && y.abs() <= n;
        out(if inside { ((x + n) * (2 * n + 1) + y + n) as u32 } else { ((2 * n + 1) * (2 * n + 1)) as u32 })
    });
    (scene, Band { media: vec![nothing()], reflectances: vec![0.0], glue: NO_GLUE }, faces)
}

#[test]
fn a_bare_source_obeys_the_inverse_square_and_lamberts_law() {
    // Both laws are in `Pixel::falls_on`, which is checked by hand values there.
    for (height, full_angle_deg) in [(20.0, 120.0), (40.0, 120.0), (40.0, 60.0)] {
        let (side, n) = (8.0, 4);
        let (scene, band, faces) = target(height, side, n);
        let pixel = Pixel { at: DVec3::ZERO, facing: DVec3::Z, full_angle_deg };
        let n_patches = 82;
        let photons = 100_096;
        let response = run(&scene, &band, &faces, &[pixel], &spec(n_patches, photons));
        let light = response.lit(&[1.0]);
        let mut worst = 0.0_f64;
        for x in -n..=n {
            for y in -n..=n {
                // The mean over the patch by 8 x 8 points.
                let at = |i: i32, c: i32| (f64::from(c) + (f64::from(i) + 0.5) / 8.0 - 0.5) * side;
                let points = (0..64).map(|i| DVec3::new(at(i % 8, x), at(i / 8, y), height));
                let want = points.map(|p| pixel.falls_on(p, -DVec3::Z)).sum::<f64>() * side * side / 64.0;
                let got = f64::from(light[((x + n) * (2 * n + 1) + y + n) as usize]);
                // A photon counts or not: sigma of a binomial, made smaller by the even spread of starts.
                worst = worst.max((got - want).abs() / (want / f64::from(photons)).sqrt());
            }
        }
        assert!(worst < 4.0, "{height} {full_angle_deg}: {worst} sigma");
    }
}

/// First harmonic of light along a row, against its mean, from values at even places of one pitch.
fn harmonic(values: &[f64]) -> f64 {
    let turn = 2.0 * PI / values.len() as f64;
    let (mut c, mut s, mut mean) = (0.0, 0.0, 0.0);
    for (i, v) in values.iter().enumerate() {
        let (sine, cosine) = libm::sincos(turn * (i as f64 + 0.5));
        (c, s, mean) = (c + v * cosine, s + v * sine, mean + v);
    }
    2.0 * c.hypot(s) / mean
}

#[test]
fn a_bare_row_ripples_as_the_poisson_sum_says() {
    // Ripple of a row at pitch p, seen at height h: 2 (1 + a) exp(-a), a = 2 pi h / p, by Poisson's sum over
    // (1 + x²/h²)^-2. At h/p = 1.5 it is 0.0017, which no number of photons shows: here direct light is summed, and the
    // traced row is held against the formula where the ripple is large, below.
    let pitch = 10.0;
    for ratio in [0.5, 0.7, 1.0, 1.2, 1.5] {
        let height = ratio * pitch;
        let a = 2.0 * PI * ratio;
        let formula = 2.0 * (1.0 + a) * libm::exp(-a);
        let along = |x: f64| -> f64 {
            (-2000..=2000)
                .map(|i| Pixel::lambertian(DVec3::X * (f64::from(i) * pitch), DVec3::Z))
                .map(|pixel| pixel.falls_on(DVec3::new(x, 0.0, height), -DVec3::Z))
                .sum()
        };
        let values: Vec<f64> = (0..32).map(|i| along((f64::from(i) + 0.5) / 32.0 * pitch)).collect();
        let ripple = harmonic(&values);
        assert!((ripple / formula - 1.0).abs() < 0.02, "{ratio}: {ripple} for {formula}");
    }
}

#[test]
fn a_traced_row_ripples_as_the_formula() {
    // One pixel, folded onto one pitch: the sum over an endless row. A band narrow against the height counts.
    let (height, pitch) = (20.0, 40.0);
    let (low, high) = (DVec3::new(-600.0, -50.0, -1.0), DVec3::new(600.0, 50.0, height + 1.0));
    let plate = cuboid(low.with_z(height), high.with_z(height + 1e-3))
        .transformed(&solid::DAffine3::from_scale(DVec3::new(0.99, 0.99, 1.0)));
    let scene = Scene::new(&[whole(plate)], &[room(low, high)]).unwrap();
    let faces = By(move |_, _, p: DVec3| match p {
        p if p.z < height + 5e-4 => BARE,
        p if p.y.abs() > 1.5 => out(20),
        p => out(((p.x / pitch).rem_euclid(1.0) * 20.0) as u32 % 20),
    });
    let band = Band { media: vec![nothing()], reflectances: vec![0.0], glue: NO_GLUE };
    let pixel = Pixel::lambertian(DVec3::ZERO, DVec3::Z);
    let response = run(&scene, &band, &faces, &[pixel], &spec(21, 1_500_000));
    let values: Vec<f64> = response.lit(&[1.0])[..20].iter().map(|x| f64::from(*x)).collect();
    let ripple = harmonic(&values);
    let formula = 2.0 * (1.0 + PI) * libm::exp(-PI);
    assert!((ripple / formula - 1.0).abs() < 0.03, "{ripple} for {formula}");
}

#[test]
fn a_walked_plate_passes_what_adding_and_doubling_gives() {
    // Rows for diffuse light, index 1.46, absorption 0.005 per mm, by the open library iadpython 0.5.3 with 16 points.
    // A Lambertian pixel on a wide plate is diffuse light on an endless one.
    for (scatter, anisotropy, thickness, passes) in
        [(1.0, 0.0, 2.0, 0.443), (2.0, 0.0, 2.0, 0.326), (4.0, 0.0, 1.2, 0.303), (20.0, 0.9, 2.0, 0.324)]
    {
        let (low, high) = (DVec3::new(-90.0, -90.0, -5.0), DVec3::new(90.0, 90.0, 10.0));
        let plate = cuboid(DVec3::new(-85.0, -85.0, 0.0), DVec3::new(85.0, 85.0, thickness));
        let scene = Scene::new(&[whole(plate)], &[room(low, high)]).unwrap();
        let faces = By(move |_, _, p: DVec3| if p.z > thickness - 1e-6 { out(0) } else { BARE });
        let medium = Medium::checked(scatter, anisotropy, 0.005, 1.46).unwrap();
        let band = Band { media: vec![medium], reflectances: vec![0.0], glue: NO_GLUE };
        let pixel = Pixel::lambertian(DVec3::Z * -0.1, DVec3::Z);
        let response = run(&scene, &band, &faces, &[pixel], &spec(1, 20_000));
        let sigma = f64::from(response.sigma()[0]);
        assert!(
            (response.totals.out - passes).abs() < 4.0 * sigma + 6e-4,
            "{scatter}: {} {sigma}",
            response.totals.out
        );
        assert_eq!((response.totals.lost, response.totals.mended), (0.0, 0.0));
    }
}

#[test]
fn the_same_bytes_come_from_one_thread_and_three() {
    let (low, high) = (DVec3::ZERO, DVec3::new(60.0, 20.0, 20.0));
    let mut shell = cuboid(low - 2.0, high + 2.0);
    shell.append(&cuboid(low, high).reversed());
    let bar = cuboid(DVec3::new(5.0, 5.0, 5.0), DVec3::new(55.0, 8.0, 8.0));
    let scene = Scene::new(&[whole(shell)], &[bar]).unwrap();
    let faces = By(|_, _, p: DVec3| {
        let inner = p.cmpge(DVec3::splat(-1e-9)).all() && p.cmple(DVec3::new(60.0, 20.0, 20.0) + 1e-9).all();
        if inner { BARE } else { out((p.x + 2.0) as u32 / 4) }
    });
    let medium = Medium::checked(2.0, 0.3, 0.01, 1.46).unwrap();
    let band = Band { media: vec![medium], reflectances: vec![0.4], glue: NO_GLUE };
    let pixels: Vec<Pixel> =
        (0..5).map(|i| Pixel::lambertian(DVec3::new(8.0 + 10.0 * f64::from(i), 6.0, 8.5), DVec3::Z)).collect();
    let mut all = [1, 3].map(|n| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(n).build().unwrap();
        pool.install(|| run(&scene, &band, &faces, &pixels, &spec(17, 2000))).to_bytes()
    });
    assert_eq!(all[0], all[1]);
    // And noise is met early when it may be.
    let easy = LightSpec { noise: 0.05, ..spec(17, 1_000_000) };
    let response = run(&scene, &band, &faces, &pixels, &easy);
    assert!(response.totals.noise <= 0.05 && response.totals.n_photons < 500_000, "{:?}", response.totals);
    all[0].clear();
    // The noise stated is the scatter that is seen: two seeds differ by about sqrt 2 of it on patches of 100 mm2.
    let other = run(&scene, &band, &faces, &pixels, &LightSpec { seed: 8, ..easy });
    let (a, b) = (response.lit(&[1.0; 5]), other.lit(&[1.0; 5]));
    let mean = a.iter().sum::<f32>() / 17.0;
    let rms = (a.iter().zip(&b).map(|(x, y)| (x - y) * (x - y)).sum::<f32>() / 17.0).sqrt() / mean;
    assert!(f64::from(rms) > 0.3 * response.totals.noise && f64::from(rms) < 3.0 * response.totals.noise, "{rms}");
}

#[test]
fn one_survey_serves_several_bands() {
    // A tube of dense plastic: walls of 8 mm are plates in one band and are walked in the other.
    let mut shell = cuboid(DVec3::splat(-8.0), DVec3::new(68.0, 28.0, 28.0));
    shell.append(&cuboid(DVec3::ZERO, DVec3::new(60.0, 20.0, 20.0)).reversed());
    let scene = Scene::new(&[whole(shell)], &[]).unwrap();
    let faces = By(|_, _, p: DVec3| {
        let inner = p.cmpge(DVec3::splat(-1e-9)).all() && p.cmple(DVec3::new(60.0, 20.0, 20.0) + 1e-9).all();
        if inner { BARE } else { out(u32::from(p.x > 30.0)) }
    });
    let band = |reduced: f64| Band {
        media: vec![Medium::of_reduced(reduced, 0.002, 1.5).unwrap()],
        reflectances: vec![],
        glue: NO_GLUE,
    };
    let bands = [band(2.0), band(0.9)];
    let pixels = [10.0, 30.0, 50.0].map(|x| Pixel::lambertian(DVec3::new(x, 10.0, 10.0), DVec3::Z));
    let spec = LightSpec { passage: Passage::Guided, ..spec(2, 1024) };
    let cancel = Cancel::default();
    let survey = Survey::of(&scene, &bands, &faces, &pixels, &spec, &cancel).unwrap();
    let by_survey = |band: &Band| surveyed(&scene, &survey, band, &faces, &pixels, &spec, &cancel).unwrap();
    // The band that told the worths comes to the same bytes as on its own, though more walls were looked at.
    assert_eq!(by_survey(&bands[0]).to_bytes(), run(&scene, &bands[0], &faces, &pixels, &spec).to_bytes());
    // The other's light is the same within noise, though it is guided by the first's worths.
    let (theirs, own) = (by_survey(&bands[1]), run(&scene, &bands[1], &faces, &pixels, &spec));
    assert!(theirs.totals.unbalanced().abs() < 1e-9, "{:?}", theirs.totals);
    let (a, b) = (theirs.totals.out, own.totals.out);
    assert!((a / b - 1.0).abs() < 0.05, "{a} {b}");
    // One that was not named has no plates and is walked: slower, and as right.
    let less = Survey::of(&scene, &bands[1..], &faces, &pixels, &spec, &cancel).unwrap();
    let walked = surveyed(&scene, &less, &bands[0], &faces, &pixels, &spec, &cancel).unwrap();
    let (a, b) = (walked.totals.out, by_survey(&bands[0]).totals.out);
    assert!((a / b - 1.0).abs() < 0.05, "{a} {b}");
}

#[test]
fn questions_without_an_answer_are_refused_by_name() {
    let (low, high) = (DVec3::ZERO, DVec3::splat(20.0));
    let mut shell = cuboid(low - 2.0, high + 2.0);
    shell.append(&cuboid(low, high).reversed());
    let bar = cuboid(DVec3::splat(5.0), DVec3::splat(8.0));
    let scene = Scene::new(&[whole(shell)], &[bar]).unwrap();
    let faces = By(|_, _, p: DVec3| {
        let inner = p.cmpge(DVec3::splat(-1e-9)).all() && p.cmple(DVec3::splat(20.0) + 1e-9).all();
        if inner { BARE } else { out(3) }
    });
    let band = Band { media: vec![nothing()], reflectances: vec![0.4], glue: NO_GLUE };
    let good = Pixel::lambertian(DVec3::splat(12.0), DVec3::Z);
    let asked = |pixel: Pixel, spec: &LightSpec| light(&scene, &band, &faces, &[pixel], spec, &Cancel::default());
    let at = |x: f64| Pixel { at: DVec3::splat(x), ..good };
    let fine = spec(4, 300);
    assert!(asked(good, &fine).is_ok());
    assert_eq!(light(&scene, &band, &faces, &[], &fine, &Cancel::default()), Err(LightError::NoPixel));
    assert_eq!(asked(good, &spec(0, 300)), Err(LightError::NoPatch));
    assert_eq!(asked(good, &spec(2, 300)), Err(LightError::NoSuchPatch { patch: 3, n_patches: 2 }));
    let inside = asked(at(21.0), &fine).unwrap_err();
    assert!(matches!(inside, LightError::PixelInside { pixel: 0, body: Body::Solid(0), .. }), "{inside}");
    assert!(matches!(asked(at(6.0), &fine), Err(LightError::PixelInside { body: Body::Thing(0), .. })));
    let outside = asked(at(40.0), &fine).unwrap_err();
    assert!(matches!(outside, LightError::PixelOutside { pixel: 0, percent: 100, .. }), "{outside}");
    assert_eq!(asked(at(f64::NAN), &fine), Err(LightError::BadPixel { pixel: 0 }));
    assert!(asked(good, &LightSpec { noise: f64::NAN, ..fine.clone() }).is_err());
    assert!(asked(good, &LightSpec { most_photons: 0, ..fine.clone() }).is_err());
    assert!(asked(good, &LightSpec { watched_mm2: vec![1.0, -1.0, 0.0, 1.0], ..fine.clone() }).is_err());
    let dark = Medium::checked(1.0, 0.0, 50.0, 1.5).unwrap();
    let opaque = Band { media: vec![dark], ..band.clone() };
    assert!(matches!(
        light(&scene, &opaque, &faces, &[good], &fine, &Cancel::default()),
        Err(LightError::Scene(SceneError::OpaqueMedium { .. }))
    ));
    let cancel = Cancel::default();
    cancel.cancel();
    assert_eq!(light(&scene, &band, &faces, &[good], &fine, &cancel), Err(LightError::Cancelled(Cancelled)));
}
