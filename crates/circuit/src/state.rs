//! A circuit at rest: what each node, part and pixel gets, and where the power goes.

use crate::convert::Holding;
use crate::demand::Demand;
use crate::network::{Node, PartId};
use crate::newton::Solver;
use crate::part::Part;

/// A part at rest.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PartState {
    /// Current into its first end, A; what a cell gives counts as more than 0; what a strip takes is the sum over its taps.
    pub current_a: f64,
    /// Voltage from its first to its last end, V.
    pub across_v: f64,
    /// What it adds to the circuit, W: a cell's open-circuit voltage times its current.
    pub given_w: f64,
    /// What leaves the circuit for its purpose, W: what pixels, loads and speakers get.
    pub used_w: f64,
    /// What it turns into heat on the way, W: in resistances, rails, converters and amplifiers.
    pub lost_w: f64,
}

/// A strip at rest.
#[derive(Clone, Debug, PartialEq)]
pub struct StripState {
    /// Which part it is.
    pub part: PartId,
    /// Voltage of its plus rail at the first pad, at each pixel, at the last pad, V, against the first cell's minus.
    pub plus_v: Vec<f64>,
    /// The same of its minus rail.
    pub minus_v: Vec<f64>,
    /// The share of its full current that each colour of each pixel still gets, however dim it is driven.
    pub shares: Vec<[f64; 4]>,
}

impl StripState {
    /// Voltage between the rails at each pixel, V.
    pub fn pixel_v(&self) -> impl Iterator<Item = f64> {
        let pixels = self.plus_v.len() - 2;
        self.plus_v.iter().zip(&self.minus_v).skip(1).take(pixels).map(|(p, m)| p - m)
    }

    /// The pixel of the lowest voltage, counted from 0, and that voltage.
    pub fn lowest(&self) -> (usize, f64) {
        self.pixel_v().enumerate().fold((0, f64::INFINITY), |low, (i, v)| if v < low.1 { (i, v) } else { low })
    }
}

/// A converter at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConverterState {
    /// Which part it is.
    pub part: PartId,
    /// Input voltage, V.
    pub in_v: f64,
    /// Input current, A.
    pub in_a: f64,
    /// Output voltage, V.
    pub out_v: f64,
    /// Output current, A.
    pub out_a: f64,
    /// How it fares.
    pub holding: Holding,
}

/// A circuit at rest.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    volts: Vec<f64>,
    /// Every part, in the order in which they were added.
    pub parts: Vec<PartState>,
    /// Every strip, in that order.
    pub strips: Vec<StripState>,
    /// Every converter, in that order.
    pub converters: Vec<ConverterState>,
    /// Loads and amplifiers that get less voltage than they need.
    pub starved: Vec<PartId>,
    /// Amplifiers whose sound is clipped.
    pub clipped: Vec<PartId>,
}

impl State {
    /// Voltage of a node against another, V; a node of another network counts as the first cell's minus.
    pub fn volt(&self, node: Node, against: Node) -> f64 {
        let of = |node: Node| self.volts.get(node.0).copied().unwrap_or_default();
        of(node) - of(against)
    }

    /// What the cells give, W.
    pub fn given_w(&self) -> f64 {
        self.parts.iter().map(|p| p.given_w).sum()
    }

    /// What pixels, loads and speakers get, W.
    pub fn used_w(&self) -> f64 {
        self.parts.iter().map(|p| p.used_w).sum()
    }

    /// What is lost on the way, W.
    pub fn lost_w(&self) -> f64 {
        self.parts.iter().map(|p| p.lost_w).sum()
    }

    /// The lowest voltage of a pixel: strip (counted from 0), pixel (from 0), V. `None` without strips.
    pub fn lowest_pixel(&self) -> Option<(usize, usize, f64)> {
        let lows = self.strips.iter().enumerate().map(|(s, strip)| (s, strip.lowest()));
        lows.map(|(s, (p, v))| (s, p, v)).reduce(|a, b| if b.2 < a.2 { b } else { a })
    }

    /// Where the solver stands.
    pub(crate) fn of(solver: &Solver, demand: &Demand) -> Self {
        let net = solver.net;
        let mut state = State {
            volts: (0..net.nodes.len()).map(|node| solver.volt(node)).collect(),
            parts: vec![PartState::default(); net.parts.len()],
            strips: Vec::new(),
            converters: Vec::new(),
            starved: Vec::new(),
            clipped: Vec::new(),
        };
        for (i, placed) in net.parts.iter().enumerate() {
            let across_v = solver.across(i);
            let own = &mut state.parts[i];
            own.across_v = across_v;
            if let Some(line) = solver.lines[i] {
                own.current_a = (across_v - line.emf_v) * line.siemens;
                own.lost_w = own.current_a * own.current_a / line.siemens;
                if let Part::Cell(_) = placed.part {
                    own.current_a = -own.current_a;
                    own.given_w = line.emf_v * own.current_a;
                }
            }
            if let Some((amps, _)) = solver.loaded(i, demand, 1.0) {
                own.current_a = amps;
                own.used_w = amps * across_v;
                let lowest_v = match &placed.part {
                    Part::Load(load) => load.lowest_v(),
                    Part::Amplifier(amp) => {
                        own.used_w = amp.sounded_w(demand.sound_w, across_v);
                        own.lost_w = amps * across_v - own.used_w;
                        if own.used_w < demand.sound_w {
                            state.clipped.push(PartId(i));
                        }
                        amp.lowest_v
                    }
                    _ => f64::NEG_INFINITY,
                };
                if across_v < lowest_v {
                    state.starved.push(PartId(i));
                }
            }
        }
        state.add_converters(solver);
        state.add_strips(solver);
        state
    }

    fn add_converters(&mut self, solver: &Solver) {
        for (k, (i, law)) in solver.converters.iter().enumerate() {
            let nodes = &solver.net.parts[*i].nodes;
            let (in_v, out_a) = (solver.across(*i), solver.output_a(k));
            let out_v = solver.volt(nodes[1].0) - solver.volt(nodes[2].0);
            self.parts[*i].current_a = law.in_a;
            self.parts[*i].lost_w = in_v * law.in_a - out_v * out_a;
            let part = PartId(*i);
            self.converters.push(ConverterState { part, in_v, in_a: law.in_a, out_v, out_a, holding: law.holding });
        }
    }

    fn add_strips(&mut self, solver: &Solver) {
        for (k, (i, ladder)) in solver.ladders.iter().enumerate() {
            let Some(strip) = solver.strip(k) else { continue };
            let taps = solver.taps(*i);
            let (plus_v, minus_v) = ladder.rails(strip, &taps);
            let used_w: f64 = (1..=strip.pixels).map(|n| ladder.drawn_at(n).0 * (plus_v[n] - minus_v[n])).sum();
            let currents = ladder.tap_currents(strip, &taps);
            let taken_w: f64 = currents.iter().zip(&taps).map(|(a, v)| a.0 * v.0 + a.1 * v.1).sum();
            let own = &mut self.parts[*i];
            own.current_a = currents.iter().map(|a| a.0).sum();
            own.used_w = used_w;
            own.lost_w = taken_w - used_w;
            let shares = (1..=strip.pixels).map(|n| strip.pixel.shares(plus_v[n] - minus_v[n])).collect();
            self.strips.push(StripState { part: PartId(*i), plus_v, minus_v, shares });
        }
    }
}
