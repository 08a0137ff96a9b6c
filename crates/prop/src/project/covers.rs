//! What the maker says about a cover.

use super::read::STATION;
use crate::catalogue::Process;
use crate::cover::{CoverFit, CoverRules, DrainRule, DrainSide};
use crate::fields::{Field, Fields};
use crate::outcome::Role;

/// Reads the keys of a body that are for covers; `process` is its material's, if that is known.
pub(super) fn read_cover(body: &mut Fields<'_>, role: Role, process: Option<Process>) -> Option<CoverRules> {
    const FITS: [(&str, CoverFit); 2] = [("glue", CoverFit::Glue), ("slide", CoverFit::Slide)];
    let usual = CoverRules::default();
    let fit = body.choice("fit", &FITS, Some(usual.fit));
    let split = body.optional("split", |f| f.flag());
    let drains = body.get("drain").map_or(Some(Vec::new()), |field| read_drains(&field, role, process));
    Some(CoverRules { fit: fit?, split: split?, drains: drains? })
}

fn read_drains(field: &Field<'_>, role: Role, process: Option<Process>) -> Option<Vec<DrainRule>> {
    const DRAIN: &str = "{ at = \"400 mm\", side = \"-z\" }";
    const SIDES: [(&str, DrainSide); 2] = [("+z", DrainSide::Up), ("-z", DrainSide::Down)];
    if role != Role::Cover || process == Some(Process::Filament) {
        return field.error("only covers of resin are hollowed and drained", "leave this key out");
    }
    let items = field.items(&format!("[{DRAIN}]"))?;
    let drains: Vec<Option<DrainRule>> = items
        .iter()
        .map(|item| {
            let mut table = item.table_such_as(DRAIN)?;
            let at_mm = table.quantity("at", &STATION, None);
            let side = table.choice("side", &SIDES, None);
            table.finish();
            Some(DrainRule { at_mm: at_mm?, side: side? })
        })
        .collect();
    drains.into_iter().collect()
}
