//! Faces that lean further out than a printer can lay without support.

use crate::catalogue::Printer;
use solid::{DVec3, Mesh};

/// Faces that hang over.
#[derive(Clone, Debug, PartialEq)]
pub struct Overhang {
    /// Area of the faces that lean further out than the printer's limit and do not lie on the bed, mm2.
    pub area_mm2: f64,
    /// A point in the largest patch of them.
    pub worst_at: Option<DVec3>,
    /// Area of that patch, mm2.
    pub worst_mm2: f64,
}

/// Leaning is measured from the vertical: a wall 0 degrees, a ceiling 90. A face lies on the bed when no corner of it is
/// higher than half the first layer.
pub(super) fn overhang(mesh: &Mesh, printer: &Printer) -> Overhang {
    // A face exactly at the limit prints; rounding must not decide.
    let steepest = libm::sin(printer.overhang_deg.to_radians()) + 1e-6;
    let on_bed_mm = printer.layer_mm * 0.5;
    let hanging: Vec<u32> = (0..mesh.triangles.len())
        .filter(|t| {
            let normal = mesh.area_vector(*t);
            -normal.z > steepest * normal.length() && mesh.corners(*t).iter().any(|p| p.z > on_bed_mm)
        })
        .map(|t| t as u32)
        .collect();
    let faces = mesh.subset(&hanging);
    let mut report = Overhang { area_mm2: 0.0, worst_at: None, worst_mm2: 0.0 };
    for patch in faces.shells() {
        let area: f64 = patch.iter().map(|t| faces.area_vector(*t as usize).length()).sum();
        report.area_mm2 += area;
        if area > report.worst_mm2 {
            report.worst_mm2 = area;
            report.worst_at = Some(point_within(&faces, &patch, area));
        }
    }
    report
}

/// The middle of the face nearest to the patch's centre, so that the point lies on the patch even if that is a ring.
fn point_within(faces: &Mesh, patch: &[u32], area_mm2: f64) -> DVec3 {
    let middle = |t: &u32| {
        let [a, b, c] = faces.corners(*t as usize);
        (a + b + c) / 3.0
    };
    let center = patch.iter().map(|t| middle(t) * faces.area_vector(*t as usize).length()).sum::<DVec3>() / area_mm2;
    patch
        .iter()
        .map(middle)
        .min_by(|p, q| p.distance_squared(center).total_cmp(&q.distance_squared(center)))
        .unwrap_or(center)
}
