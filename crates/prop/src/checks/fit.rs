//! Do strip, spine and wires go in and through, and does each piece fit its printer and print without trouble?

use super::{Checked, Laid, Work, gaps, note, piece_name, to_material};
use crate::catalogue::{Origin, Printer, Process};
use crate::finding::{Band, CHOICE, Finding, PIECES, input};
use crate::outcome::Role;
use crate::pieces::LABEL_STROKE_MM;
use crate::rail::fitting::Rail;
use crate::rail::layout::Slider;
use crate::rail::spokes::turned;
use rayon::prelude::*;
use solid::{DVec2, DVec3};

/// A length of spine that begins this near to a joint begins there, mm.
const AT_JOINT_MM: f64 = 3.0;
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
    found.extend(cuts_clear(work));
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
                value: Band::exact(if room.abs() < 1e-6 { 0.0 } else { room }),
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
            .finding()
            .worked_from({
                let bed = format!("printer.{}", piece.printer);
                [
                    input("wide", size.x, "mm", PIECES),
                    input("deep", size.y, "mm", PIECES),
                    input("high", size.z, "mm", PIECES),
                    input("bed, wide", w, "mm", bed.clone()),
                    input("bed, deep", d, "mm", bed.clone()),
                    input("bed, high", h, "mm", bed.clone()),
                    input("margin", margin, "mm", bed),
                ]
            }),
        );
        let overhangs = [
            input("hangs over in all", bed.overhang.area_mm2, "mm2", PIECES),
            input("largest patch", bed.overhang.worst_mm2, "mm2", PIECES),
        ];
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
            )
            .worked_from(overhangs.clone()));
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
                .finding()
                .worked_from(overhangs),
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
            .finding()
            .worked_from([
                input("stands on", bed.first_layer_mm2, "mm2", PIECES),
                input("height", bed.height_mm, "mm", PIECES),
                input("centre of mass, high", bed.center_of_mass.z, "mm", PIECES),
            ]),
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
            .finding()
            .worked_from([input("height", bed.height_mm, "mm", PIECES)]),
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
    .worked_from([
        input("figures, tall", label.map_or(0.0, |l| l.height_mm), "mm", "the hidden face that has room"),
        input("strokes", LABEL_STROKE_MM, "mm", CHOICE),
    ])
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
fn least_gap(laid: &[&Laid], rail: &Rail, outline: &[DVec2], [from, to]: [f64; 2]) -> (f64, f64) {
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
    /// Which way it is turned in the section.
    facing: DVec2,
    spans: Vec<[f64; 2]>,
    /// Pieces that end before this x are still off when it goes in, mm.
    off_before_x: f64,
    what: &'static str,
    remedy: &'static str,
}

