//! Light in scattering walls and closed cavities.
//!
//! A library in its own right: it knows plastics, coats, faces and pixels, and nothing of props. Lengths are millimetres,
//! cosines stand for angles to a normal, and every computation is of **one optical band**: for three colour channels ask
//! three times. Random walks take a seed, are cut into fixed chunks with a random stream each, and are summed in the order
//! of the chunks, so the same input gives the same bytes whatever the number of threads. Nothing here opens a file, prints
//! or keeps state.
//!
//! # Rooms
//!
//! - `medium`: plastics, coats, walls. [`fresnel`], [`phase`]: faces and directions. `random`: streams of numbers.
//! - `slab`: a wall walked scatter by scatter; `sideways`: how far aside light comes out. `doubling` (with `quadrature`,
//!   `matrix`): the same shares without noise. `table`: both beforehand, over thickness and angle. [`fit`]: plastic from
//!   light seen through steps.
//! - [`rows`], `sphere`: closed forms for bare strips and white rooms. [`eye`]: what is made out, and from where.
//! - `scene`: bodies in the light and what their faces carry. `source`: pixels. `trace`: one photon's way, with `walk`,
//!   `tabled` (thick walls like flat ones), `guide` and `worth` (how heavy light should be where it is). `light`: rounds of
//!   photons until the noise is low. `response`: what each pixel does to each patch.

mod doubling;
pub mod eye;
pub mod fit;
pub mod fresnel;
mod light;
mod matrix;
mod medium;
pub mod phase;
mod quadrature;
mod random;
mod response;
pub mod rows;
mod scene;
mod sideways;
mod slab;
mod source;
mod sphere;
mod table;
mod trace;

pub use doubling::{ANGLES, doubled};
pub use light::{LightError, LightSpec, Passage, Survey, light, surveyed};
pub use medium::{Coat, Finish, MOST_PER_MM, Medium, OpticsError, Wall};
pub use random::Random;
pub use response::{Response, ResponseError, Totals};
pub use scene::{Band, Body, Face, GLUE_REACH_MM, Outside, Scene, SceneError, Solid};
pub use sideways::{FARTHEST_MM, NEAREST_MM, Sideways};
pub use slab::{Incidence, Passed, Shares, Walk, slab};
pub use source::Pixel;
pub use sphere::{glowing_tube, sphere_multiplier};
pub use table::{THINNEST_MM, TableSpec, WallTable};
