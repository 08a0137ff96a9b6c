//! GLB: binary glTF 2.0 (ISO/IEC 12113:2022). Metres with y up become metres with z up.

use super::paint::{Paint, Palette, most_of, paint};
use super::weld::Welder;
use super::{Budget, Format, NamedMesh, Place, ReadError, Shape, checked};
use crate::Mesh;
use glam::{DAffine3, DMat4, DQuat, DVec3};
use serde::Deserialize;
use std::collections::BTreeMap;

/// The parts of the JSON chunk that hold shape.
#[derive(Deserialize)]
#[serde(default, rename_all = "camelCase")]
#[derive(Default)]
struct Document {
    scene: Option<usize>,
    scenes: Vec<Scene>,
    nodes: Vec<Node>,
    meshes: Vec<MeshEntry>,
    materials: Vec<Material>,
    accessors: Vec<Accessor>,
    buffer_views: Vec<BufferView>,
    extensions_required: Vec<String>,
}

#[derive(Deserialize)]
struct Scene {
    #[serde(default)]
    nodes: Vec<usize>,
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct Node {
    name: Option<String>,
    mesh: Option<usize>,
    children: Vec<usize>,
    matrix: Option<[f64; 16]>,
    translation: Option<[f64; 3]>,
    rotation: Option<[f64; 4]>,
    scale: Option<[f64; 3]>,
}

impl Node {
    fn to_parent(&self) -> DAffine3 {
        if let Some(columns) = &self.matrix {
            return DAffine3::from_mat4(DMat4::from_cols_array(columns));
        }
        let turn = self.rotation.map_or(DQuat::IDENTITY, DQuat::from_array);
        DAffine3::from_scale_rotation_translation(
            self.scale.map_or(DVec3::ONE, DVec3::from_array),
            // An unnormalised turn would scale as well.
            if turn.length_squared() > 0.0 { turn.normalize() } else { DQuat::IDENTITY },
            self.translation.map_or(DVec3::ZERO, DVec3::from_array),
        )
    }
}

#[derive(Deserialize)]
struct MeshEntry {
    name: Option<String>,
    #[serde(default)]
    primitives: Vec<Primitive>,
}

#[derive(Deserialize)]
struct Primitive {
    attributes: Attributes,
    indices: Option<usize>,
    mode: Option<u32>,
    material: Option<usize>,
}

#[derive(Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
struct Material {
    name: Option<String>,
    pbr_metallic_roughness: Roughness,
}

#[derive(Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
struct Roughness {
    /// Linear red, green, blue, opacity.
    base_color_factor: Option<[f64; 4]>,
}

impl Material {
    /// Its colour, linear, white where the file says none, as glTF 2.0 has it.
    fn linear(&self) -> [f64; 3] {
        let [r, g, b, _] = self.pbr_metallic_roughness.base_color_factor.unwrap_or([1.0; 4]);
        [r, g, b]
    }
}

/// A linear colour in sRGB (IEC 61966-2-1).
fn coded(linear: [f64; 3]) -> [u8; 3] {
    linear.map(|x| {
        let x = x.clamp(0.0, 1.0);
        let coded = if x <= 0.003_130_8 { 12.92 * x } else { 1.055 * libm::pow(x, 1.0 / 2.4) - 0.055 };
        (255.0 * coded).round() as u8
    })
}

#[derive(Deserialize)]
struct Attributes {
    #[serde(rename = "POSITION")]
    position: Option<usize>,
    #[serde(rename = "COLOR_0")]
    colour: Option<usize>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Accessor {
    buffer_view: Option<usize>,
    #[serde(default)]
    byte_offset: usize,
    component_type: u32,
    count: usize,
    #[serde(rename = "type")]
    kind: String,
    #[serde(default)]
    normalized: bool,
    sparse: Option<serde::de::IgnoredAny>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct BufferView {
    buffer: usize,
    #[serde(default)]
    byte_offset: usize,
    byte_length: usize,
    byte_stride: Option<usize>,
}

/// glTF's numbers for component types.
const U8: u32 = 5121;
const U16: u32 = 5123;
const U32: u32 = 5125;
const F32: u32 = 5126;

/// glTF's numbers for how indices make triangles.
const TRIANGLES: u32 = 4;
const STRIP: u32 = 5;
const FAN: u32 = 6;

/// glTF is in metres.
const METRE_MM: f64 = 1000.0;

/// Reads every node with a mesh as a body.
pub(super) fn read(bytes: &[u8], stem: &str) -> Result<Shape, ReadError> {
    let (json, binary) = chunks(bytes)?;
    let document: Document = serde_json::from_slice(json)
        .map_err(|wrong| unexpected(Place::Part("the JSON chunk".into()), "a glTF document", &wrong.to_string()))?;
    if let Some(extension) =
        document.extensions_required.iter().find(|e| e.contains("compression") || e.contains("quantization"))
    {
        return Err(unsupported(
            "the file".into(),
            format!("the extension {extension}"),
            "export again without compression",
        ));
    }
    let mut palette = Palette::default();
    let number = |m: &Material| palette.number(m.name.clone(), Some(coded(m.linear())));
    let numbers = document.materials.iter().map(number).collect();
    let mut walk = Walk {
        document: &document,
        binary,
        stem,
        budget: Budget::new(Format::Glb, bytes.len() as u64),
        shape: Shape { unit_mm: Some(METRE_MM), ..Shape::default() },
        passed_over: 0,
        uncoloured: 0,
        palette,
        numbers,
        tints: BTreeMap::new(),
        painted: Vec::new(),
    };
    walk.all()?;
    let hues = walk.palette.hues();
    for (body, painted) in walk.shape.bodies.iter_mut().zip(walk.painted) {
        body.paint = paint(&hues, painted);
    }
    if walk.uncoloured > 0 {
        walk.shape.notes.push(format!("{} sets of corners' colours that can't be read passed over", walk.uncoloured));
    }
    if walk.passed_over > 0 {
        walk.shape.notes.push(format!("{} sets of points or lines passed over", walk.passed_over));
    }
    Ok(walk.shape)
}

fn unexpected(place: Place, expected: &str, found: &str) -> ReadError {
    ReadError::Unexpected { format: Format::Glb, place, expected: expected.into(), found: found.into() }
}

fn unsupported(part: String, what: String, advice: &'static str) -> ReadError {
    ReadError::Unsupported { format: Format::Glb, place: Place::Part(part), what, advice }
}

/// The JSON chunk and the binary chunk, which may be missing.
fn chunks(bytes: &[u8]) -> Result<(&[u8], &[u8]), ReadError> {
    let word = |at: usize| bytes.get(at..).and_then(|b| b.first_chunk()).map(|b| u32::from_le_bytes(*b));
    let short = |what: &str, at: usize, needed: u64| ReadError::Short {
        format: Format::Glb,
        place: Place::Byte(at as u64),
        what: what.into(),
        needed,
        left: bytes.len().saturating_sub(at) as u64,
    };
    if !bytes.starts_with(b"glTF") {
        return Err(unexpected(Place::Byte(0), "\"glTF\"", &super::error::shown(&bytes[..bytes.len().min(4)])));
    }
    match word(4) {
        Some(2) => {}
        Some(version) => return Err(unexpected(Place::Byte(4), "version 2", &version.to_string())),
        None => return Err(short("the header's twelve bytes", 0, 12)),
    }
    let (mut json, mut binary) = (None, None);
    let mut at = 12;
    while at < bytes.len() {
        let (Some(length), Some(kind)) = (word(at), word(at + 4)) else {
            return Err(short("a chunk's eight bytes of header", at, 8));
        };
        let content = bytes.get(at + 8..).and_then(|b| b.get(..length as usize));
        let content = content.ok_or_else(|| short("a chunk's contents", at + 8, u64::from(length)))?;
        match &kind.to_le_bytes() {
            b"JSON" => json = json.or(Some(content)),
            b"BIN\0" => binary = binary.or(Some(content)),
            _ => {}
        }
        at += 8 + content.len();
    }
    let json = json.ok_or_else(|| unexpected(Place::Byte(12), "a JSON chunk", "none"))?;
    Ok((json, binary.unwrap_or_default()))
}

struct Walk<'a> {
    document: &'a Document,
    binary: &'a [u8],
    stem: &'a str,
    budget: Budget,
    shape: Shape,
    passed_over: usize,
    uncoloured: usize,
    palette: Palette,
    /// Which of the palette each material of the document is.
    numbers: Vec<u32>,
    /// Which each material is in a colour of its corners.
    tints: BTreeMap<(Option<usize>, [u8; 3]), u32>,
    /// Paint of each body's triangles.
    painted: Vec<Vec<u32>>,
}

impl<'a> Walk<'a> {
    /// Visits the scene's nodes depth first, in the order of the file.
    fn all(&mut self) -> Result<(), ReadError> {
        let document = self.document;
        let roots: Vec<usize> = match document.scenes.get(document.scene.unwrap_or(0)) {
            Some(scene) => scene.nodes.clone(),
            None => {
                let mut is_child = vec![false; document.nodes.len()];
                for child in document.nodes.iter().flat_map(|n| &n.children) {
                    if let Some(flag) = is_child.get_mut(*child) {
                        *flag = true;
                    }
                }
                (0..document.nodes.len()).filter(|n| !is_child[*n]).collect()
            }
        };
        // In glTF y is up and z comes towards the viewer.
        let z_up = DAffine3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y, DVec3::ZERO);
        let mut seen = vec![false; document.nodes.len()];
        let mut waiting: Vec<(usize, DAffine3)> = roots.into_iter().rev().map(|n| (n, z_up)).collect();
        while let Some((index, to_file)) = waiting.pop() {
            let part = || Place::Part(format!("node {index}"));
            let node = document.nodes.get(index).ok_or_else(|| unexpected(part(), "a node", "none of that number"))?;
            if std::mem::replace(&mut seen[index], true) {
                return Err(unexpected(part(), "each node once", "a node with two parents"));
            }
            let map = to_file * node.to_parent();
            if let Some(mesh) = node.mesh {
                self.body(index, node, mesh, &map)?;
            }
            waiting.extend(node.children.iter().rev().map(|child| (*child, map)));
        }
        Ok(())
    }

