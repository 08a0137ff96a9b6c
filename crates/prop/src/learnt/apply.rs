//! What was learnt, put in the place of what the catalogue takes for granted.
//!
//! The project file has the last word: what it states stays. Where a printer prints several materials, the most careful
//! of their values is taken, with the catalogue's for a material that was never tried.

use super::summary::STOCK_USUAL_MM;
use super::{Known, Learnt, LightSummary, Summary, light_summary, pace, spread, summary};
use crate::catalogue::{Material, Optics, Origin, Printer};
use crate::fields;
use crate::finding::input;
use crate::project::Project;

/// Less than this a side is a press fit, mm (three print-tolerance guides: 0.05 to 0.15).
const LEAST_SLIDE_MM: f64 = 0.05;
/// A glue line, and a hand that puts it together, want as much, mm a side. (Our choice.)
const LEAST_GLUE_MM: f64 = 0.05;

/// Puts `learnt` into `project`, whose file is `text`; `names` are the bodies of its shape.
pub fn apply(project: &mut Project, text: &str, names: &[&str], learnt: &Learnt) {
    let mut known = Vec::new();
    for at in 0..project.printers.len() {
        let mut materials: Vec<String> = Vec::new();
        for name in names {
            let rules = project.rules_for(name);
            if rules.printers.contains(&at) && !materials.contains(&rules.material.name) {
                materials.push(rules.material.name);
            }
        }
        let printer = &mut project.printers[at];
        let all: Vec<Option<Summary>> = materials.iter().map(|m| summary(learnt, &printer.name, m)).collect();
        clearances(printer, &all, &mut known);
        all.iter().flatten().for_each(|s| known.extend(scale(s)));
        time(printer, learnt, &mut known);
    }
    stock(project, text, learnt, &mut known);
    light(project, learnt, &mut known);
    let own = |name: &str| project.printers.iter().any(|p| p.name == name);
    for name in learnt.printers().into_iter().filter(|name| !own(name)) {
        known.push(Known {
            id: "learnt",
            subject: format!("printer {name}"),
            value: [0.0; 3],
            unit: "1",
            message: format!(
                "Nothing that was learnt of {name} is used: the project has no printer of that name. Where it has a new \
                 name, change it in learnt.toml too."
            ),
            inputs: Vec::new(),
        });
    }
    project.learnt = known;
}

/// The largest of some values, each learnt or the printer's own; `None` when none is learnt.
fn most_careful(own: f64, learnt: &[Option<(f64, String)>]) -> Option<(f64, Origin)> {
    learnt.iter().flatten().next()?;
    let from_own = learnt.iter().any(Option::is_none).then_some((own, Origin::Catalogue));
    let from_learnt = learnt.iter().flatten().map(|(v, words)| (*v, Origin::Learnt(words.clone())));
    from_own.into_iter().chain(from_learnt).max_by(|a, b| a.0.total_cmp(&b.0))
}

fn clearances(printer: &mut Printer, all: &[Option<Summary>], known: &mut Vec<Known>) {
    let value = |of: &dyn Fn(&Summary) -> Option<f64>| -> Vec<Option<(f64, String)>> {
        all.iter().map(|s| s.as_ref().and_then(|s| of(s).map(|v| (v, s.words())))).collect()
    };
    let mut take = |own: &mut f64, origin: &mut Origin, found: Vec<Option<(f64, String)>>, key: &str| {
        if *origin == Origin::Project {
            return;
        }
        if let Some((v, from)) = most_careful(*own, &found) {
            let before = input("without readings", *own, "mm", "catalogue: printer");
            (*own, *origin) = (v, from);
            if let Origin::Learnt(_) = origin {
                known.push(Known {
                    id: "learnt",
                    subject: format!("printer {}", printer.name),
                    value: [v; 3],
                    unit: "mm",
                    message: format!("{:.2} mm is used: {}.", v, origin.words(key)),
                    inputs: found
                        .into_iter()
                        .flatten()
                        .map(|(v, from)| input("as read", v, "mm", from))
                        .chain([before])
                        .collect(),
                });
            }
        }
    };
    let rounded = |v: f64| (v * 1000.0).round() / 1000.0;
    // Losses first: a gap that was seen to slide holds both the loss and what is left.
    let slot = value(&|s| s.slot_loss_mm.map(|l| rounded(l.high.max(0.0))));
    take(&mut printer.slot_loss_mm, &mut printer.origins.slot_loss, slot, "slot-loss");
    let hole = value(&|s| s.hole_loss_mm.map(|l| rounded(l.high.max(0.0))));
    take(&mut printer.hole_loss_mm, &mut printer.origins.hole_loss, hole, "hole-loss");
    let loss = printer.slot_loss_mm / 2.0;
    let left = |drawn: f64, least: f64| rounded((drawn - loss).max(least));
    let [least, most] = printer.slide_gap_mm;
    let mut slide_least = least;
    let slide = value(&|s| s.slide_mm.map(|g| left(g.high, LEAST_SLIDE_MM)));
    take(&mut slide_least, &mut printer.origins.slide_gap, slide, "slide-gap");
    // What is loose was seen, or lies as far off as the catalogue has it.
    let loose = all.iter().flatten().filter_map(|s| s.loose_mm).map(|g| left(g.mean, LEAST_SLIDE_MM)).reduce(f64::max);
    let slide_most =
        if slide_least == least { most } else { loose.unwrap_or(slide_least + most - least).max(slide_least) };
    let glue = value(&|s| s.glue_mm().map(|g| left(g, LEAST_GLUE_MM)));
    take(&mut printer.glue_gap_mm, &mut printer.origins.glue_gap, glue, "glue-gap");
    printer.slide_gap_mm = [slide_least, slide_most];
    // What is pressed in may have to be squeezed: as drawn never tighter than nothing.
    let hole = printer.hole_loss_mm / 2.0;
    let press = value(&|s| s.press_in_mm().map(|g| rounded((g - hole).max(-hole))));
    take(&mut printer.press_gap_mm, &mut printer.origins.press_gap, press, "press-gap");
}

