//! Strips of pixels between two rails, and what a pixel draws at a voltage.

use crate::error::{CircuitError, at_least_nought, positive, resistance, within};

/// Current through everything that is off or dangling, per volt: so small that no meter sees it, and enough to tell where an
/// open contact's far side lies. Counted like any other current.
pub const LEAK_S: f64 = 1e-10;

/// How much of its current a channel or a load still draws at a voltage, with its slope per volt: all above `full_v`, none below
/// `off_v`, and 2u - u² of the share u of the way between, as a transistor that holds a current does when it runs out of voltage
/// (square law, linear region; any textbook on such transistors).
pub fn fold(volt: f64, off_v: f64, full_v: f64) -> (f64, f64) {
    let u = (volt - off_v) / (full_v - off_v);
    if u >= 1.0 {
        (1.0, 0.0)
    } else if u <= 0.0 {
        (0.0, 0.0)
    } else {
        (u * (2.0 - u), 2.0 * (1.0 - u) / (full_v - off_v))
    }
}

/// One colour of a pixel, driven by a constant current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Channel {
    /// Its mean current when fully driven, A; 0 for a colour that the pixel does not have.
    pub full_a: f64,
    /// Below this voltage it is dark, V.
    pub off_v: f64,
    /// From this voltage on it draws its full current, V.
    pub full_v: f64,
}

/// A pixel: red, green, blue and white, and the chip that drives them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pixel {
    /// Red, green, blue, white.
    pub channels: [Channel; 4],
    /// What the chip draws, lit or dark, A.
    pub idle_a: f64,
    /// The voltage from which on it draws that, V.
    pub idle_v: f64,
}

/// How far each colour of a pixel is driven, 0 to 1: red, green, blue, white.
pub type Drive = [f64; 4];

/// What a pixel draws.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Drawn {
    /// Current, A.
    pub amps: f64,
    /// Its slope, A/V.
    pub slope: f64,
}

impl Pixel {
    /// A pixel of three colours for 5 V: red dark below 1.8 V and full from 2.5 V, green and blue from 2.8 to 3.7 V (forward
    /// voltages 2.0 and 3.2 V from data sheets of such diodes, the spread round them and the driver's need common practice
    /// without a source), and 1 mA for the chip.
    pub fn rgb(channel_a: f64) -> Self {
        let red = Channel { full_a: channel_a, off_v: 1.8, full_v: 2.5 };
        let blue = Channel { full_a: channel_a, off_v: 2.8, full_v: 3.7 };
        Self { channels: [red, blue, blue, Channel { full_a: 0.0, ..blue }], idle_a: 0.001, idle_v: 2.5 }
    }

    /// The share of its full current that each colour still gets at a voltage.
    pub fn shares(&self, volt: f64) -> [f64; 4] {
        self.channels.map(|c| fold(volt, c.off_v, c.full_v).0)
    }

    /// Current of all colours and the chip, A, at a voltage and drive.
    pub fn amps(&self, drive: &Drive, volt: f64) -> f64 {
        self.drawn(drive, 1.0, 1.0, volt).amps
    }

    /// As driven, every colour dimmed by `light` and the whole pixel by `scale`.
    pub(crate) fn drawn(&self, drive: &Drive, light: f64, scale: f64, volt: f64) -> Drawn {
        let (idle, idle_slope) = fold(volt, 0.0, self.idle_v);
        let mut drawn = Drawn { amps: self.idle_a * idle, slope: self.idle_a * idle_slope };
        for (channel, driven) in self.channels.iter().zip(drive) {
            let full_a = channel.full_a * driven * light;
            if full_a > 0.0 {
                let (share, slope) = fold(volt, channel.off_v, channel.full_v);
                drawn.amps += full_a * share;
                drawn.slope += full_a * slope;
            }
        }
        Drawn { amps: drawn.amps * scale + LEAK_S * volt, slope: drawn.slope * scale + LEAK_S }
    }

    fn check(&self, part: &str) -> Result<(), CircuitError> {
        for channel in &self.channels {
            at_least_nought(part, "a colour's current", channel.full_a)?;
            at_least_nought(part, "the voltage at which a colour is dark", channel.off_v)?;
            let above = (channel.off_v + 1e-3, 1e4);
            within(
                part,
                "the voltage of a colour's full current",
                channel.full_v,
                above,
                "1 mV or more above the dark one",
            )?;
        }
        at_least_nought(part, "its chip's current", self.idle_a)?;
        positive(part, "its chip's voltage", self.idle_v)
    }
}

