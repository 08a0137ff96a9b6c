//! Cells: voltage against charge, inner resistance against warmth, charge and age, protection.

use crate::error::{CircuitError, at_least_nought, positive, resistance, share, within};
use crate::part::Heating;

/// A cell, or a pack of like cells.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// What a new cell holds, Ah.
    pub capacity_ah: f64,
    /// Open-circuit voltage of one cell against its charge: (share of the charge, V), from empty (0) to full (1): charges
    /// rise, voltages never fall.
    /// Straight between the points.
    pub open_v: Vec<(f64, f64)>,
    /// Inner resistance of one new cell at 25 °C and half charge, over some seconds, ohm.
    pub ohm: f64,
    /// How cold raises the inner resistance: it goes with exp(b (1/T - 1/298.15 K)), and this is b, K. 0 for not at all.
    pub cold_k: f64,
    /// How much more the inner resistance is when the cell is empty than when it is full, as a share; grows as (1 - charge)^4.
    pub empty_rise: f64,
    /// What is left of the capacity for its age, 0 to 1.
    pub capacity_left: f64,
    /// What age has made of the inner resistance: 1 for a new cell.
    pub ohm_grown: f64,
    /// Cells one behind the other.
    pub series: u32,
    /// Cells (or rows of them) side by side.
    pub parallel: u32,
    /// What its protection does.
    pub protection: Protection,
    /// How the pack warms by its own loss.
    pub heating: Heating,
}

/// When a cell's own protection parts it from the circuit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Protection {
    /// Below this voltage of one cell under load, V.
    pub lowest_v: f64,
    /// Above this current of the whole pack, A.
    pub most_a: f64,
    /// After so long, s; shorter dips and bursts pass.
    pub delay_s: f64,
}

/// Resting voltage of a lithium-ion cell in tenths of its charge, from empty to full (typical curve, from memory).
pub const LITHIUM_ION: [(f64, f64); 11] = [
    (0.0, 3.00),
    (0.1, 3.68),
    (0.2, 3.74),
    (0.3, 3.77),
    (0.4, 3.79),
    (0.5, 3.82),
    (0.6, 3.87),
    (0.7, 3.92),
    (0.8, 3.98),
    (0.9, 4.06),
    (1.0, 4.20),
];

impl Cell {
    /// A new lithium-ion cell as it is sold (18 by 65 mm and like it) of a capacity and an inner resistance. Protection, warmth and
    /// what cold and emptiness do are common practice without a source: 2.75 V after 0.1 s, b = 2500 K (0 °C doubles the
    /// resistance), empty twice the resistance of full, 10 K/W and 450 s.
    pub fn lithium_ion(capacity_ah: f64, ohm: f64, most_a: f64) -> Self {
        Self {
            capacity_ah,
            open_v: LITHIUM_ION.to_vec(),
            ohm,
            cold_k: 2500.0,
            empty_rise: 1.0,
            capacity_left: 1.0,
            ohm_grown: 1.0,
            series: 1,
            parallel: 1,
            protection: Protection { lowest_v: 2.75, most_a, delay_s: 0.1 },
            heating: Heating { k_per_w: 10.0, time_s: 450.0 },
        }
    }

    /// Open-circuit voltage of the pack, V, at a share of its charge; held at the ends.
    pub fn open_at(&self, charge: f64) -> f64 {
        let points = &self.open_v;
        let above = points.partition_point(|p| p.0 < charge);
        let one = match (above.checked_sub(1).map(|i| points[i]), points.get(above)) {
            (Some((c0, v0)), Some(&(c1, v1))) => v0 + (v1 - v0) * (charge - c0) / (c1 - c0),
            (Some((_, v)), None) | (None, Some(&(_, v))) => v,
            (None, None) => 0.0,
        };
        one * f64::from(self.series)
    }

    /// Inner resistance of the pack, ohm, at a share of its charge and a temperature of its inside.
    pub fn ohm_at(&self, charge: f64, celsius: f64) -> f64 {
        let cold = libm::exp(self.cold_k * (1.0 / (celsius + 273.15) - 1.0 / 298.15));
        let empty = |c: f64| {
            let gone = 1.0 - c.clamp(0.0, 1.0);
            1.0 + self.empty_rise * gone * gone * gone * gone
        };
        let of_half = empty(charge) / empty(0.5);
        self.ohm * self.ohm_grown * cold * of_half * f64::from(self.series) / f64::from(self.parallel)
    }

