//! What a part does in the circuit.

use super::PartKind;
use crate::fields::Fields;
use crate::quantity::{Quantity, Wanted};

/// What a part does in the circuit, by its kind.
#[derive(Clone, Debug, PartialEq)]
pub enum Electrics {
    /// It gives the power.
    Cell {
        /// Capacity when new, Ah.
        capacity_ah: f64,
        /// Inner resistance when new at 25 °C, ohm.
        ohm: f64,
        /// Lasting current that it, its protection and leads bear, A.
        most_a: f64,
        /// Its protection parts it below this, V.
        cut_off_v: f64,
    },
    /// It decides what the prop does.
    Controller {
        /// What it draws, A.
        amps: f64,
        /// What it needs, V.
        lowest_v: f64,
        /// A high on its data pins, V.
        data_v: f64,
        /// The converter on its board that feeds it and all that is wired to it, if it has one.
        boost: Option<Boost>,
    },
    /// It draws a steady current.
    Sensor {
        /// What it draws, A.
        amps: f64,
        /// What it needs, V.
        lowest_v: f64,
    },
    /// It drives the speaker.
    Amplifier {
        /// What it draws in silence, A.
        idle_a: f64,
        /// What it needs, V.
        lowest_v: f64,
        /// Share of what it takes beyond that which reaches the speaker, 0 to 1.
        efficiency: f64,
    },
    /// It changes the voltage.
    Converter(Boost),
    /// It sounds.
    Speaker {
        /// Impedance, ohm.
        ohm: f64,
        /// What it bears, W.
        watt: f64,
    },
    /// It parts a wire.
    Switch {
        /// Resistance when closed, ohm.
        ohm: f64,
        /// What it may part, A.
        rated_a: f64,
    },
    /// It burns before the wires do.
    Fuse {
        /// The ratings that it is sold with, A.
        ratings_a: Vec<f64>,
    },
    /// A socket: nothing of its own.
    Passive,
}

/// A converter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Boost {
    /// What it takes in at most, A.
    pub most_in_a: f64,
    /// What it holds at its output, V.
    pub output_v: f64,
    /// Share of what it takes in that comes out, 0 to 1.
    pub efficiency: f64,
}

