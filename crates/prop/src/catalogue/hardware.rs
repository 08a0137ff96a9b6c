//! What holds pieces together without glue, and the stock that pegs are cut from.

use super::rows::{DENSITY, Named, Standing, title_and_source};
use crate::fields::Fields;
use crate::quantity::{Quantity, Wanted};

/// Round stock that pegs are cut from.
#[derive(Clone, Debug, PartialEq)]
pub struct Rod {
    /// Catalogue name, such as `glass-4`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// How much fatter it may be, mm.
    pub tolerance_mm: f64,
    /// Density, g/cm3.
    pub density_g_cm3: f64,
    /// Whether it is metal.
    pub metal: bool,
    /// Whether it is wood.
    pub wood: bool,
    /// Source of the row.
    pub source: String,
}

impl Rod {
    /// Mass of a millimetre, g.
    #[must_use]
    pub fn g_mm(&self) -> f64 {
        std::f64::consts::FRAC_PI_4 * self.diameter_mm * self.diameter_mm * self.density_g_cm3 / 1000.0
    }
}

/// A disc magnet, magnetised through its thickness.
#[derive(Clone, Debug, PartialEq)]
pub struct Magnet {
    /// Catalogue name, such as `disc-6x3`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// How much larger each measure may be, mm.
    pub tolerance_mm: f64,
    /// Source of the row.
    pub source: String,
}

/// A brass thread melted into a hole.
#[derive(Clone, Debug, PartialEq)]
pub struct Insert {
    /// Catalogue name, such as `insert-m3`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// Thread, such as `M3`.
    pub thread: String,
    /// Diameter of the hole, mm.
    pub hole_mm: f64,
    /// Depth of the hole, mm.
    pub depth_mm: f64,
    /// Wall kept around the hole, mm.
    pub wall_mm: f64,
    /// Source of the row.
    pub source: String,
}

/// A machine screw.
#[derive(Clone, Debug, PartialEq)]
pub struct Screw {
    /// Catalogue name, such as `countersunk-m3x8`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// Thread, such as `M3`.
    pub thread: String,
    /// Length under the head, mm; of a countersunk screw with its head.
    pub length_mm: f64,
    /// Diameter of a hole that it passes freely, mm.
    pub hole_mm: f64,
    /// Diameter of the head, mm.
    pub head_mm: f64,
    /// Height of the head, mm.
    pub head_height_mm: f64,
    /// Whether the head is countersunk.
    pub countersunk: bool,
    /// Source of the row.
    pub source: String,
}

/// A connector for wires, plug and socket pushed together.
#[derive(Clone, Debug, PartialEq)]
pub struct Connector {
    /// Catalogue name, such as `pair-3`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// Room it takes: two measures across the wires, then along them, mm.
    pub size_mm: [f64; 3],
    /// Number of wires.
    pub wires: u32,
    /// Resistance of each of its contacts, ohm.
    pub ohm: f64,
    /// Lasting current that each bears, A.
    pub rated_a: f64,
    /// Source of the row.
    pub source: String,
}

macro_rules! named {
    ($($row:ty),*) => { $(impl Named for $row { fn name(&self) -> &str { &self.name } })* };
}
named!(Rod, Magnet, Insert, Screw, Connector);

const DIAMETER: Wanted = Wanted::length(0.5, 40.0, "4 mm");
const TOLERANCE: Wanted = Wanted::length(0.0, 1.0, "0.1 mm");
const LENGTH: Wanted = Wanted::length(1.0, 80.0, "8 mm");

pub(crate) fn rod(mut row: Fields<'_>, standing: Standing<'_, Rod>) -> Option<Rod> {
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |r| &r.title);
    let diameter = row.quantity("diameter", &DIAMETER, base.map(|r| r.diameter_mm));
    let tolerance = row.quantity("tolerance", &TOLERANCE, base.map(|r| r.tolerance_mm));
    let density = row.quantity("density", &DENSITY, base.map(|r| r.density_g_cm3));
    let metal = row.flag("metal", base.is_some_and(|r| r.metal));
    let wood = row.flag("wood", base.is_some_and(|r| r.wood));
    let name = row.name.clone();
    row.finish();
    Some(Rod {
        name,
        title: title?,
        diameter_mm: diameter?,
        tolerance_mm: tolerance?,
        density_g_cm3: density?,
        metal: metal?,
        wood: wood?,
        source: source?,
    })
}

