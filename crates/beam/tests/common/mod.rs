//! Shapes for the tests.
#![allow(dead_code, reason = "each test file uses some of it")]

use beam::DVec2;
use beam::section::{Material, Outline, Region};

pub(crate) const PLAIN: Material = Material { e_mpa: 1.0, g_mpa: 1.0, density_kg_m3: 1000.0 };

pub(crate) fn of(e_mpa: f64, g_mpa: f64, density_kg_m3: f64) -> Material {
    Material { e_mpa, g_mpa, density_kg_m3 }
}

pub(crate) fn corners(points: &[[f64; 2]]) -> Vec<DVec2> {
    points.iter().map(|p| DVec2::from_array(*p)).collect()
}

pub(crate) fn rectangle(y: f64, z: f64, at: [f64; 2]) -> Vec<DVec2> {
    let (a, b) = (y / 2.0, z / 2.0);
    let around = [[-a, -b], [a, -b], [a, b], [-a, b]];
    around.iter().map(|p| DVec2::new(p[0] + at[0], p[1] + at[1])).collect()
}

/// A polygon of `n` corners with the area of the ellipse.
pub(crate) fn ellipse(a: f64, b: f64, n: usize) -> Vec<DVec2> {
    let step = std::f64::consts::TAU / n as f64;
    let grow = (step / libm::sin(step)).sqrt();
    (0..n)
        .map(|k| step * (k as f64 + 0.5))
        .map(|t| DVec2::new(grow * a * libm::cos(t), grow * b * libm::sin(t)))
        .collect()
}

pub(crate) fn region(material: Material, outer: Vec<DVec2>, holes: Vec<Vec<DVec2>>) -> Region {
    Region { material, outlines: vec![Outline { outer, holes }] }
}

/// A ring from `from` to `to` radians, open between.
pub(crate) fn open_ring(inner: f64, outer: f64, from: f64, to: f64, n: usize) -> Vec<DVec2> {
    let at = |r: f64, k: usize| {
        let t = from + (to - from) * k as f64 / n as f64;
        DVec2::new(r * libm::cos(t), r * libm::sin(t))
    };
    (0..=n).map(|k| at(outer, k)).chain((0..=n).rev().map(|k| at(inner, k))).collect()
}

/// `found` lies within a share of `wanted`.
pub(crate) fn close(what: &str, found: f64, wanted: f64, share: f64) {
    let off = found / wanted - 1.0;
    assert!(off.abs() <= share, "{what}: {found} against {wanted}, off by {} %", 100.0 * off);
}
