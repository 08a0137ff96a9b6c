//! What stands in the light: translucent solids, opaque things, what their faces carry.

use crate::{Coat, Finish, Medium, OpticsError};
use solid::{Bounds, Bvh, Cubes, DVec3, Mesh};

/// How far a cut face may lie from the one it is glued to, mm: the glue line and what rounding adds.
pub const GLUE_REACH_MM: f64 = 0.25;

/// How far two faces that touch may run into each other, mm. Light that leaves one solid is looked for in the next from
/// this far back.
const TOUCH_MM: f64 = 0.01;

/// Side of the cubes of space that short rays are followed through, mm.
const CUBE_MM: f64 = 0.5;

/// Longest ray through plastic, and longest stretch through air, that is looked for cube by cube before the tree is asked.
const SHORT_MM: f64 = 6.0;
const NEAR_MM: f64 = 20.0;

/// A translucent body.
#[derive(Clone, Debug)]
pub struct Solid {
    /// Its closed surface, facing outwards; hollows are shells that face into them.
    pub mesh: Mesh,
    /// Per triangle, whether it is a cut face: light crosses there into the solid that touches it, and where none does the
    /// face is bare. Empty: none is.
    pub glued: Vec<bool>,
}

/// What the solids and things of a scene do with light of one optical band.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// A medium for each solid.
    pub media: Vec<Medium>,
    /// Diffuse reflectance of each opaque thing, 0 to 1.
    pub reflectances: Vec<f64>,
    /// What a glue line sends back (diffusely) and passes (straight on).
    pub glue: Coat,
}

/// What light finds at a point of a solid's surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Face {
    /// What the plastic carries there.
    pub finish: Finish,
    /// The patch of outer surface that counts the light that leaves there; none on a face towards a cavity.
    pub patch: Option<u32>,
}

/// Answers what a solid's surface carries. Glued faces are not asked for.
pub trait Outside: Sync {
    /// The face at `point` (mm) on a triangle of a solid, both counted as they were given to [`Scene::new`].
    fn face(&self, solid: usize, triangle: usize, point: DVec3) -> Face;
}

impl dyn Outside + '_ {
    /// The face at a hit on a solid; a cut face is bare and counts nothing.
    pub(crate) fn at(&self, scene: &Scene, solid: usize, hit: &Hit) -> Face {
        if scene.is_glued(hit.triangle) {
            return Face { finish: Finish::Bare, patch: None };
        }
        self.face(solid, scene.own_index(hit.triangle), hit.point)
    }
}

/// Why a scene could not be made, or a band not be used in it.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SceneError {
    /// There is nothing translucent.
    #[error("nothing translucent stands in the light; give at least one solid")]
    NoSolid,
    /// A surface has holes: light would fall out of it.
    #[error("{body} has {n_edges} edges without two sides, the first near {near}; close its surface first")]
    Open {
        /// Which one.
        body: Body,
        /// How many faulty edges.
        n_edges: usize,
        /// An end of the first.
        near: DVec3,
    },
    /// A surface without triangles, or with a corner that is not finite.
    #[error("{body} has no surface, or a corner that is not a finite point")]
    NoSurface {
        /// Which one.
        body: Body,
    },
    /// A surface that faces inwards.
    #[error("{body} is inside out: its volume is {volume_mm3} mm3; turn its triangles round")]
    InsideOut {
        /// Which one.
        body: Body,
        /// Its volume.
        volume_mm3: f64,
    },
    /// A list that has not one entry for each thing it is about.
    #[error("{what}: {given} given, {needed} needed")]
    Count {
        /// What the list is of.
        what: &'static str,
        /// Its length.
        given: usize,
        /// The right length.
        needed: usize,
    },
    /// Numbers that light can't be followed with.
    #[error("{body}: {error}")]
    Optics {
        /// Which one.
        body: Body,
        /// What is wrong.
        error: OpticsError,
    },
    /// A medium that lets nothing through.
    #[error(
        "{body} passes less than a millionth through 1 mm (it dims by e in {fades_mm} mm); give it as an opaque thing"
    )]
    OpaqueMedium {
        /// Which one.
        body: Body,
        /// Way in which diffuse light falls to 1/e.
        fades_mm: f64,
    },
    /// A reflectance that isn't one.
    #[error("{body} reflects {reflectance}; give 0 to 1")]
    Reflectance {
        /// Which one.
        body: Body,
        /// What was given.
        reflectance: f64,
    },
}

/// A solid or an opaque thing, by its place in the list it was given in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Body {
    /// A translucent solid.
    Solid(usize),
    /// An opaque thing.
    Thing(usize),
    /// The glue lines.
    Glue,
}

impl std::fmt::Display for Body {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Solid(i) => write!(f, "solid {i}"),
            Self::Thing(i) => write!(f, "opaque thing {i}"),
            Self::Glue => write!(f, "the glue"),
        }
    }
}

