//! How deep a surface lies below another: the same everywhere, or varying from place to place.

use crate::DVec3;
use crate::hollow::HollowError;

/// The thickness of a wall that varies.
#[derive(Clone, Copy)]
pub struct GradedWall<'a> {
    /// Thickness wanted at a point of the cavity, mm: the point is that far from the outer surface. Where it says less
    /// than `least_mm` or more than `most_mm`, the limit holds.
    pub thickness: &'a (dyn Fn(DVec3) -> f64 + Sync),
    /// Least wall, mm.
    pub least_mm: f64,
    /// Most, mm.
    pub most_mm: f64,
    /// By how much the thickness changes over a millimetre of way in any direction, at most; below [`STEEPEST`].
    pub slope: f64,
}

/// A thickness that changes this fast or faster is refused: the inner surface would lie askew to the outer one by more than
/// a wall's thickness can be spoken of.
pub const STEEPEST: f64 = 0.5;
/// Spare on the least wall for the flats of triangles, which reach a little into it, mm.
const SPARE_MM: f64 = 0.02;
/// Half the way over which the change of a thickness is measured, mm.
const ASIDE_MM: f64 = 0.05;

impl GradedWall<'_> {
    /// Thickness at a point within the limits, mm.
    pub fn at(&self, p: DVec3) -> f64 {
        (self.thickness)(p).max(self.least_mm + SPARE_MM).min(self.most_mm.max(self.least_mm + SPARE_MM))
    }

    /// Change of the thickness over a millimetre along each axis.
    fn gradient(&self, p: DVec3) -> DVec3 {
        DVec3::AXES
            .iter()
            .map(|a| *a * ((self.at(p + a * ASIDE_MM) - self.at(p - a * ASIDE_MM)) / (2.0 * ASIDE_MM)))
            .sum()
    }

    /// Whether limits and slope are ones.
    pub(crate) fn check(&self) -> Result<(), HollowError> {
        let is_positive = |x: f64| x.is_finite() && x > 0.0;
        if !is_positive(self.least_mm) {
            return Err(HollowError::Wall(self.least_mm));
        }
        if !is_positive(self.most_mm) || self.most_mm < self.least_mm {
            return Err(HollowError::Limits { least_mm: self.least_mm, most_mm: self.most_mm });
        }
        if !(self.slope >= 0.0 && self.slope < STEEPEST) {
            return Err(HollowError::Slope(self.slope));
        }
        Ok(())
    }

    /// Whether the thickness between two points of the cavity is a number and changes no faster than was said.
    pub(crate) fn check_between(&self, a: DVec3, b: DVec3) -> Result<(), HollowError> {
        let [from, to] = [a, b].map(|p| (self.thickness)(p));
        if !(from.is_finite() && to.is_finite()) {
            return Err(HollowError::Thickness(if from.is_finite() { b } else { a }));
        }
        let change = (self.at(a) - self.at(b)).abs();
        // A hundredth, and a micrometre, for the rounding of a field that comes from a grid.
        if change > self.slope * a.distance(b) * 1.01 + 1e-3 {
            return Err(HollowError::Steeper { at: a, slope: change / a.distance(b), stated: self.slope });
        }
        Ok(())
    }
}

/// How deep a surface lies, without sign.
#[derive(Clone, Copy)]
pub(crate) enum Depth<'a> {
    /// The same everywhere, mm.
    Even(f64),
    /// As a wall says.
    Graded(&'a GradedWall<'a>),
}

impl Depth<'_> {
    /// Depth at a point of the surface, mm.
    pub(crate) fn at(&self, p: DVec3) -> f64 {
        match self {
            Depth::Even(mm) => *mm,
            Depth::Graded(wall) => wall.at(p),
        }
    }

    /// Change of the depth over a millimetre, at most.
    pub(crate) fn slope(&self) -> f64 {
        match self {
            Depth::Even(_) => 0.0,
            Depth::Graded(wall) => wall.slope,
        }
    }

    /// The plane that the surface lies in near `p`: a point of it and its normal. `foot` is the point of the other surface
    /// nearest to `p`, `away` the direction from there to `p`.
    pub(crate) fn plane(&self, p: DVec3, foot: DVec3, away: DVec3) -> (DVec3, DVec3) {
        match self {
            Depth::Even(mm) => (foot + away * *mm, away),
            Depth::Graded(wall) => {
                // The level of distance less depth: both change towards this.
                let steepest = away - wall.gradient(p);
                let missing = wall.at(p) - p.distance(foot);
                let length = steepest.length();
                (p + steepest * (missing / (length * length)), steepest / length)
            }
        }
    }
}
