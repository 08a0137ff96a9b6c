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
mod tests {
    use super::*;
    use crate::shapes::{cone_frustum, cuboid, cylinder, prism, sphere};
    use crate::{Plane, boolean, split};
    use glam::{DAffine3, DVec2};
    use proptest::prelude::*;

    const STEP: f64 = 1.0 / GRID_PER_MM;

    /// What a reader sees that takes single-precision corners, welds equal ones and drops triangles without area.
    fn as_read(mesh: &Mesh) -> Mesh {
        let mut index = HashMap::new();
        let mut read = Mesh::default();
        for t in 0..mesh.triangles.len() {
            let corners = mesh.corners(t).map(|p| p.as_vec3());
            if (corners[1] - corners[0]).cross(corners[2] - corners[0]).length_squared() == 0.0 {
                continue;
            }
            read.triangles.push(corners.map(|p| {
                *index.entry(p.to_array().map(f32::to_bits)).or_insert_with(|| {
                    read.vertices.push(p.as_dvec3());
                    read.vertices.len() as u32 - 1
                })
            }));
        }
        read
    }

    /// Settles, and holds the result to every promise.
    fn settled(mesh: &Mesh) -> Settled {
        let s = settle(mesh).unwrap();
        assert!(s.mesh.edge_census().is_closed());
        let mut keys: Vec<[u64; 3]> = s.mesh.vertices.iter().map(|v| v.to_array().map(f64::to_bits)).collect();
        keys.sort_unstable();
        assert!(keys.windows(2).all(|w| w[0] != w[1]), "two vertices in one place");
        for v in &s.mesh.vertices {
            assert_eq!(*v, v.as_vec3().as_dvec3(), "not a single-precision point");
            assert_eq!(v.map(|c| (c * GRID_PER_MM).fract()), DVec3::ZERO);
        }
        assert!(s.mesh.triangles.iter().all(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0]));
        let flat = (0..s.mesh.triangles.len()).filter(|t| s.mesh.area_vector(*t) == DVec3::ZERO).count();
        assert_eq!(flat, s.flat_triangles);
        if flat == 0 {
            let read = as_read(&s.mesh);
            assert!(read.edge_census().is_closed());
            assert_eq!(read.vertices.len(), s.mesh.vertices.len());
        }
        s
    }

    #[test]
    fn a_good_mesh_only_moves_to_the_grid() {
        let ball = sphere(DVec3::new(0.1, 0.2, 0.3), 20.0, 64);
        let s = settled(&ball);
        assert_eq!((s.collapsed, s.turned, s.nudged, s.removed_shells, s.flat_triangles), (0, 0, 0, 0, 0));
        assert_eq!(s.mesh.triangles, ball.triangles);
        for (before, after) in ball.vertices.iter().zip(&s.mesh.vertices) {
            assert!((*before - *after).abs().max_element() <= STEP / 2.0);
        }
        assert_eq!(settle(&s.mesh).unwrap().mesh, s.mesh, "settled stays settled");
    }

    #[test]
    fn details_below_the_grid_fold_away() {
        // A needle of a cone whose tip is finer than the grid, on a thousand sides.
        let needle = cone_frustum(DVec3::ZERO, DVec3::Z * 30.0, 0.08, 0.0001, 1000);
        let s = settled(&needle);
        assert!(s.collapsed > 500);
        assert_eq!(s.flat_triangles, 0);
        assert!((s.mesh.volume_mm3() - needle.volume_mm3()).abs() < needle.area_mm2() * STEP);
    }

    #[test]
    fn a_shell_smaller_than_a_step_goes() {
        let mut pair = cuboid(DVec3::ZERO, DVec3::ONE);
        pair.append(&sphere(DVec3::splat(0.5), 0.0003, 8).reversed());
        let s = settled(&pair);
        assert_eq!(s.removed_shells, 1);
        assert_eq!(s.mesh.triangles.len(), 12);
        let gone = settled(&sphere(DVec3::splat(0.5), 0.0002, 6));
        assert!(gone.mesh.is_empty() && gone.mesh.vertices.is_empty());
    }

    #[test]
    fn a_tube_thinner_than_a_step_stays_a_tube() {
        // Two blocks joined by a thread: the thread can't vanish without parting them.
        let thread = cylinder(DVec3::new(0.5, 0.5, 0.9), DVec3::new(0.5, 0.5, 3.1), 0.0002, 7);
        let blocks = [cuboid(DVec3::ZERO, DVec3::ONE), cuboid(DVec3::Z * 3.0, DVec3::new(1.0, 1.0, 4.0)), thread];
        let s = settled(&boolean::union_all(&blocks).unwrap());
        assert_eq!(s.mesh.shells().len(), 1);
        assert_eq!(s.flat_triangles, 0);
    }

    #[test]
    fn corners_on_a_line_leave_no_flat_triangle() {
        // An outline with many points along its straight sides, filled from few corners.
        let side = |a: DVec2, b: DVec2| (0..50).map(move |k| a.lerp(b, f64::from(k) / 50.0));
        let corners = [(0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (0.0, 4.0)].map(DVec2::from);
        let outline: Vec<DVec2> = (0..4).flat_map(|k| side(corners[k], corners[(k + 1) % 4])).collect();
        let s = settled(&prism(&outline, &DAffine3::IDENTITY, 0.0, 2.0));
        assert_eq!(s.flat_triangles, 0);
        assert!((s.mesh.volume_mm3() - 80.0).abs() < 0.1);
        // A fan of triangles with all but one corner on a line.
        let mut tetrahedron = Mesh {
            vertices: [(0.0, 0.0, 0.0), (9.0, 0.0, 0.0), (0.0, 9.0, 0.0), (0.0, 0.0, 9.0), (3.0, 0.0, 0.0)]
                .map(DVec3::from)
                .to_vec(),
            triangles: vec![[0, 2, 1], [0, 1, 4], [0, 4, 3], [4, 1, 3], [1, 2, 3], [0, 3, 2]],
        };
        let s = settled(&tetrahedron);
        assert_eq!((s.turned, s.flat_triangles), (1, 0));
        assert!((s.mesh.volume_mm3() - 121.5).abs() < 1e-9);
        tetrahedron.triangles.swap(0, 1);
        assert_eq!(settled(&tetrahedron).flat_triangles, 0);
    }

    #[test]
    fn bodies_that_touch_come_apart() {
        // Cubes that share a corner, then an edge.
        for (second, shared) in [(DVec3::ONE, 1), (DVec3::new(1.0, 1.0, 0.0), 2)] {
            let mut pair = cuboid(DVec3::ZERO, DVec3::ONE);
            let other = cuboid(second, second + DVec3::ONE);
            let base = pair.vertices.clone();
            let same = |p: &DVec3| base.iter().position(|v| v == p).map(|i| i as u32);
            let map: Vec<u32> = other
                .vertices
                .iter()
                .map(|p| {
                    same(p).unwrap_or_else(|| {
                        pair.vertices.push(*p);
                        pair.vertices.len() as u32 - 1
                    })
                })
                .collect();
            assert_eq!(pair.vertices.len(), 16 - shared);
            pair.triangles.extend(other.triangles.iter().map(|t| t.map(|v| map[v as usize])));
            let s = settled(&pair);
            assert_eq!((s.mesh.vertices.len(), s.nudged), (16, shared));
            assert_eq!(s.mesh.shells().len(), 2);
            assert!((s.mesh.volume_mm3() - 2.0).abs() < 0.01);
        }
    }

    #[test]
    fn a_cut_through_corners_settles_clean() {
        let ball = sphere(DVec3::ZERO, 10.0, 24);
        let cube = cuboid(DVec3::splat(-5.0), DVec3::splat(5.0));
        for solid in [ball, cube.clone(), boolean::union(&cube, &cuboid(DVec3::ZERO, DVec3::splat(9.0))).unwrap()] {
            let plane = |z: f64| Plane { normal: DVec3::Z, offset_mm: z };
            for part in split(&solid, &[plane(-5.0), plane(0.0), plane(5.0)]).unwrap() {
                let s = settled(&part);
                assert_eq!(s.flat_triangles, 0);
                assert!((s.mesh.volume_mm3() - part.volume_mm3()).abs() <= part.area_mm2() * STEP);
            }
        }
        let whole = split(&cube, &[Plane { normal: DVec3::Z, offset_mm: -5.0 }]).unwrap().remove(1);
        assert_eq!(settled(&whole).mesh.triangles.len(), 12, "a cut along a face leaves the box a box");
    }

    #[test]
    fn faults_are_named() {
        let mut open = cuboid(DVec3::ZERO, DVec3::ONE);
        open.triangles.pop();
        assert!(matches!(settle(&open), Err(SettleError::NotClosed { edges: 3, .. })));
        let far = cuboid(DVec3::ZERO, DVec3::splat(17_000.0));
        assert!(matches!(settle(&far), Err(SettleError::OutOfReach { .. })));
        let mut lost = cuboid(DVec3::ZERO, DVec3::ONE);
        lost.vertices[1].z = f64::NAN;
        assert!(matches!(settle(&lost), Err(SettleError::OutOfReach { vertex: 1, .. })));
        let mut beyond = cuboid(DVec3::ZERO, DVec3::ONE);
        beyond.triangles[3][2] = 40;
        assert_eq!(settle(&beyond), Err(SettleError::BadIndex { triangle: 3 }));
        assert!(settled(&Mesh::default()).mesh.is_empty());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        /// Closed tangles a few steps across, sharing corners at random.
        #[test]
        fn tangles_below_the_grid_stay_closed(
            points in prop::collection::vec(prop::array::uniform3(-0.004..0.004f64), 4..12),
            picks in prop::collection::vec(prop::array::uniform4(any::<prop::sample::Index>()), 1..12),
        ) {
            let mut tangle = Mesh { vertices: points.into_iter().map(DVec3::from_array).collect(), triangles: vec![] };
            for pick in picks {
                let [a, b, c, d] = pick.map(|i| i.index(tangle.vertices.len()) as u32);
                tangle.triangles.extend([[a, c, b], [a, b, d], [b, c, d], [a, d, c]]);
            }
            settled(&tangle);
        }

        /// Fine balls crushed flat: needles and slivers finer than the grid everywhere.
        #[test]
        fn crushed_balls_stay_closed(
            squash in prop::array::uniform3(-4.0..1.0f64), radius in 0.001..0.3f64, segments in 4u32..40,
        ) {
            let scale = DVec3::from_array(squash.map(|s| libm::exp2(2.0 * s)));
            let ball = sphere(DVec3::ZERO, radius, segments);
            let crushed = ball.transformed(&DAffine3::from_scale(scale));
            settled(&crushed);
        }
    }
}
