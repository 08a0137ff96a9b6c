//! OFF: counts, vertices, polygons, in text.

use super::paint::{Colours, Paint};
use super::text::{Lines, Spot, words};
use super::{Format, NamedMesh, Place, ReadError, Shape, polygon};
use crate::Mesh;

/// Whether the bytes start with the format's key word.
pub(super) fn is_off(bytes: &[u8]) -> bool {
    let start = &bytes[..bytes.len().min(64)];
    words(start).next().is_some_and(|word| heads(word).is_some())
}

/// The prefix of a key word such as `COFF`: extra numbers after each vertex.
fn heads(word: &[u8]) -> Option<&[u8]> {
    let prefix = word.strip_suffix(b"OFF")?;
    matches!(prefix, b"" | b"C" | b"N" | b"CN" | b"ST" | b"STC" | b"STN" | b"STCN" | b"4" | b"n" | b"4n")
        .then_some(prefix)
}

/// Lines with a meaning: without comments, not empty.
fn meaningful(bytes: &[u8]) -> impl Iterator<Item = (Spot, &[u8])> {
    Lines::new(bytes).filter_map(|(line, text)| {
        let text = text.split(|b| *b == b'#').next().unwrap_or_default().trim_ascii();
        (!text.is_empty()).then_some((Spot { format: Format::Off, line }, text))
    })
}

/// A colour as it is written: red, green, blue, and whether a number of it has a point and is of 1.
#[derive(Clone, Copy)]
struct Tint {
    rgb: [f32; 3],
    pointed: bool,
}

impl Tint {
    /// The colour that the rest of a line holds; an index into a colour map that the file doesn't have is none.
    fn of<'a>(rest: impl Iterator<Item = &'a [u8]>) -> Option<Tint> {
        let mut tint = Tint { rgb: [0.0; 3], pointed: false };
        let mut rest = rest;
        for value in &mut tint.rgb {
            let word = rest.next()?;
            *value = std::str::from_utf8(word).ok()?.parse().ok()?;
            tint.pointed |= word.iter().any(|b| matches!(b, b'.' | b'e' | b'E'));
        }
        Some(tint)
    }
}

/// The colours of a table's rows, by number in the palette; rows without one are bare. Numbers without a point are of 255, as
/// the format has it, unless none in the table is over 1.
fn numbered(rows: &[(u32, Tint)], colours: &mut Colours) -> Vec<u32> {
    let of_255 = rows.iter().any(|(_, t)| !t.pointed && t.rgb.iter().any(|v| *v > 1.0));
    let mut numbers = Vec::new();
    for (row, tint) in rows {
        let scale = if of_255 && !tint.pointed { 1.0 } else { 255.0 };
        let hue = colours.palette.number(None, Some(tint.rgb.map(|v| (scale * v).round() as u8)));
        numbers.resize(*row as usize, Paint::BARE);
        numbers.push(hue);
    }
    numbers
}

/// Reads the one mesh of the file; normals are passed over.
pub(super) fn read(bytes: &[u8], stem: &str) -> Result<Shape, ReadError> {
    let mut lines = meaningful(bytes).peekable();
    let whole = Spot { format: Format::Off, line: 1 };
    let short = |what: &str| whole.unexpected(what, b"");
    let (spot, first) = lines.next().ok_or_else(|| short("OFF"))?;
    let mut on_first_line = words(first).peekable();
    let (mut painted, mut behind) = (false, 0);
    if let Some(prefix) = on_first_line.peek().and_then(|word| heads(word)) {
        on_first_line.next();
        // Behind a vertex stand its normal, its colour and its place in a picture, in this order.
        painted = prefix.contains(&b'C');
        behind = if prefix.contains(&b'N') { 3 } else { 0 };
        let binary = on_first_line.peek() == Some(&b"BINARY".as_slice());
        if binary || prefix.first().is_some_and(|b| matches!(b, b'4' | b'n')) {
            return Err(ReadError::Unsupported {
                format: Format::Off,
                place: spot.place(),
                what: if binary { "a binary OFF file".into() } else { "points of four or n coordinates".into() },
                advice: "export plain text OFF with three coordinates, or STL",
            });
        }
    } else if first.first().is_none_or(|b| !b.is_ascii_digit()) {
        return Err(spot.unexpected("OFF", first));
    }
    let (spot, mut counts) = if on_first_line.peek().is_some() {
        (spot, on_first_line.collect::<Vec<_>>().into_iter())
    } else {
        let (spot, line) = lines.next().ok_or_else(|| short("counts of vertices and faces"))?;
        (spot, words(line).collect::<Vec<_>>().into_iter())
    };
    let n_vertices: u64 = spot.number("the count of vertices", counts.next())?;
    let n_faces: u64 = spot.number("the count of faces", counts.next())?;
    // "0 0 0" with its line end takes six bytes, "3 0 0 0" eight; the last line end may be missing.
    let needed = n_vertices.saturating_mul(6).saturating_add(n_faces.saturating_mul(2));
    if needed > bytes.len() as u64 + 1 {
        return Err(ReadError::Short {
            format: Format::Off,
            place: Place::Line(spot.line),
            what: format!("{n_vertices} vertices and {n_faces} faces"),
            needed,
            left: bytes.len() as u64,
        });
    }
    let mut mesh = Mesh { vertices: Vec::with_capacity(n_vertices as usize), triangles: Vec::new() };
    let mut of_vertices: Vec<(u32, Tint)> = Vec::new();
    for vertex in 1..=n_vertices {
        let (spot, line) = lines.next().ok_or_else(|| short(&format!("{n_vertices} vertices in the file")))?;
        let mut parts = words(line);
        mesh.vertices.push(spot.point(vertex, &mut parts)?);
        if painted && let Some(tint) = Tint::of(parts.skip(behind)) {
            of_vertices.push((vertex as u32 - 1, tint));
        }
    }
    let mut corners = Vec::new();
    let mut of_faces: Vec<(u32, Tint)> = Vec::new();
    for _ in 0..n_faces {
        let (spot, line) = lines.next().ok_or_else(|| short(&format!("{n_faces} faces in the file")))?;
        let mut parts = words(line);
        let n: u32 = spot.number("the count of a face's corners", parts.next())?;
        corners.clear();
        for _ in 0..n {
            let index: i64 = spot.number("a vertex index", parts.next())?;
            let corner = u32::try_from(index).ok().filter(|i| u64::from(*i) < n_vertices).ok_or_else(|| {
                ReadError::NoSuchVertex { format: Format::Off, place: spot.place(), index, count: n_vertices }
            })?;
            corners.push(corner);
        }
        let first = mesh.triangles.len() as u32;
        polygon::triangulate(&mesh.vertices, &corners, &mut mesh.triangles);
        if let Some(tint) = Tint::of(parts) {
            of_faces.extend((first..mesh.triangles.len() as u32).map(|t| (t, tint)));
        }
    }
    let mut colours = Colours::default();
    colours.vertices = numbered(&of_vertices, &mut colours);
    colours.triangles = numbered(&of_faces, &mut colours);
    let paint = colours.paint(&mesh);
    Ok(Shape { bodies: vec![NamedMesh { name: stem.into(), mesh, paint }], unit_mm: None, notes: vec![] })
}
