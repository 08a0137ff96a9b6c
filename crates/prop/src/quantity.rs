//! Quantities as a maker writes them: "150 cm", "4 ft 11 in", "1/8 in", "20 min".
//!
//! Each kind is read into one unit: lengths into mm, times into s, angles into degrees, speeds into mm/s, shares into
//! 0 to 1, densities into g/cm3, masses per length into g/m, masses into g, volumes into cm3, shares per length (of light that
//! is scattered or absorbed) into 1/mm, luminous fluxes into lm, currents into A, pressures into MPa, temperatures into °C,
//! rates of turning into deg/s, voltages into V, powers into W, accelerations into g, frequencies into Hz, sound levels into dB,
//! sizes of files into bytes, resistances into ohm, charges into Ah, films of paint into um, areas into cm2, what a litre covers into
//! m2/l, energies into Wh.

use thiserror::Error;

/// What a quantity measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// Read into mm.
    Length,
    /// Read into s.
    Time,
    /// Read into degrees.
    Angle,
    /// Read into mm/s.
    Speed,
    /// Read into a number from 0 (0 %) to 1 (100 %).
    Share,
    /// Read into g/cm3.
    Density,
    /// Read into g/m.
    MassPerLength,
    /// Read into g.
    Mass,
    /// Read into cm3.
    Volume,
    /// How much of the light is scattered or absorbed in a length: read into 1/mm.
    PerLength,
    /// Read into lm.
    Flux,
    /// Read into A.
    Current,
    /// Stress, strength or stiffness: read into MPa.
    Pressure,
    /// Read into degrees Celsius.
    Temperature,
    /// How fast something turns: read into degrees a second.
    Turning,
    /// Read into V.
    Voltage,
    /// Read into W.
    Power,
    /// Read into g, that of standard gravity.
    Acceleration,
    /// Read into Hz.
    Frequency,
    /// Read into dB.
    SoundLevel,
    /// Read into bytes.
    FileSize,
    /// Read into ohm.
    Resistance,
    /// Read into Ah.
    Charge,
    /// Thickness of a film of paint: read into um.
    Film,
    /// Read into cm2.
    Area,
    /// What a litre of paint covers: read into m2/l.
    Coverage,
    /// Read into Wh.
    Energy,
}

/// Why a text is not the quantity that was asked for. Every message says what is wrong; [`Wanted::help`] says what
/// fits instead.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum QuantityError {
    /// Nothing but blanks.
    #[error("this is empty")]
    Empty,
    /// A number with nothing behind it.
    #[error("{number} has no unit")]
    NoUnit {
        /// The number as written.
        number: String,
    },
    /// A unit that nobody here knows.
    #[error("{unit:?} is no unit that is known here")]
    UnknownUnit {
        /// The unit as written.
        unit: String,
    },
    /// A unit of another kind of quantity.
    #[error("{unit:?} is a unit of {is}, and this must be {wanted}")]
    WrongUnit {
        /// The unit as written.
        unit: String,
        /// What it measures.
        is: &'static str,
        /// What was asked for, with its article.
        wanted: &'static str,
    },
    /// A number that cannot be read.
    #[error("{text:?} is not a number")]
    NotANumber {
        /// The text in the number's place.
        text: String,
    },
    /// A comma in the place of the decimal point.
    #[error("the comma in {text:?} is not a decimal point")]
    Comma {
        /// The number as written.
        text: String,
    },
    /// Division by nothing.
    #[error("{text:?} divides by zero")]
    ZeroBelow {
        /// The fraction as written.
        text: String,
    },
    /// More than a double can hold.
    #[error("this number is too large to be meant")]
    TooLarge,
    /// Two quantities in one text that do not add up, such as "2 mm 3 mm" or "150 cm mm".
    #[error("there is more than one quantity here: {rest:?} is left over")]
    Twice {
        /// What stands behind the first quantity.
        rest: String,
    },
    /// A value outside its range.
    #[error("{value} is {side}")]
    OutOfRange {
        /// The value in the unit that is shown.
        value: String,
        /// "too small" or "too large".
        side: &'static str,
    },
}

