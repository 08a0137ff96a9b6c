//! Is the light's way from the pixels to the wall left open, and does none leave by a seam that stays dark?

use super::{Checked, Laid, Work, to_material};
use crate::finding::{Band, CHOICE, Finding, PIECES, SHAPE, input};
use crate::joint::{COLLAR_REACH_MM, dark_zones, extent};
use crate::outcome::{Joint, Role};
use crate::project::Glow;
use crate::rail::fitting::END_BLOCK_MM;
use crate::stages::{InsideBody, basis_at};
use rayon::prelude::*;
use solid::section::{Basis, distance_to, section};
use solid::{Bvh, DVec2, DVec3, RayHit};

/// Least share of the worst pixel's rays that must reach the wall (our choice: rays by themselves; `glow` follows the light).
const OPEN_SHARE: f64 = 0.8;
/// A ray has reached the wall where it ends this near to the cavity's own surface, mm; ribs, collars and numbers stand
/// further out.
const ON_WALL_MM: f64 = 0.15;
/// Rays fan out along the prop to these angles, degrees. A pixel's light falls to half at 60.
const ALONG_DEG: [f64; 5] = [-30.0, -15.0, 0.0, 15.0, 30.0];
/// Across that, towards a window all round or in the faces.
const WIDE_DEG: [f64; 7] = [-45.0, -30.0, -15.0, 0.0, 15.0, 30.0, 45.0];
/// Across that, towards a window along the edges: that is where the pixels look.
const EDGE_DEG: [f64; 5] = [-10.0, -5.0, 0.0, 5.0, 10.0];

/// Least share of a joint's dark seam that has material behind it (our choice: beside the wires and behind an empty
/// spine slot nothing can stand).
const TIGHT_SHARE: f64 = 0.8;
/// How far faces must meet to keep light in, mm.
const LAP_MM: f64 = 3.0;
/// Distance between the measured points of a seam, mm.
const SEAM_STEP_MM: f64 = 1.0;

pub(super) fn check(work: &Work, laid: &[Laid]) -> Vec<Finding> {
    let mut found = way(work, laid);
    found.extend(work.split.joints.iter().filter_map(|j| seam(work, laid, j)));
    found.extend(work.split.joints.iter().filter_map(|j| lap(work, j)));
    found
}

/// How far light that comes through the bore of an end block would have to creep between the faces to get out, where a
/// lit body meets another.
fn lap(work: &Work, joint: &Joint) -> Option<Finding> {
    let s = joint.frame.station_mm;
    let lit = work.inside.bodies.iter().find(|b| {
        let ends = work.placed.bodies[b.body].station_mm;
        b.cavity.is_some() && ends.iter().any(|e| (e - s).abs() < 1.0)
    })?;
    let bore = &work.inside.rail.as_ref().filter(|r| !r.pixels.is_empty())?.bore;
    let inwards = if (work.placed.bodies[lit.body].station_mm[0] - s).abs() < 1.0 { 1.0 } else { -1.0 };
    let normal = joint.frame.along;
    let cut = basis_at(work.placed, work.inside, s, normal);
    let basis = Basis { origin: cut.origin + normal * (0.5 * inwards), ..cut };
    let (bore, outer) = (section(bore, &basis).ok()?, section(&work.placed.bodies[lit.body].mesh, &basis).ok()?);
    let faces = bore.iter().flatten().map(|p| distance_to(&outer, *p)).fold(f64::INFINITY, f64::min);
    if !faces.is_finite() {
        return None;
    }
    let plug = joint.take_down.as_ref().filter(|t| !t.cap).map(|t| t.reach_mm);
    // A cover over the seam adds the shorter of its two laps.
    let covers = work.placed.bodies.iter().filter(|b| b.role == Role::Cover);
    let lapped = covers.map(|b| (s - b.station_mm[0]).min(b.station_mm[1] - s)).fold(0.0, f64::max);
    let value = plug.unwrap_or(faces) + lapped;
    Some(
        Checked {
            id: "joint_lap",
            subject: format!("joint J{}", joint.number),
            station_mm: Some([s, s]),
            value: Band::exact(value),
            unit: "mm",
            min: Some(LAP_MM),
            max: None,
            source: "laps of 3 mm keep light in: common practice, no source".into(),
            message: match plug {
                Some(reach) => format!("Light would have to creep along a plug of {reach:.0} mm to get out."),
                None if lapped > 0.0 => format!(
                    "Between bore and skin the faces meet over {faces:.1} mm at least, and a cover laps over the seam by {lapped:.1} mm: light would have to creep {value:.1} mm."
                ),
                None => format!("Between bore and skin the faces meet over {faces:.1} mm at least: light would have to creep so far."),
            },
            remedy: "take a slimmer spine, strip or bundle of wires, or lay opaque tape between the faces".into(),
        }
        .finding()
        .worked_from([
            input("faces meet over", faces, "mm", SHAPE),
            input("a cover laps by", lapped, "mm", SHAPE),
        ].into_iter().chain(plug.map(|reach| input("reach of the plug", reach, "mm", "joint as drawn")))),
    )
}

