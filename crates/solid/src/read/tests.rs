//! Every reader against small files written by hand, and against any bytes.

use super::*;
use crate::write;
use glam::DAffine3;
use proptest::prelude::*;
use std::io::Write as _;

fn tetrahedron() -> Mesh {
    Mesh {
        vertices: vec![DVec3::ZERO, DVec3::X * 6.0, DVec3::Y * 6.0, DVec3::Z * 6.0],
        triangles: vec![[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]],
    }
}

const STL_TEXT: &str = "solid left\nfacet normal 0 0 1\n outer loop\n  vertex 0 0 0\n  vertex 1 0 0\n  vertex 0 1e0 0\n endloop\nendfacet\nendsolid left\n\
    SOLID\r\nFACET NORMAL 0 0 1\r\nOUTER LOOP\r\nVERTEX -0.0 0 0\r\nVERTEX 2 0 0\r\nVERTEX 0 2 0\r\nENDLOOP\r\nENDFACET\r\nENDSOLID\r\n";

/// An L with a corner in the middle of one straight side, walked from a vertex where a fan would go wrong.
const OBJ_L: &str = "# an L\nv 0 0 0\nv 2 0 0\nv 2 1 0\nv 1 1 0\nv 1 2 0\nv 0 2 0\nv 0 1 0\nv 9 9 9\nf 3//1 4//1 5//1 \\\n 6//1 7//1 1//1 2//1\n";

const PLY_TEXT: &str = "ply\nformat ascii 1.0\ncomment no colours\nelement vertex 4\nproperty float x\nproperty float y\nproperty double z\nproperty uchar red\nelement face 4\nproperty uchar flag\nproperty list uchar int vertex_indices\nend_header\n0 0 0 7\n6 0 0 7\n0 6 0 7\n0 0 6 7\n1 3 0 2 1\n1 3 0 1 3\n1 3 1 2 3\n1 3 0 3 2\n";

const OFF_TEXT: &str =
    "OFF\n# a wedge\n4 4 6\n\n0 0 0\n6 0 0\n0 6 0 # third\n0 0 6\n3 0 2 1\n3 0 1 3 255 0 0\n3 1 2 3\n3 0 3 2\n";

fn ply_binary(big: bool) -> Vec<u8> {
    let coding = if big { "binary_big_endian" } else { "binary_little_endian" };
    let mut bytes = format!("ply\nformat {coding} 1.0\nelement vertex 4\nproperty float x\nproperty float y\nproperty float z\nelement face 4\nproperty list uchar uint vertex_index\nproperty short tag\nend_header\n").into_bytes();
    let mut put = |value: &[u8]| if big { bytes.extend(value.iter().rev()) } else { bytes.extend(value) };
    let mesh = tetrahedron();
    for x in mesh.vertices.iter().flat_map(|v| v.to_array()) {
        put(&(x as f32).to_le_bytes());
    }
    for t in &mesh.triangles {
        put(&[3]);
        t.iter().for_each(|v| put(&v.to_le_bytes()));
        put(&5i16.to_le_bytes());
    }
    bytes
}

fn glb_with(json: &str) -> Vec<u8> {
    let mesh = tetrahedron();
    let mut binary: Vec<u8> =
        mesh.vertices.iter().flat_map(|v| v.to_array()).flat_map(|x| (x as f32).to_le_bytes()).collect();
    binary.extend(mesh.triangles.iter().flatten().flat_map(|v| (*v as u16).to_le_bytes()));
    let mut json = json.as_bytes().to_vec();
    json.resize(json.len().next_multiple_of(4), b' ');
    let mut bytes = b"glTF\x02\0\0\0".to_vec();
    bytes.extend(((12 + 8 + json.len() + 8 + binary.len()) as u32).to_le_bytes());
    for (kind, chunk) in [(b"JSON", &json), (b"BIN\0", &binary)] {
        bytes.extend((chunk.len() as u32).to_le_bytes());
        bytes.extend(kind);
        bytes.extend(chunk);
    }
    bytes
}

