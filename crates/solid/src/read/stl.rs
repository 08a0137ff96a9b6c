//! STL: facets without shared vertices, binary or text.

use super::text::{Lines, Spot, words};
use super::weld::Welder;
use super::{Format, NamedMesh, Place, ReadError, Shape, checked};
use crate::Mesh;
use glam::DVec3;

/// 80 bytes of free text and the count of facets.
const HEADER: usize = 84;
/// A normal, three corners, two bytes of attributes.
const FACET: usize = 50;

/// Whether the bytes are as long as a binary header's count says.
pub(super) fn is_binary(bytes: &[u8]) -> bool {
    facets_said(bytes).is_some_and(|n| HEADER as u64 + n * FACET as u64 == bytes.len() as u64)
}

/// Whether the bytes are text that starts like a solid with facets.
pub(super) fn is_text(bytes: &[u8]) -> bool {
    let start = &bytes[..bytes.len().min(1024)];
    let first = words(start).next().unwrap_or_default();
    // The header of a binary file may start with the same word, but has no second line that goes on like text.
    first.eq_ignore_ascii_case(b"solid")
        && Lines::new(start)
            .skip(1)
            .filter_map(|(_, line)| words(line).next())
            .next()
            .is_some_and(|w| w.eq_ignore_ascii_case(b"facet") || w.eq_ignore_ascii_case(b"endsolid"))
}

fn facets_said(bytes: &[u8]) -> Option<u64> {
    Some(u64::from(u32::from_le_bytes(*bytes.get(80..)?.first_chunk()?)))
}

/// Reads either kind; the facets' normals and attributes are passed over, corners at one place are joined.
pub(super) fn read(bytes: &[u8], stem: &str) -> Result<Shape, ReadError> {
    if is_text(bytes) && !is_binary(bytes) { read_text(bytes, stem) } else { read_binary(bytes, stem) }
}

fn read_binary(bytes: &[u8], stem: &str) -> Result<Shape, ReadError> {
    let short = |what: String, at: usize, needed: u64| ReadError::Short {
        format: Format::Stl,
        place: Place::Byte(at as u64),
        what,
        needed,
        left: (bytes.len() - at) as u64,
    };
    let said = facets_said(bytes).ok_or_else(|| short("the header and count".into(), 0, HEADER as u64))?;
    let body = &bytes[HEADER..];
    if said * FACET as u64 > body.len() as u64 {
        return Err(short(format!("{said} facets"), HEADER, said * FACET as u64));
    }
    let said = said as usize;
    let mut welder = Welder::with_capacity(said / 2 + 2);
    let mut triangles = Vec::with_capacity(said);
    for (n, facet) in body.chunks_exact(FACET).take(said).enumerate() {
        let mut triangle = [0; 3];
        for (k, corner) in triangle.iter_mut().enumerate() {
            let at = 12 + 12 * k;
            let value = |c: usize| {
                let from = at + 4 * c;
                f64::from(f32::from_le_bytes([facet[from], facet[from + 1], facet[from + 2], facet[from + 3]]))
            };
            let place = || Place::Byte((HEADER + n * FACET + at) as u64);
            let point = DVec3::new(value(0), value(1), value(2));
            *corner = welder.index(checked(Format::Stl, place, (3 * n + k + 1) as u64, point)?);
        }
        triangles.push(triangle);
    }
    let left = body.len() - said * FACET;
    let notes = if left == 0 { vec![] } else { vec![format!("{left} bytes after the last facet passed over")] };
    let mesh = Mesh { vertices: welder.vertices, triangles };
    Ok(Shape { bodies: vec![NamedMesh::plain(stem, mesh)], unit_mm: None, notes })
}

/// One block from `solid` to `endsolid` being read.
struct Block {
    name: String,
    welder: Welder,
    triangles: Vec<[u32; 3]>,
}

impl Block {
    fn named(name: &str) -> Block {
        Block { name: name.into(), welder: Welder::default(), triangles: vec![] }
    }

    fn finish(self, bodies: &mut Vec<NamedMesh>) {
        let mesh = Mesh { vertices: self.welder.vertices, triangles: self.triangles };
        bodies.push(NamedMesh::plain(self.name, mesh));
    }
}

fn read_text(bytes: &[u8], stem: &str) -> Result<Shape, ReadError> {
    let mut bodies = Vec::new();
    let mut block: Option<Block> = None;
    let mut corners: Vec<u32> = Vec::with_capacity(3);
    let mut vertex = 0;
    let mut last = 0;
    for (number, line) in Lines::new(bytes) {
        let spot = Spot { format: Format::Stl, line: number };
        last = number;
        let mut parts = words(line);
        let Some(key) = parts.next() else { continue };
        let key = key.to_ascii_lowercase();
        match (key.as_slice(), &mut block) {
            (b"solid", open) => {
                if let Some(done) = open.take() {
                    done.finish(&mut bodies);
                }
                let name = parts.map(String::from_utf8_lossy).collect::<Vec<_>>().join(" ");
                *open = Some(Block::named(if name.is_empty() { stem } else { &name }));
            }
            (b"vertex", Some(open)) => {
                vertex += 1;
                corners.push(open.welder.index(spot.point(vertex, &mut parts)?));
            }
            (b"facet" | b"outer", Some(_)) => corners.clear(),
            (b"endloop", Some(open)) => {
                let Ok(triangle) = <[u32; 3]>::try_from(corners.as_slice()) else {
                    return Err(spot.unexpected("three vertices before this", format!("{}", corners.len()).as_bytes()));
                };
                open.triangles.push(triangle);
                corners.clear();
            }
            (b"endfacet", Some(_)) => {}
            (b"endsolid", Some(_)) => block.take().into_iter().for_each(|done| done.finish(&mut bodies)),
            _ => return Err(spot.unexpected("solid, facet, outer loop, vertex or their ends", line.trim_ascii())),
        }
    }
    if block.is_some() {
        let spot = Spot { format: Format::Stl, line: last };
        return Err(spot.unexpected("endsolid before the end of the file", b""));
    }
    Ok(Shape { bodies, unit_mm: None, notes: vec![] })
}
