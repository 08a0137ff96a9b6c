//! Finding the centre path of a placed shape.

use crate::outcome::{Body, Role};
use crate::path::CentrePath;
use crate::slices::{Slice, slices};
use solid::{DVec2, DVec3};

/// Distance between the sections that a prop is measured at, mm.
pub const SLICE_STEP_MM: f64 = 2.0;

/// How far smoothing looks along the prop, mm: one standard deviation. Wide enough to even out relief and the step
/// from one body to the next, narrow enough to follow a bowed blade.
const SMOOTH_MM: f64 = 25.0;

/// Distance between the corners of the found path, mm.
const CORNER_STEP_MM: f64 = 10.0;

/// Sections of all bodies of the core (everything but covers) added up, every [`SLICE_STEP_MM`] from butt to tip.
pub fn core_slices(bodies: &[Body], length_mm: f64) -> Vec<Slice> {
    let count = (length_mm / SLICE_STEP_MM).floor() as usize;
    let at: Vec<f64> = (0..count).map(|i| (i as f64 + 0.5) * SLICE_STEP_MM).filter(|x| *x < length_mm).collect();
    let mut core: Vec<Slice> = Vec::new();
    for body in bodies.iter().filter(|b| b.role != Role::Cover) {
        let own = slices(&body.mesh, &at);
        if core.is_empty() {
            core = own;
            continue;
        }
        for (sum, s) in core.iter_mut().zip(own) {
            let area = sum.area_mm2 + s.area_mm2;
            if area.abs() > 1e-12 {
                sum.center = (sum.center * sum.area_mm2 + s.center * s.area_mm2) / area;
            }
            sum.area_mm2 = area;
            sum.outline_mm += s.outline_mm;
            sum.low = sum.low.min(s.low);
            sum.high = sum.high.max(s.high);
        }
    }
    core
}

/// The centre path through the centroids of the sections: a locally linear fit with a Gaussian weight of 25 mm, with a
/// corner every 10 mm. The ends run straight on to x = 0 and x = `length_mm`. `None` without any section.
pub fn find_path(core: &[Slice], length_mm: f64) -> Option<CentrePath> {
    let known: Vec<(f64, DVec2)> = core.iter().filter(|s| s.area_mm2 > 0.0).map(|s| (s.x, s.center)).collect();
    if known.len() < 2 {
        return None;
    }
    let corners = (length_mm / CORNER_STEP_MM).round().max(1.0) as usize;
    let points = (0..=corners)
        .map(|i| {
            let x = length_mm * i as f64 / corners as f64;
            let c = local_line(&known, x);
            DVec3::new(x, c.x, c.y)
        })
        .collect();
    CentrePath::new(points)
}

/// Weighted linear least squares around `x`, evaluated at `x`.
fn local_line(known: &[(f64, DVec2)], x: f64) -> DVec2 {
    let reach = SMOOTH_MM * 4.0;
    let first = known.partition_point(|k| k.0 < x - reach);
    let last = known.partition_point(|k| k.0 <= x + reach);
    let near = if last > first + 1 { &known[first..last] } else { known };
    let (mut w0, mut w1, mut w2) = (0.0, 0.0, 0.0);
    let (mut c0, mut c1) = (DVec2::ZERO, DVec2::ZERO);
    for (at, center) in near {
        let d = at - x;
        let w = libm::exp(-0.5 * (d / SMOOTH_MM) * (d / SMOOTH_MM)) + 1e-12;
        w0 += w;
        w1 += w * d;
        w2 += w * d * d;
        c0 += *center * w;
        c1 += *center * (w * d);
    }
    let det = w0 * w2 - w1 * w1;
    if det.abs() < 1e-9 * w0 * w0 { c0 / w0 } else { (c0 * w2 - c1 * w1) / det }
}

#[cfg(test)]
mod tests {
    use super::*;
    use solid::loft;

    #[test]
    fn a_bowed_tube_has_a_bowed_path() {
        // A round bar of radius 10 whose middle follows y = 30 (x/1000)^2.
        let ring = |x: f64| -> Vec<DVec3> {
            (0..40)
                .map(|k| {
                    let a = f64::from(k) * core::f64::consts::TAU / 40.0;
                    DVec3::new(x, 30.0 * (x / 1000.0) * (x / 1000.0) + 10.0 * libm::cos(a), 10.0 * libm::sin(a))
                })
                .collect()
        };
        let mesh = loft(&(0..=200).map(|i| ring(f64::from(i) * 5.0)).collect::<Vec<_>>());
        let body = Body { name: "bar".into(), role: Role::Plain, mesh, station_mm: [0.0, 1000.0] };
        let core = core_slices(&[body], 1000.0);
        assert_eq!(core.len(), 500);
        let path = find_path(&core, 1000.0).unwrap();
        for x in [0.0, 200.0, 500.0, 999.0] {
            let s = path.station_of(DVec3::new(x, 30.0 * (x / 1000.0) * (x / 1000.0), 0.0));
            let p = path.point(s);
            assert!((p.y - 30.0 * (p.x / 1000.0) * (p.x / 1000.0)).abs() < 0.1 && p.z.abs() < 0.01, "{p}");
        }
        // Arc length of the parabola, by Simpson's rule on sqrt(1 + y'^2).
        let speed = |x: f64| (1.0 + (0.06 * x / 1000.0) * (0.06 * x / 1000.0)).sqrt();
        let arc = (speed(0.0) + 4.0 * speed(500.0) + speed(1000.0)) / 6.0 * 1000.0;
        assert!((path.length_mm() - arc).abs() < 0.05, "{} {arc}", path.length_mm());
    }
}
