//! From the project file and the shape to pieces and findings.
//!
//! Here the ground floors meet: a stage is a function from earlier results to a result. Nothing here opens a
//! file, reads a clock or prints; the inputs come in as text and bytes, the results go out as data.

pub mod admission;
pub mod bay;
pub mod catalogue;
pub mod centre;
pub mod checks;
pub mod conduct;
pub mod coupon;
pub mod cover;
pub mod cutting;
pub mod diagnostic;
mod fields;
pub mod figure;
pub mod finding;
pub mod finish;
mod fixing;
mod furnished;
pub mod grading;
pub mod joint;
pub mod learnt;
pub mod light;
pub mod mask;
pub mod memory;
pub mod mending;
pub mod outcome;
pub mod path;
pub mod pieces;
pub mod placing;
pub mod plan;
pub mod power;
pub mod printing;
pub mod project;
pub mod quantity;
pub mod rail;
pub mod refusal;
pub mod shopping;
mod slices;
pub mod stages;
pub mod starter;
pub mod strength;
pub mod views;
pub mod window;
pub mod work;

pub use memory::Memory;
pub use stages::{Inputs, Monitor, build, build_telling, build_with};
