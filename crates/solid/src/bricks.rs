//! Signed distances on a lattice, kept only near one level: bricks of samples.

use crate::depth::Depth;
use crate::{Bounds, Bvh, Cancel, Cancelled, DVec3};
use rayon::prelude::*;
use std::collections::HashMap;

/// Samples along each edge of a brick.
pub(crate) const SIDE: i32 = 4;
/// Samples in a brick.
pub(crate) const SAMPLES: usize = (SIDE * SIDE * SIDE) as usize;
/// No neighbour there.
pub(crate) const NO_BRICK: u32 = u32::MAX;

/// Rounding of `f32` distances, with room to spare, as a factor and in mm.
const ROUNDING: f64 = 1.001;
const ROUNDING_MM: f64 = 1e-3;
const DIAGONAL: f64 = 1.733;

/// Points at whole multiples of a cell.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Lattice {
    pub(crate) origin: DVec3,
    pub(crate) cell_mm: f64,
}

impl Lattice {
    pub(crate) fn point(&self, index: [i32; 3]) -> DVec3 {
        self.origin + DVec3::from_array(index.map(f64::from)) * self.cell_mm
    }
}

/// The level that a surface is looked for at.
#[derive(Clone, Copy)]
pub(crate) struct Band<'a> {
    /// How far from the surface sampled.
    pub(crate) depth: Depth<'a>,
    /// Whether on its inner side.
    pub(crate) inwards: bool,
    /// Edge of the lattice cells, mm.
    pub(crate) cell_mm: f64,
}

impl Band<'_> {
    /// By how much the distance less the depth changes over a millimetre, at most.
    fn rate(&self) -> f64 {
        1.0 + self.depth.slope()
    }
}

/// Samples of `signed distance - level` wherever the level may run, negative on the inner side.
///
/// All eight corners of every lattice cell that the level crosses are there, and exact to `f32`. A sample farther from
/// the level than it can come over a cell's diagonal may be a bound only; its sign is right.
pub(crate) struct Bricks {
    pub(crate) lattice: Lattice,
    /// Position of each brick, in bricks, in a fixed order.
    pub(crate) keys: Vec<[i32; 3]>,
    pub(crate) values: Vec<[f32; SAMPLES]>,
    /// The 27 bricks around each brick, itself in the middle, x fastest.
    pub(crate) around: Vec<[u32; 27]>,
}

/// More bricks than memory is wanted for: about 2 GB.
const MOST_BRICKS: usize = 1 << 22;

/// Why there are no samples.
pub(crate) enum SampleError {
    Cancelled,
    /// The level runs through more than [`MOST_BRICKS`].
    TooMany,
}

impl From<Cancelled> for SampleError {
    fn from(_: Cancelled) -> Self {
        SampleError::Cancelled
    }
}

/// A box of `size` samples each way that may hold a part of the level.
#[derive(Clone, Copy)]
struct Part {
    key: [i32; 3],
    /// From its middle to the surface, mm.
    distance_mm: f64,
    /// On which side it lies, once the surface doesn't reach it.
    inside: Option<bool>,
}

/// Samples the distance to `surface` around one level. The level is at least two cells deep everywhere, so that no cell
/// sees the level and the surface at once. Outwards it is even.
pub(crate) fn sample(surface: &Bvh, bounds: Bounds, band: &Band<'_>, cancel: &Cancel) -> Result<Bricks, SampleError> {
    let outwards = if band.inwards { 0.0 } else { band.depth.at(bounds.min) };
    let margin = outwards + 2.0 * band.cell_mm;
    let lattice = Lattice { origin: bounds.min - margin, cell_mm: band.cell_mm };
    let extent = bounds.size() + 2.0 * margin;
    let parts = parts(surface, &lattice, extent, band, cancel)?;
    let values: Vec<[f32; SAMPLES]> = parts
        .par_iter()
        .map(|part| cancel.check().map(|()| fill(surface, &lattice, part, band)))
        .collect::<Result<_, _>>()?;
    let keys: Vec<[i32; 3]> = parts.iter().map(|p| p.key).collect();
    let around = around(&keys);
    Ok(Bricks { lattice, keys, values, around })
}

/// The bricks that may hold a part of the level, found by halving boxes: the distance changes by no more than the way, and
/// the depth by no more than its slope times the way.
fn parts(
    surface: &Bvh,
    lattice: &Lattice,
    extent: DVec3,
    band: &Band<'_>,
    cancel: &Cancel,
) -> Result<Vec<Part>, SampleError> {
    let mut size = SIDE;
    while f64::from(size) * lattice.cell_mm * 32.0 < extent.max_element() {
        size = size.checked_mul(2).filter(|s| *s < 1 << 24).ok_or(SampleError::TooMany)?;
    }
    let counts = extent.to_array().map(|x| (x / (f64::from(size) * lattice.cell_mm)).ceil().max(1.0) as i32);
    let mut parts = Vec::new();
    for x in 0..counts[0] {
        for y in 0..counts[1] {
            for z in 0..counts[2] {
                parts.push(Part { key: [x, y, z], distance_mm: 0.0, inside: None });
            }
        }
    }
    loop {
        parts = parts
            .into_par_iter()
            .map(|part| cancel.check().map(|()| look_at(surface, lattice, part, size, band)))
            .filter_map(Result::transpose)
            .collect::<Result<Vec<_>, _>>()?;
        if parts.len() > MOST_BRICKS {
            return Err(SampleError::TooMany);
        }
        if size == SIDE {
            return Ok(parts);
        }
        size /= 2;
        let eighths = |part: Part| {
            (0..8).map(move |k| Part { key: [0, 1, 2].map(|axis| part.key[axis] * 2 + (k >> axis & 1)), ..part })
        };
        parts = parts.into_iter().flat_map(eighths).collect();
    }
}

