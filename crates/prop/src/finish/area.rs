//! What of each printed piece is the outside that gets painted, measured on its own faces.

use crate::outcome::{Piece, Role};
use crate::stages::Placed;
use crate::window::Windows;
use solid::{Bvh, DVec3, Mesh};

/// A face lies on the maker's surface when its corners and its middle lie so near to it, mm, and it looks the same way.
const ON_MM: f64 = 0.01;
/// Least cosine between a face and the surface that it lies on; a face at another body's looks against it by as much.
const ALIKE: f64 = 0.7;
/// Where windows end or another body begins, faces are halved until no edge is longer, mm.
const FINE_MM: f64 = 1.0;
/// A face that looks along the prop more than this is a cut, and none of the hollow's, as a cosine.
const CUT: f64 = 0.9;

/// The faces of one piece, by what becomes of them.
#[derive(Clone, Debug, PartialEq)]
pub struct Outside {
    /// Number of the piece.
    pub piece: u32,
    /// Outside that is no window, mm2.
    pub body_mm2: f64,
    /// Outside in each window that it has a part of: place in the outcome's windows, mm2.
    pub windows_mm2: Vec<(usize, f64)>,
    /// Inner faces of a lit piece but for its cuts, mm2; 0 of others. Slots and ribs count as well.
    pub hollow_mm2: f64,
}

impl Outside {
    /// All of it, windows and all, mm2.
    pub fn all_mm2(&self) -> f64 {
        self.body_mm2 + self.windows_mm2.iter().map(|(_, mm2)| mm2).sum::<f64>()
    }

    /// What of it lies in a window, mm2.
    pub fn window_mm2(&self, window: usize) -> f64 {
        self.windows_mm2.iter().find(|(w, _)| *w == window).map_or(0.0, |(_, mm2)| *mm2)
    }
}

/// The bodies' surfaces, made ready once.
pub(super) struct Surfaces(Vec<Bvh>);

impl Surfaces {
    pub(super) fn of(placed: &Placed) -> Surfaces {
        Surfaces(placed.bodies.iter().map(|b| Bvh::new(&b.mesh)).collect())
    }
}

/// Sorts the faces of a piece. Faces where another body is joined on are no outside; what a cover hides still is.
pub(super) fn outside(placed: &Placed, windows: &Windows, surfaces: &Surfaces, piece: &Piece) -> Outside {
    let mut found = Outside { piece: piece.number, body_mm2: 0.0, windows_mm2: Vec::new(), hollow_mm2: 0.0 };
    let Some(body) = placed.bodies.iter().position(|b| b.name == piece.body) else { return found };
    let own = &surfaces.0[body];
    let others: Vec<&Bvh> = (0..placed.bodies.len())
        .filter(|k| *k != body && placed.bodies[*k].role != Role::Cover && piece.role != Role::Cover)
        .map(|k| &surfaces.0[k])
        .collect();
    let windowed = windows.list().iter().any(|w| w.body == body);
    let mesh = piece.mesh.transformed(&piece.to_prop);
    let mut in_window = vec![0.0; windows.list().len()];
    for t in 0..mesh.triangles.len() {
        let Some(normal) = mesh.area_vector(t).try_normalize() else { continue };
        let corners = mesh.corners(t);
        if !on(own, &corners, normal) {
            if piece.role == Role::Lit && normal.x.abs() < CUT {
                found.hollow_mm2 += mesh.area_vector(t).length();
            }
            continue;
        }
        let near: Vec<&Bvh> = others.iter().copied().filter(|o| reaches(o, &corners)).collect();
        let edge_mm = if windowed || !near.is_empty() { FINE_MM } else { f64::INFINITY };
        halved(corners, edge_mm, &mut |[a, b, c]| {
            let middle = (a + b + c) / 3.0;
            let mm2 = (b - a).cross(c - a).length() * 0.5;
            if near.iter().any(|o| looks_at(o, middle, normal)) {
                return;
            }
            match windows.which(body, middle, normal) {
                Some(w) => in_window[w.0] += mm2,
                None => found.body_mm2 += mm2,
            }
        });
    }
    found.windows_mm2 = in_window.into_iter().enumerate().filter(|(_, mm2)| *mm2 > 0.0).collect();
    found
}

/// Whether a face lies on a surface and looks as it does there.
fn on(surface: &Bvh, corners: &[DVec3; 3], normal: DVec3) -> bool {
    let middle = (corners[0] + corners[1] + corners[2]) / 3.0;
    let Some(near) = surface.nearest(middle, ON_MM) else { return false };
    facing(surface.mesh(), near.triangle).dot(normal) > ALIKE
        && corners.iter().all(|p| surface.nearest(*p, ON_MM).is_some())
}

/// Whether another body comes as near as the face is large.
fn reaches(surface: &Bvh, corners: &[DVec3; 3]) -> bool {
    let middle = (corners[0] + corners[1] + corners[2]) / 3.0;
    let round = corners.iter().map(|p| p.distance(middle)).fold(0.0, f64::max);
    surface.nearest(middle, round + ON_MM).is_some()
}

/// Whether another body's face lies against this place.
fn looks_at(surface: &Bvh, middle: DVec3, normal: DVec3) -> bool {
    surface.nearest(middle, ON_MM).is_some_and(|n| facing(surface.mesh(), n.triangle).dot(normal) < -ALIKE)
}

fn facing(mesh: &Mesh, triangle: u32) -> DVec3 {
    mesh.area_vector(triangle as usize).normalize_or_zero()
}

/// Tells `leaf` the parts of a triangle whose edges are no longer than asked.
fn halved(triangle: [DVec3; 3], edge_mm: f64, leaf: &mut dyn FnMut([DVec3; 3])) {
    let mut open = vec![triangle];
    while let Some([a, b, c]) = open.pop() {
        let sides = [(b - a).length_squared(), (c - b).length_squared(), (a - c).length_squared()];
        let k = (0..3).fold(0, |k, i| if sides[i] > sides[k] { i } else { k });
        if sides[k] > edge_mm * edge_mm {
            let [p, q, r] = [[a, b, c], [b, c, a], [c, a, b]][k];
            let middle = (p + q) * 0.5;
            open.extend([[p, middle, r], [middle, q, r]]);
        } else {
            leaf([a, b, c]);
        }
    }
}
