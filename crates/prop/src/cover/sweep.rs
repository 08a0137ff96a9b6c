//! What a cover passes on its way: the core in path coordinates, and the bore that admits all of it.

use super::star::{RAYS, Star, ray};
use crate::outcome::Body;
use crate::path::{CentrePath, PathFrame};
use rayon::prelude::*;
use solid::section::OutlineError;
use solid::{DVec2, DVec3, Mesh, loft};

/// Length of the slabs that core and bore are measured in, mm.
pub(crate) const SLAB_MM: f64 = 0.5;
/// Edges longer than this along the prop are halved before they are laid straight along the path, mm.
const STRAIGHT_MM: f64 = 4.0;
/// Two outlines that differ by less than this count as one; the bore is that much wider, mm.
const SAME_MM: f64 = 0.01;
/// Rings of the bore within this of the straight line between their neighbours are left out; the bore is that much
/// wider, mm.
const THIN_MM: f64 = 0.004;
/// How far the bore runs on beyond the cover, mm.
const BEYOND_MM: f64 = 1.5;

/// The core as outlines in slabs along the path.
pub(crate) struct Core {
    /// Index of the first slab: it begins at this times [`SLAB_MM`].
    first: i64,
    /// One outline for each slab, in the path's frame at the slab's middle.
    slabs: Vec<Star>,
    /// Where the core begins and ends, mm.
    pub(crate) ends_mm: [f64; 2],
}

/// Triangles with their corners as (station, across, through).
#[derive(Default)]
struct Straight {
    points: Vec<DVec3>,
    triangles: Vec<[u32; 3]>,
}

fn straighten(path: &CentrePath, p: DVec3) -> DVec3 {
    let station = path.station_of(p);
    let frame = path.frame(station);
    let off = p - frame.point;
    DVec3::new(station, off.dot(frame.across), off.dot(frame.through))
}

impl Straight {
    fn of(bodies: &[&Body], path: &CentrePath) -> Straight {
        let mut all = Straight::default();
        for body in bodies {
            let base = all.points.len() as u32;
            let points: Vec<DVec3> = body.mesh.vertices.par_iter().map(|v| straighten(path, *v)).collect();
            all.points.extend(points);
            for (t, triangle) in body.mesh.triangles.iter().enumerate() {
                let corners = body.mesh.corners(t);
                if span(corners) <= STRAIGHT_MM {
                    all.triangles.push(triangle.map(|v| v + base));
                } else {
                    all.halve(corners, path);
                }
            }
        }
        all
    }

    fn halve(&mut self, [a, b, c]: [DVec3; 3], path: &CentrePath) {
        let mut waiting = vec![[a, b, c]];
        while let Some([a, b, c]) = waiting.pop() {
            if span([a, b, c]) <= STRAIGHT_MM {
                let base = self.points.len() as u32;
                self.points.extend([a, b, c].map(|p| straighten(path, p)));
                self.triangles.push([base, base + 1, base + 2]);
                continue;
            }
            // At the edge that is longest along the prop.
            let along = [(a.x - b.x).abs(), (b.x - c.x).abs(), (c.x - a.x).abs()];
            let [p, q, r] = if along[0] >= along[1] && along[0] >= along[2] {
                [a, b, c]
            } else if along[1] >= along[2] {
                [b, c, a]
            } else {
                [c, a, b]
            };
            let middle = (p + q) / 2.0;
            waiting.push([p, middle, r]);
            waiting.push([middle, q, r]);
        }
    }
}

fn span([a, b, c]: [DVec3; 3]) -> f64 {
    a.x.max(b.x).max(c.x) - a.x.min(b.x).min(c.x)
}

