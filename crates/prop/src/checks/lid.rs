//! Lids: do they drop into their seats, and does one that slides come off along its way, and no other?

use super::parts::{FAR_MM, gap, surface_points};
use super::{Checked, Laid, Work, magnets};
use crate::bay::{LID_GAP_LEAST_MM, Lid, RIDGE_NEAR_MM};
use crate::finding::{Band, CHOICE, Finding, PIECES, input};
use crate::project::LidHold;
use solid::DVec3;

/// Steps of the way, mm, and of the way over the ridge.
const STEP_MM: f64 = 1.0;
const RIDGE_STEP_MM: f64 = 0.1;
/// A lid that slides is pulled so far straight off, mm, and must have met the body by so much.
const PULL_MM: f64 = 1.2;
const HOLDS_MM: f64 = 0.3;
/// What the ridge must bite: felt, and no more than its leaf bears (our choice).
const BITE_MM: [f64; 2] = [0.1, 0.8];

/// Each lid against its body: it must drop into its seat.
pub(super) fn check(work: &Work, laid: &[Laid]) -> Vec<Finding> {
    let (pieces, split) = (&work.printed.pieces, &work.split.pieces);
    let lidded = split.iter().enumerate().filter_map(|(i, p)| p.lid.map(|l| (i, l)));
    lidded
        .flat_map(|(i, l)| {
            let lid = &work.bays.lids[l];
            let own = &pieces[i];
            let mesh = own.mesh.transformed(&own.to_prop);
            let others: Vec<&Laid> = laid.iter().enumerate().filter(|(k, _)| *k != i).map(|(_, l)| l).collect();
            let points = surface_points(&mesh);
            // One that slides is followed by itself.
            let far = if lid.ridge.is_some() { 0 } else { lid.way()[0].length() as u32 };
            let least = (0..=far).map(|k| gap(&others, &points, lid.out * f64::from(k))).fold(FAR_MM, f64::min);
            let seats = Checked {
                id: "lid_seats",
                subject: super::piece_name(own),
                station_mm: Some(lid.span_mm),
                value: Band::exact(least),
                unit: "mm",
                // It lies on its seat with a tenth of air, and has its gap all round.
                min: Some(0.05),
                max: Some(LID_GAP_LEAST_MM.max(lid.gap_mm) + 0.05),
                source: "our choice: a lid drops in, and shows a fine line only".into(),
                message: format!(
                    "It drops into its seat with {:.2} mm all round and {least:.2} mm beneath, held by {}.",
                    lid.gap_mm,
                    match &lid.hold {
                        LidHold::Magnets { .. } => format!("{} pairs of magnets", lid.magnets.len()),
                        LidHold::Screws { .. } => format!("{} screws", lid.screws.len()),
                        LidHold::Slide => "its tongue and lugs".to_owned(),
                    }
                ),
                remedy: "move the parts behind it a little (at, side)".into(),
            };
            let mut found = vec![seats.finding().worked_from([
                input("gap all round", lid.gap_mm, "mm", "slide-gap of the printers"),
                input("points looked at", points.len() as f64, "1", PIECES),
            ])];
            if let Some(ridge) = lid.ridge {
                found.extend(sliding(lid, super::piece_name(own), ridge, &points, &others, &laid[i]));
            }
            if !lid.magnets.is_empty() {
                let middle = f64::midpoint(lid.span_mm[0], lid.span_mm[1]);
                let under = split.iter().position(|p| {
                    p.lid.is_none() && p.body == lid.body && (p.station_mm[0]..=p.station_mm[1]).contains(&middle)
                });
                found.extend(magnets::check(&magnets::Facing {
                    pairs: &lid.magnets,
                    subject: super::piece_name(own),
                    station_mm: Some(lid.span_mm),
                    sides: ["body", "lid"],
                    keys: ["poles", "poles-lid"],
                    pieces: [under.map(|k| &*laid[k].surface), Some(&*laid[i].surface)],
                    into: [-lid.out, lid.out],
                }));
            }
            found
        })
        .collect()
}

