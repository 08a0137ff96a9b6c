//! Sections of several materials: what polygons say exactly.
//!
//! The plane of a section has `y` (a point's first coordinate) and `z` (its second); the bar's axis comes out of it.
//! Integrals over polygons are Green's: Steger, "On the calculation of arbitrary moments of polygons" (1996), from
//! memory. Composite action is that of parts glued together without slip: planes stay plane (Gere & Goodno, *Mechanics
//! of Materials*, composite beams, from memory).

use glam::{DMat2, DVec2};

/// What a part is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Material {
    /// Modulus of elasticity along the bar, MPa.
    pub e_mpa: f64,
    /// Shear modulus, MPa.
    pub g_mpa: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
}

/// A closed line with what is cut out of it. Either turning sense; the last corner joins the first.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// The outer loop, mm.
    pub outer: Vec<DVec2>,
    /// Loops inside it, mm; they neither cross it nor one another.
    pub holes: Vec<Vec<DVec2>>,
}

/// All of one material in a section: wall, rail, spine, glue.
#[derive(Clone, Debug, PartialEq)]
pub struct Region {
    /// What it is made of.
    pub material: Material,
    /// Where it is. Regions may touch, and hold together where they do; they do not overlap.
    pub outlines: Vec<Outline>,
}

/// Why a section can't be computed. Regions and outlines are counted from 0 in the order given.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum SectionError {
    /// Nothing is there.
    #[error("the section has vanished: no region encloses any area; ask at a station where there is material")]
    Vanished,
    /// An outline encloses nothing.
    #[error(
        "region {region}, outline {outline} encloses {area_mm2} mm²; give a loop of three corners or more, with holes smaller than it"
    )]
    NoArea {
        /// Which region.
        region: usize,
        /// Which of its outlines.
        outline: usize,
        /// Outer loop less holes.
        area_mm2: f64,
    },
    /// A corner is not a number.
    #[error("region {region}, outline {outline} has a corner that is not a finite number; leave it out")]
    NotFinite {
        /// Which region.
        region: usize,
        /// Which of its outlines.
        outline: usize,
    },
    /// A material without stiffness.
    #[error(
        "region {region} has zero stiffness (E {e_mpa} MPa, G {g_mpa} MPa); give moduli above 0, or leave the region out"
    )]
    ZeroStiffness {
        /// Which region.
        region: usize,
        /// Its modulus of elasticity.
        e_mpa: f64,
        /// Its shear modulus.
        g_mpa: f64,
    },
    /// A material with impossible density.
    #[error("region {region} has a density of {density_kg_m3} kg/m³; give 0 or more")]
    Density {
        /// Which region.
        region: usize,
        /// Its density.
        density_kg_m3: f64,
    },
}

/// Second moments about axes through a centroid.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Second {
    /// Of z²: against bending about y.
    pub about_y: f64,
    /// Of y²: against bending about z.
    pub about_z: f64,
    /// Of y z.
    pub mixed: f64,
}

/// Principal second moments.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Principal {
    /// The larger, against bending that moves the bar along `broad`.
    pub most: f64,
    /// The smaller, against bending across `broad`.
    pub least: f64,
    /// Unit direction in which the section reaches out most. `+y` where all directions are alike.
    pub broad: DVec2,
}

impl Second {
    /// As a tensor over (y, z): a bend κ of the bar takes the moment of it.
    #[must_use]
    pub fn tensor(&self) -> DMat2 {
        DMat2::from_cols(DVec2::new(self.about_z, self.mixed), DVec2::new(self.mixed, self.about_y))
    }

    /// Principal axes: the eigenvalues of the tensor.
    #[must_use]
    pub fn principal(&self) -> Principal {
        let mean = 0.5 * (self.about_z + self.about_y);
        let half = 0.5 * (self.about_z - self.about_y);
        let radius = (half * half + self.mixed * self.mixed).sqrt();
        let alike = radius <= 1e-12 * mean;
        // Of the two ways to write the eigenvector, the one that does not cancel.
        let broad = match (alike, half >= 0.0) {
            (true, _) => DVec2::X,
            (false, true) => DVec2::new(half + radius, self.mixed).normalize(),
            (false, false) => DVec2::new(self.mixed, radius - half).normalize(),
        };
        Principal { most: mean + radius, least: mean - radius, broad }
    }

    pub(crate) fn shifted(self, weight: f64, by: DVec2) -> Self {
        Self {
            about_y: self.about_y + weight * by.y * by.y,
            about_z: self.about_z + weight * by.x * by.x,
            mixed: self.mixed + weight * by.x * by.y,
        }
    }

    fn plus(self, other: Self, times: f64) -> Self {
        Self {
            about_y: self.about_y + times * other.about_y,
            about_z: self.about_z + times * other.about_z,
            mixed: self.mixed + times * other.mixed,
        }
    }
}

/// One region as plain geometry.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Area.
    pub area_mm2: f64,
    /// Centroid.
    pub centroid_mm: DVec2,
    /// Second moments about its own centroid, mm⁴.
    pub second_mm4: Second,
}

