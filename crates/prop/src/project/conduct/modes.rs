//! Modes with their light and hum, and what happens on which trigger.

use super::motion::level;
use super::{millis, percent};
use crate::fields::{Field, Fields, nearest_help};
use crate::quantity::{Quantity, Wanted};
use behaviour::{Behaviour, Effect, Flash, Hum, Light, MOST_LIGHTS, Mode, Rule, Shot, Sound, Trigger};

const SHARE: Wanted = Wanted::of(Quantity::Share, 0.0, 1.0, "40 %");

/// Names that rules and hums may use.
struct Names {
    modes: Vec<String>,
    sounds: Vec<String>,
}

/// Reads the tables `[mode.NAME]` with their rules, and the rules for every mode but the dark one from `[behaviour]`.
pub(super) fn read(root: &mut Fields<'_>, table: &mut Fields<'_>, sounds: &[String]) -> Option<Behaviour> {
    let tables = root.named_tables("mode");
    let names = Names { modes: tables.iter().map(|t| t.name.clone()).collect(), sounds: sounds.to_vec() };
    if tables.is_empty() {
        root.need("mode", "[mode.asleep], the dark one that the prop starts in, and others below it")?;
    }
    let mut modes = Vec::new();
    let mut rules = Vec::new();
    for (k, table) in tables.into_iter().enumerate() {
        match read_mode(table, k == 0, &names) {
            Some((mode, own)) => {
                modes.push(Some(mode));
                rules.push(Some(own));
            }
            None => modes.push(None),
        }
    }
    rules.push(read_rules(table, None, &names));
    let modes = modes.into_iter().collect::<Option<Vec<Mode>>>()?;
    // A mode's own rules go before those for all of them.
    let rules = rules.into_iter().collect::<Option<Vec<_>>>()?.concat();
    let sounds = names.sounds.into_iter().map(|name| Sound { name, samples: 0 }).collect();
    Some(Behaviour { modes, rules, sounds })
}

fn read_mode(mut mode: Fields<'_>, dark: bool, names: &Names) -> Option<(Mode, Vec<Rule>)> {
    const LASTS: Wanted = Wanted::of(Quantity::Time, 0.02, 86_400.0, "600 ms");
    let name = mode.name.clone();
    for key in ["light", "hum"] {
        if dark && mode.has(key) {
            let message = "the first mode is the dark one: the prop starts in it after every reset".to_owned();
            mode.error_at(key, message, "leave this out, or put a dark mode before this one");
        }
    }
    let lights = mode.get("light").map_or(Some(Vec::new()), |f| read_lights(&f));
    let hum = mode.optional("hum", |f| read_hum(&f, names));
    let lasts = mode.optional_quantity("lasts", &LASTS);
    let rules = read_rules(&mut mode, Some(&name), names);
    mode.finish();
    let lasts_ms = lasts?.map(millis);
    Some((Mode { name, lights: lights?, hum: hum?, lasts_ms }, rules?))
}

fn read_lights(field: &Field<'_>) -> Option<Vec<Light>> {
    let tables = field.tables("{ moves = \"breathe\", colour = \"#ff8020\" }")?;
    if tables.len() > MOST_LIGHTS as usize {
        return field.error(format!("{} lights in one mode", tables.len()), format!("{MOST_LIGHTS} at most"));
    }
    let lights: Vec<Option<Light>> = tables.into_iter().map(read_light).collect();
    lights.into_iter().collect()
}

#[derive(Clone, Copy)]
enum Moves {
    Steady,
    Breathe,
    Pulse,
    Fill,
    Drain,
    Flicker,
    Spark,
}

fn read_light(mut light: Fields<'_>) -> Option<Light> {
    const MOVES: [(&str, Moves); 7] = [
        ("steady", Moves::Steady),
        ("breathe", Moves::Breathe),
        ("pulse", Moves::Pulse),
        ("fill", Moves::Fill),
        ("drain", Moves::Drain),
        ("flicker", Moves::Flicker),
        ("spark", Moves::Spark),
    ];
    const ROUND: Wanted = Wanted::of(Quantity::Time, 0.04, 600.0, "2 s");
    let moves = light.choice("moves", &MOVES, Some(Moves::Steady));
    let colour = light.need("colour", "colour = \"#ff8020\"").and_then(|f| read_colour(&f));
    let round = match moves {
        Some(Moves::Steady | Moves::Flicker | Moves::Spark) => Some(1.0),
        _ => light.quantity("round", &ROUND, Some(2.0)),
    };
    let low = match moves {
        Some(Moves::Steady | Moves::Fill | Moves::Drain) => Some(0.0),
        _ => light.quantity("low", &SHARE, Some(0.3)),
    };
    let span = light.optional("pixels", |f| read_span(&f));
    let effect = match moves {
        None => None,
        Some(Moves::Steady) => Some(Effect::Steady),
        Some(Moves::Breathe) => low.map(|low| Effect::Breathe { low: level(low) }),
        Some(Moves::Fill) => Some(Effect::Fill),
        Some(Moves::Drain) => Some(Effect::Drain),
        Some(Moves::Flicker) => low.map(|low| Effect::Flicker { low: level(low) }),
        Some(Moves::Pulse) => {
            let reach = light.get("reach").map_or(Some(8), |f| f.whole(1..=600));
            low.zip(reach).map(|(low, reach)| Effect::Pulse { reach: reach as u16, low: level(low) })
        }
        Some(Moves::Spark) => {
            let often = light.get("a-second").map_or(Some(6), |f| f.whole(1..=50));
            low.zip(often).map(|(low, often)| Effect::Spark { a_second: often as u16, low: level(low) })
        }
    };
    light.finish();
    Some(Light { effect: effect?, colour: colour?, period_ms: millis(round?), span: span? })
}