fn sliding(work: &Work, laid: &[Laid], rail: &Rail) -> Vec<Finding> {
    let mut all: Vec<Sliding> = Vec::new();
    if let (Some(slider), Some([seat, end])) = (&rail.layout.strip, rail.strip_mm) {
        // The strip comes in at the first joint of its bore (the butt side of the grip, or of the lit body where several
        // stand round the spine), and so passes everything from there.
        let open = |s: f64| {
            let d = rail.way.distance_at(s);
            rail.mouth_mm.is_some_and(|b| d > b[0] - 0.5 && d < seat)
        };
        let entry = work.split.joints.iter().map(|j| j.frame.station_mm).find(|s| open(*s));
        let off_before_x = entry.map_or(f64::NEG_INFINITY, |s| work.placed.path.point(s).x + 1.0);
        let span = [entry.map_or(seat, |s| rail.way.distance_at(s)), end];
        for (row, facing) in (1..).zip(rail.layout.facings()) {
            all.push(Sliding {
                id: "strip_slides",
                subject: format!("strip {row}"),
                slider,
                facing,
                spans: vec![span],
                off_before_x,
                what: "its widest board and its solder bumps",
                remedy: "take a narrower strip, or give the printer its measured slide-gap and slot-loss",
            });
        }
    }
    if let Some(slider) = &rail.layout.spine {
        all.push(Sliding {
            id: "spine_slides",
            subject: "spine".into(),
            slider,
            facing: DVec2::X,
            spans: rail.spine_mm.clone(),
            off_before_x: f64::NEG_INFINITY,
            what: "the fattest stock of its tolerance",
            remedy: "widen the slot (spine.slot-thickness, spine.slot-height, or leave them out), take slimmer stock, or measure it with calipers and give spine.thickness and spine.tolerance",
        });
    }
    let loss = rail.fit.slot_loss_mm / 2.0;
    let widest = printer_of(work, |p| p.slide_gap_mm[0] >= rail.fit.least_gap_mm);
    let source = says(widest, "slide-gap", |p| &p.origins.slide_gap);
    let loss_source =
        says(printer_of(work, |p| p.slot_loss_mm >= rail.fit.slot_loss_mm), "slot-loss", |p| &p.origins.slot_loss);
    let slides = gaps::slides(widest);
    let mut found = Vec::new();
    for s in &all {
        let there: Vec<&Laid> = laid.iter().filter(|l| l.high_x > s.off_before_x).collect();
        let over = |o: &[DVec2]| {
            s.spans
                .iter()
                .map(|span| least_gap(&there, rail, &turned(o, s.facing), *span))
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
                min: Some(slides.mm),
                max: None,
                source: slides.source.clone(),
                message: format!(
                    "Swept along its whole way with {}, {:.2} mm a side is left where the slot prints narrow by {:.2} mm ({loss_source}; tightest at station {at:.0} mm).",
                    s.what, worst - loss, rail.fit.slot_loss_mm
                ),
                remedy: s.remedy.into(),
            }
            .finding().worked_from([
                input("gap of the largest, a side", worst, "mm", "swept along its way between the pieces"),
                input("printed narrower by, in all", rail.fit.slot_loss_mm, "mm", loss_source.clone()),
            ]),
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
                source: source.clone(),
                message: format!(
                    "At nominal size the smallest gap to the pieces is {drawn:.2} mm (station {drawn_at:.0} mm)."
                ),
                remedy: "give the printer its measured slide-gap, or a slimmer strip or spine".into(),
            }
            .finding()
            .worked_from([
                input("asked a side", rail.fit.least_gap_mm, "mm", source.clone()),
                input("tightest at station", drawn_at, "mm", PIECES),
            ]),
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
    found.extend(spine_lengths(work, rail));
    found.extend(dark_end(work, rail));
    found.extend(strip_order(work, rail));
    found
}

/// How several strips round the spine are numbered and wired.
fn strip_order(work: &Work, rail: &Rail) -> Option<Finding> {
    let (Some(_), Some([from, to])) = (&rail.layout.spokes, rail.strip_mm) else { return None };
    let ends = [from, to].map(|d| rail.way.station_at(d));
    let count = rail.layout.rows;
    let each = rail.pixels.iter().filter(|p| p.strip == 1).count();
    let faces = if (rail.way.runs[0].u.z).abs() > 0.5 { "through" } else { "across" };
    let door = work
        .split
        .joints
        .iter()
        .find(|j| rail.mouth_mm.is_some_and(|m| rail.way.distance_at(j.frame.station_mm) > m[0] - 1.0));
    let way_in = door.map_or_else(String::new, |j| format!(" They slide in at J{}, before it is closed.", j.number));
    Some(note(
        "strip_order",
        "strips".into(),
        Some(ends),
        f64::from(count),
        "1",
        format!(
            "{count} strips of {each} pixels stand round the spine: strip 1 faces {faces}, the others follow anticlockwise as seen from the tip. Each is fed at its butt-side end; the data wire comes back from the far end of one to the beginning of the next beside the last spoke, with the wires to the grip.{way_in}"
        ),
    )
    .worked_from([input("pixels of each", each as f64, "1", "the strip as it lies")]))
}

/// Which straight lengths the spine goes in as, and where each goes in: at the first joint beyond its butt-side end, while
/// the next piece is still off. From there its whole way to its seat is straight; the next pieces slide over what
/// sticks out.
fn spine_lengths(work: &Work, rail: &Rail) -> Option<Finding> {
    let longest = rail.spine_mm.iter().map(|s| s[1] - s[0]).fold(0.0, f64::max);
    let each: Vec<String> = rail
        .spine_mm
        .iter()
        .map(|span| {
            let start = rail.way.station_at(span[0]);
            // A length that begins at a joint goes in there.
            let joint = work.split.joints.iter().find(|j| j.frame.station_mm > start - AT_JOINT_MM);
            let way_in = joint.map_or_else(
                || "at its own end".to_owned(),
                |j| format!("at J{} before piece {:02} goes on", j.number, j.pieces[1]),
            );
            format!("{:.0} mm, in {way_in}", span[1] - span[0])
        })
        .collect();
    (!each.is_empty()).then(|| {
        let why = if rail.way.runs.len() > 1 {
            "The body is curved, so the spine goes in as straight lengths"
        } else if each.len() > 1 {
            "The spine goes in as straight lengths"
        } else {
            "The spine goes in as one straight length"
        };
        note(
            "spine_lengths",
            "spine".into(),
            None,
            longest,
            "mm",
            format!("{why}: {}. The longest straight run is {longest:.0} mm.", each.join("; ")),
        )
        .worked_from(rail.spine_mm.iter().map(|s| input("length", s[1] - s[0], "mm", "straight runs of the cavity")))
    })
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
        .worked_from([
            input("tip of the lit part", lit, "mm", "your shape"),
            input("strip ends", end, "mm", "room inside the wall"),
        ])
    })
}

