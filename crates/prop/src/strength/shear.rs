//! Shear as textbooks have it: the mean over the width that carries it.
//!
//! The highest shear of all triangles has no bound in a sharp inward corner or a bridge as thin as a bead, where a plastic yields a
//! little and the rest takes over. So a section is not judged by more than what the shear formula gives at its
//! narrowest cut, τ = VQ/(Ib), and by twice the root mean square of the shear that a torque makes.

use beam::section::{Inside, Region};
use beam::{DVec2, Section};

/// Cuts across the section, each way.
const CUTS: usize = 400;
/// The highest shear of a torque over its root mean square: 1 for an even tube, √2 for a rod, √3 for a strip, more where strips
/// of several thicknesses meet.
const OVER_MEAN: f64 = 2.0;

/// Shear for each unit of what causes it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Nominal {
    /// MPa for each N·mm of torque.
    torque: f64,
    /// MPa for each newton along each axis.
    force: DVec2,
}

impl Nominal {
    /// Of a section of one material.
    pub(super) fn of(regions: &[Region], section: &Section) -> Nominal {
        let Some(region) = regions.first() else { return Nominal::default() };
        let j_mm4 = section.twist.constant_mm4(region.material.g_mpa);
        let square = j_mm4 * section.plain.area_mm2;
        let torque = if square > 0.0 { OVER_MEAN / square.sqrt() } else { f64::INFINITY };
        Nominal { torque, force: DVec2::new(narrowest(regions, 0), narrowest(regions, 1)) }
    }

    /// Shear by a torque, of which the section takes a share, and a force.
    pub(super) fn shear_mpa(&self, inside: &Inside, share: f64) -> f64 {
        self.torque * inside.torque_nmm.abs() * share + self.force.dot(inside.shear_n.abs())
    }
}

/// The most of Q/(Ib) over cuts square to an axis, 1/mm².
fn narrowest(regions: &[Region], axis: usize) -> f64 {
    let loops: Vec<&[DVec2]> = regions
        .iter()
        .flat_map(|r| &r.outlines)
        .flat_map(|o| std::iter::once(&o.outer).chain(&o.holes))
        .map(Vec::as_slice)
        .collect();
    let at = |p: &DVec2| [p.x, p.y][axis];
    let (low, high) = loops
        .iter()
        .copied()
        .flatten()
        .map(at)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    let step = (high - low) / CUTS as f64;
    if !(step > 0.0 && step.is_finite()) {
        return f64::INFINITY;
    }
    let level = |k: usize| low + step * (k as f64 + 0.5);
    let widths: Vec<f64> = (0..CUTS).map(|k| width(&loops, axis, level(k))).collect();
    let area: f64 = widths.iter().sum();
    let middle = widths.iter().enumerate().map(|(k, b)| b * level(k)).sum::<f64>() / area;
    let second =
        widths.iter().enumerate().map(|(k, b)| b * (level(k) - middle) * (level(k) - middle)).sum::<f64>() * step;
    let (mut first, mut most) = (0.0, 0.0f64);
    for (k, b) in widths.iter().enumerate() {
        // Of what lies below the middle of the strip.
        let half = 0.5 * b * (middle - level(k)) * step;
        first += half;
        if *b > 0.0 {
            most = most.max(first.abs() / (second * b));
        }
        first += half;
    }
    most
}

/// Length of material along a line square to the axis.
fn width(loops: &[&[DVec2]], axis: usize, level: f64) -> f64 {
    let mut crossings: Vec<f64> = Vec::new();
    for points in loops {
        for (k, a) in points.iter().enumerate() {
            let b = points[(k + 1) % points.len()];
            let ([u, v], [s, t]) = if axis == 0 { ([a.x, b.x], [a.y, b.y]) } else { ([a.y, b.y], [a.x, b.x]) };
            if (u > level) != (v > level) {
                crossings.push(s + (t - s) * (level - u) / (v - u));
            }
        }
    }
    crossings.sort_by(f64::total_cmp);
    crossings.chunks_exact(2).map(|pair| pair[1] - pair[0]).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use beam::section;
    use beam::section::{Material, Outline};

    fn nominal(outer: Vec<DVec2>, holes: Vec<Vec<DVec2>>) -> Nominal {
        let material = Material { e_mpa: 2000.0, g_mpa: 740.0, density_kg_m3: 1040.0 };
        let regions = [Region { material, outlines: vec![Outline { outer, holes }] }];
        Nominal::of(&regions, &section(&regions, 0.02).unwrap())
    }

    fn corners(of: &[(f64, f64)]) -> Vec<DVec2> {
        of.iter().map(|c| DVec2::new(c.0, c.1)).collect()
    }

    fn ring(radius: f64) -> Vec<DVec2> {
        (0..180).map(|k| DVec2::from_angle(std::f64::consts::TAU / 180.0 * f64::from(k)) * radius).collect()
    }

    fn near(found: f64, wanted: f64, within: f64) {
        assert!((found / wanted - 1.0).abs() < within, "{found} {wanted}");
    }

    /// Highest shear by a force, handbooks: a rectangle 3/2, a circle 4/3, a thin ring 2 times force over area. An I of flanges
    /// 30 x 4 and a web 2 x 20 mm: VQ/(Ib) with Q = 30·4·12 + 2·10·5 = 1540 mm3 and I = 2·(30·4³/12 + 120·144) + 2·20³/12.
    #[test]
    fn forces_shear_as_handbooks_say() {
        let block = nominal(corners(&[(0.0, 0.0), (10.0, 0.0), (10.0, 20.0), (0.0, 20.0)]), vec![]);
        near(block.force.x, 1.5 / 200.0, 1e-4);
        near(block.force.y, 1.5 / 200.0, 1e-4);
        let rod = nominal(ring(10.0), vec![]);
        near(rod.force.y, 4.0 / 3.0 / (std::f64::consts::PI * 100.0), 2e-3);
        let tube = nominal(ring(20.0), vec![ring(19.5)]);
        near(tube.force.x, 2.0 / (std::f64::consts::PI * (400.0 - 19.5 * 19.5)), 0.02);
        let i = nominal(
            corners(&[
                (-15.0, -14.0),
                (15.0, -14.0),
                (15.0, -10.0),
                (1.0, -10.0),
                (1.0, 10.0),
                (15.0, 10.0),
                (15.0, 14.0),
                (-15.0, 14.0),
                (-15.0, 10.0),
                (-1.0, 10.0),
                (-1.0, -10.0),
                (-15.0, -10.0),
            ]),
            vec![],
        );
        let second = 2.0 * (30.0 * 64.0 / 12.0 + 120.0 * 144.0) + 2.0 * 8000.0 / 12.0;
        near(i.force.y, 1540.0 / (second * 2.0), 2e-3);
    }

    /// Highest shear by a torque, handbooks: a thin tube T/(2At), a rod 2T/(πr³), a strip 3T/(bt²); none is told less.
    #[test]
    fn torques_shear_no_less_than_handbooks_say() {
        let tube = nominal(ring(20.0), vec![ring(19.0)]).torque;
        let rod = nominal(ring(10.0), vec![]).torque;
        let strip = nominal(corners(&[(0.0, 0.0), (60.0, 0.0), (60.0, 2.0), (0.0, 2.0)]), vec![]).torque;
        let exact =
            [1.0 / (2.0 * std::f64::consts::PI * 19.5 * 19.5), 2.0 / (std::f64::consts::PI * 1000.0), 3.0 / 240.0];
        for (found, exact) in [tube, rod, strip].into_iter().zip(exact) {
            assert!(found > exact && found < 2.1 * exact, "{found} {exact}");
        }
    }
}
