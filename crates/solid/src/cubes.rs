//! The triangles of a mesh by cubes of space, for rays that are hardly longer than a cube: no tree to climb down.

use crate::bvh::meet;
use crate::{Bvh, DVec3, Mesh, RayHit};
use rayon::prelude::*;

/// Cubes along each side of a block; blocks that no triangle touches take no room.
const SIDE: i32 = 4;
const CUBES: u32 = (SIDE * SIDE * SIDE) as u32;

/// Triangles that are put into cubes in one go.
const LOT: usize = 4096;

/// Triangles are taken apart until no side is longer than so many cubes, so that few cubes list one that misses them.
const LONGEST: f64 = 3.0;

/// Triangles are listed this far beyond a cube, as shares of its side, so that rounding lets no ray slip through.
const MARGIN: f64 = 1e-3;

/// Which triangles touch each cube of space.
///
/// ```
/// use solid::{Bvh, Cubes, DVec3, cuboid};
/// let bvh = Bvh::new(&cuboid(DVec3::ZERO, DVec3::splat(10.0)));
/// let cubes = Cubes::new(&bvh, 1.0);
/// let hit = cubes.ray_among(&bvh, DVec3::new(5.0, 4.0, 9.5), DVec3::Z, 2.0, |_| true, |_, _| true).unwrap();
/// assert!((hit.distance_mm - 0.5).abs() < 1e-12);
/// assert!(cubes.ray_among(&bvh, DVec3::splat(5.0), DVec3::Z, 2.0, |_| true, |_, _| true).is_none());
/// ```
pub struct Cubes {
    side_mm: f64,
    low: DVec3,
    /// Blocks along each axis.
    counts: [i32; 3],
    /// Number of the block, or `u32::MAX`.
    blocks: Vec<u32>,
    /// Start of each cube's triangles, and the end of the last.
    first: Vec<u32>,
    triangles: Vec<u32>,
}

/// A triangle that may touch a cube.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Touch {
    block: u32,
    cube: u8,
    triangle: u32,
}

impl Cubes {
    /// The triangles of a mesh by cubes of that side, mm, which is above 0. Memory: about 4 bytes for each cube that a
    /// triangle touches, and 256 bytes a block.
    pub fn new(bvh: &Bvh, side_mm: f64) -> Self {
        let Some(bounds) = bvh.bounds() else {
            return Self {
                side_mm,
                low: DVec3::ZERO,
                counts: [0; 3],
                blocks: Vec::new(),
                first: vec![0],
                triangles: Vec::new(),
            };
        };
        let low = bounds.min - DVec3::splat(side_mm);
        let reach = (bounds.max + DVec3::splat(side_mm) - low) / (side_mm * f64::from(SIDE));
        let counts = [reach.x, reach.y, reach.z].map(|n| n.floor() as i32 + 1);
        let n_blocks = counts.iter().map(|n| *n as usize).product();
        let mut cubes =
            Self { side_mm, low, counts, blocks: vec![u32::MAX; n_blocks], first: Vec::new(), triangles: Vec::new() };
        let n_triangles = bvh.mesh().triangles.len();
        let lots: Vec<Vec<Touch>> = (0..n_triangles.div_ceil(LOT))
            .into_par_iter()
            .map(|lot| cubes.touched(bvh.mesh(), lot * LOT..((lot + 1) * LOT).min(n_triangles)))
            .collect();
        for touch in lots.iter().flatten() {
            cubes.blocks[touch.block as usize] = 0;
        }
        let mut n_used = 0_u32;
        for block in cubes.blocks.iter_mut().filter(|b| **b == 0) {
            *block = n_used;
            n_used += 1;
        }
        // By counting: cubes in order, and the triangles of each in theirs. Each start is first its end, and counts down.
        let mut first = vec![0_u32; n_used as usize * CUBES as usize + 1];
        let at = |touch: &Touch| (cubes.blocks[touch.block as usize] * CUBES + u32::from(touch.cube)) as usize;
        for touch in lots.iter().flatten() {
            first[at(touch)] += 1;
        }
        for i in 1..first.len() {
            first[i] += first[i - 1];
        }
        let mut triangles = vec![0; lots.iter().map(Vec::len).sum()];
        for touch in lots.iter().rev().flat_map(|lot| lot.iter().rev()) {
            let slot = &mut first[at(touch)];
            *slot -= 1;
            triangles[*slot as usize] = touch.triangle;
        }
        cubes.first = first;
        cubes.triangles = triangles;
        cubes
    }

