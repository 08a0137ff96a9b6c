//! Meshes as the page takes them: few bytes, edges already hard, and a light copy of what is heavy.

use prop::light::Cells;
use rayon::prelude::*;
use serde::Serialize;
use sha2::{Digest, Sha256};
use solid::{DVec3, Mesh};
use std::collections::BTreeMap;
use std::f64::consts::TAU;
use std::sync::{Arc, OnceLock};

/// Triangles of a light copy, about.
const LIGHT: usize = 24_000;
/// Faces that meet at less than this angle are shaded as one, cosine of 35 degrees.
const SMOOTH: f64 = 0.819;

/// A mesh that is shown.
pub(crate) struct Shown {
    mesh: Mesh,
    /// How light lies on it: where its cells are, and the stations that the coordinate along spans.
    lit: Option<(Arc<Cells>, [f64; 2])>,
    light: OnceLock<Vec<u8>>,
    full: OnceLock<Vec<u8>>,
}

/// Where to fetch a mesh.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "MeshRef"))]
pub(crate) struct Named {
    pub(crate) hash: String,
    pub(crate) triangles: usize,
    pub(crate) full_triangles: usize,
}

/// Meshes by the hash of what they are.
#[derive(Clone, Default)]
pub(crate) struct Meshes(BTreeMap<String, Arc<Shown>>);

impl Meshes {
    /// Keeps a mesh, taking it from `before` where it is there, and names it.
    pub(crate) fn keep(&mut self, mesh: Mesh, lit: Option<(Arc<Cells>, [f64; 2])>, before: &Meshes) -> Named {
        let hash = hash(&mesh, lit.as_ref().map(|l| l.1));
        let shown = before
            .0
            .get(&hash)
            .cloned()
            .unwrap_or_else(|| Arc::new(Shown { mesh, lit, light: OnceLock::new(), full: OnceLock::new() }));
        self.named(hash, shown)
    }

    /// The same for a mesh that is known by what it was made from, and is made only where it is not there yet.
    pub(crate) fn keep_made(&mut self, made_from: &str, make: impl FnOnce() -> Mesh, before: &Meshes) -> Named {
        let hash = short(made_from.as_bytes());
        let shown = before.0.get(&hash).cloned();
        let shown = shown.unwrap_or_else(|| {
            Arc::new(Shown { mesh: make(), lit: None, light: OnceLock::new(), full: OnceLock::new() })
        });
        self.named(hash, shown)
    }

    fn named(&mut self, hash: String, shown: Arc<Shown>) -> Named {
        let full_triangles = shown.mesh.triangles.len();
        self.0.insert(hash.clone(), shown);
        Named { hash, triangles: full_triangles.min(LIGHT), full_triangles }
    }

    pub(crate) fn get(&self, hash: &str) -> Option<Arc<Shown>> {
        self.0.get(hash).cloned()
    }

    pub(crate) fn extend(&mut self, more: Meshes) {
        self.0.extend(more.0);
    }

    /// Makes the bytes of all of them, or of their light copies, before they are asked for.
    pub(crate) fn draw(&self) {
        self.0.par_iter().for_each(|(_, shown)| {
            shown.bytes(false);
        });
    }

    /// What is named, and no more.
    pub(crate) fn only(&self, names: &[&Named]) -> Meshes {
        Meshes(names.iter().filter_map(|n| Some((n.hash.clone(), self.get(&n.hash)?))).collect())
    }
}

impl Shown {
    /// The bytes of the mesh, or of its light copy.
    pub(crate) fn bytes(&self, full: bool) -> &[u8] {
        if full || self.mesh.triangles.len() <= LIGHT {
            return self.full.get_or_init(|| encoded(&self.mesh, self.lit.as_ref()));
        }
        self.light.get_or_init(|| encoded(&coarse(&self.mesh, LIGHT), self.lit.as_ref()))
    }
}

fn hash(mesh: &Mesh, lit: Option<[f64; 2]>) -> String {
    let mut bytes = Vec::with_capacity(mesh.vertices.len() * 24 + mesh.triangles.len() * 12 + 16);
    bytes.extend(mesh.vertices.iter().flat_map(|v| v.to_array()).flat_map(f64::to_le_bytes));
    bytes.extend(mesh.triangles.iter().flatten().flat_map(|i| i.to_le_bytes()));
    bytes.extend(lit.iter().flatten().flat_map(|v| v.to_le_bytes()));
    short(&bytes)
}

