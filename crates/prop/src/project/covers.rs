//! What the maker says about a cover.

use crate::cover::{CoverFit, CoverRules};
use crate::fields::Fields;

/// Reads the keys of a body that are for covers.
pub(super) fn read_cover(body: &mut Fields<'_>) -> Option<CoverRules> {
    const FITS: [(&str, CoverFit); 2] = [("glue", CoverFit::Glue), ("slide", CoverFit::Slide)];
    let usual = CoverRules::default();
    let fit = body.choice("fit", &FITS, Some(usual.fit));
    let split = body.optional("split", |f| f.flag());
    Some(CoverRules { fit: fit?, split: split? })
}
