//! Binary STL.

use super::rounded;
use crate::Mesh;
use glam::DVec3;

/// The mesh as binary STL. The header is the title in ASCII, cut at 80 bytes. Normals are those of the rounded
/// corners, zero where these have no area.
pub fn stl(mesh: &Mesh, title: &str) -> Vec<u8> {
    // A header that starts with this word makes some readers take the file for text.
    let title = if title.get(..5).is_some_and(|t| t.eq_ignore_ascii_case("solid")) {
        format!("- {title}")
    } else {
        title.into()
    };
    let mut header = [b' '; 80];
    for (slot, c) in header.iter_mut().zip(title.chars()) {
        *slot = if c.is_ascii() && !c.is_ascii_control() { c as u8 } else { b'?' };
    }
    let count = u32::try_from(mesh.triangles.len()).expect("a mesh has fewer than 2^32 triangles");
    let mut bytes = Vec::with_capacity(84 + 50 * mesh.triangles.len());
    bytes.extend_from_slice(&header);
    bytes.extend_from_slice(&count.to_le_bytes());
    for t in 0..mesh.triangles.len() {
        let corners = mesh.corners(t).map(rounded);
        let [a, b, c] = corners.map(|p| DVec3::from_array(p.map(f64::from)));
        let normal = rounded((b - a).cross(c - a).normalize_or_zero());
        for value in normal.iter().chain(corners.iter().flatten()) {
            bytes.extend_from_slice(&value.to_le_bytes());
        }
        bytes.extend_from_slice(&[0, 0]);
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::{Format, shape};

    #[test]
    fn what_is_written_reads_back() {
        let mesh = Mesh {
            vertices: vec![DVec3::ZERO, DVec3::new(-0.0, 0.1, 0.0), DVec3::X * 3.5, DVec3::Z],
            triangles: vec![[0, 1, 2], [0, 3, 1], [1, 3, 2], [0, 2, 3]],
        };
        let bytes = stl(&mesh, "solid blade é");
        assert!(bytes.starts_with(b"- solid blade ?  "));
        assert_eq!(bytes.len(), 84 + 4 * 50);
        let back = &shape(Format::Stl, &bytes, "blade").unwrap().bodies[0];
        assert_eq!(back.name, "blade");
        assert_eq!(back.mesh.triangles, mesh.triangles);
        for (p, q) in back.mesh.vertices.iter().zip(&mesh.vertices) {
            assert_eq!(p.to_array(), q.to_array().map(|x| f64::from(x as f32)));
        }
        // First facet lies in z = 0 and runs clockwise seen from above.
        assert_eq!(&bytes[84..96], [0f32, 0.0, -1.0].map(f32::to_le_bytes).as_flattened());
    }
}
