//! Reading tables of a TOML text key by key, so that every mistake is reported at its place and none hides another.
//!
//! A reader asks a [`Fields`] for each key it knows; a key that nobody asked for is unknown. What cannot be read comes
//! out as `None` and has then been reported, so a reader goes on and gives up only when it puts its result together.

use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::quantity::{Quantity, Wanted};
use std::cell::RefCell;
use std::ops::{Range, RangeInclusive};
use toml::Spanned;
use toml::de::{DeString, DeTable, DeValue};

/// Mistakes found so far.
#[derive(Default)]
pub(crate) struct Report(RefCell<Vec<Diagnostic>>);

/// A table that is being read.
pub(crate) struct Fields<'t> {
    /// The table's own name: the last part of its key.
    pub(crate) name: String,
    key: String,
    span: Option<Range<usize>>,
    table: &'t DeTable<'t>,
    report: &'t Report,
    asked: Vec<&'static str>,
}

/// A value that is being read.
#[derive(Clone)]
pub(crate) struct Field<'t> {
    /// Its dotted key, such as `cuts.lock[2]`.
    pub(crate) key: String,
    name: Option<&'t Spanned<DeString<'t>>>,
    value: &'t Spanned<DeValue<'t>>,
    report: &'t Report,
}

impl Report {
    /// Notes a mistake.
    pub(crate) fn add(&self, key: &str, span: Option<Range<usize>>, message: String, help: String) {
        self.0.borrow_mut().push(Diagnostic { key: key.to_owned(), span, message, help });
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.0.borrow().is_empty()
    }

    /// All mistakes in the order of their places.
    pub(crate) fn into_sorted(self) -> Diagnostics {
        Diagnostics::sorted(self.0.into_inner())
    }
}