/// A strip: like pixels in a row between two like rails.
///
/// Position 0 is the pad before the first pixel, 1 to `pixels` are the pixels, `pixels + 1` is the pad after the last.
#[derive(Clone, Debug, PartialEq)]
pub struct Strip {
    /// How many pixels.
    pub pixels: usize,
    /// What they are.
    pub pixel: Pixel,
    /// Resistance of one rail from pixel to pixel at 20 °C, ohm.
    pub rail_ohm: f64,
    /// Resistance of one rail from a pad to the pixel next to it at 20 °C, ohm.
    pub pad_ohm: f64,
    /// Positions where wires are joined to both rails, rising.
    pub taps: Vec<usize>,
}

impl Strip {
    /// A strip fed at its first pad, whose pads are one pitch from the next pixel.
    pub fn fed_at_start(pixels: usize, pixel: Pixel, rail_ohm: f64) -> Self {
        Self { pixels, pixel, rail_ohm, pad_ohm: rail_ohm, taps: vec![0] }
    }

    /// The same strip joined at these positions instead.
    pub fn joined_at(self, taps: &[usize]) -> Self {
        Self { taps: taps.to_vec(), ..self }
    }

    /// Resistance of one rail after a position, ohm.
    pub(crate) fn rail_after(&self, position: usize) -> f64 {
        if position == 0 || position == self.pixels { self.pad_ohm } else { self.rail_ohm }
    }

    pub(crate) fn check(&self, part: &str) -> Result<(), CircuitError> {
        within(part, "its number of pixels", self.pixels as f64, (1.0, 100_000.0), "1 to 100000")?;
        self.pixel.check(part)?;
        resistance(part, "the resistance of its rails between pixels", self.rail_ohm)?;
        resistance(part, "the resistance of its rails at its pads", self.pad_ohm)?;
        let supply = |why| Err(CircuitError::NoSupply { part: part.to_owned(), why });
        if self.taps.is_empty() {
            return supply("it is joined to nothing; give it a tap");
        }
        if self.taps.windows(2).any(|w| w[1] <= w[0]) || self.taps.iter().any(|t| *t > self.pixels + 1) {
            return supply("its taps must rise and lie between its first pad and its last");
        }
        Ok(())
    }
}

/// How far the voltage between the rails has dropped at pixel `n`, counted from 1, of a strip of `pixels` that each draw `each_a`, fed at one end, V.
///
/// `pitch_ohm` is the resistance of both rails together from pixel to pixel, and from the feed to the first. The drop is the sum
/// of what flows through each step: I r n (2N - n + 1) / 2.
pub fn drop_fed_at_one_end(pixels: usize, n: usize, each_a: f64, pitch_ohm: f64) -> f64 {
    let (pixels, n) = (pixels as f64, n as f64);
    each_a * pitch_ohm * n * (2.0 * pixels - n + 1.0) / 2.0
}

/// The largest drop of a strip fed at both ends alike, V, one step of rail before the first and after the last pixel:
/// I r N (N + 2) / 8 for an even number, I r (N + 1)² / 8 for an odd one.
pub fn drop_fed_at_both_ends(pixels: usize, each_a: f64, pitch_ohm: f64) -> f64 {
    let even = pixels.is_multiple_of(2);
    let pixels = pixels as f64;
    let count = if even { pixels * (pixels + 2.0) } else { (pixels + 1.0) * (pixels + 1.0) };
    each_a * pitch_ohm * count / 8.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_colour_folds_back_smoothly() {
        assert_eq!(fold(5.0, 2.0, 3.0), (1.0, 0.0));
        assert_eq!(fold(1.0, 2.0, 3.0), (0.0, 0.0));
        assert_eq!(fold(2.5, 2.0, 3.0), (0.75, 1.0));
    }

    #[test]
    fn a_pixel_draws_its_colours_and_its_chip() {
        let pixel = Pixel::rgb(0.012);
        // Three colours of 12 mA and 1 mA for the chip: the usual budget of 37 mA.
        assert!((pixel.amps(&[1.0, 1.0, 1.0, 0.0], 5.0) - 0.037).abs() < 1e-7);
        assert!((pixel.amps(&[0.5, 0.0, 0.0, 0.0], 5.0) - 0.007).abs() < 1e-7);
        // Green and blue go first.
        let [red, green, blue, _] = pixel.shares(3.0);
        assert!(red == 1.0 && green < 0.5 && blue < 0.5);
    }

    #[test]
    fn closed_forms_take_any_count() {
        // Two loads: 2 I r to the first and I r more to the second; at both ends (2/3 + 1/3) I r.
        assert_eq!((drop_fed_at_one_end(2, 1, 1.0, 1.0), drop_fed_at_one_end(2, 2, 1.0, 1.0)), (2.0, 3.0));
        assert_eq!(drop_fed_at_both_ends(2, 1.0, 1.0), 1.0);
        assert!(drop_fed_at_one_end(1, 9, 1.0, 1.0).is_finite());
        assert!(drop_fed_at_both_ends(usize::MAX, 1.0, 1.0).is_finite());
    }
}
