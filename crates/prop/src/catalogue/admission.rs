//! What events and ways of travel allow.

use super::rows::{Named, Standing, title_and_source};
use crate::fields::Fields;
use crate::quantity::{Quantity, Wanted};

/// What an event allows; `None` where it says nothing.
#[derive(Clone, Debug, PartialEq)]
pub struct EventRow {
    /// Catalogue name, or the project's own for it.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// Longest, mm.
    pub length_mm: Option<f64>,
    /// Longest, as a multiple of the wearer's height.
    pub of_wearer: Option<f64>,
    /// Whether it may be brought in pieces, each of which keeps the length.
    pub carried_apart: bool,
    /// Heaviest, g.
    pub mass_g: Option<f64>,
    /// Whether metal, wood and hard plastic may bear.
    pub allows: [bool; 3],
    /// Least radius of an edge, mm.
    pub edge_mm: Option<f64>,
    /// Least radius of a point, mm.
    pub point_mm: Option<f64>,
    /// Whether whatever comes off by hand must be tied on.
    pub tethered: bool,
    /// What the maker ties on, by name of joint or part.
    pub tied: Vec<String>,
    /// The most sound, dB.
    pub loudest_db: Option<f64>,
    /// From how far that is heard, mm.
    pub heard_mm: f64,
    /// Flashes a second at most.
    pub flashes: Option<f64>,
    /// Luminance at most, cd/m2.
    pub brightest_cd_m2: Option<f64>,
    /// Width and height of the narrowest door on the way in, mm.
    pub door_mm: Option<[f64; 2]>,
    /// When the rules were last seen.
    pub date: String,
    /// Source of the row.
    pub source: String,
}

/// What a way of travel takes; `None` where it says nothing.
#[derive(Clone, Debug, PartialEq)]
pub struct TravelRow {
    /// Catalogue name, or the project's own for it.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// Length, width and height inside, mm.
    pub room_mm: Option<[f64; 3]>,
    /// Thickness of the sides, mm.
    pub wall_mm: f64,
    /// Outer length, width and height together, mm.
    pub sum_mm: Option<f64>,
    /// Mass of the empty case, g.
    pub case_g: f64,
    /// Heaviest, with its case, g.
    pub mass_g: Option<f64>,
    /// Longest thing that is taken, mm.
    pub longest_mm: Option<f64>,
    /// Width and height of the narrowest door, mm.
    pub door_mm: Option<[f64; 2]>,
    /// Energy of a cell: free, and with the carrier's leave, Wh.
    pub cells_wh: Option<[f64; 2]>,
    /// When the rules were last seen.
    pub date: String,
    /// Source of the row.
    pub source: String,
}

impl Named for EventRow {
    fn name(&self) -> &str {
        &self.name
    }
}

impl Named for TravelRow {
    fn name(&self) -> &str {
        &self.name
    }
}

const LENGTH: Wanted = Wanted::length(50.0, 20_000.0, "180 cm");
const DOOR: Wanted = Wanted::length(200.0, 10_000.0, "80 cm");
const RADIUS: Wanted = Wanted::length(0.01, 20.0, "0.5 mm");
const MASS: Wanted = Wanted::of(Quantity::Mass, 50.0, 200_000.0, "5 kg");
const LEVEL: Wanted = Wanted::of(Quantity::SoundLevel, 30.0, 130.0, "85 dB");
const HEARD: Wanted = Wanted::length(50.0, 100_000.0, "1 m");
const WALL: Wanted = Wanted::length(0.0, 200.0, "5 mm");
const CASE: Wanted = Wanted::of(Quantity::Mass, 0.0, 200_000.0, "4 kg");
const ENERGY: Wanted = Wanted::of(Quantity::Energy, 1.0, 10_000.0, "100 Wh");

