//! What changed from one pack to another: numbers, findings, pieces and costs, from the files of the two alone.

mod differences;
mod page;
mod read;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use thiserror::Error;

/// The files of a pack that are looked into.
pub const COMPARED: [&str; 8] = [
    "findings.json",
    "pieces/index.json",
    "plates/index.json",
    "parts/parts.csv",
    "parts/hardware.csv",
    "parts/wires.csv",
    "power/wires.csv",
    "work/plan.csv",
];

/// A pack as it was found on a disk.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FoundPack {
    /// What the reader of the comparison knows it by.
    pub name: String,
    /// Paths of all its files, with `/` between folders.
    pub paths: Vec<String>,
    /// Content of those of [`COMPARED`] that are there, by path.
    pub files: BTreeMap<String, Vec<u8>>,
}

/// What changed, for a terminal and as a page of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Comparison {
    /// Plain text.
    pub text: String,
    /// A page without script and without network.
    pub page: String,
}

/// Why two packs could not be compared.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum CompareError {
    /// None of the files of a pack.
    #[error("{name} is no pack: none of {} is in it; name the folder that lanthorn build wrote", COMPARED.join(", "))]
    NoPack {
        /// The pack.
        name: String,
    },
    /// A file that cannot be read.
    #[error("{name}: {file} cannot be read: {reason}; build that pack again")]
    Unreadable {
        /// The pack.
        name: String,
        /// Which of its files.
        file: String,
        /// What the reader said.
        reason: String,
    },
}

/// One thing that changed.
struct Row {
    what: String,
    before: String,
    after: String,
    /// The difference, or a word on it.
    change: String,
}

/// Changes of one kind.
struct Section {
    heading: &'static str,
    /// Said where there is no row.
    none: &'static str,
    rows: Vec<Row>,
}

/// Compares two packs, whatever program wrote them: what a pack does not tell is said to be missing, and never guessed.
///
/// # Errors
/// [`CompareError`]: one of the two is no pack, or a file of it is broken.
pub fn compare(before: &FoundPack, after: &FoundPack) -> Result<Comparison, CompareError> {
    let told = [read::told(before)?, read::told(after)?];
    let sections = differences::sections(&told);
    let missing = differences::missing([before, after]);
    let names = [&before.name, &after.name];
    let text = page::text(names, &told, &sections, &missing);
    let page = page::page(names, &told, &sections, &missing);
    Ok(Comparison { text, page })
}
