//! Where hands hold the prop.

use super::jointed::Jointed;
use super::{StrengthError, StrengthWork};
use crate::outcome::Role;
use crate::project::HANDS_APART_MM;
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
    /// What a hand has of what is held for itself: twice the way to the nearer end, or the way to the other hand, mm.
    pub room_mm: f64,
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
    let hands = placed(held, end_mm, balance, [rules.hand_mm, rules.other_mm]);
    match hands.other_mm {
        Some(other_mm) if (hands.lead_mm - other_mm).abs() < HANDS_APART_MM => {
            Err(StrengthError::OnePlace { lead_mm: hands.lead_mm, other_mm })
        }
        _ => Ok(hands),
    }
}

/// Hands on what is held, from where it begins to where it ends, of a prop that ends somewhere, for a balance; `said` by the
/// maker: leading, other.
fn placed(held: [f64; 2], end_mm: f64, balance: f64, said: [Option<f64>; 2]) -> Hands {
    let palm = PALM_MM.min(0.5 * (held[1] - held[0]));
    // No clamp: rounding may bring the two ends past each other on what is hardly as long as a palm.
    let lead_mm = said[0].unwrap_or_else(|| balance.min(held[1] - palm).max(held[0] + palm));
    let room = lead_mm - (held[0] + palm);
    let usual = (said[0].is_none() && room >= LEAST_APART_MM).then(|| lead_mm - room.min(APART_MM));
    let other_mm = said[1].or(usual);
    Hands { lead_mm, other_mm, is_said: said[0].is_some(), room_mm: own_room([held, [0.0, end_mm]], lead_mm, other_mm) }
}

/// What a hand has for itself, of what is held, or of the whole prop for a hand elsewhere.
fn own_room(spans: [[f64; 2]; 2], lead_mm: f64, other_mm: Option<f64>) -> f64 {
    let own = |at: f64| {
        let [from, to] = if spans[0][0] <= at && at <= spans[0][1] { spans[0] } else { spans[1] };
        2.0 * (at - from).min(to - at).max(0.0)
    };
    other_mm.map_or(own(lead_mm), |other| own(lead_mm).min(own(other)).min((lead_mm - other).abs()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hands_are_where_the_maker_says_or_as_near_to_the_balance_as_what_is_held_reaches() {
        let at = |held, balance, said| {
            let hands = placed(held, 2000.0, balance, said);
            (hands.lead_mm, hands.other_mm, hands.is_said)
        };
        assert_eq!(at([0.0, 400.0], 600.0, [None, None]), (340.0, Some(60.0), false), "at its end, both hands");
        assert_eq!(at([0.0, 1500.0], 700.0, [None, None]), (700.0, Some(350.0), false), "at the balance");
        assert_eq!(at([0.0, 120.0], 200.0, [None, None]), (60.0, None, false), "room for one");
        assert_eq!(at([0.0, 80.0], 200.0, [None, None]), (40.0, None, false), "hardly room for one");
        assert!((at([0.1, 0.7], 0.2, [None, None]).0 - 0.4).abs() < 1e-9, "where rounding would pass the ends");
        assert_eq!(at([0.0, 400.0], 600.0, [Some(350.0), None]), (350.0, None, true), "one hand, as said");
        assert_eq!(at([0.0, 400.0], 600.0, [Some(350.0), Some(120.0)]), (350.0, Some(120.0), true));
    }

    /// A palm of 60 mm to either side; nearer to an end or to the other hand it is less.
    #[test]
    fn each_hand_has_its_room() {
        let room = |held, said| placed(held, 2000.0, 300.0, said).room_mm;
        assert_eq!(room([0.0, 400.0], [None, None]), 120.0);
        assert_eq!(room([0.0, 80.0], [None, None]), 80.0, "no longer than that");
        assert_eq!(room([0.0, 400.0], [Some(360.0), None]), 80.0, "near its end");
        assert_eq!(room([0.0, 400.0], [Some(200.0), Some(130.0)]), 70.0, "near the other hand");
        assert_eq!(room([0.0, 400.0], [Some(900.0), None]), 1800.0, "elsewhere on the prop");
    }
}
