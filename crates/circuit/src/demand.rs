//! What a circuit is asked for, and in what condition it is.

use crate::error::{CircuitError, at_least_nought, celsius, share, within};
use crate::network::Network;
use crate::part::Part;
use crate::strip::Drive;

/// What every pixel of every strip shows at full light.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Scene {
    /// For each strip, in the order in which they were added, the drive of each pixel.
    pub strips: Vec<Vec<Drive>>,
}

impl Scene {
    /// All pixels dark.
    pub fn dark(net: &Network) -> Self {
        Self::even(net, [0.0; 4])
    }

    /// All pixels driven alike.
    pub fn even(net: &Network, drive: Drive) -> Self {
        Self { strips: net.strips().map(|(_, strip)| vec![drive; strip.pixels]).collect() }
    }

    pub(crate) fn check(&self, net: &Network) -> Result<(), CircuitError> {
        let wanted = net.strips().count();
        if self.strips.len() != wanted {
            return Err(CircuitError::Demand { what: "strips", wanted, got: self.strips.len() });
        }
        for ((id, strip), drives) in net.strips().zip(&self.strips) {
            if drives.len() != strip.pixels {
                return Err(CircuitError::Demand {
                    what: "pixels of a strip",
                    wanted: strip.pixels,
                    got: drives.len(),
                });
            }
            let name = &net.parts[id.0].name;
            drives.iter().flatten().try_for_each(|d| share(name, "the drive of a pixel", *d))?;
        }
        Ok(())
    }
}

/// What is asked for at a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand<'a> {
    /// What the strips show.
    pub scene: &'a Scene,
    /// How bright, 0 to 1 of the scene.
    pub light: f64,
    /// What each amplifier is to give its speaker, W.
    pub sound_w: f64,
}

impl<'a> Demand<'a> {
    /// A scene at full light and without sound.
    pub fn still(scene: &'a Scene) -> Self {
        Self { scene, light: 1.0, sound_w: 0.0 }
    }

    pub(crate) fn check(&self, net: &Network) -> Result<(), CircuitError> {
        self.scene.check(net)?;
        share("the demand", "its light", self.light)?;
        at_least_nought("the demand", "its sound in W", self.sound_w)
    }
}

/// In what condition the circuit is.
#[derive(Clone, Debug, PartialEq)]
pub struct Conditions {
    /// Charge of every cell as a share of what it holds, 0 to 1.
    pub charge: f64,
    /// Surroundings, °C.
    pub ambient_c: f64,
    /// How much warmer each part is, K, in the order of the parts; those that are missing are not.
    pub rise_k: Vec<f64>,
}

impl Conditions {
    /// Full cells, everything as warm as its surroundings.
    pub fn full_at(ambient_c: f64) -> Self {
        Self { charge: 1.0, ambient_c, rise_k: Vec::new() }
    }

    /// Temperature of a part, °C.
    pub(crate) fn celsius(&self, part: usize) -> f64 {
        self.ambient_c + self.rise_k.get(part).copied().unwrap_or(0.0)
    }

    pub(crate) fn check(&self, net: &Network) -> Result<(), CircuitError> {
        share("the conditions", "the charge", self.charge)?;
        celsius("the conditions", "the surroundings", self.ambient_c)?;
        for (i, placed) in net.parts.iter().enumerate() {
            let c = self.celsius(i);
            match &placed.part {
                // Between what freezes a cell's liquid and what burns it.
                Part::Cell(_) => {
                    within(&placed.name, "its temperature", c, (-60.0, 150.0), "-60 to 150 degrees Celsius")?;
                }
                _ => celsius(&placed.name, "its temperature", c)?,
            }
        }
        Ok(())
    }
}
