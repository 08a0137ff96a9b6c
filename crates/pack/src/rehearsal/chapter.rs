//! The book's chapter about what the prop does.

use crate::book::model::{Block, Chapter, Drawing, Row, Table, Text};
use crate::svg::Sheet;
use crate::words::{short, with_unit};
use behaviour::{Effect, Light, Mode, Rule};
use prop::conduct::ConductView;
use prop::outcome::Outcome;

/// The chapter; it is there also for a prop that does nothing.
pub(crate) fn chapter<'a>(outcome: &Outcome, chart: Option<&'a Sheet>) -> Chapter<'a> {
    let blocks = match (&outcome.conduct, chart) {
        (Some(view), Some(sheet)) => {
            let data = Text::new()
                .file("The rehearsal's events", "rehearsal/events.csv")
                .plain(", ")
                .file("its current and sound", "rehearsal/levels.csv")
                .plain(".");
            let (heading, file) = ("Rehearsal in time", "drawings/rehearsal.svg");
            let [told, sheet_for] = told(view);
            vec![
                Block::Text(told),
                Block::Text(sheet_for),
                Block::Table(modes(view)),
                Block::Quiet(data),
                Block::Drawing(Drawing { heading, file, sheet, parts: &[] }),
            ]
        }
        _ => {
            vec![Block::Text("The project has no [behaviour]: nothing is said of what the prop does.".into())]
        }
    };
    Chapter { id: "behaviour", short: "Behaviour", title: "What it does".into(), blocks }
}

fn told(view: &ConductView) -> [Text; 2] {
    let conduct = &view.conduct;
    let strips = if conduct.strips == 1 {
        format!("one strip of {} pixels", conduct.pixels)
    } else {
        format!("{} strips of {} pixels that show the same", conduct.strips, conduct.pixels)
    };
    let does = format!(
        "{}, with {strips}; busy for {} % of the time ({}). The light never takes more than {}. The stated use is played below: ",
        conduct.rules.board.title,
        short(100.0 * view.load.total(), 0),
        view.load,
        with_unit(&short(conduct.most_a(), 2), "A"),
    );
    [
        Text::from(does).code(conduct.rules.used_text.as_str()).plain("."),
        Text::new().file("The sheet for the board", "controller/sheet.svg").plain(
            " says which pin goes to which wire, how to copy the program, how to test it and how to change a colour or a threshold.",
        ),
    ]
}

fn modes(view: &ConductView) -> Table {
    let behaviour = &view.conduct.rules.behaviour;
    let mut rows: Vec<Row> = Vec::new();
    for mode in &behaviour.modes {
        let own = behaviour.rules.iter().filter(|r| r.from.as_ref() == Some(&mode.name));
        rows.push(row(mode, own).into());
    }
    let always: Vec<String> = behaviour.rules.iter().filter(|r| r.from.is_none()).map(rule).collect();
    if !always.is_empty() {
        let none = String::new;
        rows.push(vec!["in all but the first".to_owned(), none(), none(), none(), always.join("; ")].into());
    }
    let columns = ["Mode", "Light", "Hum", "Lasts", "What happens"];
    Table::new("Modes", None, "Modes; the prop starts in the first one, which is dark.", &columns, rows)
}

fn row<'a>(mode: &Mode, rules: impl Iterator<Item = &'a Rule>) -> Vec<String> {
    let lights: Vec<String> = mode.lights.iter().map(light).collect();
    let hum = mode.hum.as_ref().map_or_else(|| "none".to_owned(), |h| format!("{} at {} %", h.sound, h.gain_pct));
    let lasts =
        mode.lasts_ms.map_or_else(|| "\u{2013}".to_owned(), |ms| with_unit(&short(f64::from(ms) / 1000.0, 2), "s"));
    let happens: Vec<String> = rules.map(rule).collect();
    vec![
        mode.name.clone(),
        if lights.is_empty() { "dark".to_owned() } else { lights.join("; ") },
        hum,
        lasts,
        if happens.is_empty() { "\u{2013}".to_owned() } else { happens.join("; ") },
    ]
}

fn light(light: &Light) -> String {
    let what = match light.effect {
        Effect::Steady => "steady",
        Effect::Breathe { .. } => "breathes",
        Effect::Pulse { .. } => "pulse",
        Effect::Fill => "fills",
        Effect::Drain => "drains",
        Effect::Flicker { .. } => "flickers",
        Effect::Spark { .. } => "sparks",
    };
    let [r, g, b] = light.colour;
    let span = light.span.map_or_else(String::new, |(first, end)| format!(", pixels {} to {end}", first + 1));
    format!("{what} #{r:02x}{g:02x}{b:02x}{span}")
}

fn rule(rule: &Rule) -> String {
    let mut does = Vec::new();
    does.extend(rule.to.as_ref().map(|to| format!("to {to}")));
    does.extend(rule.sound.as_ref().map(|s| format!("plays {}", s.sound)));
    does.extend(rule.flash.as_ref().map(|_| "flashes".to_owned()));
    format!("{}: {}", rule.on.name(), does.join(", "))
}
