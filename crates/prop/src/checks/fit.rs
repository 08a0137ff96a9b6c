//! Do strip, spine and wires go in and through, and does each piece fit its printer and print without trouble?

use super::{Checked, Laid, Work, note, piece_name, to_material};
use crate::catalogue::Process;
use crate::finding::{Band, Finding};
use crate::outcome::Role;
use crate::pieces::LABEL_STROKE_MM;
use crate::rail::fitting::Rail;
use crate::rail::layout::{Slider, facing_back};
use rayon::prelude::*;
use solid::{DVec2, DVec3};

/// Below this a fit is a press fit: nothing slides any more, mm (common practice, no source: press fits are drawn with
/// 0.05 to 0.15 mm a side).
const SLIDES_MM: f64 = 0.15;
/// Distance between measured places along the way, mm.
const ALONG_MM: f64 = 2.0;
/// Distance between measured points around an outline, mm.
const AROUND_MM: f64 = 0.7;
/// The largest unsupported patch that is still a matter of a scraper, mm2 (common practice, no source).
const OVERHANG_MM2: f64 = 60.0;
/// A piece that leans less than this before it tips needs a brim, degrees (our choice).
const TIP_DEG: f64 = 5.0;
/// Smallest first layer that holds on by itself, mm2 (our choice).
const FIRST_LAYER_MM2: f64 = 60.0;

pub(super) fn check(work: &Work, laid: &[Laid]) -> Vec<Finding> {
    let mut found = Vec::new();
    if let Some(rail) = &work.inside.rail {
        found.extend(sliding(work, laid, rail));
        found.extend(wires(work, laid, rail));
    }
    found.extend(covers(work));
    for (i, piece) in work.printed.pieces.iter().enumerate() {
        let bed = &work.printed.beds[i];
        let at = Some(piece.station_mm);
        let [w, d, h] = piece.bed_mm;
        let margin = work.project.printers.iter().find(|p| p.name == piece.printer).map_or(0.0, |p| p.margin_mm);
        let size = piece.mesh.bounds().map_or(DVec3::ZERO, |b| b.size());
        let room = (w - 2.0 * margin - size.x).min(d - 2.0 * margin - size.y).min(h - margin - size.z);
        found.push(
            Checked {
                id: "fits_printer",
                subject: piece_name(piece),
                station_mm: at,
                value: Band::exact(if work.printed.fits[i] { room.max(0.0) } else { room.min(-0.01) }),
                unit: "mm",
                min: Some(0.0),
                max: None,
                source: format!(
                    "printer.{}: {w:.0} x {d:.0} x {h:.0} mm less a margin of {margin:.0} mm",
                    piece.printer
                ),
                message: format!(
                    "{:.1} x {:.1} x {:.1} mm on {}: {room:.1} mm to spare.",
                    size.x, size.y, size.z, piece.printer
                ),
                remedy: "name a larger printer, let the piece lie (may-lie), or cut it shorter (cuts.lock)".into(),
            }
            .finding(),
        );
        let resin = work.project.rules_for(&piece.body).material.process == Process::Resin;
        if resin {
            found.push(note(
                "overhang",
                piece_name(piece),
                at,
                bed.overhang.area_mm2,
                "mm2",
                "Resin prints on supports: turn it 30 to 45 degrees in the slicer and keep supports off the outside."
                    .into(),
            ));
        }
        let worst = bed.overhang.worst_at.map(|p| work.placed.path.station_of(piece.to_prop.transform_point3(p)));
        if !resin {
            found.push(
                Checked {
                    id: "overhang",
                    subject: piece_name(piece),
                    station_mm: at,
                    value: Band::exact(bed.overhang.worst_mm2),
                    unit: "mm2",
                    min: None,
                    max: Some(OVERHANG_MM2),
                    source: format!("printer.{}.overhang; area: common practice, no source", piece.printer),
                    message: match worst {
                        Some(s) => format!(
                            "{:.0} mm2 in all hang over more than the printer can lay; the largest patch, near station {s:.0} mm, has {:.1} mm2.",
                            bed.overhang.area_mm2, bed.overhang.worst_mm2
                        ),
                        None => "Nothing hangs over.".into(),
                    },
                    remedy: "print it with supports there, or turn it by cutting elsewhere".into(),
                }
                .finding(),
            );
        }
        found.push(
            Checked {
                id: "stands_firm",
                subject: piece_name(piece),
                station_mm: at,
                value: Band::exact(bed.tip_angle_deg),
                unit: "deg",
                min: Some(TIP_DEG),
                max: None,
                source: "our choice: a piece that tips at less needs a brim".into(),
                message: format!(
                    "It stands on {:.0} mm2, {:.0} mm tall, and tips at {:.0} degrees.",
                    bed.first_layer_mm2, bed.height_mm, bed.tip_angle_deg
                ),
                remedy: "print it with a brim of 8 mm or more, or lying".into(),
            }
            .finding(),
        );
        found.push(
            Checked {
                id: "first_layer",
                subject: piece_name(piece),
                station_mm: at,
                value: Band::exact(bed.first_layer_mm2),
                unit: "mm2",
                min: Some(FIRST_LAYER_MM2),
                max: None,
                source: "our choice".into(),
                message: format!("The first layer covers {:.0} mm2.", bed.first_layer_mm2),
                remedy: "print it with a brim of 8 mm or more, or turned the other way up".into(),
            }
            .finding(),
        );
        found.push(label(work, i));
    }
    found
}

