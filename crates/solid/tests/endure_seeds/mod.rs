//! Small good files of every format.

use solid::read::Format;
use solid::write::{Part, stl, threemf};
use solid::{DAffine3, DVec3, Mesh};

const STL_TEXT: &str = "solid left\nfacet normal 0 0 1\n outer loop\n  vertex 0 0 0\n  vertex 1 0 0\n  vertex 0 1e0 0\n endloop\n\
    endfacet\nendsolid left\nsolid right\nfacet normal 0 0 1\nouter loop\nvertex 2 0 0\nvertex 3 0 0\nvertex 2 1 0\nendloop\n\
    endfacet\nendsolid right\n";

const OBJ: &str = "# two parts\no stand\nv 0 0 0\nv 6 0 0\nv 0 6 0\nv 0 0 6\nf 1 3 2\nf 1/1 2/1 4/1\nf 2//1 3//1 4//1\nf -4 -1 -2\n\
    o gem\nv 9 0 0\nv 9 1 0\nv 9 1 1\nv 9 0.5 0.4\nv 9 0 1\nf 5 6 7 8 9\n";

const OFF: &str = "OFF\n4 4 6\n0 0 0\n6 0 0\n0 6 0\n0 0 6\n3 0 2 1\n3 0 1 3 255 0 0\n3 1 2 3\n3 0 3 2\n";

const PLY_HEAD: &str = "element vertex 4\nproperty float x\nproperty float y\nproperty float z\nelement face 4\n\
    property list uchar uint vertex_indices\nend_header\n";

/// A wedge with one corner on each axis.
fn wedge() -> Mesh {
    Mesh {
        vertices: vec![DVec3::ZERO, DVec3::X * 6.0, DVec3::Y * 6.0, DVec3::Z * 6.0],
        triangles: vec![[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]],
    }
}

fn ply_text() -> Vec<u8> {
    let mut text = format!("ply\nformat ascii 1.0\n{PLY_HEAD}");
    wedge().vertices.iter().for_each(|v| text += &format!("{} {} {}\n", v.x, v.y, v.z));
    wedge().triangles.iter().for_each(|t| text += &format!("3 {} {} {}\n", t[0], t[1], t[2]));
    text.into_bytes()
}

fn ply_binary() -> Vec<u8> {
    let mut bytes = format!("ply\nformat binary_little_endian 1.0\n{PLY_HEAD}").into_bytes();
    bytes.extend(coordinates());
    for t in wedge().triangles {
        bytes.push(3);
        bytes.extend(t.iter().flat_map(|v| v.to_le_bytes()));
    }
    bytes
}

fn coordinates() -> impl Iterator<Item = u8> {
    wedge().vertices.into_iter().flat_map(|v| v.to_array()).flat_map(|x| (x as f32).to_le_bytes())
}

/// The header of a scene with the wedge in it twice.
pub(crate) const GLB_JSON: &str = r#"{"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0]}],"nodes":[{"name":"stand","children":[1,2]},{"name":"gem","mesh":0,"scale":[2,2,2]},{"mesh":0,"translation":[0,10,0]}],"meshes":[{"primitives":[{"attributes":{"POSITION":0},"indices":1}]}],"accessors":[{"bufferView":0,"componentType":5126,"count":4,"type":"VEC3"},{"bufferView":1,"componentType":5123,"count":12,"type":"SCALAR"}],"bufferViews":[{"buffer":0,"byteLength":48},{"buffer":0,"byteOffset":48,"byteLength":24}],"buffers":[{"byteLength":72}]}"#;

/// A binary glTF file of a header and the wedge.
pub(crate) fn glb(json: &str) -> Vec<u8> {
    let mut binary: Vec<u8> = coordinates().collect();
    binary.extend(wedge().triangles.iter().flatten().flat_map(|v| (*v as u16).to_le_bytes()));
    let mut json = json.as_bytes().to_vec();
    json.resize(json.len().next_multiple_of(4), b' ');
    let mut bytes = b"glTF\x02\0\0\0".to_vec();
    bytes.extend(((28 + json.len() + binary.len()) as u32).to_le_bytes());
    for (kind, chunk) in [(b"JSON", &json), (b"BIN\0", &binary)] {
        bytes.extend((chunk.len() as u32).to_le_bytes());
        bytes.extend(kind);
        bytes.extend(chunk);
    }
    bytes
}

/// One good file or two of every format.
pub(crate) fn seeds() -> Vec<(Format, Vec<u8>)> {
    let mesh = wedge();
    let part =
        |name: &str, x: f64| Part { name: name.into(), mesh: &mesh, placed: DAffine3::from_translation(DVec3::X * x) };
    vec![
        (Format::Stl, stl(&mesh, "wedge")),
        (Format::Stl, STL_TEXT.into()),
        (Format::Obj, OBJ.into()),
        (Format::Off, OFF.into()),
        (Format::Ply, ply_text()),
        (Format::Ply, ply_binary()),
        (Format::ThreeMf, threemf(&[part("stand", 0.0), part("gem", 9.0)], &[])),
        (Format::Glb, glb(GLB_JSON)),
    ]
}