/// The scale that undoes a material's shrinkage: meshes stay as drawn, the printer's program scales.
fn scale(s: &Summary) -> Option<Known> {
    let scale = s.scale()?;
    Some(Known {
        id: "print_scale",
        subject: format!("printer {}", s.printer),
        value: [scale.mean, scale.low, scale.high].map(|v| v * 100.0),
        unit: "%",
        message: format!(
            "Set the scale for {} to {:.2} % ({:.2} to {:.2}) in the printer's program: it shrinks by {:.2} % ({}). Pieces \
             are written at their true size.",
            s.material,
            scale.mean * 100.0,
            scale.low * 100.0,
            scale.high * 100.0,
            (1.0 - 1.0 / scale.mean) * 100.0,
            s.words()
        ),
        inputs: s.shrinkage.map(|read| input("shrinkage", read.mean, "1", s.words())).into_iter().collect(),
    })
}

fn time(printer: &mut Printer, learnt: &Learnt, known: &mut Vec<Known>) {
    if printer.origins.pace == Origin::Project {
        return;
    }
    let prints: Vec<_> = learnt.prints.iter().filter(|p| p.printer == printer.name).collect();
    let multiples: Vec<f64> = prints.iter().map(|p| p.measured_s / p.computed_s).collect();
    if multiples.is_empty() {
        return;
    }
    let last = prints.iter().map(|p| p.note.date.as_str()).max().unwrap_or("");
    let from = format!("{} timed prints, the last of {last}", prints.len());
    printer.pace = pace(&multiples, printer.pace);
    let [usual, low, high] = printer.pace.map(|p| p * 100.0);
    known.push(Known {
        id: "learnt",
        subject: format!("printer {}", printer.name),
        value: [usual, low, high],
        unit: "%",
        message: format!(
            "Times are {usual:.0} % ({low:.0} to {high:.0}) of what is computed: pace learnt from {from}."
        ),
        inputs: prints
            .iter()
            .flat_map(|p| {
                let of = |what: &str, seconds: f64| {
                    input(format!("{} {what}", p.piece), seconds / 3600.0, "h", "learnt.toml")
                };
                [of("as computed", p.computed_s), of("as timed", p.measured_s)]
            })
            .collect(),
    });
    printer.origins.pace = Origin::Learnt(from);
}

/// What the project's materials do to light, from wedges printed on its printers.
fn light(project: &mut Project, learnt: &Learnt, known: &mut Vec<Known>) {
    let printers: Vec<String> = project.printers.iter().map(|p| p.name.clone()).collect();
    let own: Vec<&super::Light> = learnt.light.iter().filter(|l| printers.contains(&l.printer)).collect();
    let mut done: Vec<(String, Option<LightSummary>)> = Vec::new();
    for body in project.bodies.iter_mut().chain([&mut project.unlisted]) {
        let material = &mut body.material;
        let of: Vec<&super::Light> = own.iter().copied().filter(|l| l.material == material.name).collect();
        if of.is_empty() {
            continue;
        }
        if !done.iter().any(|(name, _)| *name == material.name) {
            let found = light_summary(&of, material).ok().flatten().filter(LightSummary::suffices);
            say_light(material, found.as_ref(), known);
            done.push((material.name.clone(), found));
        }
        let found = done.iter().find(|(name, _)| *name == material.name).and_then(|(_, found)| found.as_ref());
        if let Some(found) = found {
            use_light(&mut material.optics, found);
        }
    }
}

fn use_light(optics: &mut Optics, found: &LightSummary) {
    if optics.scatter_origin != Origin::Project {
        optics.scatter_per_mm = found.scatter_per_mm;
        optics.scatter_origin = Origin::Learnt(found.words());
    }
    if optics.absorb_origin != Origin::Project && found.absorb_per_mm.iter().any(Option::is_some) {
        for (absorb, told) in optics.absorb_per_mm.iter_mut().zip(found.absorb_per_mm) {
            *absorb = told.unwrap_or(*absorb);
        }
        optics.absorb_origin = Origin::Learnt(found.words());
    }
}