fn label(work: &Work, i: usize) -> Finding {
    let piece = &work.printed.pieces[i];
    let label = work.split.pieces[i].made.label;
    let relief = label.map_or(0.0, |l| l.relief_mm[0]);
    Checked {
        id: "label_readable",
        subject: piece_name(piece),
        station_mm: Some(piece.station_mm),
        value: Band::exact(relief),
        unit: "mm",
        min: Some(0.3),
        max: Some(1.2),
        source: "common practice, no source: figures 5 mm tall in strokes of two beads, raised or sunk by two layers or more".into(),
        message: match label {
            Some(l) => format!(
                "Its number stands {:.2} mm proud or deep, {:.0} mm tall in strokes of {LABEL_STROKE_MM:.1} mm, near station {:.0} mm.",
                relief,
                l.height_mm,
                work.placed.path.station_of(l.at)
            ),
            None => "No hidden face has room for its number.".into(),
        },
        remedy: "mark it with a pen where the joint hides it".into(),
    }
    .finding()
}

/// Points around an outline, close together.
fn around(outline: &[DVec2]) -> Vec<DVec2> {
    let mut points = Vec::new();
    for i in 0..outline.len() {
        let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
        let n = ((b - a).length() / AROUND_MM).ceil().max(1.0) as usize;
        points.extend((0..n).map(|k| a + (b - a) * (k as f64 / n as f64)));
    }
    points
}

/// Least distance from an outline swept along the rail to printed material, mm, and where.
fn least_gap(laid: &[Laid], rail: &Rail, outline: &[DVec2], [from, to]: [f64; 2]) -> (f64, f64) {
    let points = around(outline);
    let steps = ((to - from) / ALONG_MM).ceil().max(1.0) as usize;
    (0..=steps)
        .into_par_iter()
        .map(|i| {
            let d = from + (to - from) * i as f64 / steps as f64;
            let (run, at) = rail.way.locate(d);
            let gap = points.iter().map(|p| to_material(laid, run.point(*p, at))).fold(f64::INFINITY, f64::min);
            (gap, rail.way.station_at(d))
        })
        .reduce(|| (f64::INFINITY, 0.0), |a, b| if b.0 < a.0 || (b.0 == a.0 && b.1 < a.1) { b } else { a })
}

