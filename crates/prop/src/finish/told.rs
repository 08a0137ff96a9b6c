//! What is found about the finish.

use super::layers::Bond;
use super::{Finish, Wrap, Zone};
use crate::checks::{Checked, note};
use crate::finding::{Band, Finding, PIECES, input};
use crate::outcome::{Part, Reached};
use thiserror::Error;

/// Why something cannot be wound.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Problem {
    /// A body that the shape does not have.
    #[error("the wrap {wrap} goes round {body:?}, but the shape has no such body; it has {has}")]
    NoBody {
        /// Name of the wrap.
        wrap: String,
        /// As asked.
        body: String,
        /// Names that there are.
        has: String,
    },
    /// Stations beyond the body.
    #[error("the wrap {wrap} runs from {:.0} to {:.0} mm, but its body from {:.0} to {:.0} mm", stations_mm[0], stations_mm[1], body_mm[0], body_mm[1])]
    OffBody {
        /// Name of the wrap.
        wrap: String,
        /// As asked, mm.
        stations_mm: [f64; 2],
        /// Where the body is, mm.
        body_mm: [f64; 2],
    },
    /// A place without a section.
    #[error("the wrap {wrap} finds nothing to go round at station {station_mm:.0} mm")]
    NoGirth {
        /// Name of the wrap.
        wrap: String,
        /// Where, mm.
        station_mm: f64,
    },
    /// A band too wide for its grip.
    #[error(
        "turns of the wrap {wrap} lie {width_mm:.0} mm apart, and the grip is only {girth_mm:.0} mm round at station {station_mm:.0} mm"
    )]
    TooWide {
        /// Name of the wrap.
        wrap: String,
        /// From turn to turn, square to the band, mm.
        width_mm: f64,
        /// Girth, mm.
        girth_mm: f64,
        /// Where, mm.
        station_mm: f64,
    },
}

/// Rows of the catalogue say what holds on what.
const PRACTICE: &str = "grips and over of the catalogue's rows (common practice, no source)";

/// All that is found.
pub(super) fn findings(finish: &Finish, people: Option<u32>, problems: &[(String, Problem)]) -> Vec<Finding> {
    let mut all = Vec::new();
    for zone in &finish.zones {
        all.push(area(zone));
        if zone.area_mm2() > 0.0 {
            all.push(holds(zone));
            all.push(paint(zone));
        }
    }
    all.extend(filled(finish));
    for wrap in &finish.wraps {
        let message = format!(
            "{}: {} of {:.2} m, round {:.0} to {:.0} mm of grip {:.1} times{}",
            wrap.title,
            if wrap.bands == 1 { "one length".to_owned() } else { format!("{} lengths", wrap.bands) },
            wrap.cut_mm / 1000.0,
            wrap.girth_mm[0],
            wrap.girth_mm[1],
            wrap.turns,
            match wrap.crossings_mm.len() {
                0 => String::new(),
                n => format!(", crossing {n} times"),
            },
        );
        let subject = format!("wrap {}", wrap.name);
        all.push(
            note(
                "wrap_length",
                subject.clone(),
                Some(wrap.station_mm),
                wrap.cut_mm * f64::from(wrap.bands),
                "mm",
                message,
            )
            .worked_from([
                input("lengths", f64::from(wrap.bands), "1", format!("wrap.{}", wrap.name)),
                input("each cut to", wrap.cut_mm, "mm", "the way round, and what is left to hold"),
                input("laid", wrap.laid_mm, "mm", "the way round the grip"),
                input("turns", wrap.turns, "1", "pitch and stations"),
            ]),
        );
        if !wrap.hands.is_empty() {
            let alone = if people == Some(1) { "; the plan has one pair: ask somebody, or clamp the prop" } else { "" };
            let message = format!("two pairs of hands are needed {}{alone}", wrap.hands.join("; and "));
            all.push(note("wrap_hands", subject, Some(wrap.station_mm), 2.0, "1", message));
        }
    }
    for (name, problem) in problems {
        all.push(
            Checked {
                id: "wrap_fits",
                subject: format!("wrap {name}"),
                station_mm: None,
                value: Band::exact(0.0),
                unit: "1",
                min: Some(1.0),
                max: None,
                source: format!("wrap.{name}"),
                message: problem.to_string(),
                remedy: format!("change in, stations, width or apart of wrap.{name}"),
            }
            .finding(),
        );
    }
    all
}

