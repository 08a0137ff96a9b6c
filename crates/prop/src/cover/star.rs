//! Outlines seen from a middle: one radius at each of some even angles.
//!
//! A star holds everything that it was put around: between two angles it runs straight, and never inside an edge it
//! was given.

use solid::DVec2;
use solid::section::{OutlineError, inset};
use std::f64::consts::TAU;
use std::sync::LazyLock;

/// Angles of a star: at a radius of 20 mm the chords stray 0.001 mm from the circle.
pub(crate) const RAYS: usize = 360;
const STEP_RAD: f64 = TAU / RAYS as f64;

/// The unit vectors of the angles.
static RAY: LazyLock<Vec<DVec2>> = LazyLock::new(|| {
    (0..RAYS)
        .map(|k| {
            let (sin, cos) = libm::sincos(STEP_RAD * k as f64);
            DVec2::new(cos, sin)
        })
        .collect()
});

/// The direction of an angle.
pub(crate) fn ray(k: usize) -> DVec2 {
    RAY[k % RAYS]
}

/// A star-shaped outline around the origin. Radii of zero everywhere mean nothing at all.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Star {
    /// Radius at each angle, mm.
    pub(crate) radii: Vec<f64>,
}

/// Where a point lies between the angles, 0 to [`RAYS`].
fn turn(p: DVec2) -> f64 {
    let angle = libm::atan2(p.y, p.x);
    let turn = if angle < 0.0 { angle + TAU } else { angle } / STEP_RAD;
    if turn >= RAYS as f64 { 0.0 } else { turn }
}

impl Star {
    /// Nothing.
    pub(crate) fn empty() -> Star {
        Star { radii: vec![0.0; RAYS] }
    }

    /// Whether there is nothing.
    pub(crate) fn is_empty(&self) -> bool {
        self.radii.iter().all(|r| *r <= 0.0)
    }

    /// The smallest star around some edges, to within what chords between the angles take.
    pub(crate) fn around(edges: &[[DVec2; 2]]) -> Star {
        let mut radii = vec![0.0; RAYS];
        let turns: Vec<[f64; 2]> = edges.iter().map(|e| e.map(turn)).collect();
        for ([p, q], [from, to]) in edges.iter().zip(&turns) {
            cross(&mut radii, *p, *q, *from, *to);
        }
        for (edge, at) in edges.iter().zip(&turns) {
            for (p, t) in edge.iter().zip(at) {
                raise(&mut radii, p.length(), *t);
            }
        }
        Star { radii }
    }

    /// The star around this one and another.
    pub(crate) fn widen(&mut self, other: &Star) {
        for (r, o) in self.radii.iter_mut().zip(&other.radii) {
            *r = r.max(*o);
        }
    }

    /// The outline's corners.
    pub(crate) fn points(&self) -> Vec<DVec2> {
        self.radii.iter().enumerate().map(|(k, r)| ray(k) * *r).collect()
    }

    /// The outline's edges.
    pub(crate) fn edges(&self) -> Vec<[DVec2; 2]> {
        let points = self.points();
        (0..RAYS).map(|k| [points[k], points[(k + 1) % RAYS]]).collect()
    }

    /// Largest radius, mm.
    pub(crate) fn reach_mm(&self) -> f64 {
        self.radii.iter().copied().fold(0.0, f64::max)
    }

    /// Area, mm2.
    pub(crate) fn area_mm2(&self) -> f64 {
        let half = 0.5 * libm::sin(STEP_RAD);
        (0..RAYS).map(|k| half * self.radii[k] * self.radii[(k + 1) % RAYS]).sum()
    }

    /// Everything within `gap_mm` of it.
    ///
    /// # Errors
    /// When a radius is not finite.
    pub(crate) fn grown(&self, gap_mm: f64) -> Result<Star, OutlineError> {
        if self.is_empty() {
            return Ok(Star::empty());
        }
        let loops = inset(&[self.points()], -gap_mm)?;
        let edges: Vec<[DVec2; 2]> =
            loops.iter().flat_map(|l| (0..l.len()).map(|i| [l[i], l[(i + 1) % l.len()]])).collect();
        Ok(Star::around(&edges))
    }

    /// The way that it takes through a half which is put on along `+side` or `-side`: everything between it and the line
    /// through the middle square to `side`.
    pub(crate) fn dropped(&self, side: DVec2) -> Star {
        let level = DVec2::new(side.y, -side.x);
        let mut edges = self.edges();
        for p in self.points() {
            edges.push([p, level * p.dot(level)]);
        }
        let foot: Vec<DVec2> = self.points().iter().map(|p| level * p.dot(level)).collect();
        let own = self.points();
        // The area under each edge: its four sides.
        for k in 0..RAYS {
            let next = (k + 1) % RAYS;
            edges.push([foot[k], foot[next]]);
            edges.push([own[k], foot[k]]);
        }
        Star::around(&edges)
    }
}

