//! The cavity of a body with walls, without parts too thin to be worth it.

use crate::bricks::Band;
use crate::contour::{Cell, Fit, untangle};
use crate::depth::{Depth, GradedWall, STEEPEST};
use crate::offset::{Level, OVERHANG, sharp_offset, trace};
use crate::{Bounds, Bvh, Cancel, Cancelled, DVec3, Mesh, OffsetError, OffsetSpec};
use rayon::prelude::*;

mod report;

pub use report::{WallReport, wall_against, wall_report};

/// How to hollow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HollowSpec {
    /// Distance from any point of the cavity to the outer surface, at least, mm.
    pub wall_mm: f64,
    /// A ball of this diameter fits everywhere in the cavity, mm; what is thinner stays solid.
    pub least_cavity_mm: f64,
    /// Edge of the lattice cells, mm: at most half the wall and a quarter of the least cavity.
    pub cell_mm: f64,
    /// Where the ball leaves the wall thicker by no more than this, the cavity follows the wall and not the ball, mm: so
    /// that shallow relief doesn't make the wall uneven.
    pub even_mm: f64,
}

/// How to hollow with a wall that varies.
#[derive(Clone, Copy)]
pub struct GradedSpec<'a> {
    /// The wall.
    pub wall: &'a GradedWall<'a>,
    /// As in [`HollowSpec`].
    pub least_cavity_mm: f64,
    /// As in [`HollowSpec`], at most half the least wall.
    pub cell_mm: f64,
    /// As in [`HollowSpec`].
    pub even_mm: f64,
}

/// Why there is no cavity.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum HollowError {
    /// The wall is not a positive number.
    #[error("a wall of {0} mm isn't one: it must be a positive number")]
    Wall(f64),
    /// The most wall is not a number from the least on.
    #[error("a wall of {least_mm} to {most_mm} mm isn't one: the most must be a number, and no less than the least")]
    Limits {
        /// Least wall, mm.
        least_mm: f64,
        /// Most wall, mm.
        most_mm: f64,
    },
    /// The wall may change too fast.
    #[error("a wall that changes by {0} mm over a millimetre isn't one: from 0 to less than {STEEPEST}")]
    Slope(f64),
    /// The wall's thickness changes faster than was stated, so that the cavity can't be trusted.
    #[error(
        "the wall changes by {slope:.3} mm over a millimetre at {at}, and {stated:.3} was stated: state more, or smooth it"
    )]
    Steeper {
        /// Where, mm.
        at: DVec3,
        /// Change found.
        slope: f64,
        /// Change stated.
        stated: f64,
    },
    /// The wall's thickness is not a number there.
    #[error("the wall's thickness at {0} mm isn't a number")]
    Thickness(DVec3),
    /// The least cavity is not a positive number.
    #[error("a least cavity of {0} mm isn't one: it must be a positive number")]
    LeastCavity(f64),
    /// The cell is not a positive number.
    #[error("a lattice cell of {0} mm isn't one: it must be a positive number")]
    Cell(f64),
    /// The evenness is not between zero and a quarter of the ball.
    #[error("an evenness of {0} mm isn't one: it must be above zero and at most an eighth of the least cavity")]
    Even(f64),
    /// The cell is too large for the wall or the least cavity.
    #[error("a lattice cell of {cell_mm} mm is too coarse for this wall and least cavity: at most {most_mm} mm")]
    CellTooLarge {
        /// Cell asked for, mm.
        cell_mm: f64,
        /// Largest cell that would do, mm.
        most_mm: f64,
    },
    /// The outer surface reaches out of the box given.
    #[error("the body reaches out of the box from {:?} to {:?}: give the box around all of it", .0.min.to_array(), .0.max.to_array())]
    Bounds(Bounds),
    /// The cell is so small that the result wouldn't fit into memory.
    #[error("a lattice cell of {cell_mm} mm is too fine for a body of {} x {} x {} mm: take a larger one", .size.x, .size.y, .size.z)]
    CellTooSmall {
        /// Cell asked for, mm.
        cell_mm: f64,
        /// Edge lengths of the box, mm.
        size: DVec3,
    },
    /// Stopped by its [`Cancel`].
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

