//! The rail that holds strip and spine: its section, its way through the prop, and what runs in it.

pub mod fitting;
pub mod layout;
mod lengths;
pub mod runs;
mod solids;
pub mod spokes;
pub mod stretch;
pub mod wires;
