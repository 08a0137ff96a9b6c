//! What materials, coats, strips and bars do to light, each in the three colours of a pixel.
//!
//! The colours stand for their chips' light: red about 622 nm, green 525 nm, blue 467 nm.

use super::Origin;
use super::rows::{Named, Standing, title_and_source};
use crate::fields::{Field, Fields};
use crate::quantity::{Quantity, Wanted};

/// One value each for red, green and blue.
pub type PerColour = [f64; 3];

/// How a plastic scatters and absorbs.
#[derive(Clone, Debug, PartialEq)]
pub struct Optics {
    /// Reduced scattering (what is left of it when forward scattering is taken off), 1/mm: usual, lowest, highest.
    pub scatter_per_mm: [f64; 3],
    /// Absorption, 1/mm, for red, green and blue: usual, lowest, highest.
    pub absorb_per_mm: [[f64; 3]; 3],
    /// Refractive index for red, green and blue.
    pub index: PerColour,
    /// Who says the scattering.
    pub scatter_origin: Origin,
    /// Who says the absorption.
    pub absorb_origin: Origin,
}

/// What the pixels of a strip give, and what its board does to light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shine {
    /// Luminous flux of a pixel's red, green and blue chip, each at full, lm.
    pub flux_lm: PerColour,
    /// Current of one chip at full, A.
    pub current_a: f64,
    /// Full angle between the directions of half the intensity, degrees; 120 is a Lambertian face.
    pub beam_deg: f64,
    /// Diffuse reflectance of the board beside the pixels, 0 to 1.
    pub board_reflect: f64,
}

/// What a coat is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CoatKind {
    /// Ground for paint.
    Primer,
    /// Colour.
    Paint,
    /// Thin and dark, left in the hollows.
    Shade,
    /// Clear: the plastic's face moves outwards, and light passes.
    Clear,
    /// Lines the cavity: paint, foil or tape.
    Lining,
}

/// A coat as it usually dries, or a foil as it is stuck.
#[derive(Clone, Debug, PartialEq)]
pub struct Coat {
    /// Catalogue name, such as `primer-white`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// What it is for.
    pub kind: CoatKind,
    /// Diffuse reflectance of the face that looks towards the light, 0 to 1.
    pub towards_light: PerColour,
    /// Share of the light that passes, 0 to 1.
    pub through: PerColour,
    /// How it dries; `None` where nobody said.
    pub drying: Option<Drying>,
    /// How it is laid, and what it holds on.
    pub laying: super::finishing::Laying,
    /// Source of the row.
    pub source: String,
}

/// When a coat takes the next one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drying {
    /// `recoat`: not sooner, s.
    pub recoat_s: f64,
    /// `recoat-within` and `recoat-later`: not between these, where it wrinkles, s.
    pub wrinkles_s: Option<[f64; 2]>,
    /// `hardens`: until it may be handled, taped and packed, s.
    pub hardens_s: f64,
}

impl Named for Coat {
    fn name(&self) -> &str {
        &self.name
    }
}

/// A plastic nobody described: white spreads most, clear least, and this is between them with a band that covers both.
pub(crate) const UNKNOWN: Optics = Optics {
    scatter_per_mm: [1.5, 0.05, 6.0],
    absorb_per_mm: [[0.01, 0.001, 0.3]; 3],
    index: [1.5; 3],
    scatter_origin: Origin::Catalogue,
    absorb_origin: Origin::Catalogue,
};

/// How far a value lies from what a project says without a range: printed optical phantoms repeat within 8 % in their
/// scattering and 12 % in their absorption (Biomed. Opt. Express 6(11) 4212, 2015); another spool adds to it.
const SPREAD: f64 = 0.2;

const SCATTER: Wanted = Wanted::of(Quantity::PerLength, 0.001, 100.0, "2 /mm");
const ABSORB: Wanted = Wanted::of(Quantity::PerLength, 0.0, 100.0, "0.005 /mm");
/// A reflectance, or a share that passes.
pub(crate) const SHARE: Wanted = Wanted::of(Quantity::Share, 0.0, 1.0, "80 %");

