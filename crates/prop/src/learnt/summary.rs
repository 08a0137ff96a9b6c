//! What readings of one printer and material come to.

use super::{Learnt, Note, Spread, spread};
use crate::coupon::Feature;
use crate::finding::Input;

/// Usual spread of a gap at which something begins to slide, mm a side, besides half a step: the same printer on another
/// day. Our judgement: tuned machines keep 0.1 mm over all sizes (a print-tolerance guide), one of them far less.
const GAP_USUAL_MM: f64 = 0.02;
/// Usual spread of what a slot, bore or length loses, mm in all: twice that, and 0.03 mm of caliper error (from memory
/// of ISO 13385-1).
const LOSS_USUAL_MM: f64 = 0.05;
/// Usual spread of shrinkage, a share: makers' figures for one plastic differ by 0.1 to 0.2 % (shrinkage tables of a
/// filament seller).
const SHRINKAGE_USUAL: f64 = 0.001;
/// Usual spread of stock along its length and of caliper readings, mm.
pub(super) const STOCK_USUAL_MM: f64 = 0.03;
/// Steps of a ladder where the file does not tell, mm.
const STEP_MM: f64 = 0.05;

/// What was learnt of one printer and material. Gaps are a side and as drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Summary {
    /// Printer, by its name in the project.
    pub printer: String,
    /// Material, by its name in the catalogue.
    pub material: String,
    /// Gap at which things must be pressed, mm: of the feature that needs most.
    pub press_mm: Option<Spread>,
    /// Gap at which things begin to slide, mm: of the feature that needs most.
    pub slide_mm: Option<Spread>,
    /// Gap at which things must be pressed into an upright bore, mm.
    pub pressed_in_mm: Option<Spread>,
    /// Gap at which things begin to slide in an upright bore, mm.
    pub bore_slide_mm: Option<Spread>,
    /// Gap at which things begin to be loose, mm.
    pub loose_mm: Option<Spread>,
    /// How much narrower slots come out, mm in all. Where no slot was measured: how much further out than drawn the faces
    /// of the rule lie, both together, which a slot loses as well.
    pub slot_loss_mm: Option<Spread>,
    /// How much smaller upright holes come out, mm on the diameter.
    pub hole_loss_mm: Option<Spread>,
    /// Shrinkage, a share of the length.
    pub shrinkage: Option<Spread>,
    /// From which sheets: the days, each sheet once.
    pub days: Vec<String>,
}

/// Something learnt that is in use, for a finding.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// Kind: `learnt`, `print_scale`.
    pub id: &'static str,
    /// What it is about: "printer wide", "bar round-glass-10".
    pub subject: String,
    /// The number, with its band.
    pub value: [f64; 3],
    /// Its unit.
    pub unit: &'static str,
    /// In words.
    pub message: String,
    /// What was read.
    pub inputs: Vec<Input>,
}

impl Summary {
    /// From what it was learnt, in words: "2 sheets for abs-white, the last of 2026-11-25".
    pub fn words(&self) -> String {
        let last = self.days.iter().max().map_or("", String::as_str);
        match self.days.len() {
            1 => format!("a sheet for {} of {last}", self.material),
            n => format!("{n} sheets for {}, the last of {last}", self.material),
        }
    }

    /// Gap for a glued locating fit as drawn, mm a side: half way between pressing and sliding, so that it goes in by
    /// hand and has no play; where nothing had to be pressed, where sliding begins.
    pub fn glue_mm(&self) -> Option<f64> {
        let slide = self.slide_mm?.mean;
        Some(self.press_mm.map_or(slide, |press| (press.mean.min(slide) + slide) / 2.0))
    }

    /// Gap for what is pressed into an upright bore as drawn, mm a side: as wide as it may have to be, and not so wide that
    /// it slides.
    pub fn press_in_mm(&self) -> Option<f64> {
        let press = self.pressed_in_mm?;
        Some(self.bore_slide_mm.map_or(press.high, |slide| press.high.min(slide.mean.max(press.mean))))
    }

