//! Sixth stage: what the prop bears.

use crate::strength::{Strength, StrengthError, StrengthWork};

/// Works it out; `None` when the project asks for none. What cannot be worked out hinders no print: it is a finding.
pub(super) fn strength(work: &StrengthWork) -> Option<Result<Strength, StrengthError>> {
    work.project.strength.check.then(|| crate::strength::strength(work))
}