    /// Every cube that each of some triangles may touch, once.
    fn touched(&self, mesh: &Mesh, of: std::ops::Range<usize>) -> Vec<Touch> {
        let (mut touched, mut own) = (Vec::new(), Vec::new());
        for t in of {
            let corners = mesh.corners(t);
            if corners.iter().all(|c| c.is_finite()) {
                self.touch(corners, &mut |block, cube| own.push(Touch { block, cube, triangle: t as u32 }));
                // Only parts of one triangle name a cube twice.
                if self.longest_side(&corners).1 {
                    own.sort_unstable();
                    own.dedup();
                }
                touched.append(&mut own);
            }
        }
        touched
    }

    /// The longest side of a triangle, and whether it is so long that the triangle is taken apart.
    fn longest_side(&self, corners: &[DVec3; 3]) -> (usize, bool) {
        let longest = (0..3).max_by(|i, k| side_sq(corners, *i).total_cmp(&side_sq(corners, *k))).unwrap_or(0);
        (longest, side_sq(corners, longest) > (LONGEST * self.side_mm).powi(2))
    }

    /// Names every cube that a triangle may touch, some more than once: its block, and its number in it.
    fn touch(&self, corners: [DVec3; 3], name: &mut dyn FnMut(u32, u8)) {
        let (longest, is_long) = self.longest_side(&corners);
        if is_long {
            let [a, b, c] = [0, 1, 2].map(|k| corners[(longest + k) % 3]);
            let middle = (a + b) / 2.0;
            self.touch([a, middle, c], name);
            self.touch([middle, b, c], name);
            return;
        }
        let margin = DVec3::splat(MARGIN);
        let [a, b, c] = corners.map(|p| (p - self.low) / self.side_mm);
        let from = (a.min(b).min(c) - margin).to_array().map(whole);
        let to = (a.max(b).max(c) + margin).to_array().map(whole);
        let normal = (b - a).cross(c - a).normalize_or_zero();
        // Half the cube seen along the normal.
        let reach = 0.5 * (normal.x.abs() + normal.y.abs() + normal.z.abs()) + 2.0 * MARGIN;
        for x in from[0]..=to[0] {
            for y in from[1]..=to[1] {
                for z in from[2]..=to[2] {
                    let middle = DVec3::new(f64::from(x), f64::from(y), f64::from(z)) + 0.5;
                    if (middle - a).dot(normal).abs() <= reach {
                        let block = self.slot([x, y, z].map(|c| c.div_euclid(SIDE)));
                        let block = block.expect("triangles lie within the bounds");
                        name(block as u32, within([x, y, z]) as u8);
                    }
                }
            }
        }
    }

    /// Where a block is listed.
    #[inline]
    fn slot(&self, block: [i32; 3]) -> Option<usize> {
        let is_inside = (0..3).all(|k| block[k] >= 0 && block[k] < self.counts[k]);
        is_inside
            .then(|| ((block[2] * self.counts[1] + block[1]) as usize) * self.counts[0] as usize + block[0] as usize)
    }

    /// The number of a block that a triangle touches.
    #[inline]
    fn block(&self, block: [i32; 3]) -> Option<u32> {
        self.slot(block).map(|slot| self.blocks[slot]).filter(|number| *number != u32::MAX)
    }

    /// The triangles that touch a cube of a block.
    #[inline]
    fn of(&self, block: u32, cube: [i32; 3]) -> &[u32] {
        let at = (block * CUBES + within(cube)) as usize;
        &self.triangles[self.first[at] as usize..self.first[at + 1] as usize]
    }

    /// The first triangle that a ray meets within `max_mm`, as [`Bvh::ray_among`]: the same answer, sooner when the way is
    /// short. `bvh` is the one that the cubes were made of.
    pub fn ray_among(
        &self,
        bvh: &Bvh,
        origin: DVec3,
        direction: DVec3,
        max_mm: f64,
        may: impl Fn(u32) -> bool,
        accept: impl Fn(u32, f64) -> bool,
    ) -> Option<RayHit> {
        if !origin.is_finite() || !direction.is_finite() {
            return None;
        }
        let mesh = bvh.mesh();
        let at = ((origin - self.low) / self.side_mm).to_array();
        let way = direction.to_array();
        let mut cube = at.map(whole);
        let step = way.map(|w| if w < 0.0 { -1 } else { 1 });
        let per_cube = way.map(|w| if w == 0.0 { f64::INFINITY } else { self.side_mm / w.abs() });
        // Way to the next wall of a cube along each axis, mm.
        let mut wall_mm: [f64; 3] = std::array::from_fn(|k| {
            let left = if way[k] < 0.0 { at[k] - f64::from(cube[k]) } else { f64::from(cube[k]) + 1.0 - at[k] };
            if way[k] == 0.0 { f64::INFINITY } else { left * per_cube[k] }
        });
        let margin_mm = MARGIN * self.side_mm;
        let mut best = RayHit { distance_mm: max_mm, triangle: u32::MAX };
        loop {
            let home = cube.map(|c| c.div_euclid(SIDE));
            let block = self.block(home);
            // From cube to cube through the block.
            loop {
                for t in block.map_or(&[][..], |block| self.of(block, cube)) {
                    if may(*t)
                        && let Some(distance_mm) = meet(origin, direction, mesh.corners(*t as usize))
                        && (distance_mm < best.distance_mm || (distance_mm == best.distance_mm && *t < best.triangle))
                        && accept(*t, distance_mm)
                    {
                        best = RayHit { distance_mm, triangle: *t };
                    }
                }
                let axis = if wall_mm[0] < wall_mm[1] {
                    if wall_mm[0] < wall_mm[2] { 0 } else { 2 }
                } else if wall_mm[1] < wall_mm[2] {
                    1
                } else {
                    2
                };
                if wall_mm[axis] > best.distance_mm + margin_mm || !wall_mm[axis].is_finite() {
                    return (best.triangle != u32::MAX).then_some(best);
                }
                cube[axis] += step[axis];
                wall_mm[axis] += per_cube[axis];
                if cube[axis].div_euclid(SIDE) != home[axis] {
                    break;
                }
            }
        }
    }
}