const GLB_JSON: &str = r#"{"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0]}],
    "nodes":[{"name":"stand","translation":[0,10,0],"children":[1,2]},{"name":"gem","mesh":0,"scale":[2,2,2]},
             {"mesh":0,"rotation":[0,0.7071067811865476,0,0.7071067811865476]}],
    "meshes":[{"name":"cut","primitives":[{"attributes":{"POSITION":0},"indices":1}]}],
    "accessors":[{"bufferView":0,"componentType":5126,"count":4,"type":"VEC3"},
                 {"bufferView":1,"componentType":5123,"count":12,"type":"SCALAR"}],
    "bufferViews":[{"buffer":0,"byteLength":48},{"buffer":0,"byteOffset":48,"byteLength":24}],
    "buffers":[{"byteLength":72}]}"#;

fn zipped(parts: &[(&str, &str)]) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (path, content) in parts {
        archive.start_file(*path, zip::write::SimpleFileOptions::default()).unwrap();
        archive.write_all(content.as_bytes()).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

const MESH_XML: &str = r#"<mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="6" y="0" z="0"/><vertex x="0" y="6" z="0"/><vertex x="0" y="0" z="6"/></vertices><triangles><triangle v1="0" v2="2" v3="1"/><triangle v1="0" v2="1" v3="3"/><triangle v1="1" v2="2" v3="3"/><triangle v1="0" v2="3" v3="2"/></triangles></mesh>"#;

fn model(resources: &str, build: &str) -> String {
    format!(
        "<?xml version=\"1.0\"?><model unit=\"inch\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\"><resources>{resources}</resources><build>{build}</build></model>"
    )
}

fn nested_3mf() -> Vec<u8> {
    let objects = format!(
        r#"<object id="1" name="scale &amp; gem" type="model">{MESH_XML}</object><object id="2" name="blade"><components><component objectid="1" transform="1 0 0 0 1 0 0 0 1 1 0 0"/><component objectid="1" transform="0 1 0 -1 0 0 0 0 1 0 5 0"/></components></object><object id="3" type="support">{MESH_XML}</object>"#
    );
    let build = r#"<item objectid="2" transform="2 0 0 0 2 0 0 0 2 100 0 0"/><item objectid="3"/>"#;
    zipped(&[("3D/other.model", &model(&objects, build))])
}

fn samples() -> Vec<(Format, Vec<u8>)> {
    let binary = write::stl(&tetrahedron(), "");
    let parts = [write::Part { name: "t".into(), mesh: &tetrahedron(), placed: DAffine3::IDENTITY }];
    vec![
        (Format::Stl, binary),
        (Format::Stl, STL_TEXT.into()),
        (Format::Obj, OBJ_L.into()),
        (Format::Ply, PLY_TEXT.into()),
        (Format::Ply, ply_binary(false)),
        (Format::Ply, ply_binary(true)),
        (Format::Off, OFF_TEXT.into()),
        (Format::ThreeMf, nested_3mf()),
        (Format::ThreeMf, write::threemf(&parts, &[])),
        (Format::Glb, glb_with(GLB_JSON)),
    ]
}

fn names(shape: &Shape) -> Vec<&str> {
    shape.bodies.iter().map(|b| b.name.as_str()).collect()
}

#[test]
fn a_file_is_known_by_extension_then_by_content() {
    for (format, bytes) in samples() {
        assert_eq!(Format::of("shape", &bytes), Some(format), "{format}");
        assert_eq!(Format::of("a.b.PLY", &bytes), Some(Format::Ply));
    }
    assert_eq!(Format::of("notes.txt", b"nothing of the kind"), None);
    assert_eq!(Format::of("", b""), None);
}

#[test]
fn stl_blocks_are_bodies_and_corners_are_joined() {
    let read = shape(Format::Stl, STL_TEXT.as_bytes(), "stem").unwrap();
    assert_eq!(names(&read), ["left", "stem"]);
    assert_eq!(read.bodies[1].mesh.vertices[0], DVec3::ZERO);
    let mut binary = write::stl(&tetrahedron(), "x");
    binary[..6].copy_from_slice(b"solid ");
    let read = shape(Format::Stl, &binary, "stem").unwrap();
    assert_eq!(read.bodies[0].mesh.vertices.len(), 4);
    assert_eq!(read.bodies[0].mesh.volume_mm3(), 36.0);
    assert!(read.notes.is_empty());
    binary.extend([1, 2, 3]);
    assert_eq!(shape(Format::Stl, &binary, "stem").unwrap().notes.len(), 1);
}

#[test]
fn obj_polygons_may_be_concave_and_keep_every_corner() {
    let mesh = &shape(Format::Obj, OBJ_L.as_bytes(), "stem").unwrap().bodies[0].mesh;
    // Seven corners make five triangles, all of them upwards, of the L's area.
    assert_eq!((mesh.vertices.len(), mesh.triangles.len()), (7, 5));
    assert!((0..5).all(|t| mesh.area_vector(t).z >= 0.0));
    assert_eq!(mesh.area_mm2(), 3.0);
    assert_eq!(mesh.edge_census().open.len(), 7);
}

#[test]
fn a_quad_is_cut_inside_its_concave_corner() {
    for start in 0..4 {
        let ring: Vec<String> = (0..4).map(|k| ((start + k) % 4 + 1).to_string()).collect();
        let text = format!("v 0 0 0\nv 4 0 0\nv 1 1 0\nv 0 4 0\nf {}\n", ring.join(" "));
        let mesh = &shape(Format::Obj, text.as_bytes(), "").unwrap().bodies[0].mesh;
        assert!((0..2).all(|t| mesh.area_vector(t).z > 0.0), "{start}");
        assert_eq!(mesh.area_mm2(), 4.0);
    }
}

#[test]
fn obj_names_are_bodies_unless_they_share_a_surface() {
    let text = "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 5 0 0\nv 6 0 0\nv 5 1 0\no one\nf 1 2 3\no two\nf -3 -2 -1\nf 4 5\n";
    let read = shape(Format::Obj, text.as_bytes(), "stem").unwrap();
    assert_eq!(names(&read), ["one", "two"]);
    assert_eq!(read.notes.len(), 1);
    let text = "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 1 1 0\ng top front\nf 1 2 3\ng side\nf 2 4 3\n";
    let read = shape(Format::Obj, text.as_bytes(), "stem").unwrap();
    assert_eq!(names(&read), ["top front"]);
    assert_eq!(read.bodies[0].mesh.triangles.len(), 2);
    assert!(read.notes[0].contains("\"side\""));
}

#[test]
fn the_same_wedge_comes_from_ply_and_off() {
    for bytes in [PLY_TEXT.into(), ply_binary(false), ply_binary(true)] {
        assert_eq!(shape(Format::Ply, &bytes, "s").unwrap().bodies[0].mesh, tetrahedron());
    }
    assert_eq!(shape(Format::Off, OFF_TEXT.as_bytes(), "s").unwrap().bodies[0].mesh, tetrahedron());
}

#[test]
fn glb_nodes_are_bodies_with_z_up() {
    let read = shape(Format::Glb, &glb_with(GLB_JSON), "stem").unwrap();
    assert_eq!(names(&read), ["gem", "cut"]);
    assert_eq!(read.unit_mm, Some(1000.0));
    // y up becomes z up: the stand's shift of 10 in y lifts by 10; the wedge's z leg of 6, doubled, points along -y.
    let bounds = read.bodies[0].mesh.bounds().unwrap();
    assert_eq!((bounds.min, bounds.max), (DVec3::new(0.0, -12.0, 10.0), DVec3::new(12.0, 0.0, 22.0)));
    assert!((read.bodies[0].mesh.volume_mm3() - 8.0 * 36.0).abs() < 1e-9);
    // A quarter turn about y up takes x to -z, which is +y when z is up, and z to x.
    let bounds = read.bodies[1].mesh.bounds().unwrap();
    assert!((bounds.min - DVec3::new(0.0, 0.0, 10.0)).length() < 1e-12);
    assert!((bounds.max - DVec3::new(6.0, 6.0, 16.0)).length() < 1e-12);
}

#[test]
fn components_of_3mf_are_placed_through_every_level() {
    let read = shape(Format::ThreeMf, &nested_3mf(), "stem").unwrap();
    assert_eq!(names(&read), ["scale & gem", "scale & gem-2"]);
    assert_eq!(read.unit_mm, Some(25.4));
    assert_eq!(read.notes, ["1 objects are support and were passed over"]);
    let bounds = read.bodies[0].mesh.bounds().unwrap();
    assert_eq!((bounds.min, bounds.max), (DVec3::new(102.0, 0.0, 0.0), DVec3::new(114.0, 12.0, 12.0)));
    // Rows times matrix: x goes to +y, y to -x, then the shift of 5 in y; doubled and shifted by 100.
    let bounds = read.bodies[1].mesh.bounds().unwrap();
    assert_eq!((bounds.min, bounds.max), (DVec3::new(88.0, 10.0, 0.0), DVec3::new(100.0, 22.0, 12.0)));
    assert_eq!(read.bodies[1].mesh.volume_mm3(), 8.0 * 36.0);
}

#[test]
fn a_3mf_part_may_lie_in_another_file() {
    let root = model(
        r#"<object id="8"><components><component p:path="/3D/Objects/o.model" objectid="1"/></components></object>"#,
        r#"<item objectid="8"/>"#,
    );
    let rels = r#"<Relationships><Relationship Target="/3D/main.model" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>"#;
    let part = model(&format!(r#"<object id="1" name="far">{MESH_XML}</object>"#), "");
    let bytes = zipped(&[("3D/Objects/o.model", &part), ("_rels/.rels", rels), ("3D/main.model", &root)]);
    assert_eq!(names(&shape(Format::ThreeMf, &bytes, "stem").unwrap()), ["far"]);
}

#[test]
fn endless_and_exploding_components_are_refused() {
    let endless = model(
        r#"<object id="1"><components><component objectid="1"/></components></object>"#,
        r#"<item objectid="1"/>"#,
    );
    let message = shape(Format::ThreeMf, &zipped(&[("a.model", &endless)]), "s").unwrap_err().to_string();
    assert!(message.contains("64 deep"), "{message}");
    // Ten levels of ten copies each: 10^10 wedges from two kilobytes.
    let mut objects = format!(r#"<object id="1">{MESH_XML}</object>"#);
    for level in 2..12 {
        let component = format!(r#"<component objectid="{}"/>"#, level - 1);
        objects += &format!(r#"<object id="{level}"><components>{}</components></object>"#, component.repeat(10));
    }
    let bytes = zipped(&[("a.model", &model(&objects, r#"<item objectid="11"/>"#))]);
    let error = shape(Format::ThreeMf, &bytes, "s").unwrap_err();
    assert!(matches!(error, ReadError::TooLarge { .. }), "{error}");
}

#[test]
fn a_zip_bomb_is_refused() {
    let blank = " ".repeat(1000).repeat(64_000);
    let bytes = zipped(&[("a.model", &format!("<model>{blank}</model>"))]);
    assert!(blank.len() as u64 > bytes.len() as u64 * 200 + (1 << 20));
    let error = shape(Format::ThreeMf, &bytes, "s").unwrap_err();
    assert!(matches!(error, ReadError::TooLarge { .. }), "{error}");
}

#[test]
fn counts_beyond_the_file_are_refused_before_memory_is_taken() {
    let mut stl = write::stl(&tetrahedron(), "");
    stl[80..84].copy_from_slice(&u32::MAX.to_le_bytes());
    let ply = PLY_TEXT.replace("vertex 4", "vertex 18446744073709551615");
    let list = PLY_TEXT.replace("\n1 3 0 2 1", "\n1 4000000000 0 2 1");
    let off = OFF_TEXT.replace("4 4 6", "4000000000 4 6");
    let glb = glb_with(&GLB_JSON.replace("\"count\":4", "\"count\":4000000000000"));
    let cases: [(Format, &[u8]); 5] = [
        (Format::Stl, &stl),
        (Format::Ply, ply.as_bytes()),
        (Format::Ply, list.as_bytes()),
        (Format::Off, off.as_bytes()),
        (Format::Glb, &glb),
    ];
    for (format, bytes) in cases {
        let error = shape(format, bytes, "s").unwrap_err();
        assert!(matches!(error, ReadError::Short { .. }), "{error}");
    }
}

#[test]
fn no_place_is_refused_with_the_vertex() {
    let cases = [
        (Format::Obj, OBJ_L.replace("v 2 1 0", "v 2 nan 0"), "OBJ, line 4: vertex 3 has the coordinate NaN"),
        (Format::Off, OFF_TEXT.replace("0 0 6\n", "0 0 -inf\n"), "OFF, line 8: vertex 4 has the coordinate -inf"),
        (Format::Ply, PLY_TEXT.replace("6 0 0 7", "6e20 0 0 7"), "PLY, line 13: vertex 2 has the coordinate 600"),
        (Format::Stl, STL_TEXT.replace("1 0 0\n", "NaN 0 0\n"), "STL, line 5: vertex 2 has the coordinate NaN"),
    ];
    for (format, text, message) in cases {
        let error = shape(format, text.as_bytes(), "s").unwrap_err().to_string();
        assert!(error.starts_with(message), "{error}");
    }
}

#[test]
fn messages_name_the_line_and_the_way_out() {
    let cases = [
        (Format::Obj, OBJ_L.replace("3//1", "12//1"), "OBJ, line 10: a face uses vertex 12, and there are 8; export"),
        (Format::Obj, OBJ_L.replace("v 2 1 0", "v 2 one 0"), "OBJ, line 4: expected a coordinate, found \"one\"; "),
        (Format::Off, OFF_TEXT.replace("3 1 2 3", "3 1 2 4"), "OFF, line 11: a face uses vertex 4, and there are 4"),
        (Format::Stl, STL_TEXT.replace("endsolid left", "end"), "STL, line 9: expected solid, facet, outer loop"),
        (Format::Ply, PLY_TEXT.replace("property float y\n", ""), "PLY, line 11: expected vertices with x, y and z"),
        (Format::Obj, "v 1 2 3\nl 1 1\n".into(), "OBJ: the file has no faces"),
    ];
    for (format, text, message) in cases {
        let error = shape(format, text.as_bytes(), "s").unwrap_err().to_string();
        assert!(error.starts_with(message), "{error}");
    }
}

/// Reads bytes of every kind and holds what comes out against the promises of [`shape`].
fn read_with_all(bytes: &[u8]) {
    for format in [Format::Stl, Format::Obj, Format::Ply, Format::Off, Format::ThreeMf, Format::Glb] {
        let _ = Format::of("", bytes);
        if let Ok(read) = shape(format, bytes, "stem") {
            assert!(!read.bodies.is_empty());
            for NamedMesh { name, mesh, .. } in &read.bodies {
                assert!(!name.is_empty() && !mesh.is_empty());
                assert!(mesh.triangles.iter().flatten().all(|v| (*v as usize) < mesh.vertices.len()));
                assert!(mesh.vertices.iter().all(|v| v.is_finite()));
            }
        }
    }
}

#[test]
fn every_file_cut_anywhere_is_read_or_refused() {
    for (_, bytes) in samples() {
        for end in 0..bytes.len() {
            read_with_all(&bytes[..end]);
        }
    }
}

proptest! {
    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        read_with_all(&bytes);
    }

    #[test]
    fn any_words_are_read_or_refused(
        words in proptest::collection::vec(prop::sample::select(vec![
            "OFF", "ply", "format", "ascii", "1.0", "binary_little_endian", "element", "vertex", "face", "property",
            "list", "uchar", "int", "float", "x", "y", "z", "vertex_indices", "end_header", "solid", "facet", "outer",
            "endloop", "endsolid", "v", "f", "o", "g", "\\", "1", "2", "3", "-1", "0", "1e300", "nan", "99999999999",
            "1/2/3", "\n", "\n", "\n", "\r", "#",
        ]), 0..120)
    ) {
        read_with_all(words.join(" ").as_bytes());
    }

    #[test]
    fn valid_files_with_bytes_changed_are_read_or_refused(
        sample in 0usize..10,
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
    ) {
        let mut bytes = samples().swap_remove(sample).1;
        for (at, value) in changes {
            let at = at.index(bytes.len());
            bytes[at] = value;
        }
        read_with_all(&bytes);
    }

    /// XML and JSON behind the checks of archive and chunks.
    #[test]
    fn changed_text_inside_containers_is_read_or_refused(
        changes in proptest::collection::vec((any::<prop::sample::Index>(), prop::sample::select(
            "0123456789-.e\"<>/{}[],:& x".bytes().collect::<Vec<u8>>())), 1..6),
    ) {
        let changed = |text: &str| {
            let mut bytes = text.as_bytes().to_vec();
            for (at, value) in &changes {
                let at = at.index(bytes.len());
                bytes[at] = *value;
            }
            String::from_utf8(bytes).unwrap()
        };
        let objects = format!(r#"<object id="1">{MESH_XML}</object><object id="2"><components><component objectid="1" transform="1 0 0 0 1 0 0 0 1 1 0 0"/></components></object>"#);
        read_with_all(&zipped(&[("a.model", &changed(&model(&objects, r#"<item objectid="2"/>"#)))]));
        read_with_all(&glb_with(&changed(GLB_JSON)));
    }

    #[test]
    fn polygons_of_any_shape_close_and_never_panic(
        points in proptest::collection::vec((-9i8..9, -9i8..9, -1i8..2), 3..14)
    ) {
        let mut text = format!("OFF {} 1 0\n", points.len());
        for (x, y, z) in &points {
            text += &format!("{x} {y} {z}\n");
        }
        let ring: Vec<String> = (0..points.len()).map(|k| k.to_string()).collect();
        text += &format!("{} {}\n", points.len(), ring.join(" "));
        let mesh = &shape(Format::Off, text.as_bytes(), "s").unwrap().bodies[0].mesh;
        prop_assert_eq!(mesh.triangles.len(), points.len() - 2);
        // Whatever the shape, the sides are what stays open.
        let mut open = mesh.edge_census().open;
        open.sort_unstable();
        let mut sides: Vec<[u32; 2]> = (0..points.len() as u32).map(|k| [k, (k + 1) % points.len() as u32]).collect();
        sides.sort_unstable();
        prop_assert_eq!(mesh.edge_census().flipped.len() + mesh.edge_census().crowded.len(), 0);
        prop_assert_eq!(open, sides);
    }
}

/// What each triangle of the first body is painted with, in words.
fn paints(format: Format, bytes: &[u8]) -> Vec<String> {
    let read = shape(format, bytes, "s").unwrap();
    let paint = read.bodies[0].paint.as_ref().expect("it is painted");
    assert_eq!(paint.of.len(), read.bodies[0].mesh.triangles.len());
    let word = |k: &u32| paint.hues.get(*k as usize).map_or("bare".to_owned(), ToString::to_string);
    paint.of.iter().map(word).collect()
}

#[test]
fn colours_come_with_the_faces_of_the_formats_that_keep_them() {
    // 3MF core 1.3 (base materials) and materials extension 1.2 (colour groups): the triangle's, or else the object's.
    let painted = MESH_XML
        .replace("v3=\"1\"/>", "v3=\"1\" pid=\"7\" p1=\"1\"/>")
        .replace("v1=\"1\" v2=\"2\" v3=\"3\"/>", "v1=\"1\" v2=\"2\" v3=\"3\" pid=\"7\" p1=\"1\" p2=\"0\" p3=\"0\"/>");
    let resources = format!(
        r##"<m:colorgroup xmlns:m="m" id="7"><m:color color="#FF8000FF"/><m:color color="#0000ff"/></m:colorgroup><basematerials id="8"><base name="Matt black" displaycolor="#101010"/></basematerials><object id="1" pid="8" pindex="0">{painted}</object>"##
    );
    let bytes = zipped(&[("3D/a.model", &model(&resources, r#"<item objectid="1"/>"#))]);
    let black = "Matt black (#101010)";
    assert_eq!(paints(Format::ThreeMf, &bytes), ["#0000ff", black, "#ff8000", black]);
    // A triangle that names a place and no group means its object's group.
    let placed = painted.replace("pid=\"7\" ", "");
    let of_object = resources.replace(&painted, &placed).replace("pid=\"8\" pindex=\"0\"", "pid=\"7\" pindex=\"1\"");
    let bytes = zipped(&[("3D/a.model", &model(&of_object, r#"<item objectid="1"/>"#))]);
    assert_eq!(paints(Format::ThreeMf, &bytes), ["#0000ff", "#0000ff", "#ff8000", "#0000ff"]);
    assert!(shape(Format::ThreeMf, &nested_3mf(), "s").unwrap().bodies.iter().all(|b| b.paint.is_none()));

    let obj = OBJ_L.replace("v 9 9 9\n", "v 9 9 9\nf 1 2 3\nusemtl gold leaf\n");
    let found = paints(Format::Obj, obj.as_bytes());
    assert_eq!((&found[0][..], found[1..].iter().all(|p| p == "gold leaf")), ("bare", true), "{found:?}");

    // Corners' colours: what two of the three share.
    let ply = PLY_TEXT
        .replace("uchar red\n", "uchar red\nproperty uchar green\nproperty uchar blue\n")
        .replace("0 0 0 7\n", "0 0 0 1 2 3\n")
        .replace(" 7\n", " 9 8 7\n");
    assert_eq!(paints(Format::Ply, ply.as_bytes()), ["#090807"; 4]);
    // Faces' colours go before them.
    let faces = ply
        .replace("uchar flag\n", "float red\nproperty float green\nproperty float blue\n")
        .replace("\n1 3 ", "\n1 0.5 0 3 ");
    assert_eq!(paints(Format::Ply, faces.as_bytes()), ["#ff8000"; 4]);

    // glTF's factors are linear: ((128/255 + 0.055) / 1.055)^2.4 = 0.21586 (IEC 61966-2-1).
    let json = GLB_JSON
        .replace("\"indices\":1", "\"indices\":1,\"material\":0")
        .replace("\"accessors\"", "\"materials\":[{\"name\":\"Lamp\",\"pbrMetallicRoughness\":{\"baseColorFactor\":[0.21586,0,1,1]}}],\"accessors\"");
    assert_eq!(paints(Format::Glb, &glb_with(&json)), ["Lamp (#8000ff)"; 4]);
    assert!(shape(Format::Glb, &glb_with(GLB_JSON), "s").unwrap().bodies[0].paint.is_none());
    let lost = GLB_JSON.replace("\"indices\":1", "\"indices\":1,\"material\":7");
    assert!(shape(Format::Glb, &glb_with(&lost), "s").unwrap().bodies[0].paint.is_none());
}

#[test]
fn off_keeps_colours_of_faces_and_corners() {
    // The sample has one face in red; the others have none.
    assert_eq!(paints(Format::Off, OFF_TEXT.as_bytes()), ["bare", "#ff0000", "bare", "bare"]);
    // Numbers with a point are of 1, an index into a colour map is passed over.
    let more = OFF_TEXT.replace("3 0 2 1\n", "3 0 2 1 0.0 0.5 1 1\n").replace("3 1 2 3\n", "3 1 2 3 7\n");
    assert_eq!(paints(Format::Off, more.as_bytes()), ["#0080ff", "#ff0000", "bare", "bare"]);
    // Of vertices: what two of the three share. Behind a normal when there is one, of 1 or of 255.
    let plain = OFF_TEXT.replace(" 255 0 0", "");
    let corners = |head: &str, first: &str, rest: &str| {
        let mut text = plain.replacen("OFF", head, 1).replace("0 0 0\n", &format!("0 0 0{first}\n"));
        for corner in ["6 0 0", "0 6 0", "0 0 6"] {
            text = text.replace(&format!("\n{corner}"), &format!("\n{corner}{rest}"));
        }
        text
    };
    assert_eq!(paints(Format::Off, corners("COFF", " 1 0 0 1", " 0 1 0 1").as_bytes()), ["#00ff00"; 4]);
    assert_eq!(
        paints(Format::Off, corners("CNOFF", " 0 0 1 9 9 9 255", " 0 0 1 0 0 254 255").as_bytes()),
        ["#0000fe"; 4]
    );
    // Without the letter they are something else.
    let other = corners("NOFF", " 0 0 1", " 0 0 1");
    assert!(shape(Format::Off, other.as_bytes(), "s").unwrap().bodies[0].paint.is_none());
}

#[test]
fn glb_keeps_colours_of_corners() {
    // In the bytes of the positions: (0,0,0) is black, (6,0,0) red, (0,6,0) green and (0,0,6) blue, as floats beyond 1 are cut off.
    let with = |accessor: &str, more: &str| {
        let json = GLB_JSON
            .replace("\"POSITION\":0}", "\"POSITION\":0,\"COLOR_0\":2}")
            .replace("\"SCALAR\"}", &format!("\"SCALAR\"}},{accessor}"))
            .replace("\"indices\":1", &format!("\"indices\":1{more}"));
        glb_with(&json)
    };
    let floats = "{\"bufferView\":0,\"componentType\":5126,\"count\":4,\"type\":\"VEC3\"}";
    // All corners differ: the first one's. Faces are 0 2 1, 0 1 3, 1 2 3, 0 3 2.
    assert_eq!(paints(Format::Glb, &with(floats, "")), ["#000000", "#000000", "#ff0000", "#000000"]);
    // Bytes of the indices 0 2 1 0 1 3 1 2 as u16, four to a corner: (0,0,2), (1,0,0), (1,0,3), (1,0,2) of 255, linear.
    // In sRGB (IEC 61966-2-1) 1 of 255 is 1.055 x^(1/2.4) - 0.055 = 12.7 of 255, and 2 are 21.7.
    let bytes = "{\"bufferView\":1,\"componentType\":5121,\"normalized\":true,\"count\":4,\"type\":\"VEC4\"}";
    assert_eq!(paints(Format::Glb, &with(bytes, "")), ["#000016", "#000016", "#0d0000", "#000016"]);
    // A material keeps its name, and its colour is multiplied with the corners'.
    let lamp = "\"materials\":[{\"name\":\"Lamp\",\"pbrMetallicRoughness\":{\"baseColorFactor\":[0.21586,0,1,1]}}],\"accessors\"";
    let json = GLB_JSON
        .replace("\"POSITION\":0}", "\"POSITION\":0,\"COLOR_0\":0}")
        .replace("\"indices\":1", "\"indices\":1,\"material\":0")
        .replace("\"accessors\"", lamp);
    let black = "Lamp (#000000)";
    assert_eq!(paints(Format::Glb, &glb_with(&json)), [black, black, "Lamp (#800000)", black]);
    // What can't be read is passed over, and said.
    let lost = [
        floats.replace("VEC3", "VEC2"),
        floats.replace("\"count\":4", "\"count\":3"),
        floats.replace("\"count\":4", "\"count\":4000000000"),
        floats.replace("5126", "5125"),
        floats.replace("\"bufferView\":0", "\"bufferView\":9"),
    ];
    for accessor in lost {
        let read = shape(Format::Glb, &with(&accessor, ""), "s").unwrap();
        assert!(read.bodies[0].paint.is_none(), "{accessor}");
        assert_eq!(read.notes, ["2 sets of corners' colours that can't be read passed over"], "{accessor}");
    }
}