/// Bodies made ready for light: one tree of boxes over all of their triangles.
///
/// Which medium light is in is carried along as a state and never asked of the surface, so bodies may touch, and overlap
/// by some hundredths of a millimetre.
pub struct Scene {
    bvh: Bvh,
    cubes: Cubes,
    /// Unit normal per triangle; zero for one without area, which nothing meets.
    normals: Vec<DVec3>,
    /// Body per triangle, solids first.
    owner: Vec<u32>,
    glued: Vec<bool>,
    /// First triangle per body.
    first: Vec<u32>,
    n_solids: usize,
    /// Longer than any way between two of its points, mm.
    across_mm: f64,
}

/// Where a flight ends.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hit {
    pub(crate) point: DVec3,
    pub(crate) triangle: u32,
    /// Outward unit normal of the triangle.
    pub(crate) normal: DVec3,
}

/// Where a flight through air begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Start {
    /// Off the pixel or the face that it was sent back by.
    Here,
    /// Out of a solid, through a face that another body may touch.
    Leaving,
}

impl Scene {
    /// Makes bodies ready.
    ///
    /// # Errors
    ///
    /// A surface that is missing, open, inside out or not finite, `glued` lists of a wrong length.
    pub fn new(solids: &[Solid], things: &[Mesh]) -> Result<Scene, SceneError> {
        if solids.is_empty() {
            return Err(SceneError::NoSolid);
        }
        let mut all = Mesh::default();
        let (mut owner, mut glued, mut first) = (Vec::new(), Vec::new(), Vec::new());
        let bodies = solids.iter().enumerate().map(|(i, s)| (Body::Solid(i), &s.mesh, &s.glued[..]));
        let things = things.iter().enumerate().map(|(i, m)| (Body::Thing(i), m, &[][..]));
        for (i, (body, mesh, cuts)) in bodies.chain(things).enumerate() {
            check_surface(body, mesh)?;
            if !cuts.is_empty() && cuts.len() != mesh.triangles.len() {
                let (given, needed) = (cuts.len(), mesh.triangles.len());
                return Err(SceneError::Count { what: "marks of cut faces, one a triangle", given, needed });
            }
            first.push(owner.len() as u32);
            owner.resize(owner.len() + mesh.triangles.len(), i as u32);
            glued.extend_from_slice(cuts);
            glued.resize(owner.len(), false);
            all.append(mesh);
        }
        let normals = (0..all.triangles.len()).map(|t| all.area_vector(t).normalize_or_zero()).collect();
        let across_mm = all.bounds().map_or(0.0, |b| b.size().length()) * 1.01 + 1.0;
        let bvh = Bvh::from(all);
        let cubes = Cubes::new(&bvh, CUBE_MM);
        Ok(Scene { bvh, cubes, normals, owner, glued, first, n_solids: solids.len(), across_mm })
    }

    /// Whether the band has sound numbers for all of the scene.
    ///
    /// # Errors
    ///
    /// Lists of a wrong length, numbers out of range, media that let nothing through.
    pub fn check(&self, band: &Band) -> Result<(), SceneError> {
        let n_things = self.first.len() - self.n_solids;
        for (what, given, needed) in [
            ("media, one a solid", band.media.len(), self.n_solids),
            ("reflectances, one an opaque thing", band.reflectances.len(), n_things),
        ] {
            if given != needed {
                return Err(SceneError::Count { what, given, needed });
            }
        }
        for (i, medium) in band.media.iter().enumerate() {
            let body = Body::Solid(i);
            medium.check().map_err(|error| SceneError::Optics { body, error })?;
            // Diffusion far inside: light falls by e in 1 / sqrt(3 µa (µa + µs')).
            let (absorb, reduced) = (medium.absorb_per_mm, medium.reduced());
            let fades_mm = 1.0 / (3.0 * absorb * (absorb + reduced)).sqrt();
            if fades_mm * libm::log(1e6) < 1.0 {
                return Err(SceneError::OpaqueMedium { body, fades_mm });
            }
        }
        for (i, reflectance) in band.reflectances.iter().enumerate() {
            if !(0.0..=1.0).contains(reflectance) {
                return Err(SceneError::Reflectance { body: Body::Thing(i), reflectance: *reflectance });
            }
        }
        Finish::Coat(band.glue).check().map_err(|error| SceneError::Optics { body: Body::Glue, error })
    }

    /// How many solids.
    pub fn n_solids(&self) -> usize {
        self.n_solids
    }

    /// How many opaque things.
    pub fn n_things(&self) -> usize {
        self.first.len() - self.n_solids
    }

    /// How many triangles in all.
    pub fn n_triangles(&self) -> usize {
        self.owner.len()
    }

    /// The body that a point is inside of, if any.
    pub fn body_at(&self, point: DVec3) -> Option<Body> {
        if !self.bvh.is_inside(point) {
            return None;
        }
        // Slanting, so that no face of a box is grazed.
        let way = DVec3::new(0.36, 0.48, 0.8);
        let hit = self.bvh.ray_among(point, way, self.across_mm, |t, _| self.normals[t as usize].dot(way) > 0.0)?;
        Some(self.body(hit.triangle))
    }

