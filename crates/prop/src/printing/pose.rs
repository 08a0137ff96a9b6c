//! Turning a piece from the prop onto the bed, and whether it fits there.

use super::hull::hull;
use crate::catalogue::Printer;
use crate::outcome::Pose;
use crate::path::PathFrame;
use solid::{DAffine3, DMat3, DVec2, DVec3, Mesh};

/// A piece turned as it prints.
#[derive(Clone, Debug)]
pub struct OnBed {
    /// The piece: bed at z = 0, first corner of its box at the origin.
    pub mesh: Mesh,
    /// From the mesh's coordinates back to the prop frame: a rigid motion.
    pub to_prop: DAffine3,
    /// How it fits; `None` when it does not at any turn (it is then laid straight).
    pub spare: Option<Spare>,
}

/// Room left on a printer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spare {
    /// How far the piece is turned about the vertical to fit, degrees: 0 when it fits straight.
    pub turn_deg: f64,
    /// Room left over in width, depth and height, mm, besides the margins.
    pub room_mm: DVec3,
}

/// Lays a piece in the prop frame on a printer's bed.
///
/// Upright, the direction `along` of `frame` points up and `across` to the right; inverted, `along` points down;
/// lying, `along` points to the right and `through` up. Where that does not fit, the piece is turned about the vertical
/// in steps of 5 degrees: by 90 if that does, otherwise by what leaves the most room.
pub fn to_bed(mesh: &Mesh, pose: Pose, frame: &PathFrame, printer: &Printer) -> OnBed {
    let (across, through, along) = (frame.across, frame.through, frame.along);
    // Rows: the bed's x, y and z in the prop frame. Each is a right-handed frame.
    let pose_rows = match pose {
        Pose::Upright => DMat3::from_cols(across, through, along),
        Pose::Inverted => DMat3::from_cols(across, -through, -along),
        Pose::Lying => DMat3::from_cols(along, across, through),
    };
    let prop_to_pose = pose_rows.transpose();
    let posed: Vec<DVec3> = mesh.vertices.iter().map(|v| prop_to_pose * *v).collect();
    let outline = hull(posed.iter().map(|v| v.truncate()).collect());
    let (low, high) =
        posed.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v.z), high.max(v.z)));
    let footprint = |cos: f64, sin: f64| {
        let turned = outline.iter().map(|p| DVec2::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos));
        let (min, max) = turned.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(min, max), p| (min.min(p), max.max(p)));
        (max - min).max(DVec2::ZERO)
    };
    let spare = turn_to_fit(&footprint, (high - low).max(0.0), 180, printer);
    let (sin, cos) = sincos_deg(spare.map_or(0.0, |s| s.turn_deg));
    let turn = DMat3::from_cols(DVec3::new(cos, sin, 0.0), DVec3::new(-sin, cos, 0.0), DVec3::Z);
    let prop_to_turned = turn * prop_to_pose;
    let turned: Vec<DVec3> = mesh.vertices.iter().map(|v| prop_to_turned * *v).collect();
    let corner = turned.iter().copied().reduce(DVec3::min).unwrap_or(DVec3::ZERO);
    let back = prop_to_turned.transpose();
    OnBed {
        mesh: Mesh { vertices: turned.iter().map(|v| *v - corner).collect(), triangles: mesh.triangles.clone() },
        to_prop: DAffine3 { matrix3: back, translation: back * corner },
        spare,
    }
}

/// Whether a box of this size (width, depth, height, mm) fits a printer within its margins, turned about the vertical
/// in steps of 5 degrees where it does not fit straight. A piece whose box fits also fits itself.
pub fn fits(size_mm: DVec3, printer: &Printer) -> Option<Spare> {
    let footprint = |cos: f64, sin: f64| {
        DVec2::new(size_mm.x * cos.abs() + size_mm.y * sin, size_mm.x * sin + size_mm.y * cos.abs())
    };
    turn_to_fit(&footprint, size_mm.z, 90, printer)
}

const TURN_STEP_DEG: u32 = 5;

/// The first of: straight or a quarter turn (which leaves more room), then the turn below `below_deg` with the most
/// room on its tighter side.
fn turn_to_fit(
    footprint: &dyn Fn(f64, f64) -> DVec2,
    height_mm: f64,
    below_deg: u32,
    printer: &Printer,
) -> Option<Spare> {
    let [width, depth, height] = printer.bed_mm;
    let m = printer.margin_mm;
    let at = |deg: u32| {
        let turn_deg = f64::from(deg);
        let (sin, cos) = sincos_deg(turn_deg);
        let size = footprint(cos, sin);
        let room_mm = DVec3::new(width - 2.0 * m - size.x, depth - 2.0 * m - size.y, height - m - height_mm);
        // Rounding in a turn must not refuse a piece that fits exactly.
        (room_mm.min_element() >= -1e-9).then_some(Spare { turn_deg, room_mm: room_mm.max(DVec3::ZERO) })
    };
    let roomiest = |turns: &mut dyn Iterator<Item = u32>| {
        turns.filter_map(at).fold(None, |best: Option<Spare>, s| match best {
            Some(b) if b.room_mm.truncate().min_element() >= s.room_mm.truncate().min_element() => best,
            _ => Some(s),
        })
    };
    roomiest(&mut [0, 90].into_iter())
        .or_else(|| roomiest(&mut (1..below_deg / TURN_STEP_DEG).map(|k| k * TURN_STEP_DEG)))
}

