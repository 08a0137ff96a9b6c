//! What of a project can be changed with a control of its own, with what stands in the file now.

use super::edit::value_at;
use prop::catalogue::Catalogue;
use prop::outcome::Role;
use prop::project::Project;
use prop::quantity::Quantity;
use serde::Serialize;
use toml_edit::DocumentMut;

/// A control.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Control {
    key: String,
    group: &'static str,
    label: String,
    kind: &'static str,
    value: serde_json::Value,
    si: Option<f64>,
    choices: Option<Vec<Choice>>,
    default: Option<String>,
}

#[derive(Clone, Debug, Serialize)]
struct Choice {
    value: String,
    title: String,
}

fn choice(value: &str, title: &str) -> Choice {
    Choice { value: value.to_owned(), title: title.to_owned() }
}

/// How a value is given.
enum Kind {
    Length,
    Share,
    Number,
    Flag,
    Text,
    Choice(Vec<Choice>),
    Choices(Vec<Choice>),
}

/// The controls of a project, with the values of its text.
pub(crate) fn controls(project: &Project, text: &str) -> Vec<Control> {
    let mut all = Listed { text, found: Vec::new() };
    let catalogue = Catalogue::built_in();
    let mm = |v: f64| format!("{v} mm");
    all.add("prop.name", "size", "name", Kind::Text, None);
    all.add("wearer.height", "size", "height of the wearer", Kind::Length, None);
    all.add("shape.length", "size", "length", Kind::Length, project.shape.length_mm.map(mm));
    let printers: Vec<Choice> = project.printers.iter().map(|p| choice(&p.name, &p.name)).collect();
    for body in &project.bodies {
        let key = |end: &str| format!("body.{}.{end}", quoted(&body.name));
        let name = &body.name;
        if body.role == Role::Lit {
            all.add(&key("wall"), "wall", &format!("wall of {name}"), Kind::Length, Some(mm(body.wall_mm)));
        }
        if body.role == Role::Plain {
            let share = format!("{} %", (body.infill * 100.0).round());
            all.add(&key("infill"), "wall", &format!("infill of {name}"), Kind::Share, Some(share));
        }
        all.add(&key("printers"), "print", &format!("printers of {name}"), Kind::Choices(printers.clone()), None);
    }
    if project.light.is_some() {
        let strips = catalogue.strips.iter().map(|s| choice(&s.name, &s.title)).collect();
        all.add("light.strip", "light", "strip", Kind::Choice(strips), None);
        all.add(
            "light.rows",
            "light",
            "rows of strip",
            Kind::Number,
            project.light.as_ref().map(|l| l.rows.to_string()),
        );
        let levels = ["full", "even"].map(|v| choice(v, v));
        all.add("light.levels", "light", "how far pixels go", Kind::Choice(levels.into()), Some("full".to_owned()));
        all.add("light.from", "light", "strip begins at", Kind::Length, None);
        all.add("light.to", "light", "strip ends at", Kind::Length, None);
        let level = format!("{} %", (project.strength.level * 100.0).round());
        all.add("strength.level", "light", "brightness it is carried at", Kind::Share, Some(level));
    }
    if project.spine.is_some() {
        let bars = catalogue.bars.iter().map(|b| choice(&b.name, &b.title)).collect();
        all.add("spine.bar", "spine", "spine", Kind::Choice(bars), None);
        all.add("spine.from", "spine", "spine begins at", Kind::Length, None);
        all.add("spine.to", "spine", "spine ends at", Kind::Length, None);
        all.add("spine.longest", "spine", "longest length of it", Kind::Length, None);
    }
    for part in &project.parts {
        let key = |end: &str| format!("part.{}.{end}", quoted(&part.name));
        let kind = part.row.kind;
        let rows = catalogue.parts.iter().filter(|p| p.kind == kind).map(|p| choice(&p.name, &p.title)).collect();
        let group = if kind == prop::catalogue::PartKind::Cell { "power" } else { "bays" };
        all.add(&key("kind"), group, &part.name, Kind::Choice(rows), None);
        all.add(&key("at"), "bays", &format!("place of {}", part.name), Kind::Length, None);
    }
    if project.power.is_some() {
        all.add("power.cap", "power", "most light that is let through", Kind::Share, None);
        all.add("power.day", "power", "how long it is to last", Kind::Text, None);
    }
    all.add("strength.hand", "strength", "where the leading hand holds", Kind::Length, None);
    all.add("strength.other-hand", "strength", "where the other hand holds", Kind::Length, None);
    all.add("prop.inches", "size", "show inches too", Kind::Flag, Some(project.inches.to_string()));
    all.found
}

struct Listed<'t> {
    text: &'t str,
    found: Vec<Control>,
}

impl Listed<'_> {
    fn add(&mut self, key: &str, group: &'static str, label: &str, kind: Kind, default: Option<String>) {
        let plain = value_at(self.text, key);
        let read = |q: Quantity| plain.as_deref().and_then(|t| q.read(t).ok());
        let (word, si, choices) = match kind {
            Kind::Length => ("length", read(Quantity::Length), None),
            Kind::Share => ("share", read(Quantity::Share), None),
            Kind::Number => ("number", plain.as_deref().and_then(|t| t.parse().ok()), None),
            Kind::Flag => ("flag", None, None),
            Kind::Text => ("text", None, None),
            Kind::Choice(all) => ("choice", None, Some(all)),
            Kind::Choices(all) => ("choices", None, Some(all)),
        };
        let value = plain.as_deref().map_or(serde_json::Value::Null, |text| match word {
            "number" | "flag" => serde_json::from_str(text).unwrap_or_else(|_| text.into()),
            "choices" => list(text),
            _ => text.into(),
        });
        self.found.push(Control {
            key: key.to_owned(),
            group,
            label: label.to_owned(),
            kind: word,
            value,
            si,
            choices,
            default,
        });
    }
}

/// A list of texts as it stands in the file.
fn list(text: &str) -> serde_json::Value {
    let read = format!("v = {text}").parse::<DocumentMut>().ok();
    let items = read.as_ref().and_then(|d| d["v"].as_array().cloned());
    items.map_or_else(
        || text.into(),
        |all| all.iter().filter_map(|v| v.as_str().map(str::to_owned)).collect::<Vec<_>>().into(),
    )
}

/// A name as a part of a key.
pub(crate) fn quoted(name: &str) -> String {
    let bare = !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_');
    if bare { name.to_owned() } else { toml_edit::Value::from(name).to_string() }
}
