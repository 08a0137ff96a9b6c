//! Walls that are like flat ones, known beforehand, and light through them by table.
//!
//! The inner faces of the solids are parted into cells of a few millimetres. Where the plastic behind a cell is a plate of
//! nearly even thickness, with the same finishes all round as far as light spreads, a [`WallTable`] answers what becomes of
//! a photon. Everywhere else, at edges, ribs, collars, joints and rims of windows, light is walked.

use super::{Photon, Place, Tracer, Trip};
use crate::scene::{Band, Hit, Outside, Scene, Start};
use crate::{Finish, LightError, Medium, Random, THINNEST_MM, TableSpec, WallTable, phase};
use rayon::prelude::*;
use solid::{Cancel, Cancelled, DVec3};

/// Widest cell, mm.
const CELL_MM: f64 = 3.0;

/// The surroundings that must be like the middle, as far as light spreads in a wall: rings at so many thicknesses.
const RINGS: [f64; 2] = [1.25, 2.75];

/// Places on a ring that are looked at.
const PROBES: usize = 6;

/// How far the thickness round a cell may differ from that in its middle.
const UNEVEN: f64 = 0.2;

/// Least cosine between the normals of both faces of a plate: 12 degrees.
const PARALLEL: f64 = 0.978;

/// A plate with fewer reduced scatterings than this across it is walked: it takes no more steps than a table is worth.
const DENSE: f64 = 8.0;

/// What lies behind the inner faces of a scene's solids, for any band.
pub(crate) struct Behind {
    /// First cell of each triangle; none where the triangle has no cells.
    first: Vec<u32>,
    cells: Vec<Option<Plate>>,
}

/// The walls that a band has tables for.
pub(crate) struct Plates<'a> {
    behind: &'a Behind,
    /// Table of each cell; none where the wall is walked.
    table_of: Vec<u32>,
    tables: Vec<WallTable>,
}

/// A cell behind which the solid is like a plate.
#[derive(Clone, Copy, Debug)]
struct Plate {
    solid: u32,
    inner: Finish,
    outer: Finish,
    middle: DVec3,
    thickness_mm: f64,
    /// How the thickness changes along the face, per mm.
    slope: DVec3,
    /// Thickness of the flat wall that diffuse light passes as it does this one, against its own: less than 1 where it
    /// widens outwards.
    flat: f64,
}

/// What a table is of.
#[derive(Clone, Copy, PartialEq)]
struct Kind {
    medium: Medium,
    inner: Finish,
    outer: Finish,
}

/// A triangle's cells: a grid along its longest side.
struct Grid {
    corners: [DVec3; 3],
    along: DVec3,
    across: DVec3,
    counts: [usize; 2],
    size: [f64; 2],
}

const NONE: u32 = u32::MAX;

/// Thinnest wall that a medium's table is worth, mm.
fn dense_mm(medium: &Medium) -> f64 {
    (DENSE / medium.reduced()).max(THINNEST_MM)
}

impl Behind {
    /// Looks behind every inner face for what is worth a table in any of some bands.
    pub(crate) fn of(scene: &Scene, bands: &[Band], outside: &dyn Outside, cancel: &Cancel) -> Result<Self, Cancelled> {
        let least = |solid: usize| bands.iter().map(|b| dense_mm(&b.media[solid])).fold(f64::INFINITY, f64::min);
        let least_mm: Vec<f64> = (0..scene.n_solids()).map(least).collect();
        let walls = Walls { scene, outside };
        let looked: Vec<Vec<Option<Plate>>> = (0..scene.n_solid_triangles())
            .into_par_iter()
            .map(|triangle| if cancel.is_cancelled() { Vec::new() } else { walls.look_behind(triangle, &least_mm) })
            .collect();
        if cancel.is_cancelled() {
            return Err(Cancelled);
        }
        let (mut first, mut cells) = (Vec::with_capacity(looked.len()), Vec::new());
        for found in looked {
            first.push(if found.is_empty() { NONE } else { cells.len() as u32 });
            cells.extend(found);
        }
        Ok(Self { first, cells })
    }
}

impl<'a> Plates<'a> {
    /// Those of the walls found that the band has a table for.
    pub(crate) fn of(behind: &'a Behind, band: &Band, seed: u64) -> Result<Self, LightError> {
        let mut kinds: Vec<(Kind, f64)> = Vec::new();
        let mut table_of = vec![NONE; behind.cells.len()];
        for (plate, table) in behind.cells.iter().zip(&mut table_of) {
            let Some(plate) = plate else { continue };
            let medium = band.media[plate.solid as usize];
            if plate.thickness_mm <= dense_mm(&medium) {
                continue;
            }
            let kind = Kind { medium, inner: plate.inner, outer: plate.outer };
            let known = kinds.iter().position(|(k, _)| *k == kind).unwrap_or_else(|| {
                kinds.push((kind, 0.0));
                kinds.len() - 1
            });
            kinds[known].1 = kinds[known].1.max(plate.thickness_mm * (1.0 + UNEVEN));
            *table = known as u32;
        }
        let tables = kinds
            .iter()
            .map(|(kind, most_mm)| {
                let spec = TableSpec::upto(most_mm.max(2.0 * THINNEST_MM), seed);
                WallTable::of(kind.medium, kind.inner, kind.outer, spec).map_err(LightError::Table)
            })
            .collect::<Result<_, _>>()?;
        Ok(Self { behind, table_of, tables })
    }

