//! The parts of a circuit that are neither cell, wire, converter nor strip, and all of them under one name.

use crate::cell::Cell;
use crate::convert::Converter;
use crate::copper::{Wire, copper_factor};
use crate::error::{CircuitError, at_least_nought, positive, resistance, within};
use crate::strip::{LEAK_S, Strip, fold};

/// How a part warms by its own loss: towards so many kelvin above its surroundings for each watt, with a time constant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heating {
    /// Kelvin above the surroundings for each watt, in the end.
    pub k_per_w: f64,
    /// Time in which 63 % (1 - 1/e) of the way there is gone, s.
    pub time_s: f64,
}

impl Heating {
    pub(crate) fn check(&self, part: &str) -> Result<(), CircuitError> {
        at_least_nought(part, "its warming in K/W", self.k_per_w)?;
        positive(part, "the time of its warming in s", self.time_s)
    }
}

/// Two pieces of metal that touch: a connector, or a switch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contact {
    /// Resistance while they touch, ohm.
    pub ohm: f64,
    /// What it is made for, A.
    pub rated_a: f64,
    /// Whether they touch; an open switch leaks [`LEAK_S`].
    pub closed: bool,
}

impl Contact {
    /// A closed contact.
    pub fn closed(ohm: f64, rated_a: f64) -> Self {
        Self { ohm, rated_a, closed: true }
    }
}

/// A fuse.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fuse {
    /// What is printed on it, A.
    pub rated_a: f64,
    /// Cold resistance at 20 °C, ohm; it rises with warmth as copper's does.
    pub ohm: f64,
    /// How it warms.
    pub heating: Heating,
}

impl Fuse {
    /// A fuse that in a room of 20 °C drops 0.1 V at its rating when it is 60 K warm, as it then is, with a time of 5 s (common
    /// practice, no source).
    pub fn rated(rated_a: f64) -> Self {
        let (drop_v, rise_k) = (0.1, 60.0);
        let ohm = drop_v / rated_a / copper_factor(20.0 + rise_k);
        Self { rated_a, ohm, heating: Heating { k_per_w: rise_k / (drop_v * rated_a), time_s: 5.0 } }
    }
}

/// A load of constant current or power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Load {
    /// A controller or sensor behind a linear regulator: the same current at any voltage that is enough.
    Current {
        /// That current, A.
        amps: f64,
        /// The voltage that is enough, V: below it the current folds back, and a controller resets.
        lowest_v: f64,
    },
    /// The same power at any voltage that is enough.
    Power {
        /// That power, W.
        watt: f64,
        /// The voltage that is enough, V: below it the load takes current in proportion to its voltage.
        lowest_v: f64,
    },
}

impl Load {
    /// The voltage that it needs, V.
    pub fn lowest_v(&self) -> f64 {
        match *self {
            Load::Current { lowest_v, .. } | Load::Power { lowest_v, .. } => lowest_v,
        }
    }

    /// Current and its slope, the load taken `scale` times.
    pub(crate) fn drawn(&self, scale: f64, volt: f64) -> (f64, f64) {
        let (amps, slope) = match *self {
            Load::Current { amps, lowest_v } => {
                let (share, slope) = fold(volt, 0.0, lowest_v);
                (amps * share, amps * slope)
            }
            Load::Power { watt, lowest_v } if volt >= lowest_v => (watt / volt, -watt / (volt * volt)),
            Load::Power { watt, lowest_v } => (watt * volt / (lowest_v * lowest_v), watt / (lowest_v * lowest_v)),
        };
        (amps * scale + LEAK_S * volt, slope * scale + LEAK_S)
    }
}

/// A class-D amplifier and its speaker.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Amplifier {
    /// Impedance of the speaker, ohm, taken as a resistance.
    pub speaker_ohm: f64,
    /// Share of the power taken beyond the idle current that reaches the speaker; 0.80 to 0.87 in data sheets.
    pub efficiency: f64,
    /// What it draws in silence, A.
    pub idle_a: f64,
    /// The voltage that it needs, V.
    pub lowest_v: f64,
}

impl Amplifier {
    /// The most power of a sine that is not clipped: a bridged output swings to the supply, V²/2R.
    pub fn most_w(&self, volt: f64) -> f64 {
        volt * volt / (2.0 * self.speaker_ohm)
    }

    /// What reaches the speaker of what it is asked for, W.
    pub(crate) fn sounded_w(&self, asked_w: f64, volt: f64) -> f64 {
        if volt > 0.0 { asked_w.min(self.most_w(volt)) } else { 0.0 }
    }

    pub(crate) fn drawn(&self, asked_w: f64, scale: f64, volt: f64) -> (f64, f64) {
        let (idle, idle_slope) = fold(volt, 0.0, self.lowest_v);
        let (sound_a, sound_slope) = if volt <= 0.0 {
            (0.0, 0.0)
        } else if asked_w <= self.most_w(volt) {
            let amps = asked_w / (self.efficiency * volt);
            (amps, -amps / volt)
        } else {
            let slope = 1.0 / (2.0 * self.speaker_ohm * self.efficiency);
            (slope * volt, slope)
        };
        let (amps, slope) = (self.idle_a * idle + sound_a, self.idle_a * idle_slope + sound_slope);
        (amps * scale + LEAK_S * volt, slope * scale + LEAK_S)
    }
}

