//! What bears is of metal, wood or hard plastic: how much of each, and where.

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
