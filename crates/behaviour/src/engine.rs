//! The engine: samples in, events, frames and sound out. What it says is the same to the last bit on the board.

use crate::Trigger;
use crate::detect::{Detector, Said, Sample};
use crate::frame::Painter;
use crate::mix::{BLOCK, Mixer};
use crate::small::MOST;
use crate::table::Table;
use std::fmt::Write;
use thiserror::Error;

/// Something that happened in a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// A detector or the clock said something.
    Trigger {
        /// What.
        trigger: Trigger,
        /// How strong: a strike's jerk, 256 a g per sample; else the turning rate, 1.024 a degree per second.
        strength: i32,
    },
    /// Another mode began.
    Mode {
        /// Its index.
        mode: usize,
    },
    /// A sound began on top of the hum.
    Sound {
        /// Its index.
        sound: usize,
        /// Loudness, 256 for the samples as they are.
        gain: i32,
    },
    /// The cell is empty: light and sound go out, and nothing brings them back until it has 100 mV more.
    Empty,
    /// The strip was sent a frame.
    Frame {
        /// Sum of all channels.
        total: i32,
    },
    /// A block of sound was mixed.
    Block,
}

/// The sounds that were handed over are not those of the table.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("sound {name:?} has {found} samples; the behaviour was made for {wanted}")]
pub struct SoundError {
    /// The name of the sound.
    pub name: String,
    /// What the behaviour was made for, samples.
    pub wanted: u32,
    /// What was handed over, samples; 0 if it is missing.
    pub found: usize,
}

/// A prop that behaves.
#[derive(Clone, Debug)]
pub struct Engine {
    table: Table,
    sounds: Vec<Vec<i16>>,
    detector: Detector,
    painter: Painter,
    mixer: Mixer,
    mode: usize,
    /// Samples since the mode began.
    since: i32,
    /// Samples until the next frame.
    to_frame: i32,
    /// Sound owed, samples by the engine's pace.
    owed: i32,
    /// Turning rate as the hum follows it, 0 to 1024.
    follow: i32,
    duck: i32,
    empty: bool,
    said: Vec<Said>,
}

impl Engine {
    /// An engine at rest. Sounds are mono samples at the rate of the table's hardware, in the table's order.
    ///
    /// # Errors
    /// A sound is missing or not as long as the table says.
    pub fn new(table: Table, sounds: Vec<Vec<i16>>) -> Result<Engine, SoundError> {
        for (k, (name, wanted)) in table.sounds.iter().enumerate() {
            let found = sounds.get(k).map_or(0, Vec::len);
            if found != *wanted as usize {
                return Err(SoundError { name: name.clone(), wanted: *wanted, found });
            }
        }
        Ok(Engine {
            sounds,
            detector: Detector::new(),
            painter: Painter::new(&table),
            mixer: Mixer::new(table.sounds.iter().map(|s| s.1 as i32).collect()),
            mode: 0,
            since: 0,
            to_frame: 0,
            owed: 0,
            follow: 0,
            duck: 256,
            empty: false,
            said: Vec::new(),
            table,
        })
    }

    /// What it runs.
    pub fn table(&self) -> &Table {
        &self.table
    }

    /// The index of the mode it is in.
    pub fn mode(&self) -> usize {
        self.mode
    }

    /// What the strip shows: red, green, blue a pixel.
    pub fn pixels(&self) -> &[u8] {
        &self.painter.shown
    }

    /// The last block of sound.
    pub fn block(&self) -> &[i16; BLOCK] {
        &self.mixer.block
    }

    /// Gravity's reaction in the prop's frame, 16384 a g, as the engine believes.
    pub fn gravity(&self) -> [i32; 3] {
        self.detector.gravity()
    }

