//! What the prop comes to when it is taken apart: at joints that are made for it, or at ones that would have to be.

use crate::outcome::{Joint, Outcome};
use solid::{DMat3, DVec3};
use std::collections::BTreeMap;

/// Joints opened beside those that come apart, at most.
const MOST: usize = 3;

/// A part of the prop that holds together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Portion {
    /// Stations it spans: from, to.
    pub station_mm: [f64; 2],
    /// Its box: along, and square to that the larger and the smaller measure, mm.
    pub box_mm: [f64; 3],
}

/// How the prop is made to fit.
#[derive(Clone, Debug, PartialEq)]
pub enum Fit {
    /// As it is.
    Whole(Portion),
    /// Taken apart at these joints, which are made for it.
    Apart(Vec<u32>, Vec<Portion>),
    /// It would, were these joints made to come apart too.
    WouldApart(Vec<u32>, Vec<Portion>),
    /// Not even then: its parts at all joints that come apart.
    Never(Vec<Portion>),
}

/// Joints that are opened, and the parts that leaves.
type Opened = (Vec<u32>, Vec<Portion>);

/// The prop with its pieces where they belong.
pub struct Whole<'a> {
    outcome: &'a Outcome,
    /// Vertices of each piece, prop frame.
    pieces: Vec<(f64, Vec<DVec3>)>,
    known: std::cell::RefCell<BTreeMap<[u32; 2], Portion>>,
}

