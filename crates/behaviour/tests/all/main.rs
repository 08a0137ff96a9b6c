//! The crate from outside.

mod common;
mod engine;
mod light;
mod plans;
