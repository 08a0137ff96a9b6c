//! Triangles to samples.

use super::view::View;
use super::{SIZE, SUPER};
use solid::{DVec2, DVec3, Mesh};

/// Grid of samples: columns, rows.
pub(crate) const GRID: [usize; 2] = [SIZE[0] * SUPER, SIZE[1] * SUPER];

/// What a sample shows.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Seen {
    /// Nothing: the ground of the picture.
    Ground,
    /// The bed.
    Bed,
    /// The surface.
    Surface,
    /// The face of the cut.
    Cut,
}

/// One sample of the picture.
#[derive(Clone, Copy)]
pub(crate) struct Sample {
    pub(crate) seen: Seen,
    /// mm away from the eye.
    pub(crate) depth: f32,
    normal: Packed,
}

/// A unit vector in six bytes: a picture has millions of them.
type Packed = [i16; 3];
const PACKED_ONE: f32 = 32_767.0;

fn packed(dir: DVec3) -> Packed {
    dir.to_array().map(|v| (v as f32 * PACKED_ONE).round() as i16)
}

impl Sample {
    /// Unit normal as the eye sees it: right, up, towards the eye.
    pub(crate) fn normal(&self) -> [f32; 3] {
        self.normal.map(|v| f32::from(v) / PACKED_ONE)
    }
}

const NONE: u32 = u32::MAX;

/// Draws a mesh: the nearest surface at each sample.
///
/// The cut face needs no geometry of its own: behind the cutting plane, a ray that first meets the surface from its inside
/// started in the material, so that sample shows the cut. This holds for closed meshes.
pub(crate) fn draw(mesh: &Mesh, view: &View) -> Vec<Sample> {
    let projected: Vec<DVec3> = mesh.vertices.iter().map(|v| view.project(*v)).collect();
    let before: Vec<f64> = match view.opening {
        Some(o) => mesh.vertices.iter().map(|v| o.normal.dot(*v) - o.offset_mm).collect(),
        None => vec![-1.0; mesh.vertices.len()],
    };
    let mut depth = vec![f32::INFINITY; GRID[0] * GRID[1]];
    let mut nearest = vec![NONE; GRID[0] * GRID[1]];
    for (i, t) in mesh.triangles.iter().enumerate() {
        let corners = t.map(|v| projected[v as usize]);
        let fronts = t.map(|v| before[v as usize]);
        if fronts.iter().all(|f| *f > 0.0) {
            continue;
        }
        fill(GRID, corners, fronts, |at, z| {
            if z < depth[at] {
                depth[at] = z;
                nearest[at] = i as u32;
            }
        });
    }
    let normals: Vec<Packed> =
        (0..mesh.triangles.len()).map(|t| packed(view.turn(mesh.area_vector(t).normalize_or_zero()))).collect();
    let cut_normal = view.opening.map(|o| packed(view.turn(o.normal)));
    let bed_normal = packed(view.turn(DVec3::Z));
    let mut samples = Vec::with_capacity(GRID[0] * GRID[1]);
    for row in 0..GRID[1] {
        for column in 0..GRID[0] {
            let at = row * GRID[0] + column;
            let (x, y) = (column as f64 + 0.5, row as f64 + 0.5);
            samples.push(match nearest[at] {
                NONE => ground(view, x, y, bed_normal),
                t => {
                    let normal = normals[t as usize];
                    match (view.opening, cut_normal) {
                        (Some(o), Some(cut)) if normal[2] < 0 => {
                            let depth = view.plane_depth(x, y, o.normal, o.offset_mm) as f32;
                            Sample { seen: Seen::Cut, depth, normal: cut }
                        }
                        _ => Sample { seen: Seen::Surface, depth: depth[at], normal },
                    }
                }
            });
        }
    }
    samples
}

fn ground(view: &View, x: f64, y: f64, bed_normal: Packed) -> Sample {
    let depth = view.plane_depth(x, y, DVec3::Z, 0.0);
    let p = view.point(x, y, depth).truncate();
    let on_bed = p.cmpge(view.bed[0]).all() && p.cmple(view.bed[1]).all();
    let seen = if on_bed { Seen::Bed } else { Seen::Ground };
    Sample { seen, depth: depth as f32, normal: bed_normal }
}

/// Calls `put` with index and depth of each sample of a grid (columns, rows) inside the triangle that the opening leaves:
/// where the second numbers of its corners, between them, are not above 0. A sample on an edge may be put by both
/// neighbours, which does no harm: the depths agree.
pub(crate) fn fill(grid: [usize; 2], [a, b, c]: [DVec3; 3], [fa, fb, fc]: [f64; 3], mut put: impl FnMut(usize, f32)) {
    let double_area = (b - a).truncate().perp_dot((c - a).truncate());
    if double_area.abs() < 1e-12 {
        return;
    }
    let low = a.min(b).min(c).truncate();
    let high = a.max(b).max(c).truncate();
    let first = |v: f64| (v - 0.5).ceil().max(0.0) as usize;
    let last = |v: f64, n: usize| ((v - 0.5).floor() + 1.0).clamp(0.0, n as f64) as usize;
    let columns = first(low.x)..last(high.x, grid[0]);
    for row in first(low.y)..last(high.y, grid[1]) {
        for column in columns.clone() {
            let p = DVec2::new(column as f64 + 0.5, row as f64 + 0.5);
            let v = (p - a.truncate()).perp_dot((c - a).truncate()) / double_area;
            let w = (b - a).truncate().perp_dot(p - a.truncate()) / double_area;
            let u = 1.0 - v - w;
            if u < 0.0 || v < 0.0 || w < 0.0 {
                continue;
            }
            if u * fa + v * fb + w * fc <= 0.0 {
                put(row * grid[0] + column, (u * a.z + v * b.z + w * c.z) as f32);
            }
        }
    }
}
