//! A frame at rest under loads.

use glam::{DVec2, DVec3};

use super::assembled::{Assembled, Jointed};
use super::checked::checked_loads;
use super::{Frame, FrameError, Load, Ready};
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
    /// What acts on the section, for [`crate::section::stress`] and [`crate::Section::shear_mpa`].
    #[must_use]
    pub fn inside(&self) -> Inside {
        Inside {
            pull_n: self.force_n.x,
            about_y_nmm: self.moment_nmm.y,
            about_z_nmm: self.moment_nmm.z,
            torque_nmm: self.moment_nmm.x,
            shear_n: DVec2::new(self.force_n.y, self.force_n.z),
        }
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
    /// What each support gives, in the order given. Supports that share a node share what it takes: the first tells it
    /// all.
    pub reactions: Vec<Reaction>,
}

/// How a frame gives way under loads that act together. Small movements only: past a tenth of the length they are too
/// large.
///
/// Joints with play are turned to that end of it towards which the loads push them.
///
/// # Errors
///
/// See [`FrameError`].
pub fn still(frame: &Frame, loads: &[Load]) -> Result<Still, FrameError> {
    Ready::new(frame)?.still(loads)
}

impl Ready<'_> {
    /// How the frame gives way; as [`still`].
    ///
    /// # Errors
    ///
    /// See [`FrameError`].
    pub fn still(&self, loads: &[Load]) -> Result<Still, FrameError> {
        let assembled = &self.assembled;
        checked_loads(assembled.frame, loads)?;
        let (at_nodes, on_spans) = assembled.loads(loads);
        let tight = self.solved(&at_nodes, &on_spans);
        if assembled.frame.joints.iter().all(|j| j.play_rad == [0.0; 3]) {
            return Ok(tight.told(assembled, &at_nodes, &on_spans));
        }
        Ok(loosened(assembled, tight, &at_nodes, &on_spans)?.told(assembled, &at_nodes, &on_spans))
    }

    /// With every joint holding.
    pub(super) fn solved(&self, at_nodes: &AtNodes, on_spans: &OnSpans) -> Solved {
        let found = self.factor.solve(&right(&self.assembled, at_nodes, on_spans));
        Solved::of(&self.assembled, found)
    }
}

type AtNodes = [[f64; 6]];
type OnSpans = [[f64; 12]];

/// How far each unknown moved, with what joints were turned before they took hold.
pub(super) struct Solved {
    found: Vec<f64>,
    joints: Vec<Jointed>,
    slack: Vec<DVec3>,
}

pub(super) fn right(assembled: &Assembled<'_>, at_nodes: &AtNodes, on_spans: &OnSpans) -> Vec<f64> {
    let mut right = vec![0.0; assembled.count];
    for (places, values) in assembled.unknown.iter().zip(at_nodes) {
        push(&mut right, places, values);
    }
    for (idx, values) in on_spans.iter().enumerate() {
        push(&mut right, &assembled.places(idx), values);
    }
    right
}

fn push(right: &mut [f64], places: &[Option<usize>], values: &[f64]) {
    for (place, value) in places.iter().zip(values) {
        if let Some(place) = place {
            right[*place] += value;
        }
    }
}

/// How a turn with play holds.
#[derive(Clone, Copy, PartialEq)]
enum Grip {
    /// No load asks for it: in the middle, holding.
    Idle,
    /// At one end of its play, holding.
    End(f64),
    /// Between the ends, not holding.
    Open,
}

/// Rounds in which joints may change how they hold.
const PLAY_ROUNDS: usize = 40;

/// Joints at the ends of their play. Each round solves for one set of grips and lets go what would have to pull, or
/// stops what went too far; when nothing changes it is done.
fn loosened(
    assembled: &Assembled<'_>,
    tight: Solved,
    at_nodes: &AtNodes,
    on_spans: &OnSpans,
) -> Result<Solved, FrameError> {
    let play: Vec<DVec3> = assembled.frame.joints.iter().map(|j| DVec3::from_array(j.play_rad)).collect();
    let moments: Vec<DVec3> = (0..play.len()).map(|j| tight.moment(assembled, j)).collect();
    let most = moments.iter().map(|m| m.abs().max_element()).fold(0.0, f64::max);
    let begin = |m: f64, play: f64| match play > 0.0 && m.abs() > 1e-9 * most {
        true => Grip::End(m.signum()),
        false => Grip::Idle,
    };
    let mut grips: Vec<[Grip; 3]> =
        moments.iter().zip(&play).map(|(m, p)| std::array::from_fn(|k| begin(m[k], p[k]))).collect();
    let load = right(assembled, at_nodes, on_spans);
    for _ in 0..PLAY_ROUNDS {
        let now = gripped(assembled, &grips, &play, &load)?;
        let mut changed = false;
        for (j, grips) in grips.iter_mut().enumerate() {
            let (moment, turned) = (now.moment(assembled, j), now.turned(assembled, j));
            for k in 0..3 {
                let next = match grips[k] {
                    // The load came to it only as others turned.
                    Grip::Idle if play[j][k] > 0.0 && moment[k].abs() > 1e-6 * most => Grip::End(moment[k].signum()),
                    Grip::End(way) if moment[k] * way < -1e-9 * most => Grip::Open,
                    Grip::Open if turned[k].abs() > play[j][k] => Grip::End(turned[k].signum()),
                    same => same,
                };
                changed |= next != grips[k];
                grips[k] = next;
            }
        }
        if !changed {
            return Ok(now);
        }
    }
    Err(FrameError::Unsettled { rounds: PLAY_ROUNDS })
}

