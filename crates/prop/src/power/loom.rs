//! Every wire: from, to, gauge, colour, length, fuse.

use super::net::{SIGNAL_AWG, gauge_of};
use super::supply::Supply;
use super::{Design, PowerWork};
use crate::catalogue::PartKind;
use crate::finding::Band;
use crate::furnished::letter;
use crate::outcome::Wire;
use crate::project::Feed;
use serde::Serialize;

/// Gauge of wires to a speaker and from a charging port, AWG: an ampere or two over a short way. (Common practice, no source.)
const SPEAKER_AWG: i32 = 26;
const CHARGE_AWG: i32 = 24;

/// The lead by which a controller behind a converter sees the cell.
const SENSE: &str = "cell";

/// What a wire carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Carries {
    /// Plus.
    Plus,
    /// Minus.
    Minus,
    /// A signal or sound.
    Signal,
}

/// Where a wire ends.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Pin {
    /// Letter of the part; `None`: the strip.
    pub part: Option<char>,
    /// Pin or pad in words: "+ out", "data", "far pads +".
    pub pin: String,
}

impl Pin {
    /// "A +", "strip first pads data".
    pub fn words(&self) -> String {
        match self.part {
            Some(part) => format!("{part} {}", self.pin),
            None => format!("strip {}", self.pin),
        }
    }
}

/// One wire.
#[derive(Clone, Debug, PartialEq)]
pub struct Conductor {
    /// "W3.2": the second wire of connection W3.
    pub name: String,
    /// Number of its connection.
    pub bundle: u32,
    /// Where it starts.
    pub from: Pin,
    /// Where it ends.
    pub to: Pin,
    /// What it carries.
    pub carries: Carries,
    /// American wire gauge.
    pub awg: i32,
    /// Colour of its insulation: the word, and the code after IEC 60757.
    pub colour: (&'static str, &'static str),
    /// Length to cut, mm.
    pub cut_mm: Band,
    /// Joints it crosses.
    pub joints: Vec<u32>,
    /// Rating of the fuse before it, A; `None`: none.
    pub fuse_a: Option<f64>,
}

/// Colours of what is neither plus nor minus, in the order in which they are taken.
const COLOURS: [(&str, &str); 8] = [
    ("green", "GN"),
    ("yellow", "YE"),
    ("blue", "BU"),
    ("white", "WH"),
    ("violet", "VT"),
    ("grey", "GY"),
    ("orange", "OG"),
    ("brown", "BN"),
];

/// All wires in the order of their connections.
pub(crate) fn loom(work: &PowerWork, supply: &Supply, design: &Design) -> Vec<Conductor> {
    let mut all = Vec::new();
    for (index, wire) in work.wires.iter().enumerate() {
        all.extend(bundle(work, supply, design, index, wire));
    }
    all
}

/// What the wires between two kinds of parts carry, in the order of their pins; `None` is the strip.
fn pins(ends: [Option<PartKind>; 2], feeds: bool) -> &'static [(&'static str, Carries)] {
    use Carries::{Minus, Plus, Signal};
    let has = |kind: PartKind| ends.contains(&Some(kind));
    match () {
        () if ends.contains(&None) && feeds => &[("+", Plus), ("-", Minus), ("data", Signal)],
        () if ends.contains(&None) => &[("data", Signal), ("-", Minus)],
        () if has(PartKind::Speaker) => &[("speaker +", Signal), ("speaker -", Signal)],
        () if has(PartKind::Sensor) => {
            &[("+", Plus), ("-", Minus), ("clock", Signal), ("data", Signal), ("interrupt", Signal)]
        }
        () if has(PartKind::Amplifier) => {
            &[("+", Plus), ("-", Minus), ("bit clock", Signal), ("word clock", Signal), ("sound data", Signal)]
        }
        () if has(PartKind::Switch) && !feeds => &[("signal", Signal), ("-", Minus)],
        () if has(PartKind::ProgramPort) => &[("+", Plus), ("-", Minus), ("data +", Signal), ("data -", Signal)],
        () if has(PartKind::Converter) && has(PartKind::Controller) => &[("+", Plus), ("-", Minus), (SENSE, Signal)],
        () => &[("+", Plus), ("-", Minus)],
    }
}

