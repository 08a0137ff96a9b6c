//! Boards of a kind: what they have, and whether it is enough.

use super::File;
use crate::limits::FRAMES_A_SECOND;
use crate::table::Table;
use thiserror::Error;

/// How the strip is driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Driver {
    /// By a state machine and direct memory access: nothing waits.
    StateMachine,
    /// By a call that returns when the frame is out, 30 µs a pixel: for boards on which that holds up the caller only. Where it
    /// stops interrupts it would break the sound.
    Bitstream,
}

/// Numbers of the pins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pins {
    /// Data of the strip.
    pub strip: u8,
    /// The button, to ground.
    pub button: u8,
    /// The cell, through a divider.
    pub cell: u8,
    /// Clock of the sensor's bus.
    pub clock: u8,
    /// Data of the sensor's bus.
    pub data: u8,
    /// Bit clock of the sound amplifier; its word clock is on the next pin.
    pub sound_clock: u8,
    /// Data of the sound amplifier.
    pub sound_data: u8,
    /// Number of the sensor's bus.
    pub bus: u8,
}

/// A motion sensor on a two-wire bus: 14 bytes, high ones first, force at 2048 a g, warmth, rate at 16.4 a degree per second.
/// Its numbers are those of its data sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SensorChip {
    /// Its address.
    pub address: u8,
    /// Registers and what is written to them first: wake up, ranges of 16 g and 2000 degrees a second.
    pub setup: Vec<(u8, u8)>,
    /// Register and value of its low-pass, the widest below half the samples: at 200 and at 400 samples a second.
    pub filters: [(u8, u8); 2],
    /// The register of the first of the 14 bytes.
    pub data: u8,
    /// Which of its axes (1, 2, 3; negative the other way) lies along the prop, across it and through it.
    pub axes: [i8; 3],
}

/// A board.
#[derive(Clone, Debug, PartialEq)]
pub struct Board {
    /// How the strip is driven.
    pub driver: Driver,
    /// Its clock, MHz.
    pub clock_mhz: f64,
    /// Cycles that an instruction takes with waits for memory.
    pub cycles: f64,
    /// Room for files, bytes.
    pub storage_bytes: u32,
    /// Pins in use.
    pub pins: Pins,
    /// The sensor.
    pub sensor: SensorChip,
    /// Cell voltage at which the converter is at its end, millivolts: its reference times the divider.
    pub cell_full_mv: u16,
    /// Order on the strip's wire: 0, 1, 2 is red, green, blue.
    pub wire: [u8; 3],
}

/// Why a board will not do.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum BoardError {
    /// Too much to do in a second.
    #[error(
        "the board would be busy for {:.0} % of the time, {MOST_SHARE:.0} % at most ({load}); take a faster one, fewer \
         samples of motion or sound a second, or fewer pixels",
        100.0 * load.total()
    )]
    Busy {
        /// What takes how much.
        load: Load,
    },
    /// A frame holds the loop up for longer than a sample lasts.
    #[error(
        "sending {pixels} pixels holds the program up for {takes_us} us, and a sample is due every {step_us} us; take a board \
         with a state machine for the strip, 200 samples a second, or {fit} pixels at most"
    )]
    HeldUp {
        /// Pixels on the strip.
        pixels: u16,
        /// Time to send them, microseconds.
        takes_us: u32,
        /// Time from sample to sample, microseconds.
        step_us: u32,
        /// Pixels that would fit.
        fit: u32,
    },
    /// The files are too large.
    #[error(
        "program and sounds take {wanted} bytes, the board holds {there}; shorten sounds, or take fewer samples a second"
    )]
    Storage {
        /// What they take, bytes.
        wanted: u64,
        /// What there is, bytes.
        there: u32,
    },
    /// Two things on one pin.
    #[error("pin {pin} is taken twice, by {one} and {other}")]
    Pin {
        /// The pin.
        pin: u8,
        /// What is on it.
        one: &'static str,
        /// What else.
        other: &'static str,
    },
    /// A number that means nothing.
    #[error("{what} of the board is out of range")]
    Range {
        /// Which.
        what: &'static str,
    },
}

/// Most of a second that a board may be busy, percent: the rest is for what interrupts it.
const MOST_SHARE: f64 = 80.0;

/// Shares of a second that the board's parts of the work take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Reading the sensor.
    pub bus: f64,
    /// Detectors and modes.
    pub detect: f64,
    /// Painting and watching flashes.
    pub paint: f64,
    /// Mixing and handing over sound.
    pub sound: f64,
}

impl Load {
    /// All of it.
    pub fn total(&self) -> f64 {
        self.bus + self.detect + self.paint + self.sound
    }
}

impl std::fmt::Display for Load {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let percent = |v: f64| 100.0 * v;
        let (bus, detect, paint, sound) =
            (percent(self.bus), percent(self.detect), percent(self.paint), percent(self.sound));
        write!(f, "sensor {bus:.0} %, detectors {detect:.0} %, light {paint:.0} %, sound {sound:.0} %")
    }
}