/// Share of a joint's seam under dark skin that is backed: looked at half a collar's reach beyond the cut, where only a
/// collar, a rib or a solid edge can stand behind the wall.
fn seam(work: &Work, laid: &[Laid], joint: &Joint) -> Option<Finding> {
    let s = joint.frame.station_mm;
    let own = work.inside.bodies.iter().find(|b| {
        let [from, to] = work.placed.bodies[b.body].station_mm;
        // Where bodies meet, both ends are solid.
        b.cavity.is_some() && s > from + END_BLOCK_MM && s < to - END_BLOCK_MM
    })?;
    let cavity = own.cavity.as_ref()?;
    let normal = joint.frame.along;
    let at_cut = basis_at(work.placed, work.inside, s, normal);
    let basis = Basis { origin: at_cut.origin + normal * (COLLAR_REACH_MM / 2.0), ..at_cut };
    let inside = section(cavity, &basis).ok()?;
    let dark = dark_zones(own.rules.glow, work.inside.rail.as_ref(), extent(&inside));
    let within = |p: DVec2| dark.iter().any(|(x, y)| p.x > x[0] && p.x < x[1] && p.y > y[0] && p.y < y[1]);
    let (mut backed, mut all) = (0usize, 0usize);
    for outline in section(&work.placed.bodies[own.body].mesh, &basis).ok()? {
        let mut owed = 0.0;
        for i in 0..outline.len() {
            let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
            owed += (b - a).length();
            if owed < SEAM_STEP_MM || !within(a) {
                continue;
            }
            owed = 0.0;
            // Material lies to the left of the outline.
            let inwards = (b - a).perp().normalize_or_zero();
            let deep = (1..=12).map(|k| own.rules.wall_mm + 0.25 * f64::from(k));
            all += 1;
            backed += usize::from(deep.map(|d| basis.raise(a + inwards * d)).any(|p| to_material(laid, p) < 0.0));
        }
    }
    (all > 0).then(|| {
        let share = backed as f64 / all as f64;
        Checked {
            id: "joint_tight",
            subject: format!("joint J{}", joint.number),
            station_mm: Some([s, s]),
            value: Band::exact(share),
            unit: "1",
            min: Some(TIGHT_SHARE),
            max: None,
            source: "our choice: the rest is shut by glue and paint alone".into(),
            message: format!(
                "Under skin that stays dark, {:.0} % of the seam has collar, rib or solid behind it.",
                share * 100.0
            ),
            remedy: "ask for a collar (joint = \"collar\"), or lay opaque tape behind the seam before the next piece goes on".into(),
        }
        .finding()
        .worked_from([
            input("places with something behind", backed as f64, "1", PIECES),
            input("places looked at", all as f64, "1", "each mm of the seam under dark skin"),
        ])
    })
}

fn way(work: &Work, laid: &[Laid]) -> Vec<Finding> {
    let Some(rail) = &work.inside.rail else { return Vec::new() };
    if rail.pixels.is_empty() {
        return Vec::new();
    }
    let lit: Vec<(&InsideBody, Bvh)> =
        work.inside.bodies.iter().filter_map(|b| b.cavity.as_ref().map(|c| (b, Bvh::new(c)))).collect();
    let shares: Vec<f64> = rail
        .pixels
        .par_iter()
        .map(|pixel| {
            let (run, _) = rail.way.locate(rail.way.distance_at(pixel.station_mm));
            let beside = run.along.cross(pixel.facing);
            let Some((own, cavity)) = lit.iter().find(|(b, _)| {
                let [from, to] = work.placed.bodies[b.body].station_mm;
                pixel.station_mm >= from && pixel.station_mm <= to
            }) else {
                return 0.0;
            };
            let fan: &[f64] = if own.rules.glow == Glow::Edges { &EDGE_DEG } else { &WIDE_DEG };
            let turn = |deg: f64| (libm::cos(deg.to_radians()), libm::sin(deg.to_radians()));
            let mut open = 0;
            for up in fan {
                for along in ALONG_DEG {
                    let ((cu, su), (ca, sa)) = (turn(*up), turn(along));
                    let direction = (pixel.facing * (cu * ca) + beside * (su * ca) + run.along * sa).normalize();
                    let hit = first_hit(laid, pixel.point, direction);
                    open += usize::from(hit.is_some_and(|p| cavity.nearest(p, ON_WALL_MM).is_some()));
                }
            }
            open as f64 / (fan.len() * ALONG_DEG.len()) as f64
        })
        .collect();
    let worst =
        shares.iter().copied().enumerate().fold((f64::INFINITY, 0), |a, (i, s)| if s < a.0 { (s, i) } else { a });
    let pixel = &rail.pixels[worst.1];
    let mean = shares.iter().sum::<f64>() / shares.len() as f64;
    let ends = [rail.pixels[0].station_mm, rail.pixels[rail.pixels.len() - 1].station_mm];
    vec![
        Checked {
            id: "light_way",
            subject: "strip".into(),
            station_mm: Some(ends),
            value: Band::exact(worst.0),
            unit: "1",
            min: Some(OPEN_SHARE),
            max: None,
            source: "our choice, for rays by themselves".into(),
            message: format!(
                "Of the worst pixel's rays towards the window {:.0} % reach the wall without meeting rib, collar or number (pixel {} of strip {}, station {:.0} mm); of all pixels' rays {:.0} %.",
                worst.0 * 100.0, pixel.number, pixel.strip, pixel.station_mm, mean * 100.0
            ),
            remedy: "ask for pegs instead of collars (joint = \"pegs\"), or take a strip whose pixels stand further out".into(),
        }
        .finding()
        .worked_from([
            input("mean of all pixels", mean, "1", PIECES),
            input("pixels", shares.len() as f64, "1", "the strip as it lies"),
            input("rays end on the wall within", ON_WALL_MM, "mm", CHOICE),
        ]),
    ]
}

fn first_hit(laid: &[Laid], origin: DVec3, direction: DVec3) -> Option<DVec3> {
    const FAR_MM: f64 = 300.0;
    let hit = laid
        .iter()
        .filter(|l| origin.x > l.low_x - FAR_MM && origin.x < l.high_x + FAR_MM)
        .filter_map(|l| l.surface.ray(origin, direction, FAR_MM))
        .map(|RayHit { distance_mm, .. }| distance_mm)
        .fold(f64::INFINITY, f64::min);
    hit.is_finite().then(|| origin + direction * hit)
}
