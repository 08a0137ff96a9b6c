//! A filled-in sheet as rows of named fields, every field with its place.

use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::fields::{Report, nearest_help};
use crate::quantity::Wanted;
use std::ops::Range;

/// A sheet with a heading.
pub(super) struct Sheet {
    columns: Vec<String>,
    pub(super) rows: Vec<Row>,
}

/// One filled-in line.
pub(super) struct Row {
    span: Range<usize>,
    fields: Vec<(String, Range<usize>)>,
}

/// A field of a row.
#[derive(Clone)]
pub(super) struct Cell<'s> {
    pub(super) text: &'s str,
    pub(super) column: &'s str,
    span: Range<usize>,
}

impl Sheet {
    /// Reads a sheet: fields parted by commas, semicolons or tabs (whichever the heading uses), lines that begin with
    /// `#` and empty ones left out. Its heading must name `needed`.
    pub(super) fn read(text: &str, needed: &[&str]) -> Result<Sheet, Diagnostics> {
        let report = Report::default();
        let heading = text.lines().find(|l| !l.trim_start_matches('\u{feff}').starts_with('#') && !l.trim().is_empty());
        let count = |c: u8| heading.map_or(0, |h| h.bytes().filter(|b| *b == c).count());
        let delimiter = [b',', b';', b'\t'].into_iter().max_by_key(|c| (count(*c), u8::MAX - *c)).unwrap_or(b',');
        let mut lines = csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .comment(Some(b'#'))
            .has_headers(false)
            .flexible(true)
            .from_reader(text.as_bytes());
        let mut rows = Vec::new();
        for record in lines.records() {
            let record = match record {
                Ok(record) => record,
                Err(error) => {
                    report.add(
                        "",
                        None,
                        format!("this is no sheet: {error}"),
                        "save it as CSV from the program you filled it in with".into(),
                    );
                    break;
                }
            };
            let start = record.position().map_or(0, |p| p.byte() as usize);
            let spans = spans(text, start, delimiter as char, record.len());
            let fields: Vec<(String, Range<usize>)> =
                record.iter().map(|f| f.trim().trim_start_matches('\u{feff}').to_owned()).zip(spans).collect();
            let end = fields.last().map_or(start, |f| f.1.end);
            if fields.iter().any(|f| !f.0.is_empty()) {
                rows.push(Row { span: start..end, fields });
            }
        }
        let mut rows = rows.into_iter();
        let Some(heading) = rows.next() else {
            report.add(
                "",
                None,
                "the sheet is empty".into(),
                format!("its first line names the columns: {}", needed.join(",")),
            );
            return Err(report.into_sorted());
        };
        let columns: Vec<String> = heading.fields.iter().map(|f| f.0.to_lowercase()).collect();
        for name in needed.iter().filter(|n| !columns.iter().any(|c| c == *n)) {
            let help = format!("its first line names the columns: {}", needed.join(","));
            report.add(name, Some(heading.span.clone()), format!("there is no column {name}"), help);
        }
        for (at, (name, span)) in heading.fields.iter().enumerate() {
            if !name.is_empty() && columns[..at].contains(&columns[at]) {
                report.add(name, Some(span.clone()), "this column is there twice".into(), "keep one of the two".into());
            }
        }
        if report.is_empty() { Ok(Sheet { columns, rows: rows.collect() }) } else { Err(report.into_sorted()) }
    }

    /// The field of `row` under `column`, empty when the line ends before it.
    pub(super) fn cell<'s>(&'s self, row: &'s Row, column: &'s str) -> Cell<'s> {
        let at = self.columns.iter().position(|c| c == column);
        let found = at.and_then(|at| row.fields.get(at));
        found.map_or(Cell { text: "", column, span: row.span.clone() }, |(text, span)| Cell {
            text,
            column,
            span: span.clone(),
        })
    }
}

impl Row {
    /// How many fields the line has.
    pub(super) fn len(&self) -> usize {
        self.fields.len()
    }

    /// The field at a place, whatever its column is called.
    pub(super) fn at<'s>(&'s self, at: usize, column: &'s str) -> Option<Cell<'s>> {
        self.fields.get(at).map(|(text, span)| Cell { text, column, span: span.clone() })
    }
}

impl Cell<'_> {
    /// Whether nothing stands in it.
    pub(super) fn is_empty(&self) -> bool {
        self.text.is_empty()
    }

    /// Reports a mistake in it; gives `None`.
    pub(super) fn error<T>(&self, report: &Report, message: impl Into<String>, help: impl Into<String>) -> Option<T> {
        report.add(self.column, Some(self.span.clone()), message.into(), help.into());
        None
    }

    /// A quantity.
    pub(super) fn quantity(&self, report: &Report, wanted: &Wanted) -> Option<f64> {
        if self.is_empty() {
            return self.error(report, "this is missing", wanted.units_help());
        }
        wanted.read(self.text).map_err(|e| self.error::<()>(report, e.to_string(), wanted.help(&e))).ok()
    }

    /// One of some names, capitals aside.
    pub(super) fn one_of<'n, T>(
        &self,
        report: &Report,
        known: impl Iterator<Item = (&'n str, T)> + Clone,
        what: &str,
    ) -> Option<T> {
        let lower = self.text.to_lowercase();
        if let Some((_, found)) = known.clone().find(|(name, _)| name.to_lowercase() == lower) {
            return Some(found);
        }
        let message =
            if self.is_empty() { "this is missing".to_owned() } else { format!("{:?} is not known here", self.text) };
        self.error(report, message, nearest_help(self.text, known.map(|(name, _)| name), what))
    }
}

/// Where each field of the line at `start` stands in the text.
fn spans(text: &str, start: usize, delimiter: char, count: usize) -> Vec<Range<usize>> {
    let line = text.get(start..).unwrap_or("");
    // Lines left out before this one belong to its place as the reader counts it.
    let skipped = line
        .split_inclusive('\n')
        .take_while(|l| l.starts_with('#') || l.trim().is_empty())
        .map(str::len)
        .sum::<usize>();
    let start = start + skipped;
    let mut spans = Vec::new();
    let (mut from, mut quoted) = (start, false);
    for (at, c) in text.get(start..).unwrap_or("").char_indices() {
        match c {
            '"' => quoted = !quoted,
            '\n' if !quoted => {
                spans.push(from..start + at);
                break;
            }
            c if c == delimiter && !quoted => {
                spans.push(from..start + at);
                from = start + at + c.len_utf8();
            }
            _ => {}
        }
    }
    if spans.len() < count {
        spans.push(from..text.len());
    }
    // A field that is all blank is still pointed at.
    spans.resize(count, text.len()..text.len());
    spans.into_iter().map(|s| trimmed(text, s)).collect()
}

fn trimmed(text: &str, span: Range<usize>) -> Range<usize> {
    let Some(inner) = text.get(span.clone()) else { return span };
    let front = inner.len() - inner.trim_start().len();
    let inner = inner.trim();
    if inner.is_empty() { span.start..span.end } else { span.start + front..span.start + front + inner.len() }
}

/// All that was reported, or the result.
pub(super) fn settled<T>(report: Report, made: T) -> Result<T, Diagnostics> {
    if report.is_empty() { Ok(made) } else { Err(report.into_sorted()) }
}

/// A mistake about the sheet as a whole.
pub(super) fn whole(message: &str, help: &str) -> Diagnostics {
    Diagnostics(vec![Diagnostic { key: String::new(), span: None, message: message.into(), help: help.into() }])
}
