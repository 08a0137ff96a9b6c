//! Sounds: made by the program, or recordings of the maker's.

use crate::fields::{Field, Fields};
use crate::quantity::{Quantity, Wanted};
use behaviour::sound::{Air, Bar};

/// A sound.
#[derive(Clone, Debug, PartialEq)]
pub struct SoundRules {
    /// Its name in the project.
    pub name: String,
    /// Where it comes from.
    pub source: SoundSource,
}

/// Where a sound comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum SoundSource {
    /// A hum that goes round without a seam.
    Hum {
        /// Its pitch, Hz.
        pitch_hz: f64,
        /// Length of a round, s.
        lasts_s: f64,
    },
    /// A rush of air along a stroke.
    Rush {
        /// What the prop is to the air.
        air: Air,
        /// Turning rate at its fastest, degrees a second.
        fastest_dps: f64,
        /// Length, s.
        lasts_s: f64,
    },
    /// A struck bar.
    Bar {
        /// The bar.
        bar: Bar,
        /// Length, s.
        lasts_s: f64,
    },
    /// From low to high.
    Rise {
        /// Length, s.
        lasts_s: f64,
    },
    /// From high to low.
    Fall {
        /// Length, s.
        lasts_s: f64,
    },
    /// Small discharges.
    Crackle {
        /// How many a second.
        a_second: f64,
        /// Length, s.
        lasts_s: f64,
    },
    /// A WAV file of the maker's.
    File {
        /// Its path, from the project file's folder.
        path: String,
        /// Its bytes, once somebody who may open files has brought them.
        bytes: Vec<u8>,
    },
}

/// Kinds of sounds by their word.
#[derive(Clone, Copy)]
enum Made {
    Hum,
    Rush,
    Bar,
    Rise,
    Fall,
    Crackle,
}

/// Reads the tables `[sound.NAME]`; their names come out also when one could not be read.
pub(super) fn read(root: &mut Fields<'_>) -> (Option<Vec<SoundRules>>, Vec<String>) {
    let tables = root.named_tables("sound");
    let names = tables.iter().map(|t| t.name.clone()).collect();
    let sounds: Vec<Option<SoundRules>> = tables.into_iter().map(read_sound).collect();
    (sounds.into_iter().collect(), names)
}

fn read_sound(mut sound: Fields<'_>) -> Option<SoundRules> {
    const KINDS: [(&str, Made); 6] = [
        ("hum", Made::Hum),
        ("rush", Made::Rush),
        ("bar", Made::Bar),
        ("rise", Made::Rise),
        ("fall", Made::Fall),
        ("crackle", Made::Crackle),
    ];
    let name = sound.name.clone();
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    let fits = name.len() <= 32 && name.chars().all(plain);
    if !fits {
        sound.error(
            "this name becomes a file on the board",
            "use letters, digits, - and _ only, 32 at most: [sound.low-bell]",
        );
    }
    let source = match (sound.get("file"), sound.get("makes")) {
        (Some(file), None) => read_path(&file),
        (Some(_), Some(_)) => {
            sound.error_at("makes", "there is a file already".to_owned(), "keep one of the two");
            None
        }
        (None, Some(kind)) => kind.choice(&KINDS).and_then(|kind| read_made(&mut sound, kind)),
        (None, None) => sound.need("makes", "makes = \"hum\", or file = \"bell.wav\"").and(None),
    };
    if source.is_some() {
        sound.finish();
    }
    Some(SoundRules { name, source: source? }).filter(|_| fits)
}

fn read_path(field: &Field<'_>) -> Option<SoundSource> {
    let path = field.text()?.to_owned();
    Some(SoundSource::File { path, bytes: Vec::new() })
}

fn read_made(sound: &mut Fields<'_>, kind: Made) -> Option<SoundSource> {
    const LASTS: Wanted = Wanted::of(Quantity::Time, 0.05, 20.0, "0.9 s");
    const PITCH: Wanted = Wanted::of(Quantity::Frequency, 30.0, 4000.0, "96 Hz");
    const REACH: Wanted = Wanted::length(100.0, 3000.0, "90 cm");
    const EDGE: Wanted = Wanted::length(1.0, 200.0, "4 mm");
    const FASTEST: Wanted = Wanted::of(Quantity::Turning, 100.0, 3000.0, "900 deg/s");
    const CONTACT: Wanted = Wanted::of(Quantity::Time, 0.0001, 0.02, "0.6 ms");
    const SHARE: Wanted = Wanted::of(Quantity::Share, 0.0, 1.0, "93 %");
    let usual_s = match kind {
        Made::Hum => 1.0,
        Made::Rush => 0.45,
        Made::Rise => 0.6,
        Made::Fall => 0.8,
        Made::Bar | Made::Crackle => 0.9,
    };
    let lasts = sound.quantity("lasts", &LASTS, Some(usual_s));
    Some(match kind {
        Made::Hum => {
            let pitch_hz = sound.quantity("pitch", &PITCH, Some(96.0));
            SoundSource::Hum { pitch_hz: pitch_hz?, lasts_s: lasts? }
        }
        Made::Rush => {
            let reach = sound.quantity("reach", &REACH, Some(900.0));
            let edge = sound.quantity("edge", &EDGE, Some(4.0));
            let fastest = sound.quantity("fastest", &FASTEST, Some(900.0));
            let air = Air { reach_m: reach? / 1000.0, edge_m: edge? / 1000.0 };
            SoundSource::Rush { air, fastest_dps: fastest?, lasts_s: lasts? }
        }
        Made::Bar => {
            let pitch = sound.quantity("pitch", &PITCH, Some(640.0));
            let rings = sound.quantity("rings", &LASTS, Some(0.9));
            let struck = sound.quantity("struck-at", &SHARE, Some(0.93));
            let contact = sound.quantity("contact", &CONTACT, Some(0.0006));
            let bar = Bar { first_hz: pitch?, rings_s: rings?, struck_at: struck?, contact_ms: contact? * 1000.0 };
            SoundSource::Bar { bar, lasts_s: lasts? }
        }
        Made::Rise => SoundSource::Rise { lasts_s: lasts? },
        Made::Fall => SoundSource::Fall { lasts_s: lasts? },
        Made::Crackle => {
            let often = sound.get("a-second").map_or(Some(60.0), |f| f.number(0.1..=5000.0));
            SoundSource::Crackle { a_second: often?, lasts_s: lasts? }
        }
    })
}
