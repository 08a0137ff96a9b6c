//! Sixth stage: what the prop bears.

use super::{Base, Pass};
use crate::memory::{Key, KeyOf, Memory};
use crate::strength::{Strength, StrengthError, StrengthWork, Thinnest, thinnest};

/// Passes of a build that are loaded, at most: an even wall, so as to know how thin it may be graded, and what is printed.
const PASSES: usize = 2;

/// Works it out; `None` when the project asks for none. What cannot be worked out hinders no print: it is a finding.
pub(super) fn strength(base: &Base, pass: &Pass, memory: &Memory) -> Option<Result<Strength, StrengthError>> {
    let project = base.project.for_strength();
    let work = StrengthWork {
        project: &project,
        placed: base.placed,
        split: &pass.split,
        printed: &pass.printed,
        parts: &pass.parts,
        strips: &pass.fittings.0,
        spines: &pass.fittings.1,
        wires: &crate::furnished::wires(base.project, &pass.bays, &pass.split, &base.placed.path),
        memory,
    };
    let found = || memory.recall("strength", PASSES, key(&work), || crate::strength::strength(&work));
    base.project.strength.check.then(|| found().map(|known| Strength::clone(&known)))
}

/// All that it is made from.
fn key(work: &StrengthWork) -> Key {
    // Every field is named, so that none is forgotten. Pieces are known by all that they were made from.
    let StrengthWork { project, placed, split, printed, parts, strips, spines, wires, memory: _ } = work;
    KeyOf::stage("strength")
        .and(project)
        .and(&placed.key())
        .and(&(&split.joints, &printed.keys))
        .and(&(parts, strips, spines, wires))
        .key()
}

/// How thin the even walls of a pass might have been; nothing where strength isn't worked out.
pub(super) fn least_walls(base: &Base, even: &Pass, memory: &Memory) -> Vec<Thinnest> {
    match strength(base, even, memory) {
        Some(Ok(found)) => thinnest(&found, base.project.strength.safety),
        _ => Vec::new(),
    }
}
