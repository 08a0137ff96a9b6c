//! How long a cell lasts, without following every step; and how sure that is.

use crate::cell::Cell;
use crate::demand::Conditions;
use crate::error::{CircuitError, share};
use crate::network::Network;
use crate::part::Part;
use crate::table::{Desk, Slice, entry};
use crate::usage::{Grid, Usage};

/// Lights and sounds at which states are solved where more occur.
const LIGHTS: usize = 9;
const SOUNDS: usize = 5;

/// Charges at which they are solved, in hundredths: closer where the curve of a cell is steep.
const HUNDREDTHS: [f64; 24] = [
    100.0, 95.0, 90.0, 85.0, 80.0, 75.0, 70.0, 65.0, 60.0, 55.0, 50.0, 45.0, 40.0, 35.0, 30.0, 25.0, 20.0, 15.0, 10.0,
    8.0, 6.0, 4.0, 2.0, 0.0,
];

/// How long a cell lasts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Runtime {
    /// Until its protection acts or it is empty, s; infinite if nothing is drawn.
    pub lasts_s: f64,
    /// Charge left then, 0 to 1.
    pub charge_left: f64,
    /// Mean current of the cell, A.
    pub mean_a: f64,
    /// Until a load, amplifier or converter first gets less voltage than it needs at some light and sound that occur, s: the last
    /// of the charges that are looked at (two to five hundredths apart) at which all get it. `None` if that never comes.
    pub well_s: Option<f64>,
}

/// How far inputs may be off, each as a share of its value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unsure {
    /// Capacity of the cell.
    pub capacity: f64,
    /// Inner resistance of the cell.
    pub ohm: f64,
    /// Currents of the pixels.
    pub pixels: f64,
    /// Losses of the converters: of what they do not pass on.
    pub losses: f64,
}

impl Default for Unsure {
    /// Cells 5 % off their label and a quarter off their resistance, pixels 15 %, converters a third of their losses (common
    /// practice, no source).
    fn default() -> Self {
        Self { capacity: 0.05, ohm: 0.25, pixels: 0.15, losses: 0.33 }
    }
}

/// A runtime and its band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RuntimeBand {
    /// With every input as it stands.
    pub runtime: Runtime,
    /// The short end, s: what each input does alone, added as squares.
    pub least_s: f64,
    /// The long end, s.
    pub most_s: f64,
}

impl Network {
    /// How long the cell lasts in a usage that goes round and round, from a full charge on.
    ///
    /// As [`Network::day`] without its steps: at each charge, the mean over the usage of what flows. It ends where the voltage of
    /// the protection is reached at any light and sound that occur, also for shorter than the protection's delay; where more than
    /// nine lights or five sounds occur, at the next brighter and louder that is solved. Parts are as warm as their mean loss
    /// makes them.
    ///
    /// # Errors
    ///
    /// As [`Network::day`].
    pub fn runtime(&self, usage: &Usage, ambient_c: f64) -> Result<Runtime, CircuitError> {
        self.check()?;
        usage.check(self)?;
        let conditions = Conditions::full_at(ambient_c);
        conditions.check(self)?;
        let grid = Grid::new(usage, LIGHTS, SOUNDS);
        let mut shares = vec![0.0; grid.corners()];
        for moment in &usage.moments {
            grid.around(grid.place(moment)).for_each(|(corner, share)| shares[corner] += share);
        }
        let whole = usage.moments.len() as f64;
        let shares: Vec<(usize, f64)> =
            shares.into_iter().enumerate().filter(|(_, s)| *s > 0.0).map(|(c, s)| (c, s / whole)).collect();
        let desk = Desk::new(self, usage, grid, conditions)?;
        drain(desk, &shares)
    }

    /// A runtime with its band.
    ///
    /// # Errors
    ///
    /// As [`Network::runtime`]; shares that are not 0 to 1.
    pub fn runtime_band(&self, usage: &Usage, ambient_c: f64, unsure: &Unsure) -> Result<RuntimeBand, CircuitError> {
        let runtime = self.runtime(usage, ambient_c)?;
        let (mut below, mut above) = (0.0, 0.0);
        let shares = [unsure.capacity, unsure.ohm, unsure.pixels, unsure.losses];
        for (which, size) in shares.into_iter().enumerate() {
            share("the band", "how far an input may be off", size)?;
            let mut ends = [0.0; 2];
            for (end, sign) in ends.iter_mut().zip([-1.0, 1.0]) {
                let mut factors = [1.0; 4];
                factors[which] += sign * size;
                *end = self.varied(factors).runtime(usage, ambient_c)?.lasts_s - runtime.lasts_s;
            }
            let (down, up) = (f64::min(ends[0], ends[1]).min(0.0), f64::max(ends[0], ends[1]).max(0.0));
            (below, above) = (below + down * down, above + up * up);
        }
        let least_s = (runtime.lasts_s - below.sqrt()).max(0.0);
        Ok(RuntimeBand { runtime, least_s, most_s: runtime.lasts_s + above.sqrt() })
    }

