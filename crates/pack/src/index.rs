//! `pieces/index.json`: what each piece is and where it belongs.

use crate::findings::written;
use prop::finding::Band;
use prop::outcome::{Bought, Joint, JointKind, MagnetPair, Outcome, PegSet, Piece, Pose, Role};
use prop::project::{Show, Side};
use serde::Serialize;
use solid::DAffine3;

#[derive(Serialize)]
struct Index<'a> {
    pieces: Vec<Entry<'a>>,
    joints: Vec<JointEntry<'a>>,
}

#[derive(Serialize)]
struct JointEntry<'a> {
    number: u32,
    station_mm: f64,
    kind: JointKind,
    /// Butt side, tip side.
    pieces: [u32; 2],
    show: Show,
    #[serde(skip_serializing_if = "Option::is_none")]
    pegs: Option<&'a PegSet>,
    #[serde(skip_serializing_if = "Option::is_none")]
    take_down: Option<TakeDownEntry<'a>>,
}

/// A joint that comes apart. The plug's piece goes in along +z of the axes, turned back by the turning angle (about +z),
/// and is then turned forward to lock.
#[derive(Serialize)]
struct TakeDownEntry<'a> {
    name: &'a str,
    plug: Side,
    /// From the joint's axes to the prop frame.
    to_prop: [f64; 16],
    reach_mm: f64,
    gap_mm: f64,
    turn_deg: f64,
    cap: bool,
    /// Middle of each lock bump, in the joint's axes, and how far its bite reaches.
    bumps: Vec<[f64; 4]>,
    magnets: &'a [MagnetPair],
    bought: &'a [Bought],
    rod_stands_mm: f64,
}

#[derive(Serialize)]
struct Entry<'a> {
    /// Beside this index.
    file: String,
    name: &'a str,
    number: u32,
    body: &'a str,
    role: Role,
    printer: &'a str,
    bed_mm: [f64; 3],
    pose: Pose,
    to_prop: [f64; 16],
    station_mm: [f64; 2],
    wall_mm: Option<f64>,
    material: &'a str,
    mass_g: Band,
    print_time_s: Band,
    volume_mm3: f64,
    taken_mm3: f64,
    added_mm3: f64,
}

/// The file's content.
pub(crate) fn json(outcome: &Outcome) -> String {
    let joints = outcome.joints.iter().map(joint).collect();
    written(&Index { pieces: outcome.pieces.iter().map(entry).collect(), joints })
}

fn joint(joint: &Joint) -> JointEntry<'_> {
    JointEntry {
        number: joint.number,
        station_mm: joint.frame.station_mm,
        kind: joint.kind,
        pieces: joint.pieces,
        show: joint.show,
        pegs: joint.pegs.as_ref(),
        take_down: joint.take_down.as_ref().map(|t| TakeDownEntry {
            name: &t.name,
            plug: t.plug,
            to_prop: row_major(&t.axes),
            reach_mm: t.reach_mm,
            gap_mm: t.gap_mm,
            turn_deg: t.turn_deg,
            cap: t.cap,
            bumps: t.bumps.iter().map(|(p, r)| [p.x, p.y, p.z, *r]).collect(),
            magnets: &t.magnets,
            bought: &t.bought,
            rod_stands_mm: t.rod_stands_mm,
        }),
    }
}

fn entry(piece: &Piece) -> Entry<'_> {
    Entry {
        file: format!("{}.3mf", piece.name),
        name: &piece.name,
        number: piece.number,
        body: &piece.body,
        role: piece.role,
        printer: &piece.printer,
        bed_mm: piece.bed_mm,
        pose: piece.pose,
        to_prop: row_major(&piece.to_prop),
        station_mm: piece.station_mm,
        wall_mm: piece.wall_mm,
        material: &piece.material,
        mass_g: piece.mass_g,
        print_time_s: piece.print_time_s,
        volume_mm3: piece.volume_mm3,
        taken_mm3: piece.taken_mm3,
        added_mm3: piece.added_mm3,
    }
}

/// The map as a 4 x 4 matrix, row by row, for columns of coordinates: the shift is in places 3, 7 and 11.
pub(crate) fn row_major(map: &DAffine3) -> [f64; 16] {
    let (m, t) = (map.matrix3, map.translation);
    [
        m.x_axis.x, m.y_axis.x, m.z_axis.x, t.x, //
        m.x_axis.y, m.y_axis.y, m.z_axis.y, t.y, //
        m.x_axis.z, m.y_axis.z, m.z_axis.z, t.z, //
        0.0, 0.0, 0.0, 1.0,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use solid::{DMat3, DVec3};

    #[test]
    fn the_matrix_maps_a_column_as_the_motion_does() {
        let map = DAffine3::from_mat3_translation(
            DMat3::from_cols(DVec3::Y, DVec3::Z, DVec3::X),
            DVec3::new(10.0, 20.0, 30.0),
        );
        let (m, p) = (row_major(&map), DVec3::new(1.0, 2.0, 3.0));
        let row = |r: usize| m[4 * r] * p.x + m[4 * r + 1] * p.y + m[4 * r + 2] * p.z + m[4 * r + 3];
        assert_eq!(DVec3::new(row(0), row(1), row(2)), map.transform_point3(p));
        assert_eq!(m[12..], [0.0, 0.0, 0.0, 1.0]);
    }
}
