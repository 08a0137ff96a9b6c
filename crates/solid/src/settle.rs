//! Final coordinates: every vertex on a grid that single-precision files and decimal ones hold exactly, and the surface
//! still closed for a reader that knows coordinates only.

mod surface;

use std::collections::HashMap;

use glam::DVec3;

use crate::Mesh;
use surface::Surface;

/// Grid lines a millimetre. A whole number of 1/1024 mm has at most ten binary and ten decimal places, and fits single
/// precision up to [`REACH_MM`].
pub const GRID_PER_MM: f64 = 1024.0;

/// Largest coordinate, mm: 2^24 grid steps, the last whole number single precision counts to without gaps.
pub const REACH_MM: f64 = 16_384.0;

/// Collapses of flat triangles move a corner by at most this many grid steps.
const SHORT_STEPS: f64 = 8.0;

/// A settled mesh, and what it took.
#[derive(Clone, Debug, PartialEq)]
pub struct Settled {
    /// The mesh on the grid.
    pub mesh: Mesh,
    /// Edges collapsed because their ends met or nearly so.
    pub collapsed: usize,
    /// Edges turned to get rid of flat triangles.
    pub turned: usize,
    /// Vertices moved to a neighbouring grid point to keep them apart or a triangle from being flat.
    pub nudged: usize,
    /// Shells too small for the grid that were taken away.
    pub removed_shells: usize,
    /// Triangles still without area. The surface is closed with them; a reader that drops them sees a slit of no width.
    pub flat_triangles: usize,
}

/// Why a mesh could not be settled.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SettleError {
    /// Edges that don't join two triangles, or as many one way as the other.
    #[error(
        "the mesh is not closed: {edges} of its edges don't join opposite triangles, one at {near} mm; heal it first"
    )]
    NotClosed {
        /// How many such edges.
        edges: usize,
        /// Middle of the first, mm.
        near: DVec3,
    },
    /// A vertex is not finite or beyond the grid.
    #[error("vertex {vertex} at {at} mm is not within {REACH_MM} mm of the origin; move the mesh closer")]
    OutOfReach {
        /// Index of the vertex.
        vertex: usize,
        /// Where it is, mm.
        at: DVec3,
    },
    /// A triangle names a vertex that isn't there.
    #[error("triangle {triangle} names a vertex beyond the last")]
    BadIndex {
        /// Index of the triangle.
        triangle: usize,
    },
    /// So many vertices met in one place that no grid point near it is free.
    #[error("too many vertices meet near {near} mm to keep them apart; simplify the mesh")]
    NoRoom {
        /// Where, mm.
        near: DVec3,
    },
    /// The result failed its own check.
    #[error("settling left {edges} edges that don't join two triangles, one at {near} mm; simplify the mesh there")]
    Broken {
        /// How many.
        edges: usize,
        /// Middle of the first, mm.
        near: DVec3,
    },
}

/// Moves every vertex to a whole multiple of 1/1024 mm.
///
/// The result is closed and oriented, every edge has two triangles, every vertex one ring of them, and no two vertices
/// are equal: welding it by coordinates changes nothing. Where sheets touched at a point or along an edge they come
/// apart by a grid step. Vertices move by half a grid step, rarely by a few; surfaces closer than that may cross.
///
/// # Errors
/// When the mesh isn't closed or doesn't fit the grid.
pub fn settle(mesh: &Mesh) -> Result<Settled, SettleError> {
    let count = mesh.vertices.len();
    if let Some(triangle) = mesh.triangles.iter().position(|t| t.iter().any(|v| *v as usize >= count)) {
        return Err(SettleError::BadIndex { triangle });
    }
    let within = |p: &DVec3| p.is_finite() && p.abs().max_element() <= REACH_MM - 1.0;
    if let Some(vertex) = mesh.vertices.iter().position(|p| !within(p)) {
        return Err(SettleError::OutOfReach { vertex, at: mesh.vertices[vertex] });
    }
    let (surface, points) = Surface::new(mesh).map_err(|([a, b], edges)| SettleError::NotClosed {
        edges,
        near: (mesh.vertices[a as usize] + mesh.vertices[b as usize]) * 0.5,
    })?;
    let mut work = Work {
        exact: points.iter().map(|p| *p * GRID_PER_MM).collect(),
        surface,
        taken: HashMap::new(),
        settled: Settled {
            mesh: Mesh::default(),
            collapsed: 0,
            turned: 0,
            nudged: 0,
            removed_shells: 0,
            flat_triangles: 0,
        },
    };
    // Adding zero turns a negative zero into the usual one.
    work.surface.at = work.exact.iter().map(|p| p.round() + DVec3::ZERO).collect();
    work.collapse_met();
    work.part_met()?;
    work.flatten_out();
    let Work { surface, mut settled, .. } = work;
    settled.flat_triangles = (0..surface.triangles()).filter(|t| surface.is_live(*t) && surface.is_flat(*t)).count();
    settled.mesh = surface.to_mesh(place);
    let census = settled.mesh.edge_census();
    let faulty = [&census.open, &census.flipped, &census.crowded];
    match faulty.iter().find_map(|list| list.first()) {
        Some([a, b]) => Err(SettleError::Broken {
            edges: faulty.iter().map(|list| list.len()).sum(),
            near: (settled.mesh.vertices[*a as usize] + settled.mesh.vertices[*b as usize]) * 0.5,
        }),
        None => Ok(settled),
    }
}

