//! The nodal equations and Newton's steps on them.
//!
//! Unknown are the voltage of every node but one and the output current of every converter. Strips join their taps as
//! [`ladder`](crate::ladder) reduces them, so the equations stay few however many pixels there are. A step that makes the
//! largest mismatch worse is halved, at most six times; there are at most [`STEPS`] steps.

use crate::convert::Law;
use crate::copper::copper_factor;
use crate::demand::{Conditions, Demand};
use crate::dense;
use crate::ladder::{Ladder, Port};
use crate::network::Network;
use crate::part::Part;
use crate::strip::{LEAK_S, Strip};

/// Newton steps before another way is tried.
const STEPS: usize = 60;

/// Halvings of a step.
const HALVINGS: usize = 6;

/// A step below which nothing more is won, V and A.
const STILL: f64 = 1e-10;

/// Larger steps, V, with mismatches, A, that are rounding: behind an open switch a node hangs on leaks alone.
const ROUNDING: [(f64, f64); 2] = [(1e-6, 1e-11), (1e-2, 1e-12)];

/// A part that is a straight line: current = (v - emf) * siemens.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Line {
    pub siemens: f64,
    pub emf_v: f64,
}

/// A network made ready for solving, and where its solution stands.
#[derive(Clone, Debug)]
pub(crate) struct Solver<'n> {
    pub net: &'n Network,
    /// Unknown of each node; that of the first cell's minus is none.
    unknown: Vec<Option<usize>>,
    /// How many unknowns are voltages.
    voltages: usize,
    /// Parts that are converters, and their laws where they stand.
    pub converters: Vec<(usize, Law)>,
    /// Parts that are strips.
    pub ladders: Vec<(usize, Ladder)>,
    /// Parts that are straight lines, in the conditions as set.
    pub lines: Vec<Option<Line>>,
    /// Conductance of every node to where it stood before, S, and those voltages: for settling slowly.
    held: Option<(f64, Vec<f64>)>,
    x: Vec<f64>,
    matrix: Vec<f64>,
    next: Vec<f64>,
    mismatch: Vec<f64>,
    ports: Vec<Vec<Port>>,
}

impl<'n> Solver<'n> {
    /// Of a checked network.
    pub(crate) fn new(net: &'n Network, conditions: &Conditions) -> Self {
        let ground = net.parts.iter().find(|p| matches!(p.part, Part::Cell(_))).map(|p| p.nodes[1].0);
        let mut voltages = 0;
        let mut unknown = Vec::new();
        for node in 0..net.nodes.len() {
            let is_ground = Some(node) == ground;
            unknown.push(if is_ground { None } else { Some(voltages) });
            voltages += usize::from(!is_ground);
        }
        let (mut converters, mut ladders) = (Vec::new(), Vec::new());
        for (i, placed) in net.parts.iter().enumerate() {
            match &placed.part {
                Part::Converter(converter) => converters.push((i, converter.law(0.0, 0.0))),
                Part::Strip(strip) => ladders.push((i, Ladder::new(strip))),
                _ => {}
            }
        }
        let size = voltages + converters.len();
        let ports = vec![Vec::new(); ladders.len()];
        let mut solver = Solver {
            net,
            unknown,
            voltages,
            converters,
            ladders,
            lines: Vec::new(),
            held: None,
            x: vec![0.0; size],
            matrix: vec![0.0; size * size],
            next: vec![0.0; size],
            mismatch: vec![0.0; size],
            ports,
        };
        solver.set(conditions);
        solver
    }

    /// Sets charge and temperatures.
    pub(crate) fn set(&mut self, conditions: &Conditions) {
        self.lines.clear();
        for (i, placed) in self.net.parts.iter().enumerate() {
            let c = conditions.celsius(i);
            self.lines.push(match &placed.part {
                Part::Cell(cell) => {
                    let siemens = 1.0 / cell.ohm_at(conditions.charge, c);
                    Some(Line { siemens, emf_v: cell.open_at(conditions.charge) })
                }
                Part::Wire(wire) => Some(Line { siemens: 1.0 / (wire.ohm() * copper_factor(c)), emf_v: 0.0 }),
                Part::Fuse(fuse) => Some(Line { siemens: 1.0 / (fuse.ohm * copper_factor(c)), emf_v: 0.0 }),
                Part::Contact(contact) if contact.closed => Some(Line { siemens: 1.0 / contact.ohm, emf_v: 0.0 }),
                Part::Contact(_) | Part::Capacitor(_) => Some(Line { siemens: LEAK_S, emf_v: 0.0 }),
                Part::Converter(_) | Part::Strip(_) | Part::Load(_) | Part::Amplifier(_) => None,
            });
        }
        for (i, ladder) in &mut self.ladders {
            if let Part::Strip(strip) = &self.net.parts[*i].part {
                ladder.warm(strip, copper_factor(conditions.celsius(*i)));
            }
        }
    }

