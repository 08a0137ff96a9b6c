//! A circuit through a day, step by step.
//!
//! Between one step and the next only charge and warmth change, and both slowly: a state is solved for each of a hundred charges
//! and the lights and sounds that occur, where a step asks for it, and steps between them are their means. Currents, powers and
//! losses are all averaged with the same shares, so at every step what is given is what is used and lost, and the charge that is
//! drawn is what the cell loses.

use crate::cell::Cell;
use crate::copper::COPPER_PER_K;
use crate::demand::Conditions;
use crate::error::{CircuitError, positive, within};
use crate::network::Network;
use crate::part::Part;
use crate::table::{Desk, Slice, entry};
use crate::usage::{Grid, Moment, Place, Usage};

/// Charges at which states are solved, from empty to full.
const CHARGES: usize = 100;

/// Lights and sounds at which they are solved where more occur.
const LIGHTS: usize = 17;
const SOUNDS: usize = 9;

/// Resistances follow the mean warmth of so long, s: a fuse that warms and cools with every flash keeps its mean resistance.
const WARMTH_S: f64 = 120.0;

/// How often that is looked at, s, and by how much resistances may be off before states are solved anew.
const LOOK_S: f64 = 2.0;
const OFF: f64 = 0.01;

/// Most steps of a day: at 10 ms more than eleven days.
const MOST_STEPS: f64 = 1e8;

/// What a day is to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DaySpec {
    /// How long, s: at least a step of the usage, and no more than a hundred million.
    pub duration_s: f64,
    /// Surroundings, °C.
    pub ambient_c: f64,
    /// Charge at the start, 0 to 1.
    pub charge: f64,
    /// Time between two samples of the trace, s.
    pub trace_s: f64,
}

/// How a day ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The cell lasted.
    Lasted,
    /// The cell's voltage fell below that of its protection.
    CutOff,
    /// The cell's current rose above that of its protection.
    TooMuch,
    /// The cell was empty.
    Empty,
}

/// A part through the day.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PartDay {
    /// Largest current, A; nought for loads and strips.
    pub peak_a: f64,
    /// Charge that went through, C; nought for loads and strips.
    pub through_c: f64,
    /// Largest warming, K; of cells, wires and fuses.
    pub peak_k: f64,
    /// Energy lost, J; of cells, wires and fuses.
    pub lost_j: f64,
}

/// An instant that stands out, to be solved for itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Standout {
    /// When, s from the start.
    pub at_s: f64,
    /// The value that stands out.
    pub value: f64,
    /// What was asked for.
    pub moment: Moment,
    /// Charge and warmth.
    pub conditions: Conditions,
}

/// A sample of the trace: means since the one before.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sample {
    /// When, s.
    pub at_s: f64,
    /// Charge, 0 to 1.
    pub charge: f64,
    /// Mean current of the cell, A.
    pub current_a: f64,
    /// Lowest voltage of the cell, V.
    pub lowest_v: f64,
    /// Warming of the cell, K.
    pub cell_k: f64,
}

/// What came of a day.
#[derive(Clone, Debug, PartialEq)]
pub struct Day {
    /// How long it went, s.
    pub lasted_s: f64,
    /// How it ended.
    pub end: End,
    /// Charge at the end, 0 to 1; where it ended empty, below 0 by part of the last step.
    pub charge: f64,
    /// Charge drawn from the cell, C.
    pub drawn_c: f64,
    /// Energy that the cell's chemistry gave, J.
    pub given_j: f64,
    /// What pixels got of it, J.
    pub pixels_j: f64,
    /// What speakers got, J.
    pub sound_j: f64,
    /// What loads got, J.
    pub loads_j: f64,
    /// What was lost on the way, J.
    pub lost_j: f64,
    /// The largest |given - used - lost| of a step, as a share of what was given. Where nothing flows but leaks, rounding is as much
    /// as 1e-4 of them.
    pub unbalanced: f64,
    /// Time during which a load, amplifier or converter got less voltage than it needs, s.
    pub short_s: f64,
    /// When that was first, s.
    pub first_short_s: Option<f64>,
    /// Time during which a converter stood at its limit, s.
    pub limited_s: f64,
    /// Every part, in the order of the network.
    pub parts: Vec<PartDay>,
    /// The instant of the lowest voltage of a pixel, V; `None` without strips.
    pub lowest_pixel: Option<Standout>,
    /// The instant of the largest current of the cell, A.
    pub peak: Standout,
    /// The lowest voltage of the cell, V.
    pub lowest: Standout,
    /// The day in samples; the last one ends with the day, and is as short as that makes it.
    pub trace: Vec<Sample>,
    /// How many states were solved.
    pub solved: usize,
}