impl<'t> Fields<'t> {
    /// The whole file.
    pub(crate) fn root(table: &'t DeTable<'t>, report: &'t Report) -> Fields<'t> {
        Fields { name: String::new(), key: String::new(), span: None, table, report, asked: Vec::new() }
    }

    fn key_of(&self, name: &str) -> String {
        if self.key.is_empty() { name.to_owned() } else { format!("{}.{name}", self.key) }
    }

    /// The value of `name`, if it is there.
    pub(crate) fn get(&mut self, name: &'static str) -> Option<Field<'t>> {
        if !self.asked.contains(&name) {
            self.asked.push(name);
        }
        self.table.get_key_value(name).map(|(key, value)| self.field(key, value))
    }

    fn missing(&self, name: &str, example: &str) {
        let what = if self.key.is_empty() { "table" } else { "key" };
        let message = format!("this {what} is missing");
        self.report.add(&self.key_of(name), self.span.clone(), message, format!("add {example}"));
    }

    /// The value of `name`; reported when it is not there. `example` is what to write.
    pub(crate) fn need(&mut self, name: &'static str, example: &str) -> Option<Field<'t>> {
        let found = self.get(name);
        if found.is_none() {
            self.missing(name, example);
        }
        found
    }

    /// The quantity `name`, or `default` when it is not there; reported when there is neither.
    pub(crate) fn quantity(&mut self, name: &'static str, wanted: &Wanted, default: Option<f64>) -> Option<f64> {
        match default {
            Some(default) => self.get(name).map_or(Some(default), |field| field.quantity(wanted)),
            None => self.need(name, &format!("{name} = {:?}", wanted.example))?.quantity(wanted),
        }
    }

    /// The quantity `name` where leaving it out has a meaning of its own. The outer `None` has been reported.
    #[expect(clippy::option_option, reason = "absent and unreadable are two things here")]
    pub(crate) fn optional_quantity(&mut self, name: &'static str, wanted: &Wanted) -> Option<Option<f64>> {
        self.optional(name, |field| field.quantity(wanted))
    }

    /// One of `choices` by name, or `default`.
    pub(crate) fn choice<T: Copy>(
        &mut self,
        name: &'static str,
        choices: &[(&'static str, T)],
        default: Option<T>,
    ) -> Option<T> {
        match (self.get(name), default) {
            (Some(field), _) => field.choice(choices),
            (None, Some(default)) => Some(default),
            (None, None) => {
                let example = choices.first().map_or("", |(word, _)| word);
                self.missing(name, &format!("{name} = {example:?}"));
                None
            }
        }
    }

    /// Whatever `read` makes of the value, where leaving it out has a meaning of its own.
    #[expect(clippy::option_option, reason = "absent and unreadable are two things here")]
    pub(crate) fn optional<T>(
        &mut self,
        name: &'static str,
        read: impl Fn(Field<'t>) -> Option<T>,
    ) -> Option<Option<T>> {
        self.get(name).map_or(Some(None), |field| read(field).map(Some))
    }

    /// `true` or `false`, or `default`.
    pub(crate) fn flag(&mut self, name: &'static str, default: bool) -> Option<bool> {
        self.get(name).map_or(Some(default), |field| field.flag())
    }

    /// A text, or `default`; reported when there is neither.
    pub(crate) fn text(&mut self, name: &'static str, default: Option<&str>) -> Option<String> {
        match default {
            Some(default) => self.get(name).map_or(Some(default.to_owned()), |field| field.text().map(str::to_owned)),
            None => self.need(name, &format!("{name} = \"...\""))?.text().map(str::to_owned),
        }
    }

    /// The tables `[name.ANYTHING]` in the order of the file.
    pub(crate) fn named_tables(&mut self, name: &'static str) -> Vec<Fields<'t>> {
        let Some(of) = self.get(name).and_then(|field| field.table()) else { return Vec::new() };
        let mut entries: Vec<_> = of.table.iter().map(|(key, _)| (key.span().start, key.get_ref().as_ref())).collect();
        entries.sort_unstable();
        let field = |name: &str| of.table.get_key_value(name).map(|(key, value)| of.field(key, value));
        entries.iter().filter_map(|(_, name)| field(name)?.table()).collect()
    }

    fn field(&self, key: &'t Spanned<DeString<'t>>, value: &'t Spanned<DeValue<'t>>) -> Field<'t> {
        Field { name: Some(key), key: self.key_of(key.get_ref()), value, report: self.report }
    }

    /// Whether the key is there; it counts as known only when it is read.
    pub(crate) fn has(&self, name: &str) -> bool {
        self.table.contains_key(name)
    }

    /// Reports a mistake about the table itself, at its name.
    pub(crate) fn error(&self, message: impl Into<String>, help: impl Into<String>) {
        self.report.add(&self.key, self.span.clone(), message.into(), help.into());
    }

    /// Reports a mistake about the value of `name`, which is there.
    pub(crate) fn error_at(&self, name: &str, message: String, help: &str) {
        let span = self.table.get(name).map(Spanned::span);
        self.report.add(&self.key_of(name), span, message, help.to_owned());
    }

    /// Reports the keys that nobody asked for.
    pub(crate) fn finish(self) {
        let root = self.key.is_empty();
        for (key, _) in self.table {
            let name = key.get_ref().as_ref();
            if !self.asked.contains(&name) {
                let message =
                    if root { format!("there is no table [{name}]") } else { "there is no such key".to_owned() };
                let what =
                    if root { "the table of a body is [body.NAME]; other tables are" } else { "what can stand here" };
                let help = nearest_help(name, self.asked.iter().copied(), what);
                self.report.add(&self.key_of(name), Some(key.span()), message, help);
            }
        }
    }
}

impl<'t> Field<'t> {
    /// Reports a mistake about this value. Gives `None`, so that it can end a chain.
    pub(crate) fn error<T>(&self, message: impl Into<String>, help: impl Into<String>) -> Option<T> {
        self.report.add(&self.key, Some(self.value.span()), message.into(), help.into());
        None
    }

    fn wrong_type<T>(&self, wanted: &str, help: impl Into<String>) -> Option<T> {
        self.error(format!("this must be {wanted}, not {}", kind(self.value.get_ref())), help)
    }

    /// A quantity within its range.
    pub(crate) fn quantity(&self, wanted: &Wanted) -> Option<f64> {
        match self.value.get_ref() {
            DeValue::String(text) => match wanted.read(text) {
                Ok(value) => Some(value),
                Err(error) => self.error(error.to_string(), wanted.help(&error)),
            },
            DeValue::Integer(_) | DeValue::Float(_) => self.error("a bare number", wanted.units_help()),
            _ => self.wrong_type("a text in quotes", wanted.units_help()),
        }
    }

    /// Whether it is this text.
    pub(crate) fn is_text(&self, text: &str) -> bool {
        matches!(self.value.get_ref(), DeValue::String(own) if own == text)
    }

    /// A text that is not blank.
    pub(crate) fn text(&self) -> Option<&'t str> {
        match self.value.get_ref() {
            DeValue::String(text) if text.trim().is_empty() => self.error("this is empty", "write something in it"),
            DeValue::String(text) => Some(text),
            _ => self.wrong_type("a text in quotes", "put double quotes round it"),
        }
    }

    /// `true` or `false`.
    pub(crate) fn flag(&self) -> Option<bool> {
        match self.value.get_ref() {
            DeValue::Boolean(flag) => Some(*flag),
            _ => self.wrong_type("true or false", "write true or false, without quotes"),
        }
    }

    /// A whole number within `range`.
    pub(crate) fn whole(&self, range: RangeInclusive<u32>) -> Option<u32> {
        let help = format!("write a whole number from {} to {}, without quotes", range.start(), range.end());
        let DeValue::Integer(number) = self.value.get_ref() else { return self.wrong_type("a whole number", help) };
        match u32::from_str_radix(number.as_str(), number.radix()) {
            Ok(value) if range.contains(&value) => Some(value),
            _ => self.error(format!("{} is out of range", number.as_str()), help),
        }
    }

    /// A plain number within `range`, for what has no unit.
    pub(crate) fn number(&self, range: RangeInclusive<f64>) -> Option<f64> {
        let help = format!("write a number from {} to {}, without quotes", range.start(), range.end());
        let text = match self.value.get_ref() {
            DeValue::Float(number) => number.as_str().replace('_', ""),
            DeValue::Integer(number) if number.radix() == 10 => number.as_str().replace('_', ""),
            _ => return self.wrong_type("a number", help),
        };
        match text.parse::<f64>() {
            Ok(value) if range.contains(&value) => Some(value),
            _ => self.error(format!("{text} is out of range"), help),
        }
    }

    /// One of `choices` by name.
    pub(crate) fn choice<T: Copy>(&self, choices: &[(&'static str, T)]) -> Option<T> {
        let names = choices.iter().map(|(name, _)| *name);
        let DeValue::String(text) = self.value.get_ref() else {
            return self.wrong_type("a text in quotes", nearest_help("", names, "what can stand here"));
        };
        if let Some((_, value)) = choices.iter().find(|(name, _)| *name == text) {
            return Some(*value);
        }
        let help = nearest_help(text, names, "what can stand here");
        self.error(format!("{text:?} is not one of the choices"), help)
    }

    /// The items of a list.
    pub(crate) fn items(&self, example: &str) -> Option<Vec<Field<'t>>> {
        let DeValue::Array(items) = self.value.get_ref() else {
            return self.wrong_type("a list", format!("write it in brackets, for example {example}"));
        };
        let item =
            |(at, value)| Field { key: format!("{}[{}]", self.key, at + 1), name: None, value, report: self.report };
        Some(items.iter().enumerate().map(item).collect())
    }

    /// The items of a list, or the value itself where one is written without brackets.
    pub(crate) fn one_or_more(&self, example: &str) -> Option<Vec<Field<'t>>> {
        match self.value.get_ref() {
            DeValue::String(_) => Some(vec![self.clone()]),
            _ => self.items(example),
        }
    }

    /// Whether it is a list that holds other lists.
    pub(crate) fn is_nested(&self) -> bool {
        matches!(self.value.get_ref(), DeValue::Array(items) if items.iter().any(|i| matches!(i.get_ref(), DeValue::Array(_))))
    }

    /// A list of exactly `N` quantities.
    pub(crate) fn quantities<const N: usize>(&self, wanted: &Wanted) -> Option<[f64; N]> {
        let example = format!("[{}]", vec![format!("{:?}", wanted.example); N].join(", "));
        let items = self.items(&example)?;
        if items.len() != N {
            let help = format!("write exactly {N}, for example {example}");
            return self.error(format!("there must be {N} {} here, not {}", wanted.kind.plural(), items.len()), help);
        }
        let values: Vec<Option<f64>> = items.iter().map(|item| item.quantity(wanted)).collect();
        values.into_iter().collect::<Option<Vec<f64>>>()?.try_into().ok()
    }

    /// Two quantities, the first one smaller.
    pub(crate) fn range(&self, wanted: &Wanted) -> Option<[f64; 2]> {
        let [from, to] = self.quantities(wanted)?;
        if from < to {
            return Some([from, to]);
        }
        let (from, to) = (wanted.kind.show(to), wanted.kind.show(from));
        self.error("the first must be smaller than the second", format!("write them in order: [{from:?}, {to:?}]"))
    }

    /// A table under its own heading. Mistakes about the whole of it are shown at its name.
    pub(crate) fn table(&self) -> Option<Fields<'t>> {
        self.table_such_as(&format!("[{}] on a line of its own, its keys below", self.key))
    }

    /// A table, in braces for example; `example` is what to write.
    pub(crate) fn table_such_as(&self, example: &str) -> Option<Fields<'t>> {
        let DeValue::Table(table) = self.value.get_ref() else {
            return self.wrong_type("a table", format!("write {example}"));
        };
        Some(Fields {
            name: self.name.map_or_else(|| self.key.clone(), |name| name.get_ref().to_string()),
            key: self.key.clone(),
            span: Some(self.name.map_or(self.value.span(), Spanned::span)),
            table,
            report: self.report,
            asked: Vec::new(),
        })
    }

    /// A table in braces, or a list of them; `example` is one.
    pub(crate) fn tables(&self, example: &str) -> Option<Vec<Fields<'t>>> {
        let items = match self.value.get_ref() {
            DeValue::Table(_) => vec![self.clone()],
            _ => self.items(&format!("[{example}]"))?,
        };
        let tables: Vec<Option<Fields<'t>>> = items.iter().map(|item| item.table_such_as(example)).collect();
        tables.into_iter().collect()
    }

    /// Whether it is a table with nothing in it.
    pub(crate) fn is_empty_table(&self) -> bool {
        matches!(self.value.get_ref(), DeValue::Table(table) if table.is_empty())
    }
}

/// Reads TOML. Syntax errors are reported, one for each line; the table comes out when only doubled keys were wrong.
pub(crate) fn document<'t>(text: &'t str, report: &Report) -> Option<Spanned<DeTable<'t>>> {
    let (table, errors) = DeTable::parse_recoverable(text);
    let mut last_line = None;
    let mut usable = true;
    for error in errors {
        let at = error.span().unwrap_or(text.len()..text.len());
        let (start, line) = line_at(text, at.start);
        if error.message().contains("duplicate key") {
            let name = text.get(at.clone()).unwrap_or("");
            let (what, help) = if line.trim_start().starts_with('[') {
                ("table", "join the two, or give this one a name of its own")
            } else {
                ("key", "keep one of the two")
            };
            report.add(name, Some(at), format!("this {what} is already there above"), help.to_owned());
            continue;
        }
        usable = false;
        if last_line != Some(start) {
            let (message, help) = syntax(error.message(), line);
            report.add("", Some(at), message, help);
        }
        last_line = Some(start);
    }
    usable.then_some(table)
}

