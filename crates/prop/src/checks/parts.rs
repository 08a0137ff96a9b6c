//! Do the parts fit their bays, come out again, keep off each other and off the rail, and do their wires reach?

use super::{Checked, Laid, Work, gaps, lid, note, spread};
use crate::bay::wires::WireRun;
use crate::bay::{Bay, Opens, Stands};
use crate::catalogue::{PartKind, Printer};
use crate::finding::{Band, CHOICE, Finding, PIECES, input};
use crate::furnished::{self, STEP_MM, letter};
use crate::outcome::{Part, Reached, Wire};
use crate::project::LidHold;
use rayon::prelude::*;
use solid::{Bvh, DVec3, Mesh};

/// Distance between measured points of a part, mm.
const POINT_MM: f64 = 2.0;
/// Farther than this nothing is measured, mm.
pub(super) const FAR_MM: f64 = 2.0;
/// Air between parts, and from a part to strip and spine, mm: insulation and a little (our choice).
const APART_MM: f64 = 1.0;
/// A cell is out within this, s (common practice: under a minute, without tools).
const CELL_S: f64 = 60.0;
/// Open area of a grille against the cone's, at least (common practice, no source: 40 to 60 %).
const GRILLE_SHARE: f64 = 0.4;

pub(super) fn check(work: &Work, laid: &[Laid]) -> Vec<Finding> {
    let path = &work.placed.path;
    let parts = furnished::parts(work.project, work.bays, work.split, path);
    let mut found: Vec<Finding> = parts
        .par_iter()
        .zip(&work.bays.bays)
        .flat_map_iter(|(part, bay)| {
            let points = surface_points(&part.largest);
            let mut own = vec![room(work, part, bay), clear(work, part, laid), way(work, part, &points, laid)];
            own.push(off_rail(work, part, bay));
            own.extend(sounding(part));
            own.extend(cell_out(work, part, bay));
            if part.kind == PartKind::Sensor {
                own.push(sensor_axes(part));
            }
            own
        })
        .collect();
    found.extend(apart(&parts));
    found.extend(lid::check(work, laid));
    let wires = furnished::wires(work.project, work.bays, work.split, path);
    found.extend(wires.par_iter().flat_map_iter(|w| wire(work, w, laid)).collect::<Vec<_>>());
    found
}

fn named(part: &Part) -> String {
    part.subject()
}

/// Points all over a part.
pub(super) fn surface_points(mesh: &Mesh) -> Vec<DVec3> {
    let count = (mesh.area_mm2() / (POINT_MM * POINT_MM)).ceil() as usize;
    let mut points = spread(mesh, count.max(40), &|_| true);
    points.extend(&mesh.vertices);
    points
}

/// Least distance from moved points to some pieces, mm, at most [`FAR_MM`]; negative where a point lies inside one.
pub(super) fn gap(laid: &[&Laid], points: &[DVec3], moved: DVec3) -> f64 {
    gap_within(laid, points, moved, FAR_MM)
}

/// The same, at most `far_mm`.
fn gap_within(laid: &[&Laid], points: &[DVec3], moved: DVec3, far_mm: f64) -> f64 {
    let mut least = far_mm;
    for p in points {
        let p = *p + moved;
        for piece in laid.iter().filter(|l| p.x > l.low_x - far_mm && p.x < l.high_x + far_mm) {
            if piece.surface.is_inside(p) {
                least = least.min(-piece.surface.nearest(p, f64::INFINITY).map_or(0.0, |n| n.distance_mm));
            } else if let Some(near) = piece.surface.nearest(p, least.max(0.0)) {
                least = least.min(near.distance_mm);
            }
        }
    }
    least
}

