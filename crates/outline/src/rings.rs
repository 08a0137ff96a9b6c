//! An outline's sections along x.

use crate::across::CrossSection;
use crate::span::Span;
use glam::{DVec2, DVec3};

/// No thinner than this, mm: a bead. Only where width and depth end together it runs out into a point.
const LEAST_MM: f64 = 0.4;
/// Less than this is a point, mm.
const POINT_MM: f64 = 1e-6;

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

/// Sections of equally many points along a side outline, each (x, up, through) in mm: at every corner of the outlines and so
/// near to each other that no edge along is longer than `edge_mm`. Where it ends in a point, that section is one point.
/// Joined point to point with flat ends they enclose the solid. A drawing from above counts where the side is drawn;
/// beyond its own ends it keeps the depth of its end.
pub fn rings(side: &Span, depth: &Depth, section: &CrossSection, edge_mm: f64) -> Vec<Vec<DVec3>> {
    let edge_mm = edge_mm.max(0.05);
    let [from, to] = side.reach_mm();
    let mut knots = side.x_mm.clone();
    if let Depth::Drawn(above) = depth {
        knots.extend(above.x_mm.iter().filter(|x| (from..=to).contains(*x)));
    }
    // Where the depth stops following the width there is a corner too.
    if let Depth::AtMost(most) = depth {
        let wide = |x: f64| side.at(x)[1] - side.at(x)[0] - most;
        let pairs = side.x_mm.windows(2).map(|p| (p[0], p[1], wide(p[0]), wide(p[1])));
        knots.extend(pairs.filter(|p| p.2 * p.3 < 0.0).map(|(a, b, wa, wb)| a + (b - a) * wa / (wa - wb)));
    }
    knots.sort_by(f64::total_cmp);
    knots.dedup_by(|b, a| *b - *a < POINT_MM);
    let mut stations = vec![knots[0]];
    for pair in knots.windows(2) {
        let count = libm::ceil((pair[1] - pair[0]) / edge_mm).max(1.0) as u32;
        stations.extend((1..=count).map(|k| pair[0] + (pair[1] - pair[0]) * (f64::from(k) / f64::from(count))));
    }
    let sized = |x: f64| {
        let [low, high] = side.at(x);
        let [middle, deep] = depth.at(x, high - low);
        (DVec2::new(0.5 * (low + high), middle), [0.5 * (high - low), 0.5 * deep])
    };
    let most = stations.iter().map(|x| sized(*x).1).fold([0.0_f64; 2], |m, h| [m[0].max(h[0]), m[1].max(h[1])]);
    let count = section.points(most, edge_mm);
    let last = stations.len() - 1;
    stations
        .iter()
        .enumerate()
        .map(|(k, x)| {
            let (middle, half) = sized(*x);
            if (k == 0 || k == last) && half.iter().all(|h| *h < POINT_MM) {
                return vec![DVec3::new(*x, middle.x, middle.y)];
            }
            let half = half.map(|h| h.max(0.5 * LEAST_MM));
            section
                .ring(half, count)
                .into_iter()
                .map(|p| (p + middle).extend(*x))
                .map(|p| DVec3::new(p.z, p.x, p.y))
                .collect()
        })
        .collect()
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
    fn a_frustum_of_an_elliptic_cone_has_its_volume_and_sections() -> Result<(), Fault> {
        let side = span(&[(0.0, -30.0), (300.0, -10.0), (300.0, 10.0), (0.0, 30.0)])?;
        let above = span(&[(0.0, -12.0), (300.0, -6.0), (300.0, 6.0), (0.0, 12.0)])?;
        let mesh = loft(&rings(&side, &Depth::Drawn(above), &CrossSection::Oval, 2.0));
        let [a1, b1, a2, b2] = [30.0, 12.0, 10.0, 6.0];
        let exact = std::f64::consts::PI * 300.0 / 3.0 * (a1 * b1 + a2 * b2 + 0.5 * (a1 * b2 + a2 * b1));
        assert!((mesh.volume_mm3() / exact - 1.0).abs() < 0.005, "{} {exact}", mesh.volume_mm3());
        assert!(mesh.edge_census().is_closed());
        let bounds = mesh.bounds().map(|b| b.size());
        assert!(bounds.is_some_and(|b| (b - DVec3::new(300.0, 60.0, 24.0)).length() < 1e-6), "{bounds:?}");
        Ok(())
    }

    /// A blade of constant lens section: area of two circular segments times its length.
    #[test]
    fn a_lens_blade_has_its_volume() -> Result<(), Fault> {
        let side = span(&[(0.0, -20.0), (500.0, -20.0), (500.0, 20.0), (0.0, 20.0)])?;
        let mesh = loft(&rings(&side, &Depth::AtMost(10.0), &CrossSection::Lens, 1.0));
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
                let mesh = loft(&rings(&side, &depth, &section, 3.0));
                assert!(mesh.edge_census().is_closed() && mesh.volume_mm3() > 1e4, "{section:?} {depth:?}");
                let found = solid::mend::mend(&mesh);
                assert!(found.is_ok(), "{section:?} {depth:?}");
            }
        }
        Ok(())
    }
}
