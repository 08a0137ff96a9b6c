//! Shopping and cost: what the whole prop takes, what is there, what is bought, what that and each piece costs, what it weighs.
//!
//! Rooms: `needs`, what is taken of each row; `stock`, lengths cut from stock; `lines`, from needs to packages and money; `weights`, the
//! finished prop by part; `told`, the findings.

mod lines;
mod needs;
mod stock;
#[cfg(test)]
mod tests;
mod told;
mod weights;

use crate::catalogue::Amount;
use crate::finding::{Band, Finding, Input, input};
use crate::outcome::Outcome;
use crate::project::{FAILING, Project};
pub use stock::cut;
pub use weights::Weight;

/// What is bought, and what it costs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shopping {
    /// Code of the currency.
    pub currency: String,
    /// What is taken, by kind.
    pub lines: Vec<Line>,
    /// What each piece costs, by number.
    pub pieces: Vec<PieceCost>,
    /// What the finished prop weighs, by part.
    pub weights: Vec<Weight>,
    /// Plates that are expected to be printed again.
    pub reprints: f64,
    /// What all that is bought costs: least, most.
    pub bought: [f64; 2],
    /// What all that is used costs, whether bought or there already: least, most.
    pub used: [f64; 2],
}

/// One thing on the list.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// "filament", "wire", "paint".
    pub kind: &'static str,
    /// Row of the catalogue; of a wire with gauge and colour behind it.
    pub row: String,
    /// In words.
    pub title: String,
    /// What goes into the prop.
    pub needed: Amount,
    /// The same with what is wasted and kept spare.
    pub taken: Amount,
    /// What is added and why, in words; empty: nothing.
    pub added: String,
    /// What the workshop has of it.
    pub has: Amount,
    /// What is missing.
    pub missing: Amount,
    /// What one package holds.
    pub package: Amount,
    /// Packages to buy.
    pub packages: u32,
    /// What these cost: least, most; `None` without a price.
    pub cost: Option<[f64; 2]>,
    /// What is used of it costs: least, most; `None` without a price.
    pub used: Option<[f64; 2]>,
    /// Day of the price.
    pub dated: String,
}

/// What one piece costs.
#[derive(Clone, Debug, PartialEq)]
pub struct PieceCost {
    /// Its number.
    pub piece: u32,
    /// Prints until one is good, in the mean.
    pub prints: f64,
    /// Material, failed prints and all: least, most; `None` without a price.
    pub material: Option<[f64; 2]>,
    /// Paint and filler: least, most.
    pub finish: [f64; 2],
}

impl PieceCost {
    /// All of it: least, most.
    pub fn all(&self) -> [f64; 2] {
        let material = self.material.unwrap_or([0.0; 2]);
        [material[0] + self.finish[0], material[1] + self.finish[1]]
    }
}

/// Prints until one is good when this share fails, in the mean.
fn prints(failing: f64) -> f64 {
    1.0 / (1.0 - failing)
}

/// Works it out, with what is found.
pub(crate) fn shopping(project: &Project, outcome: &Outcome) -> (Shopping, Vec<Finding>) {
    let failing = project.plan.as_ref().map_or(FAILING, |p| p.failing);
    let lines: Vec<Line> =
        needs::needs(project, outcome, failing).into_iter().map(|n| lines::line(project, n)).collect();
    let sum = |of: &dyn Fn(&Line) -> Option<[f64; 2]>| {
        lines.iter().filter_map(of).fold([0.0; 2], |s, c| [s[0] + c[0], s[1] + c[1]])
    };
    let (bought, used) = (sum(&|l| l.cost), sum(&|l| l.used));
    let list = Shopping {
        currency: project.cost.currency.clone(),
        pieces: lines::pieces(project, outcome, failing),
        weights: weights::weights(project, outcome),
        reprints: outcome.plates.len() as f64 * (prints(failing) - 1.0),
        bought,
        used,
        lines,
    };
    let findings = told::findings(project, outcome, failing, &list);
    (list, findings)
}

impl Shopping {
    /// What the finished prop weighs, g.
    pub fn mass_g(&self) -> Band {
        self.weights.iter().fold(Band::exact(0.0), |sum, w| sum.plus(w.mass_g))
    }

    /// The masses that make it up.
    pub(crate) fn masses(&self) -> impl Iterator<Item = Input> {
        self.weights.iter().map(|w| input(w.what.clone(), w.mass_g.value, "g", "its volume or length, and its row"))
    }
}