fn side_sq(corners: &[DVec3; 3], k: usize) -> f64 {
    corners[k].distance_squared(corners[(k + 1) % 3])
}

/// The next whole number below, without a call.
#[inline]
fn whole(x: f64) -> i32 {
    let towards_zero = x as i32;
    towards_zero.saturating_sub(i32::from(f64::from(towards_zero) > x))
}

/// Number of a cube in its block.
#[inline]
fn within(cube: [i32; 3]) -> u32 {
    let [x, y, z] = cube.map(|c| c.rem_euclid(SIDE));
    ((z * SIDE + y) * SIDE + x) as u32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{cylinder, sphere};

    #[test]
    fn rays_find_what_the_tree_finds() {
        let mut mesh = sphere(DVec3::new(3.0, -2.0, 40.0), 9.0, 40);
        mesh.append(&cylinder(DVec3::new(-30.0, 1.0, 0.0), DVec3::new(70.0, 3.0, 55.0), 2.5, 5));
        mesh.append(&crate::cuboid(DVec3::new(-20.0, -20.0, 0.0), DVec3::new(60.0, -19.5, 90.0)));
        let bvh = Bvh::new(&mesh);
        let cubes = Cubes::new(&bvh, 0.9);
        let mut state = 7_u64;
        let mut next = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1_u64 << 53) as f64
        };
        let mut n_met = 0;
        for i in 0..40_000 {
            // Half of the rays start near a surface; some run along an axis, and some start on a wall of a cube.
            let mut from = DVec3::new(next() * 110.0 - 35.0, next() * 40.0 - 25.0, next() * 100.0 - 5.0);
            if i % 2 == 0 {
                from = bvh.nearest(from, 1e3).unwrap().point + DVec3::new(next(), next(), next()) - 0.5;
            }
            let mut way = DVec3::new(next() - 0.5, next() - 0.5, next() - 0.5).normalize();
            match i % 7 {
                0 => way = DVec3::X,
                1 => way = -DVec3::Z,
                2 => from = cubes.low + ((from - cubes.low) / 0.9).round() * 0.9,
                _ => {}
            }
            let most = next() * 6.0;
            let (a, b) = (bvh.ray(from, way, most), cubes.ray_among(&bvh, from, way, most, |_| true, |_, _| true));
            n_met += u32::from(a.is_some());
            assert_eq!(a.map(|h| h.distance_mm), b.map(|h| h.distance_mm), "{from} {way} {most}");
        }
        assert!(n_met > 5_000, "{n_met}");
    }

    #[test]
    fn nothing_is_found_where_nothing_is() {
        let bvh = Bvh::new(&crate::Mesh::default());
        assert!(Cubes::new(&bvh, 1.0).ray_among(&bvh, DVec3::ZERO, DVec3::X, 9.0, |_| true, |_, _| true).is_none());
        let bvh = Bvh::new(&crate::cuboid(DVec3::ZERO, DVec3::ONE));
        let cubes = Cubes::new(&bvh, 1.0);
        assert!(cubes.ray_among(&bvh, DVec3::splat(f64::NAN), DVec3::X, 9.0, |_| true, |_, _| true).is_none());
        assert!(cubes.ray_among(&bvh, DVec3::new(-90.0, 0.5, 0.5), DVec3::X, 9.0, |_| true, |_, _| true).is_none());
        assert!(cubes.ray_among(&bvh, DVec3::new(-90.0, 0.5, 0.5), DVec3::X, 95.0, |_| true, |_, _| true).is_some());
    }
}
