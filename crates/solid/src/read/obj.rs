//! OBJ: vertices, polygons and names, in text.

use super::paint::{Paint, Palette, paint};
use super::text::{Lines, Spot, words};
use super::{Format, Hue, NamedMesh, ReadError, Shape, polygon};
use crate::Mesh;
use glam::DVec3;
use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::Arc;

/// Whether a line near the start is a vertex.
pub(super) fn is_obj(bytes: &[u8]) -> bool {
    Lines::new(&bytes[..bytes.len().min(8192)]).any(|(line, text)| {
        let mut parts = words(text);
        parts.next() == Some(b"v") && Spot { format: Format::Obj, line }.point(1, &mut parts).is_ok()
    })
}

/// What the file's lines say, before faces are dealt out to bodies.
#[derive(Default)]
struct Contents {
    vertices: Vec<DVec3>,
    triangles: Vec<[u32; 3]>,
    /// For each triangle, the object and the group it was written under.
    under: Vec<[u32; 2]>,
    /// For each triangle, the material it was written under, and all materials.
    painted: Vec<u32>,
    palette: Palette,
    /// Names of objects and groups, by number; 0 is "none yet".
    names: Vec<String>,
    slivers: usize,
    lines_and_points: usize,
}

/// Reads all faces. Objects become bodies, or groups where there are no objects. Names whose faces share vertices are
/// parts of one surface and stay one body, under the first name.
pub(super) fn read(bytes: &[u8], stem: &str) -> Result<Shape, ReadError> {
    let mut contents = parse(bytes)?;
    let has_objects = contents.under.iter().any(|[object, _]| *object != 0);
    let named: Vec<u32> =
        contents.under.iter().map(|[object, group]| if has_objects { *object } else { *group }).collect();
    let mut notes = Vec::new();
    if contents.slivers > 0 {
        notes.push(format!("{} faces with fewer than three corners passed over", contents.slivers));
    }
    if contents.lines_and_points > 0 {
        notes.push(format!("{} curves, surfaces, lines or points passed over", contents.lines_and_points));
    }
    let owner = join_sharing(&contents, &named, &mut notes);
    let hues = std::mem::take(&mut contents.palette).hues();
    let mut bodies = split(&contents, &owner, &hues);
    for body in &mut bodies {
        if body.name.is_empty() {
            body.name = stem.into();
        }
    }
    Ok(Shape { bodies, unit_mm: None, notes })
}

fn parse(bytes: &[u8]) -> Result<Contents, ReadError> {
    let mut contents = Contents { names: vec![String::new()], ..Contents::default() };
    let mut numbers: HashMap<String, u32> = HashMap::new();
    let mut under = [0; 2];
    let mut material = Paint::BARE;
    let mut corners = Vec::new();
    let mut lines = Lines::new(bytes);
    while let Some((line, text)) = lines.next() {
        let spot = Spot { format: Format::Obj, line };
        let text = whole_line(text, &mut lines);
        let mut parts = words(&text).take_while(|word| !word.starts_with(b"#"));
        match parts.next() {
            Some(b"v") => {
                let vertex = contents.vertices.len() as u64 + 1;
                contents.vertices.push(spot.point(vertex, &mut parts)?);
            }
            Some(b"f") => {
                corners.clear();
                for word in parts {
                    corners.push(corner(spot, word, contents.vertices.len())?);
                }
                let before = contents.triangles.len();
                polygon::triangulate(&contents.vertices, &corners, &mut contents.triangles);
                contents.slivers += usize::from(contents.triangles.len() == before);
                contents.under.resize(contents.triangles.len(), under);
                contents.painted.resize(contents.triangles.len(), material);
            }
            Some(key @ (b"o" | b"g")) => {
                let name = parts.map(String::from_utf8_lossy).collect::<Vec<_>>().join(" ");
                let number = *numbers.entry(name).or_insert_with_key(|name| {
                    contents.names.push(name.clone());
                    contents.names.len() as u32 - 1
                });
                under[usize::from(key == b"g")] = number;
            }
            Some(b"usemtl") => {
                let name = parts.map(String::from_utf8_lossy).collect::<Vec<_>>().join(" ");
                material = contents.palette.number(Some(name), None);
            }
            Some(b"l" | b"p" | b"curv" | b"curv2" | b"surf") => contents.lines_and_points += 1,
            // Normals, texture, smoothing, files of materials: nothing of the shape. Unknown words are passed over as well,
            // since programs add their own.
            _ => {}
        }
    }
    Ok(contents)
}

