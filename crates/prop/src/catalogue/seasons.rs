//! The air where it is sprayed, month by month.

use super::rows::{Named, Standing, title_and_source};
use crate::fields::Fields;
use crate::quantity::{Quantity, Wanted};

/// A place's air through the year.
#[derive(Clone, Debug, PartialEq)]
pub struct Season {
    /// Catalogue name.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// Mean of the day's highest temperature, January to December, °C.
    pub highest_c: [f64; 12],
    /// Mean relative humidity in the afternoon, January to December, 0 to 1.
    pub humidity: [f64; 12],
    /// Source of the row.
    pub source: String,
}

impl Named for Season {
    fn name(&self) -> &str {
        &self.name
    }
}

const AIR: Wanted = Wanted::of(Quantity::Temperature, -60.0, 60.0, "15 C");
const DAMP: Wanted = Wanted::of(Quantity::Share, 0.0, 1.0, "70 %");

pub(crate) fn season(mut row: Fields<'_>, standing: Standing<'_, Season>) -> Option<Season> {
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |s| &s.title);
    let mut months = |key, wanted: &Wanted, usual: Option<[f64; 12]>| match (row.get(key), usual) {
        (Some(field), _) => field.quantities(wanted),
        (None, Some(usual)) => Some(usual),
        (None, None) => row.need(key, &format!("{key} = [...], twelve of them from January on")).and(None),
    };
    let highest = months("highest", &AIR, base.map(|s| s.highest_c));
    let humidity = months("humidity", &DAMP, base.map(|s| s.humidity));
    let name = row.name.clone();
    row.finish();
    Some(Season { name, title: title?, highest_c: highest?, humidity: humidity?, source: source? })
}
