//! What bears is of metal, wood or hard plastic: how much of each, and where.

use crate::finding::Band;
use crate::outcome::Outcome;
use crate::project::Project;

/// Stiffer than this a plastic is hard, MPa (our choice: rubbery filaments have tens, the usual plastics two thousand).
const HARD_MPA: f64 = 300.0;

/// What something is made of, as event rules tell it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stuff {
    /// Bars and pegs.
    Metal,
    /// Bars and pegs.
    Wood,
    /// Printed pieces that do not give.
    HardPlastic,
}

/// How much of one stuff bears.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Weighed {
    /// Mass, g.
    pub mass_g: f64,
    /// What it is in.
    pub names: Vec<String>,
    /// Stations it spans.
    pub station_mm: Option<[f64; 2]>,
}

impl Weighed {
    fn add(&mut self, mass_g: f64, name: &str, [from, to]: [f64; 2]) {
        self.mass_g += mass_g;
        if !self.names.iter().any(|n| n == name) {
            self.names.push(name.to_owned());
        }
        self.station_mm = Some(self.station_mm.map_or([from, to], |[a, b]| [a.min(from), b.max(to)]));
    }
}

/// How much of a stuff bears.
pub fn weighed(stuff: Stuff, project: &Project, outcome: &Outcome) -> Weighed {
    let mut found = Weighed::default();
    if stuff == Stuff::HardPlastic {
        for piece in &outcome.pieces {
            let material = project.rules_for(&piece.body).material;
            if material.holding.e_mpa[0] > HARD_MPA {
                found.add(piece.mass_g.value, &material.title, piece.station_mm);
            }
        }
        return found;
    }
    let is = |metal: bool, wood: bool| if stuff == Stuff::Metal { metal } else { wood };
    if let Some(bar) = project.spine.as_ref().map(|s| &s.bar).filter(|b| is(b.metal, b.wood)) {
        for length in &outcome.spines {
            found.add(bar.g_mm() * (length.end - length.start).length(), &bar.title, length.station_mm);
        }
    }
    for joint in &outcome.joints {
        let Some(pegs) = &joint.pegs else { continue };
        let Some(rod) = project.rods.iter().find(|r| r.name == pegs.stock).filter(|r| is(r.metal, r.wood)) else {
            continue;
        };
        found.add(rod.g_mm() * pegs.length_mm * f64::from(pegs.count), &rod.title, [joint.frame.station_mm; 2]);
    }
    found
}

/// Mass of everything but paint, glue and wires, g: as it is carried, where that was worked out.
pub fn mass_g(project: &Project, outcome: &Outcome) -> Band {
    let printed = outcome.pieces.iter().fold(Band::exact(0.0), |sum, p| sum.plus(p.mass_g));
    let length = |bar: &crate::outcome::Bar| (bar.end - bar.start).length();
    let bars: f64 =
        project.spine.as_ref().map_or(0.0, |s| outcome.spines.iter().map(|b| bar_g_mm(&s.bar) * length(b)).sum());
    let strips: f64 = project
        .light
        .as_ref()
        .map_or(0.0, |l| outcome.strips.iter().map(|b| l.strip.mass_g_m / 1000.0 * length(b)).sum());
    let parts: f64 = outcome.parts.iter().map(|p| p.mass_g).sum();
    let all = printed.plus(Band::exact(bars + strips + parts));
    match &outcome.strength {
        // What it weighs there has wires besides; how far it is known is a matter of the print.
        Some(s) => {
            let value = s.carried.mass_g;
            Band { value, low: value - (all.value - all.low), high: value + (all.high - all.value) }
        }
        None => all,
    }
}