impl Network {
    /// Follows a usage through a day with one cell or pack.
    ///
    /// Guarantees that at every step power adds up and the cell loses the charge that is drawn. Does not guarantee more than
    /// straight lines between the states that are solved (a hundred charges, seventeen lights and nine sounds where more occur):
    /// instants that stand out are handed back to be solved for themselves.
    ///
    /// # Errors
    ///
    /// Those of [`Network::solve`], but for loads that cannot be carried, which the day tells as time short of voltage; more than
    /// one cell.
    pub fn day(&self, usage: &Usage, spec: &DaySpec) -> Result<Day, CircuitError> {
        self.check()?;
        usage.check(self)?;
        positive("the day", "its length in s", spec.duration_s)?;
        // A length that is so many steps but for rounding is so many.
        let steps = spec.duration_s / usage.step_s + 1e-9;
        within("the day", "its number of steps", steps, (1.0, MOST_STEPS), "1 to a hundred million")?;
        positive("the day", "the time between samples in s", spec.trace_s)?;
        let conditions = Conditions { charge: spec.charge, ..Conditions::full_at(spec.ambient_c) };
        conditions.check(self)?;
        let desk = Desk::new(self, usage, Grid::new(usage, LIGHTS, SOUNDS), conditions)?;
        let places: Vec<Place> = usage.moments.iter().map(|m| desk.grid.place(m)).collect();
        let Part::Cell(cell) = &self.parts[desk.layout.cell].part else {
            return Err(CircuitError::NoCell);
        };
        Walk::new(desk, cell, spec).go(&places, steps as u64, spec.trace_s)
    }
}

/// A day under way.
struct Walk<'n> {
    desk: Desk<'n>,
    cell: &'n Cell,
    /// The slices below and above the charge.
    low: Slice,
    high: Slice,
    /// Rows of the present moment at both.
    low_row: Vec<f64>,
    high_row: Vec<f64>,
    /// Warming of each part, and its slow mean.
    rise_k: Vec<f64>,
    slow_k: Vec<f64>,
    /// Share of the way to the steady warming that a step goes, for each heated part.
    warming: Vec<f64>,
    day: Day,
}

impl<'n> Walk<'n> {
    fn new(desk: Desk<'n>, cell: &'n Cell, spec: &DaySpec) -> Self {
        let (parts, corners, len) = (desk.solver.net.parts.len(), desk.grid.corners(), desk.layout.len());
        let step_s = desk.usage.step_s;
        let warming = desk.layout.heated.iter().map(|(_, h)| 1.0 - libm::exp(-step_s / h.time_s)).collect();
        let index = slice_below(spec.charge);
        let instant = |value: f64| Standout {
            at_s: 0.0,
            value,
            moment: desk.usage.moments[0],
            conditions: desk.conditions.clone(),
        };
        let (most, least) = (instant(f64::NEG_INFINITY), instant(f64::INFINITY));
        Walk {
            cell,
            low: Slice::new(index as f64 / CHARGES as f64, corners),
            high: Slice::new((index + 1) as f64 / CHARGES as f64, corners),
            low_row: vec![0.0; len],
            high_row: vec![0.0; len],
            rise_k: vec![0.0; parts],
            slow_k: vec![0.0; parts],
            warming,
            day: Day {
                lasted_s: 0.0,
                end: End::Lasted,
                charge: spec.charge,
                drawn_c: 0.0,
                given_j: 0.0,
                pixels_j: 0.0,
                sound_j: 0.0,
                loads_j: 0.0,
                lost_j: 0.0,
                unbalanced: 0.0,
                short_s: 0.0,
                first_short_s: None,
                limited_s: 0.0,
                parts: vec![PartDay::default(); parts],
                lowest_pixel: (!desk.solver.ladders.is_empty()).then(|| least.clone()),
                peak: most,
                lowest: least,
                trace: Vec::new(),
                solved: 0,
            },
            desk,
        }
    }