    /// What the pack holds when full, C.
    pub fn full_c(&self) -> f64 {
        3600.0 * self.capacity_ah * self.capacity_left * f64::from(self.parallel)
    }

    /// Energy that the pack holds when full, Wh, as carriers count it: nominal volts, here the mean of its curve, times ampere-hours
    /// of a new one.
    pub fn watt_hours(&self) -> f64 {
        let area: f64 = self.open_v.windows(2).map(|w| (w[1].0 - w[0].0) * (w[0].1 + w[1].1) / 2.0).sum();
        area * f64::from(self.series) * self.capacity_ah * f64::from(self.parallel)
    }

    /// The voltage of the pack at which its protection acts, V.
    pub fn lowest_v(&self) -> f64 {
        self.protection.lowest_v * f64::from(self.series)
    }

    pub(crate) fn check(&self, part: &str) -> Result<(), CircuitError> {
        positive(part, "its capacity in Ah", self.capacity_ah)?;
        resistance(part, "its inner resistance", self.ohm)?;
        within(part, "its factor for cold in K", self.cold_k, (0.0, 10_000.0), "0 to 10000")?;
        within(part, "the rise of its resistance when empty", self.empty_rise, (0.0, 100.0), "0 to 100")?;
        within(part, "what age left of its capacity", self.capacity_left, (1e-6, 1.0), "more than 0, at most 1")?;
        within(part, "what age made of its resistance", self.ohm_grown, (0.1, 100.0), "0.1 to 100")?;
        within(part, "its cells in a row", f64::from(self.series), (1.0, 100.0), "1 to 100")?;
        within(part, "its cells side by side", f64::from(self.parallel), (1.0, 100.0), "1 to 100")?;
        at_least_nought(part, "the voltage of its protection", self.protection.lowest_v)?;
        positive(part, "the current of its protection", self.protection.most_a)?;
        at_least_nought(part, "the delay of its protection", self.protection.delay_s)?;
        self.heating.check(part)?;
        for (charge, volt) in &self.open_v {
            share(part, "a charge of its curve", *charge)?;
            positive(part, "a voltage of its curve", *volt)?;
        }
        let curve = |why| Err(CircuitError::Curve { part: part.to_owned(), why });
        let ends = (self.open_v.first().map(|p| p.0), self.open_v.last().map(|p| p.0));
        if ends != (Some(0.0), Some(1.0)) {
            return curve("begins at 0 (empty) and ends at 1 (full)");
        }
        if self.open_v.windows(2).any(|w| w[1].0 <= w[0].0 || w[1].1 < w[0].1) {
            return curve("goes from charge to higher charge and never falls");
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_follows_its_curve() {
        let mut cell = Cell::lithium_ion(3.0, 0.05, 10.0);
        assert!((cell.open_at(0.55) - 3.845).abs() < 1e-12);
        assert_eq!((cell.open_at(-1.0), cell.open_at(0.0), cell.open_at(1.0), cell.open_at(2.0)), (3.0, 3.0, 4.2, 4.2));
        assert!((cell.ohm_at(0.5, 25.0) - 0.05).abs() < 1e-12);
        // 2500 K: twice at 0 °C, within a tenth.
        assert!((cell.ohm_at(0.5, 0.0) / 0.05 - 2.15).abs() < 0.01);
        (cell.series, cell.parallel) = (2, 3);
        assert!((cell.open_at(0.5) - 7.64).abs() < 1e-12);
        assert!((cell.ohm_at(0.5, 25.0) - 0.05 * 2.0 / 3.0).abs() < 1e-12);
        assert_eq!(cell.full_c(), 3600.0 * 9.0);
    }

    #[test]
    fn watt_hours_are_those_of_the_label() {
        // 3.0 Ah are 11.1 Wh at 3.7 V; the curve's mean is 3.8 V.
        assert!((Cell::lithium_ion(3.0, 0.05, 10.0).watt_hours() / 11.1 - 1.0).abs() < 0.04);
    }

    #[test]
    fn a_curve_must_rise_from_empty_to_full() {
        let mut cell = Cell::lithium_ion(3.0, 0.05, 10.0);
        cell.check("cell").unwrap();
        cell.open_v = vec![(0.0, 3.0), (0.5, 3.8), (0.5, 3.9), (1.0, 4.2)];
        assert!(cell.check("cell").is_err());
        cell.open_v = vec![(0.1, 3.0), (1.0, 4.2)];
        assert!(cell.check("cell").is_err());
        cell.open_v = Vec::new();
        assert!(cell.check("cell").is_err());
    }
}
