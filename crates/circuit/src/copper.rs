//! Wires by gauge and rails of foil: resistance, and how warm they get.

use crate::error::{CircuitError, at_least_nought, celsius, positive, resistance, within};
use crate::part::Heating;

/// Conductivity of annealed copper at 20 °C, m/(ohm mm2): the International Annealed Copper Standard (from memory).
const CONDUCTIVITY: f64 = 58.0;

/// Change of annealed copper's resistance, per kelvin, from its value at 20 °C (the same standard; from memory).
pub const COPPER_PER_K: f64 = 0.003_93;

/// Heat that copper takes up, J/(mm3 K) (handbook value; from memory).
const COPPER_J_PER_MM3_K: f64 = 3.45e-3;

/// Heat that leaves the skin of a wire in still air, W/(mm2 K): convection and radiation together, the lower end of the 9 to 13
/// W/(m2 K) that the laminar formulas of handbooks give for tubes of 30 to 60 mm. A thin wire in the open sheds more; one in a
/// prop lies in a closed cavity, so the safe side is taken (common practice, no source).
const FILM_W_PER_MM2_K: f64 = 9e-6;

/// What a resistance of copper at 20 °C is multiplied with at another temperature.
pub fn copper_factor(celsius: f64) -> f64 {
    1.0 + COPPER_PER_K * (celsius - 20.0)
}

/// Diameter of a solid wire of an American wire gauge, mm: 0.127 * 92^((36 - n) / 39) (ASTM B258; from memory). Gauges
/// 00 and 000 are -1 and -2.
pub fn awg_diameter_mm(awg: i32) -> f64 {
    0.127 * libm::pow(92.0, (36.0 - f64::from(awg)) / 39.0)
}

/// Section of a solid wire of an American wire gauge, mm2.
pub fn awg_area_mm2(awg: i32) -> f64 {
    let diameter_mm = awg_diameter_mm(awg);
    std::f64::consts::FRAC_PI_4 * diameter_mm * diameter_mm
}

/// Resistance of a metre of solid copper of a section, ohm, at a temperature.
pub fn ohm_per_m(area_mm2: f64, celsius: f64) -> f64 {
    copper_factor(celsius) / (CONDUCTIVITY * area_mm2)
}

/// Resistance of a rail of copper foil at 20 °C, ohm: its length over its width, times 1/(58 m/(ohm mm2)) over its thickness.
pub fn foil_ohm(length_mm: f64, width_mm: f64, thickness_um: f64) -> f64 {
    length_mm / width_mm / (CONDUCTIVITY * thickness_um)
}

/// What a published table (Handbook of Electronic Tables and Formulas) lets a single wire in free air carry, A; gauges 14 to 30 in
/// twos, `None` for others.
pub fn chassis_a(awg: i32) -> Option<f64> {
    const AMPS: [(i32, f64); 9] =
        [(14, 32.0), (16, 22.0), (18, 16.0), (20, 11.0), (22, 7.0), (24, 3.5), (26, 2.2), (28, 1.4), (30, 0.86)];
    AMPS.iter().find(|(gauge, _)| *gauge == awg).map(|(_, amps)| *amps)
}

/// A wire, or like wires side by side, one way: there and back are two.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wire {
    /// American wire gauge, 0 to 40.
    pub awg: i32,
    /// Its length with slack, mm.
    pub length_mm: f64,
    /// Like wires side by side.
    pub parallel: u32,
    /// What twisting adds to the resistance of solid wire of that gauge: 1 for solid, 1.02 to 1.04 for stranded (from memory).
    pub twist: f64,
    /// Diameter over the insulation, mm, for how it sheds heat; at least that of the copper.
    pub over_mm: f64,
}

impl Wire {
    /// A single stranded wire with the insulation that is usual for thin hook-up wire (0.4 mm thick; common practice, no source).
    pub fn stranded(awg: i32, length_mm: f64) -> Self {
        Self { awg, length_mm, parallel: 1, twist: 1.03, over_mm: awg_diameter_mm(awg) + 0.8 }
    }

    /// Resistance at 20 °C, ohm.
    pub fn ohm(&self) -> f64 {
        self.twist * self.length_mm / 1000.0 * ohm_per_m(awg_area_mm2(self.awg), 20.0) / f64::from(self.parallel)
    }

    /// How it warms: the same all along it, through its own skin.
    pub fn heating(&self) -> Heating {
        let parallel = f64::from(self.parallel);
        let k_per_w = 1.0 / (FILM_W_PER_MM2_K * std::f64::consts::PI * self.over_mm * self.length_mm * parallel);
        let j_per_k = COPPER_J_PER_MM3_K * awg_area_mm2(self.awg) * self.length_mm * parallel;
        Heating { k_per_w, time_s: k_per_w * j_per_k }
    }