/// Did the search find a place that keeps all walls?
fn room(work: &Work, part: &Part, bay: &Bay) -> Finding {
    let rules = &work.project.parts[bay.part];
    Checked {
        id: "part_room",
        subject: named(part),
        station_mm: Some(bay.span_mm),
        value: Band::exact(bay.short_mm),
        unit: "mm",
        min: None,
        max: Some(1e-6),
        source: "1.6 mm of plastic to the outside and 1.2 mm between rooms at least: common practice, no source".into(),
        message: if bay.short_mm <= 1e-6 {
            format!("Its place in {} keeps plastic all round it.", part.body)
        } else {
            format!("Where it is placed in {}, walls, lid and joints lack {:.1} mm in all.", part.body, bay.short_mm)
        },
        remedy: format!(
            "leave out part.{}.at, side and depth to have a place found, or move it; else a smaller part or a thicker body",
            rules.name
        ),
    }
    .finding()
}

/// The nominal part in its seat, everything closed.
fn clear(work: &Work, part: &Part, laid: &[Laid]) -> Finding {
    let all: Vec<&Laid> = laid.iter().collect();
    let measured = gap(&all, &surface_points(&part.mesh), DVec3::ZERO);
    let (least, narrow) = (asked(work, part), measured - loss(work, part) / 2.0);
    Checked {
        id: "part_clear",
        subject: named(part),
        station_mm: Some(part.station_mm),
        value: Band { value: narrow, low: narrow, high: measured },
        unit: "mm",
        min: Some(least.mm),
        max: None,
        source: least.source,
        message: format!(
            "In its seat, with everything closed, the nearest plastic is {measured:.2} mm away as drawn, {narrow:.2} mm where the room prints narrow."
        ),
        remedy: "give the printer its measured slide-gap and slot-loss, or move the part (at, side, depth)".into(),
    }
    .finding()
    .worked_from([
        input("gap as drawn", measured, "mm", PIECES),
        input("printed narrower by, in all", loss(work, part), "mm", "slot-loss of the printers"),
    ])
}

/// The printers that may print a part's body.
fn printers<'w>(work: &'w Work, part: &Part) -> Vec<&'w Printer> {
    work.project.rules_for(&part.body).printers.iter().map(|p| &work.project.printers[*p]).collect()
}

/// The gap that a part asks for: a sensor is glued in, all others slide.
fn asked(work: &Work, part: &Part) -> gaps::Least {
    let own = printers(work, part);
    let most = |of: fn(&Printer) -> f64| own.iter().copied().max_by(|a, b| of(a).total_cmp(&of(b)));
    match part.kind {
        PartKind::Sensor => gaps::glued(most(|p| p.glue_gap_mm)),
        _ => gaps::slides(most(|p| p.slide_gap_mm[0])),
    }
}

/// How much narrower the worst of its printers prints a part's room, mm in all.
fn loss(work: &Work, part: &Part) -> f64 {
    printers(work, part).iter().map(|p| p.slot_loss_mm).fold(0.0, f64::max)
}

/// The largest part along its way out, with what must be off taken off.
fn way(work: &Work, part: &Part, points: &[DVec3], laid: &[Laid]) -> Finding {
    let there: Vec<&Laid> =
        laid.iter().enumerate().filter(|(i, _)| !part.pieces_off.contains(&(*i as u32 + 1))).map(|(_, l)| l).collect();
    let long = part.way_out.length();
    let steps = (long / STEP_MM).ceil().max(1.0) as u32;
    let (mut least, mut at) = (FAR_MM, 0.0);
    for k in 0..=steps {
        let moved = part.way_out * (f64::from(k) / f64::from(steps));
        let here = gap(&there, points, moved);
        if here < least {
            (least, at) = (here, moved.length());
        }
    }
    let off = match part.reached {
        Reached::Lid(piece) => format!("with lid {piece:02} off"),
        Reached::Port => "from outside".into(),
        Reached::Joint(joint) => format!("with joint J{joint} open"),
    };
    let (asked, narrow) = (asked(work, part), least - loss(work, part) / 2.0);
    Checked {
        id: "part_way",
        subject: named(part),
        station_mm: Some(part.station_mm),
        value: Band { value: narrow, low: narrow, high: least },
        unit: "mm",
        min: Some(asked.mm),
        max: None,
        source: asked.source,
        message: if least > 0.0 {
            format!("At its largest it goes in and comes out straight, {off}: {least:.2} mm are left at the tightest place as drawn, {narrow:.2} mm where that prints narrow, {at:.0} mm from its seat.")
        } else {
            format!("It cannot come out {off}: {at:.0} mm from its seat it meets plastic ({least:.2} mm).")
        },
        remedy: "move the part (at, side, depth), let it out another way (way), or take a smaller one".into(),
    }
    .finding()
    .worked_from([
        input("gap as drawn", least, "mm", PIECES),
        input("printed narrower by, in all", loss(work, part), "mm", "slot-loss of the printers"),
        input("way out", long, "mm", "its bay"),
        input("tightest from its seat", at, "mm", PIECES),
    ])
}

