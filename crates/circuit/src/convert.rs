//! A converter between cell and load: what it holds, and what it takes for that.

use crate::error::{CircuitError, at_least_nought, positive, resistance, within};
use crate::strip::{LEAK_S, fold};

/// Which way a converter changes the voltage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// Up only: a higher input passes through, less the dropout, and with the same efficiency (the safe side: most lose less then).
    Up,
    /// Down only: a lower input passes through, less the dropout, and with the same efficiency.
    Down,
    /// Either way.
    Either,
}

/// A converter with a common minus.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Converter {
    /// Which way it changes the voltage.
    pub change: Change,
    /// What it holds at its output, V, with no load.
    pub output_v: f64,
    /// By how much its output falls for each ampere, ohm.
    pub output_ohm: f64,
    /// Share of the power taken beyond its idle current that comes out, above 0 to 1.
    pub efficiency: f64,
    /// What it takes for itself, A.
    pub idle_a: f64,
    /// The most that it takes in, A: beyond it the output falls until no more is needed.
    pub most_in_a: f64,
    /// What the input must be above the output of a converter that goes down, or loses to the output of one that passes through, V.
    pub dropout_v: f64,
    /// The least input at which it works, V; below, its output falls away.
    pub lowest_in_v: f64,
}

/// How a converter fares.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holding {
    /// It holds its voltage.
    Well,
    /// The input passes through.
    Passing,
    /// It takes all that it may, and the output falls.
    Limited,
    /// The input is too low.
    Starved,
}

/// The voltage inside a converter and the current that it takes, with their slopes by input voltage and output current.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Law {
    pub inner_v: f64,
    pub inner_by_in: f64,
    pub inner_by_out: f64,
    pub in_a: f64,
    pub in_by_in: f64,
    pub in_by_out: f64,
    pub holding: Holding,
}

impl Converter {
    /// A converter from one cell up to 5 V of the usual efficiency, 88 % (85 to 95 % is usual; common practice, no source).
    pub fn up_to_5v(most_in_a: f64) -> Self {
        Self {
            change: Change::Up,
            output_v: 5.1,
            output_ohm: 0.01,
            efficiency: 0.88,
            idle_a: 0.001,
            most_in_a,
            dropout_v: 0.3,
            lowest_in_v: 2.5,
        }
    }

    /// What it does at an input voltage and an output current.
    pub(crate) fn law(&self, in_v: f64, out_a: f64) -> Law {
        let starved = in_v < self.lowest_in_v;
        let (on, on_slope) = waking(in_v / self.lowest_in_v);
        let through = (in_v - self.dropout_v).max(0.0);
        let passes = match self.change {
            Change::Up => through > self.output_v,
            Change::Down => through < self.output_v,
            Change::Either => false,
        };
        let (whole_v, whole_slope) = match (passes, through > 0.0) {
            (false, _) => (self.output_v, 0.0),
            (true, above) => (through, if above { 1.0 } else { 0.0 }),
        };
        let mut inner_v = whole_v * on;
        let mut inner_by_in = whole_slope * on + whole_v * on_slope / self.lowest_in_v;
        let mut inner_by_out = 0.0;
        let mut holding = match (starved, passes) {
            (true, _) => Holding::Starved,
            (false, true) => Holding::Passing,
            (false, false) => Holding::Well,
        };
        // Nothing comes from a converter without input, and nothing is divided by it.
        if in_v <= 0.0 {
            let in_a = LEAK_S * in_v;
            return Law {
                inner_v: 0.0,
                inner_by_in: 0.0,
                inner_by_out,
                in_a,
                in_by_in: LEAK_S,
                in_by_out: 0.0,
                holding,
            };
        }
        let (idle, idle_slope) = fold(in_v, 0.0, self.lowest_in_v);
        let (idle_a, idle_slope) = (self.idle_a * idle + LEAK_S * in_v, self.idle_a * idle_slope + LEAK_S);
        // What would come back through it comes back with its loss, too.
        let gain = if out_a >= 0.0 { 1.0 / self.efficiency } else { self.efficiency };
        let wanted_a = inner_v * out_a * gain / in_v;
        let free_a = self.most_in_a - idle_a;
        if wanted_a > free_a {
            // The input stands at its most, and the output is what that power gives at this current.
            inner_v = free_a * in_v / (out_a * gain);
            inner_by_in = (free_a - in_v * idle_slope) / (out_a * gain);
            inner_by_out = -inner_v / out_a;
            holding = if starved { Holding::Starved } else { Holding::Limited };
            return Law {
                inner_v,
                inner_by_in,
                inner_by_out,
                in_a: self.most_in_a,
                in_by_in: 0.0,
                in_by_out: 0.0,
                holding,
            };
        }
        Law {
            inner_v,
            inner_by_in,
            inner_by_out,
            in_a: idle_a + wanted_a,
            in_by_in: idle_slope + (inner_by_in * out_a * gain - wanted_a) / in_v,
            in_by_out: inner_v * gain / in_v,
            holding,
        }
    }

