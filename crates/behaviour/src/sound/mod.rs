//! Sounds: made from scratch for each kind of moment, measured, read and written.
//!
//! Samples are mono, whole numbers of 16 bits. A small loudspeaker gives little below 400 Hz and breaks up when it is driven
//! there, so what is made here has little there.

mod hearing;
mod level;
mod resample;
mod synth;
mod wav;

pub use hearing::{Heard, heard};
pub use level::{Level, LevelError, level};
pub use synth::{Air, Bar, bar, crackle, fall, hum, rise, rush, starter_sounds};
pub use wav::{WavError, read_wav, write_wav};