/// Reads what a part of a kind does in the circuit, over that of a row of the same kind.
pub(super) fn read(row: &mut Fields<'_>, kind: PartKind, base: Option<&Electrics>) -> Option<Electrics> {
    const CAPACITY: Wanted = Wanted::of(Quantity::Charge, 0.01, 200.0, "3000 mAh");
    const OHM: Wanted = Wanted::of(Quantity::Resistance, 0.001, 100.0, "60 mohm");
    const AMPS: Wanted = Wanted::of(Quantity::Current, 0.0001, 100.0, "5 A");
    const VOLT: Wanted = Wanted::of(Quantity::Voltage, 0.5, 30.0, "3.3 V");
    const EFFICIENCY: Wanted = Wanted::of(Quantity::Share, 0.2, 1.0, "88 %");
    const WATT: Wanted = Wanted::of(Quantity::Power, 0.05, 100.0, "2 W");
    // Values of the row beneath, in the order of the keys read here.
    let of = match base {
        Some(Electrics::Cell { capacity_ah, ohm, most_a, cut_off_v }) => vec![*capacity_ah, *ohm, *most_a, *cut_off_v],
        Some(Electrics::Controller { amps, lowest_v, data_v, boost }) => {
            let boost = boost.map(|b| [b.most_in_a, b.output_v, b.efficiency]);
            [*amps, *lowest_v, *data_v].into_iter().chain(boost.into_iter().flatten()).collect()
        }
        Some(Electrics::Sensor { amps, lowest_v }) => vec![*amps, *lowest_v],
        Some(Electrics::Amplifier { idle_a, lowest_v, efficiency }) => vec![*idle_a, *lowest_v, *efficiency],
        Some(Electrics::Converter(b)) => vec![b.most_in_a, b.output_v, b.efficiency],
        Some(Electrics::Speaker { ohm, watt }) => vec![*ohm, *watt],
        Some(Electrics::Switch { ohm, rated_a }) => vec![*ohm, *rated_a],
        Some(Electrics::Fuse { .. } | Electrics::Passive) | None => Vec::new(),
    };
    // A board with a converter on it says what that gives.
    let boosts = row.has("output") || matches!(base, Some(Electrics::Controller { boost: Some(_), .. }));
    let mut keys = 0;
    let mut get = |name: &'static str, wanted: &Wanted| {
        keys += 1;
        row.quantity(name, wanted, of.get(keys - 1).copied())
    };
    Some(match kind {
        PartKind::Cell => {
            let (capacity, ohm) = (get("capacity", &CAPACITY), get("resistance", &OHM));
            let (most, cut_off) = (get("most", &AMPS), get("cut-off", &VOLT));
            Electrics::Cell { capacity_ah: capacity?, ohm: ohm?, most_a: most?, cut_off_v: cut_off? }
        }
        PartKind::Controller => {
            let (amps, lowest, data) = (get("draws", &AMPS), get("lowest", &VOLT), get("data", &VOLT));
            let boost = if boosts {
                let (most, output) = (get("most", &AMPS), get("output", &VOLT));
                let efficiency = get("efficiency", &EFFICIENCY);
                Some(Boost { most_in_a: most?, output_v: output?, efficiency: efficiency? })
            } else {
                None
            };
            Electrics::Controller { amps: amps?, lowest_v: lowest?, data_v: data?, boost }
        }
        PartKind::Sensor => {
            let (amps, lowest) = (get("draws", &AMPS), get("lowest", &VOLT));
            Electrics::Sensor { amps: amps?, lowest_v: lowest? }
        }
        PartKind::Amplifier => {
            let (idle, lowest) = (get("draws", &AMPS), get("lowest", &VOLT));
            let efficiency = get("efficiency", &EFFICIENCY);
            Electrics::Amplifier { idle_a: idle?, lowest_v: lowest?, efficiency: efficiency? }
        }
        PartKind::Converter => {
            let (most, output) = (get("most", &AMPS), get("output", &VOLT));
            let efficiency = get("efficiency", &EFFICIENCY);
            Electrics::Converter(Boost { most_in_a: most?, output_v: output?, efficiency: efficiency? })
        }
        PartKind::Speaker => {
            let (ohm, watt) = (get("impedance", &OHM), get("power", &WATT));
            Electrics::Speaker { ohm: ohm?, watt: watt? }
        }
        PartKind::Switch => {
            let (ohm, rated) = (get("resistance", &OHM), get("rated", &AMPS));
            Electrics::Switch { ohm: ohm?, rated_a: rated? }
        }
        PartKind::Fuse => Electrics::Fuse { ratings_a: ratings(row, &AMPS, base)? },
        PartKind::ChargePort | PartKind::ProgramPort => Electrics::Passive,
    })
}

/// The ratings of a fuse, rising.
fn ratings(row: &mut Fields<'_>, wanted: &Wanted, base: Option<&Electrics>) -> Option<Vec<f64>> {
    const EXAMPLE: &str = "[\"2 A\", \"3 A\", \"5 A\"]";
    let Some(field) = row.get("rated") else {
        return match base {
            Some(Electrics::Fuse { ratings_a }) => Some(ratings_a.clone()),
            _ => row.need("rated", &format!("rated = {EXAMPLE}")).and(None),
        };
    };
    let items = field.one_or_more(EXAMPLE)?;
    let values: Vec<Option<f64>> = items.iter().map(|item| item.quantity(wanted)).collect();
    let mut values = values.into_iter().collect::<Option<Vec<f64>>>()?;
    if values.is_empty() {
        return field.error("a fuse has a rating", format!("name one at least, for example {EXAMPLE}"));
    }
    values.sort_by(f64::total_cmp);
    values.dedup();
    Some(values)
}
