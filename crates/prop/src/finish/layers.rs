//! Layers of a zone from the plastic on: how much wet paint each takes, and whether it holds on what is below it.

use crate::catalogue::{Coat, Filler, Material, Tool};
use crate::finding::Band;

/// One coat of a zone.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// Catalogue name of the coat.
    pub coat: String,
    /// Its name in words.
    pub title: String,
    /// What it is laid with.
    pub by: Tool,
    /// Wet paint, ml, with what lands beside; `None` where its row says too little, and of what is stuck on.
    pub wet_ml: Option<Band>,
    /// How much of a can, bottle or tin that is; as `wet_ml`.
    pub cans: Option<Band>,
    /// What stays on the prop, g.
    pub dry_g: f64,
    /// Until the next coat, s; `None` where nobody said.
    pub recoat_s: Option<f64>,
    /// Until it may be handled, s; `None` where nobody said.
    pub hardens_s: Option<f64>,
    /// Whether it holds on what is below.
    pub bond: Bond,
}

/// Whether a layer holds on what is below it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Bond {
    /// Its row says so.
    Holds,
    /// Its row leaves that out; what is below, in words.
    Parts(String),
    /// Nobody said what one of the two is; which, in words.
    Unknown(String),
}

/// A dry film of paint, g/cm3 (from memory: lacquers 1.1 to 1.2, pigmented primers to 1.6).
const DRY_G_CM3: f64 = 1.3;

/// All layers of a zone of so many mm2. `filler`: what lies on the plastic here and there below the first.
pub(super) fn layers(
    coats: &[Coat],
    material: &Material,
    filler: Option<&Filler>,
    area_mm2: f64,
    spray: Tool,
) -> Vec<Layer> {
    let mut all: Vec<Layer> = Vec::new();
    for (k, coat) in coats.iter().enumerate() {
        let by = if coat.laying.by == Tool::Can { spray } else { coat.laying.by };
        let wet = coat.laying.wet_ml(area_mm2, by).filter(|_| by != Tool::Stuck);
        let wet_ml = wet.map(|[value, low, high]| Band { value, low, high });
        let share = |ml: f64| ml / coat.laying.sold_ml;
        let bond = match k.checked_sub(1) {
            Some(under) => on_coat(coat, &coats[under]),
            None => on_plastic(coat, material, filler),
        };
        all.push(Layer {
            coat: coat.name.clone(),
            title: coat.title.clone(),
            by,
            wet_ml,
            cans: wet_ml.map(|b| Band { value: share(b.value), low: share(b.low), high: share(b.high) }),
            // A micrometre on a square metre is a cubic centimetre.
            dry_g: coat.laying.dry_um().map_or(0.0, |um| um * area_mm2 * 1e-6 * DRY_G_CM3),
            recoat_s: coat.drying.map(|d| d.recoat_s),
            hardens_s: coat.drying.map(|d| d.hardens_s),
            bond,
        });
    }
    all
}

/// The first coat, on the plastic and on what fills its gaps.
fn on_plastic(coat: &Coat, material: &Material, filler: Option<&Filler>) -> Bond {
    let laying = &coat.laying;
    if laying.binder.is_none() && laying.grips.is_empty() {
        return Bond::Unknown(format!("what {} holds on", coat.name));
    }
    let Some(plastic) = material.plastic else { return Bond::Unknown(format!("which plastic {} is", material.name)) };
    if !laying.grips.contains(&plastic) {
        return Bond::Parts(format!("bare {}", material.name));
    }
    let Some(filler) = filler else { return Bond::Holds };
    if !filler.grips.contains(&plastic) {
        return Bond::Parts(format!("{}, for that does not hold on {}", filler.name, material.name));
    }
    if laying.over.contains(&filler.binder) {
        Bond::Holds
    } else {
        Bond::Parts(format!("{} ({})", filler.name, filler.binder.word()))
    }
}

