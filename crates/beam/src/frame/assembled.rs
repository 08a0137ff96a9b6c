//! A frame with its movements numbered and its matrices put together.

use glam::{DMat3, DVec3};

use super::bar::{Block, Placed, axes, placed};
use super::checked::checked;
use super::{Frame, FrameError, Hold, Load, PointMass};
use solid::skyline::{Factor, Skyline, rings};

/// What holds firmly in a joint is this much stiffer than the spans beside it.
const FIRM: f64 = 1e4;

/// A frame with all that is known without loads but its factor.
#[derive(Debug)]
pub(super) struct Assembled<'a> {
    pub(super) frame: &'a Frame,
    pub(super) spans: Vec<Placed>,
    pub(super) joints: Vec<Jointed>,
    /// The unknown of each node's movements and turns; `None` where held firmly.
    pub(super) unknown: Vec<[Option<usize>; 6]>,
    pub(super) count: usize,
    /// The node whose movements each node shares.
    pub(super) home: Vec<usize>,
}

/// A joint as springs.
#[derive(Clone, Debug)]
pub(super) struct Jointed {
    pub(super) nodes: [usize; 2],
    /// Columns: its own axes in the frame.
    pub(super) own: DMat3,
    /// Springs along and about its own axes; nothing along those which both nodes share.
    pub(super) moves: DVec3,
    pub(super) turns: DVec3,
}

impl Jointed {
    /// Stiffness in the frame.
    pub(super) fn stiffness(&self) -> Block {
        let mut block = [[0.0; 12]; 12];
        for (at, springs) in [(0, self.moves), (3, self.turns)] {
            let turned = self.own * DMat3::from_diagonal(springs) * self.own.transpose();
            for i in 0..3 {
                for j in 0..3 {
                    let value = turned.col(j)[i];
                    block[at + i][at + j] = value;
                    block[at + 6 + i][at + 6 + j] = value;
                    block[at + i][at + 6 + j] = -value;
                    block[at + 6 + i][at + j] = -value;
                }
            }
        }
        block
    }
}

pub(super) fn assembled(frame: &Frame) -> Result<Assembled<'_>, FrameError> {
    checked(frame)?;
    let spans =
        frame.spans.iter().enumerate().map(|(i, s)| placed(i, s, &frame.nodes)).collect::<Result<Vec<_>, _>>()?;
    // Nodes of a joint that holds together share their movements: the lowest of them has them.
    let mut home: Vec<usize> = (0..frame.nodes.len()).collect();
    let root = |home: &[usize], mut n: usize| {
        while home[n] != n {
            n = home[n];
        }
        n
    };
    for joint in frame.joints.iter().filter(|j| j.moves == [Hold::Firm; 3]) {
        let (a, b) = (root(&home, joint.from), root(&home, joint.to));
        home[a.max(b)] = a.min(b);
    }
    let home: Vec<usize> = (0..frame.nodes.len()).map(|n| root(&home, n)).collect();
    let mut firm = vec![[false; 6]; frame.nodes.len()];
    for support in &frame.supports {
        for (k, hold) in support.hold.iter().enumerate() {
            let node = if k < 3 { home[support.node] } else { support.node };
            firm[node][k] |= *hold == Hold::Firm;
        }
    }
    let mut unknown: Vec<[Option<usize>; 6]> = vec![[None; 6]; frame.nodes.len()];
    let mut count = 0;
    for node in order(frame, &home) {
        for k in 0..6 {
            if k < 3 && home[node] != node {
                unknown[node][k] = unknown[home[node]][k];
            } else if !firm[node][k] {
                unknown[node][k] = Some(count);
                count += 1;
            }
        }
    }
    let joints = jointed(frame, &spans);
    Ok(Assembled { frame, spans, joints, unknown, count, home })
}

/// Nodes along the spans, those in one place together, so that rows stay short.
fn order(frame: &Frame, home: &[usize]) -> Vec<usize> {
    let mut beside: Vec<Vec<usize>> = vec![Vec::new(); frame.nodes.len()];
    let pairs = frame.spans.iter().map(|s| [s.from, s.to]).chain(frame.joints.iter().map(|j| [j.from, j.to]));
    for [a, b] in pairs {
        beside[a].push(b);
        beside[b].push(a);
    }
    for list in &mut beside {
        list.sort_unstable();
    }
    // A node must come after the one whose movements it shares.
    let mut placed = vec![false; frame.nodes.len()];
    let mut sorted = Vec::with_capacity(frame.nodes.len());
    for node in rings(&beside).into_iter().flatten() {
        for n in [home[node], node] {
            if !placed[n] {
                placed[n] = true;
                sorted.push(n);
            }
        }
    }
    sorted
}

