//! What the finished prop weighs, by part.

use super::needs::glue_ml;
use crate::finding::Band;
use crate::outcome::Outcome;
use crate::project::Project;
use std::f64::consts::PI;

/// What something on the finished prop weighs.
#[derive(Clone, Debug, PartialEq)]
pub struct Weight {
    /// "pieces of blade", "part A cell", "strips".
    pub what: String,
    /// g.
    pub mass_g: Band,
}

/// Density of glue as it hardens, magnets, brass and steel, g/cm3 (from memory).
const GLUE_G_CM3: f64 = 1.15;
const MAGNET_G_CM3: f64 = 7.5;
/// A brass insert or a small screw, g (from memory: M3).
const SMALL_G: f64 = 0.6;
/// A connector's plug and socket, g (from memory).
const CONNECTOR_G: f64 = 1.5;
/// Insulation of a wire against its copper (from memory: silicone of thin strands).
const INSULATED: f64 = 2.0;
/// Copper, g/mm3 (8.96 g/cm3, as tables have it).
const COPPER_G_MM3: f64 = 8.96e-3;
/// What is not weighed but computed from films and lines lies within so much either way (our choice).
const ROUGH: [f64; 2] = [0.7, 1.4];

/// Body by body, then what is in it and on it.
pub(super) fn weights(project: &Project, outcome: &Outcome) -> Vec<Weight> {
    let mut all = Vec::new();
    let mut add = |what: String, mass_g: Band| {
        if mass_g.value > 0.0 {
            all.push(Weight { what, mass_g });
        }
    };
    for body in &outcome.bodies {
        let pieces = outcome.pieces.iter().filter(|p| p.body == body.name);
        add(format!("pieces of {}", body.name), pieces.fold(Band::exact(0.0), |sum, p| sum.plus(p.mass_g)));
    }
    for part in &outcome.parts {
        add(part.subject(), Band::factor(part.mass_g, 0.9, 1.1));
    }
    if let Some(light) = &project.light {
        let metres = outcome.pixels.len() as f64 * light.strip.pitch_mm * 1e-3;
        add("strips".into(), Band::factor(metres * light.strip.mass_g_m, 0.9, 1.1));
    }
    if let Some(spine) = &project.spine {
        let long: f64 = outcome.spines.iter().map(|s| s.start.distance(s.end)).sum();
        add("spine".into(), Band::factor(long * spine.bar.g_mm(), 0.95, 1.05));
    }
    let mut rough = |what: &str, g: f64| add(what.to_owned(), Band::factor(g, ROUGH[0], ROUGH[1]));
    rough("wires", wires_g(outcome));
    rough("magnets, screws, pegs", hardware_g(project, outcome));
    rough("glue", glue_ml(project, outcome) * GLUE_G_CM3);
    let finish = &outcome.finish;
    rough("paint", finish.zones.iter().flat_map(|z| &z.layers).map(|l| l.dry_g).sum());
    let fillers = [Some(&project.finish.filler), project.finish.paste.as_ref()];
    let density = |name: &str| fillers.iter().flatten().find(|f| f.name == name).map_or(0.0, |f| f.density_g_cm3);
    let seams: f64 = finish.seams.iter().map(|s| s.filled_ml * density(&s.filler)).sum();
    let skims: f64 = finish.skims.iter().map(|s| s.filled_ml * density(&s.filler)).sum();
    rough("filler", seams + skims);
    rough("wraps", finish.wraps.iter().map(|w| w.mass_g).sum());
    all
}

/// Wires with their insulation, g.
fn wires_g(outcome: &Outcome) -> f64 {
    let of = |awg: i32, mm: f64| circuit::awg_area_mm2(awg) * COPPER_G_MM3 * INSULATED * mm;
    match &outcome.power {
        Some(power) => power.loom.iter().map(|w| of(w.awg, w.cut_mm.value)).sum(),
        // As thin power wires.
        None => outcome.wires.iter().map(|w| of(24, f64::from(w.wires) * w.cut_mm.value)).sum(),
    }
}

/// Magnets, inserts, screws, connectors and pegs, g.
fn hardware_g(project: &Project, outcome: &Outcome) -> f64 {
    let of_joints = outcome.joints.iter().filter_map(|j| j.take_down.as_ref()).flat_map(|t| &t.bought);
    let small: f64 = of_joints
        .chain(outcome.lids.iter().flat_map(|l| &l.bought))
        .map(|b| {
            let each = match b.what {
                "magnet" => magnet_g(project, &b.row),
                "connector" => CONNECTOR_G,
                _ => SMALL_G,
            };
            f64::from(b.count) * each
        })
        .sum();
    let pegs = outcome.joints.iter().filter_map(|j| j.pegs.as_ref());
    let pegs: f64 = pegs
        .map(|p| {
            let g_mm = project.rods.iter().find(|r| r.name == p.stock).map_or(0.0, crate::catalogue::Rod::g_mm);
            g_mm * p.length_mm * f64::from(p.count)
        })
        .sum();
    small + pegs
}

/// A disc, g; the size that joints and lids of this project use.
fn magnet_g(project: &Project, row: &str) -> f64 {
    let disc =
        |m: &crate::catalogue::Magnet| PI / 4.0 * m.diameter_mm * m.diameter_mm * m.thickness_mm * MAGNET_G_CM3 * 1e-3;
    project.cost.magnets.iter().find(|m| m.name == row).map_or(SMALL_G, disc)
}
