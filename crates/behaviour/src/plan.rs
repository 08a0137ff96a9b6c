//! What a prop does, as data: modes with their light and sound, and rules that lead from one to another.

/// What the detectors and the clock can say. The order is that of the columns of a compiled table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Trigger {
    /// The button went up again soon after it went down.
    ShortPress,
    /// The button has been down for long.
    LongPress,
    /// The prop turns fast across its axis.
    Swing,
    /// It has stopped doing so.
    SwingEnd,
    /// It hit something.
    Strike,
    /// It turns fast about its own axis.
    Twist,
    /// The tip points up.
    TipUp,
    /// The tip points down.
    TipDown,
    /// It is held level.
    Level,
    /// It has been held still for a while.
    Still,
    /// It fell and landed.
    Dropped,
    /// The mode's own time is over.
    Time,
    /// The cell is nearly empty.
    BatteryLow,
}

impl Trigger {
    /// All of them, in order.
    pub const ALL: [Trigger; 13] = [
        Trigger::ShortPress,
        Trigger::LongPress,
        Trigger::Swing,
        Trigger::SwingEnd,
        Trigger::Strike,
        Trigger::Twist,
        Trigger::TipUp,
        Trigger::TipDown,
        Trigger::Level,
        Trigger::Still,
        Trigger::Dropped,
        Trigger::Time,
        Trigger::BatteryLow,
    ];

    /// The name in files and logs.
    pub fn name(self) -> &'static str {
        const NAMES: [&str; 13] = [
            "short-press",
            "long-press",
            "swing",
            "swing-end",
            "strike",
            "twist",
            "tip-up",
            "tip-down",
            "level",
            "still",
            "dropped",
            "time",
            "battery-low",
        ];
        NAMES[self as usize]
    }

    /// The trigger of that name.
    pub fn named(name: &str) -> Option<Trigger> {
        Trigger::ALL.into_iter().find(|t| t.name() == name)
    }
}

/// A whole behaviour. The first mode is the dark one: the prop starts in it after every reset, and ends in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Behaviour {
    /// The modes, the dark one first.
    pub modes: Vec<Mode>,
    /// What leads from mode to mode or plays on top; the first that fits is taken.
    pub rules: Vec<Rule>,
    /// The sounds there are, by name, with their length in samples.
    pub sounds: Vec<Sound>,
}

/// A sound by its name; its samples are the player's.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sound {
    /// What modes and rules call it.
    pub name: String,
    /// Its length, samples; not 0.
    pub samples: u32,
}

/// One state of the prop.
#[derive(Clone, Debug, PartialEq)]
pub struct Mode {
    /// The maker's name for it.
    pub name: String,
    /// Lights, painted in this order, a later one over an earlier one; none is dark.
    pub lights: Vec<Light>,
    /// The sound that goes round while the mode lasts.
    pub hum: Option<Hum>,
    /// How long until [`Trigger::Time`], milliseconds.
    pub lasts_ms: Option<u32>,
}

/// A light over a span of pixels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Light {
    /// What moves.
    pub effect: Effect,
    /// Red, green and blue as the maker would name them on a screen, before gamma.
    pub colour: [u8; 3],
    /// Time of one round: of a breath, of a pulse from grip to tip, of a filling, milliseconds.
    pub period_ms: u32,
    /// First pixel and the one after the last; `None` is the whole strip.
    pub span: Option<(u16, u16)>,
}

/// How a light moves. Levels are 0 to 255 before gamma.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    /// It does not.
    Steady,
    /// Between `low` and full and back within a period.
    Breathe {
        /// The lowest level.
        low: u8,
    },
    /// A bright place that travels from grip to tip in a period.
    Pulse {
        /// Its half width, pixels.
        reach: u16,
        /// The level elsewhere.
        low: u8,
    },
    /// From grip to tip once within a period, then full.
    Fill,
    /// From full to dark, tip first, once within a period.
    Drain,
    /// Groups of four pixels wander between `low` and full.
    Flicker {
        /// The lowest level.
        low: u8,
    },
    /// Single pixels light up and fade.
    Spark {
        /// Sparks a second.
        a_second: u16,
        /// The level elsewhere.
        low: u8,
    },
}

/// A sound that goes round.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hum {
    /// Its name.
    pub sound: String,
    /// Loudness at rest, percent of the samples as they are.
    pub gain_pct: u16,
    /// How much louder it is at 1000 degrees a second, percent of the samples as they are.
    pub swell_pct: u16,
    /// How much higher it is at 1000 degrees a second, percent of its pitch; at most 100.
    pub bend_pct: u16,
}

/// What happens on a trigger.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rule {
    /// The mode it holds in; `None` is every mode except the dark one.
    pub from: Option<String>,
    /// What sets it off.
    pub on: Trigger,
    /// The mode it leads to; `None` stays.
    pub to: Option<String>,
    /// A sound played once on top.
    pub sound: Option<Shot>,
    /// A flash on top.
    pub flash: Option<Flash>,
}

/// A sound played once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shot {
    /// Its name.
    pub sound: String,
    /// Loudness, percent of the samples as they are.
    pub gain_pct: u16,
    /// What is left of the hum while it plays, percent.
    pub duck_pct: u16,
}

/// A flash that spreads from a place and fades.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Flash {
    /// Its colour, as light (no gamma).
    pub colour: [u8; 3],
    /// Where it is brightest; `None` is a pixel by chance.
    pub at: Option<u16>,
    /// Pixels to either side until nothing is left of it at its start.
    pub reach: u16,
    /// How long until nothing is left of it at its place, milliseconds.
    pub fades_ms: u16,
}
