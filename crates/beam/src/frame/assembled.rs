//! A frame checked, its movements numbered, its matrices put together.

use glam::{DMat3, DVec3};

use super::bar::{Block, Placed, axes, placed};
use super::{Frame, FrameError, Hold, Load};
use crate::section::Second;
use crate::skyline::{Factor, Skyline};

/// Nodes of a joint lie no further apart.
const SAME_PLACE_MM: f64 = 1e-6;

/// A frame ready to be asked.
pub(super) struct Assembled<'a> {
    pub(super) frame: &'a Frame,
    pub(super) spans: Vec<Placed>,
    /// The unknown of each node's movements and turns; `None` where held firmly.
    pub(super) unknown: Vec<[Option<usize>; 6]>,
    pub(super) count: usize,
    /// The node whose movements each node shares.
    pub(super) home: Vec<usize>,
}

pub(super) fn assembled(frame: &Frame) -> Result<Assembled<'_>, FrameError> {
    checked(frame)?;
    let spans =
        frame.spans.iter().enumerate().map(|(i, s)| placed(i, s, &frame.nodes)).collect::<Result<Vec<_>, _>>()?;
    // Nodes of a joint share their movements: the lowest of them has them.
    let mut home: Vec<usize> = (0..frame.nodes.len()).collect();
    let root = |home: &[usize], mut n: usize| {
        while home[n] != n {
            n = home[n];
        }
        n
    };
    for joint in &frame.joints {
        let (a, b) = (root(&home, joint.from), root(&home, joint.to));
        home[a.max(b)] = a.min(b);
    }
    let mut firm = vec![[false; 6]; frame.nodes.len()];
    for support in &frame.supports {
        for (k, hold) in support.hold.iter().enumerate() {
            let node = if k < 3 { root(&home, support.node) } else { support.node };
            firm[node][k] |= *hold == Hold::Firm;
        }
    }
    let mut unknown: Vec<[Option<usize>; 6]> = vec![[None; 6]; frame.nodes.len()];
    let mut count = 0;
    for node in 0..frame.nodes.len() {
        let owner = root(&home, node);
        for k in 0..6 {
            if k < 3 && owner != node {
                unknown[node][k] = unknown[owner][k];
            } else if !firm[node][k] {
                unknown[node][k] = Some(count);
                count += 1;
            }
        }
    }
    let home = (0..frame.nodes.len()).map(|n| root(&home, n)).collect();
    Ok(Assembled { frame, spans, unknown, count, home })
}

impl Assembled<'_> {
    /// Unknowns of the two ends of a span.
    pub(super) fn places(&self, span: usize) -> [Option<usize>; 12] {
        self.ends(self.frame.spans[span].from, self.frame.spans[span].to)
    }

    fn ends(&self, from: usize, to: usize) -> [Option<usize>; 12] {
        let mut places = [None; 12];
        places[..6].copy_from_slice(&self.unknown[from]);
        places[6..].copy_from_slice(&self.unknown[to]);
        places
    }

    fn blank(&self) -> Skyline {
        let joints = self.frame.joints.iter().map(|j| self.ends(j.from, j.to));
        let blocks: Vec<_> = (0..self.spans.len()).map(|s| self.places(s)).chain(joints).collect();
        Skyline::for_blocks(self.count, blocks.iter().map(|b| &b[..]))
    }

    /// The sum of what each span adds.
    fn sum(&self, of: impl Fn(usize, &Placed) -> Block) -> Skyline {
        let mut matrix = self.blank();
        for (idx, span) in self.spans.iter().enumerate() {
            add(&mut matrix, &self.places(idx), &of(idx, span));
        }
        matrix
    }

    pub(super) fn stiffness(&self) -> Skyline {
        let mut matrix = self.sum(|_, s| s.stiffness());
        for (joint, turn) in self.frame.joints.iter().zip(self.joint_turns()) {
            let mut block = [[0.0; 12]; 12];
            for i in 0..3 {
                for j in 0..3 {
                    let value = turn.col(j)[i];
                    block[3 + i][3 + j] = value;
                    block[9 + i][9 + j] = value;
                    block[3 + i][9 + j] = -value;
                    block[9 + i][3 + j] = -value;
                }
            }
            add(&mut matrix, &self.ends(joint.from, joint.to), &block);
        }
        for support in &self.frame.supports {
            for (unknown, hold) in self.unknown[support.node].iter().zip(support.hold) {
                if let (Some(unknown), Hold::Spring(k)) = (unknown, hold) {
                    matrix.add(*unknown, *unknown, k);
                }
            }
        }
        matrix
    }

    /// What each joint answers to a turn, in the frame.
    pub(super) fn joint_turns(&self) -> impl Iterator<Item = DMat3> + '_ {
        self.frame.joints.iter().map(|joint| {
            let own = axes(joint.along, joint.across).unwrap_or(DMat3::IDENTITY);
            own * DMat3::from_diagonal(DVec3::from_array(joint.turn_nmm)) * own.transpose()
        })
    }

    pub(super) fn mass(&self) -> Skyline {
        let mut matrix = self.sum(|_, s| s.mass());
        for mass in &self.frame.masses {
            for unknown in self.unknown[mass.node].iter().take(3).flatten() {
                matrix.add(*unknown, *unknown, mass.mass_g * 1e-6);
            }
        }
        matrix
    }

    /// What pulls in the spans add to the stiffness.
    pub(super) fn geometric(&self, pulls_n: &[f64]) -> Skyline {
        self.sum(|idx, s| s.geometric(pulls_n[idx]))
    }

    pub(super) fn factor(&self, stiffness: Skyline) -> Result<Factor, FrameError> {
        stiffness.factor().map_err(|bad| {
            let mut all =
                self.unknown.iter().enumerate().flat_map(|(n, u)| u.iter().enumerate().map(move |(k, u)| (n, k, u)));
            let (node, k, _) = all.find(|(_, _, u)| **u == Some(bad)).unwrap_or((0, 0, &None));
            FrameError::Loose { node, turns: k > 2 }
        })
    }

    /// Force and moment at each node from loads there and on masses, and forces at the ends of each span that stand for
    /// what acts along it.
    pub(super) fn loads(&self, loads: &[Load]) -> (Vec<[f64; 6]>, Vec<[f64; 12]>) {
        let mut at_nodes = vec![[0.0; 6]; self.frame.nodes.len()];
        let mut on_spans = vec![[0.0; 12]; self.spans.len()];
        let mut push = |node: usize, force: DVec3, moment: DVec3| {
            for k in 0..3 {
                at_nodes[node][k] += force[k];
                at_nodes[node][k + 3] += moment[k];
            }
        };
        for load in loads {
            if let Load::Point { node, force_n, moment_nmm } = *load {
                push(node, force_n, moment_nmm);
                continue;
            }
            for mass in &self.frame.masses {
                push(mass.node, accelerated(load, self.frame.nodes[mass.node]) * (mass.mass_g * 1e-6), DVec3::ZERO);
            }
            for ((span, ends), sum) in self.spans.iter().zip(&self.frame.spans).zip(&mut on_spans) {
                let middle = self.frame.nodes[ends.from].midpoint(self.frame.nodes[ends.to]);
                let n_mm = accelerated(load, middle) * (span.mass_g() * 1e-6 / span.length);
                sum.iter_mut().zip(span.even(n_mm)).for_each(|(s, f)| *s += f);
            }
        }
        (at_nodes, on_spans)
    }
}

