//! What the maker says about windows: where light is to come out, and what coats lie where.

use super::read::STATION;
use super::{Flank, defaults};
use crate::catalogue::Coat;
use crate::catalogue::rows::Stock;
use crate::fields::{Field, Fields};
use crate::quantity::{Quantity, Wanted};

/// Where light is to come out. A point of the body's outer surface belongs to the window when it keeps everything that is
/// said here; with nothing said, the whole body is the window.
#[derive(Clone, Debug, PartialEq)]
pub struct WindowRules {
    /// Its name in the project.
    pub name: String,
    /// The body it is in.
    pub body: String,
    /// Along edges or ridges.
    pub band: Option<BandRule>,
    /// Between stations, mm: within any of these; everywhere when there are none.
    pub stations_mm: Vec<[f64; 2]>,
    /// By the direction the surface looks.
    pub faces: Option<FacesRule>,
    /// By what the mesh's faces are painted with: the name of a material, or `#rrggbb`.
    pub colour: Option<String>,
    /// Coats of its own, from the plastic outwards; bare when there are none.
    pub coats: Vec<Coat>,
}

/// A band of the outer surface along an edge or ridge: along the line of the outermost points towards a side.
#[derive(Clone, Debug, PartialEq)]
pub struct BandRule {
    /// The sides whose outermost line has a band.
    pub sides: Vec<Flank>,
    /// How far it reaches from that line, to each side of it, mm.
    pub width_mm: f64,
}

/// The part of the surface that looks towards a side.
#[derive(Clone, Debug, PartialEq)]
pub struct FacesRule {
    /// The sides.
    pub sides: Vec<Flank>,
    /// Largest angle between the outward normal and a side's direction, degrees.
    pub within_deg: f64,
}

const SIDES: [(&str, Flank); 4] =
    [("+y", Flank::PlusY), ("-y", Flank::MinusY), ("+z", Flank::PlusZ), ("-z", Flank::MinusZ)];

/// Reads the tables `[window.NAME]`, in the order of the file.
pub(super) fn read_windows(root: &mut Fields<'_>, stock: &Stock) -> Option<Vec<WindowRules>> {
    let windows: Vec<Option<WindowRules>> =
        root.named_tables("window").into_iter().map(|table| read_window(table, stock)).collect();
    windows.into_iter().collect()
}

fn read_window(mut window: Fields<'_>, stock: &Stock) -> Option<WindowRules> {
    const WIDTH: Wanted = Wanted::length(0.1, 500.0, "8 mm");
    const WITHIN: Wanted = Wanted::of(Quantity::Angle, 1.0, 180.0, "40 deg");
    let name = window.name.clone();
    let body = window.need("in", "in = \"blade\"").and_then(|f| f.text().map(str::to_owned));
    let colour = window.optional("colour", |f| f.text().map(str::to_owned));
    let band = window.optional("band", |f| read_band(&f));
    let width = window.optional_quantity("width", &WIDTH);
    let band = match (band, width) {
        (Some(Some(sides)), Some(Some(width_mm))) => Some(Some(BandRule { sides, width_mm })),
        (Some(Some(_)), Some(None)) => window.need("width", "width = \"8 mm\": how far the band reaches").and(None),
        (Some(None), Some(Some(_))) => {
            window.error_at("width", "there is no band that could be so wide".to_owned(), "add band = \"edges\"");
            None
        }
        (band, width) => band.zip(width).map(|_| None),
    };
    let stations = window.get("stations").map_or(Some(Vec::new()), |f| read_stations(&f));
    let faces = window.optional("faces", |f| read_sides(&f));
    let within = window.optional_quantity("within", &WITHIN);
    let faces = match (faces, within) {
        (Some(Some(sides)), Some(within)) => {
            Some(Some(FacesRule { sides, within_deg: within.unwrap_or(defaults::WITHIN_DEG) }))
        }
        (Some(None), Some(Some(_))) => {
            window.error_at(
                "within",
                "there is no direction that this is an angle to".to_owned(),
                "add faces = \"+z\"",
            );
            None
        }
        (faces, within) => faces.zip(within).map(|_| None),
    };
    let coats = read_coats(&mut window, "coats", stock);
    window.finish();
    Some(WindowRules {
        name,
        body: body?,
        band: band?,
        stations_mm: stations?,
        faces: faces?,
        colour: colour?,
        coats: coats?,
    })
}

fn read_band(field: &Field<'_>) -> Option<Vec<Flank>> {
    const BANDS: [(&str, &[Flank]); 6] = [
        ("edges", &[Flank::PlusY, Flank::MinusY]),
        ("ridges", &[Flank::PlusZ, Flank::MinusZ]),
        ("+y", &[Flank::PlusY]),
        ("-y", &[Flank::MinusY]),
        ("+z", &[Flank::PlusZ]),
        ("-z", &[Flank::MinusZ]),
    ];
    field.choice(&BANDS).map(<[Flank]>::to_vec)
}

fn read_sides(field: &Field<'_>) -> Option<Vec<Flank>> {
    let items = field.one_or_more("[\"+z\", \"-z\"]")?;
    if items.is_empty() {
        return field.error("no side is named", "name one, for example \"+z\"");
    }
    let sides: Vec<Option<Flank>> = items.iter().map(|item| item.choice(&SIDES)).collect();
    sides.into_iter().collect()
}

fn read_stations(field: &Field<'_>) -> Option<Vec<[f64; 2]>> {
    if !field.is_nested() {
        return field.range(&STATION).map(|range| vec![range]);
    }
    let items = field.items("[\"300 mm\", \"900 mm\"]")?;
    let ranges: Vec<Option<[f64; 2]>> = items.iter().map(|item| item.range(&STATION)).collect();
    ranges.into_iter().collect()
}

/// Coats by name, from the plastic on.
pub(super) fn read_coats(table: &mut Fields<'_>, name: &'static str, stock: &Stock) -> Option<Vec<Coat>> {
    let Some(field) = table.get(name) else { return Some(Vec::new()) };
    let items = field.one_or_more("[\"primer-white\", \"paint-gold\"]")?;
    let coats: Vec<Option<&Coat>> = items.iter().map(|item| stock.find(item, &stock.rows.coats)).collect();
    let coats = coats.into_iter().map(Option::<&Coat>::cloned).collect::<Option<Vec<_>>>()?;
    // A plan waits for every coat: without [plan] nobody asks.
    for (item, coat) in items.iter().zip(&coats).filter(|(_, c)| stock.planned && c.drying.is_none()) {
        let help = format!("add recoat = \"20 min\" and hardens = \"24 h\" to [coat.{}]", coat.name);
        item.error::<()>(format!("{:?} does not say how it dries, and the work is planned", coat.name), help);
    }
    Some(coats)
}