impl<'a> Whole<'a> {
    /// Lays the pieces back into the prop.
    pub fn of(outcome: &'a Outcome) -> Whole<'a> {
        let laid = |p: &crate::outcome::Piece| {
            let middle = 0.5 * (p.station_mm[0] + p.station_mm[1]);
            (middle, p.mesh.vertices.iter().map(|v| p.to_prop.transform_point3(*v)).collect())
        };
        Whole { outcome, pieces: outcome.pieces.iter().map(laid).collect(), known: Default::default() }
    }

    /// The whole prop.
    pub fn whole(&self) -> Portion {
        self.portion(None, None)
    }

    /// The parts between joints, by station.
    pub fn portions(&self, open: &[&Joint]) -> Vec<Portion> {
        let mut open = open.to_vec();
        open.sort_by(|a, b| a.frame.station_mm.total_cmp(&b.frame.station_mm));
        let ends: Vec<Option<&Joint>> = std::iter::once(None).chain(open.into_iter().map(Some)).collect();
        (0..ends.len()).map(|k| self.portion(ends[k], ends.get(k + 1).copied().flatten())).collect()
    }

    /// The fewest joints to be opened so that every part fits: none, ones that come apart, then others, those where no strip runs
    /// first; of equal ones, those that leave the shortest parts.
    pub fn fit(&self, fits: &dyn Fn(&Portion) -> bool) -> Fit {
        let whole = self.whole();
        if fits(&whole) {
            return Fit::Whole(whole);
        }
        let (dry, glued): (Vec<&Joint>, Vec<&Joint>) = self.outcome.joints.iter().partition(|j| j.kind.comes_apart());
        if let Some((joints, parts)) = self.fewest(&[], &dry, dry.len().min(MOST), fits) {
            return Fit::Apart(joints, parts);
        }
        let all_dry = self.portions(&dry);
        if all_dry.iter().all(fits) {
            return Fit::Apart(dry.iter().map(|j| j.number).collect(), all_dry);
        }
        match self.fewest(&dry, &glued, glued.len().min(MOST), fits) {
            Some((joints, parts)) => Fit::WouldApart(joints, parts),
            None => Fit::Never(all_dry),
        }
    }

    /// The fewest of some joints that make every part fit when they are opened beside others.
    fn fewest(
        &self,
        beside: &[&Joint],
        among: &[&Joint],
        most: usize,
        fits: &dyn Fn(&Portion) -> bool,
    ) -> Option<Opened> {
        for count in 1..=most {
            let mut best: Option<((usize, f64), Opened)> = None;
            for chosen in combinations(among.len(), count) {
                let chosen: Vec<&Joint> = chosen.into_iter().map(|k| among[k]).collect();
                let open: Vec<&Joint> = beside.iter().chain(&chosen).copied().collect();
                let parts = self.portions(&open);
                if !parts.iter().all(fits) {
                    continue;
                }
                let lit = chosen.iter().filter(|j| self.strip_at(j.frame.station_mm)).count();
                let longest = parts.iter().map(|p| p.box_mm[0]).fold(0.0, f64::max);
                let better = best.as_ref().is_none_or(|b| (lit, longest) < b.0);
                if better {
                    best = Some(((lit, longest), (chosen.iter().map(|j| j.number).collect(), parts)));
                }
            }
            if let Some((_, opened)) = best {
                return Some(opened);
            }
        }
        None
    }

    /// Whether a strip runs through a station.
    pub fn strip_at(&self, station_mm: f64) -> bool {
        self.outcome.strips.iter().any(|s| s.station_mm[0] < station_mm && station_mm < s.station_mm[1])
    }

    fn portion(&self, from: Option<&Joint>, to: Option<&Joint>) -> Portion {
        let key = [from.map_or(0, |j| j.number), to.map_or(0, |j| j.number)];
        if let Some(known) = self.known.borrow().get(&key) {
            return *known;
        }
        let at = |j: Option<&Joint>, end: f64| j.map_or(end, |j| j.frame.station_mm);
        let station_mm = [at(from, 0.0), at(to, self.outcome.path.length_mm())];
        let span = [at(from, f64::NEG_INFINITY), at(to, f64::INFINITY)];
        let path = &self.outcome.path;
        let long = (path.point(station_mm[1]) - path.point(station_mm[0])).normalize_or(DVec3::X);
        let through = long.cross(DVec3::Y).normalize_or(DVec3::Z);
        let turn = DMat3::from_cols(long, through.cross(long), through).transpose();
        let inside = self.pieces.iter().filter(|p| span[0] <= p.0 && p.0 < span[1]).flat_map(|p| &p.1);
        let size = solid::DVec3::ZERO.max(bounds(inside.map(|v| turn * *v)));
        // The bar that is left standing out of the butt side, or out of the tip side where it is less than nothing.
        let stands = |j: Option<&Joint>, sign: f64| {
            j.and_then(|j| j.take_down.as_ref()).map_or(0.0, |t| (sign * t.rod_stands_mm).max(0.0))
        };
        let reach = |j: Option<&Joint>| j.and_then(|j| j.take_down.as_ref()).map_or(0.0, |t| t.reach_mm);
        // Where the plug reaches further than the bar, it is in the pieces already.
        let more = [(from, -1.0), (to, 1.0)].map(|(j, sign)| (stands(j, sign) - reach(j)).max(0.0));
        let portion =
            Portion { station_mm, box_mm: [size.x + more[0] + more[1], size.y.max(size.z), size.y.min(size.z)] };
        self.known.borrow_mut().insert(key, portion);
        portion
    }
}

fn bounds(points: impl Iterator<Item = DVec3>) -> DVec3 {
    solid::Bounds::of(points).map_or(DVec3::ZERO, |b| b.size())
}

/// Every way to choose so many of so many, in order.
fn combinations(of: usize, count: usize) -> Vec<Vec<usize>> {
    if count == 0 {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for last in count - 1..of {
        for mut rest in combinations(last, count - 1) {
            rest.push(last);
            all.push(rest);
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn choices_are_all_there_once() {
        assert_eq!(combinations(4, 2), [[0, 1], [0, 2], [1, 2], [0, 3], [1, 3], [2, 3]]);
        assert_eq!(combinations(12, 3).len(), 220);
        assert_eq!(combinations(2, 3).len(), 0);
    }
}
