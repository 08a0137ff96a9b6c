//! How a piece stands on the bed.

use super::hull::hull;
use super::overhang::{Overhang, overhang};
use super::{PrintError, above_zero, solid_height_mm, z_first};
use crate::catalogue::Printer;
use crate::slices::slices;
use solid::{DVec2, DVec3, Mesh};

/// How a piece stands on the bed.
#[derive(Clone, Debug, PartialEq)]
pub struct BedReport {
    /// Area of the section in the middle of the first layer, mm2.
    pub first_layer_mm2: f64,
    /// Faces that hang over.
    pub overhang: Overhang,
    /// Height of the top above the bed, mm.
    pub height_mm: f64,
    /// How far the finished piece can lean before its centre of mass passes the edge of the first layer's convex
    /// outline, degrees. Negative: it falls over by itself. -90 when nothing touches the bed.
    pub tip_angle_deg: f64,
    /// Centre of mass, taking the solid as evenly filled.
    pub center_of_mass: DVec3,
}

/// A piece that tips at less than this on its first layer gets a brim, degrees: twice what is too little. (Our choice.)
const BRIM_BELOW_DEG: f64 = 10.0;
/// So does one whose first layer is smaller than this, mm2: twice what is too small. (Our choice.)
const BRIM_BELOW_MM2: f64 = 120.0;

impl BedReport {
    /// Whether the piece is better laid with a brim.
    pub fn needs_brim(&self) -> bool {
        self.tip_angle_deg < BRIM_BELOW_DEG || self.first_layer_mm2 < BRIM_BELOW_MM2
    }
}

/// How a closed piece stands on the bed of a printer.
///
/// # Errors
/// [`PrintError`] for a piece without volume and for a printer without layer height.
pub fn bed_report(mesh: &Mesh, printer: &Printer) -> Result<BedReport, PrintError> {
    above_zero(printer, "the layer height", printer.layer_mm)?;
    let height_mm = solid_height_mm(mesh)?;
    let first_mm = printer.layer_mm * 0.5;
    let first_layer_mm2 = slices(&z_first(mesh), &[first_mm])[0].area_mm2;
    let center_of_mass = center_of_mass(mesh);
    let foot = hull(outline_points(mesh, first_mm));
    let tip_angle_deg = tip_angle_deg(&foot, center_of_mass);
    Ok(BedReport { first_layer_mm2, overhang: overhang(mesh, printer), height_mm, tip_angle_deg, center_of_mass })
}

/// Centroid of the solid: tetrahedra from the middle of the box to each face.
fn center_of_mass(mesh: &Mesh) -> DVec3 {
    let origin = mesh.bounds().map_or(DVec3::ZERO, |b| b.center());
    let (mut volume, mut moment) = (0.0, DVec3::ZERO);
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t).map(|p| p - origin);
        let six = a.dot(b.cross(c));
        volume += six;
        moment += (a + b + c) * (six / 4.0);
    }
    origin + moment / volume
}

/// Where the edges of the mesh pass a height.
fn outline_points(mesh: &Mesh, z: f64) -> Vec<DVec2> {
    let mut points = Vec::new();
    for t in 0..mesh.triangles.len() {
        let corners = mesh.corners(t);
        for k in 0..3 {
            // On a closed mesh each edge also runs down, in its other triangle.
            let (low, high) = (corners[k], corners[(k + 1) % 3]);
            if low.z < z && high.z >= z {
                points.push(low.truncate().lerp(high.truncate(), (z - low.z) / (high.z - low.z)));
            }
        }
    }
    points
}

fn tip_angle_deg(foot: &[DVec2], center: DVec3) -> f64 {
    if foot.len() < 3 {
        return -90.0;
    }
    let inset = (0..foot.len()).map(|i| {
        let (a, b) = (foot[i], foot[(i + 1) % foot.len()]);
        (b - a).perp_dot(center.truncate() - a) / (b - a).length()
    });
    libm::atan2(inset.fold(f64::INFINITY, f64::min), center.z).to_degrees()
}

#[cfg(test)]
mod tests {
    use super::super::trial::{column, filament};
    use super::*;
    use solid::cuboid;

    #[test]
    fn a_block_stands_as_far_as_its_half_width() {
        let report = bed_report(&cuboid(DVec3::ZERO, DVec3::new(20.0, 30.0, 100.0)), &filament()).unwrap();
        assert!((report.first_layer_mm2 - 600.0).abs() < 1e-9);
        assert_eq!(report.height_mm, 100.0);
        assert!((report.center_of_mass - DVec3::new(10.0, 15.0, 50.0)).length() < 1e-9);
        // tan = 10 / 50.
        assert!((report.tip_angle_deg - 11.309_932_474).abs() < 1e-8);
        assert_eq!((report.overhang.area_mm2, report.overhang.worst_at), (0.0, None));
    }

    #[test]
    fn a_leaning_prism_falls() {
        // A parallelogram standing on 20 mm and leaning 60 mm over 80: its centre is 30 mm past the middle of its foot.
        let lean = [(0.0, 0.0), (20.0, 0.0), (80.0, 80.0), (60.0, 80.0)].map(|(x, y)| DVec2::new(x, y));
        // Column along y of the bed: turn the column's y up.
        let mut mesh = column(&lean, 40.0);
        for v in &mut mesh.vertices {
            *v = DVec3::new(v.x, -v.z, v.y);
        }
        let report = bed_report(&mesh, &filament()).unwrap();
        assert!((report.first_layer_mm2 - 800.0).abs() < 1e-6);
        assert!((report.center_of_mass - DVec3::new(40.0, -20.0, 40.0)).length() < 1e-9);
        // 0.1 mm up the foot reaches to x = 20.075: 19.925 mm short of the centre, 40 mm high.
        assert!((report.tip_angle_deg.to_radians() + libm::atan2(19.925, 40.0)).abs() < 1e-9);
        // One side leans atan(60 / 80) = 36.9 degrees out: less than 45.
        assert_eq!(report.overhang.area_mm2, 0.0);
        let strict = Printer { overhang_deg: 30.0, ..filament() };
        assert!((bed_report(&mesh, &strict).unwrap().overhang.area_mm2 - 100.0 * 40.0).abs() < 1e-6);
    }

    #[test]
    fn nonsense_is_refused() {
        let block = cuboid(DVec3::ZERO, DVec3::splat(10.0));
        assert!(matches!(bed_report(&Mesh::default(), &filament()), Err(PrintError::Shape { triangles: 0, .. })));
        assert!(matches!(bed_report(&block.clone().reversed(), &filament()), Err(PrintError::Shape { .. })));
        for layer_mm in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            let printer = Printer { layer_mm, ..filament() };
            assert!(matches!(bed_report(&block, &printer), Err(PrintError::Setting { .. })), "{layer_mm}");
        }
    }
}
