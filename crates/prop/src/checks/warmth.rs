//! Does it stay cool enough: by its own light, in the sun, in a parked car?

use super::{Checked, Work};
use crate::finding::{Band, Finding, Input, input};
use crate::project::StrengthRules;
use crate::strength::{BELOW_K, CELL_C, Heat, STRIP_C, TOUCH_C};

/// Temperatures are known to so much, K: films, powers and what walls take in of the sun are handbook values.
const UNSURE_K: f64 = 5.0;

/// What warms it, and what it stands in.
fn warmed(rules: &StrengthRules, heat: &Heat, id: &str) -> Vec<Input> {
    if id == "heat_car" {
        return vec![input("air", rules.car_c, "°C", "strength.car")];
    }
    let mut all = vec![
        input("air", rules.air_c, "°C", "strength.air"),
        input("worn at", rules.level, "1", "strength.level"),
        input("light at full", heat.full_w, "W", "current of the pixels on the strip"),
        input("lost by converters and cells", heat.lost_w, "W", "their rows in the catalogue"),
    ];
    all.extend((id == "heat_sun").then(|| input("sun", rules.sun_w_m2, "W/m2", "strength.sun")));
    all
}

pub(super) fn check(work: &Work, heat: &Heat) -> Vec<Finding> {
    let mut all = Vec::new();
    let rules = &work.project.strength;
    for case in &heat.cases {
        let id = match case.title {
            "lit in the hall" => "heat_wall",
            "lit in the sun" => "heat_sun",
            _ => "heat_car",
        };
        let warm = format!(
            "{}: the walls come to {:.0} °C at station {:.0} mm; least room to where a material softens is {:.0} K, at station {:.0} mm",
            sentence(case.title, rules.level),
            case.wall_c,
            case.station_mm,
            case.room_k[0],
            case.room_k[1]
        );
        let glue = if case.glue_k < UNSURE_K && case.glue_k.is_finite() {
            format!(". At the joints it is {:.0} K to where the glue lets go", case.glue_k)
        } else {
            String::new()
        };
        let under_glass = case.sunlit.map_or_else(String::new, |[wall_c, room_k]| {
            let ends = if room_k > UNSURE_K { "it stays stiff" } else { "it softens and bends" };
            format!(
                " That is in the shade, in air of {:.0} °C; where the sun falls on it through a window it comes to about {wall_c:.0} °C, and {ends}; a dark dash is hotter still.",
                rules.car_c
            )
        });
        all.push(
            Checked {
                id,
                subject: "wall".into(),
                station_mm: Some([case.room_k[1]; 2]),
                value: Band::about(case.room_k[0], UNSURE_K),
                unit: "K",
                // What lies about may come nearer than what is held by an end.
                min: Some(if id == "heat_car" { 0.0 } else { BELOW_K }),
                max: None,
                source: match id {
                    "heat_car" => "softens of the materials in the catalogue; strength.car".into(),
                    _ => format!("softens of the materials in the catalogue, less {BELOW_K:.0} K: plastics creep before (common practice, no source)"),
                },
                message: format!("{warm}{glue}.{under_glass}"),
                remedy: match id {
                    "heat_wall" => "less light (strength.level), or a plastic that softens later".into(),
                    "heat_sun" => "keep it in the shade, paint it light, or print it in a plastic that softens later".to_owned(),
                    _ => "do not leave it in the car, or print it in a plastic that softens later; lay it flat, along its whole length".to_owned(),
                },
            }
            .finding()
            .worked_from(warmed(rules, heat, id).into_iter().chain([
                input("warmest wall", case.wall_c, "°C", "the heat balance of all slices"),
                input("its material softens from", case.softens_c, "°C", "catalogue: material"),
                input("unsure by", UNSURE_K, "K", "handbook values of films and powers"),
            ])),
        );
        all.extend(case.cell_c.map(|cell| {
            let source = "discharge limit of generic lithium cells, and what their sheets store them at the most";
            limit("heat_cell", "cell", cell, CELL_C, source, case.title).worked_from(warmed(rules, heat, id))
        }));
        if id != "heat_car" {
            let source = "electronics and strips (common practice, no source)";
            all.extend(case.strip_c.map(|strip| {
                limit("heat_strip", "strip", strip, STRIP_C, source, case.title).worked_from(warmed(rules, heat, id))
            }));
        }
        if id == "heat_wall" {
            let source = "plastic held for long: ISO 13732-1, from memory";
            all.push(
                limit("heat_touch", "grip", case.touch_c, TOUCH_C, source, case.title)
                    .worked_from(warmed(rules, heat, id)),
            );
        }
    }
    if let Some([hour, forever]) = &heat.bears {
        let spread = |share: f64| Band::factor(share.min(1.0), 0.8, 1.25);
        all.push(
            Checked {
                id: "heat_level",
                subject: "light".into(),
                station_mm: None,
                value: spread(forever.0),
                unit: "1",
                min: Some(rules.level),
                max: None,
                source: format!(
                    "strength.level; walls {BELOW_K:.0} K below softening, grip {TOUCH_C:.0} °C, cells {CELL_C:.0} °C, strip {STRIP_C:.0} °C"
                ),
                message: format!(
                    "In white it may be lit at {:.0} % for an hour and at {:.0} % forever, of {:.0} W at full; then {} is at its limit. It is worn at {:.0} %; converters and cells lose {:.1} W then.",
                    100.0 * hour.0.min(1.0),
                    100.0 * forever.0.min(1.0),
                    heat.full_w,
                    forever.1,
                    100.0 * rules.level,
                    heat.lost_w
                ),
                remedy: "less light (strength.level), or a plastic that softens later".into(),
            }
            .finding()
            .worked_from(warmed(rules, heat, "heat_level").into_iter().chain([
                input("for an hour", hour.0, "1", "the heat balance of all slices"),
            ])),
        );
    }
    all
}

fn sentence(title: &str, level: f64) -> String {
    match title {
        "lit in the hall" => format!("Lit at {:.0} % in a hall", 100.0 * level),
        "lit in the sun" => format!("Lit at {:.0} % in the sun", 100.0 * level),
        _ => "In a car parked in summer".to_owned(),
    }
}

fn limit(id: &'static str, subject: &str, value: f64, most: f64, source: &str, case: &str) -> Finding {
    Checked {
        id,
        subject: subject.into(),
        station_mm: None,
        value: Band::about(value, 4.0),
        unit: "°C",
        min: None,
        max: Some(most),
        source: source.into(),
        message: format!("The {subject} comes to {value:.0} °C when the prop is {case}; it may be {most:.0} °C."),
        remedy: if case.contains("car") {
            "take the cell out when you leave the car".into()
        } else {
            "less light (strength.level), or more room for air".to_owned()
        },
    }
    .finding()
}
