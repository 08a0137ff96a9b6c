//! Outer surfaces as the search for room asks them: finely meshed bodies by a lighter copy.

use crate::outcome::Role;
use crate::stages::{Inside, Placed};
use rayon::prelude::*;
use solid::{Bvh, Mesh};

/// How far the lighter copy may be from the maker's surface, mm. Walls are planned thicker by as much, so that the printed ones
/// never come short.
const LIGHT_MM: f64 = 0.05;
/// A surface with no more triangles is light enough.
const LIGHT_FROM: usize = 150_000;

/// The outer surfaces of the bodies that parts and wires go into. Nothing that prints comes of them.
pub(super) struct Surfaces<'a>(Vec<Surface<'a>>);

/// The outer surface of one body.
pub(super) struct Surface<'a> {
    /// Index in the placed shape.
    pub(super) body: usize,
    own: &'a Bvh,
    light: Option<Bvh>,
}

impl<'a> Surfaces<'a> {
    /// The plain bodies' surfaces, from the butt.
    pub(super) fn of(placed: &Placed, inside: &'a Inside) -> Surfaces<'a> {
        let plain: Vec<_> = inside.bodies.iter().filter(|b| placed.bodies[b.body].role == Role::Plain).collect();
        let surfaces = plain.into_par_iter().map(|b| {
            let mesh = &placed.bodies[b.body].mesh;
            // Where none keeps to the surface, the maker's own serves.
            Surface { body: b.body, own: &b.outer, light: copy_of(mesh).as_ref().map(Bvh::new) }
        });
        Surfaces(surfaces.collect())
    }

    pub(super) fn iter(&self) -> impl Iterator<Item = &Surface<'a>> {
        self.0.iter()
    }

    /// The surface of a body of the placed shape.
    pub(super) fn of_body(&self, body: usize) -> Option<&Surface<'a>> {
        self.0.iter().find(|s| s.body == body)
    }
}

/// A lighter copy of a fine surface; where none keeps to it, the maker's own serves.
fn copy_of(mesh: &Mesh) -> Option<Mesh> {
    (mesh.triangles.len() > LIGHT_FROM).then(|| solid::lighter(mesh, LIGHT_MM).ok()).flatten()
}

impl Surface<'_> {
    /// The surface to ask.
    pub(super) fn bvh(&self) -> &Bvh {
        self.light.as_ref().unwrap_or(self.own)
    }

    /// Where the body begins and ends along the prop, x in mm.
    pub(super) fn ends_mm(&self) -> [f64; 2] {
        self.own.bounds().map_or([0.0; 2], |b| [b.min.x, b.max.x])
    }

    /// By how much it may lie outside the maker's, mm.
    pub(super) fn off_mm(&self) -> f64 {
        if self.light.is_some() { LIGHT_MM } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use solid::{DVec3, sphere};

    #[test]
    fn a_fine_body_gets_a_copy_that_keeps_to_it() {
        let fine = sphere(DVec3::ZERO, 30.0, 400);
        assert!(fine.triangles.len() > LIGHT_FROM);
        let copy = copy_of(&fine).unwrap();
        assert!(2 * copy.triangles.len() < fine.triangles.len(), "{}", copy.triangles.len());
        // A point of the ball's surface: the same depth as by the formula, within what the copy may be off.
        let ask = Bvh::new(&copy);
        for p in [DVec3::new(11.0, 12.0, 13.0), DVec3::new(-20.0, 3.0, 14.0), DVec3::new(0.5, 0.25, -29.0)] {
            assert!((ask.signed_distance(p) - (p.length() - 30.0)).abs() < LIGHT_MM + 0.01);
        }
        assert!(copy_of(&sphere(DVec3::ZERO, 30.0, 100)).is_none());
    }
}