/// Deepest that the flat of a triangle may reach into the wall before its corners give way, mm.
const INTRUSION_MM: f64 = 0.015;
/// How far thin edges of the set of the ball's middles are followed, in cells.
const TIPS: f64 = 2.0;
/// How often corners give way, at most.
const ROUNDS: usize = 4;

/// The cavity that leaves a wall: a closed mesh that faces away from the cavity (into the wall). Turn it round and add
/// it to the outer mesh for the shell.
///
/// The cavity is the set of points at least `wall_mm` deep, opened by a ball of diameter `least_cavity_mm`: a ball of
/// that size can be rolled to touch every point of it, so it has no parts thinner than the ball, its outward edges are
/// rounded to the ball's radius, and thin edges of the body stay solid. Where the ball leaves the wall no more than
/// `even_mm` thicker, the wall is `wall_mm`; in what it can't reach, the wall is thicker. Edges of the cavity sharper than about 40 degrees may end up to a cell early. Components of the cavity smaller than a cube with
/// `least_cavity_mm` edges are left solid, and so are islands of solid of that size filled with cavity unless they hold
/// a part of the outer surface.
///
/// Vertices, edge middles and triangle middles keep at least `wall_mm` less 0.02 mm. The mesh is empty where nothing
/// is deep enough. Closed, oriented, two triangles to each edge; same input, same bytes, whatever the number of
/// threads. `bounds` is a box around the whole outer surface, which is closed and faces outwards.
///
/// # Errors
///
/// See [`HollowError`].
pub fn hollow(outer: &Bvh, bounds: Bounds, spec: &HollowSpec, cancel: &Cancel) -> Result<Mesh, HollowError> {
    check(spec)?;
    // Where the middle of the ball can be.
    let inwards = OffsetSpec { distance_mm: -(spec.wall_mm + radius_of(spec)), cell_mm: spec.cell_mm };
    let middles = Bvh::from(sharp_offset(outer, bounds, &inwards, TIPS, cancel)?);
    rolled(outer, &middles, Depth::Even(spec.wall_mm), spec, cancel)
}

/// The cavity that leaves a wall whose thickness varies: [`hollow`], but for the wall.
///
/// The set that the ball opens is that of the points at least as deep as the wall is thick there. Vertices, edge middles
/// and triangle middles keep at least the thickness wanted less 0.02 mm, and at least `least_mm`; where `even_mm` says
/// that the cavity follows the wall, vertices lie at the thickness wanted within some micrometres. No more than `most_mm`
/// is wanted anywhere; what the ball can't reach is thicker, as with an even wall.
///
/// # Errors
///
/// See [`HollowError`]. The thickness is looked at along every edge of the cavity found: where it isn't a number or
/// changes faster than `slope`, there is an error and no cavity.
pub fn hollow_graded(outer: &Bvh, bounds: Bounds, spec: &GradedSpec<'_>, cancel: &Cancel) -> Result<Mesh, HollowError> {
    let GradedSpec { wall, least_cavity_mm, cell_mm, even_mm } = *spec;
    wall.check()?;
    let spec = HollowSpec { wall_mm: wall.least_mm, least_cavity_mm, cell_mm, even_mm };
    check(&spec)?;
    let Some(body) = outer.bounds() else { return Ok(Mesh::default()) };
    if !(bounds.min.cmple(body.min).all() && bounds.max.cmpge(body.max).all() && bounds.size().is_finite()) {
        return Err(HollowError::Bounds(bounds));
    }
    let depth = Depth::Graded(wall);
    // The wall first: a ball that touches a slope keeps to no single depth.
    let band = Band { depth, inwards: true, cell_mm };
    let inner = Bvh::from(trace(outer, body, &band, &Level { surface: outer, depth, overhang: TIPS }, cancel)?);
    let Some(body) = inner.bounds() else { return Ok(Mesh::default()) };
    let inwards = OffsetSpec { distance_mm: -radius_of(&spec), cell_mm };
    let middles = Bvh::from(sharp_offset(&inner, body, &inwards, TIPS, cancel)?);
    drop(inner);
    let cavity = rolled(outer, &middles, depth, &spec, cancel)?;
    cavity.triangles.par_iter().try_for_each(|t| {
        (0..3).try_for_each(|k| {
            let [a, b] = [k, (k + 1) % 3].map(|k| cavity.vertices[t[k] as usize]);
            wall.check_between(a, b)
        })
    })?;
    Ok(cavity)
}

