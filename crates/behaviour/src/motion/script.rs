//! Acts from a line of text: `walk 20 s, swing, strike 12 g 4 ms`.

use super::Act;
use thiserror::Error;

/// A line that says nothing to do.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ScriptError {
    /// An unknown word.
    #[error("act {number}, {text:?}: no such act; there are: {ACTS}")]
    Unknown {
        /// Which act of the line, from 1.
        number: usize,
        /// Its text.
        text: String,
    },
    /// A number that is missing, misplaced or out of range.
    #[error("act {number}, {text:?}: {wanted}")]
    Quantity {
        /// Which act of the line, from 1.
        number: usize,
        /// Its text.
        text: String,
        /// What would fit.
        wanted: String,
    },
    /// More than a rehearsal can be.
    #[error("all acts together last {lasts_s:.0} s; {LONGEST_S} s at most: play them in parts")]
    Long {
        /// About how long they last, seconds.
        lasts_s: f64,
    },
    /// Nothing at all.
    #[error("there is nothing to do; say for example \"walk 20 s, swing, strike\"")]
    Empty,
}

const ACTS: &str =
    "rest, walk, run, idle, bumps, shake, swing, strike, parry, tip-up, tip-down, level, twist, set-down, drop, press";

/// Ranges of what acts take: seconds, g, milliseconds of an impact and of a press.
pub(super) const TIMES_S: [f64; 2] = [0.1, LONGEST_S];
pub(super) const PEAKS_G: [f64; 2] = [0.1, 500.0];
pub(super) const IMPACTS_MS: [f64; 2] = [1.0, 100.0];
pub(super) const PRESSES_MS: [f64; 2] = [10.0, 60_000.0];
/// Longest act and longest line of acts, seconds.
const LONGEST_S: f64 = 7200.0;
/// What an act without a time takes at most, about; and the least that an act counts for, with what leads to it and back.
const USUAL_S: f64 = 5.0;

/// Acts from text, parted by commas: a word, and quantities with a unit (`s`, `ms`, `g`) where the act takes any. Times left
/// out are 10 s (a press: 200 ms), impacts left out are by chance.
///
/// # Errors
/// The first act that cannot be understood, with its number; or all of them last longer than two hours.
pub fn script(text: &str) -> Result<Vec<Act>, ScriptError> {
    if text.trim().is_empty() {
        return Err(ScriptError::Empty);
    }
    let acts: Vec<Act> =
        text.split(',').enumerate().map(|(k, part)| act(k + 1, part.trim())).collect::<Result<_, _>>()?;
    let lasts_s = acts.iter().map(|a| a.lasts_s().unwrap_or(0.0).max(USUAL_S)).sum();
    if lasts_s > LONGEST_S { Err(ScriptError::Long { lasts_s }) } else { Ok(acts) }
}

fn act(number: usize, text: &str) -> Result<Act, ScriptError> {
    let mut words = text.split_whitespace();
    let name = words.next().unwrap_or_default();
    let given: Vec<&str> = words.collect();
    let fault = |wanted: String| ScriptError::Quantity { number, text: text.to_owned(), wanted };
    let mut left = pairs(&given).map_err(fault)?;
    let mut take = |unit: &str, [least, most]: [f64; 2]| match left.iter().position(|p| p.1 == unit) {
        None => Ok(None),
        Some(at) => {
            let value = left.remove(at).0;
            if (least..=most).contains(&value) {
                Ok(Some(value))
            } else {
                Err(fault(format!("give {least} to {most} {unit}")))
            }
        }
    };
    let act = match name {
        "rest" | "walk" | "run" | "idle" | "bumps" | "shake" | "set-down" => {
            let lasts_s = take("s", TIMES_S)?.unwrap_or(10.0);
            match name {
                "rest" => Act::Rest { lasts_s },
                "walk" => Act::Walk { lasts_s },
                "run" => Act::Run { lasts_s },
                "idle" => Act::Idle { lasts_s },
                "bumps" => Act::Bumps { lasts_s },
                "shake" => Act::Shake { lasts_s },
                _ => Act::SetDown { lasts_s },
            }
        }
        "strike" => Act::Strike { g: take("g", PEAKS_G)?, lasts_ms: take("ms", IMPACTS_MS)? },
        "parry" => Act::Parry { g: take("g", PEAKS_G)?, lasts_ms: take("ms", IMPACTS_MS)? },
        "press" => Act::Press { lasts_ms: take("ms", PRESSES_MS)?.unwrap_or(200.0) as u32 },
        "swing" => Act::Swing,
        "tip-up" => Act::TipUp,
        "tip-down" => Act::TipDown,
        "level" => Act::Level,
        "twist" => Act::Twist,
        "drop" => Act::Drop,
        _ => return Err(ScriptError::Unknown { number, text: text.to_owned() }),
    };
    match left.first() {
        None => Ok(act),
        Some((value, unit)) => Err(fault(format!("{value} {unit} is no quantity of {name}"))),
    }
}

/// Numbers with their units, whether or not a space is between.
fn pairs(words: &[&str]) -> Result<Vec<(f64, String)>, String> {
    let joined = words.concat();
    let mut rest = joined.as_str();
    let mut found = Vec::new();
    while !rest.is_empty() {
        let digits = rest.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(rest.len());
        let (number, after) = rest.split_at(digits);
        let letters = after.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(after.len());
        let (unit, after) = after.split_at(letters);
        let value = number.parse::<f64>().ok().filter(|v| v.is_finite());
        match value {
            Some(value) if ["s", "ms", "g"].contains(&unit) => found.push((value, unit.to_owned())),
            _ => return Err("quantities are numbers with one of the units s, ms, g".to_owned()),
        }
        rest = after;
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn acts_are_read() {
        let acts = script("walk 20 s, swing, strike 12g 4 ms,press 900ms, strike").expect("acts");
        assert_eq!(
            acts,
            [
                Act::Walk { lasts_s: 20.0 },
                Act::Swing,
                Act::Strike { g: Some(12.0), lasts_ms: Some(4.0) },
                Act::Press { lasts_ms: 900 },
                Act::Strike { g: None, lasts_ms: None },
            ]
        );
    }

    #[test]
    fn mistakes_are_told_with_their_place() {
        for (text, words) in [
            ("", "nothing to do"),
            ("swing, jump", "act 2, \"jump\": no such act; there are: rest, walk"),
            ("swing,", "act 2, \"\": no such act"),
            ("walk 20", "act 1, \"walk 20\": quantities are numbers with one of the units s, ms, g"),
            ("walk twenty s", "quantities are numbers"),
            ("walk 1e9 s", "quantities are numbers"),
            ("walk 0 s", "give 0.1 to 7200 s"),
            ("swing 3 g", "3 g is no quantity of swing"),
            ("strike 4 ms 5 ms", "5 ms is no quantity of strike"),
            ("walk 1.2.3 s", "quantities are numbers"),
            ("walk 7200 s, swing", "all acts together last 7205 s; 7200 s at most"),
        ] {
            let error = script(text).expect_err(text).to_string();
            assert!(error.contains(words), "{text:?}: {error}");
        }
    }
}