/// A line with those that a backslash at its end joins to it.
fn whole_line<'a>(text: &'a [u8], lines: &mut Lines<'a>) -> Cow<'a, [u8]> {
    let mut whole = Cow::Borrowed(text);
    while let Some(head) = whole.trim_ascii_end().strip_suffix(b"\\") {
        let mut longer = head.to_vec();
        longer.push(b' ');
        let next = lines.next();
        longer.extend_from_slice(next.map_or(&[], |(_, text)| text));
        whole = Cow::Owned(longer);
        if next.is_none() {
            break;
        }
    }
    whole
}

/// The vertex of a corner such as `7/1/2`; negative numbers count back from the last vertex so far.
fn corner(spot: Spot, word: &[u8], n_vertices: usize) -> Result<u32, ReadError> {
    let first = word.split(|b| *b == b'/').next();
    let index: i64 = spot.number("a vertex index", first)?;
    let count = n_vertices as i64;
    let from_start = if index < 0 { count.saturating_add(index) } else { index - 1 };
    if (0..count).contains(&from_start) {
        Ok(from_start as u32)
    } else {
        Err(ReadError::NoSuchVertex { format: Format::Obj, place: spot.place(), index, count: n_vertices as u64 })
    }
}

/// For each triangle the number of the name it belongs under, after names that share a vertex are joined.
fn join_sharing(contents: &Contents, named: &[u32], notes: &mut Vec<String>) -> Vec<u32> {
    let mut parent: Vec<u32> = (0..contents.names.len() as u32).collect();
    fn root(parent: &[u32], mut name: u32) -> u32 {
        while parent[name as usize] != name {
            name = parent[name as usize];
        }
        name
    }
    let mut first_user = vec![u32::MAX; contents.vertices.len()];
    for (triangle, name) in contents.triangles.iter().zip(named) {
        for v in triangle {
            let user = &mut first_user[*v as usize];
            if *user == u32::MAX {
                *user = *name;
            } else if *user != *name {
                let (a, b) = (root(&parent, *user), root(&parent, *name));
                parent[a.max(b) as usize] = a.min(b);
            }
        }
    }
    let roots: Vec<u32> = (0..parent.len() as u32).map(|name| root(&parent, name)).collect();
    let joined: Vec<String> = roots
        .iter()
        .enumerate()
        .filter(|(name, root)| *name as u32 != **root)
        .map(|(name, _)| format!("\"{}\"", contents.names[name]))
        .collect();
    if !joined.is_empty() {
        notes.push(format!(
            "{} of the names share vertices with an earlier one and are taken as one body with it: {}",
            joined.len(),
            joined[..joined.len().min(8)].join(", ")
        ));
    }
    named.iter().map(|name| roots[*name as usize]).collect()
}

/// One body for each owner, in the order of first use, with the vertices it uses.
fn split(contents: &Contents, owner: &[u32], hues: &Arc<Vec<Hue>>) -> Vec<NamedMesh> {
    let mut body_of = vec![usize::MAX; contents.names.len()];
    let mut bodies: Vec<(NamedMesh, Vec<u32>)> = Vec::new();
    for (triangle, name) in owner.iter().enumerate() {
        let slot = &mut body_of[*name as usize];
        if *slot == usize::MAX {
            *slot = bodies.len();
            let name = contents.names[*name as usize].clone();
            bodies.push((NamedMesh::plain(name, Mesh::default()), Vec::new()));
        }
        bodies[*slot].1.push(triangle as u32);
    }
    // Owners share no vertex, so one table serves all of them.
    let mut moved = vec![u32::MAX; contents.vertices.len()];
    for (body, triangles) in &mut bodies {
        body.paint = paint(hues, triangles.iter().map(|t| contents.painted[*t as usize]).collect());
        let mesh = &mut body.mesh;
        for t in triangles.iter() {
            mesh.triangles.push(contents.triangles[*t as usize].map(|v| {
                let slot = &mut moved[v as usize];
                if *slot == u32::MAX {
                    *slot = mesh.vertices.len() as u32;
                    mesh.vertices.push(contents.vertices[v as usize]);
                }
                *slot
            }));
        }
    }
    bodies.into_iter().map(|(body, _)| body).collect()
}
