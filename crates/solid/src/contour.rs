//! The surface where sampled values change sign: dual marching cubes.
//!
//! One vertex for each sheet of surface in each cell, one quadrilateral for each lattice edge crossed (Nielson: Dual
//! Marching Cubes, IEEE Visualization 2004). Two cells that pinch the same face between them would give an edge four
//! triangles; they separate it the other way instead (Wenger: Isosurfaces, CRC Press 2013, chapter on dual contouring,
//! from memory). So every edge has exactly two triangles, whatever the values.

mod cases;
mod untangle;

pub(crate) use untangle::untangle;

use crate::bricks::{Bricks, SAMPLES, SIDE, sample_index};
use crate::{Cancel, Cancelled, DVec3, Mesh};
use cases::{Case, UNCROSSED, edge_corners};
use rayon::prelude::*;

/// What a sheet of surface in a cell is placed by.
pub(crate) struct Cell<'a> {
    /// Corner with the smallest coordinates.
    pub(crate) corner: DVec3,
    pub(crate) size_mm: f64,
    /// Where the sheet crosses the edges of the cell, as if the values ran straight.
    pub(crate) crossings: &'a [DVec3],
    /// By how much the values at the corners miss the best linear function, at most, mm.
    pub(crate) bend_mm: f64,
}

