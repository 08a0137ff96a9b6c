//! Random numbers from a seed, for motions and sounds (not for the engine, which has its own).

use std::f64::consts::TAU;

/// A stream of numbers: a counter stirred by shifts and multiplications ("SplitMix64", Steele, Lea and Flood, "Fast
/// splittable pseudorandom number generators", 2014).
#[derive(Clone, Debug)]
pub(crate) struct Random {
    state: u64,
    spare: Option<f64>,
}

impl Random {
    pub(crate) fn new(seed: u64) -> Random {
        Random { state: seed, spare: None }
    }

    pub(crate) fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// At least 0 and below 1.
    pub(crate) fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.unit()
    }

    /// Normal, of mean 0 and deviation 1 (Box and Muller 1958).
    pub(crate) fn normal(&mut self) -> f64 {
        if let Some(value) = self.spare.take() {
            return value;
        }
        let radius = libm::sqrt(-2.0 * libm::log(1.0 - self.unit()));
        let (sin, cos) = libm::sincos(TAU * self.unit());
        self.spare = Some(radius * sin);
        radius * cos
    }

    /// A direction, all alike.
    pub(crate) fn direction(&mut self) -> [f64; 3] {
        let v = [self.normal(), self.normal(), self.normal()];
        let long = libm::sqrt(v.iter().map(|c| c * c).sum::<f64>()).max(1e-9);
        v.map(|c| c / long)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// First outputs from seed 0, as many implementations of the published algorithm give them (from memory).
    #[test]
    fn the_stream_is_the_published_one() {
        let mut random = Random::new(0);
        assert_eq!([random.bits(), random.bits()], [0xE220_A839_7B1D_CDAF, 0x6E78_9E6A_A1B9_65F4]);
    }

    #[test]
    fn normal_numbers_have_their_moments() {
        let mut random = Random::new(7);
        let drawn: Vec<f64> = (0..100_000).map(|_| random.normal()).collect();
        let mean = drawn.iter().sum::<f64>() / 1e5;
        let variance = drawn.iter().map(|v| v * v).sum::<f64>() / 1e5;
        // Three standard errors.
        assert!(mean.abs() < 0.0095 && (variance - 1.0).abs() < 0.0135, "{mean}, {variance}");
    }
}