/// Instructions by emulated count of an earlier form of these loops on the smallest cores (no source elsewhere; not
/// measured on a board): a detector step as bytecode; painting and scaling a pixel of a light; watching a pixel for flashes (an
/// estimate); mixing a sample of four voices.
const STEP: f64 = 40_400.0;
const PAINT: f64 = 28_000.0 / 144.0;
const WATCH: f64 = 250.0;
/// Holding a pixel back to its level (an estimate).
const GRADE: f64 = 60.0;
const SAMPLE: f64 = 4.0 * 100.0;
/// A frame's and a block's own share, as bytecode.
const FRAME: f64 = 20_000.0;
const BLOCK: f64 = 20_000.0;
/// Putting a pixel in the order of the wire as bytecode, and sending it, seconds: what a strip by bit stream costs beside.
const REORDER: f64 = 600.0;
const SEND_S: f64 = 30e-6;
/// Reading 14 bytes at 400 kHz, seconds.
const READ_S: f64 = 0.39e-3;
/// Handing sound over: taken as 8 % of a core of 133 MHz at 22,050 samples a second, which nobody has counted.
const HAND_OVER: f64 = 0.08 * 133.0e6 / 22_050.0;

/// What a behaviour costs on a board, by counts of instructions.
pub fn load(table: &Table, board: &Board) -> Load {
    let hardware = &table.hardware;
    let hz = board.clock_mhz * 1e6;
    let each = board.cycles / hz;
    let steps = f64::from(hardware.pace.hz());
    let (frames, samples) = (f64::from(FRAMES_A_SECOND), f64::from(hardware.sound_hz));
    let pixels = f64::from(hardware.pixels);
    let painted = f64::from(table.painted()).max(pixels);
    let graded = if hardware.levels.is_empty() { 0.0 } else { GRADE * pixels };
    let sent = match board.driver {
        Driver::StateMachine => 0.0,
        Driver::Bitstream => pixels * f64::from(hardware.strips) * (REORDER * each + SEND_S),
    };
    Load {
        bus: steps * READ_S,
        detect: steps * STEP * each,
        paint: frames * ((FRAME + PAINT * painted + WATCH * pixels + graded) * each + sent),
        sound: samples * (SAMPLE + BLOCK / 256.0) * each + samples * HAND_OVER / hz,
    }
}

impl Board {
    /// A board of the 133 MHz class with two small cores, state machines and 2 MB, its stock build of the interpreter. Its
    /// sensor's registers are one common layout, to be replaced by those of the sensor at hand.
    pub fn small() -> Board {
        Board {
            driver: Driver::StateMachine,
            clock_mhz: 133.0,
            cycles: 2.0,
            storage_bytes: 1_441_792,
            pins: Pins { strip: 2, button: 14, cell: 26, clock: 5, data: 4, sound_clock: 16, sound_data: 18, bus: 0 },
            sensor: SensorChip {
                address: 0x68,
                setup: vec![(0x6B, 0x01), (0x1B, 0x18), (0x1C, 0x18)],
                filters: [(0x1A, 0x02), (0x1A, 0x01)],
                data: 0x3B,
                axes: [1, 2, 3],
            },
            cell_full_mv: 6600,
            wire: [1, 0, 2],
        }
    }

    /// Whether it can do all that in time, and hold the files.
    pub(crate) fn can_hold(&self, table: &Table, files: &[File]) -> Result<(), BoardError> {
        self.makes_sense()?;
        let pixels = table.hardware.pixels * table.hardware.strips;
        let step_us = (1_000_000 / table.hardware.pace.hz()) as u32;
        let takes_us = 30 * u32::from(pixels);
        if self.driver == Driver::Bitstream && 10 * takes_us > 8 * step_us {
            return Err(BoardError::HeldUp { pixels, takes_us, step_us, fit: 8 * step_us / 300 });
        }
        let load = load(table, self);
        if 100.0 * load.total() > MOST_SHARE {
            return Err(BoardError::Busy { load });
        }
        // Storage is given out in blocks of 4096 bytes, and each file has an entry.
        let wanted: u64 = files.iter().map(|f| (f.bytes.len() as u64).div_ceil(4096) * 4096 + 4096).sum();
        if wanted > u64::from(self.storage_bytes) {
            return Err(BoardError::Storage { wanted, there: self.storage_bytes });
        }
        Ok(())
    }

    fn makes_sense(&self) -> Result<(), BoardError> {
        let range = |holds: bool, what| if holds { Ok(()) } else { Err(BoardError::Range { what }) };
        range((1.0..=2000.0).contains(&self.clock_mhz), "the clock")?;
        range((0.25..=20.0).contains(&self.cycles), "cycles an instruction")?;
        range((2000..=16_000).contains(&self.cell_full_mv), "the cell's full scale")?;
        let each_once = |of: [u8; 3], from: u8| (from..from + 3).all(|k| of.contains(&k));
        range(each_once(self.wire, 0), "the order of colours")?;
        range(each_once(self.sensor.axes.map(i8::unsigned_abs), 1), "the sensor's axes")?;
        let pins = &self.pins;
        let taken = [
            ("the strip", pins.strip),
            ("the button", pins.button),
            ("the cell", pins.cell),
            ("the sensor's clock", pins.clock),
            ("the sensor's data", pins.data),
            ("the sound's bit clock", pins.sound_clock),
            ("the sound's word clock", pins.sound_clock.saturating_add(1)),
            ("the sound's data", pins.sound_data),
        ];
        for (k, (one, pin)) in taken.iter().enumerate() {
            if let Some((other, _)) = taken[k + 1..].iter().find(|t| t.1 == *pin) {
                return Err(BoardError::Pin { pin: *pin, one, other });
            }
        }
        Ok(())
    }
}
