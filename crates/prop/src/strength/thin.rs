//! How thin an even wall might have been: what grading may not go below.
//!
//! Of a wall of thickness t, what bends it or twists it closed asks stress as 1/t, what twists it open as 1/t², and a flat
//! plate that is pressed bears t² of the stress that goes as 1/t, so t³ in all (handbooks). A spine that bears a part only
//! helps. So a factor f times what is wanted leaves 1/√f of the wall at the least, and for buckling 1/∛f; where f is below one,
//! stress falls no slower than 1/t, and 1/f is enough.

use super::Strength;

/// Of a wall that buckles as a flat plate, so much of the factor is counted on: it is curved, or dented.
pub const PLATE_LOW: f64 = 0.5;
/// So far to either side of a joint its glued face needs the wall, mm.
const JOINT_MM: f64 = 6.0;

/// Share of the even wall that a stretch needs to bear what it is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thinnest {
    /// Stations, mm.
    pub span_mm: [f64; 2],
    /// Times the even wall: above 1 where that is too thin.
    pub share: f64,
}

/// What each stretch needs; `safety` as the project has it.
#[must_use]
pub fn thinnest(found: &Strength, safety: f64) -> Vec<Thinnest> {
    let mut all: Vec<Thinnest> = found
        .stations
        .iter()
        .map(|s| {
            let strong = stressed(s.worst.low() / safety);
            let flat = s.thin.map_or(0.0, |f| pressed(f * PLATE_LOW / safety));
            Thinnest { span_mm: s.span_mm, share: strong.max(flat) }
        })
        .collect();
    all.extend(found.joints.iter().map(|j| Thinnest {
        span_mm: [j.station_mm - JOINT_MM, j.station_mm + JOINT_MM],
        share: stressed(j.low() / safety),
    }));
    all
}

fn stressed(times: f64) -> f64 {
    if times >= 1.0 { 1.0 / times.sqrt() } else { 1.0 / times.max(1e-3) }
}

fn pressed(times: f64) -> f64 {
    if times >= 1.0 { 1.0 / libm::cbrt(times) } else { 1.0 / times.max(1e-3) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use beam::section::{Inside, Material, Region, stress};
    use beam::wall::{Flat, Wall};
    use beam::{DVec2, outlines, section};

    fn ring(radius: f64, way: f64) -> Vec<DVec2> {
        let turn = std::f64::consts::TAU / 120.0 * way;
        (0..120).map(|k| DVec2::from_angle(turn * f64::from(k)) * radius).collect()
    }

    /// A tube 40 mm across under bending and torque: thinned to what the rule leaves, it bears at least what is wanted; and the
    /// rule is not far too thick. The same of a plate as wide as its middle.
    #[test]
    fn a_tube_thinned_by_the_rule_still_bears() {
        let factors = |t: f64| {
            let even = Material { e_mpa: 2000.0, g_mpa: 740.0, density_kg_m3: 1040.0 };
            let loops = [ring(20.0, 1.0), ring(20.0 - t, -1.0)];
            let regions = vec![Region { material: even, outlines: outlines(&loops, 0.001) }];
            let whole = section(&regions, 0.02).unwrap();
            let inside =
                Inside { pull_n: 0.0, about_y_nmm: 6000.0, about_z_nmm: 0.0, torque_nmm: 6000.0, shear_n: DVec2::ZERO };
            let along = stress(&regions, &whole.plain, &inside).unwrap()[0].most_mpa;
            let shear = whole.shear_mpa(&inside)[0];
            let plate = Wall { e_mpa: 2000.0, poisson: 0.37, thickness_mm: t };
            let flat = plate.flat_mpa(20.0, Flat::Pressed).unwrap();
            [16.0 / (along * along + 3.0 * shear * shear).sqrt(), flat / along]
        };
        let (even, safety) = (2.4, 1.5);
        let [strong, flat] = factors(even);
        assert!(strong > 2.0 * safety && flat > 2.0 * safety, "{strong} {flat}");
        let thin = even * stressed(strong / safety);
        let left = factors(thin)[0];
        assert!(left >= safety && left < safety * (strong / safety).sqrt() * 1.1, "{thin} {left}");
        let thin = even * pressed(flat / safety);
        let left = factors(thin)[1];
        assert!(left >= safety && left < 1.2 * safety, "{thin} {left}");
        // Too weak as it is: thickened, it bears.
        let [strong, _] = factors(0.8);
        let wanted = 1.5 * strong;
        assert!(factors(0.8 * stressed(strong / wanted))[0] >= 0.97 * wanted);
    }
}