    fn body(&mut self, index: usize, node: &Node, mesh_index: usize, map: &DAffine3) -> Result<(), ReadError> {
        let place = || Place::Part(format!("node {index}, mesh {mesh_index}"));
        let entry = self.document.meshes.get(mesh_index);
        let entry = entry.ok_or_else(|| unexpected(place(), "a mesh", "none of that number"))?;
        let mut welder = Welder::default();
        let mut triangles = Vec::new();
        let mut painted = Vec::new();
        for primitive in &entry.primitives {
            let Some(position) = primitive.attributes.position else { continue };
            let mode = primitive.mode.unwrap_or(TRIANGLES);
            if !(TRIANGLES..=FAN).contains(&mode) {
                self.passed_over += 1;
                continue;
            }
            let points = self.positions(position, &place)?;
            let mut joined = Vec::with_capacity(points.len());
            for (n, point) in points.iter().enumerate() {
                joined.push(welder.index(checked(Format::Glb, place, n as u64 + 1, map.transform_point3(*point))?));
            }
            let corners = match primitive.indices {
                Some(indices) => self.indices(indices, joined.len(), &place)?,
                None => (0..joined.len() as u32).collect(),
            };
            let mut own = Vec::new();
            assemble(mode, &corners, &mut own);
            triangles.extend(own.iter().map(|t| t.map(|v| joined[v as usize])));
            let material = primitive.material.filter(|m| *m < self.numbers.len());
            match self.colours(primitive, joined.len(), &place)? {
                Some(linear) => {
                    let tints: Vec<u32> =
                        linear.into_iter().map(|c| self.tint(material, c, &place)).collect::<Result<_, _>>()?;
                    painted.extend(own.iter().map(|t| most_of(t.map(|v| tints[v as usize]))));
                }
                None => painted.resize(triangles.len(), material.map_or(Paint::BARE, |m| self.numbers[m])),
            }
        }
        let mut mesh = Mesh { vertices: welder.vertices, triangles };
        if map.matrix3.determinant() < 0.0 {
            mesh = mesh.reversed();
        }
        let name = [&node.name, &entry.name].into_iter().flatten().find(|n| !n.trim().is_empty());
        self.painted.push(painted);
        self.shape.bodies.push(NamedMesh::plain(name.map_or(self.stem, String::as_str), mesh));
        Ok(())
    }

