//! Light in scattering walls and closed cavities.
//!
//! A library in its own right: it knows plastics, coats, faces and pixels, and nothing of props. Lengths are millimetres,
//! cosines stand for angles to a normal, and every computation is of **one optical band**: for three colour channels ask
//! three times. Random walks take a seed, are cut into fixed chunks with a random stream each, and are summed in the order
//! of the chunks, so the same input gives the same bytes whatever the number of threads. Nothing here opens a file, prints
//! or keeps state.

mod doubling;
pub mod fresnel;
mod matrix;
mod medium;
pub mod phase;
mod quadrature;
mod random;
mod sideways;
mod slab;
mod table;

pub use doubling::{ANGLES, doubled};
pub use medium::{Coat, Finish, MOST_PER_MM, Medium, OpticsError, Wall};
pub use random::Random;
pub use sideways::{FARTHEST_MM, NEAREST_MM, Sideways};
pub use slab::{Incidence, Passed, Shares, Walk, slab};
pub use table::{THINNEST_MM, TableSpec, WallTable};