/// That a wrap leaves lids and ports of its body free.
pub(super) fn clear(wrap: &Wrap, parts: &[Part]) -> Finding {
    let [from, to] = wrap.station_mm;
    let reached = |p: &&Part| matches!(p.reached, Reached::Lid(_) | Reached::Port) && p.body == wrap.body;
    let under: Vec<String> = parts
        .iter()
        .filter(reached)
        .filter(|p| p.station_mm[0] < to && from < p.station_mm[1])
        .map(|p| format!("{} ({:.0} to {:.0} mm)", p.subject(), p.station_mm[0], p.station_mm[1]))
        .collect();
    let said = if under.is_empty() { "no part with a lid or port".to_owned() } else { under.join(", ") };
    Checked {
        id: "wrap_clear",
        subject: format!("wrap {}", wrap.name),
        station_mm: Some(wrap.station_mm),
        value: Band::exact(under.len() as f64),
        unit: "1",
        min: None,
        max: Some(0.0),
        source: "a cell must be out in a minute, and a switch be found (common practice, no source)".into(),
        message: format!("between {from:.0} and {to:.0} mm lies {said}"),
        remedy: format!("other stations for wrap.{}, or move the part (at)", wrap.name),
    }
    .finding()
    .worked_from([
        input("from station", from, "mm", format!("wrap.{}.stations", wrap.name)),
        input("to station", to, "mm", format!("wrap.{}.stations", wrap.name)),
    ])
}

/// That a zone with coats has an outside to carry them.
fn area(zone: &Zone) -> Finding {
    let cm2 = zone.area_mm2() / 100.0;
    Checked {
        id: "finish_area",
        subject: zone.name.clone(),
        station_mm: Some(zone.station_mm),
        value: Band::factor(cm2, 0.995, 1.005),
        unit: "cm2",
        min: Some(0.01),
        max: None,
        source: "a coat needs something to lie on".into(),
        message: format!("{cm2:.0} cm2 of {} get {} coats", zone.material, zone.coats.len()),
        remedy: "nothing of it is on the outside: leave out its coats, or let window and body meet".into(),
    }
    .finding()
    .worked_from(zone.pieces.iter().map(|(piece, mm2)| input(format!("piece {piece:02}"), mm2 / 100.0, "cm2", PIECES)))
}

/// How many of its layers do not hold.
fn holds(zone: &Zone) -> Finding {
    let parts: Vec<String> = zone
        .layers
        .iter()
        .filter_map(|l| match &l.bond {
            Bond::Parts(on) => Some(format!("{} does not hold on {on}", l.coat)),
            _ => None,
        })
        .collect();
    let unknown: Vec<String> = zone
        .layers
        .iter()
        .filter_map(|l| match &l.bond {
            Bond::Unknown(what) => Some(what.clone()),
            _ => None,
        })
        .collect();
    let mut said = parts.clone();
    if !unknown.is_empty() {
        said.push(format!("nobody says {}", unknown.join(", nor ")));
    }
    if said.is_empty() {
        said.push(format!("all {} layers hold on each other and on {}", zone.layers.len(), zone.material));
    }
    let high = (parts.len() + unknown.len()) as f64;
    Checked {
        id: "finish_holds",
        subject: zone.name.clone(),
        station_mm: Some(zone.station_mm),
        value: Band { value: parts.len() as f64, low: parts.len() as f64, high },
        unit: "1",
        min: None,
        max: Some(0.0),
        source: PRACTICE.into(),
        message: format!("{}; try the whole stack on a scrap of the same print", said.join("; ")),
        remedy: if parts.is_empty() {
            "say plastic of the material, and binder, grips and over of the coat".into()
        } else {
            "a primer between them that holds on what is below (primer-plastic on PETG), or another order".into()
        },
    }
    .finding()
    .worked_from([input("layers", zone.layers.len() as f64, "1", "coats of the zone")])
}

