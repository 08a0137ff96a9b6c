//! From a patch to its flat parts: as it is, slit, parted.

use super::{Flat, FlattenError, FlattenSpec, Numbering, film, planes, start};
use crate::Mesh;
use crate::patch::{borders, even_normals, opened, ruled_evenly};
use crate::section::{area_mm2, subtract};
use glam::{DMat3, DVec3};

/// Times that normals are evened out over neighbours before a patch is parted by them.
const EVEN: usize = 6;
/// Share by which outlines may enclose less than their triangles hold: more, and the flat part lies over itself.
const OVER_ITSELF: f64 = 1e-3;
/// The largest face of a conformal map over the smallest, each as a share of its own in space.
const MUCH: f64 = 2.0;

/// A part with its flat shape, where it has one.
type Tried = (Mesh, Option<Flat>);

/// Lays a patch flat, in as many parts as the limit asks for, those of its shells one after the other.
///
/// No part is turned over or lies over itself. A part that could not be brought under the limit says so in its errors.
/// Exact, but for rounding, on what can be developed (cylinders, cones).
///
/// # Errors
/// See [`FlattenError`].
pub fn flatten(mesh: &Mesh, spec: &FlattenSpec) -> Result<Vec<Flat>, FlattenError> {
    if mesh.is_empty() {
        return Err(FlattenError::Empty);
    }
    if mesh.vertices.iter().any(|v| !v.is_finite()) {
        return Err(FlattenError::NotFinite);
    }
    let census = mesh.edge_census();
    match census.crowded.len() + census.flipped.len() {
        0 => {}
        bad => return Err(FlattenError::NoSurface(bad)),
    }
    let mut done = Vec::new();
    for shell in shells(mesh) {
        done.extend(shell_flat(shell, spec)?);
    }
    Ok(done)
}

/// What hangs together by edges: shells that meet in a corner alone are two.
fn shells(mesh: &Mesh) -> Vec<Mesh> {
    let apart = opened(mesh, &|_, _| false);
    apart.shells().iter().map(|t| apart.subset(t)).collect()
}

fn shell_flat(mesh: Mesh, spec: &FlattenSpec) -> Result<Vec<Flat>, FlattenError> {
    // All round: slit, which stretches nothing.
    let slit = slit(&mesh, spec);
    let whole = laid(&mesh, false, slit.is_some());
    if whole.as_ref().is_some_and(|f| good(f, spec)) {
        return Ok(whole.into_iter().collect());
    }
    let slit_flat = slit.as_ref().and_then(|m| laid(m, true, false));
    if slit_flat.as_ref().is_some_and(|f| good(f, spec)) {
        return Ok(slit_flat.into_iter().collect());
    }
    let worst = |f: &Flat| f.edge_error.abs();
    let base = match (whole, slit_flat) {
        (Some(a), Some(b)) => Some(if worst(&b) < worst(&a) { b } else { a }),
        (a, b) => a.or(b),
    };
    parted(base.as_ref().map_or(&mesh, |b| &b.mesh).clone(), base, spec, spec.depth)
}

fn good(flat: &Flat, spec: &FlattenSpec) -> bool {
    flat.edge_error.abs() <= spec.limit && flat.area_error.abs() <= spec.limit
}

/// Parts what is over the limit: of two ways to do it the one whose worst part is better; as it was where neither helps.
fn parted(mesh: Mesh, whole: Option<Flat>, spec: &FlattenSpec, depth: usize) -> Result<Vec<Flat>, FlattenError> {
    if let Some(flat) = whole.as_ref().filter(|f| depth == 0 || good(f, spec)) {
        return Ok(vec![flat.clone()]);
    }
    if depth == 0 {
        return Err(FlattenError::Folds);
    }
    let was_slit = whole.as_ref().is_some_and(|f| f.slit);
    let mut best: Option<(f64, Vec<Tried>)> = None;
    for values in [by_look(&mesh), across(&mesh)] {
        let ruled = ruled_evenly(&mesh, &values);
        let sides: Vec<Mesh> = ruled.sides().iter().filter(|m| !m.is_empty()).flat_map(shells).collect();
        if sides.len() < 2 {
            continue;
        }
        let flats: Vec<Tried> =
            sides.into_iter().map(|m| (laid(&m, was_slit, false), m)).map(|(f, m)| (m, f)).collect();
        let worst =
            flats.iter().map(|(_, f)| f.as_ref().map_or(f64::INFINITY, |f| f.edge_error.abs())).fold(0.0, f64::max);
        if best.as_ref().is_none_or(|(b, _)| worst < *b) {
            best = Some((worst, flats));
        }
    }
    let Some((_, flats)) = best else { return whole.map(|f| vec![f]).ok_or(FlattenError::Folds) };
    let mut done = Vec::new();
    for (mesh, flat) in flats {
        done.extend(parted(mesh, flat, spec, depth - 1)?);
    }
    // Cut up for nothing: one piece serves better.
    let worst = done.iter().map(|f| f.edge_error.abs()).fold(0.0, f64::max);
    match whole {
        Some(f) if worst > spec.limit && worst > 0.8 * f.edge_error.abs() => Ok(vec![f]),
        _ => Ok(done),
    }
}

