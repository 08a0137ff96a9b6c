//! Where hands hold the prop.

use super::jointed::Jointed;
use super::{StrengthError, StrengthWork};
use crate::outcome::Role;
use beam::frame::heft;

/// A hand's middle keeps so far from the ends of what it holds, mm: half a palm and a little.
const PALM_MM: f64 = 60.0;
/// Hands are so far apart at the most where there is room, mm (our choice).
const APART_MM: f64 = 350.0;
/// Nearer than this there is room for one hand only, mm.
const LEAST_APART_MM: f64 = 150.0;
/// Words that name what is held.
const WORDS: [&str; 6] = ["grip", "handle", "hilt", "haft", "shaft", "stave"];

/// Stations of the hands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hands {
    /// The hand that leads, nearer to the balance, mm.
    pub lead_mm: f64,
    /// The other, mm, if there is room for one.
    pub other_mm: Option<f64>,
    /// Whether the maker said so.
    pub is_said: bool,
}

/// Where the maker says, or on what is called a grip or shaft as near to the balance as it reaches, and the other hand
/// towards the butt of that.
pub(super) fn hands(work: &StrengthWork, bar: &Jointed) -> Result<Hands, StrengthError> {
    let rules = &work.project.strength;
    let end_mm = bar.stops_mm.last().copied().unwrap_or(0.0);
    for hand_mm in [rules.hand_mm, rules.other_mm].into_iter().flatten() {
        if hand_mm > end_mm {
            return Err(StrengthError::Hand { hand_mm, end_mm });
        }
    }
    let balance = work.placed.path.station_of(heft(&bar.line.frame).balance_mm);
    let called = |name: &str| WORDS.iter().any(|word| name.to_lowercase().contains(word));
    let core = || work.placed.bodies.iter().filter(|b| b.role != Role::Cover);
    let reach = |of: &mut dyn Iterator<Item = &crate::outcome::Body>| {
        of.map(|b| b.station_mm).reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])])
    };
    let held = reach(&mut core().filter(|b| called(&b.name)))
        .or_else(|| reach(&mut core().filter(|b| b.role == Role::Plain)))
        .unwrap_or([0.0, end_mm]);
    let palm = PALM_MM.min(0.5 * (held[1] - held[0]));
    let lead_mm = rules.hand_mm.unwrap_or_else(|| balance.clamp(held[0] + palm, held[1] - palm));
    let room = lead_mm - (held[0] + palm);
    let usual = (rules.hand_mm.is_none() && room >= LEAST_APART_MM).then(|| lead_mm - room.min(APART_MM));
    Ok(Hands { lead_mm, other_mm: rules.other_mm.or(usual), is_said: rules.hand_mm.is_some() })
}