/// The bytes of the value at `key`, or of the name of a table; the nearest enclosing table when the key is absent.
pub(crate) fn place(text: &str, key: &[&str]) -> Option<Range<usize>> {
    let (table, _) = DeTable::parse_recoverable(text);
    let mut table = table.get_ref();
    let mut place = None;
    for part in key {
        let Some((name, value)) = table.get_key_value(*part) else { break };
        match value.get_ref() {
            DeValue::Table(inner) => {
                place = Some(name.span());
                table = inner;
            }
            _ => return Some(value.span()),
        }
    }
    place
}

/// Whether the text says something at `key` itself.
pub(crate) fn states(text: &str, key: &[&str]) -> bool {
    let (table, _) = DeTable::parse_recoverable(text);
    let mut table = table.get_ref();
    for (at, part) in key.iter().enumerate() {
        match table.get(*part).map(Spanned::get_ref) {
            Some(_) if at + 1 == key.len() => return true,
            Some(DeValue::Table(inner)) => table = inner,
            _ => return false,
        }
    }
    false
}

/// The text at `key`, if there is one.
pub(crate) fn text_at(text: &str, key: &[&str]) -> Option<String> {
    let (table, _) = DeTable::parse_recoverable(text);
    let (last, tables) = key.split_last()?;
    let mut table = table.get_ref();
    for part in tables {
        let DeValue::Table(inner) = table.get(*part)?.get_ref() else { return None };
        table = inner;
    }
    match table.get(*last)?.get_ref() {
        DeValue::String(found) => Some(found.to_string()),
        _ => None,
    }
}