/// A kind of quantity and the range it must lie in, both ends included.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// What it measures.
    pub kind: Quantity,
    /// Least value, in the kind's unit.
    pub least: f64,
    /// Largest value, in the kind's unit.
    pub most: f64,
    /// An example, as a maker would write it here.
    pub example: &'static str,
}

impl Wanted {
    /// A length from `least` to `most` millimetres.
    pub const fn length(least: f64, most: f64, example: &'static str) -> Wanted {
        Wanted { kind: Quantity::Length, least, most, example }
    }

    /// A value of `kind` from `least` to `most` in the kind's unit.
    pub const fn of(kind: Quantity, least: f64, most: f64, example: &'static str) -> Wanted {
        Wanted { kind, least, most, example }
    }

    /// Reads `text` and holds it against the range.
    ///
    /// # Errors
    /// Any [`QuantityError`].
    pub fn read(&self, text: &str) -> Result<f64, QuantityError> {
        let value = self.kind.read(text)?;
        let side = if value < self.least {
            "too small"
        } else if value > self.most {
            "too large"
        } else {
            return Ok(value);
        };
        Err(QuantityError::OutOfRange { value: text.trim().to_owned(), side })
    }

    /// What to write instead of a text that failed with `error`.
    pub fn help(&self, error: &QuantityError) -> String {
        let example = self.example;
        match error {
            QuantityError::OutOfRange { .. } => {
                format!("it must lie from {} to {}", self.kind.show(self.least), self.kind.show(self.most))
            }
            QuantityError::Comma { .. } => format!("write a point, for example {example:?}"),
            QuantityError::Twice { .. } => format!("write one quantity with one unit, for example {example:?}"),
            _ => self.units_help(),
        }
    }

    /// Which units fit, with the example.
    pub fn units_help(&self) -> String {
        format!("{} need a unit ({}), for example {:?}", self.kind.plural(), self.kind.units(), self.example)
    }
}