/// Sine and cosine, exact for quarter turns.
pub(super) fn sincos_deg(deg: f64) -> (f64, f64) {
    if deg == 0.0 {
        (0.0, 1.0)
    } else if deg == 90.0 {
        (1.0, 0.0)
    } else if deg == 180.0 {
        (0.0, -1.0)
    } else if deg == 270.0 {
        (-1.0, 0.0)
    } else {
        libm::sincos(deg.to_radians())
    }
}

#[cfg(test)]
mod tests {
    use super::super::trial::filament;
    use super::*;
    use crate::path::CentrePath;
    use solid::prism;

    fn bent_frame() -> PathFrame {
        let points = (0..40).map(|i| DVec3::new(f64::from(i) * 10.0, f64::from(i * i) * 0.1, f64::from(i) * 0.7));
        CentrePath::new(points.collect()).unwrap().frame(210.0)
    }

    /// A box lying along the frame with a nose at its tip end, so that no two ways of laying it look alike.
    fn piece(frame: &PathFrame) -> Mesh {
        let place = DAffine3 { matrix3: frame.basis(), translation: frame.point };
        let outline = [(-20.0, -6.0), (25.0, -6.0), (20.0, 9.0), (-20.0, 6.0)].map(|(x, y)| DVec2::new(x, y));
        prism(&outline, &place, -10.0, 110.0)
    }

    #[test]
    fn every_pose_is_rigid_sits_on_the_bed_and_comes_back() {
        let frame = bent_frame();
        let piece = piece(&frame);
        for pose in [Pose::Upright, Pose::Inverted, Pose::Lying] {
            let laid = to_bed(&piece, pose, &frame, &filament());
            assert_eq!(laid.mesh.bounds().unwrap().min, DVec3::ZERO);
            assert!((laid.mesh.volume_mm3() - piece.volume_mm3()).abs() < 1e-6);
            assert!((laid.to_prop.matrix3.determinant() - 1.0).abs() < 1e-12);
            for (v, w) in laid.mesh.vertices.iter().zip(&piece.vertices) {
                assert!((laid.to_prop.transform_point3(*v) - *w).length() < 1e-11);
            }
            let up = laid.to_prop.transform_vector3(DVec3::Z);
            let expected = match pose {
                Pose::Upright => frame.along,
                Pose::Inverted => -frame.along,
                Pose::Lying => frame.through,
            };
            assert!((up - expected).length() < 1e-12);
            let height = laid.mesh.bounds().unwrap().size().z;
            assert!((height - if pose == Pose::Lying { 15.0 } else { 120.0 }).abs() < 1e-9, "{pose:?} {height}");
        }
    }

    #[test]
    fn boxes_fit_straight_then_turned() {
        let printer = filament();
        // Room: 210 x 210 x 245.
        let straight = fits(DVec3::new(210.0, 100.0, 245.0), &printer).unwrap();
        assert_eq!((straight.turn_deg, straight.room_mm), (0.0, DVec3::new(0.0, 110.0, 0.0)));
        assert!(fits(DVec3::new(10.0, 10.0, 245.1), &printer).is_none());
        // A 280 x 15 bar takes (280 + 15) / sqrt 2 = 208.6 mm at 45 degrees.
        let turned = fits(DVec3::new(280.0, 15.0, 20.0), &printer).unwrap();
        assert_eq!(turned.turn_deg, 45.0);
        assert!((turned.room_mm.x - (210.0 - 295.0 / 2f64.sqrt())).abs() < 1e-9);
        assert!(fits(DVec3::new(283.0, 15.0, 20.0), &printer).is_none());
        let narrow = Printer { bed_mm: [100.0, 220.0, 250.0], ..printer };
        assert_eq!(fits(DVec3::new(200.0, 80.0, 20.0), &narrow).unwrap().turn_deg, 90.0);
    }

    #[test]
    fn a_long_piece_is_turned_on_the_bed() {
        let frame = bent_frame();
        let place = DAffine3 { matrix3: frame.basis(), translation: frame.point };
        let outline = [(-7.0, -7.0), (7.0, -7.0), (7.0, 7.0), (-7.0, 7.0)].map(|(x, y)| DVec2::new(x, y));
        let bar = prism(&outline, &place, 0.0, 280.0);
        let laid = to_bed(&bar, Pose::Lying, &frame, &filament());
        let spare = laid.spare.unwrap();
        assert!(spare.turn_deg == 45.0 || spare.turn_deg == 135.0);
        let size = laid.mesh.bounds().unwrap().size();
        assert!(size.x <= 210.0 && size.y <= 210.0);
        assert!((size.x + spare.room_mm.x - 210.0).abs() < 1e-9);
        for (v, w) in laid.mesh.vertices.iter().zip(&bar.vertices) {
            assert!((laid.to_prop.transform_point3(*v) - *w).length() < 1e-11);
        }
        assert!(to_bed(&bar, Pose::Upright, &frame, &filament()).spare.is_none());
    }
}