impl Core {
    /// Measures the core bodies along the path; `None` without any.
    pub(crate) fn of(bodies: &[&Body], path: &CentrePath) -> Option<Core> {
        let straight = Straight::of(bodies, path);
        let ends_mm =
            straight.points.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[l, h], p| [l.min(p.x), h.max(p.x)]);
        if straight.triangles.is_empty() || !ends_mm.iter().all(|e| e.is_finite()) {
            return None;
        }
        let first = (ends_mm[0] / SLAB_MM).floor() as i64;
        let count = ((ends_mm[1] / SLAB_MM).floor() as i64 - first + 1) as usize;
        let mut bins: Vec<Vec<u32>> = vec![Vec::new(); count];
        for (t, triangle) in straight.triangles.iter().enumerate() {
            let corners = triangle.map(|v| straight.points[v as usize]);
            let low = corners[0].x.min(corners[1].x).min(corners[2].x);
            let high = corners[0].x.max(corners[1].x).max(corners[2].x);
            let bin = |x: f64| (((x / SLAB_MM).floor() as i64 - first).max(0) as usize).min(count - 1);
            for b in &mut bins[bin(low)..=bin(high)] {
                b.push(t as u32);
            }
        }
        let slabs = bins
            .par_iter()
            .enumerate()
            .map(|(b, list)| {
                let from = (first + b as i64) as f64 * SLAB_MM;
                let mut edges = Vec::new();
                for t in list {
                    let corners = straight.triangles[*t as usize].map(|v| straight.points[v as usize]);
                    clipped(corners, [from, from + SLAB_MM], &mut edges);
                }
                Star::around(&edges)
            })
            .collect();
        Some(Core { first, slabs, ends_mm })
    }

    fn slab(&self, index: i64) -> Option<&Star> {
        self.slabs.get(usize::try_from(index - self.first).ok()?)
    }

    fn last(&self) -> i64 {
        self.first + self.slabs.len() as i64 - 1
    }
}

/// Adds the outline of the part of a triangle between two stations, seen along the path.
fn clipped(corners: [DVec3; 3], [from, to]: [f64; 2], edges: &mut Vec<[DVec2; 2]>) {
    let mut polygon = corners.to_vec();
    for (at, sign) in [(from, 1.0), (to, -1.0)] {
        let mut kept = Vec::with_capacity(polygon.len() + 1);
        for i in 0..polygon.len() {
            let (p, q) = (polygon[i], polygon[(i + 1) % polygon.len()]);
            let (dp, dq) = ((p.x - at) * sign, (q.x - at) * sign);
            if dp >= 0.0 {
                kept.push(p);
            }
            if (dp > 0.0 && dq < 0.0) || (dp < 0.0 && dq > 0.0) {
                kept.push(p + (q - p) * (dp / (dp - dq)));
            }
        }
        polygon = kept;
    }
    let flat = |p: DVec3| DVec2::new(p.y, p.z);
    for i in 0..polygon.len() {
        edges.push([flat(polygon[i]), flat(polygon[(i + 1) % polygon.len()])]);
    }
}

/// Where a cover comes on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Entry {
    /// Over the butt.
    Butt,
    /// Over the tip.
    Tip,
    /// Over the end of the butt-side part of a joint (its index from 0) that is not glued yet, from the tip's side.
    OntoButtSide(usize),
    /// Over the end of the tip-side part of a joint (its index from 0), from the butt's side.
    OntoTipSide(usize),
    /// In halves, from both sides.
    Sides,
}

/// The bore of a cover: an outline in each slab of the cover, in the path's frame at the cover's middle.
#[derive(Clone, Debug)]
pub(crate) struct Bore {
    /// Frame at the cover's middle.
    pub(crate) frame: PathFrame,
    /// Index of the first slab, counted from the middle.
    first: i64,
    /// What must be admitted in each slab, without clearance.
    swept: Vec<Star>,
    /// Where the core begins and ends, counted from the middle, mm.
    core_mm: [f64; 2],
}

/// The station that slabs of a cover are counted from: near its middle, on the core's grid.
pub(crate) fn middle_mm(station_mm: [f64; 2]) -> f64 {
    ((station_mm[0] + station_mm[1]) / 2.0 / SLAB_MM).round() * SLAB_MM
}

/// How closely a bore is worked out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Care {
    /// As if the path were straight: to compare ways by.
    Rough,
    /// With every turn of the path.
    Exact,
}

/// The bore that a cover over `station_mm` needs to come on by `entry`; `joint_mm` is the joint's station.
pub(crate) fn bore(
    core: &Core,
    path: &CentrePath,
    station_mm: [f64; 2],
    (entry, joint_mm): (Entry, f64),
    care: Care,
) -> Bore {
    let middle = middle_mm(station_mm);
    let zero = (middle / SLAB_MM).round() as i64;
    let first = ((station_mm[0] - BEYOND_MM) / SLAB_MM).floor() as i64 - 1 - zero;
    let last = ((station_mm[1] + BEYOND_MM) / SLAB_MM).ceil() as i64 + 1 - zero;
    let joint = (joint_mm / SLAB_MM).floor() as i64;
    let swept: Vec<Star> = (first..=last)
        .into_par_iter()
        .map(|m| swept(core, path, m + zero, middle, passing(core, entry, joint, m + zero), care))
        .collect();
    let frame = path.frame(middle);
    let core_mm = [core.ends_mm[0] - middle, core.ends_mm[1] - middle];
    let mut bore = Bore { frame, first, swept, core_mm };
    if care == Care::Exact {
        bore.spread_tilt(path, middle);
    }
    bore.fill_gaps();
    bore
}