/// Units by name: the first one of a kind is the one it is read into and shown in.
const UNITS: &[(&str, Quantity, f64)] = &[
    ("mm", Quantity::Length, 1.0),
    ("cm", Quantity::Length, 10.0),
    ("m", Quantity::Length, 1000.0),
    ("in", Quantity::Length, 25.4),
    ("inch", Quantity::Length, 25.4),
    ("inches", Quantity::Length, 25.4),
    ("\"", Quantity::Length, 25.4),
    ("\u{2033}", Quantity::Length, 25.4),
    ("ft", Quantity::Length, 304.8),
    ("foot", Quantity::Length, 304.8),
    ("feet", Quantity::Length, 304.8),
    ("'", Quantity::Length, 304.8),
    ("\u{2032}", Quantity::Length, 304.8),
    ("s", Quantity::Time, 1.0),
    ("sec", Quantity::Time, 1.0),
    ("ms", Quantity::Time, 0.001),
    ("min", Quantity::Time, 60.0),
    ("h", Quantity::Time, 3600.0),
    ("hours", Quantity::Time, 3600.0),
    ("deg", Quantity::Angle, 1.0),
    ("\u{b0}", Quantity::Angle, 1.0),
    ("mm/s", Quantity::Speed, 1.0),
    ("mm/min", Quantity::Speed, 1.0 / 60.0),
    ("in/s", Quantity::Speed, 25.4),
    ("m/s", Quantity::Speed, 1000.0),
    ("%", Quantity::Share, 0.01),
    ("g/cm3", Quantity::Density, 1.0),
    ("g/cm\u{b3}", Quantity::Density, 1.0),
    ("g/ml", Quantity::Density, 1.0),
    ("kg/m3", Quantity::Density, 0.001),
    ("kg/m\u{b3}", Quantity::Density, 0.001),
    ("g/m", Quantity::MassPerLength, 1.0),
    ("g", Quantity::Mass, 1.0),
    ("kg", Quantity::Mass, 1000.0),
    ("oz", Quantity::Mass, 28.349_523_125),
    ("cm3", Quantity::Volume, 1.0),
    ("cm\u{b3}", Quantity::Volume, 1.0),
    ("ml", Quantity::Volume, 1.0),
    ("l", Quantity::Volume, 1000.0),
    ("/mm", Quantity::PerLength, 1.0),
    ("/cm", Quantity::PerLength, 0.1),
    ("lm", Quantity::Flux, 1.0),
    ("mlm", Quantity::Flux, 0.001),
    ("A", Quantity::Current, 1.0),
    ("mA", Quantity::Current, 0.001),
    ("MPa", Quantity::Pressure, 1.0),
    ("GPa", Quantity::Pressure, 1000.0),
    ("kPa", Quantity::Pressure, 0.001),
    ("psi", Quantity::Pressure, 0.006_894_757_293_168),
    ("C", Quantity::Temperature, 1.0),
    ("\u{b0}C", Quantity::Temperature, 1.0),
    ("deg/s", Quantity::Turning, 1.0),
    ("\u{b0}/s", Quantity::Turning, 1.0),
    ("rpm", Quantity::Turning, 6.0),
    ("V", Quantity::Voltage, 1.0),
    ("mV", Quantity::Voltage, 0.001),
    ("W", Quantity::Power, 1.0),
    ("mW", Quantity::Power, 0.001),
    ("g", Quantity::Acceleration, 1.0),
    ("m/s2", Quantity::Acceleration, 1.0 / 9.80665),
    ("Hz", Quantity::Frequency, 1.0),
    ("kHz", Quantity::Frequency, 1e3),
    ("MHz", Quantity::Frequency, 1e6),
    ("dB", Quantity::SoundLevel, 1.0),
    ("B", Quantity::FileSize, 1.0),
    ("KiB", Quantity::FileSize, 1024.0),
    ("MiB", Quantity::FileSize, 1_048_576.0),
    ("ohm", Quantity::Resistance, 1.0),
    ("mohm", Quantity::Resistance, 0.001),
    ("Ah", Quantity::Charge, 1.0),
    ("mAh", Quantity::Charge, 0.001),
    ("um", Quantity::Film, 1.0),
    ("\u{b5}m", Quantity::Film, 1.0),
    ("cm2", Quantity::Area, 1.0),
    ("dm2", Quantity::Area, 100.0),
    ("m2", Quantity::Area, 10_000.0),
    ("m2/l", Quantity::Coverage, 1.0),
    ("Wh", Quantity::Energy, 1.0),
    ("kWh", Quantity::Energy, 1000.0),
];

impl Quantity {
    /// Every kind.
    pub const ALL: [Quantity; 27] = [
        Quantity::Length,
        Quantity::Time,
        Quantity::Angle,
        Quantity::Speed,
        Quantity::Share,
        Quantity::Density,
        Quantity::MassPerLength,
        Quantity::Mass,
        Quantity::Volume,
        Quantity::PerLength,
        Quantity::Flux,
        Quantity::Current,
        Quantity::Pressure,
        Quantity::Temperature,
        Quantity::Turning,
        Quantity::Voltage,
        Quantity::Power,
        Quantity::Acceleration,
        Quantity::Frequency,
        Quantity::SoundLevel,
        Quantity::FileSize,
        Quantity::Resistance,
        Quantity::Charge,
        Quantity::Film,
        Quantity::Area,
        Quantity::Coverage,
        Quantity::Energy,
    ];