fn say_light(material: &Material, found: Option<&LightSummary>, known: &mut Vec<Known>) {
    let own = [&material.optics.scatter_origin, &material.optics.absorb_origin].map(|o| *o == Origin::Project);
    let message = match found {
        None => "The light readings of it don't suffice and are not used: take them out of learnt.toml, or measure more steps.".to_owned(),
        Some(found) => {
            let stays = match own {
                [true, true] => "; the project file states its own",
                [true, false] => "; the project file states its own scattering",
                [false, true] => "; the project file states its own absorption",
                [false, false] => "",
            };
            format!("It {}{stays}: from {}.", found.values(), found.words())
        }
    };
    let value = found.map_or([0.0; 3], |f| f.scatter_per_mm);
    let unit = if found.is_some() { "/mm" } else { "1" };
    let inputs = found.map_or_else(Vec::new, |f| {
        vec![
            input("readings", f.left.len() as f64, "1", f.words()),
            input("noise of a reading", f.noise, "1", f.words()),
        ]
    });
    known.push(Known { id: "learnt", subject: format!("material {}", material.name), value, unit, message, inputs });
}

fn stock(project: &mut Project, text: &str, learnt: &Learnt, known: &mut Vec<Known>) {
    let states = |key: &[&str]| fields::states(text, key);
    let read = |name: &str, measure: &str| {
        let of = learnt.stock.iter().filter(|s| s.name == name && s.measure == measure);
        let (values, days): (Vec<_>, Vec<_>) = of.map(|s| (s.read_mm.clone(), s.note.date.clone())).unzip();
        let values: Vec<f64> = values.concat();
        spread(&values, STOCK_USUAL_MM).map(|s| (s, days.into_iter().max().unwrap_or_default(), values))
    };
    // How much larger the next place may be than the mean: never less than was read already.
    let over = |s: &super::Spread, values: &[f64]| {
        let most = values.iter().copied().fold(s.high, f64::max) - s.mean;
        (most * 100.0).ceil() / 100.0
    };
    let mut say = |subject: String, what: &str, s: &super::Spread, day: &str, values: &[f64]| {
        known.push(Known {
            id: "learnt",
            subject,
            value: [s.mean, s.low, s.high],
            unit: "mm",
            message: format!(
                "{what} is {:.2} mm ({:.2} to {:.2}), the mean of {} caliper readings, the last of {day}.",
                s.mean, s.low, s.high, s.count
            ),
            inputs: values.iter().map(|v| input("caliper reading", *v, "mm", "learnt.toml")).collect(),
        });
    };
    if let Some(spine) = &mut project.spine {
        let bar = &mut spine.bar;
        let own = ["thickness", "height"].iter().any(|k| states(&["spine", k])) || states(&["bar", &bar.name]);
        let measures: &[(&str, &[usize])] =
            if bar.round { &[("diameter", &[0, 1])] } else { &[("thickness", &[0]), ("height", &[1])] };
        let found: Vec<_> = measures.iter().map(|(m, at)| (*m, *at, read(&bar.name, m))).collect();
        if !own && found.iter().all(|(_, _, r)| r.is_some()) {
            let mut tolerance: f64 = 0.0;
            for (measure, at, found) in &found {
                if let Some((s, day, values)) = found {
                    at.iter().for_each(|k| bar.size_mm[*k] = s.mean);
                    tolerance = tolerance.max(over(s, values));
                    say(format!("bar {}", bar.name), &format!("Its {measure}"), s, day, values);
                }
            }
            if !states(&["spine", "tolerance"]) {
                bar.tolerance_mm = tolerance;
            }
        }
    }
    if let Some(light) = &mut project.light {
        let strip = &mut light.strip;
        if let Some((s, day, values)) = read(&strip.name, "width").filter(|_| !states(&["strip", &strip.name])) {
            strip.width_mm = [s.mean, over(&s, &values)];
            say(format!("strip {}", strip.name), "Its board", &s, &day, &values);
        }
    }
    let own_pegs = project.bodies.iter_mut().chain([&mut project.unlisted]).filter_map(|b| b.peg.as_mut());
    let mut said: Vec<String> = Vec::new();
    for rod in project.rods.iter_mut().chain(own_pegs) {
        if let Some((s, day, values)) = read(&rod.name, "diameter").filter(|_| !states(&["rod", &rod.name])) {
            rod.diameter_mm = s.mean;
            rod.tolerance_mm = over(&s, &values);
            if !said.contains(&rod.name) {
                say(format!("rod {}", rod.name), "Its diameter", &s, &day, &values);
                said.push(rod.name.clone());
            }
        }
    }
}