fn short(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().take(12).map(|b| format!("{b:02x}")).collect()
}

/// A copy with about so many triangles, for looking at only: corners in one box of a lattice that look the same way become their
/// mean, and what falls flat is left out. The two sides of a thin wall look opposite ways and stay two.
fn coarse(mesh: &Mesh, triangles: usize) -> Mesh {
    let Some(bounds) = mesh.bounds() else { return Mesh::default() };
    // A surface of boxes has about two triangles a box.
    let mut step = (2.0 * mesh.area_mm2() / triangles as f64).sqrt().max(1e-3);
    let mut looks = vec![DVec3::ZERO; mesh.vertices.len()];
    for (t, corners) in mesh.triangles.iter().enumerate() {
        let out = mesh.area_vector(t);
        corners.iter().for_each(|v| looks[*v as usize] += out);
    }
    loop {
        let copy = joined(mesh, &looks, bounds.min, step);
        if copy.triangles.len() <= triangles {
            return copy;
        }
        // Their number falls with the square of the step, and where walls are thin a little slower.
        step *= (copy.triangles.len() as f64 / triangles as f64).sqrt().max(1.05);
    }
}

fn joined(mesh: &Mesh, looks: &[DVec3], from: DVec3, step: f64) -> Mesh {
    let boxes: Vec<[i32; 3]> =
        mesh.vertices.par_iter().map(|v| ((*v - from) / step).floor().to_array().map(|c| c as i32)).collect();
    let mut order: Vec<u32> = (0..boxes.len() as u32).collect();
    order.par_sort_unstable_by_key(|v| (boxes[*v as usize], *v));
    let mut name = vec![0u32; boxes.len()];
    let mut sums: Vec<(DVec3, f64)> = Vec::new();
    for same in order.chunk_by(|a, b| boxes[*a as usize] == boxes[*b as usize]) {
        // Names of this box, and the way in which the first corner of each looks.
        let mut sides: Vec<(usize, DVec3)> = Vec::new();
        for v in same.iter().map(|v| *v as usize) {
            let known = sides.iter().find(|(_, way)| way.dot(looks[v]) >= 0.0).map(|side| side.0);
            let own = known.unwrap_or_else(|| {
                sides.push((sums.len(), looks[v]));
                sums.push((DVec3::ZERO, 0.0));
                sums.len() - 1
            });
            name[v] = own as u32;
            sums[own] = (sums[own].0 + mesh.vertices[v], sums[own].1 + 1.0);
        }
    }
    let vertices = sums.into_iter().map(|(sum, count)| sum / count).collect();
    let triangles = mesh.triangles.iter().map(|t| t.map(|v| name[v as usize]));
    let mut triangles: Vec<[u32; 3]> = triangles.filter(|[a, b, c]| a != b && b != c && c != a).collect();
    // One of those that fell onto each other is enough.
    let turned = |[a, b, c]: [u32; 3]| {
        if a < b && a < c {
            [a, b, c]
        } else if b < c {
            [b, c, a]
        } else {
            [c, a, b]
        }
    };
    triangles.iter_mut().for_each(|t| *t = turned(*t));
    triangles.sort_unstable();
    triangles.dedup();
    Mesh { vertices, triangles }
}

/// A corner as it is written.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Corner {
    vertex: u32,
    normal: [i8; 4],
    lit: [u16; 2],
}

fn encoded(mesh: &Mesh, lit: Option<&(Arc<Cells>, [f64; 2])>) -> Vec<u8> {
    let corners = corners(mesh, lit);
    let mut all: Vec<Corner> = corners.iter().flatten().copied().collect();
    all.par_sort_unstable();
    all.dedup();
    let bounds = mesh.bounds();
    let origin = bounds.map_or(DVec3::ZERO, |b| b.min);
    let step = bounds.map_or(0.0, |b| b.size().max_element()).max(1e-6) / 65_535.0;
    let mut bytes = Vec::with_capacity(32 + all.len() * 14 + corners.len() * 12);
    bytes.extend(b"LTMS");
    bytes.extend(1u16.to_le_bytes());
    bytes.extend(u16::from(lit.is_some()).to_le_bytes());
    bytes.extend((all.len() as u32).to_le_bytes());
    bytes.extend((corners.len() as u32).to_le_bytes());
    bytes.extend(origin.to_array().into_iter().chain([step]).flat_map(|v| (v as f32).to_le_bytes()));
    for corner in &all {
        let at = ((mesh.vertices[corner.vertex as usize] - origin) / step).round();
        bytes.extend(at.to_array().into_iter().flat_map(|c| (c as u16).to_le_bytes()));
    }
    bytes.resize(bytes.len().next_multiple_of(4), 0);
    bytes.extend(all.iter().flat_map(|c| c.normal.map(|n| n as u8)));
    if lit.is_some() {
        bytes.extend(all.iter().flat_map(|c| c.lit).flat_map(u16::to_le_bytes));
    }
    let named: Vec<[u32; 3]> =
        corners.par_iter().map(|t| t.map(|c| all.binary_search(&c).unwrap_or_default() as u32)).collect();
    bytes.extend(named.into_iter().flatten().flat_map(u32::to_le_bytes));
    bytes
}