fn jointed(frame: &Frame, spans: &[Placed]) -> Vec<Jointed> {
    let mut stiffest = vec![(0.0_f64, 0.0_f64); frame.nodes.len()];
    for (span, placed) in frame.spans.iter().zip(spans) {
        let (moves, turns) = placed.stiffest();
        for node in [span.from, span.to] {
            stiffest[node] = (stiffest[node].0.max(moves), stiffest[node].1.max(turns));
        }
    }
    let one = |joint: &super::Joint| {
        let (a, b) = (stiffest[joint.from], stiffest[joint.to]);
        let spring = |hold: Hold, firm: f64| match hold {
            Hold::Free => 0.0,
            Hold::Spring(k) => k,
            Hold::Firm => FIRM * firm,
        };
        let shared = joint.moves == [Hold::Firm; 3];
        let moves = joint.moves.map(|h| if shared { 0.0 } else { spring(h, a.0.max(b.0)) });
        Jointed {
            nodes: [joint.from, joint.to],
            own: axes(joint.along, joint.across).unwrap_or(DMat3::IDENTITY),
            moves: DVec3::from_array(moves),
            turns: DVec3::from_array(joint.turns.map(|h| spring(h, a.1.max(b.1)))),
        }
    };
    frame.joints.iter().map(one).collect()
}

impl Assembled<'_> {
    /// Unknowns of the two ends of a span.
    pub(super) fn places(&self, span: usize) -> [Option<usize>; 12] {
        self.ends([self.frame.spans[span].from, self.frame.spans[span].to])
    }

    pub(super) fn ends(&self, [from, to]: [usize; 2]) -> [Option<usize>; 12] {
        std::array::from_fn(|k| if k < 6 { self.unknown[from][k] } else { self.unknown[to][k - 6] })
    }

    fn blank(&self) -> Skyline {
        let joints = self.joints.iter().map(|j| self.ends(j.nodes));
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
        self.stiffness_with(&self.joints)
    }

    /// The same with other springs in the joints.
    pub(super) fn stiffness_with(&self, joints: &[Jointed]) -> Skyline {
        let mut matrix = self.sum(|_, s| s.stiffness());
        for joint in joints {
            add(&mut matrix, &self.ends(joint.nodes), &joint.stiffness());
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

    pub(super) fn mass(&self) -> Skyline {
        let mut matrix = self.sum(|_, s| s.mass());
        for mass in &self.frame.masses {
            let block = lump(mass);
            for (row, values) in self.unknown[mass.node].iter().zip(&block) {
                for (column, value) in self.unknown[mass.node].iter().zip(values) {
                    if let (Some(row), Some(column)) = (row, column) {
                        matrix.add(*row, *column, *value);
                    }
                }
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
                let at = self.frame.nodes[mass.node] + mass.arm_mm;
                let force = accelerated(load, at) * (mass.mass_g * 1e-6);
                push(mass.node, force, mass.arm_mm.cross(force));
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

/// A mass on an arm: its matrix over movements and turns of its node, tonnes.
fn lump(mass: &PointMass) -> [[f64; 6]; 6] {
    let t = mass.mass_g * 1e-6;
    // Its movement is that of the node and turn × arm.
    let a = mass.arm_mm;
    let rows = [[0.0, a.z, -a.y], [-a.z, 0.0, a.x], [a.y, -a.x, 0.0]];
    let of: [[f64; 6]; 3] = std::array::from_fn(|i| {
        std::array::from_fn(|k| if k < 3 { f64::from(u8::from(i == k)) } else { rows[i][k - 3] })
    });
    std::array::from_fn(|i| std::array::from_fn(|j| t * (0..3).map(|k| of[k][i] * of[k][j]).sum::<f64>()))
}

fn accelerated(load: &Load, at: DVec3) -> DVec3 {
    match *load {
        Load::Point { .. } => DVec3::ZERO,
        Load::Pull { mm_s2 } => mm_s2,
        Load::Swing { centre_mm, rate_rad_s, gain_rad_s2 } => {
            let arm = at - centre_mm;
            -rate_rad_s.cross(rate_rad_s.cross(arm)) - gain_rad_s2.cross(arm)
        }
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
