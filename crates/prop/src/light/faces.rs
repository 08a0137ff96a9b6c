//! What each face of a piece is to the light: outer surface, joint, or wall of the cavity.

use solid::{Bvh, DVec3, Mesh, Plane};

/// What a triangle of a piece is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum FaceKind {
    /// On the maker's own surface: light that leaves here is seen.
    Outer,
    /// In the plane of a cut: the next piece is glued on here.
    Joint,
    /// Towards the cavity, or what stands in it.
    Inner,
}

/// A triangle is on a surface when its corners and middle are within this of it, mm: the rounding of written coordinates
/// and a little.
const ON_MM: f64 = 0.005;

/// The kind of each triangle of a piece (prop frame) that was cut from `outer` by `planes`.
pub(super) fn kinds(mesh: &Mesh, outer: &Bvh, planes: &[Plane]) -> Vec<FaceKind> {
    let on_outer: Vec<bool> = mesh.vertices.iter().map(|p| outer.nearest(*p, ON_MM).is_some()).collect();
    (0..mesh.triangles.len())
        .map(|t| {
            let corners = mesh.corners(t);
            if planes.iter().any(|plane| corners.iter().all(|p| plane.distance_mm(*p).abs() < ON_MM)) {
                FaceKind::Joint
            } else if mesh.triangles[t].iter().all(|v| on_outer[*v as usize])
                && outer.nearest(middle(corners), ON_MM).is_some()
            {
                FaceKind::Outer
            } else {
                FaceKind::Inner
            }
        })
        .collect()
}

fn middle(corners: [DVec3; 3]) -> DVec3 {
    (corners[0] + corners[1] + corners[2]) / 3.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_piece_of_a_square_tube_has_all_three() {
        let whole = solid::cuboid(DVec3::ZERO, DVec3::new(100.0, 20.0, 20.0));
        let mut tube = whole.clone();
        tube.append(&solid::cuboid(DVec3::new(1.0, 2.0, 2.0), DVec3::new(99.0, 18.0, 18.0)).reversed());
        let planes = [30.0, 60.0].map(|x| Plane::through(DVec3::new(x, 0.0, 0.0), DVec3::X));
        let piece = solid::slab(&tube, Some(&planes[0]), Some(&planes[1])).unwrap();
        let kinds = kinds(&piece, &Bvh::new(&whole), &planes);
        let area = |kind| {
            let of = (0..piece.triangles.len()).filter(|t| kinds[*t] == kind);
            of.map(|t| piece.area_vector(t).length()).sum::<f64>()
        };
        assert!((area(FaceKind::Outer) - 4.0 * 20.0 * 30.0).abs() < 1e-6);
        assert!((area(FaceKind::Joint) - 2.0 * (20.0 * 20.0 - 16.0 * 16.0)).abs() < 1e-6);
        assert!((area(FaceKind::Inner) - 4.0 * 16.0 * 30.0).abs() < 1e-6);
    }
}
