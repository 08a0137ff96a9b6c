//! What it looks like across.

use crate::span::crossing;
use glam::DVec2;
use thiserror::Error;

/// A face keeps so much edge, mm: half a bead.
const EDGE_MM: f64 = 0.2;

/// A section, made as wide and deep as the place asks.
#[derive(Clone, Debug, PartialEq)]
pub enum CrossSection {
    /// Two arcs that meet in sharp edges, above and below; where it is deeper than wide, an oval.
    Lens,
    /// An ellipse.
    Oval,
    /// Flat faces with bevels to edges of a stated thickness.
    Bevelled {
        /// How much of the width the flats take, 0 to 1.
        flat: f64,
        /// Thickness of the edges, mm.
        edge_mm: f64,
    },
    /// Corners in a square from -1 to 1: (across, through), in their order round it.
    Table(Vec<DVec2>),
}

/// Why a table of corners is no section.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum TableError {
    /// Not two numbers.
    #[error("line {line}: {text:?} is no pair of numbers such as 0.5,-1")]
    Line {
        /// Line, from 1.
        line: usize,
        /// What stands there.
        text: String,
    },
    /// Beyond the square.
    #[error("line {line}: ({across}, {through}) lies outside -1 to 1")]
    Outside {
        /// Line, from 1.
        line: usize,
        /// Across.
        across: f64,
        /// Through.
        through: f64,
    },
    /// Too few corners.
    #[error("{count} corners are no section: it takes three or more that enclose something")]
    Few {
        /// How many.
        count: usize,
    },
    /// Its sides cross.
    #[error("its sides cross at ({across:.3}, {through:.3})")]
    Crosses {
        /// Across.
        across: f64,
        /// Through.
        through: f64,
    },
}

impl CrossSection {
    /// A section from a table: a pair of numbers a line, across and through, from -1 to 1; empty lines and lines that begin
    /// with `#` are passed over.
    ///
    /// # Errors
    /// [`TableError`] with its line.
    pub fn table(text: &str) -> Result<CrossSection, TableError> {
        let mut corners: Vec<DVec2> = Vec::new();
        for (k, row) in text.lines().enumerate() {
            let (line, row) = (k + 1, row.trim());
            if row.is_empty() || row.starts_with('#') {
                continue;
            }
            let pair = row.split_once(',').and_then(|(a, b)| Some((a.trim().parse().ok()?, b.trim().parse().ok()?)));
            let (across, through): (f64, f64) =
                pair.ok_or_else(|| TableError::Line { line, text: row.chars().take(40).collect() })?;
            // Also says no to what is no number.
            if !(across.abs() <= 1.0 && through.abs() <= 1.0) {
                return Err(TableError::Outside { line, across, through });
            }
            corners.push(DVec2::new(across, through));
        }
        corners.dedup();
        if corners.len() > 1 && corners.first() == corners.last() {
            corners.pop();
        }
        if corners.len() < 3 {
            return Err(TableError::Few { count: corners.len() });
        }
        if let Err(crate::Fault::Crosses { at_mm }) = crossing(&corners) {
            return Err(TableError::Crosses { across: at_mm[0], through: -at_mm[1] });
        }
        let area = twice_area(&corners);
        if area.abs() < 1e-6 {
            return Err(TableError::Few { count: corners.len() });
        }
        if area < 0.0 {
            corners.reverse();
        }
        Ok(CrossSection::Table(corners))
    }

    /// How many points a ring takes so that none of its chords is longer than `edge_mm` and curves are kept to 0.02 mm, at
    /// the largest half width and half depth, mm.
    pub(crate) fn points(&self, half_mm: [f64; 2], edge_mm: f64) -> usize {
        let most = half_mm[0].max(half_mm[1]);
        let round = std::f64::consts::TAU * most;
        let sag = std::f64::consts::PI / libm::acos((1.0 - 0.02 / most.max(0.05)).max(0.0));
        match self {
            // In fours, so that the edges and faces keep a point.
            CrossSection::Lens | CrossSection::Oval => {
                (libm::ceil((round / edge_mm).max(sag).clamp(16.0, 2048.0) / 4.0) as usize) * 4
            }
            CrossSection::Bevelled { .. } => 8 * per_side(2.0 * most, edge_mm),
            CrossSection::Table(corners) => corners.len() * per_side(2.0 * most, edge_mm),
        }
    }