/// A section as a bar feels it.
#[derive(Clone, Debug, PartialEq)]
pub struct Properties {
    /// Each region, in the order given.
    pub parts: Vec<Part>,
    /// Area of all.
    pub area_mm2: f64,
    /// Against stretching: EA.
    pub ea_n: f64,
    /// Where a pull does not bend: the centroid weighted with E.
    pub centroid_mm: DVec2,
    /// Against bending, about that centroid: EI, N·mm².
    pub ei_nmm2: Second,
    /// Mass for each millimetre of length.
    pub mass_g_mm: f64,
    /// Where the mass is; `centroid_mm` where nothing weighs anything.
    pub mass_centre_mm: DVec2,
    /// Moment of inertia about the axis through the mass centre, for each millimetre of length.
    pub spin_gmm2_mm: f64,
}

impl Properties {
    /// Both glued together without slip, without asking the outlines again (parallel axes). They must not overlap.
    #[must_use]
    pub fn bonded(&self, other: &Self) -> Self {
        let both = [self, other];
        let ea_n: f64 = both.iter().map(|p| p.ea_n).sum();
        let mass_g_mm: f64 = both.iter().map(|p| p.mass_g_mm).sum();
        let centroid_mm = both.iter().map(|p| p.centroid_mm * p.ea_n).sum::<DVec2>() / ea_n;
        let mass_centre_mm = if mass_g_mm > 0.0 {
            both.iter().map(|p| p.mass_centre_mm * p.mass_g_mm).sum::<DVec2>() / mass_g_mm
        } else {
            centroid_mm
        };
        let ei = |p: &Self| p.ei_nmm2.shifted(p.ea_n, p.centroid_mm - centroid_mm);
        let spin = |p: &Self| p.spin_gmm2_mm + p.mass_g_mm * p.mass_centre_mm.distance_squared(mass_centre_mm);
        Self {
            parts: both.iter().flat_map(|p| p.parts.iter().copied()).collect(),
            area_mm2: both.iter().map(|p| p.area_mm2).sum(),
            ea_n,
            centroid_mm,
            ei_nmm2: ei(self).plus(ei(other), 1.0),
            mass_g_mm,
            mass_centre_mm,
            spin_gmm2_mm: both.iter().map(|p| spin(p)).sum(),
        }
    }
}

/// Forces inside a bar at a section, on the face that looks towards +x.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Inside {
    /// Pull, acting at the weighted centroid.
    pub pull_n: f64,
    /// Moment about y: stretches the side of +z.
    pub about_y_nmm: f64,
    /// Moment about z: stretches the side of −y.
    pub about_z_nmm: f64,
    /// Torque about the axis.
    pub torque_nmm: f64,
    /// Forces across, along y and z.
    pub shear_n: DVec2,
}

/// Stress along the bar in one region: least (compression is negative) and most, with the corners where they are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stress {
    /// Least.
    pub least_mpa: f64,
    /// Where.
    pub least_at_mm: DVec2,
    /// Most.
    pub most_mpa: f64,
    /// Where.
    pub most_at_mm: DVec2,
}

/// What the polygons come to.
///
/// # Errors
///
/// A region or outline that can't be: see [`SectionError`].
pub fn properties(regions: &[Region]) -> Result<Properties, SectionError> {
    let parts = regions.iter().enumerate().map(|(i, r)| part(i, r)).collect::<Result<Vec<_>, _>>()?;
    let area_mm2: f64 = parts.iter().map(|p| p.area_mm2).sum();
    if area_mm2 <= 0.0 {
        return Err(SectionError::Vanished);
    }
    let both = || parts.iter().zip(regions);
    let ea_n: f64 = both().map(|(p, r)| r.material.e_mpa * p.area_mm2).sum();
    let centroid_mm = both().map(|(p, r)| p.centroid_mm * (r.material.e_mpa * p.area_mm2)).sum::<DVec2>() / ea_n;
    let about = |p: &Part| p.second_mm4.shifted(p.area_mm2, p.centroid_mm - centroid_mm);
    let ei_nmm2 = both().fold(Second::default(), |sum, (p, r)| sum.plus(about(p), r.material.e_mpa));
    let grams = |r: &Region| r.material.density_kg_m3 * 1e-6;
    let mass_g_mm: f64 = both().map(|(p, r)| grams(r) * p.area_mm2).sum();
    let mass_centre_mm = if mass_g_mm > 0.0 {
        both().map(|(p, r)| p.centroid_mm * (grams(r) * p.area_mm2)).sum::<DVec2>() / mass_g_mm
    } else {
        centroid_mm
    };
    let about_mass = |p: &Part| p.second_mm4.shifted(p.area_mm2, p.centroid_mm - mass_centre_mm);
    let spin = |p: &Part| about_mass(p).about_y + about_mass(p).about_z;
    Ok(Properties {
        area_mm2,
        ea_n,
        centroid_mm,
        ei_nmm2,
        mass_g_mm,
        mass_centre_mm,
        spin_gmm2_mm: both().map(|(p, r)| grams(r) * spin(p)).sum(),
        parts,
    })
}

