//! The fast passage held against the walked one, luminance by patch, on cavities like those of real pieces.

use super::tests::{BARE, By, coat, out, whole};
use super::*;
use crate::scene::{Face, GLUE_REACH_MM, Solid};
use crate::{Coat, Medium};
use solid::{Mesh, cuboid, cylinder, difference, union};

struct Case {
    scene: Scene,
    band: Band,
    pixels: Vec<Pixel>,
    n_patches: usize,
}

fn both_ways(case: &Case, faces: &dyn Outside, photons: u32) -> [Response; 2] {
    [Passage::Walked, Passage::Guided].map(|passage| {
        let spec = LightSpec {
            passage,
            watched_mm2: vec![100.0; case.n_patches],
            noise: 0.003,
            most_photons: photons,
            seed: 11,
        };
        let response = light(&case.scene, &case.band, faces, &case.pixels, &spec, &Cancel::default()).unwrap();
        let totals = &response.totals;
        assert!(totals.unbalanced().abs() < 1e-9 && totals.lost < 1e-4 && totals.mended < 1e-4, "{totals:?}");
        response
    })
}

/// Root mean square over patches of how far the fast light is from the walked one, each against its own walked light.
fn apart([walked, guided]: &[Response; 2], watched: std::ops::Range<usize>) -> f64 {
    let all = vec![1.0; walked.n_pixels()];
    let (a, b) = (walked.lit(&all), guided.lit(&all));
    let n = watched.len() as f64;
    (watched.map(|p| f64::from(b[p] / a[p] - 1.0)).map(|x| x * x).sum::<f64>() / n).sqrt()
}

/// Pixels along z on both sides of a board, which is returned too.
fn strip(from: f64, to: f64, n: u32) -> (Vec<Pixel>, Mesh) {
    let board = cuboid(DVec3::new(-0.5, -3.0, from - 4.0), DVec3::new(0.5, 3.0, to + 4.0));
    let pixels = (0..2 * n).map(|i| {
        let side = if i % 2 == 0 { 1.0 } else { -1.0 };
        let z = from + (to - from) * (f64::from(i / 2) + 0.5) / f64::from(n);
        Pixel::lambertian(DVec3::new(1.3 * side, 0.0, z), DVec3::X * side)
    });
    (pixels.collect(), board)
}

fn hollow(outer: Mesh, void: Mesh) -> Mesh {
    let mut mesh = outer;
    mesh.append(&void.reversed());
    mesh
}

const GLUE: Coat = Coat { reflectance: 0.1, transmittance: 0.8 };

#[test]
fn in_a_round_tube() {
    let at = |z: f64| DVec3::Z * z;
    let tube = hollow(cylinder(at(-2.0), at(62.0), 12.0, 72), cylinder(at(0.0), at(60.0), 10.0, 72));
    let (pixels, board) = strip(10.0, 50.0, 2);
    let faces = By(|_, _, p: DVec3| match p.truncate().length() {
        r if r < 10.1 && p.z > -1e-6 && p.z < 60.0 + 1e-6 => BARE,
        _ => out(((p.z / 6.0).floor().clamp(-1.0, 10.0) + 1.0) as u32),
    });
    // The last wall is ten free paths thick: there tables are used.
    for (scatter, anisotropy) in [(2.0, 0.0), (6.0, 0.7), (5.0, 0.0)] {
        let medium = Medium::checked(scatter, anisotropy, 0.005, 1.46).unwrap();
        let band = Band { media: vec![medium], reflectances: vec![0.5], glue: GLUE };
        let scene = Scene::new(&[whole(tube.clone())], std::slice::from_ref(&board)).unwrap();
        let case = Case { scene, band, pixels: pixels.clone(), n_patches: 12 };
        let both = both_ways(&case, &faces, 16_384);
        let rms = apart(&both, 1..11);
        assert!(rms < 0.03, "{scatter}: {rms}");
    }
}

/// A section between two arcs through (±half_width, 0) and (0, ±half_height), counter-clockwise.
fn lens(half_width: f64, half_height: f64, n: u32) -> Vec<solid::DVec2> {
    let radius = (half_width * half_width + half_height * half_height) / (2.0 * half_height);
    let half = libm::asin(half_width / radius);
    (0..2 * n)
        .map(|i| {
            let side = if i < n { 1.0 } else { -1.0 };
            let (s, c) = libm::sincos(half * (1.0 - 2.0 * f64::from(i % n) / f64::from(n)));
            solid::DVec2::new(side * radius * s, side * (radius * c - radius + half_height))
        })
        .collect()
}