/// One part as it is; `None` where it has no border, is turned over or lies over itself; `in_doubt`, also where a map that
/// keeps its angles must stretch it much: that is what going all round looks like.
fn laid(mesh: &Mesh, slit: bool, in_doubt: bool) -> Option<Flat> {
    if borders(mesh).is_empty() {
        return None;
    }
    let planes = planes(mesh);
    let numbers = Numbering::of(mesh);
    let held = start::far_apart(mesh);
    let first = start::conformal(mesh, &planes, &numbers, held)?;
    if in_doubt && start::stretch(&planes, &first) > MUCH {
        return None;
    }
    let points = film::rested(&planes, &numbers, held, first);
    let flat = Flat::measured(mesh.clone(), points, slit)?;
    lies_apart(&flat).then_some(flat)
}

/// Whether no two places of a part lie on each other: what its outlines enclose is as large as its triangles.
fn lies_apart(flat: &Flat) -> bool {
    let held_mm2 = flat.area_mm2() * (1.0 + flat.area_error);
    let loops = flat.outlines();
    subtract(&loops, &[]).is_ok_and(|loops| area_mm2(&loops) > held_mm2 * (1.0 - OVER_ITSELF))
}

/// Slit along the line asked for; `None` where the line misses it, or leaves it as it was.
fn slit(mesh: &Mesh, spec: &FlattenSpec) -> Option<Mesh> {
    let before = borders(mesh).len();
    if before == 1 {
        return None;
    }
    let off: Vec<f64> = mesh.vertices.iter().map(|v| (spec.slit)(*v).x).collect();
    let ruled = ruled_evenly(mesh, &off);
    let on = |v: u32| ruled.values[v as usize] == 0.0 && (spec.slit)(ruled.mesh.vertices[v as usize]).y > 0.0;
    let slit = opened(&ruled.mesh, &|a, b| on(a) && on(b));
    (borders(&slit).len() != before && slit.shells().len() == 1).then_some(slit)
}

/// How far each corner's face looks to one side or the other of the mean, along the direction in which looks differ most.
fn by_look(mesh: &Mesh) -> Vec<f64> {
    let normals = even_normals(mesh, EVEN);
    let weights = corner_areas(mesh);
    let (mean, direction) = spread(&normals, &weights);
    let looks: Vec<f64> = normals.iter().map(|n| (*n - mean).dot(direction)).collect();
    // Halfway between the ends, so that a sharp edge between two faces of different size is what parts them.
    let (low, high) = looks.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
    looks.iter().map(|v| v - 0.5 * (low + high)).collect()
}

/// How far each corner lies to one side or the other of the middle, the longest way.
fn across(mesh: &Mesh) -> Vec<f64> {
    let weights = corner_areas(mesh);
    let (_, direction) = spread(&mesh.vertices, &weights);
    let along: Vec<f64> = mesh.vertices.iter().map(|v| v.dot(direction)).collect();
    let (low, high) = along.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
    along.iter().map(|v| v - 0.5 * (low + high)).collect()
}

fn corner_areas(mesh: &Mesh) -> Vec<f64> {
    let mut weights = vec![0.0; mesh.vertices.len()];
    for (k, t) in mesh.triangles.iter().enumerate() {
        let mm2 = mesh.area_vector(k).length() / 3.0;
        t.iter().for_each(|v| weights[*v as usize] += mm2);
    }
    weights
}

/// Mean of vectors, and the direction in which they differ most from it.
fn spread(vectors: &[DVec3], weights: &[f64]) -> (DVec3, DVec3) {
    let all: f64 = weights.iter().sum();
    let mean = vectors.iter().zip(weights).fold(DVec3::ZERO, |sum, (v, w)| sum + *v * *w) / all.max(1e-12);
    let mut m = DMat3::ZERO;
    for (v, w) in vectors.iter().zip(weights) {
        let d = *v - mean;
        m += DMat3::from_cols(d * d.x, d * d.y, d * d.z) * *w;
    }
    // The largest eigenvector, by squaring: the matrix to the 2^40th turns into it.
    for _ in 0..40 {
        let size = m.x_axis.abs().max(m.y_axis.abs()).max(m.z_axis.abs()).max_element();
        if size <= 0.0 {
            return (mean, DVec3::X);
        }
        m *= 1.0 / size;
        m = m * m;
    }
    let columns = [m.x_axis, m.y_axis, m.z_axis];
    let longest = columns.into_iter().fold(DVec3::ZERO, |a, b| if b.length() > a.length() { b } else { a });
    (mean, longest.try_normalize().unwrap_or(DVec3::X))
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec2;

    #[test]
    fn the_greatest_spread_is_found() {
        let points = [DVec3::new(3.0, 4.0, 0.1), DVec3::new(-3.0, -4.0, -0.1), DVec3::new(-0.4, 0.3, 0.0)];
        let (_, direction) = spread(&points, &[1.0, 1.0, 0.1]);
        assert!((direction.dot(DVec3::new(0.6, 0.8, 0.0)).abs() - 1.0).abs() < 1e-3, "{direction}");
    }

    #[test]
    fn what_lies_over_itself_is_seen() {
        // Two turns of a flat spiral stair, seen from above.
        let mut mesh = Mesh::default();
        let mut points = Vec::new();
        for k in 0..=80u32 {
            let (s, c) = libm::sincos(f64::from(k) * 0.157);
            for r in [10.0, 20.0] {
                mesh.vertices.push(DVec3::new(r * c, r * s, f64::from(k)));
                points.push(DVec2::new(r * c, r * s));
            }
            if k > 0 {
                let a = 2 * (k - 1);
                mesh.triangles.extend([[a, a + 1, a + 3], [a, a + 3, a + 2]]);
            }
        }
        let flat = Flat::measured(mesh, points, false).unwrap();
        assert!(!lies_apart(&flat));
    }
}