    /// The scale to set on the printer for this material, a share: undoes the shrinkage.
    pub fn scale(&self) -> Option<Spread> {
        let s = self.shrinkage?;
        let undone = |share: f64| 1.0 / (1.0 - share);
        Some(Spread { mean: undone(s.mean), low: undone(s.low), high: undone(s.high), ..s })
    }
}

/// What `learnt` says of a printer and material; `None` when it says nothing.
pub fn summary(learnt: &Learnt, printer: &str, material: &str) -> Option<Summary> {
    let ladders: Vec<_> = learnt.ladders.iter().filter(|l| l.printer == printer && l.material == material).collect();
    let rules: Vec<_> = learnt.rules.iter().filter(|r| r.printer == printer && r.material == material).collect();
    let mut notes: Vec<&Note> = ladders.iter().map(|l| &l.note).chain(rules.iter().map(|r| &r.note)).collect();
    notes.sort_by(|a, b| (&a.date, &a.sheet).cmp(&(&b.date, &b.sheet)));
    notes.dedup();
    if notes.is_empty() {
        return None;
    }
    // Each feature for itself, then the one that needs most.
    let hardest_of = |all: &[Feature], value: &dyn Fn(&super::Ladder) -> Option<(f64, f64)>| -> Option<Spread> {
        let of = |feature: Feature| {
            let read: Vec<(f64, f64)> =
                ladders.iter().filter(|l| l.feature == feature).filter_map(|l| value(l)).collect();
            // A threshold lies anywhere between two steps: a step wide, evenly spread, its deviation is that over root 12.
            let step = read.iter().map(|(_, step)| *step).fold(0.0, f64::max) / 12.0f64.sqrt();
            let usual = (GAP_USUAL_MM * GAP_USUAL_MM + step * step).sqrt();
            spread(&read.iter().map(|(v, _)| *v).collect::<Vec<_>>(), usual)
        };
        all.iter().copied().filter_map(of).max_by(|a, b| a.high.total_cmp(&b.high))
    };
    let bores: Vec<Feature> = Feature::ALL.into_iter().filter(|f| f.is_round()).collect();
    let press = |l: &super::Ladder| l.press_mm.map(|p| (p - l.stock_over_mm / 2.0, 0.0));
    let slide = |l: &super::Ladder| {
        let slide = l.slide_mm?;
        // Between the last step that held and the first that slid; the first step itself when none held.
        let (middle, step) = l.stuck_mm.map_or((slide, STEP_MM), |stuck| ((stuck + slide) / 2.0, slide - stuck));
        Some((middle - l.stock_over_mm / 2.0, step))
    };
    let losses = |round: bool| -> Option<Spread> {
        let of_ladders = ladders.iter().filter(|l| l.feature.is_round() == round).flat_map(|l| &l.loss_mm);
        let of_rules = rules.iter().filter(|_| round).flat_map(|r| &r.hole_loss_mm);
        spread(&of_ladders.chain(of_rules).copied().collect::<Vec<_>>(), LOSS_USUAL_MM)
    };
    let both: Vec<[f64; 2]> = rules.iter().filter_map(|r| r.shrinkage_and_growth()).collect();
    let of_both = |k: usize, usual| spread(&both.iter().map(|b| b[k]).collect::<Vec<_>>(), usual);
    Some(Summary {
        printer: printer.to_owned(),
        material: material.to_owned(),
        press_mm: hardest_of(&Feature::ALL, &press),
        slide_mm: hardest_of(&Feature::ALL, &slide),
        pressed_in_mm: hardest_of(&bores, &press),
        bore_slide_mm: hardest_of(&bores, &slide),
        loose_mm: hardest_of(&Feature::ALL, &|l| l.loose_mm.map(|p| (p - l.stock_over_mm / 2.0, 0.0))),
        slot_loss_mm: losses(false).or_else(|| of_both(1, LOSS_USUAL_MM)),
        hole_loss_mm: losses(true),
        shrinkage: of_both(0, SHRINKAGE_USUAL),
        days: notes.into_iter().map(|n| n.date.clone()).collect(),
    })
}
