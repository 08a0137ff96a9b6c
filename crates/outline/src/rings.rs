//! An outline's sections along x.

use crate::across::CrossSection;
use crate::span::{SAME_MM, Span, apart};
use glam::{DVec2, DVec3};
use thiserror::Error;

/// No thinner than this, mm: a bead. Only where width and depth end together it runs out into a point.
const LEAST_MM: f64 = 0.4;
/// Corners that an outline does not need to keep its edges so closely are left out, mm.
const KEPT_MM: f64 = 0.01;
/// A solid of so many corners is the largest that is made.
const MOST_CORNERS: usize = 1_500_000;

/// How deep it is, through from face to face.
#[derive(Clone, Debug, PartialEq)]
pub enum Depth {
    /// As deep as wide.
    AsWide,
    /// So deep, mm, but nowhere deeper than wide.
    AtMost(f64),
    /// As drawn from above.
    Drawn(Span),
}

impl Depth {
    /// Middle and depth at x, mm.
    fn at(&self, x_mm: f64, wide_mm: f64) -> [f64; 2] {
        match self {
            Depth::AsWide => [0.0, wide_mm],
            Depth::AtMost(most) => [0.0, most.min(wide_mm)],
            Depth::Drawn(span) => {
                let [low, high] = span.at(x_mm);
                [0.5 * (low + high), high - low]
            }
        }
    }
}

/// A surface of more corners than [`rings`] makes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[error("so fine a surface has {corners} corners, {MOST_CORNERS} at most: take a wider spacing")]
pub struct TooFine {
    /// How many it would have.
    pub corners: usize,
}

/// Sections of equally many points along a side outline, each (x, up, through) in mm: where the outlines turn, and so
/// near to each other that no edge along is longer than `edge_mm`. Where it ends in a point, that section is one point.
/// Joined point to point with flat ends they enclose the solid. A drawing from above counts where the side is drawn;
/// beyond its own ends it keeps the depth of its end.
///
/// # Errors
/// [`TooFine`] rather than a surface that nobody can open.
pub fn rings(side: &Span, depth: &Depth, section: &CrossSection, edge_mm: f64) -> Result<Vec<Vec<DVec3>>, TooFine> {
    let edge_mm = edge_mm.max(0.05);
    let ends = side.reach_mm();
    let mut turns = kept(side, ends);
    if let Depth::Drawn(above) = depth {
        turns.extend(kept(above, ends));
    }
    // Where the depth stops following the width there is a corner too.
    if let Depth::AtMost(most) = depth {
        let wide = |x: f64| side.at(x)[1] - side.at(x)[0] - most;
        let pairs = side.x_mm.windows(2).map(|p| (p[0], p[1], wide(p[0]), wide(p[1])));
        turns.extend(pairs.filter(|p| p.2 * p.3 < 0.0).map(|(a, b, wa, wb)| a + (b - a) * wa / (wa - wb)));
    }
    let mut stations = vec![ends[0]];
    for pair in apart(turns, ends).windows(2) {
        let count = libm::ceil((pair[1] - pair[0]) / edge_mm).max(1.0) as u32;
        stations.extend((1..=count).map(|k| pair[0] + (pair[1] - pair[0]) * (f64::from(k) / f64::from(count))));
        if stations.len() > MOST_CORNERS {
            return Err(TooFine { corners: stations.len() });
        }
    }
    let sized = |x: f64| {
        let [low, high] = side.at(x);
        let [middle, deep] = depth.at(x, high - low);
        (DVec2::new(0.5 * (low + high), middle), [0.5 * (high - low), 0.5 * deep])
    };
    let most = stations.iter().map(|x| sized(*x).1).fold([0.0_f64; 2], |m, h| [m[0].max(h[0]), m[1].max(h[1])]);
    let count = section.points(most, edge_mm);
    if stations.len() * count > MOST_CORNERS {
        return Err(TooFine { corners: stations.len() * count });
    }
    let last = stations.len() - 1;
    let ring = |(k, x): (usize, &f64)| {
        let (middle, half) = sized(*x);
        if (k == 0 || k == last) && half.iter().all(|h| *h < SAME_MM) {
            return vec![DVec3::new(*x, middle.x, middle.y)];
        }
        let half = half.map(|h| h.max(0.5 * LEAST_MM));
        section.ring(half, count).into_iter().map(|p| DVec3::new(*x, p.x + middle.x, p.y + middle.y)).collect()
    };
    Ok(stations.iter().enumerate().map(ring).collect())
}