/// The name nearest to `name`, if one is near enough to be meant.
pub(crate) fn nearest<'n>(name: &str, known: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let lower = name.to_lowercase();
    known
        .map(|known| (strsim::damerau_levenshtein(&lower, &known.to_lowercase()), known))
        .filter(|(distance, known)| {
            let length = known.chars().count();
            *distance <= 1 + length / 4 && *distance < length
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, known)| known)
}

/// "did you mean ...?", or the names there are, introduced by `what`.
pub(crate) fn nearest_help<'n>(name: &str, known: impl Iterator<Item = &'n str> + Clone, what: &str) -> String {
    nearest(name, known.clone()).map_or_else(
        || format!("{what}: {}", known.map(|name| format!("{name:?}")).collect::<Vec<_>>().join(", ")),
        |near| format!("did you mean {near:?}?"),
    )
}

fn kind(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a bare number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// Start of the line that byte `at` is on, and the line.
fn line_at(text: &str, at: usize) -> (usize, &str) {
    let before = text.get(..at).unwrap_or(text);
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    (start, text[start..].lines().next().unwrap_or(""))
}

/// A syntax error in a maker's words: message and help.
fn syntax(message: &str, line: &str) -> (String, String) {
    let words = |message: &str, help: &str| (message.to_owned(), help.to_owned());
    if let Some((key, value)) = line.split_once('=') {
        let (key, value) = (key.trim(), value.split('#').next().unwrap_or("").trim());
        if !value.contains('"') && Quantity::ALL.iter().any(|kind| kind.read(value).is_ok()) {
            return (format!("{value} stands without quotes"), format!("write {key} = {value:?}"));
        }
        if message.contains("must be quoted") {
            let plain: String =
                value.chars().filter(|c| !matches!(c, '\u{201c}'..='\u{201f}' | '\u{ab}' | '\u{bb}')).collect();
            let help = format!("write {key} = {plain:?}, with straight double quotes");
            return ("a text without double quotes".to_owned(), help);
        }
        if message.contains("escape") {
            return words(
                "a backslash means something else in double quotes",
                "write / between folders, or \\\\ for one \\",
            );
        }
        if value.starts_with('"') && value.matches('"').count() != 2 {
            let help = "put the text in one pair of double quotes; write feet and inches as \"5 ft 9 in\"";
            return words("the quotes do not pair up", help);
        }
    }
    let help = if message.contains("array") {
        "a list stands in brackets with commas between its items: [\"wide\", \"small\"]"
    } else {
        "a line is a table such as [light], a key such as rows = 2 or wall = \"2 mm\", or a # comment"
    };
    (format!("this cannot be read: {message}"), help.to_owned())
}
