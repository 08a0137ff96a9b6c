//! The dangers of cells: carriage by air, charging, and that they come out.

use super::{band_of, capacity};
use crate::checks::{Checked, note};
use crate::finding::{Finding, input};
use crate::furnished::letter;
use crate::outcome::Reached;
use crate::power::supply::Supply;
use crate::power::{Power, PowerWork};

pub(super) fn safety(work: &PowerWork, supply: &Supply, power: &Power) -> Vec<Finding> {
    let cell = letter(supply.cell);
    let subject = format!("part {cell} {}", work.project.parts[supply.cell].name);
    let joined = if supply.cells > 1 { ", which count as one battery while they are joined" } else { "" };
    let carriage = &work.project.admission.carriage;
    let mut all = vec![
        Checked {
            id: "cell_travel",
            subject: subject.clone(),
            station_mm: None,
            value: band_of(power.watt_hours),
            unit: "Wh",
            min: None,
            max: Some(carriage.wh[0]),
            source: carriage.source.clone(),
            message: format!(
                "{:.1} Wh{joined}: cells that are taken out count as spares and travel in the cabin only, their ends covered; ask the \
                 carrier, whose rules change, and the event",
                power.watt_hours
            ),
            remedy: format!("up to {} Wh with the carrier's leave, two at most; above that not by air", carriage.wh[1]),
        }
        .finding()
        .worked_from(capacity(work, supply)),
    ];
    if let Some(part) = work.parts.iter().find(|p| p.letter == cell) {
        let comes_out = match part.reached {
            Reached::Lid(_) | Reached::Port => true,
            Reached::Joint(number) => work.joints.iter().any(|j| j.number == number && j.take_down.is_some()),
        };
        all.push(
            Checked {
                id: "cell_open",
                subject,
                station_mm: Some(part.station_mm),
                value: band_of(if comes_out { 1.0 } else { 0.0 }),
                unit: "1",
                min: Some(1.0),
                max: None,
                source: "a cell is never sealed in: common practice, no source".into(),
                message: if comes_out {
                    "the cell comes out of the finished prop: do so to charge, to store and if it grows warm or swells; its own sheet says \
                     at what warmth and current it may be charged"
                        .into()
                } else {
                    "the cell goes in through a joint that is glued".into()
                },
                remedy: "way = \"lid\", or a joint that comes apart there".into(),
            }
            .finding(),
        );
    }
    let pair = if supply.cells > 1 {
        "; join two cells only when both are of one kind and age and rest at the same voltage"
    } else {
        ""
    };
    all.push(note(
        "cell_charging",
        format!("part {cell}"),
        None,
        f64::from(supply.cells),
        "1",
        format!(
            "lithium cells burn when they are overcharged, charged in frost or heat, crushed, pierced or shorted: charge with a charger for \
             their kind, watched, on what does not burn, never in the prop while it is worn{pair}; the cell's own sheet, and the rules of \
             event and place, go before this"
        ),
    ));
    let crossing = power.loom.iter().filter(|c| !c.joints.is_empty()).count();
    let soldered = power.loom.len();
    all.push(note(
        "strain_relief",
        "wires".into(),
        None,
        soldered as f64,
        "1",
        format!(
            "{soldered} wires, {crossing} of them across joints: fix each to its part's bay within 10 mm of the solder, with a loop of slack \
             beside it, so that no pull and no bend reaches the pad"
        ),
    )
    .worked_from([input("across joints", crossing as f64, "1", "the wires as they run")]));
    all
}
