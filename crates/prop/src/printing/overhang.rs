//! Faces that lean further out than a printer can lay without support.

use super::bridge::bridged;
use crate::catalogue::Printer;
use solid::{DVec3, Mesh};

/// Faces that hang over.
#[derive(Clone, Debug, PartialEq)]
pub struct Overhang {
    /// Area of the faces that lean further out than the printer's limit, do not lie on the bed and do not bridge, mm2.
    pub area_mm2: f64,
    /// Area of flat ceilings that filament spans from wall to wall, mm2; not in `area_mm2`.
    pub bridged_mm2: f64,
    /// A point in the largest patch that hangs over.
    pub worst_at: Option<DVec3>,
    /// Area of that patch, mm2.
    pub worst_mm2: f64,
    /// The faces that hang over, ascending.
    pub faces: Vec<u32>,
}

/// Leaning is measured from the vertical: a wall 0 degrees, a ceiling 90. A face lies on the bed when no corner of it is
/// higher than half the first layer.
pub(super) fn overhang(mesh: &Mesh, printer: &Printer) -> Overhang {
    let on_bed_mm = printer.layer_mm * 0.5;
    let mut hanging: Vec<u32> = (0..mesh.triangles.len())
        .filter(|t| is_steep(mesh, *t, printer) && mesh.corners(*t).iter().any(|p| p.z > on_bed_mm))
        .map(|t| t as u32)
        .collect();
    let bridged = bridged(mesh, &hanging, printer);
    hanging.retain(|t| bridged.binary_search(t).is_err());
    let area = |faces: &[u32]| faces.iter().fold(0.0, |sum, t| sum + mesh.area_vector(*t as usize).length());
    let mut report = Overhang {
        area_mm2: area(&hanging),
        bridged_mm2: area(&bridged),
        worst_at: None,
        worst_mm2: 0.0,
        faces: hanging.clone(),
    };
    let faces = mesh.subset(&hanging);
    for patch in faces.shells() {
        let area: f64 = patch.iter().map(|t| faces.area_vector(*t as usize).length()).sum();
        if area > report.worst_mm2 {
            report.worst_mm2 = area;
            report.worst_at = Some(point_within(&faces, &patch, area));
        }
    }
    report
}

/// Whether a face leans out further than the printer's limit.
pub(super) fn is_steep(mesh: &Mesh, triangle: usize, printer: &Printer) -> bool {
    let normal = mesh.area_vector(triangle);
    // A face exactly at the limit prints; rounding must not decide.
    -normal.z > (libm::sin(printer.overhang_deg.to_radians()) + 1e-6) * normal.length()
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
