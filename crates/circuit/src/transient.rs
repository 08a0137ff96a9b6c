//! A flash, with capacitors that help over it.
//!
//! A capacitor's voltage is stepped by the second backward difference (3 v(n+1) - 4 v(n) + v(n-1) = 2 h i / C; Gear 1971), which
//! turns it into a source behind a resistance at every step, and which no step makes swing. Where the slope jumps the step before
//! tells nothing, and the first difference (v(n+1) - v(n) = h i / C) takes its place. Everything else is at rest at every step, as in
//! [`Network::solve`](crate::Network::solve).

use crate::demand::{Conditions, Demand};
use crate::error::{CircuitError, positive, within};
use crate::network::{Network, Node};
use crate::newton::{Line, Solver};
use crate::operate::{operate, reversed};
use crate::part::{Capacitor, Part};
use crate::state::State;

/// Most steps of a transient.
const MOST_STEPS: f64 = 1e7;

/// How a transient is followed.
#[derive(Clone, Debug, PartialEq)]
pub struct TransientSpec {
    /// Step, s: a twentieth of the shortest time that counts, or less.
    pub step_s: f64,
    /// How long, s.
    pub duration_s: f64,
    /// Charge and warmth; both stay.
    pub conditions: Conditions,
}

/// What came of a transient: a value for every step and one for the start.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Transient {
    /// Times, s.
    pub at_s: Vec<f64>,
    /// For each node that was watched, its voltage against the first cell's minus, V.
    pub volts: Vec<Vec<f64>>,
    /// Current of the first cell, A.
    pub cell_a: Vec<f64>,
    /// The lowest voltage of any pixel, V; empty without strips.
    pub lowest_pixel_v: Vec<f64>,
}

impl Network {
    /// Follows a demand that changes, from rest at what it is at the start.
    ///
    /// # Errors
    ///
    /// Those of [`Network::solve`] at the start; equations that do not settle; more than ten million steps.
    pub fn transient<'a>(
        &self,
        spec: &TransientSpec,
        demand_at: &dyn Fn(f64) -> Demand<'a>,
        watch: &[Node],
    ) -> Result<Transient, CircuitError> {
        self.solve(&demand_at(0.0), &spec.conditions)?;
        positive("the transient", "its step in s", spec.step_s)?;
        positive("the transient", "its length in s", spec.duration_s)?;
        let steps = spec.duration_s / spec.step_s + 1e-9;
        within("the transient", "its number of steps", steps, (1.0, MOST_STEPS), "1 to ten million")?;
        if let Some(loose) = watch.iter().find(|n| n.0 >= self.nodes.len()) {
            return Err(CircuitError::LooseNode { node: loose.0.to_string() });
        }
        let mut solver = Solver::new(self, &spec.conditions);
        operate(&mut solver, &demand_at(0.0))?;
        let mut stores: Vec<Store> =
            self.parts.iter().enumerate().filter_map(|(i, p)| Store::of(&solver, i, &p.part)).collect();
        let mut out = Transient { volts: vec![Vec::new(); watch.len()], ..Transient::default() };
        out.note(&solver, &demand_at(0.0), 0.0, watch)?;
        for step in 1..=steps as u64 {
            let at_s = step as f64 * spec.step_s;
            let demand = demand_at(at_s);
            demand.check(self)?;
            let mut go = |solver: &mut Solver, order: Order| {
                stores.iter().for_each(|s| solver.lines[s.part] = Some(s.line(spec.step_s, order)));
                operate(solver, &demand)?;
                let next: Vec<f64> =
                    stores.iter().map(|s| s.next_v(solver.across(s.part), spec.step_s, order)).collect();
                let smooth = stores.iter().zip(&next).all(|(s, v)| s.is_smooth(*v));
                if smooth || order == Order::First {
                    stores.iter_mut().zip(next).for_each(|(s, v)| (s.before_v, s.now_v) = (s.now_v, v));
                }
                Ok::<bool, CircuitError>(smooth)
            };
            if !go(&mut solver, Order::Second)? {
                go(&mut solver, Order::First)?;
            }
            out.note(&solver, &demand, at_s, watch)?;
        }
        Ok(out)
    }
}

impl Transient {
    fn note(&mut self, solver: &Solver, demand: &Demand, at_s: f64, watch: &[Node]) -> Result<(), CircuitError> {
        let state = State::of(solver, demand);
        reversed(solver.net, &state)?;
        self.at_s.push(at_s);
        for (node, volts) in watch.iter().zip(&mut self.volts) {
            volts.push(solver.volt(node.0));
        }
        let cell = solver.net.parts.iter().position(|p| matches!(p.part, Part::Cell(_)));
        self.cell_a.extend(cell.map(|i| state.parts[i].current_a));
        self.lowest_pixel_v.extend(state.lowest_pixel().map(|(_, _, v)| v));
        Ok(())
    }
}

/// A capacitor's voltage now and a step before.
struct Store {
    part: usize,
    cap: Capacitor,
    now_v: f64,
    before_v: f64,
}

impl Store {
    fn of(solver: &Solver, part: usize, kind: &Part) -> Option<Self> {
        let Part::Capacitor(cap) = *kind else { return None };
        let now_v = solver.across(part);
        Some(Store { part, cap, now_v, before_v: now_v })
    }

    /// The capacitor during the next step.
    fn line(&self, step_s: f64, order: Order) -> Line {
        let (share, emf_v) = match order {
            Order::First => (1.0, self.now_v),
            Order::Second => (2.0 / 3.0, (4.0 * self.now_v - self.before_v) / 3.0),
        };
        Line { siemens: 1.0 / (self.cap.esr_ohm + share * step_s / self.cap.farad), emf_v }
    }

    /// The voltage inside it after the step.
    fn next_v(&self, across_v: f64, step_s: f64, order: Order) -> f64 {
        let line = self.line(step_s, order);
        across_v - self.cap.esr_ohm * (across_v - line.emf_v) * line.siemens
    }

    /// Whether the step to a voltage goes on like the one before.
    fn is_smooth(&self, next_v: f64) -> bool {
        let (now, before) = (next_v - self.now_v, self.now_v - self.before_v);
        (now - before).abs() <= f64::max(1e-9, 0.5 * f64::max(now.abs(), before.abs()))
    }
}

/// Which backward difference steps a capacitor.
#[derive(Clone, Copy, PartialEq)]
enum Order {
    First,
    Second,
}
