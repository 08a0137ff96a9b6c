//! What things cost, and amounts of them: by the gram, millilitre, metre, square centimetre or piece.

use super::rows::{Named, Standing};
use crate::fields::{Field, Fields};
use crate::quantity::{Quantity, QuantityError};

/// What an amount is counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Grams.
    Gram,
    /// Millilitres.
    Ml,
    /// Metres.
    Metre,
    /// Square centimetres.
    Cm2,
    /// Pieces, sheets, pairs.
    Piece,
}

impl Unit {
    /// Its sign, singular where it has one.
    pub fn word(self) -> &'static str {
        match self {
            Unit::Gram => "g",
            Unit::Ml => "ml",
            Unit::Metre => "m",
            Unit::Cm2 => "cm2",
            Unit::Piece => "pieces",
        }
    }
}

/// So much of something.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Amount {
    /// How many of the unit.
    pub count: f64,
    /// What is counted.
    pub unit: Unit,
}

impl Amount {
    /// "400 g", "12.5 ml", "3 pieces".
    pub fn words(&self) -> String {
        match self.unit {
            Unit::Piece if (self.count - 1.0).abs() < 1e-9 => "1 piece".to_owned(),
            Unit::Piece => format!("{:.0} pieces", self.count),
            Unit::Metre => format!("{:.2} m", self.count),
            unit if self.count < 10.0 => format!("{:.1} {}", self.count, unit.word()),
            unit => format!("{:.0} {}", self.count, unit.word()),
        }
    }
}

/// What something costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Price {
    /// The row that it is the price of.
    pub name: String,
    /// Least and most, in the currency of the list.
    pub each: [f64; 2],
    /// What is had for that.
    pub per: Amount,
    /// Day of the list, "2026-01-15".
    pub dated: String,
    /// Where it is from.
    pub source: String,
}

impl Named for Price {
    fn name(&self) -> &str {
        &self.name
    }
}

/// The currency of the built-in list.
pub(crate) const CURRENCY: &str = "EUR";
/// The day of the built-in list, and where it is from.
const DATED: &str = "2026-01-15";
const SOURCE: &str = "round figure from memory, of no shop: say your own";
/// Nothing that goes into a prop costs more.
const MOST: f64 = 1e6;

/// Reads a row of the built-in list.
pub(super) fn price(mut row: Fields<'_>, _: Standing<'_, Price>) -> Option<Price> {
    let each = row.need("each", "each = [\"18 EUR\", \"30 EUR\"]").and_then(|f| monies(&f, CURRENCY));
    let per = row.need("per", "per = \"1 kg\"").and_then(|f| amount(&f));
    let name = row.name.clone();
    row.finish();
    Some(Price { name, each: each?, per: per?, dated: DATED.to_owned(), source: SOURCE.to_owned() })
}

/// Reads a price of the project, over that of the list.
pub(crate) fn own(mut row: Fields<'_>, base: Option<&Price>, currency: &str) -> Option<Price> {
    let example = format!("each = [\"18 {currency}\", \"30 {currency}\"]");
    let each = row.need("each", &example).and_then(|f| monies(&f, currency));
    let per = match (row.get("per"), base) {
        (Some(field), _) => amount(&field),
        (None, Some(base)) => Some(base.per),
        (None, None) => row.need("per", "per = \"1 piece\", \"1 kg\", \"400 ml\", \"1 m\" or \"1 m2\"").and(None),
    };
    let dated = row.text("dated", Some("undated"));
    let source = row.text("source", Some("the project file"));
    let name = row.name.clone();
    row.finish();
    Some(Price { name, each: each?, per: per?, dated: dated?, source: source? })
}

/// One price, or the least and the most.
fn monies(field: &Field<'_>, currency: &str) -> Option<[f64; 2]> {
    let items = field.one_or_more(&format!("[\"18 {currency}\", \"30 {currency}\"]"))?;
    let read: Option<Vec<f64>> = items.iter().map(|item| money(item, currency)).collect();
    match read?.as_slice() {
        [one] => Some([*one; 2]),
        [least, most] if least <= most => Some([*least, *most]),
        [_, _] => field.error("the lowest price is higher than the highest", "write the lower one first"),
        _ => field.error("this is one price, or the lowest and the highest", "write one or two prices"),
    }
}

/// An amount of money, such as "25 EUR".
pub(crate) fn money(field: &Field<'_>, currency: &str) -> Option<f64> {
    let text = field.text()?.trim();
    let example = format!("write a number and {currency}, for example \"25 {currency}\"");
    let Some((number, code)) = text.rsplit_once(' ') else {
        return field.error(format!("{text:?} has no currency"), example);
    };
    let Ok(value) = number.trim().parse::<f64>() else {
        return field.error(format!("{number:?} is not a number"), example);
    };
    if code != currency {
        let message = format!("prices are in {currency} here, and this is in {code}");
        return field.error(message, "convert it, or name the currency: [cost] currency = \"...\" with its rate");
    }
    if !(0.0..=MOST).contains(&value) {
        return field.error(format!("{text} is no price"), "a price is nothing or more, and less than a million");
    }
    Some(value)
}

/// An amount with its unit.
pub(crate) fn amount(field: &Field<'_>) -> Option<Amount> {
    const KINDS: [(Quantity, Unit, f64); 4] = [
        (Quantity::Mass, Unit::Gram, 1.0),
        (Quantity::Volume, Unit::Ml, 1.0),
        (Quantity::Length, Unit::Metre, 1e-3),
        (Quantity::Area, Unit::Cm2, 1.0),
    ];
    const HELP: &str = "write how much it is: \"400 g\", \"250 ml\", \"2 m\", \"300 cm2\" or \"3 pieces\"";
    let text = field.text()?.trim();
    let counted = text.strip_suffix("pieces").or_else(|| text.strip_suffix("piece"));
    let read = match counted {
        Some(number) => match number.trim().parse::<f64>() {
            Ok(count) => Amount { count, unit: Unit::Piece },
            Err(_) => return field.error(format!("{:?} is not a number", number.trim()), HELP),
        },
        None => {
            let found = KINDS.iter().find_map(|(kind, unit, factor)| match kind.read(text) {
                Ok(value) => Some(Ok(Amount { count: value * factor, unit: *unit })),
                Err(QuantityError::WrongUnit { .. } | QuantityError::UnknownUnit { .. }) => None,
                Err(error) => Some(Err(error)),
            });
            match found {
                Some(Ok(amount)) => amount,
                Some(Err(error)) => return field.error(error.to_string(), HELP),
                None => return field.error(format!("{text:?} is no amount"), HELP),
            }
        }
    };
    if !(0.0..=1e9).contains(&read.count) {
        return field.error(format!("{text} is less than nothing, or more than there is"), HELP);
    }
    Some(read)
}
