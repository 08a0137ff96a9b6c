//! What the maker says about cuts.

use super::CutRules;
use super::read::STATION;
use crate::fields::{Field, Fields};
use crate::quantity::Wanted;

/// Reads `[cuts]`; without one, nothing is locked, forbidden or moved.
pub(super) fn read_cuts(root: &mut Fields<'_>) -> Option<CutRules> {
    let Some(field) = root.get("cuts") else { return Some(CutRules::default()) };
    let mut cuts = field.table()?;
    let lock_items = list(&mut cuts, "lock", "[\"512 mm\"]");
    let lock = each(&lock_items, |item| item.quantity(&STATION));
    let forbid_items = list(&mut cuts, "forbid", "[[\"300 mm\", \"340 mm\"]]");
    let forbid = each(&forbid_items, |item| item.range(&STATION));
    let shift_items = list(&mut cuts, "shift", "[{ joint = 2, by = \"6 mm\" }]");
    let shift = each(&shift_items, read_shift);
    if let (Some(lock), Some(items)) = (&lock, &lock_items) {
        check_lock(items, lock, forbid.as_deref().unwrap_or(&[]));
    }
    if let (Some(forbid), Some(items)) = (&forbid, &forbid_items) {
        check_forbid(items, forbid);
    }
    if let (Some(shift), Some(items)) = (&shift, &shift_items) {
        for (at, (joint, _)) in shift.iter().enumerate() {
            if shift[..at].iter().any(|(other, _)| other == joint) {
                items[at].error::<()>(format!("joint {joint} is moved twice"), "keep one of the two, with the sum");
            }
        }
    }
    cuts.finish();
    Some(CutRules { lock_mm: lock?, forbid_mm: forbid?, shift_mm: shift? })
}

/// The items of the list `name`, none when it is not there.
pub(super) fn list<'t>(table: &mut Fields<'t>, name: &'static str, example: &str) -> Option<Vec<Field<'t>>> {
    table.get(name).map_or(Some(Vec::new()), |field| field.items(example))
}

/// All items read, or nothing when one could not be; every one is tried.
pub(super) fn each<T>(items: &Option<Vec<Field<'_>>>, read: impl Fn(&Field<'_>) -> Option<T>) -> Option<Vec<T>> {
    let read: Vec<Option<T>> = items.as_ref()?.iter().map(read).collect();
    read.into_iter().collect()
}

fn read_shift(item: &Field<'_>) -> Option<(u32, f64)> {
    const BY: Wanted = Wanted::length(-200.0, 200.0, "6 mm");
    let mut shift = item.table_such_as("{ joint = 2, by = \"6 mm\" }")?;
    let joint = shift.need("joint", "joint = 2").and_then(|f| f.whole(1..=999));
    let by = shift.quantity("by", &BY, None);
    shift.finish();
    Some((joint?, by?))
}

fn check_lock(items: &[Field<'_>], lock: &[f64], forbid: &[[f64; 2]]) {
    for (at, station) in lock.iter().enumerate() {
        if lock[..at].contains(station) {
            items[at].error::<()>(format!("the cut at {station} mm is locked twice"), "keep one of the two");
        }
        if let Some([from, to]) = forbid.iter().find(|[from, to]| from < station && station < to) {
            let message =
                format!("{station} mm lies in a range that cuts.forbid keeps free of cuts: {from} mm to {to} mm");
            items[at].error::<()>(message, "move the lock out of the range, or make the range smaller");
        }
    }
}

fn check_forbid(items: &[Field<'_>], forbid: &[[f64; 2]]) {
    for (at, [from, to]) in forbid.iter().enumerate() {
        if let Some([other_from, other_to]) = forbid[..at].iter().find(|[f, t]| f < to && from < t) {
            let joined = format!("[\"{} mm\", \"{} mm\"]", from.min(*other_from), to.max(*other_to));
            let message = format!("this range overlaps another one: {other_from} mm to {other_to} mm");
            items[at].error::<()>(message, format!("write one range: {joined}"));
        }
    }
}