    fn go(mut self, places: &[Place], steps: u64, trace_s: f64) -> Result<Day, CircuitError> {
        let step_s = self.desk.usage.step_s;
        let every = |time_s: f64| ((time_s / step_s + 1e-9) as u64).max(1);
        let (look, trace) = (every(LOOK_S), every(trace_s));
        let patience = self.cell.protection.delay_s;
        let (mut row, mut last) = (vec![0.0; self.desk.layout.len()], None);
        let (mut low_s, mut much_s) = (0.0, 0.0);
        let mut sample = Sample { lowest_v: f64::INFINITY, ..Sample::default() };
        let mut which = 0;
        for step in 0..steps {
            let place = places[which];
            if self.day.charge < self.low.charge {
                self.step_down();
                last = None;
            }
            if last != Some(place) {
                self.rows(place)?;
                last = Some(place);
            }
            let up = (self.day.charge - self.low.charge) * CHARGES as f64;
            for ((x, low), high) in row.iter_mut().zip(&self.low_row).zip(&self.high_row) {
                *x = low + up * (high - low);
            }
            let at_s = step as f64 * step_s;
            self.book(&row, at_s, self.desk.usage.moments[which]);
            sample.current_a += row[entry::CELL_A];
            sample.lowest_v = f64::min(sample.lowest_v, row[entry::TERMINAL_V]);
            self.day.lasted_s = (step + 1) as f64 * step_s;
            low_s = if row[entry::TERMINAL_V] < self.cell.lowest_v() { low_s + step_s } else { 0.0 };
            much_s = if row[entry::CELL_A] > self.cell.protection.most_a { much_s + step_s } else { 0.0 };
            let ends = [
                (low_s > patience, End::CutOff),
                (much_s > patience, End::TooMuch),
                (self.day.charge <= 0.0, End::Empty),
            ];
            let end = ends.into_iter().find(|(over, _)| *over).map(|(_, end)| end);
            let taken = step % trace + 1;
            if taken == trace || step + 1 == steps || end.is_some() {
                let (at_s, charge) = (self.day.lasted_s, self.day.charge);
                let (cell_k, current_a) = (self.rise_k[self.desk.layout.cell], sample.current_a / taken as f64);
                self.day.trace.push(Sample { at_s, charge, cell_k, current_a, ..sample });
                sample = Sample { lowest_v: f64::INFINITY, ..Sample::default() };
            }
            if let Some(end) = end {
                self.day.end = end;
                break;
            }
            if step % look == look - 1 && self.follow_warmth(look as f64 * step_s) {
                last = None;
            }
            which = if which + 1 == places.len() { 0 } else { which + 1 };
        }
        self.day.solved = self.desk.solved;
        Ok(self.day)
    }

    /// The slice below becomes the one above.
    fn step_down(&mut self) {
        let index = slice_below(self.day.charge);
        std::mem::swap(&mut self.low, &mut self.high);
        self.low.forget();
        self.low.charge = index as f64 / CHARGES as f64;
        if (self.high.charge - self.low.charge) * CHARGES as f64 > 1.5 {
            self.high.forget();
            self.high.charge = (index + 1) as f64 / CHARGES as f64;
        }
    }

    fn rows(&mut self, place: Place) -> Result<(), CircuitError> {
        let corners: Vec<(usize, f64)> = self.desk.grid.around(place).collect();
        self.desk.mean(&mut self.high, corners.iter().copied(), &mut self.high_row)?;
        self.desk.mean(&mut self.low, corners.into_iter(), &mut self.low_row)
    }

