//! The prop's light: luminance along each window, the response, and the prop as it is seen lit.

mod chart;
mod choices;
mod picture;
mod tables;

use crate::{Artifact, PackError};
use prop::light::Lighting;
use prop::outcome::Outcome;

pub(crate) use chart::{draw, step};
pub(crate) use choices::{COLUMNS, rows};
pub(crate) use picture::{LIT, UNLIT, captions, unlit};

/// The numbers and the response; nothing for a prop without light.
pub(crate) fn files(outcome: &Outcome) -> Vec<Artifact> {
    outcome.light.as_ref().map_or_else(Vec::new, |light| {
        let mut files = tables::files(outcome, light);
        files.push(choices::file(light));
        files
    })
}

/// The pictures of the lit prop.
///
/// # Errors
/// [`PackError::Picture`] when one could not be compressed.
pub(crate) fn pictures(outcome: &Outcome) -> Result<Vec<Artifact>, PackError> {
    outcome.light.as_ref().map_or_else(|| Ok(Vec::new()), |light| picture::all(outcome, light))
}

/// A window's name as part of a file name: letters, digits and hyphens.
fn stem(name: &str) -> String {
    name.chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect()
}

/// How far the pixels are driven, in words.
fn driven(light: &Lighting) -> &'static str {
    if light.levels.iter().all(|l| *l == 1.0) { "every pixel at full" } else { "each pixel at its own level" }
}
