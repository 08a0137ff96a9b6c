//! Where the prop goes, and what is allowed there: `[event.NAME]` and `[travel.NAME]`.

use crate::catalogue::admission::{event, travel};
use crate::catalogue::rows::{Named, Standing, Stock};
use crate::catalogue::{EventRow, TravelRow};
use crate::fields::{Fields, nearest_help};

/// Where the prop goes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Admission {
    /// `[event.NAME]`, in file order.
    pub events: Vec<EventRow>,
    /// `[travel.NAME]`, in file order.
    pub travels: Vec<TravelRow>,
    /// What cells may have to fly: a way of travel of the project's, else the catalogue's.
    pub carriage: Carriage,
}

/// What lithium cells may have in the air.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Carriage {
    /// Energy free, and with the carrier's leave, Wh.
    pub wh: [f64; 2],
    /// Source of both, with its date.
    pub source: String,
}

/// Reads where the prop goes; `names` are those of joints and parts, which may be tied on.
pub(super) fn read_admission(root: &mut Fields<'_>, stock: &Stock, names: &[String]) -> Option<Admission> {
    let events = tables(root, "event", stock, &stock.rows.events, event);
    let travels = tables(root, "travel", stock, &stock.rows.travels, travel);
    for row in events.iter().flatten() {
        for tied in row.tied.iter().filter(|t| !names.contains(t)) {
            let help = nearest_help(tied, names.iter().map(String::as_str), "joints that come apart and parts are");
            root.error(format!("event.{}.tied names {tied:?}, which is no [joint] and no [part]", row.name), help);
        }
    }
    let (events, travels) = (events?, travels?);
    let flies = travels.iter().chain(&stock.rows.travels).find_map(|t| Some((t, t.cells_wh?)));
    let carriage = flies
        .map_or_else(Carriage::default, |(row, wh)| Carriage { wh, source: format!("{} ({})", row.source, row.date) });
    Some(Admission { events, travels, carriage })
}

/// The tables `[name.ROW]`, each from the kind that it names, if it does.
fn tables<R: Named>(
    root: &mut Fields<'_>,
    name: &'static str,
    stock: &Stock,
    rows: &[R],
    read: impl for<'t> Fn(Fields<'t>, Standing<'_, R>) -> Option<R>,
) -> Option<Vec<R>> {
    let read: Vec<Option<R>> = root
        .named_tables(name)
        .into_iter()
        .map(|mut table| match table.get("kind") {
            None => read(table, Standing::Own(None)),
            Some(kind) => match stock.find(&kind, rows) {
                Some(found) => read(table, Standing::Own(Some(found))),
                None => read(table, Standing::Astray(rows.first()?)).and(None),
            },
        })
        .collect();
    read.into_iter().collect()
}
