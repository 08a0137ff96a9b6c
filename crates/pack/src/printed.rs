//! Sheets as PDF, for printers: each on a page of its own size, drawn as its SVG is.

use crate::svg::Sheet;
use crate::{Artifact, PackError};
use prop::project::Imprint;
use serde_json::{Value, json};
use typeset::{Facts, Manuscript};

/// The longest side that a page may have, mm: 14 400 units of 1/72 inch (ISO 32000-1, annex C.2).
pub(crate) const LONGEST_MM: f64 = 14_400.0 / 72.0 * 25.4;

/// Where sheets come from.
pub(crate) struct Origin<'a> {
    pub(crate) prop: &'a str,
    pub(crate) imprint: &'a Imprint,
    /// What they were made from, as a text that stands for it.
    pub(crate) made_from: &'a str,
}

/// Whether a sheet is no larger than a page can be.
pub(crate) fn fits(sheet: &Sheet) -> bool {
    sheet.size_mm().into_iter().all(|side| side <= LONGEST_MM)
}

/// Sheets that all fit, as one file; `title` is what they are of the prop.
///
/// # Errors
/// [`PackError::Print`] when it cannot be laid out.
pub(crate) fn pdf(path: String, title: &str, from: &Origin, sheets: &[&Sheet]) -> Result<Artifact, PackError> {
    let facts = Facts {
        title: format!("{}: {title}", from.prop),
        authors: from.imprint.author.iter().cloned().collect(),
        description: from.imprint.lines().join(". "),
        ident: format!("{} {path}", from.made_from),
    };
    let mut manuscript = Manuscript::new(facts, include_str!("printed.typ"));
    let listed = sheets.iter().enumerate().map(|(k, sheet)| -> Value {
        let [width, height] = sheet.size_mm();
        let file = format!("{k}.svg");
        manuscript.add(file.clone(), sheet.to_print());
        json!({ "file": file, "title": sheet.title(), "alt": sheet.told(), "width": width, "height": height })
    });
    let listed = Value::from_iter(listed);
    manuscript.add("sheets.json", listed.to_string());
    let bytes =
        typeset::pdf(&manuscript).map_err(|e| PackError::Print { what: path.clone(), reason: e.to_string() })?;
    Ok(Artifact::new(path, bytes))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::svg::Drawing;
    use solid::DVec2;

    #[test]
    fn a_page_is_no_longer_than_a_file_may_say() {
        let long = |mm: f64| Drawing::new("x", "t".into(), "d".into()).finish(DVec2::new(mm, 10.0));
        assert!(fits(&long(5080.0)) && !fits(&long(5080.1)));
        let from = Origin { prop: "x", imprint: &Imprint::default(), made_from: "0" };
        let made = pdf("long.pdf".into(), "long", &from, &[&long(5080.0)]).expect("it lays out");
        assert!(made.bytes.starts_with(b"%PDF-1.7"));
    }
}