fn place(at: DVec3) -> DVec3 {
    at / GRID_PER_MM
}

fn key(at: DVec3) -> [i32; 3] {
    at.to_array().map(|c| c as i32)
}

struct Work {
    surface: Surface,
    /// Where each vertex really is, in grid steps.
    exact: Vec<DVec3>,
    /// Who sits on a grid point; filled once vertices have to make way.
    taken: HashMap<[i32; 3], u32>,
    settled: Settled,
}

impl Work {
    /// Collapses edges whose ends fell on the same grid point, as far as the surface allows.
    fn collapse_met(&mut self) {
        loop {
            let before = self.settled.collapsed + self.settled.removed_shells;
            for h in 0..3 * self.surface.triangles() {
                if !self.surface.is_live(h / 3) {
                    continue;
                }
                let (u, v) = (self.surface.start[h as usize], self.surface.end(h));
                if u > v || self.surface.at[u as usize] != self.surface.at[v as usize] {
                    continue;
                }
                if self.surface.may_collapse(h) {
                    self.surface.collapse(h);
                    self.settled.collapsed += 1;
                } else if self.surface.in_tetrahedron(h) {
                    self.surface.remove_tetrahedron(h);
                    self.settled.removed_shells += 1;
                }
            }
            if self.settled.collapsed + self.settled.removed_shells == before {
                return;
            }
        }
    }

    /// Moves vertices that share a grid point apart; the first stays.
    fn part_met(&mut self) -> Result<(), SettleError> {
        let mut order: Vec<u32> = (0..self.surface.at.len() as u32).filter(|v| self.surface.is_vertex(*v)).collect();
        order.sort_unstable_by_key(|v| (key(self.surface.at[*v as usize]), *v));
        let met: Vec<u32> = order
            .windows(2)
            .filter(|w| self.surface.at[w[0] as usize] == self.surface.at[w[1] as usize])
            .map(|w| w[1])
            .collect();
        for v in met {
            if !self.nudge(v, true) {
                return Err(SettleError::NoRoom { near: place(self.surface.at[v as usize]) });
            }
        }
        Ok(())
    }

