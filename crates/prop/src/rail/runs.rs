//! The rail's way through the prop: straight runs that stay inside the cavity, as few as will do.
//!
//! A stiff spine only slides into a straight slot. In a curved body the rail therefore follows the centre path as a chain
//! of straight runs: one, when a straight line stays inside; otherwise the fewest, one length of spine to each.

use crate::path::CentrePath;
use rayon::prelude::*;
use solid::{DAffine3, DMat3, DVec2, DVec3};

/// A straight run of the rail.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Run {
    /// Middle of the spine at the butt-side end, prop frame.
    pub start: DVec3,
    /// Unit direction towards the tip.
    pub along: DVec3,
    /// Unit direction the strip faces.
    pub u: DVec3,
    /// Unit direction along the strip's width: along x u.
    pub v: DVec3,
    /// Length, mm.
    pub length_mm: f64,
    /// Stations on the centre path: from, to.
    pub station_mm: [f64; 2],
}

impl Run {
    /// Takes a section drawing (u, v, distance from the run's start) to the prop frame.
    pub fn place(&self) -> DAffine3 {
        DAffine3::from_mat3_translation(DMat3::from_cols(self.u, self.v, self.along), self.start)
    }

    /// A point of the section at a distance from the run's start.
    pub fn point(&self, section: DVec2, distance_mm: f64) -> DVec3 {
        self.start + self.along * distance_mm + self.u * section.x + self.v * section.y
    }
}

/// The rail's way: straight runs end to end, mitred where they meet.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// Runs from the butt; at least one.
    pub runs: Vec<Run>,
}

/// What the search for runs needs.
pub struct RunSearch<'a> {
    /// The centre path that runs keep near to.
    pub path: &'a CentrePath,
    /// Stations to span, mm.
    pub from_mm: f64,
    /// See `from_mm`.
    pub to_mm: f64,
    /// Whether strips face across (true) or through.
    pub faces_across: bool,
    /// Whether everything that has to fit at this station does, with the spine's middle at this point and these
    /// directions u, v.
    pub fits: &'a (dyn Fn(f64, DVec3, DVec3, DVec3) -> bool + Sync),
}

/// Distance between the places where runs may meet, mm.
const MEET_STEP_MM: f64 = 30.0;
/// Distance between the places where a run is tried for fit, mm: fine enough to meet every blade of relief.
const TRY_STEP_MM: f64 = 1.5;

/// The fewest straight runs between points of the centre path that fit everywhere, by dynamic programming; among equals
/// the one whose shortest run is longest. `None` when even short runs along the path don't fit.
pub fn find_way(search: &RunSearch) -> Option<Way> {
    let span = search.to_mm - search.from_mm;
    if span.is_nan() || span <= 0.0 {
        return None;
    }
    let steps = (span / MEET_STEP_MM).ceil().max(1.0) as usize;
    let at: Vec<f64> = (0..=steps).map(|i| search.from_mm + span * i as f64 / steps as f64).collect();
    // reach[i]: for each later meeting place, whether a straight run from i fits.
    let reach: Vec<Vec<bool>> =
        (0..steps).into_par_iter().map(|i| (i + 1..=steps).map(|j| run_fits(search, at[i], at[j])).collect()).collect();
    // best[j]: (runs, shortest run negated, previous place)
    let mut best: Vec<Option<(usize, f64, usize)>> = vec![None; steps + 1];
    best[0] = Some((0, f64::NEG_INFINITY, 0));
    for j in 1..=steps {
        for i in 0..j {
            let Some((runs, shortest, _)) = best[i] else { continue };
            if !reach[i][j - i - 1] {
                continue;
            }
            let candidate = (runs + 1, shortest.max(at[i] - at[j]), i);
            if best[j].is_none_or(|b| (candidate.0, candidate.1) < (b.0, b.1)) {
                best[j] = Some(candidate);
            }
        }
    }
    let mut corners = vec![steps];
    let mut j = steps;
    while j > 0 {
        j = best[j]?.2;
        corners.push(j);
    }
    corners.reverse();
    let stations: Vec<f64> = corners.into_iter().map(|c| at[c]).collect();
    Some(way_through(search.path, &stations, search.faces_across))
}

fn run_fits(search: &RunSearch, from_mm: f64, to_mm: f64) -> bool {
    let run = way_through(search.path, &[from_mm, to_mm], search.faces_across).runs[0];
    let tries = (run.length_mm / TRY_STEP_MM).ceil().max(1.0) as usize;
    (0..=tries).all(|k| {
        let share = k as f64 / tries as f64;
        let point = run.start + run.along * (run.length_mm * share);
        (search.fits)(from_mm + (to_mm - from_mm) * share, point, run.u, run.v)
    })
}

/// Straight runs through points of the centre path. Each run's directions are its predecessor's under the smallest turn
/// that takes one direction to the next, so that mitred sections meet exactly.
pub fn way_through(path: &CentrePath, stations_mm: &[f64], faces_across: bool) -> Way {
    let mut runs: Vec<Run> = Vec::new();
    for ends in stations_mm.windows(2) {
        let (a, b) = (path.point(ends[0]), path.point(ends[1]));
        let along = (b - a).normalize();
        let u = match runs.last() {
            Some(last) => smallest_turn(last.along, along, last.u),
            None if faces_across => (DVec3::Y - along * along.y).normalize(),
            None => (DVec3::Z - along * along.z).normalize(),
        };
        let u = (u - along * u.dot(along)).normalize();
        runs.push(Run {
            start: a,
            along,
            u,
            v: along.cross(u),
            length_mm: (b - a).length(),
            station_mm: [ends[0], ends[1]],
        });
    }
    Way { runs }
}

