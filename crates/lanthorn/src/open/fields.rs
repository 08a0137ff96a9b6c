//! What of a project can be changed with a control of its own, with what stands in the file now.

use super::edit::value_at;
use prop::catalogue::Catalogue;
use prop::outcome::Role;
use prop::project::Project;
use prop::quantity::Quantity;
use serde::Serialize;
use toml_edit::DocumentMut;

/// What a control is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
pub(crate) enum Group {
    Size,
    Wall,
    Print,
    Light,
    Spine,
    Bays,
    Power,
    Strength,
}

/// How a value is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "FieldKind"))]
#[serde(rename_all = "lowercase")]
pub(crate) enum ControlKind {
    Length,
    Share,
    Number,
    Flag,
    Text,
    Choice,
    Choices,
}

/// What stands in the file.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(untagged)]
pub(crate) enum Held {
    Flag(bool),
    Number(f64),
    Text(String),
    List(Vec<String>),
}

/// A control.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Field"))]
pub(crate) struct Control {
    key: String,
    group: Group,
    label: String,
    kind: ControlKind,
    value: Option<Held>,
    si: Option<f64>,
    choices: Option<Vec<Choice>>,
    default: Option<String>,
}

#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Choice {
    value: String,
    title: String,
}

fn choice(value: &str, title: &str) -> Choice {
    Choice { value: value.to_owned(), title: title.to_owned() }
}

/// The same, with what there is to choose from.
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
    all.add("prop.name", Group::Size, "name", Kind::Text, None);
    all.add("wearer.height", Group::Size, "height of the wearer", Kind::Length, None);
    all.add("shape.length", Group::Size, "length", Kind::Length, project.shape.length_mm.map(mm));
    let printers: Vec<Choice> = project.printers.iter().map(|p| choice(&p.name, &p.name)).collect();
    for body in &project.bodies {
        let key = |end: &str| format!("body.{}.{end}", quoted(&body.name));
        let name = &body.name;
        if body.role == Role::Lit {
            all.add(&key("wall"), Group::Wall, &format!("wall of {name}"), Kind::Length, Some(mm(body.wall_mm)));
        }
        if body.role == Role::Plain {
            let share = format!("{} %", (body.infill * 100.0).round());
            all.add(&key("infill"), Group::Wall, &format!("infill of {name}"), Kind::Share, Some(share));
        }
        all.add(&key("printers"), Group::Print, &format!("printers of {name}"), Kind::Choices(printers.clone()), None);
    }
    if project.light.is_some() {
        let strips = catalogue.strips.iter().map(|s| choice(&s.name, &s.title)).collect();
        all.add("light.strip", Group::Light, "strip", Kind::Choice(strips), None);
        all.add(
            "light.rows",
            Group::Light,
            "rows of strip",
            Kind::Number,
            project.light.as_ref().map(|l| l.rows.to_string()),
        );
        let levels = ["full", "even"].map(|v| choice(v, v));
        all.add(
            "light.levels",
            Group::Light,
            "how far pixels go",
            Kind::Choice(levels.into()),
            Some("full".to_owned()),
        );
        all.add("light.from", Group::Light, "strip begins at", Kind::Length, None);
        all.add("light.to", Group::Light, "strip ends at", Kind::Length, None);
        let level = format!("{} %", (project.strength.level * 100.0).round());
        all.add("strength.level", Group::Light, "brightness it is carried at", Kind::Share, Some(level));
    }
    if project.spine.is_some() {
        let bars = catalogue.bars.iter().map(|b| choice(&b.name, &b.title)).collect();
        all.add("spine.bar", Group::Spine, "spine", Kind::Choice(bars), None);
        all.add("spine.from", Group::Spine, "spine begins at", Kind::Length, None);
        all.add("spine.to", Group::Spine, "spine ends at", Kind::Length, None);
        all.add("spine.longest", Group::Spine, "longest length of it", Kind::Length, None);
    }
    for part in &project.parts {
        let key = |end: &str| format!("part.{}.{end}", quoted(&part.name));
        let kind = part.row.kind;
        let rows = catalogue.parts.iter().filter(|p| p.kind == kind).map(|p| choice(&p.name, &p.title)).collect();
        let group = if kind == prop::catalogue::PartKind::Cell { Group::Power } else { Group::Bays };
        all.add(&key("kind"), group, &part.name, Kind::Choice(rows), None);
        all.add(&key("at"), Group::Bays, &format!("place of {}", part.name), Kind::Length, None);
    }
    if project.power.is_some() {
        all.add("power.cap", Group::Power, "most light that is let through", Kind::Share, None);
        all.add("power.day", Group::Power, "how long it is to last", Kind::Text, None);
    }
    all.add("strength.hand", Group::Strength, "where the leading hand holds", Kind::Length, None);
    all.add("strength.other-hand", Group::Strength, "where the other hand holds", Kind::Length, None);
    all.add("prop.inches", Group::Size, "show inches too", Kind::Flag, Some(project.inches.to_string()));
    all.found
}

