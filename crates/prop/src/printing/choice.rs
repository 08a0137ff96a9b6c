//! Which way a piece stands on the bed: overhang on faces that are seen, strength across the layers, and time.

use super::bed::BedReport;
use crate::outcome::{Pose, Role};
use crate::path::PathFrame;
use solid::{Bvh, DVec3, Mesh, Plane};

/// What a pose costs.
#[derive(Clone, Debug, PartialEq)]
pub struct PoseTrial {
    /// The pose.
    pub pose: Pose,
    /// Whether some printer takes the piece so.
    pub taken: bool,
    /// Area that hangs over where the maker's surface is seen, or where no hand gets in to clear it, mm2.
    pub seen_mm2: f64,
    /// Area that hangs over elsewhere (cut faces, bores, sockets), mm2.
    pub hidden_mm2: f64,
    /// Whether the layers lie square to the prop's axis in a piece that is long for its section.
    pub weak: bool,
    /// Time on the first printer that takes it, s.
    pub time_s: f64,
    /// Area of the first layer, mm2.
    pub foot_mm2: f64,
    /// All of it as hours of work, s; the least wins.
    pub cost_s: f64,
}

/// Scraping and sanding a square centimetre that was held up by support takes ten minutes, s/mm2. (Our choice.)
const SEEN_S_MM2: f64 = 6.0;
/// Breaking the support out where nobody looks takes one, s/mm2. (Our choice.)
const HIDDEN_S_MM2: f64 = 0.6;
/// Layers hold each other about half as well as the plastic within one (common practice, no source): a piece that bends
/// and breaks there costs an evening, so weigh it as an hour; a spine that takes the bending leaves a quarter. (Our
/// choice.)
const WEAK_S: [f64; 2] = [3600.0, 900.0];
/// A piece is long when it is this many times as long as it is wide. (Our choice.)
const LONG: f64 = 4.0;
/// A piece that falls over by itself, or nearly, may cost the print. (Our choice.)
const TIPPY_S: f64 = 7200.0;
const TIPPY_DEG: f64 = 5.0;
/// A patch that hangs over by more than this wants support set and taken out: half an hour. (The area: common practice, no
/// source; the time: our choice.)
const SUPPORT_S: f64 = 1800.0;
const SUPPORT_ABOVE_MM2: f64 = 60.0;
/// Costs nearer than this are alike, s: the larger foot decides. (Our choice.)
const ALIKE_S: f64 = 120.0;
/// A face this near to a cut or to the void belongs to it, mm: above the trimming of pieces, below any wall.
const NEAR_MM: f64 = 0.05;

/// A piece as it was made, for the question which of its faces are seen.
pub struct Faces<'a> {
    role: Role,
    planes: [Option<&'a Plane>; 2],
    void: Option<Bvh>,
}

impl<'a> Faces<'a> {
    /// The cuts at a piece's ends and its void, prop frame.
    pub fn new(role: Role, planes: [Option<&'a Plane>; 2], void: &Mesh) -> Faces<'a> {
        Faces { role, planes, void: (!void.triangles.is_empty()).then(|| Bvh::new(void)) }
    }

    /// Whether support on a face would have to be cleared with care: on the maker's surface, or inside a lit piece.
    fn is_seen(&self, point: DVec3) -> bool {
        if self.planes.iter().flatten().any(|p| p.distance_mm(point).abs() < NEAR_MM) {
            return false;
        }
        self.role == Role::Lit || self.void.as_ref().is_none_or(|void| void.nearest(point, NEAR_MM).is_none())
    }
}

/// What there is to say of a pose besides its bed report.
pub struct PoseSpec {
    /// The pose.
    pub pose: Pose,
    /// Whether some printer takes the piece so.
    pub taken: bool,
    /// Time there, s.
    pub time_s: f64,
    /// Whether a spine takes the bending.
    pub spine: bool,
}

/// Weighs one pose. `posed` is the piece as it would print, `to_prop` leads back.
pub fn weigh(
    spec: &PoseSpec,
    faces: &Faces,
    posed: &Mesh,
    to_prop: &solid::DAffine3,
    frame: &PathFrame,
    report: &BedReport,
) -> PoseTrial {
    let (mut seen_mm2, mut hidden_mm2) = (0.0, 0.0);
    for t in &report.overhang.faces {
        let [a, b, c] = posed.corners(*t as usize);
        let area = posed.area_vector(*t as usize).length();
        let middle = to_prop.transform_point3((a + b + c) / 3.0);
        *(if faces.is_seen(middle) { &mut seen_mm2 } else { &mut hidden_mm2 }) += area;
    }
    let [length, width] = along_and_across(posed, to_prop, frame);
    let weak = spec.pose != Pose::Lying && length > LONG * width;
    let tippy = if report.tip_angle_deg < TIPPY_DEG { TIPPY_S } else { 0.0 };
    let cost_s = spec.time_s
        + seen_mm2 * SEEN_S_MM2
        + hidden_mm2 * HIDDEN_S_MM2
        + if weak { WEAK_S[usize::from(spec.spine)] } else { 0.0 }
        + tippy
        + if report.overhang.worst_mm2 > SUPPORT_ABOVE_MM2 { SUPPORT_S } else { 0.0 };
    PoseTrial {
        pose: spec.pose,
        taken: spec.taken,
        seen_mm2,
        hidden_mm2,
        weak,
        time_s: spec.time_s,
        foot_mm2: report.first_layer_mm2,
        cost_s,
    }
}

/// The best of the trials: one that a printer takes, then the least cost; among those alike the largest foot, then the
/// first.
pub fn best(trials: &[PoseTrial]) -> Option<usize> {
    let taken = trials.iter().any(|t| t.taken);
    let able = || trials.iter().enumerate().filter(|(_, t)| t.taken == taken);
    let least = able().map(|(_, t)| t.cost_s).fold(f64::INFINITY, f64::min);
    able()
        .filter(|(_, t)| t.cost_s <= least + ALIKE_S)
        .max_by(|(i, a), (k, b)| a.foot_mm2.total_cmp(&b.foot_mm2).then(k.cmp(i)))
        .map(|(i, _)| i)
}

/// Length of a piece along the prop and its narrower measure across, mm.
fn along_and_across(posed: &Mesh, to_prop: &solid::DAffine3, frame: &PathFrame) -> [f64; 2] {
    let span = |direction: DVec3| {
        let along = posed.vertices.iter().map(|v| to_prop.transform_point3(*v).dot(direction));
        let (low, high) = along.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), d| (l.min(d), h.max(d)));
        (high - low).max(0.0)
    };
    [span(frame.along), span(frame.across).min(span(frame.through))]
}

