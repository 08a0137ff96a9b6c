//! What was measured on a light coupon: light through the steps of a wedge, against the bare screen.

mod readings;
mod shares;
mod summary;
#[cfg(test)]
mod tests;

pub use readings::light_readings;
pub use summary::{LightSummary, light_summary};

use super::Note;

/// The light that was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Colour {
    /// All of it together.
    White,
    /// The red of a camera, or of a red screen.
    Red,
    /// The green.
    Green,
    /// The blue.
    Blue,
}

impl Colour {
    /// Every colour with its name in sheets.
    pub const ALL: [(&'static str, Colour); 4] =
        [("white", Colour::White), ("red", Colour::Red), ("green", Colour::Green), ("blue", Colour::Blue)];

    /// Its name in sheets.
    pub fn name(self) -> &'static str {
        match self {
            Colour::White => "white",
            Colour::Red => "red",
            Colour::Green => "green",
            Colour::Blue => "blue",
        }
    }
}

/// What looked at the windows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seen {
    /// A camera, straight on.
    Camera,
    /// A meter laid on the frame. It sees a cone of some 57 degrees to each side through a window 14 mm wide and 4.5 mm deep.
    Meter,
}

impl Seen {
    /// Both with their names in the file.
    pub const ALL: [(&'static str, Seen); 2] = [("camera", Seen::Camera), ("meter", Seen::Meter)];

    /// Its name in the file.
    pub fn name(self) -> &'static str {
        match self {
            Seen::Camera => "camera",
            Seen::Meter => "meter",
        }
    }

    /// Mean cosine of the directions that are seen: for a cone of Lambertian light with the cosine c at its edge
    /// (2/3) (1 - c^3) / (1 - c^2).
    pub fn cosine(self) -> f64 {
        match self {
            Seen::Camera => 1.0,
            Seen::Meter => 0.8,
        }
    }
}

/// One wedge, measured at one sitting in one colour.
#[derive(Clone, Debug, PartialEq)]
pub struct Light {
    /// Printer, by its name in the project.
    pub printer: String,
    /// Material, by its name in the catalogue.
    pub material: String,
    /// The light.
    pub colour: Colour,
    /// What looked.
    pub seen: Seen,
    /// Whether shares are of the bare screen; otherwise only of the brightest step.
    pub of_screen: bool,
    /// Brightness of the bare screen from 60 degrees, as a share of that straight on, if it was read.
    pub slant: Option<f64>,
    /// Thickness, mm, and share of the light: one for each reading.
    pub steps: Vec<[f64; 2]>,
    /// When and whence.
    pub note: Note,
}