/// Bays and ports must not reach into the rail, where strip and spine slide.
fn off_rail(work: &Work, part: &Part, bay: &Bay) -> Finding {
    let (strips, spines, _) = crate::views::fittings(work.inside, work.placed);
    let bars: Vec<Bvh> = strips.iter().chain(&spines).map(|b| Bvh::new(&b.mesh)).collect();
    let bore = work.inside.rail.as_ref().filter(|r| !r.bore.is_empty()).map(|r| Bvh::new(&r.bore));
    let points: Vec<DVec3> = surface_points(&part.largest).into_iter().chain(surface_points(&bay.taken)).collect();
    let least = points
        .iter()
        .flat_map(|p| {
            bars.iter().chain(&bore).map(move |b| {
                if b.is_inside(*p) {
                    -b.nearest(*p, f64::INFINITY).map_or(0.0, |n| n.distance_mm)
                } else {
                    b.nearest(*p, 10.0).map_or(10.0, |n| n.distance_mm)
                }
            })
        })
        .fold(10.0, f64::min);
    Checked {
        id: "part_rail",
        subject: named(part),
        station_mm: Some(bay.span_mm),
        value: Band::exact(least),
        unit: "mm",
        min: Some(APART_MM),
        max: None,
        source: "our choice: plastic between a room and the rail".into(),
        message: if least > 0.0 {
            format!(
                "Its room keeps {least:.1} mm{} from the way of strip, spine and wires.",
                if least >= 10.0 { " or more" } else { "" }
            )
        } else {
            format!("Its room breaks through the rail, {:.1} mm deep: strip or spine cannot pass.", -least)
        },
        remedy: "move it along or to another side (at, side), or end the spine before it (spine.from, spine.to)".into(),
    }
    .finding()
    .worked_from([input("points looked at", points.len() as f64, "1", "the part at its largest, and its room")])
}

/// Each part against its nearest neighbour.
fn apart(parts: &[Part]) -> Vec<Finding> {
    let solids: Vec<(Bvh, Vec<DVec3>)> =
        parts.iter().map(|p| (Bvh::new(&p.largest), surface_points(&p.largest))).collect();
    (0..parts.len())
        .into_par_iter()
        .filter_map(|i| {
            let between = |j: usize| {
                let (surface, points) = (&solids[i].0, &solids[j].1);
                let one = |surface: &Bvh, points: &[DVec3]| {
                    points
                        .iter()
                        .map(|p| {
                            if surface.is_inside(*p) {
                                -surface.nearest(*p, f64::INFINITY).map_or(0.0, |n| n.distance_mm)
                            } else {
                                surface.nearest(*p, f64::INFINITY).map_or(f64::INFINITY, |n| n.distance_mm)
                            }
                        })
                        .fold(f64::INFINITY, f64::min)
                };
                one(surface, points).min(one(&solids[j].0, &solids[i].1))
            };
            let (least, other) = (0..parts.len())
                .filter(|j| *j != i)
                .map(|j| (between(j), j))
                .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))?;
            let neighbour = named(&parts[other]);
            Some(
                Checked {
                    id: "part_apart",
                    subject: named(&parts[i]),
                    station_mm: Some(parts[i].station_mm),
                    value: Band::exact(least),
                    unit: "mm",
                    min: Some(APART_MM),
                    max: None,
                    source: "our choice: insulation between parts".into(),
                    message: if least > 0.0 {
                        format!("Its nearest neighbour is {neighbour}, {least:.1} mm away.")
                    } else {
                        format!("It and {neighbour} are in one place: they overlap by {:.1} mm.", -least)
                    },
                    remedy: "give only one of them a place by hand (at, side, depth), or move one".into(),
                }
                .finding()
                .worked_from([
                    input("parts", parts.len() as f64, "1", "[part]"),
                    input("kept apart", APART_MM, "mm", CHOICE),
                ]),
            )
        })
        .collect()
}