struct Sliding<'a> {
    id: &'static str,
    subject: String,
    slider: &'a Slider,
    turned: bool,
    spans: Vec<[f64; 2]>,
    what: &'static str,
}

fn sliding(work: &Work, laid: &[Laid], rail: &Rail) -> Vec<Finding> {
    let mut all: Vec<Sliding> = Vec::new();
    if let (Some(slider), Some(span)) = (&rail.layout.strip, rail.strip_mm) {
        for row in 1..=rail.layout.rows {
            all.push(Sliding {
                id: "strip_slides",
                subject: format!("strip {row}"),
                slider,
                turned: row == 2,
                spans: vec![span],
                what: "its widest board and its solder bumps",
            });
        }
    }
    if let Some(slider) = &rail.layout.spine {
        all.push(Sliding {
            id: "spine_slides",
            subject: "spine".into(),
            slider,
            turned: false,
            spans: rail.spine_mm.clone(),
            what: "the fattest stock of its tolerance",
        });
    }
    let loss = rail.fit.slot_loss_mm / 2.0;
    let mut found = Vec::new();
    for s in &all {
        let outline = |o: &[DVec2]| if s.turned { facing_back(o) } else { o.to_vec() };
        let over = |o: &[DVec2]| {
            s.spans
                .iter()
                .map(|span| least_gap(laid, rail, &outline(o), *span))
                .fold((f64::INFINITY, 0.0), |a, b| if b.0 < a.0 { b } else { a })
        };
        let (worst, at) = over(&s.slider.largest);
        let (drawn, drawn_at) = over(&s.slider.nominal);
        let ends = [
            s.spans.first().map_or(0.0, |x| rail.way.station_at(x[0])),
            s.spans.last().map_or(0.0, |x| rail.way.station_at(x[1])),
        ];
        if s.spans.is_empty() {
            continue;
        }
        found.push(
            Checked {
                id: s.id,
                subject: s.subject.clone(),
                station_mm: Some(ends),
                value: Band { value: worst - loss, low: worst - loss, high: worst },
                unit: "mm",
                min: Some(SLIDES_MM),
                max: None,
                source: "common practice, no source: less is a press fit".into(),
                message: format!(
                    "Swept along its whole way with {}, {:.2} mm a side is left where the slot prints narrow by {:.2} mm (tightest at station {at:.0} mm).",
                    s.what, worst - loss, rail.fit.slot_loss_mm
                ),
                remedy: "widen the slot (spine.slot-thickness, spine.slot-height, or leave them out), take slimmer stock, or measure it with calipers and give spine.thickness and spine.tolerance".into(),
            }
            .finding(),
        );
        found.push(
            Checked {
                id: "gap_least",
                subject: s.subject.clone(),
                station_mm: Some(ends),
                value: Band::exact(drawn),
                unit: "mm",
                min: Some(rail.fit.least_gap_mm),
                max: None,
                source: "slide-gap of the printers".into(),
                message: format!(
                    "At nominal size the smallest gap to the pieces is {drawn:.2} mm (station {drawn_at:.0} mm)."
                ),
                remedy: "give the printer its measured slide-gap, or a slimmer strip or spine".into(),
            }
            .finding(),
        );
    }
    for length in &rail.dropped_spine_mm {
        found.push(note(
            "spine_dropped",
            "spine".into(),
            None,
            *length,
            "mm",
            format!("A straight run of {length:.0} mm is too short for a length of spine (spine.least-length) and stays empty."),
        ));
    }
    if rail.spine_mm.len() > 1 {
        let lengths: Vec<String> = rail.spine_mm.iter().map(|s| format!("{:.0}", s[1] - s[0])).collect();
        let longest = rail.spine_mm.iter().map(|s| s[1] - s[0]).fold(0.0, f64::max);
        found.push(note(
            "spine_lengths",
            "spine".into(),
            None,
            rail.spine_mm.len() as f64,
            "1",
            format!("The body is curved, so the spine goes in as {} straight lengths of {} mm; the longest straight run is {longest:.0} mm.", lengths.len(), lengths.join(", ")),
        ));
    }
    found.extend(dark_end(work, rail));
    found
}