/// The slabs of the core that pass slab `m` of the cover, as ranges.
fn passing(core: &Core, entry: Entry, joint: i64, m: i64) -> [std::ops::RangeInclusive<i64>; 2] {
    #[expect(clippy::reversed_empty_ranges, reason = "nothing passes from the other side")]
    let none = 1..=0;
    match entry {
        Entry::Sides => [m..=m, none],
        Entry::Butt => [core.first..=m, none],
        Entry::Tip => [m..=core.last(), none],
        // The part that is put on afterwards comes from the other side.
        Entry::OntoButtSide(_) => [m..=joint, joint..=m],
        Entry::OntoTipSide(_) => [joint..=m, m..=joint],
    }
}

/// The outline of all of the core that passes slab `m` of the cover.
fn swept(
    core: &Core,
    path: &CentrePath,
    m: i64,
    middle: f64,
    ranges: [std::ops::RangeInclusive<i64>; 2],
    care: Care,
) -> Star {
    let mut all = Star::empty();
    for j in ranges.into_iter().flatten() {
        let Some(star) = core.slab(j).filter(|s| !s.is_empty()) else { continue };
        if care == Care::Rough {
            all.widen(star);
            continue;
        }
        // The cover's middle is here while its slab m passes slab j of the core.
        let own = path.frame(middle + (j - m) as f64 * SLAB_MM);
        all.include(star, &own, &path.frame((j as f64 + 0.5) * SLAB_MM));
    }
    all
}

impl Star {
    /// Takes in a star of the core as seen from the cover's frame.
    fn include(&mut self, star: &Star, own: &PathFrame, other: &PathFrame) {
        let shift = other.point - own.point;
        let to_own = |v: DVec3| DVec2::new(v.dot(own.across), v.dot(own.through));
        let (x, y, origin) = (to_own(other.across), to_own(other.through), to_own(shift));
        let reach = star.reach_mm();
        let off = origin.length() + reach * ((x - DVec2::X).length() + (y - DVec2::Y).length());
        if off <= SAME_MM {
            self.widen(star);
            return;
        }
        if self.holds(star, off) {
            return;
        }
        let moved: Vec<[DVec2; 2]> = star.edges().iter().map(|e| e.map(|p| origin + x * p.x + y * p.y)).collect();
        self.widen(&Star::around(&moved));
    }
}

impl Star {
    /// Whether it surely holds another star that is moved by up to `off` mm: by the radii at the neighbouring angles.
    fn holds(&self, other: &Star, off: f64) -> bool {
        let least = other.radii.iter().copied().fold(f64::INFINITY, f64::min);
        // Moved by no more than one angle.
        off < least * 0.015
            && (0..RAYS).all(|k| {
                let near = [k + RAYS - 1, k, k + 1].map(|i| other.radii[i % RAYS]);
                near[0].max(near[1]).max(near[2]) + off <= self.radii[k]
            })
    }
}

impl Bore {
    fn spread_tilt(&mut self, path: &CentrePath, middle: f64) {
        // How far a tilted outline of the core reaches into the slabs beside its own.
        let half_mm = self.swept.len() as f64 * SLAB_MM / 2.0;
        let reach = self.swept.iter().map(Star::reach_mm).fold(0.0, f64::max);
        let tilt = [-half_mm, half_mm]
            .map(|c| (path.frame(middle + c).along - path.frame(middle).along).length())
            .into_iter()
            .fold(0.0, f64::max);
        let slabs = (tilt * reach / SLAB_MM - 0.25).ceil().max(0.0) as usize;
        for _ in 0..slabs {
            let before = self.swept.clone();
            for i in 0..before.len() {
                for k in [i.wrapping_sub(1), i + 1] {
                    if let Some(other) = before.get(k) {
                        self.swept[i].widen(other);
                    }
                }
            }
        }
    }

    /// Bodies of the core may stand a hair apart: the bore goes through.
    fn fill_gaps(&mut self) {
        let Some(first) = self.swept.iter().position(|s| !s.is_empty()) else { return };
        let last = self.swept.iter().rposition(|s| !s.is_empty()).unwrap_or(first);
        for i in first + 1..last {
            if self.swept[i].is_empty() {
                self.swept[i] = self.swept[i - 1].clone();
            }
        }
    }

    /// What halves that are put on along `side` and against it need.
    pub(crate) fn dropped(mut self, side: DVec2) -> Bore {
        for s in &mut self.swept {
            if !s.is_empty() {
                *s = s.dropped(side);
            }
        }
        self
    }

