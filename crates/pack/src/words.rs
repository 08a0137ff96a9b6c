//! Numbers as a maker reads them: rounded to what is known, a thin space before the unit.

use prop::catalogue::PartKind;
use prop::finding::{Band, Verdict};
use prop::outcome::Reached;

/// Narrow space that does not break, between a number and its unit.
pub(crate) const THIN: char = '\u{202f}';

/// `value` with a fixed number of decimals; zero has no sign, and a minus is a minus.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| b == b'0' || b == b'.') => rest.to_owned(),
        Some(rest) => format!("\u{2212}{rest}"),
        None => text,
    }
}

/// `value` with at most `decimals` decimals: no zeros at the end.
pub(crate) fn short(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// A number, a thin space and its unit. The unit "1" (a plain number) is not shown; a degree sign takes no space.
pub(crate) fn with_unit(number: &str, unit: &str) -> String {
    match unit {
        "1" | "" => number.to_owned(),
        "deg" => format!("{number}°"),
        "mm2" => format!("{number}{THIN}mm²"),
        "mm3" => format!("{number}{THIN}mm³"),
        _ => format!("{number}{THIN}{unit}"),
    }
}

/// A length in mm, with the same in inches behind it when asked.
pub(crate) fn length(mm: f64, inches: bool) -> String {
    let metric = with_unit(&short(mm, if mm.abs() < 100.0 { 1 } else { 0 }), "mm");
    if inches { format!("{metric} ({})", with_unit(&fixed(mm / 25.4, 1), "in")) } else { metric }
}

/// "48 mm (41 to 57)"; without the brackets when both ends read the same. Times are shown in minutes or hours.
pub(crate) fn band(band: Band, unit: &str) -> String {
    let (scale, unit) = match unit {
        "s" if band.value.abs() >= 5400.0 => (3600.0, "h"),
        "s" if band.value.abs() >= 120.0 => (60.0, "min"),
        _ => (1.0, unit),
    };
    let show = rounding(band.value / scale, (band.high - band.low).abs() / (2.0 * scale));
    let (value, low, high) = (show(band.value / scale), show(band.low / scale), show(band.high / scale));
    let main = with_unit(&value, unit);
    if low == value && high == value { main } else { format!("{main} ({low} to {high})") }
}

/// How to show a number that is known to plus or minus `spread`: the last figure shown is worth at most half of it.
fn rounding(value: f64, spread: f64) -> Box<dyn Fn(f64) -> String> {
    let to_multiple =
        |step: f64| -> Box<dyn Fn(f64) -> String> { Box::new(move |v| fixed((v / step).round() * step, 0)) };
    let decimals = match spread {
        0.0 => match value.abs() {
            v if v >= 100.0 => 0,
            v if v >= 10.0 => 1,
            _ => 2,
        },
        s if s >= 200.0 => return to_multiple(100.0),
        s if s >= 20.0 => return to_multiple(10.0),
        s if s >= 2.0 => 0,
        s if s >= 0.2 => 1,
        s if s >= 0.02 => 2,
        _ => 3,
    };
    if spread == 0.0 { Box::new(move |v| short(v, decimals)) } else { Box::new(move |v| fixed(v, decimals)) }
}

/// "stations 120 to 340 mm", or one station when both ends are the same.
pub(crate) fn stations([from, to]: [f64; 2]) -> String {
    let (a, b) = (short(from, 1), short(to, 1));
    if a == b { with_unit(&format!("station {a}"), "mm") } else { with_unit(&format!("stations {a} to {b}"), "mm") }
}

/// How a part is reached: "under lid 09", "where J2 opens", "from outside".
pub(crate) fn reached(how: Reached) -> String {
    match how {
        Reached::Lid(number) => format!("under lid {}", piece(number)),
        Reached::Port => "from outside".to_owned(),
        Reached::Joint(number) => format!("where J{number} opens"),
    }
}

/// Where wires end: the part's letter, or the strip.
pub(crate) fn wire_end(part: Option<char>) -> String {
    part.map_or_else(|| "strip".to_owned(), String::from)
}

/// What a part is for, in the trade's word.
pub(crate) fn part_kind(kind: PartKind) -> &'static str {
    match kind {
        PartKind::Cell => "cell",
        PartKind::Controller => "controller",
        PartKind::Sensor => "sensor",
        PartKind::Amplifier => "amplifier",
        PartKind::Converter => "converter",
        PartKind::Speaker => "speaker",
        PartKind::Switch => "switch",
        PartKind::ChargePort => "charging port",
        PartKind::ProgramPort => "programming port",
        PartKind::Fuse => "fuse",
    }
}

/// A verdict as a word of data, and as the class of its mark.
pub(crate) fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Fails => "fails",
        Verdict::Unsure => "unsure",
        Verdict::Note => "note",
        Verdict::Holds => "holds",
    }
}

/// The same in front of a finding.
pub(crate) fn verdict_head(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Fails => "Fails",
        Verdict::Unsure => "Unsure",
        Verdict::Note => "Note",
        Verdict::Holds => "Holds",
    }
}

/// The word behind a count.
pub(crate) fn verdicts(of: Verdict, count: usize) -> &'static str {
    match (of, count) {
        (Verdict::Fails, 1) => "fails",
        (Verdict::Fails, _) => "fail",
        (Verdict::Note, 1) => "note",
        (Verdict::Note, _) => "notes",
        (Verdict::Holds, c) if c != 1 => "hold",
        _ => verdict(of),
    }
}

/// "3 checks hold".
pub(crate) fn holding(count: usize) -> String {
    counted(count, "check holds", "checks hold")
}

/// "1 page", "3 pages".
pub(crate) fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// "01".
pub(crate) fn piece(number: u32) -> String {
    format!("{number:02}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_to_what_is_known() {
        assert_eq!(band(Band { value: 48.12, low: 41.3, high: 56.9 }, "mm"), "48\u{202f}mm (41 to 57)");
        assert_eq!(band(Band { value: 1483.0, low: 1310.0, high: 1720.0 }, "g"), "1500\u{202f}g (1300 to 1700)");
        assert_eq!(band(Band { value: 1.984, low: 1.93, high: 2.04 }, "mm"), "1.98\u{202f}mm (1.93 to 2.04)");
        assert_eq!(band(Band::exact(2.0), "mm"), "2\u{202f}mm");
        assert_eq!(band(Band::exact(38.25), "deg"), "38.2°");
        assert_eq!(band(Band::exact(3.0), "1"), "3");
        assert_eq!(band(Band { value: 19_000.0, low: 16_000.0, high: 24_000.0 }, "s"), "5.3\u{202f}h (4.4 to 6.7)");
        assert_eq!(band(Band { value: 2880.0, low: 2460.0, high: 3420.0 }, "s"), "48\u{202f}min (41 to 57)");
    }

    #[test]
    fn zero_has_no_sign_and_a_minus_is_a_minus() {
        assert_eq!(fixed(-0.001, 2), "0.00");
        assert_eq!(short(-1.50, 2), "\u{2212}1.5");
        assert_eq!(short(1500.0, 0), "1500");
    }

    #[test]
    fn lengths_and_stations() {
        assert_eq!(length(1500.2, true), "1500\u{202f}mm (59.1\u{202f}in)");
        assert_eq!(length(22.35, false), "22.4\u{202f}mm");
        assert_eq!(stations([120.0, 340.04]), "stations 120 to 340\u{202f}mm");
        assert_eq!(stations([12.0, 12.0]), "station 12\u{202f}mm");
    }
}