/// Pixels as the maker counts them, from 1, both ends meant.
fn read_span(field: &Field<'_>) -> Option<(u16, u16)> {
    let items = field.items("[1, 24]")?;
    let [first, last] = items.as_slice() else {
        return field.error("there must be two numbers here", "the first and the last pixel, for example [1, 24]");
    };
    let (first, last) = (first.whole(1..=600)?, last.whole(1..=600)?);
    if first > last {
        return field.error("this ends before it begins", format!("write [{last}, {first}]"));
    }
    Some(((first - 1) as u16, last as u16))
}

fn read_colour(field: &Field<'_>) -> Option<[u8; 3]> {
    let text = field.text()?;
    let digits = text.strip_prefix('#').filter(|d| d.len() == 6 && d.bytes().all(|b| b.is_ascii_hexdigit()));
    let part = |at: usize| u8::from_str_radix(digits?.get(at..at + 2)?, 16).ok();
    match (part(0), part(2), part(4)) {
        (Some(red), Some(green), Some(blue)) => Some([red, green, blue]),
        _ => field.error(
            format!("{text:?} is no colour"),
            "write red, green and blue in two figures each, as on a screen: \"#ff8020\"",
        ),
    }
}

fn read_hum(field: &Field<'_>, names: &Names) -> Option<Hum> {
    let mut hum = field.table_such_as("{ sound = \"drone\", loud = \"40 %\" }")?;
    let sound = hum.need("sound", "sound = \"drone\"").and_then(|f| named(&f, "sound", &names.sounds));
    let loud = hum.quantity("loud", &SHARE, Some(0.4));
    let swell = hum.quantity("swell", &SHARE, Some(0.2));
    let bend = hum.quantity("bend", &SHARE, Some(0.1));
    hum.finish();
    Some(Hum { sound: sound?, gain_pct: percent(loud?), swell_pct: percent(swell?), bend_pct: percent(bend?) })
}

/// A name that must be there.
fn named(field: &Field<'_>, what: &str, names: &[String]) -> Option<String> {
    let name = field.text()?;
    if names.iter().any(|n| n == name) {
        return Some(name.to_owned());
    }
    let help = if names.is_empty() {
        format!("add [{what}.{name}]")
    } else {
        nearest_help(name, names.iter().map(String::as_str), "this file has")
    };
    field.error(format!("there is no [{what}.{name}]"), help)
}

/// `on.TRIGGER = { ... }` of a mode, or of all modes but the dark one.
fn read_rules(table: &mut Fields<'_>, from: Option<&str>, names: &Names) -> Option<Vec<Rule>> {
    let Some(field) = table.get("on") else { return Some(Vec::new()) };
    let mut on = field.table_such_as("on.swing = { to = \"roused\" }")?;
    let mut rules = Vec::new();
    let mut sound = true;
    for trigger in Trigger::ALL {
        if let Some(field) = on.get(trigger.name()) {
            let rule = read_rule(&field, names);
            sound &= rule.is_some();
            rules.extend(rule.map(|rule| Rule { from: from.map(str::to_owned), on: trigger, ..rule }));
        }
    }
    on.finish();
    sound.then_some(rules)
}

fn read_rule(field: &Field<'_>, names: &Names) -> Option<Rule> {
    let mut rule = field.table_such_as("{ to = \"lit\", play = \"rise\" }")?;
    let to = rule.optional("to", |f| named(&f, "mode", &names.modes));
    let play = rule.optional("play", |f| named(&f, "sound", &names.sounds));
    let (loud, duck) = if rule.has("play") {
        (rule.quantity("loud", &SHARE, Some(0.8)), rule.quantity("duck", &SHARE, Some(0.5)))
    } else {
        (Some(0.0), Some(0.0))
    };
    let flash = rule.optional("flash", |f| read_flash(&f));
    if !["to", "play", "flash"].iter().any(|key| rule.has(key)) {
        rule.error("nothing happens here", "say where it leads (to), what it plays (play) or how it flashes (flash)");
        return None;
    }
    rule.finish();
    let (gain_pct, duck_pct) = (percent(loud?), percent(duck?));
    let sound = play?.map(|sound| Shot { sound, gain_pct, duck_pct });
    Some(Rule { from: None, on: Trigger::Time, to: to?, sound, flash: flash? })
}

fn read_flash(field: &Field<'_>) -> Option<Flash> {
    const FADES: Wanted = Wanted::of(Quantity::Time, 0.04, 5.0, "160 ms");
    let mut flash = field.table_such_as("{ colour = \"#ffffff\", fades = \"160 ms\" }")?;
    let colour = flash.get("colour").map_or(Some([255; 3]), |f| read_colour(&f));
    let at = flash.optional("at", |f| f.whole(1..=600).map(|p| (p - 1) as u16));
    let reach = flash.get("reach").map_or(Some(16), |f| f.whole(1..=600));
    let fades = flash.quantity("fades", &FADES, Some(0.16));
    flash.finish();
    Some(Flash { colour: colour?, at: at?, reach: reach? as u16, fades_ms: millis(fades?) as u16 })
}
