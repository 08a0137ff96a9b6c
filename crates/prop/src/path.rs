//! The centre path: the line through the middle of the prop along which stations are counted.

use solid::{DMat3, DVec3};

/// A polyline through the prop from butt to tip, in the prop frame. A **station** is the distance along it, mm.
#[derive(Clone, Debug, PartialEq)]
pub struct CentrePath {
    points: Vec<DVec3>,
    stations_mm: Vec<f64>,
}

/// A place on the path with its directions: an orthonormal right-handed frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PathFrame {
    /// Distance from the butt, mm.
    pub station_mm: f64,
    /// The point on the path, prop frame.
    pub point: DVec3,
    /// Towards the tip.
    pub along: DVec3,
    /// Across the width (near +y).
    pub across: DVec3,
    /// Through the thickness (near +z).
    pub through: DVec3,
}

impl PathFrame {
    /// Rotation whose columns are across, through, along: takes a drawing of the section to the prop frame.
    pub fn basis(&self) -> DMat3 {
        DMat3::from_cols(self.across, self.through, self.along)
    }
}

impl CentrePath {
    /// A path through at least two points that advance along +x. `None` when they do not, or are not finite.
    pub fn new(points: Vec<DVec3>) -> Option<CentrePath> {
        if points.len() < 2 || points.windows(2).any(|w| w[1].x <= w[0].x) || points.iter().any(|p| !p.is_finite()) {
            return None;
        }
        let mut stations_mm = vec![0.0];
        for w in points.windows(2) {
            stations_mm.push(stations_mm[stations_mm.len() - 1] + (w[1] - w[0]).length());
        }
        Some(CentrePath { points, stations_mm })
    }

    /// The points, butt first.
    pub fn points(&self) -> &[DVec3] {
        &self.points
    }

    /// Length along the path, mm: the station of the tip.
    pub fn length_mm(&self) -> f64 {
        self.stations_mm[self.stations_mm.len() - 1]
    }

    fn segment(&self, station_mm: f64) -> usize {
        self.stations_mm.partition_point(|s| *s <= station_mm).clamp(1, self.points.len() - 1) - 1
    }

    /// The point at a station; beyond the ends, on the straight continuation.
    pub fn point(&self, station_mm: f64) -> DVec3 {
        let i = self.segment(station_mm);
        let (a, b) = (self.points[i], self.points[i + 1]);
        let (s, e) = (self.stations_mm[i], self.stations_mm[i + 1]);
        a + (b - a) * ((station_mm - s) / (e - s))
    }

    /// The place at a station with its directions. The direction along is the chord over 2 mm to either side, so that it
    /// turns smoothly at the polyline's corners; `across` is as near +y as it can be.
    pub fn frame(&self, station_mm: f64) -> PathFrame {
        let along = (self.point(station_mm + 2.0) - self.point(station_mm - 2.0)).normalize();
        let through = along.cross(DVec3::Y).normalize();
        PathFrame { station_mm, point: self.point(station_mm), along, across: through.cross(along), through }
    }

    /// The station of the path's nearest point to `p`, mm.
    pub fn station_of(&self, p: DVec3) -> f64 {
        let mut best = (f64::INFINITY, 0.0);
        let last = self.points.len() - 2;
        // No point of the path is nearer than its x is to p's: what lies further off than the point at p's own x is not asked.
        let k = self.points.partition_point(|q| q.x <= p.x).clamp(1, last + 1) - 1;
        let (a, b) = (self.points[k], self.points[k + 1]);
        let reach = (a + (b - a) * ((p.x - a.x) / (b.x - a.x)) - p).length();
        let first = self.points.partition_point(|q| q.x < p.x - reach).clamp(1, last + 1) - 1;
        for i in first..=last {
            if i > first && self.points[i].x > p.x + reach {
                break;
            }
            let (a, b) = (self.points[i], self.points[i + 1]);
            let along = (b - a).length_squared();
            let mut f = (p - a).dot(b - a) / along;
            // The ends run on straight, so that points before the butt or past the tip keep their place.
            if i > 0 {
                f = f.max(0.0);
            }
            if i < last {
                f = f.min(1.0);
            }
            let d = (p - (a + (b - a) * f)).length_squared();
            if d < best.0 {
                best = (d, self.stations_mm[i] + f * (self.stations_mm[i + 1] - self.stations_mm[i]));
            }
        }
        best.1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stations_are_arc_length() {
        let path =
            CentrePath::new(vec![DVec3::ZERO, DVec3::new(30.0, 40.0, 0.0), DVec3::new(130.0, 40.0, 0.0)]).unwrap();
        assert_eq!(path.length_mm(), 150.0);
        assert_eq!(path.point(100.0), DVec3::new(80.0, 40.0, 0.0));
        assert!((path.station_of(DVec3::new(80.0, 47.0, 3.0)) - 100.0).abs() < 1e-9);
        assert!((path.station_of(DVec3::new(150.0, 40.0, 0.0)) - 170.0).abs() < 1e-9);
    }

    /// Against the nearest of very many points.
    #[test]
    fn the_nearest_point_is_found_on_a_bent_path() {
        let bent =
            (0..60).map(|i| f64::from(i) * 10.0).map(|x| DVec3::new(x, 60.0 * libm::sin(x / 90.0), x * x / 9000.0));
        let path = CentrePath::new(bent.collect()).unwrap();
        for i in 0..400 {
            let (a, b) = (f64::from(i) * 0.37, f64::from(i % 17) * 9.0 - 70.0);
            let p = DVec3::new(f64::from(i) * 1.7 - 40.0, b, 30.0 * libm::cos(a));
            let steps = (-600..=7500).map(|k| f64::from(k) * 0.1);
            let nearest = |s: &f64| (path.point(*s) - p).length();
            let best = steps.map(|s| nearest(&s)).fold(f64::INFINITY, f64::min);
            assert!(nearest(&path.station_of(p)) <= best + 1e-3, "{p}");
        }
    }

    #[test]
    fn frames_are_right_handed_and_orthonormal() {
        let path =
            CentrePath::new((0..50).map(|i| DVec3::new(f64::from(i) * 10.0, f64::from(i * i) * 0.05, 0.0)).collect());
        let frame = path.unwrap().frame(300.0);
        assert!((frame.basis().determinant() - 1.0).abs() < 1e-12);
        assert!(frame.across.y > 0.9 && frame.through.z > 0.99);
    }

    #[test]
    fn a_path_must_advance() {
        assert!(CentrePath::new(vec![DVec3::ZERO]).is_none());
        assert!(CentrePath::new(vec![DVec3::ZERO, DVec3::NEG_X]).is_none());
        assert!(CentrePath::new(vec![DVec3::ZERO, DVec3::new(f64::NAN, 0.0, 0.0)]).is_none());
    }
}
