//! The page's section about what the prop does.

use crate::html::escape;
use crate::svg::Sheet;
use crate::words::{short, with_unit};
use behaviour::{Effect, Light, Mode, Rule};
use prop::conduct::ConductView;
use prop::outcome::Outcome;

/// The section; it is there also for a prop that does nothing.
pub(crate) fn section(out: &mut String, outcome: &Outcome, chart: Option<&Sheet>) {
    out.push_str("<section id=\"behaviour\">\n<h2>What it does</h2>\n");
    match (&outcome.conduct, chart) {
        (Some(view), Some(chart)) => {
            told(out, view);
            modes(out, view);
            out.push_str(&format!(
                "<p class=\"quiet\"><a href=\"drawings/rehearsal.svg\">The rehearsal as a file</a> · \
                 <a href=\"rehearsal/events.csv\">its events</a> · <a href=\"rehearsal/levels.csv\">current and sound</a></p>\n\
                 <div class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"Rehearsal in time, scrolls sideways\">\n{}</div>\n",
                chart.to_inline()
            ));
        }
        _ => out.push_str("<p>The project has no [behaviour]: nothing is said of what the prop does.</p>\n"),
    }
    out.push_str("</section>\n");
}

fn told(out: &mut String, view: &ConductView) {
    let conduct = &view.conduct;
    let strips = if conduct.strips == 1 {
        format!("one strip of {} pixels", conduct.pixels)
    } else {
        format!("{} strips of {} pixels that show the same", conduct.strips, conduct.pixels)
    };
    out.push_str(&format!(
        "<p>{}, with {strips}; busy for {} % of the time ({}). The light never takes more than {}. The stated use is \
         played below: <code>{}</code>.</p>\n<p><a href=\"controller/sheet.svg\">The sheet for the board</a> says which pin goes to \
         which wire, how to copy the program, how to test it and how to change a colour or a threshold.</p>\n",
        escape(&conduct.rules.board.title),
        short(100.0 * view.load.total(), 0),
        escape(&view.load.to_string()),
        with_unit(&short(conduct.most_a(), 2), "A"),
        escape(&conduct.rules.used_text),
    ));
}

fn modes(out: &mut String, view: &ConductView) {
    let behaviour = &view.conduct.rules.behaviour;
    out.push_str(
        "<div class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"Modes, scrolls sideways\">\n<table>\n<caption>Modes; the prop \
         starts in the first one, which is dark.</caption>\n<thead><tr>",
    );
    for column in ["Mode", "Light", "Hum", "Lasts", "What happens"] {
        out.push_str(&format!("<th scope=\"col\">{column}</th>"));
    }
    out.push_str("</tr></thead>\n<tbody>\n");
    for mode in &behaviour.modes {
        let own = behaviour.rules.iter().filter(|r| r.from.as_ref() == Some(&mode.name));
        row(out, mode, own);
    }
    let always: Vec<&Rule> = behaviour.rules.iter().filter(|r| r.from.is_none()).collect();
    if !always.is_empty() {
        let happens: Vec<String> = always.into_iter().map(rule).collect();
        out.push_str(&format!(
            "<tr><th scope=\"row\">in all but the first</th><td></td><td></td><td></td><td>{}</td></tr>\n",
            escape(&happens.join("; "))
        ));
    }
    out.push_str("</tbody>\n</table>\n</div>\n");
}

fn row<'a>(out: &mut String, mode: &Mode, rules: impl Iterator<Item = &'a Rule>) {
    let lights: Vec<String> = mode.lights.iter().map(light).collect();
    let hum = mode.hum.as_ref().map_or_else(|| "none".to_owned(), |h| format!("{} at {} %", h.sound, h.gain_pct));
    let lasts =
        mode.lasts_ms.map_or_else(|| "\u{2013}".to_owned(), |ms| with_unit(&short(f64::from(ms) / 1000.0, 2), "s"));
    let happens: Vec<String> = rules.map(rule).collect();
    let cells = [
        if lights.is_empty() { "dark".to_owned() } else { lights.join("; ") },
        hum,
        lasts,
        if happens.is_empty() { "\u{2013}".to_owned() } else { happens.join("; ") },
    ];
    out.push_str(&format!("<tr><th scope=\"row\">{}</th>", escape(&mode.name)));
    out.extend(cells.iter().map(|c| format!("<td>{}</td>", escape(c))));
    out.push_str("</tr>\n");
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