/// A cell comes out without tools within a minute.
fn cell_out(work: &Work, part: &Part, bay: &Bay) -> Vec<Finding> {
    if part.kind != PartKind::Cell {
        return Vec::new();
    }
    // Times of single moves by hand: common practice, no source.
    const LIFT_S: f64 = 8.0;
    const UNPLUG_S: f64 = 15.0;
    const DRAW_MM_S: f64 = 10.0;
    const SCREW_S: f64 = 15.0;
    let (open_s, tools, how) = match bay.opens {
        Opens::Lid(lid) => {
            let lid = &work.bays.lids[lid];
            match &lid.hold {
                LidHold::Magnets { .. } => (LIFT_S, 0u32, "lift the lid by its notch"),
                LidHold::Slide => (LIFT_S, 0, "push the lid towards the tip and lift it off"),
                LidHold::Screws { .. } => (SCREW_S * lid.screws.len() as f64 + 10.0, 1, "undo the lid's screws"),
            }
        }
        Opens::Joint(at) => {
            match work.project.joints.iter().find(|j| (j.at_mm - at).abs() < 2.0).map(|j| &j.hardware) {
                Some(crate::project::Hardware::Screws { count, .. }) => {
                    (SCREW_S * f64::from(*count) + 10.0, 1, "undo the joint's screws")
                }
                _ => (LIFT_S, 0, "open the joint"),
            }
        }
        Opens::Outside => (UNPLUG_S, 0, "draw it out of its port"),
    };
    let time = open_s + UNPLUG_S + part.way_out.length() / DRAW_MM_S;
    let seconds = Checked {
        id: "cell_quick",
        subject: named(part),
        station_mm: Some(part.station_mm),
        value: Band::factor(time, 0.7, 1.5),
        unit: "s",
        min: None,
        max: Some(CELL_S),
        source: "a cell is out in under a minute: common practice, no source".into(),
        message: format!("To take it out, {how}, unplug it and draw it out: about {time:.0} s."),
        remedy: "hold its lid by magnets (lid = \"magnets\"), or let it out through a joint that comes apart by hand"
            .into(),
    };
    let by_hand = Checked {
        id: "cell_by_hand",
        subject: named(part),
        station_mm: Some(part.station_mm),
        value: Band::exact(f64::from(tools)),
        unit: "1",
        min: None,
        max: Some(0.0),
        source: "a cell comes out without tools: common practice, no source".into(),
        message: if tools == 0 {
            "It comes out without tools.".into()
        } else {
            "A tool is needed to take it out.".into()
        },
        remedy: "hold its lid by magnets (lid = \"magnets\"), or let it out through a joint that comes apart by hand"
            .into(),
    };
    let times = [
        input("to open", open_s, "s", "common practice, no source"),
        input("to unplug", UNPLUG_S, "s", "common practice, no source"),
        input("way out", part.way_out.length(), "mm", "its bay"),
        input("drawn at", DRAW_MM_S, "mm/s", "common practice, no source"),
    ];
    vec![seconds.finding().worked_from(times), by_hand.finding()]
}

fn sensor_axes(part: &Part) -> Finding {
    let axis = |v: DVec3| format!("({:.2}, {:.2}, {:.2})", v.x + 0.0, v.y + 0.0, v.z + 0.0);
    let m = part.to_prop.matrix3;
    note(
        "sensor_axes",
        named(part),
        Some(part.station_mm),
        part.to_prop.translation.x,
        "mm",
        format!(
            "Its length points along {}, its width along {} and its face along {} of the prop: glue it in so and enter these axes.",
            axis(m.x_axis),
            axis(m.y_axis),
            axis(m.z_axis)
        ),
    )
}

