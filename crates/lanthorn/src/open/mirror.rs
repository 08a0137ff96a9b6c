//! Values of `prop` as the page gets them: the same words and fields, here so that the page's types can be written from them. The
//! compiler holds them to those that they come from.

use prop::{finding, outcome};
use serde::Serialize;
#[cfg(test)]
use ts_rs::TS;

/// An enum of the same words.
macro_rules! words {
    ($name:ident of $of:path: $($word:ident)+) => {
        #[doc = concat!("As [`", stringify!($of), "`].")]
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
        #[cfg_attr(test, derive(TS))]
        #[serde(rename_all = "lowercase")]
        pub(crate) enum $name {
            $($word,)+
        }

        impl From<$of> for $name {
            fn from(value: $of) -> $name {
                use $of as Of;
                match value {
                    $(Of::$word => $name::$word,)+
                }
            }
        }
    };
}

words!(Role of outcome::Role: Lit Plain Cover);
words!(Pose of outcome::Pose: Upright Inverted Lying);
words!(JointKind of outcome::JointKind: Collar Pegs Faces Bayonet Screws Magnets);
words!(WayKind of outcome::WayKind: Cover Part Lid);
words!(Verdict of finding::Verdict: Fails Unsure Note Holds);

/// As [`finding::Band`].
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(TS))]
pub(crate) struct Band {
    pub(crate) value: f64,
    pub(crate) low: f64,
    pub(crate) high: f64,
}

impl From<finding::Band> for Band {
    fn from(finding::Band { value, low, high }: finding::Band) -> Band {
        Band { value, low, high }
    }
}

/// As [`finding::Measured`].
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(TS))]
pub(crate) struct Measured {
    value: f64,
    low: f64,
    high: f64,
    unit: &'static str,
}

impl From<&finding::Measured> for Measured {
    fn from(finding::Measured { value, low, high, unit }: &finding::Measured) -> Measured {
        Measured { value: *value, low: *low, high: *high, unit }
    }
}

/// As [`finding::Limit`].
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(TS))]
pub(crate) struct Limit {
    min: Option<f64>,
    max: Option<f64>,
    unit: &'static str,
    source: String,
}

impl From<&finding::Limit> for Limit {
    fn from(finding::Limit { min, max, unit, source }: &finding::Limit) -> Limit {
        Limit { min: *min, max: *max, unit, source: source.clone() }
    }
}
