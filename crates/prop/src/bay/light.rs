//! Outer surfaces as the search for room asks them: finely meshed bodies by a lighter copy.

use crate::outcome::Role;
use crate::stages::{Inside, Placed};
use rayon::prelude::*;
use solid::Bvh;

/// How far the lighter copy may be from the maker's surface, mm: a fifth of what walls are held to.
const LIGHT_MM: f64 = 0.02;
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
            let copy = (mesh.triangles.len() > LIGHT_FROM).then(|| solid::lighter(mesh, LIGHT_MM).ok()).flatten();
            Surface { body: b.body, own: &b.outer, light: copy.as_ref().map(Bvh::new) }
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
