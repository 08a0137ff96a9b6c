//! PLY: a header that describes its rows, then the rows, in text or binary.

use super::error::shown;
use super::paint::{Colours, Palette};
use super::text::{Lines, Spot, words};
use super::{Format, NamedMesh, Place, ReadError, Shape, checked, polygon};
use crate::Mesh;
use glam::DVec3;

#[derive(Clone, Copy, PartialEq)]
enum Coding {
    Text,
    LittleEndian,
    BigEndian,
}

#[derive(Clone, Copy)]
enum Scalar {
    I8,
    U8,
    I16,
    U16,
    I32,
    U32,
    F32,
    F64,
}

impl Scalar {
    fn named(word: &[u8]) -> Option<Scalar> {
        Some(match word {
            b"char" | b"int8" => Scalar::I8,
            b"uchar" | b"uint8" => Scalar::U8,
            b"short" | b"int16" => Scalar::I16,
            b"ushort" | b"uint16" => Scalar::U16,
            b"int" | b"int32" => Scalar::I32,
            b"uint" | b"uint32" => Scalar::U32,
            b"float" | b"float32" => Scalar::F32,
            b"double" | b"float64" => Scalar::F64,
            _ => return None,
        })
    }

    fn width(self) -> u64 {
        match self {
            Scalar::I8 | Scalar::U8 => 1,
            Scalar::I16 | Scalar::U16 => 2,
            Scalar::I32 | Scalar::U32 | Scalar::F32 => 4,
            Scalar::F64 => 8,
        }
    }
}

/// One column of an element's rows.
struct Property {
    name: Vec<u8>,
    scalar: Scalar,
    /// The type of the length in front of a list.
    length: Option<Scalar>,
}

/// A table of the file.
struct Element {
    name: Vec<u8>,
    count: u64,
    properties: Vec<Property>,
}

impl Element {
    /// The least bytes its rows take.
    fn least(&self, coding: Coding) -> u64 {
        let row: u64 = match coding {
            // A digit and a blank or line end each.
            Coding::Text => 2 * self.properties.len() as u64,
            _ => self.properties.iter().map(|p| p.length.unwrap_or(p.scalar).width()).sum(),
        };
        self.count.saturating_mul(row)
    }
}

/// Reads vertices and faces; other elements and properties are passed over.
pub(super) fn read(bytes: &[u8], stem: &str) -> Result<Shape, ReadError> {
    let (coding, elements, mut rows) = header(bytes)?;
    let mut mesh = Mesh::default();
    let mut slivers = 0;
    let mut colours = Colours::default();
    for element in &elements {
        let needed = element.least(coding);
        // The last row of a text may lack its line end.
        if needed > rows.left() + 1 {
            return Err(rows.short(format!("{} rows of {}", element.count, shown(&element.name)), needed));
        }
        match element.name.as_slice() {
            b"vertex" => read_vertices(&mut rows, element, &mut mesh, &mut colours)?,
            b"face" => slivers += read_faces(&mut rows, element, &mut mesh, &mut colours)?,
            b"tristrips" if element.count > 0 => {
                return Err(ReadError::Unsupported {
                    format: Format::Ply,
                    place: rows.place(),
                    what: "triangle strips".into(),
                    advice: "export with a list of faces",
                });
            }
            // Rows without columns take no bytes, and there may be any number of them.
            _ if element.properties.is_empty() => {}
            _ => {
                for _ in 0..element.count {
                    rows.skip(&element.properties)?;
                }
            }
        }
    }
    // Faces may stand before the vertices, so their corners are checked at the end.
    let count = mesh.vertices.len() as u64;
    let wrong = mesh.triangles.iter().flatten().find(|v| u64::from(**v) >= count);
    if let Some(index) = wrong {
        let place = Place::Part("its faces".into());
        return Err(ReadError::NoSuchVertex { format: Format::Ply, place, index: i64::from(*index), count });
    }
    let notes =
        if slivers > 0 { vec![format!("{slivers} faces with fewer than three corners passed over")] } else { vec![] };
    let paint = colours.paint(&mesh);
    Ok(Shape { bodies: vec![NamedMesh { name: stem.into(), mesh, paint }], unit_mm: None, notes })
}

/// The number of what a row's three colour columns say: whole numbers are of 255, others of 1.
fn hue(palette: &mut Palette, columns: [(f64, Scalar); 3]) -> u32 {
    let rgb = columns.map(|(value, scalar)| match scalar {
        Scalar::F32 | Scalar::F64 => (255.0 * value).round() as u8,
        _ => value as u8,
    });
    palette.number(None, Some(rgb))
}

/// The columns red, green and blue, where there are all three.
fn colour_columns(properties: &[Property]) -> Option<[usize; 3]> {
    let column = |name: &[u8]| properties.iter().position(|p| p.name == name && p.length.is_none());
    Some([column(b"red")?, column(b"green")?, column(b"blue")?])
}