fn dark_end(work: &Work, rail: &Rail) -> Option<Finding> {
    let strip = rail.strip_mm?;
    let end = rail.way.station_at(strip[1]);
    let lit = work.placed.core().filter(|b| b.role == Role::Lit).map(|b| b.station_mm[1]).fold(0.0, f64::max);
    let dark = lit - end;
    (dark > 2.0 * work.project.light.as_ref().map_or(f64::INFINITY, |l| l.strip.pitch_mm)).then(|| {
        note(
            "dark_end",
            "strip 1".into(),
            Some([end, lit]),
            dark,
            "mm",
            format!("The strip ends {dark:.0} mm before the tip of the lit part: beyond station {end:.0} mm there is no room for it inside the wall. A narrower strip or a thicker tip reaches further."),
        )
    })
}

fn wires(work: &Work, laid: &[Laid], rail: &Rail) -> Vec<Finding> {
    let way = crate::rail::wires::wire_way(work.inside, rail, work.placed);
    if way.len() < 2 {
        return Vec::new();
    }
    let mut worst = (f64::INFINITY, DVec3::ZERO);
    for pair in way.windows(2) {
        let n = ((pair[1] - pair[0]).length() / ALONG_MM).ceil().max(1.0) as usize;
        for k in 0..=n {
            let p = pair[0] + (pair[1] - pair[0]) * (k as f64 / n as f64);
            let gap = to_material(laid, p);
            if gap < worst.0 {
                worst = (gap, p);
            }
        }
    }
    let stations = [work.placed.path.station_of(way[0]), work.placed.path.station_of(way[way.len() - 1])];
    let diameter = 2.0 * worst.0 - rail.fit.slot_loss_mm;
    vec![
        Checked {
            id: "wire_way",
            subject: "wires".into(),
            station_mm: Some([stations[0].min(stations[1]), stations[0].max(stations[1])]),
            value: Band { value: diameter, low: diameter, high: 2.0 * worst.0 },
            unit: "mm",
            min: Some(work.project.wire_bundle_mm),
            max: None,
            source: "wires.bundle".into(),
            message: format!(
                "A bundle of {diameter:.1} mm passes all pieces from the strip to the grip (tightest at station {:.0} mm).",
                work.placed.path.station_of(worst.1)
            ),
            remedy: "take thinner wires (wires.bundle), a slimmer strip, or a larger grip".into(),
        }
        .finding(),
    ]
}

/// Each cover must clear the bodies that it slides over.
fn covers(work: &Work) -> Vec<Finding> {
    let mut found = Vec::new();
    for (index, body) in work.placed.bodies.iter().enumerate().filter(|(_, b)| b.role == Role::Cover) {
        let gap = body
            .mesh
            .vertices
            .par_iter()
            .map(|p| work.inside.bodies.iter().map(|b| b.outer.signed_distance(*p)).fold(f64::INFINITY, f64::min))
            .reduce(|| f64::INFINITY, f64::min);
        let rules = work.project.rules_for(&body.name);
        let need = rules.printers.iter().map(|p| work.project.printers[*p].glue_gap_mm).fold(0.0, f64::max);
        let number = work.split.pieces.iter().find(|p| p.body == index).map_or(0, |p| p.number);
        found.push(
            Checked {
                id: "cover_clears",
                subject: format!("piece {number:02}"),
                station_mm: Some(body.station_mm),
                value: Band::exact(gap),
                unit: "mm",
                min: Some(need),
                max: None,
                source: "glue-gap of its printer".into(),
                message: format!("{} clears the bodies it sits on by {gap:.2} mm.", body.name),
                remedy: "widen its bore in the modelling program".into(),
            }
            .finding(),
        );
    }
    found
}
