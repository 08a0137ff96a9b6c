//! The shadow that a piece throws on the bed: where no other piece may stand.

use solid::{DVec2, Mesh};

/// Side of the squares that a shadow is made of, mm.
const CELL_MM: f64 = 0.4;
/// A shadow has at most this many squares to a side; larger pieces get larger squares.
const MOST_CELLS: f64 = 2000.0;
/// How far the outline may be straightened outwards, in squares.
const SLACK_CELLS: f64 = 1.0;
/// A triangle counts as this much larger, in squares, so that rounding leaves none out.
const HAIR: f64 = 1e-4;
/// How many corners ahead a straight side is looked for.
const AHEAD: usize = 64;

/// The outline of everything that lies over the bed at any height, counter-clockwise.
///
/// Guarantees that the mesh's projection lies inside; the outline is at most two squares of 0.4 mm larger. Holes are
/// filled: nothing is nested inside a ring. The pieces of a mesh in several parts are held by one convex outline. Empty
/// for a mesh without triangles.
pub fn shadow(mesh: &Mesh) -> Vec<DVec2> {
    let Some(bounds) = mesh.bounds().filter(|_| !mesh.triangles.is_empty()) else { return Vec::new() };
    let size = bounds.size().truncate();
    let cell = CELL_MM.max(size.max_element() / MOST_CELLS);
    // One free square all round.
    let origin = bounds.min.truncate() - DVec2::splat(cell * 1.5);
    let [width, height] = [size.x, size.y].map(|s| (s / cell).ceil() as usize + 4);
    let mut grid = Grid { width, height, filled: vec![false; width * height] };
    for t in 0..mesh.triangles.len() {
        grid.cover(&mesh.corners(t).map(|p| (p.truncate() - origin) / cell));
    }
    grid.fill_holes();
    let loops = grid.outlines();
    let to_bed = |p: &DVec2| origin + *p * cell;
    match loops.as_slice() {
        [one] => straightened(one).iter().map(to_bed).collect(),
        several => super::hull::hull(several.iter().flatten().map(to_bed).collect()),
    }
}

struct Grid {
    width: usize,
    height: usize,
    filled: Vec<bool>,
}

impl Grid {
    /// Marks every square that a triangle (in squares) touches.
    fn cover(&mut self, corners: &[DVec2; 3]) {
        let low = (corners.iter().fold(f64::INFINITY, |l, p| l.min(p.y)) - HAIR).floor() as usize;
        let high = (corners.iter().fold(0.0, |h: f64, p| h.max(p.y)) + HAIR).floor() as usize;
        for row in low..=high.min(self.height - 1) {
            let band = [row as f64 - HAIR, row as f64 + 1.0 + HAIR];
            let (mut from, mut to) = (f64::INFINITY, f64::NEG_INFINITY);
            for k in 0..3 {
                let (a, b) = (corners[k], corners[(k + 1) % 3]);
                let (a, b) = if a.y <= b.y { (a, b) } else { (b, a) };
                if b.y < band[0] || a.y > band[1] {
                    continue;
                }
                let at = |y: f64| if b.y > a.y { a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y)) } else { a.x };
                let ends = if b.y > a.y { [at(band[0].max(a.y)), at(band[1].min(b.y))] } else { [a.x, b.x] };
                from = from.min(ends[0]).min(ends[1]);
                to = to.max(ends[0]).max(ends[1]);
            }
            if from <= to {
                let first = (from - HAIR).floor().max(0.0) as usize;
                let last = ((to + HAIR).floor() as usize).min(self.width - 1);
                self.filled[row * self.width..][first..=last].fill(true);
            }
        }
    }

    /// Fills what cannot be reached from the border across sides of free squares.
    fn fill_holes(&mut self) {
        let mut outside = vec![false; self.filled.len()];
        let mut open = vec![0];
        outside[0] = true;
        while let Some(at) = open.pop() {
            let (x, y) = (at % self.width, at / self.width);
            let mut visit = |next: usize| {
                if !outside[next] && !self.filled[next] {
                    outside[next] = true;
                    open.push(next);
                }
            };
            if x > 0 {
                visit(at - 1);
            }
            if x + 1 < self.width {
                visit(at + 1);
            }
            if y > 0 {
                visit(at - self.width);
            }
            if y + 1 < self.height {
                visit(at + self.width);
            }
        }
        self.filled = outside.iter().map(|o| !o).collect();
    }

    fn is_filled(&self, x: i64, y: i64) -> bool {
        (0..self.width as i64).contains(&x)
            && (0..self.height as i64).contains(&y)
            && self.filled[y as usize * self.width + x as usize]
    }

    /// The outer borders of the filled squares, counter-clockwise, corners only. Squares that touch at a corner belong
    /// together.
    fn outlines(&self) -> Vec<Vec<DVec2>> {
        let mut seen = vec![false; self.filled.len()];
        let mut loops = Vec::new();
        for y in 0..self.height as i64 {
            for x in 0..self.width as i64 {
                // A lower border runs right; each loop has one, and its first is found here.
                let at = y as usize * self.width + x as usize;
                if self.is_filled(x, y) && !self.is_filled(x, y - 1) && !seen[at] {
                    loops.push(self.trace(x, y, &mut seen));
                }
            }
        }
        loops
    }

    /// Follows a border from the lower left corner of a square, the inside on the left.
    fn trace(&self, x: i64, y: i64, seen: &mut [bool]) -> Vec<DVec2> {
        let start = (x, y, 1, 0);
        let (mut x, mut y, mut dx, mut dy) = start;
        let mut corners = Vec::new();
        loop {
            if (dx, dy) == (1, 0) {
                seen[y as usize * self.width + x as usize] = true;
            }
            (x, y) = (x + dx, y + dy);
            // The squares ahead, to the left and to the right of the border.
            let square = |side_x: i64, side_y: i64| {
                let (cx, cy) = (2 * x + dx + side_x - 1, 2 * y + dy + side_y - 1);
                self.is_filled(cx.div_euclid(2), cy.div_euclid(2))
            };
            let (left, right) = (square(-dy, dx), square(dy, -dx));
            let turned = match (left, right) {
                // Right also where squares touch at a corner only.
                (_, true) => (dy, -dx),
                (true, false) => (dx, dy),
                (false, false) => (-dy, dx),
            };
            if turned != (dx, dy) {
                corners.push(DVec2::new(x as f64, y as f64));
            }
            (dx, dy) = turned;
            if (x, y, dx, dy) == start {
                return corners;
            }
        }
    }
}

