//! The triangles of a mesh by cubes of space, for rays that are hardly longer than a cube: no tree to climb down.

use crate::bvh::meet;
use crate::{Bvh, DVec3, RayHit};

/// Cubes along each side of a block; blocks that no triangle touches take no room.
const SIDE: i32 = 4;

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
        let mut n_used = 0;
        let mut touched: Vec<(u32, u32)> = Vec::new();
        for t in 0..bvh.mesh().triangles.len() {
            let corners = bvh.mesh().corners(t);
            if corners.iter().all(|c| c.is_finite()) {
                let start = touched.len();
                cubes.touch(corners, &mut n_used, &mut |cube| touched.push((cube, t as u32)));
                touched[start..].sort_unstable();
                let mut kept = start;
                for i in start..touched.len() {
                    if i == start || touched[i] != touched[kept - 1] {
                        touched[kept] = touched[i];
                        kept += 1;
                    }
                }
                touched.truncate(kept);
            }
        }
        // By counting: cubes in order, and the triangles of each in theirs. Each start is first its end, and counts down.
        let mut first = vec![0_u32; n_used as usize * (SIDE * SIDE * SIDE) as usize + 1];
        for (cube, _) in &touched {
            first[*cube as usize] += 1;
        }
        for i in 1..first.len() {
            first[i] += first[i - 1];
        }
        cubes.triangles = vec![0; touched.len()];
        for (cube, t) in touched.into_iter().rev() {
            first[cube as usize] -= 1;
            cubes.triangles[first[cube as usize] as usize] = t;
        }
        cubes.first = first;
        cubes
    }

    /// Names every cube that a triangle may touch, some more than once.
    fn touch(&mut self, corners: [DVec3; 3], n_used: &mut u32, name: &mut dyn FnMut(u32)) {
        let longest = (0..3).max_by(|i, k| side_sq(&corners, *i).total_cmp(&side_sq(&corners, *k))).unwrap_or(0);
        if side_sq(&corners, longest) > (LONGEST * self.side_mm).powi(2) {
            let [a, b, c] = [0, 1, 2].map(|k| corners[(longest + k) % 3]);
            let middle = (a + b) / 2.0;
            self.touch([a, middle, c], n_used, name);
            self.touch([middle, b, c], n_used, name);
            return;
        }
        let margin = DVec3::splat(MARGIN);
        let [a, b, c] = corners.map(|p| (p - self.low) / self.side_mm);
        let whole = |p: DVec3| p.to_array().map(|x| x.floor() as i32);
        let (from, to) = (whole(a.min(b).min(c) - margin), whole(a.max(b).max(c) + margin));
        let normal = (b - a).cross(c - a).normalize_or_zero();
        // Half the cube seen along the normal.
        let reach = 0.5 * (normal.x.abs() + normal.y.abs() + normal.z.abs()) + 2.0 * MARGIN;
        for x in from[0]..=to[0] {
            for y in from[1]..=to[1] {
                for z in from[2]..=to[2] {
                    let middle = DVec3::new(f64::from(x), f64::from(y), f64::from(z)) + 0.5;
                    if (middle - a).dot(normal).abs() <= reach {
                        let block = self.block_at([x, y, z]).expect("triangles lie within the bounds");
                        if self.blocks[block] == u32::MAX {
                            self.blocks[block] = *n_used;
                            *n_used += 1;
                        }
                        name(self.blocks[block] * (SIDE * SIDE * SIDE) as u32 + within([x, y, z]));
                    }
                }
            }
        }
    }

    fn block_at(&self, cube: [i32; 3]) -> Option<usize> {
        let block = cube.map(|c| c.div_euclid(SIDE));
        let is_inside = (0..3).all(|k| block[k] >= 0 && block[k] < self.counts[k]);
        is_inside
            .then(|| ((block[2] * self.counts[1] + block[1]) as usize) * self.counts[0] as usize + block[0] as usize)
    }

    /// The triangles that touch a cube.
    fn of(&self, cube: [i32; 3]) -> &[u32] {
        let Some(block) = self.block_at(cube).map(|b| self.blocks[b]).filter(|b| *b != u32::MAX) else { return &[] };
        let at = (block * (SIDE * SIDE * SIDE) as u32 + within(cube)) as usize;
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
        let mut cube = at.map(|x| x.floor() as i32);
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
            for t in self.of(cube) {
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
        }
    }
}

fn side_sq(corners: &[DVec3; 3], k: usize) -> f64 {
    corners[k].distance_squared(corners[(k + 1) % 3])
}

/// Number of a cube in its block.
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
