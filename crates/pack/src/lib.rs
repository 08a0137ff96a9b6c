//! Drawings, pages and files: artifacts as bytes with a path.
//!
//! Everything here is a plain function from an [`Outcome`] to bytes. It decides nothing, opens no file and reads no
//! clock: the same outcome gives the same bytes, whatever the number of threads.

mod book;
mod check;
mod compare;
mod controller;
mod coupon;
mod csv;
mod drawings;
mod files;
mod findings;
mod hatch;
mod html;
mod index;
mod inside;
mod labels;
mod light;
mod light_coupon;
mod lists;
mod look;
mod patterns;
mod plates;
mod power;
mod printed;
mod reach;
mod rehearsal;
#[cfg(test)]
mod sample;
mod sections;
mod shade;
mod side;
mod strength;
mod svg;
#[cfg(test)]
mod tests;
mod view;
mod ways;
mod windows;
mod wiring;
mod words;
mod work;

pub use compare::{COMPARED, CompareError, Comparison, FoundPack, compare};
pub use coupon::coupon;
pub use coupon::sheet as readings;
pub use drawings::{DrawingFile, drawings};
pub use light_coupon::light_coupon;
use prop::outcome::Outcome;
use rayon::prelude::*;
pub use rehearsal::rehearsal;

/// One file of the pack.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Artifact {
    /// Path inside the pack, with `/` between folders: `pieces/03-blade.stl`.
    pub path: String,
    /// The whole content.
    pub bytes: Vec<u8>,
}

impl Artifact {
    fn new(path: impl Into<String>, bytes: impl Into<Vec<u8>>) -> Artifact {
        Artifact { path: path.into(), bytes: bytes.into() }
    }
}

/// Why a pack could not be written.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PackError {
    /// The caller asked to stop.
    #[error("stopped while writing {doing}; nothing of the pack was kept")]
    Stopped {
        /// The step that was about to begin.
        doing: String,
    },
    /// A number that is shown or written is not a number.
    #[error("{place} is {value}, which cannot be written; a stage before the pack went wrong there")]
    NotFinite {
        /// What the number belongs to.
        place: String,
        /// The offending value.
        value: f64,
    },
    /// A piece's name cannot be a file name.
    #[error("piece {number} is called {name:?}: {why}; rename the body it comes from")]
    BadName {
        /// The piece's number.
        number: u32,
        /// Its name.
        name: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// A piece without a triangle.
    #[error("piece {number} ({name}) has no triangle, so there is nothing to print")]
    EmptyPiece {
        /// The piece's number.
        number: u32,
        /// Its name.
        name: String,
    },
    /// The sound of a rehearsal could not be written.
    #[error("what would be heard could not be written: {reason}")]
    Sound {
        /// What the writer said.
        reason: String,
    },
    /// What goes to a printer could not be laid out.
    #[error("{what} could not be laid out: {reason}; this is a fault of the program, not of the project")]
    Print {
        /// The file.
        what: String,
        /// What the typesetter said.
        reason: String,
    },
    /// The picture could not be compressed.
    #[error("the picture of {name} could not be written: {reason}")]
    Picture {
        /// The piece's name.
        name: String,
        /// What the encoder said.
        reason: String,
    },
}

