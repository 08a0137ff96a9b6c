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
