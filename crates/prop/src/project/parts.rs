//! What the maker says about the parts inside.

use super::read::STATION;
use super::{Flank, LidHold, PartRules, WayOut};
use crate::catalogue::PartRow;
use crate::catalogue::rows::{Standing, Stock, part_keys};
use crate::fields::{Field, Fields, nearest_help};
use crate::quantity::Wanted;

/// The name that connections use for the light strip.
pub(crate) const STRIP: &str = "strip";

/// Reads the tables `[part.NAME]`, in the order of the file.
pub(super) fn read_parts(root: &mut Fields<'_>, stock: &Stock) -> Option<Vec<PartRules>> {
    let tables = root.named_tables("part");
    let names: Vec<String> = tables.iter().map(|t| t.name.clone()).collect();
    let parts: Vec<Option<PartRules>> = tables.into_iter().map(|t| read_part(t, stock, &names)).collect();
    parts.into_iter().collect()
}

fn read_part(mut part: Fields<'_>, stock: &Stock, names: &[String]) -> Option<PartRules> {
    const SIDES: [(&str, Flank); 4] =
        [("+y", Flank::PlusY), ("-y", Flank::MinusY), ("+z", Flank::PlusZ), ("-z", Flank::MinusZ)];
    const WAYS: [(&str, WayOut); 2] = [("lid", WayOut::Lid), ("end", WayOut::End)];
    const HOLDS: [(&str, LidHold); 2] = [("magnets", LidHold::Magnets), ("screws", LidHold::Screws)];
    const DEPTH: Wanted = Wanted::length(-500.0, 500.0, "3 mm");
    let name = part.name.clone();
    if name == STRIP {
        part.error("\"strip\" is the name of the light strip in lists of connections", "give the part another name");
    }
    let body = part.need("in", "in = \"grip\"").and_then(|f| f.text().map(str::to_owned));
    let at = part.optional_quantity("at", &STATION);
    let side = part.optional("side", |f| f.choice(&SIDES));
    let depth = part.optional_quantity("depth", &DEPTH);
    let way = part.optional("way", |f| f.choice(&WAYS));
    let lid = part.optional("lid", |f| f.choice(&HOLDS));
    let to = part.optional("to", |f| read_connections(&f, &name, names));
    let found = part.need("kind", "kind = \"cell-18650\"").map(|kind| stock.find(&kind, &stock.rows.parts));
    let row: Option<PartRow> = match found {
        Some(Some(row)) => {
            part_keys(&mut part, &Standing::Own(Some(row))).map(|own| PartRow { name: row.name.clone(), ..own })
        }
        _ => stock.rows.parts.first().and_then(|any| part_keys(&mut part, &Standing::Astray(any))).and(None),
    };
    if let Some(row) = &row
        && row.flange_mm.is_some()
        && let Some(Some(_)) = way
    {
        part.error_at(
            "way",
            format!("{} sits in a port and goes in from outside", row.title),
            "leave way out, or take a part without a flange",
        );
    }
    part.finish();
    Some(PartRules {
        name,
        row: row?,
        body: body?,
        at_mm: at?,
        side: side?,
        depth_mm: depth?,
        way: way?,
        lid: lid?,
        to: to?,
    })
}

fn read_connections(field: &Field<'_>, own: &str, names: &[String]) -> Option<Vec<String>> {
    let items = field.items("[\"controller\", \"strip\"]")?;
    let mut all: Vec<String> = Vec::new();
    let mut sound = true;
    for item in &items {
        let Some(name) = item.text() else {
            sound = false;
            continue;
        };
        let known = name == STRIP || names.iter().any(|n| n == name);
        let fault = if name == own {
            Some(("a part is not wired to itself".to_owned(), "name the other end of the wire".to_owned()))
        } else if !known {
            let others = names.iter().map(String::as_str).chain([STRIP]);
            Some((format!("there is no [part.{name}]"), nearest_help(name, others, "this file has")))
        } else if all.iter().any(|n| n == name) {
            Some(("this connection is named twice".to_owned(), "name it once".to_owned()))
        } else {
            None
        };
        match fault {
            Some((message, help)) => sound = item.error::<()>(message, help).is_some(),
            None => all.push(name.to_owned()),
        }
    }
    sound.then_some(all)
}