    /// A primitive's linear colours by corner, if it has any that can be read.
    fn colours(
        &mut self,
        primitive: &Primitive,
        count: usize,
        place: &dyn Fn() -> Place,
    ) -> Result<Option<Vec<[f64; 3]>>, ReadError> {
        let Some(index) = primitive.attributes.colour else { return Ok(None) };
        let opaque = self.document.accessors.get(index).is_some_and(|a| a.kind == "VEC4");
        let (rows, accessor) = match self.rows(index, if opaque { "VEC4" } else { "VEC3" }, place) {
            Err(large @ ReadError::TooLarge { .. }) => return Err(large),
            Ok(found) if found.1.count == count => found,
            _ => {
                self.uncoloured += 1;
                return Ok(None);
            }
        };
        let value: fn(&[u8]) -> f64 = match (accessor.component_type, accessor.normalized) {
            (F32, _) => |b| f64::from(f32::from_le_bytes([b[0], b[1], b[2], b[3]])),
            (U16, true) => |b| f64::from(u16::from_le_bytes([b[0], b[1]])) / 65535.0,
            (U8, true) => |b| f64::from(b[0]) / 255.0,
            _ => {
                self.uncoloured += 1;
                return Ok(None);
            }
        };
        let width = bytes_of(accessor.component_type).unwrap_or(1);
        Ok(Some(rows.map(|row| [0, 1, 2].map(|k| value(&row[k * width..]))).collect()))
    }

