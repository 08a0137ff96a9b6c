//! Whether the prop sags, wobbles, breaks, tires the wrist or overheats.
//!
//! `sections` cuts the pieces as they print, `spine` lays the bar into them, `jointed` makes one bar of all, `hold` says
//! where hands are, `cases` loads it, `joints` asks what glue and plugs take of that, `carried` weighs it in the hand,
//! `choice` tries other spines, `thin` says how thin a wall may be, `warmth` heats it. The mechanics are those of the crate `beam`.

mod carried;
mod cases;
mod choice;
mod hold;
mod jointed;
mod joints;
mod sections;
mod shear;
mod spine;
#[cfg(test)]
mod tests;
mod thin;
mod warmth;

use crate::memory::{Known, Memory};
use crate::outcome::{Bar, Joint, Part, Wire};
use crate::project::Project;
use crate::stages::{Placed, Printed, Split};
use thiserror::Error;

pub use carried::Carried;
pub use cases::{Case, CaseKind, Pressed, Worst};
pub use choice::{STEADY_HZ, STEPS_HZ, Shorter, SpineChoice};
pub use hold::Hands;
pub use joints::JointStrength;
pub use thin::{PLATE_LOW, Thinnest, thinnest};
pub use warmth::{BELOW_K, CELL_C, Heat, STRIP_C, TOUCH_C, WarmCase};

/// What the strength is worked out from.
pub struct StrengthWork<'a> {
    /// The project.
    pub project: &'a Project,
    /// The shape in the prop frame.
    pub placed: &'a Known<Placed>,
    /// Pieces and joints.
    pub split: &'a Split,
    /// Pieces as they print.
    pub printed: &'a Printed,
    /// What goes in.
    pub parts: &'a [Part],
    /// Lengths of strip.
    pub strips: &'a [Bar],
    /// Lengths of spine.
    pub spines: &'a [Bar],
    /// Wires between the parts.
    pub wires: &'a [Wire],
    /// What earlier builds came to.
    pub memory: &'a Memory,
}

impl StrengthWork<'_> {
    fn joints(&self) -> &[Joint] {
        &self.split.joints
    }
}

/// Why strength could not be worked out. Stations are mm from the butt.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum StrengthError {
    /// No section of a piece could be understood.
    #[error(
        "piece {piece:02} has no section that can be worked out, for example at station {station_mm:.0} mm: {reason}"
    )]
    Section {
        /// Number of the piece.
        piece: u32,
        /// Where it was tried.
        station_mm: f64,
        /// What was wrong there.
        reason: String,
    },
    /// No piece spans anything.
    #[error("no piece of the prop spans a stretch of it, so there is no bar to load")]
    Nothing,
    /// A hand beside the prop.
    #[error("a hand at station {hand_mm:.0} mm holds nothing: the prop's pieces end at {end_mm:.0} mm")]
    Hand {
        /// Where the hand is.
        hand_mm: f64,
        /// Where the pieces end.
        end_mm: f64,
    },
    /// Both hands in one place: the maker said where the other is, and the leading one is usually there.
    #[error(
        "the other hand at station {other_mm:.0} mm is where the leading one holds, at {lead_mm:.0} mm; say where that one is (strength.hand)"
    )]
    OnePlace {
        /// Where the leading hand is.
        lead_mm: f64,
        /// Where the other is.
        other_mm: f64,
    },
    /// A spine longer than its channel.
    #[error("{name} is {length_mm:.0} mm long, and the pieces that it lies in end after {channel_mm:.0} mm")]
    Spine {
        /// Which length.
        name: String,
        /// Its length.
        length_mm: f64,
        /// What there is to lie in.
        channel_mm: f64,
    },
    /// The spine's own section is none.
    #[error("the spine's section cannot be worked out: {0}")]
    Bar(String),
    /// A joint cannot be worked out.
    #[error("joint J{joint}: {reason}")]
    Joint {
        /// Its number.
        joint: u32,
        /// What is wrong with it.
        reason: String,
    },
    /// The bar under its loads.
    #[error("{case}: {reason}")]
    Frame {
        /// What was worked out.
        case: &'static str,
        /// What was wrong.
        reason: String,
    },
}

