//! What a hand-held thing does: motion in, light and sound out.
//!
//! A library in its own right: it knows a sensor, a button, a cell, a strip of pixels and a loudspeaker, and nothing of
//! props. Nothing here opens a file, prints or keeps state.
//!
//! The **engine** takes whole numbers and makes whole numbers: one step a sample, every intermediate within 31 bits, which a
//! small controller board keeps in a word. The program made for the board says the same to the last bit. Everything
//! around it (motion by physics, synthesis, measuring) is made beforehand, may use fractions, and takes transcendental
//! functions from `libm` alone, so that the same seed gives the same bytes everywhere.
//!
//! # Rooms
//!
//! - `plan`: a behaviour as data; `starter`: one to begin with. `verify`: what is wrong with one. `limits`: thresholds. `table`: all of it by index.
//! - `small`: the engine's number. `detect`: what the hand did. `frame` (with `paint`, `calm`): pixels. `mix`: sound.
//!   `engine`: the step.
//! - [`motion`]: motions by physics, seeded. `recording`: motions from a file. `rehearsal`: a run kept. [`sound`]: synthesis, levels, WAV.
//! - [`program`]: the same for a board, as MicroPython text.
//! - [`flashing`]: whether frames flash too often, after WCAG, in fractions and apart from the engine's own limiter.

mod calm;
mod detect;
mod engine;
pub mod flashing;
mod frame;
mod limits;
mod mix;
pub mod motion;
mod paint;
mod plan;
pub mod program;
mod random;
mod recording;
mod rehearsal;
mod small;
pub mod sound;
mod starter;
mod table;
mod verify;

pub use detect::Sample;
pub use engine::{Engine, Event, SoundError, log};
pub use limits::{FRAMES_A_SECOND, Pace, ThresholdError, Thresholds};
pub use mix::BLOCK;
pub use plan::{Behaviour, Effect, Flash, Hum, Light, Mode, Rule, Shot, Sound, Trigger};
pub use recording::{Columns, Note, Recording, RecordingError, read_recording};
pub use rehearsal::{Rehearsal, rehearse};
pub use starter::{STARTER_SOUNDS, starter};
pub use table::{Hardware, Table, TableError};
pub use verify::{Flaw, MOST_LIGHTS, verify};