/// Turns `v` by the smallest rotation that takes unit `from` to unit `to` (Rodrigues' formula).
fn smallest_turn(from: DVec3, to: DVec3, v: DVec3) -> DVec3 {
    let axis = from.cross(to);
    let cosine = from.dot(to);
    v * cosine + axis.cross(v) + axis * (axis.dot(v) / (1.0 + cosine))
}

impl Way {
    /// Whole length along the runs, mm.
    pub fn length_mm(&self) -> f64 {
        self.runs.iter().map(|r| r.length_mm).sum()
    }

    /// The run and the distance from its start for a distance along the whole way; beyond the ends, on the first or last run.
    pub fn locate(&self, distance_mm: f64) -> (&Run, f64) {
        let mut rest = distance_mm;
        for run in &self.runs {
            if rest <= run.length_mm {
                return (run, rest);
            }
            rest -= run.length_mm;
        }
        let last = &self.runs[self.runs.len() - 1];
        (last, rest + last.length_mm)
    }

    /// Distance along the whole way at a station of the centre path (linear within a run).
    pub fn distance_at(&self, station_mm: f64) -> f64 {
        let mut done = 0.0;
        for (i, run) in self.runs.iter().enumerate() {
            let [from, to] = run.station_mm;
            if station_mm <= to || i + 1 == self.runs.len() {
                return done + (station_mm - from) / (to - from) * run.length_mm;
            }
            done += run.length_mm;
        }
        done
    }

    /// Station of the centre path at a distance along the way.
    pub fn station_at(&self, distance_mm: f64) -> f64 {
        let (run, d) = self.locate(distance_mm);
        run.station_mm[0] + d / run.length_mm * (run.station_mm[1] - run.station_mm[0])
    }

    /// Rings of a section outline swept along the way from one distance to another, mitred at the meeting places: ready to
    /// be lofted into a solid.
    pub fn rings(&self, outline: &[DVec2], from_mm: f64, to_mm: f64) -> Vec<Vec<DVec3>> {
        let (first, first_d) = self.locate(from_mm);
        let mut rings = vec![outline.iter().map(|p| first.point(*p, first_d)).collect::<Vec<_>>()];
        let mut done = 0.0;
        for pair in self.runs.windows(2) {
            done += pair[0].length_mm;
            if done <= from_mm + 1e-9 || done >= to_mm - 1e-9 {
                continue;
            }
            let meet = pair[1].start;
            let mitre = (pair[0].along + pair[1].along).normalize();
            rings.push(
                outline
                    .iter()
                    .map(|p| {
                        let q = pair[0].point(*p, pair[0].length_mm);
                        q - pair[0].along * ((q - meet).dot(mitre) / pair[0].along.dot(mitre))
                    })
                    .collect(),
            );
        }
        let (last, last_d) = self.locate(to_mm);
        rings.push(outline.iter().map(|p| last.point(*p, last_d)).collect());
        rings
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An arc of 5 m radius, 1 m long, bowed towards +y.
    fn bowed() -> CentrePath {
        let points = (0..=100)
            .map(|i| {
                let x = f64::from(i) * 10.0;
                DVec3::new(x, (x - 500.0) * (x - 500.0) / 10_000.0, 0.0)
            })
            .collect();
        CentrePath::new(points).unwrap()
    }

    fn way(room_mm: f64) -> Option<Way> {
        let path = bowed();
        let fits = |station: f64, p: DVec3, _: DVec3, _: DVec3| (p - path.point(station)).length() <= room_mm;
        find_way(&RunSearch { path: &path, from_mm: 0.0, to_mm: path.length_mm(), faces_across: true, fits: &fits })
    }

    #[test]
    fn runs_are_as_few_as_the_sagitta_asks() {
        // A chord of length L in an arc of radius R bows by L^2 / 8R: one run needs 25 mm of room, two 6.25, four 1.56.
        assert_eq!(way(25.5).unwrap().runs.len(), 1);
        assert_eq!(way(6.6).unwrap().runs.len(), 2);
        assert_eq!(way(1.9).unwrap().runs.len(), 4);
        assert!(way(-1.0).is_none());
    }

    #[test]
    fn mitred_rings_lie_on_both_runs() {
        let w = way(6.6).unwrap();
        let square = [DVec2::new(-2.0, -6.0), DVec2::new(2.0, -6.0), DVec2::new(2.0, 6.0), DVec2::new(-2.0, 6.0)];
        let rings = w.rings(&square, 5.0, w.length_mm() - 5.0);
        assert_eq!(rings.len(), 3);
        let second = &w.runs[1];
        for (k, p) in rings[1].iter().enumerate() {
            let local = second.place().inverse().transform_point3(*p);
            assert!((local.x - square[k].x).abs() < 1e-9 && (local.y - square[k].y).abs() < 1e-9, "{local}");
        }
    }

    #[test]
    fn distances_and_stations_agree() {
        let w = way(1.9).unwrap();
        for s in [0.0, 123.0, 500.0, 999.0] {
            assert!((w.station_at(w.distance_at(s)) - s).abs() < 1e-9);
        }
        assert!(w.runs.iter().all(|r| (r.u.cross(r.v) - r.along).length() < 1e-9));
    }
}