fn wires(work: &Work, laid: &[Laid], rail: &Rail) -> Vec<Finding> {
    let way = crate::rail::wires::wire_way(&work.inside.cores(work.placed), rail);
    if rail.strip_mm.is_none() {
        return Vec::new();
    }
    if way.len() < 2 {
        return vec![
            Checked {
                id: "wire_way",
                subject: "wires".into(),
                station_mm: None,
                value: Band::exact(0.0),
                unit: "mm",
                min: Some(work.project.wire_bundle_mm),
                max: None,
                source: "wires.bundle".into(),
                message:
                    "The wires have no way out: there is no solid body with a bore on the butt side of the lit one."
                        .into(),
                remedy: "add a grip on the butt side of the lit body, or open its end in the modelling program".into(),
            }
            .finding()
            .worked_from([input("points of a way", way.len() as f64, "1", "bores of the solid bodies")]),
        ];
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
        .finding()
        .worked_from([
            input("from the wires' middle to plastic", worst.0, "mm", PIECES),
            input("printed narrower by, in all", rail.fit.slot_loss_mm, "mm", "slot-loss of the printers"),
            input("bundle", work.project.wire_bundle_mm, "mm", "wires.bundle"),
        ]),
    ]
}

/// Cuts that the maker locked or moved may lie where the plan would not cut.
fn cuts_clear(work: &Work) -> Vec<Finding> {
    let (Some(rail), Some(light)) = (&work.inside.rail, &work.project.light) else { return Vec::new() };
    let lit = |s: f64| work.placed.core().any(|b| b.role == Role::Lit && s > b.station_mm[0] && s < b.station_mm[1]);
    work.split
        .joints
        .iter()
        .filter(|j| lit(j.frame.station_mm))
        .filter_map(|j| {
            let s = j.frame.station_mm;
            let near =
                rail.pixels.iter().min_by(|a, b| (a.station_mm - s).abs().total_cmp(&(b.station_mm - s).abs()))?;
            let air = (near.station_mm - s).abs() - light.strip.pixel_mm / 2.0;
            Some(
                Checked {
                    id: "cut_clear",
                    subject: format!("joint J{}", j.number),
                    station_mm: Some([s, s]),
                    value: Band::exact(air),
                    unit: "mm",
                    min: Some(0.0),
                    max: None,
                    source: "a joint line in front of a pixel shows".into(),
                    message: if air < 0.0 {
                        format!("The cut goes through pixel {} of strip {}.", near.number, near.strip)
                    } else {
                        format!("The cut lies {air:.1} mm beside pixel {}.", near.number)
                    },
                    remedy: format!(
                        "move it by {:.0} mm (cuts.lock, cuts.shift)",
                        (light.strip.pitch_mm / 2.0 - (near.station_mm - s).abs()).ceil()
                    ),
                }
                .finding()
                .worked_from([
                    input("cut at station", s, "mm", "the cuts"),
                    input("nearest pixel at station", near.station_mm, "mm", "the strip as it lies"),
                    input("breadth of a pixel", light.strip.pixel_mm, "mm", "catalogue: strip"),
                ]),
            )
        })
        .collect()
}

/// The first printer of the rail's bodies for which `decides` holds.
fn printer_of<'w>(work: &'w Work, decides: impl Fn(&Printer) -> bool) -> Option<&'w Printer> {
    let printers = work.inside.bodies.iter().flat_map(|b| &b.rules.printers).map(|p| &work.project.printers[*p]);
    printers.into_iter().find(|p| decides(p))
}

/// Who says the clearance `key` of a printer.
fn says(printer: Option<&Printer>, key: &str, origin: fn(&Printer) -> &Origin) -> String {
    printer
        .map_or_else(|| format!("{key} of the printers"), |p| format!("printer {}: {}", p.name, origin(p).words(key)))
}
