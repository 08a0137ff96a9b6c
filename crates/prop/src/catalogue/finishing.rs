//! How coats are laid and what they hold on, fillers, wraps, and what else is used up.

use super::rows::{Named, Standing, title_and_source};
use crate::fields::{Field, Fields};
use crate::quantity::{Quantity, Wanted};

/// Families of plastic, as paint and solvent tell them apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Plastic {
    /// Polylactide.
    Pla,
    /// Glycol-modified polyester.
    Petg,
    /// Acrylonitrile, butadiene, styrene.
    Abs,
    /// The same with acrylate in place of butadiene.
    Asa,
    /// Resin cured by light.
    Resin,
}

const PLASTICS: [(&str, Plastic); 5] = [
    ("pla", Plastic::Pla),
    ("petg", Plastic::Petg),
    ("abs", Plastic::Abs),
    ("asa", Plastic::Asa),
    ("resin", Plastic::Resin),
];

impl Plastic {
    /// Its word in rows.
    pub fn word(self) -> &'static str {
        PLASTICS.iter().find(|(_, p)| *p == self).map_or("", |(word, _)| word)
    }
}

/// What a coat or filler is bound by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Binder {
    /// Acrylic in water.
    Acrylic,
    /// Acrylic or nitrocellulose in solvent, dry when it has gone.
    Lacquer,
    /// Alkyd, which hardens in air.
    Enamel,
    /// Two parts that become polyurethane.
    Urethane,
    /// Two parts that become epoxy.
    Epoxy,
    /// Two parts that become polyester, as body filler.
    Polyester,
    /// The print's own plastic, melted in its solvent.
    Plastic,
    /// A foil or tape.
    Film,
}

const BINDERS: [(&str, Binder); 8] = [
    ("acrylic", Binder::Acrylic),
    ("lacquer", Binder::Lacquer),
    ("enamel", Binder::Enamel),
    ("urethane", Binder::Urethane),
    ("epoxy", Binder::Epoxy),
    ("polyester", Binder::Polyester),
    ("plastic", Binder::Plastic),
    ("film", Binder::Film),
];

impl Binder {
    /// Its word in rows.
    pub fn word(self) -> &'static str {
        BINDERS.iter().find(|(_, b)| *b == self).map_or("", |(word, _)| word)
    }
}

/// What a coat is laid with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tool {
    /// A spray can.
    Can,
    /// An airbrush.
    Airbrush,
    /// A brush or roller.
    Brush,
    /// It is stuck on.
    Stuck,
}

pub(crate) const TOOLS: [(&str, Tool); 4] =
    [("can", Tool::Can), ("airbrush", Tool::Airbrush), ("brush", Tool::Brush), ("stuck", Tool::Stuck)];

impl Tool {
    /// Its word in rows.
    pub fn word(self) -> &'static str {
        TOOLS.iter().find(|(_, t)| *t == self).map_or("", |(word, _)| word)
    }

    /// Share that lands beside: least, most. Common practice, no source: 30 to 50 % of what leaves a can, less of an airbrush near
    /// the work, what stays in brush and cup; foil is trimmed.
    pub fn loss(self) -> [f64; 2] {
        match self {
            Tool::Can => [0.3, 0.5],
            Tool::Airbrush => [0.2, 0.4],
            Tool::Brush => [0.05, 0.15],
            Tool::Stuck => [0.1, 0.2],
        }
    }
}

/// How a coat is laid and what it holds on.
#[derive(Clone, Debug, PartialEq)]
pub struct Laying {
    /// `by`.
    pub by: Tool,
    /// `film`: how thick one coat is when dry, um; `None` where nobody said.
    pub film_um: Option<f64>,
    /// `solids`: share of the wet volume that stays, 0 to 1.
    pub solids: Option<f64>,
    /// `covers`: area that a litre covers once, without loss, m2/l; in place of film and solids.
    pub covers_m2_l: Option<f64>,
    /// `loss`: share that lands beside, where the row says so: least, most.
    pub loss: Option<[f64; 2]>,
    /// `sold`: what is in one can, bottle or tin, ml.
    pub sold_ml: f64,
    /// `binder`; `None` where nobody said.
    pub binder: Option<Binder>,
    /// `grips`: plastics that it holds on, sanded and wiped.
    pub grips: Vec<Plastic>,
    /// `over`: what it may be laid over.
    pub over: Vec<Binder>,
}

impl Laying {
    /// Wet paint for so many mm2 laid once with a tool, ml: usual, least, most; `None` where the row says too little.
    ///
    /// A micrometre on a square metre is a millilitre of what stays.
    pub fn wet_ml(&self, area_mm2: f64, by: Tool) -> Option<[f64; 3]> {
        let m2 = area_mm2 * 1e-6;
        let landed = match (self.covers_m2_l, self.film_um, self.solids) {
            (Some(covers), ..) => m2 / covers * 1000.0,
            (None, Some(film), Some(solids)) => m2 * film / solids,
            _ => return None,
        };
        let [least, most] = self.loss.unwrap_or(by.loss());
        Some([(least + most) * 0.5, least, most].map(|loss| landed / (1.0 - loss)))
    }

