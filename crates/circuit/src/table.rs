//! States of a circuit at one charge, solved where they are asked for and remembered.

use crate::convert::Holding;
use crate::demand::Conditions;
use crate::error::CircuitError;
use crate::network::Network;
use crate::newton::Solver;
use crate::operate::operate;
use crate::part::{Heating, Part};
use crate::state::State;
use crate::usage::{Grid, Usage};

/// What a row says, by place. Every entry may be averaged over moments and charges: all of them are sums.
pub(crate) mod entry {
    pub(crate) const CELL_A: usize = 0;
    pub(crate) const TERMINAL_V: usize = 1;
    pub(crate) const GIVEN_W: usize = 2;
    pub(crate) const PIXELS_W: usize = 3;
    pub(crate) const SOUND_W: usize = 4;
    pub(crate) const LOADS_W: usize = 5;
    pub(crate) const LOST_W: usize = 6;
    pub(crate) const LOWEST_PIXEL_V: usize = 7;
    pub(crate) const SHORT: usize = 8;
    pub(crate) const LIMITED: usize = 9;
    pub(crate) const FIRST_PART: usize = 10;
}

/// Which parts have entries of their own in a row.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    /// The cell.
    pub cell: usize,
    /// Parts that warm: their losses come first.
    pub heated: Vec<(usize, Heating)>,
    /// Parts whose current counts: theirs come next.
    pub rated: Vec<usize>,
}

impl Layout {
    /// Of a network with one cell.
    pub(crate) fn new(net: &Network) -> Result<Self, CircuitError> {
        let which = |wanted: &dyn Fn(&Part) -> bool| -> Vec<usize> {
            net.parts.iter().enumerate().filter(|(_, p)| wanted(&p.part)).map(|(i, _)| i).collect()
        };
        let cells = which(&|p| matches!(p, Part::Cell(_)));
        let [cell] = cells[..] else { return Err(CircuitError::OneCell { cells: cells.len() }) };
        let heated = net.parts.iter().enumerate().filter_map(|(i, p)| p.part.heating().map(|h| (i, h))).collect();
        let rated = which(&|p| p.is_wire() || matches!(p, Part::Cell(_) | Part::Converter(_)));
        Ok(Layout { cell, heated, rated })
    }

    /// Entries of a row.
    pub(crate) fn len(&self) -> usize {
        entry::FIRST_PART + self.heated.len() + self.rated.len()
    }

    /// Where the currents begin.
    pub(crate) fn first_current(&self) -> usize {
        entry::FIRST_PART + self.heated.len()
    }

    fn write(&self, net: &Network, state: &State, short: bool, row: &mut Vec<f64>) {
        let used = |wanted: &dyn Fn(&Part) -> bool| -> f64 {
            net.parts.iter().zip(&state.parts).filter(|(p, _)| wanted(&p.part)).map(|(_, s)| s.used_w).sum()
        };
        let cell = &state.parts[self.cell];
        row.extend([
            cell.current_a,
            cell.across_v,
            state.given_w(),
            used(&|p| matches!(p, Part::Strip(_))),
            used(&|p| matches!(p, Part::Amplifier(_))),
            used(&|p| matches!(p, Part::Load(_))),
            state.lost_w(),
            state.lowest_pixel().map_or(0.0, |(_, _, v)| v),
            if short || !state.starved.is_empty() { 1.0 } else { 0.0 },
            if state.converters.iter().any(|c| c.holding == Holding::Limited) { 1.0 } else { 0.0 },
        ]);
        row.extend(self.heated.iter().map(|(i, _)| state.parts[*i].lost_w));
        row.extend(self.rated.iter().map(|i| state.parts[*i].current_a.abs()));
    }
}

/// Rows at one charge.
#[derive(Clone, Debug)]
pub(crate) struct Slice {
    /// The charge.
    pub charge: f64,
    /// Where each corner's row begins; `usize::MAX` for those not asked for yet.
    begins: Vec<usize>,
    rows: Vec<f64>,
}

impl Slice {
    pub(crate) fn new(charge: f64, corners: usize) -> Self {
        Slice { charge, begins: vec![usize::MAX; corners], rows: Vec::new() }
    }

    pub(crate) fn forget(&mut self) {
        self.begins.fill(usize::MAX);
        self.rows.clear();
    }
}

/// What solves rows.
pub(crate) struct Desk<'n> {
    pub solver: Solver<'n>,
    pub layout: Layout,
    pub usage: &'n Usage,
    pub grid: Grid,
    /// Surroundings and how warm the parts are held; the charge is that of the last slice.
    pub conditions: Conditions,
    /// How many states were solved.
    pub solved: usize,
}

impl<'n> Desk<'n> {
    /// Of a checked network and usage.
    pub(crate) fn new(
        net: &'n Network,
        usage: &'n Usage,
        grid: Grid,
        conditions: Conditions,
    ) -> Result<Self, CircuitError> {
        let layout = Layout::new(net)?;
        let mut conditions = conditions;
        conditions.rise_k.resize(net.parts.len(), 0.0);
        Ok(Desk { solver: Solver::new(net, &conditions), layout, usage, grid, conditions, solved: 0 })
    }

    /// Where a corner's row begins in a slice, solved if need be.
    fn row(&mut self, slice: &mut Slice, corner: usize) -> Result<usize, CircuitError> {
        if slice.begins[corner] == usize::MAX {
            if self.conditions.charge != slice.charge {
                self.conditions.charge = slice.charge;
                self.solver.set(&self.conditions);
            }
            let moment = self.grid.moment(corner);
            let scene = &self.usage.scenes[moment.scene];
            let demand = crate::demand::Demand { scene, light: moment.light, sound_w: moment.sound_w };
            let short = operate(&mut self.solver, &demand)?;
            let state = State::of(&self.solver, &demand);
            slice.begins[corner] = slice.rows.len();
            self.layout.write(self.solver.net, &state, short.is_some(), &mut slice.rows);
            self.solved += 1;
        }
        Ok(slice.begins[corner])
    }

    /// The mean of corners' rows, by their shares.
    pub(crate) fn mean(
        &mut self,
        slice: &mut Slice,
        shares: impl Iterator<Item = (usize, f64)>,
        out: &mut [f64],
    ) -> Result<(), CircuitError> {
        out.fill(0.0);
        for (corner, share) in shares {
            let begin = self.row(slice, corner)?;
            out.iter_mut().zip(&slice.rows[begin..]).for_each(|(sum, value)| *sum += share * value);
        }
        Ok(())
    }

    /// One entry of a corner's row.
    pub(crate) fn single(&mut self, slice: &mut Slice, corner: usize, entry: usize) -> Result<f64, CircuitError> {
        let begin = self.row(slice, corner)?;
        Ok(slice.rows[begin + entry])
    }

    /// Holds the parts at new temperatures: rows of before no longer count.
    pub(crate) fn warm(&mut self, rise_k: &[f64]) {
        self.conditions.rise_k.copy_from_slice(rise_k);
        self.solver.set(&self.conditions);
    }
}