fn bundle(work: &PowerWork, supply: &Supply, design: &Design, index: usize, wire: &Wire) -> Vec<Conductor> {
    let parts = &work.project.parts;
    let at = |l: char| (0..parts.len()).find(|p| letter(*p) == l);
    let kind = |l: Option<char>| l.and_then(at).map(|p| parts[p].row.kind);
    let place = supply.feeders.iter().position(|f| f.wire == index);
    let feeder = place.map(|p| &supply.feeders[p]);
    // Power runs from the cell's side on, whichever end the project names first.
    let ends = match feeder {
        Some(f) => [Some(letter(f.from)), f.to.map(letter)],
        None => [Some(wire.from), wire.to],
    };
    let cut_mm = feeder.map_or(wire.cut_mm, |f| f.cut_mm);
    let kinds = ends.map(kind);
    let fuse_a = feeder.and_then(|f| fused(work, supply, design, f.from));
    let charges = kinds.contains(&Some(PartKind::ChargePort));
    let names = pins(kinds, feeder.is_some());
    let in_line = |k: Option<PartKind>| matches!(k, Some(PartKind::Fuse | PartKind::Converter | PartKind::Switch));
    let pin = |end: usize, name: &str, carries: Carries| {
        let pin = match (carries, ends[end]) {
            (_, None) => format!("first pads {name}"),
            (Carries::Signal, Some(_)) if name == SENSE && kinds[end] == Some(PartKind::Converter) => "+ in".to_owned(),
            (Carries::Plus, Some(_)) if in_line(kinds[end]) => format!("+ {}", if end == 0 { "out" } else { "in" }),
            // The minus passes a fuse or switch uncut.
            (Carries::Minus, Some(_))
                if matches!(kinds[end], Some(PartKind::Fuse | PartKind::Switch)) && feeder.is_some() =>
            {
                "- runs on".to_owned()
            }
            _ => name.to_owned(),
        };
        Pin { part: ends[end], pin }
    };
    let joints = feeder.map_or_else(|| wire.joints.clone(), |f| supply.crossed(work, f));
    let mut signals = 0;
    // Two of a strip's wires may be meant for its far pads: they come last.
    let far = feeder.is_some_and(|f| f.to.is_none()) && wire.wires >= crate::bay::wires::FED_AT_BOTH;
    let near = if far { wire.wires as usize - 2 } else { wire.wires as usize };
    let mut all: Vec<Conductor> = (0..near)
        .map(|k| {
            let (name, carries) = names.get(k).copied().unwrap_or(("spare", Carries::Signal));
            let colour = match carries {
                Carries::Plus => ("red", "RD"),
                Carries::Minus => ("black", "BK"),
                Carries::Signal => {
                    signals += 1;
                    COLOURS[(signals - 1) % COLOURS.len()]
                }
            };
            let awg = match (carries, feeder) {
                _ if kinds.contains(&Some(PartKind::Speaker)) => SPEAKER_AWG,
                _ if charges => CHARGE_AWG,
                (Carries::Signal, _) | (_, None) => SIGNAL_AWG,
                (_, Some(f)) => gauge_of(work, f, design),
            };
            Conductor {
                name: format!("W{}.{}", wire.number, k + 1),
                bundle: wire.number,
                from: pin(0, name, carries),
                to: pin(1, name, carries),
                carries,
                awg,
                colour,
                cut_mm,
                joints: joints.clone(),
                fuse_a: if carries == Carries::Signal { None } else { fuse_a },
            }
        })
        .collect();
    if let (Some(feeder), Feed::Both, Some(far_mm)) = (feeder.filter(|f| f.to.is_none()), design.feed, supply.far_mm) {
        let joints = supply.crossed_far(work, feeder);
        let far = [("+", Carries::Plus, ("red", "RD")), ("-", Carries::Minus, ("black", "BK"))];
        all.extend(far.into_iter().enumerate().map(|(k, (name, carries, colour))| Conductor {
            name: format!("W{}.{}", wire.number, near + k + 1),
            bundle: wire.number,
            from: Pin { part: Some(letter(feeder.from)), pin: name.to_owned() },
            to: Pin { part: None, pin: format!("far pads {name}") },
            carries,
            awg: design.awg,
            colour,
            cut_mm: far_mm,
            joints: joints.clone(),
            fuse_a,
        }));
    }
    all
}

/// The fuse that stands before what leaves a part, A.
fn fused(work: &PowerWork, supply: &Supply, design: &Design, part: usize) -> Option<f64> {
    let fuse = |part: usize| work.project.parts[part].row.kind == PartKind::Fuse;
    let before = fuse(part) || supply.way_to(part).iter().any(|f| fuse(f.from));
    if before { design.fuse_a } else { None }
}