    /// Takes a step's currents and powers into the day.
    fn book(&mut self, row: &[f64], at_s: f64, moment: Moment) {
        let (step_s, charge) = (self.desk.usage.step_s, self.day.charge);
        let day = &mut self.day;
        let moved_c = row[entry::CELL_A] * step_s;
        day.drawn_c += moved_c;
        day.charge -= moved_c / self.cell.full_c();
        day.given_j += row[entry::GIVEN_W] * step_s;
        day.pixels_j += row[entry::PIXELS_W] * step_s;
        day.sound_j += row[entry::SOUND_W] * step_s;
        day.loads_j += row[entry::LOADS_W] * step_s;
        day.lost_j += row[entry::LOST_W] * step_s;
        let used_w = row[entry::PIXELS_W] + row[entry::SOUND_W] + row[entry::LOADS_W];
        let left_w = (row[entry::GIVEN_W] - used_w - row[entry::LOST_W]).abs();
        day.unbalanced = day.unbalanced.max(left_w / row[entry::GIVEN_W].abs().max(f64::MIN_POSITIVE));
        if row[entry::SHORT] >= 0.5 {
            day.short_s += step_s;
            day.first_short_s = day.first_short_s.or(Some(at_s));
        }
        if row[entry::LIMITED] >= 0.5 {
            day.limited_s += step_s;
        }
        let currents = &row[self.desk.layout.first_current()..];
        for (part, amps) in self.desk.layout.rated.iter().zip(currents) {
            let own = &mut day.parts[*part];
            own.peak_a = own.peak_a.max(*amps);
            own.through_c += amps * step_s;
        }
        let losses = &row[entry::FIRST_PART..];
        for (((part, heating), lost_w), share) in self.desk.layout.heated.iter().zip(losses).zip(&self.warming) {
            let own = &mut day.parts[*part];
            self.rise_k[*part] += share * (lost_w * heating.k_per_w - self.rise_k[*part]);
            own.peak_k = own.peak_k.max(self.rise_k[*part]);
            own.lost_j += lost_w * step_s;
        }
        let mark = |instant: &mut Standout, value: f64| {
            (instant.at_s, instant.value, instant.moment) = (at_s, value, moment);
            instant.conditions.charge = charge;
            instant.conditions.rise_k.copy_from_slice(&self.desk.conditions.rise_k);
        };
        if let Some(lowest) = &mut day.lowest_pixel
            && row[entry::LOWEST_PIXEL_V] < lowest.value
        {
            mark(lowest, row[entry::LOWEST_PIXEL_V]);
        }
        if row[entry::CELL_A] > day.peak.value {
            mark(&mut day.peak, row[entry::CELL_A]);
        }
        if row[entry::TERMINAL_V] < day.lowest.value {
            mark(&mut day.lowest, row[entry::TERMINAL_V]);
        }
    }

    /// Lets resistances follow the warmth; true if states must be solved anew.
    fn follow_warmth(&mut self, over_s: f64) -> bool {
        let share = 1.0 - libm::exp(-over_s / WARMTH_S);
        let mut off = false;
        for (part, _) in &self.desk.layout.heated {
            self.slow_k[*part] += share * (self.rise_k[*part] - self.slow_k[*part]);
            let moved_k = self.slow_k[*part] - self.desk.conditions.rise_k[*part];
            off |= match &self.desk.solver.net.parts[*part].part {
                // The slope of exp(b / T): b / T² for each kelvin.
                Part::Cell(cell) => {
                    let kelvin = 273.15 + self.desk.conditions.celsius(*part);
                    (moved_k * cell.cold_k / (kelvin * kelvin)).abs() > OFF
                }
                _ => (moved_k * COPPER_PER_K).abs() > OFF,
            };
        }
        if off {
            self.desk.warm(&self.slow_k);
            self.low.forget();
            self.high.forget();
        }
        off
    }
}

/// The slice below a charge, by number.
fn slice_below(charge: f64) -> usize {
    ((charge * CHARGES as f64) as usize).min(CHARGES - 1)
}
