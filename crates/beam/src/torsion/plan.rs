//! A first net through the outlines: which region or emptiness each of its triangles lies in.

use glam::DVec2;
use solid::section::point_in;
use spade::Triangulation;

use super::TorsionError;
use super::mesh::{Net, TOUCH_MM};
use crate::section::Region;

/// Triangles lower than this are rounding along a straight outline, not material.
const FLAT_MM: f64 = 1e-7;

/// Every triangle of the net, with material or empty.
pub(super) struct Plan {
    pub(super) points: Vec<DVec2>,
    corners: Vec<[usize; 3]>,
    region: Vec<Option<usize>>,
    /// The triangle across each side 0-1, 1-2, 2-0; `None` outside the net.
    across: Vec<[Option<usize>; 3]>,
}

/// The lower number first.
pub(super) fn side(a: usize, b: usize) -> [usize; 2] {
    [a.min(b), a.max(b)]
}

impl Plan {
    pub(super) fn new(net: &Net, regions: &[Region]) -> Result<Self, TorsionError> {
        let points = net.vertices().map(|v| DVec2::new(v.position().x, v.position().y)).collect();
        let faces = net.num_inner_faces();
        let mut found = Self {
            points,
            corners: Vec::with_capacity(faces),
            region: Vec::with_capacity(faces),
            across: Vec::with_capacity(faces),
        };
        // Face 0 is the outer one: inner ones count from 1.
        for face in net.inner_faces() {
            let corners = face.vertices().map(|v| v.fix().index());
            let sides = face.adjacent_edges();
            found.corners.push(corners);
            found.across.push(sides.map(|e| e.rev().face().as_inner().map(|f| f.fix().index() - 1)));
            let middle = corners.iter().map(|&c| found.points[c]).sum::<DVec2>() / 3.0;
            let mut holders = (0..regions.len()).filter(|&r| covers(&regions[r], middle));
            let first = holders.next();
            let [a, b, c] = corners.map(|c| found.points[c]);
            let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
            let height = (b - a).perp_dot(c - a).abs() / longest;
            let high = height > 2.0 * TOUCH_MM;
            if let (Some(first), Some(second), true) = (first, holders.next(), high) {
                return Err(TorsionError::Overlap { first, second, at_mm: middle });
            }
            found.region.push(first.filter(|_| height > FLAT_MM));
        }
        Ok(found)
    }

    fn area(&self, triangle: usize) -> f64 {
        let [a, b, c] = self.corners[triangle].map(|c| self.points[c]);
        0.5 * (b - a).perp_dot(c - a).abs()
    }

    pub(super) fn solid_area_mm2(&self) -> f64 {
        (0..self.corners.len()).filter(|&t| self.region[t].is_some()).map(|t| self.area(t)).sum()
    }

    /// Sides with the region on one hand only, each once.
    pub(super) fn sides_of(&self, region: usize) -> Vec<[usize; 2]> {
        let mine = |t: Option<usize>| t.is_some_and(|t| self.region[t] == Some(region));
        let all = (0..self.corners.len()).filter(|&t| mine(Some(t)));
        all.flat_map(|t| self.sides(t).filter(|(_, across)| !mine(*across))).map(|(side, _)| side).collect()
    }

    /// Sides of a triangle with what lies across.
    fn sides(&self, triangle: usize) -> impl Iterator<Item = ([usize; 2], Option<usize>)> {
        let ([a, b, c], across) = (self.corners[triangle], self.across[triangle]);
        [side(a, b), side(b, c), side(c, a)].into_iter().zip(across)
    }

    /// The area of each emptiness, the outside (number 0) as nothing; and the sides of material with the emptiness they
    /// border on.
    pub(super) fn voids(&self) -> (Vec<f64>, Vec<([usize; 2], usize)>) {
        let mut of = vec![None; self.corners.len()];
        let mut areas = vec![0.0];
        let is_rim = |t: usize| self.across[t].contains(&None);
        let empty: Vec<usize> = (0..self.corners.len()).filter(|&t| self.region[t].is_none()).collect();
        let starts = empty.iter().filter(|t| is_rim(**t)).chain(empty.iter().filter(|t| !is_rim(**t)));
        for &start in starts {
            if of[start].is_some() {
                continue;
            }
            let void = if is_rim(start) { 0 } else { areas.len() };
            let (mut open, mut area) = (vec![start], 0.0);
            of[start] = Some(void);
            while let Some(t) = open.pop() {
                area += self.area(t);
                for next in self.across[t].into_iter().flatten() {
                    if self.region[next].is_none() && of[next].is_none() {
                        of[next] = Some(void);
                        open.push(next);
                    }
                }
            }
            if void > 0 {
                areas.push(area);
            }
        }
        let mut touched = Vec::new();
        for t in (0..self.corners.len()).filter(|&t| self.region[t].is_some()) {
            for (side, across) in self.sides(t) {
                if let Some(void) = across.map_or(Some(0), |t| of[t]) {
                    touched.push((side, void));
                }
            }
        }
        (areas, touched)
    }
}

fn covers(region: &Region, at: DVec2) -> bool {
    let inside = |l: &Vec<DVec2>| point_in(std::slice::from_ref(l), at);
    region.outlines.iter().any(|o| inside(&o.outer) && !o.holes.iter().any(inside))
}
