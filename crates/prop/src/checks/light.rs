//! Is the light's way from the pixels to the wall left open?

use super::{Checked, Laid, Work};
use crate::finding::{Band, Finding};
use crate::outcome::Role;
use rayon::prelude::*;
use solid::{DVec3, RayHit};

/// Least share of a pixel's rays that must reach the wall (our choice until the light itself is computed).
const OPEN_SHARE: f64 = 0.9;
/// A ray that ends this much deeper than the wall has met a rib, a collar or a number, mm.
const DEEPER_MM: f64 = 0.3;
/// Rays fan out to this angle in steps, degrees. A pixel's light falls to half at 60.
const FAN_DEG: [f64; 7] = [-45.0, -30.0, -15.0, 0.0, 15.0, 30.0, 45.0];

pub(super) fn check(work: &Work, laid: &[Laid]) -> Vec<Finding> {
    let Some(rail) = &work.inside.rail else { return Vec::new() };
    if rail.pixels.is_empty() {
        return Vec::new();
    }
    let shares: Vec<f64> = rail
        .pixels
        .par_iter()
        .map(|pixel| {
            let (run, _) = rail.way.locate(rail.way.distance_at(pixel.station_mm));
            let Some(own) = work.inside.bodies.iter().find(|b| {
                let body = &work.placed.bodies[b.body];
                body.role == Role::Lit
                    && pixel.station_mm >= body.station_mm[0]
                    && pixel.station_mm <= body.station_mm[1]
            }) else {
                return 0.0;
            };
            let mut open = 0;
            let mut all = 0;
            for up in FAN_DEG {
                for along in [-30.0, 0.0, 30.0] {
                    let turn = |deg: f64| (libm::cos(f64::to_radians(deg)), libm::sin(f64::to_radians(deg)));
                    let ((cu, su), (ca, sa)) = (turn(up), turn(along));
                    let direction = (pixel.facing * (cu * ca) + run.v * (su * ca) + run.along * sa).normalize();
                    all += 1;
                    if let Some(p) = first_hit(laid, pixel.point, direction) {
                        let depth = -own.outer.signed_distance(p);
                        // Solid thin edges count: light enters them.
                        if depth < own.rules.wall_mm + own.rules.least_cavity_mm + DEEPER_MM
                            && faces_out(own, p, direction)
                        {
                            open += 1;
                        }
                    }
                }
            }
            f64::from(open) / f64::from(all)
        })
        .collect();
    let worst =
        shares.iter().copied().enumerate().fold((f64::INFINITY, 0), |a, (i, s)| if s < a.0 { (s, i) } else { a });
    let pixel = &rail.pixels[worst.1];
    let mean = shares.iter().sum::<f64>() / shares.len() as f64;
    let ends = [rail.pixels[0].station_mm, rail.pixels[rail.pixels.len() - 1].station_mm];
    vec![
        Checked {
            id: "light_way",
            subject: "strip".into(),
            station_mm: Some(ends),
            value: Band { value: mean, low: worst.0.min(mean), high: mean },
            unit: "1",
            min: Some(OPEN_SHARE),
            max: None,
            source: "our choice until the light itself is computed".into(),
            message: format!(
                "{:.0} % of the pixels' rays within 45 degrees reach the wall without meeting rib, collar or number; at the worst pixel ({} of strip {}, station {:.0} mm) {:.0} %.",
                mean * 100.0, pixel.number, pixel.strip, pixel.station_mm, worst.0 * 100.0
            ),
            remedy: "ask for pegs instead of collars (joint = \"pegs\"), or take a strip whose pixels stand further out".into(),
        }
        .finding(),
    ]
}

fn first_hit(laid: &[Laid], origin: DVec3, direction: DVec3) -> Option<DVec3> {
    const FAR_MM: f64 = 300.0;
    let hit = laid
        .iter()
        .filter(|l| origin.x > l.low_x - FAR_MM && origin.x < l.high_x + FAR_MM)
        .filter_map(|l| l.surface.ray(origin, direction, FAR_MM))
        .map(|RayHit { distance_mm, .. }| distance_mm)
        .fold(f64::INFINITY, f64::min);
    hit.is_finite().then(|| origin + direction * hit)
}

/// Whether the maker's surface lies ahead of a hit, within the wall's reach, rather than beside it.
fn faces_out(own: &crate::stages::InsideBody, p: DVec3, direction: DVec3) -> bool {
    let reach = own.rules.wall_mm + own.rules.least_cavity_mm + DEEPER_MM;
    own.outer.nearest(p, reach).is_some_and(|n| (n.point - p).dot(direction) > 0.0)
}