    /// What a material is in a colour of its corners, which is multiplied with its own.
    fn tint(&mut self, material: Option<usize>, linear: [f64; 3], place: &dyn Fn() -> Place) -> Result<u32, ReadError> {
        let of = material.map(|m| &self.document.materials[m]);
        let base = of.map_or([1.0; 3], Material::linear);
        let rgb = coded([0, 1, 2].map(|k| base[k] * linear[k].clamp(0.0, 1.0)));
        if let Some(known) = self.tints.get(&(material, rgb)) {
            return Ok(*known);
        }
        // A long name in many colours is a copy each.
        let name = of.and_then(|m| m.name.clone());
        self.budget.spend(name.as_ref().map_or(0, String::len), place)?;
        let number = self.palette.number(name, Some(rgb));
        self.tints.insert((material, rgb), number);
        Ok(number)
    }

    fn positions(&mut self, index: usize, place: &dyn Fn() -> Place) -> Result<Vec<DVec3>, ReadError> {
        let (rows, accessor) = self.rows(index, "VEC3", place)?;
        if accessor.component_type != F32 || accessor.normalized {
            return Err(unsupported(
                format!("accessor {index}"),
                "positions other than floats".into(),
                "export again without quantization",
            ));
        }
        Ok(rows
            .map(|row| {
                let value = |k: usize| f64::from(f32::from_le_bytes([row[k], row[k + 1], row[k + 2], row[k + 3]]));
                DVec3::new(value(0), value(4), value(8))
            })
            .collect())
    }

