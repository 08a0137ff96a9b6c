//! Which shell lies inside which, and which way each should look.

use super::note::spots_of_faces;
use super::{Fault, FaultKind, Mend, MendKind, doubled};
use crate::{Bounds, Mesh};
use glam::{DVec2, DVec3};
use rayon::prelude::*;

/// What is known of the shells after they have been turned.
pub(super) struct Nesting {
    /// Triangles of each shell.
    shells: Vec<Vec<u32>>,
    /// Box of each shell.
    pub(super) bounds: Vec<Bounds>,
    /// For each shell the solid that it bounds: itself when it looks outwards, else the innermost around it.
    solid_of: Vec<usize>,
}

impl Nesting {
    /// For each solid its shells, the outer one first and then its voids.
    pub(super) fn solids(&self) -> Vec<Vec<usize>> {
        let mut solids: Vec<Vec<usize>> =
            (0..self.shells.len()).map(|i| if self.solid_of[i] == i { vec![i] } else { vec![] }).collect();
        for (i, solid) in self.solid_of.iter().enumerate().filter(|(i, solid)| *i != **solid) {
            solids[*solid].push(i);
        }
        solids.retain(|s| !s.is_empty());
        solids
    }

    /// All triangles of some shells, ascending.
    pub(super) fn triangles(&self, shells: &[usize]) -> Vec<u32> {
        let mut all: Vec<u32> = shells.iter().flat_map(|i| self.shells[*i].iter().copied()).collect();
        all.sort_unstable();
        all
    }
}

/// Turns shells that look inwards, unless they lie in solid and bound a void.
///
/// A shell contains another when it winds around the six outermost points of that one. An outermost shell must look
/// outwards; one that looks inwards was turned with all it contains, since programs turn whole files. Inside solid an
/// inward shell is a void; elsewhere it is solid that was turned.
pub(super) fn turn_outwards(mesh: &mut Mesh, same: f64, mends: &mut Vec<Mend>) -> Result<Nesting, Vec<Fault>> {
    let shells = drop_leaves(mesh, mends);
    let shells = doubled::drop_copies(mesh, shells, mends);
    let middle = mesh.bounds().map_or(DVec3::ZERO, |b| b.center());
    let sizes: Vec<Size> = shells.par_iter().map(|shell| Size::of(mesh, shell, middle)).collect();
    enclosing(&sizes, same)?;
    let containers = containers(mesh, &shells, &sizes);
    let is_root = |i: usize| containers[i].is_empty();
    let mut turn = vec![false; shells.len()];
    let mut by_depth: Vec<usize> = (0..shells.len()).collect();
    by_depth.sort_by_key(|i| containers[*i].len());
    let outward = |j: usize, turn: &[bool]| (sizes[j].volume > 0.0) != turn[j];
    for i in by_depth {
        let root = containers[i].iter().copied().find(|j| is_root(*j)).unwrap_or(i);
        turn[i] = if root == i { sizes[i].volume < 0.0 } else { turn[root] };
        let inside: i32 = containers[i].iter().map(|j| if outward(*j, &turn) { 1 } else { -1 }).sum();
        if !outward(i, &turn) && inside <= 0 {
            turn[i] = !turn[i];
        }
    }
    for i in (0..shells.len()).filter(|i| turn[*i]) {
        shells[i].iter().for_each(|t| mesh.triangles[*t as usize].swap(1, 2));
    }
    let spots: Vec<Bounds> = (0..shells.len()).filter(|i| turn[*i]).map(|i| sizes[i].bounds).collect();
    if !spots.is_empty() {
        mends.push(Mend::new(MendKind::InsideOut, spots.len(), spots));
    }
    let innermost = |i: usize| {
        let around = containers[i].iter().copied().filter(|j| outward(*j, &turn));
        around.max_by_key(|j| (containers[*j].len(), std::cmp::Reverse(*j))).unwrap_or(i)
    };
    let solid_of = (0..shells.len()).map(|i| if outward(i, &turn) { i } else { innermost(i) }).collect();
    Ok(Nesting { bounds: sizes.iter().map(|s| s.bounds).collect(), solid_of, shells })
}

/// The shells, without those of two faces back to back, which are dropped.
fn drop_leaves(mesh: &mut Mesh, mends: &mut Vec<Mend>) -> Vec<Vec<u32>> {
    let shells = mesh.shells();
    let mut leaf = vec![false; mesh.triangles.len()];
    shells.iter().filter(|s| s.len() < 4).flatten().for_each(|t| leaf[*t as usize] = true);
    let count = leaf.iter().filter(|l| **l).count();
    if count == 0 || count == leaf.len() {
        return shells;
    }
    let spots = spots_of_faces(mesh, (0..leaf.len() as u32).filter(|t| leaf[*t as usize]));
    mends.push(Mend::new(MendKind::DuplicateFaces, count, spots));
    let kept: Vec<u32> = (0..leaf.len() as u32).filter(|t| !leaf[*t as usize]).collect();
    *mesh = mesh.subset(&kept);
    mesh.shells()
}

/// A shell's measures.
struct Size {
    volume: f64,
    area: f64,
    bounds: Bounds,
    /// The vertices furthest along each axis, both ways.
    outermost: [DVec3; 6],
}