    /// Voltage of a node.
    pub(crate) fn volt(&self, node: usize) -> f64 {
        self.unknown[node].map_or(0.0, |u| self.x[u])
    }

    /// Voltage from the first to the second end of a part.
    pub(crate) fn across(&self, part: usize) -> f64 {
        let nodes = &self.net.parts[part].nodes;
        self.volt(nodes[0].0) - self.volt(nodes[nodes.len() - 1].0)
    }

    /// Output current of a converter.
    pub(crate) fn output_a(&self, converter: usize) -> f64 {
        self.x[self.voltages + converter]
    }

    /// Voltages of a strip's taps.
    pub(crate) fn taps(&self, part: usize) -> Vec<(f64, f64)> {
        self.net.parts[part].nodes.chunks(2).map(|pair| (self.volt(pair[0].0), self.volt(pair[1].0))).collect()
    }

    /// Forgets where the solution stood.
    pub(crate) fn clear(&mut self) {
        self.x.fill(0.0);
        self.ladders.iter_mut().for_each(|(_, ladder)| ladder.differ_v.fill(0.0));
    }

    /// Holds every node back by a conductance to where it stands now; none for not at all.
    pub(crate) fn hold(&mut self, siemens: Option<f64>) {
        self.held = siemens.map(|s| (s, self.x[..self.voltages].to_vec()));
    }

    /// Newton's steps from where the solution stands, all loads taken `scale` times.
    ///
    /// # Errors
    ///
    /// The mismatch that is left, A, if it does not end.
    pub(crate) fn newton(&mut self, demand: &Demand, scale: f64) -> Result<(), f64> {
        self.draw(demand, scale);
        let mut mismatch = self.mismatch(demand, scale);
        for _ in 0..STEPS {
            self.assemble(demand, scale);
            if !dense::solve(&mut self.matrix, &mut self.next) {
                return Err(mismatch);
            }
            let mut stride = self.x.iter().zip(&self.next).fold(0.0, |most, (a, b)| f64::max(most, (b - a).abs()));
            for k in 0..self.ladders.len() {
                let (i, taps_v) = (self.ladders[k].0, self.next_taps(self.ladders[k].0));
                if let Part::Strip(strip) = &self.net.parts[i].part {
                    self.ladders[k].1.aim(strip, &taps_v);
                }
                stride = f64::max(stride, self.ladders[k].1.stride());
            }
            let from = self.x.clone();
            let from_v: Vec<Vec<f64>> = self.ladders.iter().map(|(_, l)| l.differ_v.clone()).collect();
            let mut tried = self.go(&from, &from_v, 1.0, demand, scale);
            if stride <= STILL || ROUNDING.iter().any(|(v, a)| stride <= *v && tried <= *a) {
                return Ok(());
            }
            let full = tried;
            for halving in 1..=HALVINGS {
                if tried < mismatch {
                    break;
                }
                tried = self.go(&from, &from_v, 1.0 / f64::from(1u32 << halving), demand, scale);
            }
            // At a kink no part of a step may help; then the whole step leads away from it.
            if tried >= mismatch && full > mismatch {
                tried = self.go(&from, &from_v, 1.0, demand, scale);
            }
            mismatch = tried;
        }
        Err(mismatch)
    }

    /// Goes a share of the step and returns the mismatch there.
    fn go(&mut self, from: &[f64], from_v: &[Vec<f64>], share: f64, demand: &Demand, scale: f64) -> f64 {
        for ((x, start), next) in self.x.iter_mut().zip(from).zip(&self.next) {
            *x = start + share * (next - start);
        }
        for ((_, ladder), start) in self.ladders.iter_mut().zip(from_v) {
            ladder.go(start, share);
        }
        self.draw(demand, scale);
        self.mismatch(demand, scale)
    }

    /// The differences that a strip's taps go to.
    fn next_taps(&self, part: usize) -> Vec<f64> {
        let at = |node: usize| self.unknown[node].map_or(0.0, |u| self.next[u]);
        self.net.parts[part].nodes.chunks(2).map(|pair| at(pair[0].0) - at(pair[1].0)).collect()
    }

