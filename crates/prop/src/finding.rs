//! A finding: one checked statement with a number.

use serde::Serialize;
use std::borrow::Cow;

/// What a check came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// The measured value breaks its limit.
    Fails,
    /// The band of the measured value straddles its limit.
    Unsure,
    /// Something to know; no limit.
    Note,
    /// The measured value keeps its limit.
    Holds,
}

/// A value with the band it may really lie in.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Band {
    /// Best estimate.
    pub value: f64,
    /// Low end.
    pub low: f64,
    /// High end.
    pub high: f64,
}

impl Band {
    /// A value known as exactly as it is printed.
    pub fn exact(value: f64) -> Band {
        Band { value, low: value, high: value }
    }

    /// A value whose true size lies within plus or minus `spread`.
    pub fn about(value: f64, spread: f64) -> Band {
        Band { value, low: value - spread, high: value + spread }
    }

    /// A value that may be off by these factors (`low` at most 1, `high` at least 1).
    pub fn factor(value: f64, low: f64, high: f64) -> Band {
        Band { value, low: value * low, high: value * high }
    }

    /// The sum of two independent values, ends added (never too narrow).
    #[must_use]
    pub fn plus(self, other: Band) -> Band {
        Band { value: self.value + other.value, low: self.low + other.low, high: self.high + other.high }
    }
}

/// A measured band with its unit ("mm", "g", "s", "mm2", "deg", "1" for a plain number or count).
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Measured {
    /// Best estimate.
    pub value: f64,
    /// Low end of the band.
    pub low: f64,
    /// High end of the band.
    pub high: f64,
    /// Unit.
    pub unit: &'static str,
}

/// The limit a measured value is held against.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Limit {
    /// Smallest allowed value.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub min: Option<f64>,
    /// Largest allowed value.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max: Option<f64>,
    /// Unit.
    pub unit: &'static str,
    /// Where the limit comes from: a key of the project file, a catalogue row, a standard, common practice.
    pub source: String,
}

/// A number that others were worked out from, and who says it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Input {
    /// What it is, in words.
    pub name: Cow<'static, str>,
    /// Its value, as it went into the computation.
    pub value: f64,
    /// Unit, "1" for a plain number or count.
    pub unit: &'static str,
    /// Where it comes from: a key of the project file, a row of the catalogue, a coupon, the pieces as they print.
    pub from: Cow<'static, str>,
}

/// An [`Input`].
pub fn input(
    name: impl Into<Cow<'static, str>>,
    value: f64,
    unit: &'static str,
    from: impl Into<Cow<'static, str>>,
) -> Input {
    Input { name: name.into(), value, unit, from: from.into() }
}

/// Measured on the pieces as they print.
pub const PIECES: &str = "the pieces as they print";
/// Measured on what the maker drew.
pub const SHAPE: &str = "your shape";
/// Read off the light that was followed.
pub const FOLLOWED: &str = "the light that was followed";
/// Set by us.
pub const CHOICE: &str = "our choice";

/// One checked statement.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// Kind of check, such as `piece_closed`; fixed names, listed in the guide.
    pub id: &'static str,
    /// What it came to.
    pub verdict: Verdict,
    /// What was checked: "piece 03", "joint J2", "strip 1", "blade", "prop".
    pub subject: String,
    /// Where on the prop, mm from the butt along the centre path: from, to. `None` for the whole prop.
    pub station_mm: Option<[f64; 2]>,
    /// The measured value.
    pub measured: Measured,
    /// What the measured value, or its limit, was worked out from, in the order in which it is told.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub inputs: Vec<Input>,
    /// The limit, if there is one.
    pub limit: Option<Limit>,
    /// What, where, measured, limit: one or two short sentences.
    pub message: String,
    /// What to change to make it hold; empty where it holds.
    pub remedy: String,
}

impl Finding {
    /// With what it was worked out from; numbers that are none (a distance to nothing) are left out.
    #[must_use]
    pub fn worked_from(mut self, inputs: impl IntoIterator<Item = Input>) -> Finding {
        self.inputs.extend(inputs.into_iter().filter(|i| i.value.is_finite()));
        self
    }

    /// Judges `measured` against `limit`: holds when the whole band keeps it, fails when the best estimate breaks it,
    /// unsure when only an end of the band does.
    pub fn judge(measured: &Measured, limit: &Limit) -> Verdict {
        let keeps = |v: f64| limit.min.is_none_or(|m| v >= m) && limit.max.is_none_or(|m| v <= m);
        if !keeps(measured.value) || !measured.value.is_finite() {
            Verdict::Fails
        } else if keeps(measured.low) && keeps(measured.high) {
            Verdict::Holds
        } else {
            Verdict::Unsure
        }
    }
}
