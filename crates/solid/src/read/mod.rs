//! Shapes from files: STL, OBJ, PLY, OFF, 3MF, GLB.
//!
//! Every reader takes any bytes without a panic, and takes memory in proportion to the file: a count in a header is
//! believed only when the file is long enough for it, archives and copies have a ceiling. Coordinates come out in the
//! file's own unit, with z upwards.

mod error;
mod glb;
mod obj;
mod off;
mod paint;
mod ply;
mod polygon;
mod stl;
mod text;
mod threemf;
pub(crate) mod weld;

pub use error::{Place, ReadError};
pub use paint::{Hue, Paint};

use crate::Mesh;
use glam::DVec3;
use std::fmt;

/// A kind of file that can be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Stereolithography triangles, binary or text.
    Stl,
    /// Wavefront object text.
    Obj,
    /// Polygon file, text or binary.
    Ply,
    /// Object file format, text.
    Off,
    /// 3D manufacturing format.
    ThreeMf,
    /// Binary glTF.
    Glb,
}

impl Format {
    /// The format by the file's extension, or else by its content; `None` when neither tells.
    pub fn of(file_name: &str, bytes: &[u8]) -> Option<Format> {
        let extension = file_name.rsplit_once('.').map(|(_, e)| e.to_ascii_lowercase());
        match extension.as_deref() {
            Some("stl") => Some(Format::Stl),
            Some("obj") => Some(Format::Obj),
            Some("ply") => Some(Format::Ply),
            Some("off") => Some(Format::Off),
            Some("3mf") => Some(Format::ThreeMf),
            Some("glb") => Some(Format::Glb),
            _ => Format::by_content(bytes),
        }
    }

    fn by_content(bytes: &[u8]) -> Option<Format> {
        if bytes.starts_with(b"glTF") {
            Some(Format::Glb)
        } else if bytes.starts_with(b"PK\x03\x04") {
            Some(Format::ThreeMf)
        } else if bytes.starts_with(b"ply\n") || bytes.starts_with(b"ply\r") {
            Some(Format::Ply)
        } else if stl::is_binary(bytes) || stl::is_text(bytes) {
            Some(Format::Stl)
        } else if off::is_off(bytes) {
            Some(Format::Off)
        } else if obj::is_obj(bytes) {
            Some(Format::Obj)
        } else {
            None
        }
    }
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Format::Stl => "STL",
            Format::Obj => "OBJ",
            Format::Ply => "PLY",
            Format::Off => "OFF",
            Format::ThreeMf => "3MF",
            Format::Glb => "GLB",
        })
    }
}

/// A mesh with the name it has in the file.
#[derive(Clone, Debug, PartialEq)]
pub struct NamedMesh {
    /// Unique among the bodies of a shape, never empty.
    pub name: String,
    /// In the file's unit, z upwards. Closedness is not promised: see [`crate::mend`].
    pub mesh: Mesh,
    /// What its triangles are painted with, where the file says it.
    pub paint: Option<Paint>,
}

impl NamedMesh {
    /// A mesh without paint.
    pub fn plain(name: impl Into<String>, mesh: Mesh) -> Self {
        Self { name: name.into(), mesh, paint: None }
    }
}

/// What a file holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shape {
    /// At least one body, each with at least one triangle.
    pub bodies: Vec<NamedMesh>,
    /// Millimetres per unit, where the file says it.
    pub unit_mm: Option<f64>,
    /// What was passed over or decided on the way, in plain words.
    pub notes: Vec<String>,
}

/// Reads a shape. `stem` (the file's name without its extension) names a body that has no name in the file.
///
/// # Errors
/// When the bytes are not what the format asks for, with the place; when there are no faces in it.
pub fn shape(format: Format, bytes: &[u8], stem: &str) -> Result<Shape, ReadError> {
    let stem = if stem.trim().is_empty() { "shape" } else { stem.trim() };
    let mut shape = match format {
        Format::Stl => stl::read(bytes, stem),
        Format::Obj => obj::read(bytes, stem),
        Format::Ply => ply::read(bytes, stem),
        Format::Off => off::read(bytes, stem),
        Format::ThreeMf => threemf::read(bytes, stem),
        Format::Glb => glb::read(bytes, stem),
    }?;
    shape.bodies.retain(|body| !body.mesh.is_empty());
    if shape.bodies.is_empty() {
        return Err(ReadError::NoFaces { format });
    }
    name_apart(&mut shape.bodies, stem);
    Ok(shape)
}

/// Gives every body a name of its own: the second "scale" becomes "scale-2".
fn name_apart(bodies: &mut [NamedMesh], stem: &str) {
    let mut taken = std::collections::HashSet::new();
    let mut next = std::collections::HashMap::new();
    for body in bodies {
        let plain: String = body.name.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
        let base = if plain.trim().is_empty() { stem.to_string() } else { plain.trim().to_string() };
        let mut name = base.clone();
        let number = next.entry(base.clone()).or_insert(1u32);
        while !taken.insert(name.clone()) {
            *number += 1;
            name = format!("{base}-{number}");
        }
        body.name = name;
    }
}

/// Furthest a coordinate may lie from the origin, in the file's unit: far beyond any object in any unit, and small
/// enough that products of three coordinates stay well inside a double.
const FURTHEST: f64 = 1e12;

/// `point` with negative zeros made plain, or an error when it is no place. `vertex` counts from 1.
fn checked(format: Format, place: impl Fn() -> Place, vertex: u64, point: DVec3) -> Result<DVec3, ReadError> {
    for value in point.to_array() {
        if value.is_nan() || value.abs() > FURTHEST {
            return Err(ReadError::Coordinate { format, place: place(), vertex, value });
        }
    }
    Ok(point + DVec3::ZERO)
}

/// How many vertices and triangles a file may unfold to. A triangle or a vertex takes at least three bytes, so only
/// copies of the same data can exceed the file's length.
struct Budget {
    format: Format,
    limit: u64,
    left: u64,
}

impl Budget {
    /// Vertices and triangles that may come from copies, beyond one for each byte.
    const COPIES: u64 = 8_000_000;

    fn new(format: Format, file_len: u64) -> Budget {
        let limit = file_len.saturating_add(Budget::COPIES);
        Budget { format, limit, left: limit }
    }

    fn spend(&mut self, count: usize, place: impl Fn() -> Place) -> Result<(), ReadError> {
        self.left = self.left.checked_sub(count as u64).ok_or_else(|| ReadError::TooLarge {
            format: self.format,
            place: place(),
            what: "copies of meshes",
            limit: self.limit,
        })?;
        Ok(())
    }
}

#[cfg(test)]
mod tests;
