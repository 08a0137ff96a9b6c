//! Measures of the sections square to x, many at once: what the centre path and the cut prices are read from.

use solid::{DVec2, Mesh};

/// The section of a mesh at one x.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slice {
    /// Where, mm.
    pub x: f64,
    /// Area, mm2 (0 where the plane misses the mesh).
    pub area_mm2: f64,
    /// Length of the outline, mm.
    pub outline_mm: f64,
    /// Centroid (y, z); zero without area.
    pub center: DVec2,
    /// Smallest (y, z) of the outline.
    pub low: DVec2,
    /// Largest (y, z) of the outline.
    pub high: DVec2,
}

/// The sections of a closed mesh at ascending places `at`, in one pass over its triangles.
///
/// Each straddling triangle gives a directed piece of outline; area and centroid are line integrals along it (Green's
/// theorem), so no outline has to be traced.
pub(crate) fn slices(mesh: &Mesh, at: &[f64]) -> Vec<Slice> {
    let blank = Slice {
        x: 0.0,
        area_mm2: 0.0,
        outline_mm: 0.0,
        center: DVec2::ZERO,
        low: DVec2::INFINITY,
        high: DVec2::NEG_INFINITY,
    };
    let mut all: Vec<Slice> = at.iter().map(|x| Slice { x: *x, ..blank }).collect();
    crossings(mesh, at, |k, _, [p, q]| {
        let slice = &mut all[k];
        let cross = p.perp_dot(q);
        slice.area_mm2 += cross * 0.5;
        slice.center += (p + q) * (cross / 6.0);
        slice.outline_mm += (q - p).length();
        slice.low = slice.low.min(p).min(q);
        slice.high = slice.high.max(p).max(q);
    });
    for slice in &mut all {
        slice.center = if slice.area_mm2.abs() > 1e-12 { slice.center / slice.area_mm2 } else { DVec2::ZERO };
    }
    all
}

/// Tells `visit` where each triangle crosses each of the planes at ascending places `at`: the plane's index, the triangle's,
/// and the directed piece of outline in (y, z).
pub(crate) fn crossings(mesh: &Mesh, at: &[f64], mut visit: impl FnMut(usize, usize, [DVec2; 2])) {
    for t in 0..mesh.triangles.len() {
        let corners = mesh.corners(t);
        let low = corners[0].x.min(corners[1].x).min(corners[2].x);
        let high = corners[0].x.max(corners[1].x).max(corners[2].x);
        let first = at.partition_point(|x| *x <= low);
        for (k, x) in at.iter().enumerate().skip(first).take_while(|(_, x)| **x <= high) {
            if let Some(piece) = crossing(&corners, *x) {
                visit(k, t, piece);
            }
        }
    }
}

/// Where the plane at `x` crosses a triangle, directed so that material lies on the left seen from +x. A corner on the
/// plane counts as beyond it.
fn crossing(corners: &[solid::DVec3; 3], x: f64) -> Option<[DVec2; 2]> {
    let beyond = corners.map(|p| p.x >= x);
    let mut ends = [None, None];
    for k in 0..3 {
        let (i, j) = (k, (k + 1) % 3);
        if beyond[i] == beyond[j] {
            continue;
        }
        // Always from the near to the far corner, so that neighbours get the same bits.
        let (a, b) = if beyond[j] { (corners[i], corners[j]) } else { (corners[j], corners[i]) };
        let p = a + (b - a) * ((x - a.x) / (b.x - a.x));
        ends[usize::from(beyond[j])] = Some(DVec2::new(p.y, p.z));
    }
    match ends {
        [Some(leaving), Some(entering)] => Some([leaving, entering]),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use solid::DVec3;
    use solid::cuboid;

    #[test]
    fn a_box_has_the_same_section_everywhere() {
        let mesh = cuboid(DVec3::new(0.0, 2.0, -3.0), DVec3::new(50.0, 12.0, 5.0));
        for s in slices(&mesh, &[1.0, 25.0, 49.9]) {
            assert!((s.area_mm2 - 80.0).abs() < 1e-9, "{s:?}");
            assert!((s.outline_mm - 36.0).abs() < 1e-9);
            assert!((s.center - DVec2::new(7.0, 1.0)).length() < 1e-9);
            assert_eq!((s.low, s.high), (DVec2::new(2.0, -3.0), DVec2::new(12.0, 5.0)));
        }
        assert_eq!(slices(&mesh, &[60.0])[0].area_mm2, 0.0);
    }
}
