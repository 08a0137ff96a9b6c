//! What several tests use.

use behaviour::{Behaviour, Engine, Hardware, Pace, Sample, Table, Thresholds, starter};

/// Lengths of the stand-in sounds, samples.
pub(crate) const LENGTHS: [u32; 6] = [4410, 6615, 8820, 9000, 9001, 11025];

/// A prop at rest with its tip up, its cell full.
pub(crate) const REST: Sample = Sample { force: [2048, 0, 0], rate: [0; 3], pressed: false, cell_mv: 3900 };

/// Sounds that are sawteeth of different pitch.
pub(crate) fn sounds(lengths: &[u32]) -> Vec<Vec<i16>> {
    let tooth = |k: usize, i: u32| ((i64::from(i) * (700 + 131 * k as i64)) % 20001 - 10000) as i16;
    lengths.iter().enumerate().map(|(k, &n)| (0..n).map(|i| tooth(k, i)).collect()).collect()
}

pub(crate) fn engine_of(behaviour: &Behaviour, thresholds: &Thresholds, hardware: &Hardware) -> Engine {
    let lengths: Vec<u32> = behaviour.sounds.iter().map(|s| s.samples).collect();
    let table = Table::new(behaviour, thresholds, hardware).expect("a behaviour that runs");
    Engine::new(table, sounds(&lengths)).expect("sounds of these lengths")
}

pub(crate) fn starter_engine(pace: Pace) -> Engine {
    engine_of(
        &starter(LENGTHS),
        &Thresholds { drops: true, ..Thresholds::default() },
        &Hardware { pace, ..Hardware::default() },
    )
}

/// The same, which does not mind being still.
pub(crate) fn patient_engine() -> Engine {
    engine_of(&starter(LENGTHS), &Thresholds { still_ms: 60_000, ..Thresholds::default() }, &Hardware::default())
}

/// Random numbers for tests: a linear congruence of 64 bits (Knuth's MMIX constants), its upper half.
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn next(&mut self) -> u32 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 32) as u32
    }

    pub(crate) fn below(&mut self, n: u32) -> u32 {
        self.next() % n
    }

    pub(crate) fn int16(&mut self) -> i16 {
        (self.next() >> 16) as u16 as i16
    }
}