fn read_vertices(rows: &mut Rows, element: &Element, mesh: &mut Mesh, colours: &mut Colours) -> Result<(), ReadError> {
    let column = |name: &[u8]| element.properties.iter().position(|p| p.name == name && p.length.is_none());
    let (Some(x), Some(y), Some(z)) = (column(b"x"), column(b"y"), column(b"z")) else {
        return Err(rows.unexpected("vertices with x, y and z", b"others"));
    };
    mesh.vertices.reserve(element.count as usize);
    let mut row = vec![0.0; element.properties.len()];
    let painted = colour_columns(&element.properties);
    for vertex in 1..=element.count {
        rows.single(&element.properties, &mut row)?;
        let point = DVec3::new(row[x], row[y], row[z]);
        mesh.vertices.push(checked(Format::Ply, || rows.place(), vertex, point)?);
        if let Some(columns) = painted {
            let hue = hue(&mut colours.palette, columns.map(|k| (row[k], element.properties[k].scalar)));
            colours.vertices.push(hue);
        }
    }
    Ok(())
}

/// Appends the faces' triangles and counts those with fewer than three corners.
fn read_faces(rows: &mut Rows, element: &Element, mesh: &mut Mesh, colours: &mut Colours) -> Result<usize, ReadError> {
    let painted = colour_columns(&element.properties);
    let mut row = vec![0.0; element.properties.len()];
    let list = element
        .properties
        .iter()
        .position(|p| p.length.is_some() && matches!(p.name.as_slice(), b"vertex_indices" | b"vertex_index"));
    let Some(list) = list else {
        return Err(rows.unexpected("faces with a list vertex_indices", b"others"));
    };
    let (before, rest) = element.properties.split_at(list);
    let (list, after) = (&rest[0], &rest[1..]);
    let mut corners = Vec::new();
    let mut slivers = 0;
    for _ in 0..element.count {
        rows.single(before, &mut row)?;
        corners.clear();
        for _ in 0..rows.list_length(list)? {
            let index = rows.value(list.scalar)?;
            if !(index >= 0.0 && index < f64::from(u32::MAX) && index.fract() == 0.0) {
                let count = mesh.vertices.len() as u64;
                return Err(ReadError::NoSuchVertex {
                    format: Format::Ply,
                    place: rows.place(),
                    index: index as i64,
                    count,
                });
            }
            corners.push(index as u32);
        }
        slivers += usize::from(corners.len() < 3);
        if corners.len() > 3 && corners.iter().any(|v| *v as usize >= mesh.vertices.len()) {
            return Err(rows.unexpected("vertices before the faces that use them", b"faces first"));
        }
        polygon::triangulate(&mesh.vertices, &corners, &mut mesh.triangles);
        rows.single(after, &mut row[before.len() + 1..])?;
        if let Some(columns) = painted {
            let hue = hue(&mut colours.palette, columns.map(|k| (row[k], element.properties[k].scalar)));
            colours.triangles.resize(mesh.triangles.len(), hue);
        }
    }
    Ok(slivers)
}

fn header(bytes: &[u8]) -> Result<(Coding, Vec<Element>, Rows<'_>), ReadError> {
    let mut lines = Lines::new(bytes);
    let mut coding = None;
    let mut elements: Vec<Element> = Vec::new();
    let mut last = 1;
    for (line, text) in lines.by_ref() {
        let spot = Spot { format: Format::Ply, line };
        last = line;
        let mut parts = words(text);
        match (parts.next(), line) {
            (Some(b"ply"), 1) => {}
            (_, 1) => return Err(spot.unexpected("ply", text)),
            (Some(b"format"), _) => {
                coding = Some(match parts.next() {
                    Some(b"ascii") => Coding::Text,
                    Some(b"binary_little_endian") => Coding::LittleEndian,
                    Some(b"binary_big_endian") => Coding::BigEndian,
                    other => return Err(spot.unexpected("ascii or binary_..._endian", other.unwrap_or_default())),
                });
            }
            (Some(b"element"), _) => {
                let name = parts.next().unwrap_or_default().to_vec();
                let count = spot.number("a count of rows", parts.next())?;
                elements.push(Element { name, count, properties: vec![] });
            }
            (Some(b"property"), _) => {
                let property = property(spot, &mut parts)?;
                let element = elements.last_mut().ok_or_else(|| spot.unexpected("element first", text))?;
                element.properties.push(property);
            }
            (Some(b"end_header"), _) => {
                let coding = coding.ok_or_else(|| spot.unexpected("a format line before this", text))?;
                let rest = lines.rest();
                return Ok((coding, elements, Rows { coding, all: bytes.len(), rest, line }));
            }
            (Some(b"comment" | b"obj_info") | None, _) => {}
            _ => return Err(spot.unexpected("a line of a PLY header", text)),
        }
    }
    Err(Spot { format: Format::Ply, line: last }.unexpected("end_header", b""))
}