struct Listed<'t> {
    text: &'t str,
    found: Vec<Control>,
}

impl Listed<'_> {
    fn add(&mut self, key: &str, group: Group, label: &str, kind: Kind, default: Option<String>) {
        let plain = value_at(self.text, key);
        let read = |q: Quantity| plain.as_deref().and_then(|t| q.read(t).ok());
        let (kind, si, choices) = match kind {
            Kind::Length => (ControlKind::Length, read(Quantity::Length), None),
            Kind::Share => (ControlKind::Share, read(Quantity::Share), None),
            Kind::Number => (ControlKind::Number, plain.as_deref().and_then(|t| t.parse().ok()), None),
            Kind::Flag => (ControlKind::Flag, None, None),
            Kind::Text => (ControlKind::Text, None, None),
            Kind::Choice(all) => (ControlKind::Choice, None, Some(all)),
            Kind::Choices(all) => (ControlKind::Choices, None, Some(all)),
        };
        let value = plain.map(|text| match kind {
            ControlKind::Number => text.parse().ok().map(Held::Number).unwrap_or(Held::Text(text)),
            ControlKind::Flag => text.parse().ok().map(Held::Flag).unwrap_or(Held::Text(text)),
            ControlKind::Choices => list(&text).map(Held::List).unwrap_or(Held::Text(text)),
            _ => Held::Text(text),
        });
        self.found.push(Control {
            key: key.to_owned(),
            group,
            label: label.to_owned(),
            kind,
            value,
            si,
            choices,
            default,
        });
    }
}

/// A list of texts as it stands in the file.
fn list(text: &str) -> Option<Vec<String>> {
    let read = format!("v = {text}").parse::<DocumentMut>().ok()?;
    Some(read["v"].as_array()?.iter().filter_map(|v| v.as_str().map(str::to_owned)).collect())
}

/// A name as a part of a key.
pub(crate) fn quoted(name: &str) -> String {
    let bare = !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_');
    if bare { name.to_owned() } else { toml_edit::Value::from(name).to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn controls_show_values_and_not_the_remarks_behind_them() {
        let text = "[light]\nrows = 2 # both edges\nlevels = \"full\" # all\n[prop]\ninches = true # for the club\n[body.leaf]\nwall = \"2 mm\" # printed\nprinters = [\"wide\", # at home\n  \"tall\"] # both\n";
        let mut all = Listed { text, found: Vec::new() };
        for (key, kind) in [
            ("light.rows", Kind::Number),
            ("light.levels", Kind::Choice(Vec::new())),
            ("prop.inches", Kind::Flag),
            ("body.leaf.wall", Kind::Length),
            ("body.leaf.printers", Kind::Choices(Vec::new())),
            ("body.leaf.infill", Kind::Share),
        ] {
            all.add(key, Group::Size, key, kind, None);
        }
        let shown: Vec<(Option<Held>, Option<f64>)> = all.found.into_iter().map(|c| (c.value, c.si)).collect();
        let words = |all: &[&str]| all.iter().map(|w| (*w).to_owned()).collect();
        assert_eq!(
            shown,
            [
                (Some(Held::Number(2.0)), Some(2.0)),
                (Some(Held::Text("full".to_owned())), None),
                (Some(Held::Flag(true)), None),
                (Some(Held::Text("2 mm".to_owned())), Some(2.0)),
                (Some(Held::List(words(&["wide", "tall"]))), None),
                (None, None),
            ]
        );
    }
}