/// The outline with longer straight sides: steps are bridged on the outside, by at most [`SLACK_CELLS`].
fn straightened(outline: &[DVec2]) -> Vec<DVec2> {
    let n = outline.len();
    // A corner that surely sticks out.
    let Some(first) = (0..n).min_by(|a, b| {
        let (a, b) = (outline[*a], outline[*b]);
        a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
    }) else {
        return Vec::new();
    };
    let at = |k: usize| outline[(first + k) % n];
    let mut kept = vec![at(0)];
    let mut from = 0;
    while from < n {
        let inside = |to: usize| {
            let side = at(to) - at(from);
            let length = side.length();
            length > 0.0
                && (from + 1..to).all(|k| {
                    let to_corner = at(k) - at(from);
                    let (off, along) = (side.perp_dot(to_corner), side.dot(to_corner));
                    off >= -1e-9 && off <= SLACK_CELLS * length && (0.0..=length * length).contains(&along)
                })
        };
        let to = (from + 1..=(from + AHEAD).min(n)).rev().find(|to| inside(*to)).unwrap_or(from + 1);
        if to < n {
            kept.push(at(to));
        }
        from = to;
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::super::trial::{circle, column};
    use super::*;
    use solid::section::{area_mm2, distance_to, point_in};
    use solid::{DVec3, cuboid, difference, union};

    fn holds(outline: &[DVec2], mesh: &Mesh) {
        let loops = [outline.to_vec()];
        assert!(area_mm2(&loops) > 0.0);
        for v in &mesh.vertices {
            let p = v.truncate();
            assert!(point_in(&loops, p), "{p}");
            assert!(distance_to(&loops, p) > 1e-6);
        }
    }

    #[test]
    fn a_box_throws_its_own_rectangle() {
        let mesh = cuboid(DVec3::ZERO, DVec3::new(30.0, 20.0, 50.0));
        let outline = shadow(&mesh);
        holds(&outline, &mesh);
        assert_eq!(outline.len(), 4, "{outline:?}");
        let area = area_mm2(&[outline]);
        assert!((600.0..=31.6 * 21.6).contains(&area), "{area}");
        assert!(shadow(&Mesh::default()).is_empty());
    }

    #[test]
    fn an_angle_keeps_its_bay_and_a_ring_does_not() {
        let body = cuboid(DVec3::ZERO, DVec3::new(40.0, 40.0, 10.0));
        let bay = difference(&body, &cuboid(DVec3::new(10.0, 10.0, -1.0), DVec3::new(41.0, 41.0, 11.0))).unwrap();
        let outline = shadow(&bay);
        holds(&outline, &bay);
        assert!((700.0..=700.0 + 160.0 * 0.9).contains(&area_mm2(std::slice::from_ref(&outline))));
        assert!(!point_in(&[outline], DVec2::splat(25.0)));
        let ring = difference(&body, &cuboid(DVec3::new(10.0, 10.0, -1.0), DVec3::new(30.0, 30.0, 11.0))).unwrap();
        assert!(area_mm2(&[shadow(&ring)]) >= 1600.0);
    }

    #[test]
    fn a_disc_and_a_leaning_roof_are_held_tightly() {
        let disc = column(&circle(30.0, 200), 5.0);
        let outline = shadow(&disc);
        holds(&outline, &disc);
        let excess = area_mm2(std::slice::from_ref(&outline)) - std::f64::consts::PI * 900.0;
        assert!(excess > 0.0 && excess < 2.0 * std::f64::consts::PI * 30.0 * 0.8, "{excess}");
        // A roof high up counts as well as the foot.
        let post = cuboid(DVec3::ZERO, DVec3::new(5.0, 5.0, 30.0));
        let sign = union(&post, &cuboid(DVec3::new(-20.0, 1.0, 25.0), DVec3::new(25.0, 4.0, 30.0))).unwrap();
        holds(&shadow(&sign), &sign);
    }
}
