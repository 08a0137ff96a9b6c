//! A section with everything a bar needs of it, and two of them made one without new triangles.

use glam::{DMat2, DVec2};

use crate::frame::Bar;
use crate::section::{Inside, Properties, Region, properties};
use crate::torsion::{Peak, Torsion, TorsionError, torsion};

/// A section: what its outlines say, and how it twists and shears.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// Area, centroid, stiffness in bending, mass.
    pub plain: Properties,
    /// Stiffness in torsion and shear.
    pub twist: Torsion,
}

/// Everything about a section.
///
/// `accuracy` is that of the torsional stiffness (see [`torsion`]): 0.02 does for a prop, 0.003 for a check.
///
/// # Errors
///
/// See [`TorsionError`].
///
/// # Example: a tube 40 × 2 mm with a bar 20 × 3 mm glued in
///
/// ```
/// use beam::section::{Material, Outline, Region};
/// use beam::{DVec2, section};
///
/// let ring = |r: f64| (0..90).map(|k| DVec2::from_angle(f64::from(k) * 4.0_f64.to_radians()) * r).collect::<Vec<_>>();
/// let plastic = Material { e_mpa: 3500.0, g_mpa: 1296.0, density_kg_m3: 1240.0 };
/// let tube = Region { material: plastic, outlines: vec![Outline { outer: ring(20.0), holes: vec![ring(18.0)] }] };
/// let corners = [(-10.0, -1.5), (10.0, -1.5), (10.0, 1.5), (-10.0, 1.5)];
/// let flat = Outline { outer: corners.iter().map(|c| DVec2::new(c.0, c.1)).collect(), holes: vec![] };
/// let metal = Material { e_mpa: 68_900.0, g_mpa: 25_900.0, density_kg_m3: 2700.0 };
/// let bar = section(&[Region { material: metal, outlines: vec![flat] }], 0.02)?;
/// let both = section(&[tube], 0.02)?.bonded(&bar);
/// // 151.26 N·m² of the tube and 137.80 of the bar.
/// assert!((both.plain.ei_nmm2.about_z / 289.06e6 - 1.0).abs() < 0.005);
/// # Ok::<(), beam::torsion::TorsionError>(())
/// ```
pub fn section(regions: &[Region], accuracy: f64) -> Result<Section, TorsionError> {
    Ok(Section { plain: properties(regions)?, twist: torsion(regions, accuracy)? })
}

impl Section {
    /// With another, glued to it without slip, from what is known of both: a change of spine needs no new triangles.
    ///
    /// Bending is exact. Stiffness in torsion is the sum, which is never too high, and near the truth where the glue
    /// lies along a line or a small part of the girth; so `least_nmm2` stays a bound, but `most_nmm2` is only the sum.
    /// Shear is shared as bending is, and the shear centre is that of parts which bend alike without glue between: both
    /// are rough where a stiff bar sits at one side. For a metal bar 10 × 3 on the floor of a plastic box 40 × 30 × 3,
    /// peaks and slide are told half of what [`section`] finds for both at once.
    #[must_use]
    pub fn bonded(&self, other: &Self) -> Self {
        let plain = self.plain.bonded(&other.plain);
        let gj_nmm2 = self.twist.gj_nmm2 + other.twist.gj_nmm2;
        let all = plain.ei_nmm2.tensor();
        let (mut shear_per_n, mut peaks, mut turn) = (DMat2::ZERO, Vec::new(), Some(DVec2::ZERO));
        let mut sum = DMat2::ZERO;
        for part in [self, other] {
            let about = part.plain.ei_nmm2.shifted(part.plain.ea_n, part.plain.centroid_mm - plain.centroid_mm);
            let share = about.tensor() * all.inverse();
            shear_per_n += share.transpose() * part.twist.shear_per_n * share;
            let torque = part.twist.gj_nmm2 / gj_nmm2;
            // A force along y may give a part some along z as well.
            let (along_y, along_z) = (share.x_axis.abs(), share.y_axis.abs());
            let of_share = |p: &Peak| DVec2::new(p.force.dot(along_y), p.force.dot(along_z));
            peaks.extend(part.twist.peaks.iter().map(|p| Peak { torque: p.torque * torque, force: of_share(p) }));
            // Where a force must act so that parts which bend alike do not turn: each takes its share at its own
            // centre.
            let own = part.plain.ei_nmm2.tensor();
            sum += own;
            turn = turn
                .zip(part.twist.shear_centre_mm)
                .map(|(t, s)| t + DVec2::new(s.perp_dot(own.x_axis), s.perp_dot(own.y_axis)));
        }
        // s × (Σ EI κ) is the turn for every κ.
        let shear_centre_mm = turn.map(|t| {
            let (a, b) = (sum.x_axis, sum.y_axis);
            DMat2::from_cols(DVec2::new(a.y, b.y), DVec2::new(-a.x, -b.x)).inverse() * t
        });
        Self {
            plain,
            twist: Torsion {
                gj_nmm2,
                least_nmm2: self.twist.least_nmm2 + other.twist.least_nmm2,
                most_nmm2: self.twist.most_nmm2 + other.twist.most_nmm2,
                shear_centre_mm,
                shear_per_n,
                peaks,
                triangles: self.twist.triangles + other.twist.triangles,
            },
        }
    }