/// Radii where the edge from p to q crosses the angles between them.
fn cross(radii: &mut [f64], p: DVec2, q: DVec2, from: f64, to: f64) {
    let all = RAYS as f64;
    // The short way round.
    let mut span = to - from;
    if span > all / 2.0 {
        span -= all;
    } else if span < -all / 2.0 {
        span += all;
    }
    let (low, high) = if span < 0.0 { (from + span, from) } else { (from, from + span) };
    let along = q - p;
    let most = p.length().max(q.length());
    let area = p.perp_dot(along);
    for k in low.ceil() as i64..=high.floor() as i64 {
        let k = k.rem_euclid(RAYS as i64) as usize;
        let slope = ray(k).perp_dot(along);
        // An edge that runs along the ray reaches as far as its farther end.
        let r = if slope.abs() > 1e-12 { (area / slope).clamp(0.0, most) } else { most };
        radii[k] = radii[k].max(r);
    }
}

/// Lifts the chord over a corner at `turn` until the corner is not beyond it.
fn raise(radii: &mut [f64], r: f64, turn: f64) {
    let k = (turn.floor() as usize) % RAYS;
    let next = (k + 1) % RAYS;
    let (a, b) = (radii[k], radii[next]);
    let (before, after) = ((turn - turn.floor()) * STEP_RAD, (1.0 - (turn - turn.floor())) * STEP_RAD);
    let chord = if a > 0.0 && b > 0.0 {
        a * b * libm::sin(STEP_RAD) / (a * libm::sin(before) + b * libm::sin(after))
    } else {
        0.0
    };
    if r > chord {
        let outside = r / libm::cos(STEP_RAD / 2.0);
        let lift = r / chord;
        // A chord that runs almost through the middle can't be lifted: its ends would fly off.
        if a.max(b) * lift <= 2.0 * outside {
            radii[k] = a * lift;
            radii[next] = b * lift;
        } else {
            radii[k] = a.max(outside);
            radii[next] = b.max(outside);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use solid::section::{distance_to, point_in};

    fn closed(points: &[DVec2]) -> Vec<[DVec2; 2]> {
        (0..points.len()).map(|i| [points[i], points[(i + 1) % points.len()]]).collect()
    }

    #[test]
    fn a_star_holds_a_box_and_hardly_more() {
        let corners = [(30.0, -5.3), (30.0, 5.3), (-30.0, 5.3), (-30.0, -5.3)].map(DVec2::from);
        let star = Star::around(&closed(&corners));
        let outline = vec![star.points()];
        for c in corners {
            assert!(point_in(&outline, c * 0.999_999), "{c}");
        }
        assert!(star.area_mm2() >= 60.0 * 10.6 - 1e-9 && star.area_mm2() < 60.0 * 10.6 * 1.002, "{}", star.area_mm2());
        // Grown by a gap, every side is that far off.
        let grown = vec![star.grown(0.25).unwrap().points()];
        for e in closed(&corners) {
            for k in 0..=20 {
                let gap = distance_to(&grown, e[0].lerp(e[1], f64::from(k) / 20.0));
                assert!((0.249..0.6).contains(&gap), "{gap}");
            }
        }
    }

    #[test]
    fn what_lies_beside_the_middle_is_held_too() {
        let corners = [(10.0, 8.0), (14.0, 8.0), (14.0, 12.0), (10.0, 12.0)].map(DVec2::from);
        let outline = vec![Star::around(&closed(&corners)).points()];
        for c in corners {
            let inwards = (DVec2::new(12.0, 10.0) - c) * 1e-6;
            assert!(point_in(&outline, c + inwards), "{c}");
        }
        assert!(Star::around(&[]).is_empty());
    }

    #[test]
    fn an_edge_through_the_middle_makes_no_spikes() {
        // Rounding leaves a radius of next to nothing on one side of it.
        let edges = [[(-12.0, 1e-15), (9.0, -1e-15)], [(9.0, 0.1), (9.0, -1e-15)]].map(|e| e.map(DVec2::from));
        let star = Star::around(&edges);
        assert!(star.radii.iter().all(|r| (0.0..=24.1).contains(r)), "{}", star.reach_mm());
        // A radius of next to nothing at the next angle, and a corner between the two.
        let mut radii = vec![0.0; RAYS];
        (radii[0], radii[1]) = (10.0, 1e-15);
        raise(&mut radii, 10.0, 0.5);
        assert!(radii[0] >= 10.0 && radii[1] >= 10.0 && radii[0].max(radii[1]) < 10.01, "{:?}", &radii[..2]);
    }

    #[test]
    fn a_half_admits_what_is_wider_further_in() {
        // An hourglass: 20 wide above and below, 4 wide in the middle. A half must be 20 wide down to the middle.
        let waist = [(10.0, 10.0), (-10.0, 10.0), (-2.0, 0.0), (-10.0, -10.0), (10.0, -10.0), (2.0, 0.0)];
        let star = Star::around(&closed(&waist.map(DVec2::from))).dropped(DVec2::Y);
        assert!((star.area_mm2() - 400.0).abs() < 2.0, "{}", star.area_mm2());
        let flat = Star::around(&closed(&[(10.0, 1.0), (-10.0, 1.0), (-10.0, -1.0), (10.0, -1.0)].map(DVec2::from)));
        assert!((39.9..42.0).contains(&flat.dropped(DVec2::Y).area_mm2()), "{}", flat.dropped(DVec2::Y).area_mm2());
    }
}