    /// How thick one coat is when dry, um, where that is known.
    pub fn dry_um(&self) -> Option<f64> {
        self.film_um.or_else(|| Some(1000.0 / self.covers_m2_l? * self.solids?))
    }
}

/// The keys of a coat's row that say how it is laid.
pub(super) fn laying(row: &mut Fields<'_>, base: Option<&Laying>) -> Option<Laying> {
    const FILM: Wanted = Wanted::of(Quantity::Film, 0.0, 500.0, "20 um");
    const SOLIDS: Wanted = Wanted::of(Quantity::Share, 0.01, 1.0, "15 %");
    const COVERS: Wanted = Wanted::of(Quantity::Coverage, 0.1, 100.0, "8 m2/l");
    const LOSS: Wanted = Wanted::of(Quantity::Share, 0.0, 0.95, "30 %");
    const SOLD: Wanted = Wanted::of(Quantity::Volume, 1.0, 20_000.0, "400 ml");
    let own_covers = row.has("covers");
    let own_film = row.has("film");
    let by = row.choice("by", &TOOLS, Some(base.map_or(Tool::Can, |b| b.by)));
    let film = row.optional_quantity("film", &FILM);
    let solids = row.optional_quantity("solids", &SOLIDS);
    let covers = row.optional_quantity("covers", &COVERS);
    let loss = row.optional("loss", |f| f.range(&LOSS));
    let sold = row.optional_quantity("sold", &SOLD);
    let binder = row.optional("binder", |f| f.choice(&BINDERS));
    let grips = words(row, "grips", &PLASTICS, base.map(|b| b.grips.clone()));
    let over = words(row, "over", &BINDERS, base.map(|b| b.over.clone()));
    if own_covers && own_film {
        row.error(
            "covers and film say the same thing twice",
            "keep what the product's sheet says, and leave out the other",
        );
        return None;
    }
    let by = by?;
    let usual_sold = if by == Tool::Can { 400.0 } else { 60.0 };
    // What a row says of its own takes the place of the other way of saying it.
    Some(Laying {
        by,
        film_um: film?.or(base.filter(|_| !own_covers).and_then(|b| b.film_um)),
        solids: solids?.or(base.and_then(|b| b.solids)),
        covers_m2_l: covers?.or(base.filter(|_| !own_film).and_then(|b| b.covers_m2_l)),
        loss: loss?.or(base.and_then(|b| b.loss)),
        sold_ml: sold?.or(base.map(|b| b.sold_ml)).unwrap_or(usual_sold),
        binder: binder?.or(base.and_then(|b| b.binder)),
        grips: grips?,
        over: over?,
    })
}