#[cfg(test)]
mod tests {
    use super::super::trial::filament;
    use super::super::{bed_report, to_bed};
    use super::*;
    use crate::path::CentrePath;
    use solid::{DAffine3, DVec2, cuboid, prism};

    fn frame() -> PathFrame {
        CentrePath::new(vec![DVec3::ZERO, DVec3::X * 300.0]).unwrap().frame(0.0)
    }

    fn trial(mesh: &Mesh, void: &Mesh, role: Role, pose: Pose, time_s: f64, spine: bool) -> PoseTrial {
        let laid = to_bed(mesh, pose, &frame(), &filament());
        let report = bed_report(&laid.mesh, &filament()).unwrap();
        let spec = PoseSpec { pose, taken: laid.spare.is_some(), time_s, spine };
        weigh(&spec, &Faces::new(role, [None, None], void), &laid.mesh, &laid.to_prop, &frame(), &report)
    }

    #[test]
    fn a_long_bar_lies_and_a_short_one_stands_on_its_larger_foot() {
        // 160 x 20 x 20: nothing hangs over either way, but standing its layers are square to its length.
        let bar = cuboid(DVec3::ZERO, DVec3::new(160.0, 20.0, 20.0));
        let none = Mesh::default();
        let of = |mesh: &Mesh, pose| trial(mesh, &none, Role::Plain, pose, 3600.0, false);
        let trials = [of(&bar, Pose::Upright), of(&bar, Pose::Lying)];
        assert!(trials[0].weak && !trials[1].weak);
        assert_eq!((trials[0].seen_mm2, trials[1].seen_mm2), (0.0, 0.0));
        assert_eq!(trials[0].cost_s - trials[1].cost_s, 3600.0);
        assert_eq!(best(&trials), Some(1));
        // Alike in all but the foot.
        let short = cuboid(DVec3::ZERO, DVec3::new(30.0, 20.0, 20.0));
        let trials = [of(&short, Pose::Upright), of(&short, Pose::Lying)];
        assert_eq!(best(&trials), Some(1));
    }

    #[test]
    fn a_round_show_face_stands_even_if_it_takes_longer() {
        let around: Vec<DVec2> = super::super::trial::circle(15.0, 96);
        let turn = DAffine3::from_mat3(solid::DMat3::from_cols(DVec3::Y, DVec3::Z, DVec3::X));
        let round = prism(&around, &turn, 0.0, 100.0);
        let none = Mesh::default();
        let up = trial(&round, &none, Role::Plain, Pose::Upright, 7200.0, true);
        let down = trial(&round, &none, Role::Plain, Pose::Lying, 3600.0, true);
        assert_eq!(up.seen_mm2, 0.0);
        // Below 45 degrees lies a quarter of the barrel, less the strip that touches the bed.
        let quarter = std::f64::consts::PI * 15.0 / 2.0 * 100.0;
        assert!((0.8 * quarter..1.02 * quarter).contains(&down.seen_mm2), "{} of {quarter}", down.seen_mm2);
        assert_eq!(best(&[up, down]), Some(0));
    }

    #[test]
    fn bores_are_hidden_unless_the_piece_is_lit() {
        let hole = cuboid(DVec3::new(-1.0, 5.0, 5.0), DVec3::new(101.0, 25.0, 25.0));
        let body = cuboid(DVec3::ZERO, DVec3::new(100.0, 30.0, 30.0));
        let mesh = solid::difference(&body, &hole).unwrap();
        let plain = trial(&mesh, &hole, Role::Plain, Pose::Lying, 0.0, true);
        let lit = trial(&mesh, &hole, Role::Lit, Pose::Lying, 0.0, true);
        // The ceiling of the bore: 100 x 20, too wide to bridge.
        assert!((plain.hidden_mm2 - 2000.0).abs() < 1e-6 && plain.seen_mm2 == 0.0);
        assert!((lit.seen_mm2 - 2000.0).abs() < 1e-6 && lit.hidden_mm2 == 0.0);
    }

    #[test]
    fn a_pose_that_no_printer_takes_loses() {
        let long = cuboid(DVec3::ZERO, DVec3::new(280.0, 14.0, 14.0));
        let none = Mesh::default();
        let up = trial(&long, &none, Role::Plain, Pose::Upright, 10.0, true);
        let down = trial(&long, &none, Role::Plain, Pose::Lying, 1e6, true);
        assert!(!up.taken && down.taken);
        assert_eq!(best(&[up.clone(), down]), Some(1));
        assert_eq!(best(&[up]), Some(0));
        assert_eq!(best(&[]), None);
    }
}
