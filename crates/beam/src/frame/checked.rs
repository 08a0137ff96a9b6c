//! What is asked of a frame and its loads before anything is computed.

use super::bar::axes;
use super::{Frame, FrameError, Hold, Load};
use crate::section::Second;

/// Nodes of a joint lie no further apart.
const SAME_PLACE_MM: f64 = 1e-6;

/// That loads name nodes and hold numbers.
pub(super) fn checked_loads(frame: &Frame, loads: &[Load]) -> Result<(), FrameError> {
    for (idx, load) in loads.iter().enumerate() {
        let finite = match *load {
            Load::Point { node, force_n, moment_nmm } => {
                there(frame, "load", idx, node)?;
                reached(frame, "load", idx, node)?;
                force_n.is_finite() && moment_nmm.is_finite()
            }
            Load::Pull { mm_s2 } => mm_s2.is_finite(),
            Load::Swing { centre_mm, rate_rad_s, gain_rad_s2 } => {
                centre_mm.is_finite() && rate_rad_s.is_finite() && gain_rad_s2.is_finite()
            }
        };
        sound(finite, "load", idx)?;
    }
    Ok(())
}

fn there(frame: &Frame, what: &'static str, idx: usize, node: usize) -> Result<(), FrameError> {
    let nodes = frame.nodes.len();
    if node < nodes { Ok(()) } else { Err(FrameError::NoNode { what, idx, node, nodes }) }
}

/// That a span or a joint ends at a node.
fn reached(frame: &Frame, what: &'static str, idx: usize, node: usize) -> Result<(), FrameError> {
    let spans = frame.spans.iter().any(|s| s.from == node || s.to == node);
    let joints = frame.joints.iter().any(|j| j.from == node || j.to == node);
    if spans || joints { Ok(()) } else { Err(FrameError::Unattached { what, idx, node }) }
}

fn sound(fine: bool, what: &'static str, idx: usize) -> Result<(), FrameError> {
    if fine { Ok(()) } else { Err(FrameError::NotFinite { what, idx }) }
}

fn not_negative(value: f64) -> bool {
    value.is_finite() && value >= 0.0
}

fn fine(hold: Hold) -> bool {
    !matches!(hold, Hold::Spring(k) if !not_negative(k))
}

/// That a frame names what is there, holds numbers and is held.
pub(super) fn checked(frame: &Frame) -> Result<(), FrameError> {
    if frame.spans.is_empty() {
        return Err(FrameError::Empty);
    }
    for (idx, node) in frame.nodes.iter().enumerate() {
        sound(node.is_finite(), "node", idx)?;
    }
    for (idx, span) in frame.spans.iter().enumerate() {
        there(frame, "span", idx, span.from)?;
        there(frame, "span", idx, span.to)?;
        let Second { about_y, about_z, mixed } = span.bar.ei_nmm2;
        let finite = [span.bar.ea_n, about_y, about_z, mixed, span.bar.gj_nmm2].iter().all(|v| v.is_finite());
        let massive = not_negative(span.bar.mass_g_mm) && not_negative(span.bar.spin_gmm2_mm);
        let slide = span.bar.shear_per_n;
        let sliding = slide.is_finite() && not_negative(slide.x_axis.x) && not_negative(slide.y_axis.y);
        sound(finite && massive && sliding && span.across.is_finite(), "span", idx)?;
    }
    for (idx, joint) in frame.joints.iter().enumerate() {
        there(frame, "joint", idx, joint.from)?;
        there(frame, "joint", idx, joint.to)?;
        let holds = joint.moves.iter().chain(&joint.turns);
        sound(holds.copied().all(fine) && joint.play_rad.iter().all(|p| not_negative(*p)), "joint", idx)?;
        let apart_mm = frame.nodes[joint.from].distance(frame.nodes[joint.to]);
        if apart_mm > SAME_PLACE_MM {
            return Err(FrameError::JointApart { joint: idx, apart_mm });
        }
        axes(joint.along, joint.across).ok_or(FrameError::JointAxes { joint: idx })?;
    }
    for (idx, mass) in frame.masses.iter().enumerate() {
        there(frame, "mass", idx, mass.node)?;
        reached(frame, "mass", idx, mass.node)?;
        sound(not_negative(mass.mass_g) && mass.arm_mm.is_finite(), "mass", idx)?;
    }
    for (idx, support) in frame.supports.iter().enumerate() {
        there(frame, "support", idx, support.node)?;
        reached(frame, "support", idx, support.node)?;
        sound(support.hold.iter().copied().all(fine), "support", idx)?;
    }
    let holds = |h: &Hold| matches!(h, Hold::Firm) || matches!(h, Hold::Spring(k) if *k > 0.0);
    if !frame.supports.iter().any(|s| s.hold.iter().any(holds)) {
        return Err(FrameError::NoSupport);
    }
    Ok(())
}