    /// What pixels draw and converters do where the solution stands.
    fn draw(&mut self, demand: &Demand, scale: f64) {
        for ((i, ladder), drives) in self.ladders.iter_mut().zip(&demand.scene.strips) {
            if let Part::Strip(strip) = &self.net.parts[*i].part {
                ladder.draw(strip, drives, demand.light, scale);
            }
        }
        for k in 0..self.converters.len() {
            let i = self.converters[k].0;
            if let Part::Converter(converter) = &self.net.parts[i].part {
                self.converters[k].1 = converter.law(self.across(i), self.output_a(k));
            }
        }
    }

    /// Current and slope of a load or amplifier where it stands; `None` for other parts.
    pub(crate) fn loaded(&self, part: usize, demand: &Demand, scale: f64) -> Option<(f64, f64)> {
        match &self.net.parts[part].part {
            Part::Load(load) => Some(load.drawn(scale, self.across(part))),
            Part::Amplifier(amp) => Some(amp.drawn(demand.sound_w, scale, self.across(part))),
            _ => None,
        }
    }

    /// Largest mismatch of the equations where the solution stands.
    fn mismatch(&mut self, demand: &Demand, scale: f64) -> f64 {
        let mut out = std::mem::take(&mut self.mismatch);
        out.fill(0.0);
        let mut leave = |node: usize, amps: f64| {
            if let Some(u) = self.unknown[node] {
                out[u] += amps;
            }
        };
        for (i, placed) in self.net.parts.iter().enumerate() {
            let two = match self.lines[i] {
                Some(line) => Some((self.across(i) - line.emf_v) * line.siemens),
                None => self.loaded(i, demand, scale).map(|(amps, _)| amps),
            };
            if let Some(amps) = two {
                leave(placed.nodes[0].0, amps);
                leave(placed.nodes[1].0, -amps);
            }
        }
        for (k, (i, law)) in self.converters.iter().enumerate() {
            let nodes = &self.net.parts[*i].nodes;
            let out_a = self.output_a(k);
            leave(nodes[0].0, law.in_a);
            leave(nodes[1].0, -out_a);
            leave(nodes[2].0, out_a - law.in_a);
        }
        let mut worst: f64 = 0.0;
        for (i, ladder) in &self.ladders {
            let Part::Strip(strip) = &self.net.parts[*i].part else { continue };
            worst = worst.max(ladder.residual(strip));
            let taps = self.taps(*i);
            for (t, (plus_a, minus_a)) in ladder.tap_currents(strip, &taps).into_iter().enumerate() {
                leave(self.net.parts[*i].nodes[2 * t].0, plus_a);
                leave(self.net.parts[*i].nodes[2 * t + 1].0, minus_a);
            }
        }
        if let Some((siemens, before)) = &self.held {
            for (u, before_v) in before.iter().enumerate() {
                out[u] += siemens * (self.x[u] - before_v);
            }
        }
        for (k, (i, law)) in self.converters.iter().enumerate() {
            out[self.voltages + k] = self.converter_gap(k, *i, law);
        }
        worst = out.iter().fold(worst, |most, a| most.max(a.abs()));
        self.mismatch = out;
        worst
    }

    /// By how much a converter's output is off what it would be, V.
    fn converter_gap(&self, k: usize, part: usize, law: &Law) -> f64 {
        let Part::Converter(converter) = &self.net.parts[part].part else { return 0.0 };
        let nodes = &self.net.parts[part].nodes;
        self.volt(nodes[1].0) - self.volt(nodes[2].0) - law.inner_v + converter.output_ohm * self.output_a(k)
    }