/// The fewest of an outline's corners between two places that keep both its edges to [`KEPT_MM`]: the corner farthest off
/// the straight line between two kept ones is kept too, until none is too far.
fn kept(span: &Span, [from, to]: [f64; 2]) -> Vec<f64> {
    let inside: Vec<usize> = (0..span.x_mm.len()).filter(|k| (from..=to).contains(&span.x_mm[*k])).collect();
    let (Some(first), Some(last)) = (inside.first().copied(), inside.last().copied()) else { return Vec::new() };
    let mut found = vec![span.x_mm[first], span.x_mm[last]];
    let mut open = vec![(first, last)];
    while let Some((a, b)) = open.pop() {
        let off = |k: usize| {
            let share = (span.x_mm[k] - span.x_mm[a]) / (span.x_mm[b] - span.x_mm[a]);
            let edge = |e: &[f64]| (e[k] - e[a] - (e[b] - e[a]) * share).abs();
            edge(&span.low_mm).max(edge(&span.high_mm))
        };
        let farthest =
            (a + 1..b).map(|k| (k, off(k))).fold((a, KEPT_MM), |best, o| if o.1 > best.1 { o } else { best });
        if farthest.0 > a {
            found.push(span.x_mm[farthest.0]);
            open.extend([(a, farthest.0), (farthest.0, b)]);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Fault, drawn};
    use solid::loft;

    fn span(corners: &[(f64, f64)]) -> Result<Span, Fault> {
        Span::of(&corners.iter().map(|(x, y)| DVec2::new(*x, *y)).collect::<Vec<_>>())
    }

    /// Frustum of an elliptic cone, half axes a and b at its ends, by the prismoidal formula (handbooks):
    /// πh/3 (a₁b₁ + a₂b₂ + (a₁b₂ + a₂b₁)/2).
    #[test]
    fn a_frustum_of_an_elliptic_cone_has_its_volume_and_sections() -> Result<(), Box<dyn std::error::Error>> {
        let side = span(&[(0.0, -30.0), (300.0, -10.0), (300.0, 10.0), (0.0, 30.0)])?;
        let above = span(&[(0.0, -12.0), (300.0, -6.0), (300.0, 6.0), (0.0, 12.0)])?;
        let mesh = loft(&rings(&side, &Depth::Drawn(above), &CrossSection::Oval, 2.0)?);
        let [a1, b1, a2, b2] = [30.0, 12.0, 10.0, 6.0];
        let exact = std::f64::consts::PI * 300.0 / 3.0 * (a1 * b1 + a2 * b2 + 0.5 * (a1 * b2 + a2 * b1));
        assert!((mesh.volume_mm3() / exact - 1.0).abs() < 0.005, "{} {exact}", mesh.volume_mm3());
        assert!(mesh.edge_census().is_closed());
        // Its section at a third of the way: half axes there are on the straight line between those of the ends.
        let [a, b] = [30.0 - 20.0 / 3.0, 12.0 - 6.0 / 3.0];
        let basis = solid::section::Basis { origin: DVec3::X * 100.0, x: DVec3::Y, y: DVec3::Z };
        let across = solid::section::area_mm2(&solid::section::section(&mesh, &basis)?);
        assert!((across / (std::f64::consts::PI * a * b) - 1.0).abs() < 0.005, "{across}");
        let bounds = mesh.bounds().map(|b| b.size());
        assert!(bounds.is_some_and(|b| (b - DVec3::new(300.0, 60.0, 24.0)).length() < 1e-6), "{bounds:?}");
        Ok(())
    }

    /// A blade of constant lens section: area of two circular segments times its length.
    #[test]
    fn a_lens_blade_has_its_volume() -> Result<(), Box<dyn std::error::Error>> {
        let side = span(&[(0.0, -20.0), (500.0, -20.0), (500.0, 20.0), (0.0, 20.0)])?;
        let mesh = loft(&rings(&side, &Depth::AtMost(10.0), &CrossSection::Lens, 1.0)?);
        let (a, b) = (20.0_f64, 5.0_f64);
        let (radius, angle) = ((a * a + b * b) / (2.0 * b), 4.0 * libm::atan(b / a));
        let exact = 500.0 * radius * radius * (angle - libm::sin(angle));
        assert!((mesh.volume_mm3() / exact - 1.0).abs() < 0.005, "{} {exact}", mesh.volume_mm3());
        assert!(mesh.edge_census().is_closed());
        Ok(())
    }

    #[test]
    fn ends_steps_and_points_close() -> Result<(), Box<dyn std::error::Error>> {
        let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="100mm" viewBox="0 0 400 100">
            <path d="M0 40 H60 V20 H80 V40 C200 20 300 30 400 50 C300 70 200 80 80 60 V80 H60 V60 H0 Z"/></svg>"#;
        let side = Span::of(&drawn(svg)?[0].points)?;
        let above = span(&[(0.0, -8.0), (400.0, 0.0), (0.0, 8.0)])?;
        let table = CrossSection::table("1,0\n0.3,1\n-0.3,1\n-1,0\n0,-1")?;
        for section in
            [CrossSection::Lens, CrossSection::Oval, CrossSection::Bevelled { flat: 0.4, edge_mm: 1.0 }, table]
        {
            for depth in [Depth::AsWide, Depth::AtMost(12.0), Depth::Drawn(above.clone())] {
                let mesh = loft(&rings(&side, &depth, &section, 5.0)?);
                assert!(mesh.edge_census().is_closed() && mesh.volume_mm3() > 1e4, "{section:?} {depth:?}");
                // Nothing in it needs mending, and no face passes through another.
                let mended = solid::mend::mend(mesh.clone());
                assert!(mended.is_ok_and(|(_, mends)| mends.is_empty()), "{section:?} {depth:?}");
                assert!(!solid::self_intersects(&mesh)?, "{section:?} {depth:?}");
            }
        }
        Ok(())
    }
}
