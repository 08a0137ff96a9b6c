//! The wall of a cover round its bore.

use super::star::{RAYS, ray};
use super::sweep::{Bore, SLAB_MM, outwards};
use rayon::prelude::*;
use solid::section::OutlineError;
use solid::{Bvh, DVec3, Mesh};

/// Every so many angles are measured.
const EVERY: usize = 3;
/// Further out than any cover, mm.
const FAR_MM: f64 = 400.0;
/// How the rays of a fan lean from straight outwards: along and round, as tangents.
const FAN: [[f64; 2]; 8] =
    [[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0], [0.4, 0.4], [-0.4, 0.4], [0.4, -0.4], [-0.4, -0.4]];

/// The thinnest wall found round a bore.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Thinnest {
    /// Thickness, mm; negative by how much the bore breaks out of the cover.
    pub(crate) mm: f64,
    /// Where on the bore: along from the cover's middle, angle.
    pub(crate) place: (f64, usize),
    /// Where in the prop.
    pub(crate) at: DVec3,
}

/// The least thickness between the bore and any other surface of the cover, at places at least `rim_mm` from where the
/// cover ends along the bore: nearer, an edge is the maker's own rounding. `None` where the bore takes nothing.
///
/// # Errors
/// When an outline is not finite.
pub(crate) fn thinnest(mesh: &Mesh, bore: &Bore, gap_mm: f64, rim_mm: f64) -> Result<Option<Thinnest>, OutlineError> {
    let rings = bore.rings(gap_mm)?;
    let cover = &Bvh::new(mesh);
    // How far the cover reaches at each place of the bore; `None` where there is nothing of it.
    let reach: Vec<Vec<Option<f64>>> = rings
        .par_iter()
        .map(|(c, _)| {
            (0..RAYS)
                .step_by(EVERY)
                .map(|k| {
                    let out = outwards(&bore.frame, k);
                    let hit = cover.ray(bore.place(*c, ray(k) * FAR_MM), -out, FAR_MM)?;
                    Some(FAR_MM - hit.distance_mm)
                })
                .collect()
        })
        .collect();
    let rim = (rim_mm / SLAB_MM).ceil() as usize;
    let found: Vec<Thinnest> = (rim..rings.len().saturating_sub(rim))
        .into_par_iter()
        .flat_map_iter(|i| {
            let (c, star) = &rings[i];
            let reach = &reach;
            (0..RAYS).step_by(EVERY).filter_map(move |k| {
                let n = k / EVERY;
                let (_, outer, _) = (reach[i - rim][n]?, reach[i][n]?, reach[i + rim][n]?);
                let r = star.radii[k];
                let at = bore.place(*c, ray(k) * r);
                let mm = if outer <= r + 0.02 { outer - r } else { fan(mesh, cover, bore, at, k, outer - r) };
                Some(Thinnest { mm, place: (*c, k), at })
            })
        })
        .collect();
    Ok(found.into_iter().reduce(|a, b| if b.mm < a.mm { b } else { a }))
}

/// Shortest way out of the cover over a fan of rays from a place of the bore.
fn fan(mesh: &Mesh, cover: &Bvh, bore: &Bore, at: DVec3, k: usize, most: f64) -> f64 {
    let out = outwards(&bore.frame, k);
    let round = bore.frame.along.cross(out);
    let mut start = at + out * 0.02;
    let mut straight = most;
    if cover.is_inside(start) {
        if let Some(hit) = cover.ray(start, out, most + 1.0) {
            straight = hit.distance_mm + 0.02;
        }
    } else if let Some(hit) = cover.ray(start, out, most + 1.0) {
        // The maker's own hole is wider here: the wall begins further out.
        start += out * (hit.distance_mm + 0.02);
        if let Some(hit) = cover.ray(start, out, most + 1.0) {
            straight = hit.distance_mm + 0.02;
        }
    }
    FAN.iter()
        .filter_map(|[along, around]| {
            let way = (out + bore.frame.along * *along + round * *around).normalize();
            let hit = cover.ray(start, way, straight)?;
            // An end face that a leaning ray leaves by is no wall.
            let facing = mesh.area_vector(hit.triangle as usize).normalize_or_zero();
            (facing.dot(out).abs() > 0.5).then_some(hit.distance_mm + 0.02)
        })
        .fold(straight, f64::min)
}
