//! The crate from outside.

mod common;
mod engine;
mod light;
mod motions;
mod plans;
mod recordings;
mod sounds;
