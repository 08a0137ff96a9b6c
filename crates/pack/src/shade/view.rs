//! Where the eye stands, and the plane that opens the piece.

use super::{SIZE, SUPER};
use solid::{Bounds, DVec2, DVec3, Mesh};

/// Room about the piece, pixels: left and right, above, below (the scale bar).
const MARGIN: [f64; 3] = [40.0, 36.0, 76.0];
/// How far the bed is shown beyond the piece's box, mm.
const BED_MARGIN: f64 = 8.0;
/// The eye's height above the bed and its turn away from square on, degrees: enough to see three sides.
const ELEVATION_DEG: f64 = 24.0;
const TURN_DEG: f64 = 32.0;

/// A half space that is taken away: points with `normal · p > offset_mm`.
#[derive(Clone, Copy)]
pub(crate) struct Opening {
    pub(crate) normal: DVec3,
    pub(crate) offset_mm: f64,
}

/// A parallel projection onto the sample grid: x right, y down in samples, depth in mm away from the eye.
pub(crate) struct View {
    right: DVec3,
    up: DVec3,
    /// From the piece to the eye, unit.
    pub(crate) to_eye: DVec3,
    /// Samples a mm.
    pub(crate) scale: f64,
    shift: DVec2,
    pub(crate) opening: Option<Opening>,
    /// The part of the bed that is shown: corners at z = 0, mm.
    pub(crate) bed: [DVec2; 2],
}

impl View {
    /// The view of a mesh that stands on the bed: three-quarter, onto its broad side, which is taken away up to the middle
    /// when `open`.
    pub(crate) fn of(mesh: &Mesh, open: bool) -> View {
        let bounds = mesh.bounds().unwrap_or(Bounds { min: DVec3::ZERO, max: DVec3::ONE });
        let broad = broad_side(mesh);
        let front = if open { emptier_side(mesh, broad, bounds.center()) } else { broad };
        // A hair off the middle, because faces of a symmetric piece often lie exactly there.
        let opening = open.then(|| Opening { normal: front, offset_mm: front.dot(bounds.center()) + 0.013 });
        let level = turned(front, TURN_DEG);
        let (sin, cos) = libm::sincos(ELEVATION_DEG.to_radians());
        let to_eye = level * cos + DVec3::Z * sin;
        let right = DVec3::Z.cross(level);
        let up = to_eye.cross(right);
        let bed = [bounds.min.truncate() - DVec2::splat(BED_MARGIN), bounds.max.truncate() + DVec2::splat(BED_MARGIN)];
        let mut view = View { right, up, to_eye, scale: 1.0, shift: DVec2::ZERO, opening, bed };
        view.fit(mesh);
        view
    }

    fn fit(&mut self, mesh: &Mesh) {
        let [low, high] = self.seen_box(mesh);
        let room = DVec2::new(SIZE[0] as f64 - 2.0 * MARGIN[0], SIZE[1] as f64 - MARGIN[1] - MARGIN[2]);
        let size = (high - low).max(DVec2::splat(1e-6));
        // Small parts are not blown up beyond 12 pixels a mm.
        let per_mm = (room / size).min_element().min(12.0);
        let middle = DVec2::new(SIZE[0] as f64 / 2.0, MARGIN[1] + room.y / 2.0);
        self.scale = per_mm * SUPER as f64;
        self.shift = middle * SUPER as f64 - (low + high) * 0.5 * self.scale;
    }

    /// The box of what is seen, unscaled: what the opening leaves, and the bed.
    fn seen_box(&self, mesh: &Mesh) -> [DVec2; 2] {
        let mut seen = [DVec2::INFINITY, DVec2::NEG_INFINITY];
        let mut add = |p: DVec3| {
            let q = DVec2::new(p.dot(self.right), -p.dot(self.up));
            seen = [seen[0].min(q), seen[1].max(q)];
        };
        for x in self.bed.map(|c| c.x) {
            for y in self.bed.map(|c| c.y) {
                add(DVec3::new(x, y, 0.0));
            }
        }
        let before = |p: DVec3| self.opening.map_or(-1.0, |o| o.normal.dot(p) - o.offset_mm);
        for t in 0..mesh.triangles.len() {
            let corners = mesh.corners(t);
            for (i, a) in corners.into_iter().enumerate() {
                let b = corners[(i + 1) % 3];
                let (da, db) = (before(a), before(b));
                if da <= 0.0 {
                    add(a);
                }
                if (da <= 0.0) != (db <= 0.0) {
                    add(a + (b - a) * (da / (da - db)));
                }
            }
        }
        seen
    }