    #[inline]
    pub(crate) fn body(&self, triangle: u32) -> Body {
        let owner = self.owner[triangle as usize] as usize;
        if owner < self.n_solids { Body::Solid(owner) } else { Body::Thing(owner - self.n_solids) }
    }

    /// How many triangles belong to solids; theirs come first.
    pub(crate) fn n_solid_triangles(&self) -> u32 {
        self.first.get(self.n_solids).copied().unwrap_or(self.owner.len() as u32)
    }

    /// The solid that a triangle belongs to, if it is one's.
    #[inline]
    pub(crate) fn solid(&self, triangle: u32) -> Option<usize> {
        let owner = self.owner[triangle as usize] as usize;
        (owner < self.n_solids).then_some(owner)
    }

    #[inline]
    pub(crate) fn corners(&self, triangle: u32) -> [DVec3; 3] {
        self.bvh.mesh().corners(triangle as usize)
    }

    #[inline]
    pub(crate) fn normal(&self, triangle: u32) -> DVec3 {
        self.normals[triangle as usize]
    }

    /// Index of a triangle within its own body.
    #[inline]
    pub(crate) fn own_index(&self, triangle: u32) -> usize {
        (triangle - self.first[self.owner[triangle as usize] as usize]) as usize
    }

    #[inline]
    pub(crate) fn is_glued(&self, triangle: u32) -> bool {
        self.glued[triangle as usize]
    }

    /// The end of a flight through air: the first face of either side. One met from behind means that the start was
    /// inside that body.
    pub(crate) fn flight(&self, at: DVec3, way: DVec3, from: Start) -> Option<Hit> {
        let back = if from == Start::Leaving { TOUCH_MM } else { 0.0 };
        // The face just left and its neighbours round the point are met from behind, at no distance.
        let beyond = back + 1e-6;
        let faces = |t: u32, mm: f64| mm > beyond || self.normals[t as usize].dot(way) < 0.0;
        let start = at - way * back;
        let near_mm = NEAR_MM.min(self.across_mm);
        let hit = self
            .cubes
            .ray_among(&self.bvh, start, way, near_mm, |_| true, faces)
            .or_else(|| self.bvh.ray_among(start, way, self.across_mm, faces))?;
        Some(self.hit(at, way, hit.distance_mm - back, hit.triangle))
    }

    /// The face through which a straight way inside a solid ends within `most_mm`.
    pub(crate) fn way_out(&self, solid: usize, at: DVec3, way: DVec3, most_mm: f64) -> Option<Hit> {
        let leaves = |t: u32| self.owner[t as usize] as usize == solid && self.normals[t as usize].dot(way) > 0.0;
        let hit = if most_mm <= SHORT_MM {
            self.cubes.ray_among(&self.bvh, at, way, most_mm, leaves, |_, _| true)?
        } else {
            self.bvh.ray_among(at, way, most_mm, |t, _| leaves(t))?
        };
        Some(self.hit(at, way, hit.distance_mm, hit.triangle))
    }

    /// The cut face of another solid that touches a cut face of this one at a point.
    pub(crate) fn across_glue(&self, solid: usize, point: DVec3, normal: DVec3) -> Option<Hit> {
        let meets = |t: u32, _: f64| {
            let other = self.owner[t as usize] as usize;
            self.glued[t as usize]
                && other != solid
                && other < self.n_solids
                && self.normals[t as usize].dot(normal) < -0.5
        };
        let hit = self.bvh.ray_among(point - normal * TOUCH_MM, normal, GLUE_REACH_MM + TOUCH_MM, meets)?;
        Some(self.hit(point, normal, hit.distance_mm - TOUCH_MM, hit.triangle))
    }

    /// The box round everything.
    pub(crate) fn bounds(&self) -> Bounds {
        self.bvh.bounds().unwrap_or(Bounds { min: DVec3::ZERO, max: DVec3::ZERO })
    }

    /// Longer than any way between two points of the scene, mm.
    #[inline]
    pub(crate) fn across_mm(&self) -> f64 {
        self.across_mm
    }

    #[inline]
    fn hit(&self, at: DVec3, way: DVec3, distance_mm: f64, triangle: u32) -> Hit {
        Hit { point: at + way * distance_mm, triangle, normal: self.normals[triangle as usize] }
    }
}

fn check_surface(body: Body, mesh: &Mesh) -> Result<(), SceneError> {
    if mesh.is_empty() || mesh.vertices.iter().any(|v| !v.is_finite()) {
        return Err(SceneError::NoSurface { body });
    }
    let census = mesh.edge_census();
    // Two shells may share an edge; light tells their sides apart all the same.
    let faulty = census.open.iter().chain(&census.flipped);
    let n_edges = census.open.len() + census.flipped.len();
    if let Some(edge) = faulty.clone().next() {
        return Err(SceneError::Open { body, n_edges, near: mesh.vertices[edge[0] as usize] });
    }
    let volume_mm3 = mesh.volume_mm3();
    if volume_mm3 <= 0.0 {
        return Err(SceneError::InsideOut { body, volume_mm3 });
    }
    Ok(())
}

#[cfg(test)]
mod tests;