    /// Moves a vertex to the best free grid point beside it: fewest flat or overturned triangles, then nearest to where it belongs,
    /// a little towards its own sheet. Without `must`, only if that leaves fewer of them.
    fn nudge(&mut self, v: u32, must: bool) -> bool {
        if self.taken.is_empty() {
            let live = (0..self.surface.at.len() as u32).filter(|v| self.surface.is_vertex(*v));
            for w in live {
                self.taken.entry(key(self.surface.at[w as usize])).or_insert(w);
            }
        }
        let here = self.surface.at[v as usize];
        let (sum, count) =
            self.surface.neighbours(v).fold((DVec3::ZERO, 0.0), |(s, n), w| (s + self.exact[w as usize], n + 1.0));
        let wanted = self.exact[v as usize] + (sum / count - self.exact[v as usize]).normalize_or_zero() * 0.6;
        for reach in 1..=4 {
            let steps = || -reach..=reach;
            let mut best: Option<(usize, f64, DVec3)> = None;
            for offset in steps().flat_map(|x| {
                steps().flat_map(move |y| steps().map(move |z| DVec3::new(f64::from(x), f64::from(y), f64::from(z))))
            }) {
                let to = here + offset;
                if self.taken.contains_key(&key(to)) {
                    continue;
                }
                let candidate = (self.surface.spoiled_around(v, to), (to - wanted).length_squared(), to);
                if best.is_none_or(|b| (candidate.0, candidate.1) < (b.0, b.1)) {
                    best = Some(candidate);
                }
            }
            if let Some((spoiled, _, to)) = best {
                if !must && spoiled >= self.surface.spoiled_around(v, here) {
                    return false;
                }
                self.leave(v);
                self.taken.insert(key(to), v);
                self.surface.at[v as usize] = to;
                self.settled.nudged += 1;
                return true;
            }
        }
        false
    }

    /// Frees the grid point a vertex sits on, unless another holds it.
    fn leave(&mut self, v: u32) {
        let here = key(self.surface.at[v as usize]);
        if self.taken.get(&here) == Some(&v) {
            self.taken.remove(&here);
        }
    }

    /// Gets rid of triangles without area: turns their long edge, collapses a short one, or moves a corner aside.
    fn flatten_out(&mut self) {
        let mut flat: Vec<u32> = (0..self.surface.triangles()).filter(|t| self.is_flat(*t)).collect();
        // Every round mends most of what is left; what is not mended after that many goes in circles.
        for _ in 0..16 {
            let mut touched = Vec::new();
            for t in flat {
                if self.is_flat(t) && !self.mend(t, &mut touched) {
                    touched.push(t);
                }
            }
            touched.sort_unstable();
            touched.dedup();
            flat = touched.into_iter().filter(|t| self.is_flat(*t)).collect();
            if flat.is_empty() {
                return;
            }
        }
    }

    fn is_flat(&self, t: u32) -> bool {
        self.surface.is_live(t) && self.surface.is_flat(t)
    }

    /// Mends one flat triangle and notes the triangles it changed.
    fn mend(&mut self, t: u32, touched: &mut Vec<u32>) -> bool {
        // The corners are distinct and on one line: the longest edge faces the middle corner.
        let length = |s: &Surface, a: u32, b: u32| s.at[a as usize].distance_squared(s.at[b as usize]);
        let edge_length = |h: u32| length(&self.surface, self.surface.start[h as usize], self.surface.end(h));
        let long = (3 * t + 1..3 * t + 3).fold(3 * t, |l, h| if edge_length(h) > edge_length(l) { h } else { l });
        let twin = self.surface.twin(long);
        let (a, b, middle) = (self.surface.start[long as usize], self.surface.end(long), self.surface.apex(long));
        let beyond_flat = self.surface.is_flat(twin / 3);
        let shortens = length(&self.surface, middle, self.surface.apex(twin)) < length(&self.surface, a, b);
        if (!beyond_flat || shortens) && self.surface.may_flip(long) {
            self.surface.flip(long);
            touched.extend([t, twin / 3]);
            self.settled.turned += 1;
            return true;
        }
        let edges = [long, surface::next(long), surface::next(surface::next(long))];
        for h in edges.into_iter().flat_map(|h| [h, self.surface.twin(h)]) {
            let (keep, lose) = (self.surface.start[h as usize], self.surface.end(h));
            let to = self.surface.at[keep as usize];
            if length(&self.surface, keep, lose) <= SHORT_STEPS * SHORT_STEPS
                && self.surface.may_move(lose, to, Some(keep))
                && self.surface.may_collapse(h)
            {
                self.leave(lose);
                self.surface.collapse(h);
                touched.extend(self.surface.around(keep).map(|h| h / 3));
                self.settled.collapsed += 1;
                return true;
            }
        }
        for v in [middle, a, b] {
            if self.nudge(v, false) {
                touched.extend(self.surface.around(v).map(|h| h / 3));
                return true;
            }
        }
        false
    }
}

#[cfg(test)]
mod tests;
