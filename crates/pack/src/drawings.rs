//! The drawings alone, without the rest of a pack.

use crate::svg::Sheet;
use crate::{PackError, check, inside, light, plates, rehearsal, sections, side, strength, wiring, work};
use prop::outcome::Outcome;

/// A drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrawingFile {
    /// Its name in the pack's `drawings`, without the ending.
    pub name: String,
    /// What it shows.
    pub title: String,
    /// SVG.
    pub svg: Vec<u8>,
}

/// Every drawing that a pack of `outcome` has, in the order in which they are looked at.
///
/// # Errors
/// As [`crate::pack`].
pub fn drawings(outcome: &Outcome) -> Result<Vec<DrawingFile>, PackError> {
    check::writable(outcome)?;
    let imprint = outcome.imprint.lines();
    let own = |name: &str, sheet: Sheet| (format!("drawings/{name}.svg"), sheet);
    let mut all = vec![
        own("side", side::draw(outcome)),
        own("inside", inside::draw(outcome)),
        own("sections", sections::draw(outcome)),
        own("plates", plates::draw(outcome)),
    ];
    all.extend(light::draw(outcome));
    all.extend(strength::draw(outcome));
    all.extend(wiring::draw(outcome).map(|sheet| own("wiring", sheet)));
    all.extend(rehearsal::of_pack(outcome)?.0.map(|sheet| own("rehearsal", sheet)));
    all.extend(work::draw(outcome).map(|sheet| own("plan", sheet)));
    let file = |(path, sheet): (String, Sheet)| DrawingFile {
        name: path.trim_start_matches("drawings/").trim_end_matches(".svg").to_owned(),
        title: sheet.title().to_owned(),
        svg: sheet.signed(&imprint).to_file().into(),
    };
    Ok(all.into_iter().map(file).collect())
}