#[test]
fn in_a_flat_blade_with_solid_edges() {
    let section =
        |w: f64, h: f64, from: f64, to: f64| solid::prism(&lens(w, h, 40), &solid::DAffine3::IDENTITY, from, to);
    let blade = hollow(section(22.0, 10.0, -2.0, 42.0), section(17.5, 8.0, 0.0, 40.0));
    let (pixels, board) = strip(8.0, 32.0, 2);
    // Windows along both edges; the rest is painted, in four patches, and leaks a little.
    let faces = By(|_, _, p: DVec3| {
        let ring = p.x.abs() / 17.5;
        let inner = p.z > -1e-6 && p.z < 40.0 + 1e-6 && p.y.abs() < 8.0 * (1.0 - ring * ring) + 0.5;
        if ring < 1.0 + 1e-6 && inner {
            return BARE;
        }
        let band = (p.z / 20.0).floor().clamp(0.0, 1.0) as u32;
        if p.z < -1.99 || p.z > 41.99 {
            Face { finish: coat(0.6, 0.02), patch: Some(6) }
        } else if p.x.abs() > 18.5 {
            out(u32::from(p.x > 0.0))
        } else {
            Face { finish: coat(0.6, 0.02), patch: Some(2 + 2 * band + u32::from(p.y > 0.0)) }
        }
    });
    let medium = Medium::checked(1.0, 0.0, 0.005, 1.46).unwrap();
    let band = Band { media: vec![medium], reflectances: vec![0.5], glue: GLUE };
    let case = Case { scene: Scene::new(&[whole(blade)], &[board]).unwrap(), band, pixels, n_patches: 7 };
    let both = both_ways(&case, &faces, 49_152);
    let (windows, paint) = (apart(&both, 0..2), apart(&both, 2..6));
    assert!(windows < 0.03 && paint < 0.03, "{windows} {paint}");
}

#[test]
fn in_a_joint_with_collar_and_glue_line() {
    let at = |z: f64| DVec3::Z * z;
    let rod = |from: f64, to: f64, r: f64| cylinder(at(from), at(to), r, 64);
    // The first piece's collar reaches 6 mm into the second's bore, with 0.15 mm of air round it.
    let first = union(&rod(-2.0, 30.0, 12.0), &rod(20.0, 36.0, 9.85)).unwrap();
    let first = difference(&first, &rod(0.0, 40.0, 8.35)).unwrap();
    let second = difference(&rod(30.0, 62.0, 12.0), &rod(20.0, 60.0, 10.0)).unwrap();
    let cut = |mesh: &Mesh| {
        let on_cut = |t: usize| mesh.corners(t).iter().all(|c| (c.z - 30.0).abs() < GLUE_REACH_MM / 100.0);
        (0..mesh.triangles.len()).map(on_cut).collect()
    };
    let solids: Vec<Solid> = [first, second].into_iter().map(|mesh| Solid { glued: cut(&mesh), mesh }).collect();
    let (pixels, board) = strip(10.0, 50.0, 2);
    let faces = By(|_, _, p: DVec3| match p.truncate().length() {
        r if r < 10.1 && p.z > -1e-6 && p.z < 60.0 + 1e-6 => BARE,
        _ => out(((p.z / 5.0).floor().clamp(-1.0, 12.0) + 1.0) as u32),
    });
    let medium = Medium::checked(1.5, 0.0, 0.01, 1.46).unwrap();
    let band = Band { media: vec![medium; 2], reflectances: vec![0.5], glue: GLUE };
    let case = Case { scene: Scene::new(&solids, &[board]).unwrap(), band, pixels, n_patches: 14 };
    let both = both_ways(&case, &faces, 16_384);
    let rms = apart(&both, 1..13);
    assert!(rms < 0.03, "{rms}");
    // The collar's double wall shows as a dark band, and glue takes some light.
    let light = both[0].lit(&[1.0; 4]);
    assert!(light[7] < 0.9 * light[5] && both[0].totals.glue > 0.0, "{light:?}");
}
