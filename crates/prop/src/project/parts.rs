//! What the maker says about the parts inside.

use super::fixings::{read_magnet, read_poles, read_screw};
use super::read::STATION;
use super::{Flank, LidHold, PartRules, WayOut};
use crate::catalogue::rows::{Standing, Stock, part_keys};
use crate::catalogue::{PartKind, PartRow};
use crate::fields::{Field, Fields, nearest_help};
use crate::quantity::Wanted;

/// The name that connections use for the light strip.
pub(crate) const STRIP: &str = "strip";
/// The magnet of lids: the commonest size that holds one in pairs (common practice, no source).
const LID_MAGNET: &str = "disc-6x2";

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
    const HOLDS: [(&str, Hold); 3] = [("magnets", Hold::Magnets), ("screws", Hold::Screws), ("slide", Hold::Slide)];
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
    let way_in = way.zip(row.as_ref()).map(|(way, row)| way_in(&part, row, way));
    let hold = lid.zip(row.as_ref()).zip(way_in).and_then(|((lid, row), way)| match way {
        Some(WayOut::Lid) => read_hold(&mut part, lid.unwrap_or(usual(row.kind)), stock).map(Some),
        _ => Some(no_lid(&part, row)),
    });
    if !matches!(hold, Some(Some(_))) {
        for key in FIXINGS {
            let _ = part.get(key);
        }
    }
    part.finish();
    Some(PartRules {
        name,
        row: row?,
        body: body?,
        at_mm: at?,
        side: side?,
        depth_mm: depth?,
        way: way_in?,
        lid: hold?,
        to: to?,
    })
}

#[derive(Clone, Copy)]
enum Hold {
    Magnets,
    Screws,
    Slide,
}

/// Keys of what holds a lid.
const FIXINGS: [&str; 5] = ["magnet", "poles", "poles-lid", "screw", "insert"];

/// The way in: what has a rim goes into a port, a speaker through an end, all else through a lid, unless the maker says
/// otherwise.
fn way_in(part: &Fields<'_>, row: &PartRow, asked: Option<WayOut>) -> Option<WayOut> {
    if row.flange_mm.is_some() {
        if asked.is_some() {
            part.error_at(
                "way",
                format!("{} sits in a port and goes in from outside", row.title),
                "leave way out, or take a part without a flange",
            );
        }
        return None;
    }
    Some(asked.unwrap_or(if row.kind == PartKind::Speaker { WayOut::End } else { WayOut::Lid }))
}

/// A cell comes out without tools; a board is seldom touched.
fn usual(kind: PartKind) -> Hold {
    if kind == PartKind::Cell { Hold::Magnets } else { Hold::Screws }
}

fn read_hold(part: &mut Fields<'_>, hold: Hold, stock: &Stock) -> Option<LidHold> {
    // Keys of another hold stay unknown, and are said to be.
    match hold {
        Hold::Magnets => {
            let magnet = read_magnet(part, LID_MAGNET, stock);
            let poles = read_poles(part, ["poles", "poles-lid"], Some(2));
            Some(LidHold::Magnets { magnet: magnet?, poles: poles? })
        }
        Hold::Screws => read_screw(part, stock).map(|(screw, insert)| LidHold::Screws { screw, insert }),
        Hold::Slide => Some(LidHold::Slide),
    }
}

/// Says that what holds a lid is asked for a part that has none.
fn no_lid(part: &Fields<'_>, row: &PartRow) -> Option<LidHold> {
    for key in FIXINGS.iter().chain(&["lid"]).filter(|key| part.has(key)) {
        part.error_at(
            key,
            format!("{} has no lid: it goes in from outside or through a joint", row.title),
            "leave this out, or let it go in through a lid: way = \"lid\"",
        );
    }
    None
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
