//! Is there enough glue at each joint to hold what hangs on it?

use super::{Checked, Work, note};
use crate::finding::{Band, CHOICE, Finding, SHAPE, input};
use crate::outcome::{JointKind, Role};

/// Tension that glue on printed plastic may be trusted with, N/mm2 (common practice, no source).
const GLUE_N_MM2: f64 = 1.0;
/// A swing or a knock loads a joint this many times harder than holding the prop level (our choice).
const KNOCK: f64 = 3.0;
/// A joint that the spine bridges by this much on both sides is bent by the spine, not by the glue, mm.
const BRIDGE_MM: f64 = 40.0;
/// The least glue worth having, mm2 (our choice).
const LEAST_MM2: f64 = 100.0;
const GRAVITY_MM_S2: f64 = 9.81;

pub(super) fn check(work: &Work) -> Vec<Finding> {
    let bare = work.split.joints.iter().filter(|j| j.kind == JointKind::Faces).map(|j| {
        let s = j.frame.station_mm;
        let message = "Neither collar nor pegs have room here: the spine alone places the pieces. Tape them straight while the glue sets.";
        note("joint_faces", format!("joint J{}", j.number), Some([s, s]), j.glue_mm2, "mm2", message.into())
    });
    bare.chain(glue(work)).collect()
}

fn glue(work: &Work) -> Vec<Finding> {
    let path = &work.placed.path;
    let joints = work.split.joints.len();
    let hand = hand_mm(work);
    work.split
        .joints
        .iter()
        .filter(|joint| !joint.kind.comes_apart())
        .map(|joint| {
            let s = joint.frame.station_mm;
            // What hangs on the side away from the hand, held level: mass and moment about the joint.
            let away = if s < hand { -1.0 } else { 1.0 };
            let hangs = |number: u32| if away > 0.0 { number >= joint.pieces[1] } else { number <= joint.pieces[0] };
            let (mut mass_g, mut moment_n_mm) = (0.0, 0.0);
            for (piece, bed) in work.printed.pieces.iter().zip(&work.printed.beds) {
                let at = path.station_of(piece.to_prop.transform_point3(bed.center_of_mass));
                if (hangs(piece.number) || piece.number > joints as u32 + 1) && (at - s) * away > 0.0 {
                    mass_g += piece.mass_g.high;
                    moment_n_mm += piece.mass_g.high / 1000.0 * GRAVITY_MM_S2 * (at - s) * away;
                }
            }
            let parts = work.bays.bays.iter().map(|b| (work.project.parts[b.part].row.mass_g, path.station_of(b.place.translation)));
            let bars = if away > 0.0 { fittings(work, s) } else { Vec::new() };
            for (mass, at) in bars.into_iter().chain(parts.filter(|(_, at)| (at - s) * away > 0.0)) {
                mass_g += mass;
                moment_n_mm += mass / 1000.0 * GRAVITY_MM_S2 * (at - s) * away;
            }
            let bridged = work.inside.rail.as_ref().is_some_and(|rail| {
                let d = rail.way.distance_at(s);
                rail.spine_mm.iter().any(|l| l[0] < d - BRIDGE_MM && l[1] > d + BRIDGE_MM)
            });
            let pull = KNOCK * mass_g / 1000.0 * GRAVITY_MM_S2 / GLUE_N_MM2;
            // Two flanges of half the area each, a section's thickness apart: resisting moment = stress x area x h / 4.
            let thick_mm = (!bridged).then(|| thickness(work, joint.pieces[0], s));
            let asks = thick_mm.map_or(pull, |h| 4.0 * KNOCK * moment_n_mm / (GLUE_N_MM2 * h));
            let need = asks.max(LEAST_MM2);
            let kind = match joint.kind {
                JointKind::Collar => "faces and collar",
                JointKind::Pegs => "faces and pegs",
                _ => "faces alone",
            };
            Checked {
                id: "joint_glue",
                subject: format!("joint J{}", joint.number),
                station_mm: Some([s, s]),
                value: Band::about(joint.glue_mm2, 0.05 * joint.glue_mm2),
                unit: "mm2",
                min: Some(need),
                max: None,
                source: format!(
                    "{mass_g:.0} g beyond it, held level at station {hand:.0} mm, times {KNOCK:.0}, at {GLUE_N_MM2:.0} N/mm2 of glue{} (common practice, no source)",
                    if bridged { ", bending taken by the spine" } else { "" }
                ),
                message: format!("{:.0} mm2 of glue on {kind}; {need:.0} mm2 are needed.", joint.glue_mm2),
                remedy: "lead the spine across this joint, ask for a collar, or move the cut to a thicker place".into(),
            }
            .finding()
            .worked_from([
                input("mass beyond it", mass_g, "g", "pieces, spine, strips and parts"),
                input("their moment about it", moment_n_mm, "N mm", "held level at the grip"),
                input("times, swung or knocked", KNOCK, "1", CHOICE),
                input("borne by glue", GLUE_N_MM2, "N/mm2", "common practice, no source"),
                input("least that is worth it", LEAST_MM2, "mm2", CHOICE),
            ].into_iter().chain(thick_mm.map(|h| input("thickness there", h, "mm", SHAPE))))
        })
        .collect()
}

/// Where the prop is held: the middle of the solid body before the first lit one (the grip), or of the longest solid one.
fn hand_mm(work: &Work) -> f64 {
    let core: Vec<_> = work.placed.core().collect();
    let lit = core.iter().position(|b| b.role == Role::Lit);
    let grip = match lit {
        Some(0) => None,
        Some(lit) => core.get(lit - 1),
        None => core
            .iter()
            .max_by(|a, b| (a.station_mm[1] - a.station_mm[0]).total_cmp(&(b.station_mm[1] - b.station_mm[0]))),
    };
    grip.map_or(0.0, |b| f64::midpoint(b.station_mm[0], b.station_mm[1]))
}

/// Mass of spine and strips beyond a station, each with the station of its middle: g, mm.
fn fittings(work: &Work, station_mm: f64) -> Vec<(f64, f64)> {
    let Some(rail) = &work.inside.rail else { return Vec::new() };
    let from = rail.way.distance_at(station_mm);
    let part = |span: &[f64; 2], g_mm: f64| {
        let start = span[0].max(from);
        (span[1] > start).then(|| ((span[1] - start) * g_mm, rail.way.station_at((start + span[1]) / 2.0)))
    };
    let bar_g_mm = work.project.spine.as_ref().map_or(0.0, |s| s.bar.g_mm());
    let strip_g_mm =
        work.project.light.as_ref().map_or(0.0, |l| l.strip.mass_g_m / 1000.0 * f64::from(rail.layout.rows));
    let spine = rail.spine_mm.iter().filter_map(|s| part(s, bar_g_mm));
    spine.chain(rail.strip_mm.iter().filter_map(|s| part(s, strip_g_mm))).collect()
}

/// Thickness of the prop at a station, mm.
fn thickness(work: &Work, piece: u32, station_mm: f64) -> f64 {
    let Some(made) = work.split.pieces.iter().find(|p| p.number == piece) else { return 1.0 };
    let x = work.placed.path.point(station_mm).x;
    let mesh = &work.placed.bodies[made.body].mesh;
    let slice = crate::slices::slices(mesh, &[x - 1.0])[0];
    let size = slice.high - slice.low;
    if size.is_finite() { size.min_element().max(1.0) } else { 1.0 }
}
