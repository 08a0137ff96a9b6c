//! What mends and faults are called, and what to do about faults.

use super::{Fault, FaultKind, MendKind};

impl MendKind {
    /// What was done, as the end of "12 ...".
    pub fn describe(self) -> &'static str {
        match self {
            MendKind::LooseVertices => "vertices without a face dropped",
            MendKind::DuplicateVertices => "duplicate vertices joined",
            MendKind::ZeroAreaFaces => "zero-area faces taken out",
            MendKind::ZeroAreaKept => "zero-area faces kept, since the surface would open without them",
            MendKind::DuplicateFaces => "duplicate faces dropped",
            MendKind::StitchedEdges => "open edges stitched to the corners that lie on them",
            MendKind::InnerWalls => "faces of walls inside the solid dropped",
            MendKind::Scraps => "faces of sheets inside the solid, or of scraps too small to print, dropped",
            MendKind::CutOut => "faces cut out where nothing else helped, to be filled anew",
            MendKind::FilledHoles => "holes filled",
            MendKind::FlippedFaces => "flipped faces turned",
            MendKind::TouchingEdges => "edges parted where solids touch",
            MendKind::DoubledShells => "shells dropped that are copies of another",
            MendKind::InsideOut => "inside-out shells turned",
            MendKind::InnerShells => "shells dropped that lay wholly inside solid",
            MendKind::CrossingPlaces => "places made anew where a shell passed through itself",
            MendKind::CrossingShells => "shells made anew that passed through themselves",
            MendKind::OverlappingShells => "shells united where they overlap",
        }
    }
}

impl FaultKind {
    /// What is wrong at the place.
    pub fn describe(self) -> &'static str {
        match self {
            FaultKind::TooFewFaces => "there are fewer than four faces, which enclose nothing",
            FaultKind::OpenEdges => "the surface is open here",
            FaultKind::FlippedFaces => "faces look inwards and outwards side by side here",
            FaultKind::CrowdedEdges => "more than two faces meet at an edge here",
            FaultKind::NoVolume => "the surface encloses nothing here",
            FaultKind::StillOverlapping => "surfaces pass through each other here",
        }
    }

    /// What to do in the modelling program.
    pub fn advice(self) -> &'static str {
        match self {
            FaultKind::TooFewFaces => "export the whole object, as a mesh",
            FaultKind::OpenEdges => {
                "select the open (boundary) edges and fill or bridge them, or give the sheet a thickness"
            }
            FaultKind::FlippedFaces => {
                "recalculate the normals outwards; a twisted band has to be cut and joined again"
            }
            FaultKind::CrowdedEdges => "select non-manifold edges and delete the inner face or move the parts apart",
            FaultKind::NoVolume => "delete this sheet or give it a thickness",
            FaultKind::StillOverlapping => "unite the parts with a boolean union, or move them apart",
        }
    }
}

impl Fault {
    /// What is wrong, with the number and length of groups. The length is given as millimetres: scale
    /// [`Fault::length_mm`] first where the mesh has another unit.
    pub fn describe(&self) -> String {
        let what = self.kind.describe();
        let group = match self.kind {
            FaultKind::OpenEdges => "hole",
            FaultKind::FlippedFaces | FaultKind::CrowdedEdges => "seam",
            FaultKind::NoVolume if self.count > 1 => return format!("{what}, and in {} more places", self.count - 1),
            _ => return what.into(),
        };
        let rank = if self.count > 1 { format!(", the longest of {}", self.count) } else { String::new() };
        format!("{what}: a {group} {:.1} mm long{rank}", self.length_mm)
    }
}
