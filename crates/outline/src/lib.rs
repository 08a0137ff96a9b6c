//! Drawn outlines: read from SVG, carried into sections along an axis, and sized from a picture.
//!
//! A library in its own right: it knows drawings and sections, and nothing of props. Millimetres; x runs along what is drawn,
//! y is up in the side view, z towards the viewer of it. Nothing here opens a file, prints or keeps state.
//!
//! # Rooms
//!
//! - [`drawn`]: the closed outlines of a drawing, and what of it cannot be used.
//! - [`Layout`]: which way it lies in the drawing, and its scale.
//! - [`Span`]: an outline as its two edges over x.
//! - [`CrossSection`]: what it looks like across.
//! - [`rings`]: the outline's sections along x, ready to be joined into a surface.
//! - [`proportion`]: how long a thing is that is pictured beside a figure of known height.
//!
//! # Example: a leaf, 200 mm long, 40 mm wide and 8 mm thick
//!
//! ```
//! use outline::*;
//!
//! let svg = r##"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="40mm" viewBox="0 0 200 40">
//!     <path id="leaf" d="M0 20 C60 -7 140 -7 200 20 C140 47 60 47 0 20 Z"/></svg>"##;
//! let leaf = &drawn(svg)?[0];
//! let layout = Layout::of(std::slice::from_ref(leaf), Butt::Left, None)?;
//! let rings = rings(&layout.span(leaf)?, &Depth::AtMost(8.0), &CrossSection::Lens, 1.0)?;
//! assert_eq!(rings.first().map(Vec::len), Some(1)); // it ends in a point
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod across;
mod drawing;
mod layout;
mod legible;
mod picture;
mod rings;
mod span;

pub use across::{CrossSection, TableError};
pub use drawing::{DrawingError, Drawn, drawn};
pub use layout::{Butt, Layout};
pub use picture::{Allowances, Cause, Marks, PictureError, Proportion, proportion};
pub use rings::{Depth, TooFine, rings};
pub use span::{Fault, Span};
