//! From Newton's steps to the state in which a circuit really comes to rest, or the name of what stops it.

use crate::convert::Holding;
use crate::demand::{Conditions, Demand};
use crate::error::CircuitError;
use crate::network::Network;
use crate::newton::Solver;
use crate::part::{Load, Part};
use crate::state::State;

/// Steps of settling slowly, at most.
const SLOW_STEPS: usize = 240;

/// How closely the share of the loads that can be carried is found.
const SHARE: f64 = 1.0 / 128.0;

/// A part that no longer gets what it needs, and the share of the loads with which it would.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Short {
    pub part: usize,
    pub volt: f64,
    pub lowest_v: f64,
    pub share: f64,
}

impl Network {
    /// The state in which the circuit comes to rest.
    ///
    /// Where several states satisfy the equations (loads of constant power make them), it is the one of the highest voltages,
    /// which is where a circuit goes when its loads come on. Every current adds up to within rounding at every node, and what
    /// the cells give is what the loads get and the parts lose.
    ///
    /// # Errors
    ///
    /// Those of [`Network::check`]; a demand or conditions that do not fit; a part the wrong way round; a load of constant power
    /// or a converter that the cells cannot carry; equations that do not settle within a bounded number of steps.
    pub fn solve(&self, demand: &Demand, conditions: &Conditions) -> Result<State, CircuitError> {
        self.check()?;
        demand.check(self)?;
        conditions.check(self)?;
        let mut solver = Solver::new(self, conditions);
        if let Some(short) = operate(&mut solver, demand)? {
            let part = self.parts[short.part].name.clone();
            return Err(CircuitError::CannotCarry {
                part,
                volt: short.volt,
                lowest_v: short.lowest_v,
                share: short.share,
            });
        }
        let state = State::of(&solver, demand);
        reversed(self, &state)?;
        Ok(state)
    }
}

/// Brings the solution to rest, starting where it stands. Parts that end up short are named after every way to a better state was
/// tried.
pub(crate) fn operate(solver: &mut Solver, demand: &Demand) -> Result<Option<Short>, CircuitError> {
    // From a state that had broken down, or with a converter at its limit, the way may lead to another that is better and not the
    // best; and what comes of a demand would hang on what was asked before.
    let limited = solver.converters.iter().any(|(_, law)| law.holding == Holding::Limited);
    if !limited && short(solver).is_none() && solver.newton(demand, 1.0).is_ok() && short(solver).is_none() {
        return Ok(None);
    }
    unload(solver, demand)?;
    let settled = settle(solver, demand, 1.0);
    let found = short(solver);
    if settled.is_ok() && found.is_none() {
        return Ok(None);
    }
    let ended = solver.clone();
    // Newton may have leapt over a state in which all is well: the loads come on little by little.
    unload(solver, demand)?;
    let share = carried(solver, demand);
    if share >= 1.0 {
        return Ok(None);
    }
    *solver = ended;
    settled.map(|()| found.map(|found| Short { share, ..found }))
}

/// The largest share of the loads, 0 to 1, that an unloaded circuit takes on with every part getting what it needs.
fn carried(solver: &mut Solver, demand: &Demand) -> f64 {
    let (mut share, mut step) = (0.0, 0.125);
    if short(solver).is_some() {
        return share;
    }
    while share < 1.0 && step >= SHARE {
        let stood = solver.clone();
        let next = f64::min(share + step, 1.0);
        if settle(solver, demand, next).is_ok() && short(solver).is_none() {
            share = next;
        } else {
            *solver = stood;
            step /= 2.0;
        }
    }
    share
}

/// The state without any load.
fn unload(solver: &mut Solver, demand: &Demand) -> Result<(), CircuitError> {
    solver.clear();
    settle(solver, demand, 0.0)
}

/// Newton's steps, and where they do not end, the same with every node held back and let go little by little.
fn settle(solver: &mut Solver, demand: &Demand, scale: f64) -> Result<(), CircuitError> {
    let start = solver.clone();
    if solver.newton(demand, scale).is_ok() {
        return Ok(());
    }
    *solver = start;
    let mut siemens = 10.0;
    for _ in 0..SLOW_STEPS {
        let stood = solver.clone();
        solver.hold(Some(siemens));
        let went = solver.newton(demand, scale);
        solver.hold(None);
        match went {
            Ok(()) if siemens < 1e-9 => break,
            Ok(()) => siemens /= 2.0,
            Err(_) => {
                *solver = stood;
                siemens *= 4.0;
            }
        }
    }
    solver.newton(demand, scale).map_err(|residual_a| CircuitError::NotSettled { residual_a })
}

/// The first load of constant power or converter below the voltage that it needs.
fn short(solver: &Solver) -> Option<Short> {
    let of_load = solver.net.parts.iter().enumerate().find_map(|(part, placed)| match placed.part {
        Part::Load(Load::Power { lowest_v, watt }) if watt > 0.0 && solver.across(part) < lowest_v => {
            Some(Short { part, volt: solver.across(part), lowest_v, share: 0.0 })
        }
        _ => None,
    });
    let of_converter = || {
        solver.converters.iter().find(|(_, law)| law.holding == Holding::Starved).map(|(part, _)| {
            let lowest_v = match &solver.net.parts[*part].part {
                Part::Converter(converter) => converter.lowest_in_v,
                _ => 0.0,
            };
            Short { part: *part, volt: solver.across(*part), lowest_v, share: 0.0 }
        })
    };
    // A starved converter starves what follows it: it is named first.
    of_converter().or(of_load)
}

/// A part whose plus lies below its minus.
pub(crate) fn reversed(net: &Network, state: &State) -> Result<(), CircuitError> {
    for placed in &net.parts {
        let pairs: Vec<(usize, usize)> = match &placed.part {
            Part::Load(_) | Part::Amplifier(_) | Part::Capacitor(_) => vec![(0, 1)],
            Part::Converter(_) => vec![(0, 2), (1, 2)],
            Part::Strip(strip) => (0..strip.taps.len()).map(|t| (2 * t, 2 * t + 1)).collect(),
            Part::Cell(_) | Part::Wire(_) | Part::Contact(_) | Part::Fuse(_) => Vec::new(),
        };
        for (plus, minus) in pairs {
            let volt = state.volt(placed.nodes[minus], placed.nodes[plus]);
            if volt > 0.1 {
                return Err(CircuitError::Reversed { part: placed.name.clone(), volt });
            }
        }
    }
    Ok(())
}
