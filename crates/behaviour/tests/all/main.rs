//! The crate from outside.

mod boards;
mod common;
mod engine;
mod light;
mod motions;
mod plans;
mod recordings;
mod rehearsals;
mod sounds;
