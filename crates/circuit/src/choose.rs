//! Choosing: the smallest part, fuse or gauge and the most light that hold.

use crate::copper::{Wire, copper_factor, steady_celsius};
use crate::demand::{Conditions, Demand};
use crate::error::{CircuitError, celsius, positive, share};
use crate::network::{Network, PartId};
use crate::part::Part;
use crate::runtime::Runtime;
use crate::state::State;
use crate::usage::Usage;

/// A fuse carries no more than this share of its rating for long (common practice, no source).
pub const FUSE_SHARE: f64 = 0.75;

/// How closely the most light is found.
const LIGHT: f64 = 1.0 / 512.0;

/// What a wire is to do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WireAsked {
    /// Largest lasting current, A.
    pub current_a: f64,
    /// Length of the wire one way, with slack, mm; there is one back, too.
    pub length_mm: f64,
    /// The most that both together may drop, V.
    pub most_drop_v: f64,
    /// The warmest that the wire may be, °C.
    pub most_c: f64,
    /// Its surroundings, °C.
    pub ambient_c: f64,
}

/// A wire that does what it is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WireChosen {
    /// The wire, one way.
    pub wire: Wire,
    /// What it and the one back drop, warm, V.
    pub drop_v: f64,
    /// How warm it gets, °C.
    pub celsius: f64,
}

/// The thinnest of some gauges that neither drops nor warms too much; `None` if none does.
///
/// # Errors
///
/// Numbers that cannot be.
pub fn thinnest_wire(gauges: &[i32], asked: &WireAsked) -> Result<Option<WireChosen>, CircuitError> {
    positive("the wire", "the most that it may drop in V", asked.most_drop_v)?;
    celsius("the wire", "the warmest that it may be", asked.most_c)?;
    let mut gauges = gauges.to_vec();
    gauges.sort_unstable_by(|a, b| b.cmp(a));
    for awg in gauges {
        let wire = Wire::stranded(awg, asked.length_mm);
        let warm_c = steady_celsius(&wire, asked.current_a, asked.ambient_c)?;
        let drop_v = 2.0 * asked.current_a * wire.ohm() * copper_factor(warm_c);
        if warm_c <= asked.most_c && drop_v <= asked.most_drop_v {
            return Ok(Some(WireChosen { wire, drop_v, celsius: warm_c }));
        }
    }
    Ok(None)
}

/// Why no fuse does.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum NoFuse {
    /// All are too small for the load.
    #[error("the load needs a fuse of {needed_a:.1} A or more, and there is none")]
    TooSmall {
        /// Smallest rating that carries the load, A.
        needed_a: f64,
    },
    /// Those that carry the load let more through than the weakest part bears.
    #[error(
        "the load needs a fuse of {needed_a:.1} A, and the weakest wire or connector bears {weakest_a:.1} A: make that stronger"
    )]
    WouldNotProtect {
        /// Smallest rating that there is for the load, A.
        needed_a: f64,
        /// What the weakest part bears, A.
        weakest_a: f64,
    },
    /// A current that cannot be.
    #[error("{value} is no current")]
    Number {
        /// What it was.
        value: f64,
    },
}

/// The smallest fuse of some ratings that carries a lasting load with [`FUSE_SHARE`] of its rating and is rated no higher than the
/// weakest part behind it.
///
/// # Errors
///
/// Why there is none.
pub fn smallest_fuse(ratings_a: &[f64], load_a: f64, weakest_a: f64) -> Result<f64, NoFuse> {
    if let Some(value) = ratings_a.iter().chain([&load_a, &weakest_a]).find(|a| !a.is_finite() || **a <= 0.0) {
        return Err(NoFuse::Number { value: *value });
    }
    let needed_a = load_a / FUSE_SHARE;
    let fitting = ratings_a.iter().copied().filter(|a| *a >= needed_a).min_by(f64::total_cmp);
    match fitting {
        None => Err(NoFuse::TooSmall { needed_a }),
        Some(rated_a) if rated_a > weakest_a => Err(NoFuse::WouldNotProtect { needed_a: rated_a, weakest_a }),
        Some(rated_a) => Ok(rated_a),
    }
}

/// The capacitance that gives a burst of current for a time with no more than so much fall, F: I t / V. What comes through the
/// wires meanwhile makes the fall less.
///
/// # Errors
///
/// Numbers that are not more than nought.
pub fn bulk_farad(burst_a: f64, time_s: f64, most_fall_v: f64) -> Result<f64, CircuitError> {
    positive("the capacitor", "the burst in A", burst_a)?;
    positive("the capacitor", "its time in s", time_s)?;
    positive("the capacitor", "the fall in V", most_fall_v)?;
    Ok(burst_a * time_s / most_fall_v)
}