/// A bulk capacitor; nothing but leakage at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Capacitor {
    /// Capacitance, F.
    pub farad: f64,
    /// Resistance in series with it, ohm.
    pub esr_ohm: f64,
}

/// A part of a circuit. The ends of each are told with it, in the order in which [`Network::add`](crate::Network::add) takes
/// nodes.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    /// Plus, minus.
    Cell(Cell),
    /// Its two ends.
    Wire(Wire),
    /// Its two sides.
    Contact(Contact),
    /// Its two ends.
    Fuse(Fuse),
    /// Input, output, common minus.
    Converter(Converter),
    /// Plus and minus of each tap, in the order of the taps.
    Strip(Strip),
    /// Plus, minus.
    Load(Load),
    /// Plus, minus.
    Amplifier(Amplifier),
    /// Plus, minus.
    Capacitor(Capacitor),
}

macro_rules! part_from {
    ($($kind:ident),*) => {$(
        impl From<$kind> for Part {
            fn from(part: $kind) -> Self {
                Part::$kind(part)
            }
        }
    )*};
}
part_from!(Cell, Wire, Contact, Fuse, Converter, Strip, Load, Amplifier, Capacitor);

impl Part {
    /// How many nodes it is joined to.
    pub(crate) fn ends(&self) -> usize {
        match self {
            Part::Converter(_) => 3,
            Part::Strip(strip) => 2 * strip.taps.len(),
            _ => 2,
        }
    }

    /// Whether it is nothing but metal.
    pub(crate) fn is_wire(&self) -> bool {
        matches!(self, Part::Wire(_) | Part::Contact(_) | Part::Fuse(_))
    }

    /// How it warms, if that is followed.
    pub fn heating(&self) -> Option<Heating> {
        match self {
            Part::Cell(cell) => Some(cell.heating),
            Part::Wire(wire) => Some(wire.heating()),
            Part::Fuse(fuse) => Some(fuse.heating),
            _ => None,
        }
    }

    pub(crate) fn check(&self, name: &str) -> Result<(), CircuitError> {
        let rating = |amps: f64| positive(name, "its rating in A", amps);
        match self {
            Part::Cell(cell) => cell.check(name),
            Part::Wire(wire) => wire.check(name),
            Part::Contact(contact) => {
                rating(contact.rated_a)?;
                resistance(name, "its resistance", contact.ohm)
            }
            Part::Fuse(fuse) => {
                rating(fuse.rated_a)?;
                fuse.heating.check(name)?;
                resistance(name, "its resistance", fuse.ohm)
            }
            Part::Converter(converter) => converter.check(name),
            Part::Strip(strip) => strip.check(name),
            Part::Load(load) => {
                within(name, "the voltage that it needs", load.lowest_v(), (0.01, 1e4), "0.01 V or more")?;
                match *load {
                    Load::Current { amps, .. } => at_least_nought(name, "its current in A", amps),
                    Load::Power { watt, .. } => at_least_nought(name, "its power in W", watt),
                }
            }
            Part::Amplifier(amp) => {
                resistance(name, "its speaker's impedance", amp.speaker_ohm)?;
                within(name, "its efficiency", amp.efficiency, (0.01, 1.0), "0.01 to 1")?;
                at_least_nought(name, "its idle current in A", amp.idle_a)?;
                within(name, "the voltage that it needs", amp.lowest_v, (0.01, 1e4), "0.01 V or more")
            }
            Part::Capacitor(cap) => {
                positive(name, "its capacitance in F", cap.farad)?;
                at_least_nought(name, "its series resistance in ohm", cap.esr_ohm)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn class_d_gives_its_power() {
        let amp = Amplifier { speaker_ohm: 4.0, efficiency: 0.85, idle_a: 0.0028, lowest_v: 2.5 };
        // 5 V bridged into 4 ohm: 3.125 W, lossless and unclipped.
        assert!((amp.most_w(5.0) - 3.125).abs() < 1e-12);
        assert!((amp.drawn(2.0, 1.0, 5.0).0 - (0.0028 + 2.0 / (0.85 * 5.0))).abs() < 1e-8);
        // Clipped: no more than V²/2R, however loud it is to be.
        assert_eq!(amp.sounded_w(10.0, 4.0), 2.0);
        assert!((amp.drawn(10.0, 1.0, 4.0).0 - (0.0028 + 2.0 / (0.85 * 4.0))).abs() < 1e-8);
    }

    #[test]
    fn a_load_of_power_takes_more_current_from_less_voltage_down_to_its_least() {
        let load = Load::Power { watt: 6.0, lowest_v: 3.0 };
        assert!((load.drawn(1.0, 5.0).0 - 1.2).abs() < 1e-8);
        assert!((load.drawn(1.0, 3.0).0 - 2.0).abs() < 1e-8);
        assert!((load.drawn(1.0, 1.5).0 - 1.0).abs() < 1e-8);
    }
}
