//! What the maker says about finish: `[finish]`, and `[wrap.NAME]`.

use super::read::STATION;
use crate::catalogue::finishing::{self, TOOLS};
use crate::catalogue::rows::{Standing, Stock};
use crate::catalogue::{Filler, Tool, WrapRow};
use crate::fields::Fields;
use crate::quantity::{Quantity, Wanted};

/// How it is finished: `[finish]`, all of it with usual values, and the wraps.
#[derive(Clone, Debug, PartialEq)]
pub struct FinishRules {
    /// `spray`: what sprayed coats are laid with.
    pub spray: Tool,
    /// `filler`: what seams and layers are filled with where the plastic's own paste is not used.
    pub filler: Filler,
    /// `paste`: what gaps are filled with where the material's row names a solvent; `None`: the filler everywhere.
    pub paste: Option<Filler>,
    /// `seam`: width of the gap that is left at a seam, mm.
    pub seam_mm: f64,
    /// `seam-depth`: how deep it is filled, mm.
    pub seam_depth_mm: f64,
    /// `skim`: whether the layers are filled over the whole outside.
    pub skim: bool,
    /// `[wrap.NAME]`, in file order.
    pub wraps: Vec<WrapRules>,
}

/// How a wrap is laid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pattern {
    /// One band round and round.
    Spiral,
    /// Two bands wound against each other, that cross in front and behind.
    Crossed,
}

/// A wrap round a grip.
#[derive(Clone, Debug, PartialEq)]
pub struct WrapRules {
    /// Its name in the project.
    pub name: String,
    /// What it is wound with.
    pub row: WrapRow,
    /// Body it goes round.
    pub body: String,
    /// Stations that it covers, mm.
    pub stations_mm: [f64; 2],
    /// How it is laid.
    pub pattern: Pattern,
    /// Left free between neighbouring turns, square to the band, mm; less than nothing: they overlap.
    pub apart_mm: f64,
    /// Left over at each end for the knot, mm.
    pub ends_mm: f64,
}

/// Width of the gap that is left at a seam, and how deep it is filled, mm (our choice: what shows as a line, and twice a bead).
const SEAM_MM: [f64; 2] = [0.3, 1.0];
/// Left over at each end of a wrap, mm (common practice, no source).
const ENDS_MM: f64 = 150.0;

pub(super) fn read_finish(root: &mut Fields<'_>, stock: &Stock) -> Option<FinishRules> {
    const SEAM: Wanted = Wanted::length(0.0, 5.0, "0.3 mm");
    const DEPTH: Wanted = Wanted::length(0.0, 10.0, "1 mm");
    let wraps: Vec<Option<WrapRules>> =
        root.named_tables("wrap").into_iter().map(|table| read_wrap(table, stock)).collect();
    let wraps = wraps.into_iter().collect::<Option<Vec<_>>>();
    let usual = stock.rows.fillers.iter().find(|f| !f.own_plastic)?;
    let paste = stock.rows.fillers.iter().find(|f| f.own_plastic);
    let mut rules = FinishRules {
        spray: Tool::Can,
        filler: usual.clone(),
        paste: paste.cloned(),
        seam_mm: SEAM_MM[0],
        seam_depth_mm: SEAM_MM[1],
        skim: true,
        wraps: Vec::new(),
    };
    if let Some(field) = root.get("finish") {
        let mut table = field.table()?;
        let spray = table.choice("spray", &TOOLS[..3], Some(Tool::Can));
        let filler = table.get("filler").map_or(Some(usual), |f| stock.find(&f, &stock.rows.fillers));
        let paste = table.flag("paste", true);
        let seam = table.quantity("seam", &SEAM, Some(SEAM_MM[0]));
        let depth = table.quantity("seam-depth", &DEPTH, Some(SEAM_MM[1]));
        let skim = table.flag("skim", true);
        if filler.is_some_and(|f| f.own_plastic) {
            let message = "a paste of the print's own plastic is no filler for every plastic".to_owned();
            table.error_at(
                "filler",
                message,
                "it is used by itself where the material's row names a solvent: see paste",
            );
        }
        table.finish();
        rules.spray = spray?;
        rules.filler = filler?.clone();
        rules.paste = rules.paste.filter(|_| paste == Some(true));
        (rules.seam_mm, rules.seam_depth_mm, rules.skim) = (seam?, depth?, skim?);
    }
    rules.wraps = wraps?;
    Some(rules)
}

fn read_wrap(mut table: Fields<'_>, stock: &Stock) -> Option<WrapRules> {
    const APART: Wanted = Wanted::length(-50.0, 200.0, "0 mm");
    const ENDS: Wanted = Wanted::length(0.0, 2000.0, "150 mm");
    const PATTERNS: [(&str, Pattern); 2] = [("spiral", Pattern::Spiral), ("crossed", Pattern::Crossed)];
    let name = table.name.clone();
    let kind = table.need("kind", "kind = \"cord-4\"").and_then(|f| stock.find(&f, &stock.rows.wraps));
    let standing = match kind {
        Some(kind) => Standing::Own(Some(kind)),
        None => Standing::Astray(stock.rows.wraps.first()?),
    };
    let row = finishing::wrap_keys(&mut table, &standing);
    let body = table.need("in", "in = \"grip\"").and_then(|f| f.text().map(str::to_owned));
    let stations = table.need("stations", "stations = [\"60 mm\", \"390 mm\"]").and_then(|f| f.range(&STATION));
    let pattern = table.choice("pattern", &PATTERNS, Some(Pattern::Spiral));
    let apart = table.quantity("apart", &APART, Some(0.0));
    let ends = table.quantity("ends", &ENDS, Some(ENDS_MM));
    if let (Some(row), Some(apart)) = (&row, apart)
        && row.width_mm + apart <= 0.1 * row.width_mm
    {
        let message = format!("turns of {} mm that lie {apart} mm apart do not get on", row.width_mm);
        table.error_at("apart", message, "let each turn cover nine tenths of the one before at most");
        return None;
    }
    table.finish();
    Some(WrapRules {
        name,
        row: WrapRow { name: kind?.name.clone(), ..row? },
        body: body?,
        stations_mm: stations?,
        pattern: pattern?,
        apart_mm: apart?,
        ends_mm: ends?,
    })
}

impl FinishRules {
    /// Nothing said: for stages that do not read it.
    pub(crate) fn none() -> FinishRules {
        let filler = Filler {
            name: String::new(),
            title: String::new(),
            binder: crate::catalogue::Binder::Acrylic,
            grips: Vec::new(),
            solids: 1.0,
            waste: 0.0,
            sandable_s: 0.0,
            density_g_cm3: 1.0,
            own_plastic: false,
            sold_ml: 1.0,
            caution: String::new(),
            source: String::new(),
        };
        let spray = Tool::Can;
        FinishRules { spray, filler, paste: None, seam_mm: 0.0, seam_depth_mm: 0.0, skim: false, wraps: Vec::new() }
    }

    /// What gaps between two plastics are filled with: their paste where both are melted by one solvent.
    pub fn gap_filler(&self, materials: [&crate::catalogue::Material; 2]) -> &Filler {
        let [a, b] = materials;
        let melted = a.solvent.is_some() && a.solvent == b.solvent;
        let holds = |f: &&Filler| materials.iter().all(|m| m.plastic.is_some_and(|p| f.grips.contains(&p)));
        self.paste.as_ref().filter(|_| melted).filter(holds).unwrap_or(&self.filler)
    }
}

/// A share that is kept beyond what is needed.
pub(super) const SPARE: Wanted = Wanted::of(Quantity::Share, 0.0, 3.0, "10 %");