/// Writes every artifact of `outcome`.
///
/// `progress` is told what is being done and the share that is done (0 to 1); when it returns `false` the work stops
/// before the next step. Pictures are drawn side by side on the threads there are.
///
/// # Errors
///
/// [`PackError::Stopped`] when asked to stop; the others when the outcome holds something that cannot be written: a number
/// that is none, an empty piece, a name that is no file name.
pub fn pack(outcome: &Outcome, progress: &dyn Fn(&str, f64) -> bool) -> Result<Vec<Artifact>, PackError> {
    let step = |doing: &str, share: f64| {
        if progress(doing, share) { Ok(()) } else { Err(PackError::Stopped { doing: doing.to_owned() }) }
    };
    step("findings and drawings", 0.0)?;
    check::writable(outcome)?;
    let imprint = outcome.imprint.lines();
    let signed = |sheet: svg::Sheet| sheet.signed(&imprint);
    let each = |sheets: Vec<(String, svg::Sheet)>| -> Vec<(String, svg::Sheet)> {
        sheets.into_iter().map(|(path, sheet)| (path, signed(sheet))).collect()
    };
    let side = signed(side::draw(outcome));
    let sections = signed(sections::draw(outcome));
    let beds = signed(plates::draw(outcome));
    let within = signed(inside::draw(outcome));
    let lit = each(light::draw(outcome));
    let loaded = each(strength::draw(outcome));
    let (rehearsed, of_rehearsal) = rehearsal::of_pack(outcome)?;
    let rehearsed = rehearsed.map(signed);
    let wiring = wiring::draw(outcome).map(signed);
    let days = work::draw(outcome).map(signed);
    let patterns = patterns::Patterns::of(outcome);
    let drawn = book::Drawn {
        side: &side,
        within: &within,
        sections: &sections,
        beds: &beds,
        lit: &lit,
        loaded: &loaded,
        wiring: wiring.as_ref(),
        rehearsed: rehearsed.as_ref(),
        days: days.as_ref(),
        patterns: &patterns,
    };
    let mut artifacts = vec![
        Artifact::new("findings.json", findings::json(outcome)),
        Artifact::new("pieces/index.json", index::json(outcome)),
        Artifact::new("pieces/ways.json", ways::json(outcome)),
        Artifact::new("plates/index.json", plates::json(outcome)),
        Artifact::new("light/windows.json", windows::json(outcome)),
        Artifact::new("drawings/side.svg", side.to_file()),
        Artifact::new("drawings/inside.svg", within.to_file()),
        Artifact::new("drawings/sections.svg", sections.to_file()),
        Artifact::new("drawings/plates.svg", beds.to_file()),
    ];

    // As many at once as there are threads, so that a stop is heard after at most one picture's time; no more than eight,
    // because each takes about 120 MB while it is drawn.
    let at_once = rayon::current_num_threads().clamp(1, 8);
    let n_pieces = outcome.pieces.len();
    for (batch_idx, batch) in outcome.pieces.chunks(at_once).enumerate() {
        let done = batch_idx * at_once;
        step(&format!("piece {} of {n_pieces}", done + 1), 0.05 + 0.83 * done as f64 / n_pieces as f64)?;
        let made: Vec<Result<Vec<Artifact>, PackError>> = batch
            .par_iter()
            .map(|piece| {
                let mut made = files::piece(outcome, piece);
                made.push(Artifact::new(format!("pictures/{}.png", piece.name), shade::picture(piece)?));
                Ok(made)
            })
            .collect();
        for made in made {
            artifacts.extend(made?);
        }
    }
    step("plates", 0.9)?;
    artifacts.par_extend(outcome.plates.par_iter().map(|plate| plates::file(outcome, plate)));
    step("the outer shape", 0.95)?;
    let (shape, pictures) = rayon::join(|| files::shape(outcome), || light::pictures(outcome));
    artifacts.push(shape);
    artifacts.extend(pictures?);
    artifacts.push(light::unlit(outcome)?);
    step("the book", 0.97)?;
    let book = book::files(outcome, &drawn, &artifacts)?;
    artifacts.extend(book);
    artifacts.extend(files::inside(outcome));
    artifacts.extend(light::files(outcome));
    artifacts.extend(lit.into_iter().map(|(path, sheet)| Artifact::new(path, sheet.to_file())));
    artifacts.extend(wiring.map(|sheet| Artifact::new("drawings/wiring.svg", sheet.to_file())));
    artifacts.extend(strength::files(outcome));
    artifacts.extend(loaded.into_iter().map(|(path, sheet)| Artifact::new(path, sheet.to_file())));
    artifacts.extend(work::files(outcome));
    artifacts.extend(days.map(|sheet| Artifact::new("drawings/plan.svg", sheet.to_file())));
    artifacts.extend(files::openings(outcome));
    artifacts.extend(files::mends(outcome));
    artifacts.extend(lists::files(outcome));
    artifacts.extend(lists::ways(outcome));
    artifacts.extend(of_rehearsal);
    artifacts.extend(rehearsed.map(|sheet| Artifact::new("drawings/rehearsal.svg", sheet.to_file())));
    artifacts.extend(controller::files(outcome));
    artifacts.extend(power::files(outcome));
    step("patterns", 0.98)?;
    artifacts.extend(patterns.files(outcome)?);
    artifacts.sort_by(|a, b| a.path.cmp(&b.path));
    step("the pack", 1.0)?;
    Ok(artifacts)
}
