//! What materials, bars and glues bear.

use super::rows::{Named, Standing, title_and_source};
use super::{Bar, Material};
use crate::fields::Fields;
use crate::quantity::{Quantity, Wanted};

/// What a material bears. For stock that is the same every way both measures are alike.
#[derive(Clone, Debug, PartialEq)]
pub struct Holding {
    /// Young's modulus along the beads and across the layers, MPa.
    pub e_mpa: [f64; 2],
    /// Shear modulus, MPa.
    pub g_mpa: f64,
    /// Strength along the beads and across the layers, MPa.
    pub strength_mpa: [f64; 2],
    /// How far strength and stiffness lie either side of that, 0 to 1.
    pub spread: f64,
    /// Where it begins to soften, °C.
    pub softens_c: f64,
    /// How it leads heat, W/(m·K).
    pub conducts_w_mk: f64,
}

impl Holding {
    /// Nothing said: for what does not depend on it.
    pub(crate) const NONE: Holding = Holding {
        e_mpa: [0.0; 2],
        g_mpa: 0.0,
        strength_mpa: [0.0; 2],
        spread: 0.0,
        softens_c: 0.0,
        conducts_w_mk: 0.0,
    };
}

/// A glue between printed pieces.
#[derive(Clone, Debug, PartialEq)]
pub struct Glue {
    /// Catalogue name, such as `epoxy`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// Stress along its face at which it gives, MPa.
    pub shear_mpa: f64,
    /// Stress square to its face at which it gives, MPa.
    pub pull_mpa: f64,
    /// How far both lie either side of that, 0 to 1.
    pub spread: f64,
    /// Where it lets go, °C.
    pub softens_c: f64,
    /// How long a joint can still be opened once it is spread, s.
    pub opens_s: f64,
    /// How long the joint must be held, s.
    pub clamps_s: f64,
    /// How long until it may be sanded and loaded, s.
    pub cures_s: f64,
    /// Source of the row.
    pub source: String,
}

impl Named for Glue {
    fn name(&self) -> &str {
        &self.name
    }
}

/// Bore of a tube.
pub(super) const BORE: Wanted = Wanted::length(0.0, 60.0, "8 mm");
const STIFFNESS: Wanted = Wanted::of(Quantity::Pressure, 50.0, 500_000.0, "2.1 GPa");
const STRENGTH: Wanted = Wanted::of(Quantity::Pressure, 0.05, 5000.0, "40 MPa");
const SPREAD: Wanted = Wanted::of(Quantity::Share, 0.0, 0.9, "25 %");
const HOURS: Wanted = Wanted::of(Quantity::Time, 0.0, 30.0 * 86_400.0, "3 h");
const SOFTENS: Wanted = Wanted::of(Quantity::Temperature, 30.0, 2000.0, "90 C");
const POISSON: std::ops::RangeInclusive<f64> = 0.0..=0.49;
const CONDUCTS: std::ops::RangeInclusive<f64> = 0.01..=500.0;

/// A plastic of the project's own that says nothing of it: the weakest of the usual ones (our choice).
const PLAIN: Holding = Holding {
    e_mpa: [2000.0, 1350.0],
    g_mpa: 493.0,
    strength_mpa: [40.0, 16.0],
    spread: 0.3,
    softens_c: 48.0,
    conducts_w_mk: 0.15,
};
/// A bar that says nothing of it: wood.
const WOOD: Holding = Holding {
    e_mpa: [10_000.0; 2],
    g_mpa: 800.0,
    strength_mpa: [80.0; 2],
    spread: 0.3,
    softens_c: 100.0,
    conducts_w_mk: 0.16,
};

fn usual<'r, R>(
    standing: &Standing<'r, R>,
    of: impl Fn(&'r R) -> &'r Holding,
    else_: &'r Holding,
) -> Option<&'r Holding> {
    match standing {
        Standing::BuiltIn => None,
        _ => Some(standing.base().map_or(else_, of)),
    }
}

fn number(
    row: &mut Fields<'_>,
    key: &'static str,
    range: std::ops::RangeInclusive<f64>,
    usual: Option<f64>,
) -> Option<f64> {
    match (row.get(key), usual) {
        (Some(field), _) => field.number(range),
        (None, Some(usual)) => Some(usual),
        (None, None) => row.need(key, &format!("{key} = 0.3")).and(None),
    }
}

