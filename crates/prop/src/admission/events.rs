//! What an event allows.

use super::stuff::{Stuff, weighed};
use super::travels::through;
use super::{Fit, Sharp, Whole, place, places, source, would};
use crate::catalogue::EventRow;
use crate::checks::{Checked, note};
use crate::conduct;
use crate::finding::{Band, FOLLOWED, Finding, SHAPE, input};
use crate::outcome::{JointKind, Outcome};
use crate::project::Project;

/// Measured later.
const NONE: Band = Band { value: 0.0, low: 0.0, high: 0.0 };
/// A radius on a printed edge is known to so much, mm: half a bead.
const PRINTED_MM: f64 = 0.1;

pub(super) fn event(event: &EventRow, project: &Project, outcome: &Outcome, whole: &Whole) -> Vec<Finding> {
    let mut found = length(event, project, outcome, whole);
    found.extend(event.mass_g.map(|most| {
        let mass = outcome.shopping.mass_g();
        Checked {
            message: format!(
                "{:.2} kg without paint, and {:.1} kg are allowed: {}.",
                mass.value / 1000.0,
                most / 1000.0,
                if mass.value <= most { "light enough" } else { "too heavy" }
            ),
            remedy: "thinner walls (wall), less infill, a lighter spine".into(),
            ..of(event, "event_mass", mass, "g", None, Some(most))
        }
        .finding()
        .worked_from(outcome.shopping.masses())
    }));
    let stuffs = [Stuff::Metal, Stuff::Wood, Stuff::HardPlastic];
    found.extend(stuffs.iter().zip(event.allows).filter(|s| !s.1).map(|(s, _)| material(event, *s, project, outcome)));
    found.extend(event.tethered.then(|| loose(event, outcome)));
    found.extend(event.loudest_db.map(|most| sound(event, most, outcome)));
    found.extend(event.flashes.map(|most| flashes(event, most, outcome)));
    found.extend(event.brightest_cd_m2.and_then(|most| bright(event, most, outcome)));
    found.extend(event.door_mm.map(|door| through(door, whole).said(&of(event, "event_door", NONE, "mm", None, None))));
    found
}

/// A finding about an event, its words to be added.
fn of(
    event: &EventRow,
    id: &'static str,
    value: Band,
    unit: &'static str,
    min: Option<f64>,
    max: Option<f64>,
) -> Checked {
    Checked {
        id,
        subject: format!("event {}", event.name),
        station_mm: None,
        value,
        unit,
        min,
        max,
        source: source(&event.source, &event.date),
        message: String::new(),
        remedy: String::new(),
    }
}

fn length(event: &EventRow, project: &Project, outcome: &Outcome, whole: &Whole) -> Vec<Finding> {
    let own = match (event.of_wearer, project.wearer_mm) {
        (Some(_), None) => {
            let message = "The event asks how long the prop is beside its wearer: give wearer.height.".to_owned();
            let subject = format!("event {}", event.name);
            return vec![note("event_length", subject, None, outcome.length_mm, "mm", message)];
        }
        (Some(times), Some(wearer)) => Some(times * wearer),
        (None, _) => None,
    };
    let Some(most) = own.into_iter().chain(event.length_mm).reduce(f64::min) else { return Vec::new() };
    let against = match (own, project.wearer_mm) {
        (Some(own), Some(wearer)) if own <= most => {
            format!("{most:.0} mm are allowed ({:.0} % of its wearer's {wearer:.0} mm)", 100.0 * own / wearer)
        }
        _ => format!("{most:.0} mm are allowed"),
    };
    let fit = whole.fit(&|p| p.box_mm[0] <= most);
    let long = whole.whole().box_mm[0];
    let longest = |parts: &[super::Portion]| parts.iter().map(|p| p.box_mm[0]).fold(0.0, f64::max);
    let over = long - most;
    let (value, message, remedy) = match &fit {
        Fit::Whole(_) => (long, format!("{long:.0} mm long, and {against}."), String::new()),
        Fit::Apart(joints, parts) if event.carried_apart => (
            longest(parts),
            format!(
                "{long:.0} mm long, and {against}: it fits only apart, at {}, and may be put together for photographs; the longest \
                 part is {:.0} mm.",
                places(outcome, joints),
                longest(parts)
            ),
            String::new(),
        ),
        other => {
            let help = match other {
                Fit::WouldApart(joints, parts) if event.carried_apart => would(outcome, whole, joints, parts),
                _ if event.carried_apart => "no joint would make its parts short enough".to_owned(),
                _ => "the event takes it in one piece only; ask whether it may come apart".to_owned(),
            };
            let message = format!("{long:.0} mm long, and {against}: too long by {over:.0} mm.");
            (long, message, format!("shorten it to {most:.0} mm (shape.length); {help}"))
        }
    };
    vec![
        Checked { message, remedy, ..of(event, "event_length", Band::exact(value), "mm", None, Some(most)) }
            .finding()
            .worked_from(
                [input("length", long, "mm", "shape.length")]
                    .into_iter()
                    .chain(project.wearer_mm.map(|mm| input("wearer", mm, "mm", "wearer.height"))),
            ),
    ]
}

