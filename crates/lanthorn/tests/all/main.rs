//! The commands as a maker types them, on a small prop of our own: the reed wand, 36 cm, a lens blade on an oval grip.

mod choosing;
mod coupons;
mod drawn;
mod elsewhere;
mod faults;
mod glow;
mod graded;
mod joints;
mod memory;
mod open;
mod packs;
mod parts;
mod power;
mod rehearse;
mod sculpt;
mod strength;
mod trade;
mod wand;
mod windows;