    /// What this part of a whole it is glued into takes of what acts inside the whole, at this part's own centroid: the part's
    /// strain is that of the whole, force across is shared as bending is, torque as stiffness in torsion.
    #[must_use]
    pub fn share_of(&self, whole: &Self, inside: &Inside) -> Inside {
        let (own, all) = (&self.plain, &whole.plain);
        let from = own.centroid_mm - all.centroid_mm;
        let soft = all.ei_nmm2.tensor().inverse();
        // M_y = ∫σ z, M_z = −∫σ y.
        let bend = soft * DVec2::new(-inside.about_z_nmm, inside.about_y_nmm);
        let moment = own.ei_nmm2.tensor() * bend;
        let about = own.ei_nmm2.shifted(own.ea_n, from).tensor();
        Inside {
            pull_n: own.ea_n * (inside.pull_n / all.ea_n + bend.dot(from)),
            about_y_nmm: moment.y,
            about_z_nmm: -moment.x,
            torque_nmm: inside.torque_nmm * self.twist.gj_nmm2 / whole.twist.gj_nmm2,
            shear_n: about * soft * inside.shear_n,
        }
    }

    /// As a bar of a frame.
    #[must_use]
    pub fn bar(&self) -> Bar {
        Bar {
            ea_n: self.plain.ea_n,
            ei_nmm2: self.plain.ei_nmm2,
            gj_nmm2: self.twist.gj_nmm2,
            shear_per_n: self.twist.shear_per_n,
            mass_g_mm: self.plain.mass_g_mm,
            spin_gmm2_mm: self.plain.spin_gmm2_mm,
        }
    }

    /// The highest shear stress in each region under what acts inside a bar, in the order given.
    #[must_use]
    pub fn shear_mpa(&self, inside: &Inside) -> Vec<f64> {
        self.twist.peaks.iter().map(|p| p.shear_mpa(inside.torque_nmm, inside.shear_n)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::section::{Material, Outline};

    fn block(low: DVec2, high: DVec2) -> Section {
        let material = Material { e_mpa: 2000.0, g_mpa: 740.0, density_kg_m3: 1000.0 };
        let outer = vec![low, DVec2::new(high.x, low.y), high, DVec2::new(low.x, high.y)];
        section(&[Region { material, outlines: vec![Outline { outer, holes: vec![] }] }], 0.02).expect("a section")
    }

    fn near(found: f64, wanted: f64) {
        assert!((found - wanted).abs() < 1e-9 * wanted.abs().max(1.0), "{found} {wanted}");
    }

    /// Two squares of 10 mm, one on the other: 1 N m bends each with an eighth of it, and pulls with M (h/2) A / I = 75 N or
    /// pushes (textbook: σ = M z/I of the whole, 20 mm deep).
    #[test]
    fn a_part_takes_its_share() {
        let lower = block(DVec2::ZERO, DVec2::new(10.0, 10.0));
        let upper = block(DVec2::new(0.0, 10.0), DVec2::new(10.0, 20.0));
        let whole = lower.bonded(&upper);
        let inside = Inside { pull_n: 8.0, about_y_nmm: 1000.0, torque_nmm: 60.0, ..Inside::default() };
        let found = upper.share_of(&whole, &inside);
        near(found.about_y_nmm, 125.0);
        near(found.pull_n, 75.0 + 4.0);
        near(found.torque_nmm, 30.0);
        near(lower.share_of(&whole, &inside).pull_n, -75.0 + 4.0);
        near(found.about_z_nmm, 0.0);
    }

    /// Whatever acts, the shares make it up again about the whole's centroid.
    #[test]
    fn shares_make_up_the_whole() {
        let parts = [block(DVec2::ZERO, DVec2::new(30.0, 8.0)), block(DVec2::new(22.0, 8.0), DVec2::new(30.0, 13.0))];
        let whole = parts[0].bonded(&parts[1]);
        let inside = Inside {
            pull_n: 12.0,
            about_y_nmm: 700.0,
            about_z_nmm: -450.0,
            torque_nmm: 90.0,
            shear_n: DVec2::new(3.0, -5.0),
        };
        let mut sum = Inside::default();
        for part in &parts {
            let found = part.share_of(&whole, &inside);
            let from = part.plain.centroid_mm - whole.plain.centroid_mm;
            sum.pull_n += found.pull_n;
            sum.about_y_nmm += found.about_y_nmm + found.pull_n * from.y;
            sum.about_z_nmm += found.about_z_nmm - found.pull_n * from.x;
            sum.torque_nmm += found.torque_nmm;
            sum.shear_n += found.shear_n;
        }
        near(sum.pull_n, inside.pull_n);
        near(sum.about_y_nmm, inside.about_y_nmm);
        near(sum.about_z_nmm, inside.about_z_nmm);
        near(sum.torque_nmm, inside.torque_nmm);
        near(sum.shear_n.x, 3.0);
        near(sum.shear_n.y, -5.0);
    }
}
