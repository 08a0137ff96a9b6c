//! What the examples' shapes are made of: outlines across the prop, surfaces swept through them, bodies turned round the
//! axis and rings that slide over them. The prop lies along +x, across is y, through is z; millimetres.

mod ring;
mod section;
mod sweep;
mod turned;

pub use ring::{RingShape, ring};
pub use section::{Place, blend, lens, oval};
pub use sweep::{Ends, Ring, sweep};
pub use turned::{flat_end, flat_start, turned};

use solid::write::{Part, threemf};
use solid::{DAffine3, Mesh};

/// A value along x through knots (x, value), level at each of them.
pub fn through(knots: &[(f64, f64)], x: f64) -> f64 {
    let after = knots.partition_point(|k| k.0 <= x).clamp(1, knots.len() - 1);
    let (from, to) = (knots[after - 1], knots[after]);
    from.1 + (to.1 - from.1) * ease((x - from.0) / (to.0 - from.0))
}

/// From 0 to 1 with level ends.
pub fn ease(share: f64) -> f64 {
    let t = share.clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// Equal steps from `from` to `to`, the last one included and the first left out.
pub fn steps(from: f64, to: f64, step: f64) -> impl Iterator<Item = f64> {
    let count = libm::round((to - from).abs() / step).max(1.0);
    (1..=count as u32).map(move |k| from + (to - from) * (f64::from(k) / count))
}

/// Bodies with at least `wanted` triangles in all and at most a fiftieth more, made ever finer from edges of
/// `edge_mm` on.
pub fn sized(
    wanted: usize,
    mut edge_mm: f64,
    bodies: &dyn Fn(f64) -> Vec<(&'static str, Mesh)>,
) -> Vec<(String, Mesh)> {
    loop {
        let bodies = bodies(edge_mm);
        let count: usize = bodies.iter().map(|(_, mesh)| mesh.triangles.len()).sum();
        if count >= wanted && count * 50 <= wanted * 51 {
            return bodies.into_iter().map(|(name, mesh)| (name.to_owned(), mesh)).collect();
        }
        edge_mm *= libm::sqrt(count as f64 / (wanted as f64 * 1.005));
    }
}

/// A shape file: the bodies as named objects, coordinates to the micrometre.
pub fn file(mut bodies: Vec<(String, Mesh)>, title: &str) -> Vec<u8> {
    for vertex in bodies.iter_mut().flat_map(|(_, mesh)| &mut mesh.vertices) {
        *vertex = (*vertex * 1000.0).round() / 1000.0;
    }
    let parts: Vec<Part<'_>> =
        bodies.iter().map(|(name, mesh)| Part { name: name.clone(), mesh, placed: DAffine3::IDENTITY }).collect();
    threemf(&parts, &[("Title", title)])
}