impl Network {
    /// The first of some parts, put in the place of one, with which the circuit does what is asked: give them from the smallest.
    /// Which it is, or `None`. What cannot be worked out with a part (a load that it cannot carry) is for `holds` to judge.
    ///
    /// # Errors
    ///
    /// Parts whose numbers cannot be; those of `holds`.
    pub fn first_that_holds(
        &self,
        id: PartId,
        parts: &[Part],
        holds: &dyn Fn(&Network) -> Result<bool, CircuitError>,
    ) -> Result<Option<usize>, CircuitError> {
        let mut net = self.clone();
        for (which, part) in parts.iter().enumerate() {
            net.replace(id, part.clone())?;
            if holds(&net)? {
                return Ok(Some(which));
            }
        }
        Ok(None)
    }

    /// The most light, 0 to 1 of the demand's, at which a state does what is asked: found to 1/512, from below; `None` if it does
    /// not even when dark. More light must not make a state better. A load that cannot be carried does not hold.
    ///
    /// # Errors
    ///
    /// As [`Network::solve`], but for loads that cannot be carried.
    pub fn most_light(
        &self,
        demand: &Demand,
        conditions: &Conditions,
        holds: &dyn Fn(&State) -> bool,
    ) -> Result<Option<f64>, CircuitError> {
        let at = |light: f64| match self.solve(&Demand { light: light * demand.light, ..*demand }, conditions) {
            Ok(state) => Ok(holds(&state)),
            Err(CircuitError::CannotCarry { .. }) => Ok(false),
            Err(fault) => Err(fault),
        };
        if at(1.0)? {
            return Ok(Some(1.0));
        }
        if !at(0.0)? {
            return Ok(None);
        }
        let (mut low, mut high) = (0.0, 1.0);
        while high - low > LIGHT {
            let middle = (low + high) / 2.0;
            if at(middle)? { low = middle } else { high = middle }
        }
        Ok(Some(low))
    }

    /// What each brightness buys: the runtime with all light of the usage taken that many times.
    ///
    /// # Errors
    ///
    /// As [`Network::runtime`]; a brightness that is not 0 to 1.
    pub fn runtimes(
        &self,
        usage: &Usage,
        ambient_c: f64,
        brightness: &[f64],
    ) -> Result<Vec<(f64, Runtime)>, CircuitError> {
        let mut found = Vec::new();
        for times in brightness {
            share("the brightness", "it", *times)?;
            let mut usage = usage.clone();
            usage.moments.iter_mut().for_each(|m| m.light *= times);
            found.push((*times, self.runtime(&usage, ambient_c)?));
        }
        Ok(found)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fuse_carries_the_load_and_saves_the_wire() {
        let ratings = [1.0, 2.0, 3.0, 5.0, 7.5, 10.0];
        assert_eq!(smallest_fuse(&ratings, 3.7, 7.0), Ok(5.0));
        assert_eq!(smallest_fuse(&ratings, 3.75, 7.0), Ok(5.0));
        assert_eq!(smallest_fuse(&ratings, 3.8, 7.0), Err(NoFuse::WouldNotProtect { needed_a: 7.5, weakest_a: 7.0 }));
        assert_eq!(smallest_fuse(&ratings, 9.0, 32.0), Err(NoFuse::TooSmall { needed_a: 12.0 }));
        assert!(matches!(smallest_fuse(&ratings, f64::NAN, 1.0), Err(NoFuse::Number { .. })));
    }

    #[test]
    fn the_thinnest_wire_is_the_last_that_holds() {
        let asked = WireAsked { current_a: 3.0, length_mm: 500.0, most_drop_v: 0.2, most_c: 60.0, ambient_c: 25.0 };
        let gauges = [16, 18, 20, 22, 24, 26];
        let chosen = thinnest_wire(&gauges, &asked).unwrap().unwrap();
        // 3 A through a metre of 22 gauge, 53 milliohms, 3 % for its twist: 0.164 V cold; 24 gauge drops 0.26 V.
        assert_eq!(chosen.wire.awg, 22);
        assert!((0.164..0.2).contains(&chosen.drop_v) && chosen.celsius < 60.0);
        let loose = WireAsked { most_drop_v: 10.0, ..asked };
        let warm = thinnest_wire(&gauges, &loose).unwrap().unwrap();
        assert!(warm.wire.awg >= 22 && warm.celsius <= 60.0);
        assert_eq!(thinnest_wire(&gauges, &WireAsked { most_drop_v: 1e-3, ..asked }).unwrap(), None);
        assert!(thinnest_wire(&gauges, &WireAsked { current_a: f64::NAN, ..asked }).is_err());
        assert!(thinnest_wire(&gauges, &WireAsked { most_drop_v: f64::NAN, ..asked }).is_err());
        assert!(thinnest_wire(&gauges, &WireAsked { most_c: f64::NAN, ..asked }).is_err());
    }

    #[test]
    fn a_burst_takes_its_charge_from_the_capacitor() {
        assert!((bulk_farad(2.0, 1e-3, 0.5).unwrap() - 4e-3).abs() < 1e-15);
        assert!(bulk_farad(2.0, 1e-3, 0.0).is_err());
    }
}