    fn at(&self, scene: &Scene, hit: &Hit) -> Option<(&Plate, &WallTable)> {
        let first = self.behind.first[hit.triangle as usize];
        if first == NONE {
            return None;
        }
        let cell = first as usize + Grid::of(scene.corners(hit.triangle), hit.normal).cell(hit.point);
        let table = self.table_of[cell];
        if table == NONE {
            return None;
        }
        self.behind.cells[cell].as_ref().map(|plate| (plate, &self.tables[table as usize]))
    }
}

impl Grid {
    fn of(corners: [DVec3; 3], normal: DVec3) -> Self {
        let sides = [0, 1, 2].map(|k| corners[(k + 1) % 3] - corners[k]);
        let longest = (0..3).max_by(|a, b| sides[*a].length().total_cmp(&sides[*b].length())).unwrap_or(0);
        let corners = [0, 1, 2].map(|k| corners[(longest + k) % 3]);
        let along = sides[longest].normalize_or_zero();
        let across = normal.cross(along);
        let size = [sides[longest].length(), (corners[2] - corners[0]).dot(across).max(0.0)];
        let counts = size.map(|s| (s / CELL_MM).ceil().max(1.0) as usize);
        Self { corners, along, across, counts, size }
    }

    fn cell(&self, point: DVec3) -> usize {
        let from = point - self.corners[0];
        let place = |k: usize, way: DVec3| {
            let n = self.counts[k];
            if n == 1 { 0 } else { ((from.dot(way) / self.size[k] * n as f64).max(0.0) as usize).min(n - 1) }
        };
        place(1, self.across) * self.counts[0] + place(0, self.along)
    }

    /// The middles of all cells, drawn onto the triangle where they lie beside it.
    fn middles(&self) -> impl Iterator<Item = DVec3> {
        let [a, b, c] = self.corners;
        let [n, m] = self.counts;
        let step = [self.size[0] / n as f64, self.size[1] / m as f64];
        let top = (c - a).dot(self.along);
        (0..n * m).map(move |i| {
            let height = (((i / n) as f64 + 0.5) * step[1]).min(self.size[1] * 0.9);
            // The triangle at that height, a little less.
            let share = if self.size[1] > 0.0 { height / self.size[1] } else { 0.5 };
            let (low, high) = (top * share, (b - a).length() * (1.0 - share) + top * share);
            let inset = 0.02 * (high - low);
            let x = (((i % n) as f64 + 0.5) * step[0]).clamp(low + inset, high - inset);
            a + self.along * x + self.across * height
        })
    }
}

/// Thickness of the flat wall that diffuse light passes like a bent one, as a share, by the bent one's thickness times
/// the sum of its curvatures: area grows by a factor a across the wall, and the way counts less where there is more of it,
/// so that t ln(a) / (a - 1) is left (for a tube exactly the r ln(R / r) of steady diffusion).
fn flat_share(bend: f64) -> f64 {
    let half = (0.5 * bend).clamp(-0.4, 0.4);
    let grown = (1.0 + half) / (1.0 - half) - 1.0;
    if grown.abs() < 1e-6 { 1.0 } else { libm::log1p(grown) / grown }
}

/// Surfaces that are looked at.
struct Walls<'a> {
    scene: &'a Scene,
    outside: &'a dyn Outside,
}