fn sounding(part: &Part) -> Vec<Finding> {
    let Some(sound) = &part.sound else { return Vec::new() };
    let share = sound.grille_mm2 / sound.cone_mm2;
    let grille = Checked {
        id: "grille_open",
        subject: named(part),
        station_mm: Some(part.station_mm),
        value: Band::exact(share),
        unit: "1",
        min: Some(GRILLE_SHARE),
        max: None,
        source: "common practice, no source: 40 to 60 % of the cone".into(),
        message: format!(
            "{} holes open {:.0} mm2 before a cone of {:.0} mm2: {:.0} %.",
            sound.holes,
            sound.grille_mm2,
            sound.cone_mm2,
            share * 100.0
        ),
        remedy: "widen the prop's end, or take a smaller speaker".into(),
    };
    let chamber = Checked {
        id: "chamber_volume",
        subject: named(part),
        station_mm: Some(part.station_mm),
        value: Band::exact(sound.chamber_cm3),
        unit: "cm3",
        min: Some(sound.chamber_least_cm3 * (1.0 - 1e-9)),
        max: None,
        source: "the speaker's row: closed room that it asks for".into(),
        message: format!(
            "Behind it {:.1} cm3 are closed off; seal the hole of its wires with putty.",
            sound.chamber_cm3
        ),
        remedy: "let the body be longer behind it, or take a smaller speaker".into(),
    };
    vec![
        grille.finding().worked_from([
            input("open holes", sound.grille_mm2, "mm2", PIECES),
            input("cone", sound.cone_mm2, "mm2", "catalogue: speaker"),
        ]),
        chamber.finding().worked_from([input("asked for", sound.chamber_least_cm3, "cm3", "catalogue: speaker")]),
    ]
}

/// What keeps a connection from having a way, and the way out.
fn blocked(run: &WireRun, wire: &Wire, end: &dyn Fn(usize) -> String) -> (String, String) {
    let of = format!("a bundle of {} wires ({:.1} mm thick)", wire.wires, wire.bundle_mm);
    let else_ = "move one of the two ends (at, side), or wire them another way (to)";
    match run.blocked {
        Some(Stands::Part(part)) => (
            format!("{} stands in the way, and without it {of} would pass", end(part)),
            format!(
                "move {} aside or beyond one of the two ends (at, side, depth), take a slimmer part, or {else_}",
                end(part)
            ),
        ),
        Some(Stands::Spine) => (
            format!("spine or strip stands in the way, and without it {of} would pass"),
            format!(
                "end the spine earlier, or leave a stretch without it (spine.from, spine.to, spine.leave), or {else_}"
            ),
        ),
        Some(Stands::Wires(other)) => (
            format!("wires W{} lie in the way, and without them {of} would pass", other + 1),
            format!("wire that connection another way (to), or {else_}"),
        ),
        None => (
            format!("parts, lids, spine and walls leave no channel for {of}"),
            format!("thinner or fewer wires (wires), a thicker body, or {else_}"),
        ),
    }
}