pub(crate) fn magnet(mut row: Fields<'_>, standing: Standing<'_, Magnet>) -> Option<Magnet> {
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |m| &m.title);
    let diameter = row.quantity("diameter", &DIAMETER, base.map(|m| m.diameter_mm));
    let thickness = row.quantity("thickness", &DIAMETER, base.map(|m| m.thickness_mm));
    let tolerance = row.quantity("tolerance", &TOLERANCE, base.map(|m| m.tolerance_mm));
    let name = row.name.clone();
    row.finish();
    Some(Magnet {
        name,
        title: title?,
        diameter_mm: diameter?,
        thickness_mm: thickness?,
        tolerance_mm: tolerance?,
        source: source?,
    })
}

pub(crate) fn insert(mut row: Fields<'_>, standing: Standing<'_, Insert>) -> Option<Insert> {
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |i| &i.title);
    let thread = row.text("thread", base.map(|i| i.thread.as_str()));
    let hole = row.quantity("hole", &DIAMETER, base.map(|i| i.hole_mm));
    let depth = row.quantity("depth", &LENGTH, base.map(|i| i.depth_mm));
    let wall = row.quantity("wall", &DIAMETER, base.map(|i| i.wall_mm));
    let name = row.name.clone();
    row.finish();
    Some(Insert {
        name,
        title: title?,
        thread: thread?,
        hole_mm: hole?,
        depth_mm: depth?,
        wall_mm: wall?,
        source: source?,
    })
}

pub(crate) fn screw(mut row: Fields<'_>, standing: Standing<'_, Screw>) -> Option<Screw> {
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |s| &s.title);
    let thread = row.text("thread", base.map(|s| s.thread.as_str()));
    let length = row.quantity("length", &LENGTH, base.map(|s| s.length_mm));
    let hole = row.quantity("hole", &DIAMETER, base.map(|s| s.hole_mm));
    let head = row.quantity("head", &DIAMETER, base.map(|s| s.head_mm));
    let head_height = row.quantity("head-height", &DIAMETER, base.map(|s| s.head_height_mm));
    let countersunk = row.flag("countersunk", base.is_some_and(|s| s.countersunk));
    if let (Some(hole), Some(head)) = (hole, head)
        && standing.known()
        && head <= hole
    {
        let message = format!("a head of {head} mm falls through a hole of {hole} mm");
        row.error(message, "measure the head and the hole again");
    }
    let name = row.name.clone();
    row.finish();
    Some(Screw {
        name,
        title: title?,
        thread: thread?,
        length_mm: length?,
        hole_mm: hole?,
        head_mm: head?,
        head_height_mm: head_height?,
        countersunk: countersunk?,
        source: source?,
    })
}

pub(crate) fn connector(mut row: Fields<'_>, standing: Standing<'_, Connector>) -> Option<Connector> {
    const SIZE: Wanted = Wanted::length(1.0, 60.0, "6 mm");
    const OHM: Wanted = Wanted::of(Quantity::Resistance, 0.0001, 1.0, "20 mohm");
    const AMPS: Wanted = Wanted::of(Quantity::Current, 0.1, 60.0, "3 A");
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |c| &c.title);
    let size = match (row.get("size"), base) {
        (Some(field), _) => field.quantities(&SIZE),
        (None, Some(base)) => Some(base.size_mm),
        (None, None) => row.need("size", "size = [\"6 mm\", \"10 mm\", \"18 mm\"]").and(None),
    };
    let wires = match (row.get("wires"), base) {
        (Some(field), _) => field.whole(1..=24),
        (None, Some(base)) => Some(base.wires),
        (None, None) => row.need("wires", "wires = 3").and(None),
    };
    let ohm = row.quantity("resistance", &OHM, base.map(|c| c.ohm));
    let rated = row.quantity("rated", &AMPS, base.map(|c| c.rated_a));
    let name = row.name.clone();
    row.finish();
    Some(Connector { name, title: title?, size_mm: size?, wires: wires?, ohm: ohm?, rated_a: rated?, source: source? })
}
