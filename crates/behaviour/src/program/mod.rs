//! The program for the board: MicroPython text with the engine's own arithmetic, and its settings.
//!
//! The loops over pixels and samples are written once; [`Flavour::Plain`] leaves out the marks by which a board compiles
//! them. Everything else is the same text for every prop; what differs is in `settings.py`.

mod board;
mod settings;

pub use board::{Board, BoardError, Driver, Load, Pins, SensorChip, load};

use crate::sound::{WavError, write_wav};
use crate::table::Table;
use thiserror::Error;

/// How loops are compiled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flavour {
    /// To machine code, as boards can.
    Viper,
    /// Not at all, for interpreters that cannot.
    Plain,
}

/// A file of the program.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct File {
    /// Its path on the board.
    pub path: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// Why there is no program.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ProgramError {
    /// The board cannot do it.
    #[error(transparent)]
    Board(#[from] BoardError),
    /// A sound cannot be written.
    #[error("sound {name:?}: {error}")]
    Sound {
        /// Its name.
        name: String,
        /// Why.
        error: WavError,
    },
    /// A sound is missing, or not as long as the behaviour was made for.
    #[error(transparent)]
    Length(#[from] crate::SoundError),
    /// A name that no file on a board can have.
    #[error(
        "sound {name:?}: use letters, digits, - and _ only, 32 at most, since the name becomes a file on the board"
    )]
    Name {
        /// Its name.
        name: String,
    },
}

/// All files for a board: the program, its settings and the sounds (in the table's order).
///
/// # Errors
/// The board cannot hold the timing or the files, or a sound is not what the table was made for.
pub fn program(table: &Table, sounds: &[Vec<i16>], board: &Board, flavour: Flavour) -> Result<Vec<File>, ProgramError> {
    let strip = match board.driver {
        Driver::StateMachine => include_str!("strip_state_machine.py"),
        Driver::Bitstream => include_str!("strip_bitstream.py"),
    };
    let texts = [
        ("main.py", include_str!("main.py").to_owned()),
        ("prop.py", include_str!("prop.py").to_owned()),
        ("detect.py", include_str!("detect.py").to_owned()),
        ("kernels.py", kernels(flavour)),
        ("strip.py", strip.to_owned()),
        ("settings.py", settings::settings(table, board)),
        ("bench.py", include_str!("bench.py").to_owned()),
    ];
    let mut files: Vec<File> =
        texts.into_iter().map(|(path, text)| File { path: path.to_owned(), bytes: text.into_bytes() }).collect();
    for (k, (name, wanted)) in table.sounds.iter().enumerate() {
        let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
        if name.is_empty() || name.len() > 32 || !name.chars().all(plain) {
            return Err(ProgramError::Name { name: name.clone() });
        }
        let sound = sounds.get(k).map_or(&[][..], Vec::as_slice);
        if sound.len() != *wanted as usize {
            let error = crate::SoundError { name: name.clone(), wanted: *wanted, found: sound.len() };
            return Err(ProgramError::Length(error));
        }
        let bytes = write_wav(sound, table.hardware.sound_hz)
            .map_err(|error| ProgramError::Sound { name: name.clone(), error })?;
        files.push(File { path: format!("sounds/{name}.wav"), bytes });
    }
    board.can_hold(table, &files)?;
    Ok(files)
}

fn kernels(flavour: Flavour) -> String {
    let text = include_str!("kernels.py");
    match flavour {
        Flavour::Viper => text.to_owned(),
        Flavour::Plain => text
            .lines()
            .filter(|line| !line.starts_with("@micropython") && *line != "import micropython")
            .flat_map(|line| [line, "\n"])
            .collect(),
    }
}
