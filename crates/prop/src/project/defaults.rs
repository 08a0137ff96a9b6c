//! What holds where the project file is silent, each with its reason.

use super::Glow;
use crate::catalogue::Process;
use crate::outcome::Role;

/// Material by process: the commonest filament, white because it spreads light; the plain resin.
pub(super) const fn material(process: Process) -> &'static str {
    match process {
        Process::Filament => "pla-white",
        Process::Resin => "resin-standard",
    }
}

/// Wall, mm. Lit: handled props are printed 1.6 to 2.4 mm thick, and white plastic of 2 mm hides single pixels.
/// A cover of resin is hollowed at 2.4 mm: thinner walls warp and crack while they cure. (Common practice, no source.)
/// Otherwise the shell round the infill: normal prints have 1.2 to 1.6 mm. (Common practice.)
pub(super) const fn wall_mm(role: Role, process: Option<Process>) -> f64 {
    match (role, process) {
        (Role::Lit, _) => 2.0,
        (Role::Cover, Some(Process::Resin)) => 2.4,
        _ => 1.2,
    }
}

/// Least and most of a graded wall, mm: three beads of a 0.4 nozzle, which hide a pixel no worse than a plain wall where
/// none is near; and what still lets two thirds of a 2 mm wall's light through. (Our choice.)
pub(super) const GRADED_MM: [f64; 2] = [1.2, 3.2];

/// A cavity thinner than this holds neither strip nor light and leaves slivers, mm. (Our choice.)
pub(super) const LEAST_CAVITY_MM: f64 = 2.0;

/// Infill of bodies that are not hollowed: stiff enough for a prop, light enough for the wrist. (Common practice.)
pub(super) const INFILL: f64 = 0.2;

/// Light leaves a blade along its edges more often than not. (Our choice.)
pub(super) const GLOW: Glow = Glow::Edges;

/// A lit piece that lies needs support inside, where nobody can take it out; others may lie. (Our choice.)
pub(super) const fn may_lie(role: Role) -> bool {
    !matches!(role, Role::Lit)
}

/// Two strips back to back light both edges alike. (Our choice.)
pub(super) const ROWS: u32 = 2;

/// One turn of insulating tape, mm: electrical tape is 0.13 to 0.18, polyimide tape 0.06 to 0.1. (From memory.)
pub(super) const TAPE_MM: f64 = 0.1;

/// A shorter piece of spine bridges no joint: each side of a cut wants some 1.5 times the section's depth of
/// engagement, and a handle's length of it. (Our choice.)
pub(super) const LEAST_SPINE_MM: f64 = 150.0;

/// Three wires of 0.8 mm2 with insulation side by side, mm. (From memory.)
pub(super) const WIRE_BUNDLE_MM: f64 = 4.0;

/// Red, black and white insulation side by side: how much light it sends back. (Our choice.)
pub(super) const WIRE_REFLECT: f64 = 0.2;

/// Faces that look within half a right angle of a direction look that way. (Our choice.)
pub(super) const WITHIN_DEG: f64 = 45.0;

/// A lit prop is looked at from here, mm: somebody who stands before its bearer.
pub(super) const VIEWED_MM: f64 = 3000.0;

/// Noise of the computed light on a square centimetre of window: fine enough to tell lines and ripple, since each halving
/// takes four times as long. (Our choice.)
pub(super) const NOISE: f64 = 0.05;
