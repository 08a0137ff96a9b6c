//! A frame at rest under loads.

use glam::DVec3;

use super::assembled::{Assembled, assembled, checked_loads};
use super::{Frame, FrameError, Load};
use crate::section::Inside;

/// Forces inside a span at one of its ends, on the face that looks along the span, in the span's own axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct End {
    /// Pull along x, shear along y and z.
    pub force_n: DVec3,
    /// Torque about x, bending about y and z, N·mm.
    pub moment_nmm: DVec3,
}

impl End {
    /// What bends and stretches, for [`crate::section::stress`].
    #[must_use]
    pub fn inside(&self) -> Inside {
        Inside { pull_n: self.force_n.x, about_y_nmm: self.moment_nmm.y, about_z_nmm: self.moment_nmm.z }
    }
}

/// What a support gives back, in the frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reaction {
    /// Which node.
    pub node: usize,
    /// Force on the frame.
    pub force_n: DVec3,
    /// Moment on the frame, N·mm.
    pub moment_nmm: DVec3,
}

/// A frame under loads.
#[derive(Clone, Debug, PartialEq)]
pub struct Still {
    /// How far each node moves, mm.
    pub moved_mm: Vec<DVec3>,
    /// How far each turns, radians (small).
    pub turned_rad: Vec<DVec3>,
    /// Forces inside each span at its first and last end.
    pub ends: Vec<[End; 2]>,
    /// What each support gives, in the order given. Supports that share a node share what it takes: the first tells it all.
    pub reactions: Vec<Reaction>,
}

/// How a frame gives way under loads that act together. Small movements only: past a tenth of the length they are too large.
///
/// # Errors
///
/// See [`FrameError`].
pub fn still(frame: &Frame, loads: &[Load]) -> Result<Still, FrameError> {
    checked_loads(frame, loads)?;
    let assembled = assembled(frame)?;
    solved(&assembled, loads)
}

pub(super) fn solved(assembled: &Assembled<'_>, loads: &[Load]) -> Result<Still, FrameError> {
    let frame = assembled.frame;
    let (at_nodes, on_spans) = assembled.loads(loads);
    let mut right = vec![0.0; assembled.count];
    let mut push = |places: &[Option<usize>], values: &[f64]| {
        for (place, value) in places.iter().zip(values) {
            if let Some(place) = place {
                right[*place] += value;
            }
        }
    };
    for (places, values) in assembled.unknown.iter().zip(&at_nodes) {
        push(places, values);
    }
    for (idx, values) in on_spans.iter().enumerate() {
        push(&assembled.places(idx), values);
    }
    let found = assembled.factor(assembled.stiffness())?.solve(&right);
    let value = |place: Option<usize>| place.map_or(0.0, |p| found[p]);
    let three = |u: &[Option<usize>]| DVec3::new(value(u[0]), value(u[1]), value(u[2]));

    // What is left over at each node once spans and loads are added up is what its support gives.
    let mut left: Vec<[f64; 6]> = at_nodes.iter().map(|f| f.map(|v| -v)).collect();
    let mut ends = Vec::with_capacity(frame.spans.len());
    for (idx, (span, placed)) in frame.spans.iter().zip(&assembled.spans).enumerate() {
        let moved = assembled.places(idx).map(value);
        let stiffness = placed.stiffness();
        let force: [f64; 12] = std::array::from_fn(|i| {
            stiffness[i].iter().zip(&moved).map(|(k, u)| k * u).sum::<f64>() - on_spans[idx][i]
        });
        for k in 0..6 {
            left[span.from][k] += force[k];
            left[span.to][k] += force[k + 6];
        }
        let own = |at: usize| placed.own.transpose() * DVec3::new(force[at], force[at + 1], force[at + 2]);
        ends.push([End { force_n: -own(0), moment_nmm: -own(3) }, End { force_n: own(6), moment_nmm: own(9) }]);
    }
    for (joint, turn) in frame.joints.iter().zip(assembled.joint_turns()) {
        let [from, to] = [joint.from, joint.to].map(|n| three(&assembled.unknown[n][3..]));
        let moment = turn * (from - to);
        for k in 0..3 {
            left[joint.from][k + 3] += moment[k];
            left[joint.to][k + 3] -= moment[k];
        }
    }
    // Forces pass through a joint whole, so a node held there answers for all nodes in its place.
    let together = |node: usize| (0..frame.nodes.len()).filter(move |&n| assembled.home[n] == assembled.home[node]);
    let reaction = |node: usize| Reaction {
        node,
        force_n: together(node).map(|n| DVec3::from_slice(&left[n][..3])).sum(),
        moment_nmm: DVec3::from_slice(&left[node][3..]),
    };
    let mut reactions: Vec<Reaction> = Vec::with_capacity(frame.supports.len());
    for support in &frame.supports {
        let told = reactions.iter().any(|r| r.node == support.node);
        let nothing = Reaction { node: support.node, force_n: DVec3::ZERO, moment_nmm: DVec3::ZERO };
        reactions.push(if told { nothing } else { reaction(support.node) });
    }
    Ok(Still {
        moved_mm: assembled.unknown.iter().map(|u| three(&u[..3])).collect(),
        turned_rad: assembled.unknown.iter().map(|u| three(&u[3..])).collect(),
        ends,
        reactions,
    })
}
