//! How long until it is warm, and how much it may be heated.

use super::network::{asked, stepped, told};
use super::{Air, HeatError, Slice, Warmth, checked, steady};

/// Highest temperatures of a slice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Of the core: strip, cells.
    pub core_c: f64,
    /// Of the wall's inner face: where it softens.
    pub inner_c: f64,
    /// Of its outer face: where it is touched.
    pub outer_c: f64,
}

/// A place in the bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    /// The core of a slice.
    Core(usize),
    /// The inner face of a slice's wall.
    Inner(usize),
    /// The outer face.
    Outer(usize),
}

/// How much a bar may be heated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// All powers times this; 0 where it is too hot without any.
    pub share: f64,
    /// What reaches its limit first.
    pub governs: Spot,
}

/// Found to this share.
const FOUND: f64 = 1e-4;

const ROUNDS: usize = 60;

/// Steps in which a stated time is gone through.
const STEPS: f64 = 60.0;

/// A time is told from at least so many steps.
const LEAST_STEPS: f64 = 25.0;

/// Steps at the most for such a time.
const SOAK_ROUNDS: usize = 100_000;

/// By how much all powers may be multiplied so that no limit is passed: for ever, or for a time from the air's
/// temperature on.
///
/// # Errors
///
/// See [`HeatError`]; [`HeatError::Cold`] where nothing heats it.
pub fn level(slices: &[Slice], air: &Air, limits: &[Limits], lasts_s: Option<f64>) -> Result<Level, HeatError> {
    checked(slices, air)?;
    if limits.len() != slices.len() {
        return Err(HeatError::Lists { slices: slices.len(), what: "limits", given: limits.len() });
    }
    for (slice, Limits { core_c, inner_c, outer_c }) in limits.iter().enumerate() {
        if let Some(value) = [*core_c, *inner_c, *outer_c].into_iter().find(|v| !v.is_finite()) {
            return Err(HeatError::Slice {
                slice,
                what: "limit, °C,",
                value,
                way_out: "give a finite one, 1000 for none",
            });
        }
    }
    if slices.iter().all(|s| s.core_w + s.wall_w <= 0.0) {
        return Err(HeatError::Cold);
    }
    let over = |share: f64| -> Result<(f64, Spot), HeatError> {
        let scaled: Vec<Slice> =
            slices.iter().map(|s| Slice { core_w: share * s.core_w, wall_w: share * s.wall_w, ..*s }).collect();
        let warmth = match lasts_s {
            None => steady(&scaled, air)?,
            Some(lasts_s) => after(&scaled, air, lasts_s)?,
        };
        Ok(hottest(&warmth, limits))
    };
    let (mut low, mut high) = (0.0, 1.0);
    let (mut below, spot) = over(low)?;
    if below >= 0.0 {
        return Ok(Level { share: 0.0, governs: spot });
    }
    let (mut above, mut governs) = over(high)?;
    let mut rounds = 0;
    while above < 0.0 {
        rounds += 1;
        if rounds > ROUNDS {
            return Err(HeatError::Unsettled { rounds });
        }
        (low, below) = (high, above);
        high *= 2.0;
        (above, governs) = over(high)?;
    }
    // Regula falsi; where one end stays, its worth is halved (Illinois).
    let mut kept_high = None;
    for _ in 0..ROUNDS {
        if high - low <= FOUND * high {
            break;
        }
        let guess = (low * above - high * below) / (above - below);
        let (worth, spot) = over(guess)?;
        if worth.abs() < 1e-4 {
            return Ok(Level { share: guess, governs: spot });
        }
        if worth < 0.0 {
            (low, below) = (guess, worth);
            above *= if kept_high == Some(true) { 0.5 } else { 1.0 };
            kept_high = Some(true);
        } else {
            (high, above, governs) = (guess, worth, spot);
            below *= if kept_high == Some(false) { 0.5 } else { 1.0 };
            kept_high = Some(false);
        }
    }
    Ok(Level { share: low, governs })
}

fn after(slices: &[Slice], air: &Air, lasts_s: f64) -> Result<Warmth, HeatError> {
    if !(lasts_s.is_finite() && lasts_s > 0.0) {
        return Err(HeatError::Around { what: "the time, s,", value: lasts_s, way_out: "give a time above 0" });
    }
    let mut now = vec![air.air_c; 3 * slices.len()];
    let mut step = 0.0;
    while step < STEPS {
        now = stepped(slices, air, &now, lasts_s / STEPS)?;
        step += 1.0;
    }
    Ok(told(&now))
}

/// How far the hottest spot is above its limit (or below: negative), and which it is.
fn hottest(warmth: &Warmth, limits: &[Limits]) -> (f64, Spot) {
    let each = limits.iter().enumerate().flat_map(|(k, limit)| {
        [
            (warmth.core_c[k] - limit.core_c, Spot::Core(k)),
            (warmth.inner_c[k] - limit.inner_c, Spot::Inner(k)),
            (warmth.outer_c[k] - limit.outer_c, Spot::Outer(k)),
        ]
    });
    each.fold((f64::NEG_INFINITY, Spot::Core(0)), |most, here| if here.0 > most.0 { here } else { most })
}

/// How long the slowest core takes for a share of its way, from an even temperature to where it stays in this air:
/// 0.632 gives the time constant of a car left in the sun. 0 where no core has a way to go.
///
/// # Errors
///
/// See [`HeatError`].
pub fn soak_s(slices: &[Slice], air: &Air, from_c: f64, share: f64) -> Result<f64, HeatError> {
    if !(share > 0.0 && share < 1.0) {
        return Err(HeatError::Around {
            what: "the share of the way",
            value: share,
            way_out: "give one between 0 and 1",
        });
    }
    let end = steady(slices, air)?;
    let start = asked(slices, &Warmth::even(slices.len(), from_c))?;
    // Those with a way to go.
    let ways: Vec<(usize, f64)> =
        end.core_c.iter().copied().enumerate().filter(|(_, e)| (e - from_c).abs() > 0.01).collect();
    if ways.is_empty() {
        return Ok(0.0);
    }
    let done = |now: &[f64]| ways.iter().map(|(k, e)| (now[3 * k] - from_c) / (e - from_c)).fold(1.0, f64::min);
    // Each slice by itself: its heat capacity over what its outer face gives off. A guess: the step is mended below.
    let own = |s: &Slice| {
        let film_w_m2k = 8.0;
        (s.core_j_k + s.wall_j_k) * 1e6 / (film_w_m2k * s.girth_mm * s.length_mm)
    };
    let mut step_s = slices.iter().map(own).fold(f64::INFINITY, f64::min) / 50.0;
    let mut rounds = 0;
    'again: loop {
        let (mut now, mut step, mut before) = (start.clone(), 0.0, 0.0);
        while rounds < SOAK_ROUNDS {
            rounds += 1;
            now = stepped(slices, air, &now, step_s)?;
            let here = done(&now);
            if here >= share {
                let time_s = step_s * (step + (share - before) / (here - before));
                if step >= LEAST_STEPS {
                    return Ok(time_s);
                }
                step_s = time_s / (2.0 * LEAST_STEPS);
                continue 'again;
            }
            (step, before) = (step + 1.0, here);
        }
        return Err(HeatError::Unsettled { rounds });
    }
}
