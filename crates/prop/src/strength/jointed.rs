//! Pieces, spine and what they carry as one bar with joints.

use super::sections::{Wall, is_core};
use super::spine::Laid;
use super::{StrengthError, StrengthWork};
use crate::outcome::{Joint, JointKind};
use beam::frame::{Hold, Line, Stop, line};
use beam::glue::Plug;
use beam::{DVec3, Section};

/// Wires with their insulation, g/mm3: half copper, half plastic (engineering guess).
const WIRE_G_MM3: f64 = 0.004;

/// The prop as one bar.
pub(super) struct Jointed {
    /// The frame.
    pub(super) line: Line,
    /// For each stretch what bends as one: pieces, and the spine where it is glued in.
    pub(super) whole: Vec<Section>,
    /// For each stretch the spine, where there is one.
    pub(super) spine: Vec<Option<Laid>>,
    /// Whether the spine is glued in.
    pub(super) glued: bool,
    /// Stations of the stops, mm.
    pub(super) stops_mm: Vec<f64>,
}

impl Jointed {
    /// The stop at which a joint lies: where one piece ends and the next begins.
    pub(super) fn stop_of(&self, joint: &Joint) -> usize {
        self.line.stop_near(joint.frame.station_mm)
    }
}

/// One bar of everything.
pub(super) fn jointed(work: &StrengthWork, walls: &[Wall], spine: &[Option<Laid>]) -> Result<Jointed, StrengthError> {
    let glued = work.project.spine.as_ref().is_some_and(|s| s.glued);
    let whole: Vec<Section> = walls
        .iter()
        .zip(spine)
        .map(|(wall, spine)| match spine {
            Some(spine) if glued => wall.section.bonded(&spine.section),
            _ => Section::clone(&wall.section),
        })
        .collect();
    let path = &work.placed.path;
    let off = |k: usize| whole[k].plain.centroid_mm;
    let mut stops = Vec::with_capacity(walls.len() + 1);
    for (k, wall) in walls.iter().enumerate() {
        let station = wall.span_mm[0];
        let frame = path.frame(station);
        let aside = if k == 0 { off(0) } else { (off(k - 1) + off(k)) * 0.5 };
        let meets = k > 0 && walls[k - 1].piece != wall.piece;
        let joint = meets.then(|| joint_between(work, walls[k - 1].piece, wall.piece)).flatten();
        stops.push(Stop {
            station_mm: station,
            at_mm: frame.point + frame.across * aside.x + frame.through * aside.y,
            across: frame.across,
            bar: whole[k].bar(),
            core: spine[k].as_ref().filter(|_| !glued).map(|s| s.section.bar()),
            joint: joint.map(turns).transpose()?.flatten(),
        });
    }
    let (last, aside) = (stops[walls.len() - 1], off(walls.len() - 1));
    let end = walls[walls.len() - 1].span_mm[1];
    let frame = path.frame(end);
    stops.push(Stop {
        station_mm: end,
        at_mm: frame.point + frame.across * aside.x + frame.through * aside.y,
        core: None,
        joint: None,
        ..last
    });
    let mut line =
        line(&stops).map_err(|e| StrengthError::Frame { case: "the prop as a bar", reason: e.to_string() })?;
    for (mass_g, at) in carried_masses(work) {
        line.carry(mass_g, path.station_of(at), at);
    }
    let stops_mm = stops.iter().map(|s| s.station_mm).collect();
    Ok(Jointed { line, whole, spine: spine.to_vec(), glued, stops_mm })
}

/// The joint between two pieces, by their indices.
fn joint_between<'a>(work: &'a StrengthWork, butt: usize, tip: usize) -> Option<&'a Joint> {
    let number = |i: usize| work.printed.pieces[i].number;
    work.joints().iter().find(|j| j.pieces == [number(butt), number(tip)])
}

/// How a joint gives: glue is as stiff as what it holds; what comes apart tilts in its fit before it bears.
#[expect(clippy::type_complexity, reason = "as the frame asks for it")]
fn turns(joint: &Joint) -> Result<Option<([Hold; 3], [f64; 3])>, StrengthError> {
    let Some(apart) = joint.take_down.as_ref().filter(|t| !t.cap && joint.kind.comes_apart()) else { return Ok(None) };
    if joint.kind == JointKind::Magnets && apart.reach_mm <= 0.0 {
        return Ok(None);
    }
    let plug = Plug::new(apart.section_mm, apart.reach_mm)
        .map_err(|e| StrengthError::Joint { joint: joint.number, reason: e.to_string() })?;
    let play = plug.play_rad(2.0 * apart.gap_mm);
    Ok(Some(([Hold::Firm; 3], [0.0, play, play])))
}

/// What the bar carries: covers and lids, parts, strips, wires; each with its middle.
fn carried_masses(work: &StrengthWork) -> Vec<(f64, DVec3)> {
    let mut all = Vec::new();
    for (split, piece) in work.split.pieces.iter().zip(&work.printed.pieces) {
        if !is_core(split, piece) {
            let middle = piece.mesh.bounds().map_or(DVec3::ZERO, |b| (b.min + b.max) * 0.5);
            all.push((piece.mass_g.value, piece.to_prop.transform_point3(middle)));
        }
    }
    all.extend(work.parts.iter().map(|p| (p.mass_g, p.to_prop.translation)));
    if let Some(light) = &work.project.light {
        // A length at a time, so that its weight lies where it is.
        const PART_MM: f64 = 50.0;
        for strip in work.strips {
            let length = (strip.end - strip.start).length();
            let n = (length / PART_MM).ceil().max(1.0) as usize;
            all.extend((0..n).map(|k| {
                let at = strip.start + (strip.end - strip.start) * ((k as f64 + 0.5) / n as f64);
                (light.strip.mass_g_m * 1e-3 * length / n as f64, at)
            }));
        }
    }
    for wire in work.wires {
        if let (Some(a), Some(b)) = (wire.points.first(), wire.points.last()) {
            let area = std::f64::consts::FRAC_PI_4 * wire.bundle_mm * wire.bundle_mm;
            all.push((wire.cut_mm.value * area * WIRE_G_MM3, (*a + *b) * 0.5));
        }
    }
    all
}
