//! A sculpt as sculptors leave it: closed shells that run into each other, none of them joined.
//!
//! Used to try mending on something like what makers have, in tests at a small size and in the bench at millions of
//! triangles.

use solid::{DVec3, Mesh};
use std::f64::consts::{PI, TAU};

/// A club of `shells` overlapping lumps, `triangles` in all (within one in twenty), 900 long in x and about 140 thick,
/// in no unit. Every lump is closed, faces outwards and doesn't cross itself; each runs into its neighbours.
///
/// The same numbers give the same mesh on every machine.
pub fn sculpt(shells: usize, triangles: usize) -> Mesh {
    let shells = shells.max(1);
    let mut club = Mesh::default();
    let pitch = LENGTH / shells as f64;
    for k in 0..shells {
        let mut dice = Dice(k as u64 + 1);
        let x = pitch * (k as f64 + 0.5);
        let around = 2.4 * k as f64;
        // A row of lumps along the middle, the others around it.
        let out = if k % 2 == 0 { 4.0 } else { 34.0 + 8.0 * dice.roll() };
        let center = DVec3::new(x, out * libm::cos(around), out * libm::sin(around));
        let long = 2.2 * pitch + 14.0 + 6.0 * dice.roll();
        let round = 30.0 + 8.0 * dice.roll();
        club.append(&lump(center, DVec3::new(long, round, round), triangles / shells, &mut dice));
    }
    club
}

/// A project that makes a hollow prop of 90 cm from [`sculpt`], as its one body "sculpt".
pub const PROJECT: &str = include_str!("sculpt.toml");

const LENGTH: f64 = 900.0;

/// A ball with relief, stretched: every point lies on its own ray from the middle, so that it can't cross itself.
fn lump(center: DVec3, radii: DVec3, triangles: usize, dice: &mut Dice) -> Mesh {
    // Twice as many columns as bands, two triangles to each of their fields but one at the poles: 4 b (b - 1).
    let bands = (((1.0 + libm::sqrt(1.0 + triangles as f64)) / 2.0).round() as u32).max(4);
    let columns = 2 * bands;
    let waves: Vec<(f64, f64, f64, f64)> = (0..6)
        .map(|_| (0.05 * dice.roll(), 2.0 + 9.0 * dice.roll(), (2.0 + 9.0 * dice.roll()).floor(), TAU * dice.roll()))
        .collect();
    let turn = TAU * dice.roll();
    let at = |band: u32, column: u32| {
        let (down, round) = (PI * f64::from(band) / f64::from(bands), TAU * f64::from(column) / f64::from(columns));
        let (flat, up) = libm::sincos(down);
        // Relief fades out towards the poles, where all columns meet.
        let relief: f64 = waves
            .iter()
            .map(|(high, a, b, shift)| high * libm::cos(a * down + shift) * libm::cos(b * round + shift))
            .sum::<f64>()
            * flat;
        let ray = DVec3::new(flat * libm::cos(round + turn), flat * libm::sin(round + turn), up);
        center + ray * radii * (1.0 + relief)
    };
    let mut mesh = Mesh { vertices: vec![at(0, 0)], triangles: Vec::with_capacity(triangles) };
    for band in 1..bands {
        mesh.vertices.extend((0..columns).map(|column| at(band, column)));
    }
    mesh.vertices.push(at(bands, 0));
    let (top, bottom) = (0, mesh.vertices.len() as u32 - 1);
    let index = |band: u32, column: u32| 1 + (band - 1) * columns + column % columns;
    for column in 0..columns {
        mesh.triangles.push([top, index(1, column), index(1, column + 1)]);
        for band in 1..bands - 1 {
            let [a, b] = [index(band, column), index(band, column + 1)];
            let [c, d] = [index(band + 1, column), index(band + 1, column + 1)];
            mesh.triangles.extend([[a, c, d], [a, d, b]]);
        }
        mesh.triangles.push([index(bands - 1, column), bottom, index(bands - 1, column + 1)]);
    }
    mesh
}

/// Numbers that look random and repeat: a linear congruential generator with the multiplier of MMIX (Knuth, The Art of
/// Computer Programming, volume 2, 3.3.4).
struct Dice(u64);

impl Dice {
    /// From 0 up to 1.
    fn roll(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_lump_is_a_sound_solid_and_runs_into_another() {
        let club = sculpt(20, 20_000);
        assert!((club.triangles.len() as f64 / 20_000.0 - 1.0).abs() < 0.05, "{}", club.triangles.len());
        assert!(club.edge_census().is_closed());
        let lumps: Vec<Mesh> = club.shells().iter().map(|s| club.subset(s)).collect();
        assert_eq!(lumps.len(), 20);
        for (k, lump) in lumps.iter().enumerate() {
            assert!(lump.volume_mm3() > 0.0 && !solid::self_intersects(lump).unwrap());
            let beside = &lumps[if k == 0 { 1 } else { k - 1 }];
            assert!(solid::intersection(lump, beside).unwrap().volume_mm3() > 100.0);
        }
    }
}
