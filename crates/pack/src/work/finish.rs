//! What is finished: areas by piece, and what each zone takes.

use crate::Artifact;
use crate::csv::line;
use crate::words;
use prop::finding::Band;
use prop::finish::{Bond, Finish, Layer, Place, Zone};
use prop::outcome::Outcome;

/// `work/areas.csv` and `work/finish.csv`.
pub(super) fn files(outcome: &Outcome) -> Vec<Artifact> {
    if outcome.finish.outsides.is_empty() {
        return Vec::new();
    }
    vec![Artifact::new("work/areas.csv", areas(outcome)), Artifact::new("work/finish.csv", table(&outcome.finish))]
}

/// Every face that is seen or lined, by piece, and what it carries.
fn areas(outcome: &Outcome) -> String {
    let finish = &outcome.finish;
    let mut text = line(&["piece", "name", "body", "material", "place", "area_mm2", "coats"]);
    for (piece, outside) in outcome.pieces.iter().zip(&finish.outsides) {
        let windows = outside.windows_mm2.iter().map(|(w, mm2)| (Place::Window(*w), *mm2));
        let places = std::iter::once((Place::Outside, outside.body_mm2)).chain(windows);
        for (place, mm2) in places.chain([(Place::Hollow, outside.hollow_mm2)]).filter(|(_, mm2)| *mm2 > 0.0) {
            text += &line(&[
                words::piece(piece.number),
                piece.name.clone(),
                piece.body.clone(),
                piece.material.clone(),
                named(outcome, place),
                format!("{mm2:.1}"),
                coats(finish, &piece.body, place),
            ]);
        }
    }
    text
}

fn named(outcome: &Outcome, place: Place) -> String {
    match place {
        Place::Outside => "outside".to_owned(),
        Place::Window(w) => {
            format!("window {}", outcome.windows.get(w).map_or("", |window| window.name.as_str()))
        }
        Place::Hollow => "hollow".to_owned(),
    }
}

fn coats(finish: &Finish, body: &str, place: Place) -> String {
    let zone = finish.zones.iter().find(|z| z.body == body && z.place == place);
    let names: Vec<&str> = zone.map_or_else(Vec::new, |z| z.coats.iter().map(|c| c.name.as_str()).collect());
    names.join("; ")
}

/// Seams, layers, coats and wraps in the order of work.
fn table(finish: &Finish) -> String {
    let mut text = line(&[
        "what",
        "where",
        "with",
        "by",
        "amount",
        "unit",
        "least",
        "most",
        "of_one_can",
        "recoat_min",
        "hardens_min",
        "remark",
    ]);
    for seam in &finish.seams {
        let place = format!("J{}, {:.0} mm round", seam.joint, seam.round_mm);
        text += &row(
            "seam",
            place,
            &seam.filler,
            "spatula",
            [seam.wet_ml; 3],
            "ml",
            [None, None, Some(seam.sandable_s)],
            &seam.caution,
        );
    }
    for skim in &finish.skims {
        let place = format!("piece {}", words::piece(skim.piece));
        text += &row("layers", place, &skim.filler, "spatula", [skim.wet_ml; 3], "ml", [None; 3], "");
    }
    for zone in &finish.zones {
        for (k, layer) in zone.layers.iter().enumerate() {
            text += &coat(zone, k, layer);
        }
    }
    for wrap in &finish.wraps {
        let place = format!("{:.0} to {:.0} mm", wrap.station_mm[0], wrap.station_mm[1]);
        let crossings: Vec<String> = wrap.crossings_mm.iter().map(|s| format!("{s:.0}")).collect();
        let mut remark = format!("{:.2} turns at {:.1} to {:.1} mm", wrap.turns, wrap.pitch_mm[0], wrap.pitch_mm[1]);
        if !crossings.is_empty() {
            remark += &format!("; {} crossings at {} mm", crossings.len(), crossings.join(" "));
        }
        if !wrap.hands.is_empty() {
            remark += &format!("; two pairs of hands {}", wrap.hands.join(", "));
        }
        let metres = wrap.cut_mm / 1000.0 * f64::from(wrap.bands);
        text += &row(&format!("wrap {}", wrap.name), place, &wrap.row, "hand", [metres; 3], "m", [None; 3], &remark);
    }
    text
}

fn coat(zone: &Zone, k: usize, layer: &Layer) -> String {
    let remark = match &layer.bond {
        Bond::Holds => "holds".to_owned(),
        Bond::Parts(on) => format!("does not hold on {on}"),
        Bond::Unknown(what) => format!("nobody says {what}"),
    };
    let what = format!("coat {} of {}", k + 1, zone.name);
    let place = format!("{:.0} cm2 of {}", zone.area_mm2() / 100.0, zone.material);
    let zero = Band::exact(0.0);
    let ml = layer.wet_ml.unwrap_or(zero);
    let cans = layer.cans.map(|c| c.value);
    let (amount, unit) = match layer.wet_ml {
        Some(_) => ([ml.value, ml.low, ml.high], "ml"),
        None => ([zone.area_mm2() / 100.0; 3], "cm2"),
    };
    row(&what, place, &layer.coat, layer.by.word(), amount, unit, [cans, layer.recoat_s, layer.hardens_s], &remark)
}

/// One line; `times`: part of a can, then seconds until the next coat and until it is hard.
#[expect(clippy::too_many_arguments, reason = "the columns of one table")]
fn row(
    what: &str,
    place: String,
    with: &str,
    by: &str,
    [usual, least, most]: [f64; 3],
    unit: &str,
    [cans, recoat_s, hardens_s]: [Option<f64>; 3],
    remark: &str,
) -> String {
    let number = |v: f64| format!("{v:.2}");
    let minutes = |s: Option<f64>| s.map_or_else(String::new, |s| format!("{:.0}", s / 60.0));
    line(&[
        what.to_owned(),
        place,
        with.to_owned(),
        by.to_owned(),
        number(usual),
        unit.to_owned(),
        number(least),
        number(most),
        cans.map_or_else(String::new, number),
        minutes(recoat_s),
        minutes(hardens_s),
        remark.to_owned(),
    ])
}