    /// Samples right, samples down, mm away.
    pub(crate) fn project(&self, p: DVec3) -> DVec3 {
        let flat = DVec2::new(p.dot(self.right), -p.dot(self.up)) * self.scale + self.shift;
        flat.extend(-p.dot(self.to_eye))
    }

    /// The point of space seen at a sample, `depth` mm away.
    pub(crate) fn point(&self, x: f64, y: f64, depth: f64) -> DVec3 {
        let flat = (DVec2::new(x, y) - self.shift) / self.scale;
        self.right * flat.x - self.up * flat.y - self.to_eye * depth
    }

    /// A direction of the piece as the eye sees it: right, up, towards the eye.
    pub(crate) fn turn(&self, dir: DVec3) -> DVec3 {
        DVec3::new(dir.dot(self.right), dir.dot(self.up), dir.dot(self.to_eye))
    }

    /// Depth at which the eye's ray through a sample meets the plane `normal · p = offset`.
    pub(crate) fn plane_depth(&self, x: f64, y: f64, normal: DVec3, offset: f64) -> f64 {
        let start = self.point(x, y, 0.0);
        (normal.dot(start) - offset) / normal.dot(self.to_eye)
    }
}

fn turned(dir: DVec3, degrees: f64) -> DVec3 {
    let (sin, cos) = libm::sincos(degrees.to_radians());
    DVec3::new(dir.x * cos - dir.y * sin, dir.x * sin + dir.y * cos, 0.0)
}

/// The level direction in which the surface is thinnest (least second moment of its area), pointing to the bed's front
/// edge (-y). A round piece has none and shows its front.
fn broad_side(mesh: &Mesh) -> DVec3 {
    let (mut area, mut mean) = (0.0, DVec2::ZERO);
    let faces: Vec<(f64, DVec2)> = (0..mesh.triangles.len())
        .map(|t| {
            let [a, b, c] = mesh.corners(t);
            (mesh.area_vector(t).length(), ((a + b + c) / 3.0).truncate())
        })
        .collect();
    for (weight, p) in &faces {
        area += weight;
        mean += *p * *weight;
    }
    mean /= f64::max(area, 1e-12);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (weight, p) in &faces {
        let d = *p - mean;
        xx += weight * d.x * d.x;
        xy += weight * d.x * d.y;
        yy += weight * d.y * d.y;
    }
    let spread = ((xx - yy) * (xx - yy) + 4.0 * xy * xy).sqrt();
    if spread < 0.05 * (xx + yy) {
        return DVec3::NEG_Y;
    }
    // Direction of the largest moment of a symmetric 2 x 2 matrix; the smallest is square to it.
    let angle = 0.5 * libm::atan2(2.0 * xy, xx - yy);
    let (sin, cos) = libm::sincos(angle);
    let thin = DVec3::new(-sin, cos, 0.0);
    if thin.y > 1e-9 || (thin.y.abs() <= 1e-9 && thin.x < 0.0) { -thin } else { thin }
}

/// `dir` or its opposite: the half of the piece towards it has less surface, so that taking it away leaves the half with
/// the rails to be seen. Alike halves keep `dir`.
fn emptier_side(mesh: &Mesh, dir: DVec3, middle: DVec3) -> DVec3 {
    let [mut before, mut behind] = [0.0, 0.0];
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t);
        let area = mesh.area_vector(t).length();
        if dir.dot((a + b + c) / 3.0 - middle) > 0.0 { before += area } else { behind += area }
    }
    if before > 1.02 * behind { -dir } else { dir }
}
