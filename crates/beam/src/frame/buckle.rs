//! When a frame buckles as a whole.

use super::checked::checked_loads;
use super::{Frame, FrameError, Load, Ready};

/// Loads that may grow more often than this never make it.
const NEVER: f64 = 1e6;

/// Loads that make it at less than this share of theirs are not looked at more closely.
const AT_ONCE: f64 = 1e-6;

/// The answer is found to this share.
const FOUND: f64 = 1e-6;

/// By how much the loads may grow before the frame buckles (Euler); `None` where they may grow a million times.
///
/// The stiffness that is left under a load (Przemieniecki, geometric stiffness; from memory) has a Cholesky factor as
/// long as it holds, and where it holds under two loads it holds between them. So the limit is found by halving, and
/// spans that are pulled, however hard, hide none that is pressed.
///
/// # Errors
///
/// See [`FrameError`].
pub fn buckling(frame: &Frame, loads: &[Load]) -> Result<Option<f64>, FrameError> {
    let ready = Ready::new(frame)?;
    let assembled = &ready.assembled;
    checked_loads(frame, loads)?;
    let (at_nodes, on_spans) = assembled.loads(loads);
    let still = ready.solved(&at_nodes, &on_spans).told(assembled, &at_nodes, &on_spans);
    let pulls_n: Vec<f64> = still.ends.iter().map(|[a, b]| 0.5 * (a.force_n.x + b.force_n.x)).collect();
    if pulls_n.iter().all(|p| *p >= 0.0) {
        return Ok(None);
    }
    let (stiffness, geometric) = (assembled.stiffness(), assembled.geometric(&pulls_n));
    let holds = |times: f64| stiffness.clone().plus(&geometric, times).factor().is_ok();
    let (mut low, mut high) = (0.0, 1.0);
    if holds(high) {
        while holds(high) {
            if high >= NEVER {
                return Ok(None);
            }
            (low, high) = (high, (4.0 * high).min(NEVER));
        }
    } else {
        while high > AT_ONCE && !holds(0.25 * high) {
            high *= 0.25;
        }
        low = 0.25 * high;
    }
    while high - low > FOUND * high {
        let middle = 0.5 * (low + high);
        if holds(middle) { low = middle } else { high = middle }
    }
    Ok(Some(low))
}
