//! Collar tongues: grown from the butt-side piece's wall, behind skin that stays dark.

use super::{Fastening, JointError, Loops, Place, common, extent, place_of, rect};
use crate::outcome::JointKind;
use crate::project::Glow;
use crate::rail::fitting::Rail;
use solid::section::{area_mm2, inset, intersect, subtract, thinned};
use solid::{DAffine3, DVec2, Mesh};

/// How far a collar reaches into the next piece, mm (common practice: laps of 8 to 15 mm).
pub const COLLAR_REACH_MM: f64 = 8.0;
/// How far its root runs along the wall of its own piece, mm.
const ROOT_MM: f64 = 6.0;
/// Thickness of a collar, mm: four beads of a 0.4 nozzle.
const COLLAR_MM: f64 = 1.6;
/// How deep the root is sunk into the wall, mm, so that no two surfaces coincide.
const SUNK_MM: f64 = 0.5;
/// A collar narrower than this in all is not worth printing, mm.
const LEAST_COLLAR_MM: f64 = 8.0;
/// A collar follows the cavity this nearly, mm: far less than its glue gap, and than what a nozzle draws.
const COLLAR_OUTLINE_MM: f64 = 0.02;

/// A box in the section: range of x, range of y, mm.
pub(crate) type Zone = ([f64; 2], [f64; 2]);

/// Beyond anything in a section, mm.
const FAR_MM: f64 = 1e4;

/// The parts of a section whose skin stays dark, given the extent of the cavity there: everything that is not window.
pub(crate) fn dark_zones(glow: Glow, rail: Option<&Rail>, [low, high]: [DVec2; 2]) -> Vec<Zone> {
    let all = [-FAR_MM, FAR_MM];
    match glow {
        Glow::Around => Vec::new(),
        Glow::Edges => {
            // The outer third of each half, 8 mm at least, is window.
            let open = |reach: f64| (reach / 3.0).max(8.0);
            vec![([low.x + open(-low.x), high.x - open(high.x)], all)]
        }
        Glow::Faces => {
            // Light spreads 60 degrees from the pixels to the faces; the edges beside that are dark.
            let (emit, slot) = rail.map_or((0.0, 0.0), |r| (r.layout.emit_u, r.layout.open_v));
            let beside = slot + 1.732 * (high.x.max(-low.x) - emit).max(0.0);
            vec![(all, [beside, FAR_MM]), (all, [-FAR_MM, -beside])]
        }
    }
}

/// Where a collar may be: behind dark skin, off the rail and off the wires.
fn collar_room(place: &Place, inside: &Loops) -> Result<Loops, JointError> {
    let gap = place.glue_gap_mm;
    let mut room: Loops = Vec::new();
    for (x, y) in dark_zones(place.glow, place.rail, extent(inside)) {
        if x[0] < x[1] && y[0] < y[1] {
            room.extend(rect(x, y));
        }
    }
    let Some(rail) = place.rail else { return Ok(room) };
    for zone in rail.layout.kept_free(gap) {
        room = subtract(&room, &[zone])?;
    }
    Ok(room)
}

/// The collar at a cut, if there is room for one. It is the same however long the pieces are.
///
/// # Errors
/// [`JointError`] when geometry fails.
pub fn collar(place: &Place) -> Result<Option<Fastening>, JointError> {
    let Some(cavity) = place.cavity[0].filter(|_| !place.meeting) else { return Ok(None) };
    let reach = COLLAR_REACH_MM;
    let ahead = thinned(&common(cavity, &place.basis, &[0.02, reach / 2.0, reach])?, COLLAR_OUTLINE_MM);
    let behind = thinned(&common(cavity, &place.basis, &[-0.02, -ROOT_MM / 2.0, -ROOT_MM])?, COLLAR_OUTLINE_MM);
    let inside = intersect(&ahead, &behind)?;
    let gap = place.glue_gap_mm;
    let skin = inset(&ahead, gap)?;
    let core = |share: f64| inset(&inside, (gap + COLLAR_MM) * share);
    let mut tongues: Loops = Vec::new();
    let mut roots: Vec<(f64, f64, Loops)> = Vec::new();
    let room = collar_room(place, &inside)?;
    let large = |loops: Loops| -> Loops {
        loops.into_iter().filter(|l| area_mm2(std::slice::from_ref(l)).abs() > 2.0).collect()
    };
    tongues.extend(large(subtract(&intersect(&skin, &room)?, &core(1.0)?)?));
    // The root grows out of the wall at 45 degrees, in steps of a layer or so.
    let steps = 8;
    for k in 0..=steps {
        // Slightly different outlines at each step, so that no two surfaces coincide.
        let apart = 0.004 * f64::from(k + 1);
        let wall = inset(&behind, -SUNK_MM - apart)?;
        let share = 1.0 - f64::from(k) / f64::from(steps + 1);
        let ring = large(subtract(&intersect(&wall, &inset(&room, apart)?)?, &core(share)?)?);
        let step = (gap + COLLAR_MM) / f64::from(steps + 1);
        let top = if k == 0 { -0.03 } else { -ROOT_MM - step * f64::from(k) + step + 0.05 };
        roots.push((-ROOT_MM - step * f64::from(k), top, ring));
    }
    let width: f64 = tongues.iter().map(|l| outline_mm(l) / 2.0 - COLLAR_MM).sum();
    if width < LEAST_COLLAR_MM {
        return Ok(None);
    }
    // Joined in the section's own axes: there steps that do not touch have boxes that do not either, and are not computed with
    // each other.
    let axes = DAffine3::IDENTITY;
    let mut solids = Vec::new();
    for tongue in &tongues {
        solids.push(solid::prism(tongue, &axes, -ROOT_MM / 2.0, reach));
    }
    for (from, to, loops) in &roots {
        solids.extend(loops.iter().filter(|l| l.len() > 2).map(|l| solid::prism(l, &axes, *from, *to)));
    }
    let collar = solid::union_all(&solids)?.transformed(&place_of(&place.basis));
    Ok(Some(Fastening {
        adds: [collar, Mesh::default()],
        // Each tongue is glued on its outer face.
        extra_glue_mm2: width * reach,
        ..Fastening::of(JointKind::Collar)
    }))
}

fn outline_mm(points: &[DVec2]) -> f64 {
    (0..points.len()).map(|i| (points[(i + 1) % points.len()] - points[i]).length()).sum()
}