/// A list of words, each one of the choices; that of the row underneath, or none.
fn words<T: Copy>(
    row: &mut Fields<'_>,
    name: &'static str,
    choices: &[(&'static str, T)],
    base: Option<Vec<T>>,
) -> Option<Vec<T>> {
    let Some(field) = row.get(name) else { return Some(base.unwrap_or_default()) };
    let example = choices.first().map_or("", |(word, _)| word);
    let items = field.one_or_more(&format!("[{example:?}]"))?;
    let read: Vec<Option<T>> = items.iter().map(|item: &Field<'_>| item.choice(choices)).collect();
    read.into_iter().collect()
}

/// The keys of a material's row that say what it is to paint and solvent: family, and what melts it.
pub(super) fn plastic(
    row: &mut Fields<'_>,
    base: Option<(Option<Plastic>, Option<String>)>,
) -> Option<(Option<Plastic>, Option<String>)> {
    let own: Option<Option<Plastic>> = row.optional("plastic", |f| f.choice(&PLASTICS));
    let solvent = row.optional("solvent", |f| f.text().map(str::to_owned));
    let (family, melts) = base.unwrap_or_default();
    Some((own?.or(family), solvent?.or(melts)))
}

/// A filler for seams and layers.
#[derive(Clone, Debug, PartialEq)]
pub struct Filler {
    /// Catalogue name, such as `putty`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// `binder`.
    pub binder: Binder,
    /// `grips`: plastics that it holds on.
    pub grips: Vec<Plastic>,
    /// `solids`: share of the wet volume that stays, 0 to 1.
    pub solids: f64,
    /// `waste`: how much more is spread than stays, as a share of it: sanded off, left in the cup.
    pub waste: f64,
    /// `sandable`: when it can be sanded, s.
    pub sandable_s: f64,
    /// `density`: as it dries, g/cm3.
    pub density_g_cm3: f64,
    /// `own-plastic`: whether it is stirred from scraps of the print and its solvent.
    pub own_plastic: bool,
    /// `sold`, ml.
    pub sold_ml: f64,
    /// `caution`.
    pub caution: String,
    /// Source of the row.
    pub source: String,
}

/// What a grip is wound with.
#[derive(Clone, Debug, PartialEq)]
pub struct WrapRow {
    /// Catalogue name, such as `cord-3`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// `width` of the band, square to its run, mm; the diameter of a cord.
    pub width_mm: f64,
    /// `thickness`, mm.
    pub thickness_mm: f64,
    /// `stretch`: how much longer it gets under the pull it is wound with, 0 to 1.
    pub stretch: f64,
    /// `mass`, g/m.
    pub mass_g_m: f64,
    /// Source of the row.
    pub source: String,
}

/// What else is used up.
#[derive(Clone, Debug, PartialEq)]
pub struct SupplyRow {
    /// Catalogue name, such as `paper-120`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// `grit` of sandpaper; 0 of what is none.
    pub grit: u32,
    /// `lasts`: area that a sheet of sandpaper does, cm2; 0 of what is none.
    pub lasts_cm2: f64,
    /// Source of the row.
    pub source: String,
}

macro_rules! named {
    ($($row:ty),*) => { $(impl Named for $row { fn name(&self) -> &str { &self.name } })* };
}
named!(Filler, WrapRow, SupplyRow);

pub(crate) fn filler(mut row: Fields<'_>, standing: Standing<'_, Filler>) -> Option<Filler> {
    const SOLIDS: Wanted = Wanted::of(Quantity::Share, 0.05, 1.0, "60 %");
    const WASTE: Wanted = Wanted::of(Quantity::Share, 0.0, 10.0, "200 %");
    const SANDABLE: Wanted = Wanted::of(Quantity::Time, 0.0, 30.0 * 86_400.0, "40 min");
    const SOLD: Wanted = Wanted::of(Quantity::Volume, 1.0, 20_000.0, "125 ml");
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |f| &f.title);
    let binder = row.choice("binder", &BINDERS, base.map(|b| b.binder));
    let grips = words(&mut row, "grips", &PLASTICS, base.map(|b| b.grips.clone()));
    let solids = row.quantity("solids", &SOLIDS, base.map(|b| b.solids));
    let waste = row.quantity("waste", &WASTE, base.map(|b| b.waste));
    let sandable = row.quantity("sandable", &SANDABLE, base.map(|b| b.sandable_s));
    let density = row.quantity("density", &super::rows::DENSITY, base.map(|b| b.density_g_cm3));
    let own_plastic = row.flag("own-plastic", base.is_some_and(|b| b.own_plastic));
    let sold = row.quantity("sold", &SOLD, base.map(|b| b.sold_ml));
    let caution = row.text("caution", base.map(|b| b.caution.as_str()));
    let name = row.name.clone();
    row.finish();
    Some(Filler {
        name,
        title: title?,
        binder: binder?,
        grips: grips?,
        solids: solids?,
        waste: waste?,
        sandable_s: sandable?,
        density_g_cm3: density?,
        own_plastic: own_plastic?,
        sold_ml: sold?,
        caution: caution?,
        source: source?,
    })
}

/// Reads a wrap's row.
pub(crate) fn wrap(mut row: Fields<'_>, standing: Standing<'_, WrapRow>) -> Option<WrapRow> {
    let wrap = wrap_keys(&mut row, &standing);
    row.finish();
    wrap
}

/// The keys of a wrap's row, for a table that has others besides.
pub(crate) fn wrap_keys(row: &mut Fields<'_>, standing: &Standing<'_, WrapRow>) -> Option<WrapRow> {
    const WIDTH: Wanted = Wanted::length(0.5, 100.0, "20 mm");
    const THICKNESS: Wanted = Wanted::length(0.05, 10.0, "1.5 mm");
    const STRETCH: Wanted = Wanted::of(Quantity::Share, 0.0, 1.0, "5 %");
    const MASS: Wanted = Wanted::of(Quantity::MassPerLength, 0.1, 500.0, "7 g/m");
    let base = standing.base();
    let (title, source) = title_and_source(row, standing, |w| &w.title);
    let width = row.quantity("width", &WIDTH, base.map(|b| b.width_mm));
    let thickness = row.quantity("thickness", &THICKNESS, base.map(|b| b.thickness_mm));
    let stretch = row.quantity("stretch", &STRETCH, base.map(|b| b.stretch));
    let mass = row.quantity("mass", &MASS, base.map(|b| b.mass_g_m));
    Some(WrapRow {
        name: row.name.clone(),
        title: title?,
        width_mm: width?,
        thickness_mm: thickness?,
        stretch: stretch?,
        mass_g_m: mass?,
        source: source?,
    })
}

pub(crate) fn supply(mut row: Fields<'_>, standing: Standing<'_, SupplyRow>) -> Option<SupplyRow> {
    const LASTS: Wanted = Wanted::of(Quantity::Area, 0.0, 1e6, "1000 cm2");
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |s| &s.title);
    let grit = row.get("grit").map_or(Some(base.map_or(0, |b| b.grit)), |f| f.whole(0..=10_000));
    let lasts = row.quantity("lasts", &LASTS, Some(base.map_or(0.0, |b| b.lasts_cm2)));
    let name = row.name.clone();
    row.finish();
    Some(SupplyRow { name, title: title?, grit: grit?, lasts_cm2: lasts?, source: source? })
}