/// Puts vertices where the surface is.
pub(crate) trait Fit: Sync {
    /// The vertex of one sheet in one cell, not far outside the cell.
    fn place(&self, cell: &Cell<'_>) -> DVec3;
    /// A point near the surface, put on it.
    fn snap(&self, p: DVec3) -> DVec3;
    /// How far a point is from the surface, mm.
    fn miss_mm(&self, p: DVec3) -> f64;
}

/// A cell that the surface crosses.
struct Crossed {
    case: Case,
    /// Its first vertex, counted from its brick's first.
    first: u32,
}

/// The cells of a brick that the surface crosses.
#[derive(Default)]
struct Sheet {
    /// One bit a cell.
    mask: u64,
    /// In the order of their bits.
    cells: Vec<Crossed>,
    vertices: Vec<DVec3>,
}

const _: () = assert!(SAMPLES == 64, "a brick's cells are the bits of a mask");

/// The closed, outward-facing mesh around the negative values: edges with two triangles each, vertices with one fan
/// each. It may be empty.
pub(crate) fn contour(bricks: &Bricks, fit: &impl Fit, cancel: &Cancel) -> Result<Mesh, Cancelled> {
    let tables = Tables { kept: cases::cases(true), turned: cases::cases(false) };
    let n_bricks = bricks.keys.len();
    let mut sheets: Vec<Sheet> = (0..n_bricks)
        .into_par_iter()
        .map(|b| cancel.check().map(|()| sheet(bricks, b, &tables, fit)))
        .collect::<Result<_, _>>()?;
    let mut vertices = Vec::with_capacity(sheets.iter().map(|s| s.vertices.len()).sum());
    let mut base = Vec::with_capacity(n_bricks);
    for sheet in &mut sheets {
        base.push(vertices.len() as u32);
        vertices.append(&mut std::mem::take(&mut sheet.vertices));
    }
    let triangles: Vec<Vec<[u32; 3]>> = (0..n_bricks)
        .into_par_iter()
        .map(|b| {
            cancel.check()?;
            let quads = quads(bricks, b, &sheets, &base);
            Ok(quads.into_iter().flat_map(|quad| halves(quad, &vertices, bricks.lattice.cell_mm, fit)).collect())
        })
        .collect::<Result<_, _>>()?;
    drop(sheets);
    Ok(Mesh { vertices, triangles: triangles.concat() })
}

struct Tables {
    kept: Vec<Case>,
    turned: Vec<Case>,
}

fn corner_offset(corner: usize) -> [i32; 3] {
    [0, 1, 2].map(|axis| (corner >> axis & 1) as i32)
}

fn plus(a: [i32; 3], b: [i32; 3]) -> [i32; 3] {
    [0, 1, 2].map(|k| a[k] + b[k])
}

/// The values at a cell's corners, if all were sampled.
fn corner_values(bricks: &Bricks, brick: usize, cell: [i32; 3]) -> Option<[f32; 8]> {
    let mut values = [0.0; 8];
    for (corner, value) in values.iter_mut().enumerate() {
        *value = bricks.value(brick, plus(cell, corner_offset(corner)))?;
    }
    Some(values)
}

fn pattern(values: &[f32; 8]) -> usize {
    (0..8).filter(|c| values[*c] < 0.0).fold(0, |bits, c| bits | 1 << c)
}

fn sheet(bricks: &Bricks, brick: usize, tables: &Tables, fit: &impl Fit) -> Sheet {
    let mut sheet = Sheet::default();
    for i in 0..SAMPLES {
        let index = sample_index(i);
        let Some(values) = corner_values(bricks, brick, index) else { continue };
        let pattern = pattern(&values);
        let mut case = tables.kept[pattern];
        if case.sheets == 0 {
            continue;
        }
        if case.pinched.is_some_and(|face| is_pinched_beyond(bricks, brick, index, face, tables)) {
            case = tables.turned[pattern];
        }
        sheet.mask |= 1 << i;
        sheet.cells.push(Crossed { case, first: sheet.vertices.len() as u32 });
        let key = bricks.keys[brick];
        let corner = bricks.lattice.point([0, 1, 2].map(|k| key[k] * SIDE + index[k]));
        place_sheets(corner, bricks.lattice.cell_mm, &values, &case, fit, &mut sheet.vertices);
    }
    sheet
}

/// Whether the cell on the other side of a pinched face pinches it too.
fn is_pinched_beyond(bricks: &Bricks, brick: usize, cell: [i32; 3], face: u8, tables: &Tables) -> bool {
    let mut other = cell;
    other[face as usize / 2] += if face & 1 == 0 { -1 } else { 1 };
    let values = corner_values(bricks, brick, other);
    values.is_some_and(|values| tables.kept[pattern(&values)].pinched == Some(face ^ 1))
}

fn place_sheets(
    corner: DVec3,
    cell_mm: f64,
    values: &[f32; 8],
    case: &Case,
    fit: &impl Fit,
    vertices: &mut Vec<DVec3>,
) {
    let at = |c: usize| DVec3::from_array(corner_offset(c).map(f64::from));
    let bend_mm = bend(values);
    let mut crossings = [DVec3::ZERO; 12];
    for sheet in 0..case.sheets {
        let mut n = 0;
        for edge in (0..12).filter(|e| case.sheet[*e] == sheet) {
            let [p, q] = edge_corners(edge);
            let (a, b) = (f64::from(values[p]), f64::from(values[q]));
            crossings[n] = corner + (at(p) + (at(q) - at(p)) * (a / (a - b))) * cell_mm;
            n += 1;
        }
        vertices.push(fit.place(&Cell { corner, size_mm: cell_mm, crossings: &crossings[..n], bend_mm }));
    }
}

/// The largest miss of the least-squares linear function through values at the corners of a cube.
fn bend(values: &[f32; 8]) -> f64 {
    let mean = values.iter().sum::<f32>() / 8.0;
    let slope = [0, 1, 2]
        .map(|axis| (0..8).map(|c| if c >> axis & 1 == 1 { values[c] } else { -values[c] }).sum::<f32>() / 8.0);
    let linear =
        |c: usize| (0..3).map(|axis| if c >> axis & 1 == 1 { slope[axis] } else { -slope[axis] }).sum::<f32>() + mean;
    (0..8).map(|c| f64::from((values[c] - linear(c)).abs())).fold(0.0, f64::max)
}

/// The quadrilaterals of the lattice edges that start in a brick, counter-clockwise seen from outside.
fn quads(bricks: &Bricks, brick: usize, sheets: &[Sheet], base: &[u32]) -> Vec<[u32; 4]> {
    let vertex = |cell: [i32; 3], edge: usize| {
        let (b, i) = bricks.locate(brick, cell).expect("cells around a crossed edge were sampled");
        let place = (sheets[b].mask & ((1u64 << i) - 1)).count_ones() as usize;
        let crossed = &sheets[b].cells[place];
        let sheet = crossed.case.sheet[edge];
        debug_assert_ne!(sheet, UNCROSSED);
        base[b] + crossed.first + u32::from(sheet)
    };
    let mut quads = Vec::new();
    for i in 0..SAMPLES {
        let index = sample_index(i);
        let starts_inside = bricks.values[brick][i] < 0.0;
        for axis in 0..3 {
            let mut next = index;
            next[axis] += 1;
            if bricks.value(brick, next).is_none_or(|v| (v < 0.0) == starts_inside) {
                continue;
            }
            let mut quad = [(0, 0), (1, 0), (1, 1), (0, 1)].map(|(du, dv)| {
                let mut cell = index;
                cell[(axis + 1) % 3] -= du;
                cell[(axis + 2) % 3] -= dv;
                vertex(cell, 4 * axis + (du + 2 * dv) as usize)
            });
            if !starts_inside {
                quad.reverse();
            }
            quads.push(quad);
        }
    }
    quads
}

/// Splits a quadrilateral along the diagonal that stays nearer to the surface; along the shorter where it is flat.
fn halves(quad: [u32; 4], vertices: &[DVec3], cell_mm: f64, fit: &impl Fit) -> [[u32; 3]; 2] {
    let [a, b, c, d] = quad.map(|v| vertices[v as usize]);
    let (over_ac, over_bd) = ((a + c) * 0.5, (b + d) * 0.5);
    let normal = (c - a).cross(d - b).normalize_or_zero();
    let is_flat = (over_ac - over_bd).dot(normal).abs() < 0.02 * cell_mm;
    let take_ac = if is_flat {
        a.distance_squared(c) <= b.distance_squared(d)
    } else {
        fit.miss_mm(over_ac) <= fit.miss_mm(over_bd)
    };
    let [a, b, c, d] = quad;
    if take_ac { [[a, b, c], [a, c, d]] } else { [[a, b, d], [b, c, d]] }
}
