//! Heat along a bar that is warm inside: how warm it gets, how fast, and how much it may be heated.
//!
//! The bar is cut into slices. Each has three temperatures: its core (strip, rail, spine), the inner and the outer face
//! of its wall. Heat goes from the core through the cavity into the wall, through the wall, and off into air and
//! surroundings; and along the bar in core and wall to the next slice (Incropera & DeWitt, *Fundamentals of Heat and
//! Mass Transfer*, thermal networks; from memory). The far ends give nothing off. Temperatures are °C; lengths in names
//! are mm, but conductances are those of the handbooks, in metres.

mod film;
mod level;
mod network;

pub use film::{Film, film_w_m2k, glow_w_m2k};
pub use level::{Level, Limits, Spot, level, soak_s};
pub use network::{steady, warming};

/// A stretch of the bar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slice {
    /// How long.
    pub length_mm: f64,
    /// Heat set free in the core: light that the strip does not send out, converters.
    pub core_w: f64,
    /// Heat set free in the wall: light that it swallows.
    pub wall_w: f64,
    /// From core to inner face, for each metre: film times girth, and where the rail touches its own conductance.
    /// W/(m·K).
    pub cavity_w_mk: f64,
    /// Through the wall, for each metre: see [`round_wall_w_mk`] and [`flat_wall_w_mk`]. W/(m·K).
    pub wall_w_mk: f64,
    /// Girth of the outer face.
    pub girth_mm: f64,
    /// Diameter, or the width that the wind and the sun see.
    pub width_mm: f64,
    /// Emissivity of the outer face for heat; 0.9 for paints and plastics.
    pub emissivity: f64,
    /// Share of sunlight that the outer face takes in: 0.3 for white, 0.9 for dark paint (common practice, no source).
    pub absorptance: f64,
    /// Conductivity times area along the core, W·m/K.
    pub core_along_wm_k: f64,
    /// The same along the wall.
    pub wall_along_wm_k: f64,
    /// Heat capacity of the core, J/K.
    pub core_j_k: f64,
    /// Heat capacity of the wall, J/K.
    pub wall_j_k: f64,
}

/// What is around the bar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Temperature of the air.
    pub air_c: f64,
    /// Temperature of what it looks at: room walls, a car's roof.
    pub around_c: f64,
    /// How the air takes heat.
    pub film: Film,
    /// Sunlight on the side that it falls on, W/m²; 0 indoors.
    pub sun_w_m2: f64,
}

/// Temperatures of each slice.
#[derive(Clone, Debug, PartialEq)]
pub struct Warmth {
    /// Of the core.
    pub core_c: Vec<f64>,
    /// Of the wall's inner face.
    pub inner_c: Vec<f64>,
    /// Of its outer face.
    pub outer_c: Vec<f64>,
}

impl Warmth {
    /// The same everywhere.
    #[must_use]
    pub fn even(slices: usize, temp_c: f64) -> Self {
        let all = vec![temp_c; slices];
        Self { core_c: all.clone(), inner_c: all.clone(), outer_c: all }
    }
}

/// Why no temperature can be told. Slices are counted from 0.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum HeatError {
    /// No bar.
    #[error("the bar has no slices; give at least one")]
    Empty,
    /// A number that can't be.
    #[error("slice {slice}: {what} is {value}; {way_out}")]
    Slice {
        /// Which slice.
        slice: usize,
        /// Which of its numbers.
        what: &'static str,
        /// What it is.
        value: f64,
        /// What it may be.
        way_out: &'static str,
    },
    /// Air that can't be.
    #[error("{what} is {value}; {way_out}")]
    Around {
        /// Which number.
        what: &'static str,
        /// What it is.
        value: f64,
        /// What it may be.
        way_out: &'static str,
    },
    /// Lists that do not go together.
    #[error("{slices} slices, but {given} {what}; give one for each")]
    Lists {
        /// How many slices.
        slices: usize,
        /// "temperatures" or "limits".
        what: &'static str,
        /// How many of those.
        given: usize,
    },
    /// Nothing heats it.
    #[error("nothing heats the bar, so no level of it can be told; give a slice a power")]
    Cold,
    /// Temperatures that run away.
    #[error("temperatures did not settle in {rounds} rounds; look for a power far too high or a wall far too thin")]
    Unsettled {
        /// How many rounds.
        rounds: usize,
    },
}

/// Through a round wall, for each metre: 2πk/ln(D/d), W/(m·K).
#[must_use]
pub fn round_wall_w_mk(conductivity_w_mk: f64, outer_mm: f64, inner_mm: f64) -> f64 {
    std::f64::consts::TAU * conductivity_w_mk / libm::log(outer_mm / inner_mm)
}

/// Through a wall that is thin against its girth, for each metre: k times girth over thickness, W/(m·K).
#[must_use]
pub fn flat_wall_w_mk(conductivity_w_mk: f64, girth_mm: f64, thickness_mm: f64) -> f64 {
    conductivity_w_mk * girth_mm / thickness_mm
}

fn checked(slices: &[Slice], air: &Air) -> Result<(), HeatError> {
    if slices.is_empty() {
        return Err(HeatError::Empty);
    }
    for (slice, s) in slices.iter().enumerate() {
        let above = [
            ("length, mm,", s.length_mm),
            ("conductance of the cavity, W/(m·K),", s.cavity_w_mk),
            ("conductance of the wall, W/(m·K),", s.wall_w_mk),
            ("girth, mm,", s.girth_mm),
            ("width, mm,", s.width_mm),
            ("heat capacity of the core, J/K,", s.core_j_k),
            ("heat capacity of the wall, J/K,", s.wall_j_k),
        ];
        if let Some((what, value)) = above.into_iter().find(|(_, v)| !(v.is_finite() && *v > 0.0)) {
            return Err(HeatError::Slice { slice, what, value, way_out: "give a number above 0" });
        }
        let least = [
            ("power in the core, W,", s.core_w),
            ("power in the wall, W,", s.wall_w),
            ("conductance along the core, W·m/K,", s.core_along_wm_k),
            ("conductance along the wall, W·m/K,", s.wall_along_wm_k),
        ];
        if let Some((what, value)) = least.into_iter().find(|(_, v)| !(v.is_finite() && *v >= 0.0)) {
            return Err(HeatError::Slice { slice, what, value, way_out: "give 0 or more" });
        }
        let shares = [("emissivity", s.emissivity), ("absorptance", s.absorptance)];
        if let Some((what, value)) = shares.into_iter().find(|(_, v)| !(0.0..=1.0).contains(v)) {
            return Err(HeatError::Slice { slice, what, value, way_out: "give a share from 0 to 1" });
        }
    }
    let bearable = |v: f64| (-100.0..=300.0).contains(&v);
    let temps = [("the air's temperature, °C,", air.air_c), ("the surroundings' temperature, °C,", air.around_c)];
    if let Some((what, value)) = temps.into_iter().find(|(_, v)| !bearable(*v)) {
        return Err(HeatError::Around { what, value, way_out: "give one from −100 to 300" });
    }
    if !(air.sun_w_m2.is_finite() && air.sun_w_m2 >= 0.0) {
        return Err(HeatError::Around { what: "sunlight, W/m²,", value: air.sun_w_m2, way_out: "give 0 or more" });
    }
    air.film.checked()
}
