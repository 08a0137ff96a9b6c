//! Cells, wires, converters, pixel strips and loads: at an instant, through a flash and through a day.
//!
//! A library in its own right: it knows batteries and copper, and nothing of props. Amperes, volts, ohms and watts; lengths in
//! millimetres; temperatures in °C. Nothing here opens a file, prints or keeps state, and the same input gives the same bytes.
//!
//! # Rooms
//!
//! - [`Network`]: parts joined at nodes, and what can be wrong with that (`wiring`, [`CircuitError`]). Parts: `cell`, `copper`
//!   (wires, foil), `convert`, `strip` (pixels), `part` (contacts, fuses, loads, amplifiers, capacitors).
//! - `demand`: what is asked for, in which condition. `state`: what comes of it.
//! - `newton`: the nodal equations, with `ladder` (a strip reduced to what its taps see) and `dense`. `operate`: the state in
//!   which a circuit really comes to rest.
//! - `usage`: what is asked for from moment to moment. `table`: states remembered. `day`: step by step through hours. `runtime`:
//!   how long a cell lasts and how sure that is. `transient`: a flash with capacitors. `choose`: the smallest that holds.
//!
//! # Example: a flash on a cold, nearly empty cell, and how long a full one lasts
//!
//! ```
//! use circuit::*;
//!
//! let mut net = Network::default();
//! let [plus, minus, fused, held, rail, back, a, b] =
//!     ["cell +", "cell -", "fused", "converter in", "5 V", "5 V -", "strip +", "strip -"].map(|n| net.node(n));
//! let cell = net.add("cell", Cell::lithium_ion(3.5, 0.04, 10.0), &[plus, minus])?;
//! net.add("fuse", Fuse::rated(5.0), &[plus, fused])?;
//! net.add("red", Wire::stranded(20, 120.0), &[fused, held])?;
//! net.add("black", Wire::stranded(20, 120.0), &[minus, back])?;
//! net.add("converter", Converter::up_to_5v(3.0), &[held, rail, back])?;
//! net.add("controller", Load::Current { amps: 0.08, lowest_v: 3.4 }, &[rail, back])?;
//! net.add("strip red", Wire::stranded(22, 300.0), &[rail, a])?;
//! net.add("strip black", Wire::stranded(22, 300.0), &[back, b])?;
//! let strip = Strip::fed_at_start(66, Pixel::rgb(0.012), foil_ohm(1000.0 / 60.0, 2.5, 70.0));
//! net.add("strip", strip, &[a, b])?;
//!
//! let white = Scene::even(&net, [1.0, 1.0, 1.0, 0.0]);
//! let cold = Conditions { charge: 0.1, ..Conditions::full_at(0.0) };
//! let flash = Demand { scene: &white, light: 1.0, sound_w: 0.0 };
//! // As much light as leaves every pixel 3.7 V, where green and blue still get all of their current.
//! let cap = net.most_light(&flash, &cold, &|state| state.lowest_pixel().is_some_and(|p| p.2 >= 3.7))?;
//! assert!(cap.is_some_and(|light| (0.3..1.0).contains(&light)));
//!
//! let moment = |k| Moment { scene: 0, light: if k < 30 { 1.0 } else { 0.2 }, sound_w: 0.0 };
//! let usage = Usage { scenes: vec![white.clone()], moments: (0..2000).map(moment).collect(), step_s: 0.01 };
//! let band = net.runtime_band(&usage, 20.0, &Unsure::default())?;
//! // 66 pixels of 37 mA at a fifth, 66 mA for their chips and 80 mA: 0.62 A at 5.1 V, 3.6 W of 0.88 from 3.7 V are 1 A.
//! assert!((band.runtime.mean_a - 1.0).abs() < 0.1);
//! let day = net.day(&usage, &DaySpec { duration_s: 600.0, ambient_c: 20.0, charge: 1.0, trace_s: 60.0 })?;
//! assert!(day.end == End::Lasted && day.parts[cell.index()].peak_k < 5.0);
//! # Ok::<(), CircuitError>(())
//! ```
//!
//! # What it does not know
//!
//! Pixels are taken at their mean current: what flickers faster than a millisecond is a capacitor's business. A cell has no memory
//! of the last minutes beyond its inner resistance. Speakers are resistances.

mod cell;
mod choose;
mod convert;
mod copper;
mod day;
mod demand;
mod dense;
mod error;
mod ladder;
mod network;
mod newton;
mod operate;
mod part;
mod runtime;
mod state;
mod strip;
mod table;
mod transient;
mod usage;
mod wiring;

pub use cell::{Cell, LITHIUM_ION, Protection};
pub use choose::{FUSE_SHARE, NoFuse, WireAsked, WireChosen, bulk_farad, smallest_fuse, thinnest_wire};
pub use convert::{Change, Converter, Holding};
pub use copper::{
    COPPER_PER_K, Wire, awg_area_mm2, awg_diameter_mm, chassis_a, copper_factor, foil_ohm, ohm_per_m, steady_celsius,
};
pub use day::{Day, DaySpec, End, PartDay, Sample, Standout};
pub use demand::{Conditions, Demand, Scene};
pub use error::{CircuitError, LEAST_OHM};
pub use network::{Network, Node, PartId, Placed};
pub use part::{Amplifier, Capacitor, Contact, Fuse, Heating, Load, Part};
pub use runtime::{Runtime, RuntimeBand, Unsure};
pub use state::{ConverterState, PartState, State, StripState};
pub use strip::{Channel, Drive, LEAK_S, Pixel, Strip, drop_fed_at_both_ends, drop_fed_at_one_end, fold};
pub use transient::{Transient, TransientSpec};
pub use usage::{Moment, Usage};
