//! The area of each window, and places on it.

use super::Windows;
use crate::stages::Placed;
use rayon::prelude::*;
use solid::{DVec3, Mesh};

/// Triangles are halved until no edge is longer, mm: a window's border is known so well at each place, and far better as a
/// whole.
const FINE_MM: f64 = 1.0;
/// One sample to so much area, mm2.
pub(crate) const SAMPLE_MM2: f64 = 25.0;
/// Triangles measured together; fixed, so that sums come out alike on any number of threads.
const CHUNK: usize = 512;

/// A part of the surface in a window: which, its middle, its normal, its area.
type Leaf = (usize, DVec3, DVec3, f64);

pub(super) fn measure(windows: &mut Windows, placed: &Placed) {
    let mut area = vec![0.0; windows.list().len()];
    let mut samples = vec![Vec::new(); area.len()];
    let mut span = vec![[f64::INFINITY, f64::NEG_INFINITY]; area.len()];
    for (body, b) in placed.bodies.iter().enumerate() {
        let chunks: Vec<Vec<Leaf>> = (0..b.mesh.triangles.len().div_ceil(CHUNK))
            .into_par_iter()
            .map(|c| chunk(windows, body, &b.mesh, c))
            .collect();
        for (w, p, n, mm2) in chunks.into_iter().flatten() {
            let before = (area[w] / SAMPLE_MM2).floor();
            area[w] += mm2;
            if (area[w] / SAMPLE_MM2).floor() > before || samples[w].is_empty() {
                samples[w].push([p, n]);
            }
            let s = windows.path.station_of(p);
            span[w] = [span[w][0].min(s), span[w][1].max(s)];
        }
    }
    for (k, window) in windows.windows.iter_mut().enumerate() {
        window.area_mm2 = area[k];
        window.samples = std::mem::take(&mut samples[k]);
        window.station_mm = if area[k] > 0.0 { span[k] } else { [0.0; 2] };
    }
}

fn chunk(windows: &Windows, body: usize, mesh: &Mesh, chunk: usize) -> Vec<Leaf> {
    let mut found = Vec::new();
    let mut open = Vec::new();
    for t in chunk * CHUNK..((chunk + 1) * CHUNK).min(mesh.triangles.len()) {
        let Some(normal) = mesh.area_vector(t).try_normalize() else { continue };
        open.push(mesh.corners(t));
        while let Some([a, b, c]) = open.pop() {
            let sides = [(b - a).length_squared(), (c - b).length_squared(), (a - c).length_squared()];
            let k = (0..3).fold(0, |k, i| if sides[i] > sides[k] { i } else { k });
            if sides[k] > FINE_MM * FINE_MM {
                let [p, q, r] = [[a, b, c], [b, c, a], [c, a, b]][k];
                let middle = (p + q) * 0.5;
                open.extend([[p, middle, r], [middle, q, r]]);
                continue;
            }
            let centroid = (a + b + c) / 3.0;
            if let Some(w) = windows.which(body, centroid, normal) {
                found.push((w.0, centroid, normal, (b - a).cross(c - a).length() * 0.5));
            }
        }
    }
    found
}