/// The keys of a material's row that say what it does to light.
pub(super) fn optics<R>(
    row: &mut Fields<'_>,
    standing: &Standing<'_, R>,
    of: impl Fn(&R) -> &Optics,
) -> Option<Optics> {
    let base = match standing {
        Standing::BuiltIn => None,
        _ => Some(standing.base().map_or(&UNKNOWN, of)),
    };
    let own = |row: &Fields<'_>, keys: &[&str]| base.is_some() && keys.iter().any(|key| row.has(key));
    let own_scatter = own(row, &["scatter"]);
    let own_absorb = own(row, &["absorb", "absorb-red", "absorb-green", "absorb-blue"]);
    let origin =
        |own: bool, usual: Option<&Origin>| if own { Origin::Project } else { usual.cloned().unwrap_or_default() };
    let scatter_origin = origin(own_scatter, base.map(|o| &o.scatter_origin));
    let absorb_origin = origin(own_absorb, base.map(|o| &o.absorb_origin));
    // A value of its own does not take over the range of another.
    let below = base.filter(|_| !own_scatter).map(|o| [o.scatter_per_mm; 3]);
    let scatter = row.quantity("scatter", &SCATTER, base.map(|o| o.scatter_per_mm[0]));
    let scatter = ranged(row, "scatter-range", &SCATTER, scatter.map(|s| [s; 3]), below);
    let names = ["absorb-red", "absorb-green", "absorb-blue"];
    let usual = per_colour(row, "absorb", names, base.map(|o| o.absorb_per_mm.map(|a| a[0])), ABSORB.example, |f| {
        f.quantity(&ABSORB)
    });
    let below = base.filter(|_| !own_absorb).map(|o| o.absorb_per_mm);
    let absorb = ranged(row, "absorb-range", &ABSORB, usual, below);
    let names = ["index-red", "index-green", "index-blue"];
    let index = per_colour(row, "index", names, base.map(|o| o.index), "1.5", |f| f.number(1.0..=2.5));
    Some(Optics { scatter_per_mm: scatter?[0], absorb_per_mm: absorb?, index: index?, scatter_origin, absorb_origin })
}

/// Each usual value with its range: the range that is said, in proportion where the colours differ; else all of the row
/// underneath; else [`SPREAD`].
fn ranged(
    row: &mut Fields<'_>,
    name: &'static str,
    wanted: &Wanted,
    usual: Option<PerColour>,
    base: Option<[[f64; 3]; 3]>,
) -> Option<[[f64; 3]; 3]> {
    let field = row.get(name);
    let usual = usual?;
    let Some(field) = field else {
        return Some(base.unwrap_or_else(|| usual.map(|u| [u, u * (1.0 - SPREAD), u * (1.0 + SPREAD)])));
    };
    let [low, high] = field.range(wanted)?;
    // The range is told of the colour that is least or most; a tinted colour keeps it in proportion.
    let middle = usual[0].min(usual[1]).min(usual[2]);
    if !(low..=high).contains(&middle) {
        let (what, _) = name.split_once('-').unwrap_or((name, ""));
        return field
            .error(format!("{what} lies outside its own range"), format!("widen the range, or correct {what}"));
    }
    Some(usual.map(|u| if middle > 0.0 { [u, low * u / middle, high * u / middle] } else { [u, low, high.max(u)] }))
}