/// The part with its distance and side, or nothing where the level can't come.
fn look_at(surface: &Bvh, lattice: &Lattice, mut part: Part, size: i32, band: &Band<'_>) -> Option<Part> {
    let middle = middle(lattice, &part, size);
    let reach = radius(lattice, size);
    // The cells of a part reach over its rim, so their corners do by a diagonal.
    let margin = (reach + DIAGONAL * lattice.cell_mm) * band.rate() * ROUNDING + ROUNDING_MM;
    let level = band.depth.at(middle);
    part.distance_mm = surface.rough_distance(middle, level + margin)?;
    if (part.distance_mm - level).abs() > margin {
        return None;
    }
    // Clear of the surface. On the wrong side nothing of the level is near: it stays two cells away from the surface.
    if part.inside.is_none() && part.distance_mm > reach * ROUNDING + ROUNDING_MM {
        part.inside = Some(surface.is_inside(middle));
    }
    if part.inside.is_some_and(|inside| inside != band.inwards) { None } else { Some(part) }
}

fn middle(lattice: &Lattice, part: &Part, size: i32) -> DVec3 {
    lattice.point(part.key.map(|k| k * size)) + 0.5 * f64::from(size) * lattice.cell_mm
}

/// From the middle of a part to its corners, mm.
fn radius(lattice: &Lattice, size: i32) -> f64 {
    0.5 * f64::from(size) * lattice.cell_mm * DIAGONAL
}

/// All samples of one brick.
///
/// A sample whose value is known from a neighbour to be out of reach of the level takes a bound instead of a search.
/// The side is carried from a neighbour wherever the two distances together exceed the step between them, so that the
/// surface can't lie between.
fn fill(surface: &Bvh, lattice: &Lattice, part: &Part, band: &Band<'_>) -> [f32; SAMPLES] {
    let step = lattice.cell_mm;
    let change = step * band.rate();
    let out_of_reach = DIAGONAL * change * ROUNDING + ROUNDING_MM;
    let middle = middle(lattice, part, SIDE);
    let mut values = [0.0f32; SAMPLES];
    // Distance and side where searched.
    let mut searched = [None::<(f64, bool)>; SAMPLES];
    for i in 0..SAMPLES {
        let index = sample_index(i);
        let before = |axis: usize| (index[axis] > 0).then(|| i - (SIDE as usize).pow(axis as u32));
        let neighbours = || (0..3).filter_map(before);
        let farthest = neighbours().map(|n| values[n]).max_by(|a, b| a.abs().total_cmp(&b.abs()));
        if let Some(value) = farthest {
            let bound = f64::from(value.abs()) - change;
            if bound > out_of_reach {
                values[i] = (bound as f32).copysign(value);
                continue;
            }
        }
        let p = lattice.point([0, 1, 2].map(|k| part.key[k] * SIDE + index[k]));
        let nearby = neighbours().find_map(|n| searched[n]);
        let bound = nearby.map_or_else(|| part.distance_mm + p.distance(middle), |(d, _)| d + step);
        let bound = bound * ROUNDING + 2.0 * ROUNDING_MM;
        let distance = surface.rough_distance(p, bound).unwrap_or(bound);
        let carried = || {
            let clear = |(d, _): &(f64, bool)| d + distance > step * ROUNDING + ROUNDING_MM;
            neighbours().filter_map(|n| searched[n]).find(clear).map(|(_, inside)| inside)
        };
        let inside = part.inside.or_else(carried).unwrap_or_else(|| surface.is_inside(p));
        searched[i] = Some((distance, inside));
        let level = band.depth.at(p);
        let level = if band.inwards { -level } else { level };
        values[i] = ((if inside { -distance } else { distance }) - level) as f32;
    }
    values
}

/// Where in its brick a sample lies.
pub(crate) fn sample_index(i: usize) -> [i32; 3] {
    let i = i as i32;
    [i % SIDE, i / SIDE % SIDE, i / (SIDE * SIDE)]
}

fn around(keys: &[[i32; 3]]) -> Vec<[u32; 27]> {
    let slots: HashMap<[i32; 3], u32> = keys.iter().enumerate().map(|(i, k)| (*k, i as u32)).collect();
    keys.par_iter()
        .map(|key| {
            let mut bricks = [NO_BRICK; 27];
            for (i, brick) in bricks.iter_mut().enumerate() {
                let i = i as i32;
                let offset = [i % 3 - 1, i / 3 % 3 - 1, i / 9 - 1];
                *brick = slots.get(&[0, 1, 2].map(|k| key[k] + offset[k])).copied().unwrap_or(NO_BRICK);
            }
            bricks
        })
        .collect()
}

impl Bricks {
    /// The brick and the sample in it that an index counted from `brick`'s first sample means; the index may run over
    /// the rim by up to [`SIDE`]. `None` where nothing was sampled.
    pub(crate) fn locate(&self, brick: usize, index: [i32; 3]) -> Option<(usize, usize)> {
        let (mut slot, mut sample) = (0, 0);
        for k in (0..3).rev() {
            slot = slot * 3 + (index[k].div_euclid(SIDE) + 1) as usize;
            sample = sample * SIDE as usize + index[k].rem_euclid(SIDE) as usize;
        }
        let found = self.around[brick][slot];
        (found != NO_BRICK).then_some((found as usize, sample))
    }

    /// The value there, if sampled.
    pub(crate) fn value(&self, brick: usize, index: [i32; 3]) -> Option<f32> {
        self.locate(brick, index).map(|(b, s)| self.values[b][s])
    }
}
