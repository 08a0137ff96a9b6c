//! Sixth stage: what the prop bears.

use super::{Base, Pass};
use crate::memory::Memory;
use crate::strength::{Strength, StrengthError, StrengthWork, Thinnest, thinnest};

/// Works it out; `None` when the project asks for none. What cannot be worked out hinders no print: it is a finding.
pub(super) fn strength(base: &Base, pass: &Pass, memory: &Memory) -> Option<Result<Strength, StrengthError>> {
    let project = base.project;
    project.strength.check.then(|| {
        crate::strength::strength(&StrengthWork {
            project,
            placed: base.placed,
            split: &pass.split,
            printed: &pass.printed,
            parts: &pass.parts,
            strips: &pass.fittings.0,
            spines: &pass.fittings.1,
            wires: &crate::furnished::wires(project, &pass.bays, &pass.split, &base.placed.path),
            memory,
        })
    })
}

/// How thin the even walls of a pass might have been; nothing where strength isn't worked out.
pub(super) fn least_walls(base: &Base, even: &Pass, memory: &Memory) -> Vec<Thinnest> {
    match strength(base, even, memory) {
        Some(Ok(found)) => thinnest(&found, base.project.strength.safety),
        _ => Vec::new(),
    }
}
