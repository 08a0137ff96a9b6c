//! Boards that run the program, and motion sensors.

use super::rows::{Named, Standing, title_and_source};
use crate::fields::{Field, Fields};
use crate::quantity::{Quantity, Wanted};
use behaviour::program::{Driver, Pins};

/// A kind of controller board.
#[derive(Clone, Debug, PartialEq)]
pub struct Board {
    /// Catalogue name, such as `two-core-133`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// How it feeds the strip.
    pub driver: Driver,
    /// Clock of the core, MHz.
    pub clock_mhz: f64,
    /// Cycles that an instruction takes.
    pub cycles: f64,
    /// Working memory, bytes.
    pub memory_bytes: u32,
    /// Room for files, bytes.
    pub storage_bytes: u32,
    /// Pins that can be used.
    pub pins: Vec<u32>,
    /// Those among them that read a voltage.
    pub analogue: Vec<u32>,
    /// Pins that the bus can have: clock, data.
    pub bus: [Vec<u32>; 2],
    /// Pins that are taken if nothing is said.
    pub usual: Pins,
    /// Cell voltage at which its converter is at its end, V.
    pub cell_full_v: f64,
    /// Source of the row.
    pub source: String,
}

/// A kind of motion sensor.
#[derive(Clone, Debug, PartialEq)]
pub struct Chip {
    /// Catalogue name, such as `six-axis`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// Its address on the bus.
    pub address: u8,
    /// The register of its first byte.
    pub first: u8,
    /// Registers and what is written to them first.
    pub setup: Vec<[u8; 2]>,
    /// Register and value of its low-pass at 200 and at 400 samples a second.
    pub filters: [[u8; 2]; 2],
    /// Source of the row.
    pub source: String,
}

impl Named for Board {
    fn name(&self) -> &str {
        &self.name
    }
}

impl Named for Chip {
    fn name(&self) -> &str {
        &self.name
    }
}

/// Names of pins in the project and in rows, in the order of [`listed`].
pub(crate) const PINS: [&str; 7] = ["strip", "button", "cell", "clock", "data", "sound-clock", "sound-data"];

/// Pins in the order of [`PINS`].
pub(crate) fn listed(pins: &Pins) -> [u8; 7] {
    [pins.strip, pins.button, pins.cell, pins.clock, pins.data, pins.sound_clock, pins.sound_data]
}

/// The reverse of [`listed`].
pub(crate) fn pins_of([strip, button, cell, clock, data, sound_clock, sound_data]: [u8; 7]) -> Pins {
    Pins { strip, button, cell, clock, data, sound_clock, sound_data, bus: 0 }
}

/// Pins by name over those that are usual.
pub(crate) fn read_pins(field: &Field<'_>, usual: Option<&Pins>) -> Option<Pins> {
    let mut table = field.table_such_as("{ strip = 2, button = 14 }")?;
    let below = usual.map(listed);
    let mut found = [Some(0); 7];
    for (k, name) in PINS.iter().enumerate() {
        found[k] = match (table.get(name), below) {
            (Some(pin), _) => pin.whole(0..=60).map(|p| p as u8),
            (None, Some(below)) => Some(below[k]),
            (None, None) => table.need(name, &format!("{name} = 2")).and(None),
        };
    }
    table.finish();
    let [a, b, c, d, e, f, g] = found;
    Some(pins_of([a?, b?, c?, d?, e?, f?, g?]))
}

