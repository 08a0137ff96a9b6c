//! What holds two pieces together: glued faces, scarfs, plugs, groups of pegs and screws.
//!
//! Formulas are those of any textbook on machine elements (Shigley, *Mechanical Engineering Design*, bonded and bolted
//! joints; from memory): stress spread as in a stiff section, no peak at the rim of the glue. Volkersen's peak in long
//! laps is not counted; strength read from lap tests already holds it.

use glam::{DMat2, DVec2};

use crate::section::{Inside, Material, Outline, Properties, Region, SectionError, properties};

/// A glued face square to the bar.
#[derive(Clone, Debug, PartialEq)]
pub struct Face {
    /// Area, centroid and second moments, for E = 1.
    pub shape: Properties,
    outlines: Vec<Outline>,
}

/// Stress in a glued face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FaceStress {
    /// The highest pull; negative where all is pressed together.
    pub pull_mpa: f64,
    /// Where.
    pub at_mm: DVec2,
    /// The highest shear, force and torque together as if their peaks met: never too low.
    pub shear_mpa: f64,
}

/// Why a joint holds nothing.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum JointError {
    /// No face to glue.
    #[error("the joint has no glue area; let the pieces meet in a face, or give them a collar or pegs")]
    NoGlueArea,
    /// An outline that can't be.
    #[error(transparent)]
    Section(SectionError),
    /// A size that is none.
    #[error("{what} is {value}; give a number above 0")]
    Size {
        /// "glue thickness", "modulus", "diameter", "depth" or "angle".
        what: &'static str,
        /// What it is.
        value: f64,
    },
    /// A peg nowhere.
    #[error("peg {peg} is at no place; give it finite numbers")]
    Nowhere {
        /// Which, counted from 0.
        peg: usize,
    },
    /// Nothing to share a load.
    #[error("a group of {count} pegs cannot take that load; give at least {needed}, not in one place")]
    Group {
        /// How many there are.
        count: usize,
        /// How many it takes.
        needed: usize,
    },
}

/// A face from its outlines.
///
/// # Errors
///
/// [`JointError::NoGlueArea`] where nothing is left of it, [`JointError::Section`] for an outline with a corner that is
/// no number.
pub fn face(outlines: &[Outline]) -> Result<Face, JointError> {
    let even = Material { e_mpa: 1.0, g_mpa: 1.0, density_kg_m3: 0.0 };
    let region = Region { material: even, outlines: outlines.to_vec() };
    match properties(&[region]) {
        Ok(shape) => Ok(Face { shape, outlines: outlines.to_vec() }),
        Err(SectionError::Vanished | SectionError::NoArea { .. }) => Err(JointError::NoGlueArea),
        Err(fault) => Err(JointError::Section(fault)),
    }
}

impl Face {
    /// Springs of a layer of glue against turning about x, y and z, N·mm for each radian: for [`crate::frame::Joint`].
    ///
    /// # Errors
    ///
    /// A thickness or modulus that is not above 0.
    pub fn springs_nmm(&self, e_mpa: f64, g_mpa: f64, thickness_mm: f64) -> Result<[f64; 3], JointError> {
        positive("glue thickness", thickness_mm)?;
        positive("modulus", e_mpa)?;
        positive("modulus", g_mpa)?;
        let second = self.shape.ei_nmm2;
        let polar = second.about_y + second.about_z;
        Ok([g_mpa * polar, e_mpa * second.about_y, e_mpa * second.about_z].map(|k| k / thickness_mm))
    }

    /// Stress by what acts inside the bar there: F/A + Mc/I and V/A + Tr/I_p.
    #[must_use]
    pub fn stress(&self, inside: &Inside) -> FaceStress {
        let shape = &self.shape;
        // M_y = ∫σ z, M_z = −∫σ y.
        let moment = DVec2::new(-inside.about_z_nmm, inside.about_y_nmm);
        let slope = shape.ei_nmm2.tensor().inverse() * moment;
        let polar = shape.ei_nmm2.about_y + shape.ei_nmm2.about_z;
        let corners = self.outlines.iter().flat_map(|o| o.outer.iter().copied());
        let nothing = (f64::NEG_INFINITY, DVec2::ZERO, 0.0_f64);
        let (pull, at_mm, reach) = corners.fold(nothing, |(pull, at, reach), corner| {
            let from = corner - shape.centroid_mm;
            let here = inside.pull_n / shape.area_mm2 + slope.dot(from);
            let reach = reach.max(from.length());
            if here > pull { (here, corner, reach) } else { (pull, at, reach) }
        });
        let shear_mpa = inside.shear_n.length() / shape.area_mm2 + inside.torque_nmm.abs() * reach / polar;
        FaceStress { pull_mpa: pull, at_mm, shear_mpa }
    }
}

fn positive(what: &'static str, value: f64) -> Result<(), JointError> {
    if value.is_finite() && value > 0.0 { Ok(()) } else { Err(JointError::Size { what, value }) }
}