/// What a ball covers whose middle keeps to `middles`, on the wall where it is even enough.
fn rolled(
    outer: &Bvh,
    middles: &Bvh,
    depth: Depth<'_>,
    spec: &HollowSpec,
    cancel: &Cancel,
) -> Result<Mesh, HollowError> {
    let Some(bounds) = middles.bounds() else { return Ok(Mesh::default()) };
    let ball = Depth::Even(radius_of(spec));
    let fit = Rolled {
        even_mm: spec.even_mm,
        ball: Level { surface: middles, depth: ball, overhang: OVERHANG },
        wall: Level { surface: outer, depth, overhang: OVERHANG },
    };
    let band = Band { depth: ball, inwards: false, cell_mm: spec.cell_mm };
    let mut cavity = trace(middles, bounds, &band, &fit, cancel)?;
    untangle(&mut cavity, &fit);
    give_way(&mut cavity, outer, depth, cancel)?;
    Ok(without_crumbs(cavity, outer, depth, spec))
}

/// The ball's radius, mm.
fn radius_of(spec: &HollowSpec) -> f64 {
    0.5 * spec.least_cavity_mm
}

fn check(spec: &HollowSpec) -> Result<(), HollowError> {
    let is_positive = |x: f64| x.is_finite() && x > 0.0;
    if !is_positive(spec.wall_mm) {
        return Err(HollowError::Wall(spec.wall_mm));
    }
    if !is_positive(spec.least_cavity_mm) {
        return Err(HollowError::LeastCavity(spec.least_cavity_mm));
    }
    if !is_positive(spec.cell_mm) {
        return Err(HollowError::Cell(spec.cell_mm));
    }
    if !is_positive(spec.even_mm) || spec.even_mm > 0.25 * radius_of(spec) {
        return Err(HollowError::Even(spec.even_mm));
    }
    let most_mm = (0.5 * spec.wall_mm).min(0.25 * spec.least_cavity_mm);
    if spec.cell_mm > most_mm {
        return Err(HollowError::CellTooLarge { cell_mm: spec.cell_mm, most_mm });
    }
    Ok(())
}

impl From<OffsetError> for HollowError {
    fn from(error: OffsetError) -> Self {
        match error {
            OffsetError::Distance(distance_mm) => HollowError::Wall(distance_mm.abs()),
            OffsetError::Cell(cell_mm) => HollowError::Cell(cell_mm),
            OffsetError::CellTooLarge { cell_mm, most_mm, .. } => HollowError::CellTooLarge { cell_mm, most_mm },
            OffsetError::Bounds(bounds) => HollowError::Bounds(bounds),
            OffsetError::CellTooSmall { cell_mm, size } => HollowError::CellTooSmall { cell_mm, size },
            OffsetError::Cancelled(cancelled) => HollowError::Cancelled(cancelled),
        }
    }
}

/// The surface of all places of the ball, put exactly on the wall distance where it touches it.
struct Rolled<'a> {
    even_mm: f64,
    ball: Level<'a>,
    wall: Level<'a>,
}

impl Fit for Rolled<'_> {
    fn place(&self, cell: &Cell<'_>) -> DVec3 {
        self.on_the_wall(self.ball.place(cell))
    }

    fn snap(&self, p: DVec3) -> DVec3 {
        self.on_the_wall(self.ball.snap(p))
    }

    fn miss_mm(&self, p: DVec3) -> f64 {
        self.ball.miss_mm(p)
    }
}

