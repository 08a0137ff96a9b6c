//! What is asked of every reader, whatever the bytes: the fuzz target and the gate's own run share it.

use solid::read::{Format, NamedMesh, shape};

/// Every format there is a reader for.
pub(crate) const FORMATS: [Format; 6] =
    [Format::Stl, Format::Obj, Format::Ply, Format::Off, Format::ThreeMf, Format::Glb];

/// Reads bytes as one format. What comes out keeps the reader's promises: bodies with names and faces, corners that are
/// there, places that are finite, and no more of them than the file can hold, or the copies in it may be. An error says
/// something.
pub(crate) fn read(format: Format, bytes: &[u8]) {
    match shape(format, bytes, "stem") {
        Ok(shape) => {
            assert!(!shape.bodies.is_empty());
            let mut held = 0;
            for NamedMesh { name, mesh, .. } in &shape.bodies {
                assert!(!name.is_empty() && !mesh.triangles.is_empty());
                assert!(mesh.triangles.iter().flatten().all(|v| (*v as usize) < mesh.vertices.len()));
                assert!(mesh.vertices.iter().all(|v| v.is_finite()));
                held += mesh.triangles.len() + mesh.vertices.len();
            }
            assert!(held <= most_held(format, bytes.len()), "{held} from {} bytes of {format}", bytes.len());
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
}

/// Vertices and faces that so many bytes may hold. A face takes two bytes at least (a corner more of a polygon in text);
/// only 3MF is packed (200 times at most, and a mebibyte), and only 3MF and GLB may hold copies (eight million).
fn most_held(format: Format, len: usize) -> usize {
    match format {
        Format::Stl | Format::Obj | Format::Ply | Format::Off => len,
        Format::Glb => len + 8_000_000,
        Format::ThreeMf => 201 * len + (1 << 20) + 8_000_000,
    }
}
