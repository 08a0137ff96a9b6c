//! Which spine would do: every stock of the catalogue in the place of the one that is there.

use super::cases::run;
use super::hold::Hands;
use super::jointed::jointed;
use super::joints::{Held, JointStrength, judge};
use super::sections::Wall;
use super::spine::lay_bar;
use super::{StrengthError, StrengthWork};
use rayon::prelude::*;

/// A stock in the spine's place.
#[derive(Clone, Debug, PartialEq)]
pub struct SpineChoice {
    /// Catalogue row.
    pub name: String,
    /// In words.
    pub title: String,
    /// Mass of all its lengths, g.
    pub mass_g: f64,
    /// Least factor of the printed pieces over all cases, with the weakest material.
    pub wall_factor: f64,
    /// Least factor of the spine itself, with the weakest material.
    pub spine_factor: f64,
    /// Least factor of the joints, with the weakest of what holds them: a soft spine leaves them more.
    pub joint_factor: f64,
    /// How far the tip hangs down, held level, the larger way, mm.
    pub sag_mm: f64,
    /// First frequency held in one hand, Hz.
    pub first_hz: f64,
    /// Whether it goes into the slot as it is drawn.
    pub fits: bool,
    /// Whether the event allows it.
    pub allowed: bool,
    /// Whether it is the one that is there.
    pub is_own: bool,
}

/// Tries every stock, lightest first.
pub(super) fn choices(
    work: &StrengthWork,
    walls: &[Wall],
    hands: &Hands,
    held: &[Held],
) -> Result<Vec<SpineChoice>, StrengthError> {
    let Some(rules) = work.project.spine.as_ref().filter(|_| !work.spines.is_empty()) else { return Ok(Vec::new()) };
    let mut stock = rules.choices.clone();
    if !stock.iter().any(|b| b.name == rules.bar.name) {
        stock.push(rules.bar.clone());
    }
    let own_slot = rules.bar.size_mm.map(|s| s + rules.bar.tolerance_mm);
    let mut all: Vec<SpineChoice> = stock
        .par_iter()
        .map(|bar| {
            let is_own = bar.name == rules.bar.name;
            let bar = if is_own { &rules.bar } else { bar };
            let project = crate::project::Project {
                spine: Some(crate::project::SpineRules { bar: bar.clone(), ..rules.clone() }),
                ..work.project.clone()
            };
            let work = StrengthWork { project: &project, ..*work };
            let laid = lay_bar(bar, work.spines, walls)?;
            let mass_g = walls
                .iter()
                .zip(&laid)
                .filter_map(|(w, s)| s.as_ref().map(|s| s.section.plain.mass_g_mm * (w.span_mm[1] - w.span_mm[0])));
            let mass_g = mass_g.sum();
            let whole = jointed(&work, walls, &laid)?;
            let found = run(&work, walls, &whole, hands)?;
            let least = |all: &mut dyn Iterator<Item = f64>| all.fold(f64::INFINITY, f64::min);
            let size = bar.size_mm.map(|s| s + bar.tolerance_mm);
            Ok(SpineChoice {
                name: bar.name.clone(),
                title: bar.title.clone(),
                mass_g,
                wall_factor: least(&mut found.cases.iter().map(|c| c.wall.low())),
                spine_factor: least(&mut found.cases.iter().filter_map(|c| c.spine.map(|s| s.0.low()))),
                joint_factor: least(&mut judge(held, walls, &whole, &found).iter().map(JointStrength::low)),
                sag_mm: found.cases[0].tip_mm.max(found.cases[1].tip_mm),
                first_hz: found.modes_hz.first().copied().unwrap_or(0.0),
                fits: bar.round == rules.bar.round && (0..2).all(|k| size[k] <= own_slot[k] + 1e-9),
                allowed: work.project.strength.metal || !bar.metal,
                is_own,
            })
        })
        .collect::<Result<_, StrengthError>>()?;
    all.sort_by(|a, b| a.mass_g.total_cmp(&b.mass_g).then_with(|| a.name.cmp(&b.name)));
    Ok(all)
}