impl Walls<'_> {
    /// What lies behind the cells of a triangle; empty where it is no inner face.
    fn look_behind(&self, triangle: u32, least_mm: &[f64]) -> Vec<Option<Plate>> {
        let (corners, normal) = (self.scene.corners(triangle), self.scene.normal(triangle));
        if normal == DVec3::ZERO || self.scene.is_glued(triangle) {
            return Vec::new();
        }
        let found: Vec<Option<Plate>> = Grid::of(corners, normal)
            .middles()
            .map(|middle| self.plate_behind(&Hit { point: middle, triangle, normal }, least_mm))
            .collect();
        if found.iter().all(Option::is_none) { Vec::new() } else { found }
    }

    fn plate_behind(&self, at: &Hit, least_mm: &[f64]) -> Option<Plate> {
        let solid = self.scene.solid(at.triangle)?;
        let inner = self.outside.at(self.scene, solid, at);
        if inner.patch.is_some() {
            return None;
        }
        // Most walls are thinner, and a short way tells.
        if self.scene.way_out(solid, at.point, -at.normal, least_mm[solid]).is_some() {
            return None;
        }
        let opposite = self.scene.way_out(solid, at.point, -at.normal, self.scene.across_mm())?;
        let thickness_mm = opposite.point.distance(at.point);
        let outer = self.outside.at(self.scene, solid, &opposite);
        let alike = outer.patch.is_some() && !self.scene.is_glued(opposite.triangle);
        if !alike || opposite.normal.dot(at.normal) > -PARALLEL {
            return None;
        }
        let finishes = [inner.finish, outer.finish];
        let centre = at.point - at.normal * (0.5 * thickness_mm);
        let (side, up) = at.normal.any_orthonormal_pair();
        let (mut slope, mut bend) = (DVec3::ZERO, 0.0);
        for k in 0..PROBES * RINGS.len() {
            let around = RINGS[k % RINGS.len()] * thickness_mm;
            let (s, c) = libm::sincos(std::f64::consts::TAU * k as f64 / (PROBES * RINGS.len()) as f64);
            let way = side * c + up * s;
            let [near, far] = self.faces_aside(solid, finishes, centre, way * around, at.normal, thickness_mm)?;
            let thick = near.point.distance(far.point);
            if (thick / thickness_mm - 1.0).abs() > UNEVEN {
                return None;
            }
            let mean = 1.0 / ((PROBES * RINGS.len()) as f64 * around);
            slope += way * (2.0 * (thick - thickness_mm) * mean);
            // How normals turn along the wall, the mean of both faces: the sum of its curvatures, per mm.
            bend += way.dot(far.normal - near.normal) * mean;
        }
        let flat = flat_share(bend * thickness_mm);
        let [inner, outer] = finishes;
        Some(Plate { solid: solid as u32, inner, outer, middle: at.point, thickness_mm, slope, flat })
    }

    /// Both faces of a plate so far aside of its middle, if the plate goes on there with the same finishes.
    fn faces_aside(
        &self,
        solid: usize,
        [inner, outer]: [Finish; 2],
        centre: DVec3,
        aside: DVec3,
        normal: DVec3,
        thickness_mm: f64,
    ) -> Option<[Hit; 2]> {
        // A bent wall leaves the straight line, by less than half its thickness where it is like a flat one.
        let there = centre + aside;
        let near = self.scene.way_out(solid, there, normal, 1.5 * thickness_mm)?;
        let far = self.scene.way_out(solid, there, -normal, 1.5 * thickness_mm)?;
        let [near_face, far_face] = [&near, &far].map(|h| self.outside.at(self.scene, solid, h));
        let is_same = near_face.patch.is_none()
            && far_face.patch.is_some()
            && near_face.finish == inner
            && far_face.finish == outer
            && ![near, far].iter().any(|h| self.scene.is_glued(h.triangle));
        let is_inside = self.scene.way_out(solid, centre, aside.normalize(), aside.length()).is_none();
        (is_same && is_inside).then_some([near, far])
    }
}

impl Tracer<'_> {
    /// Light that comes from air to a face with a plate behind it. None: no plate.
    pub(super) fn by_table<G>(
        &self,
        photon: &mut Photon,
        solid: usize,
        hit: &Hit,
        trip: &mut Trip<G>,
    ) -> Option<Place> {
        let plates = self.plates?;
        let (plate, table) = plates.at(self.scene, hit)?;
        let thickness_mm = plate.thickness_mm + plate.slope.dot(hit.point - plate.middle);
        let cosine = -photon.way.dot(hit.normal);
        let shares = table.at(thickness_mm * plate.flat, cosine);
        let through = shares.unscattered_through + shares.diffuse_through;
        if through > 0.0 {
            let is_straight = trip.random.uniform() * through < shares.unscattered_through;
            let aside_mm = table.sideways_through(thickness_mm * plate.flat, trip.random.uniform());
            let out = if is_straight {
                let way = super::refracted(photon.way, -hit.normal, cosine, 1.0 / self.band.media[solid].index);
                self.scene.way_out(solid, hit.point, way, 4.0 * thickness_mm)
            } else {
                self.aside(solid, hit, thickness_mm, aside_mm, trip.random)
            };
            // Light that would come out beside the outer surface is walked after all.
            let patch = out.and_then(|h| self.face(solid, &h).patch)?;
            trip.tally.out(patch, photon.weight * through);
        }
        trip.tally.solids[solid] += photon.weight * shares.absorbed_wall;
        trip.tally.coats += photon.weight * shares.absorbed_coats;
        let back = shares.specular + shares.diffuse_back;
        photon.weight *= back;
        if back <= 0.0 {
            return Some(Place::Gone);
        }
        // What goes back does so from where it came in: a millimetre or two aside is nothing to a cavity.
        photon.way = if trip.random.uniform() * back < shares.specular {
            super::mirrored(photon.way, hit.normal)
        } else {
            phase::lambertian(hit.normal, trip.random)
        };
        Some(Place::Air(Start::Here))
    }

    /// The face beyond a point inside the plate that lies so far aside of a hit, in any direction.
    fn aside(&self, solid: usize, hit: &Hit, thickness_mm: f64, aside_mm: f64, random: &mut Random) -> Option<Hit> {
        let (side, up) = hit.normal.any_orthonormal_pair();
        let turn = random.azimuth();
        let inside = hit.point - hit.normal * (0.5 * thickness_mm) + (side * turn.x + up * turn.y) * aside_mm;
        self.scene.way_out(solid, inside, -hit.normal, 1.5 * thickness_mm)
    }
}