/// The corners of each triangle, with the normal that they are shaded by and where they lie in the light.
fn corners(mesh: &Mesh, lit: Option<&(Arc<Cells>, [f64; 2])>) -> Vec<[Corner; 3]> {
    let areas: Vec<DVec3> = (0..mesh.triangles.len()).into_par_iter().map(|t| mesh.area_vector(t)).collect();
    // Triangles round each vertex, one after the other.
    let mut first = vec![0u32; mesh.vertices.len() + 1];
    mesh.triangles.iter().flatten().for_each(|v| first[*v as usize + 1] += 1);
    (1..first.len()).for_each(|k| first[k] += first[k - 1]);
    let mut round = vec![0u32; 3 * mesh.triangles.len()];
    let mut next = first.clone();
    for (t, v) in mesh.triangles.iter().enumerate().flat_map(|(t, corners)| corners.map(|v| (t, v as usize))) {
        round[next[v] as usize] = t as u32;
        next[v] += 1;
    }
    let places: Option<Vec<[u16; 2]>> = lit.map(|(cells, [from, to])| {
        let place = |v: &DVec3| {
            let (station, angle) = cells.locate(*v);
            let along = ((station - from) / (to - from)).clamp(0.0, 1.0) * 65_535.0;
            [along.round() as u16, ((angle / TAU).rem_euclid(1.0) * 32_768.0) as u16 & 0x7fff]
        };
        mesh.vertices.par_iter().map(place).collect()
    });
    let shaded = |t: usize, v: u32| {
        let own = areas[t].normalize_or_zero();
        let near = &round[first[v as usize] as usize..first[v as usize + 1] as usize];
        let joined = near.iter().map(|n| areas[*n as usize]).filter(|a| a.normalize_or_zero().dot(own) >= SMOOTH);
        let normal = joined.sum::<DVec3>().normalize_or(own) * 127.0;
        let [x, y, z] = normal.round().to_array().map(|c| c as i8);
        [x, y, z, 0]
    };
    (0..mesh.triangles.len())
        .into_par_iter()
        .map(|t| {
            let vertices = mesh.triangles[t];
            let mut lit = vertices.map(|v| places.as_ref().map_or([0; 2], |p| p[v as usize]));
            // A triangle over the seam takes the turns on its far side as the next one's.
            let most = lit.iter().map(|l| l[1]).max().unwrap_or(0);
            lit.iter_mut().filter(|l| most - l[1] > 0x4000).for_each(|l| l[1] += 0x8000);
            [0, 1, 2].map(|k| Corner { vertex: vertices[k], normal: shaded(t, vertices[k]), lit: lit[k] })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Reads what was written, as the page does.
    fn decoded(bytes: &[u8]) -> (Vec<DVec3>, Vec<DVec3>, Vec<[u32; 3]>) {
        let u32_at = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap());
        let f32_at = |at: usize| f64::from(f32::from_le_bytes(bytes[at..at + 4].try_into().unwrap()));
        assert_eq!((&bytes[..4], &bytes[4..8]), (&b"LTMS"[..], &[1, 0, 0, 0][..]));
        let (n, m) = (u32_at(8) as usize, u32_at(12) as usize);
        let origin = DVec3::new(f32_at(16), f32_at(20), f32_at(24));
        let at =
            |v: usize, k: usize| f64::from(u16::from_le_bytes(bytes[32 + 6 * v + 2 * k..][..2].try_into().unwrap()));
        let points = (0..n).map(|v| origin + DVec3::new(at(v, 0), at(v, 1), at(v, 2)) * f32_at(28)).collect();
        let normals_at = (32 + 6 * n).next_multiple_of(4);
        let normal =
            |v: usize| DVec3::from_array([0, 1, 2].map(|k| f64::from(bytes[normals_at + 4 * v + k] as i8) / 127.0));
        let faces_at = normals_at + 4 * n;
        assert_eq!(bytes.len(), faces_at + 12 * m);
        let face = |t: usize| [0, 1, 2].map(|k| u32_at(faces_at + 12 * t + 4 * k));
        (points, (0..n).map(normal).collect(), (0..m).map(face).collect())
    }

    #[test]
    fn a_mesh_comes_back_as_it_was_to_a_step() {
        let ball = solid::sphere(DVec3::new(5.0, -3.0, 2.0), 20.0, 48);
        let (points, normals, faces) = decoded(&encoded(&ball, None));
        let step = 40.0 / 65_535.0;
        assert_eq!(faces.len(), ball.triangles.len());
        for (t, face) in faces.iter().enumerate() {
            for (k, v) in face.iter().enumerate() {
                assert!(points[*v as usize].distance(ball.corners(t)[k]) < step, "{t}");
                // A ball's normals are its radii.
                let out = (points[*v as usize] - DVec3::new(5.0, -3.0, 2.0)).normalize();
                assert!(normals[*v as usize].normalize().dot(out) > 0.99);
            }
        }
        assert_eq!(points.len(), ball.vertices.len(), "nothing of a ball is an edge");
    }

    #[test]
    fn edges_of_a_box_stay_hard() {
        let block = solid::cuboid(DVec3::ZERO, DVec3::new(30.0, 20.0, 10.0));
        let (points, normals, _) = decoded(&encoded(&block, None));
        // Each of eight corners has three faces.
        assert_eq!(points.len(), 24);
        assert!(normals.iter().all(|n| n.abs().max_element() > 0.999), "{normals:?}");
    }

    #[test]
    fn a_light_copy_of_a_thin_wall_keeps_its_two_sides_apart() {
        let mut shell = solid::sphere(DVec3::ZERO, 30.0, 200);
        let inner = solid::sphere(DVec3::ZERO, 28.5, 200);
        let turned = inner.triangles.iter().map(|[a, b, c]| [*a, *c, *b]).collect();
        shell.append(&Mesh { triangles: turned, ..inner });
        let copy = coarse(&shell, 8000);
        let radii: Vec<f64> = copy.vertices.iter().map(|v| v.length()).collect();
        let near = |wanted: f64| radii.iter().filter(|r| (*r - wanted).abs() < 0.5).count();
        assert_eq!(near(30.0) + near(28.5), radii.len(), "none lies between");
        assert!(near(30.0) > 500 && near(28.5) > 500 && copy.triangles.len() > 3000, "{}", copy.triangles.len());
    }

    #[test]
    fn a_light_copy_is_light_and_keeps_its_form() {
        let ball = solid::sphere(DVec3::ZERO, 30.0, 200);
        assert!(ball.triangles.len() > 30_000, "{}", ball.triangles.len());
        let copy = coarse(&ball, 5000);
        assert!((2000..=5000).contains(&copy.triangles.len()), "{}", copy.triangles.len());
        assert!(copy.vertices.iter().all(|v| (v.length() - 30.0).abs() < 0.5));
        // 4/3 pi r^3.
        assert!(
            (copy.volume_mm3() / (4.0 / 3.0 * std::f64::consts::PI * 27_000.0) - 1.0).abs() < 0.03,
            "{}",
            copy.volume_mm3()
        );
    }

    #[test]
    fn what_did_not_change_keeps_its_name() {
        let ball = || solid::sphere(DVec3::ZERO, 10.0, 24);
        let mut first = Meshes::default();
        let name = first.keep(ball(), None, &Meshes::default());
        let mut second = Meshes::default();
        assert_eq!(second.keep(ball(), None, &first), name);
        assert!(Arc::ptr_eq(&first.get(&name.hash).unwrap(), &second.get(&name.hash).unwrap()));
        let moved = ball().transformed(&solid::DAffine3::from_translation(DVec3::X));
        assert_ne!(second.keep(moved, None, &first).hash, name.hash);
        assert!(second.only(&[]).get(&name.hash).is_none());
    }
}
