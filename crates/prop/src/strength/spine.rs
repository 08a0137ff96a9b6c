//! The spine in the sections.

use super::sections::{ACCURACY, Wall};
use super::{StrengthError, StrengthWork};
use crate::catalogue;
use crate::outcome::Bar;
use beam::section::{Material, Outline, Region, properties};
use beam::{DVec2, Section, section};

/// Corners of a round bar.
const CORNERS: usize = 32;
/// A spine may stand out of the pieces it lies in by so much, mm: it is cut with that tolerance.
const OUT_MM: f64 = 2.0;

/// The spine where a section is cut: its region and its section, in the section's own axes.
#[derive(Clone)]
pub(super) struct Laid {
    pub(super) regions: Vec<Region>,
    pub(super) section: Section,
}

/// The spine of each stretch that one runs all the way through: where a length ends and the next begins, the pieces bear alone.
pub(super) fn lay(work: &StrengthWork, walls: &[Wall]) -> Result<Vec<Option<Laid>>, StrengthError> {
    let Some(rules) = &work.project.spine else { return Ok(vec![None; walls.len()]) };
    let ends = [walls.first().map_or(0.0, |w| w.span_mm[0]), walls.last().map_or(0.0, |w| w.span_mm[1])];
    work.spines.iter().try_for_each(|bar| within(&bar.name, bar.station_mm, ends))?;
    lay_bar(&rules.bar, work.spines, walls)
}

/// Whether a length lies in the pieces.
fn within(name: &str, [from, to]: [f64; 2], ends: [f64; 2]) -> Result<(), StrengthError> {
    if from >= ends[0] - OUT_MM && to <= ends[1] + OUT_MM {
        return Ok(());
    }
    Err(StrengthError::Spine { name: name.to_owned(), length_mm: to - from, channel_mm: ends[1] - ends[0] })
}

/// Which length runs all the way through a stretch. Two lengths that meet are never one bar: each is cut short at its ends.
fn through([from, to]: [f64; 2], lengths: impl IntoIterator<Item = [f64; 2]>) -> Option<usize> {
    lengths.into_iter().position(|l| l[0] <= from && l[1] >= to)
}

/// A stock laid where the spine runs.
pub(super) fn lay_bar(
    stock: &catalogue::Bar,
    spines: &[Bar],
    walls: &[Wall],
) -> Result<Vec<Option<Laid>>, StrengthError> {
    let fault = |e: &dyn std::fmt::Display| StrengthError::Bar(e.to_string());
    let material = material(stock);
    let shape = outline(stock);
    let nominal = section(&[Region { material, outlines: vec![shape.clone()] }], ACCURACY).map_err(|e| fault(&e))?;
    walls
        .iter()
        .map(|wall| {
            let Some(bar) = through(wall.span_mm, spines.iter().map(|b| b.station_mm)).map(|k| &spines[k]) else {
                return Ok(None);
            };
            let along = (bar.end - bar.start).normalize_or_zero();
            let through = along.cross(bar.across);
            let plane = wall.basis.plane();
            let [a, b] = [bar.start, bar.end].map(|p| plane.distance_mm(p));
            let at = if (a - b).abs() > 1e-9 { bar.start + (bar.end - bar.start) * (a / (a - b)) } else { bar.start };
            let put = |p: &DVec2| wall.basis.flatten(at + bar.across * p.x + through * p.y);
            let outlines = vec![Outline {
                outer: shape.outer.iter().map(put).collect(),
                holes: shape.holes.iter().map(|h| h.iter().map(put).collect()).collect(),
            }];
            let regions = vec![Region { material, outlines }];
            let plain = properties(&regions).map_err(|e| fault(&e))?;
            // Turning a bar in its section changes nothing of how it twists.
            Ok(Some(Laid { regions, section: Section { plain, twist: nominal.twist.clone() } }))
        })
        .collect()
}

fn material(stock: &catalogue::Bar) -> Material {
    Material {
        e_mpa: stock.holding.e_mpa[0],
        g_mpa: stock.holding.g_mpa,
        // A tube's density is spread over the whole circle.
        density_kg_m3: stock.density_g_cm3 * 1000.0 / wall_share(stock),
    }
}

/// Area of what is there inside a bar's outline, mm2: less for a tube.
pub(super) fn there_mm2(stock: &catalogue::Bar) -> f64 {
    stock.outline_mm2() * wall_share(stock)
}

/// Share of a round bar's circle that is there.
fn wall_share(stock: &catalogue::Bar) -> f64 {
    let bore = stock.bore_mm / stock.size_mm[0];
    1.0 - bore * bore
}