/// One value for all colours under `name`, or one each under `names`, over those of the row underneath.
fn per_colour(
    row: &mut Fields<'_>,
    name: &'static str,
    names: [&'static str; 3],
    base: Option<PerColour>,
    example: &str,
    read: impl Fn(&Field<'_>) -> Option<f64>,
) -> Option<PerColour> {
    let own = names.map(|name| row.get(name));
    let all = if base.is_some() || own.iter().all(Option::is_some) {
        row.get(name)
    } else {
        Some(row.need(name, &format!("{name} = {example:?}"))?)
    };
    let all = all.map(|field| read(&field));
    let each: Vec<Option<f64>> = own
        .iter()
        .enumerate()
        .map(|(k, own)| match (own, all) {
            (Some(own), _) => read(own),
            (None, Some(all)) => all,
            (None, None) => base.map(|b| b[k]),
        })
        .collect();
    each.into_iter().collect::<Option<Vec<f64>>>()?.try_into().ok()
}

/// The keys of a strip's row that say how it shines.
pub(super) fn shine(row: &mut Fields<'_>, base: Option<Shine>) -> Option<Shine> {
    const FLUX: Wanted = Wanted::of(Quantity::Flux, 0.0, 100.0, "2.2 lm");
    const CURRENT: Wanted = Wanted::of(Quantity::Current, 0.0005, 1.0, "20 mA");
    const BEAM: Wanted = Wanted::of(Quantity::Angle, 5.0, 175.0, "120 deg");
    let flux = ["red", "green", "blue"];
    let flux: [Option<f64>; 3] = [0, 1, 2].map(|k| row.quantity(flux[k], &FLUX, base.map(|s| s.flux_lm[k])));
    let current = row.quantity("current", &CURRENT, base.map(|s| s.current_a));
    let beam = row.quantity("beam", &BEAM, base.map(|s| s.beam_deg));
    let board = row.quantity("board-reflect", &SHARE, base.map(|s| s.board_reflect));
    Some(Shine { flux_lm: [flux[0]?, flux[1]?, flux[2]?], current_a: current?, beam_deg: beam?, board_reflect: board? })
}

const COAT_ROLES: [(&str, CoatKind); 5] = [
    ("primer", CoatKind::Primer),
    ("paint", CoatKind::Paint),
    ("shade", CoatKind::Shade),
    ("clear", CoatKind::Clear),
    ("lining", CoatKind::Lining),
];

/// Reads a coat's row. What a project does not call otherwise is a paint.
pub(crate) fn coat(mut row: Fields<'_>, standing: Standing<'_, Coat>) -> Option<Coat> {
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |c| &c.title);
    let usual = if matches!(standing, Standing::BuiltIn) { None } else { Some(CoatKind::Paint) };
    let kind = row.choice("role", &COAT_ROLES, base.map(|c| c.kind).or(usual));
    let names = ["towards-light-red", "towards-light-green", "towards-light-blue"];
    let share = |f: &Field<'_>| f.quantity(&SHARE);
    let towards_light = per_colour(&mut row, "towards-light", names, base.map(|c| c.towards_light), "80 %", share);
    let names = ["through-red", "through-green", "through-blue"];
    let through = per_colour(&mut row, "through", names, base.map(|c| c.through), "5 %", share);
    if let (Some(back), Some(through)) = (towards_light, through)
        && standing.known()
        && let Some(sum) = (0..3).map(|k| back[k] + through[k]).find(|sum| *sum > 1.0 + 1e-9)
    {
        let message = format!("{:.0} % of the light is sent back or passes, which is more than there is", sum * 100.0);
        row.error(message, "let towards-light and through come to 100 % or less");
    }
    let drying = drying(&mut row, base.and_then(|c| c.drying));
    let laying = super::finishing::laying(&mut row, base.map(|c| &c.laying));
    let name = row.name.clone();
    row.finish();
    Some(Coat {
        name,
        title: title?,
        kind: kind?,
        towards_light: towards_light?,
        through: through?,
        drying: drying?,
        laying: laying?,
        source: source?,
    })
}

/// The keys of a coat's row that say how it dries. A coat of the project's own that is like none may say nothing of it.
#[expect(clippy::option_option, reason = "absent and unreadable are two things here")]
fn drying(row: &mut Fields<'_>, base: Option<Drying>) -> Option<Option<Drying>> {
    const DRIES: Wanted = Wanted::of(Quantity::Time, 0.0, 60.0 * 86_400.0, "20 min");
    let recoat = row.optional_quantity("recoat", &DRIES);
    let within = row.optional_quantity("recoat-within", &DRIES);
    let later = row.optional_quantity("recoat-later", &DRIES);
    let hardens = row.optional_quantity("hardens", &DRIES);
    let (recoat, within, later, hardens) = (recoat?, within?, later?, hardens?);
    let Some(recoat_s) = recoat.or(base.map(|b| b.recoat_s)) else {
        if within.or(later).or(hardens).is_some() {
            row.error("it does not say when it takes the next coat", "add recoat = \"20 min\"");
            return None;
        }
        return Some(None);
    };
    let wrinkles_s = match (within, later) {
        (Some(within), Some(later)) => Some([within, later]),
        (None, None) => base.and_then(|b| b.wrinkles_s).filter(|[within, _]| *within >= recoat_s),
        _ => {
            let help = "write both, or neither where it never wrinkles";
            row.error("recoat-within and recoat-later belong together", help);
            return None;
        }
    };
    if let Some([within, later]) = wrinkles_s
        && !(recoat_s <= within && within < later)
    {
        row.error(
            format!("recoat ({recoat_s} s), recoat-within ({within} s) and recoat-later ({later} s) do not rise"),
            "the next coat comes between recoat and recoat-within, or after recoat-later",
        );
        return None;
    }
    let hardens_s = hardens.or(base.map(|b| b.hardens_s)).unwrap_or(recoat_s).max(recoat_s);
    Some(Some(Drying { recoat_s, wrinkles_s, hardens_s }))
}

#[cfg(test)]
impl Optics {
    /// A white plastic as a test wants it.
    pub(crate) fn plain() -> Optics {
        Optics { scatter_per_mm: [2.0, 1.0, 4.0], ..UNKNOWN }
    }
}

#[cfg(test)]
impl Shine {
    /// Pixels as a test wants them.
    pub(crate) fn plain() -> Shine {
        Shine { flux_lm: [1.0, 2.0, 0.5], current_a: 0.02, beam_deg: 120.0, board_reflect: 0.8 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::{Catalogue, Process};

    #[test]
    fn every_row_says_what_it_does_to_light() {
        let c = Catalogue::built_in();
        for m in &c.materials {
            let [usual, low, high] = m.optics.scatter_per_mm;
            assert!(0.0 < low && low <= usual && usual <= high, "{m:?}");
            for [usual, low, high] in m.optics.absorb_per_mm {
                assert!(0.0 < low && low <= usual && usual <= high, "{m:?}");
            }
            // Plastics lie between 1.45 and 1.6; blue bends at least as much as red.
            assert!(m.optics.index.iter().all(|n| (1.45..1.6).contains(n)), "{m:?}");
            assert!(m.optics.index[2] >= m.optics.index[0], "{m:?}");
            assert!(m.source.contains("engineering guess"), "{m:?}");
        }
        for coat in &c.coats {
            for k in 0..3 {
                let (back, through) = (coat.towards_light[k], coat.through[k]);
                assert!((0.0..=1.0).contains(&back) && through >= 0.0 && back + through <= 1.0, "{coat:?}");
            }
            assert!(coat.kind != CoatKind::Clear || coat.through[1] > 0.9, "{coat:?}");
        }
        for bar in &c.bars {
            assert!((0.1..0.9).contains(&bar.reflect), "{bar:?}");
        }
    }

    /// PLA's index by the published formula n^2 - 1 = 0.9809 L^2 / (L^2 - 0.2123719^2), L in micrometres: Bodurov and others,
    /// Nanosci. Nanotechnol. 16, 31 (2016). The row's three colours are taken at 625, 525 and 465 nm.
    #[test]
    fn the_index_of_pla_follows_its_formula() {
        let c = Catalogue::built_in();
        for m in c.materials.iter().filter(|m| m.name.starts_with("pla-")) {
            for (index, um) in m.optics.index.iter().zip([0.625, 0.525, 0.465]) {
                let square: f64 = um * um;
                let by_formula = (1.0 + 0.9809 * square / (square - 0.212_371_9 * 0.212_371_9)).sqrt();
                assert!((index - by_formula).abs() < 0.0006, "{}: {index}, {by_formula}", m.name);
            }
        }
    }

    /// Data sheets of pixels in packages of 5 mm, from memory: 390 to 420, 660 to 720 and 180 to 200 mcd; a Lambertian face of
    /// so many candela gives pi times as many lumens.
    #[test]
    fn pixels_shine_as_their_data_sheets_say() {
        for strip in Catalogue::built_in().strips {
            for (flux, [low, high]) in strip.shine.flux_lm.iter().zip([[0.39, 0.42], [0.66, 0.72], [0.18, 0.2]]) {
                let candela = flux / core::f64::consts::PI;
                assert!(candela > low && candela < high, "{strip:?}");
            }
        }
    }

    /// Common practice, no source: ABS spreads the light better than PLA of the same kind.
    #[test]
    fn abs_scatters_more_than_pla() {
        let c = Catalogue::built_in();
        let scatter = |name: &str| c.materials.iter().find(|m| m.name == name).unwrap().optics.scatter_per_mm[0];
        assert!(scatter("abs-white") > scatter("pla-white"));
        assert!(scatter("abs-natural") > scatter("pla-natural"));
        assert!(c.materials.iter().any(|m| m.process == Process::Resin && m.optics.scatter_per_mm[0] < 0.3));
    }
}