    /// Reads a quantity of this kind, in this kind's unit. Finite; the sign is kept.
    ///
    /// Numbers are decimals, fractions ("1/8") or whole numbers with a fraction ("1 1/2"). Feet may be followed by
    /// inches and hours by minutes; otherwise there is one number and one unit.
    ///
    /// # Errors
    /// Any [`QuantityError`] but `OutOfRange`.
    pub fn read(self, text: &str) -> Result<f64, QuantityError> {
        let rest = text.trim();
        if rest.is_empty() {
            return Err(QuantityError::Empty);
        }
        let negative = rest.starts_with(['-', '\u{2212}']);
        let rest = rest.trim_start_matches(['-', '\u{2212}', '+']);
        if text.trim().chars().count() > rest.chars().count() + 1 {
            return Err(QuantityError::NotANumber { text: text.trim().to_owned() });
        }
        let (first, first_factor, rest) = self.part(rest)?;
        let mut value = first * first_factor;
        if !rest.is_empty() {
            let twice = || QuantityError::Twice { rest: rest.to_owned() };
            let (second, factor, rest) = self.part(rest).map_err(|_| twice())?;
            let pair = (self, first_factor, factor);
            let follows = matches!(pair, (Quantity::Length, 304.8, 25.4) | (Quantity::Time, 3600.0, 60.0));
            if !follows || !rest.is_empty() || second * factor >= first_factor || first.fract() != 0.0 {
                return Err(twice());
            }
            value += second * factor;
        }
        if !value.is_finite() {
            return Err(QuantityError::TooLarge);
        }
        Ok(if negative { -value } else { value })
    }

    /// One number with its unit: the number, the unit's factor, and what is left.
    fn part(self, text: &str) -> Result<(f64, f64, &str), QuantityError> {
        let (number, written, rest) = number(text)?;
        let unit_end = unit_end(rest);
        let (unit, rest) = rest.split_at(unit_end);
        if unit.is_empty() {
            return Err(if rest.is_empty() {
                QuantityError::NoUnit { number: written.to_owned() }
            } else {
                QuantityError::Twice { rest: rest.to_owned() }
            });
        }
        // One letter may stand for units of two kinds, as "g" does: the kind that is wanted goes first.
        let among = |same: &dyn Fn(&str) -> bool| {
            let own = UNITS.iter().find(|(name, kind, _)| *kind == self && same(name));
            own.or_else(|| UNITS.iter().find(|(name, ..)| same(name)))
        };
        let known = among(&|name| name == unit).or_else(|| among(&|name| name.eq_ignore_ascii_case(unit)));
        match known {
            None => Err(QuantityError::UnknownUnit { unit: unit.to_owned() }),
            Some((_, kind, _)) if *kind != self => {
                Err(QuantityError::WrongUnit { unit: unit.to_owned(), is: kind.noun().1, wanted: self.noun().0 })
            }
            Some((_, _, factor)) => Ok((number, *factor, rest.trim_start())),
        }
    }

    /// Writes `value` (in this kind's unit) so that [`Quantity::read`] gives it back, to the last digit but for
    /// shares, which are shown in percent.
    pub fn show(self, value: f64) -> String {
        let unit = UNITS.iter().find(|(_, kind, _)| *kind == self).map_or("", |(name, ..)| name);
        let shown = if self == Quantity::Share { (value * 1e10).round() / 1e8 } else { value };
        format!("{shown} {unit}")
    }

    /// With article, and without.
    fn noun(self) -> (&'static str, &'static str) {
        match self {
            Quantity::Length => ("a length", "length"),
            Quantity::Time => ("a time", "time"),
            Quantity::Angle => ("an angle", "angle"),
            Quantity::Speed => ("a speed", "speed"),
            Quantity::Share => ("a share", "share"),
            Quantity::Density => ("a density", "density"),
            Quantity::MassPerLength => ("a mass per length", "mass per length"),
            Quantity::Mass => ("a mass", "mass"),
            Quantity::Volume => ("a volume", "volume"),
            Quantity::PerLength => ("a share per length", "share per length"),
            Quantity::Flux => ("a luminous flux", "luminous flux"),
            Quantity::Current => ("a current", "current"),
            Quantity::Pressure => ("a stress", "stress"),
            Quantity::Temperature => ("a temperature", "temperature"),
            Quantity::Turning => ("a rate of turning", "rate of turning"),
            Quantity::Voltage => ("a voltage", "voltage"),
            Quantity::Power => ("a power", "power"),
            Quantity::Acceleration => ("an acceleration", "acceleration"),
            Quantity::Frequency => ("a frequency", "frequency"),
            Quantity::SoundLevel => ("a sound level", "sound level"),
            Quantity::FileSize => ("a size", "size"),
            Quantity::Resistance => ("a resistance", "resistance"),
            Quantity::Charge => ("a charge", "charge"),
            Quantity::Film => ("a film's thickness", "film thickness"),
            Quantity::Area => ("an area", "area"),
            Quantity::Coverage => ("a coverage", "coverage"),
            Quantity::Energy => ("an energy", "energy"),
        }
    }

