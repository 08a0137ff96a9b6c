//! What is told of mends and faults.

use super::fault::{join, root};
use crate::{Bounds, Mesh};
use glam::DVec3;

/// What was mended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum MendKind {
    /// Vertices that no face uses, dropped.
    LooseVertices,
    /// Vertices at one place, joined where the surface was open between them.
    DuplicateVertices,
    /// Faces without area, taken out and the surface kept closed.
    ZeroAreaFaces,
    /// Faces without area that stay, since taking them out would open the surface.
    ZeroAreaKept,
    /// Faces that lie on another one with the same corners, dropped.
    DuplicateFaces,
    /// Open edges split where corners of the other side lie on them, and joined.
    StitchedEdges,
    /// Walls and fins inside the solid, dropped.
    InnerWalls,
    /// Sheets with an edge of their own inside the solid, and scraps too small to print, dropped.
    Scraps,
    /// Faces around a place that could not be mended otherwise, cut out to be filled anew.
    CutOut,
    /// Holes filled.
    FilledHoles,
    /// Faces that looked the other way than their neighbours, turned.
    FlippedFaces,
    /// Edges where solids touch, parted into one edge for each solid.
    TouchingEdges,
    /// Shells that are exact copies of another one, dropped.
    DoubledShells,
    /// Shells whose faces looked inwards, turned.
    InsideOut,
    /// Shells that lay wholly inside solid, dropped.
    InnerShells,
    /// Shells that overlapped, united.
    OverlappingShells,
    /// Places where a shell passed through itself, made anew from what it winds around there.
    CrossingPlaces,
    /// Shells that passed through themselves, made anew from what they wind around.
    CrossingShells,
}

/// One kind of mend that was done.
#[derive(Clone, Debug, PartialEq)]
pub struct Mend {
    /// What was done.
    pub kind: MendKind,
    /// To how many vertices, faces, edges, holes or shells.
    pub count: usize,
    /// Where, in the mesh's unit: boxes around the places, the largest first, at most [`Mend::MOST_SPOTS`].
    pub spots: Vec<Bounds>,
}

impl Mend {
    /// Most places that are kept of one kind of mend.
    pub const MOST_SPOTS: usize = 200;

    pub(super) fn new(kind: MendKind, count: usize, mut spots: Vec<Bounds>) -> Mend {
        spots.sort_by(|a, b| b.size().length().total_cmp(&a.size().length()));
        spots.truncate(Mend::MOST_SPOTS);
        Mend { kind, count, spots }
    }

    /// Middle of the largest place, in the mesh's unit.
    pub fn place(&self) -> DVec3 {
        self.spots.first().map_or(DVec3::ZERO, Bounds::center)
    }

    /// Diagonal of the largest place's box, in the mesh's unit.
    pub fn extent(&self) -> f64 {
        self.spots.first().map_or(0.0, |b| b.size().length())
    }
}

/// Why a mesh is no solid.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FaultKind {
    /// Fewer than four faces.
    TooFewFaces,
    /// Edges with one face: a hole too large to fill.
    OpenEdges,
    /// Edges whose two faces run the same way, on a surface with no consistent outside.
    FlippedFaces,
    /// Edges with three or more faces that don't bound solids.
    CrowdedEdges,
    /// A closed surface around nothing.
    NoVolume,
    /// Overlaps that could not be resolved.
    StillOverlapping,
}

/// One kind of fault, with the place of its worst group.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fault {
    /// What is wrong.
    pub kind: FaultKind,
    /// How many groups of connected edges are at fault (holes, seams), or how many faces or shells.
    pub count: usize,
    /// Length of the worst group's edges together, in the mesh's unit; 0 where there are no edges to measure.
    pub length_mm: f64,
    /// Middle of the worst group's box, in the mesh's unit.
    pub place: DVec3,
    /// Edge lengths of that box, in the mesh's unit.
    pub size: DVec3,
}

/// Boxes around faces, one for each set of them that share corners, in the order of their first face.
pub(super) fn spots_of_faces(mesh: &Mesh, faces: impl IntoIterator<Item = u32>) -> Vec<Bounds> {
    let faces: Vec<u32> = faces.into_iter().collect();
    let mut corners: Vec<u32> = faces.iter().flat_map(|t| mesh.triangles[*t as usize]).collect();
    corners.sort_unstable();
    corners.dedup();
    let slot = |v: u32| corners.partition_point(|other| *other < v);
    let mut parent: Vec<usize> = (0..corners.len()).collect();
    for t in &faces {
        let [a, b, c] = mesh.triangles[*t as usize].map(slot);
        join(&mut parent, a, b);
        join(&mut parent, a, c);
    }
    let mut spots: Vec<Bounds> = Vec::new();
    let mut spot_of: Vec<Option<usize>> = vec![None; corners.len()];
    for t in &faces {
        let place = mesh.corners(*t as usize);
        let set = root(&mut parent, slot(mesh.triangles[*t as usize][0]));
        let k = *spot_of[set].get_or_insert_with(|| {
            spots.push(Bounds { min: place[0], max: place[0] });
            spots.len() - 1
        });
        for p in place {
            spots[k] = Bounds { min: spots[k].min.min(p), max: spots[k].max.max(p) };
        }
    }
    spots
}
