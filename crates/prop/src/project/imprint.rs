//! `[credits]`: whose pattern it is, and on what terms it may be used.

use super::cuts::{each, list};
use crate::fields::{Field, Fields};

/// Longest line, characters: it stands on the foot of every sheet.
const LONGEST: usize = 160;

/// What a published pattern carries on every sheet.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Imprint {
    /// `credits.author`.
    pub author: Option<String>,
    /// `credits.licence`.
    pub licence: Option<String>,
    /// `credits.also`: who else is to be named, and for what.
    pub also: Vec<String>,
    /// What was said for this build alone, such as `wearer.height = "182 cm"`; the project file says nothing of it.
    pub changed: Vec<String>,
}

impl Imprint {
    /// In parts of a line, in the order they are printed; none where nothing is said.
    pub fn lines(&self) -> Vec<String> {
        let worded = |word: &str, text: &Option<String>| text.as_ref().map(|t| format!("{word}: {t}"));
        let mut lines: Vec<String> = worded("Author", &self.author).into_iter().collect();
        lines.extend(worded("Licence", &self.licence));
        lines.extend(self.also.iter().cloned());
        if !self.changed.is_empty() {
            lines.push(format!("Made for {}", self.changed.join(", ")));
        }
        lines
    }
}

pub(super) fn read_imprint(root: &mut Fields<'_>) -> Option<Imprint> {
    let Some(field) = root.get("credits") else { return Some(Imprint::default()) };
    let mut table = field.table()?;
    let author = table.optional("author", |f| line(&f));
    let licence = table.optional("licence", |f| line(&f));
    let also = each(&list(&mut table, "also", "[\"shape by a friend\"]"), line);
    table.finish();
    Some(Imprint { author: author?, licence: licence?, also: also?, changed: Vec::new() })
}

fn line(field: &Field<'_>) -> Option<String> {
    let text = field.text()?.trim();
    if text.chars().any(char::is_control) {
        return field.error("this is more than one line", "write it on one line; `also` takes a list of them");
    }
    match text.chars().count() {
        0..=LONGEST => Some(text.to_owned()),
        long => field.error(
            format!("{long} characters are too long for the foot of a sheet"),
            format!("keep it to {LONGEST}; `also` takes a list of lines"),
        ),
    }
}

#[cfg(test)]
mod tests {
    use crate::catalogue::Catalogue;
    use crate::project::parse;

    /// A project with its [shape] begun last.
    fn with(rest: &str) -> String {
        let least = "[prop]\nname = \"Lamp\"\n[printer.wide]\nkind = \"filament-220\"\n[shape]\nfile = \"lamp.stl\"\n";
        format!("{least}{rest}")
    }

    #[test]
    fn credits_are_read_and_each_mistake_is_told() {
        let parsed = |text: &str| parse(&with(text), &Catalogue::built_in());
        let found = parsed("[credits]\nauthor = \"A. Warden\"\nlicence = \"CC BY-SA 4.0\"\nalso = [\"shape by B\"]\n");
        let lines = found.map(|p| p.imprint.lines());
        assert_eq!(lines, Ok(vec!["Author: A. Warden".into(), "Licence: CC BY-SA 4.0".into(), "shape by B".into()]));
        assert_eq!(parsed("").map(|p| p.imprint.lines()), Ok(vec![]));
        let long = "x".repeat(161);
        let text = format!("[credits]\nauthor = \"\"\nlicence = \"{long}\"\nalso = [\"a\\nb\", 3]\nbuy = \"x\"\n");
        let Err(told) = parsed(&text) else { panic!("accepted") };
        let said: Vec<&str> = told.0.iter().map(|d| d.message.as_str()).collect();
        assert_eq!(said.len(), 5, "{said:?}");
        assert!(said[0].contains("this is empty") && said[1].contains("161 characters"), "{said:?}");
        assert!(said[2].contains("more than one line") && said[4].contains("no such key"), "{said:?}");
    }

    #[test]
    fn a_length_can_follow_the_wearer() {
        let length = |shape: &str, wearer: &str| {
            parse(&with(&format!("{shape}\n{wearer}")), &Catalogue::built_in()).map(|p| p.shape.length_mm)
        };
        let tall = |height: &str| format!("[wearer]\nheight = \"{height}\"\n");
        assert_eq!(length("of-wearer = \"88 %\"", &tall("175 cm")), Ok(Some(1540.0)));
        assert_eq!(length("of-wearer = \"88 %\"", &tall("2 m")), Ok(Some(1760.0)));
        let told = |shape: &str, wearer: &str| length(shape, wearer).map_err(|d| d.0[0].message.clone()).unwrap_err();
        assert!(told("of-wearer = \"88 %\"", "").contains("nobody's height"));
        assert!(told("length = \"1 m\"\nof-wearer = \"88 %\"", &tall("2 m")).contains("two lengths"));
        assert!(told("of-wearer = \"249 %\"", &tall("2.5 m")).contains("6225 mm"));
    }
}
