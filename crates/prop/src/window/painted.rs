//! The colours of the maker's mesh, asked by place.

use solid::read::{Hue, NamedMesh, Paint};
use solid::{Bvh, DAffine3, DVec3};
use std::fmt;

/// How far a place may lie from the maker's own surface, mm: mending moves it less.
const NEAR_MM: f64 = 0.5;

/// A painted mesh as the maker drew it, in the prop frame. Mending changes triangles, so colours are looked up by place.
pub struct Painted {
    surface: Bvh,
    paint: Paint,
}

impl Painted {
    /// The paint of a body as it was read; none where it has none.
    pub(crate) fn new(body: &NamedMesh, to_prop: &DAffine3) -> Option<Painted> {
        let paint = body.paint.clone()?;
        Some(Painted { surface: Bvh::from(body.mesh.transformed(to_prop)), paint })
    }

    /// Whether the nearest face is painted with that.
    pub(super) fn is(&self, point: DVec3, colour: &str) -> bool {
        let nearest = self.surface.nearest(point, NEAR_MM);
        nearest.and_then(|n| self.hue(n.triangle)).is_some_and(|hue| hue.is(colour))
    }

    fn hue(&self, triangle: u32) -> Option<&Hue> {
        self.paint.hues.get(*self.paint.of.get(triangle as usize)? as usize)
    }

    /// The materials and colours that its faces have.
    pub(super) fn hues(&self) -> Vec<&Hue> {
        let mut used: Vec<u32> = self.paint.of.clone();
        used.sort_unstable();
        used.dedup();
        used.iter().filter_map(|k| self.paint.hues.get(*k as usize)).collect()
    }
}

impl fmt::Debug for Painted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Painted").field("hues", &self.hues()).finish_non_exhaustive()
    }
}