/// How far the corners of the regions reach from `from` along the unit direction: least and most, mm.
#[must_use]
pub fn reach(regions: &[Region], from: DVec2, direction: DVec2) -> (f64, f64) {
    let along = regions.iter().flat_map(corners).map(|c| (c - from).dot(direction));
    along.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), v| (least.min(v), most.max(v)))
}

/// Extreme stress along the bar in each region, in the order given.
///
/// `properties` are those of the same regions.
///
/// # Errors
///
/// The first region without a corner.
pub fn stress(regions: &[Region], properties: &Properties, inside: &Inside) -> Result<Vec<Stress>, SectionError> {
    let ei = properties.ei_nmm2;
    let strain = inside.pull_n / properties.ea_n;
    let det = ei.about_y * ei.about_z - ei.mixed * ei.mixed;
    // ε = strain + a y + b z, with M_y = ∫σ z and M_z = −∫σ y.
    let a = (-inside.about_z_nmm * ei.about_y - inside.about_y_nmm * ei.mixed) / det;
    let b = (inside.about_y_nmm * ei.about_z + inside.about_z_nmm * ei.mixed) / det;
    let one = |(i, region): (usize, &Region)| {
        let at = |c: DVec2| {
            let from = c - properties.centroid_mm;
            region.material.e_mpa * (strain + a * from.x + b * from.y)
        };
        let start = corners(region).next().ok_or(SectionError::NoArea { region: i, outline: 0, area_mm2: 0.0 })?;
        let first = Stress { least_mpa: at(start), least_at_mm: start, most_mpa: at(start), most_at_mm: start };
        Ok(corners(region).fold(first, |mut so_far, corner| {
            let here = at(corner);
            if here < so_far.least_mpa {
                (so_far.least_mpa, so_far.least_at_mm) = (here, corner);
            }
            if here > so_far.most_mpa {
                (so_far.most_mpa, so_far.most_at_mm) = (here, corner);
            }
            so_far
        }))
    };
    regions.iter().enumerate().map(one).collect()
}

/// Corners of the outer loops.
fn corners(region: &Region) -> impl Iterator<Item = DVec2> + '_ {
    region.outlines.iter().flat_map(|o| o.outer.iter().copied())
}

/// Area, first and second moments about `origin`, positive whatever the turning sense.
fn moments(corners: &[DVec2], origin: DVec2) -> (f64, DVec2, Second) {
    let (mut area, mut first, mut second) = (0.0, DVec2::ZERO, Second::default());
    for (i, &corner) in corners.iter().enumerate() {
        let p = corner - origin;
        let q = corners[(i + 1) % corners.len()] - origin;
        let cross = p.perp_dot(q);
        area += cross / 2.0;
        first += (p + q) * (cross / 6.0);
        second = second.plus(
            Second {
                about_y: p.y * p.y + p.y * q.y + q.y * q.y,
                about_z: p.x * p.x + p.x * q.x + q.x * q.x,
                mixed: p.x * p.y + q.x * q.y + 0.5 * (p.x * q.y + q.x * p.y),
            },
            cross / 12.0,
        );
    }
    let sense = if area < 0.0 { -1.0 } else { 1.0 };
    (sense * area, first * sense, Second::default().plus(second, sense))
}

fn part(idx: usize, region: &Region) -> Result<Part, SectionError> {
    let Material { e_mpa, g_mpa, density_kg_m3 } = region.material;
    if !(e_mpa.is_finite() && e_mpa > 0.0 && g_mpa.is_finite() && g_mpa > 0.0) {
        return Err(SectionError::ZeroStiffness { region: idx, e_mpa, g_mpa });
    }
    if !(density_kg_m3.is_finite() && density_kg_m3 >= 0.0) {
        return Err(SectionError::Density { region: idx, density_kg_m3 });
    }
    let no_area = |outline, area_mm2| SectionError::NoArea { region: idx, outline, area_mm2 };
    let origin = corners(region).next().ok_or(no_area(0, 0.0))?;
    let (mut area, mut first, mut second) = (0.0, DVec2::ZERO, Second::default());
    for (outline, shape) in region.outlines.iter().enumerate() {
        let loops = std::iter::once((&shape.outer, 1.0)).chain(shape.holes.iter().map(|h| (h, -1.0)));
        let mut mine = 0.0;
        for (corners, sign) in loops {
            if corners.iter().any(|c| !c.is_finite()) {
                return Err(SectionError::NotFinite { region: idx, outline });
            }
            let (a, f, s) = moments(corners, origin);
            mine += sign * a;
            first += f * sign;
            second = second.plus(s, sign);
        }
        if !(mine.is_finite() && mine > 0.0) {
            return Err(no_area(outline, mine));
        }
        area += mine;
    }
    let centroid = first / area;
    Ok(Part { area_mm2: area, centroid_mm: origin + centroid, second_mm4: second.shifted(-area, centroid) })
}
