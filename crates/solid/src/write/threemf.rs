//! 3MF, core specification 1.3.

use super::rounded;
use crate::Mesh;
use glam::DAffine3;
use quick_xml::escape::escape;
use rayon::prelude::*;
use std::fmt::Write as _;
use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

/// A mesh with its name and its place in the build.
#[derive(Clone, Debug)]
pub struct Part<'a> {
    /// Shown by programs that open the file.
    pub name: String,
    /// In millimetres. A part without triangles is left out.
    pub mesh: &'a Mesh,
    /// From the mesh's coordinates to the build's. A mirroring map is applied to the mesh, since a build item may not
    /// mirror.
    pub placed: DAffine3,
}

/// The names that the core specification (section 4.1.1) allows without a namespace.
const METADATA_NAMES: [&str; 9] = [
    "Title",
    "Designer",
    "Description",
    "Copyright",
    "LicenseTerms",
    "Rating",
    "CreationDate",
    "ModificationDate",
    "Application",
];

const CONTENT_TYPES: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
    <Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\">\n\
    <Default Extension=\"rels\" ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>\n\
    <Default Extension=\"model\" ContentType=\"application/vnd.ms-package.3dmanufacturing-3dmodel+xml\"/>\n\
    </Types>\n";

const RELATIONSHIPS: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
    <Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">\n\
    <Relationship Id=\"rel0\" Target=\"/3D/3dmodel.model\" Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/>\n\
    </Relationships>\n";

/// Rows of XML that one task formats.
const ROWS: usize = 1 << 13;
/// Tasks whose text is held at a time.
const BATCH: usize = 32;
/// Deflate's level: higher ones take several times as long for a tenth less.
const LEVEL: i64 = 4;

/// The parts as one 3MF file in millimetres, each an object and a build item of its name.
///
/// Of `metadata` (name, value) only the specification's own names are written, each once: others need a namespace, and
/// strict readers refuse the file. Nothing depends on the time or on the number of threads.
pub fn threemf(parts: &[Part], metadata: &[(&str, &str)]) -> Vec<u8> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    let longest = parts.iter().map(|p| 100 * (p.mesh.vertices.len() + p.mesh.triangles.len())).sum::<usize>();
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .compression_level(Some(LEVEL))
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644)
        .large_file(longest as u64 > u64::from(u32::MAX) / 2);
    for (path, content) in [("[Content_Types].xml", CONTENT_TYPES), ("_rels/.rels", RELATIONSHIPS)] {
        start(&mut archive, path, options);
        put(&mut archive, content);
    }
    start(&mut archive, "3D/3dmodel.model", options);
    put(&mut archive, &head(metadata));
    let mut build = String::from("</resources>\n<build>\n");
    for (id, part) in (1u32..).zip(parts.iter().filter(|p| !p.mesh.is_empty())) {
        let mirrored = part.placed.matrix3.determinant() < 0.0;
        let (baked, placed);
        (baked, placed) = if mirrored {
            (Some(part.mesh.transformed(&part.placed)), DAffine3::IDENTITY)
        } else {
            (None, part.placed)
        };
        put(&mut archive, &format!("<object id=\"{id}\" type=\"model\" name=\"{}\">\n<mesh>\n", text(&part.name)));
        object(&mut archive, baked.as_ref().unwrap_or(part.mesh));
        put(&mut archive, "</mesh>\n</object>\n");
        let _ = writeln!(build, "<item objectid=\"{id}\"{}/>", transform(&placed));
    }
    build.push_str("</build>\n</model>\n");
    put(&mut archive, &build);
    archive.finish().expect("memory takes all that is written").into_inner()
}

fn start(archive: &mut ZipWriter<Cursor<Vec<u8>>>, path: &str, options: SimpleFileOptions) {
    archive.start_file(path, options).expect("a short name and plain options suit every archive");
}

fn put(archive: &mut ZipWriter<Cursor<Vec<u8>>>, content: &str) {
    archive.write_all(content.as_bytes()).expect("memory takes all that is written");
}

/// Text fit for XML: escaped, and without the control characters XML can't hold.
fn text(raw: &str) -> String {
    let clean: String =
        raw.chars().map(|c| if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') { ' ' } else { c }).collect();
    escape(&clean).into_owned()
}

fn head(metadata: &[(&str, &str)]) -> String {
    let mut head = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <model unit=\"millimeter\" xml:lang=\"en-US\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n",
    );
    for name in METADATA_NAMES {
        if let Some((_, value)) = metadata.iter().find(|(n, _)| *n == name) {
            let _ = writeln!(head, "<metadata name=\"{name}\">{}</metadata>", text(value));
        }
    }
    head.push_str("<resources>\n");
    head
}

fn object(archive: &mut ZipWriter<Cursor<Vec<u8>>>, mesh: &Mesh) {
    put(archive, "<vertices>\n");
    rows(archive, &mesh.vertices, |out, v| {
        let [x, y, z] = rounded(*v);
        let _ = writeln!(out, "<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>");
    });
    put(archive, "</vertices>\n<triangles>\n");
    rows(archive, &mesh.triangles, |out, [a, b, c]| {
        let _ = writeln!(out, "<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>");
    });
    put(archive, "</triangles>\n");
}