/// A coat on another.
fn on_coat(coat: &Coat, under: &Coat) -> Bond {
    match (coat.laying.binder, under.laying.binder) {
        (_, None) => Bond::Unknown(format!("what binds {}", under.name)),
        (None, _) if coat.laying.over.is_empty() => Bond::Unknown(format!("what {} holds on", coat.name)),
        (_, Some(binder)) if coat.laying.over.contains(&binder) => Bond::Holds,
        (_, Some(binder)) => Bond::Parts(format!("{} ({})", under.name, binder.word())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    fn coats(names: &[&str]) -> Vec<Coat> {
        let rows = Catalogue::built_in().coats;
        names.iter().map(|n| rows.iter().find(|c| c.name == *n).unwrap().clone()).collect()
    }

    fn on(material: &str, names: &[&str], filler: Option<&str>) -> Vec<Bond> {
        let c = Catalogue::built_in();
        let material = c.materials.iter().find(|m| m.name == material).unwrap();
        let filler = filler.map(|f| c.fillers.iter().find(|row| row.name == f).unwrap());
        layers(&coats(names), material, filler, 1e5, Tool::Can).into_iter().map(|l| l.bond).collect()
    }

    /// By hand: a quarter of a square metre, 40 um dry, 22 % solids: 0.25 * 40 / 0.22 = 45.45 ml on the prop; a can loses 30 to 50 %.
    #[test]
    fn millilitres_are_those_counted_by_hand() {
        let c = Catalogue::built_in();
        let abs = c.materials.iter().find(|m| m.name == "abs-white").unwrap();
        let layer = layers(&coats(&["primer-grey"]), abs, None, 250_000.0, Tool::Can).remove(0);
        let wet = layer.wet_ml.unwrap();
        assert!((wet.value - 45.4545 / 0.6).abs() < 1e-3 && (wet.low - 45.4545 / 0.7).abs() < 1e-3, "{wet:?}");
        assert!(
            (wet.high - 45.4545 / 0.5).abs() < 1e-3 && (layer.cans.unwrap().value - wet.value / 400.0).abs() < 1e-12
        );
        // 0.25 m2 by 40 um are 10 cm3 of dry film.
        assert!((layer.dry_g - 13.0).abs() < 1e-9);
        let sprayed = layers(&coats(&["primer-grey"]), abs, None, 250_000.0, Tool::Airbrush).remove(0);
        assert!((sprayed.wet_ml.unwrap().value - 45.4545 / 0.7).abs() < 1e-3);
        let mut stated = coats(&["primer-grey"]);
        stated[0].laying.covers_m2_l = Some(5.0);
        // 0.25 m2 at 5 m2/l are 50 ml.
        let wet = layers(&stated, abs, None, 250_000.0, Tool::Can).remove(0).wet_ml.unwrap();
        assert!((wet.value - 50.0 / 0.6).abs() < 1e-9);
    }

    /// Common practice, no source: a can of 400 ml does 1 to 2 m2 in one coat.
    #[test]
    fn a_can_does_one_to_two_square_metres() {
        let c = Catalogue::built_in();
        let abs = c.materials.iter().find(|m| m.name == "abs-white").unwrap();
        for coat in c.coats.iter().filter(|c| c.laying.by == Tool::Can && c.name != "primer-plastic") {
            let layer = layers(std::slice::from_ref(coat), abs, None, 1e6, Tool::Can).remove(0);
            let m2 = 1.0 / layer.cans.unwrap().value;
            assert!((1.0..=2.2).contains(&m2), "{}: {m2}", coat.name);
        }
    }

    #[test]
    fn stacks_hold_or_part_as_practice_has_it() {
        assert!(
            on("abs-white", &["primer-white", "primer-grey", "paint-bronze", "clear-gloss"], Some("putty"))
                .iter()
                .all(|b| *b == Bond::Holds)
        );
        assert_eq!(on("petg-white", &["primer-grey"], None), [Bond::Parts("bare petg-white".into())]);
        assert_eq!(on("petg-white", &["primer-plastic", "primer-grey"], None), [Bond::Holds, Bond::Holds]);
        // Lacquer lifts enamel; enamel goes over lacquer.
        assert_eq!(
            on("pla-white", &["primer-grey", "enamel-black", "clear-gloss"], None)[2],
            Bond::Parts("enamel-black (enamel)".into())
        );
        assert_eq!(on("pla-white", &["primer-grey", "enamel-black"], None), [Bond::Holds, Bond::Holds]);
        assert_eq!(on("pla-white", &["paint-gold"], None), [Bond::Parts("bare pla-white".into())]);
        assert!(matches!(on("petg-white", &["primer-plastic"], Some("body-filler"))[0], Bond::Parts(_)));
    }

    #[test]
    fn what_nobody_said_is_unknown() {
        let c = Catalogue::built_in();
        let mut material = c.materials[0].clone();
        material.plastic = None;
        let coats = coats(&["primer-grey"]);
        assert!(matches!(layers(&coats, &material, None, 1.0, Tool::Can)[0].bond, Bond::Unknown(_)));
        let mut own = coats[0].clone();
        (own.laying.binder, own.laying.grips, own.laying.over, own.laying.film_um) = (None, vec![], vec![], None);
        let layer = layers(&[own], &c.materials[0], None, 1.0, Tool::Can).remove(0);
        assert!(matches!(layer.bond, Bond::Unknown(_)) && layer.wet_ml.is_none());
    }
}