fn outline(stock: &catalogue::Bar) -> Outline {
    let [w, h] = stock.size_mm.map(|s| 0.5 * s);
    if !stock.round {
        let corners = [(-w, -h), (w, -h), (w, h), (-w, h)].map(|(x, y)| DVec2::new(x, y));
        return Outline { outer: corners.to_vec(), holes: Vec::new() };
    }
    // As much second moment as the circle: a polygon of n corners has that of its circle of corners times this.
    let step = std::f64::consts::TAU / CORNERS as f64;
    let (s, c) = (libm::sin(step), libm::cos(step));
    let share = CORNERS as f64 * s * (2.0 + c) / (6.0 * std::f64::consts::PI);
    let grown = libm::pow(share, -0.25);
    let ring = |radius: f64| -> Vec<DVec2> {
        let corner = |k: usize| DVec2::new(libm::cos(step * k as f64), libm::sin(step * k as f64)) * radius * grown;
        (0..CORNERS).map(corner).collect()
    };
    let holes = if stock.bore_mm > 0.0 { vec![ring(0.5 * stock.bore_mm)] } else { Vec::new() };
    Outline { outer: ring(w), holes }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    fn stock(name: &str) -> catalogue::Bar {
        Catalogue::built_in().bars.into_iter().find(|b| b.name == name).unwrap()
    }

    /// Two lengths that meet at 400 mm, each cut 1 mm short there (a joint that comes apart, or stock that is no longer).
    #[test]
    fn a_spine_in_two_lengths_is_not_one_bar() {
        let lengths = [[101.0, 399.0], [401.0, 700.0]];
        let at = |from, to| through([from, to], lengths);
        assert_eq!((at(380.0, 390.0), at(410.0, 420.0)), (Some(0), Some(1)));
        assert_eq!((at(390.0, 400.0), at(400.0, 410.0), at(395.0, 405.0)), (None, None, None));
        assert_eq!(at(690.0, 701.0), None);
    }

    #[test]
    fn a_spine_longer_than_its_pieces_is_named() {
        assert_eq!(within("spine 1", [0.0, 901.0], [0.0, 900.0]), Ok(()));
        let said = within("spine 1", [10.0, 950.0], [0.0, 900.0]).unwrap_err().to_string();
        assert!(said.contains("spine 1 is 940 mm long") && said.contains("end after 900 mm"), "{said}");
        assert!(within("spine 1", [-30.0, 100.0], [0.0, 900.0]).is_err());
    }

    /// Handbook: I = b h³/12 and π (D⁴ − d⁴)/64; 6061 flat 20 x 3 on edge has I = 2000 mm⁴ (own computation, as listed with
    /// the project's beam checks).
    #[test]
    fn bars_have_the_handbooks_stiffness_and_the_catalogues_mass() {
        let flat = stock("flat-aluminium-20x3");
        let plain = properties(&[Region { material: material(&flat), outlines: vec![outline(&flat)] }]).unwrap();
        assert!((plain.ei_nmm2.about_y / (68_900.0 * 2000.0) - 1.0).abs() < 1e-9);
        assert!((plain.ei_nmm2.about_z / (68_900.0 * 45.0) - 1.0).abs() < 1e-9);
        assert!((plain.mass_g_mm / (60.0 * 2.70e-3) - 1.0).abs() < 1e-9);
        let tube = stock("tube-aluminium-10x1");
        let plain = properties(&[Region { material: material(&tube), outlines: vec![outline(&tube)] }]).unwrap();
        let exact = 68_900.0 * std::f64::consts::PI * (1e4 - 4096.0) / 64.0;
        assert!((plain.ei_nmm2.about_y / exact - 1.0).abs() < 1e-9, "{} {exact}", plain.ei_nmm2.about_y);
        let mass = std::f64::consts::PI * 25.0 * 0.972e-3;
        assert!((plain.mass_g_mm / mass - 1.0).abs() < 0.005);
        assert!((tube.outline_mm2() / (std::f64::consts::PI * 25.0) - 1.0).abs() < 1e-12);
        assert!((there_mm2(&tube) / (std::f64::consts::PI * 9.0) - 1.0).abs() < 1e-12, "10 mm less a bore of 8");
        assert!((tube.g_mm() / mass - 1.0).abs() < 1e-12, "a bore is not taken off twice");
        assert_eq!([flat.outline_mm2(), there_mm2(&flat)], [60.0, 60.0]);
    }
}