fn gripped(assembled: &Assembled<'_>, grips: &[[Grip; 3]], play: &[DVec3], load: &[f64]) -> Result<Solved, FrameError> {
    let mut joints = assembled.joints.clone();
    let mut slack = vec![DVec3::ZERO; joints.len()];
    for (j, grips) in grips.iter().enumerate() {
        for (k, grip) in grips.iter().enumerate() {
            match grip {
                Grip::Idle => {}
                Grip::End(way) => slack[j][k] = way * play[j][k],
                Grip::Open => joints[j].turns[k] = 0.0,
            }
        }
    }
    let mut right = load.to_vec();
    for (joint, slack) in joints.iter().zip(&slack) {
        let moment = (joint.own * (joint.turns * *slack)).to_array();
        let [from, to] = joint.nodes;
        push(&mut right, &assembled.unknown[from][3..], &moment.map(|m| -m));
        push(&mut right, &assembled.unknown[to][3..], &moment);
    }
    let found = assembled.factor(assembled.stiffness_with(&joints))?.solve(&right);
    Ok(Solved { found, joints, slack })
}

impl Solved {
    /// From how far each unknown moved: for shapes that no load made.
    pub(super) fn of(assembled: &Assembled<'_>, found: Vec<f64>) -> Self {
        Self { found, joints: assembled.joints.clone(), slack: vec![DVec3::ZERO; assembled.joints.len()] }
    }

    fn three(&self, unknown: &[Option<usize>]) -> DVec3 {
        let value = |k: usize| unknown[k].map_or(0.0, |u| self.found[u]);
        DVec3::new(value(0), value(1), value(2))
    }

    /// How far a joint's second node turned against its first, in the joint's own axes.
    fn turned(&self, assembled: &Assembled<'_>, joint: usize) -> DVec3 {
        let Jointed { nodes: [from, to], own, .. } = &self.joints[joint];
        own.transpose() * (self.three(&assembled.unknown[*to][3..]) - self.three(&assembled.unknown[*from][3..]))
    }

    /// The moment that turns a joint's second node against its first, in the joint's own axes.
    fn moment(&self, assembled: &Assembled<'_>, joint: usize) -> DVec3 {
        self.joints[joint].turns * (self.turned(assembled, joint) - self.slack[joint])
    }

    pub(super) fn told(&self, assembled: &Assembled<'_>, at_nodes: &AtNodes, on_spans: &OnSpans) -> Still {
        let frame = assembled.frame;
        // What is left over at each node once spans and loads are added up is what its support gives.
        let mut left: Vec<[f64; 6]> = at_nodes.iter().map(|f| f.map(|v| -v)).collect();
        let mut ends = Vec::with_capacity(frame.spans.len());
        for (idx, (span, placed)) in frame.spans.iter().zip(&assembled.spans).enumerate() {
            let moved = assembled.places(idx).map(|p| p.map_or(0.0, |p| self.found[p]));
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
        for (idx, joint) in self.joints.iter().enumerate() {
            let [from, to] = joint.nodes;
            let moment = joint.own * self.moment(assembled, idx);
            let apart = self.three(&assembled.unknown[to][..3]) - self.three(&assembled.unknown[from][..3]);
            let force = joint.own * (joint.moves * (joint.own.transpose() * apart));
            for k in 0..3 {
                left[from][k] -= force[k];
                left[to][k] += force[k];
                left[from][k + 3] -= moment[k];
                left[to][k + 3] += moment[k];
            }
        }
        Still {
            moved_mm: assembled.unknown.iter().map(|u| self.three(&u[..3])).collect(),
            turned_rad: assembled.unknown.iter().map(|u| self.three(&u[3..])).collect(),
            ends,
            reactions: reactions(assembled, &left),
        }
    }
}

fn reactions(assembled: &Assembled<'_>, left: &[[f64; 6]]) -> Vec<Reaction> {
    let frame = assembled.frame;
    // Forces pass through a joint that holds together whole, so a node held there answers for all nodes in its place.
    let together = |node: usize| (0..frame.nodes.len()).filter(move |&n| assembled.home[n] == assembled.home[node]);
    let reaction = |node: usize| Reaction {
        node,
        force_n: together(node).map(|n| DVec3::from_slice(&left[n][..3])).sum(),
        moment_nmm: DVec3::from_slice(&left[node][3..]),
    };
    let mut found: Vec<Reaction> = Vec::with_capacity(frame.supports.len());
    for support in &frame.supports {
        let told = found.iter().any(|r| r.node == support.node);
        let nothing = Reaction { node: support.node, force_n: DVec3::ZERO, moment_nmm: DVec3::ZERO };
        found.push(if told { nothing } else { reaction(support.node) });
    }
    found
}