fn accelerated(load: &Load, at: DVec3) -> DVec3 {
    match *load {
        Load::Point { .. } => DVec3::ZERO,
        Load::Pull { mm_s2 } => mm_s2,
        Load::Swing { centre_mm, rate_rad_s } => -rate_rad_s.cross(rate_rad_s.cross(at - centre_mm)),
    }
}

fn add(matrix: &mut Skyline, places: &[Option<usize>; 12], block: &Block) {
    for (row, values) in places.iter().zip(block) {
        let Some(row) = *row else { continue };
        for (column, value) in places.iter().zip(values) {
            if let Some(column) = *column {
                matrix.add(row, column, *value);
            }
        }
    }
}

/// That loads name nodes and hold numbers.
pub(super) fn checked_loads(frame: &Frame, loads: &[Load]) -> Result<(), FrameError> {
    for (idx, load) in loads.iter().enumerate() {
        let finite = match *load {
            Load::Point { node, force_n, moment_nmm } => {
                there(frame, "load", idx, node)?;
                force_n.is_finite() && moment_nmm.is_finite()
            }
            Load::Pull { mm_s2 } => mm_s2.is_finite(),
            Load::Swing { centre_mm, rate_rad_s } => centre_mm.is_finite() && rate_rad_s.is_finite(),
        };
        sound(finite, "load", idx)?;
    }
    Ok(())
}

fn there(frame: &Frame, what: &'static str, idx: usize, node: usize) -> Result<(), FrameError> {
    let nodes = frame.nodes.len();
    if node < nodes { Ok(()) } else { Err(FrameError::NoNode { what, idx, node, nodes }) }
}

fn sound(fine: bool, what: &'static str, idx: usize) -> Result<(), FrameError> {
    if fine { Ok(()) } else { Err(FrameError::NotFinite { what, idx }) }
}

fn not_negative(value: f64) -> bool {
    value.is_finite() && value >= 0.0
}

fn checked(frame: &Frame) -> Result<(), FrameError> {
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
        sound(finite && massive && span.across.is_finite(), "span", idx)?;
    }
    for (idx, joint) in frame.joints.iter().enumerate() {
        there(frame, "joint", idx, joint.from)?;
        there(frame, "joint", idx, joint.to)?;
        sound(joint.turn_nmm.iter().all(|k| not_negative(*k)), "joint", idx)?;
        let apart_mm = frame.nodes[joint.from].distance(frame.nodes[joint.to]);
        if apart_mm > SAME_PLACE_MM {
            return Err(FrameError::JointApart { joint: idx, apart_mm });
        }
        axes(joint.along, joint.across).ok_or(FrameError::JointAxes { joint: idx })?;
    }
    for (idx, mass) in frame.masses.iter().enumerate() {
        there(frame, "mass", idx, mass.node)?;
        sound(not_negative(mass.mass_g), "mass", idx)?;
    }
    for (idx, support) in frame.supports.iter().enumerate() {
        there(frame, "support", idx, support.node)?;
        let fine = |h: &Hold| !matches!(h, Hold::Spring(k) if !not_negative(*k));
        sound(support.hold.iter().all(fine), "support", idx)?;
    }
    let holds = |h: &Hold| matches!(h, Hold::Firm) || matches!(h, Hold::Spring(k) if *k > 0.0);
    if !frame.supports.iter().any(|s| s.hold.iter().any(holds)) {
        return Err(FrameError::NoSupport);
    }
    Ok(())
}
