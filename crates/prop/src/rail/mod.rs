//! The rail that holds strip and spine: its section, its way through the prop, and what runs in it.

pub mod fitting;
pub mod layout;
pub mod runs;
pub mod wires;