    /// The equations of a step: every law as the straight line through where it stands.
    fn assemble(&mut self, demand: &Demand, scale: f64) {
        let mut sheet = Sheet {
            unknown: &self.unknown,
            size: self.x.len(),
            a: std::mem::take(&mut self.matrix),
            b: std::mem::take(&mut self.next),
        };
        sheet.a.fill(0.0);
        sheet.b.fill(0.0);
        for (i, placed) in self.net.parts.iter().enumerate() {
            let (p, m) = (placed.nodes[0].0, placed.nodes[1].0);
            if let Some(line) = self.lines[i] {
                sheet.line(p, m, line.siemens, -line.siemens * line.emf_v);
            } else if let Some((amps, slope)) = self.loaded(i, demand, scale) {
                sheet.line(p, m, slope, amps - slope * self.across(i));
            }
        }
        for (k, (i, law)) in self.converters.iter().enumerate() {
            let Part::Converter(converter) = &self.net.parts[*i].part else { continue };
            let (nodes, own) = (&self.net.parts[*i].nodes, self.voltages + k);
            let (input, output, common) = (nodes[0].0, nodes[1].0, nodes[2].0);
            let (in_v, out_a) = (self.across(*i), self.x[own]);
            let rest_a = law.in_a - law.in_by_in * in_v - law.in_by_out * out_a;
            sheet.line(input, common, law.in_by_in, rest_a);
            sheet.by_own(input, own, law.in_by_out);
            sheet.by_own(common, own, 1.0 - law.in_by_out);
            sheet.by_own(output, own, -1.0);
            // output - common - inner(in_v, out_a) + ohm out_a = 0
            sheet.own_by(own, output, 1.0);
            sheet.own_by(own, common, law.inner_by_in - 1.0);
            sheet.own_by(own, input, -law.inner_by_in);
            sheet.a[own * sheet.size + own] += converter.output_ohm - law.inner_by_out;
            sheet.b[own] += law.inner_v - law.inner_by_in * in_v - law.inner_by_out * out_a;
        }
        for ((i, ladder), ports) in self.ladders.iter_mut().zip(&mut self.ports) {
            let Part::Strip(strip) = &self.net.parts[*i].part else { continue };
            ladder.ports(ports);
            let nodes = &self.net.parts[*i].nodes;
            for port in ports.iter() {
                sheet.port(port, |tap| (nodes[2 * tap].0, nodes[2 * tap + 1].0));
            }
            for (t, position) in strip.taps.iter().enumerate() {
                let (amps, slope) = ladder.drawn_at(*position);
                sheet.line(nodes[2 * t].0, nodes[2 * t + 1].0, slope, amps - slope * ladder.differ_v[*position]);
            }
        }
        if let Some((siemens, before)) = &self.held {
            for (u, before_v) in before.iter().enumerate() {
                sheet.a[u * sheet.size + u] += siemens;
                sheet.b[u] += siemens * before_v;
            }
        }
        (self.matrix, self.next) = (sheet.a, sheet.b);
    }

    /// The strip of a ladder.
    pub(crate) fn strip(&self, k: usize) -> Option<&'n Strip> {
        match &self.net.parts[self.ladders[k].0].part {
            Part::Strip(strip) => Some(strip),
            _ => None,
        }
    }
}

/// Equations being written.
struct Sheet<'a> {
    unknown: &'a [Option<usize>],
    size: usize,
    a: Vec<f64>,
    b: Vec<f64>,
}

impl Sheet<'_> {
    /// Current `slope v + rest` from a node to another.
    fn line(&mut self, p: usize, m: usize, slope: f64, rest: f64) {
        for (row, sign) in [(p, 1.0), (m, -1.0)] {
            self.by(row, p, sign * slope);
            self.by(row, m, -sign * slope);
            self.source(row, sign * rest);
        }
    }

    /// Current out of a node for each volt of another.
    fn by(&mut self, row: usize, column: usize, siemens: f64) {
        if let (Some(r), Some(c)) = (self.unknown[row], self.unknown[column]) {
            self.a[r * self.size + c] += siemens;
        }
    }

    /// Current out of a node that is always there.
    fn source(&mut self, row: usize, amps: f64) {
        if let Some(r) = self.unknown[row] {
            self.b[r] -= amps;
        }
    }

    /// Current out of a node for each ampere of a converter's output.
    fn by_own(&mut self, row: usize, own: usize, share: f64) {
        if let Some(r) = self.unknown[row] {
            self.a[r * self.size + own] += share;
        }
    }

    /// A converter's own equation for each volt of a node.
    fn own_by(&mut self, own: usize, column: usize, share: f64) {
        if let Some(c) = self.unknown[column] {
            self.a[own * self.size + c] += share;
        }
    }

    /// A strip's run between taps: half of its currents by the difference of the rails, half by their sum.
    fn port(&mut self, port: &Port, nodes: impl Fn(usize) -> (usize, usize)) {
        let mut side = |here: usize, there: Option<usize>, own: f64, other: f64, rest: f64| {
            let (p, m) = nodes(here);
            for (row, sign) in [(p, 1.0), (m, -1.0)] {
                self.by(row, p, (port.sum_s + sign * own) / 2.0);
                self.by(row, m, (port.sum_s - sign * own) / 2.0);
                if let Some((q, n)) = there.map(&nodes) {
                    self.by(row, q, (-port.sum_s + sign * other) / 2.0);
                    self.by(row, n, (-port.sum_s - sign * other) / 2.0);
                }
                self.source(row, sign * rest / 2.0);
            }
        };
        side(port.a, port.b, port.by_a[0], port.by_a[1], port.by_a[2]);
        if let Some(b) = port.b {
            side(b, Some(port.a), port.by_b[1], port.by_b[0], port.by_b[2]);
        }
    }
}