pub(crate) fn board(mut row: Fields<'_>, standing: Standing<'_, Board>) -> Option<Board> {
    const DRIVERS: [(&str, Driver); 2] = [("state-machine", Driver::StateMachine), ("bitstream", Driver::Bitstream)];
    const CLOCK: Wanted = Wanted::of(Quantity::Frequency, 1e6, 2e9, "133 MHz");
    const SIZE: Wanted = Wanted::of(Quantity::FileSize, 16_384.0, 1e9, "1408 KiB");
    const FULL: Wanted = Wanted::of(Quantity::Voltage, 2.0, 16.0, "6.6 V");
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |b| &b.title);
    let driver = row.choice("drives", &DRIVERS, base.map(|b| b.driver));
    let clock = row.quantity("clock", &CLOCK, base.map(|b| b.clock_mhz * 1e6));
    let cycles = match (row.get("cycles"), base) {
        (Some(field), _) => field.number(0.25..=20.0),
        (None, Some(base)) => Some(base.cycles),
        (None, None) => row.need("cycles", "cycles = 2").and(None),
    };
    let memory = row.quantity("memory", &SIZE, base.map(|b| f64::from(b.memory_bytes)));
    let storage = row.quantity("storage", &SIZE, base.map(|b| f64::from(b.storage_bytes)));
    let pins = numbers(&mut row, "pins", base.map(|b| &b.pins));
    let analogue = numbers(&mut row, "analogue", base.map(|b| &b.analogue));
    let clocks = numbers(&mut row, "bus-clock", base.map(|b| &b.bus[0]));
    let data = numbers(&mut row, "bus-data", base.map(|b| &b.bus[1]));
    let usual = match (row.get("usual"), base) {
        (Some(field), base) => read_pins(&field, base.map(|b| &b.usual)),
        (None, Some(base)) => Some(base.usual),
        (None, None) => row.need("usual", "usual = { strip = 2 }").and(None),
    };
    let full = row.quantity("cell-full", &FULL, base.map(|b| b.cell_full_v));
    let name = row.name.clone();
    row.finish();
    Some(Board {
        name,
        title: title?,
        driver: driver?,
        clock_mhz: clock? / 1e6,
        cycles: cycles?,
        memory_bytes: memory? as u32,
        storage_bytes: storage? as u32,
        pins: pins?,
        analogue: analogue?,
        bus: [clocks?, data?],
        usual: usual?,
        cell_full_v: full?,
        source: source?,
    })
}

pub(crate) fn chip(mut row: Fields<'_>, standing: Standing<'_, Chip>) -> Option<Chip> {
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |c| &c.title);
    let address = byte(&mut row, "address", base.map(|c| c.address));
    let first = byte(&mut row, "first", base.map(|c| c.first));
    let setup = match (row.get("setup"), base) {
        (Some(field), _) => field.items("[[0x6B, 0x01]]").and_then(|all| all.iter().map(pair).collect()),
        (None, Some(base)) => Some(base.setup.clone()),
        (None, None) => row.need("setup", "setup = [[0x6B, 0x01]]").and(None),
    };
    let mut filter = |name: &'static str, k: usize| match (row.get(name), base) {
        (Some(field), _) => pair(&field),
        (None, Some(base)) => Some(base.filters[k]),
        (None, None) => row.need(name, &format!("{name} = [0x1A, 0x02]")).and(None),
    };
    let filters = [filter("filter-200", 0), filter("filter-400", 1)];
    let name = row.name.clone();
    row.finish();
    let [slow, quick] = filters;
    Some(Chip {
        name,
        title: title?,
        address: address?,
        first: first?,
        setup: setup?,
        filters: [slow?, quick?],
        source: source?,
    })
}

fn numbers(row: &mut Fields<'_>, name: &'static str, base: Option<&Vec<u32>>) -> Option<Vec<u32>> {
    match (row.get(name), base) {
        (Some(field), _) => field.items("[0, 1, 2]")?.iter().map(|item| item.whole(0..=60)).collect(),
        (None, Some(base)) => Some(base.clone()),
        (None, None) => row.need(name, &format!("{name} = [0, 1, 2]")).and(None),
    }
}

fn byte(row: &mut Fields<'_>, name: &'static str, base: Option<u8>) -> Option<u8> {
    match (row.get(name), base) {
        (Some(field), _) => field.whole(0..=255).map(|v| v as u8),
        (None, Some(base)) => Some(base),
        (None, None) => row.need(name, &format!("{name} = 0x68")).and(None),
    }
}

fn pair(field: &Field<'_>) -> Option<[u8; 2]> {
    let items = field.items("[0x6B, 0x01]")?;
    let [register, value] = items.as_slice() else {
        return field.error("there must be two numbers here", "a register and its value, for example [0x6B, 0x01]");
    };
    Some([register.whole(0..=255)? as u8, value.whole(0..=255)? as u8])
}