    fn indices(&mut self, index: usize, count: usize, place: &dyn Fn() -> Place) -> Result<Vec<u32>, ReadError> {
        let (rows, accessor) = self.rows(index, "SCALAR", place)?;
        let component = accessor.component_type;
        rows.map(|row| {
            let corner = match component {
                U8 => u32::from(row[0]),
                U16 => u32::from(u16::from_le_bytes([row[0], row[1]])),
                U32 => u32::from_le_bytes([row[0], row[1], row[2], row[3]]),
                other => return Err(unexpected(place(), "indices of a whole-number type", &format!("type {other}"))),
            };
            if (corner as usize) < count {
                return Ok(corner);
            }
            let (index, count) = (i64::from(corner), count as u64);
            Err(ReadError::NoSuchVertex { format: Format::Glb, place: place(), index, count })
        })
        .collect()
    }

    /// The rows of an accessor, each as long as its type, all inside the binary chunk.
    fn rows(
        &mut self,
        index: usize,
        kind: &str,
        place: &dyn Fn() -> Place,
    ) -> Result<(impl Iterator<Item = &'a [u8]> + use<'a>, &'a Accessor), ReadError> {
        let part = format!("accessor {index}");
        let wrong = |expected: &str, found: String| unexpected(Place::Part(part.clone()), expected, &found);
        let accessor = self.document.accessors.get(index).ok_or_else(|| wrong("an accessor", "none".into()))?;
        if accessor.kind != kind {
            return Err(wrong(kind, accessor.kind.clone()));
        }
        if accessor.sparse.is_some() || accessor.buffer_view.is_none() {
            return Err(unsupported(part, "a sparse accessor".into(), "export again without morphs or sparse data"));
        }
        let view_index = accessor.buffer_view.unwrap_or_default();
        let view = self.document.buffer_views.get(view_index);
        let view = view.ok_or_else(|| wrong("a buffer view", format!("no view {view_index}")))?;
        if view.buffer != 0 {
            return Err(unsupported(part, "data outside the file".into(), "export one GLB file with everything in it"));
        }
        let width = bytes_of(accessor.component_type)
            .ok_or_else(|| wrong("a component type", accessor.component_type.to_string()))?
            * match kind {
                "VEC4" => 4,
                "VEC3" => 3,
                _ => 1,
            };
        let stride = view.byte_stride.unwrap_or(width);
        if stride < width {
            return Err(wrong("a stride of at least the row", stride.to_string()));
        }
        let data = self
            .binary
            .get(view.byte_offset..)
            .and_then(|b| b.get(..view.byte_length))
            .and_then(|b| b.get(accessor.byte_offset..))
            .unwrap_or_default();
        let needed = (accessor.count as u64).saturating_mul(stride as u64).saturating_sub((stride - width) as u64);
        if needed > data.len() as u64 {
            return Err(ReadError::Short {
                format: Format::Glb,
                place: Place::Part(part),
                what: format!("{} rows", accessor.count),
                needed,
                left: data.len() as u64,
            });
        }
        self.budget.spend(accessor.count, place)?;
        Ok((data.chunks(stride).take(accessor.count), accessor))
    }
}

/// How many bytes a component of a type takes.
fn bytes_of(component_type: u32) -> Option<usize> {
    match component_type {
        U8 | 5120 => Some(1),
        U16 | 5122 => Some(2),
        U32 | F32 => Some(4),
        _ => None,
    }
}

/// Corners into triangles, as glTF 2.0, section 3.7.2.1 numbers them.
fn assemble(mode: u32, corners: &[u32], triangles: &mut Vec<[u32; 3]>) {
    match mode {
        STRIP => triangles.extend(corners.windows(3).enumerate().map(|(k, w)| {
            let odd = k % 2;
            [w[0], w[1 + odd], w[2 - odd]]
        })),
        FAN => triangles.extend(corners.get(1..).unwrap_or_default().windows(2).map(|w| [w[0], w[1], corners[0]])),
        _ => triangles.extend(corners.as_chunks().0),
    }
}