/// What it bears at a place between two stations.
#[derive(Clone, Debug)]
pub struct AtStation {
    /// Stations it stands for, mm.
    pub span_mm: [f64; 2],
    /// Number of the piece.
    pub piece: u32,
    /// Area of printed material, mm2: what is laid, of a piece with infill.
    pub area_mm2: f64,
    /// Middle of pieces (and of a spine that is glued in), weighed by stiffness: across and through from the path, mm.
    pub centroid_mm: [f64; 2],
    /// Where a force across does not twist them, from the path, mm; `None` where they do not touch.
    pub shear_centre_mm: Option<[f64; 2]>,
    /// How the way in which they are broadest slopes against the width, towards the thickness, degrees.
    pub slope_deg: f64,
    /// Stiffness of pieces and spine in bending: the larger and the smaller of the principal ones, N·mm².
    pub ei_nmm2: [f64; 2],
    /// Stiffness in torsion, N·mm².
    pub gj_nmm2: f64,
    /// Mass, g/mm, without parts.
    pub mass_g_mm: f64,
    /// How far it hangs down, held level, mm: flat, and on edge.
    pub sag_mm: [f64; 2],
    /// The case that asks most of the printed material.
    pub worst: Worst,
    /// The case that asks most of the spine, where there is one.
    pub spine: Option<Worst>,
    /// Times the worst load at which the pressed side of a thin wall would buckle; `None` where none is pressed.
    pub thin: Option<f64>,
}

/// What the prop bears.
#[derive(Clone, Debug)]
pub struct Strength {
    /// How much more it must bear than it is asked to.
    pub safety: f64,
    /// Along the prop.
    pub stations: Vec<AtStation>,
    /// The load cases.
    pub cases: Vec<Case>,
    /// Joints.
    pub joints: Vec<JointStrength>,
    /// The first frequencies, held in one hand, Hz.
    pub modes_hz: Vec<f64>,
    /// Times its own weight set down on its butt at which it would buckle; `None`: never.
    pub buckles: Option<f64>,
    /// In the hand.
    pub carried: Carried,
    /// Spines that could stand in, lightest first.
    pub choices: Vec<SpineChoice>,
    /// How warm it gets, where it has light or a car to lie in.
    pub heat: Option<Heat>,
    /// Stations where no section was found and the neighbour's stands in, mm.
    pub guessed_mm: Vec<f64>,
}

/// Works out what the prop bears.
///
/// # Errors
/// A [`StrengthError`] that names the place and what is wrong there.
pub fn strength(work: &StrengthWork) -> Result<Strength, StrengthError> {
    let walls = sections::walls(work)?;
    let spine = spine::lay(work, &walls)?;
    let bar = jointed::jointed(work, &walls, &spine)?;
    let hands = hold::hands(work, &bar)?;
    let held = joints::held(work, &walls, &bar)?;
    let loaded = || -> Result<_, StrengthError> {
        let found = cases::run(work, &walls, &bar, &hands)?;
        let rest = cases::rest(&bar, &hands)?;
        let joints = joints::judge(&held, &walls, &bar, &found);
        let choices = choice::choices(work, &walls, &hands, &held, (&spine, &found, &joints))?;
        Ok((found, rest, joints, choices))
    };
    let (loaded, heat) = rayon::join(loaded, || warmth::heat(work, &walls));
    let (found, rest, joints, choices) = loaded?;
    let heat = heat?;
    let carried = carried::carried(work, &bar, &hands);
    let guessed_mm = walls.iter().filter(|w| w.is_guess).map(|w| w.middle_mm()).collect();
    Ok(Strength {
        safety: work.project.strength.safety,
        stations: cases::stations(work, &walls, &bar, &found),
        cases: found.cases,
        joints,
        modes_hz: rest.modes_hz,
        buckles: rest.buckles,
        carried,
        choices,
        heat,
        guessed_mm,
    })
}