/// A lid that slides: along its ways and off, held before that, and kept by its ridge.
fn sliding(lid: &Lid, subject: String, ridge: DVec3, points: &[DVec3], others: &[&Laid], own: &Laid) -> [Finding; 3] {
    let station_mm = Some(lid.span_mm);
    let remedy = "hold the lid by magnets or screws (lid = \"magnets\"), or move what is behind it (at, side)";
    // The leaf passes the ridge and is meant to: all else must clear.
    let stiff = |moved: DVec3| -> Vec<DVec3> {
        points.iter().copied().filter(|p| (*p + moved - ridge).length() > RIDGE_NEAR_MM).collect()
    };
    let (mut least, mut moved, mut tightest) = (FAR_MM, DVec3::ZERO, 0.0);
    let mut before = 0.0;
    for leg in lid.way() {
        let steps = (leg.length() / STEP_MM).ceil().max(1.0) as u32;
        for k in 0..=steps {
            let at = moved + leg * (f64::from(k) / f64::from(steps));
            let here = gap(others, &stiff(at), at);
            if here < least {
                (least, tightest) = (here, before + leg.length() * f64::from(k) / f64::from(steps));
            }
        }
        moved += leg;
        before += leg.length();
    }
    let push = lid.way()[0];
    let way = Checked {
        id: "lid_slides",
        subject: subject.clone(),
        station_mm,
        value: Band::exact(least),
        unit: "mm",
        // Beneath it lies a tenth of air.
        min: Some(0.05),
        max: None,
        source: "our choice: a lid slides on its seat".into(),
        message: if least > 0.0 {
            format!(
                "Pushed {:.0} mm towards the tip and then lifted off, it clears the body by {least:.2} mm ({tightest:.0} mm from home).",
                push.length()
            )
        } else {
            format!("It cannot be slid off: {tightest:.0} mm from home it meets plastic ({least:.2} mm).")
        },
        remedy: remedy.into(),
    };
    let pulled = -gap(others, points, lid.out * PULL_MM);
    let held = Checked {
        id: "lid_held",
        subject: subject.clone(),
        station_mm,
        value: Band::exact(pulled),
        unit: "mm",
        min: Some(HOLDS_MM),
        max: None,
        source: "our choice".into(),
        message: format!(
            "Shut and pulled {PULL_MM:.1} mm straight off, its tongue and lugs meet the body by {:.2} mm.",
            pulled.max(0.0)
        ),
        remedy: remedy.into(),
    };
    // The ridge's top, seen from the lid as it goes; what the lid may lift in its ways is no bite.
    let steps = (push.length() / RIDGE_STEP_MM).ceil().max(1.0) as u32;
    let deepest = (0..=steps)
        .map(|k| -own.surface.signed_distance(ridge - push * (f64::from(k) / f64::from(steps))))
        .fold(f64::NEG_INFINITY, f64::max);
    let home = -own.surface.signed_distance(ridge);
    let bite = if home > 0.0 { 0.0 } else { deepest - lid.gap_mm };
    let snaps = Checked {
        id: "lid_snaps",
        subject,
        station_mm,
        value: Band::exact(bite),
        unit: "mm",
        min: Some(BITE_MM[0]),
        max: Some(BITE_MM[1]),
        source: "our choice: felt, and not worn off".into(),
        message: format!("On its way its leaf snaps over a ridge that stands {bite:.2} mm in its way."),
        remedy: remedy.into(),
    };
    [
        way.finding().worked_from([
            input("pushed", push.length(), "mm", "its tongue and lugs"),
            input("tightest from home", tightest, "mm", PIECES),
        ]),
        held.finding().worked_from([input("pulled", PULL_MM, "mm", CHOICE)]),
        snaps.finding().worked_from([
            input("ridge in the leaf at the deepest", deepest, "mm", PIECES),
            input("it lifts by", lid.gap_mm, "mm", "slide-gap of the printers"),
        ]),
    ]
}