    /// The network with capacity, inner resistance, currents of pixels and losses of converters multiplied.
    fn varied(&self, [capacity, ohm, pixels, losses]: [f64; 4]) -> Self {
        let mut net = self.clone();
        for placed in &mut net.parts {
            match &mut placed.part {
                Part::Cell(cell) => {
                    cell.capacity_ah *= capacity.max(1e-3);
                    cell.ohm *= ohm.max(1e-3);
                }
                Part::Strip(strip) => {
                    strip.pixel.channels.iter_mut().for_each(|c| c.full_a *= pixels);
                    strip.pixel.idle_a *= pixels;
                }
                Part::Converter(converter) => {
                    converter.efficiency = 1.0 / (1.0 + losses * (1.0 / converter.efficiency - 1.0));
                }
                _ => {}
            }
        }
        net
    }
}

/// What a cell gives at a charge: its mean current, A, and the least by which its voltage stays above that of its protection, V
/// (below nought also where its current is too much).
#[derive(Clone, Copy)]
struct Level {
    charge: f64,
    amps: f64,
    spare_v: f64,
    short: bool,
}

/// The level at a charge, with parts as warm as they are held; the warmth that comes of it is left in `rise_k`.
fn level(
    desk: &mut Desk,
    cell: &Cell,
    shares: &[(usize, f64)],
    charge: f64,
    rise_k: &mut [f64],
) -> Result<Level, CircuitError> {
    desk.warm(rise_k);
    let mut slice = Slice::new(charge, desk.grid.corners());
    let mut row = vec![0.0; desk.layout.len()];
    desk.mean(&mut slice, shares.iter().copied(), &mut row)?;
    for ((part, heating), lost_w) in desk.layout.heated.iter().zip(&row[entry::FIRST_PART..]) {
        rise_k[*part] = heating.k_per_w * lost_w;
    }
    let (mut spare_v, mut short) = (f64::INFINITY, false);
    for (corner, _) in shares {
        short |= desk.single(&mut slice, *corner, entry::SHORT)? > 0.5;
        let too_much = desk.single(&mut slice, *corner, entry::CELL_A)? > cell.protection.most_a;
        let above = desk.single(&mut slice, *corner, entry::TERMINAL_V)? - cell.lowest_v();
        spare_v = f64::min(spare_v, if too_much { f64::min(above, -1e-9) } else { above });
    }
    Ok(Level { charge, amps: row[entry::CELL_A], spare_v, short })
}

/// Goes down from charge to charge until the cell gives out.
fn drain(mut desk: Desk, shares: &[(usize, f64)]) -> Result<Runtime, CircuitError> {
    let net = desk.solver.net;
    let Part::Cell(cell) = &net.parts[desk.layout.cell].part else { return Err(CircuitError::NoCell) };
    let mut rise_k = vec![0.0; net.parts.len()];
    // Once for how warm it makes the parts, then as warm as that.
    level(&mut desk, cell, shares, HUNDREDTHS[0] / 100.0, &mut rise_k)?;
    let mut above = level(&mut desk, cell, shares, HUNDREDTHS[0] / 100.0, &mut rise_k)?;
    let (mut lasts_s, mut drawn_c, mut charge_left) = (0.0, 0.0, above.charge);
    let mut well_s = above.short.then_some(0.0);
    for hundredths in &HUNDREDTHS[1..] {
        if above.spare_v < 0.0 {
            break;
        }
        let below = level(&mut desk, cell, shares, hundredths / 100.0, &mut rise_k)?;
        let way = if below.spare_v < 0.0 { above.spare_v / (above.spare_v - below.spare_v) } else { 1.0 };
        let moved_c = way * (above.charge - below.charge) * cell.full_c();
        let mean_a = above.amps + 0.5 * way * (below.amps - above.amps);
        if mean_a <= 0.0 {
            return Ok(Runtime { lasts_s: f64::INFINITY, charge_left, mean_a, well_s });
        }
        // Where the cell gives out before that charge is reached, nothing is said of it.
        if below.short && way >= 1.0 {
            well_s = well_s.or(Some(lasts_s));
        }
        (lasts_s, drawn_c) = (lasts_s + moved_c / mean_a, drawn_c + moved_c);
        charge_left -= way * (above.charge - below.charge);
        above = below;
    }
    let mean_a = if lasts_s > 0.0 { drawn_c / lasts_s } else { above.amps };
    Ok(Runtime { lasts_s, charge_left: charge_left.max(0.0), mean_a, well_s })
}
