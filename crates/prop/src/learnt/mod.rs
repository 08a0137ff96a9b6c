//! What was measured on coupons, stock and prints, kept beside the project in `learnt.toml` and used from then on.
//!
//! The file holds readings, never what was made of them: every table is one ladder, rule, piece of stock or print of one
//! sheet. New tables are added at its end, so that a maker's remarks stay, and a table that was a slip can be taken out.

mod apply;
mod file;
mod light;
mod readings;
mod sheet;
mod spread;
mod summary;
#[cfg(test)]
mod tests;
mod times;

pub use apply::apply;
pub use file::{append, read};
pub use light::{Colour, Light, LightSummary, Seen, light_readings, light_summary};
pub use readings::{Readings, readings};
pub use spread::{Spread, pace, spread, student_975};
pub use summary::{Known, Summary, summary};
pub use times::{Prediction, Times, times, unpredicted};

use crate::coupon::Feature;

/// Everything that was measured, in the order of the file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Learnt {
    /// Ladders.
    pub ladders: Vec<Ladder>,
    /// Rules.
    pub rules: Vec<Rule>,
    /// Stock.
    pub stock: Vec<Stock>,
    /// Prints.
    pub prints: Vec<Print>,
    /// Light coupons.
    pub light: Vec<Light>,
}

/// When and from which sheet a table came.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Note {
    /// Day, as `2026-11-25`.
    pub date: String,
    /// The sheet's digest, so that no sheet counts twice.
    pub sheet: String,
}

/// One ladder, tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Ladder {
    /// Printer, by its name in the project.
    pub printer: String,
    /// Material, by its name in the catalogue.
    pub material: String,
    /// What was tried.
    pub feature: Feature,
    /// Largest gap a side, as drawn, at which it had to be pressed, mm.
    pub press_mm: Option<f64>,
    /// Largest gap a side at which it did not slide, mm; `None` when it slid in every step.
    pub stuck_mm: Option<f64>,
    /// Smallest gap a side at which it slid, mm.
    pub slide_mm: Option<f64>,
    /// Smallest gap a side at which it was loose, mm.
    pub loose_mm: Option<f64>,
    /// How much smaller slots or bores were than drawn, mm, one reading each.
    pub loss_mm: Vec<f64>,
    /// How much larger the stock itself was than the coupon took it to be, mm in all.
    pub stock_over_mm: f64,
    /// When and whence.
    pub note: Note,
}

/// One rule, measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Rule {
    /// Printer.
    pub printer: String,
    /// Material.
    pub material: String,
    /// Outside and inside lengths, mm: drawn, read.
    pub lengths_mm: Option<[[f64; 2]; 2]>,
    /// The scale that was set in the printer's program while it printed, a share: 1 for none.
    pub scale: f64,
    /// How much smaller its holes were than drawn, mm.
    pub hole_loss_mm: Vec<f64>,
    /// When and whence.
    pub note: Note,
}

impl Rule {
    /// Shrinkage (a share of the length) and outside growth (mm in all, both ends together).
    ///
    /// Plastic that shrinks by s and whose skin lies b/2 too far out at every face reads `D (1 - s) + b` outside and
    /// `d (1 - s) - b` inside: two lengths, two unknowns. D and d are what was
    /// drawn, scaled as the printer's program did.
    pub fn shrinkage_and_growth(&self) -> Option<[f64; 2]> {
        let [[outside, read_outside], [inside, read_inside]] = self.lengths_mm?;
        let [outside, inside] = [outside, inside].map(|drawn| drawn * self.scale);
        let kept = (read_outside + read_inside) / (outside + inside);
        Some([1.0 - kept, read_outside - outside * kept])
    }
}

/// Stock, measured with calipers.
#[derive(Clone, Debug, PartialEq)]
pub struct Stock {
    /// Catalogue name of the bar or strip.
    pub name: String,
    /// `thickness`, `height`, `diameter` or `width`.
    pub measure: String,
    /// Readings, mm.
    pub read_mm: Vec<f64>,
    /// When and whence.
    pub note: Note,
}

/// One print, timed.
#[derive(Clone, Debug, PartialEq)]
pub struct Print {
    /// Printer.
    pub printer: String,
    /// Piece or plate.
    pub piece: String,
    /// What is computed for its layers at a pace of 100 %, s.
    pub computed_s: f64,
    /// What they took, s.
    pub measured_s: f64,
    /// When and whence.
    pub note: Note,
}

impl Learnt {
    /// The day on which a sheet was learnt, if it was.
    pub fn day_of(&self, sheet: &str) -> Option<&str> {
        self.notes().find(|n| n.sheet == sheet).map(|n| n.date.as_str())
    }

    /// The printers that something was measured on, by name, each once.
    fn printers(&self) -> Vec<&str> {
        let ladders = self.ladders.iter().map(|l| l.printer.as_str());
        let rest = self.rules.iter().map(|r| r.printer.as_str()).chain(self.prints.iter().map(|p| p.printer.as_str()));
        let rest = rest.chain(self.light.iter().map(|l| l.printer.as_str()));
        let mut all: Vec<&str> = ladders.chain(rest).collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// Whether nothing was measured.
    pub fn is_empty(&self) -> bool {
        self.notes().next().is_none()
    }

    fn notes(&self) -> impl Iterator<Item = &Note> {
        let ladders = self.ladders.iter().map(|l| &l.note);
        let rest = self.rules.iter().map(|r| &r.note).chain(self.stock.iter().map(|s| &s.note));
        let rest = rest.chain(self.prints.iter().map(|p| &p.note));
        ladders.chain(rest).chain(self.light.iter().map(|l| &l.note))
    }
}
