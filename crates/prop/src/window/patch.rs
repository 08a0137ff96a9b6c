//! The surface in a window as triangles, cut at its border.

use super::{WindowIdx, Windows};
use rayon::prelude::*;
use solid::patch::{finer, ruled};
use solid::{DVec3, Mesh};

/// Longest edge before the border is looked for, mm: what is narrower may be missed.
const FINE_MM: f64 = 2.5;
/// Halvings of the stretch in which an edge leaves the window: to a thousandth of it.
const HALVINGS: usize = 10;
/// A window of more triangles is cut from a lighter copy of its body, which lies within so many mm of it.
const MANY: usize = 120_000;
const LIGHTER_MM: f64 = 0.05;

impl Windows {
    /// The part of a body's outer surface that lies in a window, prop frame; `mesh` is the body's. Empty for a window without
    /// area. Its border is found to a hundredth of a millimetre where it crosses the surface's triangles.
    pub fn patch(&self, window: WindowIdx, mesh: &Mesh) -> Mesh {
        let near = self.around(window, mesh);
        if near.triangles.len() > MANY
            && let Ok(lighter) = solid::lighter(mesh, LIGHTER_MM)
        {
            return self.cut(window, self.around(window, &lighter));
        }
        self.cut(window, near)
    }

    /// The triangles about a window, made fine.
    fn around(&self, window: WindowIdx, mesh: &Mesh) -> Mesh {
        let Some(w) = self.windows.get(window.0).filter(|w| w.area_mm2 > 0.0) else { return Mesh::default() };
        let [from, to] = w.station_mm;
        let stations: Vec<f64> = mesh.vertices.par_iter().map(|v| self.path.station_of(*v)).collect();
        let spans = |t: &u32| {
            let s = mesh.triangles[*t as usize].map(|v| stations[v as usize]);
            s.iter().any(|s| *s >= from - 1.0) && s.iter().any(|s| *s <= to + 1.0)
        };
        let keep: Vec<u32> = (0..mesh.triangles.len() as u32).filter(spans).collect();
        let fine = finer(&mesh.subset(&keep), FINE_MM);
        let holds: Vec<u32> = (0..fine.triangles.len() as u32)
            .into_par_iter()
            .filter(|t| {
                let Some(normal) = fine.area_vector(*t as usize).try_normalize() else { return false };
                let [a, b, c] = fine.corners(*t as usize);
                [a, b, c, (a + b + c) / 3.0].iter().any(|p| self.which(w.body, *p, normal) == Some(window))
            })
            .collect();
        fine.subset(&holds)
    }

    /// Cuts off what of these triangles lies outside.
    fn cut(&self, window: WindowIdx, near: Mesh) -> Mesh {
        let Some(w) = self.windows.get(window.0) else { return Mesh::default() };
        let holds = |p: DVec3, normal: DVec3| self.which(w.body, p, normal) == Some(window);
        let normals: Vec<DVec3> = (0..near.triangles.len()).map(|t| near.area_vector(t).normalize_or_zero()).collect();
        let corners: Vec<[bool; 3]> = (0..near.triangles.len())
            .into_par_iter()
            .map(|t| near.triangles[t].map(|v| holds(near.vertices[v as usize], normals[t])))
            .collect();
        // A corner is in where any of its faces says so; that face's normal finds the border on its edges.
        let mut looks: Vec<Option<DVec3>> = vec![None; near.vertices.len()];
        for (t, within) in corners.iter().enumerate() {
            for (v, within) in near.triangles[t].iter().zip(within) {
                if *within && looks[*v as usize].is_none() {
                    looks[*v as usize] = Some(normals[t]);
                }
            }
        }
        let values: Vec<f64> = looks.iter().map(|l| if l.is_some() { 1.0 } else { -1.0 }).collect();
        let mut at = |out: u32, within: u32| {
            let (a, b) = (near.vertices[out as usize], near.vertices[within as usize]);
            let normal = looks[within as usize].unwrap_or_default();
            let (mut low, mut high) = (0.0, 1.0);
            for _ in 0..HALVINGS {
                let middle = 0.5 * (low + high);
                if holds(a.lerp(b, middle), normal) { high = middle } else { low = middle }
            }
            0.5 * (low + high)
        };
        let [_, within] = ruled(&near, &values, &mut at).sides();
        within
    }
}