    /// Largest radius, mm.
    pub(crate) fn reach_mm(&self) -> f64 {
        self.swept.iter().map(Star::reach_mm).fold(0.0, f64::max)
    }

    /// What is bored out in all, mm3: a measure to compare bores by.
    pub(crate) fn volume_mm3(&self) -> f64 {
        self.swept.iter().map(Star::area_mm2).sum::<f64>() * SLAB_MM
    }

    /// The rings of the bored surface with `gap_mm` of clearance all round: place along from the middle, outline.
    ///
    /// # Errors
    /// When an outline is not finite.
    pub(crate) fn rings(&self, gap_mm: f64) -> Result<Vec<(f64, Star)>, OutlineError> {
        let gap = gap_mm + SAME_MM + THIN_MM;
        let Some(start) = self.swept.iter().position(|s| !s.is_empty()) else { return Ok(Vec::new()) };
        let end = self.swept.iter().rposition(|s| !s.is_empty()).unwrap_or(start);
        let grown: Vec<Star> = self.swept[start..=end].par_iter().map(|s| s.grown(gap)).collect::<Result<_, _>>()?;
        let mut rings = Vec::with_capacity(grown.len() + 1);
        for i in 0..=grown.len() {
            let mut star = grown[i.saturating_sub(1).min(grown.len() - 1)].clone();
            star.widen(&grown[i.min(grown.len() - 1)]);
            rings.push(((self.first + (start + i) as i64) as f64 * SLAB_MM, star));
        }
        // A blind end stands off the core's end as its sides do.
        let n = rings.len() - 1;
        if start > 0 {
            rings[0].0 = rings[0].0.max(self.core_mm[0]) - gap;
        }
        if end + 1 < self.swept.len() {
            rings[n].0 = rings[n].0.min(self.core_mm[1]) + gap;
        }
        Ok(rings)
    }

    /// A point of a ring in the prop frame.
    pub(crate) fn place(&self, along_mm: f64, p: DVec2) -> DVec3 {
        self.frame.point + self.frame.across * p.x + self.frame.through * p.y + self.frame.along * along_mm
    }

    /// The solid to take out of the cover; empty where the core does not reach.
    ///
    /// # Errors
    /// When an outline is not finite.
    pub(crate) fn solid(&self, gap_mm: f64) -> Result<Mesh, OutlineError> {
        let rings = thinned(&self.rings(gap_mm)?);
        let sections: Vec<Vec<DVec3>> =
            rings.iter().map(|(c, s)| s.points().iter().map(|p| self.place(*c, *p)).collect()).collect();
        Ok(loft(&sections))
    }

    /// The station of the core that makes the bore as wide as it is at a place: along from the middle, angle.
    pub(crate) fn blocker_mm(
        &self,
        core: &Core,
        station_mm: [f64; 2],
        entry: Entry,
        joint_mm: f64,
        (along_mm, k): (f64, usize),
    ) -> f64 {
        let zero = (middle_mm(station_mm) / SLAB_MM).round() as i64;
        let m = (along_mm / SLAB_MM).floor() as i64 + zero;
        let joint = (joint_mm / SLAB_MM).floor() as i64;
        let mut worst = (0.0, m);
        for j in passing(core, entry, joint, m).into_iter().flatten() {
            let r = core.slab(j).map_or(0.0, |s| s.radii[k % RAYS]);
            if r > worst.0 + 1e-9 {
                worst = (r, j);
            }
        }
        (worst.1 as f64 + 0.5) * SLAB_MM
    }
}

/// The rings that are needed: the others lie within [`THIN_MM`] of the lines between them.
fn thinned(rings: &[(f64, Star)]) -> Vec<(f64, Star)> {
    let mut kept = Vec::new();
    let mut from = 0;
    while from < rings.len() {
        kept.push(rings[from].clone());
        let mut to = from + 1;
        while to + 1 < rings.len() && (from + 1..=to).all(|i| straight(&rings[from], &rings[i], &rings[to + 1])) {
            to += 1;
        }
        from = to;
    }
    kept
}

fn straight(a: &(f64, Star), mid: &(f64, Star), b: &(f64, Star)) -> bool {
    let share = (mid.0 - a.0) / (b.0 - a.0);
    (0..RAYS).all(|k| {
        let line = a.1.radii[k] + (b.1.radii[k] - a.1.radii[k]) * share;
        (line - mid.1.radii[k]).abs() <= THIN_MM
    })
}

/// The direction of an angle in the prop frame.
pub(crate) fn outwards(frame: &PathFrame, k: usize) -> DVec3 {
    frame.across * ray(k).x + frame.through * ray(k).y
}