    pub(crate) fn check(&self, part: &str) -> Result<(), CircuitError> {
        positive(part, "its output in V", self.output_v)?;
        resistance(part, "the fall of its output", self.output_ohm)?;
        within(part, "its efficiency", self.efficiency, (0.01, 1.0), "0.01 to 1")?;
        at_least_nought(part, "its idle current in A", self.idle_a)?;
        let most = "0.1 mA or more above its idle current";
        within(part, "its input limit in A", self.most_in_a, (self.idle_a + 1e-4, 1e6), most)?;
        at_least_nought(part, "its dropout in V", self.dropout_v)?;
        within(part, "its lowest input in V", self.lowest_in_v, (0.01, 1e4), "0.01 or more")
    }
}

/// How far a converter is awake at a share of its lowest input, and its slope: so softly that what it takes falls to nothing with
/// its input. No converter is worked there; it says which way things go.
fn waking(u: f64) -> (f64, f64) {
    if u >= 1.0 {
        (1.0, 0.0)
    } else if u <= 0.0 {
        (0.0, 0.0)
    } else {
        (u * u * (3.0 - 2.0 * u), 6.0 * u * (1.0 - u))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_input_pays_for_the_output() {
        // 2.16 A at 5 V and 88 % from 3.3 V are 3.72 A.
        let converter = Converter { output_v: 5.0, idle_a: 0.0, ..Converter::up_to_5v(6.0) };
        assert!((converter.law(3.3, 2.16).in_a - 3.719).abs() < 1e-3);
    }

    #[test]
    fn its_limit_holds_power_and_its_slopes_are_slopes() {
        for (change, volts) in [(Change::Up, [1.0, 2.4, 3.3, 6.0]), (Change::Down, [1.0, 4.0, 5.2, 8.0])] {
            let c = Converter { change, ..Converter::up_to_5v(3.0) };
            for in_v in volts {
                for out_a in [-0.5, 0.3, 1.0, 2.5, 4.0] {
                    let (law, step) = (c.law(in_v, out_a), 1e-6);
                    let (by_in, by_out) = (c.law(in_v + step, out_a), c.law(in_v, out_a + step));
                    for (slope, moved, at) in [
                        (law.inner_by_in, by_in.inner_v, law.inner_v),
                        (law.inner_by_out, by_out.inner_v, law.inner_v),
                        (law.in_by_in, by_in.in_a, law.in_a),
                        (law.in_by_out, by_out.in_a, law.in_a),
                    ] {
                        assert!(
                            (slope - (moved - at) / step).abs() < 1e-4 * (1.0 + slope.abs()),
                            "{change:?} {in_v} {out_a}"
                        );
                    }
                    assert!(law.in_a <= 3.0 && law.inner_v * out_a <= law.in_a * in_v + 1e-12);
                }
            }
        }
    }

    #[test]
    fn up_passes_what_is_higher_and_down_what_is_lower() {
        let up = Converter::up_to_5v(5.0);
        assert_eq!((up.law(8.4, 1.0).holding, up.law(8.4, 1.0).inner_v), (Holding::Passing, 8.1));
        assert_eq!(up.law(3.0, 0.5).holding, Holding::Well);
        assert_eq!(up.law(2.4, 0.5).holding, Holding::Starved);
        let down = Converter { change: Change::Down, ..up };
        assert!((down.law(5.0, 1.0).inner_v - 4.7).abs() < 1e-12);
        assert_eq!(down.law(7.0, 1.0).inner_v, 5.1);
    }
}