/// Formats rows in parallel and writes them in order, the next batch being formatted while one is compressed.
fn rows<T: Sync>(archive: &mut ZipWriter<Cursor<Vec<u8>>>, items: &[T], row: impl Fn(&mut String, &T) + Sync) {
    let formatted = |batch: Option<&[T]>| -> Vec<String> {
        let format = |chunk: &[T]| {
            let mut out = String::with_capacity(chunk.len() * 48);
            chunk.iter().for_each(|item| row(&mut out, item));
            out
        };
        batch.unwrap_or_default().par_chunks(ROWS).map(format).collect()
    };
    let mut batches = items.chunks(ROWS * BATCH);
    let mut ready = formatted(batches.next());
    while !ready.is_empty() {
        let next = batches.next();
        let (following, ()) =
            rayon::join(|| formatted(next), || ready.iter().for_each(|content| put(&mut *archive, content)));
        ready = following;
    }
}

/// The attribute that places an item; nothing for one that stays where it is.
fn transform(map: &DAffine3) -> String {
    if *map == DAffine3::IDENTITY {
        return String::new();
    }
    let numbers: Vec<String> = map.to_cols_array().iter().map(|n| format!("{}", n + 0.0)).collect();
    format!(" transform=\"{}\"", numbers.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::{Format, shape};
    use glam::{DQuat, DVec3};

    fn wedge() -> Mesh {
        Mesh {
            vertices: vec![DVec3::ZERO, DVec3::X * 6.1, DVec3::Y * 6.0, DVec3::new(1e-9, -0.0, 1.0 / 3.0)],
            triangles: vec![[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]],
        }
    }

    #[test]
    fn names_places_and_coordinates_read_back() {
        let mesh = wedge();
        let turn = DQuat::from_rotation_z(0.3);
        let placed = DAffine3::from_rotation_translation(turn, DVec3::new(10.0, -2.5, 0.0));
        let mirror = DAffine3::from_scale(DVec3::new(-1.0, 1.0, 1.0));
        let empty = Mesh::default();
        let parts = [
            Part { name: "blade <1> & \"tip\"\u{1}".into(), mesh: &mesh, placed },
            Part { name: "nothing".into(), mesh: &empty, placed },
            Part { name: "left".into(), mesh: &mesh, placed: mirror },
        ];
        let bytes = threemf(&parts, &[("Title", "A & B"), ("Shelf", "not a name of the standard")]);
        let back = shape(Format::ThreeMf, &bytes, "stem").unwrap();
        assert_eq!(back.unit_mm, Some(1.0));
        let names: Vec<&str> = back.bodies.iter().map(|b| b.name.as_str()).collect();
        assert_eq!(names, ["blade <1> & \"tip\"", "left"]);
        let as_f32 = Mesh {
            vertices: mesh.vertices.iter().map(|v| DVec3::from_array(rounded(*v).map(f64::from))).collect(),
            triangles: mesh.triangles.clone(),
        };
        let nearly = |a: &Mesh, b: &Mesh| {
            assert_eq!(a.triangles, b.triangles);
            a.vertices.iter().zip(&b.vertices).for_each(|(p, q)| assert!(p.distance(*q) < 1e-6, "{p} {q}"));
        };
        nearly(&back.bodies[0].mesh, &as_f32.transformed(&placed));
        nearly(&back.bodies[1].mesh, &as_f32.transformed(&mirror));
        assert!(back.bodies[1].mesh.volume_mm3() > 0.0);
    }

    #[test]
    fn bytes_repeat_whatever_the_number_of_threads() {
        let mut mesh = Mesh::default();
        for k in 0..(3 * ROWS) {
            mesh.append(&wedge().transformed(&DAffine3::from_translation(DVec3::X * k as f64)));
        }
        let parts = [Part { name: "row".into(), mesh: &mesh, placed: DAffine3::IDENTITY }];
        let bytes_with = |threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| threemf(&parts, &[]))
        };
        assert!(bytes_with(1) == bytes_with(4));
    }

    #[test]
    fn every_coordinate_is_the_one_in_stl() {
        let mesh = wedge();
        let parts = [Part { name: "w".into(), mesh: &mesh, placed: DAffine3::IDENTITY }];
        let from_3mf = shape(Format::ThreeMf, &threemf(&parts, &[]), "w").unwrap();
        let from_stl = shape(Format::Stl, &crate::write::stl(&mesh, "w"), "w").unwrap();
        let corners = |mesh: &Mesh| -> Vec<[f32; 3]> {
            (0..4).flat_map(|t| mesh.corners(t)).map(|p| p.to_array().map(|x| x as f32)).collect()
        };
        assert_eq!(corners(&from_3mf.bodies[0].mesh), corners(&from_stl.bodies[0].mesh));
    }
}