impl Size {
    fn of(mesh: &Mesh, shell: &[u32], middle: DVec3) -> Size {
        let start = mesh.corners(shell[0] as usize)[0];
        let mut size =
            Size { volume: 0.0, area: 0.0, bounds: Bounds { min: start, max: start }, outermost: [start; 6] };
        for t in shell {
            let corners = mesh.corners(*t as usize);
            let [a, b, c] = corners.map(|p| p - middle);
            size.volume += a.dot(b.cross(c)) / 6.0;
            size.area += (b - a).cross(c - a).length() / 2.0;
            for p in corners {
                for axis in 0..3 {
                    if p[axis] < size.outermost[2 * axis][axis] {
                        size.outermost[2 * axis] = p;
                    }
                    if p[axis] > size.outermost[2 * axis + 1][axis] {
                        size.outermost[2 * axis + 1] = p;
                    }
                }
            }
        }
        let at = |k: usize| size.outermost[k][k / 2];
        size.bounds = Bounds { min: DVec3::new(at(0), at(2), at(4)), max: DVec3::new(at(1), at(3), at(5)) };
        size
    }
}

/// An error when shells enclose no more than their area times `same`.
fn enclosing(sizes: &[Size], same: f64) -> Result<(), Vec<Fault>> {
    let empty: Vec<&Size> = sizes.iter().filter(|s| s.volume.abs() <= s.area * same).collect();
    let Some(worst) = empty.iter().copied().reduce(|a, b| if b.area > a.area { b } else { a }) else { return Ok(()) };
    Err(vec![Fault {
        kind: FaultKind::NoVolume,
        count: empty.len(),
        length_mm: 0.0,
        place: worst.bounds.center(),
        size: worst.bounds.size(),
    }])
}

/// For each shell, the shells that wind around all of its outermost points, ascending.
fn containers(mesh: &Mesh, shells: &[Vec<u32>], sizes: &[Size]) -> Vec<Vec<usize>> {
    let mut containers = vec![Vec::new(); shells.len()];
    if shells.len() < 2 {
        return containers;
    }
    let points: Vec<DVec3> = sizes.iter().flat_map(|s| s.outermost).collect();
    let mut shell_of = vec![0u32; mesh.triangles.len()];
    for (i, shell) in shells.iter().enumerate() {
        shell.iter().for_each(|t| shell_of[*t as usize] = i as u32);
    }
    let windings = windings(mesh, &shell_of, &points);
    for group in windings.chunk_by(|a, b| (a.0 / 6, a.1) == (b.0 / 6, b.1)) {
        let (inner, outer) = (group[0].0 as usize / 6, group[0].1 as usize);
        if group.len() == 6 && inner != outer {
            containers[inner].push(outer);
        }
    }
    containers
}

/// For points and shells, how often the shell winds around the point, where it does: (point, shell, times), sorted
/// by the point's shell (six points each), then shell. One upward ray from each point; the points lie in a grid over
/// x and y, so that each triangle meets only those below or above it.
fn windings(mesh: &Mesh, shell_of: &[u32], points: &[DVec3]) -> Vec<(u32, u32, i32)> {
    let Some(bounds) = Bounds::of(points.iter().copied()) else { return vec![] };
    let n = libm::sqrt(points.len() as f64).ceil().clamp(1.0, 2048.0);
    let step = (bounds.size() / n).max(DVec3::splat(f64::MIN_POSITIVE));
    let cell = |x: f64, axis: usize| ((x - bounds.min[axis]) / step[axis]).clamp(0.0, n - 1.0) as usize;
    let width = n as usize;
    let mut grid: Vec<Vec<u32>> = vec![Vec::new(); width * width];
    for (k, p) in points.iter().enumerate() {
        grid[cell(p.y, 1) * width + cell(p.x, 0)].push(k as u32);
    }
    let hits_of = |t: usize| {
        let corners = mesh.corners(t);
        let [a, b, c] = corners;
        let (low, high) = (a.min(b).min(c), a.max(b).max(c));
        let outside = high.x < bounds.min.x || low.x > bounds.max.x || high.y < bounds.min.y || low.y > bounds.max.y;
        let rows = if outside { 0..0 } else { cell(low.y, 1)..cell(high.y, 1) + 1 };
        let columns = cell(low.x, 0)..cell(high.x, 0) + 1;
        let cells = rows.flat_map(move |row| columns.clone().map(move |column| row * width + column));
        let grid = &grid;
        cells.flat_map(move |cell| &grid[cell]).filter_map(move |k| {
            let point = points[*k as usize];
            let times = if shell_of[t] == k / 6 { 0 } else { crossing(corners, point) };
            (times != 0).then_some((*k, shell_of[t], times))
        })
    };
    let mut hits: Vec<(u32, u32, i32)> = (0..mesh.triangles.len()).into_par_iter().flat_map_iter(hits_of).collect();
    hits.par_sort_unstable_by_key(|(k, shell, times)| (k / 6, *shell, *k, *times));
    hits.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1))
        .map(|group| (group[0].0, group[0].1, group.iter().map(|h| h.2).sum()))
        .filter(|(_, _, times)| *times != 0)
        .collect()
}

/// How often the upward ray from `p` leaves through a triangle: 1 from inside, -1 from outside, 0 beside it. Sides are
/// judged from their lower end whichever triangle asks, so a ray that meets one counts for exactly one of its two.
fn crossing(corners: [DVec3; 3], p: DVec3) -> i32 {
    let at = |v: DVec3| DVec2::new(v.x, v.y);
    let mut turns = 0;
    for k in 0..3 {
        let (a, b) = (at(corners[k]), at(corners[(k + 1) % 3]));
        if (a.y > p.y) != (b.y > p.y) {
            let upwards = b.y > a.y;
            let (low, high) = if upwards { (a, b) } else { (b, a) };
            if (high - low).perp_dot(at(p) - low) > 0.0 {
                turns += if upwards { 1 } else { -1 };
            }
        }
    }
    let [a, b, c] = corners;
    let normal = (b - a).cross(c - a);
    // Above the point when the point lies on the lower side of the plane.
    let below = if normal.z > 0.0 { normal.dot(p - a) < 0.0 } else { normal.dot(p - a) > 0.0 };
    if below { turns } else { 0 }
}
