//! Motions of a prop in the hand, made by physics: what a sensor in the grip would say, and what really happened.

mod acts;
mod body;
mod script;
mod sensor;
mod stage;
mod track;

pub use script::{ScriptError, script};
pub use sensor::Sensor;
pub(crate) use sensor::{COUNTS, LowPass, count_of};

use crate::{Pace, Sample};

/// Something to do with a prop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Act {
    /// Stand and hold it.
    Rest {
        /// How long, seconds.
        lasts_s: f64,
    },
    /// Walk with it at the side, over the shoulder or in front.
    Walk {
        /// How long, seconds.
        lasts_s: f64,
    },
    /// Run with it.
    Run {
        /// How long, seconds.
        lasts_s: f64,
    },
    /// Stand about and gesture.
    Idle {
        /// How long, seconds.
        lasts_s: f64,
    },
    /// Knock it against things, softly.
    Bumps {
        /// How long, seconds.
        lasts_s: f64,
    },
    /// Shake it.
    Shake {
        /// How long, seconds.
        lasts_s: f64,
    },
    /// Swing it and bring it back.
    Swing,
    /// Swing it at something; `None` leaves it to chance (6 to 45 g, 2 to 10 ms).
    Strike {
        /// Peak of the impact, g.
        g: Option<f64>,
        /// Its length, milliseconds.
        lasts_ms: Option<f64>,
    },
    /// Be struck while holding it still.
    Parry {
        /// Peak of the impact, g.
        g: Option<f64>,
        /// Its length, milliseconds.
        lasts_ms: Option<f64>,
    },
    /// Raise the tip and keep it there.
    TipUp,
    /// Lower the tip and keep it there.
    TipDown,
    /// Hold it level.
    Level,
    /// Twist it about its axis.
    Twist,
    /// Set it down and pick it up again.
    SetDown {
        /// How long it lies, seconds.
        lasts_s: f64,
    },
    /// Drop it and pick it up again.
    Drop,
    /// Press the button.
    Press {
        /// How long, milliseconds.
        lasts_ms: u32,
    },
}

impl Act {
    /// How long it lasts, seconds, if that is said of it.
    pub fn lasts_s(&self) -> Option<f64> {
        match *self {
            Act::Rest { lasts_s }
            | Act::Walk { lasts_s }
            | Act::Run { lasts_s }
            | Act::Idle { lasts_s }
            | Act::Bumps { lasts_s }
            | Act::Shake { lasts_s }
            | Act::SetDown { lasts_s } => Some(lasts_s),
            Act::Press { lasts_ms } => Some(f64::from(lasts_ms) / 1000.0),
            _ => None,
        }
    }
}

/// What happened, in the eyes of somebody who watched.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Kind {
    /// Walking or running.
    #[default]
    Gait,
    /// A swing, until it ended or met something.
    Swing,
    /// An impact.
    Strike,
    /// The tip raised and held.
    TipUp,
    /// The tip lowered and held.
    TipDown,
    /// Held level.
    Level,
    /// A twist.
    Twist,
    /// Set down.
    SetDown,
    /// A fall and its landing.
    Drop,
    /// The button pressed.
    Press,
}

/// A stretch of time in which something happened.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Moment {
    /// What.
    pub kind: Kind,
    /// When it began, seconds.
    pub start_s: f64,
    /// When it ended, seconds.
    pub end_s: f64,
    /// The highest true rate across the prop's axis in it, degrees a second.
    pub peak_dps: f64,
    /// Peak of an impact, g; 0 for anything else.
    pub peak_g: f64,
    /// Length of an impact, milliseconds; 0 for anything else.
    pub lasts_ms: f64,
}

/// A motion as the sensor saw it, and as it was.
#[derive(Clone, Debug, PartialEq)]
pub struct Motion {
    /// Samples a second.
    pub pace: Pace,
    /// What the sensor, the button and the cell said.
    pub samples: Vec<Sample>,
    /// What happened, in the order of time.
    pub moments: Vec<Moment>,
}

/// Does one act after another. The same seed gives the same bytes; another is another person, place of the sensor and
/// mood. The cell stays at `cell_mv`. Times and impacts beyond what [`script`] takes are taken as the nearest that it takes.
///
/// ```
/// use behaviour::motion::{Kind, Sensor, perform, script};
/// use behaviour::Pace;
///
/// let motion = perform(&script("rest 1 s, swing")?, &Sensor::common(Pace::Hz400), 7, 3900);
/// assert_eq!(motion.moments[0].kind, Kind::Swing);
/// # Ok::<(), behaviour::motion::ScriptError>(())
/// ```
pub fn perform(acts: &[Act], sensor: &Sensor, seed: u64, cell_mv: u16) -> Motion {
    let mut stage = stage::Stage::new(seed);
    for act in acts {
        acts::play(act, &mut stage);
    }
    stage.played(sensor, cell_mv)
}
