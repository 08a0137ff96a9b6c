//! The hardware that holds joints and lids, as rows of the catalogue that the maker may name.

use super::Pole;
use crate::catalogue::rows::{Named, Stock};
use crate::catalogue::{Insert, Magnet, Screw};
use crate::fields::{Field, Fields, nearest_help};

/// Reads `screw` and `insert`: rows of one thread.
pub(super) fn read_screw(table: &mut Fields<'_>, stock: &Stock) -> Option<(Screw, Insert)> {
    let screw = named(table, "screw", "countersunk-m3x8", |f| stock.find(f, &stock.rows.screws), &stock.rows.screws);
    let insert = named(table, "insert", "insert-m3", |f| stock.find(f, &stock.rows.inserts), &stock.rows.inserts);
    let (screw, insert) = (screw?, insert?);
    if screw.thread != insert.thread {
        let message = format!("the screw is {}, the insert {}", screw.thread, insert.thread);
        table.error(message, "name a screw and an insert of the same thread");
        return None;
    }
    Some((screw.clone(), insert.clone()))
}

/// Reads `magnet`, or takes the row `usual`.
pub(super) fn read_magnet(table: &mut Fields<'_>, usual: &str, stock: &Stock) -> Option<Magnet> {
    named(table, "magnet", usual, |f| stock.find(f, &stock.rows.magnets), &stock.rows.magnets).cloned()
}

/// Reads the poles of both sides under their two keys, one for each pair.
pub(super) fn read_poles(
    table: &mut Fields<'_>,
    keys: [&'static str; 2],
    pairs: Option<u32>,
) -> Option<[Option<Vec<Pole>>; 2]> {
    let [one, other] = keys.map(|key| table.get(key)).map(|f| f.map_or(Some(None), |f| poles(&f, pairs).map(Some)));
    Some([one?, other?])
}

fn poles(field: &Field<'_>, pairs: Option<u32>) -> Option<Vec<Pole>> {
    let items = field.items("[\"+\", \"-\"]")?;
    let read: Vec<Option<Pole>> =
        items.iter().map(|item| item.choice(&[("+", Pole::Plus), ("-", Pole::Minus)])).collect();
    if let Some(pairs) = pairs
        && pairs as usize != items.len()
    {
        let message = format!("there are {} poles for {pairs} pairs of magnets", items.len());
        return field
            .error(message, "write one pole for each pair: \"+\" for the north pole, \"-\" for the south pole");
    }
    read.into_iter().collect()
}

/// The row that a key names, or the row `usual`.
fn named<'s, R: Named>(
    table: &mut Fields<'_>,
    key: &'static str,
    usual: &str,
    find: impl Fn(&Field<'_>) -> Option<&'s R>,
    rows: &'s [R],
) -> Option<&'s R> {
    match table.get(key) {
        Some(field) => find(&field),
        None => {
            let found = rows.iter().find(|row| row.name() == usual);
            if found.is_none() {
                let help = nearest_help("", rows.iter().map(|r| r.name()), "the catalogue has");
                table.error(format!("no {key} is named and there is no {usual:?}"), help);
            }
            found
        }
    }
}