pub(super) fn of_material(row: &mut Fields<'_>, standing: &Standing<'_, Material>) -> Option<Holding> {
    let base = usual(standing, |m| &m.holding, &PLAIN);
    let stiffness = row.quantity("stiffness", &STIFFNESS, base.map(|b| b.e_mpa[0]));
    // A stiffness or strength of the project's own goes for both ways in the same proportion.
    let scaled = |along: Option<f64>, pair: fn(&Holding) -> [f64; 2]| {
        base.zip(along).map(|(base, along)| pair(base)[1] * along / pair(base)[0])
    };
    let stiffness_across = row.quantity("stiffness-across", &STIFFNESS, scaled(stiffness, |b| b.e_mpa));
    let strength = row.quantity("strength", &STRENGTH, base.map(|b| b.strength_mpa[0]));
    let strength_across = row.quantity("strength-across", &STRENGTH, scaled(strength, |b| b.strength_mpa));
    let spread = row.quantity("strength-spread", &SPREAD, base.map(|b| b.spread));
    let poisson = number(row, "poisson", POISSON, base.map(|b| (0.5 * b.e_mpa[1] / b.g_mpa - 1.0).clamp(0.0, 0.49)));
    let softens = row.quantity("softens", &SOFTENS, base.map(|b| b.softens_c));
    let conducts = number(row, "conducts", CONDUCTS, base.map(|b| b.conducts_w_mk));
    let across = stiffness_across?;
    Some(Holding {
        e_mpa: [stiffness?, across],
        // The layers' bond gives in shear as in pull.
        g_mpa: 0.5 * across / (1.0 + poisson?),
        strength_mpa: [strength?, strength_across?],
        spread: spread?,
        softens_c: softens?,
        conducts_w_mk: conducts?,
    })
}

pub(super) fn of_bar(row: &mut Fields<'_>, standing: &Standing<'_, Bar>) -> Option<Holding> {
    let base = usual(standing, |b| &b.holding, &WOOD);
    let stiffness = row.quantity("stiffness", &STIFFNESS, base.map(|b| b.e_mpa[0]));
    let shear = row.quantity("shear", &STIFFNESS, base.map(|b| b.g_mpa));
    let strength = row.quantity("strength", &STRENGTH, base.map(|b| b.strength_mpa[0]));
    let spread = row.quantity("strength-spread", &SPREAD, base.map(|b| b.spread));
    let softens = row.quantity("softens", &SOFTENS, base.map(|b| b.softens_c));
    let conducts = number(row, "conducts", CONDUCTS, base.map(|b| b.conducts_w_mk));
    Some(Holding {
        e_mpa: [stiffness?; 2],
        g_mpa: shear?,
        strength_mpa: [strength?; 2],
        spread: spread?,
        softens_c: softens?,
        conducts_w_mk: conducts?,
    })
}

pub(crate) fn glue(mut row: Fields<'_>, standing: Standing<'_, Glue>) -> Option<Glue> {
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |g| &g.title);
    let shear = row.quantity("shear", &STRENGTH, base.map(|g| g.shear_mpa));
    let pull = row.quantity("pull", &STRENGTH, base.map(|g| g.pull_mpa));
    let spread = row.quantity("strength-spread", &SPREAD, base.map(|g| g.spread));
    let softens = row.quantity("softens", &SOFTENS, base.map(|g| g.softens_c));
    let opens = row.quantity("opens", &HOURS, base.map(|g| g.opens_s));
    let clamps = row.quantity("clamps", &HOURS, base.map(|g| g.clamps_s));
    let cures = row.quantity("cures", &HOURS, base.map(|g| g.cures_s));
    let name = row.name.clone();
    row.finish();
    Some(Glue {
        name,
        title: title?,
        shear_mpa: shear?,
        pull_mpa: pull?,
        spread: spread?,
        softens_c: softens?,
        opens_s: opens?,
        clamps_s: clamps?,
        cures_s: cures?,
        source: source?,
    })
}

#[cfg(test)]
mod tests {
    use crate::catalogue::Catalogue;

    #[test]
    fn what_is_printed_is_weakest_between_its_layers_and_metal_is_stiffest() {
        let c = Catalogue::built_in();
        for m in &c.materials {
            let h = &m.holding;
            assert!(h.e_mpa[1] <= h.e_mpa[0] && h.strength_mpa[1] <= h.strength_mpa[0], "{}", m.name);
            assert!(h.g_mpa > 0.3 * h.e_mpa[1] && h.g_mpa < 0.5 * h.e_mpa[1], "{}", m.name);
            assert!((40.0..120.0).contains(&h.softens_c), "{}", m.name);
        }
        // Aluminum Association typical values for 6061-T6: 68.9 GPa, yield 276 MPa, 167 W/(m K).
        let flat = c.bars.iter().find(|b| b.name == "flat-aluminium-20x3").unwrap();
        assert_eq!(
            (flat.holding.e_mpa[0], flat.holding.strength_mpa[0], flat.holding.conducts_w_mk, flat.metal),
            (68_900.0, 276.0, 167.0, true)
        );
        for b in &c.bars {
            // What a tube weighs is spread over the whole circle, and leaves aluminium's 2.70 on what is there.
            let there = 1.0 - (b.bore_mm / b.size_mm[0]) * (b.bore_mm / b.size_mm[0]);
            assert!(b.name.starts_with("tube") == (b.bore_mm > 0.0), "{}", b.name);
            assert!(b.bore_mm == 0.0 || (b.density_g_cm3 / there - 2.70).abs() < 0.01, "{}", b.name);
        }
        for g in &c.glues {
            assert!(g.pull_mpa <= g.shear_mpa && g.source.len() > 8, "{}", g.name);
            assert!(0.0 < g.opens_s && g.opens_s <= g.clamps_s && g.clamps_s <= g.cures_s, "{}", g.name);
        }
    }
}