pub(crate) fn event(mut row: Fields<'_>, standing: Standing<'_, EventRow>) -> Option<EventRow> {
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |e| &e.title);
    let date = date(&mut row, &standing, |e| &e.date);
    let quantity = |row: &mut Fields<'_>, key, wanted: &Wanted, usual: Option<f64>| {
        row.optional_quantity(key, wanted).map(|own| own.or(usual))
    };
    let length = quantity(&mut row, "length", &LENGTH, base.and_then(|e| e.length_mm));
    let of_wearer = number(&mut row, "of-wearer", 0.1..=3.0, base.and_then(|e| e.of_wearer));
    let carried_apart = row.flag("carried-apart", base.is_some_and(|e| e.carried_apart));
    let mass = quantity(&mut row, "mass", &MASS, base.and_then(|e| e.mass_g));
    let usual = base.map_or([true; 3], |e| e.allows);
    let allows = [("metal", usual[0]), ("wood", usual[1]), ("hard-plastic", usual[2])].map(|(k, u)| row.flag(k, u));
    let edge = quantity(&mut row, "edges", &RADIUS, base.and_then(|e| e.edge_mm));
    let point = quantity(&mut row, "points", &RADIUS, base.and_then(|e| e.point_mm));
    let tethered = row.flag("tethered", base.is_some_and(|e| e.tethered));
    let tied = row.optional("tied", |f| {
        let items = f.one_or_more("[\"cap\"]")?;
        items.iter().map(|i| i.text().map(str::to_owned)).collect::<Option<Vec<String>>>()
    });
    let loudest = quantity(&mut row, "loudest", &LEVEL, base.and_then(|e| e.loudest_db));
    let heard = row.quantity("heard-from", &HEARD, Some(base.map_or(1000.0, |e| e.heard_mm)));
    let flashes = number(&mut row, "flashes", 0.0..=100.0, base.and_then(|e| e.flashes));
    let brightest = number(&mut row, "brightest", 1.0..=1e6, base.and_then(|e| e.brightest_cd_m2));
    let door = row.optional("door", |f| f.quantities(&DOOR)).map(|own| own.or(base.and_then(|e| e.door_mm)));
    let name = row.name.clone();
    row.finish();
    Some(EventRow {
        name,
        title: title?,
        length_mm: length?,
        of_wearer: of_wearer?,
        carried_apart: carried_apart?,
        mass_g: mass?,
        allows: [allows[0]?, allows[1]?, allows[2]?],
        edge_mm: edge?,
        point_mm: point?,
        tethered: tethered?,
        tied: tied?.unwrap_or_default(),
        loudest_db: loudest?,
        heard_mm: heard?,
        flashes: flashes?,
        brightest_cd_m2: brightest?,
        door_mm: door?,
        date: date?,
        source: source?,
    })
}

pub(crate) fn travel(mut row: Fields<'_>, standing: Standing<'_, TravelRow>) -> Option<TravelRow> {
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |t| &t.title);
    let date = date(&mut row, &standing, |t| &t.date);
    let quantity = |row: &mut Fields<'_>, key, wanted: &Wanted, usual: Option<f64>| {
        row.optional_quantity(key, wanted).map(|own| own.or(usual))
    };
    let room = row.optional("room", |f| f.quantities(&LENGTH)).map(|own| own.or(base.and_then(|t| t.room_mm)));
    let wall = row.quantity("wall", &WALL, Some(base.map_or(0.0, |t| t.wall_mm)));
    let sum = quantity(&mut row, "sum", &LENGTH, base.and_then(|t| t.sum_mm));
    let case = row.quantity("case-mass", &CASE, Some(base.map_or(0.0, |t| t.case_g)));
    let mass = quantity(&mut row, "mass", &MASS, base.and_then(|t| t.mass_g));
    let longest = quantity(&mut row, "longest", &LENGTH, base.and_then(|t| t.longest_mm));
    let door = row.optional("door", |f| f.quantities(&DOOR)).map(|own| own.or(base.and_then(|t| t.door_mm)));
    let free = quantity(&mut row, "cells", &ENERGY, base.and_then(|t| t.cells_wh).map(|c| c[0]));
    let asked = quantity(&mut row, "cells-asked", &ENERGY, base.and_then(|t| t.cells_wh).map(|c| c[1]));
    let cells = match (free, asked) {
        (Some(Some(free)), Some(asked)) => {
            let asked = asked.unwrap_or(free);
            if asked < free {
                row.error_at("cells-asked", "less than what goes free (cells)".to_owned(), "leave one of the two out");
            }
            Some(Some([free, asked]))
        }
        (Some(None), Some(Some(_))) => {
            row.error_at("cells-asked", "there is no cells beside it".to_owned(), "add cells = \"100 Wh\"");
            None
        }
        (Some(None), Some(None)) => Some(None),
        _ => None,
    };
    let name = row.name.clone();
    row.finish();
    Some(TravelRow {
        name,
        title: title?,
        room_mm: room?,
        wall_mm: wall?,
        sum_mm: sum?,
        case_g: case?,
        mass_g: mass?,
        longest_mm: longest?,
        door_mm: door?,
        cells_wh: cells?,
        date: date?,
        source: source?,
    })
}

/// When a row's rules were seen; a project's own need not say.
fn date<R>(row: &mut Fields<'_>, standing: &Standing<'_, R>, of: impl Fn(&R) -> &str) -> Option<String> {
    let usual = match standing {
        Standing::BuiltIn => None,
        _ => Some(standing.base().map_or("no date", of)),
    };
    row.text("date", usual)
}

#[expect(clippy::option_option, reason = "absent and unreadable are two things here")]
fn number(
    row: &mut Fields<'_>,
    key: &'static str,
    range: std::ops::RangeInclusive<f64>,
    usual: Option<f64>,
) -> Option<Option<f64>> {
    row.optional(key, |f| f.number(range.clone())).map(|own| own.or(usual))
}