    pub(crate) fn check(&self, part: &str) -> Result<(), CircuitError> {
        within(part, "its gauge", f64::from(self.awg), (0.0, 40.0), "0 to 40")?;
        positive(part, "its length in mm", self.length_mm)?;
        within(part, "how many lie side by side", f64::from(self.parallel), (1.0, 1000.0), "1 to 1000")?;
        within(part, "what twisting adds", self.twist, (1.0, 1.5), "1 to 1.5")?;
        let least = awg_diameter_mm(self.awg);
        within(part, "its diameter in mm", self.over_mm, (least, 100.0), "at least that of its copper")?;
        resistance(part, "its resistance", self.ohm())
    }
}

/// The warmth of a wire that carries a steady current, °C, its own resistance rising with it; infinite where it would run away.
///
/// # Errors
///
/// Numbers of the wire, current or surroundings that cannot be.
pub fn steady_celsius(wire: &Wire, current_a: f64, ambient_c: f64) -> Result<f64, CircuitError> {
    wire.check("wire")?;
    at_least_nought("wire", "its current", current_a)?;
    celsius("wire", "the surroundings", ambient_c)?;
    // rise = k P0 (1 + a (ambient + rise - 20)) is linear in the rise.
    let cold_k = wire.heating().k_per_w * wire.ohm() * current_a * current_a;
    let room = 1.0 - cold_k * COPPER_PER_K;
    Ok(if room > 0.0 { ambient_c + cold_k * copper_factor(ambient_c) / room } else { f64::INFINITY })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Gauge, diameter in mm, section in mm2, milliohms a metre: the table of solid round wire that handbooks print after ASTM B258,
    /// to the digits that they print (from memory).
    const TABLE: [(i32, f64, f64, f64); 9] = [
        (14, 1.628, 2.081, 8.29),
        (16, 1.291, 1.309, 13.17),
        (18, 1.024, 0.823, 20.95),
        (20, 0.812, 0.518, 33.31),
        (22, 0.644, 0.326, 52.96),
        (24, 0.511, 0.205, 84.2),
        (26, 0.405, 0.129, 133.9),
        (28, 0.321, 0.081, 212.9),
        (30, 0.255, 0.051, 338.6),
    ];

    #[test]
    fn gauges_are_those_of_the_table() {
        for (awg, diameter_mm, area_mm2, milliohm) in TABLE {
            // Half a unit of the last printed digit, where that is coarser than a thousandth.
            assert!((awg_diameter_mm(awg) - diameter_mm).abs() <= f64::max(1e-3 * diameter_mm, 5e-4), "{awg}");
            assert!((awg_area_mm2(awg) - area_mm2).abs() <= f64::max(1e-3 * area_mm2, 5e-4), "{awg}");
            assert!((ohm_per_m(awg_area_mm2(awg), 20.0) * 1e3 / milliohm - 1.0).abs() <= 1e-3, "{awg}");
        }
        // 36 gauge is five thousandths of an inch and 0000 is 0.46 inch: the two that define the series.
        assert!((awg_diameter_mm(36) / 0.127 - 1.0).abs() < 1e-12);
        assert!((awg_diameter_mm(-3) / 11.684 - 1.0).abs() < 1e-12);
    }

    #[test]
    fn copper_warms_to_more_resistance() {
        // 234.5 °C below nought its resistance would be none: the other way in which the standard says the coefficient.
        assert!(copper_factor(-234.45).abs() < 1e-4);
        assert!((copper_factor(70.0) - 1.1965).abs() < 1e-12);
    }

    #[test]
    fn foil_has_its_square_resistance() {
        for (um, milliohm) in [(18.0, 0.958), (35.0, 0.493), (70.0, 0.246), (105.0, 0.164)] {
            assert!((foil_ohm(1.0, 1.0, um) * 1e3 - milliohm).abs() <= 5e-4);
        }
    }

    #[test]
    fn a_warm_wire_sheds_what_it_takes() {
        let wire = Wire::stranded(24, 500.0);
        let c = steady_celsius(&wire, 3.0, 25.0).unwrap();
        let made_w = 9.0 * wire.ohm() * copper_factor(c);
        assert!((made_w * wire.heating().k_per_w - (c - 25.0)).abs() < 1e-9);
        assert_eq!(steady_celsius(&wire, 1000.0, 25.0).unwrap(), f64::INFINITY);
        assert!(steady_celsius(&wire, f64::NAN, 25.0).is_err());
    }
}