/// Pull and shear across a glue line that lies slanting, at an angle to the bar: σ sin²θ and σ sinθ cosθ.
///
/// # Errors
///
/// An angle not between 0 and a right one.
pub fn scarf_mpa(stress_mpa: f64, angle_rad: f64) -> Result<[f64; 2], JointError> {
    if !(angle_rad > 0.0 && angle_rad <= std::f64::consts::FRAC_PI_2) {
        return Err(JointError::Size { what: "angle", value: angle_rad });
    }
    let (s, c) = (libm::sin(angle_rad), libm::cos(angle_rad));
    Ok([stress_mpa * s * s, stress_mpa * s * c])
}

/// A round plug in a socket: a collar, a peg, a spine's end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plug {
    /// Diameter.
    pub diameter_mm: f64,
    /// How deep it goes in.
    pub depth_mm: f64,
}

impl Plug {
    /// A plug with a size.
    ///
    /// # Errors
    ///
    /// A diameter or depth that is not above 0.
    pub fn new(diameter_mm: f64, depth_mm: f64) -> Result<Self, JointError> {
        positive("diameter", diameter_mm)?;
        positive("depth", depth_mm)?;
        Ok(Self { diameter_mm, depth_mm })
    }

    /// Shear in the glue around it: pull F/(πdℓ) with torque 2T/(πd²ℓ).
    #[must_use]
    pub fn glue_mpa(&self, inside: &Inside) -> f64 {
        let around = std::f64::consts::PI * self.diameter_mm * self.depth_mm;
        let (pull, turn) = (inside.pull_n / around, 2.0 * inside.torque_nmm / (around * self.diameter_mm));
        libm::hypot(pull, turn)
    }

    /// How hard it bears on the socket's mouth: moment 6M/(dℓ²) with force V/(dℓ), glued or not.
    #[must_use]
    pub fn bearing_mpa(&self, inside: &Inside) -> f64 {
        let moment = libm::hypot(inside.about_y_nmm, inside.about_z_nmm);
        let (d, l) = (self.diameter_mm, self.depth_mm);
        6.0 * moment / (d * l * l) + inside.shear_n.length() / (d * l)
    }

    /// How far it turns about an axis across before it bears, either way, where it is narrower than its socket by
    /// `clearance_mm` all told: from the middle to where it touches at mouth and end.
    #[must_use]
    pub fn play_rad(&self, clearance_mm: f64) -> f64 {
        libm::atan(clearance_mm.max(0.0) / self.depth_mm)
    }
}