    /// The ring at a half width and half depth, mm: `count` points (across, through), counter-clockwise.
    pub(crate) fn ring(&self, [a, b]: [f64; 2], count: usize) -> Vec<DVec2> {
        let turn = |k: usize| std::f64::consts::TAU * k as f64 / count as f64;
        let oval = |k: usize| DVec2::new(a * libm::cos(turn(k)), b * libm::sin(turn(k)));
        match self {
            CrossSection::Oval => (0..count).map(oval).collect(),
            CrossSection::Lens if b >= a => (0..count).map(oval).collect(),
            CrossSection::Lens => {
                // Circles through both edges and the middle of a face.
                let (radius, half) = ((a * a + b * b) / (2.0 * b), 2.0 * libm::atan(b / a));
                let face = |k: usize| {
                    let at = half * (1.0 - 4.0 * k as f64 / count as f64);
                    DVec2::new(radius * libm::sin(at), radius * libm::cos(at) - radius + b)
                };
                let upper = (0..count / 2).map(face);
                upper.chain((0..count / 2).map(|k| -face(k))).collect()
            }
            CrossSection::Bevelled { flat, edge_mm } => {
                let (e, f) = ((0.5 * edge_mm).max(0.5 * EDGE_MM).min(b), a * flat.clamp(0.01, 0.99));
                let corners = [(a, -e), (a, e), (f, b), (-f, b), (-a, e), (-a, -e), (-f, -b), (f, -b)];
                divided(&corners.map(|(x, y)| DVec2::new(x, y)), count)
            }
            CrossSection::Table(corners) => {
                divided(&corners.iter().map(|c| *c * DVec2::new(a, b)).collect::<Vec<_>>(), count)
            }
        }
    }
}

fn per_side(long_mm: f64, edge_mm: f64) -> usize {
    libm::ceil(long_mm / edge_mm).clamp(1.0, 64.0) as usize
}

/// Sides in equal parts, as many on each.
fn divided(corners: &[DVec2], count: usize) -> Vec<DVec2> {
    let parts = (count / corners.len()).max(1);
    let next = |k: usize| corners[(k + 1) % corners.len()];
    corners
        .iter()
        .enumerate()
        .flat_map(|(k, from)| (0..parts).map(move |i| from.lerp(next(k), i as f64 / parts as f64)))
        .collect()
}

fn twice_area(ring: &[DVec2]) -> f64 {
    (0..ring.len()).map(|k| ring[k].perp_dot(ring[(k + 1) % ring.len()])).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two circular segments: each is R²(θ - sin θ)/2 with θ the angle of its arc (handbooks).
    #[test]
    fn sections_have_their_areas() {
        let area =
            |section: &CrossSection, half: [f64; 2]| 0.5 * twice_area(&section.ring(half, section.points(half, 0.5)));
        let (a, b) = (20.0_f64, 5.0_f64);
        let (radius, angle) = ((a * a + b * b) / (2.0 * b), 4.0 * libm::atan(b / a));
        let lens = radius * radius * (angle - libm::sin(angle));
        assert!((area(&CrossSection::Lens, [a, b]) / lens - 1.0).abs() < 0.002);
        let oval = std::f64::consts::PI * a * b;
        assert!((area(&CrossSection::Oval, [a, b]) / oval - 1.0).abs() < 0.002);
        let flat = CrossSection::Bevelled { flat: 0.5, edge_mm: 2.0 };
        // Flats 20 x 10, two trapezia 10 wide from 10 to 2.
        assert!((area(&flat, [a, b]) - (20.0 * 10.0 + 2.0 * 10.0 * 6.0)).abs() < 1e-9);
        let diamond = CrossSection::table("1,0\n0,1\n-1,0\n0,-1\n");
        assert!(diamond.is_ok_and(|d| (area(&d, [a, b]) - 2.0 * a * b).abs() < 1e-9));
    }

    #[test]
    fn no_point_leaves_the_frame() {
        let all = [CrossSection::Lens, CrossSection::Oval, CrossSection::Bevelled { flat: 0.3, edge_mm: 0.0 }];
        for section in all {
            for half in [[20.0, 5.0], [5.0, 5.0], [1.0, 6.0], [0.1, 0.1]] {
                let ring = section.ring(half, section.points(half, 1.0));
                assert!(ring.iter().all(|p| p.x.abs() <= half[0] + 1e-9 && p.y.abs() <= half[1] + 1e-9), "{section:?}");
                assert!(twice_area(&ring) > 0.0 && crossing(&ring).is_ok(), "{section:?} {half:?}");
            }
        }
    }

    #[test]
    fn tables_are_refused_by_line() {
        let said = |text: &str| CrossSection::table(text).map_err(|e| e.to_string()).unwrap_err();
        assert!(said("1,0\nx,1\n").starts_with("line 2"));
        assert!(said("1,0\n# rim\n0,1.5\n").starts_with("line 3"));
        assert!(said("nan,0\n0,1\n-1,0").starts_with("line 1"));
        assert!(said("1,0\n0,1\n").contains("2 corners"));
        assert!(said("1,1\n-1,-1\n-1,1\n1,-1\n").contains("cross"));
        // Either way round it is the same section, counter-clockwise.
        for text in ["1,0\n0,1\n-1,0", "-1,0\n0,1\n1,0"] {
            let Ok(CrossSection::Table(corners)) = CrossSection::table(text) else { panic!("{text}") };
            assert!((twice_area(&corners) - 2.0).abs() < 1e-12);
        }
    }
}