    /// Takes one sample. Events of the step replace what is in `events`; after [`Event::Frame`] and [`Event::Block`],
    /// [`Engine::pixels`] and [`Engine::block`] have what they are of. At the rates of sound allowed, a step makes one block
    /// at most.
    pub fn step(&mut self, sample: &Sample, events: &mut Vec<Event>) {
        events.clear();
        self.said.clear();
        self.detector.step(sample, &self.table.limits, &mut self.said);
        self.since = (self.since + 1).min(MOST);
        let lasts = self.table.modes[self.mode].lasts;
        // Once: a rule that stays in the mode would else play again with every sample.
        if lasts > 0 && self.since == lasts {
            self.said.insert(0, (Trigger::Time, 0));
        }
        let (low, empty) = self.detector.cell();
        if empty && !self.empty {
            events.push(Event::Empty);
            self.painter.douse();
            self.mixer.hush();
            self.go(0, events);
        }
        self.empty = empty;
        for k in 0..self.said.len() {
            let (trigger, strength) = self.said[k];
            events.push(Event::Trigger { trigger, strength });
            if !empty {
                self.act(trigger, events);
            }
        }
        if self.to_frame == 0 {
            self.to_frame = self.table.hardware.pace.frame_every();
            let dim = if low { self.table.dim } else { 256 };
            let total = self.painter.paint(&self.table.modes[self.mode].lights, dim);
            events.push(Event::Frame { total });
        }
        self.to_frame -= 1;
        self.owed += self.table.hardware.sound_hz as i32;
        let price = BLOCK as i32 * self.table.hardware.pace.hz();
        if self.owed >= price {
            self.owed -= price;
            self.sound();
            events.push(Event::Block);
        }
    }

    fn act(&mut self, trigger: Trigger, events: &mut Vec<Event>) {
        let row = self.table.rules[self.mode * Trigger::ALL.len() + trigger as usize];
        if row == 0 {
            return;
        }
        let act = self.table.acts[row - 1].clone();
        let [sound, gain, duck] = act.shot;
        if sound > 0 {
            self.mixer.shot(sound, gain);
            self.duck = duck;
            events.push(Event::Sound { sound: sound as usize - 1, gain });
        }
        self.painter.strike(&act.flash);
        if act.to > 0 && act.to as usize - 1 != self.mode {
            self.go(act.to as usize - 1, events);
        }
    }

    fn go(&mut self, mode: usize, events: &mut Vec<Event>) {
        self.mode = mode;
        self.since = 0;
        self.painter.begin();
        self.mixer.hum(self.table.modes[mode].hum[0]);
        events.push(Event::Mode { mode });
    }

    /// The next block: the hum follows the turning rate, and makes room for one-shots.
    fn sound(&mut self) {
        let speed = self.detector.speed.0.min(1024);
        self.follow += (speed - self.follow) >> 2;
        let [_, gain, swell, bend] = self.table.modes[self.mode].hum;
        let full = (gain + ((swell * self.follow) >> 10)).min(256);
        let hum = &mut self.mixer.voices[0];
        hum.aim = full;
        hum.pace = 4096 + ((bend * self.follow) >> 10);
        if self.mixer.busy() {
            self.mixer.voices[0].aim = (full * self.duck) >> 8;
        }
        self.mixer.mix(&self.sounds);
    }
}

/// A checksum of bytes: two running sums of 14 bits.
fn checksum(bytes: impl Iterator<Item = u8>) -> i32 {
    let (mut a, mut b) = (1, 0);
    for v in bytes {
        a = (a + i32::from(v)) & 0x3FFF;
        b = (b + a) & 0x3FFF;
    }
    (b << 14) | a
}

/// The log of a run, a line an event: sample, a letter, numbers; frames and blocks with a checksum of their bytes, gravity at every
/// 64th sample.
/// The program on the board writes the same when it is asked to.
pub fn log(engine: &mut Engine, samples: impl IntoIterator<Item = Sample>) -> String {
    let mut text = String::new();
    let mut events = Vec::new();
    for (n, sample) in samples.into_iter().enumerate() {
        engine.step(&sample, &mut events);
        for event in &events {
            let written = match *event {
                Event::Trigger { trigger, strength } => writeln!(text, "{n} T {} {strength}", trigger.name()),
                Event::Mode { mode } => writeln!(text, "{n} M {mode}"),
                Event::Sound { sound, gain } => writeln!(text, "{n} S {sound} {gain}"),
                Event::Empty => writeln!(text, "{n} E"),
                Event::Frame { total } => {
                    writeln!(text, "{n} F {total} {}", checksum(engine.pixels().iter().copied()))
                }
                Event::Block => {
                    writeln!(text, "{n} B {}", checksum(engine.block().iter().flat_map(|s| s.to_le_bytes())))
                }
            };
            debug_assert!(written.is_ok(), "text takes all lines");
        }
        if n % 64 == 0 {
            let [x, y, z] = engine.gravity();
            let written = writeln!(text, "{n} G {x} {y} {z}");
            debug_assert!(written.is_ok(), "text takes all lines");
        }
    }
    text
}