    pub(crate) fn plural(self) -> &'static str {
        match self {
            Quantity::Length => "lengths",
            Quantity::Time => "times",
            Quantity::Angle => "angles",
            Quantity::Speed => "speeds",
            Quantity::Share => "shares",
            Quantity::Density => "densities",
            Quantity::MassPerLength => "masses per length",
            Quantity::Mass => "masses",
            Quantity::Volume => "volumes",
            Quantity::PerLength => "shares per length",
            Quantity::Flux => "luminous fluxes",
            Quantity::Current => "currents",
            Quantity::Pressure => "stresses",
            Quantity::Temperature => "temperatures",
            Quantity::Turning => "rates of turning",
            Quantity::Voltage => "voltages",
            Quantity::Power => "powers",
            Quantity::Acceleration => "accelerations",
            Quantity::Frequency => "frequencies",
            Quantity::SoundLevel => "sound levels",
            Quantity::FileSize => "sizes",
            Quantity::Resistance => "resistances",
            Quantity::Charge => "charges",
            Quantity::Film => "films",
            Quantity::Area => "areas",
            Quantity::Coverage => "coverages",
            Quantity::Energy => "energies",
        }
    }

    fn units(self) -> &'static str {
        match self {
            Quantity::Length => "mm, cm, m, in or ft",
            Quantity::Time => "s, ms, min or h",
            Quantity::Angle => "deg",
            Quantity::Speed => "mm/s, m/s, mm/min or in/s",
            Quantity::Share => "%",
            Quantity::Density => "g/cm3, g/ml or kg/m3",
            Quantity::MassPerLength => "g/m",
            Quantity::Mass => "g, kg or oz",
            Quantity::Volume => "cm3, ml or l",
            Quantity::PerLength => "/mm or /cm",
            Quantity::Flux => "lm or mlm",
            Quantity::Current => "A or mA",
            Quantity::Pressure => "MPa, GPa, kPa or psi",
            Quantity::Temperature => "C",
            Quantity::Turning => "deg/s or rpm",
            Quantity::Voltage => "V or mV",
            Quantity::Power => "W or mW",
            Quantity::Acceleration => "g or m/s2",
            Quantity::Frequency => "Hz, kHz or MHz",
            Quantity::SoundLevel => "dB",
            Quantity::FileSize => "B, KiB or MiB",
            Quantity::Resistance => "ohm or mohm",
            Quantity::Charge => "Ah or mAh",
            Quantity::Film => "um",
            Quantity::Area => "cm2, dm2 or m2",
            Quantity::Coverage => "m2/l",
            Quantity::Energy => "Wh or kWh",
        }
    }
}

/// Reads the number `text` begins with: its value, how it was written, and what follows, blanks skipped.
fn number(text: &str) -> Result<(f64, &str, &str), QuantityError> {
    let (first, rest) = split_number(text);
    if rest.starts_with(',') {
        return Err(QuantityError::Comma { text: text.split_whitespace().next().unwrap_or(text).to_owned() });
    }
    // A stroke with a letter behind it begins a unit ("2/mm").
    let (value, rest) = if let Some(below) = rest.strip_prefix('/').filter(|b| !b.starts_with(char::is_alphabetic)) {
        let (below_text, rest) = split_number(below);
        (fraction(first, below_text)?, rest)
    } else {
        let whole = decimal(first).ok_or_else(|| no_number(text))?;
        match mixed(rest) {
            Some((above, below, rest)) if whole.fract() == 0.0 => (whole + fraction(above, below)?, rest),
            _ => (whole, rest),
        }
    };
    let written = text[..text.len() - rest.len()].trim_end();
    Ok((value, written, rest.trim_start()))
}

/// The fraction behind a whole number, as in "1 1/2": above, below, rest.
fn mixed(rest: &str) -> Option<(&str, &str, &str)> {
    let (above, rest) = split_number(rest.strip_prefix(' ')?.trim_start());
    if above.is_empty() {
        return None;
    }
    let (below, rest) = split_number(rest.strip_prefix('/')?);
    Some((above, below, rest))
}