/// One connection: has it a way, does the bundle pass, and may it bend so?
fn wire(work: &Work, wire: &Wire, laid: &[Laid]) -> Vec<Finding> {
    let parts = &work.project.parts;
    let run = &work.bays.wires[wire.number as usize - 1];
    let end = |p: usize| format!("{} {}", letter(p), parts[p].name);
    let to = run.net.to.map_or_else(|| "the strip".to_owned(), end);
    let subject = format!("wires W{}", wire.number);
    let station_mm = match (wire.points.first(), wire.points.last()) {
        (Some(a), Some(b)) => {
            let (a, b) = (work.placed.path.station_of(*a), work.placed.path.station_of(*b));
            Some([a.min(b), a.max(b)])
        }
        _ => None,
    };
    if wire.points.is_empty() {
        let (why, remedy) = blocked(run, wire, &end);
        return vec![
            Checked {
                id: "wire_led",
                subject,
                station_mm: work.bays.bays.iter().find(|b| b.part == run.net.from).map(|b| b.span_mm),
                value: Band::exact(0.0),
                unit: "mm",
                min: Some(wire.bundle_mm),
                max: None,
                source: format!("{} wires of 1.5 mm", wire.wires),
                message: format!("There is no way for the wires from {} to {to}: {why}.", end(run.net.from)),
                remedy,
            }
            .finding()
            .worked_from([
                input("wires", f64::from(wire.wires), "1", "what the two ends exchange"),
                input("bundle", wire.bundle_mm, "mm", "wires of 1.5 mm"),
            ]),
        ];
    }
    let pieces: Vec<&Laid> = laid.iter().collect();
    // What a round bundle has around its middle, on the pieces as printed; beside its plugs it comes apart.
    let ends = [wire.points[0], wire.points[wire.points.len() - 1]];
    let homes = wire.homes_mm.map(|h| h + 1.0);
    let far_mm = wire.bundle_mm + FAR_MM;
    let mut least = far_mm;
    for pair in wire.points.windows(2) {
        let n = ((pair[1] - pair[0]).length() / 1.0).ceil().max(1.0) as u32;
        for k in 0..=n {
            let p = pair[0] + (pair[1] - pair[0]) * (f64::from(k) / f64::from(n));
            if ends.iter().zip(&homes).all(|(e, h)| (p - *e).length() > *h) {
                least = least.min(gap_within(&pieces, &[p], DVec3::ZERO, far_mm));
            }
        }
    }
    let bore = 2.0 * least;
    let bends: Vec<String> =
        wire.bends.iter().map(|b| format!("{:.0} deg at radius {:.0} mm", b.angle_deg, b.radius_mm)).collect();
    let led = Checked {
        id: "wire_led",
        subject: subject.clone(),
        station_mm,
        value: Band::exact(bore),
        unit: "mm",
        min: Some(wire.bundle_mm),
        max: None,
        source: format!("{} wires of 1.5 mm", wire.wires),
        message: format!(
            "From {} to {to}: {:.0} mm through a way {bore:.1} mm wide for a bundle of {:.1} mm, {}; cut {:.0} mm ({:.0} to {:.0}).",
            end(run.net.from),
            run.way_mm(),
            wire.bundle_mm,
            if bends.is_empty() { "straight".to_owned() } else { format!("bent {}", bends.join(", ")) },
            wire.cut_mm.value,
            wire.cut_mm.low,
            wire.cut_mm.high
        ),
        remedy: "move one of the two parts (at, side), or use thinner wires".into(),
    };
    let asked = parts[run.net.from].row.bend_mm.max(run.net.to.map_or(0.0, |p| parts[p].row.bend_mm));
    // Beside a plug the wires come apart, and each bends by itself: that is not counted.
    let tightest = wire.bends.iter().map(|b| b.radius_mm).fold(f64::INFINITY, f64::min);
    let mut found = vec![led.finding().worked_from([
        input("from the wires' middle to plastic", least, "mm", PIECES),
        input("wires", f64::from(wire.wires), "1", "what the two ends exchange"),
        input("bundle", wire.bundle_mm, "mm", "wires of 1.5 mm"),
        input("way", run.way_mm(), "mm", "the channel as it runs"),
    ])];
    if tightest.is_finite() {
        found.push(
            Checked {
                id: "wire_bend",
                subject,
                station_mm,
                value: Band::exact(tightest),
                unit: "mm",
                min: Some(asked),
                max: None,
                source: "bend radius of the parts' rows".into(),
                message: format!("Its tightest corner has a radius of {tightest:.1} mm; {asked:.1} mm are asked."),
                remedy: "move one of the two parts (at, side), or use more supple wire (bend)".into(),
            }
            .finding()
            .worked_from(
                wire.bends.iter().map(|b| input("radius of a corner", b.radius_mm, "mm", "the channel as it runs")),
            ),
        );
    }
    found
}