/// What each of a group of pegs, screws or magnets takes of a load: pull along the bar, and force across.
///
/// All alike, on a stiff face: M c/Σc² and T r/Σr².
///
/// # Errors
///
/// None at all, one that is nowhere, or too few for a moment or torque.
pub fn group(places_mm: &[DVec2], inside: &Inside) -> Result<Vec<(f64, DVec2)>, JointError> {
    let count = places_mm.len();
    if count == 0 {
        return Err(JointError::Group { count, needed: 1 });
    }
    if let Some(peg) = places_mm.iter().position(|p| !p.is_finite()) {
        return Err(JointError::Nowhere { peg });
    }
    let middle = places_mm.iter().sum::<DVec2>() / count as f64;
    let arms: Vec<DVec2> = places_mm.iter().map(|p| *p - middle).collect();
    let spread: DMat2 = arms.iter().map(|a| DMat2::from_cols(*a * a.x, *a * a.y)).fold(DMat2::ZERO, |s, m| s + m);
    let polar: f64 = arms.iter().map(|a| a.length_squared()).sum();
    let moment = DVec2::new(-inside.about_z_nmm, inside.about_y_nmm);
    let twisted = inside.torque_nmm != 0.0;
    if (twisted || moment != DVec2::ZERO) && polar < 1e-6 {
        return Err(JointError::Group { count, needed: 2 });
    }
    let slope = if moment == DVec2::ZERO {
        DVec2::ZERO
    } else if spread.determinant() > 1e-9 * polar * polar {
        spread.inverse() * moment
    } else {
        // In a row: they take what bends along it, and nothing else.
        let row =
            arms.iter().copied().fold(DVec2::ZERO, |a, b| if b.length() > a.length() { b } else { a }).normalize();
        if moment.perp_dot(row).abs() > 1e-9 * moment.length() {
            return Err(JointError::Group { count, needed: 3 });
        }
        row * (moment.dot(row) / polar)
    };
    let each = |arm: &DVec2| {
        let turn = if twisted { arm.perp() * (inside.torque_nmm / polar) } else { DVec2::ZERO };
        (inside.pull_n / count as f64 + slope.dot(*arm), inside.shear_n / count as f64 + turn)
    };
    Ok(arms.iter().map(each).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(side: f64) -> Outline {
        let h = side / 2.0;
        let outer = [(-h, -h), (h, -h), (h, h), (-h, h)].iter().map(|c| DVec2::new(c.0, c.1)).collect();
        Outline { outer, holes: vec![] }
    }

    fn near(found: f64, wanted: f64) {
        assert!((found - wanted).abs() <= 1e-9 * wanted.abs().max(1.0), "{found} against {wanted}");
    }

    /// F/A + 6M/a³ on a square.
    #[test]
    fn a_square_face() {
        let face = face(&[square(20.0)]).expect("a face");
        let inside = Inside { pull_n: 400.0, about_y_nmm: 8000.0, ..Inside::default() };
        let found = face.stress(&inside);
        near(found.pull_mpa, 1.0 + 6.0);
        near(found.at_mm.y, 10.0);
        let found = face.stress(&Inside { about_z_nmm: 8000.0, pull_n: -400.0, ..Inside::default() });
        near(found.pull_mpa, 5.0);
        near(found.at_mm.x, -10.0);
        let found = face.stress(&Inside { shear_n: DVec2::X * 40.0, torque_nmm: 1e4, ..Inside::default() });
        near(found.shear_mpa, 0.1 + 1e4 * 200.0_f64.sqrt() / (2.0 * 160_000.0 / 12.0));
        let [twist, bend, _] = face.springs_nmm(2000.0, 700.0, 0.1).expect("springs");
        near(bend, 2000.0 * 160_000.0 / 12.0 / 0.1);
        near(twist, 700.0 * 160_000.0 / 6.0 / 0.1);
    }

    /// At 1 in 10 (5.7°) a scarf has 0.010 σ across and 0.099 σ along it.
    #[test]
    fn a_scarf_of_one_in_ten() {
        let [pull, shear] = scarf_mpa(1.0, libm::atan(0.1)).expect("a scarf");
        assert!((pull - 0.010).abs() < 5e-4 && (shear - 0.099).abs() < 5e-4, "{pull} {shear}");
        assert!(matches!(scarf_mpa(1.0, 0.0), Err(JointError::Size { what: "angle", .. })));
    }

    /// Glue that bears 2 MPa holds πdℓ × 2 in pull and πd²ℓ/2 × 2 in torque.
    #[test]
    fn a_plug() {
        let plug = Plug::new(10.0, 30.0).expect("a plug");
        let area = std::f64::consts::PI * 10.0 * 30.0;
        near(plug.glue_mpa(&Inside { pull_n: 2.0 * area, ..Inside::default() }), 2.0);
        near(plug.glue_mpa(&Inside { torque_nmm: 2.0 * area * 5.0, ..Inside::default() }), 2.0);
        near(plug.bearing_mpa(&Inside { about_y_nmm: 3000.0, about_z_nmm: -4000.0, ..Inside::default() }), 30e3 / 9e3);
        near(plug.play_rad(0.3), libm::atan(0.01));
        assert!(matches!(Plug::new(10.0, 0.0), Err(JointError::Size { what: "depth", .. })));
    }

    #[test]
    fn pegs_share() {
        let four: Vec<DVec2> =
            [(10.0, 10.0), (-10.0, 10.0), (-10.0, -10.0), (10.0, -10.0)].map(|c| DVec2::new(c.0, c.1)).into();
        let inside = Inside { pull_n: 8.0, about_y_nmm: 400.0, torque_nmm: 800.0, ..Inside::default() };
        let found = group(&four, &inside).expect("four pegs");
        near(found[0].0, 2.0 + 10.0);
        near(found[2].0, 2.0 - 10.0);
        near(found[0].1.length(), 800.0 / (4.0 * 200.0_f64.sqrt()));
        let row = [DVec2::X, DVec2::NEG_X];
        assert!(group(&row, &Inside { about_z_nmm: 3.0, ..Inside::default() }).is_ok());
        let bent = Inside { about_y_nmm: 3.0, ..Inside::default() };
        assert_eq!(group(&row, &bent), Err(JointError::Group { count: 2, needed: 3 }));
        assert_eq!(group(&[DVec2::X], &bent), Err(JointError::Group { count: 1, needed: 2 }));
        assert_eq!(group(&[DVec2::X, DVec2::NAN], &bent), Err(JointError::Nowhere { peg: 1 }));
        assert_eq!(group(&[], &bent), Err(JointError::Group { count: 0, needed: 1 }));
    }

    #[test]
    fn nothing_to_glue_is_named() {
        assert_eq!(face(&[]), Err(JointError::NoGlueArea));
        let gone = Outline { outer: square(5.0).outer, holes: vec![square(5.0).outer] };
        assert_eq!(face(&[gone]), Err(JointError::NoGlueArea));
        let face = face(&[square(5.0)]).expect("a face");
        assert!(matches!(face.springs_nmm(1.0, 1.0, 0.0), Err(JointError::Size { what: "glue thickness", .. })));
    }
}
