//! The outer surface of a lit body in cells: by station along, by angle around, and by window.

use crate::outcome::BodyView;
use crate::path::CentrePath;
use solid::{DVec2, DVec3, Mesh};

/// Cells around the section. A lens that glows along its edges has about four of them on each edge's band.
pub const SECTORS: usize = 24;
/// Triangles are taken apart until their edges are shorter than this share of a cell's length, to be booked by area.
const BOOKED_SHARE: f64 = 0.5;

/// The cells of one lit body.
#[derive(Clone, Debug)]
pub struct Cells {
    /// Index of the body.
    pub body: usize,
    /// Station where the first cell begins, mm.
    pub from_mm: f64,
    /// Length of a cell along the prop, mm.
    pub step_mm: f64,
    /// Number of cells along.
    pub along: usize,
    /// Number of windows of the project: each cell is split into what belongs to none and to each.
    pub windows: usize,
    /// Area of each, mm2.
    pub area_mm2: Vec<f64>,
    /// Middle of each, prop frame; zero where there is no area.
    pub middle: Vec<DVec3>,
    /// Mean outward normal of each, not of length 1: shorter where the cell is bent.
    pub normal: Vec<DVec3>,
    rings: Vec<Ring>,
}

/// The section at one x: frame and box.
#[derive(Clone, Copy, Debug)]
struct Ring {
    x: f64,
    station_mm: f64,
    along: DVec3,
    middle: DVec3,
    half: DVec2,
}

impl Cells {
    /// Empty cells of a body seen in `view`, `step_mm` long; `None` for a body without a silhouette.
    pub fn new(body: usize, view: &BodyView, path: &CentrePath, step_mm: f64, windows: usize) -> Option<Cells> {
        let rings: Vec<Ring> = view
            .side
            .edge
            .iter()
            .zip(&view.top.edge)
            .map(|(side, top)| {
                let middle = DVec3::new(side[0], (top[1] + top[2]) / 2.0, (side[1] + side[2]) / 2.0);
                let half = DVec2::new(top[2] - top[1], side[2] - side[1]) / 2.0;
                let station_mm = path.station_of(middle);
                let along = path.frame(station_mm).along;
                Ring { x: side[0], station_mm, along, middle, half: half.max(DVec2::splat(1e-3)) }
            })
            .collect();
        let (first, last) = (rings.first()?, rings.last()?);
        // The ends of a body that is cut askew to x reach past its first and last section.
        let reach = 2.0 * step_mm + first.half.max(last.half).max_element();
        let from_mm = first.station_mm - reach;
        let along = ((last.station_mm + reach - from_mm) / step_mm).ceil() as usize;
        let count = along * SECTORS * (windows + 1);
        Some(Cells {
            body,
            from_mm,
            step_mm,
            along,
            windows,
            area_mm2: vec![0.0; count],
            middle: vec![DVec3::ZERO; count],
            normal: vec![DVec3::ZERO; count],
            rings,
        })
    }

    /// Station and angle (radians from across towards through) of a point on the surface. The section is drawn out to a
    /// circle first, so that the sectors of a flat one are not all on its faces.
    pub fn locate(&self, p: DVec3) -> (f64, f64) {
        let at = self.rings.partition_point(|r| r.x <= p.x).saturating_sub(1);
        let ring = &self.rings[at];
        let away = p - ring.middle;
        let flat = DVec2::new(away.y, away.z) / ring.half;
        (ring.station_mm + away.dot(ring.along), libm::atan2(flat.y, flat.x))
    }

    /// The cell of a point on the surface that belongs to a window or to none.
    pub fn at(&self, p: DVec3, window: Option<usize>) -> usize {
        let (station_mm, angle) = self.locate(p);
        let k = ((station_mm - self.from_mm) / self.step_mm).clamp(0.0, self.along as f64 - 1.0) as usize;
        let turn = (angle / std::f64::consts::TAU + 1.0) * SECTORS as f64;
        self.index(k, turn as usize % SECTORS, window)
    }

    /// Index of a cell: along, around, window.
    pub fn index(&self, along: usize, sector: usize, window: Option<usize>) -> usize {
        (along * SECTORS + sector) * (self.windows + 1) + window.map_or(0, |w| w + 1)
    }

    /// A cell and those next to it, of the same window.
    pub fn round(&self, cell: usize) -> impl Iterator<Item = usize> {
        let per_ring = SECTORS * (self.windows + 1);
        let (k, rest) = (cell / per_ring, cell % per_ring);
        let (sector, window) = (rest / (self.windows + 1), rest % (self.windows + 1));
        let rings = k.saturating_sub(1)..(k + 2).min(self.along);
        rings.flat_map(move |k| {
            let sectors = [sector + SECTORS - 1, sector, sector + 1];
            sectors.map(|s| (k * SECTORS + s % SECTORS) * (self.windows + 1) + window)
        })
    }

    /// Number of cells.
    pub fn count(&self) -> usize {
        self.area_mm2.len()
    }

    /// Area of a window between two stations, mm2.
    pub(super) fn window_mm2(&self, window: usize, [from, to]: [f64; 2]) -> f64 {
        let within = (0..self.along).filter(|k| (from..=to).contains(&self.station_mm(*k)));
        within.flat_map(|k| (0..SECTORS).map(move |s| self.index(k, s, Some(window)))).map(|i| self.area_mm2[i]).sum()
    }

    /// Middle station of the cells `along`, mm.
    pub fn station_mm(&self, along: usize) -> f64 {
        self.from_mm + (along as f64 + 0.5) * self.step_mm
    }

    /// Books the area of those triangles of `mesh` for which `outer` holds; `window` says what a point belongs to.
    pub fn book(&mut self, mesh: &Mesh, outer: &dyn Fn(usize) -> bool, window: &dyn Fn(DVec3, DVec3) -> Option<usize>) {
        let short = self.step_mm * BOOKED_SHARE;
        for t in (0..mesh.triangles.len()).filter(|t| outer(*t)) {
            let corners = mesh.corners(t);
            let vector = mesh.area_vector(t);
            let Some(normal) = vector.try_normalize() else { continue };
            let longest = (0..3).map(|i| corners[i].distance(corners[(i + 1) % 3])).fold(0.0, f64::max);
            let parts = (longest / short).ceil().clamp(1.0, 4096.0) as usize;
            let share = vector.length() / (parts * parts) as f64;
            let (u, v) = ((corners[1] - corners[0]) / parts as f64, (corners[2] - corners[0]) / parts as f64);
            // Small triangles of the subdivision: those that stand and, but for the last of a row, those that hang.
            for i in 0..parts {
                for j in 0..parts - i {
                    let corner = corners[0] + u * i as f64 + v * j as f64;
                    self.add(corner + (u + v) / 3.0, normal, share, window);
                    if j + 1 < parts - i {
                        self.add(corner + (u + v) * (2.0 / 3.0), normal, share, window);
                    }
                }
            }
        }
    }

    fn add(&mut self, p: DVec3, normal: DVec3, area_mm2: f64, window: &dyn Fn(DVec3, DVec3) -> Option<usize>) {
        let cell = self.at(p, window(p, normal));
        self.area_mm2[cell] += area_mm2;
        let share = area_mm2 / self.area_mm2[cell];
        self.middle[cell] = self.middle[cell].lerp(p, share);
        self.normal[cell] = self.normal[cell].lerp(normal, share);
    }
}
