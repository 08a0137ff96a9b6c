//! Covers: guards, rings and caps that slide over the body they sit on. Bored by the tool, with a way to their seat.

mod all;
mod halves;
mod hollow;
mod make;
mod star;
mod sweep;
#[cfg(test)]
mod tests;
mod wall;
pub(crate) mod way;

pub(crate) use all::covers;
pub use halves::Halves;
pub(crate) use hollow::{DRAINS, WORTH_SHARE};
pub use hollow::{Drain, DrainRule, Hollow, Hollowed};
pub use sweep::Entry;

use crate::outcome::Way;
use crate::rail::layout::Fit;
use solid::Mesh;

/// How a cover holds on to the body under it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CoverFit {
    /// Glued in its place: the gap only locates it.
    Glue,
    /// Slides on and off.
    Slide,
}

/// A side that a drain hole is drilled from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DrainSide {
    /// From +z.
    Up,
    /// From -z.
    Down,
}

/// What the maker asks of a cover.
#[derive(Clone, Debug, PartialEq)]
pub struct CoverRules {
    /// `fit`.
    pub fit: CoverFit,
    /// `split`: whether it is made in halves; `None` lets the tool choose.
    pub split: Option<bool>,
    /// `drain`: holes that the maker wants besides those into the bore.
    pub drains: Vec<DrainRule>,
}

impl Default for CoverRules {
    fn default() -> CoverRules {
        CoverRules { fit: CoverFit::Glue, split: None, drains: Vec::new() }
    }
}

/// The gap round a cover.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoverGap {
    /// What must be left when the bore prints narrow, mm a side.
    pub need_mm: f64,
    /// How much narrower the bore may print, mm a side.
    pub loss_mm: f64,
}

impl CoverGap {
    /// The gap for a fit between a cover's printers and those of what it slides over.
    pub(crate) fn of(fit: CoverFit, cover: &Fit, both: &Fit) -> CoverGap {
        let need_mm = match fit {
            CoverFit::Glue => both.glue_gap_mm,
            CoverFit::Slide => both.least_gap_mm,
        };
        CoverGap { need_mm, loss_mm: cover.slot_loss_mm / 2.0 }
    }

    /// As drawn, mm a side.
    pub fn drawn_mm(&self) -> f64 {
        self.need_mm + self.loss_mm
    }
}

/// The least wall round a bore.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoverWall {
    /// What must be left, mm.
    pub need_mm: f64,
    /// What is left, mm; negative where the bore breaks out.
    pub least_mm: f64,
    /// Where on the prop, mm.
    pub station_mm: f64,
}

/// Why a cover has no way to its seat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NoWay {
    /// What is missing of its wall on the best way, mm.
    pub missing_mm: f64,
    /// The best way.
    pub entry: Entry,
    /// The station of the body that is too thick there, mm.
    pub station_mm: f64,
    /// Whether halves were tried too.
    pub halves_tried: bool,
}

/// A cover as it was made, for checks.
#[derive(Clone, Debug)]
pub struct CoverMade {
    /// The solid that was bored out.
    pub bore: Mesh,
    /// The gap round it.
    pub gap: CoverGap,
    /// Where it comes on.
    pub entry: Entry,
    /// Its way, or why it has none.
    pub way: Result<Way, NoWay>,
    /// The wall round its bore; `None` when the bore takes nothing.
    pub wall: Option<CoverWall>,
    /// How it is put together, if it is made in halves.
    pub halves: Option<Halves>,
    /// What hollowing it came to; `None` for a cover of filament.
    pub hollowed: Option<Hollowed>,
    /// Numbers of covers that would have to go on both before and after this one.
    pub knots: Vec<u32>,
}
