//! A mistake in the project file: what, where, and the way out.

use std::fmt;
use std::ops::Range;

/// One mistake in the project file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// Dotted key it concerns, such as `light.tape`; empty for the file as a whole.
    pub key: String,
    /// Bytes of the project text to underline; `None` when there is no place to point at.
    pub span: Option<Range<usize>>,
    /// What is wrong, without a full stop.
    pub message: String,
    /// What to write instead, without a full stop.
    pub help: String,
}

/// Every mistake found in one project file, in the order of their places. Never empty as an `Err`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostics(pub Vec<Diagnostic>);

impl Diagnostic {
    /// Plain text with the place, the line it is on, carets underneath, and the help.
    ///
    /// `source` is the project text the span counts in; a span outside it is shown without a line.
    pub fn render(&self, file_name: &str, source: &str) -> String {
        let what = if self.key.is_empty() { self.message.clone() } else { format!("{}: {}", self.key, self.message) };
        let Some(place) = self.place(source) else {
            return format!("{file_name}: {what}\n  to mend it: {}\n", self.help);
        };
        let Place { line, column, text, pad, width } = place;
        let carets = "^".repeat(width);
        format!(
            "{file_name}, line {line}, column {column}: {what}\n{line:>5} | {text}\n      | {pad}{carets}\n  to mend it: {}\n",
            self.help
        )
    }

    /// Where in the project text it is; `None` without a span, or where the span lies outside the text.
    pub fn place(&self, source: &str) -> Option<Place> {
        Place::of(self.span.clone()?, source)
    }
}

impl Diagnostics {
    /// Mistakes in the order of their places, those without a place last.
    pub fn sorted(mut all: Vec<Diagnostic>) -> Diagnostics {
        all.sort_by_key(|d| d.span.as_ref().map_or((usize::MAX, 0), |span| (span.start, span.end)));
        Diagnostics(all)
    }

    /// All mistakes as plain text, a blank line between them.
    pub fn render(&self, file_name: &str, source: &str) -> String {
        let each: Vec<String> = self.0.iter().map(|d| d.render(file_name, source)).collect();
        each.join("\n")
    }
}

impl fmt::Display for Diagnostics {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0.as_slice() {
            [one] => write!(f, "a mistake in the project file: {}: {}", one.key, one.message),
            all => write!(f, "{} mistakes in the project file", all.len()),
        }
    }
}

impl std::error::Error for Diagnostics {}

/// Where a span begins, with what is needed to underline it. Line and column count from 1, columns in characters.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Its line.
    pub line: usize,
    /// Its column.
    pub column: usize,
    /// The line itself, without control characters but tabs.
    pub text: String,
    /// As wide as what stands before it: spaces and tabs.
    pub pad: String,
    /// How many characters to underline, at least one.
    pub width: usize,
}

impl Place {
    fn of(span: Range<usize>, source: &str) -> Option<Place> {
        let before = source.get(..span.start)?;
        let start = before.rfind('\n').map_or(0, |at| at + 1);
        let end = source[span.start..].find('\n').map_or(source.len(), |at| span.start + at);
        let text = source[start..end].trim_end_matches('\r');
        let marked = source.get(span.start..span.end.min(start + text.len())).unwrap_or("");
        Some(Place {
            line: before.matches('\n').count() + 1,
            column: source[start..span.start].chars().count() + 1,
            // A control character in the file must not reach the terminal; a tab may, so the carets keep it.
            text: text.chars().map(|c| if c.is_control() && c != '\t' { '\u{fffd}' } else { c }).collect(),
            pad: source[start..span.start].chars().map(|c| if c == '\t' { '\t' } else { ' ' }).collect(),
            width: marked.trim_end().chars().count().max(1),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(span: Option<Range<usize>>) -> Diagnostic {
        Diagnostic { key: "light.tape".into(), span, message: "too thick".into(), help: "thinner tape".into() }
    }

    #[test]
    fn the_place_counts_characters_and_keeps_tabs() {
        let source = "# für\r\n\ttape = \"9 mm\" # dick\r\n";
        let start = source.find("\"9").unwrap();
        assert_eq!(
            at(Some(start..start + 6)).render("prop.toml", source),
            "prop.toml, line 2, column 9: light.tape: too thick\n    2 | \ttape = \"9 mm\" # dick\n      | \t       ^^^^^^\n  to mend it: thinner tape\n"
        );
    }

    #[test]
    fn ends_and_bad_spans_do_not_panic() {
        let source = "a = 1\nüb";
        let line = |span: Range<usize>| at(Some(span)).render("f", source).lines().next().unwrap_or("").to_owned();
        assert_eq!(line(source.len()..source.len()), "f, line 2, column 3: light.tape: too thick");
        assert_eq!(line(0..1000), "f, line 1, column 1: light.tape: too thick");
        assert_eq!(line(7..8), "f: light.tape: too thick", "a span inside a character has no place");
        assert_eq!(line(90..99), "f: light.tape: too thick");
        assert_eq!(at(None).render("f", ""), "f: light.tape: too thick\n  to mend it: thinner tape\n");
    }
}