impl Rolled<'_> {
    /// The point put exactly on the wall distance where the ball leaves the wall at most `even_mm` thicker, or goes
    /// beyond; from there to three times as thick the cavity runs over to what the ball can reach.
    fn on_the_wall(&self, p: DVec3) -> DVec3 {
        let wall_mm = self.wall.depth.at(p);
        let Some(distance) = self.wall.surface.rough_distance(p, wall_mm + 3.0 * self.even_mm) else { return p };
        let thicker = distance - wall_mm;
        if thicker <= self.even_mm {
            return self.wall.snap(p);
        }
        let kept = 1.5 * (thicker - self.even_mm) / thicker;
        p.lerp(self.wall.snap(p), 1.0 - kept.min(1.0))
    }
}

/// Moves corners away from the outer surface until no triangle's middle and no edge's middle is nearer to it than the
/// wall less [`INTRUSION_MM`]. Where the cavity bulges, chords cut into the wall though their ends are right.
fn give_way(cavity: &mut Mesh, outer: &Bvh, wall: Depth<'_>, cancel: &Cancel) -> Result<(), Cancelled> {
    let mut moved = vec![true; cavity.vertices.len()];
    for _ in 0..ROUNDS {
        let vertices = &cavity.vertices;
        let intrusions: Vec<([u32; 3], f64)> = cavity
            .triangles
            .par_iter()
            .filter(|t| t.iter().any(|v| moved[*v as usize]))
            .map(|t| cancel.check().map(|()| (*t, intrusion(t, vertices, outer, wall))))
            .filter(|r| r.as_ref().is_err() || r.as_ref().is_ok_and(|(_, depth)| *depth > INTRUSION_MM))
            .collect::<Result<_, _>>()?;
        if intrusions.is_empty() {
            return Ok(());
        }
        moved.fill(false);
        let mut way = vec![0.0f64; moved.len()];
        for (t, depth) in intrusions {
            for v in t {
                way[v as usize] = way[v as usize].max(depth);
                moved[v as usize] = true;
            }
        }
        cavity.vertices.par_iter_mut().zip(&way).filter(|(_, way)| **way > 0.0).for_each(|(p, way)| {
            if let Some(near) = outer.nearest(*p, 2.0 * wall.at(*p)) {
                *p += (*p - near.point).normalize_or_zero() * *way;
            }
        });
    }
    Ok(())
}

/// By how much the middle of a triangle or of one of its edges is nearer than the wall, mm; 0 if not.
fn intrusion(t: &[u32; 3], vertices: &[DVec3], outer: &Bvh, wall: Depth<'_>) -> f64 {
    let [a, b, c] = t.map(|v| vertices[v as usize]);
    // Each edge once, from the triangle that runs up along it.
    let edges = [(0, 1, a + b), (1, 2, b + c), (2, 0, c + a)];
    let middles = edges.into_iter().filter(|(i, j, _)| t[*i] < t[*j]).map(|(_, _, sum)| sum * 0.5);
    middles
        .chain([(a + b + c) / 3.0])
        .filter_map(|p| {
            let wall_mm = wall.at(p);
            outer.rough_distance(p, wall_mm - INTRUSION_MM).map(|distance| wall_mm - distance)
        })
        .fold(0.0, f64::max)
}

/// Leaves out small components; see [`hollow`] for the rule.
fn without_crumbs(cavity: Mesh, outer: &Bvh, wall: Depth<'_>, spec: &HollowSpec) -> Mesh {
    let shells = cavity.shells();
    if shells.len() < 2 && shells.first().is_none_or(|s| s.len() > 10_000) {
        return cavity;
    }
    let least_mm3 = spec.least_cavity_mm * spec.least_cavity_mm * spec.least_cavity_mm;
    let is_kept = |shell: &Vec<u32>| {
        let part = cavity.subset(shell);
        let volume = part.volume_mm3();
        let touches = |p: &DVec3| outer.rough_distance(*p, wall.at(*p) + spec.even_mm).is_some();
        volume.abs() >= least_mm3 || (volume < 0.0 && part.vertices.iter().any(touches))
    };
    let kept: Vec<u32> = shells.iter().filter(|s| is_kept(s)).flatten().copied().collect();
    if kept.len() == cavity.triangles.len() { cavity } else { cavity.subset(&kept) }
}

#[cfg(test)]
mod graded_tests;
#[cfg(test)]
mod tests;