fn property<'a>(spot: Spot, parts: &mut impl Iterator<Item = &'a [u8]>) -> Result<Property, ReadError> {
    let scalar = |word: Option<&[u8]>| {
        let word = word.unwrap_or_default();
        Scalar::named(word).ok_or_else(|| spot.unexpected("a type such as float or uchar", word))
    };
    let first = parts.next();
    let length = if first == Some(b"list") { Some(scalar(parts.next())?) } else { None };
    let scalar = scalar(if length.is_some() { parts.next() } else { first })?;
    Ok(Property { name: parts.next().unwrap_or_default().to_vec(), scalar, length })
}

/// The values after the header, one by one.
struct Rows<'a> {
    coding: Coding,
    all: usize,
    rest: &'a [u8],
    line: u64,
}

impl<'a> Rows<'a> {
    fn left(&self) -> u64 {
        self.rest.len() as u64
    }

    fn place(&self) -> Place {
        match self.coding {
            Coding::Text => Place::Line(self.line),
            _ => Place::Byte((self.all - self.rest.len()) as u64),
        }
    }

    fn short(&self, what: String, needed: u64) -> ReadError {
        ReadError::Short { format: Format::Ply, place: self.place(), what, needed, left: self.left() }
    }

    fn unexpected(&self, expected: &str, found: &[u8]) -> ReadError {
        ReadError::Unexpected {
            format: Format::Ply,
            place: self.place(),
            expected: expected.into(),
            found: shown(found),
        }
    }

    fn value(&mut self, scalar: Scalar) -> Result<f64, ReadError> {
        if self.coding == Coding::Text {
            let word = self.word();
            return Spot { format: Format::Ply, line: self.line }.number("a number", Some(word));
        }
        Ok(match scalar {
            Scalar::I8 => f64::from(i8::from_le_bytes(self.bytes()?)),
            Scalar::U8 => f64::from(u8::from_le_bytes(self.bytes()?)),
            Scalar::I16 => f64::from(i16::from_le_bytes(self.bytes()?)),
            Scalar::U16 => f64::from(u16::from_le_bytes(self.bytes()?)),
            Scalar::I32 => f64::from(i32::from_le_bytes(self.bytes()?)),
            Scalar::U32 => f64::from(u32::from_le_bytes(self.bytes()?)),
            Scalar::F32 => f64::from(f32::from_le_bytes(self.bytes()?)),
            Scalar::F64 => f64::from_le_bytes(self.bytes()?),
        })
    }

    /// The next bytes, the least significant first.
    fn bytes<const N: usize>(&mut self) -> Result<[u8; N], ReadError> {
        let Some((value, rest)) = self.rest.split_first_chunk::<N>() else {
            return Err(self.short("the remaining rows".into(), N as u64));
        };
        self.rest = rest;
        let mut value = *value;
        if self.coding == Coding::BigEndian {
            value.reverse();
        }
        Ok(value)
    }

    /// The next word of a text, counting the lines passed; empty at the end.
    fn word(&mut self) -> &'a [u8] {
        let blank = self.rest.iter().position(|b| !b.is_ascii_whitespace()).unwrap_or(self.rest.len());
        self.line += self.rest[..blank].iter().filter(|b| **b == b'\n').count() as u64;
        self.rest = &self.rest[blank..];
        let end = self.rest.iter().position(u8::is_ascii_whitespace).unwrap_or(self.rest.len());
        let (word, rest) = self.rest.split_at(end);
        self.rest = rest;
        word
    }

    /// How many values follow in a list; no more than there is room for.
    fn list_length(&mut self, list: &Property) -> Result<u64, ReadError> {
        let length = self.value(list.length.unwrap_or(Scalar::U8))?;
        if !(length >= 0.0 && length.fract() == 0.0) {
            return Err(self.unexpected("the length of a list", length.to_string().as_bytes()));
        }
        // The cast saturates, which is too long for any file.
        let length = length as u64;
        let width = if self.coding == Coding::Text { 1 } else { list.scalar.width() };
        let needed = length.saturating_mul(width);
        if needed > self.left() { Err(self.short(format!("{length} values of a list"), needed)) } else { Ok(length) }
    }

    /// Reads single values; lists are passed over.
    fn single(&mut self, properties: &[Property], row: &mut [f64]) -> Result<(), ReadError> {
        for (property, value) in properties.iter().zip(row) {
            match property.length {
                None => *value = self.value(property.scalar)?,
                Some(_) => self.skip(std::slice::from_ref(property))?,
            }
        }
        Ok(())
    }

    fn skip(&mut self, properties: &[Property]) -> Result<(), ReadError> {
        for property in properties {
            let n = if property.length.is_some() { self.list_length(property)? } else { 1 };
            for _ in 0..n {
                self.value(property.scalar)?;
            }
        }
        Ok(())
    }
}