/// Edges and points, measured on the maker's surface.
pub(super) fn sharp(event: &EventRow, sharp: &[Option<Sharp>; 2], outcome: &Outcome) -> Vec<Finding> {
    let kinds = [("event_edges", "edge", event.edge_mm), ("event_points", "point", event.point_mm)];
    let judge = |((id, what, least), found): ((&'static str, &str, Option<f64>), &Option<Sharp>)| {
        let least = least?;
        let Some(found) = found else {
            let value = Band::exact(super::sharp::ROUND_MM);
            let message = format!("No {what} is sharper than a rounding of {:.0} mm.", super::sharp::ROUND_MM);
            let looked = [input("looked for up to", super::sharp::ROUND_MM, "mm", SHAPE)];
            return Some(
                Checked { message, ..of(event, id, value, "mm", Some(least), None) }.finding().worked_from(looked),
            );
        };
        let station = outcome.path.station_of(found.at);
        let message = format!(
            "The sharpest {what} is as sharp as a rounding of {:.2} mm or a clean one of {:.0}°: on {} at station {station:.0} mm, \
             {:.0} mm across and {:.0} mm up.",
            found.radius_mm, found.wedge_deg, found.body, found.at.y, found.at.z
        );
        let remedy = format!("round it to {least} mm there, in the shape");
        let value = Band { value: found.radius_mm, low: found.radius_mm, high: found.radius_mm + PRINTED_MM };
        let checked = of(event, id, value, "mm", Some(least), None);
        let inputs = [
            input("as sharp as a clean one of", found.wedge_deg, "deg", SHAPE),
            input("blunter when printed by, at the most", PRINTED_MM, "mm", "half a bead"),
        ];
        Some(Checked { station_mm: Some([station; 2]), message, remedy, ..checked }.finding().worked_from(inputs))
    };
    kinds.into_iter().zip(sharp).filter_map(judge).collect()
}

fn material(event: &EventRow, stuff: Stuff, project: &Project, outcome: &Outcome) -> Finding {
    let found = weighed(stuff, project, outcome);
    let (word, note, remedy) = match stuff {
        Stuff::Metal => (
            "metal",
            " Screws, magnets, wires and cells are not counted.",
            "a bar of glass-fibre or wood (spine.bar; strength.metal = false tries such), pegs of wood (peg)",
        ),
        Stuff::Wood => ("wood", "", "a bar and pegs of glass-fibre or plastic (spine.bar, peg)"),
        Stuff::HardPlastic => ("hard plastic", "", "this event takes no printed prop; ask it, or carve one of foam"),
    };
    let message = if found.names.is_empty() {
        format!("No {word} bears anything in it.{note}")
    } else {
        format!("Not allowed: {:.0} g of {word} ({}).{note}", found.mass_g, found.names.join(", "))
    };
    let value = Band::exact(found.mass_g);
    let checked = of(event, "event_material", value, "g", None, Some(0.0));
    let inputs = [input("things of it", found.names.len() as f64, "1", "spine, pegs and materials of the catalogue")];
    Checked { station_mm: found.station_mm, message, remedy: remedy.into(), ..checked }.finding().worked_from(inputs)
}

/// What comes off by hand and is not tied on.
fn loose(event: &EventRow, outcome: &Outcome) -> Finding {
    let (mut all, mut untied, mut station) = (0, Vec::new(), None);
    let mut tell = |names: &[&str], words: String, at: Option<[f64; 2]>| {
        all += 1;
        if !names.iter().any(|n| event.tied.iter().any(|t| t == n)) {
            untied.push(words);
            station = station.or(at);
        }
    };
    for joint in &outcome.joints {
        let Some(made) = joint.take_down.as_ref().filter(|_| joint.kind != JointKind::Screws) else { continue };
        let words = format!("{} at {}", made.name, place(outcome, joint.number));
        tell(&[&made.name], words, Some([joint.frame.station_mm; 2]));
    }
    for lid in outcome.lids.iter().filter(|l| l.screws.is_empty()) {
        let behind = outcome.parts.iter().filter(|p| lid.parts.contains(&p.letter));
        let names: Vec<&str> = behind.map(|p| p.name.as_str()).collect();
        let at = outcome.pieces.iter().find(|p| p.number == lid.piece).map(|p| p.station_mm);
        tell(&names, format!("the lid over {}", names.join(" and ")), at);
    }
    let count = untied.len() as f64;
    let message = match (all, untied.is_empty()) {
        (0, _) => "Nothing comes off by hand.".to_owned(),
        (n, true) => format!("All {n} that come off by hand are tied on (event.{}.tied).", event.name),
        (n, false) => format!("{} of {n} that come off by hand are not tied on: {}.", untied.len(), untied.join(", ")),
    };
    let remedy = format!("tie a cord to each, and say so: event.{}.tied = [\"NAME\"], by joint or part", event.name);
    let checked = of(event, "event_loose", Band::exact(count), "1", None, Some(0.0));
    let inputs = [input("come off by hand", f64::from(all), "1", "joints and lids without screws")];
    Checked { station_mm: station, message, remedy, ..checked }.finding().worked_from(inputs)
}

fn sound(event: &EventRow, most: f64, outcome: &Outcome) -> Finding {
    let speakers = outcome.parts.iter().any(|p| p.sound.is_some());
    let view = outcome.conduct.as_ref().filter(|_| speakers);
    let Some((view, ear_db)) = view.and_then(|v| Some((v, conduct::loudest_at_ear_db(v)?))) else {
        let words = if speakers { "How loud it is shows once [behaviour] plays something." } else { "It is silent." };
        return note("event_sound", format!("event {}", event.name), None, 0.0, "dB", words.into());
    };
    let near_mm = view.conduct.rules.ear_mm;
    // Twice as far, 6 dB less: out in the open, and in a hall at first.
    let level = ear_db + 20.0 * libm::log10(near_mm / event.heard_mm);
    let message =
        format!("The loudest second of the stated use is {level:.0} dB(A) in {:.1} m.", event.heard_mm / 1000.0);
    let remedy = "less loud in hums and rules, or a smaller behaviour.amplifier".into();
    let checked = of(event, "event_sound", Band::about(level, conduct::LEVEL_DB), "dB", None, Some(most));
    Checked { message, remedy, ..checked }.finding().worked_from([
        input("loudest second at the ear", ear_db, "dB", "the stated use, played"),
        input("ear", near_mm, "mm", "behaviour.ear"),
        input("measured at", event.heard_mm, "mm", format!("event.{}", event.name)),
    ])
}

fn flashes(event: &EventRow, most: f64, outcome: &Outcome) -> Finding {
    let Some(view) = &outcome.conduct else {
        let words = "How it flashes shows once [behaviour] says what it does.";
        return note("event_flash", format!("event {}", event.name), None, 0.0, "1/s", words.into());
    };
    let value = conduct::most_flashes(view);
    let message = format!("In the stated use no place flashes more often than {value} a second (light_flashes).");
    let remedy = "slower rounds, a higher low of flicker".into();
    Checked { message, remedy, ..of(event, "event_flash", Band::exact(value), "1/s", None, Some(most)) }
        .finding()
        .worked_from([input("frames", view.played.run.frames.len() as f64, "1", "the stated use, played")])
}

/// The brightest window in white, as far as the cell's wires let it be lit.
fn bright(event: &EventRow, most: f64, outcome: &Outcome) -> Option<Finding> {
    let light = outcome.light.as_ref()?;
    let cap = outcome.power.as_ref().map_or(1.0, |p| p.design.cap);
    let mean = |profiles: &[crate::light::Profile], k: usize| Some(cap * profiles.get(k)?.mean(light.lit_mm[k])?.value);
    let found = (0..light.profiles.len()).filter_map(|k| Some((k, mean(&light.profiles, k)?)));
    let (k, value) = found.reduce(|a, b| if b.1 > a.1 { b } else { a })?;
    let ends = light.ends.iter().filter_map(|e| mean(e, k));
    let (low, high) = ends.fold((value, value), |(l, h), v| (l.min(v), h.max(v)));
    let name = light.name(&light.profiles[k]);
    let message = format!(
        "In white, at the {:.0} % that its circuit lets through, the window {name} has {value:.0} cd/m2.",
        100.0 * cap
    );
    let checked = of(event, "event_light", Band { value, low, high }, "cd/m2", None, Some(most));
    let remedy = "a lower power.cap, a thicker wall".into();
    let inputs = [
        input("cap of the light", cap, "1", "power.cap, or chosen"),
        input("brightest window in white", light.profiles[k].mean(light.lit_mm[k])?.value, "cd/m2", FOLLOWED),
    ];
    Some(Checked { station_mm: Some(light.lit_mm[k]), message, remedy, ..checked }.finding().worked_from(inputs))
}