fn split_number(text: &str) -> (&str, &str) {
    text.split_at(text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len()))
}

fn decimal(text: &str) -> Option<f64> {
    text.parse().ok()
}

fn fraction(above: &str, below: &str) -> Result<f64, QuantityError> {
    let written = || format!("{above}/{below}");
    let (Some(a), Some(b)) = (decimal(above), decimal(below)) else {
        return Err(QuantityError::NotANumber { text: written() });
    };
    if b == 0.0 {
        return Err(QuantityError::ZeroBelow { text: written() });
    }
    Ok(a / b)
}

fn no_number(text: &str) -> QuantityError {
    QuantityError::NotANumber { text: text.split_whitespace().next().unwrap_or(text).to_owned() }
}

/// Length in bytes of the unit `text` begins with. A digit belongs to it only behind a stroke ("g/cm3") and in "cm3".
fn unit_end(text: &str) -> usize {
    if let Some(whole) =
        ["cm3", "cm2", "dm2", "m2/l", "m2", "\u{b0}C", "\u{b0}/s"].iter().find(|unit| text.starts_with(**unit))
    {
        return whole.len();
    }
    let mut stroke = false;
    for (at, c) in text.char_indices() {
        if matches!(c, '\'' | '"' | '%' | '\u{b0}' | '\u{2032}' | '\u{2033}') {
            return if at == 0 { c.len_utf8() } else { at };
        }
        stroke |= c == '/';
        if c.is_whitespace() || (c.is_ascii_digit() && !stroke) || matches!(c, '-' | '+') {
            return at;
        }
    }
    text.len()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn length(text: &str) -> Result<f64, QuantityError> {
        Quantity::Length.read(text)
    }

    #[test]
    fn lengths_come_out_in_millimetres() {
        // One inch is 25.4 mm and one foot 12 inches by the international yard and pound agreement of 1959.
        for (text, mm) in [
            ("150 cm", 1500.0),
            ("2mm", 2.0),
            ("4 ft 11 in", 59.0 * 25.4),
            ("4ft11in", 59.0 * 25.4),
            ("1/8 in", 3.175),
            ("5' 9\"", 69.0 * 25.4),
            ("5'9\"", 69.0 * 25.4),
            ("5\u{2032}9\u{2033}", 69.0 * 25.4),
            ("5 ft 9 1/2 in", 69.5 * 25.4),
            ("1 1/2 in", 38.1),
            ("1.5 m", 1500.0),
            (" .5 MM ", 0.5),
            ("-6 mm", -6.0),
            ("6 feet", 1828.8),
        ] {
            let read = length(text).unwrap();
            assert!((read - mm).abs() < 1e-9, "{text}: {read} is not {mm}");
        }
    }

    #[test]
    fn other_kinds() {
        assert_eq!(Quantity::Time.read("20 min"), Ok(1200.0));
        assert_eq!(Quantity::Time.read("1 h 30 min"), Ok(5400.0));
        assert_eq!(Quantity::Angle.read("45 deg"), Ok(45.0));
        assert_eq!(Quantity::Angle.read("45\u{b0}"), Ok(45.0));
        assert_eq!(Quantity::Speed.read("45 mm/s"), Ok(45.0));
        assert_eq!(Quantity::Speed.read("2700 mm/min"), Ok(45.0));
        assert_eq!(Quantity::Share.read("20 %"), Ok(0.2));
        assert_eq!(Quantity::Density.read("1.04 g/cm3"), Ok(1.04));
        assert_eq!(Quantity::Density.read("1040kg/m3"), Ok(1.04));
        assert_eq!(Quantity::MassPerLength.read("25 g/m"), Ok(25.0));
        for text in ["2 /mm", "2/mm", "20 /cm", "1 1/2 /mm"] {
            let wanted = if text.starts_with("1 ") { 1.5 } else { 2.0 };
            assert_eq!(Quantity::PerLength.read(text), Ok(wanted), "{text}");
        }
        assert_eq!(Quantity::Flux.read("1.5 lm"), Ok(1.5));
        assert_eq!(Quantity::Current.read("20 mA"), Ok(0.02));
        assert_eq!([Quantity::Acceleration, Quantity::Mass].map(|k| k.read("2.5 g")), [Ok(2.5), Ok(2.5)]);
        assert!((Quantity::Acceleration.read("9.80665 m/s2").unwrap() - 1.0).abs() < 1e-12);
        assert_eq!(Quantity::Frequency.read("22.05 kHz"), Ok(22050.0));
        assert_eq!(Quantity::FileSize.read("1408 KiB"), Ok(1_441_792.0));
    }

    /// What is said about a text that is no length from 0.4 mm to 50 mm.
    #[track_caller]
    fn refused(text: &str, message: &str, help: &str) {
        let wanted = Wanted::length(0.4, 50.0, "2 mm");
        let error = wanted.read(text).unwrap_err();
        assert_eq!((error.to_string().as_str(), wanted.help(&error).as_str()), (message, help), "{text}");
    }

    #[test]
    fn each_mistake_has_its_words() {
        let units = "lengths need a unit (mm, cm, m, in or ft), for example \"2 mm\"";
        refused("", "this is empty", units);
        refused("2", "2 has no unit", units);
        refused("1/2", "1/2 has no unit", units);
        refused("2 furlong", "\"furlong\" is no unit that is known here", units);
        refused("2 deg", "\"deg\" is a unit of angle, and this must be a length", units);
        refused("thick", "\"thick\" is not a number", units);
        refused("NaN mm", "\"NaN\" is not a number", units);
        refused("inf mm", "\"inf\" is not a number", units);
        refused("1.2.3 mm", "\"1.2.3\" is not a number", units);
        refused("--2 mm", "\"--2 mm\" is not a number", units);
        refused("1/0 in", "\"1/0\" divides by zero", units);
        refused("1,5 mm", "the comma in \"1,5\" is not a decimal point", "write a point, for example \"2 mm\"");
        let one = "write one quantity with one unit, for example \"2 mm\"";
        refused("2 mm mm", "there is more than one quantity here: \"mm\" is left over", one);
        refused("2 mm 3 mm", "there is more than one quantity here: \"3 mm\" is left over", one);
        refused("11 in 4 ft", "there is more than one quantity here: \"4 ft\" is left over", one);
        refused("4 ft 13 in", "there is more than one quantity here: \"13 in\" is left over", one);
        refused("1 2 mm", "there is more than one quantity here: \"2 mm\" is left over", one);
        refused("0.1 mm", "0.1 mm is too small", "it must lie from 0.4 mm to 50 mm");
        refused("-2 mm", "-2 mm is too small", "it must lie from 0.4 mm to 50 mm");
        refused("2 m", "2 m is too large", "it must lie from 0.4 mm to 50 mm");
        refused(&format!("{} mm", "9".repeat(400)), "this number is too large to be meant", units);
    }

    proptest! {
        #[test]
        fn shown_and_read_again(value in -1e6f64..1e6, kind in proptest::sample::select(&Quantity::ALL)) {
            let again = kind.read(&kind.show(value)).unwrap();
            let step = if kind == Quantity::Share { 1e-10 + 1e-15 * value.abs() } else { 0.0 };
            prop_assert!((again - value).abs() <= step, "{value} came back as {again}");
        }

        #[test]
        fn a_length_in_any_unit_is_the_same_length(mm in 1.0f64..5000.0, unit in 0usize..12) {
            let (name, _, factor) = UNITS[unit];
            let again = length(&format!("{} {name}", mm / factor)).unwrap();
            prop_assert!((again - mm).abs() < 1e-9 * mm);
        }

        #[test]
        fn no_text_makes_it_panic_or_gives_nonsense(text in "[-+0-9./,' \"a-z%°³]{0,12}|\\PC*") {
            for kind in Quantity::ALL {
                if let Ok(value) = kind.read(&text) {
                    prop_assert!(value.is_finite());
                }
            }
        }
    }
}
