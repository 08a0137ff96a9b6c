//! What a build has come to while it goes on, told to whoever shows it.

use super::{Inside, Placed, Powered, Printed, Split};
use crate::light::Lighting;
use crate::outcome::{Bar, Body, BodyView, Part};
use crate::power::Power;
use crate::strength::Strength;
use solid::DVec3;

/// The results of a build in the order in which they come: shape, geometry, print, light, strength, power. Where walls are
/// graded, geometry, print and light come again with each round, and the last one counts.
#[derive(Clone, Copy)]
pub enum SoFar<'a> {
    /// The shape lies in the prop frame as it was read, not mended yet: its bodies and its length, mm. Not told where it is
    /// remembered.
    Read(&'a [Body], f64),
    /// The shape is mended and in the prop frame; each body is seen from two sides.
    Shape(&'a Placed, &'a [BodyView]),
    /// The prop is in pieces, with what goes into them.
    Geometry(Geometry<'a>),
    /// Those pieces lie on their beds.
    Print(Geometry<'a>, &'a Printed),
    /// How it glows; `None` for a prop without light.
    Light(Option<&'a Lighting>),
    /// What it bears; `None` where that was not worked out.
    Strength(Option<&'a Strength>),
    /// How it is powered; `None` for a prop without a cell, or where that could not be worked out.
    Power(Option<&'a Power>),
}

/// Pieces and what goes into them.
#[derive(Clone, Copy)]
pub struct Geometry<'a> {
    /// Bodies and path.
    pub placed: &'a Placed,
    /// Cavities and rail, with the pixels.
    pub inside: &'a Inside,
    /// Pieces and joints.
    pub split: &'a Split,
    /// Parts in their places.
    pub parts: &'a [Part],
    /// Strips as straight lengths.
    pub strips: &'a [Bar],
    /// The spine as straight lengths.
    pub spines: &'a [Bar],
    /// Way of the wires.
    pub wire_way: &'a [DVec3],
}

/// Who is told.
pub type Tell<'a> = &'a (dyn Fn(SoFar) + Sync);

impl<'a> SoFar<'a> {
    pub(super) fn power(powered: &'a Powered) -> SoFar<'a> {
        SoFar::Power(powered.0.as_ref())
    }
}