/// How much paint it takes.
fn paint(zone: &Zone) -> Finding {
    let zero = Band::exact(0.0);
    let ml = zone.layers.iter().filter_map(|l| l.wet_ml).fold(zero, Band::plus);
    let each: Vec<String> = zone
        .layers
        .iter()
        .map(|l| match (l.wet_ml, l.cans) {
            (Some(ml), Some(cans)) => {
                format!("{} {:.0} ml ({:.2} of a {})", l.coat, ml.value, cans.value, vessel(l.by))
            }
            _ if l.by == crate::catalogue::Tool::Stuck => format!("{} is stuck on", l.coat),
            _ => format!("{}: its row says neither covers nor film and solids", l.coat),
        })
        .collect();
    let mut finding = note(
        "finish_paint",
        zone.name.clone(),
        Some(zone.station_mm),
        ml.value,
        "ml",
        format!("wet paint, with what lands beside: {}", each.join(", ")),
    );
    (finding.measured.low, finding.measured.high) = (ml.low, ml.high);
    let of_coat =
        |l: &super::layers::Layer| Some(input(l.coat.clone(), l.wet_ml?.value, "ml", "catalogue: coat, over the area"));
    finding.worked_from(zone.layers.iter().filter_map(of_coat).chain([input(
        "area",
        zone.area_mm2() / 100.0,
        "cm2",
        PIECES,
    )]))
}

fn vessel(by: crate::catalogue::Tool) -> &'static str {
    match by {
        crate::catalogue::Tool::Can => "can",
        _ => "bottle",
    }
}

/// What fills seams, and layers.
fn filled(finish: &Finish) -> Vec<Finding> {
    let mut all = Vec::new();
    let mut names: Vec<&str> = finish.seams.iter().map(|s| s.filler.as_str()).collect();
    names.extend(finish.skims.iter().map(|s| s.filler.as_str()));
    names.sort_unstable();
    names.dedup();
    for name in names {
        let seams: Vec<_> = finish.seams.iter().filter(|s| s.filler == name).collect();
        let round: f64 = seams.iter().map(|s| s.round_mm).sum();
        let of_seams = seams.iter().fold(0.0, |sum, s| sum + s.wet_ml);
        let skims = finish.skims.iter().filter(|s| s.filler == name);
        let of_layers = skims.fold(0.0, |sum, s| sum + s.wet_ml);
        let mut said = Vec::new();
        if !seams.is_empty() {
            said.push(format!("{of_seams:.1} ml in {} seams, {round:.0} mm long together", seams.len()));
        }
        if of_layers > 0.0 {
            said.push(format!("{of_layers:.0} ml over the layers"));
        }
        let mut said = said.join("; ");
        if let Some(seam) = seams.first() {
            if let Some(solvent) = &seam.solvent {
                said += &format!("; scraps of the print in {solvent}");
            }
            said += &format!(". {}", seam.caution);
        }
        all.push(note("finish_filler", format!("filler {name}"), None, of_seams + of_layers, "ml", said).worked_from(
            [
                input("for seams", of_seams, "ml", "their length, gap and what is sanded off"),
                input("seams", seams.len() as f64, "1", "joints"),
                input("length of the seams", round, "mm", PIECES),
                input("over layers", of_layers, "ml", "areas, and the height of a layer"),
            ],
        ));
    }
    all
}
